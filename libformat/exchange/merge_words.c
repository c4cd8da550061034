/* Who stands behind what a merge brought: signed, vouched for, or not counted; and keys that are new here. */
#include <stdio.h>

#include "base/error.h"
#include "exchange/merge.h"

enum { TOLD_MOST = 20 };

typedef struct tally {
    uint64_t of[GLASSINE_WORD_UNSIGNED + 1];
} tally;

static gl_span name_of(glassine_bundle *bundle, gl_span person) {
    glassine_record *record = glassine_bundle_record(bundle, person, GL_NO_SPAN);
    return record ? glassine_record_label(bundle, record) : person;
}

static void tell_uncounted(gl_merging *it, uint32_t slip, glassine_report *report) {
    glassine_slip said = glassine_bundle_slip(it->bundle, slip);
    gl_span name = name_of(it->bundle, said.by);
    char place[160];
    snprintf(place, sizeof place, "%.*s, slip %.12s", GL_SPAN_ARGS(said.record), said.digest);
    glassine_report_finding(report, GLASSINE_WARNING, "K030", place,
                            "Ask the one who is named; it is kept, and shown by `show --history`",
                            "it is in the name of %.*s, who signs, and is not signed: it does not count",
                            GL_SPAN_ARGS(name));
}

static void tell_key(gl_merging *it, const gl_signer *signer, gl_span person, glassine_report *report) {
    gl_span name = name_of(it->bundle, person);
    if (signer->together > 1 && !signer->by_word) {
        glassine_report_finding(report, GLASSINE_WARNING, "K034", NULL,
                                "Ask by another way which is right, and say so with `glassine trust`",
                                "%u keys came at once in the name of %.*s", signer->together,
                                GL_SPAN_ARGS(name));
        return;
    }
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&signer->counting[0], hex);
    glassine_report_finding(report, GLASSINE_NOTE, NULL, NULL,
                            "Compare it with what they tell you by another way; `glassine trust` corrects it",
                            "%.*s signs from now on, with the key %s", GL_SPAN_ARGS(name), hex);
}

static glassine_status report_people(gl_merging *it, const tally *counts, uint32_t people,
                                     glassine_report *report, glassine_error *error) {
    glassine_node *list = glassine_node_list(glassine_report_result(report), "words", NULL);
    for (uint32_t person = 0; person < people; person++) {
        const tally *count = &counts[person];
        const gl_signer *signer = gl_trust_signer(it->bundle->trust, person);
        if (!signer)
            return gl_fail_memory(error);
        uint64_t all = 0;
        for (int word = 0; word <= GLASSINE_WORD_UNSIGNED; word++)
            all += count->of[word];
        if (!all)
            continue;
        if (signer->since == it->bundle->edition + 1)
            tell_key(it, signer, gl_store_person(it->bundle->store, person), report);
        glassine_node *row = glassine_node_object(list, NULL, NULL);
        glassine_node_text(row, "by", NULL, gl_store_person(it->bundle->store, person));
        for (int word = 0; word <= GLASSINE_WORD_UNSIGNED; word++)
            glassine_node_integer(row, glassine_word_name((glassine_word)word), NULL,
                                  (int64_t)count->of[word]);
    }
    return GLASSINE_OK;
}

glassine_status gl_merge_words(gl_merging *it, glassine_report *report, glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    uint32_t people = gl_store_people(bundle->store);
    size_t uncounted = 0;
    tally *counts = gl_arena_array(bundle->arena, (size_t)people + 1, sizeof *counts);
    if (!counts)
        return gl_fail_memory(error);
    memset(counts, 0, ((size_t)people + 1) * sizeof *counts);
    for (uint32_t slip = it->first; slip < gl_store_count(bundle->store); slip++) {
        glassine_word word = gl_bundle_word(bundle, slip);
        counts[gl_store_at(bundle->store, slip)->author].of[word]++;
        if (word == GLASSINE_WORD_UNSIGNED && !gl_trust_is_spoken(bundle->trust, slip) &&
            uncounted++ < TOLD_MOST)
            tell_uncounted(it, slip, report);
    }
    if (uncounted > TOLD_MOST)
        glassine_report_finding(report, GLASSINE_WARNING, "K030", NULL, NULL,
                                "and %zu more that do not count", uncounted - TOLD_MOST);
    if (uncounted)
        glassine_report_attention(report);
    glassine_status status = report_people(it, counts, people, report, error);
    return gl_bundle_end(bundle, report, status, error);
}
