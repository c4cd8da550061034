#include "exchange/subject.h"

#include <stdlib.h>

#include "base/text.h"
#include "records/table.h"

/* A hostile bundle may hold references that lead round in a circle. */
enum { STEPS_MOST = 4 };

static glassine_record *led_to(glassine_bundle *bundle, glassine_record *record, const char *field) {
    glassine_value value = glassine_record_get(bundle, record, field, NULL), first = value;
    size_t at = 0;
    if (gl_json_kind_of(value) == GL_JSON_ARRAY) {
        glassine_value second;
        if (!glassine_value_next(value, &at, NULL, &first) || glassine_value_next(value, &at, NULL, &second))
            return NULL;
    }
    return gl_json_kind_of(first) == GL_JSON_STRING
               ? glassine_bundle_record(bundle, gl_json_raw(first), GL_NO_SPAN)
               : NULL;
}

glassine_record *gl_item_of(glassine_bundle *bundle, glassine_record *record) {
    static const char *const leads[] = {"item", "stamp", "items", "stamps", NULL};
    for (unsigned step = 0; record && step < STEPS_MOST; step++) {
        if (gl_span_is(glassine_record_type(bundle, record), "item"))
            return record;
        glassine_record *next = NULL;
        for (size_t i = 0; leads[i] && !next; i++)
            next = led_to(bundle, record, leads[i]);
        record = next;
    }
    return NULL;
}

/* What an entry is sorted by. */
typedef struct sort_key {
    gl_span label, id; /* of the item */
    gl_subject_entry entry;
} sort_key;

static int by_item(const void *a, const void *b) {
    const sort_key *x = a, *y = b;
    if (!x->entry.item || !y->entry.item)
        return (y->entry.item != NULL) - (x->entry.item != NULL);
    int order = gl_text_natural(x->label, y->label);
    return order ? order : gl_span_compare(x->id, y->id);
}

static int by_record(const void *a, const void *b) {
    const sort_key *x = a, *y = b;
    return (x->entry.record > y->entry.record) - (x->entry.record < y->entry.record);
}

/* Entries of one item, into a cursor's order. */
static bool sort_within(glassine_bundle *bundle, sort_key *keys, size_t count, gl_subject_entry *out) {
    glassine_record **records = malloc(count * sizeof(glassine_record *));
    if (!records)
        return false;
    qsort(keys, count, sizeof *keys, by_record);
    for (size_t i = 0; i < count; i++)
        records[i] = keys[i].entry.record;
    gl_records_sort(bundle, records, count);
    for (size_t i = 0; i < count; i++) {
        sort_key wanted = {.entry.record = records[i]};
        const sort_key *found = bsearch(&wanted, keys, count, sizeof *keys, by_record);
        out[i] = found->entry;
    }
    free(records);
    return true;
}

/* A cursor's order asks for the labels of all that it sorts: only where there are several on one item. */
bool gl_sort_by_item(glassine_bundle *bundle, gl_subject_entry *entries, size_t count) {
    if (!count)
        return true;
    sort_key *keys = calloc(count, sizeof *keys);
    if (!keys)
        return false;
    for (size_t i = 0; i < count; i++) {
        glassine_record *item = entries[i].item = gl_item_of(bundle, entries[i].record);
        keys[i] = (sort_key){.entry = entries[i],
                             .label = item ? glassine_record_label(bundle, item) : GL_NO_SPAN,
                             .id = item ? gl_record_id(bundle, item) : GL_NO_SPAN};
    }
    qsort(keys, count, sizeof *keys, by_item);
    bool done = true;
    for (size_t first = 0, end; first < count && done; first = end) {
        for (end = first + 1; end < count && by_item(&keys[first], &keys[end]) == 0; end++)
            ;
        if (end - first == 1)
            entries[first] = keys[first].entry;
        else
            done = sort_within(bundle, &keys[first], end - first, &entries[first]);
    }
    free(keys);
    return done;
}

gl_span gl_person_shown(glassine_bundle *bundle, gl_span person) {
    glassine_record *record = person.text ? glassine_bundle_record(bundle, person, GL_NO_SPAN) : NULL;
    return record ? glassine_record_label(bundle, record) : person;
}

void gl_record_called(glassine_bundle *bundle, glassine_record *record, glassine_record *item, gl_buf *out) {
    gl_span type = glassine_record_type(bundle, record);
    if (record == item || glassine_record_author(bundle, record).text) {
        gl_buf_add(out, type);
        return;
    }
    gl_span label = glassine_record_label(bundle, record);
    bool plain = item && gl_span_equal(label, glassine_record_label(bundle, item));
    if (plain || !gl_span_starts(label, type)) /* "event on Odile" says its type already */
        gl_buf_add(out, type);
    if (!plain)
        gl_buf_printf(out, "%s%.*s", out->length ? " " : "", GL_SPAN_ARGS(label));
}

/* Fields that only say what a record is about, or that say nothing to a reader. */
static bool is_plain_lead(gl_span name) {
    static const char *const leads[] = {"item", "stamp", "sha256", "bytes", "media", "digest", NULL};
    for (size_t i = 0; leads[i]; i++)
        if (gl_span_is(name, leads[i]))
            return true;
    return false;
}

static bool says_something(gl_span name, glassine_reach reach, bool contested, gl_span value) {
    return reach != GLASSINE_PRIVATE && (contested || value.text) && !is_plain_lead(name);
}

bool gl_record_says_something(glassine_bundle *bundle, glassine_record *record) {
    const gl_reading *reading;
    if (gl_record_reading(bundle, record, &reading, NULL))
        return false;
    for (uint32_t i = 0; i < reading->field_count; i++) {
        const gl_read_field *field = &reading->fields[i];
        if (says_something(gl_read_name(field), field->reach, field->contested, gl_read_value(field, 0)))
            return true;
    }
    return false;
}

static void add_said(glassine_bundle *bundle, const glassine_field *field, gl_buf *out) {
    if (!says_something(field->name, field->reach, field->contested, field->sayings[0].value))
        return;
    gl_buf_printf(out, "%s%.*s: ", out->length ? ", " : "", GL_SPAN_ARGS(field->name));
    gl_field_shown(bundle, field, out);
}

void gl_record_says(glassine_bundle *bundle, glassine_record *record, gl_buf *out) {
    const glassine_field *fields;
    size_t count;
    if (glassine_record_fields(bundle, record, &fields, &count, NULL))
        return;
    const glassine_type_info *info = glassine_record_info(bundle, record);
    for (size_t i = 0; info && i < info->field_count; i++)
        for (size_t k = 0; k < count; k++)
            if (fields[k].info == &info->fields[i])
                add_said(bundle, &fields[k], out);
    for (size_t k = 0; k < count; k++)
        if (!fields[k].info)
            add_said(bundle, &fields[k], out);
}

/* How a type's records are told: these fields in this order, each behind what parts it from the one before.
 */
typedef struct phrase {
    const char *field, *parting;
} phrase;

static const phrase claim_phrases[] = {{"plates", "plate "},
                                       {"positions", ": "},
                                       {"state", ", "},
                                       {"confidence", ", "},
                                       {"instead_of", "; instead of "},
                                       {"remark", "; "},
                                       {NULL, NULL}};
static const phrase observation_phrases[] = {{"appearance", ""}, {"seen", " "},  {"x", " at "},
                                             {"y", ", "},        {"text", "; "}, {NULL, NULL}};
static const phrase opinion_phrases[] = {{"about", ""}, {"text", ": "}, {NULL, NULL}};

static const struct {
    const char *type;
    const phrase *phrases;
} tellings[] = {{"claim", claim_phrases}, {"observation", observation_phrases}, {"opinion", opinion_phrases}};

static const glassine_field *field_named(const glassine_field *fields, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++)
        if (gl_span_is(fields[i].name, name) && fields[i].reach != GLASSINE_PRIVATE &&
            (fields[i].contested || fields[i].sayings[0].value.text))
            return &fields[i];
    return NULL;
}

static bool is_present(const glassine_field *field) {
    return !field->contested && gl_span_is(field->sayings[0].value, "\"present\"");
}

/* "cannot tell: cannot tell, the edge is cancelled" would say it twice. */
static bool begins_with(const glassine_field *field, const glassine_field *start) {
    return field && !field->contested && !start->contested &&
           gl_json_kind_of(field->sayings[0].value) == GL_JSON_STRING &&
           gl_json_kind_of(start->sayings[0].value) == GL_JSON_STRING &&
           gl_span_starts(gl_json_raw(field->sayings[0].value), gl_json_raw(start->sayings[0].value));
}

static void tell_phrases(glassine_bundle *bundle, glassine_record *record, const phrase *phrases,
                         gl_buf *out) {
    const glassine_field *fields;
    size_t count;
    if (glassine_record_fields(bundle, record, &fields, &count, NULL))
        return;
    const char *taken_back = field_named(fields, count, "withdrawn") ? "; taken back" : "";
    for (size_t i = 0; phrases[i].field; i++) {
        const glassine_field *field = field_named(fields, count, phrases[i].field);
        if (!field || (strcmp(phrases[i].field, "seen") == 0 && is_present(field)))
            continue;
        if (i == 0 && begins_with(field_named(fields, count, phrases[1].field), field))
            continue;
        const char *parting = phrases[i].parting;
        gl_buf_add_text(out, out->length || strncmp(parting, "plate", 5) == 0 ? parting : "");
        gl_field_shown(bundle, field, out);
    }
    gl_buf_add_text(out, taken_back);
}

void gl_record_told(glassine_bundle *bundle, glassine_record *record, gl_buf *out) {
    for (size_t i = 0; i < sizeof tellings / sizeof tellings[0]; i++)
        if (gl_span_is(glassine_record_type(bundle, record), tellings[i].type)) {
            tell_phrases(bundle, record, tellings[i].phrases, out);
            return;
        }
    gl_record_says(bundle, record, out);
}

/* Is it the same value as the saying before it? They are sorted by value. */
static bool is_repeated(const glassine_field *field, size_t index) {
    if (!index)
        return false;
    gl_span value = field->sayings[index].value, before = field->sayings[index - 1].value;
    return (value.text == NULL) == (before.text == NULL) && gl_span_equal(value, before);
}

void gl_field_shown(glassine_bundle *bundle, const glassine_field *field, gl_buf *out) {
    if (!field)
        gl_buf_add_text(out, "nothing");
    for (size_t i = 0; field && i < field->saying_count; i++) {
        gl_span value = field->sayings[i].value;
        if (is_repeated(field, i))
            continue;
        if (i)
            gl_buf_add_text(out, " | ");
        gl_buf_add(out,
                   value.text ? glassine_value_shown(bundle, value, field->info) : GL_SPAN("(taken away)"));
    }
}

void gl_field_json(const glassine_field *field, gl_buf *out) {
    bool first = true;
    gl_buf_add_char(out, '[');
    for (size_t i = 0; field && i < field->saying_count; i++) {
        gl_span value = field->sayings[i].value;
        if (is_repeated(field, i))
            continue;
        if (!first)
            gl_buf_add_char(out, ',');
        first = false;
        gl_buf_add(out, value.text ? value : GL_SPAN("null"));
    }
    gl_buf_add_char(out, ']');
}
