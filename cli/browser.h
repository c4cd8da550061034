/* Starting the user's browser. */
#ifndef CLI_BROWSER_H
#define CLI_BROWSER_H

#include "glassine.h"
#include "pool.h"

/* Shows the file with the first that can be started of the commands in the environment's BROWSER (separated
 * by colons, "%s" standing for the address, as xdg-open reads it), else with the desktop's opener. *with is
 * that command, NULL where none could be started. It goes on by itself. */
glassine_status cli_browser_show(cli_pool *pool, const char *path, const char **with, glassine_error *error);

#endif
