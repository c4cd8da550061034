#include "csv_get.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include "encoding.h"

/* ---------------------------------------------------------------------------------------- the delimiter */

#define ROWS_LOOKED_AT 50
#define BYTES_LOOKED_AT ((size_t)1 << 18)

/* Behind the closing quote of the cell that opens at `at`. */
static size_t quoted_end(glassine_span text, size_t at) {
    for (at++; at < text.length; at++) {
        if (text.text[at] != '"')
            continue;
        if (at + 1 == text.length || text.text[at + 1] != '"')
            return at + 1;
        at++;
    }
    return at;
}

static bool ends_row(glassine_span text, size_t at) {
    return at >= text.length || text.text[at] == '\n' || text.text[at] == '\r';
}

/* Cells of the row at *at, which goes on to the next one; 0: an empty row, or one in which something stands
 * behind a closing quote. */
static size_t count_cells(glassine_span text, size_t *at, char delimiter) {
    size_t cells = 1, start = *at;
    bool fresh = true, good = true;
    while (!ends_row(text, *at)) {
        if (fresh && text.text[*at] == '"') {
            *at = quoted_end(text, *at);
            while (*at < text.length && text.text[*at] == ' ')
                ++*at;
            good = good && (ends_row(text, *at) || text.text[*at] == delimiter);
            fresh = false;
            continue;
        }
        fresh = text.text[(*at)++] == delimiter;
        cells += fresh;
    }
    bool empty = *at == start;
    while (*at < text.length && ends_row(text, *at))
        ++*at;
    return empty || !good ? 0 : cells;
}

typedef struct score {
    size_t alike, cells; /* rows of the most frequent number of cells, and that number */
} score;

static score try_delimiter(glassine_span text, char delimiter) {
    size_t counts[ROWS_LOOKED_AT], rows = 0;
    score best = {0, 1};
    if (text.length > BYTES_LOOKED_AT)
        text.length = BYTES_LOOKED_AT;
    for (size_t at = 0; at < text.length && rows < ROWS_LOOKED_AT;) {
        counts[rows] = count_cells(text, &at, delimiter);
        rows += counts[rows] > 0;
    }
    for (size_t i = 0; i < rows; i++) {
        score here = {0, counts[i]};
        for (size_t k = 0; k < rows; k++)
            here.alike += counts[k] == counts[i];
        if (counts[i] > 1 &&
            (here.alike > best.alike || (here.alike == best.alike && here.cells > best.cells)))
            best = here;
    }
    return best;
}

/* Is the word a cell of the first row? Headers of ours hold no delimiter, quoted or not. */
static bool heads(glassine_span text, const char *word, char delimiter) {
    size_t length = strlen(word), end = 0;
    while (end < text.length && text.text[end] != '\n' && text.text[end] != '\r')
        end++;
    for (size_t at = 0; at < end; at++) {
        size_t from = at, to = at;
        while (to < end && text.text[to] != delimiter)
            to++;
        at = to;
        if (to - from == length + 2 && text.text[from] == '"' && text.text[to - 1] == '"') {
            from++;
            to--;
        }
        if (to - from == length && memcmp(text.text + from, word, length) == 0)
            return true;
    }
    return false;
}

/* Of signs that do equally well the one counts that is rarest in texts. */
char csv_find_delimiter(glassine_span text) {
    static const char candidates[] = "\t;|,";
    char found = ',';
    for (size_t i = 0; candidates[i]; i++) {
        if (heads(text, "id", candidates[i]) && heads(text, "version", candidates[i]))
            return candidates[i];
    }
    score best = {0, 1};
    for (size_t i = 0; candidates[i]; i++) {
        score here = try_delimiter(text, candidates[i]);
        if (here.alike > best.alike || (here.alike == best.alike && here.cells > best.cells)) {
            best = here;
            found = candidates[i];
        }
    }
    return found;
}

/* "sep=;" as the first line, as some programs write and take it; the length of that line. */
static size_t said_delimiter(glassine_span text, char *delimiter) {
    if (text.length < 5 || memcmp(text.text, "sep=", 4) != 0)
        return 0;
    size_t end = 5;
    while (end < text.length && (text.text[end] == '\r' || text.text[end] == '\n') && end < 7)
        end++;
    if (end == 5 && text.length > 5)
        return 0;
    *delimiter = text.text[4];
    return end;
}

/* --------------------------------------------------------------------------------------------- the cells */

typedef struct parser {
    grid *sheet;
    char *at, *end;
    uint64_t line;
    size_t column; /* from 0 */
    glassine_error *error;
} parser;

static glassine_status wrong(const parser *p, uint64_t line, const char *remedy, const char *message) {
    conv_output place = {0};
    grid_say_place(&place, p->sheet, line, p->column, (glassine_span){NULL, 0});
    glassine_status status = conv_fail(p->error, GLASSINE_REFUSED, place.text, remedy, message);
    conv_free(&place);
    return status;
}

static glassine_status has_nul(const parser *p) {
    return wrong(p, p->line, "Export the sheet again as CSV", "a NUL byte, which no text has");
}

static bool at_line_end(const parser *p) {
    return p->at == p->end || *p->at == '\r' || *p->at == '\n';
}

static void count_line(parser *p) {
    p->line += *p->at == '\n' || (*p->at == '\r' && (p->at + 1 == p->end || p->at[1] != '\n'));
}

/* RFC 4180 section 2, rules 5 to 7. Doubled quotes become one, in place. */
static glassine_status get_quoted(parser *p, grid_cell *cell) {
    uint64_t opened = p->line;
    char *to = ++p->at;
    cell->text = to;
    for (;; p->at++) {
        if (p->at == p->end)
            return wrong(p, opened, "Close it, or double it where it is part of the text",
                         "a quote opens here and is never closed");
        if (*p->at == '\0')
            return has_nul(p);
        if (*p->at == '"') {
            p->at++;
            if (p->at == p->end || *p->at != '"')
                break;
        }
        count_line(p);
        *to++ = *p->at;
    }
    cell->length = (uint32_t)(to - cell->text);
    while (p->at < p->end && *p->at == ' ' && p->sheet->delimiter != ' ')
        p->at++;
    if (at_line_end(p) || *p->at == p->sheet->delimiter)
        return GLASSINE_OK;
    return wrong(p, p->line, "A quote within a quoted cell is doubled", "text stands behind a closing quote");
}

/* A quote within is kept as it is: programs write it so. */
static glassine_status get_plain(parser *p, grid_cell *cell) {
    cell->text = p->at;
    while (!at_line_end(p) && *p->at != p->sheet->delimiter) {
        if (*p->at == '\0')
            return has_nul(p);
        p->at++;
    }
    cell->length = (uint32_t)(p->at - cell->text);
    return GLASSINE_OK;
}

static glassine_status get_row(parser *p) {
    glassine_status status = GLASSINE_OK;
    p->column = 0;
    for (bool more = true; more && !status; p->column++) {
        grid_cell cell = {0};
        if (p->column == GRID_COLUMNS_MOST || p->sheet->cell_count == GRID_CELLS_MOST)
            return wrong(p, p->line, "Split the sheet", "there are more cells than can be read");
        status = p->at < p->end && *p->at == '"' ? get_quoted(p, &cell) : get_plain(p, &cell);
        if (!status && !grid_add_cell(p->sheet, cell))
            status = conv_fail_system(p->error, ENOMEM, p->sheet->place, "Cannot read the sheet");
        more = !status && p->at < p->end && *p->at == p->sheet->delimiter;
        p->at += more;
    }
    return status;
}

static void skip_line_end(parser *p) {
    if (p->at == p->end)
        return;
    p->line++;
    p->at += *p->at == '\r' && p->at + 1 < p->end && p->at[1] == '\n' ? 2 : 1;
}

glassine_status csv_parse(grid *sheet, char *text, size_t length, uint64_t line, glassine_error *error) {
    parser p = {.sheet = sheet, .at = text, .end = text + length, .line = line, .error = error};
    glassine_status status = GLASSINE_OK;
    while (p.at < p.end && !status) {
        if (at_line_end(&p)) {
            skip_line_end(&p);
            continue;
        }
        if (!grid_add_row(sheet, p.line))
            return conv_fail_system(error, ENOMEM, sheet->place, "Cannot read the sheet");
        status = get_row(&p);
        if (!status)
            skip_line_end(&p);
    }
    return status;
}

/* ---------------------------------------------------------------------------------------------- the file */

static glassine_status cannot_read(int code, const char *path, glassine_error *error) {
    glassine_status status = conv_fail_system(error, code, path, "Cannot be read");
    bool named = code == ENOENT || code == ENOTDIR || code == EISDIR;
    if (named && error)
        error->status = GLASSINE_REFUSED;
    return named ? GLASSINE_REFUSED : status;
}

glassine_status file_get(const char *path, conv_output *out, glassine_error *error) {
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return cannot_read(errno, path, error);
    char piece[1 << 16];
    ssize_t got;
    int code = 0;
    while (!out->failed && out->length <= GRID_FILE_MOST && (got = read(fd, piece, sizeof piece)) != 0) {
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0) {
            code = errno;
            break;
        }
        conv_add(out, (glassine_span){piece, (size_t)got});
    }
    close(fd);
    if (code)
        return cannot_read(code, path, error);
    if (out->failed)
        return conv_fail_system(error, out->failed, path, "Cannot be read");
    return out->length > GRID_FILE_MOST
               ? conv_fail(error, GLASSINE_REFUSED, path, "Split it", "the file is greater than 512 MiB")
               : GLASSINE_OK;
}

glassine_status csv_get(const char *path, const csv_reading *how, grid *sheet, glassine_error *error) {
    *sheet = (grid){0};
    conv_output bytes = {0}, text = {0};
    glassine_status status = file_get(path, &bytes, error);
    if (!status && !grid_name(sheet, path, NULL))
        status = conv_fail_system(error, ENOMEM, path, "Cannot read the sheet");
    if (!status) {
        sheet->encoding = how && how->encoding ? how->encoding : encoding_find(conv_span(&bytes));
        status = encoding_decode(conv_span(&bytes), sheet->encoding, path, &text, error);
    }
    conv_free(&bytes);
    sheet->text = text.text;
    if (status)
        return status;
    sheet->delimiter = how ? how->delimiter : 0;
    size_t from = said_delimiter(conv_span(&text), sheet->delimiter ? &(char){0} : &sheet->delimiter);
    if (!sheet->delimiter)
        sheet->delimiter = csv_find_delimiter(conv_span(&text));
    return text.length > from ? csv_parse(sheet, text.text + from, text.length - from, from ? 2 : 1, error)
                              : GLASSINE_OK;
}
