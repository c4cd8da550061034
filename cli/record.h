/* What several verbs do with records and the fields that were typed for them. */
#ifndef CLI_RECORD_H
#define CLI_RECORD_H

#include "call.h"

/* Fields gathered for one record. */
typedef struct cli_fields {
    glassine_assignment *list;
    size_t count;
} cli_fields;

typedef struct cli_records {
    glassine_record **list;
    size_t count;
} cli_records;

bool cli_span_is(glassine_span span, const char *text);

/* TYPE/UUID and what people call it, NUL-ended, in the call's pool; "" where memory ran out. */
const char *cli_id(cli_call *call, glassine_record *record);
const char *cli_label(cli_call *call, glassine_record *record);
bool cli_is(cli_call *call, const glassine_record *record, const char *type);

/* As glassine_bundle_find; where any type will do, also a stamp by its item ("H-014.2"), and the one
 * collection record as "collection". */
glassine_status cli_find(cli_call *call, const char *type, const char *name, glassine_record **record);
/* A stamp, or the item where the name means an item without just one stamp. */
glassine_status cli_find_stamp_or_item(cli_call *call, const char *name, glassine_record **record);

/* The type of this name; refused with the nearest one. */
glassine_status cli_type(cli_call *call, const char *name, const glassine_type_info **type);

/* Refuses a field that the type does not have, naming the nearest. */
glassine_status cli_unknown_field(cli_call *call, const glassine_type_info *type, const char *name);

/* Room for `most` fields; NULL list where memory ran out. */
cli_fields cli_fields_new(cli_call *call, size_t most);
void cli_fields_add(cli_call *call, cli_fields *fields, const char *name, const char *value);
/* The call's fields, behind those that are there already, but for `skip` (may be NULL). */
void cli_fields_add_typed(cli_call *call, cli_fields *fields, const char *skip);

/* Where fields are typed for an item: does this one go to its stamp? A field that both have is the item's,
 * and one that neither has is left to the item, where it is refused. */
bool cli_goes_to_stamp(const char *field);

/* The records of `type` that refer to `record`, in order, in the call's pool. */
glassine_status cli_referrers(cli_call *call, glassine_record *record, const char *type,
                              cli_records *records);
/* Does the field (a reference or an array of them) lead to `id`? */
bool cli_refers(cli_call *call, glassine_record *record, const char *field, const char *id);

/* Says as notes what was understood otherwise than it was typed (dates). */
void cli_echo(cli_call *call, glassine_record *record, const glassine_assignment *fields, size_t count);

/* glassine_draft_enter with the call's reason, and the echo. */
glassine_status cli_enter_record(cli_call *call, const char *type, const cli_fields *fields,
                                 glassine_record **record);
/* Says the caution of such a record, if there is one. */
void cli_caution(cli_call *call, glassine_record *record);

/* Result of a verb that made or changed one record: "record" and "label"; as text the id alone on a line. */
void cli_result_record(cli_call *call, glassine_record *record);

#endif
