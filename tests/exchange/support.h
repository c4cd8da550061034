/* What the tests of the exchange share: a folder of their own, bundles opened and closed, a random sequence
 * that is always the same. */
#ifndef TESTS_EXCHANGE_SUPPORT_H
#define TESTS_EXCHANGE_SUPPORT_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/file.h"
#include "exchange/draft.h"
#include "folder.h"
#include "random.h"

#define UNUSED __attribute__((unused))
#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

/* ------------------------------------------------------------------------------------------- folder */

/* "FOLDER/NAME", in memory that the next eight calls leave alone. */
UNUSED static const char *in_folder(const char *format, ...) {
    static char paths[8][256];
    static unsigned next;
    char *path = paths[next++ % COUNT(paths)];
    int start = snprintf(path, sizeof paths[0], "%s/", folder);
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(path + start, sizeof paths[0] - (size_t)start, format, arguments);
    va_end(arguments);
    return path;
}

UNUSED static void copy_file(const char *from, const char *to) {
    gl_buf content = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(from, (size_t)1 << 28, &content), 0);
    unlink(to);
    assert_int_equal(gl_file_write_all(to, gl_buf_span(&content), true), 0);
    gl_buf_free(&content);
}

UNUSED static uint64_t file_length(const char *path) {
    struct stat file;
    assert_int_equal(stat(path, &file), 0);
    return (uint64_t)file.st_size;
}

/* ------------------------------------------------------------------------------------------ bundles */

static glassine_error error;

/* The call must succeed. */
#define MUST(call)                                                                                           \
    do {                                                                                                     \
        error = (glassine_error){0};                                                                         \
        if ((call) != GLASSINE_OK)                                                                           \
            fail_msg("%s: %s: %s (%s)", #call, error.place, error.message, error.rule);                      \
    } while (0)

UNUSED static glassine_bundle *opened(const char *path, glassine_mode mode) {
    glassine_bundle *bundle;
    MUST(glassine_bundle_open(path, mode, NULL, &bundle, &error));
    return bundle;
}

UNUSED static const char *span_text(glassine_span span) {
    static char texts[8][512];
    static unsigned next;
    char *text = texts[next++ % COUNT(texts)];
    snprintf(text, sizeof texts[0], "%.*s", (int)span.length, span.length ? span.text : "");
    return text;
}

/* One change by `by` (NULL: the keeper), saved; the time is SOURCE_DATE_EPOCH's where that is set. */
typedef struct saying_session {
    glassine_bundle *bundle;
    glassine_draft *draft;
} saying_session;

UNUSED static saying_session begin_saying(const char *path, const char *by) {
    saying_session session = {.bundle = opened(path, GLASSINE_WRITE)};
    MUST(glassine_draft_new(session.bundle, by, NULL, &session.draft, &error));
    return session;
}

UNUSED static void end_saying(saying_session *session) {
    MUST(glassine_draft_save(session->draft, "change", &error));
    glassine_draft_free(session->draft);
    glassine_bundle_close(session->bundle);
}

#endif
