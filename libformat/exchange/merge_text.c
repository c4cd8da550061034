#include "exchange/merge_text.h"

#include <stdlib.h>

#include "base/text.h"
#include "bundle/names.h"
#include "exchange/contested.h"
#include "exchange/subject.h"
#include "report/report.h"

enum { SOURCES_MOST = 20, BLOCKS_MOST = 5, STAMPS_MOST = 12, GROUPS_MOST = 64, SOURCE_WIDTH = 36 };

void gl_merge_text_type(gl_span type, uint64_t count, gl_buf *out) {
    if (count)
        gl_buf_printf(out, "%llu ", (unsigned long long)count);
    for (size_t i = 0; i < type.length; i++)
        gl_buf_add_char(out, type.text[i] == '_' ? ' ' : type.text[i]);
    if (count > 1)
        gl_buf_add_text(out, type.length && type.text[type.length - 1] == 'h' ? "es" : "s");
}

void gl_merge_text_subject(glassine_node *row, glassine_bundle *bundle, const glassine_merge_note *note,
                           const glassine_merge_note *before) {
    gl_span item = note->item ? glassine_record_label(bundle, note->item) : GL_SPAN("");
    gl_buf what = GL_BUF_EMPTY;
    if (!before || note->record != before->record)
        gl_record_called(bundle, note->record, note->item, &what);
    glassine_node_text(row, NULL, "item", before && note->item == before->item ? GL_SPAN("") : item);
    gl_node_buf(row, NULL, "what", &what);
}

void gl_merge_text_word(gl_span word, gl_buf *out) {
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./=,:+-";
    bool bare = word.length > 0;
    for (size_t i = 0; i < word.length && bare; i++)
        bare = word.text[i] && strchr(plain, word.text[i]);
    if (bare) {
        gl_buf_add(out, word);
        return;
    }
    gl_buf_add_char(out, '\'');
    for (size_t i = 0; i < word.length; i++)
        if (word.text[i] == '\'')
            gl_buf_add_text(out, "'\\''");
        else
            gl_buf_add_char(out, word.text[i]);
    gl_buf_add_char(out, '\'');
}

void gl_merge_text_name(glassine_bundle *bundle, glassine_record *record, gl_buf *out) {
    enum { DIGITS = 8 };
    gl_span type = glassine_record_type(bundle, record), id = gl_record_id(bundle, record);
    bool stamp = gl_span_is(type, "stamp");
    if (!stamp && !gl_span_is(type, "item")) {
        gl_buf_add(out, gl_span_part(id, 0, type.length + 1 + DIGITS));
        return;
    }
    gl_span label = glassine_record_label(bundle, record);
    glassine_record *item = gl_item_of(bundle, record);
    bool alone = stamp && item && gl_span_equal(label, glassine_record_label(bundle, item));
    gl_buf name = GL_BUF_EMPTY;
    gl_buf_printf(&name, "%.*s%s", GL_SPAN_ARGS(label), alone ? ".1" : ""); /* the stamp, and not its item */
    gl_merge_text_word(gl_buf_span(&name), out);
    out->failed = out->failed || name.failed;
    gl_buf_free(&name);
}

/* ---------------------------------------------------------------------------------------------- sources */

/* The end of a path that is too long for a table. */
static void add_path(glassine_node *row, const char *path) {
    size_t length = strlen(path), start = length > SOURCE_WIDTH ? length - SOURCE_WIDTH : 0;
    while ((path[start] & 0xC0) == 0x80)
        start++;
    glassine_node_format(row, NULL, "source", "%s%s", start ? "…" : "", path + start);
}

void gl_merge_text_sources(glassine_node *result, const char *heading, const glassine_merge_note *notes,
                           size_t count) {
    size_t refused = 0;
    for (size_t i = 0; i < count; i++)
        refused += notes[i].source->refused;
    if (!refused && (count == 1 || count > SOURCES_MOST))
        return; /* the first sentence says it all */
    glassine_node *table = glassine_node_table(result, NULL, count > SOURCES_MOST ? "Left out" : heading);
    for (size_t i = 0, rows = 0; i < count && rows < GL_MERGE_ROWS_MOST; i++) {
        const glassine_merge_source *source = notes[i].source;
        if (count > SOURCES_MOST && !source->refused)
            continue;
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        add_path(row, source->path);
        glassine_node_string(row, NULL, "what", source->refused ? "left out" : source->kind);
        glassine_node_integer(row, NULL, "new statements", (int64_t)source->slips);
        glassine_node_integer(row, NULL, "known", (int64_t)source->known);
        glassine_node_integer(row, NULL, "new scans", (int64_t)source->scans);
        rows++;
    }
}

/* -------------------------------------------------------------------------------------------- contested */

static void add_contested_rows(glassine_node *table, glassine_bundle *bundle, const glassine_merge_note *note,
                               const glassine_merge_note *before) {
    enum { DAY = 10 };
    for (size_t i = 0; i < note->is->saying_count; i++) {
        const glassine_saying *said = &note->is->sayings[i];
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        gl_merge_text_subject(row, bundle, note, i ? note : before);
        glassine_node_text(row, NULL, "field", i ? GL_SPAN("") : note->is->name);
        glassine_node_text(row, NULL, "value",
                           said->value.text ? glassine_value_shown(bundle, said->value, note->is->info)
                                            : GL_SPAN("(taken away)"));
        glassine_node_text(row, NULL, "by", gl_person_shown(bundle, said->by));
        glassine_node_text(row, NULL, "on", gl_span_part(said->at, 0, DAY));
        glassine_node_text(row, NULL, "why", said->why.text ? said->why : GL_SPAN(""));
    }
}

void gl_merge_text_contested(glassine_node *result, const char *heading, glassine_bundle *bundle,
                             const glassine_merge_note *notes, size_t count) {
    bool few = count <= BLOCKS_MOST;
    glassine_node *part =
        few ? glassine_node_list(result, NULL, heading) : glassine_node_table(result, NULL, heading);
    for (size_t i = 0; i < count && i < GL_MERGE_ROWS_MOST; i++)
        if (few)
            gl_report_contested_field(bundle, notes[i].record, notes[i].is, notes[i].first, NULL, part);
        else
            add_contested_rows(part, bundle, &notes[i], i ? &notes[i - 1] : NULL);
}

/* --------------------------------------------------------------------------------------------- combined */

static const glassine_saying *came_in(const glassine_field *field, uint32_t first) {
    for (size_t i = 0; i < field->saying_count; i++)
        if (field->sayings[i].slip >= first)
            return &field->sayings[i];
    return NULL;
}

/* The fields that whoever spoke now had before them: what was said there is nothing that they did not know
 * of. */
static const glassine_field *known_then(glassine_bundle *bundle, const glassine_merge_note *notes,
                                        size_t count, size_t *known_count) {
    char(*slips)[65] = calloc(count, sizeof *slips);
    const glassine_field *known = NULL;
    size_t slip_count = 0;
    *known_count = 0;
    for (size_t i = 0; slips && i < count; i++) {
        const glassine_saying *came = came_in(notes[i].is, notes[i].first);
        if (came)
            memcpy(slips[slip_count++], glassine_bundle_slip(bundle, came->slip).digest, sizeof *slips);
    }
    if (!slip_count || glassine_record_fields_at(bundle, notes->record, (const char(*)[65])slips, slip_count,
                                                 &known, known_count, NULL))
        *known_count = 0;
    free(slips);
    return known;
}

static bool was_known(const glassine_field *known, size_t count, const glassine_field *field) {
    for (size_t i = 0; i < count; i++)
        if (known[i].reach == field->reach && gl_span_equal(known[i].name, field->name))
            return known[i].sayings[0].slip == field->sayings[0].slip;
    return false;
}

/* "paper thick (Odile Farrow)" */
static void add_said(glassine_bundle *bundle, const glassine_field *field, const glassine_saying *said,
                     gl_buf *out) {
    gl_buf_printf(out, "%s%.*s ", out->length ? ", " : "", GL_SPAN_ARGS(field->name));
    gl_field_shown(bundle, field, out);
    gl_buf_printf(out, " (%.*s)", GL_SPAN_ARGS(gl_person_shown(bundle, said->by)));
}

static void add_combined(glassine_node *table, glassine_bundle *bundle, const glassine_merge_note *notes,
                         size_t count, const glassine_merge_note *before) {
    gl_buf came = GL_BUF_EMPTY, was = GL_BUF_EMPTY;
    size_t known_count;
    const glassine_field *known = known_then(bundle, notes, count, &known_count);
    for (size_t i = 0; i < count; i++) {
        const glassine_field *field = notes[i].is;
        const glassine_saying *now = came_in(field, notes[i].first);
        if (now || !was_known(known, known_count, field))
            add_said(bundle, field, now ? now : &field->sayings[0], now ? &came : &was);
    }
    glassine_node *row = glassine_node_object(table, NULL, NULL);
    gl_merge_text_subject(row, bundle, notes, before);
    gl_node_buf(row, NULL, "was here", &was);
    gl_node_buf(row, NULL, "came now", &came);
}

void gl_merge_text_combined(glassine_node *result, const char *heading, glassine_bundle *bundle,
                            const glassine_merge_note *notes, size_t count) {
    glassine_node *table = glassine_node_table(result, NULL, heading);
    const glassine_merge_note *before = NULL;
    for (size_t i = 0, next, rows = 0; i < count && rows < GL_MERGE_ROWS_MOST; i = next, rows++) {
        for (next = i + 1; next < count && notes[next].record == notes[i].record; next++)
            ;
        add_combined(table, bundle, &notes[i], next - i, before);
        before = &notes[i];
    }
}

/* -------------------------------------------------------------------------------------------- standings */

/* "placed: plate 1: 64", taken apart. */
typedef struct shown_standing {
    gl_span standing, plate, places; /* "placed", "plate 1", "64"; plate and places may be empty */
} shown_standing;

static bool cut(gl_span text, const char *at, gl_span *before, gl_span *after) {
    size_t length = strlen(at);
    for (size_t i = 0; i + length <= text.length; i++)
        if (memcmp(text.text + i, at, length) == 0) {
            *before = gl_span_part(text, 0, i);
            *after = gl_span_part(text, i + length, text.length);
            return true;
        }
    *before = text;
    *after = GL_SPAN("");
    return false;
}

static shown_standing apart(const char *text) {
    shown_standing it = {0};
    gl_span rest, one;
    cut(gl_span_of(text ? text : "not here"), ": ", &it.standing, &rest);
    if (cut(rest, "; ", &one, &it.places)) {
        it.plate = GL_SPAN("several plates");
        it.places = GL_SPAN("");
        return it;
    }
    cut(rest, ": ", &it.plate, &rest);
    cut(rest, ": ", &it.places, &rest); /* of "2 positions: 4, 14" the count */
    return it;
}

/* Stamps that went the same way. */
typedef struct group {
    shown_standing was, is;
    gl_buf stamps;
    size_t count;
} group;

static int rank_of(gl_span standing) {
    static const char *const order[] = {"disputed", "corroborated", "placed", "narrowed", NULL};
    int rank = 0;
    while (order[rank] && !gl_span_is(standing, order[rank]))
        rank++;
    return rank;
}

static int by_rank(const void *a, const void *b) {
    const group *x = a, *y = b;
    int order = rank_of(x->is.standing) - rank_of(y->is.standing);
    if (!order)
        order = gl_span_compare(x->is.plate, y->is.plate);
    return order ? order : gl_span_compare(x->was.standing, y->was.standing);
}

static group *group_of(group *groups, size_t *count, shown_standing was, shown_standing is) {
    for (size_t i = 0; i < *count; i++)
        if (gl_span_equal(groups[i].was.standing, was.standing) &&
            gl_span_equal(groups[i].is.standing, is.standing) && gl_span_equal(groups[i].is.plate, is.plate))
            return &groups[i];
    if (*count == GROUPS_MOST)
        return NULL;
    groups[*count] = (group){.was = was, .is = is, .stamps = GL_BUF_EMPTY};
    return &groups[(*count)++];
}

static void add_groups(glassine_node *table, glassine_bundle *bundle, const glassine_merge_note *notes,
                       size_t count) {
    group groups[GROUPS_MOST];
    size_t group_count = 0;
    for (size_t i = 0; i < count; i++) {
        shown_standing was = apart(notes[i].before), is = apart(notes[i].text);
        group *on = group_of(groups, &group_count, was, is);
        if (!on || on->count++ >= GL_MERGE_ROWS_MOST)
            continue;
        gl_buf_printf(&on->stamps, "%s%.*s", on->stamps.length ? ", " : "",
                      GL_SPAN_ARGS(glassine_record_label(bundle, notes[i].record)));
        if (is.places.length)
            gl_buf_printf(&on->stamps, " (%.*s)", GL_SPAN_ARGS(is.places));
    }
    qsort(groups, group_count, sizeof *groups, by_rank);
    for (size_t i = 0; i < group_count; i++) {
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        glassine_node_format(row, NULL, "now", "%.*s%s%.*s", GL_SPAN_ARGS(groups[i].is.standing),
                             groups[i].is.plate.length ? ", " : "", GL_SPAN_ARGS(groups[i].is.plate));
        glassine_node_text(row, NULL, "before", groups[i].was.standing);
        glassine_node_integer(row, NULL, "stamps", (int64_t)groups[i].count);
        gl_node_buf(row, NULL, "which, and where", &groups[i].stamps);
    }
}

void gl_merge_text_standings(glassine_node *result, const char *heading, glassine_bundle *bundle,
                             const glassine_merge_note *notes, size_t count) {
    glassine_node *table = glassine_node_table(result, NULL, heading);
    gl_names_expect(bundle->names, "stamp", count);
    if (count > STAMPS_MOST) {
        add_groups(table, bundle, notes, count);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        glassine_node_text(row, NULL, "stamp", glassine_record_label(bundle, notes[i].record));
        glassine_node_string(row, NULL, "was", notes[i].before ? notes[i].before : "not here");
        glassine_node_string(row, NULL, "is", notes[i].text);
    }
}
