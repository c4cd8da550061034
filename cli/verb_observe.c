/* observe: what somebody sees, or looked for and did not see. */
#include "record.h"
#include "refuse.h"
#include "verbs.h"

glassine_status cli_observe(cli_call *call) {
    const cli_args *args = call->args;
    glassine_record *subject, *record;
    glassine_status status = cli_find_stamp_or_item(call, args->words[0], &subject);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (args->field_count == 0) {
        return cli_refuse(
            call->error, cli_label(call, subject),
            "glassine observe FILE STAMP appearance=dot x=120 y=980; see `glassine help observation`",
            "nothing is said to be seen");
    }
    cli_fields fields = cli_fields_new(call, args->field_count + 2);
    if (fields.list == NULL) {
        return cli_memory(call->error);
    }
    cli_fields_add(call, &fields, cli_is(call, subject, "stamp") ? "stamp" : "item", cli_id(call, subject));
    if (cli_field(args, "seen") == NULL) {
        cli_fields_add(call, &fields, "seen", "present");
    }
    cli_fields_add_typed(call, &fields, NULL);
    status = cli_enter_record(call, "observation", &fields, &record);
    if (status == GLASSINE_OK) {
        cli_result_record(call, record);
    }
    return status;
}
