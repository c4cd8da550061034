/* Who signs what in a bundle: what every document made of it says. */
#ifndef CONVERTERS_SIGNERS_H
#define CONVERTERS_SIGNERS_H

#include "output.h"

typedef struct conv_signer {
    glassine_span person; /* contributor/UUID */
    glassine_span name;   /* or `person`, where the name is private */
    uint64_t is_signed, vouched,
        uncounted; /* statements in that name; the last are neither, and do not count */
} conv_signer;

typedef struct conv_signers {
    conv_signer *list; /* by person; those alone who sign, or for whom the keeper vouches */
    size_t count, room;
} conv_signers;

/* Private statements are passed over unless `with_private`. `conv_signers_free` is due whatever happens. */
glassine_status conv_signers_find(glassine_bundle *bundle, bool with_private, conv_signers *signers,
                                  glassine_error *error);
void conv_signers_free(conv_signers *signers);

/* "Wren Alderby: 12 signed, 3 vouched for by the keeper; 2 not signed, which do not count and are left out".
 */
void conv_signer_say(const conv_signer *signer, conv_output *out);

#endif
