#include "container/fault.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>

enum { TEXT_SIZE = 768, PLACE_SIZE = 512 };

/* Every message is put together here; gl_fail escapes what is not fit for a terminal. */
static glassine_status fault(glassine_error *error, const char *rule, const char *path, const char *place,
                             const char *format, va_list values) __attribute__((format(printf, 5, 0)));

static glassine_status fault(glassine_error *error, const char *rule, const char *path, const char *place,
                             const char *format, va_list values) {
    char text[TEXT_SIZE];
    if (vsnprintf(text, sizeof text, format, values) < 0)
        text[0] = '\0';
    gl_fail(error, GLASSINE_REFUSED, rule, place, "%s", text);
    gl_error_within(error, path);
    return GLASSINE_REFUSED;
}

glassine_status gl_fault_at(glassine_error *error, const char *rule, const char *path, uint64_t offset,
                            const char *format, ...) {
    char place[32];
    snprintf(place, sizeof place, "byte %" PRIu64, offset);
    va_list values;
    va_start(values, format);
    fault(error, rule, path, place, format, values);
    va_end(values);
    return GLASSINE_REFUSED;
}

glassine_status gl_fault_in(glassine_error *error, const char *rule, const char *path, gl_span name,
                            const char *format, ...) {
    char place[PLACE_SIZE];
    int length = name.length < PLACE_SIZE / 2 ? (int)name.length : PLACE_SIZE / 2;
    snprintf(place, sizeof place, "%.*s", length, name.text);
    va_list values;
    va_start(values, format);
    fault(error, rule, path, place, format, values);
    va_end(values);
    return GLASSINE_REFUSED;
}

glassine_status gl_fault_reading(glassine_error *error, int code, const char *path) {
    return gl_fail_system(error, code, path, "cannot be read");
}

glassine_status gl_fault_writing(glassine_error *error, int code, const char *path) {
    return gl_fail_system(error, code, path, "cannot be written");
}
