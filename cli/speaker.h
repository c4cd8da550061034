/* Who speaks: --by, GLASSINE_BY, the configuration, the one a dispatch is for, the keeper; and --via. */
#ifndef CLI_SPEAKER_H
#define CLI_SPEAKER_H

#include "args.h"

typedef struct cli_speaker {
    const char *name;   /* as somebody typed it; NULL: nobody said, so the bundle decides */
    const char *source; /* "--by", "GLASSINE_BY", or the configuration's path */
} cli_speaker;

/* What was said about who speaks; refused where the configuration cannot be understood. */
glassine_status cli_speaker_said(cli_pool *pool, const cli_args *args, cli_speaker *speaker,
                                 glassine_error *error);

/* Did the command or the environment name somebody? */
bool cli_speaker_was_said(const cli_args *args);

/* The contributors (contributor/UUID) meant by --by, or what stands for it, and by --via. *by is NULL where
 * the bundle decides; *via where nobody else writes it down. */
glassine_status cli_speaker_find(cli_pool *pool, glassine_bundle *bundle, const cli_args *args,
                                 const char **by, const char **via, glassine_error *error);

/* Where --by names whose answers are taken in: who takes them in becomes *via, if the environment or the
 * configuration names a contributor other than `by`. */
glassine_status cli_speaker_at_work(cli_pool *pool, glassine_bundle *bundle, const cli_args *args,
                                    const char *by, const char **via, glassine_error *error);

/* Who speaks where nothing was said: the one a dispatch is for, else the keeper. */
const char *cli_speaker_usual(const glassine_bundle *bundle);

#endif
