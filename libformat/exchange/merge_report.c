/* What a merge brought, as a report: lists for programs, and beside them tables for people, by item, with
 * what is left to be decided at the end. */
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "exchange/contested.h"
#include "exchange/merge.h"
#include "exchange/subject.h"

/* A real merge of some hundred changes is read whole; of a great pool, text shows the first of each sort. */
enum { ROWS_MOST = 200 };

/* A part of the report: rows for JSON, and for text, where there are some. */
typedef struct section {
    glassine_node *list, *table;
    size_t count, records;
    glassine_record *item, *record; /* of the row before */
} section;

struct gl_merge_report {
    glassine_report *report;
    glassine_node *result, *fields; /* `fields`: of the record at hand, where it combines */
    section of[GLASSINE_MET_COMPLETED + 1];
    glassine_met at; /* the kind of the notes that come now */
    uint64_t new_slips;
    size_t refused;
};

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
    [GLASSINE_MET_CHANGED] = {"changed", "Changed by others"},
    [GLASSINE_MET_AGREED] = {"agreed", "Said again by others, as it was"},
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
    for (size_t met = 0; met < sizeof parts / sizeof parts[0]; met++)
        it->of[met].list = glassine_node_list(it->result, parts[met].key, NULL);
    return it;
}

/* The rows of one kind are all there. */
static void close_section(gl_merge_report *it) {
    size_t count = it->of[it->at].count;
    if (count > ROWS_MOST)
        glassine_node_say(it->result, "… and %zu more; --json tells all of them.", count - ROWS_MOST);
}

static section *open_section(gl_merge_report *it, glassine_met met) {
    section *part = &it->of[met];
    if (met != it->at)
        close_section(it);
    it->at = met;
    if (!part->table)
        part->table = met == GLASSINE_MET_CONTESTED
                          ? glassine_node_list(it->result, NULL, parts[met].heading)
                          : glassine_node_table(it->result, NULL, parts[met].heading);
    part->count++;
    return part;
}

void gl_merge_report_free(gl_merge_report *it) {
    free(it);
}

/* ------------------------------------------------------------------------------------------------- rows */

/* A row of the table that people read; NULL where there are enough. Item and record stand in the first of
 * their rows. */
static glassine_node *text_row(glassine_bundle *bundle, section *part, const glassine_merge_note *note) {
    if (part->count > ROWS_MOST)
        return NULL;
    glassine_node *row = glassine_node_object(part->table, NULL, NULL);
    bool same_item = note->item == part->item && part->count > 1, same_record = note->record == part->record;
    gl_span item = note->item ? glassine_record_label(bundle, note->item) : GL_SPAN("");
    glassine_node_text(row, NULL, "item", same_item ? GL_SPAN("") : item);
    gl_buf what = GL_BUF_EMPTY;
    if (!same_record) {
        gl_buf_add(&what, glassine_record_type(bundle, note->record));
        if (note->record != note->item && !glassine_record_author(bundle, note->record).text &&
            !gl_span_equal(glassine_record_label(bundle, note->record), item)) {
            gl_buf_add_char(&what, ' ');
            gl_buf_add(&what, glassine_record_label(bundle, note->record));
        }
    }
    glassine_node_string(row, NULL, "what", what.text ? what.text : "");
    gl_buf_free(&what);
    part->item = note->item;
    part->record = note->record;
    return row;
}

static glassine_node *json_row(glassine_bundle *bundle, section *part, const glassine_merge_note *note) {
    glassine_node *row = glassine_node_object(part->list, NULL, NULL);
    glassine_node_text(row, "record", NULL, glassine_record_key(bundle, note->record));
    glassine_node_text(row, "type", NULL, glassine_record_type(bundle, note->record));
    glassine_node_text(row, "label", NULL, glassine_record_label(bundle, note->record));
    glassine_node_text(row, "item", NULL, note->item ? glassine_record_key(bundle, note->item) : GL_NO_SPAN);
    return row;
}

static void add_buf(glassine_node *node, const char *key, const char *label, gl_buf *text) {
    glassine_node_string(node, key, label, text->failed || !text->text ? "" : text->text);
    gl_buf_free(text);
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

static void add_source(gl_merge_report *it, section *part, const glassine_merge_source *source) {
    glassine_node *json = glassine_node_object(part->list, NULL, NULL);
    glassine_node *text = part->count > ROWS_MOST ? NULL : glassine_node_object(part->table, NULL, NULL);
    glassine_node_string(json, "source", NULL, source->path);
    glassine_node_string(json, "kind", NULL, source->kind);
    glassine_node_string(json, "bundle", NULL, source->uuid);
    glassine_node_string(json, "answers", NULL, source->answers);
    glassine_node_truth(json, "refused", NULL, source->refused);
    glassine_node_integer(json, "slips", NULL, (int64_t)source->slips);
    glassine_node_integer(json, "slips_known", NULL, (int64_t)source->known);
    glassine_node_integer(json, "scans", NULL, (int64_t)source->scans);
    glassine_node_integer(json, "signatures", NULL, (int64_t)source->signatures);
    glassine_node_string(text, NULL, "source", source->path);
    glassine_node_string(text, NULL, "what", source->refused ? "left out" : source->kind);
    glassine_node_integer(text, NULL, "new statements", (int64_t)source->slips);
    glassine_node_integer(text, NULL, "known", (int64_t)source->known);
    glassine_node_integer(text, NULL, "new scans", (int64_t)source->scans);
    it->new_slips += source->slips;
    it->refused += source->refused;
    const glassine_error *error = &source->error;
    if (source->refused)
        glassine_report_finding(it->report, GLASSINE_WARNING, error->rule[0] ? error->rule : NULL,
                                error->place, error->remedy[0] ? error->remedy : NULL, "left out: %s",
                                error->message);
    if (source->tail) {
        glassine_report_finding(it->report, GLASSINE_WARNING, NULL, source->path,
                                "Ask for it again; what is missing can be merged later",
                                "the last save in it is not whole: %llu bytes belong to no edition, and nothing of "
                                "them is taken",
                                (unsigned long long)source->tail);
        glassine_report_attention(it->report);
    }
    if (source->unknown_lines)
        glassine_report_finding(it->report, GLASSINE_NOTE, NULL, source->path,
                                "They stay in that file; a newer program may know them",
                                "%llu lines of its log are of a kind that this version does not know",
                                (unsigned long long)source->unknown_lines);
}

static void add_speaker(section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_node *json = glassine_node_object(part->list, NULL, NULL);
    glassine_node *text = part->count > ROWS_MOST ? NULL : glassine_node_object(part->table, NULL, NULL);
    add_person(bundle, json, text, note->person, GL_NO_SPAN);
    glassine_node_integer(json, "slips", NULL, (int64_t)note->slips);
    glassine_node_integer(json, "records", NULL, (int64_t)note->records);
    glassine_node_integer(json, "new_records", NULL, (int64_t)note->fresh);
    glassine_node_integer(text, NULL, "statements", (int64_t)note->slips);
    glassine_node_integer(text, NULL, "new records", (int64_t)note->fresh);
    glassine_node_integer(text, NULL, "on known records", (int64_t)(note->records - note->fresh));
}

static void add_said(section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_slip came = first_that_came(bundle, note);
    gl_buf says = GL_BUF_EMPTY;
    gl_record_says(bundle, note->record, &says);
    bool bare = !says.length && note->item &&
                note->item != note->record; /* an item's stamp of which nothing is said */
    glassine_node *json = json_row(bundle, part, note), *text = bare ? NULL : text_row(bundle, part, note);
    add_person(bundle, json, text, came.by, came.via);
    glassine_node_text(json, "at", NULL, came.at);
    glassine_node_string(text, NULL, "says", says.failed || !says.text ? "" : says.text);
    add_buf(json, "says", NULL, &says);
}

static void add_change(section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    const glassine_saying *came = came_in(note->is, note->first);
    glassine_node *json = json_row(bundle, part, note), *text = text_row(bundle, part, note);
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
    add_buf(text, NULL, "was", &was);
    add_buf(text, NULL, "is", &is);
    add_person(bundle, json, text, came->by, came->via);
    glassine_node_text(json, "at", NULL, came->at);
    gl_buf_free(&json_was);
    gl_buf_free(&json_is);
}

/* One of the fields of a record that combines: who said it, and whether it was here. */
static void add_combined(gl_merge_report *it, section *part, glassine_bundle *bundle,
                         const glassine_merge_note *note) {
    if (part->record != note->record) {
        it->fields = glassine_node_list(json_row(bundle, part, note), "fields", NULL);
        part->records++;
    }
    const glassine_saying *said = came_in(note->is, note->first);
    bool came = said->slip >= note->first;
    glassine_node *json = glassine_node_object(it->fields, NULL, NULL);
    glassine_node *text = text_row(bundle, part, note);
    gl_buf shown = GL_BUF_EMPTY;
    gl_field_shown(bundle, note->is, &shown);
    glassine_node_text(json, "field", NULL, note->is->name);
    glassine_node_string(json, "reach", NULL, glassine_reach_name(note->is->reach));
    glassine_node_json(json, "value", said->value.text ? said->value : GL_SPAN("null"));
    glassine_node_truth(json, "came", NULL, came);
    glassine_node_text(text, NULL, "field", note->is->name);
    add_buf(text, NULL, "value", &shown);
    add_person(bundle, json, text, said->by, said->via);
    glassine_node_text(json, "at", NULL, said->at);
    glassine_node_string(text, NULL, "which", came ? "came now" : "was here");
    part->record = note->record;
}

static void add_standing(section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_node *json = json_row(bundle, part, note);
    glassine_node *text = part->count > ROWS_MOST ? NULL : glassine_node_object(part->table, NULL, NULL);
    glassine_node_string(json, "was", NULL, note->before);
    glassine_node_string(json, "is", NULL, note->text);
    glassine_node_text(text, NULL, "stamp", glassine_record_label(bundle, note->record));
    glassine_node_string(text, NULL, "was", note->before ? note->before : "not here");
    glassine_node_string(text, NULL, "is", note->text);
}

static void add_pair(section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_node *json = json_row(bundle, part, note);
    glassine_node *text = part->count > ROWS_MOST ? NULL : glassine_node_object(part->table, NULL, NULL);
    gl_buf one = GL_BUF_EMPTY, other = GL_BUF_EMPTY;
    gl_record_shown(bundle, note->record, &one);
    gl_record_shown(bundle, note->other, &other);
    glassine_node_text(json, "other", NULL, glassine_record_key(bundle, note->other));
    glassine_node_string(json, note->met == GLASSINE_MET_TWINS ? "why" : "name", NULL, note->text);
    add_buf(text, NULL, "one", &one);
    add_buf(text, NULL, "the other", &other);
    glassine_node_string(text, NULL, note->met == GLASSINE_MET_TWINS ? "why" : "name", note->text);
}

static void add_reason(section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_node *json = json_row(bundle, part, note), *text = text_row(bundle, part, note);
    gl_span author = glassine_record_author(bundle, note->record);
    if (author.text)
        glassine_node_text(json, "author", NULL, author);
    glassine_node_string(json, "rule", NULL, note->rule);
    glassine_node_string(json, "why", NULL, note->text);
    glassine_node_format(text, NULL, "why", "%s%s%s%s", note->text, note->rule ? " (" : "",
                         note->rule ? note->rule : "", note->rule ? ")" : "");
}

static void add_answer(section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    glassine_node *json = glassine_node_object(part->list, NULL, NULL);
    glassine_node *text = part->count > ROWS_MOST ? NULL : glassine_node_object(part->table, NULL, NULL);
    gl_span label = note->record ? glassine_record_label(bundle, note->record) : GL_SPAN("");
    bool left = note->met == GLASSINE_MET_LEFT;
    if (!left) {
        glassine_node_integer(json, "number", NULL, (int64_t)note->number);
        glassine_node_text(json, "stamp", NULL, note->record ? glassine_record_key(bundle, note->record) : GL_NO_SPAN);
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

static void add_plain(section *part, glassine_bundle *bundle, const glassine_merge_note *note) {
    json_row(bundle, part, note);
    text_row(bundle, part, note);
}

void gl_merge_report_note(void *context, glassine_bundle *bundle, const glassine_merge_note *note) {
    gl_merge_report *it = context;
    section *part = open_section(it, note->met);
    switch (note->met) {
    case GLASSINE_MET_SOURCE:
        add_source(it, part, note->source);
        break;
    case GLASSINE_MET_ANSWER:
    case GLASSINE_MET_QUESTION:
    case GLASSINE_MET_LEFT:
        add_answer(part, bundle, note);
        break;
    case GLASSINE_MET_PERSON:
        add_speaker(part, bundle, note);
        break;
    case GLASSINE_MET_NEW:
    case GLASSINE_MET_AGREED:
        add_said(part, bundle, note);
        break;
    case GLASSINE_MET_CHANGED:
        add_change(part, bundle, note);
        break;
    case GLASSINE_MET_COMBINED:
        add_combined(it, part, bundle, note);
        break;
    case GLASSINE_MET_CONTESTED:
        gl_report_contested_field(bundle, note->record, note->is, note->first, part->list,
                                  part->count > ROWS_MOST ? NULL : part->table);
        break;
    case GLASSINE_MET_STANDING:
        add_standing(part, bundle, note);
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

/* ---------------------------------------------------------------------------------------- at the end */

/* "3 fields are contested" and what to do: `one` and `many` are what stands behind the number. */
static void leave(const gl_merge_report *it, glassine_node **list, size_t count, bool attention,
                  const char *one, const char *many, const char *how) {
    if (!count)
        return;
    if (!*list)
        *list = glassine_node_list(it->result, NULL, "Left to you");
    if (count == 1)
        glassine_node_say(*list, "- %s %s", one, how);
    else
        glassine_node_say(*list, "- %zu %s %s", count, many, how);
    if (attention)
        glassine_report_attention(it->report);
}

static void say_what_is_left(const gl_merge_report *it, const char *file) {
    const section *of = it->of;
    glassine_node *list = NULL;
    char how[400];
    snprintf(how, sizeof how,
             "`glassine settle %s RECORD FIELD=VALUE` answers one, `… --take WHO` takes somebody's.", file);
    leave(it, &list, of[GLASSINE_MET_QUESTION].count, true, "Something is not understood:", "things are not understood:",
          "`--understand '3: 64, early'` says how answer 3 is meant, `--accept-partial` takes the others. Without either "
          "nothing is written.");
    leave(it, &list, of[GLASSINE_MET_CONTESTED].count, true,
          "A field is contested:", "fields are contested:", how);
    leave(it, &list, of[GLASSINE_MET_COMBINED].records, true, "A record combines several people's changes:",
          "records combine several people's changes:", "see above whether they fit together.");
    snprintf(how, sizeof how, "`glassine join %s ONE OTHER` says so.", file);
    leave(it, &list, of[GLASSINE_MET_TWINS].count, false,
          "Two records may be one and the same:", "pairs of records may be one and the same:", how);
    snprintf(how, sizeof how, "`glassine revise %s RECORD label=…` gives one another.", file);
    leave(it, &list, of[GLASSINE_MET_SAME_LABEL].count, false,
          "Two records have one name:", "names mean two records:", how);
    leave(it, &list, of[GLASSINE_MET_NOT_COUNTED].count, true, "Something does not count,",
          "things do not count,", "for the reason given above.");
    leave(it, &list, of[GLASSINE_MET_FAULT].count, true, "Something is not as it should be:",
          "things are not as they should be:", "its author may correct it.");
    leave(it, &list, it->refused, true,
          "A source was left out:", "sources were left out:", "get them again.");
    leave(it, &list, of[GLASSINE_MET_INCOMPLETE].count, false, "A record waits for earlier statements:",
          "records wait for earlier statements:", "they count already, and may change when those come.");
    if (!list)
        glassine_node_say(it->result, "Nothing is left for you to decide.");
}

glassine_status gl_merge_report_end(gl_merge_report *it, glassine_bundle *bundle, glassine_error *error) {
    close_section(it);
    glassine_node_integer(it->result, "new_slips", NULL, (int64_t)it->new_slips);
    if (!it->new_slips && !it->refused && !it->of[GLASSINE_MET_QUESTION].count)
        glassine_node_say(it->result, "Nothing new: everything in it was here already.");
    else
        say_what_is_left(it, bundle->file);
    return glassine_report_failed(it->report) ? gl_fail_memory(error) : GLASSINE_OK;
}
