/* revise: changes fields of a record. settle: answers contested ones. */
#include <string.h>

#include "record.h"
#include "refuse.h"
#include "verbs.h"

/* What the typed fields speak of: the named record, and for stamp fields an item's one stamp. */
typedef struct aim {
    glassine_record *record, *stamp; /* stamp: NULL where no field goes to it */
    cli_fields fields, stamp_fields;
} aim;

static glassine_status one_stamp(cli_call *call, glassine_record *item, const char *field,
                                 glassine_record **stamp) {
    cli_records stamps;
    glassine_status status = cli_referrers(call, item, "stamp", &stamps);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (stamps.count == 1) {
        *stamp = stamps.list[0];
        return GLASSINE_OK;
    }
    const char *label = cli_label(call, item);
    if (stamps.count == 0) {
        return cli_refuse(call->error, field,
                          cli_pool_print(call->pool, "glassine enter FILE stamp item='%s' adds one", label),
                          "is a field of stamps, and %s has none", label);
    }
    return cli_refuse(
        call->error, field,
        cli_pool_print(call->pool, "Name the stamp: %s.1 to %s.%zu", label, label, stamps.count),
        "is a field of stamps, and %s has %zu", label, stamps.count);
}

static glassine_status take_aim(cli_call *call, aim *aimed) {
    const cli_args *args = call->args;
    *aimed = (aim){.fields = cli_fields_new(call, args->field_count),
                   .stamp_fields = cli_fields_new(call, args->field_count)};
    if (aimed->fields.list == NULL || aimed->stamp_fields.list == NULL) {
        return cli_memory(call->error);
    }
    if (args->field_count == 0) {
        return cli_refuse(call->error, NULL, "Say what is new as name=value; name= clears a field",
                          "no field is given");
    }
    glassine_status status = cli_find(call, NULL, args->words[0], &aimed->record);
    bool item = status == GLASSINE_OK && cli_is(call, aimed->record, "item");
    for (size_t i = 0; i < args->field_count && status == GLASSINE_OK; i++) {
        const glassine_assignment *field = &args->fields[i];
        bool of_stamp = item && cli_goes_to_stamp(field->field);
        cli_fields_add(call, of_stamp ? &aimed->stamp_fields : &aimed->fields, field->field, field->value);
        if (of_stamp && aimed->stamp == NULL) {
            status = one_stamp(call, aimed->record, field->field, &aimed->stamp);
        }
    }
    return status;
}

static glassine_status revise(cli_call *call, glassine_record *record, const cli_fields *fields,
                              bool *changed) {
    bool done = false;
    glassine_status status = GLASSINE_OK;
    if (fields->count > 0) {
        status = glassine_draft_revise(call->draft, record, fields->list, fields->count,
                                       call->args->option[CLI_WHY], &done, call->error);
    }
    if (status == GLASSINE_OK && done) {
        *changed = true;
        cli_echo(call, record, fields->list, fields->count);
        cli_caution(call, record);
    }
    return status;
}

static glassine_status settle(cli_call *call, glassine_record *record, const cli_fields *fields) {
    glassine_status status = GLASSINE_OK;
    if (fields->count > 0) {
        status = glassine_draft_settle(call->draft, record, fields->list, fields->count,
                                       call->args->option[CLI_WHY], call->error);
    }
    if (status == GLASSINE_OK && fields->count > 0) {
        cli_echo(call, record, fields->list, fields->count);
    }
    return status;
}

/* The id of what was changed: of the stamp, where only stamp fields were given. */
static void tell(cli_call *call, const aim *aimed) {
    cli_result_record(call, aimed->fields.count > 0 ? aimed->record : aimed->stamp);
    if (aimed->stamp != NULL) {
        glassine_node_text(call->result, "stamp", NULL, glassine_record_id(call->bundle, aimed->stamp));
    }
}

glassine_status cli_revise(cli_call *call) {
    aim aimed;
    bool changed = false;
    glassine_status status = take_aim(call, &aimed);
    if (status == GLASSINE_OK) {
        status = revise(call, aimed.record, &aimed.fields, &changed);
    }
    if (status == GLASSINE_OK) {
        status = revise(call, aimed.stamp, &aimed.stamp_fields, &changed);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    tell(call, &aimed);
    glassine_node_truth(call->result, "changed", NULL, changed);
    if (!changed) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, cli_label(call, aimed.record), NULL,
                                "says so already; nothing was changed");
    }
    return GLASSINE_OK;
}

glassine_status cli_settle(cli_call *call) {
    aim aimed;
    glassine_status status = take_aim(call, &aimed);
    if (status == GLASSINE_OK) {
        status = settle(call, aimed.record, &aimed.fields);
    }
    if (status == GLASSINE_OK) {
        status = settle(call, aimed.stamp, &aimed.stamp_fields);
    }
    if (status == GLASSINE_OK) {
        tell(call, &aimed);
    }
    return status;
}
