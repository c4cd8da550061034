/* Dates, as the standard writes them and as people type them: what is typed and understood is a date of the
 * standard. */
#include "fuzz.h"

#include "base/edtf.h"

static bool read_date(gl_span text) {
    gl_date date = {0};
    size_t at = 0;
    const char *fault = NULL;
    bool good = gl_edtf_parse(text, &date, &at, &fault);
    FUZZ_HOLDS(good || (fault && at <= text.length));
    bool bounded = !date.open_start && !date.open_end && !date.unknown_start && !date.unknown_end;
    FUZZ_HOLDS(!good || !bounded || date.first <= date.last);
    return good;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    gl_buf edtf = GL_BUF_EMPTY;
    glassine_error error = {0};
    gl_span text = fuzz_span(data, size);
    read_date(text);
    glassine_status status = gl_edtf_from_typed(text, &edtf, &error);
    fuzz_said(status, &error);
    if (!status)
        FUZZ_HOLDS(read_date(gl_buf_span(&edtf)));
    gl_buf_free(&edtf);
    return 0;
}
