#include "exchange/diff.h"

#include <stdlib.h>

#include "base/error.h"
#include "exchange/subject.h"
#include "report/report.h"

struct gl_diff_report {
    glassine_report *report;
    glassine_node *result, *only_a, *only_b, *differing, *table;
    glassine_node *fields;        /* of the record at hand, for programs */
    const glassine_record *a, *b; /* the record at hand */
    gl_span item;                 /* id of that of the row before */
    bool begun, differs;
};

/* ------------------------------------------------------------------------------------ slips and scans */

/* What the second is to the first. */
static const char *relation(const glassine_bundle *a, const glassine_bundle *b, size_t only_a,
                            size_t only_b) {
    bool one_bundle = strcmp(a->about.uuid, b->about.uuid) == 0;
    if (!only_a && !only_b)
        return "same";
    if (!only_a)
        return "newer";
    if (!only_b)
        return "older";
    return !one_bundle && only_a == gl_store_count(a->store) ? "unrelated" : "diverged";
}

/* The digests of the scans that the editions up to the bundle's brought. */
static bool list_scans(const glassine_bundle *bundle, gl_map *scans) {
    enum { DIGEST = 64, NAME = 66 };
    for (uint32_t number = 1; number <= bundle->edition; number++) {
        gl_json_walk walk = gl_json_walk_of(gl_edition_said(gl_log_edition(bundle->log, number)).brings);
        gl_span name, item;
        while (gl_json_next(&walk, &name, &item)) {
            gl_span line = gl_json_raw(item);
            if (gl_span_starts(gl_span_part(line, NAME, line.length), GL_SPAN("data/scans/")) &&
                !gl_map_set(scans, gl_span_part(line, 0, DIGEST), 1))
                return false;
        }
    }
    return true;
}

/* Those of `from` that `other` has not, as a list; how many they are, SIZE_MAX when memory ran out. */
static size_t tell_scans(const glassine_bundle *from, const glassine_bundle *other, const char *key,
                         glassine_node *result) {
    gl_map *there = gl_map_new(), *told = gl_map_new();
    glassine_node *list = glassine_node_list(result, key, NULL);
    bool done = there && told && list_scans(other, there);
    size_t count = 0;
    for (uint32_t number = 1; done && number <= from->edition; number++) {
        gl_json_walk walk = gl_json_walk_of(gl_edition_said(gl_log_edition(from->log, number)).brings);
        gl_span name, item;
        while (done && gl_json_next(&walk, &name, &item)) {
            gl_span line = gl_json_raw(item), digest = gl_span_part(line, 0, 64);
            if (!gl_span_starts(gl_span_part(line, 66, line.length), GL_SPAN("data/scans/")) ||
                gl_map_find(there, digest) != GL_NONE || gl_map_find(told, digest) != GL_NONE)
                continue;
            glassine_node_text(list, NULL, NULL, digest);
            done = gl_map_set(told, digest, 1);
            count++;
        }
    }
    gl_map_free(there);
    gl_map_free(told);
    return done ? count : SIZE_MAX;
}

static void say_relation(glassine_node *result, const char *is, size_t only_a, size_t only_b) {
    if (strcmp(is, "same") == 0)
        glassine_node_say(result, "Both hold the same statements.");
    else if (strcmp(is, "newer") == 0)
        glassine_node_say(result, "The second is newer: it holds %zu statement%s more.", only_b,
                          only_b == 1 ? "" : "s");
    else if (strcmp(is, "older") == 0)
        glassine_node_say(result, "The second is older: the first holds %zu statement%s more.", only_a,
                          only_a == 1 ? "" : "s");
    else
        glassine_node_say(result,
                          only_a == 1 ? "%s: %zu statement is only in the first, %zu only in the second."
                                      : "%s: %zu statements are only in the first, %zu only in the second.",
                          strcmp(is, "unrelated") == 0 ? "They are different bundles and share nothing"
                                                       : "Each holds what the other lacks",
                          only_a, only_b);
}

static bool tell_relation(gl_diff_report *it, glassine_bundle *a, glassine_bundle *b,
                          const gl_differing *differing) {
    size_t only_a = differing->only_a, only_b = differing->only_b;
    const char *is = relation(a, b, only_a, only_b);
    glassine_node_string(it->result, "relation", NULL, is);
    say_relation(it->result, is, only_a, only_b);
    glassine_node_integer(it->result, "slips_only_in_a", NULL, (int64_t)only_a);
    glassine_node_integer(it->result, "slips_only_in_b", NULL, (int64_t)only_b);
    size_t scans_a = tell_scans(a, b, "scans_only_in_a", it->result);
    size_t scans_b = tell_scans(b, a, "scans_only_in_b", it->result);
    if (scans_a == SIZE_MAX || scans_b == SIZE_MAX)
        return false;
    if (scans_a || scans_b)
        glassine_node_say(it->result,
                          scans_a == 1 ? "%zu scan is only in the first, %zu only in the second."
                                       : "%zu scans are only in the first, %zu only in the second.",
                          scans_a, scans_b);
    it->differs = only_a || only_b || scans_a || scans_b;
    return true;
}

/* ------------------------------------------------------------------------------------------- the records */

gl_diff_report *gl_diff_report_new(glassine_report *report, glassine_bundle *a, glassine_bundle *b,
                                   const gl_differing *differing) {
    gl_diff_report *it = calloc(1, sizeof *it);
    if (!it)
        return NULL;
    it->report = report;
    glassine_report_about(report, b->path, b->edition);
    it->result = glassine_report_result(report);
    glassine_node_string(it->result, "a", "first", a->path);
    glassine_node_string(it->result, "b", "second", b->path);
    if (!tell_relation(it, a, b, differing)) {
        free(it);
        return NULL;
    }
    it->only_a = glassine_node_list(it->result, "only_in_a", NULL);
    it->only_b = glassine_node_list(it->result, "only_in_b", NULL);
    it->differing = glassine_node_list(it->result, "differing", NULL);
    return it;
}

void gl_diff_report_free(gl_diff_report *it) {
    free(it);
}

/* A row for people: item and record stand in the first of theirs. */
static glassine_node *text_row(gl_diff_report *it, glassine_bundle *bundle, const glassine_diff_note *note,
                               bool first) {
    glassine_record *record = note->b ? note->b : note->a;
    gl_buf what = GL_BUF_EMPTY;
    bool begun = it->begun;
    if (!begun)
        it->table = glassine_node_table(it->result, NULL, "What differs");
    it->begun = true;
    glassine_node *row = glassine_node_object(it->table, NULL, NULL);
    if (!row)
        return NULL; /* nobody will read it */
    gl_span item = note->item ? glassine_record_label(bundle, note->item) : GL_SPAN("");
    gl_span item_id = note->item ? gl_record_id(bundle, note->item) : GL_NO_SPAN;
    bool same_item = begun && gl_span_equal(item_id, it->item);
    glassine_node_text(row, NULL, "item", same_item ? GL_SPAN("") : item);
    if (first) {
        gl_span author = glassine_record_author(bundle, record);
        gl_record_called(bundle, record, note->item, &what);
        if (author.text)
            gl_buf_printf(&what, " by %.*s", GL_SPAN_ARGS(gl_person_shown(bundle, author)));
    }
    gl_node_buf(row, NULL, "what", &what);
    it->item = item_id;
    return row;
}

/* A record that only one side has, in one row. */
static void add_whole(gl_diff_report *it, glassine_bundle *bundle, const glassine_diff_note *note) {
    gl_buf says = GL_BUF_EMPTY;
    glassine_node *row = text_row(it, bundle, note, true);
    if (!row)
        return;
    gl_record_told(bundle, note->b ? note->b : note->a, &says);
    if (!says.length)
        gl_buf_add_text(&says, "there");
    gl_node_check(row, &says);
    const char *said = says.failed ? "" : says.text;
    glassine_node_string(row, NULL, "field", "");
    glassine_node_string(row, NULL, "first", note->a ? said : "not there");
    glassine_node_string(row, NULL, "second", note->b ? said : "not there");
    gl_buf_free(&says);
}

/* The record among those of its side, for programs; NULL where none will read it. */
static glassine_node *json_record(glassine_node *list, glassine_bundle *bundle, glassine_record *record) {
    glassine_node *json = glassine_node_object(list, NULL, NULL);
    if (!json)
        return NULL;
    glassine_node_text(json, "record", NULL, glassine_record_key(bundle, record));
    glassine_node_text(json, "label", NULL, glassine_record_label(bundle, record));
    return json;
}

static void begin_record(gl_diff_report *it, glassine_bundle *bundle, const glassine_diff_note *note) {
    bool both = note->a && note->b;
    glassine_node *list = both ? it->differing : note->b ? it->only_b : it->only_a;
    glassine_node *json = json_record(list, bundle, note->b ? note->b : note->a);
    it->fields = both ? glassine_node_list(json, "fields", NULL) : glassine_node_object(json, "fields", NULL);
    if (!both)
        add_whole(it, bundle, note);
    it->a = note->a;
    it->b = note->b;
}

static void add_json_pair(gl_diff_report *it, const glassine_diff_note *note) {
    const glassine_field *any = note->field_b ? note->field_b : note->field_a;
    gl_buf in_a = GL_BUF_EMPTY, in_b = GL_BUF_EMPTY;
    glassine_node *json = glassine_node_object(it->fields, NULL, NULL);
    gl_field_json(note->field_a, &in_a);
    gl_field_json(note->field_b, &in_b);
    glassine_node_text(json, "field", NULL, any->name);
    glassine_node_string(json, "reach", NULL, glassine_reach_name(any->reach));
    gl_node_check(json, &in_a);
    gl_node_check(json, &in_b);
    glassine_node_json(json, "a", gl_buf_span(&in_a));
    glassine_node_json(json, "b", gl_buf_span(&in_b));
    gl_buf_free(&in_a);
    gl_buf_free(&in_b);
}

static void add_pair(gl_diff_report *it, glassine_bundle *a, glassine_bundle *b,
                     const glassine_diff_note *note, bool first) {
    glassine_node *row = text_row(it, b, note, first);
    gl_buf shown_a = GL_BUF_EMPTY, shown_b = GL_BUF_EMPTY;
    if (it->fields)
        add_json_pair(it, note);
    if (!row)
        return;
    gl_field_shown(a, note->field_a, &shown_a);
    gl_field_shown(b, note->field_b, &shown_b);
    glassine_node_text(row, NULL, "field", (note->field_b ? note->field_b : note->field_a)->name);
    gl_node_buf(row, NULL, "first", &shown_a);
    gl_node_buf(row, NULL, "second", &shown_b);
}

/* For programs, the uncontested fields of a record that one side has. */
static void add_single(gl_diff_report *it, const glassine_field *field) {
    gl_buf name = GL_BUF_EMPTY;
    if (!it->fields || !field || field->contested || !field->sayings[0].value.text)
        return;
    gl_buf_add(&name, field->name);
    gl_node_check(it->fields, &name);
    if (!name.failed)
        glassine_node_json(it->fields, name.text, field->sayings[0].value);
    gl_buf_free(&name);
}

void gl_diff_report_note(gl_diff_report *it, glassine_bundle *a, glassine_bundle *b,
                         const glassine_diff_note *note) {
    bool first = it->a != note->a || it->b != note->b;
    if (first)
        begin_record(it, note->b ? b : a, note);
    if (note->a && note->b)
        add_pair(it, a, b, note, first);
    else
        add_single(it, note->field_b ? note->field_b : note->field_a);
}

glassine_status gl_diff_report_end(gl_diff_report *it, glassine_error *error) {
    if (it->differs)
        glassine_report_attention(it->report);
    if (it->differs && !it->begun)
        glassine_node_say(it->result, "What they amount to is the same, as far as was asked.");
    return glassine_report_failed(it->report) ? gl_fail_memory(error) : GLASSINE_OK;
}
