/* A line of text put together bit by bit; what does not fit is cut. */
#ifndef CLI_LINE_H
#define CLI_LINE_H

#include <stddef.h>

typedef struct cli_line {
    char text[512]; /* always NUL-ended; begin with {0} */
    size_t length;
} cli_line;

void cli_line_add(cli_line *line, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
