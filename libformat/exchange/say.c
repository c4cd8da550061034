/* Saying something in a draft: entering, revising, settling. Values are checked by the table of types and the
 * record as a whole by the audit's rules; where something is wrong, nothing of the call remains. */
#include <stdio.h>
#include <stdlib.h>

#include "audit/record_rules.h"
#include "audit/together.h"
#include "base/clock.h"
#include "base/error.h"
#include "base/hash.h"
#include "base/text.h"
#include "exchange/draft.h"
#include "records/table.h"
#include "records/value.h"

enum { GL_ID_SIZE = 80 }; /* "TYPE/UUID" */

/* One statement, understood. */
typedef struct statement {
    gl_buf field;
    const glassine_field_info *info; /* NULL: a field of the writer's own */
    glassine_reach reach;
    gl_buf value; /* canonical JSON; empty: the field is cleared */
    bool idle;    /* says what is so already */
} statement;

typedef struct sayings {
    statement *list;
    size_t count;
} sayings;

static void free_sayings(sayings *said) {
    for (size_t i = 0; i < said->count; i++) {
        gl_buf_free(&said->list[i].field);
        gl_buf_free(&said->list[i].value);
    }
    free(said->list);
}

static int by_field(const void *a, const void *b) {
    const statement *one = a, *other = b;
    int order = gl_span_compare(gl_buf_span(&one->field), gl_buf_span(&other->field));
    return order ? order : (int)one->reach - (int)other->reach;
}

/* The slip of these parts, with the speaker, the time and the reason. */
static glassine_status add_slip(glassine_draft *draft, gl_slip_parts parts, const char *why,
                                glassine_error *error) {
    char at[GL_TIME_SIZE];
    gl_time_print(draft->said_at ? draft->said_at : gl_clock_now(), at);
    parts.at = gl_span_of(at);
    parts.by = gl_span_of(draft->by);
    parts.via = draft->via[0] ? gl_span_of(draft->via) : GL_NO_SPAN;
    gl_buf reason = GL_BUF_EMPTY, line = GL_BUF_EMPTY;
    if (why && *why) {
        gl_text_add_nfc(&reason, gl_span_of(why));
        parts.why = gl_buf_span(&reason);
    }
    gl_slip_write(&parts, &line);
    bool added;
    glassine_status status = line.failed || reason.failed
                                 ? gl_fail_memory(error)
                                 : gl_draft_speak_line(draft, gl_buf_span(&line), &added, error);
    gl_buf_free(&reason);
    gl_buf_free(&line);
    return status;
}

/* The latest slips, which a new one follows unless it names others. */
static glassine_status latest(glassine_draft *draft, gl_span id, glassine_reach reach, gl_digest **heads,
                              size_t *count, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    const glassine_type_info *info = gl_type_of_id(id);
    uint32_t subject = gl_store_record_find(bundle->store, id);
    uint32_t author =
        info && info->authored ? gl_store_person_find(bundle->store, gl_span_of(draft->by)) : GL_NONE;
    *heads = NULL;
    *count = 0;
    if (subject == GL_NONE || (info && info->authored && author == GL_NONE))
        return GLASSINE_OK;
    return gl_reading_heads(bundle->store, subject, author, reach, bundle->arena, heads, count, error);
}

glassine_status gl_draft_slip(glassine_draft *draft, gl_span id, glassine_reach reach, gl_span set,
                              gl_span clear, const char *why, glassine_error *error) {
    gl_slip_parts parts = {.record = id, .reach = reach, .set = set, .clear = clear};
    gl_digest *heads;
    glassine_status status = latest(draft, id, reach, &heads, &parts.after_count, error);
    parts.after = heads;
    return status ? status : add_slip(draft, parts, why, error);
}

/* The slips that somebody names as those that a statement follows, whatever their reach. */
typedef struct named {
    const char (*slips)[65];
    size_t count;
} named;

static int by_digest(const void *a, const void *b) {
    return gl_digest_compare(a, b);
}

/* Those of one reach, each once, sorted. */
static glassine_status named_in(glassine_bundle *bundle, const named *after, glassine_reach reach,
                                gl_digest **out, size_t *count, glassine_error *error) {
    gl_digest *list = *out = GL_ARENA_ARRAY(bundle->arena, gl_digest, after->count + 1);
    if (!list)
        return gl_fail_memory(error);
    size_t found = 0;
    for (size_t i = 0; i < after->count; i++) {
        gl_digest digest;
        uint32_t slip = gl_digest_parse(gl_span_of(after->slips[i]), &digest)
                            ? gl_store_find(bundle->store, &digest)
                            : GL_NONE;
        if (slip != GL_NONE && gl_store_at(bundle->store, slip)->reach == reach)
            list[found++] = digest;
    }
    qsort(list, found, sizeof *list, by_digest);
    *count = 0;
    for (size_t i = 0; i < found; i++)
        if (!i || by_digest(&list[i], &list[*count - 1]) != 0)
            list[(*count)++] = list[i];
    return GLASSINE_OK;
}

/* Where a field is said already; `fallback` where it is not. */
static glassine_reach reach_now(glassine_bundle *bundle, glassine_record *record, gl_span field,
                                glassine_reach fallback) {
    const gl_reading *reading;
    if (!record || gl_record_reading(bundle, record, &reading, NULL))
        return fallback;
    const gl_read_field *end, *said = gl_reading_named(reading, field, &end);
    while (said < end && !said->contested && !gl_read_value(said, 0).text)
        said++;
    return said < end ? said->reach : fallback;
}

/* What an assignment is about: the record it is made on, its type and kind. */
typedef struct subject {
    glassine_bundle *bundle;
    glassine_record *record; /* NULL: a new one */
    const glassine_type_info *type;
    gl_span kind;
    /* the plate it names, which tells its states and marks from those of others; may be absent */
    gl_span plate;
} subject;

/* A gl_resolve (records/value.h). */
static glassine_status resolve(void *context, const char *const *types, gl_span typed, gl_buf *id,
                               glassine_error *error) {
    const subject *on = context;
    glassine_record *found;
    glassine_status status = gl_bundle_find(on->bundle, types, typed, on->plate, &found, error);
    if (status)
        return status;
    gl_buf_add(id, gl_record_id(on->bundle, found));
    return id->failed ? gl_fail_memory(error) : GLASSINE_OK;
}

static glassine_status reach_of(const subject *on, const glassine_statement *given, statement *said,
                                glassine_error *error) {
    if (!given->reach) {
        said->reach = reach_now(on->bundle, on->record, gl_buf_span(&said->field),
                                gl_field_reach(on->type, said->info, on->kind));
        return GLASSINE_OK;
    }
    for (int at = 0; at < GLASSINE_REACHES; at++) {
        said->reach = (glassine_reach)at;
        if (strcmp(given->reach, glassine_reach_name(said->reach)) == 0)
            return GLASSINE_OK;
    }
    return gl_fail(error, GLASSINE_REFUSED, NULL, given->field,
                   "\"%s\" is no reach: shared, telling or private", given->reach);
}

/* A value as canonical JSON that somebody else wrote: is it one, and one value only? */
static bool is_value(gl_span value) {
    gl_buf object = GL_BUF_EMPTY;
    gl_buf_add_text(&object, "{\"v\":");
    gl_buf_add(&object, value);
    gl_buf_add_char(&object, '}');
    bool good = !object.failed && gl_json_check(gl_buf_span(&object), 1, NULL) &&
                gl_json_count(gl_buf_span(&object)) == 1;
    gl_buf_free(&object);
    return good;
}

/* Exactly the value that is given. A field that the table does not know is taken as it is called. */
static glassine_status take_exactly(const subject *on, const glassine_statement *given, statement *said,
                                    glassine_error *error) {
    gl_span name = gl_span_of(given->field);
    said->info = gl_field_of(on->type, name);
    if (!gl_table_name_check(name))
        return gl_fail(error, GLASSINE_REFUSED, "R011", given->field, "it is no name of a field");
    if (given->value.text && !is_value(given->value))
        return gl_fail(error, GLASSINE_REFUSED, "R020", given->field, "the value is no canonical JSON");
    gl_buf_add(&said->field, name);
    if (given->value.text)
        gl_buf_add(&said->value, given->value);
    return GLASSINE_OK;
}

static glassine_status take_typed(subject *on, const glassine_statement *given, statement *said,
                                  glassine_error *error) {
    glassine_status status =
        gl_field_typed(on->type, gl_span_of(given->field), &said->field, &said->info, error);
    if (!status && *given->typed)
        status = gl_value_parse(said->info, gl_span_of(given->typed), resolve, on, &said->value, error);
    return status;
}

static glassine_status understand_one(subject *on, const glassine_statement *given, statement *said,
                                      glassine_error *error) {
    glassine_status status =
        given->typed ? take_typed(on, given, said, error) : take_exactly(on, given, said, error);
    if (!status && (said->value.failed || said->field.failed))
        status = gl_fail_memory(error);
    return status ? status : reach_of(on, given, said, error);
}

/* The `kind` among the statements, else the record's, which the reach of some types' fields depends on. */
static gl_span kind_among(glassine_bundle *bundle, glassine_record *record, const glassine_statement *fields,
                          size_t count) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(fields[i].field, "kind") == 0)
            return fields[i].typed ? gl_span_of(fields[i].typed) : gl_json_raw(fields[i].value);
    return record ? glassine_record_text(bundle, record, "kind") : GL_NO_SPAN;
}

static bool names_plate(const char *field) {
    return strcmp(field, "plate") == 0 || strcmp(field, "plates") == 0;
}

/* The one reference of a value, or the first of several. */
static gl_span first_of(gl_span value) {
    gl_span name;
    gl_json_walk walk = gl_json_walk_of(value);
    if (gl_json_kind_of(value) == GL_JSON_ARRAY && !gl_json_next(&walk, &name, &value))
        return GL_NO_SPAN;
    return gl_json_kind_of(value) == GL_JSON_STRING ? gl_json_raw(value) : GL_NO_SPAN;
}

static glassine_status understand(glassine_bundle *bundle, glassine_record *record,
                                  const glassine_type_info *type, const glassine_statement *fields,
                                  size_t count, sayings *said, glassine_error *error) {
    *said = (sayings){calloc(count + 2, sizeof(statement)), 0}; /* one more than is given: mark_blind */
    if (!said->list)
        return gl_fail_memory(error);
    subject on = {
        .bundle = bundle, .record = record, .type = type, .kind = kind_among(bundle, record, fields, count)};
    if (record)
        on.plate = first_of(glassine_record_get(bundle, record, "plate", NULL));
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < 2 * count && !status;
         i++) { /* first the plates, since other names depend on them */
        const glassine_statement *given = &fields[i % count];
        if (names_plate(given->field) != (i < count))
            continue;
        statement *one = &said->list[said->count++];
        status = understand_one(&on, given, one, error);
        if (!status && i < count && one->value.length)
            on.plate = first_of(gl_buf_span(&one->value));
    }
    if (status)
        return status;
    qsort(said->list, said->count, sizeof(statement), by_field);
    for (size_t i = 1; i < said->count; i++)
        if (by_field(&said->list[i], &said->list[i - 1]) == 0)
            return gl_fail(error, GLASSINE_REFUSED, "R012", said->list[i].field.text,
                           "the field is given twice");
    return GLASSINE_OK;
}

static const statement *said_of(const sayings *said, const char *field) {
    for (size_t i = 0; i < said->count; i++)
        if (gl_span_is(gl_buf_span(&said->list[i].field), field))
            return &said->list[i];
    return NULL;
}

/* Does anybody but the speaker claim something on this stamp, in this bundle? */
static glassine_status others_claim(glassine_draft *draft, gl_span stamp, bool *they_do,
                                    glassine_error *error) {
    glassine_record *record = glassine_bundle_record(draft->bundle, stamp, GL_NO_SPAN), *const * claims;
    size_t count = 0;
    *they_do = false;
    glassine_status status =
        record ? glassine_record_referrers(draft->bundle, record, "claim", true, &claims, &count, error)
               : GLASSINE_OK;
    for (size_t i = 0; i < count && !*they_do; i++)
        *they_do = !gl_span_is(glassine_record_author(draft->bundle, claims[i]), draft->by);
    return status;
}

/* Whoever answers a blind dispatch has not seen what others claim: a new claim there says so, unless its
 * author says otherwise. */
static glassine_status mark_blind(glassine_draft *draft, const glassine_type_info *type, sayings *said,
                                  glassine_error *error) {
    bool they_do;
    const statement *stamp = said_of(said, "stamp");
    if (!draft->bundle->about.blind || !type || strcmp(type->name, "claim") != 0 || !stamp ||
        said_of(said, "blind"))
        return GLASSINE_OK;
    glassine_status status = others_claim(draft, gl_json_raw(gl_buf_span(&stamp->value)), &they_do, error);
    if (status || they_do)
        return status;
    statement *mark = &said->list[said->count++];
    *mark = (statement){.info = glassine_type_field(type, "blind"), .reach = GLASSINE_SHARED};
    gl_buf_add_text(&mark->field, "blind");
    gl_buf_add_text(&mark->value, "true");
    if (mark->field.failed || mark->value.failed)
        return gl_fail_memory(error);
    qsort(said->list, said->count, sizeof(statement), by_field);
    return GLASSINE_OK;
}

/* One slip of what is said within `reach`; none where nothing is, unless `always`. */
static glassine_status say_in_reach(glassine_draft *draft, gl_span id, const sayings *said,
                                    glassine_reach reach, bool always, const named *after, const char *why,
                                    glassine_error *error) {
    gl_buf set = GL_BUF_EMPTY, clear = GL_BUF_EMPTY;
    gl_buf_add_char(&set, '{');
    for (size_t i = 0; i < said->count; i++) {
        const statement *one = &said->list[i];
        if (one->reach != reach || one->idle)
            continue;
        gl_buf *to = one->value.length ? &set : &clear;
        if (to->length > 1)
            gl_buf_add_char(to, ',');
        else if (to == &clear)
            gl_buf_add_char(to, '[');
        gl_json_add_string(to, gl_buf_span(&one->field));
        if (to == &set) {
            gl_buf_add_char(to, ':');
            gl_buf_add(to, gl_buf_span(&one->value));
        }
    }
    gl_buf_add_char(&set, '}');
    if (clear.length)
        gl_buf_add_char(&clear, ']');
    gl_slip_parts parts = {.record = id,
                           .reach = reach,
                           .set = gl_buf_span(&set),
                           .clear = clear.length ? gl_buf_span(&clear) : GL_NO_SPAN};
    gl_digest *follows;
    glassine_status status = set.failed || clear.failed ? gl_fail_memory(error) : GLASSINE_OK;
    if (!status && (always || set.length > 2 || clear.length)) {
        status = after ? named_in(draft->bundle, after, reach, &follows, &parts.after_count, error)
                       : latest(draft, id, reach, &follows, &parts.after_count, error);
        parts.after = follows;
        if (!status)
            status = add_slip(draft, parts, why, error);
    }
    gl_buf_free(&set);
    gl_buf_free(&clear);
    return status;
}

static bool only_private(const sayings *said) {
    for (size_t i = 0; i < said->count; i++)
        if (said->list[i].reach != GLASSINE_PRIVATE)
            return false;
    return said->count > 0;
}

/* Which rules over a whole record must hold afterwards: one that broke them before may be spoken of all the
 * same. */
typedef struct rules {
    bool required, together;
} rules;

/* Slips for every reach, then the record rules over what was touched. `after` NULL: the slips follow the
 * latest. On failure nothing of it remains. */
static glassine_status say(glassine_draft *draft, gl_span id, const sayings *said, bool fresh, rules whole,
                           const named *after, const char *why, glassine_record **record,
                           glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    uint32_t before = gl_store_count(bundle->store);
    glassine_status status = GLASSINE_OK;
    for (int reach = 0; reach < GLASSINE_REACHES && !status; reach++) {
        bool always = fresh && reach == GLASSINE_SHARED && !only_private(said);
        status = say_in_reach(draft, id, said, (glassine_reach)reach, always, after, why, error);
    }
    if (!status)
        status = gl_bundle_index(bundle, error);
    if (!status) {
        const glassine_type_info *info = gl_type_of_id(id);
        *record =
            glassine_bundle_record(bundle, id, info && info->authored ? gl_span_of(draft->by) : GL_NO_SPAN);
        for (size_t i = 0; i < said->count && !status; i++)
            if (said->list[i].value.length && !said->list[i].idle)
                status = gl_record_rules_value(bundle, *record, gl_buf_span(&said->list[i].field),
                                               gl_buf_span(&said->list[i].value), error);
        if (!status && whole.required)
            status = gl_record_rules_required(bundle, *record, error);
        if (!status && whole.together)
            status = gl_together_rules(bundle, *record, error);
    }
    if (status)
        gl_bundle_cut(bundle, before);
    return status;
}

/* Assignments as statements; NULL when memory ran out. */
static glassine_statement *stated(const glassine_assignment *fields, size_t count) {
    glassine_statement *list = calloc(count + 1, sizeof *list);
    for (size_t i = 0; list && i < count; i++)
        list[i] = (glassine_statement){.field = fields[i].field,
                                       .typed = fields[i].value ? fields[i].value : "",
                                       .reach = fields[i].reach};
    return list;
}

static glassine_status enter(glassine_draft *draft, const glassine_type_info *type, gl_span id,
                             const glassine_assignment *fields, size_t count, const char *why,
                             glassine_record **record, glassine_error *error) {
    sayings said;
    glassine_statement *list = stated(fields, count);
    if (!list)
        return gl_fail_memory(error);
    glassine_status status = understand(draft->bundle, NULL, type, list, count, &said, error);
    if (!status)
        status = mark_blind(draft, type, &said, error);
    if (!status)
        status = say(draft, id, &said, true, (rules){true, true}, NULL, why, record, error);
    free_sayings(&said);
    free(list);
    return gl_bundle_end(draft->bundle, NULL, status, error);
}

glassine_status gl_draft_enter_why(glassine_draft *draft, const char *id, const glassine_assignment *fields,
                                   size_t count, const char *why, glassine_record **record,
                                   glassine_error *error) {
    gl_span whole = gl_span_of(id);
    return enter(draft, gl_type_of_id(whole), whole, fields, count, why, record, error);
}

glassine_status gl_draft_enter_as(glassine_draft *draft, const char *id, const glassine_assignment *fields,
                                  size_t count, glassine_record **record, glassine_error *error) {
    return gl_draft_enter_why(draft, id, fields, count, NULL, record, error);
}

glassine_status glassine_draft_enter(glassine_draft *draft, const char *type_name,
                                     const glassine_assignment *fields, size_t count, const char *why,
                                     glassine_record **record, glassine_error *error) {
    const glassine_type_info *type;
    *record = NULL;
    glassine_status status = gl_type_typed(gl_span_of(type_name), &type, error);
    if (status)
        return status;
    char uuid[GL_UUID_SIZE], id[GL_ID_SIZE];
    if (!gl_uuid_new(uuid))
        return gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "the system gives no random numbers");
    snprintf(id, sizeof id, "%s/%s", type->name, uuid);
    return enter(draft, type, gl_span_of(id), fields, count, why, record, error);
}

static bool only_sets_aside(const glassine_statement *fields, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(fields[i].field, "set_aside") != 0)
            return false;
    return true;
}

/* An authored record speaks for its author alone; the keeper may set it aside, by a slip of the keeper's own.
 */
static glassine_status may_speak(glassine_draft *draft, glassine_record *record,
                                 const glassine_statement *fields, size_t count, glassine_error *error) {
    gl_span author = glassine_record_author(draft->bundle, record);
    if (!author.text || gl_span_is(author, draft->by) || only_sets_aside(fields, count))
        return GLASSINE_OK;
    gl_buf shown = GL_BUF_EMPTY;
    gl_record_shown(draft->bundle, record, &shown);
    gl_fail(error, GLASSINE_REFUSED, "R048", shown.failed ? NULL : shown.text,
            "it speaks for its author alone, and you are not its author");
    gl_error_remedy(error, "Make a statement of your own beside it");
    gl_buf_free(&shown);
    return GLASSINE_REFUSED;
}

static bool says_so(const gl_read_field *now, const statement *one) {
    gl_span value = now && !now->contested ? gl_read_value(now, 0) : GL_NO_SPAN;
    return !(now && now->contested) &&
           (one->value.length ? gl_span_equal(value, gl_buf_span(&one->value)) : !value.text);
}

/* Marks what is so already; refuses to overwrite what is contested, or (settling) what is not. */
static glassine_status compare_with_reading(glassine_bundle *bundle, glassine_record *record, sayings *said,
                                            bool settling, glassine_error *error) {
    const gl_reading *reading;
    glassine_status status = gl_record_reading(bundle, record, &reading, error);
    for (size_t i = 0; i < said->count && !status; i++) {
        statement *one = &said->list[i];
        const gl_read_field *now = gl_reading_field(reading, gl_buf_span(&one->field), one->reach);
        bool contested = now && now->contested;
        if (contested != settling) {
            gl_fail(error, GLASSINE_REFUSED, contested ? "R041" : "R042", one->field.text,
                    contested ? "the field is contested" : "the field is not contested");
            gl_error_remedy(error, contested ? "Answer it with `glassine settle`"
                                             : "Change it with `glassine revise`");
            return GLASSINE_REFUSED;
        }
        one->idle = says_so(now, one);
    }
    return status;
}

static rules that_hold(glassine_bundle *bundle, glassine_record *record) {
    return (rules){!gl_record_rules_required(bundle, record, NULL), !gl_together_rules(bundle, record, NULL)};
}

static glassine_status change_so(glassine_draft *draft, glassine_record *record,
                                 const glassine_statement *fields, size_t count, const char *why,
                                 bool settling, bool *changed, glassine_error *error) {
    glassine_status status = may_speak(draft, record, fields, count, error);
    if (status)
        return status;
    gl_span id = gl_record_id(draft->bundle, record);
    sayings said;
    status = understand(draft->bundle, record, gl_type_of_id(id), fields, count, &said, error);
    if (!status)
        status = compare_with_reading(draft->bundle, record, &said, settling, error);
    uint32_t before = gl_store_count(draft->bundle->store);
    if (!status)
        status = say(draft, id, &said, false, that_hold(draft->bundle, record), NULL, why, &record, error);
    *changed = gl_store_count(draft->bundle->store) > before;
    free_sayings(&said);
    return status;
}

static glassine_status change(glassine_draft *draft, glassine_record *record,
                              const glassine_assignment *fields, size_t count, const char *why, bool settling,
                              bool *changed, glassine_error *error) {
    glassine_statement *list = stated(fields, count);
    if (!list)
        return gl_fail_memory(error);
    glassine_status status = change_so(draft, record, list, count, why, settling, changed, error);
    free(list);
    return gl_bundle_end(draft->bundle, NULL, status, error);
}

glassine_status glassine_draft_revise(glassine_draft *draft, glassine_record *record,
                                      const glassine_assignment *fields, size_t count, const char *why,
                                      bool *changed, glassine_error *error) {
    bool ignored;
    return change(draft, record, fields, count, why, false, changed ? changed : &ignored, error);
}

glassine_status glassine_draft_settle(glassine_draft *draft, glassine_record *record,
                                      const glassine_assignment *fields, size_t count, const char *why,
                                      glassine_error *error) {
    bool ignored;
    return change(draft, record, fields, count, why, true, &ignored, error);
}

/* --------------------------------------------------------------- statements that follow what they name */

/* The id that is meant, and its type: a new one where only a type is named. */
static glassine_status choose_id(const char *given, char id[GL_ID_SIZE], const glassine_type_info **type,
                                 glassine_error *error) {
    gl_span name, uuid;
    char fresh[GL_UUID_SIZE];
    if (gl_record_id_split(gl_span_of(given), &name, &uuid) && strlen(given) < GL_ID_SIZE) {
        memcpy(id, given, strlen(given) + 1);
        *type = gl_type_of_id(gl_span_of(id));
        return GLASSINE_OK;
    }
    if (strchr(given, '/'))
        return gl_fail(error, GLASSINE_REFUSED, "R030", NULL, "\"%s\" is no TYPE/UUID", given);
    glassine_status status = gl_type_typed(gl_span_of(given), type, error);
    if (!status && !gl_uuid_new(fresh))
        status = gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "the system gives no random numbers");
    if (!status)
        snprintf(id, GL_ID_SIZE, "%s/%s", (*type)->name, fresh);
    return status;
}

/* What was so already where the statements come from is not said again. */
static glassine_status compare_with_named(glassine_draft *draft, glassine_record *record, sayings *said,
                                          const named *after, glassine_error *error) {
    gl_reading then;
    glassine_status status =
        gl_record_reading_at(draft->bundle, record, after->slips, after->count, &then, error);
    for (size_t i = 0; i < said->count && !status; i++) {
        statement *one = &said->list[i];
        one->idle = says_so(gl_reading_field(&then, gl_buf_span(&one->field), one->reach), one);
    }
    return status;
}

static glassine_status nothing_to_follow(const char *id, glassine_error *error) {
    gl_fail(error, GLASSINE_REFUSED, NULL, NULL, "%s is not in this bundle, and so has no slips to follow",
            id);
    gl_error_remedy(error, "Merge the bundle that it is from");
    return GLASSINE_REFUSED;
}

glassine_status glassine_draft_state(glassine_draft *draft, const char *given,
                                     const glassine_statement *statements, size_t count,
                                     const char (*after)[65], size_t after_count, const char *why,
                                     glassine_record **record, bool *changed, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    const glassine_type_info *type;
    char id[GL_ID_SIZE];
    named follows = {after, after_count};
    *record = NULL;
    *changed = false;
    glassine_status status = choose_id(given, id, &type, error);
    if (status)
        return status;
    glassine_record *there = glassine_bundle_record(
        bundle, gl_span_of(id), type && type->authored ? gl_span_of(draft->by) : GL_NO_SPAN);
    if (!there && after_count)
        return nothing_to_follow(id, error);
    sayings said;
    status = understand(bundle, there, type, statements, count, &said, error);
    if (!status)
        status = there ? compare_with_named(draft, there, &said, &follows, error)
                       : mark_blind(draft, type, &said, error);
    uint32_t before = gl_store_count(bundle->store);
    rules whole =
        there ? that_hold(bundle, there) : (rules){type && !only_sets_aside(statements, count), true};
    *record = there;
    if (!status)
        status = say(draft, gl_span_of(id), &said, !there, whole, &follows, why, record, error);
    *changed = gl_store_count(bundle->store) > before;
    free_sayings(&said);
    return gl_bundle_end(bundle, NULL, status, error);
}

void glassine_draft_back(glassine_draft *draft, size_t slips) {
    uint32_t most = gl_store_count(draft->bundle->store);
    if (slips < most - draft->base)
        gl_bundle_cut(draft->bundle, draft->base + (uint32_t)slips);
}

glassine_status glassine_draft_take(glassine_draft *draft, glassine_span line, bool *added,
                                    glassine_error *error) {
    uint32_t before = gl_store_count(draft->bundle->store);
    glassine_status status = gl_draft_add_line(draft, line, draft->bundle->path, added, error);
    if (!status && *added)
        status = gl_bundle_index(draft->bundle, error);
    if (status)
        gl_bundle_cut(draft->bundle, before);
    return status;
}
