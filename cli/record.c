#include "record.h"

#include <string.h>

#include "nearest.h"
#include "refuse.h"

static const char *pooled(cli_call *call, glassine_span span) {
    const char *text = cli_pool_span(call->pool, span);
    return text != NULL ? text : "";
}

const char *cli_id(cli_call *call, glassine_record *record) {
    return pooled(call, glassine_record_id(call->bundle, record));
}

const char *cli_label(cli_call *call, glassine_record *record) {
    return pooled(call, glassine_record_label(call->bundle, record));
}

bool cli_span_is(glassine_span span, const char *text) {
    return span.text != NULL && span.length == strlen(text) && memcmp(span.text, text, span.length) == 0;
}

bool cli_is(cli_call *call, const glassine_record *record, const char *type) {
    return cli_span_is(glassine_record_type(call->bundle, record), type);
}

static glassine_record *collection(cli_call *call) {
    glassine_cursor *cursor;
    if (glassine_cursor_new(call->bundle, "collection", true, &cursor, NULL) != GLASSINE_OK) {
        return NULL;
    }
    glassine_record *record = glassine_cursor_next(cursor);
    glassine_cursor_free(cursor);
    return record;
}

glassine_status cli_find(cli_call *call, const char *type, const char *name, glassine_record **record) {
    glassine_status status = glassine_bundle_find(call->bundle, type, name, record, call->error);
    if (status != GLASSINE_REFUSED || type != NULL) {
        return status;
    }
    if (strcmp(name, "collection") == 0) {
        *record = collection(call);
        return *record != NULL ? GLASSINE_OK : status;
    }
    return glassine_bundle_find(call->bundle, "stamp", name, record, NULL) == GLASSINE_OK ? GLASSINE_OK
                                                                                          : status;
}

glassine_status cli_find_stamp_or_item(cli_call *call, const char *name, glassine_record **record) {
    glassine_status status = glassine_bundle_find(call->bundle, "stamp", name, record, call->error);
    if (status != GLASSINE_REFUSED) {
        return status;
    }
    glassine_error stamp_error = *call->error;
    status = glassine_bundle_find(call->bundle, "item", name, record, call->error);
    if (status == GLASSINE_REFUSED) {
        *call->error = stamp_error;
    }
    return status;
}

glassine_status cli_type(cli_call *call, const char *name, const glassine_type_info **type) {
    char *spelt = cli_pool_copy(call->pool, name, strlen(name));
    if (spelt == NULL) {
        return cli_memory(call->error);
    }
    cli_spell(spelt);
    *type = glassine_type_find(spelt);
    if (*type != NULL) {
        return GLASSINE_OK;
    }
    cli_nearest nearest = cli_nearest_start(spelt);
    for (size_t i = 0; i < glassine_type_count(); i++) {
        cli_nearest_try(&nearest, glassine_type_at(i)->name);
    }
    const char *remedy = "`glassine help types` lists them";
    if (nearest.best != NULL) {
        remedy = cli_pool_print(call->pool, "Did you mean %s?", nearest.best);
    }
    return cli_refuse(call->error, NULL, remedy, "there is no type of record \"%s\"", name);
}

cli_fields cli_fields_new(cli_call *call, size_t most) {
    return (cli_fields){cli_pool_take(call->pool, (most + 1) * sizeof(glassine_assignment)), 0};
}

void cli_fields_add(cli_call *call, cli_fields *fields, const char *name, const char *value) {
    const char *reach = call->args->option[CLI_REACH];
    fields->list[fields->count++] = (glassine_assignment){.field = name, .value = value, .reach = reach};
}

void cli_fields_add_typed(cli_call *call, cli_fields *fields, const char *skip) {
    for (size_t i = 0; i < call->args->field_count; i++) {
        const glassine_assignment *field = &call->args->fields[i];
        if (skip == NULL || strcmp(field->field, skip) != 0) {
            cli_fields_add(call, fields, field->field, field->value);
        }
    }
}

glassine_status cli_unknown_field(cli_call *call, const glassine_type_info *type, const char *name) {
    cli_nearest nearest = cli_nearest_start(name);
    for (size_t i = 0; i < type->field_count; i++) {
        cli_nearest_try(&nearest, type->fields[i].name);
    }
    const char *remedy = cli_pool_print(call->pool, "`glassine help %s` lists its fields", type->name);
    if (nearest.best != NULL) {
        remedy = cli_pool_print(call->pool, "Did you mean %s?", nearest.best);
    }
    return cli_refuse(call->error, name, remedy, "the type %s has no such field", type->name);
}

bool cli_goes_to_stamp(const char *field) {
    return glassine_type_field(glassine_type_find("item"), field) == NULL &&
           glassine_type_field(glassine_type_find("stamp"), field) != NULL;
}

glassine_status cli_referrers(cli_call *call, glassine_record *record, const char *type,
                              cli_records *records) {
    glassine_record *const *list;
    *records = (cli_records){NULL, 0};
    glassine_status status =
        glassine_record_referrers(call->bundle, record, type, false, &list, &records->count, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    records->list = cli_pool_take(call->pool, (records->count + 1) * sizeof *records->list);
    if (records->list == NULL) {
        return cli_memory(call->error);
    }
    for (size_t i = 0; i < records->count; i++) {
        records->list[i] = list[i];
    }
    return GLASSINE_OK;
}

bool cli_refers(cli_call *call, glassine_record *record, const char *field, const char *id) {
    glassine_value value = glassine_record_get(call->bundle, record, field, NULL);
    if (value.text == NULL) {
        return false;
    }
    if (value.text[0] != '[') {
        return cli_span_is(glassine_value_text(call->bundle, value), id);
    }
    glassine_span name;
    glassine_value element;
    for (size_t at = 0; glassine_value_next(value, &at, &name, &element);) {
        if (cli_span_is(glassine_value_text(call->bundle, element), id)) {
            return true;
        }
    }
    return false;
}

void cli_echo(cli_call *call, glassine_record *record, const glassine_assignment *fields, size_t count) {
    const glassine_type_info *type = glassine_record_info(call->bundle, record);
    for (size_t i = 0; i < count && type != NULL; i++) {
        const glassine_field_info *info = glassine_type_field(type, fields[i].field);
        glassine_span kept = glassine_record_text(call->bundle, record, fields[i].field);
        if (info != NULL && info->kind == GLASSINE_DATE && kept.text != NULL &&
            !cli_span_is(kept, fields[i].value)) {
            glassine_report_finding(call->report, GLASSINE_NOTE, NULL, fields[i].field, NULL,
                                    "\"%s\" is kept as %.*s", fields[i].value, (int)kept.length, kept.text);
        }
    }
}

glassine_status cli_enter_record(cli_call *call, const char *type, const cli_fields *fields,
                                 glassine_record **record) {
    glassine_status status = glassine_draft_enter(call->draft, type, fields->list, fields->count,
                                                  call->args->option[CLI_WHY], record, call->error);
    if (status == GLASSINE_OK) {
        cli_echo(call, *record, fields->list, fields->count);
    }
    return status;
}

void cli_caution(cli_call *call, glassine_record *record) {
    const glassine_type_info *type = glassine_record_info(call->bundle, record);
    glassine_span kind = glassine_record_text(call->bundle, record, "kind");
    const char *caution = type != NULL ? glassine_type_caution(type, kind.text) : NULL;
    if (caution != NULL) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, type->name, NULL, "%s", caution);
    }
}

void cli_result_record(cli_call *call, glassine_record *record) {
    glassine_span id = glassine_record_id(call->bundle, record);
    glassine_span label = glassine_record_label(call->bundle, record);
    glassine_node_text(call->result, "record", NULL, id);
    glassine_node_text(call->result, "label", NULL, label);
    glassine_node_say(call->result, "%.*s", (int)id.length, id.text);
}
