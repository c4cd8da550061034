/* Records that go by one name, and records that may be one and the same: looked for among those that a merge
 * touched, on one side at least. Nothing is joined here. */
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "bundle/joins.h"
#include "bundle/names.h"
#include "exchange/compare.h"
#include "exchange/merge.h"
#include "exchange/subject.h"

typedef struct pair {
    const gl_touched *one;
    glassine_record *other;
    const char *why; /* they may be one and the same; NULL: they only have one name */
    gl_span label;
} pair;

typedef struct alike {
    gl_merging *merging;
    glassine_bundle *bundle;
    const gl_joins *joins;
    pair *pairs;
    size_t count, room;
    gl_map *scans; /* digest -> scan record's place in `scan_list` */
    glassine_record **scan_list;
    size_t scan_count, scan_room;
} alike;

/* Do both fields say the same, as far as both say something? */
static bool agree_on(glassine_bundle *bundle, glassine_record *a, glassine_record *b, const char *field) {
    glassine_value x = glassine_record_get(bundle, a, field, NULL),
                   y = glassine_record_get(bundle, b, field, NULL);
    return !x.text || !y.text || gl_span_equal(x, y);
}

/* The same reference, or references to records that are one, as far as both say one. */
static bool agree_on_reference(const alike *it, glassine_record *a, glassine_record *b, const char *field) {
    glassine_value x = glassine_record_get(it->bundle, a, field, NULL);
    glassine_value y = glassine_record_get(it->bundle, b, field, NULL);
    return !x.text || !y.text ||
           gl_span_equal(gl_joins_of(it->joins, gl_json_raw(x)), gl_joins_of(it->joins, gl_json_raw(y)));
}

/* References to things that go by one name count as one here: of two pools' plates not even the design is
 * joined. */
static bool agree_on_name(const alike *it, glassine_record *a, glassine_record *b, const char *field) {
    if (agree_on_reference(it, a, b, field))
        return true;
    gl_span x = glassine_record_text(it->bundle, a, field), y = glassine_record_text(it->bundle, b, field);
    glassine_record *one = glassine_bundle_record(it->bundle, x, GL_NO_SPAN);
    glassine_record *other = glassine_bundle_record(it->bundle, y, GL_NO_SPAN);
    return one && other &&
           gl_span_equal(glassine_record_label(it->bundle, one), glassine_record_label(it->bundle, other));
}

static bool same_layout(const alike *it, glassine_record *a, glassine_record *b) {
    static const char *const parts[] = {"rows", "columns", "panes_across", "panes_down", "numbering", NULL};
    for (size_t i = 0; parts[i]; i++)
        if (!agree_on(it->bundle, a, b, parts[i]))
            return false;
    return true;
}

/* Why two records of one type and one label may be one and the same; NULL: nothing speaks for it. */
static const char *why_twins(const alike *it, glassine_record *a, glassine_record *b) {
    gl_span type = glassine_record_type(it->bundle, a);
    if (gl_span_is(type, "contributor"))
        return "same name";
    if (gl_span_is(type, "design"))
        return agree_on(it->bundle, a, b, "title") && agree_on(it->bundle, a, b, "denomination")
                   ? "same label"
                   : NULL;
    if (gl_span_is(type, "plate"))
        return same_layout(it, a, b) && agree_on_name(it, a, b, "design") ? "same label and layout" : NULL;
    if (gl_span_is(type, "plate_state"))
        return agree_on_name(it, a, b, "plate") && agree_on(it->bundle, a, b, "order")
                   ? "same name on one plate"
                   : NULL;
    return NULL;
}

static bool are_joined(const alike *it, glassine_record *a, glassine_record *b) {
    return gl_span_equal(gl_joins_of(it->joins, gl_record_id(it->bundle, a)),
                         gl_joins_of(it->joins, gl_record_id(it->bundle, b)));
}

/* Two touched records meet each other twice: the one with the smaller id tells. */
static bool is_told_by_the_other(const alike *it, glassine_record *one, glassine_record *other) {
    return gl_record_newest(it->bundle, other) >= it->merging->first &&
           glassine_record_counts(it->bundle, other) &&
           gl_span_compare(gl_record_id(it->bundle, other), gl_record_id(it->bundle, one)) < 0;
}

/* Were both there before, under these names? */
static bool was_so(const alike *it, const gl_touched *one, glassine_record *other, gl_span label) {
    glassine_bundle *before = it->merging->before;
    glassine_record *earlier = gl_same_record(it->bundle, other, before);
    if (!one->was || !earlier)
        return false;
    return !label.text || (gl_span_equal(glassine_record_label(before, one->was), label) &&
                           gl_span_equal(glassine_record_label(before, earlier), label));
}

static bool add_pair(alike *it, const gl_touched *one, glassine_record *other, const char *why,
                     gl_span label) {
    if (are_joined(it, one->record, other) || glassine_record_set_aside(it->bundle, other) ||
        is_told_by_the_other(it, one->record, other) || was_so(it, one, other, label))
        return true;
    void *grown = gl_grow(it->pairs, &it->room, it->count + 1, sizeof *it->pairs);
    if (!grown)
        return false;
    it->pairs = grown;
    it->pairs[it->count++] = (pair){one, other, why, label};
    return true;
}

/* A state is called "early" on every plate: such names clash only where the plate is one. */
static bool may_clash(const alike *it, glassine_record *a, glassine_record *b) {
    return !gl_span_is(glassine_record_type(it->bundle, a), "plate_state") ||
           agree_on_reference(it, a, b, "plate");
}

static glassine_status find_by_label(alike *it, const gl_touched *one, glassine_error *error) {
    const glassine_type_info *info = glassine_record_info(it->bundle, one->record);
    gl_span label =
        info && info->label ? glassine_record_text(it->bundle, one->record, info->label) : GL_NO_SPAN;
    glassine_record **list;
    size_t count = 0;
    if (!label.length)
        return GLASSINE_OK;
    const char *const types[] = {info->name, NULL};
    glassine_status status = gl_names_labelled(it->bundle, label, types, &list, &count, error);
    glassine_record **own = status ? NULL : GL_ARENA_ARRAY(it->bundle->arena, glassine_record *, count + 1);
    if (!status && !own)
        return gl_fail_memory(error);
    if (count)
        memcpy(own, list, count * sizeof *own);
    gl_records_sort(it->bundle, own, count);
    for (size_t i = 0; i < count && !status; i++) {
        if (own[i]->subject == one->record->subject)
            continue;
        const char *why = why_twins(it, one->record, own[i]);
        if ((why || may_clash(it, one->record, own[i])) && !add_pair(it, one, own[i], why, label))
            status = gl_fail_memory(error);
    }
    return status;
}

/* Every scan by its digest; of several with one digest the first in a cursor's order. */
static glassine_status index_scans(alike *it, glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(it->bundle, "scan", false, &cursor, error);
    for (glassine_record *scan; !status && (scan = glassine_cursor_next(cursor));) {
        gl_span digest = glassine_record_text(it->bundle, scan, "sha256");
        if (!digest.length || gl_map_find(it->scans, digest) != GL_NONE)
            continue;
        void *grown = gl_grow(it->scan_list, &it->scan_room, it->scan_count + 1, sizeof *it->scan_list);
        if (!grown || !gl_map_set(it->scans, digest, (uint32_t)it->scan_count)) {
            it->scan_list = grown ? grown : it->scan_list;
            status = gl_fail_memory(error);
            break;
        }
        it->scan_list = grown;
        it->scan_list[it->scan_count++] = scan;
    }
    glassine_cursor_free(cursor);
    return status;
}

/* The same picture under two records: the items that they show may be one, too. */
static glassine_status find_by_scan(alike *it, const gl_touched *one, glassine_error *error) {
    gl_span digest = glassine_record_text(it->bundle, one->record, "sha256");
    uint32_t at = digest.length ? gl_map_find(it->scans, digest) : GL_NONE;
    glassine_record *other = at == GL_NONE ? NULL : it->scan_list[at];
    if (!other || other == one->record)
        return GLASSINE_OK;
    return add_pair(it, one, other, "same bytes", GL_NO_SPAN) ? GLASSINE_OK : gl_fail_memory(error);
}

static void tell_pairs(const alike *it, bool twins) {
    for (size_t i = 0; i < it->count; i++) {
        const pair *one = &it->pairs[i];
        char label[256];
        size_t length = one->label.length < sizeof label - 1 ? one->label.length : sizeof label - 1;
        if ((one->why != NULL) != twins)
            continue;
        memcpy(label, one->label.text ? one->label.text : "", length);
        label[length] = '\0';
        glassine_merge_note note = {.met = twins ? GLASSINE_MET_TWINS : GLASSINE_MET_SAME_LABEL,
                                    .record = one->one->record,
                                    .other = one->other,
                                    .item = one->one->item,
                                    .first = it->merging->first,
                                    .text = twins ? one->why : label};
        it->merging->tell(it->merging->context, it->bundle, &note);
    }
}

static glassine_status find_all(alike *it, const gl_touched *touched, size_t count, glassine_error *error) {
    glassine_status status = gl_bundle_joins(it->bundle, &it->joins, error);
    bool indexed = false;
    for (size_t i = 0; i < count && !status; i++) {
        if (glassine_record_set_aside(it->bundle, touched[i].record))
            continue;
        bool scan = gl_span_is(glassine_record_type(it->bundle, touched[i].record), "scan");
        if (scan && !indexed)
            status = index_scans(it, error);
        indexed = indexed || scan;
        if (!status)
            status = scan ? find_by_scan(it, &touched[i], error) : find_by_label(it, &touched[i], error);
    }
    return status;
}

glassine_status gl_merge_alike(gl_merging *merging, const gl_touched *touched, size_t count,
                               glassine_error *error) {
    alike it = {.merging = merging, .bundle = merging->bundle, .scans = gl_map_new()};
    glassine_status status = it.scans ? find_all(&it, touched, count, error) : gl_fail_memory(error);
    if (!status) {
        tell_pairs(&it, false);
        tell_pairs(&it, true);
    }
    gl_map_free(it.scans);
    free(it.scan_list);
    free(it.pairs);
    return status;
}
