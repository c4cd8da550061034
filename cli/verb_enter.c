/* enter: a record; an item with its stamps. */
#include <stdio.h>
#include <string.h>

#include "record.h"
#include "refuse.h"
#include "shape.h"
#include "verbs.h"

static glassine_status check_stamp_fields(cli_call *call, const cli_fields *fields, cli_shape shape) {
    for (size_t i = 0; i < fields->count; i++) {
        const char *name = fields->list[i].field;
        bool place = strcmp(name, "row") == 0 || strcmp(name, "column") == 0;
        if (strcmp(name, "item") == 0) {
            return cli_refuse(call->error, name,
                              "glassine enter FILE stamp item=LABEL adds a stamp to an item",
                              "an item is on no item");
        }
        if (shape.count == 0) {
            return cli_refuse(call->error, name, "Leave stamps=0 away",
                              "is a field of stamps, and there are none");
        }
        if (place && shape.count > 1) {
            return cli_refuse(call->error, name, "stamps=2x3 gives each stamp its row and column",
                              "%u stamps have no row and column in common", shape.count);
        }
    }
    return GLASSINE_OK;
}

/* The number-th stamp, counted from 0. */
static glassine_status enter_stamp(cli_call *call, const char *item, const cli_fields *typed, cli_shape shape,
                                   unsigned number, glassine_node *list) {
    cli_fields fields = cli_fields_new(call, typed->count + 3);
    char row[16], column[16];
    if (fields.list == NULL) {
        return cli_memory(call->error);
    }
    cli_fields_add(call, &fields, "item", item);
    if (shape.columns > 0) {
        snprintf(row, sizeof row, "%u", number / shape.columns + 1);
        snprintf(column, sizeof column, "%u", number % shape.columns + 1);
        cli_fields_add(call, &fields, "row", row);
        cli_fields_add(call, &fields, "column", column);
    }
    for (size_t i = 0; i < typed->count; i++) {
        cli_fields_add(call, &fields, typed->list[i].field, typed->list[i].value);
    }
    glassine_record *stamp;
    glassine_status status = glassine_draft_enter(call->draft, "stamp", fields.list, fields.count,
                                                  call->args->option[CLI_WHY], &stamp, call->error);
    if (status == GLASSINE_OK) {
        glassine_node_text(list, NULL, NULL, glassine_record_id(call->bundle, stamp));
        if (number == 0) {
            cli_echo(call, stamp, typed->list, typed->count);
        }
    }
    return status;
}

static glassine_status enter_item(cli_call *call) {
    const cli_args *args = call->args;
    cli_fields of_item = cli_fields_new(call, args->field_count);
    cli_fields of_stamp = cli_fields_new(call, args->field_count);
    if (of_item.list == NULL || of_stamp.list == NULL) {
        return cli_memory(call->error);
    }
    for (size_t i = 0; i < args->field_count; i++) {
        const glassine_assignment *field = &args->fields[i];
        if (strcmp(field->field, "stamps") != 0) {
            cli_fields_add(call, cli_goes_to_stamp(field->field) ? &of_stamp : &of_item, field->field,
                           field->value);
        }
    }
    cli_shape shape;
    glassine_status status = cli_shape_parse(cli_field(args, "stamps"), &shape, call->error);
    if (status == GLASSINE_OK) {
        status = check_stamp_fields(call, &of_stamp, shape);
    }
    glassine_record *item = NULL;
    if (status == GLASSINE_OK) {
        status = cli_enter_record(call, "item", &of_item, &item);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    cli_result_record(call, item);
    glassine_node *stamps = glassine_node_list(call->result, "stamps", NULL);
    const char *id = cli_id(call, item);
    for (unsigned i = 0; i < shape.count && status == GLASSINE_OK; i++) {
        status = enter_stamp(call, id, &of_stamp, shape, i, stamps);
    }
    return status;
}

glassine_status cli_enter(cli_call *call) {
    const glassine_type_info *type;
    glassine_status status = cli_type(call, call->args->words[0], &type);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (strcmp(type->name, "item") == 0) {
        return enter_item(call);
    }
    cli_fields fields = cli_fields_new(call, call->args->field_count);
    if (fields.list == NULL) {
        return cli_memory(call->error);
    }
    cli_fields_add_typed(call, &fields, NULL);
    glassine_record *record;
    status = cli_enter_record(call, type->name, &fields, &record);
    if (status == GLASSINE_OK) {
        cli_caution(call, record);
        cli_result_record(call, record);
    }
    return status;
}
