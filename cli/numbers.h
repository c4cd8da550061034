/* Numbers as options and fields of a command give them: digits, whatever the locale (spec/commands.md has the
 * grammar). */
#ifndef CLI_NUMBERS_H
#define CLI_NUMBERS_H

#include "glassine.h"

/* A run of digits that begins at *text, which moves behind it; false where there is none, or it is above
 * `most`. */
bool cli_take_whole(const char **text, uint64_t most, uint64_t *number);

enum { CLI_PIXELS_MOST = 65000 }; /* a JPEG picture has no more on a side */

/* 0 to CLI_PIXELS_MOST. `option` is named in the refusal. */
glassine_status cli_read_pixels(const char *option, const char *typed, uint32_t *pixels,
                                glassine_error *error);
/* From 1: "20M", "500K", or bytes. */
glassine_status cli_read_size(const char *option, const char *typed, uint64_t *bytes, glassine_error *error);
/* 1 to 100, with or without its sign. */
glassine_status cli_read_percent(const char *typed, unsigned *percent, glassine_error *error);
/* The number of an edition. */
glassine_status cli_read_edition(const char *typed, uint32_t *edition, glassine_error *error);
/* A decimal number from 0, of at most 15 digits and one point. */
glassine_status cli_read_decimal(const char *field, const char *typed, double *number, glassine_error *error);

#endif
