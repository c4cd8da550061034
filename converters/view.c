#include "view.h"

#include <errno.h>
#include <stdlib.h>

#include "output.h"

#define LABELS_DEEP 4 /* a claim on a stamp of an item: and one more */

void conv_view_free(conv_view *view) {
    free(view->said);
    free(view->slips);
    free(view->latest);
}

/* ---------------------------------------------------------------------------------------------- fields */

static bool says_something(const glassine_field *field) {
    return field->contested || field->sayings[0].value.text;
}

static glassine_status take_fields(conv_view *view, const glassine_field *fields, size_t count,
                                   glassine_error *error) {
    conv_said *said = conv_grow(view->said, &view->said_room, count, sizeof *said);
    if (!said)
        return conv_fail_system(error, ENOMEM, NULL, "Cannot look at a record");
    view->said = said;
    view->said_count = 0;
    const glassine_field *before = NULL;
    for (size_t i = 0; i < count; i++) {
        bool is_private = fields[i].reach == GLASSINE_PRIVATE;
        if (!says_something(&fields[i]) || (is_private && !view->with_private))
            continue;
        bool leading = !before || !conv_equal(before->name, fields[i].name);
        before = &fields[i];
        said[view->said_count++] = (conv_said){&fields[i], leading};
    }
    return GLASSINE_OK;
}

static glassine_status look_at_fields(conv_view *view, glassine_error *error) {
    const glassine_field *fields;
    size_t count;
    glassine_status status = glassine_record_fields(view->bundle, view->record, &fields, &count, error);
    return status ? status : take_fields(view, fields, count, error);
}

glassine_status conv_view_look_back(conv_view *view, glassine_record *record, const char (*slips)[65],
                                    size_t slip_count, glassine_error *error) {
    const glassine_field *fields;
    size_t count;
    view->record = record;
    view->slip_count = 0;
    glassine_status status =
        glassine_record_fields_at(view->bundle, record, slips, slip_count, &fields, &count, error);
    return status ? status : take_fields(view, fields, count, error);
}

const glassine_field *conv_view_field(const conv_view *view, glassine_span name, glassine_reach reach) {
    size_t from = 0, to = view->said_count;
    while (from < to) {
        size_t middle = from + (to - from) / 2;
        const glassine_field *field = view->said[middle].field;
        int order = conv_compare(field->name, name);
        if (order == 0)
            order = (int)field->reach - (int)reach;
        if (order == 0)
            return field;
        if (order < 0)
            from = middle + 1;
        else
            to = middle;
    }
    return NULL;
}

/* ----------------------------------------------------------------------------------------------- slips */

/* The latest ones of each reach that is shown: those that a change made from here follows. */
static glassine_status look_at_latest(conv_view *view, glassine_error *error) {
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        const char(*latest)[65];
        size_t count = 0, from = view->latest_from[reach];
        view->latest_from[reach + 1] = from;
        if (reach == GLASSINE_PRIVATE && !view->with_private)
            continue;
        glassine_status status =
            glassine_record_latest(view->bundle, view->record, (glassine_reach)reach, &latest, &count, error);
        if (status)
            return status;
        void *grown = conv_grow(view->latest, &view->latest_room, from + count + 1, sizeof *view->latest);
        if (!grown)
            return conv_fail_system(error, ENOMEM, NULL, "Cannot look at a record");
        view->latest = grown;
        if (count)
            memcpy(view->latest[from], latest, count * sizeof *view->latest);
        view->latest_from[reach + 1] = from + count;
    }
    return GLASSINE_OK;
}

static glassine_status look_at_slips(conv_view *view, glassine_error *error) {
    const uint32_t *numbers;
    size_t count;
    glassine_status status = glassine_record_history(view->bundle, view->record, &numbers, &count, error);
    if (status)
        return status;
    conv_slip *slips = conv_grow(view->slips, &view->slip_room, count, sizeof *slips);
    if (!slips)
        return conv_fail_system(error, ENOMEM, NULL, "Cannot look at a record");
    view->slips = slips;
    view->slip_count = 0;
    for (size_t i = 0; i < count; i++) {
        glassine_slip from = glassine_bundle_slip(view->bundle, numbers[i]);
        if (from.reach == GLASSINE_PRIVATE && !view->with_private)
            continue;
        conv_slip *to = &slips[view->slip_count++];
        *to = (conv_slip){.line = from.line, .edition = from.edition};
        memcpy(to->digest, from.digest, sizeof to->digest);
        view->holds_private |= from.reach == GLASSINE_PRIVATE;
    }
    return look_at_latest(view, error);
}

glassine_status conv_view_look(conv_view *view, glassine_record *record, bool *shown, glassine_error *error) {
    view->record = record;
    view->holds_private = false;
    glassine_status status = look_at_slips(view, error);
    *shown = !status && view->slip_count > 0;
    return *shown ? look_at_fields(view, error) : status;
}

/* ---------------------------------------------------------------------------------------------- labels */

static bool makes_labels(glassine_span name, const glassine_type_info *info) {
    static const char *const fields[] = {"label", "name", "item", "stamp", "plate", "contributor", "side"};
    if (info && info->label && conv_is(name, info->label))
        return true;
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++) {
        if (conv_is(name, fields[i]))
            return true;
    }
    return false;
}

/* Does the label of `record` rest on nothing private, neither of its own nor of the records that it leads to?
 */
static bool label_is_open(glassine_bundle *bundle, glassine_record *record, unsigned deep) {
    const glassine_field *fields;
    size_t count;
    if (!deep || glassine_record_fields(bundle, record, &fields, &count, NULL))
        return false;
    const glassine_field *before = NULL;
    for (size_t i = 0; i < count; i++) {
        const glassine_field *field = &fields[i];
        if (!says_something(field) || !makes_labels(field->name, glassine_record_info(bundle, record)))
            continue;
        bool leading = !before || !conv_equal(before->name, field->name);
        before = field;
        if (!leading)
            continue;
        if (field->reach == GLASSINE_PRIVATE)
            return false;
        glassine_span id = glassine_value_text(bundle, field->sayings[0].value);
        glassine_record *other =
            id.text ? glassine_bundle_record(bundle, id, (glassine_span){NULL, 0}) : NULL;
        if (other && !label_is_open(bundle, other, deep - 1))
            return false;
    }
    return true;
}

glassine_span conv_label(glassine_bundle *bundle, glassine_record *record, bool with_private) {
    if (!with_private && !label_is_open(bundle, record, LABELS_DEEP))
        return (glassine_span){NULL, 0};
    return glassine_record_label(bundle, record);
}

glassine_span conv_label_of(glassine_bundle *bundle, glassine_span id, bool with_private) {
    glassine_record *record = id.text ? glassine_bundle_record(bundle, id, (glassine_span){NULL, 0}) : NULL;
    return record ? conv_label(bundle, record, with_private) : (glassine_span){NULL, 0};
}

glassine_span conv_name_of(glassine_bundle *bundle, glassine_span id, bool with_private) {
    glassine_span label = conv_label_of(bundle, id, with_private);
    return label.text ? label : id;
}

/* ----------------------------------------------------------------------------------------------- grounds */

static glassine_status look_for_private(glassine_bundle *bundle, const char *type, bool *found,
                                        glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(bundle, type, false, &cursor, error);
    if (status)
        return status;
    for (glassine_record *record; !status && !*found && (record = glassine_cursor_next(cursor));) {
        const char(*slips)[65];
        size_t count = 0;
        status = glassine_record_latest(bundle, record, GLASSINE_PRIVATE, &slips, &count, error);
        *found = count > 0;
    }
    glassine_cursor_free(cursor);
    return status;
}

glassine_status conv_grounds_are_private(glassine_bundle *bundle, bool *hidden, glassine_error *error) {
    static const char *const types[] = {"claim", "match", "conclusion",  "observation", "stamp",
                                        "mark",  "plate", "plate_state", "design",      "join"};
    glassine_status status = GLASSINE_OK;
    *hidden = false;
    for (size_t i = 0; i < sizeof types / sizeof *types && !status && !*hidden; i++)
        status = look_for_private(bundle, types[i], hidden, error);
    return status;
}

/* --------------------------------------------------------------------------------------------- cautions */

glassine_status conv_cautions_look(conv_cautions *cautions, conv_view *view, glassine_record *record,
                                   glassine_error *error) {
    const glassine_type_info *info = glassine_record_info(view->bundle, record);
    if (!info || !info->caution)
        return GLASSINE_OK;
    glassine_span kind = glassine_record_text(view->bundle, record, "kind");
    const char *caution = glassine_type_caution(info, kind.text);
    size_t at = 0;
    while (caution && at < cautions->count && strcmp(cautions->text[at], caution) < 0)
        at++;
    bool known = at < cautions->count && caution && strcmp(cautions->text[at], caution) == 0;
    if (!caution || known || cautions->count == CONV_CAUTIONS_MOST)
        return GLASSINE_OK;
    bool shown;
    glassine_status status = conv_view_look(view, record, &shown, error);
    if (status || !shown)
        return status;
    memmove(cautions->text + at + 1, cautions->text + at, (cautions->count - at) * sizeof *cautions->text);
    cautions->text[at] = caution;
    cautions->count++;
    return GLASSINE_OK;
}
