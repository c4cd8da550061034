/* revise: changes fields of a record. settle: answers contested ones. */
#include <string.h>

#include "as_of.h"
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

static glassine_status bring_back(cli_call *call) {
    glassine_bundle *then = NULL;
    glassine_record *record;
    size_t changed = 0, left = 0;
    if (call->args->field_count > 0) {
        return cli_refuse(call->error, NULL, "Leave the fields out, or --as-of",
                          "--as-of brings all fields back");
    }
    glassine_status status = cli_find(call, NULL, call->args->words[0], &record);
    if (status == GLASSINE_OK) {
        status = cli_as_of_open(call, call->bundle, &then);
    }
    if (status == GLASSINE_OK) {
        status = glassine_draft_restore(call->draft, record, then, call->args->option[CLI_WHY], &changed,
                                        &left, call->error);
    }
    glassine_bundle_close(then);
    if (status != GLASSINE_OK) {
        return status;
    }
    cli_result_record(call, record);
    glassine_node_truth(call->result, "changed", NULL, changed > 0);
    if (changed == 0) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, cli_label(call, record), NULL,
                                "is as it was then; nothing was changed");
    }
    if (left > 0) {
        glassine_report_finding(call->report, GLASSINE_WARNING, NULL, cli_label(call, record),
                                left == 1 ? "Change it with `glassine revise`"
                                          : "Change them with `glassine revise`",
                                left == 1 ? "%zu field was contested then, and stays as it is"
                                          : "%zu fields were contested then, and stay as they are",
                                left);
    }
    return GLASSINE_OK;
}

glassine_status cli_revise(cli_call *call) {
    if (cli_has(call->args, CLI_AS_OF)) {
        return bring_back(call);
    }
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

/* Of one record; for an item, of its one stamp too. `*all` counts what was settled. */
static glassine_status take_of(cli_call *call, glassine_record *record, const char *who,
                               const char *const *names, size_t *all) {
    size_t settled = 0;
    cli_records stamps = {.count = 0};
    glassine_status status =
        glassine_draft_settle_by(call->draft, record, who, names, call->args->field_count,
                                 call->args->option[CLI_WHY], &settled, call->error);
    *all += settled;
    if (status == GLASSINE_OK && cli_is(call, record, "item")) {
        status = cli_referrers(call, record, "stamp", &stamps);
    }
    return status == GLASSINE_OK && stamps.count == 1 ? take_of(call, stamps.list[0], who, names, all)
                                                      : status;
}

/* --take: the values of one contributor, in one record or several. */
static glassine_status take(cli_call *call) {
    const cli_args *args = call->args;
    glassine_record *who, *record = NULL;
    const char **names = cli_pool_take(call->pool, (args->field_count + 1) * sizeof *names);
    size_t all = 0;
    glassine_status status =
        names != NULL ? cli_find(call, "contributor", args->option[CLI_TAKE], &who) : cli_memory(call->error);
    for (size_t i = 0; status == GLASSINE_OK && i < args->field_count; i++) {
        names[i] = args->fields[i].field;
        if (args->fields[i].value != NULL && args->fields[i].value[0] != '\0') {
            status = cli_refuse(call->error, names[i], "Name the field alone: name=",
                                "--take says whose value it is, so no value is given");
        }
    }
    for (size_t i = 0; status == GLASSINE_OK && i < args->word_count; i++) {
        status = cli_find(call, NULL, args->words[i], &record);
        if (status == GLASSINE_OK) {
            status = take_of(call, record, cli_id(call, who), names, &all);
        }
    }
    if (status == GLASSINE_OK && all == 0) {
        return cli_refuse(call->error, args->words[0],
                          "`glassine contested` shows what is open, and who said what",
                          "no field is contested on which %s said one thing", args->option[CLI_TAKE]);
    }
    if (status == GLASSINE_OK) {
        cli_result_record(call, record);
    }
    return status;
}

glassine_status cli_settle(cli_call *call) {
    if (cli_has(call->args, CLI_TAKE)) {
        return take(call);
    }
    if (call->args->word_count > 1) {
        return cli_refuse(call->error, call->args->words[1], "Settle one record at a time, or use --take WHO",
                          "one record is wanted");
    }
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
