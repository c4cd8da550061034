/* What the bundle's trust and the table of types tell the readings; keys to sign with. */
#include "base/error.h"
#include "bundle/bundle.h"
#include "records/table.h"

static int counts(void *context, uint32_t slip) {
    glassine_bundle *bundle = context;
    return gl_trust_counts(bundle->trust, slip);
}

static bool knows(void *context, gl_span record, gl_span field) {
    (void)context;
    return gl_field_of(gl_type_of_id(record), field) != NULL;
}

void gl_bundle_judge(glassine_bundle *bundle) {
    gl_store_use_judge(bundle->store, (gl_store_judge){.counts = counts,
                                                       .knows = knows,
                                                       .context = bundle,
                                                       .record_fields = bundle->limits.record_fields});
}

glassine_word gl_bundle_word(glassine_bundle *bundle, uint32_t slip) {
    int word = gl_trust_word(bundle->trust, slip);
    bundle->failed = bundle->failed || word < 0;
    return word < 0 ? GLASSINE_WORD_UNSIGNED : (glassine_word)word;
}

void glassine_bundle_sign_with(glassine_bundle *bundle, const glassine_key *key, const glassine_key *before) {
    bundle->key = key;
    bundle->key_before = key ? before : NULL;
}
