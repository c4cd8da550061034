/* The check of a line: what spec/log.md and spec/slips.md demand of one line by itself. */
#include <inttypes.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/text.h"
#include "slips/members.h"

#define OBJECTS_WITHIN 2 /* levels of objects in a line: a slip's `set`, and an object as a field's value */
#define TYPE_LENGTH 32
#define FIELD_LENGTH 64
#define HEX_KEY 64
#define HEX_SIGNATURE 128

typedef struct check {
    const gl_members *members;
    const glassine_limits *limits;
    const char *place;
    glassine_error *error;
} check;

#define REFUSE(check, rule, ...)                                                                             \
    gl_fail((check)->error, GLASSINE_REFUSED, (rule), (check)->place, __VA_ARGS__)

static gl_span member(const check *c, unsigned which) {
    return c->members->of[which];
}

static bool is_kind(gl_span value, gl_json_kind kind) {
    return value.text && gl_json_kind_of(value) == kind;
}

/* A string's content as it stands; absent where the value is no string. */
static gl_span string_of(gl_span value) {
    return is_kind(value, GL_JSON_STRING) ? gl_json_raw(value) : GL_NO_SPAN;
}

/* [a-z][a-z0-9_]*, 1 … most bytes. */
static bool is_name(gl_span text, size_t most) {
    if (text.length == 0 || text.length > most || text.text[0] < 'a' || text.text[0] > 'z')
        return false;
    for (size_t i = 1; i < text.length; i++) {
        char c = text.text[i];
        if (!((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_'))
            return false;
    }
    return true;
}

static bool is_time(gl_span value) {
    int64_t seconds;
    gl_span text = string_of(value);
    return text.text && gl_time_parse(text, &seconds);
}

static bool is_record(gl_span value) {
    gl_span text = string_of(value);
    const char *slash = text.length ? memchr(text.text, '/', text.length) : NULL;
    if (!slash)
        return false;
    size_t type = (size_t)(slash - text.text);
    return is_name(gl_span_part(text, 0, type), TYPE_LENGTH) &&
           gl_uuid_check(gl_span_part(text, type + 1, text.length));
}

static bool is_contributor(gl_span value) {
    return gl_span_starts(string_of(value), GL_SPAN("contributor/")) && is_record(value);
}

/* ------------------------------------------------------------------------------------------------ slips */

static glassine_status check_after(const check *c) {
    gl_span after = member(c, GL_AFTER), name, item, before = GL_NO_SPAN;
    if (!is_kind(after, GL_JSON_ARRAY))
        return REFUSE(c, "S021", "`after` is no list of digests");
    uint64_t count = 0;
    gl_json_walk walk = gl_json_walk_of(after);
    while (gl_json_next(&walk, &name, &item)) {
        gl_span digest = string_of(item);
        if (!gl_hex_check(digest, GL_HEX_SIZE - 1))
            return REFUSE(c, "S021", "`after` holds something else than digests of 64 hex digits");
        if (before.text && memcmp(before.text, digest.text, digest.length) >= 0)
            return REFUSE(c, "S022", "the digests in `after` are not sorted, each once");
        before = digest;
        count++;
    }
    uint64_t most = GL_LIMIT(c->limits, after);
    if (count > most)
        return REFUSE(c, "L022", "`after` names %" PRIu64 " slips; the limit is %" PRIu64, count, most);
    return GLASSINE_OK;
}

/* Walks `set` and `clear` side by side: both are sorted, and no name may be in both. */
static glassine_status check_fields(const check *c) {
    gl_span set = member(c, GL_SET), clear = member(c, GL_CLEAR), name, item, none;
    uint64_t count = 0;
    gl_json_walk walk = gl_json_walk_of(set);
    while (gl_json_next(&walk, &name, &item)) {
        if (!is_name(name, FIELD_LENGTH))
            return REFUSE(c, "S029", "\"%.*s\" in `set` is no name of a field", GL_SPAN_ARGS(name));
        count++;
    }
    gl_span before = GL_NO_SPAN, present = GL_NO_SPAN;
    gl_json_walk sets = gl_json_walk_of(set), clears = {NULL, NULL};
    if (clear.text)
        clears = gl_json_walk_of(clear);
    while (clear.text && gl_json_next(&clears, &none, &item)) {
        name = string_of(item);
        if (!is_name(name, FIELD_LENGTH))
            return REFUSE(c, "S029", "`clear` holds something else than names of fields");
        if (before.text && gl_span_compare(before, name) >= 0)
            return REFUSE(c, "S030", "the names in `clear` are not sorted, each once");
        while ((!present.text || gl_span_compare(present, name) < 0) &&
               gl_json_next(&sets, &present, &none)) {
        }
        if (gl_span_equal(present, name))
            return REFUSE(c, "S031", "\"%.*s\" is both set and cleared", GL_SPAN_ARGS(name));
        before = name;
        count++;
    }
    uint64_t most = GL_LIMIT(c->limits, fields);
    if (count > most)
        return REFUSE(c, "L023", "the slip touches %" PRIu64 " fields; the limit is %" PRIu64, count, most);
    return GLASSINE_OK;
}

static glassine_status check_slip(const check *c) {
    static const struct {
        unsigned which;
        const char *name;
    } needed[] = {{GL_AT, "at"}, {GL_BY, "by"}, {GL_REACH, "reach"}, {GL_RECORD, "record"}, {GL_SET, "set"}};
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++)
        if (!member(c, needed[i].which).text)
            return REFUSE(c, "S020", "the slip has no `%s`", needed[i].name);
    glassine_status status = check_after(c);
    if (status)
        return status;
    glassine_reach reach;
    gl_span via = member(c, GL_VIA), clear = member(c, GL_CLEAR), why = member(c, GL_WHY);
    if (!is_time(member(c, GL_AT)))
        return REFUSE(c, "S023", "`at` is no time like 2026-11-25T08:50:59Z");
    if (!is_contributor(member(c, GL_BY)))
        return REFUSE(c, "S024", "`by` is no contributor/UUID");
    if (via.text && !is_contributor(via))
        return REFUSE(c, "S025", "`via` is no contributor/UUID");
    if (!gl_reach_parse(member(c, GL_REACH), &reach))
        return REFUSE(c, "S026", "`reach` is none of shared, telling, private");
    if (!is_record(member(c, GL_RECORD)))
        return REFUSE(c, "S027", "`record` is no TYPE/UUID");
    if (!is_kind(member(c, GL_SET), GL_JSON_OBJECT))
        return REFUSE(c, "S028", "`set` is no object");
    if (clear.text && (!is_kind(clear, GL_JSON_ARRAY) || gl_json_count(clear) == 0))
        return REFUSE(c, "S030", "`clear` is no list of at least one name");
    if (why.text && !is_kind(why, GL_JSON_STRING))
        return REFUSE(c, "S032", "`why` is no text");
    return check_fields(c);
}

/* ------------------------------------------------------------------------------- signatures and editions */

static glassine_status check_signature(const check *c) {
    if (!gl_hex_check(string_of(member(c, GL_KEY)), HEX_KEY))
        return REFUSE(c, "K010", "`key` is no public key of 64 hex digits");
    if (!gl_hex_check(string_of(member(c, GL_OF)), GL_HEX_SIZE - 1))
        return REFUSE(c, "K011", "`of` is no digest of a slip");
    if (!gl_hex_check(string_of(member(c, GL_SIG)), HEX_SIGNATURE))
        return REFUSE(c, "K012", "`sig` is no signature of 128 hex digits");
    return GLASSINE_OK;
}

static glassine_status check_format(const check *c) {
    gl_span text = string_of(member(c, GL_FORMAT));
    uint32_t major = 0, minor = 0;
    if (!text.length || gl_text_version(text, &major, &minor) != text.length)
        return REFUSE(c, "E014", "`format` is no version like \"1.0\"");
    if (major <= GLASSINE_FORMAT_MAJOR)
        return GLASSINE_OK;
    glassine_status status = REFUSE(
        c, "E015", "the edition is written in format %" PRIu32 ".%" PRIu32 ", and this program reads %d.%d",
        major, minor, GLASSINE_FORMAT_MAJOR, GLASSINE_FORMAT_MINOR);
    gl_error_remedy(c->error, "Read it with a newer version of the program.");
    return status;
}

/* "SHA256  data/NAME", as in a BagIt manifest. */
static bool is_manifest_line(gl_span line) {
    const size_t digits = GL_HEX_SIZE - 1;
    gl_span prefix = GL_SPAN("  data/"), name = gl_span_part(line, digits, line.length);
    return gl_hex_check(gl_span_part(line, 0, digits), digits) && gl_span_starts(name, prefix) &&
           name.length > prefix.length;
}

static glassine_status check_brings(const check *c) {
    gl_span brings = member(c, GL_BRINGS), name, item, before = GL_NO_SPAN;
    if (!is_kind(brings, GL_JSON_ARRAY))
        return REFUSE(c, "E016", "`brings` is no list of manifest lines");
    gl_json_walk walk = gl_json_walk_of(brings);
    while (gl_json_next(&walk, &name, &item)) {
        gl_span line = string_of(item);
        if (!is_manifest_line(line))
            return REFUSE(c, "E016", "`brings` holds something else than lines \"SHA256  data/NAME\"");
        if (before.text && gl_span_compare(before, line) >= 0)
            return REFUSE(c, "E017", "the lines of `brings` are not sorted, each once");
        before = line;
    }
    return GLASSINE_OK;
}

static bool is_counted(gl_span value, int64_t least, int64_t most) {
    int64_t number;
    return is_kind(value, GL_JSON_INTEGER) && gl_json_integer(value, &number) && number >= least &&
           number <= most;
}

static glassine_status check_edition(const check *c) {
    /* The version first: a greater one may have other members. */
    glassine_status status = check_format(c);
    if (status)
        return status;
    if (!is_time(member(c, GL_AT)))
        return REFUSE(c, "E010", "the edition's `at` is no time like 2026-11-25T08:50:59Z");
    if (!is_contributor(member(c, GL_BY)))
        return REFUSE(c, "E010", "the edition's `by` is no contributor/UUID");
    if (!is_counted(member(c, GL_EDITION), 1, UINT32_MAX))
        return REFUSE(c, "E010", "the edition's number is none");
    if (!is_counted(member(c, GL_SLIPS), 0, GL_JSON_INTEGER_MAX))
        return REFUSE(c, "E010", "the edition's `slips` is no count");
    if (!gl_hex_check(string_of(member(c, GL_LOG)), GL_HEX_SIZE - 1))
        return REFUSE(c, "E010", "the edition's `log` is no SHA-256 value of 64 hex digits");
    if (!is_kind(member(c, GL_NOTE), GL_JSON_STRING) || !is_kind(member(c, GL_TOOL), GL_JSON_STRING))
        return REFUSE(c, "E010", "the edition's `note` and `tool` are not both texts");
    if (member(c, GL_KEY).text && !gl_hex_check(string_of(member(c, GL_KEY)), HEX_KEY))
        return REFUSE(c, "E018", "the edition's `key` is no public key of 64 hex digits");
    return check_brings(c);
}

/* ------------------------------------------------------------------------------------------------- lines */

glassine_status gl_members_check(gl_span line, const glassine_limits *limits, const char *place,
                                 gl_line_kind *kind, gl_members *members, glassine_error *error) {
    check c = {.members = members, .limits = limits, .place = place, .error = error};
    uint64_t most = GL_LIMIT(limits, line_bytes);
    if (line.length > most)
        return REFUSE(&c, "L020", "the line has %zu bytes; the limit is %" PRIu64, line.length, most);
    gl_json_fault fault;
    gl_json_wanted them = gl_members_wanted(0, GL_MEMBERS - 1, members);
    if (!gl_json_check_members(line, OBJECTS_WITHIN, &them, &fault))
        return REFUSE(&c, "S010", "not canonical JSON at byte %zu: %s", fault.at, fault.what);
    bool slip = member(&c, GL_AFTER).text, signature = member(&c, GL_SIG).text,
         edition = member(&c, GL_LOG).text;
    if (slip + signature + edition > 1)
        return REFUSE(&c, "S012", "the line has more than one of `after`, `sig` and `log`");
    *kind = slip ? GL_LINE_SLIP : signature ? GL_LINE_SIGNATURE : edition ? GL_LINE_EDITION : GL_LINE_OTHER;
    if (slip)
        return check_slip(&c);
    if (signature)
        return check_signature(&c);
    return edition ? check_edition(&c) : GLASSINE_OK;
}

glassine_status gl_line_check(gl_span line, const glassine_limits *limits, const char *place,
                              gl_line_kind *kind, glassine_error *error) {
    gl_members members;
    return gl_members_check(line, limits, place, kind, &members, error);
}
