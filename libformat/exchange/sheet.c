/* Taking a reply sheet in. It is checked whole before anything is said: what it answers, whom, and each
 * answer against the bundle and the table of types. Then each version of each answer becomes its slips by a
 * fixed rule, so that a sheet taken in twice, or an earlier one after a later one, changes nothing. */
#include "exchange/sheet.h"

#include <jansson.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "exchange/derived.h"
#include "exchange/sent.h"
#include "records/value.h"

#define FORMAT "glassine reply sheet 1.0"
enum { SHEET_MOST = 8 << 20, LOOK = 256, ANSWERS_MOST = 20000, VERSIONS_MOST = 1000, FIELDS_MOST = 32 };

typedef struct taking {
    glassine_draft *draft;
    glassine_bundle *bundle;
    glassine_merge_source *source;
    json_t *sheet;
    glassine_record *event; /* that it answers; NULL: the bundle's own page */
    const char *by, *via;   /* `via` NULL: the author wrote it */
    gl_hash *hash;
    size_t number; /* of the answer in hand */
} taking;

bool gl_sheet_is_one(const char *path) {
    char head[LOOK];
    size_t length;
    if (gl_file_read_head(path, head, sizeof head, &length))
        return false;
    gl_span text = {head, length};
    if (gl_span_starts(text, GL_SPAN("\xef\xbb\xbf")))
        text = gl_span_part(text, 3, text.length);
    return gl_span_starts(gl_text_trim(text), GL_SPAN("{"));
}

/* ---- refusing ---- */

static glassine_status refuse(const taking *it, glassine_error *error, const char *rule, const char *format,
                              ...) __attribute__((format(printf, 4, 5)));

static glassine_status refuse(const taking *it, glassine_error *error, const char *rule, const char *format,
                              ...) {
    char message[512], place[512];
    va_list values;
    va_start(values, format);
    vsnprintf(message, sizeof message, format, values);
    va_end(values);
    if (it->number)
        snprintf(place, sizeof place, "%s: answer %zu", it->source->path, it->number);
    else
        snprintf(place, sizeof place, "%s", it->source->path);
    gl_fail(error, GLASSINE_REFUSED, rule, place, "%s", message);
    gl_error_remedy(error,
                    "Nothing of the sheet was taken in; ask for it again, or enter the answers by hand");
    return GLASSINE_REFUSED;
}

/* ---- reading ---- */

static glassine_status read_sheet(taking *it, glassine_error *error) {
    gl_buf text = GL_BUF_EMPTY;
    json_error_t fault;
    int code = gl_file_read_all(it->source->path, SHEET_MOST, &text);
    if (code) {
        gl_buf_free(&text);
        return gl_fail_system(error, code, it->source->path, "cannot be read as a reply sheet");
    }
    gl_span json = gl_buf_span(&text);
    if (gl_span_starts(json, GL_SPAN("\xef\xbb\xbf")))
        json = gl_span_part(json, 3, json.length);
    it->sheet = json_loadb(json.text, json.length, JSON_REJECT_DUPLICATES, &fault);
    gl_buf_free(&text);
    if (!it->sheet)
        return refuse(it, error, NULL, "it is no whole JSON document: line %d: %s", fault.line, fault.text);
    const char *format = json_string_value(json_object_get(it->sheet, "format"));
    if (!format || strcmp(format, FORMAT) != 0)
        return refuse(it, error, NULL, "it does not say that it is a \"" FORMAT "\"");
    return GLASSINE_OK;
}

static bool is_uuid(const char *text) {
    char id[64];
    gl_span type, uuid;
    snprintf(id, sizeof id, "event/%.40s", text ? text : "");
    return gl_record_id_split(gl_span_of(id), &type, &uuid);
}

/* The contributor that a member names; refused where the bundle does not know one of that id. */
static glassine_status person(const taking *it, const char *member, const char **id, glassine_error *error) {
    *id = json_string_value(json_object_get(it->sheet, member));
    gl_span type, uuid;
    if (!*id || !gl_record_id_split(gl_span_of(*id), &type, &uuid) || !gl_span_is(type, "contributor"))
        return refuse(it, error, "R030", "\"%s\" names no contributor", member);
    if (!glassine_bundle_record(it->bundle, gl_span_of(*id), GL_NO_SPAN))
        return refuse(it, error, "R032", "\"%s\" names a contributor who is not in this bundle", member);
    return GLASSINE_OK;
}

static glassine_status find_event(taking *it, glassine_error *error) {
    const char *answers = json_string_value(json_object_get(it->sheet, "answers"));
    const char *bundle = json_string_value(json_object_get(it->sheet, "bundle"));
    if (!is_uuid(bundle) || !is_uuid(json_string_value(json_object_get(it->sheet, "sheet"))))
        return refuse(it, error, NULL, "it does not say which sheet it is, or of which bundle");
    if (!answers)
        return strcmp(bundle, it->bundle->about.uuid) == 0
                   ? GLASSINE_OK
                   : refuse(it, error, NULL, "it answers the page of another bundle");
    it->event = glassine_bundle_record(it->bundle, gl_span_of(answers), GL_NO_SPAN);
    if (!it->event || !gl_event_is(it->bundle, it->event, "sent"))
        return refuse(it, error, NULL, "it answers a dispatch that was not sent out of this bundle");
    it->source->answers = gl_arena_copy(it->bundle->arena, gl_span_of(answers)).text;
    return GLASSINE_OK;
}

static glassine_status read_head(taking *it, glassine_error *error) {
    int64_t time;
    glassine_status status = find_event(it, error);
    if (!status)
        status = person(it, "by", &it->by, error);
    if (!status && json_object_get(it->sheet, "via"))
        status = person(it, "via", &it->via, error);
    if (!status && it->via && strcmp(it->via, it->by) == 0)
        it->via = NULL;
    const char *made = json_string_value(json_object_get(it->sheet, "made"));
    if (!status && (!made || !gl_time_parse(gl_span_of(made), &time)))
        return refuse(it, error, NULL, "it does not say when it was made");
    json_t *given = json_object_get(it->sheet, "given");
    if (!status && (!json_is_array(given) || json_array_size(given) > ANSWERS_MOST))
        return refuse(it, error, NULL, "it has no list of answers, or too long a one");
    return status;
}

/* ---- one version of one answer ---- */

/* What a version may say, by the kind of record, with nothing that only programs write. */
static bool may_say(const char *type, const char *field) {
    static const char *const claim[] = {"plates", "positions", "state", "confidence",
                                        "remark", "blind",     NULL};
    static const char *const opinion[] = {"about", "text", NULL};
    static const char *const observation[] = {"scan", "region",  "appearance", "x",    "y",
                                              "seen", "size_um", "count",      "text", NULL};
    const char *const *list = strcmp(type, "claim") == 0     ? claim
                              : strcmp(type, "opinion") == 0 ? opinion
                                                             : observation;
    for (; *list; list++)
        if (strcmp(*list, field) == 0)
            return true;
    return false;
}

/* The canonical form of a value, whose texts become NFC; false where it is none of the format. */
static bool add_value(const json_t *value, gl_buf *out) {
    if (json_is_string(value)) {
        gl_buf text = GL_BUF_EMPTY;
        gl_span raw = {json_string_value(value), json_string_length(value)};
        bool plain = gl_utf8_check(raw) == raw.length;
        for (size_t i = 0; i < raw.length && plain; i++)
            plain = (unsigned char)raw.text[i] >= 0x20 || raw.text[i] == '\n';
        if (plain) {
            gl_text_add_nfc(&text, raw);
            gl_json_add_string(out, gl_buf_span(&text));
        }
        out->failed = out->failed || text.failed;
        gl_buf_free(&text);
        return plain;
    }
    if (json_is_integer(value)) {
        gl_buf_printf(out, "%lld", (long long)json_integer_value(value));
        return json_integer_value(value) <= GL_JSON_INTEGER_MAX &&
               json_integer_value(value) >= -GL_JSON_INTEGER_MAX;
    }
    if (json_is_boolean(value)) {
        gl_buf_add_text(out, json_is_true(value) ? "true" : "false");
        return true;
    }
    bool fine = json_is_array(value);
    gl_buf_add_char(out, '[');
    for (size_t i = 0; fine && i < json_array_size(value); i++) {
        const json_t *item = json_array_get(value, i);
        gl_buf_add_text(out, i ? "," : "");
        fine = !json_is_array(item) && add_value(item, out);
    }
    gl_buf_add_char(out, ']');
    return fine;
}

/* Every reference of the value leads to a record that is here. */
static bool leads_somewhere(const taking *it, gl_span value) {
    if (gl_json_kind_of(value) == GL_JSON_STRING)
        return glassine_bundle_record(it->bundle, gl_json_raw(value), GL_NO_SPAN) != NULL;
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    while (gl_json_next(&walk, &name, &item))
        if (!leads_somewhere(it, item))
            return false;
    return true;
}

static glassine_status check_value(const taking *it, const glassine_field_info *info, gl_span value,
                                   glassine_error *error) {
    const char *rule = NULL, *fault = gl_value_fault(info, value, &rule);
    if (fault)
        return refuse(it, error, rule, "%s: %s", info->name, fault);
    if ((info->kind == GLASSINE_REF || info->kind == GLASSINE_REFS) && !leads_somewhere(it, value))
        return refuse(it, error, "R032", "%s: it names what is not in this bundle", info->name);
    return GLASSINE_OK;
}

typedef struct slip {
    gl_buf set, clear;
    bool said; /* something is set or cleared */
} slip;

static void begin(slip *one) {
    *one = (slip){GL_BUF_EMPTY, GL_BUF_EMPTY, false};
    gl_buf_add_char(&one->set, '{');
    gl_buf_add_char(&one->clear, '[');
}

static void add_member(slip *to, const char *name, gl_span value) {
    if (to->set.length > 1)
        gl_buf_add_char(&to->set, ',');
    gl_json_add_string(&to->set, gl_span_of(name));
    gl_buf_add_char(&to->set, ':');
    gl_buf_add(&to->set, value);
    to->said = true;
}

static void add_cleared(slip *to, const char *name) {
    if (to->clear.length > 1)
        gl_buf_add_char(&to->clear, ',');
    gl_json_add_string(&to->clear, gl_span_of(name));
    to->said = true;
}

typedef struct answer {
    const json_t *whole;
    const char *type, *stamp;
    const glassine_type_info *info;
    char id[GL_DERIVED_SIZE];
    gl_digest last[2]; /* of the slips said so far, shared and telling */
    bool begun[2];
} answer;

static int by_name(const void *a, const void *b) {
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

/* The names that this version or the one before it says, each once, sorted. */
static size_t names_of(const json_t *version, const json_t *before, const char *names[FIELDS_MOST * 2]) {
    size_t count = 0;
    const char *name;
    json_t *value;
    json_object_foreach((json_t *)version, name, value) names[count++] = name;
    if (before)
        json_object_foreach((json_t *)before, name, value) if (!json_object_get(version, name))
            names[count++] = name;
    qsort(names, count, sizeof *names, by_name);
    return count;
}

/* The field of the record that a member of a version is kept in. */
static const char *field_of(const answer *on, const char *name) {
    bool taken_back = strcmp(name, "withdrawn") == 0;
    return taken_back && strcmp(on->type, "observation") == 0 ? "set_aside" : name;
}

static int by_field(const void *a, const void *b) {
    return strcmp(((const char *const *)a)[0], ((const char *const *)b)[0]);
}

/* Sorts a version's members into what is shared and what is telling. */
static glassine_status fill(taking *it, const answer *on, const json_t *version, const json_t *before,
                            slip made[2], glassine_error *error) {
    const char *names[FIELDS_MOST * 2], *fields[FIELDS_MOST * 2 + 1][2];
    size_t count = names_of(version, before, names), used = 0;
    fields[used][0] = "stamp";
    fields[used++][1] = NULL;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(names[i], "at") == 0)
            continue;
        fields[used][0] = field_of(on, names[i]);
        fields[used++][1] = names[i];
    }
    qsort(fields, used, sizeof *fields, by_field);
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < used && !status; i++) {
        const glassine_field_info *info = glassine_type_field(on->info, fields[i][0]);
        gl_buf value = GL_BUF_EMPTY;
        const json_t *said = fields[i][1] ? json_object_get(version, fields[i][1]) : NULL;
        slip *to = &made[info->reach == GLASSINE_TELLING];
        if (!fields[i][1])
            gl_json_add_string(&value, gl_span_of(on->stamp));
        else if (said && !add_value(said, &value))
            status = refuse(it, error, "R027", "%s: it is no value of this format", fields[i][1]);
        if (!status && value.failed)
            status = gl_fail_memory(error);
        if (!status && value.length)
            status = check_value(it, info, gl_buf_span(&value), error);
        if (!status && value.length)
            add_member(to, info->name, gl_buf_span(&value));
        else if (!status)
            add_cleared(to, info->name);
        gl_buf_free(&value);
    }
    return status;
}

/* ---- what the claim says must fit its plates ---- */

static glassine_status check_plate(taking *it, glassine_record *plate, const char *positions,
                                   glassine_error *error) {
    glassine_plan *plan;
    glassine_positions *set;
    glassine_error own = {0};
    glassine_status status = glassine_plan_of_plate(it->bundle, plate, &plan, &own);
    if (!status) {
        status = glassine_positions_parse(plan, positions, &set, NULL, &own);
        if (!status)
            glassine_positions_free(set);
        glassine_plan_free(plan);
    }
    return status == GLASSINE_REFUSED
               ? refuse(it, error, own.rule, "positions \"%.60s\": %s", positions, own.message)
               : status;
}

static bool is_state_of(taking *it, const char *state, gl_span plate) {
    glassine_record *record = glassine_bundle_record(it->bundle, gl_span_of(state), GL_NO_SPAN);
    return record && gl_span_equal(glassine_record_text(it->bundle, record, "plate"), plate);
}

static glassine_status check_claim(taking *it, const json_t *version, glassine_error *error) {
    const json_t *plates = json_object_get(version, "plates");
    const char *positions = json_string_value(json_object_get(version, "positions"));
    const char *state = json_string_value(json_object_get(version, "state"));
    bool state_fits = !state || !json_array_size(plates);
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < json_array_size(plates) && !status; i++) {
        const char *id = json_string_value(json_array_get(plates, i));
        glassine_record *plate = id ? glassine_bundle_record(it->bundle, gl_span_of(id), GL_NO_SPAN) : NULL;
        if (!plate || !gl_span_is(glassine_record_type(it->bundle, plate), "plate"))
            return refuse(it, error, "R032", "it names a plate that is not in this bundle");
        state_fits = state_fits || is_state_of(it, state, gl_span_of(id));
        status = positions ? check_plate(it, plate, positions, error) : GLASSINE_OK;
    }
    return status || state_fits ? status : refuse(it, error, "R212", "it names a state of another plate");
}

/* ---- an answer ---- */

static glassine_status check_version(taking *it, const answer *on, const json_t *version,
                                     const json_t *before, glassine_error *error) {
    const char *at = json_string_value(json_object_get(version, "at")), *name;
    const char *earlier = before ? json_string_value(json_object_get(before, "at")) : NULL;
    json_t *value;
    int64_t time;
    if (!json_is_object(version) || json_object_size(version) > FIELDS_MOST)
        return refuse(it, error, NULL, "a version of it is no list of what it says");
    if (!at || !gl_time_parse(gl_span_of(at), &time) || (earlier && strcmp(at, earlier) < 0))
        return refuse(it, error, NULL, "it does not say when it was given, or its versions are out of order");
    json_object_foreach((json_t *)version, name, value) {
        bool known = strcmp(name, "at") == 0 || may_say(on->type, name);
        if (strcmp(name, "withdrawn") == 0 ? !json_is_boolean(value) : !known)
            return refuse(it, error, "R011", "\"%.40s\" is nothing that it can say", name);
    }
    return strcmp(on->type, "claim") == 0 ? check_claim(it, version, error) : GLASSINE_OK;
}

/* The stamps that were asked about, where the event says so. */
static bool was_asked(taking *it, const char *stamp) {
    glassine_value list = it->event ? glassine_record_get(it->bundle, it->event, "stamps", NULL) : GL_NO_SPAN,
                   item;
    size_t at = 0;
    if (!list.text)
        return true;
    while (glassine_value_next(list, &at, NULL, &item))
        if (gl_span_is(gl_json_raw(item), stamp))
            return true;
    return false;
}

static glassine_status read_answer(taking *it, const json_t *whole, answer *on, glassine_error *error) {
    json_t *number = json_object_get(whole, "number");
    *on = (answer){.whole = whole,
                   .type = json_string_value(json_object_get(whole, "record")),
                   .stamp = json_string_value(json_object_get(whole, "stamp"))};
    json_int_t said = json_is_integer(number) ? json_integer_value(number) : 0;
    if (said < 1 || said > GL_JSON_INTEGER_MAX)
        return refuse(it, error, NULL, "it has no number");
    it->number = (size_t)said;
    if (!on->type || (strcmp(on->type, "claim") != 0 && strcmp(on->type, "opinion") != 0 &&
                      strcmp(on->type, "observation") != 0))
        return refuse(it, error, "R010", "it is no claim, opinion or observation");
    on->info = glassine_type_find(on->type);
    glassine_record *stamp =
        on->stamp ? glassine_bundle_record(it->bundle, gl_span_of(on->stamp), GL_NO_SPAN) : NULL;
    if (!stamp || !gl_span_is(glassine_record_type(it->bundle, stamp), "stamp"))
        return refuse(it, error, "R032", "it is about a stamp that is not in this bundle");
    if (!was_asked(it, on->stamp))
        return refuse(it, error, NULL, "it is about a stamp that was not asked about");
    json_t *versions = json_object_get(whole, "versions");
    if (!json_is_array(versions) || !json_array_size(versions) || json_array_size(versions) > VERSIONS_MOST)
        return refuse(it, error, NULL, "it says nothing");
    gl_buf name = GL_BUF_EMPTY;
    gl_buf_printf(&name, "sheet\n%s\n%zu\n%s", json_string_value(json_object_get(it->sheet, "sheet")),
                  it->number, on->type);
    bool done = !name.failed && gl_derived_id(on->type, gl_buf_span(&name), on->id);
    gl_buf_free(&name);
    return done ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status say_slip(taking *it, answer *on, int reach, const char *at, slip *made,
                                glassine_error *error) {
    gl_buf line = GL_BUF_EMPTY;
    gl_buf_add_char(&made->set, '}');
    gl_buf_add_char(&made->clear, ']');
    gl_slip_parts parts = {.after = on->begun[reach] ? &on->last[reach] : NULL,
                           .after_count = on->begun[reach],
                           .at = gl_span_of(at),
                           .by = gl_span_of(it->by),
                           .via = gl_span_of(it->via),
                           .record = gl_span_of(on->id),
                           .reach = reach ? GLASSINE_TELLING : GLASSINE_SHARED,
                           .set = gl_buf_span(&made->set),
                           .clear = made->clear.length > 2 ? gl_buf_span(&made->clear) : GL_NO_SPAN};
    gl_slip_write(&parts, &line);
    bool added = false;
    glassine_status status = made->set.failed || made->clear.failed || line.failed
                                 ? gl_fail_memory(error)
                                 : gl_draft_speak_line(it->draft, gl_buf_span(&line), &added, error);
    on->last[reach] = gl_hash_once(it->hash, line.text ? line.text : "", line.length);
    on->begun[reach] = true;
    it->source->slips += added;
    it->source->known += !status && !added;
    gl_buf_free(&line);
    return status;
}

static glassine_status take_answer(taking *it, const json_t *whole, glassine_error *error) {
    answer on;
    glassine_status status = read_answer(it, whole, &on, error);
    const json_t *versions = json_object_get(whole, "versions"), *before = NULL;
    for (size_t i = 0; !status && i < json_array_size(versions); i++) {
        const json_t *version = json_array_get(versions, i);
        slip made[2];
        begin(&made[0]);
        begin(&made[1]);
        status = check_version(it, &on, version, before, error);
        if (!status)
            status = fill(it, &on, version, before, made, error);
        const char *at = json_string_value(json_object_get(version, "at"));
        for (int reach = 0; reach < 2; reach++) {
            if (!status && made[reach].said)
                status = say_slip(it, &on, reach, at, &made[reach], error);
            gl_buf_free(&made[reach].set);
            gl_buf_free(&made[reach].clear);
        }
        before = version;
    }
    return status;
}

/* ---- the whole ---- */

static glassine_status check_numbers(taking *it, const json_t *given, glassine_error *error) {
    json_int_t last = 0;
    for (size_t i = 0; i < json_array_size(given); i++) {
        json_int_t number = json_integer_value(json_object_get(json_array_get(given, i), "number"));
        it->number = number > 0 ? (size_t)number : i + 1;
        if (number <= last)
            return refuse(it, error, NULL, "its number is out of order");
        last = number;
    }
    it->number = 0;
    return GLASSINE_OK;
}

static glassine_status say_returned(taking *it, glassine_error *error) {
    gl_buf line = GL_BUF_EMPTY;
    bool added = false;
    gl_returned_slip(it->bundle, it->event, gl_span_of(it->by), gl_span_of(it->via),
                     gl_span_of(json_string_value(json_object_get(it->sheet, "made"))), &line);
    glassine_status status = line.failed ? gl_fail_memory(error)
                                         : gl_draft_speak_line(it->draft, gl_buf_span(&line), &added, error);
    gl_buf_free(&line);
    it->source->slips += added;
    it->source->known += !status && !added;
    return status;
}

static glassine_status take_all(taking *it, glassine_error *error) {
    glassine_status status = read_sheet(it, error);
    if (!status)
        status = read_head(it, error);
    const json_t *given = json_object_get(it->sheet, "given");
    if (!status)
        status = check_numbers(it, given, error);
    for (size_t i = 0; !status && i < json_array_size(given); i++) {
        it->number = i + 1;
        status = take_answer(it, json_array_get(given, i), error);
    }
    it->number = 0;
    if (!status && it->event && json_array_size(given))
        status = say_returned(it, error);
    return status ? status : gl_bundle_index(it->bundle, error);
}

glassine_status gl_sheet_take(gl_merging *merging, glassine_merge_source *source, glassine_error *error) {
    taking it = {.draft = merging->draft, .bundle = merging->bundle, .source = source, .hash = gl_hash_new()};
    source->kind = "sheet";
    glassine_status status = it.hash ? take_all(&it, error) : gl_fail_memory(error);
    json_decref(it.sheet);
    gl_hash_free(it.hash);
    return status;
}
