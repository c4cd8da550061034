/* What an expression of positions means on the plates of a claim, for the echo. */
#ifndef CLI_POSITIONS_H
#define CLI_POSITIONS_H

#include "record.h"

/* "places" of the result: for each plate of the claim, or of its stamp's design, the positions that were
 * understood. A plate whose layout is not settled, or that the expression does not fit, is left out. */
glassine_status cli_positions_echo(cli_call *call, glassine_record *claim);

#endif
