/* Times (RFC 3339, UTC, whole seconds, "Z") and UUIDs (RFC 9562, version 4). */
#ifndef GL_BASE_CLOCK_H
#define GL_BASE_CLOCK_H

#include <stdint.h>

#include "base/span.h"

#define GL_TIME_SIZE 21 /* "2026-11-25T08:50:59Z" and the NUL byte */
#define GL_UUID_SIZE 37

/* Seconds since 1970; SOURCE_DATE_EPOCH, where it is set to a whole number, else the clock. */
int64_t gl_clock_now(void);
/* Years 0000 to 9999; others are clamped to these. */
void gl_time_print(int64_t seconds, char out[GL_TIME_SIZE]);
/* Exactly YYYY-MM-DDTHH:MM:SSZ of a day that exists, second 0–59; else false. */
bool gl_time_parse(gl_span text, int64_t *seconds);
/* MS-DOS date and time of a ZIP entry, clamped to 1980–2107. */
void gl_time_dos(int64_t seconds, uint16_t *date, uint16_t *time);

/* A fresh version 4 UUID in lower case, from the system's random numbers; false where they fail. */
bool gl_uuid_new(char out[GL_UUID_SIZE]);
/* 36 characters of lower-case hex and '-' in their places (any version). */
bool gl_uuid_check(gl_span text);

#endif
