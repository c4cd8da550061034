/* What verbs that make a page have in common. */
#ifndef CLI_PAGE_H
#define CLI_PAGE_H

#include "call.h"
#include "converters.h"

/* --scan-limit; GLASSINE_SCAN_LIMIT where it is not given. */
glassine_status cli_scan_limit(cli_call *call, uint32_t *limit);
/* --size-limit in bytes; 0 where it is not given. */
glassine_status cli_size_limit(cli_call *call, uint64_t *limit);
/* A glassine_page. */
glassine_status cli_page_for(void *context, glassine_bundle *bundle, glassine_bundle *scans,
                             uint32_t scan_limit, glassine_write write, void *out, glassine_error *error);

#endif
