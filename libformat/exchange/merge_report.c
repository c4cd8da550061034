/* What a merge brought, and what it leaves to be looked at. */
#include <stdlib.h>

#include "base/error.h"
#include "exchange/contested.h"
#include "exchange/merge.h"

static gl_span name_of(glassine_bundle *bundle, gl_span person) {
    glassine_record *record = glassine_bundle_record(bundle, person, GL_NO_SPAN);
    return record ? glassine_record_label(bundle, record) : person;
}

static void report_sources(gl_merging *it, glassine_node *result) {
    glassine_node *table = glassine_node_table(result, "sources", "Taken in");
    for (size_t i = 0; i < it->source_count; i++) {
        const gl_merge_source *source = &it->sources[i];
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        glassine_node_string(row, "source", "source", source->path);
        glassine_node_string(row, "bundle", NULL, source->bundle->about.uuid);
        if (source->bundle->about.answers)
            glassine_node_string(row, "answers", NULL, source->bundle->about.answers);
        glassine_node_integer(row, "slips", "new slips", (int64_t)source->slips);
        glassine_node_integer(row, "slips_known", "known", (int64_t)(source->slips_there - source->slips));
        glassine_node_integer(row, "scans", "new scans", (int64_t)source->scans);
        glassine_node_integer(row, "signatures", NULL, (int64_t)source->signatures);
        if (source->unknown_lines)
            glassine_report_finding(it->report, GLASSINE_NOTE, NULL, source->path,
                                    "They stay in that file; a newer program may know them",
                                    "%llu lines of its log are of a kind that this version does not know",
                                    (unsigned long long)source->unknown_lines);
    }
}

/* The records that something came for, each once, in a cursor's order. */
static glassine_status touched_records(gl_merging *it, glassine_record ***out, size_t *count, glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    uint32_t end = gl_store_count(bundle->store);
    gl_map *seen = gl_map_new();
    glassine_record **list = malloc((end - it->before + 1u) * sizeof *list);
    glassine_status status = seen && list ? GLASSINE_OK : gl_fail_memory(error);
    *count = 0;
    for (uint32_t slip = it->before; slip < end && !status; slip++) {
        glassine_record *record = gl_bundle_record_of_slip(bundle, slip);
        gl_span key = glassine_record_key(bundle, record);
        if (gl_map_find(seen, key) != GL_NONE)
            continue;
        list[(*count)++] = record;
        if (!key.text || !gl_map_set(seen, key, 1))
            status = gl_fail_memory(error);
    }
    gl_map_free(seen);
    if (status) {
        free(list);
        return status;
    }
    gl_records_sort(bundle, list, *count);
    *out = list;
    return GLASSINE_OK;
}

/* Who made the first slip that came for a record: shown beside it. */
static glassine_slip first_that_came(gl_merging *it, const glassine_record *record) {
    uint32_t found = it->before;
    for (uint32_t slip = gl_store_record(it->bundle->store, record->subject)->last;
         slip != GL_NONE && slip >= it->before; slip = gl_store_at(it->bundle->store, slip)->previous)
        if (record->author == GL_NONE || gl_store_at(it->bundle->store, slip)->author == record->author)
            found = slip;
    return glassine_bundle_slip(it->bundle, found);
}

/* "positions: 64, state: early" of what stands in the record's fields, shortened by the printer. */
static void add_summary(glassine_bundle *bundle, glassine_record *record, gl_buf *out) {
    const glassine_field *fields;
    size_t count;
    if (glassine_record_fields(bundle, record, &fields, &count, NULL))
        return;
    for (size_t i = 0; i < count; i++) {
        const glassine_field *field = &fields[i];
        if (field->contested || !field->sayings[0].value.text || field->reach == GLASSINE_PRIVATE)
            continue;
        gl_buf_printf(out, "%s%.*s: ", out->length ? ", " : "", GL_SPAN_ARGS(field->name));
        gl_buf_add(out, glassine_value_shown(bundle, field->sayings[0].value, field->info));
    }
}

static void report_record(gl_merging *it, glassine_record *record, glassine_node *table) {
    glassine_bundle *bundle = it->bundle;
    glassine_slip came = first_that_came(it, record);
    gl_buf summary = GL_BUF_EMPTY;
    add_summary(bundle, record, &summary);
    glassine_node *row = glassine_node_object(table, NULL, NULL);
    glassine_node_text(row, "record", NULL, glassine_record_key(bundle, record));
    glassine_node_text(row, "type", "type", glassine_record_type(bundle, record));
    glassine_node_text(row, "label", "record", glassine_record_label(bundle, record));
    glassine_node_text(row, "by", NULL, came.by);
    glassine_node_text(row, "by_name", "by", name_of(bundle, came.by));
    glassine_node_text(row, "at", NULL, came.at);
    glassine_node_string(row, "says", "says", summary.failed || !summary.text ? "" : summary.text);
    gl_buf_free(&summary);
}

/* Was there already something on this record? */
static bool was_there(const gl_merging *it, const glassine_record *record) {
    return record->first_slip < it->before;
}

/* Do slips that were there and slips that came both stand, by different people, with no field contested? Then
 * the row is one that nobody wrote as such. */
static bool combines(gl_merging *it, glassine_record *record) {
    const gl_reading *reading;
    if (record->author != GL_NONE || gl_record_reading(it->bundle, record, &reading, NULL))
        return false;
    uint32_t ours = GL_NONE;
    for (uint32_t i = 0; i < reading->field_count; i++)
        for (uint32_t k = 0; k < reading->fields[i].said_count; k++)
            if (reading->fields[i].said[k].slip < it->before)
                ours = reading->fields[i].said[k].slip;
    if (ours == GL_NONE)
        return false;
    for (uint32_t i = 0; i < reading->field_count; i++)
        for (uint32_t k = 0; k < reading->fields[i].said_count; k++) {
            uint32_t slip = reading->fields[i].said[k].slip;
            if (slip >= it->before && gl_store_at(it->bundle->store, slip)->author !=
                                          gl_store_at(it->bundle->store, ours)->author)
                return true;
        }
    return false;
}

static void report_group(gl_merging *it, glassine_record **list, size_t count, const char *key, const char *label,
                         bool (*belongs)(gl_merging *it, glassine_record *record), glassine_node *result) {
    glassine_node *table = glassine_node_table(result, key, label);
    for (size_t i = 0; i < count; i++)
        if (belongs(it, list[i]))
            report_record(it, list[i], table);
}

static bool is_new(gl_merging *it, glassine_record *record) {
    return !was_there(it, record);
}

static bool is_changed(gl_merging *it, glassine_record *record) {
    return was_there(it, record) && !combines(it, record);
}

static bool is_combined(gl_merging *it, glassine_record *record) {
    return was_there(it, record) && combines(it, record);
}

static glassine_status report_contested(gl_merging *it, glassine_record **list, size_t count, glassine_node *result,
                                        glassine_error *error) {
    glassine_node *contested = glassine_node_list(result, "contested", "Contested: both values stand until settled");
    size_t found = 0;
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count && !status; i++)
        status = gl_report_contested_of(it->bundle, list[i], contested, &found, error);
    if (found)
        glassine_report_attention(it->report);
    return status;
}

/* Slips that follow one that is not here: their records may still change when it comes. */
static void report_incomplete(gl_merging *it, glassine_record **list, size_t count, glassine_node *result) {
    size_t found = 0;
    for (size_t i = 0; i < count; i++)
        found += glassine_record_incomplete(it->bundle, list[i]);
    glassine_node_integer(result, "incomplete", found ? "records with missing earlier slips" : NULL, (int64_t)found);
}

glassine_status gl_merge_report(gl_merging *it, glassine_error *error) {
    glassine_node *result = glassine_report_result(it->report);
    glassine_record **list;
    size_t count;
    glassine_status status = touched_records(it, &list, &count, error);
    if (status)
        return status;
    glassine_node_truth(result, "preview", NULL, it->options && it->options->preview);
    report_sources(it, result);
    glassine_node_integer(result, "new_slips", NULL, (int64_t)(gl_store_count(it->bundle->store) - it->before));
    if (!count)
        glassine_node_say(result, "Nothing new: everything in it was here already.");
    report_group(it, list, count, "new", "New", is_new, result);
    report_group(it, list, count, "changed", "Changed by others", is_changed, result);
    report_group(it, list, count, "combined", "Combined from two people's changes: look these over", is_combined,
                 result);
    status = report_contested(it, list, count, result, error);
    report_incomplete(it, list, count, result);
    free(list);
    return status ? status : glassine_report_failed(it->report) ? gl_fail_memory(error) : GLASSINE_OK;
}
