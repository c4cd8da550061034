/* Every statement on a record, in order: who, when, what changed from what to what, which edition brought it.
 */
#ifndef CLI_HISTORY_H
#define CLI_HISTORY_H

#include "call.h"

glassine_status cli_history(cli_call *call, glassine_node *node, glassine_record *record);

#endif
