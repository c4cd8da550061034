/* Records as people read them and as JSON has them: for list and show. */
#ifndef CLI_DESCRIBE_H
#define CLI_DESCRIBE_H

#include "record.h"

/* Where a record is shown as part of another, `parent` is the other's id, and text leaves out the field that
 * leads there; else absent. */
#define CLI_NO_PARENT ((glassine_span){NULL, 0})

/* "record", "type", "label", "author", "set_aside", "incomplete" and "fields" with every value; as text the
 * fields, contested ones with all their values, who says so and when. */
glassine_status cli_describe(cli_call *call, glassine_node *node, glassine_record *record,
                             glassine_span parent);

/* The fields that a table of this type shows, NULL-ended. */
const char *const *cli_columns(const char *type);

/* One row of a table: as text the columns of its type, as JSON every field. */
glassine_status cli_describe_row(cli_call *call, glassine_node *table, glassine_record *record,
                                 glassine_span parent);

/* A contributor as people read it: the name, else the id. */
glassine_span cli_person(cli_call *call, glassine_span id);

/* "signed", "vouched for by the keeper", "not signed, and not counted"; NULL for what nobody signs. */
const char *cli_word(glassine_word word);

#endif
