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

/* A slip that came. */
typedef struct coming {
    uint32_t author, slip;
    const glassine_record *record;
} coming;

static int by_author_and_record(const void *a, const void *b) {
    const coming *x = a, *y = b;
    if (x->author != y->author)
        return x->author < y->author ? -1 : 1;
    if (x->record != y->record)
        return x->record < y->record ? -1 : 1;
    return (x->slip > y->slip) - (x->slip < y->slip);
}

/* A line for what each person says on each record. */
static bool list_slips(const gl_merging *it, speaking *list, size_t *count) {
    const gl_store *store = it->bundle->store;
    coming *slips = calloc(gl_store_count(store) - it->first + 1u, sizeof *slips);
    size_t came = 0;
    if (!slips)
        return false;
    for (uint32_t slip = it->first; slip < gl_store_count(store); slip++) {
        glassine_record *record = gl_bundle_record_of_slip(it->bundle, slip);
        if (!is_kept_text(it, record))
            slips[came++] = (coming){gl_store_at(store, slip)->author, slip, record};
    }
    if (came)
        qsort(slips, came, sizeof *slips, by_author_and_record);
    for (size_t i = 0, next; i < came; i = next) {
        for (next = i + 1;
             next < came && slips[next].author == slips[i].author && slips[next].record == slips[i].record;
             next++)
            ;
        list[(*count)++] = (speaking){.person = gl_store_person(store, slips[i].author),
                                      .slips = next - i,
                                      .records = 1,
                                      .fresh = slips[i].record->first_slip == slips[i].slip};
    }
    free(slips);
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
    bool done = list && list_slips(it, list, &count);
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
    free(list);
    return done ? GLASSINE_OK : gl_fail_memory(error);
}
