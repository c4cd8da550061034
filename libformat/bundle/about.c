/* data/about.json: whose bundle it is. Canonical JSON and one line feed; written once. */
#include "base/clock.h"
#include "base/error.h"
#include "base/json.h"
#include "base/text.h"
#include "bundle/bundle.h"
#include "records/value.h"

static char *decoded(gl_arena *arena, gl_span value) {
    gl_buf text = GL_BUF_EMPTY;
    gl_json_add_decoded(&text, value);
    gl_span copy = text.failed ? GL_NO_SPAN : gl_arena_copy(arena, gl_buf_span(&text));
    gl_buf_free(&text);
    return (char *)copy.text;
}

/* Each member of about.json that holds a string. */
typedef struct about_member {
    const char *name;
    size_t slot; /* offset of the char * in gl_about */
    bool required;
    enum { ANY_TEXT, UUID, PERSON, EVENT } form;
} about_member;

#define SLOT(field) offsetof(gl_about, field)
static const about_member members[] = {
    {"base", SLOT(base), true, ANY_TEXT},          {"bundle", SLOT(uuid), true, UUID},
    {"keeper", SLOT(keeper), true, PERSON},        {"made", SLOT(made), true, ANY_TEXT},
    {"title", SLOT(title), true, ANY_TEXT},        {"version", SLOT(version), true, ANY_TEXT},
    {"answer_by", SLOT(answer_by), false, PERSON}, {"answers", SLOT(answers), false, UUID},
    {"event", SLOT(event), false, EVENT},
};
#define MEMBERS (sizeof members / sizeof members[0])

static bool has_form(const about_member *member, const char *text) {
    gl_span type, uuid;
    switch (member->form) {
    case UUID:
        return gl_uuid_check(gl_span_of(text));
    case PERSON:
        return gl_record_id_split(gl_span_of(text), &type, &uuid) && gl_span_is(type, "contributor");
    case EVENT:
        return gl_record_id_split(gl_span_of(text), &type, &uuid) && gl_span_is(type, "event");
    default:
        return true;
    }
}

static glassine_status take_member(gl_arena *arena, gl_span object, const about_member *member,
                                   const char *place, gl_about *about, glassine_error *error) {
    gl_span value = gl_json_member(object, member->name);
    char **slot = (char **)(void *)((char *)about + member->slot);
    *slot = NULL;
    if (!value.text && !member->required)
        return GLASSINE_OK;
    if (gl_json_kind_of(value) != GL_JSON_STRING)
        return gl_fail(error, GLASSINE_REFUSED, "E031", place, "member \"%s\" is not there, or not a text",
                       member->name);
    *slot = decoded(arena, value);
    if (!*slot)
        return gl_fail_memory(error);
    if (!has_form(member, *slot))
        return gl_fail(error, GLASSINE_REFUSED, "E031", place, "member \"%s\" is not of its form: %s",
                       member->name, *slot);
    return GLASSINE_OK;
}

glassine_status gl_about_parse(gl_arena *arena, gl_span text, const char *place, gl_about *about,
                               glassine_error *error) {
    if (!text.length || text.text[text.length - 1] != '\n')
        return gl_fail(error, GLASSINE_REFUSED, "E030", place, "it does not end with a line feed");
    text.length--;
    gl_json_fault fault;
    if (!gl_json_check(text, 1, &fault))
        return gl_fail(error, GLASSINE_REFUSED, "E030", place, "not canonical JSON at byte %zu: %s", fault.at,
                       fault.what);
    if (!gl_span_is(gl_json_raw(gl_json_member(text, "format")), "glassine"))
        return gl_fail(error, GLASSINE_REFUSED, "E031", place, "member \"format\" does not say \"glassine\"");
    for (size_t i = 0; i < MEMBERS; i++) {
        glassine_status status = take_member(arena, text, &members[i], place, about, error);
        if (status)
            return status;
    }
    about->blind = gl_json_true(gl_json_member(text, "blind"));
    gl_span version = gl_span_of(about->version);
    uint32_t major, minor;
    int64_t made;
    if (!version.length || gl_text_version(version, &major, &minor) != version.length)
        return gl_fail(error, GLASSINE_REFUSED, "E031", place, "version \"%s\" is not MAJOR.MINOR",
                       about->version);
    if (major > GLASSINE_FORMAT_MAJOR) {
        gl_fail(error, GLASSINE_REFUSED, "E032", place,
                "the bundle is of format %s, this program reads format %d.x", about->version,
                GLASSINE_FORMAT_MAJOR);
        gl_error_remedy(error, "Use a program that reads format %s", about->version);
        return GLASSINE_REFUSED;
    }
    if (!gl_time_parse(gl_span_of(about->made), &made))
        return gl_fail(error, GLASSINE_REFUSED, "E031", place, "made \"%s\" is not a time", about->made);
    return GLASSINE_OK;
}

static void put(gl_buf *out, const char *name, const char *value) {
    if (!value)
        return;
    gl_buf_printf(out, "%s\"%s\":", out->length > 1 ? "," : "", name);
    gl_json_add_string(out, gl_span_of(value));
}

void gl_about_print(const gl_about *about, gl_buf *out) {
    gl_buf_clear(out);
    gl_buf_add_char(out, '{');
    put(out, "answer_by", about->answer_by);
    put(out, "answers", about->answers);
    put(out, "base", about->base);
    if (about->blind)
        gl_buf_printf(out, "%s\"blind\":true", out->length > 1 ? "," : "");
    put(out, "bundle", about->uuid);
    put(out, "event", about->event);
    put(out, "format", "glassine");
    put(out, "keeper", about->keeper);
    put(out, "made", about->made);
    put(out, "title", about->title);
    put(out, "version", about->version);
    gl_buf_add_text(out, "}\n");
}
