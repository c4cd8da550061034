/* Filling a glassine_error: one line that says what, where and what to do. */
#ifndef GL_BASE_ERROR_H
#define GL_BASE_ERROR_H

#include "glassine.h"

/* Fills *error (which may be NULL) and returns `status`, so that callers write
 * `return gl_fail(error, GLASSINE_REFUSED, "C010", place, "…")`. `rule` is a rule code or NULL.
 * `place` (may be NULL) is the file, record or line; bytes that are not fit for a terminal are escaped. */
glassine_status gl_fail(glassine_error *error, glassine_status status, const char *rule, const char *place,
                        const char *format, ...) __attribute__((format(printf, 5, 6)));

/* The same with the text of errno `code` behind the message, and status GLASSINE_SYSTEM; GLASSINE_REFUSED where
 * the code blames the name that somebody gave (ENOENT, ENOTDIR, EISDIR, EEXIST, ELOOP, ENAMETOOLONG, ESPIPE). */
glassine_status gl_fail_system(glassine_error *error, int code, const char *place, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* The same where a file was to be made: that its folder is not there (ENOENT, ENOTDIR) is no fault of the name,
 * which may have led somewhere a moment ago (a disk was taken out), and so GLASSINE_SYSTEM. */
glassine_status gl_fail_making(glassine_error *error, int code, const char *place, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* Memory ran out: GLASSINE_SYSTEM. */
glassine_status gl_fail_memory(glassine_error *error);

/* Puts `outer` before the place of an error that is already filled ("reply.json: answer 3"). */
void gl_error_within(glassine_error *error, const char *outer);

/* Says what to do about an error that is already filled. */
void gl_error_remedy(glassine_error *error, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
