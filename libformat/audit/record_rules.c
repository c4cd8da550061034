/* The record rules, field by field. */
#include "audit/record_rules.h"

#include <stdio.h>

#include "audit/together.h"
#include "base/error.h"
#include "plating/from_bundle.h"
#include "records/table.h"
#include "records/value.h"

/* One field of one record under examination. */
typedef struct exam {
    glassine_bundle *bundle;
    glassine_record *record;
    const glassine_type_info *type;
    const glassine_field_info *info;
    gl_span name, value;
    gl_plan_kept *kept;
    glassine_error *error;
} exam;

static glassine_status broken(const exam *it, const char *rule, const char *format, const char *detail) {
    gl_buf place = GL_BUF_EMPTY;
    gl_record_shown(it->bundle, it->record, &place);
    gl_buf_printf(&place, ": %.*s", GL_SPAN_ARGS(it->name));
    gl_fail(it->error, GLASSINE_REFUSED, rule, place.failed ? NULL : place.text, format, detail);
    gl_buf_free(&place);
    return GLASSINE_REFUSED;
}

static bool type_allowed(const glassine_field_info *info, gl_span type) {
    if (!info->refs)
        return true;
    for (size_t i = 0; info->refs[i]; i++)
        if (gl_span_is(type, info->refs[i]))
            return true;
    return false;
}

static glassine_status broken_reference(const exam *it, const char *rule, const char *format, gl_span id) {
    char text[96];
    snprintf(text, sizeof text, "%.*s", GL_SPAN_ARGS(id));
    return broken(it, rule, format, text);
}

static glassine_status check_reference(const exam *it, gl_span value) {
    gl_span id = gl_json_raw(value), type, uuid;
    if (!gl_record_id_split(id, &type, &uuid))
        return broken_reference(it, "R030", "\"%s\" is no TYPE/UUID", id);
    if (!type_allowed(it->info, type))
        return broken_reference(it, "R031", "it may not lead to %s", id);
    if (!glassine_bundle_record(it->bundle, id, GL_NO_SPAN))
        return broken_reference(it, "R032", "%s is not in this bundle", id);
    return GLASSINE_OK;
}

static glassine_status check_references(const exam *it) {
    if (it->info->kind == GLASSINE_REF)
        return check_reference(it, it->value);
    gl_json_walk walk = gl_json_walk_of(it->value);
    gl_span name, item;
    while (gl_json_next(&walk, &name, &item)) {
        glassine_status status = check_reference(it, item);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

static glassine_record *referred(const exam *it, const char *field) {
    gl_span id = glassine_record_text(it->bundle, it->record, field);
    return id.text ? glassine_bundle_record(it->bundle, id, GL_NO_SPAN) : NULL;
}

static glassine_status plan_of(const exam *it, glassine_record *plate) {
    gl_plan_kept *kept = it->kept;
    if (kept->plate == plate)
        return GLASSINE_OK;
    gl_plan_free(kept->plan);
    *kept = (gl_plan_kept){NULL, NULL};
    glassine_status status = gl_plan_of_plate(it->bundle, plate, &kept->plan, it->error);
    if (!status)
        kept->plate = plate;
    return status;
}

/* Does the expression fit this plate? A plate whose layout is not settled refuses nothing. */
static glassine_status fits_plate(const exam *it, glassine_record *plate, const char *expression) {
    if (!plate)
        return GLASSINE_OK;
    glassine_status status = plan_of(it, plate);
    if (status)
        return status == GLASSINE_SYSTEM ? status : GLASSINE_OK;
    glassine_positions *positions = NULL;
    status = glassine_positions_parse(it->kept->plan, expression, &positions, NULL, it->error);
    glassine_positions_free(positions);
    return status;
}

/* The plates that a record with `plate`, `plates`, or a stamp of some design is about; `each` until it refuses.
 * With a design only, one plate that fits is enough. */
static glassine_status check_expression(const exam *it) {
    gl_span text = gl_bundle_decoded(it->bundle, it->value);
    if (!text.text)
        return gl_fail_memory(it->error);
    if (gl_field_of(it->type, GL_SPAN("plate")))
        return fits_plate(it, referred(it, "plate"), text.text);
    glassine_value plates = glassine_record_get(it->bundle, it->record, "plates", NULL), item;
    size_t at = 0;
    while (plates.text && glassine_value_next(plates, &at, NULL, &item)) {
        glassine_status status =
            fits_plate(it, glassine_bundle_record(it->bundle, gl_json_raw(item), GL_NO_SPAN), text.text);
        if (status)
            return status;
    }
    glassine_record *stamp = referred(it, "stamp");
    gl_span design = stamp && !plates.text ? glassine_record_text(it->bundle, stamp, "design") : GL_NO_SPAN;
    glassine_record *of = design.text ? glassine_bundle_record(it->bundle, design, GL_NO_SPAN) : NULL;
    glassine_record *const *list;
    size_t count;
    if (!of || glassine_record_referrers(it->bundle, of, "plate", false, &list, &count, NULL) || !count)
        return GLASSINE_OK;
    glassine_status status = GLASSINE_OK;
    for (size_t i = count; i-- > 0;) { /* backwards: the error that is left is the first plate's */
        status = fits_plate(it, list[i], text.text);
        if (!status)
            return GLASSINE_OK;
    }
    return status;
}

/* A state belongs to the plate that the same record names. */
static glassine_status check_state(const exam *it) {
    glassine_record *state = glassine_bundle_record(it->bundle, gl_json_raw(it->value), GL_NO_SPAN);
    gl_span of = state ? glassine_record_text(it->bundle, state, "plate") : GL_NO_SPAN;
    if (!of.text)
        return GLASSINE_OK;
    gl_span plate = glassine_record_text(it->bundle, it->record, "plate");
    glassine_value plates = glassine_record_get(it->bundle, it->record, "plates", NULL), item;
    bool named = plate.text || plates.text, fits = plate.text && gl_span_equal(plate, of);
    size_t at = 0;
    while (plates.text && !fits && glassine_value_next(plates, &at, NULL, &item))
        fits = gl_span_equal(gl_json_raw(item), of);
    if (!named || fits)
        return GLASSINE_OK;
    return broken(it, "R212", "\"%s\" is a state of another plate",
                  glassine_record_label(it->bundle, state).text);
}

static glassine_status check_region(const exam *it) {
    glassine_record *scan = referred(it, "scan");
    int64_t width, height, part[4] = {0};
    if (!scan || !glassine_record_integer(it->bundle, scan, "width", &width) ||
        !glassine_record_integer(it->bundle, scan, "height", &height))
        return GLASSINE_OK;
    size_t at = 0, count = 0;
    glassine_value item;
    while (count < 4 && glassine_value_next(it->value, &at, NULL, &item))
        gl_json_integer(item, &part[count++]);
    if (part[0] <= width && part[2] <= width - part[0] && part[1] <= height && part[3] <= height - part[1])
        return GLASSINE_OK;
    char size[64];
    snprintf(size, sizeof size, "%lld x %lld", (long long)width, (long long)height);
    return broken(it, "R052", "it reaches beyond its scan of %s pixels", size);
}

/* Where a stamp lies in its item, by the item's kind. */
static glassine_status check_place(const exam *it) {
    glassine_record *item = referred(it, "item");
    gl_span kind = item ? glassine_record_text(it->bundle, item, "kind") : GL_NO_SPAN;
    int64_t row = 1, column = 1;
    glassine_record_integer(it->bundle, it->record, "row", &row);
    glassine_record_integer(it->bundle, it->record, "column", &column);
    bool fits = true;
    if (gl_span_is(kind, "single"))
        fits = row == 1 && column == 1;
    else if (gl_span_is(kind, "pair"))
        fits = (row == 1 && column <= 2) || (column == 1 && row <= 2);
    else if (gl_span_is(kind, "strip"))
        fits = row == 1 || column == 1;
    return fits ? GLASSINE_OK : broken(it, "R055", "a %s has no such place", kind.text);
}

static bool is_place_field(const exam *it) {
    return gl_span_is(gl_span_of(it->type->name), "stamp") &&
           (gl_span_is(it->name, "row") || gl_span_is(it->name, "column"));
}

/* The value, then what it leads to, then how it goes with the other fields. */
static glassine_status check_value(const exam *it) {
    const char *rule, *fault = gl_value_fault(it->info, it->value, &rule);
    if (fault)
        return broken(it, rule, "%s", fault);
    glassine_status status = GLASSINE_OK;
    if (it->info->kind == GLASSINE_REF || it->info->kind == GLASSINE_REFS)
        status = check_references(it);
    if (!status && it->info->kind == GLASSINE_EXPRESSION)
        status = check_expression(it);
    if (!status && it->info->kind == GLASSINE_REGION)
        status = check_region(it);
    if (!status && (gl_span_is(it->name, "state") || gl_span_is(it->name, "first_state") ||
                    gl_span_is(it->name, "last_state")))
        status = check_state(it);
    if (!status && is_place_field(it))
        status = check_place(it);
    return status;
}

/* Every value that stands for the field, contested or not, must fit it. */
static glassine_status check_field(glassine_bundle *bundle, glassine_record *record,
                                   const gl_read_field *field, gl_plan_kept *kept, glassine_error *error) {
    const glassine_type_info *type = glassine_record_info(bundle, record);
    exam it = {.bundle = bundle,
               .record = record,
               .type = type,
               .name = gl_read_name(field),
               .kept = kept,
               .error = error};
    it.info = gl_field_of(type, it.name);
    for (uint32_t i = 0; it.info && i < field->said_count; i++) {
        it.value = gl_read_value(field, i);
        glassine_status status = it.value.text ? check_value(&it) : GLASSINE_OK;
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

glassine_status gl_record_rules_value(glassine_bundle *bundle, glassine_record *record, gl_span field,
                                      gl_span value, glassine_error *error) {
    const glassine_type_info *type = glassine_record_info(bundle, record);
    gl_plan_kept kept = {NULL, NULL};
    exam it = {bundle, record, type, gl_field_of(type, field), field, value, &kept, error};
    glassine_status status = it.info ? check_value(&it) : GLASSINE_OK;
    gl_plan_free(kept.plan);
    return status;
}

/* Said at all, were it contested. */
static bool says(void *context, const char *field) {
    const exam *it = context;
    bool contested;
    glassine_value value = glassine_record_get(it->bundle, it->record, field, &contested);
    return contested || value.text;
}

glassine_status gl_record_rules_required(glassine_bundle *bundle, glassine_record *record,
                                         glassine_error *error) {
    exam it = {
        .bundle = bundle, .record = record, .type = glassine_record_info(bundle, record), .error = error};
    const char *lacks = gl_type_lacks(it.type, says, &it);
    if (!lacks)
        return GLASSINE_OK;
    it.name = gl_span_of(it.type->name);
    gl_fail(error, GLASSINE_REFUSED, "R040", it.type->name, "it needs %s", lacks);
    gl_error_remedy(error, "Give %s=…", lacks);
    return GLASSINE_REFUSED;
}

/* A broken rule is told; that memory ran out is noted of the bundle. */
static void judge(glassine_bundle *bundle, glassine_status status, const glassine_error *error,
                  void (*found)(void *context, const glassine_error *error), void *context) {
    if (status == GLASSINE_REFUSED)
        found(context, error);
    else if (status)
        gl_bundle_fail_memory(bundle, NULL);
}

void gl_record_rules(glassine_bundle *bundle, glassine_record *record, gl_plan_kept *kept,
                     void (*found)(void *context, const glassine_error *error), void *context) {
    glassine_error error;
    const gl_reading *reading;
    if (gl_record_rules_required(bundle, record, &error)) {
        gl_buf place = GL_BUF_EMPTY;
        gl_record_shown(bundle, record, &place);
        snprintf(error.place, sizeof error.place, "%s", place.failed ? "" : place.text);
        gl_buf_free(&place);
        found(context, &error);
    }
    if (gl_record_reading(bundle, record, &reading, NULL))
        return;
    for (uint32_t i = 0; i < reading->field_count; i++)
        judge(bundle, check_field(bundle, record, &reading->fields[i], kept, &error), &error, found, context);
    judge(bundle, gl_together_rules(bundle, record, &error), &error, found, context);
}
