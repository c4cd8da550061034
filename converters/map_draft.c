/* A first map of a foreign sheet: where its columns may go, by their headers, and how they may be read, by
 * their cells. What the cells do not settle is a question; nothing is guessed that a person would have to
 * notice later. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>

#include "cell.h"
#include "csv_put.h"
#include "map.h"
#include "spaces.h"
#include "units.h"

#define EXAMPLES 3
#define EXAMPLE_MOST 40
#define LOOKED_AT 20 /* rows, for the header */
#define MEANINGS 20  /* words that are asked about */

/* ------------------------------------------------------------------------------------------ the header */

static bool has_digit(glassine_span text) {
    for (size_t i = 0; i < text.length; i++) {
        if (text.text[i] >= '0' && text.text[i] <= '9')
            return true;
    }
    return false;
}

static size_t filled(const grid *sheet, size_t row) {
    size_t count = 0;
    for (size_t i = 0; i < sheet->rows[row].count; i++)
        count += spaces_trim(grid_at(sheet, &sheet->rows[row], i)).length > 0;
    return count;
}

/* Words in every cell that is filled, and no figures: as headers are. */
static bool is_words(const grid *sheet, size_t row) {
    for (size_t i = 0; i < sheet->rows[row].count; i++) {
        glassine_span cell = spaces_trim(grid_at(sheet, &sheet->rows[row], i));
        if (has_digit(cell) || cell.length > 60)
            return false;
    }
    return filled(sheet, row) > 0;
}

static bool has_figures(const grid *sheet, size_t row) {
    for (size_t i = 0; i < sheet->rows[row].count; i++) {
        if (has_digit(grid_at(sheet, &sheet->rows[row], i)))
            return true;
    }
    return false;
}

void map_find_header(const grid *sheet, size_t *skipped, size_t *header_rows) {
    size_t last = sheet->row_count < LOOKED_AT ? sheet->row_count : LOOKED_AT, row = 0;
    *skipped = *header_rows = 0;
    size_t most = 0;
    for (size_t i = 0; i < last; i++)
        most = filled(sheet, i) > most ? filled(sheet, i) : most;
    while (most > 1 && row + 1 < last && filled(sheet, row) <= 1)
        row++;
    if (row >= last || !is_words(sheet, row))
        return;
    *skipped = row;
    *header_rows = 1;
    /* Labels over several columns: gaps in the first row, words in the second, figures in the third. */
    bool gaps = filled(sheet, row) < sheet->rows[row].count;
    bool second = row + 2 < sheet->row_count && is_words(sheet, row + 1) && has_figures(sheet, row + 2);
    if (gaps && second && filled(sheet, row + 1) >= filled(sheet, row))
        *header_rows = 2;
}

static glassine_span header_cell(const grid *sheet, size_t row, size_t column) {
    return row < sheet->row_count
               ? spaces_trim(cell_unmarked(spaces_trim(grid_at(sheet, &sheet->rows[row], column))))
               : (glassine_span){"", 0};
}

void map_header(const grid *sheet, size_t skipped, size_t header_rows, size_t column, conv_output *out) {
    glassine_span first = {"", 0}, second = {"", 0};
    if (header_rows == 0)
        return;
    if (header_rows == 2)
        second = header_cell(sheet, skipped + 1, column);
    for (size_t at = column + 1; at-- > 0 && !first.length; first = header_cell(sheet, skipped, at)) {
        if (header_rows == 1 && at < column)
            break;
    }
    conv_add(out, header_rows == 1 ? header_cell(sheet, skipped, column) : first);
    if (second.length)
        conv_printf(out, "%s%.*s", out->length ? " " : "", (int)second.length, second.text);
}

/* --------------------------------------------------------------------------------------- where it goes */

/* Words that headers hold, in English, German and French (common words, no source). The first that fits
 * counts. */
static const struct {
    const char *word, *target;
} words[] = {
    {"plate position", "claim.positions"},
    {"position", "claim.positions"},
    {"corner letters", "stamp.letters"},
    {"plate no", "stamp.plate_number"},
    {"plate number", "stamp.plate_number"},
    {"plate", "claim.plates"},
    {"platte", "claim.plates"},
    {"planche", "claim.plates"},
    {"inventory", "item.label"},
    {"inv", "item.label"},
    {"label", "item.label"},
    {"lfd", "item.label"},
    {"catalogue", "stamp.catalogue"},
    {"katalog", "stamp.catalogue"},
    {"cat no", "stamp.catalogue"},
    {"cat.", "stamp.catalogue"},
    {"purchase price", "item.cost_minor"},
    {"price", "item.cost_minor"},
    {"cost", "item.cost_minor"},
    {"paid", "item.cost_minor"},
    {"preis", "item.cost_minor"},
    {"prix", "item.cost_minor"},
    {"insured", "valuation.amount_minor"},
    {"value", "valuation.amount_minor"},
    {"wert", "valuation.amount_minor"},
    {"currency", "item.currency"},
    {"acquired", "item.acquired"},
    {"purchase", "item.acquired"},
    {"bought", "item.acquired"},
    {"gekauft", "item.acquired"},
    {"erworben", "item.acquired"},
    {"achat", "item.acquired"},
    {"achet", "item.acquired"},
    {"kaufdatum", "item.acquired"},
    {"seller", "item.source"},
    {"dealer", "item.source"},
    {"vendeur", "item.source"},
    {"verk", "item.source"},
    {"from whom", "item.source"},
    {"source", "item.source"},
    {"storage", "item.storage"},
    {"album", "item.storage"},
    {"box", "item.storage"},
    {"location", "item.storage"},
    {"standort", "item.storage"},
    {"lagerort", "item.storage"},
    {"aufbewahr", "item.storage"},
    {"emplacement", "item.storage"},
    {"colour", "stamp.colour"},
    {"color", "stamp.colour"},
    {"shade", "stamp.colour"},
    {"farbe", "stamp.colour"},
    {"couleur", "stamp.colour"},
    {"perforation", "stamp.perforation"},
    {"z\xc3\xa4hnung", "stamp.perforation"},
    {"dentelure", "stamp.perforation"},
    {"watermark", "stamp.watermark"},
    {"wasserzeichen", "stamp.watermark"},
    {"filigrane", "stamp.watermark"},
    {"paper", "stamp.paper"},
    {"papier", "stamp.paper"},
    {"gum", "stamp.gum"},
    {"condition", "stamp.condition"},
    {"zustand", "stamp.condition"},
    {"erhaltung", "stamp.condition"},
    {"\xc3\xa9tat", "stamp.condition"},
    {"fault", "stamp.faults"},
    {"letters", "stamp.letters"},
    {"variet", "stamp.varieties"},
    {"design", "stamp.design"},
    {"postmark", "marking.text"},
    {"cancel", "marking.text"},
    {"stempel", "marking.text"},
    {"town", "marking.town"},
    {"posted", "marking.on"},
    {"used on", "marking.on"},
    {"certificate", "certificate.number"},
    {"destination", "item.destination"},
    {"addressee", "item.addressee"},
    {"rate", "item.rate"},
    {"kind", "item.kind"},
    {"provenance", "item.provenance"},
    {"title", "item.title"},
    {"description", "item.title"},
    {"beschreibung", "item.title"},
    {"titel", "item.title"},
    {"titre", "item.title"},
    {"remark", "item.note"},
    {"comment", "item.note"},
    {"note", "item.note"},
    {"bemerkung", "item.note"},
    {"remarque", "item.note"},
    {"notiz", "item.note"},
    {"number", "item.label"},
    {"no.", "item.label"},
    {"nr", "item.label"},
};

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c + ('a' - 'A')) : c;
}

static bool is_letter(char c) {
    return (lower(c) >= 'a' && lower(c) <= 'z') || (unsigned char)c >= 0x80;
}

/* The word stands in the header, and begins one. */
static bool has_word(glassine_span header, const char *word) {
    size_t length = strlen(word);
    for (size_t at = 0; at + length <= header.length; at++) {
        bool begins = at == 0 || !is_letter(header.text[at - 1]);
        size_t i = 0;
        while (begins && i < length && lower(header.text[at + i]) == word[i])
            i++;
        if (i == length)
            return true;
    }
    return false;
}

static const char *target_of(glassine_span header) {
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (has_word(header, words[i].word))
            return words[i].target;
    }
    return NULL;
}

static const glassine_field_info *field_of(const char *target) {
    char type[64];
    const char *point = target ? strchr(target, '.') : NULL;
    if (!point)
        return NULL;
    snprintf(type, sizeof type, "%.*s", (int)(point - target), target);
    return glassine_type_field(glassine_type_find(type), point + 1);
}

/* -------------------------------------------------------------------------------------- how it is read */

typedef struct seen {
    size_t triples, day_first, month_first, year_first,
        short_years;                /* dates in numbers, and what they settle */
    char example[EXAMPLE_MOST + 1]; /* one that settles nothing */
    size_t commas, points, unclear; /* numbers: whose sign of decimals is clear, and whose is not */
    const char *currency;           /* by its sign; "?" where that is of several */
} seen;

static void look_at_date(seen *s, glassine_span cell) {
    unsigned parts[3], digits[3];
    if (!map_triple(cell, parts, digits))
        return;
    s->triples++;
    bool year_first = digits[0] == 4;
    s->year_first += year_first;
    s->short_years += !year_first && digits[2] != 4;
    s->day_first += !year_first && parts[0] > 12;
    s->month_first += !year_first && parts[1] > 12;
    if (!year_first && parts[0] <= 12 && parts[1] <= 12 && parts[0] != parts[1] && !s->example[0])
        snprintf(s->example, sizeof s->example, "%.*s",
                 (int)(cell.length < EXAMPLE_MOST ? cell.length : EXAMPLE_MOST), cell.text);
}

static void look_at_currency(seen *s, glassine_span cell) {
    static const char *const signs[][2] = {
        {"\xe2\x82\xac", "EUR"}, {"\xc2\xa3", "GBP"}, {"$", "?"}, {"\xc2\xa5", "?"}};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        for (size_t at = 0; at + strlen(signs[i][0]) <= cell.length; at++) {
            if (memcmp(cell.text + at, signs[i][0], strlen(signs[i][0])) == 0)
                s->currency = s->currency && strcmp(s->currency, signs[i][1]) != 0 ? "?" : signs[i][1];
        }
    }
}

/* "1.234,50" and "3,5" have a decimal comma for sure; "1,234" may be either. */
static void look_at_number(seen *s, glassine_span cell) {
    size_t commas = 0, points = 0, behind = 0;
    char last = '\0';
    for (size_t i = 0; i < cell.length; i++) {
        char c = cell.text[i];
        commas += c == ',';
        points += c == '.';
        if (c == ',' || c == '.') {
            last = c;
            behind = 0;
        } else if (c >= '0' && c <= '9') {
            behind++;
        }
    }
    if (!last)
        return;
    bool both = commas && points, several = commas > 1 || points > 1;
    if (several && !both)
        ++*(last == ',' ? &s->points : &s->commas); /* it parts the thousands */
    else if (both || behind != 3)
        ++*(last == ',' ? &s->commas : &s->points);
    else
        s->unclear++;
}

static seen look_at_column(const grid *sheet, size_t first, size_t column) {
    seen s = {0};
    for (size_t i = first; i < sheet->row_count; i++) {
        glassine_span cell = spaces_trim(grid_at(sheet, &sheet->rows[i], column));
        if (grid_kind(sheet, &sheet->rows[i], column) != GRID_TEXT || !cell.length)
            continue;
        look_at_date(&s, cell);
        look_at_currency(&s, cell);
        look_at_number(&s, cell);
    }
    return s;
}

static void add_part(conv_output *as, const char *format, const char *text) {
    if (as->length)
        conv_add_text(as, "; ");
    conv_printf(as, format, text);
}

static void say_date(const seen *s, conv_output *as) {
    if (!s->triples)
        return;
    if (s->day_first && s->month_first)
        add_part(as, "date ? (%s)", "some have the day first, and some the month");
    else if (s->day_first)
        add_part(as, "date day month year%s", "");
    else if (s->month_first)
        add_part(as, "date month day year%s", "");
    else if (s->example[0])
        add_part(as, "date ? (day month year, or month day year: %s)", s->example);
    else if (s->triples > s->year_first)
        add_part(as, "date ? (%s)", "day month year, or month day year");
    if (s->short_years)
        add_part(as, "years from ? (%s)", "the first of the hundred years that two digits mean");
}

static void say_decimal(const seen *s, conv_output *as) {
    if (s->commas && s->points)
        add_part(as, "decimal ? (%s)", "comma, or point: both seem to be there");
    else if (s->commas || s->points)
        add_part(as, "decimal %s", s->commas ? "comma" : "point");
    else if (s->unclear)
        add_part(as, "decimal ? (%s)", "comma, or point: 1,234 and 1.234 may be either");
}

/* In any case: so the field takes it too. */
static bool is_choice(const glassine_field_info *field, glassine_span cell) {
    for (size_t i = 0; field->choices[i]; i++) {
        const char *choice = field->choices[i];
        size_t at = 0;
        while (at < cell.length && lower(cell.text[at]) == choice[at])
            at++;
        if (at == cell.length && !choice[at])
            return true;
    }
    return false;
}

/* "Paar=?; Brief=?": what the words of the sheet mean, one by one; too many are for the person to list. */
static void say_meanings(const grid *sheet, size_t first, size_t column, const glassine_field_info *field,
                         conv_output *as) {
    glassine_span asked[MEANINGS];
    size_t count = 0;
    for (size_t i = first; i < sheet->row_count && count < MEANINGS; i++) {
        glassine_span cell = spaces_trim(grid_at(sheet, &sheet->rows[i], column));
        bool known = !cell.length || cell.length > EXAMPLE_MOST || is_choice(field, cell) ||
                     memchr(cell.text, ';', cell.length) || memchr(cell.text, '=', cell.length);
        for (size_t k = 0; k < count && !known; k++)
            known = conv_equal(asked[k], cell);
        if (known)
            continue;
        asked[count++] = cell;
        conv_printf(as, "%s%.*s=?", as->length ? "; " : "", (int)cell.length, cell.text);
    }
    for (size_t i = 0; count && field->choices[i]; i++)
        conv_printf(as, "%s%s", i ? ", " : " (", field->choices[i]);
    conv_add_text(as, count ? ")" : "");
}

/* `apart`: another column says the currency. */
static void say_money(const seen *s, bool apart, conv_output *as) {
    if (apart)
        add_part(as, "%s", "money");
    else
        add_part(as, "money %s",
                 s->currency && *s->currency != '?' ? s->currency : "? (which currency: EUR)");
    say_decimal(s, as);
}

static void say_how(const glassine_field_info *field, const seen *s, bool currency_apart, conv_output *as) {
    if (field && field->kind == GLASSINE_DATE) {
        say_date(s, as);
    } else if (units_are_money(field)) {
        say_money(s, currency_apart, as);
    } else if (field && field->kind == GLASSINE_INTEGER) {
        if (field->unit && strncmp(field->unit, "micrometres", 11) == 0)
            add_part(as, "unit %s", "? (um, mm, cm, inch)");
        say_decimal(s, as);
    }
}

/* --------------------------------------------------------------------------------------------- the map */

static void put_setting(conv_output *out, const char *name, const char *found, const char *value) {
    csv_put_text(out, conv_span_of("sheet"), true);
    csv_put_text(out, conv_span_of(name), false);
    csv_put_text(out, conv_span_of(found), false);
    csv_put_text(out, conv_span_of(value), false);
    csv_put_text(out, conv_span_of(""), false);
    csv_end_row(out);
}

static const char *delimiter_name(char delimiter) {
    return delimiter == ';' ? "semicolon" : delimiter == '\t' ? "tab" : delimiter == '|' ? "bar" : "comma";
}

static void put_settings(const grid *sheet, size_t skipped, size_t header_rows, conv_output *out) {
    char number[24];
    if (sheet->encoding)
        put_setting(out, "encoding", "as it was found", sheet->encoding);
    if (sheet->delimiter)
        put_setting(out, "delimiter", "what parts the cells", delimiter_name(sheet->delimiter));
    else
        put_setting(out, "sheet", "of the workbook", sheet->name);
    snprintf(number, sizeof number, "%zu", skipped);
    put_setting(out, "skipped rows", "before the header", number);
    snprintf(number, sizeof number, "%zu", header_rows);
    put_setting(out, "header rows", "0, 1 or 2", number);
    put_setting(out, "stamps", "of each new item", "1");
}

/* Up to three different values, cut short. */
static void add_examples(const grid *sheet, size_t first, size_t column, conv_output *out) {
    glassine_span shown[EXAMPLES];
    size_t count = 0;
    for (size_t i = first; i < sheet->row_count && count < EXAMPLES; i++) {
        glassine_span cell = spaces_trim(grid_at(sheet, &sheet->rows[i], column));
        bool known = !cell.length;
        for (size_t k = 0; k < count; k++)
            known |= conv_equal(shown[k], cell);
        if (known)
            continue;
        shown[count++] = cell;
        size_t length = cell.length < EXAMPLE_MOST ? cell.length : EXAMPLE_MOST;
        while (length < cell.length && ((unsigned char)cell.text[length] & 0xc0) == 0x80)
            length--;
        conv_printf(out, "%s%.*s%s", count > 1 ? " | " : "", (int)length, cell.text,
                    length < cell.length ? "…" : "");
    }
}

static bool is_taken(const char *const *taken, size_t count, const char *target) {
    for (size_t i = 0; target && i < count; i++) {
        if (taken[i] && strcmp(taken[i], target) == 0)
            return true;
    }
    return false;
}

/* One line of the map. */
static void put_column(const grid *sheet, size_t first, glassine_span header, size_t column,
                       const char *target, bool currency_apart, conv_output *out, size_t *questions) {
    conv_output examples = {0}, as = {0};
    char number[24];
    snprintf(number, sizeof number, "%zu", column + 1);
    seen s = look_at_column(sheet, first, column);
    add_examples(sheet, first, column, &examples);
    const glassine_field_info *field = field_of(target);
    if (field && field->kind == GLASSINE_CHOICE && field->choices)
        say_meanings(sheet, first, column, field, &as);
    else if (target)
        say_how(field, &s, currency_apart, &as);
    *questions += !target || (as.length && strchr(as.text, '?'));
    csv_put_text(out, conv_span_of(number), true);
    csv_put_text(out, header, false);
    csv_put_text(out, conv_span(&examples), false);
    csv_put_text(out, conv_span_of(target ? target : ""), false);
    csv_put_text(out, conv_span(&as), false);
    csv_end_row(out);
    conv_free(&examples);
    conv_free(&as);
}

static size_t widest(const grid *sheet) {
    size_t most = 0;
    for (size_t i = 0; i < sheet->row_count; i++)
        most = sheet->rows[i].count > most ? sheet->rows[i].count : most;
    return most;
}

/* A target that another column has already is left to the person: NULL, as where none is known. */
static void find_targets(const grid *sheet, size_t skipped, size_t header_rows, const char **taken,
                         size_t columns, conv_output *out) {
    for (size_t i = 0; i < columns; i++) {
        conv_output header = {0};
        map_header(sheet, skipped, header_rows, i, &header);
        const char *target = target_of(conv_span(&header));
        taken[i] = is_taken(taken, i, target) ? NULL : target;
        out->failed = out->failed ? out->failed : header.failed;
        conv_free(&header);
    }
}

glassine_status map_draft(const grid *sheet, conv_output *out, size_t *questions, glassine_error *error) {
    static const char *const heads[] = {"column", "header", "examples", "goes_to", "as"};
    size_t skipped, header_rows, columns = widest(sheet);
    const char **taken = calloc(columns + 1, sizeof *taken);
    *questions = 0;
    if (!taken)
        return conv_fail_system(error, ENOMEM, sheet->place, "Cannot write a map");
    map_find_header(sheet, &skipped, &header_rows);
    conv_add_text(out, CSV_BOM);
    for (size_t i = 0; i < sizeof heads / sizeof *heads; i++)
        csv_put_text(out, conv_span_of(heads[i]), i == 0);
    csv_end_row(out);
    put_settings(sheet, skipped, header_rows, out);
    find_targets(sheet, skipped, header_rows, taken, columns, out);
    for (size_t i = 0; i < columns; i++) {
        conv_output header = {0};
        map_header(sheet, skipped, header_rows, i, &header);
        put_column(sheet, skipped + header_rows, conv_span(&header), i, taken[i],
                   is_taken(taken, columns, "item.currency"), out, questions);
        out->failed = out->failed ? out->failed : header.failed;
        conv_free(&header);
    }
    free(taken);
    return GLASSINE_OK;
}
