/* What both printers share: collecting output, and numbers. */
#include <errno.h>
#include <math.h>
#include <stdio.h>

#include "report/report.h"

#define PIECE ((size_t)1 << 16)
#define REAL_SIZE 400 /* the widest double: 309 digits, the point, 17 digits */

static void hand_on(gl_printer *printer) {
    if (printer->buf.failed)
        printer->error = printer->error ? printer->error : ENOMEM;
    if (!printer->error && printer->buf.length)
        printer->error = printer->write(printer->context, printer->buf.text, printer->buf.length);
    gl_buf_clear(&printer->buf);
}

void gl_printer_flush_full(gl_printer *printer) {
    if (printer->buf.length >= PIECE || printer->buf.failed)
        hand_on(printer);
}

int gl_printer_end(gl_printer *printer) {
    hand_on(printer);
    gl_buf_free(&printer->buf);
    return printer->error;
}

/* printf writes the locale's decimal point, of whatever length: one that the caller's program set. */
void gl_report_add_real(gl_buf *buf, double value, unsigned digits) {
    if (!isfinite(value))
        return;
    char text[REAL_SIZE];
    snprintf(text, sizeof text, "%.*f", (int)digits, value);
    if (text[0] == '-' && !strpbrk(text, "123456789"))
        memmove(text, text + 1, strlen(text));
    for (const char *at = text; *at;) {
        size_t run = strspn(at, "-0123456789");
        gl_buf_add_bytes(buf, at, run);
        at += run;
        size_t point = strcspn(at, "0123456789");
        if (point)
            gl_buf_add_char(buf, '.');
        at += point;
    }
}
