#include "xlsx_in.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>

#include <expat.h>

#include "zip_in.h"

#define TEXT_MOST ((size_t)1 << 29) /* bytes of all strings of a workbook, or of a sheet */

enum { STRINGS, BOOK, RELATIONS, STYLES, SHEET };

/* One member on its way through the parser. */
typedef struct reading {
    xlsx_book *book;
    int what;
    grid *sheet; /* that is read */
    XML_Parser parser;
    glassine_error *error;
    glassine_status status; /* of the first thing that was refused */
    conv_output text;       /* of the element in hand */
    bool keep;              /* text is wanted */
    unsigned phonetic;      /* inside of how many <rPh> */
    char custom[64][128];   /* codes of number formats of the workbook's own */
    unsigned custom_number[64];
    size_t custom_count;
    bool in_cell_styles;
    /* of a sheet */
    conv_output texts; /* of cells, kept by their offsets until the sheet is through */
    bool *own_text;    /* by cell: its text is an offset into `texts` */
    size_t own_room;
    uint64_t row;
    size_t column;
    char type[12];
    size_t style;
    bool has_value;
} reading;

static void refuse(reading *r, const char *message) {
    if (!r->status)
        r->status = conv_fail(r->error, GLASSINE_REFUSED, r->book->path, "Save it again, or export it as CSV",
                              message);
    XML_StopParser(r->parser, XML_FALSE);
}

static void out_of_memory(reading *r) {
    if (!r->status)
        r->status = conv_fail_system(r->error, ENOMEM, r->book->path, "Cannot read the workbook");
    XML_StopParser(r->parser, XML_FALSE);
}

static const char *local(const char *name) {
    const char *colon = strrchr(name, ':');
    return colon ? colon + 1 : name;
}

static bool is(const char *name, const char *wanted) {
    return strcmp(local(name), wanted) == 0;
}

static const char *attribute(const char **list, const char *name) {
    for (size_t i = 0; list[i]; i += 2) {
        if (is(list[i], name))
            return list[i + 1];
    }
    return NULL;
}

static char *copied(reading *r, const char *text) {
    char *copy = strdup(text ? text : "");
    if (!copy)
        out_of_memory(r);
    return copy;
}

/* --------------------------------------------------------------------------------------------- the book */

static void start_book(reading *r, const char *name, const char **attributes) {
    xlsx_book *book = r->book;
    const char *from_1904 = attribute(attributes, "date1904");
    if (is(name, "workbookPr") && from_1904)
        book->from_1904 = strcmp(from_1904, "1") == 0 || strcmp(from_1904, "true") == 0;
    if (!is(name, "sheet"))
        return;
    xlsx_part *grown = conv_grow(book->parts, &book->part_room, book->part_count + 1, sizeof *grown);
    if (!grown) {
        out_of_memory(r);
        return;
    }
    book->parts = grown;
    /* The relation's attribute has a prefix, and sheets have none that ends in `id`: `sheetId` is another
     * name. */
    grown[book->part_count++] =
        (xlsx_part){copied(r, attribute(attributes, "name")), copied(r, attribute(attributes, "id")), NULL};
}

static void start_relations(reading *r, const char *name, const char **attributes) {
    const char *id = attribute(attributes, "Id"), *target = attribute(attributes, "Target");
    if (!is(name, "Relationship") || !id || !target)
        return;
    for (size_t i = 0; i < r->book->part_count; i++) {
        xlsx_part *part = &r->book->parts[i];
        if (part->member || !part->relation || strcmp(part->relation, id) != 0)
            continue;
        conv_output member = {0};
        conv_printf(&member, "%s%s", target[0] == '/' ? "" : "xl/", target + (target[0] == '/'));
        part->member = member.text;
        if (member.failed)
            out_of_memory(r);
    }
}

static void start_styles(reading *r, const char *name, const char **attributes) {
    const char *number = attribute(attributes, "numFmtId"), *code = attribute(attributes, "formatCode");
    if (is(name, "cellXfs"))
        r->in_cell_styles = true;
    if (is(name, "numFmt") && number && code && r->custom_count < sizeof r->custom / sizeof *r->custom) {
        r->custom_number[r->custom_count] = (unsigned)strtoul(number, NULL, 10);
        snprintf(r->custom[r->custom_count++], sizeof r->custom[0], "%s", code);
    }
    if (!is(name, "xf") || !r->in_cell_styles)
        return;
    unsigned wanted = number ? (unsigned)strtoul(number, NULL, 10) : 0;
    const char *own = NULL;
    for (size_t i = 0; i < r->custom_count; i++)
        own = r->custom_number[i] == wanted ? r->custom[i] : own;
    xlsx_book *book = r->book;
    bool *grown = conv_grow(book->date_style, &book->style_room, book->style_count + 1, sizeof *grown);
    if (!grown) {
        out_of_memory(r);
        return;
    }
    book->date_style = grown;
    grown[book->style_count++] = xlsx_is_date_format(wanted, own);
}

/* ------------------------------------------------------------------------------------------------- texts */

static int hex(char c) {
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
                                  : -1;
}

/* "_x000A_" is a character (ECMA-376 part 1, 22.4.2.4); its code, or -1. */
static long escaped(glassine_span text, size_t at) {
    long code = 0;
    if (text.length - at < 7 || text.text[at] != '_' || text.text[at + 1] != 'x' || text.text[at + 6] != '_')
        return -1;
    for (size_t i = 2; i < 6; i++) {
        int digit = hex(text.text[at + i]);
        if (digit < 0)
            return -1;
        code = code * 16 + digit;
    }
    return code;
}

/* Halves of a pair (U+D800 to U+DFFF) cannot be characters alone and stay as they are written. */
static void add_code(conv_output *out, long code) {
    if (code < 0x80)
        conv_add_char(out, (char)code);
    else if (code < 0x800)
        conv_printf(out, "%c%c", (int)(0xc0 | code >> 6), (int)(0x80 | (code & 0x3f)));
    else
        conv_printf(out, "%c%c%c", (int)(0xe0 | code >> 12), (int)(0x80 | (code >> 6 & 0x3f)),
                    (int)(0x80 | (code & 0x3f)));
}

static void add_unescaped(conv_output *out, glassine_span text) {
    for (size_t i = 0; i < text.length; i++) {
        long code = text.text[i] == '_' ? escaped(text, i) : -1;
        if (code < 0 || (code >= 0xd800 && code < 0xe000)) {
            conv_add_char(out, text.text[i]);
            continue;
        }
        add_code(out, code);
        i += 6;
    }
}

static void end_string(reading *r) {
    xlsx_strings *strings = &r->book->strings;
    size_t *grown = conv_grow(strings->starts, &strings->room, strings->count + 2, sizeof *grown);
    if (!grown || r->texts.failed) {
        out_of_memory(r);
        return;
    }
    strings->starts = grown;
    grown[strings->count++] = r->texts.length;
    add_unescaped(&r->texts, conv_span(&r->text));
    grown[strings->count] = r->texts.length;
    if (r->texts.length > TEXT_MOST)
        refuse(r, "its texts are longer than can be read");
}

/* ------------------------------------------------------------------------------------------------- sheet */

/* "AB12": its column, from 0; SIZE_MAX where there is none. */
static size_t column_of(const char *reference) {
    size_t column = 0, at = 0;
    for (; reference[at] >= 'A' && reference[at] <= 'Z' && at < 4; at++)
        column = column * 26 + (size_t)(reference[at] - 'A' + 1);
    return at && at < 4 ? column - 1 : SIZE_MAX;
}

static void start_row(reading *r, const char **attributes) {
    const char *number = attribute(attributes, "r");
    uint64_t row = number ? strtoull(number, NULL, 10) : r->row + 1;
    if (row <= r->row) {
        refuse(r, "the rows of a sheet are out of order");
        return;
    }
    r->row = row;
    r->column = 0;
    if (!grid_add_row(r->sheet, row))
        out_of_memory(r);
}

static void start_cell(reading *r, const char **attributes) {
    const char *reference = attribute(attributes, "r"), *type = attribute(attributes, "t"),
               *style = attribute(attributes, "s");
    if (reference) {
        size_t column = column_of(reference);
        if (column == SIZE_MAX || column < r->column || !r->sheet->row_count) {
            refuse(r, "the cells of a sheet are out of order");
            return;
        }
        r->column = column;
    }
    snprintf(r->type, sizeof r->type, "%s", type ? type : "n");
    r->style = style ? strtoul(style, NULL, 10) : 0;
    r->has_value = false;
    conv_clear(&r->text);
}

static void start_sheet(reading *r, const char *name, const char **attributes) {
    if (is(name, "row"))
        start_row(r, attributes);
    else if (is(name, "c"))
        start_cell(r, attributes);
    else if (is(name, "v") || is(name, "t"))
        r->keep = r->has_value = true;
}

static bool shared_text(reading *r, grid_cell *cell) {
    const xlsx_strings *strings = &r->book->strings;
    char *end;
    unsigned long number = r->text.length ? strtoul(r->text.text, &end, 10) : ULONG_MAX;
    if (number >= strings->count || *end)
        return false;
    cell->text = strings->text + strings->starts[number];
    cell->length = (uint32_t)(strings->starts[number + 1] - strings->starts[number]);
    return true;
}

/* The cell's text goes behind those of the others; its place is an offset until the sheet is through. */
static void keep_text(reading *r, grid_cell *cell) {
    glassine_span kept = conv_span(&r->text);
    size_t start = r->texts.length;
    bool number = strcmp(r->type, "n") == 0;
    if (number && r->style < r->book->style_count && r->book->date_style[r->style] &&
        xlsx_day(kept, r->book->from_1904, &r->texts))
        cell->kind = GRID_DATE;
    else if (number && xlsx_number(kept, &r->texts))
        cell->kind = GRID_NUMBER;
    else if (strcmp(r->type, "b") == 0)
        conv_add_text(&r->texts, conv_is(kept, "1") ? "yes" : "no");
    else
        add_unescaped(&r->texts, kept);
    cell->kind = strcmp(r->type, "e") == 0 ? GRID_WRONG : cell->kind;
    cell->text = NULL;
    cell->length = (uint32_t)(r->texts.length - start);
}

static bool add_cell(reading *r, grid_cell cell, bool own, size_t start) {
    bool *grown = conv_grow(r->own_text, &r->own_room, r->sheet->cell_count + 1, sizeof *grown);
    if (!grown)
        return false;
    r->own_text = grown;
    grown[r->sheet->cell_count] = own;
    if (own)
        cell.text = (const char *)(uintptr_t)start;
    return grid_add_cell(r->sheet, cell);
}

static void end_cell(reading *r) {
    grid_cell cell = {.text = ""};
    size_t start = r->texts.length;
    grid_row *row = &r->sheet->rows[r->sheet->row_count - 1];
    bool own = false;
    if (r->column >= GRID_COLUMNS_MOST || r->sheet->cell_count + r->column - row->count >= GRID_CELLS_MOST ||
        r->texts.length > TEXT_MOST) {
        refuse(r, "a sheet holds more cells than can be read");
        return;
    }
    if (r->has_value && strcmp(r->type, "s") == 0) {
        if (!shared_text(r, &cell)) {
            refuse(r, "a cell refers to a text that is not there");
            return;
        }
    } else if (r->has_value) {
        keep_text(r, &cell);
        own = true;
    }
    bool good = true;
    while (good && row->count < r->column)
        good = add_cell(r, (grid_cell){.text = ""}, false, 0);
    if (!good || !add_cell(r, cell, own, start) || r->texts.failed)
        out_of_memory(r);
    r->column++;
}

/* -----------------------------------------------------------------------------------------------------
 * parser */

static void on_start(void *context, const char *name, const char **attributes) {
    reading *r = context;
    if (r->status)
        return;
    switch (r->what) {
    case BOOK:
        start_book(r, name, attributes);
        break;
    case RELATIONS:
        start_relations(r, name, attributes);
        break;
    case STYLES:
        start_styles(r, name, attributes);
        break;
    case STRINGS:
        if (is(name, "si"))
            conv_clear(&r->text);
        r->phonetic += is(name, "rPh");
        r->keep = is(name, "t") && !r->phonetic;
        break;
    default:
        start_sheet(r, name, attributes);
    }
}

static void on_end(void *context, const char *name) {
    reading *r = context;
    if (r->status)
        return;
    if (is(name, "v") || is(name, "t"))
        r->keep = false;
    if (r->what == STYLES && is(name, "cellXfs"))
        r->in_cell_styles = false;
    if (r->what == STRINGS && is(name, "rPh"))
        r->phonetic--;
    if (r->what == STRINGS && is(name, "si"))
        end_string(r);
    if (r->what == SHEET && is(name, "c") && r->sheet->row_count)
        end_cell(r);
}

static void on_text(void *context, const char *text, int length) {
    reading *r = context;
    if (!r->keep || r->status)
        return;
    conv_add(&r->text, (glassine_span){text, (size_t)length});
    if (r->text.failed)
        out_of_memory(r);
    else if (r->text.length > TEXT_MOST)
        refuse(r, "a text is longer than can be read");
}

/* No workbook has one, and entities are what makes XML dangerous. */
static void on_doctype(void *context, const char *name, const char *system, const char *public,
                       int internal) {
    (void)name, (void)system, (void)public, (void)internal;
    refuse(context, "its XML has a DOCTYPE, which no workbook has");
}

static bool start_member(reading *r, int what) {
    r->what = what;
    r->keep = false;
    r->parser = XML_ParserCreate(NULL);
    if (!r->parser)
        return false;
    XML_SetUserData(r->parser, r);
    XML_SetElementHandler(r->parser, on_start, on_end);
    XML_SetCharacterDataHandler(r->parser, on_text);
    XML_SetStartDoctypeDeclHandler(r->parser, on_doctype);
    return true;
}

static void point_into_texts(reading *r) {
    grid *sheet = r->sheet;
    sheet->text = r->texts.text;
    for (size_t i = 0; i < sheet->cell_count; i++) {
        if (r->own_text[i])
            sheet->cells[i].text =
                sheet->cells[i].length ? sheet->text + (uintptr_t)sheet->cells[i].text : "";
    }
}

static void end_member(reading *r) {
    if (r->what == STRINGS)
        r->book->strings.text = r->texts.text;
    else if (r->what == SHEET)
        point_into_texts(r);
    r->texts = (conv_output){0};
    free(r->own_text);
    r->own_text = NULL;
    r->own_room = 0;
    XML_ParserFree(r->parser);
    r->parser = NULL;
}

static glassine_status on_piece(void *context, const char *bytes, size_t length, glassine_error *error) {
    reading *r = context;
    if (XML_Parse(r->parser, bytes, (int)length, length == 0) != XML_STATUS_OK && !r->status)
        r->status = conv_fail(error, GLASSINE_REFUSED, r->book->path, "Save it again, or export it as CSV",
                              "its XML is not well-formed");
    if (r->status || length == 0)
        end_member(r);
    return r->status;
}

/* ------------------------------------------------------------------------------------------------ passes */

typedef struct member {
    const char *name;
    int what;
} member;

/* What is read in one pass: first the list of sheets, then what they need, then themselves. */
typedef struct picking {
    reading *reading;
    int round;
} picking;

static bool pick(void *context, const char *name) {
    static const member first[] = {{"xl/workbook.xml", BOOK}},
                        second[] = {{"xl/_rels/workbook.xml.rels", RELATIONS},
                                    {"xl/styles.xml", STYLES},
                                    {"xl/sharedStrings.xml", STRINGS}};
    picking *p = context;
    reading *r = p->reading;
    const member *list = p->round == 0 ? first : second;
    size_t count = p->round == 0 ? 1 : p->round == 1 ? 3 : 0;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(list[i].name, name) == 0 && !r->parser)
            return start_member(r, list[i].what);
    }
    for (size_t i = 0; p->round == 2 && i < r->book->part_count; i++) {
        const xlsx_part *part = &r->book->parts[i];
        r->sheet = &r->book->sheets[i];
        if (part->member && strcmp(part->member, name) == 0 && !r->sheet->row_count) {
            r->row = 0;
            return start_member(r, SHEET);
        }
    }
    return false;
}

static glassine_status piece(void *context, const char *bytes, size_t length, glassine_error *error) {
    picking *p = context;
    return on_piece(p->reading, bytes, length, error);
}

static glassine_status name_sheets(xlsx_book *book, glassine_error *error) {
    book->sheets = calloc(book->part_count + 1, sizeof *book->sheets);
    bool good = book->sheets;
    for (size_t i = 0; good && i < book->part_count; i++)
        good = grid_name(&book->sheets[i], book->path, book->parts[i].name);
    return good ? GLASSINE_OK : conv_fail_system(error, ENOMEM, book->path, "Cannot read the workbook");
}

glassine_status xlsx_get(const char *path, xlsx_book *book, glassine_error *error) {
    *book = (xlsx_book){.path = path};
    reading *r = calloc(1, sizeof *r);
    if (!r)
        return conv_fail_system(error, ENOMEM, path, "Cannot read the workbook");
    *r = (reading){.book = book, .error = error};
    picking p = {.reading = r};
    const zip_reader reader = {&p, pick, piece};
    glassine_status status = GLASSINE_OK;
    for (; p.round < 3 && !status; p.round++) {
        if (p.round == 2)
            status = name_sheets(book, error);
        if (!status)
            status = zip_read(path, &reader, error);
        if (!status && !book->part_count)
            status = conv_fail(error, GLASSINE_REFUSED, path, "Save it as XLSX", "it is no workbook");
    }
    if (r->parser)
        end_member(r);
    conv_free(&r->text);
    conv_free(&r->texts);
    free(r);
    return status;
}

void xlsx_free(xlsx_book *book) {
    for (size_t i = 0; i < book->part_count; i++) {
        if (book->sheets)
            grid_free(&book->sheets[i]);
        free(book->parts[i].name);
        free(book->parts[i].relation);
        free(book->parts[i].member);
    }
    free(book->sheets);
    free(book->parts);
    free(book->date_style);
    free(book->strings.text);
    free(book->strings.starts);
    *book = (xlsx_book){0};
}
