/* Who signs, with which keys, and what that makes of what they said. */
#include "base/error.h"
#include "exchange/draft.h"

static const char *way_name(const gl_held_key *key) {
    switch (key->way) {
    case GL_KEY_SEEN:
        return "seen first";
    case GL_KEY_CHANGED:
        return "changed to";
    case GL_KEY_BEFORE:
        return "the one before";
    case GL_KEY_KEEPER:
        return "the keeper's word";
    case GL_KEY_SAVED:
        return "saved with";
    case GL_KEY_RIVAL:
        return "not counted: another was seen first";
    default:
        return "not counted: not signed for";
    }
}

static void report_keys(const gl_signer *signer, glassine_node *node) {
    glassine_node *table = glassine_node_table(node, "keys", "");
    for (size_t i = 0; i < signer->count; i++) {
        const gl_held_key *key = &signer->keys[i];
        char hex[GL_HEX_SIZE];
        gl_digest_hex(&key->key, hex);
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        glassine_node_string(row, "key", "key", hex);
        glassine_node_string(row, "known", "known by", way_name(key));
        glassine_node_truth(row, "counts", NULL, key->counts);
        glassine_node_integer(row, "edition", "edition", key->edition);
    }
}

typedef struct tally {
    uint64_t of[GLASSINE_WORD_UNSIGNED + 1];
} tally;

static glassine_status report_person(glassine_bundle *bundle, uint32_t person, const tally *count,
                                     glassine_node *list, glassine_error *error) {
    const gl_signer *signer = gl_trust_signer(bundle->trust, person);
    if (!signer)
        return gl_fail_memory(error);
    if (!signer->count)
        return GLASSINE_OK;
    gl_span id = gl_store_person(bundle->store, person);
    glassine_record *record = glassine_bundle_record(bundle, id, GL_NO_SPAN);
    gl_buf heading = GL_BUF_EMPTY;
    gl_buf_add(&heading, record ? glassine_record_label(bundle, record) : id);
    glassine_node *node = glassine_node_object(list, NULL, heading.failed ? "" : heading.text);
    gl_buf_free(&heading);
    glassine_node_text(node, "contributor", NULL, id);
    glassine_node_truth(node, "signs", NULL, signer->since != GL_NONE);
    if (signer->since != GL_NONE)
        glassine_node_integer(node, "since", "signs since edition", signer->since);
    for (int word = 0; word <= GLASSINE_WORD_UNSIGNED; word++)
        glassine_node_integer(node, glassine_word_name((glassine_word)word),
                              word == GLASSINE_WORD_SIGNED     ? "statements signed"
                              : word == GLASSINE_WORD_UNSIGNED ? "not signed, and not counted"
                                                               : NULL,
                              (int64_t)count->of[word]);
    report_keys(signer, node);
    return GLASSINE_OK;
}

glassine_status glassine_keys(glassine_bundle *bundle, glassine_report *report, glassine_error *error) {
    uint32_t people = gl_store_people(bundle->store);
    tally *counts = gl_arena_array(bundle->arena, (size_t)people + 1, sizeof *counts);
    if (!counts)
        return gl_fail_memory(error);
    memset(counts, 0, ((size_t)people + 1) * sizeof *counts);
    for (uint32_t slip = 0; slip < gl_store_count(bundle->store); slip++)
        counts[gl_store_at(bundle->store, slip)->author].of[gl_bundle_word(bundle, slip)]++;
    glassine_node *list = glassine_node_list(glassine_report_result(report), "contributors", "");
    glassine_status status = GLASSINE_OK;
    for (uint32_t person = 0; person < people && !status; person++)
        status = report_person(bundle, person, &counts[person], list, error);
    return gl_bundle_end(bundle, report, status, error);
}
