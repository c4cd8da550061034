/* The claims of the one who speaks that still stand: neither withdrawn nor replaced. */
#ifndef CLI_OWN_CLAIMS_H
#define CLI_OWN_CLAIMS_H

#include "record.h"

/* On a stamp, in the call's pool. */
glassine_status cli_own_claims(cli_call *call, glassine_record *stamp, cli_records *claims);

/* Has its author put another claim in the place of this one? */
bool cli_claim_is_replaced(cli_call *call, glassine_record *claim);

/* "positions 4-7, probable, 2026-03-01 (claim/…)" */
const char *cli_claim_shown(cli_call *call, glassine_record *claim);

/* Refuses because several claims stand; the choices become the remedy, each after `option`. */
glassine_status cli_refuse_several_claims(cli_call *call, const cli_records *claims, const char *how);

#endif
