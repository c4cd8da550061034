#include "describe.h"

#include <string.h>

#include "line.h"
#include "own_claims.h"
#include "refuse.h"

static const glassine_span NOTHING = {NULL, 0};

glassine_span cli_person(cli_call *call, glassine_span id) {
    glassine_record *person = glassine_bundle_record(call->bundle, id, NOTHING);
    return person != NULL ? glassine_record_label(call->bundle, person) : id;
}

const char *cli_word(glassine_word word) {
    static const char *const WORDS[] = {NULL, "signed", "vouched for by the keeper",
                                        "not signed, and not counted"};
    return WORDS[word];
}

/* Who signed what stands: "Ann Example, Specialist". */
static void add_signers(cli_call *call, glassine_node *node, const glassine_field *fields, size_t count) {
    cli_line line = {0};
    glassine_span told[8];
    size_t people = 0;
    for (size_t i = 0; i < count; i++) {
        for (size_t k = 0; k < fields[i].saying_count && people < sizeof told / sizeof told[0]; k++) {
            const glassine_saying *saying = &fields[i].sayings[k];
            size_t at = 0;
            while (at < people && (told[at].length != saying->by.length ||
                                   memcmp(told[at].text, saying->by.text, saying->by.length) != 0)) {
                at++;
            }
            if (at < people || cli_word(saying->word) == NULL) {
                continue;
            }
            told[people++] = saying->by;
            glassine_span name = cli_person(call, saying->by);
            cli_line_add(&line, "%s%.*s%s", line.text[0] != '\0' ? ", " : "", (int)name.length, name.text,
                         saying->word == GLASSINE_WORD_VOUCHED ? " (vouched for by the keeper)" : "");
        }
    }
    if (people > 0) {
        glassine_node_string(node, NULL, "signed by", line.text);
    }
}

/* Statements on the record that do not count are told of, though its fields do not show them. */
static glassine_status tell_uncounted(cli_call *call, glassine_record *record) {
    const uint32_t *slips;
    size_t count, uncounted = 0;
    glassine_status status = glassine_record_history(call->bundle, record, &slips, &count, call->error);
    for (size_t i = 0; status == GLASSINE_OK && i < count; i++) {
        uncounted += glassine_bundle_slip(call->bundle, slips[i]).word == GLASSINE_WORD_UNSIGNED;
    }
    if (uncounted > 0) {
        glassine_report_finding(
            call->report, GLASSINE_WARNING, "K030", cli_id(call, record),
            "show … --history tells what they say",
            "of the statements on it %zu do not count: not signed, though their authors sign", uncounted);
    }
    return status;
}

static void add_saying(cli_call *call, glassine_node *list, const glassine_field *field,
                       const glassine_saying *saying) {
    glassine_node *node = glassine_node_object(list, NULL, NULL);
    if (saying->value.text != NULL) {
        glassine_node_json(node, "value", saying->value);
    } else {
        glassine_node_json(node, "value", (glassine_span){"null", 4});
    }
    glassine_node_text(node, "shown", NULL, glassine_value_shown(call->bundle, saying->value, field->info));
    glassine_node_text(node, "by", NULL, saying->by);
    glassine_node_text(node, "by_name", NULL, cli_person(call, saying->by));
    glassine_node_text(node, "via", NULL, saying->via);
    glassine_node_text(node, "at", NULL, saying->at);
    glassine_node_text(node, "why", NULL, saying->why);
    glassine_node_string(node, "word", NULL, glassine_word_name(saying->word));
}

static void add_json(cli_call *call, glassine_node *fields, const glassine_field *field) {
    glassine_node *node = glassine_node_object(fields, NULL, NULL);
    glassine_node_text(node, "field", NULL, field->name);
    glassine_node_string(node, "reach", NULL, glassine_reach_name(field->reach));
    glassine_node_truth(node, "contested", NULL, field->contested);
    glassine_node *values = glassine_node_list(node, "values", NULL);
    for (size_t i = 0; i < field->saying_count; i++) {
        add_saying(call, values, field, &field->sayings[i]);
    }
}

/* "12 (Ann Example, 2026-03-01T10:00:00Z: seen on the back)" */
static const char *saying_shown(cli_call *call, const glassine_field *field, const glassine_saying *saying) {
    glassine_span shown = glassine_value_shown(call->bundle, saying->value, field->info);
    glassine_span by = cli_person(call, saying->by);
    bool cleared = saying->value.text == NULL;
    bool reason = saying->why.length > 0;
    const char *text = cli_pool_print(call->pool, "%.*s (%.*s, %.*s%s%.*s)", cleared ? 9 : (int)shown.length,
                                      cleared ? "not known" : shown.text, (int)by.length, by.text,
                                      (int)saying->at.length, saying->at.text, reason ? ": " : "",
                                      reason ? (int)saying->why.length : 0, reason ? saying->why.text : "");
    return text != NULL ? text : "";
}

/* Does a field of this value (absent: contested) say nothing but what `parent` it belongs to? */
static bool leads_to(cli_call *call, const glassine_field_info *info, glassine_value value,
                     glassine_span parent) {
    if (value.text == NULL || parent.text == NULL || info == NULL || info->kind != GLASSINE_REF) {
        return false;
    }
    glassine_span id = glassine_value_text(call->bundle, value);
    return id.length == parent.length && memcmp(id.text, parent.text, id.length) == 0;
}

static void add_text(cli_call *call, glassine_node *node, const glassine_field *field) {
    cli_line label = {0};
    cli_line_add(&label, "%.*s", (int)field->name.length, field->name.text);
    if (field->reach == GLASSINE_PRIVATE) {
        cli_line_add(&label, ", private");
    }
    if (!field->contested) {
        if (field->sayings[0].value.text != NULL) {
            glassine_node_text(node, NULL, label.text,
                               glassine_value_shown(call->bundle, field->sayings[0].value, field->info));
        }
        return;
    }
    cli_line_add(&label, ", contested");
    glassine_node *list = glassine_node_list(node, NULL, label.text);
    for (size_t i = 0; i < field->saying_count; i++) {
        glassine_node_string(list, NULL, NULL, saying_shown(call, field, &field->sayings[i]));
    }
}

/* The fields in the order of the type's table, unknown ones after them. The field that names the record
 * stands in the heading already. */
static void add_texts(cli_call *call, glassine_node *node, glassine_record *record,
                      const glassine_field *fields, size_t count, glassine_span parent) {
    const glassine_type_info *type = glassine_record_info(call->bundle, record);
    for (size_t k = 0; type != NULL && k < type->field_count; k++) {
        for (size_t i = 0; i < count; i++) {
            bool named =
                type->label != NULL && strcmp(type->label, type->fields[k].name) == 0 && !fields[i].contested;
            glassine_value value = fields[i].contested ? NOTHING : fields[i].sayings[0].value;
            if (fields[i].info == &type->fields[k] && !named &&
                !leads_to(call, fields[i].info, value, parent)) {
                add_text(call, node, &fields[i]);
            }
        }
    }
    for (size_t i = 0; i < count; i++) {
        if (fields[i].info == NULL) {
            add_text(call, node, &fields[i]);
        }
    }
}

glassine_status cli_describe(cli_call *call, glassine_node *node, glassine_record *record,
                             glassine_span parent) {
    const glassine_field *fields;
    size_t count;
    glassine_status status = glassine_record_fields(call->bundle, record, &fields, &count, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_span author = glassine_record_author(call->bundle, record);
    glassine_node_text(node, "record", "id", glassine_record_id(call->bundle, record));
    glassine_node_text(node, "type", NULL, glassine_record_type(call->bundle, record));
    glassine_node_text(node, "label", NULL, glassine_record_label(call->bundle, record));
    glassine_node_text(node, "author", NULL, author);
    glassine_node_text(node, NULL, "by", author.text != NULL ? cli_person(call, author) : author);
    glassine_node_truth(node, "set_aside", NULL, glassine_record_set_aside(call->bundle, record));
    bool incomplete = glassine_record_incomplete(call->bundle, record);
    glassine_node_truth(node, "incomplete", NULL, incomplete);
    glassine_node *list = glassine_node_list(node, "fields", NULL);
    for (size_t i = 0; i < count; i++) {
        add_json(call, list, &fields[i]);
    }
    add_texts(call, node, record, fields, count, parent);
    add_signers(call, node, fields, count);
    if (incomplete) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, cli_id(call, record),
                                "Merge what the others have",
                                "some earlier statements on it are not in this bundle");
    }
    return tell_uncounted(call, record);
}

/* The hexadecimal digits that tell the record from others, as people type them. */
static glassine_span short_id(glassine_span id) {
    const char *slash = memchr(id.text, '/', id.length);
    size_t from = slash != NULL ? (size_t)(slash - id.text) + 1 : 0;
    size_t left = id.length - from;
    return (glassine_span){id.text + from, left < 8 ? left : 8};
}

static const glassine_field *find_field(const glassine_field *fields, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++) {
        if (cli_span_is(fields[i].name, name) &&
            (fields[i].contested || fields[i].sayings[0].value.text != NULL)) {
            return &fields[i];
        }
    }
    return NULL;
}

/* A cell holds so many things of a list; of a longer one it shows the first: "K-0001 and 299 others". */
enum { CELL_MOST = 5 };

static void add_cell(cli_call *call, glassine_node *row, const char *name, const glassine_field_info *info,
                     glassine_value value) {
    glassine_value first = NOTHING, one;
    size_t count = 0, at = 0;
    while (value.text[0] == '[' && glassine_value_next(value, &at, NULL, &one)) {
        first = count++ == 0 ? one : first;
    }
    glassine_span shown = glassine_value_shown(call->bundle, count > CELL_MOST ? first : value, info);
    if (count > CELL_MOST) {
        cli_line line = {0};
        cli_line_add(&line, "%.*s and %zu others", (int)shown.length, shown.text, count - 1);
        glassine_node_string(row, NULL, name, line.text);
    } else {
        glassine_node_text(row, NULL, name, shown);
    }
}

/* The columns of its type. Only what stands is asked for: a list may be long, and who said it is not shown. */
static void add_cells(cli_call *call, glassine_node *row, glassine_record *record, const char *type,
                      glassine_span parent) {
    const glassine_type_info *info = glassine_record_info(call->bundle, record);
    const char *const *columns = cli_columns(type);
    for (size_t i = 0; columns[i] != NULL; i++) {
        bool contested;
        glassine_value value = glassine_record_get(call->bundle, record, columns[i], &contested);
        const glassine_field_info *field = info != NULL ? glassine_type_field(info, columns[i]) : NULL;
        if (contested) {
            glassine_node_string(row, NULL, columns[i], "contested");
        } else if (value.text != NULL && !leads_to(call, field, value, parent)) {
            add_cell(call, row, columns[i], field, value);
        }
    }
}

/* Each field once; of the reaches the first one that says it. */
static glassine_status add_row_json(cli_call *call, glassine_node *row, glassine_record *record) {
    glassine_node *members = glassine_node_object(row, "fields", NULL);
    glassine_node *contested = glassine_node_list(row, "contested", NULL);
    const glassine_field *fields;
    size_t count;
    if (members == NULL || contested == NULL) {
        return GLASSINE_OK; /* the list is for people */
    }
    glassine_status status = glassine_record_fields(call->bundle, record, &fields, &count, call->error);
    for (size_t i = 0; status == GLASSINE_OK && i < count; i++) {
        const char *name = cli_pool_span(call->pool, fields[i].name);
        if (name == NULL || find_field(fields, count, name) != &fields[i]) {
            continue;
        }
        if (fields[i].contested) {
            glassine_node_string(contested, NULL, NULL, name);
        } else {
            glassine_node_json(members, name, fields[i].sayings[0].value);
        }
    }
    return status;
}

glassine_status cli_describe_row(cli_call *call, glassine_node *table, glassine_record *record,
                                 glassine_span parent) {
    const glassine_type_info *info = glassine_record_info(call->bundle, record);
    const char *type =
        info != NULL ? info->name : cli_pool_span(call->pool, glassine_record_type(call->bundle, record));
    if (type == NULL) {
        return cli_memory(call->error);
    }
    glassine_span id = glassine_record_id(call->bundle, record);
    glassine_span label = glassine_record_label(call->bundle, record);
    glassine_span author = glassine_record_author(call->bundle, record);
    glassine_node *row = glassine_node_object(table, NULL, NULL);
    glassine_node_text(row, "record", NULL, id);
    glassine_node_text(row, "label", NULL, label);
    glassine_node_text(row, "author", NULL, author);
    glassine_status status = add_row_json(call, row, record);
    if ((info != NULL && info->label != NULL) || strcmp(type, "stamp") == 0) {
        glassine_node_text(row, NULL, type, label);
    }
    add_cells(call, row, record, type, parent);
    if (strcmp(type, "claim") == 0) {
        bool replaced = cli_claim_is_replaced(call, record);
        glassine_node_truth(row, "replaced", NULL, replaced);
        if (replaced) {
            glassine_node_string(row, NULL, "stands", "replaced");
        }
    }
    if (author.text != NULL) {
        glassine_node_text(row, NULL, "by", cli_person(call, author));
    }
    glassine_node_text(row, NULL, "id", short_id(id));
    return status;
}
