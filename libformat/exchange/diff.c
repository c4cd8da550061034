/* Comparing two bundles, or two editions of one: by record and field, by slips, by scans. */
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "exchange/compare.h"
#include "exchange/diff.h"
#include "exchange/differing.h"
#include "exchange/subject.h"

/* A record of one side, or of both. */
typedef struct compared {
    glassine_record *a, *b, *item; /* the item is b's, else a's */
} compared;

typedef struct comparison {
    glassine_bundle *a, *b;
    const glassine_diff_options *options;
    const gl_differing *differing;
    gl_map *since; /* keys of the records that later slips of b speak on; NULL: all are wanted */
    gl_span item;  /* id of the only item wanted; absent: all are */
    compared *list;
    size_t count, room;
    glassine_diff_tell tell;
    void *context;
    glassine_error *error;
} comparison;

/* ---------------------------------------------------------------------------------------- what is wanted */

static glassine_status find_since(comparison *it) {
    const gl_store *store = it->b->store;
    if (!it->options || !it->options->since)
        return GLASSINE_OK;
    if (!(it->since = gl_map_new()))
        return gl_fail_memory(it->error);
    for (uint32_t slip = 0; slip < gl_store_count(store); slip++) {
        if (gl_store_at(store, slip)->edition <= it->options->since)
            continue;
        gl_span key = glassine_record_key(it->b, gl_bundle_record_of_slip(it->b, slip));
        if (!key.text || !gl_map_set(it->since, key, 1))
            return gl_fail_memory(it->error);
    }
    return GLASSINE_OK;
}

/* The item may be on one side only. */
static glassine_status find_item(comparison *it) {
    glassine_record *item;
    const char *typed = it->options ? it->options->item : NULL;
    if (!typed)
        return GLASSINE_OK;
    glassine_status status = glassine_bundle_find(it->b, "item", typed, &item, NULL);
    if (!status) {
        it->item = gl_record_id(it->b, item);
        return GLASSINE_OK;
    }
    status = glassine_bundle_find(it->a, "item", typed, &item, it->error);
    if (!status)
        it->item = gl_record_id(it->a, item);
    return status;
}

static bool is_wanted(const comparison *it, const compared *on) {
    glassine_bundle *bundle = on->b ? it->b : it->a;
    glassine_record *record = on->b ? on->b : on->a;
    const char *const *only = it->options ? it->options->only : NULL;
    bool wanted = !only;
    for (size_t i = 0; only && only[i] && !wanted; i++)
        wanted = gl_span_is(glassine_record_type(bundle, record), only[i]);
    if (wanted && it->item.text)
        wanted = on->item && gl_span_equal(gl_record_id(bundle, on->item), it->item);
    if (wanted && it->since)
        wanted = gl_map_find(it->since, glassine_record_key(bundle, record)) != GL_NONE;
    return wanted;
}

static bool says_so(const glassine_field *field, const char *who) {
    for (size_t i = 0; field && i < field->saying_count; i++)
        if (gl_span_is(field->sayings[i].by, who) || gl_span_is(field->sayings[i].via, who))
            return true;
    return false;
}

/* ---------------------------------------------------------------------------------------------- records */

static bool add(comparison *it, const gl_subject_entry *entry, bool in_b) {
    void *grown = gl_grow(it->list, &it->room, it->count + 1, sizeof *it->list);
    if (!grown)
        return false;
    it->list = grown;
    compared *next = &it->list[it->count];
    *next = (compared){.a = in_b ? gl_same_record(it->b, entry->record, it->a) : entry->record,
                       .b = in_b ? entry->record : NULL,
                       .item = entry->item};
    it->count += is_wanted(it, next);
    return true;
}

/* Records of one side that may differ, by item; of the first side only those that the second has not. */
static glassine_status list_side(const comparison *it, bool of_b, gl_subject_entry **out, size_t *count) {
    glassine_bundle *from = of_b ? it->b : it->a;
    const bool *differing = of_b ? it->differing->in_b : it->differing->in_a;
    size_t room = 0;
    *count = 0;
    for (size_t i = 0; i < from->record_count; i++) {
        if (!differing[from->records[i]->subject] ||
            (!of_b && gl_same_record(it->a, from->records[i], it->b)))
            continue;
        void *grown = gl_grow(*out, &room, *count + 1, sizeof **out);
        if (!grown)
            return gl_fail_memory(it->error);
        *out = grown;
        (*out)[(*count)++] = (gl_subject_entry){.record = from->records[i]};
    }
    return gl_sort_by_item(from, *out, *count) ? GLASSINE_OK : gl_fail_memory(it->error);
}

/* By item, as people count; what is about no item comes last. */
static int item_order(const comparison *it, const gl_subject_entry *in_a, const gl_subject_entry *in_b) {
    if (!in_a->item || !in_b->item)
        return (in_b->item != NULL) - (in_a->item != NULL);
    return gl_text_natural(glassine_record_label(it->a, in_a->item),
                           glassine_record_label(it->b, in_b->item));
}

static glassine_status list_records(comparison *it) {
    gl_subject_entry *only_a = NULL, *all_b = NULL;
    size_t a_count = 0, b_count = 0, i = 0, k = 0;
    glassine_status status = list_side(it, false, &only_a, &a_count);
    if (!status)
        status = list_side(it, true, &all_b, &b_count);
    while (!status && (i < a_count || k < b_count)) {
        bool next_is_b = i == a_count || (k < b_count && item_order(it, &only_a[i], &all_b[k]) >= 0);
        if (!add(it, next_is_b ? &all_b[k++] : &only_a[i++], next_is_b))
            status = gl_fail_memory(it->error);
    }
    free(only_a);
    free(all_b);
    return status;
}

/* ------------------------------------------------------------------------------------------- differences */

static glassine_status compare_record(const comparison *it, const compared *on) {
    gl_pairs pairs;
    const glassine_field *a, *b;
    bool one_sided = !on->a || !on->b, told = false;
    const char *who = it->options ? it->options->by : NULL;
    glassine_diff_note note = {.a = on->a, .b = on->b, .item = on->item};
    glassine_status status = gl_pairs_of(it->a, on->a, it->b, on->b, &pairs, it->error);
    while (!status && gl_pairs_next(&pairs, &a, &b)) {
        if ((!one_sided && gl_same_values(a, b)) || (who && !says_so(a, who) && !says_so(b, who)))
            continue;
        note.field_a = a;
        note.field_b = b;
        it->tell(it->context, it->a, it->b, &note);
        told = true;
    }
    if (!status && one_sided && !told && !who) {
        note.field_a = note.field_b = NULL; /* a record of which nothing is said */
        it->tell(it->context, it->a, it->b, &note);
    }
    return status;
}

/* Two are told: the caller, and the report. */
typedef struct listeners {
    gl_diff_report *report;
    const glassine_diff_options *options;
} listeners;

static void tell_both(void *context, glassine_bundle *a, glassine_bundle *b, const glassine_diff_note *note) {
    const listeners *both = context;
    if (both->report)
        gl_diff_report_note(both->report, a, b, note);
    if (both->options && both->options->tell)
        both->options->tell(both->options->context, a, b, note);
}

static glassine_status compare_all(comparison *it) {
    glassine_status status = find_since(it);
    if (!status)
        status = find_item(it);
    if (!status)
        status = list_records(it);
    for (size_t i = 0; i < it->count && !status; i++)
        status = compare_record(it, &it->list[i]);
    return status;
}

glassine_status glassine_diff(glassine_bundle *a, glassine_bundle *b, const glassine_diff_options *options,
                              glassine_report *report, glassine_error *error) {
    listeners both = {.options = options};
    comparison it = {.a = a, .b = b, .options = options, .tell = tell_both, .context = &both, .error = error};
    gl_differing differing;
    glassine_status status = gl_differing_find(a, b, &differing, error);
    if (status)
        return status;
    it.differing = &differing;
    if (report && !(both.report = gl_diff_report_new(report, a, b, &differing)))
        status = gl_fail_memory(error);
    if (!status)
        status = compare_all(&it);
    if (!status && report)
        status = gl_diff_report_end(both.report, error);
    gl_diff_report_free(both.report);
    gl_differing_free(&differing);
    gl_map_free(it.since);
    free(it.list);
    status = gl_bundle_end(a, report, status, error);
    return gl_bundle_end(b, report, status, error);
}
