/* A JSON document into a draft: spec/json-document.md, "Taking a document in". */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include <jansson.h>

#include "csv_get.h"
#include "json_canonical.h"
#include "json_record.h"
#include "take.h"

/* One document on its way in. */
typedef struct document {
    taking *t;
    const char *path;
    json_t *root;
    take_counts counts;
    char (*after)[65]; /* of the record in hand */
    size_t after_count, after_room;
    bool named[GLASSINE_REACHES]; /* reaches that its `latest` has */
    glassine_error *error;
} document;

static glassine_status out_of_memory(const document *d) {
    return conv_fail_system(d->error, ENOMEM, d->path, "Cannot take the document in");
}

static void refuse(document *d, const char *key, const char *rule, const char *remedy, const char *message) {
    conv_output place = {0};
    conv_printf(&place, "%s: %s", d->path, key);
    d->counts.refused++;
    take_refuse_at(d->t, place.text, rule, remedy, message);
    conv_free(&place);
}

/* ------------------------------------------------------------------------------------------------- slips */

/* A slip of the history, which must have the digest that stands beside it. */
static glassine_status take_slip(document *d, const char *key, const json_t *entry) {
    const char *digest = json_string_value(json_object_get(entry, "digest"));
    const json_t *slip = json_object_get(entry, "slip");
    conv_output line = {0};
    glassine_error wrong = {0};
    bool added = false;
    const char *fault = slip && digest ? json_canonical(slip, &line) : "an entry without digest or slip";
    size_t before = glassine_draft_slips(d->t->draft);
    glassine_status status = GLASSINE_OK;
    if (!fault && !line.failed)
        status = glassine_draft_take(d->t->draft, conv_span(&line), &added, &wrong);
    if (status == GLASSINE_REFUSED)
        fault = wrong.message;
    uint64_t last = glassine_bundle_slips(d->t->bundle);
    if (added && strcmp(glassine_bundle_slip(d->t->bundle, (uint32_t)last - 1).digest, digest) != 0) {
        glassine_draft_back(d->t->draft, before);
        fault = "it has not the digest that stands beside it";
    }
    if (fault)
        refuse(d, key, wrong.rule[0] ? wrong.rule : NULL, "Slips are taken as they are, or not at all",
               fault);
    if (line.failed)
        status = out_of_memory(d);
    else if (status == GLASSINE_SYSTEM && d->error)
        *d->error = wrong;
    conv_free(&line);
    return status == GLASSINE_SYSTEM ? status : GLASSINE_OK;
}

static glassine_status take_slips(document *d) {
    const char *key;
    json_t *record, *entry;
    size_t i, before = glassine_draft_slips(d->t->draft);
    json_object_foreach(json_object_get(d->root, "records"), key, record) {
        json_array_foreach(json_object_get(record, "slips"), i, entry) {
            glassine_status status = take_slip(d, key, entry);
            if (status)
                return status;
        }
    }
    return glassine_draft_slips(d->t->draft) > before ? take_note_row(d->t, d->path, 0, d->error)
                                                      : GLASSINE_OK;
}

/* ----------------------------------------------------------------------------------------------- what it
 * says */

static bool is_digest(const char *text) {
    return text && strlen(text) == 64 && strspn(text, "0123456789abcdef") == 64;
}

/* What the record was made from: `latest`. False where it is anything else. */
static bool read_latest(document *d, const json_t *record, bool *failed) {
    const json_t *latest = json_object_get(record, "latest");
    d->after_count = 0;
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        const json_t *list = json_object_get(latest, glassine_reach_name((glassine_reach)reach)), *entry;
        size_t i;
        d->named[reach] = json_array_size(list) > 0;
        json_array_foreach(list, i, entry) {
            const char *digest = json_string_value(entry);
            if (!is_digest(digest))
                return false;
            void *grown = conv_grow(d->after, &d->after_room, d->after_count + 1, sizeof *d->after);
            *failed = !grown;
            if (!grown)
                return false;
            d->after = grown;
            memcpy(d->after[d->after_count++], digest, 65);
        }
    }
    return !latest || json_is_object(latest);
}

/* The object that says NAME in a reach, beside the leading ones: `also`. */
static const json_t *also(const json_t *record, glassine_reach reach, const char *what) {
    return json_object_get(json_object_get(json_object_get(record, "also"), glassine_reach_name(reach)),
                           what);
}

/* Does the document still say the field in that reach, by one value or several? */
static bool still_says(const json_t *record, const char *name, glassine_reach reach) {
    const char *leading = json_string_value(json_object_get(json_object_get(record, "reach"), name));
    bool here = strcmp(leading ? leading : "shared", glassine_reach_name(reach)) == 0;
    return (here && (json_object_get(json_object_get(record, "fields"), name) ||
                     json_object_get(json_object_get(record, "contested"), name))) ||
           json_object_get(also(record, reach, "fields"), name) ||
           json_object_get(also(record, reach, "contested"), name);
}

/* Where a writer puts a field that was not said before, in a record of this `kind`. */
static const char *usual_reach(const json_t *record, const char *name) {
    const char *type_name = json_string_value(json_object_get(record, "type"));
    const glassine_type_info *type = type_name ? glassine_type_find(type_name) : NULL;
    const char *kind = json_string_value(json_object_get(json_object_get(record, "fields"), "kind"));
    const glassine_field_info *field = type ? glassine_type_field(type, name) : NULL;
    return glassine_reach_name(glassine_type_reach(type, field, kind));
}

/* Told by its address. */
static const char NO_MEMORY[] = "memory ran out";

/* What is wrong with a record: it is refused, unless nothing is but that memory ran out. */
static glassine_status refuse_record(document *d, const char *key, const char *fault) {
    if (fault == NO_MEMORY)
        return out_of_memory(d);
    refuse(d, key, NULL, NULL, fault);
    return GLASSINE_OK;
}

/* A statement of one member of `fields`. */
static const char *state_field(document *d, const char *name, const json_t *value, const char *reach) {
    conv_output json = {0};
    const char *fault = json_canonical(value, &json);
    glassine_statement statement = {.reach = reach};
    if (!fault) {
        statement.field = statements_keep(&d->t->row, conv_span_of(name));
        statement.value = conv_span_of(statements_keep(&d->t->row, conv_span(&json)));
        if (json.failed || !statement.field || !statement.value.text ||
            !statements_add(&d->t->row, statement, SIZE_MAX))
            fault = NO_MEMORY;
    }
    conv_free(&json);
    return fault;
}

static bool was_said(const document *d, const char *name, glassine_reach reach) {
    return d->named[reach] && conv_view_field(&d->t->view, conv_span_of(name), reach);
}

/* `fields`: what was said in the reach that the document gives stays there; the rest goes where a writer puts
 * it, unless the document says otherwise. */
static const char *state_fields(document *d, const json_t *record) {
    const char *name, *fault;
    json_t *value;
    json_object_foreach(json_object_get(record, "fields"), name, value) {
        const char *said = json_string_value(json_object_get(json_object_get(record, "reach"), name));
        bool shared = !said && was_said(d, name, GLASSINE_SHARED);
        said = shared ? glassine_reach_name(GLASSINE_SHARED) : said ? said : usual_reach(record, name);
        fault = state_field(d, name, value, said);
        if (fault)
            return fault;
    }
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        json_object_foreach((json_t *)also(record, (glassine_reach)reach, "fields"), name, value) {
            fault = state_field(d, name, value, glassine_reach_name((glassine_reach)reach));
            if (fault)
                return fault;
        }
    }
    return NULL;
}

/* What the record said where the document comes from, and the document says no more. */
static const char *state_cleared(document *d, const json_t *record) {
    for (size_t i = 0; i < d->t->view.said_count; i++) {
        const glassine_field *field = d->t->view.said[i].field;
        const char *name = statements_keep(&d->t->row, field->name);
        if (!name)
            return NO_MEMORY;
        if (!d->named[field->reach] || still_says(record, name, field->reach))
            continue;
        glassine_statement statement = {.field = name, .reach = glassine_reach_name(field->reach)};
        if (!statements_add(&d->t->row, statement, SIZE_MAX))
            return NO_MEMORY;
    }
    return NULL;
}

/* -----------------------------------------------------------------------------------------------------
 * record */

static glassine_status state_record(document *d, const char *key, const char *id, bool fresh) {
    glassine_error wrong = {0};
    glassine_record *record;
    bool changed;
    glassine_status status =
        glassine_draft_state(d->t->draft, id, d->t->row.list, d->t->row.count, (const char(*)[65])d->after,
                             d->after_count, d->t->options.why, &record, &changed, &wrong);
    if (status == GLASSINE_REFUSED) {
        conv_output message = {0};
        conv_printf(&message, "%s%s%s", wrong.place, wrong.place[0] ? ": " : "", wrong.message);
        refuse(d, key, wrong.rule[0] ? wrong.rule : NULL, wrong.remedy[0] ? wrong.remedy : NULL,
               message.text);
        conv_free(&message);
        return GLASSINE_OK;
    }
    if (status) {
        if (d->error)
            *d->error = wrong;
        return status;
    }
    ++*(!changed ? &d->counts.unchanged : fresh ? &d->counts.entered : &d->counts.changed);
    if (!changed)
        return GLASSINE_OK;
    take_look_for_contests(d->t, record);
    return take_note_row(d->t, d->path, 0, d->error);
}

static bool speaks(const document *d, const char *author) {
    return !author || strcmp(author, glassine_draft_by(d->t->draft)) == 0;
}

/* A statement changes something where it differs from what was so; only then it matters who may make it. */
static bool changes_nothing(document *d) {
    for (size_t i = 0; i < d->t->row.count; i++) {
        const glassine_statement *one = &d->t->row.list[i];
        const glassine_field *field = NULL;
        for (int reach = 0; reach < GLASSINE_REACHES && one->reach; reach++) {
            if (strcmp(one->reach, glassine_reach_name((glassine_reach)reach)) == 0)
                field = conv_view_field(&d->t->view, conv_span_of(one->field), (glassine_reach)reach);
        }
        if (!field || field->contested || !one->value.text ||
            !conv_equal(field->sayings[0].value, one->value))
            return false;
    }
    return true;
}

/* A record without `latest`: is none of its slips one that the document shows and that counts? */
static glassine_status rests_on_nothing(document *d, glassine_record *record, bool *nothing) {
    conv_view *view = &d->t->view;
    bool shown;
    view->with_private = json_is_true(json_object_get(d->root, "private"));
    glassine_status status = conv_view_look(view, record, &shown, d->error);
    *nothing = !status && conv_nothing_counts(view);
    return status;
}

static glassine_status take_known(document *d, const char *key, const json_t *from, glassine_record *record) {
    conv_view *view = &d->t->view;
    glassine_error wrong = {0};
    bool sound = true;
    glassine_status status = d->after_count ? GLASSINE_OK : rests_on_nothing(d, record, &sound);
    if (status)
        return status;
    if (!sound) {
        refuse(d, key, NULL, "Put back its `latest`; a new record has no id, or one that is not there yet",
               "it does not say what it was made from");
        return GLASSINE_OK;
    }
    view->with_private = true;
    status = conv_view_look_back(view, record, (const char(*)[65])d->after, d->after_count, &wrong);
    if (status == GLASSINE_REFUSED) {
        refuse(d, key, NULL, "Merge the bundle that the document is from, or use one with its history",
               "it was made from statements that this bundle has not, or does not count");
        return GLASSINE_OK;
    }
    if (status) {
        if (d->error)
            *d->error = wrong;
        return status;
    }
    const char *fault = state_fields(d, from);
    fault = fault ? fault : state_cleared(d, from);
    if (fault)
        return refuse_record(d, key, fault);
    if (changes_nothing(d)) {
        d->counts.unchanged++;
        return GLASSINE_OK;
    }
    glassine_span author = glassine_record_author(d->t->bundle, record);
    if (author.text && !conv_is(author, glassine_draft_by(d->t->draft))) {
        refuse(d, key, "R048", "Make a statement of your own beside it",
               "it speaks for its author alone, and you are not its author");
        return GLASSINE_OK;
    }
    char id[96];
    snprintf(id, sizeof id, "%s", json_string_value(json_object_get(from, "id")));
    return state_record(d, key, id, false);
}

static glassine_status take_new(document *d, const char *key, const json_t *from) {
    const char *id = json_string_value(json_object_get(from, "id"));
    const char *type = json_string_value(json_object_get(from, "type"));
    if (d->after_count) {
        refuse(d, key, NULL, "Merge the bundle that the document is from, or use one with its history",
               "it was made from statements that this bundle has not, or does not count");
        return GLASSINE_OK;
    }
    if (!speaks(d, json_string_value(json_object_get(from, "author")))) {
        refuse(d, key, NULL, "Leave the author out", "you speak for yourself alone");
        return GLASSINE_OK;
    }
    d->t->view.said_count = 0;
    const char *fault = state_fields(d, from);
    if (!fault && !id && !type)
        fault = "it has neither an id nor a type";
    if (fault)
        return refuse_record(d, key, fault);
    return state_record(d, key, id ? id : type, true);
}

static glassine_status take_record(document *d, const char *key, const json_t *from) {
    statements_clear(&d->t->row);
    d->counts.rows++;
    bool failed = false, sound = json_is_object(from) && read_latest(d, from, &failed);
    if (failed)
        return out_of_memory(d);
    if (!sound || (json_object_get(from, "fields") && !json_is_object(json_object_get(from, "fields")))) {
        refuse(d, key, NULL, "spec/json-document.md says what a record looks like", "it is no record");
        return GLASSINE_OK;
    }
    const char *id = json_string_value(json_object_get(from, "id"));
    const char *author = json_string_value(json_object_get(from, "author"));
    glassine_record *record =
        id ? glassine_bundle_record(d->t->bundle, conv_span_of(id), conv_span_of(author)) : NULL;
    glassine_status status = record ? take_known(d, key, from, record) : take_new(d, key, from);
    take_progress(d->t);
    return status;
}

/* Types in the order of their table, so that what others refer to is there before them. */
static glassine_status take_records(document *d) {
    json_t *records = json_object_get(d->root, "records"), *record;
    const char *key;
    glassine_status status = GLASSINE_OK;
    d->t->rows = json_object_size(records);
    for (size_t type = 0; type <= glassine_type_count() && !status; type++) {
        json_object_foreach(records, key, record) {
            const char *said = json_string_value(json_object_get(record, "type"));
            const glassine_type_info *info = said ? glassine_type_find(said) : NULL;
            const glassine_type_info *wanted = type < glassine_type_count() ? glassine_type_at(type) : NULL;
            if (info == wanted && !status)
                status = take_record(d, key, record);
        }
    }
    return status;
}

/* ---------------------------------------------------------------------------------------------------
 * document */

static glassine_status load(const char *path, json_t **root, glassine_error *error) {
    conv_output bytes = {0};
    json_error_t wrong;
    glassine_status status = file_get(path, &bytes, error);
    if (status) {
        conv_free(&bytes);
        return status;
    }
    *root = json_loadb(bytes.length ? bytes.text : "", bytes.length, JSON_REJECT_DUPLICATES, &wrong);
    conv_free(&bytes);
    if (!*root) {
        char message[256];
        snprintf(message, sizeof message, "line %d, column %d: %.160s", wrong.line, wrong.column, wrong.text);
        return conv_fail(error, GLASSINE_REFUSED, path, "It is to be one JSON document", message);
    }
    const char *format = json_string_value(json_object_get(*root, "format"));
    const char *version = json_string_value(json_object_get(*root, "version"));
    if (!format || strcmp(format, "glassine") != 0 || !json_is_object(json_object_get(*root, "records")))
        return conv_fail(error, GLASSINE_REFUSED, path, "to-json writes such documents",
                         "it is no bundle as JSON");
    if (version && strtoul(version, NULL, 10) > 1)
        return conv_fail(error, GLASSINE_REFUSED, path, "A newer program reads it",
                         "it is of a later version than this program knows (1)");
    return GLASSINE_OK;
}

/* A bundle that is made of the document has nothing but its slips. */
static glassine_status want_history(document *d) {
    const char *key;
    json_t *record;
    json_object_foreach(json_object_get(d->root, "records"), key, record) {
        if (!json_array_size(json_object_get(record, "slips")))
            return conv_fail(d->error, GLASSINE_REFUSED, d->path, "`glassine to-json --history` writes one",
                             "the document has not its history, which a new bundle is made of");
        d->counts.entered++;
        d->counts.rows++;
    }
    return GLASSINE_OK;
}

static glassine_status take_document(document *d, bool fresh) {
    glassine_status status = fresh ? want_history(d) : GLASSINE_OK;
    if (!status)
        status = take_slips(d);
    if (!status && !fresh)
        status = take_records(d);
    if (status)
        return status;
    d->counts.type = "";
    take_tell_sheet(d->t, d->path, &d->counts);
    return take_end(d->t, d->error);
}

/* `options` NULL: into a bundle that is made of it. */
static glassine_status take_root(glassine_bundle *bundle, glassine_draft *draft, const char *path,
                                 json_t *root, const glassine_sheets_options *options,
                                 glassine_report *report, glassine_error *error) {
    taking t = {.bundle = bundle, .draft = draft, .report = report};
    if (options)
        t.options = *options;
    document d = {.t = &t, .path = path, .root = root, .error = error};
    glassine_status status = take_begin(&t, error);
    if (!status)
        status = take_document(&d, !options);
    if (status)
        glassine_draft_back(draft, 0);
    free(d.after);
    take_free(&t);
    return status;
}

glassine_status glassine_from_json(glassine_bundle *bundle, glassine_draft *draft, const char *path,
                                   const glassine_sheets_options *options, glassine_report *report,
                                   glassine_error *error) {
    const glassine_sheets_options none = {0};
    json_t *root = NULL;
    glassine_status status = load(path, &root, error);
    if (!status)
        status = take_root(bundle, draft, path, root, options ? options : &none, report, error);
    json_decref(root);
    return status;
}

glassine_status glassine_from_json_new(const char *document_path, const char *path, const char *note,
                                       glassine_report *report, glassine_error *error) {
    json_t *root = NULL;
    glassine_making *making = NULL;
    glassine_status status = load(document_path, &root, error);
    const char *title = json_string_value(json_object_get(root, "title"));
    const char *keeper = json_string_value(json_object_get(root, "keeper"));
    if (!status && (!title || !keeper))
        status = conv_fail(error, GLASSINE_REFUSED, document_path, "to-json writes such documents",
                           "it says no title or no keeper");
    if (!status)
        status = glassine_making_new(path, title, keeper, &making, error);
    if (!status)
        status = take_root(glassine_making_bundle(making), glassine_making_draft(making), document_path, root,
                           NULL, report, error);
    if (!status)
        status = glassine_making_publish(making, note, error);
    glassine_making_free(making);
    json_decref(root);
    return status;
}
