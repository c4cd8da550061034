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

/* Another answer on the stamp by the author of this one that says something else; NULL: there is none. */
static glassine_record *other_answer(glassine_bundle *bundle, glassine_record *stamp, glassine_record *one,
                                     gl_span told, glassine_status *status, glassine_error *error) {
    static const char *const types[] = {"claim", "opinion"};
    glassine_record *found = NULL;
    gl_span author = glassine_record_author(bundle, one);
    for (size_t t = 0; t < sizeof types / sizeof types[0] && !found && !*status; t++) {
        glassine_record *const *list;
        size_t count = 0;
        *status = glassine_record_referrers(bundle, stamp, types[t], false, &list, &count, error);
        glassine_record **kept = *status ? NULL : gl_arena_array(bundle->arena, count + 1, sizeof *kept);
        if (!*status && !kept)
            *status = gl_fail_memory(error);
        if (*status)
            return NULL;
        memcpy(kept, list, count * sizeof *kept); /* the list lives until the next call */
        for (size_t i = 0; i < count && !found; i++) {
            gl_buf says = GL_BUF_EMPTY;
            if (kept[i] != one && gl_span_equal(glassine_record_author(bundle, kept[i]), author) &&
                is_answer(bundle, kept[i])) {
                gl_record_told(bundle, kept[i], &says);
                found = gl_span_equal(gl_buf_span(&says), told) ? NULL : kept[i];
            }
            gl_buf_free(&says);
        }
    }
    return found;
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
    return order ? order
                 : gl_span_compare(gl_record_id(x->bundle, x->one), gl_record_id(y->bundle, y->one));
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

/* The answer that came, with another that stands beside it, where there is one. */
static glassine_status look_at(gl_merging *it, glassine_record *one, gl_map *told, pairs *found,
                               glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    gl_span on = glassine_record_text(bundle, one, "stamp");
    glassine_record *stamp = on.text ? glassine_bundle_record(bundle, on, GL_NO_SPAN) : NULL, *other = NULL;
    bool failed = false;
    if (!stamp || is_told(bundle, told, glassine_record_author(bundle, one), on, &failed))
        return GLASSINE_OK;
    void *grown = gl_grow(found->list, &found->room, found->count + 1, sizeof *found->list);
    if (grown)
        found->list = grown;
    gl_buf says = GL_BUF_EMPTY;
    gl_record_told(bundle, one, &says);
    glassine_status status = !grown || failed || says.failed ? gl_fail_memory(error) : GLASSINE_OK;
    if (!status)
        other = other_answer(bundle, stamp, one, gl_buf_span(&says), &status, error);
    gl_buf_free(&says);
    if (other)
        found->list[found->count++] = (pair){bundle, stamp, one, other};
    return status;
}

static void tell_all(const pairs *found, glassine_report *report) {
    if (found->count)
        qsort(found->list, found->count, sizeof *found->list, by_stamp);
    for (size_t i = 0; i < found->count && i < TOLD_MOST; i++)
        tell(&found->list[i], report);
    if (found->count > TOLD_MOST)
        glassine_report_finding(report, GLASSINE_NOTE, NULL, NULL, NULL,
                                "further stamps of which somebody says two things: %zu", found->count - TOLD_MOST);
}

glassine_status gl_merge_twice(gl_merging *it, glassine_report *report, glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    gl_map *told = gl_map_new();
    pairs found = {0};
    glassine_status status = told ? GLASSINE_OK : gl_fail_memory(error);
    for (uint32_t slip = it->first; slip < gl_store_count(bundle->store) && !status; slip++) {
        glassine_slip said = glassine_bundle_slip(bundle, slip);
        glassine_record *one = glassine_bundle_record(bundle, said.record, said.by);
        if (one && is_answer(bundle, one))
            status = look_at(it, one, told, &found, error);
    }
    if (!status)
        tell_all(&found, report);
    free(found.list);
    gl_map_free(told);
    return gl_bundle_end(bundle, report, status, error);
}
