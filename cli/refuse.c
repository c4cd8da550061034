#include "refuse.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "line.h"

static void fill(glassine_error *error, glassine_status status, const char *place, const char *remedy,
                 const char *format, va_list arguments) {
    memset(error, 0, sizeof *error);
    error->status = status;
    snprintf(error->place, sizeof error->place, "%s", place ? place : "");
    snprintf(error->remedy, sizeof error->remedy, "%s", remedy ? remedy : "");
    vsnprintf(error->message, sizeof error->message, format, arguments);
}

glassine_status cli_refuse(glassine_error *error, const char *place, const char *remedy, const char *format,
                           ...) {
    va_list arguments;
    va_start(arguments, format);
    fill(error, GLASSINE_REFUSED, place, remedy, format, arguments);
    va_end(arguments);
    return GLASSINE_REFUSED;
}

/* As the library decides it: the name that somebody gave is at fault, and not the system. */
static bool blames_the_name(int code) {
    return code == ENOENT || code == ENOTDIR || code == EISDIR || code == EEXIST || code == ELOOP ||
           code == ENAMETOOLONG;
}

static void add_reason(glassine_error *error, int code) {
    size_t length = strlen(error->message);
    char reason[128];
    if (strerror_r(code, reason, sizeof reason) != 0) {
        snprintf(reason, sizeof reason, "error %d", code);
    }
    snprintf(error->message + length, sizeof error->message - length, ": %s", reason);
}

glassine_status cli_system(glassine_error *error, int code, const char *place, const char *remedy,
                           const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    fill(error, blames_the_name(code) ? GLASSINE_REFUSED : GLASSINE_SYSTEM, place, remedy, format, arguments);
    va_end(arguments);
    add_reason(error, code);
    return error->status;
}

glassine_status cli_cannot_make(glassine_error *error, int code, const char *place, const char *remedy) {
    bool folder_gone = code == ENOENT || code == ENOTDIR;
    cli_refuse(error, place, remedy, "cannot be written");
    error->status = blames_the_name(code) && !folder_gone ? GLASSINE_REFUSED : GLASSINE_SYSTEM;
    add_reason(error, code);
    return error->status;
}

glassine_status cli_memory(glassine_error *error) {
    memset(error, 0, sizeof *error);
    error->status = GLASSINE_SYSTEM;
    snprintf(error->message, sizeof error->message, "no memory left");
    return GLASSINE_SYSTEM;
}

void cli_within(glassine_error *error, const char *outer) {
    cli_line place = {0};
    cli_line_add(&place, "%s", outer);
    if (error->place[0] != '\0') {
        cli_line_add(&place, ": %s", error->place);
    }
    memcpy(error->place, place.text, place.length + 1);
}
