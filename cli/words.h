/* A line of a batch taken apart into words, as a command line is. */
#ifndef CLI_WORDS_H
#define CLI_WORDS_H

#include "pool.h"

/* Words are separated by spaces and tabs. '…' keeps everything between; "…" keeps everything but \" and \\,
 * which stand for the character; outside of quotes a backslash keeps the character behind it. A word that
 * begins with # begins a comment. Refused where a quote is not closed or nothing follows a backslash. */
glassine_status cli_words_split(cli_pool *pool, const char *line, size_t length, const char ***words,
                                size_t *count, glassine_error *error);

#endif
