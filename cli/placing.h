/* "STAMP [PLATE] POSITIONS", as claims and conclusions are typed. */
#ifndef CLI_PLACING_H
#define CLI_PLACING_H

#include "record.h"

typedef struct cli_placing {
    glassine_record *stamp;
    glassine_record *plate; /* NULL: none was named */
    const char *positions;  /* NULL: any */
} cli_placing;

/* Out of the call's words (one to three of them); its fields must not say the same again. */
glassine_status cli_placing_take(cli_call *call, cli_placing *placing);
/* As the fields stamp, plates and positions. */
void cli_placing_add(cli_call *call, const cli_placing *placing, cli_fields *fields);

#endif
