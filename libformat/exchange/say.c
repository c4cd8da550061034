/* Saying something in a draft: entering, revising, settling. Values are checked by the table of types and the
 * record as a whole by the audit's rules; where something is wrong, nothing of the call remains. */
#include <stdio.h>
#include <stdlib.h>

#include "audit/record_rules.h"
#include "audit/together.h"
#include "base/clock.h"
#include "base/error.h"
#include "base/text.h"
#include "exchange/draft.h"
#include "records/table.h"
#include "records/value.h"

/* One assignment, understood. */
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
    return gl_span_compare(gl_buf_span(&((const statement *)a)->field), gl_buf_span(&((const statement *)b)->field));
}

glassine_status gl_draft_slip(glassine_draft *draft, gl_span id, glassine_reach reach, gl_span set, gl_span clear,
                              const char *why, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    gl_slip_parts parts = {.record = id, .reach = reach, .set = set, .clear = clear, .by = gl_span_of(draft->by)};
    const glassine_type_info *info = gl_type_of_id(id);
    gl_digest *heads = NULL;
    uint32_t subject = gl_store_record_find(bundle->store, id);
    uint32_t author = info && info->authored ? gl_store_person_find(bundle->store, parts.by) : GL_NONE;
    bool first = subject == GL_NONE || (info && info->authored && author == GL_NONE);
    glassine_status status = first ? GLASSINE_OK
                                   : gl_reading_heads(bundle->store, subject, author, reach, bundle->arena, &heads,
                                                      &parts.after_count, error);
    if (status)
        return status;
    parts.after = heads;
    char at[GL_TIME_SIZE];
    gl_time_print(gl_clock_now(), at);
    parts.at = gl_span_of(at);
    parts.via = draft->via[0] ? gl_span_of(draft->via) : GL_NO_SPAN;
    gl_buf reason = GL_BUF_EMPTY, line = GL_BUF_EMPTY;
    if (why && *why) {
        gl_text_add_nfc(&reason, gl_span_of(why));
        parts.why = gl_buf_span(&reason);
    }
    gl_slip_write(&parts, &line);
    bool added;
    status = line.failed || reason.failed
                 ? gl_fail_memory(error)
                 : gl_draft_add_line(draft, gl_buf_span(&line), bundle->path, &added, error);
    gl_buf_free(&reason);
    gl_buf_free(&line);
    return status;
}

/* Where a field is said already; `fallback` where it is not. */
static glassine_reach reach_now(glassine_bundle *bundle, glassine_record *record, gl_span field,
                                glassine_reach fallback) {
    const gl_reading *reading;
    if (!record || gl_record_reading(bundle, record, &reading, NULL))
        return fallback;
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        const gl_read_field *said = gl_reading_field(reading, field, (glassine_reach)reach);
        if (said && (said->contested || said->said[0].value.text))
            return (glassine_reach)reach;
    }
    return fallback;
}

/* What an assignment is about: the record it is made on, its type and kind. */
typedef struct subject {
    glassine_bundle *bundle;
    glassine_record *record; /* NULL: a new one */
    const glassine_type_info *type;
    gl_span kind;
    gl_span plate; /* the plate it names, which tells its states and marks from those of others; may be absent */
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

static glassine_status reach_of(const subject *on, const glassine_assignment *given, statement *said,
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
    return gl_fail(error, GLASSINE_REFUSED, NULL, given->field, "\"%s\" is no reach: shared, telling or private",
                   given->reach);
}

static glassine_status understand_one(subject *on, const glassine_assignment *given, statement *said,
                                      glassine_error *error) {
    glassine_status status = gl_field_typed(on->type, gl_span_of(given->field), &said->field, &said->info, error);
    if (!status && given->value && *given->value)
        status = gl_value_parse(said->info, gl_span_of(given->value), resolve, on, &said->value, error);
    if (!status && (said->value.failed || said->field.failed))
        status = gl_fail_memory(error);
    return status ? status : reach_of(on, given, said, error);
}

/* The `kind` among the assignments, else the record's, which the reach of some types' fields depends on. */
static gl_span kind_among(glassine_bundle *bundle, glassine_record *record, const glassine_assignment *fields,
                          size_t count) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(fields[i].field, "kind") == 0)
            return gl_span_of(fields[i].value);
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

static glassine_status understand(glassine_bundle *bundle, glassine_record *record, const glassine_type_info *type,
                                  const glassine_assignment *fields, size_t count, sayings *said,
                                  glassine_error *error) {
    *said = (sayings){calloc(count + 1, sizeof(statement)), 0};
    if (!said->list)
        return gl_fail_memory(error);
    subject on = {.bundle = bundle, .record = record, .type = type, .kind = kind_among(bundle, record, fields, count)};
    if (record)
        on.plate = first_of(glassine_record_get(bundle, record, "plate", NULL));
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < 2 * count && !status; i++) { /* first the plates, since other names depend on them */
        const glassine_assignment *given = &fields[i % count];
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
            return gl_fail(error, GLASSINE_REFUSED, "R012", said->list[i].field.text, "the field is given twice");
    return GLASSINE_OK;
}

/* One slip of what is said within `reach`; none where nothing is, unless `always`. */
static glassine_status say_in_reach(glassine_draft *draft, gl_span id, const sayings *said, glassine_reach reach,
                                    bool always, const char *why, glassine_error *error) {
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
    glassine_status status = set.failed || clear.failed ? gl_fail_memory(error) : GLASSINE_OK;
    if (!status && (always || set.length > 2 || clear.length))
        status = gl_draft_slip(draft, id, reach, gl_buf_span(&set), clear.length ? gl_buf_span(&clear) : GL_NO_SPAN,
                               why, error);
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

/* Slips for every reach, then the record rules over what was touched. `whole`: the fields that must be there must
 * be there afterwards (a record that lacked one before may be spoken of all the same). On failure nothing of it
 * remains. */
static glassine_status say(glassine_draft *draft, gl_span id, const sayings *said, bool fresh, bool whole,
                           const char *why, glassine_record **record, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    uint32_t before = gl_store_count(bundle->store);
    glassine_status status = GLASSINE_OK;
    for (int reach = 0; reach < GLASSINE_REACHES && !status; reach++) {
        bool always = fresh && reach == GLASSINE_SHARED && !only_private(said);
        status = say_in_reach(draft, id, said, (glassine_reach)reach, always, why, error);
    }
    if (!status)
        status = gl_bundle_index(bundle, error);
    if (!status) {
        const glassine_type_info *info = gl_type_of_id(id);
        *record = glassine_bundle_record(bundle, id, info && info->authored ? gl_span_of(draft->by) : GL_NO_SPAN);
        for (size_t i = 0; i < said->count && !status; i++)
            if (said->list[i].value.length && !said->list[i].idle)
                status = gl_record_rules_field(bundle, *record, gl_buf_span(&said->list[i].field), said->list[i].reach, error);
        if (!status && whole)
            status = gl_record_rules_required(bundle, *record, error);
        if (!status)
            status = gl_together_rules(bundle, *record, error);
    }
    if (status)
        gl_bundle_cut(bundle, before);
    return status;
}

static glassine_status enter(glassine_draft *draft, const glassine_type_info *type, gl_span id,
                             const glassine_assignment *fields, size_t count, const char *why,
                             glassine_record **record, glassine_error *error) {
    sayings said;
    glassine_status status = understand(draft->bundle, NULL, type, fields, count, &said, error);
    if (!status)
        status = say(draft, id, &said, true, true, why, record, error);
    free_sayings(&said);
    return status;
}

glassine_status gl_draft_enter_as(glassine_draft *draft, const char *id, const glassine_assignment *fields,
                                  size_t count, glassine_record **record, glassine_error *error) {
    gl_span whole = gl_span_of(id);
    return enter(draft, gl_type_of_id(whole), whole, fields, count, NULL, record, error);
}

glassine_status glassine_draft_enter(glassine_draft *draft, const char *type_name, const glassine_assignment *fields,
                                     size_t count, const char *why, glassine_record **record,
                                     glassine_error *error) {
    const glassine_type_info *type;
    *record = NULL;
    glassine_status status = gl_type_typed(gl_span_of(type_name), &type, error);
    if (status)
        return status;
    char uuid[GL_UUID_SIZE], id[80];
    if (!gl_uuid_new(uuid))
        return gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "the system gives no random numbers");
    snprintf(id, sizeof id, "%s/%s", type->name, uuid);
    return enter(draft, type, gl_span_of(id), fields, count, why, record, error);
}

static bool only_sets_aside(const glassine_assignment *fields, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(fields[i].field, "set_aside") != 0)
            return false;
    return true;
}

/* An authored record speaks for its author alone; the keeper may set it aside, by a slip of the keeper's own. */
static glassine_status may_speak(glassine_draft *draft, glassine_record *record, const glassine_assignment *fields,
                                 size_t count, glassine_error *error) {
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
            gl_error_remedy(error, contested ? "Answer it with `glassine settle`" : "Change it with `glassine revise`");
            return GLASSINE_REFUSED;
        }
        gl_span value = now && !contested ? now->said[0].value : GL_NO_SPAN;
        one->idle = !contested && (one->value.length ? gl_span_equal(value, gl_buf_span(&one->value)) : !value.text);
    }
    return status;
}

static glassine_status change(glassine_draft *draft, glassine_record *record, const glassine_assignment *fields,
                              size_t count, const char *why, bool settling, bool *changed, glassine_error *error) {
    glassine_status status = may_speak(draft, record, fields, count, error);
    if (status)
        return status;
    gl_span id = gl_record_id(draft->bundle, record);
    sayings said;
    status = understand(draft->bundle, record, gl_type_of_id(id), fields, count, &said, error);
    if (!status)
        status = compare_with_reading(draft->bundle, record, &said, settling, error);
    uint32_t before = gl_store_count(draft->bundle->store);
    bool whole = gl_record_rules_required(draft->bundle, record, NULL) == GLASSINE_OK;
    if (!status)
        status = say(draft, id, &said, false, whole, why, &record, error);
    *changed = gl_store_count(draft->bundle->store) > before;
    free_sayings(&said);
    return status;
}

glassine_status glassine_draft_revise(glassine_draft *draft, glassine_record *record,
                                      const glassine_assignment *fields, size_t count, const char *why, bool *changed,
                                      glassine_error *error) {
    bool ignored;
    return change(draft, record, fields, count, why, false, changed ? changed : &ignored, error);
}

glassine_status glassine_draft_settle(glassine_draft *draft, glassine_record *record,
                                      const glassine_assignment *fields, size_t count, const char *why,
                                      glassine_error *error) {
    bool ignored;
    return change(draft, record, fields, count, why, true, &ignored, error);
}
