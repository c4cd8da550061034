/* Statements beside claims: conclude, match, join. */
#include <string.h>

#include "placing.h"
#include "positions.h"
#include "refuse.h"
#include "verbs.h"

glassine_status cli_conclude(cli_call *call) {
    cli_placing placing;
    glassine_record *record;
    glassine_status status = cli_placing_take(call, &placing);
    if (status != GLASSINE_OK) {
        return status;
    }
    cli_fields fields = cli_fields_new(call, call->args->field_count + 3);
    if (fields.list == NULL) {
        return cli_memory(call->error);
    }
    cli_placing_add(call, &placing, &fields);
    cli_fields_add_typed(call, &fields, NULL);
    status = cli_enter_record(call, "conclusion", &fields, &record);
    if (status == GLASSINE_OK) {
        cli_result_record(call, record);
        status = cli_positions_echo(call, record);
    }
    return status;
}

/* The ids of the call's first `count` words, as one list. */
static glassine_status list_of(cli_call *call, const char *type, size_t count, const char **out) {
    *out = "";
    for (size_t i = 0; i < count; i++) {
        glassine_record *record;
        glassine_status status = cli_find(call, type, call->args->words[i], &record);
        if (status != GLASSINE_OK) {
            return status;
        }
        *out = cli_pool_print(call->pool, "%s%s%s", *out, i > 0 ? "," : "", cli_id(call, record));
        if (*out == NULL) {
            return cli_memory(call->error);
        }
    }
    return GLASSINE_OK;
}

glassine_status cli_match(cli_call *call) {
    const cli_args *args = call->args;
    const char *stamps;
    glassine_record *record;
    glassine_status status = list_of(call, "stamp", 2, &stamps);
    if (status != GLASSINE_OK) {
        return status;
    }
    cli_fields fields = cli_fields_new(call, args->field_count + 3);
    if (fields.list == NULL) {
        return cli_memory(call->error);
    }
    cli_fields_add(call, &fields, "stamps", stamps);
    cli_fields_add(call, &fields, "relation", args->words[2]);
    if (cli_field(args, "confidence") == NULL) {
        cli_fields_add(call, &fields, "confidence", "probable");
    }
    cli_fields_add_typed(call, &fields, NULL);
    status = cli_enter_record(call, "match", &fields, &record);
    if (status == GLASSINE_OK) {
        cli_result_record(call, record);
    }
    return status;
}

glassine_status cli_join(cli_call *call) {
    const cli_args *args = call->args;
    const char *records;
    glassine_record *record;
    glassine_status status = list_of(call, NULL, args->word_count, &records);
    if (status != GLASSINE_OK) {
        return status;
    }
    cli_fields fields = cli_fields_new(call, args->field_count + 1);
    if (fields.list == NULL) {
        return cli_memory(call->error);
    }
    cli_fields_add(call, &fields, "records", records);
    cli_fields_add_typed(call, &fields, NULL);
    status = cli_enter_record(call, "join", &fields, &record);
    if (status == GLASSINE_OK) {
        cli_result_record(call, record);
    }
    return status;
}
