/* What a printer wrote, in memory. */
#ifndef TESTS_REPORT_PRINTED_H
#define TESTS_REPORT_PRINTED_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "base/buf.h"

static inline int into_buf(void *context, const char *bytes, size_t length) {
    gl_buf_add_bytes(context, bytes, length);
    return 0;
}

static inline gl_buf printed_json(const glassine_report *report) {
    gl_buf out = GL_BUF_EMPTY;
    assert_int_equal(glassine_report_json(report, into_buf, &out), 0);
    return out;
}

static inline gl_buf printed_text(const glassine_report *report, unsigned width, bool colour) {
    gl_buf out = GL_BUF_EMPTY;
    glassine_text_style style = {.width = width, .colour = colour};
    assert_int_equal(glassine_report_text(report, style, into_buf, &out), 0);
    gl_buf_add_text(&out, "");
    return out;
}

static inline gl_buf printed_findings(const glassine_report *report, bool colour) {
    gl_buf out = GL_BUF_EMPTY;
    glassine_text_style style = {.colour = colour};
    assert_int_equal(glassine_report_findings_text(report, style, into_buf, &out), 0);
    gl_buf_add_text(&out, "");
    return out;
}

#endif
