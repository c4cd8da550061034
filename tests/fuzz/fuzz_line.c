/* Lines of a log. What is taken as a slip, signature or edition line gives up its members, and is canonical:
 * what a JSON library makes of it says the same. */
#include "fuzz.h"

#include <jansson.h>

#include "slips/line.h"
#include "slips/members.h"

static void look(gl_span line, gl_line_kind kind) {
    if (kind == GL_LINE_SLIP) {
        gl_slip_view view;
        gl_digest digest;
        size_t at = 0, count = 0;
        gl_slip_look(line, &view);
        FUZZ_HOLDS(view.by.text && view.record.text && view.set.text && view.after.text && view.at.text);
        glassine_reach reach;
        FUZZ_HOLDS(gl_reach_parse(view.reach, &reach));
        while (gl_slip_after_next(&view, &at, &digest))
            count++;
        FUZZ_HOLDS(count <= line.length / 64);
    } else if (kind == GL_LINE_SIGNATURE) {
        gl_signature_view view;
        gl_signature_look(line, &view);
        FUZZ_HOLDS(view.key.length == 64 && view.of.length == 64 && view.sig.length == 128);
    } else if (kind == GL_LINE_EDITION) {
        gl_edition_view view;
        gl_edition_look(line, &view);
        FUZZ_HOLDS(view.log.length == 64 && view.edition > 0 && view.slips >= 0);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const glassine_limits limits = glassine_limits_default();
    gl_line_kind kind;
    glassine_error error = {0};
    gl_span line = fuzz_span(data, size);
    glassine_status status = gl_line_check(line, &limits, "line 1", &kind, &error);
    fuzz_said(status, &error);
    if (status)
        return 0;
    look(line, kind);
    json_t *value = json_loadb(line.text, line.length, JSON_REJECT_DUPLICATES | JSON_ALLOW_NUL, NULL);
    FUZZ_HOLDS(json_is_object(value));
    json_decref(value);
    return 0;
}
