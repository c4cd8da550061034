#include "line.h"

#include <stdarg.h>
#include <stdio.h>

void cli_line_add(cli_line *line, const char *format, ...) {
    size_t room = sizeof line->text - line->length;
    va_list arguments;
    va_start(arguments, format);
    int wanted = vsnprintf(line->text + line->length, room, format, arguments);
    va_end(arguments);
    if (wanted > 0) {
        line->length += (size_t)wanted < room ? (size_t)wanted : room - 1;
    }
}
