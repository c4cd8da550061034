/* Carrying slips, their signatures and their scans from one bundle into a draft of another. */
#ifndef GL_EXCHANGE_CARRY_H
#define GL_EXCHANGE_CARRY_H

#include "exchange/draft.h"

/* The slips of `from` that `wanted` says yes to (NULL: all), in their order; *added counts those that were
 * new. */
glassine_status gl_carry_slips(glassine_draft *draft, glassine_bundle *from,
                               bool (*wanted)(void *context, uint32_t slip), void *context, size_t *added,
                               glassine_error *error);
/* Signature lines of `from` on slips that the draft's bundle has, as far as it has them not yet. */
glassine_status gl_carry_signatures(glassine_draft *draft, glassine_bundle *from, size_t *added,
                                    glassine_error *error);
/* The bytes of scans that a record of the draft's bundle describes, that `from` has and it has not. */
glassine_status gl_carry_scans(glassine_draft *draft, glassine_bundle *from, size_t *added,
                               glassine_error *error);

#endif
