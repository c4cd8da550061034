#include "flat.h"

#include <errno.h>
#include <stdlib.h>

#include "units.h"

#define PLACES_SHOWN 10

enum { STAMPS, MARKINGS, SCANS, VALUES, PARTS };

typedef struct part {
    glassine_record **list;
    size_t count, room;
} part;

struct flat {
    glassine_bundle *bundle;
    bool with_private;
    glassine_standings *standings; /* NULL: they would tell something private */
    part parts[PARTS];             /* of the item at hand */
    conv_view view;                /* of one of these, or of what is said on it */
    conv_cautions *cautions;       /* of the walk */
    conv_output list, element, text;
    glassine_error *error;
    glassine_status status; /* of the row */
};

/* ------------------------------------------------------------------------------------- cells of fields */

static const conv_said *said_of(const conv_view *view, const char *field) {
    for (size_t i = 0; i < view->said_count; i++) {
        if (view->said[i].leading && conv_is(view->said[i].field->name, field))
            return &view->said[i];
    }
    return NULL;
}

/* What the record says there, in people's units and names: in f->text, without a mark. */
static glassine_span text_of(flat *f, const conv_view *view, const char *field) {
    const conv_said *said = said_of(view, field);
    conv_clear(&f->text);
    if (!said)
        return conv_span(&f->text);
    const glassine_field_info *info = said->field->info;
    bool named = info && (info->kind == GLASSINE_REF || info->kind == GLASSINE_REFS || units_differ(info));
    const table_column column = {.kind = named ? TABLE_LABEL : TABLE_FIELD,
                                 .name = said->field->name,
                                 .reach = said->field->reach,
                                 .info = info};
    if (named && said->field->contested)
        conv_add_text(&f->text, "contested: ");
    tables_cell(view, &column, &f->text);
    return cell_unmarked(conv_span(&f->text));
}

/* --------------------------------------------------------------------------------------- lists of parts */

/* Adds f->element to f->list; with the label of the part where there are several. */
static void add_element(flat *f, glassine_record *labelled) {
    if (!f->element.length)
        return;
    if (f->list.length)
        conv_add_text(&f->list, "; ");
    if (labelled) {
        conv_add(&f->list, conv_label(f->bundle, labelled, f->with_private));
        conv_add_text(&f->list, ": ");
    }
    conv_add(&f->list, conv_span(&f->element));
}

static bool is_listed(const flat *f) {
    glassine_span list = conv_span(&f->list), one = conv_span(&f->element);
    for (size_t i = 0; i + one.length <= list.length; i++) {
        bool begins = i == 0 || (i >= 2 && memcmp(list.text + i - 2, "; ", 2) == 0);
        bool ends = i + one.length == list.length || list.text[i + one.length] == ';';
        if (begins && ends && memcmp(list.text + i, one.text, one.length) == 0)
            return true;
    }
    return false;
}

/* Looks at a record for a reader: false where it is not shown. */
static bool look(flat *f, glassine_record *record) {
    bool shown = false;
    if (!f->status)
        f->status = conv_cautions_look(f->cautions, &f->view, record, f->error);
    if (!f->status)
        f->status = conv_view_look(&f->view, record, &shown, f->error);
    return !f->status && shown;
}

/* A field of the stamps: once what several say alike. */
static void add_stamp_field(flat *f, const char *field) {
    const part *stamps = &f->parts[STAMPS];
    for (size_t i = 0; i < stamps->count; i++) {
        conv_clear(&f->element);
        if (look(f, stamps->list[i]))
            conv_add(&f->element, text_of(f, &f->view, field));
        if (!is_listed(f))
            add_element(f, NULL);
    }
}

/* Adds a field to the element, with something before it where it says anything. */
static void add_word(flat *f, const char *before, const char *field) {
    glassine_span text = text_of(f, &f->view, field);
    if (!text.length)
        return;
    if (f->element.length)
        conv_add_text(&f->element, before);
    conv_add(&f->element, text);
}

static void add_part_fields(flat *f, int which, const char *const *fields, const char *between) {
    const part *parts = &f->parts[which];
    for (size_t i = 0; i < parts->count; i++) {
        conv_clear(&f->element);
        if (!look(f, parts->list[i]))
            continue;
        for (const char *const *field = fields; *field; field++)
            add_word(f, between, *field);
        add_element(f, NULL);
    }
}

/* ------------------------------------------------------------------------------------------ what is said */

/* "plate 1: R1/4, early, certain (Odile Farrow)". */
static void add_said(flat *f, glassine_record *record) {
    conv_clear(&f->element);
    if (!record || !look(f, record))
        return;
    glassine_span plates = text_of(f, &f->view, "plates");
    if (plates.length)
        conv_printf(&f->element, "plate %.*s: ", (int)plates.length, plates.text);
    glassine_span positions = text_of(f, &f->view, "positions");
    conv_add(&f->element, positions.length ? positions : conv_span_of("any position"));
    add_word(f, ", ", "state");
    add_word(f, ", ", "confidence");
    glassine_span author =
        conv_label_of(f->bundle, glassine_record_author(f->bundle, record), f->with_private);
    if (author.text)
        conv_printf(&f->element, " (%.*s)", (int)author.length, author.text);
}

/* Of a stamp in the standings; `labelled` as add_element has it. */
static void add_standing(flat *f, size_t index, glassine_record *labelled) {
    conv_clear(&f->element);
    conv_add_text(&f->element, glassine_standings_at(f->standings, index).standing);
    add_element(f, labelled);
}

static void add_places(flat *f, size_t index, glassine_record *labelled) {
    conv_clear(&f->element);
    if (strcmp(glassine_standings_at(f->standings, index).standing, "unplaced") == 0)
        return;
    const char *shown = glassine_standings_shown(f->standings, index, PLACES_SHOWN);
    if (shown)
        conv_add_text(&f->element, shown);
    else
        f->element.failed = ENOMEM;
    add_element(f, labelled);
}

static void add_claim(flat *f, size_t index, glassine_record *labelled) {
    add_said(f, glassine_standings_best_claim(f->standings, index));
    add_element(f, labelled);
}

static void add_conclusions(flat *f, size_t index, glassine_record *labelled) {
    glassine_record *one;
    for (size_t k = 0; (one = glassine_standings_conclusion(f->standings, index, k)); k++) {
        add_said(f, one);
        add_element(f, labelled);
    }
}

static void add_of_stamps(flat *f, void (*add)(flat *f, size_t index, glassine_record *labelled)) {
    const part *stamps = &f->parts[STAMPS];
    for (size_t i = 0; i < stamps->count && f->standings; i++) {
        size_t index = glassine_standings_find(f->standings, stamps->list[i]);
        if (index != SIZE_MAX)
            add(f, index, stamps->count > 1 ? stamps->list[i] : NULL);
    }
}

/* ----------------------------------------------------------------------------------------------- columns */

typedef enum flat_source {
    OF_ITEM,   /* a field of the item */
    OF_STAMPS, /* a field of its stamps */
    LABEL,
    CONTAINS_PRIVATE,
    STAMP_COUNT,
    STANDING,
    PLACES,
    BEST_CLAIM,
    CONCLUSION,
    POSTMARKS,
    SCAN_NAMES,
    VALUATIONS,
    ID
} flat_source;

typedef struct flat_column {
    const char *header;
    flat_source source;
    const char *field;
    const char *help;
    bool is_private;
} flat_column;

static const flat_column columns[] = {
    {"item", LABEL, NULL, "What the item is called", false},
    {"contains_private", CONTAINS_PRIVATE, NULL, "Whether the row holds something private", true},
    {"title", OF_ITEM, "title", NULL, false},
    {"kind", OF_ITEM, "kind", NULL, false},
    {"holding", OF_ITEM, "holding", NULL, false},
    {"stamps", STAMP_COUNT, NULL, "How many stamps it has", false},
    {"design", OF_STAMPS, "design", NULL, false},
    {"colour", OF_STAMPS, "colour", NULL, false},
    {"paper", OF_STAMPS, "paper", NULL, false},
    {"perforation", OF_STAMPS, "perforation", NULL, false},
    {"watermark", OF_STAMPS, "watermark", NULL, false},
    {"letters", OF_STAMPS, "letters", NULL, false},
    {"condition", OF_STAMPS, "condition", NULL, false},
    {"varieties", OF_STAMPS, "varieties", NULL, false},
    {"catalogue", OF_STAMPS, "catalogue", NULL, false},
    {"standing", STANDING, NULL, "What all claims on the stamp amount to", false},
    {"places", PLACES, NULL, "The places that are left for it", false},
    {"best_claim", BEST_CLAIM, NULL, "The claim that says most: an opinion, not a certificate", false},
    {"conclusion", CONCLUSION, NULL, "What somebody takes as settled for now", false},
    {"postmarks", POSTMARKS, NULL, "What the post put on it", false},
    {"scans", SCAN_NAMES, NULL, "Names of its scans", false},
    {"note", OF_ITEM, "note", NULL, false},
    {"storage", OF_ITEM, "storage", NULL, true},
    {"acquired", OF_ITEM, "acquired", NULL, true},
    {"source", OF_ITEM, "source", NULL, true},
    {"cost", OF_ITEM, "cost_minor", NULL, true},
    {"values", VALUATIONS, NULL, "Somebody's figures, each at its date", true},
    {"id", ID, NULL, "The item in the bundle", false},
};
enum { COLUMNS = sizeof columns / sizeof *columns };

static const flat_column *column_at(const flat *f, size_t number) {
    for (size_t i = 0; i < COLUMNS; i++) {
        if ((f->with_private || !columns[i].is_private) && number-- == 0)
            return &columns[i];
    }
    return &columns[COLUMNS - 1];
}

size_t flat_columns(const flat *f) {
    size_t count = 0;
    for (size_t i = 0; i < COLUMNS; i++)
        count += f->with_private || !columns[i].is_private;
    return count;
}

const char *flat_header(const flat *f, size_t column) {
    return column_at(f, column)->header;
}

const char *flat_help(const flat *f, size_t column) {
    const flat_column *of = column_at(f, column);
    if (of->help)
        return of->help;
    const char *type = of->source == OF_STAMPS ? "stamp" : "item";
    const glassine_field_info *info = glassine_type_field(glassine_type_find(type), of->field);
    return info ? info->help : NULL;
}

/* --------------------------------------------------------------------------------------------------- rows */

static bool holds_private(flat *f, const conv_view *item) {
    bool found = item->holds_private;
    for (size_t which = 0; which < PARTS && !found; which++) {
        for (size_t i = 0; i < f->parts[which].count && !found; i++)
            found = look(f, f->parts[which].list[i]) && f->view.holds_private;
    }
    return found;
}

static void fill(flat *f, const conv_view *item, const flat_column *column) {
    static const char *const marking[] = {"text", "town", "on", NULL}, *const scan[] = {"name", NULL},
                             *const value[] = {"kind", "amount_minor", "as_of", NULL};
    switch (column->source) {
    case OF_ITEM:
        conv_add(&f->list, text_of(f, item, column->field));
        break;
    case OF_STAMPS:
        add_stamp_field(f, column->field);
        break;
    case LABEL:
        conv_add(&f->list, conv_label(f->bundle, item->record, f->with_private));
        break;
    case CONTAINS_PRIVATE:
        conv_add_text(&f->list, holds_private(f, item) ? "yes" : "no");
        break;
    case STAMP_COUNT:
        conv_printf(&f->list, "%zu", f->parts[STAMPS].count);
        break;
    case STANDING:
        add_of_stamps(f, add_standing);
        break;
    case PLACES:
        add_of_stamps(f, add_places);
        break;
    case BEST_CLAIM:
        add_of_stamps(f, add_claim);
        break;
    case CONCLUSION:
        add_of_stamps(f, add_conclusions);
        break;
    case POSTMARKS:
        add_part_fields(f, MARKINGS, marking, ", ");
        break;
    case SCAN_NAMES:
        add_part_fields(f, SCANS, scan, "");
        break;
    case VALUATIONS:
        add_part_fields(f, VALUES, value, " ");
        break;
    case ID:
        conv_add(&f->list, glassine_record_id(f->bundle, item->record));
    }
}

static glassine_status gather(flat *f, glassine_record *item, int which, const char *type,
                              glassine_error *error) {
    part *to = &f->parts[which];
    glassine_record *const *found;
    size_t count;
    glassine_status status = glassine_record_referrers(f->bundle, item, type, false, &found, &count, error);
    to->count = 0;
    glassine_record **grown = status ? NULL : conv_grow(to->list, &to->room, count + 1, sizeof *grown);
    if (!grown)
        return status ? status : conv_fail_system(error, ENOMEM, NULL, "Cannot list what belongs to an item");
    to->list = grown;
    memcpy(grown, found, count * sizeof *grown);
    to->count = count;
    return GLASSINE_OK;
}

glassine_status flat_look(flat *f, tables *walk, glassine_error *error) {
    static const char *const types[PARTS] = {"stamp", "marking", "scan", "valuation"};
    glassine_status status = GLASSINE_OK;
    f->cautions = &walk->cautions;
    for (int which = 0; which < PARTS && !status; which++) {
        f->parts[which].count = 0;
        if (which != VALUES || f->with_private)
            status = gather(f, walk->view.record, which, types[which], error);
    }
    return status;
}

glassine_status flat_cell(flat *f, tables *walk, size_t column, conv_output *cell, glassine_error *error) {
    conv_clear(&f->list);
    f->error = error;
    f->status = GLASSINE_OK;
    fill(f, &walk->view, column_at(f, column));
    if (f->list.length)
        cell_text(cell, conv_span(&f->list));
    int failed = f->list.failed ? f->list.failed : f->element.failed ? f->element.failed : f->text.failed;
    cell->failed = cell->failed ? cell->failed : failed;
    return f->status;
}

/* ---------------------------------------------------------------------------------------------- beginning */

glassine_status flat_new(glassine_bundle *bundle, bool with_private, glassine_report *report, flat **out,
                         glassine_error *error) {
    bool hidden = false;
    flat *f = *out = calloc(1, sizeof *f);
    if (!f)
        return conv_fail_system(error, ENOMEM, NULL, "Cannot write the table");
    f->bundle = bundle;
    f->with_private = with_private;
    f->view = (conv_view){.bundle = bundle, .with_private = with_private};
    glassine_status status = with_private ? GLASSINE_OK : conv_grounds_are_private(bundle, &hidden, error);
    if (!status && !hidden)
        status = glassine_standings_new(bundle, NULL, &f->standings, error);
    if (hidden)
        glassine_report_finding(report, GLASSINE_WARNING, NULL, NULL, "Ask for it with --with-private",
                                "what the claims amount to rests on private statements, and is left out");
    return status;
}

void flat_free(flat *f) {
    if (!f)
        return;
    glassine_standings_free(f->standings);
    conv_view_free(&f->view);
    for (int which = 0; which < PARTS; which++)
        free(f->parts[which].list);
    conv_free(&f->list);
    conv_free(&f->element);
    conv_free(&f->text);
    free(f);
}
