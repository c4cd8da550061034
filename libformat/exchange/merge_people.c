/* Who says something new in a merge: how many statements, on how many records. */
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "exchange/merge.h"
#include "exchange/subject.h"

typedef struct speaking {
    gl_span person, name;
    uint64_t slips, records, fresh;
} speaking;

static int by_person(const void *a, const void *b) {
    return gl_span_compare(((const speaking *)a)->person, ((const speaking *)b)->person);
}

static int by_name(const void *a, const void *b) {
    const speaking *x = a, *y = b;
    int order = gl_text_natural(x->name, y->name);
    return order ? order : by_person(a, b);
}

/* The letter that a text is kept in is the text itself, and nothing that whoever keeps it says. */
static bool is_kept_text(const gl_merging *it, const glassine_record *record) {
    return it->answer_count > 0 && gl_span_is(glassine_record_type(it->bundle, record), "letter");
}

/* A line for each slip that came; records are counted where their first such slip is met. */
static bool list_slips(const gl_merging *it, gl_map *met, speaking *list, size_t *count) {
    const gl_store *store = it->bundle->store;
    for (uint32_t slip = it->first; slip < gl_store_count(store); slip++) {
        glassine_record *record = gl_bundle_record_of_slip(it->bundle, slip);
        if (is_kept_text(it, record))
            continue;
        speaking *one = &list[(*count)++];
        *one = (speaking){.person = gl_store_person(store, gl_store_at(store, slip)->author), .slips = 1};
        gl_buf key = GL_BUF_EMPTY;
        gl_buf_printf(&key, "%.*s %u %u", GL_SPAN_ARGS(one->person), record->subject, record->author);
        gl_span kept = key.failed ? GL_NO_SPAN : gl_arena_copy(it->bundle->arena, gl_buf_span(&key));
        gl_buf_free(&key);
        if (!kept.text)
            return false;
        if (gl_map_find(met, kept) != GL_NONE)
            continue;
        one->records = 1;
        one->fresh = record->first_slip == slip;
        if (!gl_map_set(met, kept, 1))
            return false;
    }
    return true;
}

/* One line for each person, by name; how many there are. */
static size_t add_up(glassine_bundle *bundle, speaking *list, size_t count) {
    size_t people = 0;
    if (count)
        qsort(list, count, sizeof *list, by_person);
    for (size_t i = 0, next; i < count; i = next) {
        speaking all = list[i];
        for (next = i + 1; next < count && by_person(&list[next], &list[i]) == 0; next++) {
            all.slips += list[next].slips;
            all.records += list[next].records;
            all.fresh += list[next].fresh;
        }
        all.name = gl_person_shown(bundle, all.person);
        list[people++] = all;
    }
    if (people)
        qsort(list, people, sizeof *list, by_name);
    return people;
}

glassine_status gl_merge_people(gl_merging *it, glassine_error *error) {
    size_t count = 0, room = gl_store_count(it->bundle->store) - it->first + 1u;
    speaking *list = calloc(room, sizeof *list);
    gl_map *met = gl_map_new();
    bool done = list && met && list_slips(it, met, list, &count);
    size_t people = done ? add_up(it->bundle, list, count) : 0;
    for (size_t i = 0; i < people; i++) {
        glassine_merge_note note = {.met = GLASSINE_MET_PERSON,
                                    .first = it->first,
                                    .person = list[i].person,
                                    .slips = list[i].slips,
                                    .records = list[i].records,
                                    .fresh = list[i].fresh};
        it->tell(it->context, it->bundle, &note);
    }
    gl_map_free(met);
    free(list);
    return done ? GLASSINE_OK : gl_fail_memory(error);
}
