#include "base/error.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>

#include "base/platform.h"
#include "base/text.h"

/* Appends `text` to the NUL-ended `out`, fit for a terminal, cut at a character where room ends. */
static void append_shown(char *out, size_t size, const char *text) {
    size_t at = strlen(out), length;
    char escape[GL_ESCAPE_SIZE];
    gl_span rest = gl_span_of(text), shown;
    for (; (length = gl_text_shown_next(rest, &shown, escape)) != 0;
         rest = gl_span_part(rest, length, SIZE_MAX)) {
        if (shown.length >= size - at)
            break;
        memcpy(out + at, shown.text, shown.length);
        at += shown.length;
    }
    out[at] = '\0';
}

/* Drops the beginning of a character that a cut left at the end. */
static void drop_torn_end(char *text) {
    size_t good = gl_utf8_check(gl_span_of(text)), length = strlen(text);
    if (length - good < 4 && (unsigned char)text[good] >= 0xC2)
        text[good] = '\0';
}

static void format_shown(char *out, size_t size, const char *format, va_list values)
    __attribute__((format(printf, 3, 0)));

static void format_shown(char *out, size_t size, const char *format, va_list values) {
    char raw[1024];
    out[0] = '\0';
    int length = vsnprintf(raw, sizeof raw, format, values);
    if (length < 0)
        return;
    if ((size_t)length >= sizeof raw)
        drop_torn_end(raw);
    append_shown(out, size, raw);
}

static glassine_status fill(glassine_error *error, glassine_status status, const char *rule,
                            const char *place, const char *format, va_list values)
    __attribute__((format(printf, 5, 0)));

static glassine_status fill(glassine_error *error, glassine_status status, const char *rule,
                            const char *place, const char *format, va_list values) {
    if (!error)
        return status;
    *error = (glassine_error){.status = status};
    if (rule)
        append_shown(error->rule, sizeof error->rule, rule);
    if (place)
        append_shown(error->place, sizeof error->place, place);
    format_shown(error->message, sizeof error->message, format, values);
    return status;
}

glassine_status gl_fail(glassine_error *error, glassine_status status, const char *rule, const char *place,
                        const char *format, ...) {
    va_list values;
    va_start(values, format);
    fill(error, status, rule, place, format, values);
    va_end(values);
    return status;
}

/* The name that somebody gave is at fault, and not the system: it leads nowhere, or to another kind of thing. */
static bool blames_the_name(int code) {
    return code == ENOENT || code == ENOTDIR || code == EISDIR || code == EEXIST || code == ELOOP ||
           code == ENAMETOOLONG || code == ESPIPE;
}

static void fill_code(glassine_error *error, glassine_status status, int code, const char *place,
                      const char *format, va_list values) __attribute__((format(printf, 5, 0)));

static void fill_code(glassine_error *error, glassine_status status, int code, const char *place,
                      const char *format, va_list values) {
    fill(error, status, NULL, place, format, values);
    if (error) {
        append_shown(error->message, sizeof error->message, ": ");
        append_shown(error->message, sizeof error->message,
                     code == ESPIPE ? "it is a pipe or a device, and no file" : gl_platform_error_text(code));
    }
    if (code == ESPIPE)
        gl_error_remedy(error, "Save what comes of it as a file, and name that");
}

glassine_status gl_fail_system(glassine_error *error, int code, const char *place, const char *format, ...) {
    glassine_status status = blames_the_name(code) ? GLASSINE_REFUSED : GLASSINE_SYSTEM;
    va_list values;
    va_start(values, format);
    fill_code(error, status, code, place, format, values);
    va_end(values);
    return status;
}

glassine_status gl_fail_making(glassine_error *error, int code, const char *place, const char *format, ...) {
    bool folder_gone = code == ENOENT || code == ENOTDIR;
    glassine_status status = blames_the_name(code) && !folder_gone ? GLASSINE_REFUSED : GLASSINE_SYSTEM;
    va_list values;
    va_start(values, format);
    fill_code(error, status, code, place, format, values);
    va_end(values);
    return status;
}

glassine_status gl_fail_memory(glassine_error *error) {
    return gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "there is not enough memory");
}

void gl_error_within(glassine_error *error, const char *outer) {
    if (!error)
        return;
    char inner[sizeof error->place];
    memcpy(inner, error->place, sizeof inner);
    error->place[0] = '\0';
    append_shown(error->place, sizeof error->place, outer);
    if (inner[0]) {
        append_shown(error->place, sizeof error->place, ": ");
        append_shown(error->place, sizeof error->place, inner);
    }
}

void gl_error_remedy(glassine_error *error, const char *format, ...) {
    if (!error)
        return;
    va_list values;
    va_start(values, format);
    format_shown(error->remedy, sizeof error->remedy, format, values);
    va_end(values);
}

void glassine_error_line(const glassine_error *error, char *out, size_t size) {
    if (size == 0)
        return;
    out[0] = '\0';
    const char *parts[] = {error->place,
                           error->place[0] ? ": " : "",
                           error->message,
                           error->rule[0] ? " (" : "",
                           error->rule,
                           error->rule[0] ? ")" : "",
                           error->remedy[0] ? ". " : "",
                           error->remedy};
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++)
        append_shown(out, size, parts[i]);
}
