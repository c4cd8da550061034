/* list: the records of a type, all or those whose fields have these values. */
#include <string.h>

#include "describe.h"
#include "refuse.h"
#include "verbs.h"

/* What a typed value means for one field: for a reference, the record it names. */
typedef struct filter {
    const char *field;
    const char *value; /* "": the field is not said */
    const char *id;    /* TYPE/UUID of the record that `value` names, NULL: no reference */
} filter;

static glassine_status make_filter(cli_call *call, const glassine_type_info *type,
                                   const glassine_assignment *typed, filter *out) {
    *out = (filter){typed->field, typed->value, NULL};
    if (type == NULL) {
        return GLASSINE_OK;
    }
    const glassine_field_info *info = glassine_type_field(type, typed->field);
    if (info == NULL || typed->value[0] == '\0' ||
        (info->kind != GLASSINE_REF && info->kind != GLASSINE_REFS)) {
        return info != NULL ? GLASSINE_OK : cli_unknown_field(call, type, typed->field);
    }
    glassine_status status = GLASSINE_REFUSED;
    glassine_record *record = NULL;
    for (size_t i = 0; info->refs != NULL && info->refs[i] != NULL && status == GLASSINE_REFUSED; i++) {
        status = glassine_bundle_find(call->bundle, info->refs[i], typed->value, &record, call->error);
    }
    if (info->refs == NULL) {
        status = glassine_bundle_find(call->bundle, NULL, typed->value, &record, call->error);
    }
    if (status == GLASSINE_OK) {
        out->id = cli_id(call, record);
    }
    return status;
}

static bool element_is(cli_call *call, glassine_value value, const glassine_field_info *info,
                       const char *wanted) {
    return cli_span_is(glassine_value_text(call->bundle, value), wanted) ||
           cli_span_is(glassine_value_shown(call->bundle, value, info), wanted) || cli_span_is(value, wanted);
}

static bool passes(cli_call *call, glassine_record *record, const filter *wanted) {
    bool contested;
    glassine_value value = glassine_record_get(call->bundle, record, wanted->field, &contested);
    if (wanted->value[0] == '\0' || value.text == NULL) {
        return value.text == NULL && !contested && wanted->value[0] == '\0';
    }
    if (wanted->id != NULL) {
        return cli_refers(call, record, wanted->field, wanted->id);
    }
    const glassine_type_info *type = glassine_record_info(call->bundle, record);
    const glassine_field_info *info = type != NULL ? glassine_type_field(type, wanted->field) : NULL;
    if (element_is(call, value, info, wanted->value)) {
        return true;
    }
    glassine_span name;
    glassine_value element;
    for (size_t at = 0; value.text[0] == '[' && glassine_value_next(value, &at, &name, &element);) {
        if (element_is(call, element, info, wanted->value)) {
            return true;
        }
    }
    return false;
}

static glassine_status list(cli_call *call, glassine_cursor *cursor, const filter *filters, size_t count) {
    glassine_node *table = glassine_node_table(call->result, "records", "");
    size_t found = 0;
    glassine_status status = GLASSINE_OK;
    for (glassine_record *record; status == GLASSINE_OK && (record = glassine_cursor_next(cursor)) != NULL;) {
        bool all = true;
        for (size_t i = 0; i < count && all; i++) {
            all = passes(call, record, &filters[i]);
        }
        if (all) {
            found++;
            status = cli_describe_row(call, table, record, CLI_NO_PARENT);
        }
    }
    glassine_node_integer(call->result, "count", NULL, (int64_t)found);
    return status;
}

/* Is there a record of this type, whether this version knows the type or not? */
static bool is_there(cli_call *call, const char *type) {
    glassine_cursor *cursor = NULL;
    bool there = glassine_cursor_new(call->bundle, type, true, &cursor, call->error) == GLASSINE_OK &&
                 glassine_cursor_next(cursor) != NULL;
    glassine_cursor_free(cursor);
    return there;
}

glassine_status cli_list(cli_call *call) {
    const cli_args *args = call->args;
    const char *name = args->words[0];
    const glassine_type_info *type = glassine_type_find(name);
    glassine_status status = type != NULL || is_there(call, name) ? GLASSINE_OK : cli_type(call, name, &type);
    name = type != NULL ? type->name : name;
    filter *filters = cli_pool_take(call->pool, (args->field_count + 1) * sizeof *filters);
    if (filters == NULL) {
        return cli_memory(call->error);
    }
    for (size_t i = 0; i < args->field_count && status == GLASSINE_OK; i++) {
        status = make_filter(call, type, &args->fields[i], &filters[i]);
    }
    glassine_cursor *cursor = NULL;
    if (status == GLASSINE_OK) {
        status = glassine_cursor_new(call->bundle, name, cli_has(args, CLI_ASIDE), &cursor, call->error);
    }
    if (status == GLASSINE_OK) {
        glassine_node_string(call->result, "type", NULL, name);
        status = list(call, cursor, filters, args->field_count);
    }
    glassine_cursor_free(cursor);
    return status;
}
