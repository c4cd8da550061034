/* judge: one JSON object {"rule":"path","text":"…"} a line on standard input, rule being one of a grammar in spec/;
 * on standard output what the library says of each text: "good", or the code of the rule that it breaks. */
#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "container/layout.h"
#include "container/name.h"
#include "slips/line.h"

static const char *base(gl_span text) {
    return gl_name_is_base(text) ? "good" : "C061";
}

static const char *scan_name(gl_span text) {
    gl_digest digest;
    return gl_name_is_scan(text, &digest) ? "good" : "C065";
}

static const char *path(gl_span text) {
    gl_name_fault fault;
    return gl_name_check(text, &fault) ? "good" : fault.rule;
}

static const char *comment(gl_span text) {
    gl_footer footer;
    return gl_layout_comment(text, &footer) ? "good" : "C020";
}

static const char *segment_name(gl_span text) {
    uint32_t first, last;
    return gl_name_is_segment(text, &first, &last) ? "good" : "E020";
}

/* The code stays where the error is, until the next line. */
static const char *line(gl_span text) {
    static glassine_error error;
    const glassine_limits limits = glassine_limits_default();
    gl_line_kind kind;
    return gl_line_check(text, &limits, "line", &kind, &error) == GLASSINE_OK ? "good" : error.rule;
}

static const struct {
    const char *rule;
    const char *(*judge)(gl_span text);
} judges[] = {{"path", path},
              {"base", base},
              {"scan-name", scan_name},
              {"comment", comment},
              {"segment-name", segment_name},
              {"object", line}};

int main(void) {
    const size_t flags = JSON_DISABLE_EOF_CHECK | JSON_ALLOW_NUL;
    for (json_t *asked; (asked = json_loadf(stdin, flags, NULL)) != NULL; json_decref(asked)) {
        const char *rule = json_string_value(json_object_get(asked, "rule"));
        const json_t *text = json_object_get(asked, "text");
        for (size_t i = 0; i < sizeof judges / sizeof judges[0]; i++)
            if (rule && strcmp(judges[i].rule, rule) == 0)
                puts(judges[i].judge((gl_span){json_string_value(text), json_string_length(text)}));
    }
    return 0;
}
