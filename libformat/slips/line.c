#include "slips/line.h"

#include "slips/members.h"

static const gl_span names[GL_MEMBERS] = {
    GL_SPAN("after"),   GL_SPAN("at"),     GL_SPAN("brings"), GL_SPAN("by"),  GL_SPAN("clear"),
    GL_SPAN("edition"), GL_SPAN("format"), GL_SPAN("key"),    GL_SPAN("log"), GL_SPAN("note"),
    GL_SPAN("of"),      GL_SPAN("reach"),  GL_SPAN("record"), GL_SPAN("set"), GL_SPAN("sig"),
    GL_SPAN("slips"),   GL_SPAN("tool"),   GL_SPAN("via"),    GL_SPAN("why")};

static const gl_span reaches[GLASSINE_REACHES] = {[GLASSINE_SHARED] = GL_SPAN("\"shared\""),
                                                  [GLASSINE_TELLING] = GL_SPAN("\"telling\""),
                                                  [GLASSINE_PRIVATE] = GL_SPAN("\"private\"")};

gl_json_wanted gl_members_wanted(unsigned first, unsigned last, gl_members *members) {
    *members = (gl_members){0};
    return (gl_json_wanted){names, members->of, first, last + 1};
}

void gl_members_look(gl_span line, unsigned first, unsigned last, gl_members *members) {
    gl_json_wanted them = gl_members_wanted(first, last, members);
    gl_json_walk walk = gl_json_walk_of(line);
    gl_span name, value;
    while (them.next < them.count && gl_json_next(&walk, &name, &value))
        gl_json_keep(&them, name, value);
}

/* A string without its quotes; absent where the value is none. */
static gl_span bare(gl_span value) {
    return value.text && gl_json_kind_of(value) == GL_JSON_STRING ? gl_json_raw(value) : GL_NO_SPAN;
}

static int64_t count_of(gl_span value) {
    int64_t count;
    return value.text && gl_json_integer(value, &count) ? count : -1;
}

void gl_slip_look(gl_span line, gl_slip_view *view) {
    gl_members members;
    gl_members_look(line, GL_AFTER, GL_WHY, &members);
    const gl_span *of = members.of;
    *view = (gl_slip_view){.after = of[GL_AFTER],
                           .at = of[GL_AT],
                           .by = of[GL_BY],
                           .clear = of[GL_CLEAR],
                           .reach = of[GL_REACH],
                           .record = of[GL_RECORD],
                           .set = of[GL_SET],
                           .via = of[GL_VIA],
                           .why = of[GL_WHY]};
}

gl_span gl_slip_set(gl_span line) {
    return gl_json_member(line, "set");
}

void gl_signature_look(gl_span line, gl_signature_view *view) {
    gl_members members;
    gl_members_look(line, GL_KEY, GL_SIG, &members);
    *view = (gl_signature_view){
        .key = bare(members.of[GL_KEY]), .of = bare(members.of[GL_OF]), .sig = bare(members.of[GL_SIG])};
}

void gl_edition_look(gl_span line, gl_edition_view *view) {
    gl_members members;
    gl_members_look(line, GL_AT, GL_TOOL, &members);
    const gl_span *of = members.of;
    *view = (gl_edition_view){.at = bare(of[GL_AT]),
                              .by = bare(of[GL_BY]),
                              .note = of[GL_NOTE],
                              .tool = of[GL_TOOL],
                              .log = bare(of[GL_LOG]),
                              .format = bare(of[GL_FORMAT]),
                              .key = bare(of[GL_KEY]),
                              .brings = of[GL_BRINGS],
                              .edition = count_of(of[GL_EDITION]),
                              .slips = count_of(of[GL_SLIPS])};
}

bool gl_reach_parse(gl_span value, glassine_reach *reach) {
    for (int i = 0; i < GLASSINE_REACHES; i++)
        if (gl_span_equal(value, reaches[i])) {
            *reach = (glassine_reach)i;
            return true;
        }
    return false;
}

bool gl_slip_after_next(const gl_slip_view *view, size_t *at, gl_digest *digest) {
    /* Canonical: '[' then each digest in quotes, one byte between them. */
    const size_t step = GL_HEX_SIZE - 1 + 3;
    size_t from = 2 + *at * step;
    if (from >= view->after.length)
        return false;
    ++*at;
    return gl_digest_parse(gl_span_part(view->after, from, GL_HEX_SIZE - 1), digest);
}

static void add_member(gl_buf *out, const char *name, gl_span plain) {
    gl_buf_add_text(out, name);
    gl_json_add_string(out, plain);
}

void gl_slip_write(const gl_slip_parts *parts, gl_buf *out) {
    gl_buf_add_text(out, "{\"after\":[");
    for (size_t i = 0; i < parts->after_count; i++) {
        char hex[GL_HEX_SIZE];
        gl_digest_hex(&parts->after[i], hex);
        gl_buf_printf(out, "%s\"%s\"", i ? "," : "", hex);
    }
    add_member(out, "],\"at\":", parts->at);
    add_member(out, ",\"by\":", parts->by);
    if (parts->clear.text) {
        gl_buf_add_text(out, ",\"clear\":");
        gl_buf_add(out, parts->clear);
    }
    gl_buf_add_text(out, ",\"reach\":");
    gl_buf_add(out, reaches[parts->reach]);
    add_member(out, ",\"record\":", parts->record);
    gl_buf_add_text(out, ",\"set\":");
    gl_buf_add(out, parts->set);
    if (parts->via.text)
        add_member(out, ",\"via\":", parts->via);
    if (parts->why.text)
        add_member(out, ",\"why\":", parts->why);
    gl_buf_add_char(out, '}');
}
