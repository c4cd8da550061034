/* Signing what a draft says, with the key that the bundle's handle was given (spec/signatures.md). */
#ifndef GL_EXCHANGE_SIGN_H
#define GL_EXCHANGE_SIGN_H

#include "exchange/draft.h"

/* Does the one at work in this draft hold the handle's key: was it put forward in that name, and signed? */
bool gl_draft_holds_key(glassine_draft *draft);
/* Puts the key forward where that was not done yet and nobody else holds it, and signs what was spoken in the
 * draft and is not signed. Nothing without a key. May be called again. */
glassine_status gl_draft_sign(glassine_draft *draft, glassine_error *error);
/* Signs the slips of `draft` that count in `from` and would not count here without it; only where the one at
 * work is the keeper here. */
glassine_status gl_draft_vouch(glassine_draft *draft, glassine_bundle *from, glassine_error *error);

#endif
