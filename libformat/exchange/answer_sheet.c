#include "exchange/answer_sheet.h"

#include <stdlib.h>

#include "base/text.h"
#include "exchange/letter.h"

/* Columns, in the order of the sheet that is written; in one that is read they may stand in any other. */
enum { QUESTION, STAMP, POSITIONS, PLATE, STATE, SURE, OTHERWISE, REMARK, SENT, COLUMNS };
static const char *const headers[COLUMNS] = {"question", "stamp",     "positions", "plate", "state",
                                             "how sure", "otherwise", "remark",    "sent"};

/* ---- writing: RFC 4180, a byte order mark before it, for spreadsheet programs ---- */

/* A text that a spreadsheet program would take for a formula gets an apostrophe before it. */
static void add_cell(gl_buf *out, gl_span text, bool first) {
    gl_buf_add_text(out, first ? "\"" : ",\"");
    if (text.length && strchr("=+-@", text.text[0]))
        gl_buf_add_char(out, '\'');
    for (size_t i = 0; i < text.length; i++) {
        if (text.text[i] == '"')
            gl_buf_add_char(out, '"');
        gl_buf_add_char(out, text.text[i] == '\n' ? ' ' : text.text[i]);
    }
    gl_buf_add_char(out, '"');
}

glassine_status gl_answer_sheet_write(glassine_bundle *sent, const gl_span *items, size_t count, gl_buf *out,
                                      glassine_error *error) {
    gl_span *stamps;
    size_t stamp_count;
    glassine_status status = gl_letter_stamps(sent, items, count, &stamps, &stamp_count, error);
    if (status)
        return status;
    gl_buf_add_text(out, "\xef\xbb\xbf");
    for (int i = 0; i < COLUMNS; i++)
        gl_buf_printf(out, "%s%s", i ? "," : "", headers[i]);
    gl_buf_add_text(out, "\r\n");
    for (size_t i = 0; i < stamp_count; i++) {
        glassine_record *stamp = glassine_bundle_record(sent, stamps[i], GL_NO_SPAN);
        gl_buf_printf(out, "%zu", i + 1);
        add_cell(out, glassine_record_label(sent, stamp), false);
        gl_buf_printf(out, ",,,,,,,%s\r\n", sent->about.event);
    }
    return GLASSINE_OK;
}

/* ---- reading: what a spreadsheet program made of it ---- */

typedef struct rows {
    gl_span rest;
    char separator;
    gl_arena *arena;
    gl_span cells[COLUMNS]; /* of the row at hand, by column */
    int column_of[64];      /* which column stands in this place; -1: one of theirs */
    size_t width;
    bool failed;
} rows;

static bool same_word(gl_span a, const char *b) {
    if (a.length != strlen(b))
        return false;
    for (size_t i = 0; i < a.length; i++)
        if ((a.text[i] >= 'A' && a.text[i] <= 'Z' ? a.text[i] + 32 : a.text[i]) != b[i])
            return false;
    return true;
}

/* One cell off the rest; *last where its row ends with it. */
static gl_span take_cell(rows *it, bool *last) {
    gl_buf cell = GL_BUF_EMPTY;
    const char *at = it->rest.text, *end = at + it->rest.length;
    bool quoted = at < end && *at == '"';
    at += quoted;
    for (; at < end; at++) {
        if (quoted && *at == '"' && at + 1 < end && at[1] == '"')
            at++;
        else if (quoted && *at == '"') {
            quoted = false;
            continue;
        } else if (!quoted && (*at == it->separator || *at == '\n'))
            break;
        gl_buf_add_char(&cell, *at == '\n' ? ' ' : *at);
    }
    *last = at == end || *at == '\n';
    at += at < end;
    it->rest = (gl_span){at, (size_t)(end - at)};
    gl_span kept = gl_arena_copy(it->arena, gl_text_trim(gl_buf_span(&cell)));
    it->failed = it->failed || cell.failed || !kept.text;
    gl_buf_free(&cell);
    return kept.text ? kept : GL_SPAN("");
}

static bool take_row(rows *it) {
    if (!it->rest.length || it->failed)
        return false;
    bool last = false;
    for (int i = 0; i < COLUMNS; i++)
        it->cells[i] = GL_SPAN("");
    for (size_t place = 0; !last; place++) {
        gl_span cell = take_cell(it, &last);
        if (place < it->width && it->column_of[place] >= 0)
            it->cells[it->column_of[place]] = cell;
    }
    return true;
}

/* The header: which column stands where. False where it is none of ours. */
static bool open_rows(gl_span text, gl_arena *arena, rows *it) {
    static const char separators[] = {',', ';'};
    unsigned wanted = 1u << QUESTION | 1u << STAMP | 1u << POSITIONS | 1u << SENT;
    for (size_t s = 0; s < sizeof separators; s++) {
        *it = (rows){.rest = text, .separator = separators[s], .arena = arena};
        unsigned found = 0;
        for (bool last = false; !last;) {
            gl_span cell = take_cell(it, &last);
            if (it->width == sizeof it->column_of / sizeof *it->column_of)
                break;
            it->column_of[it->width] = -1;
            for (int c = 0; c < COLUMNS; c++)
                if (same_word(cell, headers[c])) {
                    it->column_of[it->width] = c;
                    found |= 1u << c;
                }
            it->width++;
        }
        if ((found & wanted) == wanted)
            return true;
    }
    return false;
}

bool gl_answer_sheet_is(gl_span text) {
    rows it;
    gl_arena *arena = gl_arena_new();
    const char *feed = memchr(text.text, '\n', text.length);
    gl_span header = gl_span_part(text, 0, feed ? (size_t)(feed - text.text) : text.length);
    bool is = arena && open_rows(header, arena, &it);
    gl_arena_free(arena);
    return is;
}

gl_span gl_answer_sheet_event(gl_span text, gl_answer_list *list) {
    rows it;
    gl_span event = GL_NO_SPAN;
    if (!list->arena)
        list->arena = gl_arena_new();
    if (!list->arena || !open_rows(text, list->arena, &it))
        return event;
    while (take_row(&it)) {
        gl_span named = it.cells[SENT];
        if (named.length && event.text && !gl_span_equal(named, event))
            return GL_NO_SPAN;
        event = named.length ? named : event;
    }
    return event;
}

static bool is_empty(const rows *it) {
    for (int i = POSITIONS; i < SENT; i++)
        if (it->cells[i].length)
            return false;
    return true;
}

static void add_words(gl_buf *out, const char *before, gl_span cell) {
    if (cell.length)
        gl_buf_printf(out, "%s%s%.*s", out->length ? ", " : "", before, GL_SPAN_ARGS(cell));
}

/* The number of the row's question; 0, and why, where it has none, or is about another stamp than that. */
static uint32_t question_of(const rows *it, const gl_span *labels, size_t count, const char **why) {
    gl_span digits = it->cells[QUESTION], label = it->cells[STAMP];
    uint32_t number = 0;
    for (size_t i = 0; i < digits.length && number <= count; i++)
        number = digits.text[i] >= '0' && digits.text[i] <= '9'
                     ? number * 10 + (uint32_t)(digits.text[i] - '0')
                     : UINT32_MAX;
    if (label.length && label.text[0] == '\'')
        label = gl_span_part(label, 1, label.length);
    *why = !number || number > count ? "there is no such question"
           : label.length && !gl_span_equal(label, labels[number - 1])
               ? "the row is about another stamp than the question"
               : NULL;
    return *why ? 0 : number;
}

static bool add_row(const rows *it, const gl_span *labels, size_t count, gl_answer_list *list) {
    gl_answer_words *grown = gl_grow(list->list, &list->room, list->count + 1, sizeof *list->list);
    gl_buf words = GL_BUF_EMPTY;
    if (!grown)
        return false;
    list->list = grown;
    gl_answer_words *row = &list->list[list->count++];
    *row = (gl_answer_words){.remark = it->cells[REMARK], .empty = is_empty(it)};
    row->number = question_of(it, labels, count, &row->why);
    if (row->empty) /* nothing to ask about */
        row->why = NULL;
    add_words(&words, "", it->cells[POSITIONS]);
    add_words(&words, "plate ", it->cells[PLATE]);
    add_words(&words, "", it->cells[STATE]);
    add_words(&words, "", it->cells[SURE]);
    add_words(&words, "", it->cells[OTHERWISE]);
    row->words = gl_arena_copy(list->arena, gl_buf_span(&words));
    bool done = !words.failed && row->words.text;
    gl_buf_free(&words);
    return done;
}

bool gl_answer_sheet_read(gl_span text, const gl_span *labels, size_t count, gl_answer_list *list) {
    rows it;
    if (!list->arena)
        list->arena = gl_arena_new();
    if (!list->arena)
        return false;
    bool done = open_rows(text, list->arena, &it);
    while (done && take_row(&it))
        done = add_row(&it, labels, count, list);
    return done && !it.failed;
}
