/* A table: columns by display width, the widest ones wrapped where the page is too narrow. */
#include <stdlib.h>

#include "base/text.h"
#include "report/page.h"

#define BETWEEN ((size_t)2)
#define WORD_KEPT ((size_t)48) /* a longer word may be cut; TYPE/UUID is shorter for every type of ours */
#define RULE_MARK "─"

typedef struct column {
    uint32_t name; /* in the report's names */
    size_t natural, least, width;
    bool numbers;
    gl_buf text;  /* the cell being printed */
    gl_span rest; /* what of it is still to come */
} column;

typedef struct table {
    gl_page *page;
    column *columns;
    size_t count, room;
    size_t indent;
} table;

static void drop(table *t) {
    for (size_t i = 0; i < t->count; i++)
        gl_buf_free(&t->columns[i].text);
    free(t->columns);
}

/* --------------------------------------------------------------------------------------------- columns */

static size_t column_of(const table *t, uint32_t name, size_t guess) {
    if (guess < t->count && t->columns[guess].name == name)
        return guess;
    size_t at = 0;
    while (at < t->count && t->columns[at].name != name)
        at++;
    return at;
}

static void measure(column *c, gl_span shown) {
    size_t width = gl_text_width(shown), word = width;
    if (width > c->least)
        word = gl_page_widest_word(shown);
    c->natural = width > c->natural ? width : c->natural;
    word = word > WORD_KEPT ? WORD_KEPT : word;
    c->least = word > c->least ? word : c->least;
}

static void add_head(const table *t, uint32_t name, gl_buf *out) {
    gl_text_add_shown(out, t->page->report->names[name].label, false);
}

/* Behind the column that stands before it in its own row. */
static bool insert_column(table *t, size_t at, uint32_t name) {
    column *grown = gl_grow(t->columns, &t->room, t->count + 1, sizeof *grown);
    if (!grown)
        return false;
    t->columns = grown;
    memmove(grown + at + 1, grown + at, (t->count - at) * sizeof *grown);
    grown[at] = (column){.name = name, .numbers = true, .text = GL_BUF_EMPTY};
    t->count++;
    gl_buf shown = GL_BUF_EMPTY;
    add_head(t, name, &shown);
    measure(&grown[at], gl_buf_span(&shown));
    t->page->out.buf.failed |= shown.failed;
    gl_buf_free(&shown);
    return true;
}

static bool is_cell(const table *t, const glassine_node *node) {
    return gl_page_label(t->page, node).text && node->kind != GL_NODE_SAY && node->kind != GL_NODE_DRAWING;
}

/* What is no object has no cells. */
static const glassine_node *first_cell(const glassine_node *row) {
    return row->kind == GL_NODE_OBJECT ? gl_node_first(row) : NULL;
}

static bool measure_row(table *t, const glassine_node *row, gl_buf *shown) {
    size_t guess = 0;
    for (const glassine_node *cell = first_cell(row); cell; cell = cell->next) {
        if (!is_cell(t, cell))
            continue;
        size_t at = column_of(t, cell->name, guess);
        if (at == t->count && !insert_column(t, at = guess, cell->name))
            return false;
        gl_buf_clear(shown);
        gl_page_value(t->page, cell, false, shown);
        measure(&t->columns[at], gl_buf_span(shown));
        t->columns[at].numbers &= cell->kind == GL_NODE_INTEGER || cell->kind == GL_NODE_REAL;
        guess = at + 1;
    }
    return true;
}

static bool measure_rows(table *t, const glassine_node *rows) {
    gl_buf shown = GL_BUF_EMPTY;
    const glassine_node *row = gl_node_first(rows);
    while (row && measure_row(t, row, &shown))
        row = row->next;
    t->page->out.buf.failed |= shown.failed || row;
    gl_buf_free(&shown);
    return !row;
}

static size_t total(const table *t) {
    size_t sum = 0;
    for (size_t i = 0; i < t->count; i++)
        sum += t->columns[i].width + (i ? BETWEEN : 0);
    return sum;
}

static column *widest_that_gives(const table *t) {
    column *found = NULL;
    for (size_t i = 0; i < t->count; i++) {
        column *c = &t->columns[i];
        if (c->width > c->least && (!found || c->width >= found->width))
            found = c;
    }
    return found;
}

/* Takes columns away from the widest one, and of several from the last, until the table fits. */
static bool fit(table *t) {
    size_t room = t->page->width > t->indent ? t->page->width - t->indent : 0;
    for (size_t i = 0; i < t->count; i++) {
        column *c = &t->columns[i];
        c->least = c->numbers ? c->natural : c->least;
        c->width = c->natural > room && c->least < room ? room : c->natural;
    }
    for (size_t sum = total(t); sum > room; sum--) {
        column *giver = widest_that_gives(t);
        if (!giver)
            return false;
        giver->width--;
    }
    return true;
}

/* ------------------------------------------------------------------------------------------------ rows */

static void print_line(table *t, bool strong) {
    gl_page_start(t->page, t->indent);
    for (size_t i = 0; i < t->count; i++) {
        column *c = &t->columns[i];
        gl_span part = gl_page_take_line(&c->rest, c->width, true);
        size_t width = gl_text_width(part), pad = c->width > width ? c->width - width : 0;
        gl_page_spaces(t->page, (i ? BETWEEN : 0) + (c->numbers ? pad : 0));
        if (strong && part.length)
            gl_page_strong(t->page, part, GL_PAGE_BOLD);
        else
            gl_buf_add(&t->page->out.buf, part);
        gl_page_spaces(t->page, c->numbers ? 0 : pad);
    }
    gl_page_end(t->page);
}

static bool something_left(const table *t) {
    for (size_t i = 0; i < t->count; i++) {
        if (t->columns[i].rest.length)
            return true;
    }
    return false;
}

static void print_row(table *t, bool strong) {
    for (size_t i = 0; i < t->count; i++) {
        column *c = &t->columns[i];
        c->rest = gl_buf_span(&c->text);
        t->page->out.buf.failed |= c->text.failed;
    }
    do
        print_line(t, strong);
    while (something_left(t));
}

static void print_head(table *t) {
    for (size_t i = 0; i < t->count; i++)
        add_head(t, t->columns[i].name, &t->columns[i].text);
    print_row(t, true);
    gl_page_start(t->page, t->indent);
    for (size_t sum = total(t); sum > 0; sum--)
        gl_buf_add_text(&t->page->out.buf, RULE_MARK);
    gl_page_end(t->page);
}

static void print_rows(table *t, const glassine_node *rows) {
    for (const glassine_node *row = gl_node_first(rows); row; row = row->next) {
        if (row->kind != GL_NODE_OBJECT)
            continue;
        for (size_t i = 0; i < t->count; i++)
            gl_buf_clear(&t->columns[i].text);
        size_t guess = 0;
        for (const glassine_node *cell = first_cell(row); cell; cell = cell->next) {
            if (!is_cell(t, cell))
                continue;
            size_t at = column_of(t, cell->name, guess);
            gl_page_value(t->page, cell, false, &t->columns[at].text);
            guess = at + 1;
        }
        print_row(t, false);
    }
}

bool gl_page_table(gl_page *page, const glassine_node *rows, size_t indent) {
    table t = {.page = page, .indent = indent};
    bool found = measure_rows(&t, rows);
    bool fits = found && fit(&t);
    if (fits && t.count) {
        print_head(&t);
        print_rows(&t, rows);
    }
    drop(&t);
    return fits || !found;
}
