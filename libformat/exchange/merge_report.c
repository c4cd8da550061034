/* What a merge brought, as a report: lists for programs, and beside them tables for people, by item, with
 * what is left to be decided at the end. */
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "exchange/contested.h"
#include "exchange/merge.h"
#include "exchange/merge_report.h"
#include "exchange/merge_text.h"
#include "exchange/sent.h"
#include "exchange/subject.h"
#include "report/report.h"

enum { ROWS_MOST = GL_MERGE_ROWS_MOST };

/* JSON key and heading of each kind. */
static const struct {
    const char *key, *heading;
} parts[] = {
    [GLASSINE_MET_SOURCE] = {"sources", "Taken in"},
    [GLASSINE_MET_ANSWER] = {"answers", "How the answers are understood"},
    [GLASSINE_MET_QUESTION] = {"questions", "Not understood"},
    [GLASSINE_MET_LEFT] = {"left", "Kept in the letter, and no answer"},
    [GLASSINE_MET_PERSON] = {"people", "Who says something new"},
    [GLASSINE_MET_NEW] = {"new", "New"},
    [GLASSINE_MET_CHANGED] = {"changed", "Changed"},
    [GLASSINE_MET_AGREED] = {"agreed", "Said again as it was"},
    [GLASSINE_MET_COMBINED] = {"combined",
                               "Combined from changes of several people, who did not know of each other's"},
    [GLASSINE_MET_CONTESTED] = {"contested", "Contested: every value stands until settled"},
    [GLASSINE_MET_STANDING] = {"standings", "Where stamps stand now"},
    [GLASSINE_MET_NOT_COUNTED] = {"not_counted", "Kept, and not counted"},
    [GLASSINE_MET_FAULT] = {"faults", "Not as it should be"},
    [GLASSINE_MET_SAME_LABEL] = {"same_label", "Two records of one name"},
    [GLASSINE_MET_TWINS] = {"twins", "May be one and the same"},
    [GLASSINE_MET_LEADS_NOWHERE] = {"leads_nowhere", "References to what is not here"},
    [GLASSINE_MET_INCOMPLETE] = {"incomplete", "Follow statements that are not here yet"},
    [GLASSINE_MET_COMPLETED] = {"completed", "Complete now"},
};

gl_merge_report *gl_merge_report_new(glassine_report *report, bool preview) {
    gl_merge_report *it = calloc(1, sizeof *it);
    if (!it)
        return NULL;
    it->report = report;
    it->result = glassine_report_result(report);
    glassine_node_truth(it->result, "preview", NULL, preview);
    if (preview)
        glassine_node_say(it->result, "A preview: nothing is written.");
    it->head = glassine_node_list(it->result, NULL, "");
    for (size_t met = 0; met < sizeof parts / sizeof parts[0]; met++)
        it->of[met].list = glassine_node_list(it->result, parts[met].key, NULL);
    return it;
}

/* The rows of one kind are all there. */
static void close_section(gl_merge_report *it, glassine_bundle *bundle) {
    const char *heading = parts[it->at].heading;
    if (it->at == GLASSINE_MET_SOURCE)
        gl_merge_text_sources(it->result, heading, it->kept, it->kept_count);
    else if (it->at == GLASSINE_MET_CONTESTED)
        gl_merge_text_contested(it->result, heading, bundle, it->kept, it->kept_count);
    else if (it->at == GLASSINE_MET_COMBINED)
        gl_merge_text_combined(it->result, heading, bundle, it->kept, it->kept_count);
    else if (it->at == GLASSINE_MET_STANDING)
        gl_merge_text_standings(it->result, heading, bundle, it->kept, it->kept_count);
    size_t rows = it->at == GLASSINE_MET_COMBINED ? it->of[it->at].records : it->of[it->at].count;
    if (rows > ROWS_MOST && it->at != GLASSINE_MET_STANDING && it->at != GLASSINE_MET_SOURCE)
        glassine_node_say(it->result, "… and %zu more; --json tells all of them.", rows - ROWS_MOST);
    it->kept_count = 0;
}

/* "New, by Odile Farrow", where only one person says something new. */
static glassine_node *new_table(gl_merge_report *it, glassine_met met) {
    bool named = it->speaker.text &&
                 (met == GLASSINE_MET_NEW || met == GLASSINE_MET_CHANGED || met == GLASSINE_MET_AGREED);
    gl_buf heading = GL_BUF_EMPTY;
    gl_buf_add_text(&heading, parts[met].heading);
    if (named)
        gl_buf_printf(&heading, " by %.*s", GL_SPAN_ARGS(it->speaker));
    gl_node_check(it->result, &heading);
    glassine_node *table =
        glassine_node_table(it->result, NULL, heading.failed ? parts[met].heading : heading.text);
    gl_buf_free(&heading);
    return table;
}

/* Its table is made once it is clear that there is something to show in it. */
static bool has_late_table(glassine_met met) {
    return met == GLASSINE_MET_SOURCE || met == GLASSINE_MET_PERSON || met == GLASSINE_MET_NEW ||
           met == GLASSINE_MET_CHANGED || met == GLASSINE_MET_AGREED || met == GLASSINE_MET_COMBINED ||
           met == GLASSINE_MET_CONTESTED || met == GLASSINE_MET_STANDING;
}

static gl_merge_section *open_section(gl_merge_report *it, glassine_bundle *bundle, glassine_met met) {
    gl_merge_section *part = &it->of[met];
    if (met != it->at)
        close_section(it, bundle);
    it->at = met;
    if (!part->table && !has_late_table(met))
        part->table = new_table(it, met);
    part->count++;
    return part;
}

/* What the note points to lives longer than it, save its texts. */
static void keep(gl_merge_report *it, glassine_bundle *bundle, const glassine_merge_note *note) {
    void *grown = gl_grow(it->kept, &it->kept_room, it->kept_count + 1, sizeof *it->kept);
    if (!grown) {
        gl_bundle_fail_memory(bundle, NULL);
        return;
    }
    it->kept = grown;
    glassine_merge_note *copy = &it->kept[it->kept_count++];
    *copy = *note;
    copy->before = note->before ? gl_arena_copy(bundle->arena, gl_span_of(note->before)).text : NULL;
    copy->text = note->text ? gl_arena_copy(bundle->arena, gl_span_of(note->text)).text : NULL;
}

void gl_merge_report_free(gl_merge_report *it) {
    if (!it)
        return;
    gl_buf_free(&it->disputed_name);
    gl_buf_free(&it->take);
    gl_buf_free(&it->settle);
    free(it->kept);
    free(it);
}

/* ------------------------------------------------------------------------------------------------- rows */

/* A row of the table that people read; NULL where there are enough. */
static glassine_node *text_row(glassine_bundle *bundle, gl_merge_section *part,
                               const glassine_merge_note *note) {
    if (part->count > ROWS_MOST)
        return NULL;
    glassine_node *row = glassine_node_object(part->table, NULL, NULL);
    gl_merge_text_subject(row, bundle, note, part->before.record ? &part->before : NULL);
    part->before = *note;
    return row;
}

static glassine_node *json_row(glassine_bundle *bundle, gl_merge_section *part,
                               const glassine_merge_note *note) {
    glassine_node *row = glassine_node_object(part->list, NULL, NULL);
    if (!row)
        return NULL; /* the report is for people only */
    glassine_node_text(row, "record", NULL, glassine_record_key(bundle, note->record));
    glassine_node_text(row, "type", NULL, glassine_record_type(bundle, note->record));
    glassine_node_text(row, "label", NULL, glassine_record_label(bundle, note->record));
    glassine_node_text(row, "item", NULL, note->item ? glassine_record_key(bundle, note->item) : GL_NO_SPAN);
    return row;
}

/* The first slip that came for a record. */
static glassine_slip first_that_came(glassine_bundle *bundle, const glassine_merge_note *note) {
    uint32_t found = note->first;
    const glassine_record *record = note->record;
    for (uint32_t slip = gl_store_record(bundle->store, record->subject)->last;
         slip != GL_NONE && slip >= note->first; slip = gl_store_at(bundle->store, slip)->previous)
        if (record->author == GL_NONE || gl_store_at(bundle->store, slip)->author == record->author)
            found = slip;
    return glassine_bundle_slip(bundle, found);
}

/* Of what stands in a field, what came now; where nothing did (something left the reading), what stands. */
static const glassine_saying *came_in(const glassine_field *field, uint32_t first) {
    for (size_t i = 0; i < field->saying_count; i++)
        if (field->sayings[i].slip >= first)
            return &field->sayings[i];
    return &field->sayings[0];
}

static void add_person(glassine_bundle *bundle, glassine_node *json, glassine_node *text, gl_span by,
                       gl_span via) {
    gl_span name = gl_person_shown(bundle, by);
    glassine_node_text(json, "by", NULL, by);
    glassine_node_text(json, "by_name", NULL, name);
    if (via.text)
        glassine_node_text(json, "via", NULL, via);
    glassine_node_text(text, NULL, "by", name);
}

/* ------------------------------------------------------------------------------------------ each kind */

static void add_source(gl_merge_report *it, gl_merge_section *part, const glassine_merge_source *source) {
    glassine_node *json = glassine_node_object(part->list, NULL, NULL);
    glassine_node_string(json, "source", NULL, source->path);
    glassine_node_string(json, "kind", NULL, source->kind);
    glassine_node_string(json, "bundle", NULL, source->uuid);
    glassine_node_string(json, "answers", NULL, source->answers);
    glassine_node_truth(json, "refused", NULL, source->refused);
    glassine_node_integer(json, "slips", NULL, (int64_t)source->slips);
    glassine_node_integer(json, "slips_known", NULL, (int64_t)source->known);
    glassine_node_integer(json, "scans", NULL, (int64_t)source->scans);
    glassine_node_integer(json, "signatures", NULL, (int64_t)source->signatures);
    it->source = source;
    it->sources++;
    it->idle += !source->refused && !source->slips && !source->scans;
    it->new_slips += source->slips;
    it->known += source->known;
    it->scans += source->scans;
    it->refused += source->refused;
    const glassine_error *error = &source->error;
    if (source->refused)
        glassine_report_finding(it->report, GLASSINE_WARNING, error->rule[0] ? error->rule : NULL,
                                error->place, error->remedy[0] ? error->remedy : NULL, "left out: %s",
                                error->message);
    if (source->tail) {
        glassine_report_finding(
            it->report, GLASSINE_WARNING, NULL, source->path,
            "Ask for it again; what is missing can be merged later",
            source->tail == 1 ? "the last save in it is not whole: %llu byte belongs to no edition, and "
                                "is not taken"
                              : "the last save in it is not whole: %llu bytes belong to no edition, and "
                                "nothing of them is taken",
            (unsigned long long)source->tail);
        glassine_report_attention(it->report);
    }
    if (source->unknown_lines)
        glassine_report_finding(it->report, GLASSINE_NOTE, NULL, source->path,
                                source->unknown_lines == 1
                                    ? "It stays in that file; a newer program may know it"
                                    : "They stay in that file; a newer program may know them",
                                source->unknown_lines == 1
                                    ? "%llu line of its log is of a kind that this version does not know"
                                    : "%llu lines of its log are of a kind that this version does not know",
                                (unsigned long long)source->unknown_lines);
}

static void add_speaker_row(gl_merge_section *part, glassine_bundle *bundle,
                            const glassine_merge_note *note) {
    glassine_node *row = glassine_node_object(part->table, NULL, NULL);
    glassine_node_text(row, NULL, "by", gl_person_shown(bundle, note->person));
    glassine_node_integer(row, NULL, "statements", (int64_t)note->slips);
    glassine_node_integer(row, NULL, "new records", (int64_t)note->fresh);
    glassine_node_integer(row, NULL, "on known records", (int64_t)(note->records - note->fresh));
}

static void add_speaker(gl_merge_report *it, gl_merge_section *part, glassine_bundle *bundle,
                        const glassine_merge_note *note) {
    glassine_node *json = glassine_node_object(part->list, NULL, NULL);
    if (it->speakers++ == 1) { /* several: now they are worth a table */
        part->table = glassine_node_table(it->result, NULL, parts[GLASSINE_MET_PERSON].heading);
        add_speaker_row(part, bundle, &it->kept[0]);
    }
    add_person(bundle, json, NULL, note->person, GL_NO_SPAN);
    glassine_node_integer(json, "slips", NULL, (int64_t)note->slips);
    glassine_node_integer(json, "records", NULL, (int64_t)note->records);
    glassine_node_integer(json, "new_records", NULL, (int64_t)note->fresh);
    it->speaker = it->speakers == 1 ? gl_person_shown(bundle, note->person) : GL_NO_SPAN;
    if (it->speakers == 1)
        keep(it, bundle, note);
    else if (part->count <= ROWS_MOST)
        add_speaker_row(part, bundle, note);
}

/* How many new records of which types. */
static void count_type(gl_merge_report *it, gl_span type) {
    size_t at = 0;
    while (at < it->type_count && !gl_span_equal(it->types[at].type, type))
        at++;
    if (at == it->type_count && at < GL_MERGE_TYPES_MOST)
        it->types[it->type_count++].type = type;
    if (at < GL_MERGE_TYPES_MOST)
        it->types[at].count++;
}

/* Stamps of which nothing is said but whose they are; that a sending was answered, and the text that did,
 * which the first sentence tells. */
static bool is_bare(glassine_bundle *bundle, const glassine_merge_note *note) {
    bool letter = gl_span_is(glassine_record_type(bundle, note->record), "letter");
    bool led = letter || (note->item && note->item != note->record);
    return (led && !gl_record_says_something(bundle, note->record)) ||
           gl_event_is(bundle, note->record, "returned");
}

static void add_said(gl_merge_report *it, gl_merge_section *part, glassine_bundle *bundle,
                     const glassine_merge_note *note) {
    bool bare = is_bare(bundle, note);
    if (!bare && !part->table)
        part->table = new_table(it, note->met);
    if (note->met == GLASSINE_MET_NEW && !bare)
        count_type(it, glassine_record_type(bundle, note->record));
    glassine_node *json = json_row(bundle, part, note), *text = bare ? NULL : text_row(bundle, part, note);
    if (!json && !text)
        return;
    glassine_slip came = first_that_came(bundle, note);
    gl_buf says = GL_BUF_EMPTY, told = GL_BUF_EMPTY;
    add_person(bundle, json, it->speaker.text ? NULL : text, came.by, came.via);
    if (json)
        gl_record_says(bundle, note->record, &says);
    glassine_node_text(json, "at", NULL, came.at);
    gl_node_buf(json, "says", NULL, &says);
    if (text)
        gl_record_told(bundle, note->record, &told);
    gl_node_buf(text, NULL, "says", &told);
}

static void add_change(gl_merge_report *it, gl_merge_section *part, glassine_bundle *bundle,
                       const glassine_merge_note *note) {
    const glassine_saying *came = came_in(note->is, note->first);
    bool sheet = gl_span_is(glassine_record_type(bundle, note->record), "letter") &&
                 gl_span_is(note->is->name, "text"); /* in full; the first sentence tells of it */
    it->sheets += sheet;
    if (!sheet && !part->table)
        part->table = new_table(it, note->met);
    glassine_node *json = json_row(bundle, part, note), *text = sheet ? NULL : text_row(bundle, part, note);
    gl_buf was = GL_BUF_EMPTY, is = GL_BUF_EMPTY, json_was = GL_BUF_EMPTY, json_is = GL_BUF_EMPTY;
    gl_field_shown(bundle, note->was, &was);
    gl_field_shown(bundle, note->is, &is);
    gl_field_json(note->was, &json_was);
    gl_field_json(note->is, &json_is);
    glassine_node_text(json, "field", NULL, note->is->name);
    glassine_node_string(json, "reach", NULL, glassine_reach_name(note->is->reach));
    glassine_node_json(json, "was", gl_buf_span(&json_was));
    glassine_node_json(json, "is", gl_buf_span(&json_is));
    glassine_node_text(text, NULL, "field", note->is->name);
    gl_node_buf(text, NULL, "was", &was);
    gl_node_buf(text, NULL, "is", &is);
    add_person(bundle, json, it->speaker.text ? NULL : text, came->by, came->via);
    glassine_node_text(json, "at", NULL, came->at);
    gl_buf_free(&json_was);
    gl_buf_free(&json_is);
}

/* One of the fields of a record that combines: who said it, and whether it was here. */
static void add_combined(gl_merge_report *it, gl_merge_section *part, glassine_bundle *bundle,
                         const glassine_merge_note *note) {
    if (part->before.record != note->record) {
        it->fields = glassine_node_list(json_row(bundle, part, note), "fields", NULL);
        part->records++;
    }
    const glassine_saying *said = came_in(note->is, note->first);
    glassine_node *json = glassine_node_object(it->fields, NULL, NULL);
    glassine_node_text(json, "field", NULL, note->is->name);
    glassine_node_string(json, "reach", NULL, glassine_reach_name(note->is->reach));
    glassine_node_json(json, "value", said->value.text ? said->value : GL_SPAN("null"));
    glassine_node_truth(json, "came", NULL, said->slip >= note->first);
    add_person(bundle, json, NULL, said->by, said->via);
    glassine_node_text(json, "at", NULL, said->at);
    part->before = *note;
    keep(it, bundle, note);
}

static void add_contested(gl_merge_report *it, gl_merge_section *part, glassine_bundle *bundle,
                          const glassine_merge_note *note) {
    gl_report_contested_field(bundle, note->record, note->is, note->first, part->list, NULL);
    keep(it, bundle, note);
    if (it->settle.length)
        return;
    gl_merge_text_name(bundle, note->record, &it->settle);
    gl_buf_printf(&it->settle, " %.*s=…", GL_SPAN_ARGS(note->is->name));
    gl_merge_text_name(bundle, note->record, &it->take);
    gl_buf_add_text(&it->take, " --take ");
    gl_merge_text_word(gl_person_shown(bundle, came_in(note->is, note->first)->by), &it->take);
    gl_buf_printf(&it->take, " %.*s=", GL_SPAN_ARGS(note->is->name));
}

static void add_standing(gl_merge_report *it, gl_merge_section *part, glassine_bundle *bundle,
                         const glassine_merge_note *note) {
    glassine_node *json = json_row(bundle, part, note);
    glassine_node_string(json, "was", NULL, note->before);
    glassine_node_string(json, "is", NULL, note->text);
    keep(it, bundle, note);
    if (strncmp(note->text, "disputed", strlen("disputed")) == 0 && !it->disputed++)
        gl_merge_text_name(bundle, note->record, &it->disputed_name);
}

static void add_pair(gl_merge_section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_node *json = json_row(bundle, part, note);
    glassine_node *text = part->count > ROWS_MOST ? NULL : glassine_node_object(part->table, NULL, NULL);
    gl_buf one = GL_BUF_EMPTY, other = GL_BUF_EMPTY;
    gl_record_shown(bundle, note->record, &one);
    gl_record_shown(bundle, note->other, &other);
    glassine_node_text(json, "other", NULL, glassine_record_key(bundle, note->other));
    glassine_node_string(json, note->met == GLASSINE_MET_TWINS ? "why" : "name", NULL, note->text);
    gl_node_buf(text, NULL, "one", &one);
    gl_node_buf(text, NULL, "the other", &other);
    glassine_node_string(text, NULL, note->met == GLASSINE_MET_TWINS ? "why" : "name", note->text);
}

static void add_reason(gl_merge_section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_node *json = json_row(bundle, part, note), *text = text_row(bundle, part, note);
    gl_span author = glassine_record_author(bundle, note->record);
    if (author.text)
        glassine_node_text(json, "author", NULL, author);
    glassine_node_string(json, "rule", NULL, note->rule);
    glassine_node_string(json, "why", NULL, note->text);
    glassine_node_format(text, NULL, "why", "%s%s%s%s", note->text, note->rule ? " (" : "",
                         note->rule ? note->rule : "", note->rule ? ")" : "");
}

static void add_answer(gl_merge_section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_node *json = glassine_node_object(part->list, NULL, NULL);
    glassine_node *text = part->count > ROWS_MOST ? NULL : glassine_node_object(part->table, NULL, NULL);
    gl_span label = note->record ? glassine_record_label(bundle, note->record) : GL_SPAN("");
    bool left = note->met == GLASSINE_MET_LEFT;
    if (!left) {
        glassine_node_integer(json, "number", NULL, (int64_t)note->number);
        glassine_node_text(json, "stamp", NULL,
                           note->record ? glassine_record_key(bundle, note->record) : GL_NO_SPAN);
        glassine_node_text(json, "label", NULL, label);
        if (note->number)
            glassine_node_integer(text, NULL, "no.", (int64_t)note->number);
        else
            glassine_node_string(text, NULL, "no.", "");
        glassine_node_text(text, NULL, "stamp", label);
    }
    glassine_node_string(json, "words", NULL, note->before);
    glassine_node_string(text, NULL, "words", note->before);
    if (!left) {
        bool answer = note->met == GLASSINE_MET_ANSWER;
        glassine_node_string(json, answer ? "understood" : "why", NULL, note->text);
        glassine_node_string(text, NULL, answer ? "understood as" : "why", note->text);
    }
}

static void add_plain(gl_merge_section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    json_row(bundle, part, note);
    text_row(bundle, part, note);
}

void gl_merge_report_note(void *context, glassine_bundle *bundle, const glassine_merge_note *note) {
    gl_merge_report *it = context;
    gl_merge_section *part = open_section(it, bundle, note->met);
    switch (note->met) {
    case GLASSINE_MET_SOURCE:
        add_source(it, part, note->source);
        keep(it, bundle, note);
        break;
    case GLASSINE_MET_ANSWER:
    case GLASSINE_MET_QUESTION:
    case GLASSINE_MET_LEFT:
        add_answer(part, bundle, note);
        break;
    case GLASSINE_MET_PERSON:
        add_speaker(it, part, bundle, note);
        break;
    case GLASSINE_MET_NEW:
    case GLASSINE_MET_AGREED:
        add_said(it, part, bundle, note);
        break;
    case GLASSINE_MET_CHANGED:
        add_change(it, part, bundle, note);
        break;
    case GLASSINE_MET_COMBINED:
        add_combined(it, part, bundle, note);
        break;
    case GLASSINE_MET_CONTESTED:
        add_contested(it, part, bundle, note);
        break;
    case GLASSINE_MET_STANDING:
        add_standing(it, part, bundle, note);
        break;
    case GLASSINE_MET_SAME_LABEL:
    case GLASSINE_MET_TWINS:
        add_pair(part, bundle, note);
        break;
    case GLASSINE_MET_NOT_COUNTED:
    case GLASSINE_MET_FAULT:
    case GLASSINE_MET_LEADS_NOWHERE:
        add_reason(part, bundle, note);
        break;
    case GLASSINE_MET_INCOMPLETE:
    case GLASSINE_MET_COMPLETED:
        add_plain(part, bundle, note);
    }
}

glassine_status gl_merge_report_end(gl_merge_report *it, glassine_bundle *bundle, bool held,
                                    glassine_error *error) {
    it->held = held;
    close_section(it, bundle);
    glassine_node_integer(it->result, "new_slips", NULL, (int64_t)it->new_slips);
    if (!it->new_slips && !it->refused && !it->of[GLASSINE_MET_QUESTION].count)
        glassine_node_say(it->result, "Nothing new: everything in it was here already.");
    else
        gl_merge_summary(it, bundle);
    gl_node_check(it->result, &it->settle);
    gl_node_check(it->result, &it->take);
    return gl_bundle_end(bundle, it->report, GLASSINE_OK, error);
}
