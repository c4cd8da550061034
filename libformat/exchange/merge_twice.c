/* Whoever says two things of one stamp, in two sheets that did not know of each other, or in a sheet and a
 * bundle: both stand, since nothing in them follows the other, and whoever merges is told. */
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "exchange/answers.h"
#include "exchange/merge_text.h"
#include "exchange/subject.h"

enum { TOLD_MOST = 20 };

static bool is_verdict(gl_span about) {
    return gl_span_is(about, gl_answer_verdict(GL_ANSWER_CANNOT_TELL)) ||
           gl_span_is(about, gl_answer_verdict(GL_ANSWER_NOT_GENUINE)) ||
           gl_span_is(about, gl_answer_verdict(GL_ANSWER_OTHER_PLATE));
}

/* A claim, or an opinion that is a verdict, which its author still holds. */
static bool is_answer(glassine_bundle *bundle, glassine_record *record) {
    gl_span type = glassine_record_type(bundle, record);
    bool verdict = gl_span_is(type, "opinion") && is_verdict(glassine_record_text(bundle, record, "about"));
    return (verdict || gl_span_is(type, "claim")) && gl_answer_stands(bundle, record);
}

/* ------------------------------------------------------------------------------- who may say two things */

/* That a slip on the record of an answer names this stamp. */
typedef struct naming {
    uint32_t author, stamp; /* in the store */
    glassine_record *record;
} naming;

/* Answers of those who answer something now: what they said before, too. */
typedef struct answers {
    glassine_bundle *bundle;
    bool *speaks; /* by person of the store */
    /* by subject of the store: some author has answers on one stamp, of which a record of it is one */
    bool *several;
    naming *list; /* by author and stamp */
    size_t count, room;
} answers;

static int by_author_and_stamp(const void *a, const void *b) {
    const naming *x = a, *y = b;
    if (x->author != y->author)
        return x->author < y->author ? -1 : 1;
    if (x->stamp != y->stamp)
        return x->stamp < y->stamp ? -1 : 1;
    return (x->record->first_slip > y->record->first_slip) - (x->record->first_slip < y->record->first_slip);
}

static bool may_answer(const glassine_bundle *bundle, const glassine_record *record) {
    gl_span type = glassine_record_type(bundle, record);
    return gl_span_is(type, "claim") || gl_span_is(type, "opinion");
}

/* Whether or not it stands: rather too many than too few. */
static bool add_namings(answers *it, glassine_record *record) {
    const gl_store *store = it->bundle->store;
    for (uint32_t slip = gl_record_newest(it->bundle, record); slip != GL_NONE;
         slip = gl_record_before(it->bundle, record, slip)) {
        gl_span named = gl_json_member(gl_slip_set(gl_store_line(store, slip)), "stamp");
        uint32_t stamp = named.text && gl_json_kind_of(named) == GL_JSON_STRING
                             ? gl_store_record_find(store, gl_json_raw(named))
                             : GL_NONE;
        if (stamp == GL_NONE)
            continue;
        naming *grown = gl_grow(it->list, &it->room, it->count + 1, sizeof *it->list);
        if (!grown)
            return false;
        it->list = grown;
        it->list[it->count++] = (naming){record->author, stamp, record};
    }
    return true;
}

/* Most people answer once on a stamp. */
static void mark_several(const answers *it) {
    for (size_t i = 1; i < it->count; i++) {
        const naming *one = &it->list[i - 1], *other = &it->list[i];
        if (one->author == other->author && one->stamp == other->stamp && one->record != other->record)
            it->several[one->record->subject] = it->several[other->record->subject] = true;
    }
}

static bool list_answers(answers *it, uint32_t first) {
    glassine_bundle *bundle = it->bundle;
    it->speaks = calloc(gl_store_people(bundle->store) + (size_t)1, sizeof *it->speaks);
    it->several = calloc(gl_store_records(bundle->store) + (size_t)1, sizeof *it->several);
    bool done = it->speaks && it->several;
    for (uint32_t slip = first; done && slip < gl_store_count(bundle->store); slip++)
        if (may_answer(bundle, gl_bundle_record_of_slip(bundle, slip)))
            it->speaks[gl_store_at(bundle->store, slip)->author] = true;
    for (size_t i = 0; done && i < bundle->record_count; i++) {
        glassine_record *record = bundle->records[i];
        if (record->author != GL_NONE && it->speaks[record->author] && may_answer(bundle, record))
            done = add_namings(it, record);
    }
    if (it->count)
        qsort(it->list, it->count, sizeof *it->list, by_author_and_stamp);
    mark_several(it);
    return done;
}

/* The first that this author said of the stamp. */
static size_t first_of(const answers *it, uint32_t author, uint32_t stamp) {
    size_t low = 0, high = it->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        const naming *at = &it->list[middle];
        if (at->author < author || (at->author == author && at->stamp < stamp))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* The author's records that named the stamp, each once, in a cursor's order, in *list: the caller frees it. NULL and
 * 0: there is one at most. */
static glassine_status answers_on(const answers *it, uint32_t author, uint32_t stamp, glassine_record ***list,
                                  size_t *count, glassine_error *error) {
    size_t first = first_of(it, author, stamp), end = first, found = 0;
    while (end < it->count && it->list[end].author == author && it->list[end].stamp == stamp)
        end++;
    *list = NULL;
    *count = 0;
    if (end - first < 2 || it->list[first].record == it->list[end - 1].record)
        return GLASSINE_OK;
    *list = malloc((end - first) * sizeof **list);
    if (!*list)
        return gl_fail_memory(error);
    for (size_t i = first; i < end; i++)
        if (!found || (*list)[found - 1] != it->list[i].record)
            (*list)[found++] = it->list[i].record;
    gl_records_sort(it->bundle, *list, found);
    *count = found;
    return GLASSINE_OK;
}

/* Is it an answer on that stamp that says something else? */
static bool says_otherwise(glassine_bundle *bundle, glassine_record *other, gl_span stamp, gl_span told) {
    gl_buf says = GL_BUF_EMPTY;
    if (gl_record_left_out(bundle, other) ||
        !gl_span_equal(glassine_record_text(bundle, other, "stamp"), stamp) || !is_answer(bundle, other))
        return false;
    gl_record_told(bundle, other, &says);
    bool otherwise = !gl_span_equal(gl_buf_span(&says), told);
    bundle->failed = bundle->failed || says.failed;
    gl_buf_free(&says);
    return otherwise;
}

static bool is_earlier(glassine_bundle *bundle, glassine_record *one, glassine_record *other) {
    int64_t at = gl_answer_said_at(bundle, one), other_at = gl_answer_said_at(bundle, other);
    return at != other_at ? at < other_at
                          : gl_span_compare(gl_record_id(bundle, one), gl_record_id(bundle, other)) < 0;
}

/* An author's two answers on a stamp. */
typedef struct pair {
    glassine_bundle *bundle;
    glassine_record *stamp, *one, *other;
} pair;

typedef struct pairs {
    pair *list;
    size_t count, room;
} pairs;

static int by_stamp(const void *a, const void *b) {
    const pair *x = a, *y = b;
    int order = gl_text_natural(glassine_record_label(x->bundle, x->stamp),
                                glassine_record_label(y->bundle, y->stamp));
    return order ? order : gl_span_compare(gl_record_id(x->bundle, x->one), gl_record_id(y->bundle, y->one));
}

static void tell(const pair *found, glassine_report *report) {
    glassine_bundle *bundle = found->bundle;
    glassine_record *one = found->one, *other = found->other;
    bool in_order = is_earlier(bundle, one, other);
    glassine_record *first = in_order ? one : other, *then = in_order ? other : one;
    gl_span author = glassine_record_author(bundle, one), name = gl_person_shown(bundle, author);
    gl_buf was = GL_BUF_EMPTY, is = GL_BUF_EMPTY, how = GL_BUF_EMPTY, place = GL_BUF_EMPTY;
    gl_record_told(bundle, first, &was);
    gl_record_told(bundle, then, &is);
    gl_buf_add(&place, glassine_record_label(bundle, found->stamp));
    gl_buf_add_text(&how, "If the earlier no longer holds: `glassine withdraw ");
    gl_merge_text_word(gl_span_of(bundle->file), &how);
    gl_buf_printf(&how, " %.*s --by ", GL_SPAN_ARGS(gl_record_id(bundle, first)));
    gl_merge_text_word(name, &how);
    gl_buf_add_char(&how, '`');
    if (was.failed || is.failed || how.failed || place.failed)
        gl_bundle_fail_memory(bundle, NULL);
    else
        glassine_report_finding(report, GLASSINE_NOTE, NULL, place.text, how.text,
                                "%.*s says two things of it, and both stand: first \"%.*s\", then \"%.*s\"",
                                GL_SPAN_ARGS(name), GL_SPAN_ARGS(gl_buf_span(&was)),
                                GL_SPAN_ARGS(gl_buf_span(&is)));
    gl_buf_free(&was);
    gl_buf_free(&is);
    gl_buf_free(&how);
    gl_buf_free(&place);
}

/* Of each author and stamp once. The map keeps no copy of a key. */
static bool is_told(glassine_bundle *bundle, gl_map *told, gl_span author, gl_span stamp, bool *failed) {
    gl_buf key = GL_BUF_EMPTY;
    gl_buf_printf(&key, "%.*s %.*s", GL_SPAN_ARGS(author), GL_SPAN_ARGS(stamp));
    bool known = !key.failed && gl_map_find(told, gl_buf_span(&key)) != GL_NONE;
    gl_span kept = known || key.failed ? GL_NO_SPAN : gl_arena_copy(bundle->arena, gl_buf_span(&key));
    *failed = !known && (!kept.text || !gl_map_set(told, kept, 1));
    gl_buf_free(&key);
    return known;
}

static bool add_pair(pairs *found, pair one) {
    void *grown = gl_grow(found->list, &found->room, found->count + 1, sizeof *found->list);
    if (!grown)
        return false;
    found->list = grown;
    found->list[found->count++] = one;
    return true;
}

/* The answer that came, with the first of the others that stands beside it. */
static glassine_status look_among(const answers *said, glassine_record *one, glassine_record *stamp,
                                  glassine_record **others, size_t count, pairs *found,
                                  glassine_error *error) {
    glassine_bundle *bundle = said->bundle;
    gl_buf says = GL_BUF_EMPTY;
    gl_record_told(bundle, one, &says);
    glassine_record *other = NULL;
    for (size_t i = 0; i < count && !says.failed && !other; i++)
        if (others[i] != one &&
            says_otherwise(bundle, others[i], gl_record_id(bundle, stamp), gl_buf_span(&says)))
            other = others[i];
    bool done = !says.failed && (!other || add_pair(found, (pair){bundle, stamp, one, other}));
    gl_buf_free(&says);
    return done ? GLASSINE_OK : gl_fail_memory(error);
}

/* An answer that came, whose author may have given another one on its stamp. */
static glassine_status look_at(const answers *said, glassine_record *one, gl_map *told, pairs *found,
                               glassine_error *error) {
    glassine_bundle *bundle = said->bundle;
    gl_span on = glassine_record_text(bundle, one, "stamp");
    glassine_record *stamp = on.text ? glassine_bundle_record(bundle, on, GL_NO_SPAN) : NULL, **others = NULL;
    size_t count = 0;
    bool failed = false;
    glassine_status status =
        stamp ? answers_on(said, one->author, stamp->subject, &others, &count, error) : GLASSINE_OK;
    if (count && is_answer(bundle, one) &&
        !is_told(bundle, told, glassine_record_author(bundle, one), on, &failed))
        status = failed ? gl_fail_memory(error) : look_among(said, one, stamp, others, count, found, error);
    free(others);
    return status;
}

static void tell_all(const pairs *found, glassine_report *report) {
    if (found->count)
        qsort(found->list, found->count, sizeof *found->list, by_stamp);
    for (size_t i = 0; i < found->count && i < TOLD_MOST; i++)
        tell(&found->list[i], report);
    if (found->count > TOLD_MOST)
        glassine_report_finding(report, GLASSINE_NOTE, NULL, NULL, NULL,
                                "further stamps of which somebody says two things: %zu",
                                found->count - TOLD_MOST);
}

glassine_status gl_merge_twice(gl_merging *it, glassine_report *report, glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    answers said = {.bundle = bundle};
    gl_map *told = gl_map_new();
    pairs found = {0};
    glassine_status status = told && list_answers(&said, it->first) ? GLASSINE_OK : gl_fail_memory(error);
    for (uint32_t slip = it->first; slip < gl_store_count(bundle->store) && !status; slip++) {
        glassine_record *one = gl_bundle_record_of_slip(bundle, slip);
        if (said.several[one->subject])
            status = look_at(&said, one, told, &found, error);
    }
    if (!status)
        tell_all(&found, report);
    free(found.list);
    free(said.list);
    free(said.speaks);
    free(said.several);
    gl_map_free(told);
    return gl_bundle_end(bundle, report, status, error);
}
