/* A sheet for each plate: its positions where they lie, what can be said of each. No meaning hangs on colour.
 */
#include "xlsx_out.h"

#define COLUMNS_MOST 1000
#define ROWS_BEFORE 4

typedef struct plate_sheet {
    xlsx_out *out;
    lxw_worksheet *sheet;
    const glassine_chart *chart;
    lxw_format *best[6];
} plate_sheet;

static const char *const words[] = {"corroborated", "placed", "concluded", "disputed", "missing"};
static const char *const signs[] = {"==", "=", "~", "?", ""};
enum { WORDS = sizeof words / sizeof *words };

static bool make_formats(plate_sheet *p) {
    static const lxw_color_t colours[] = {0xBFD8BF, 0xDCEBDC, 0xE4E4F4, 0xF4E0C8, 0xFFFFFF};
    for (size_t i = 0; i < WORDS; i++) {
        lxw_format *format = p->best[i] = libxlsx.workbook_add_format(p->out->book);
        if (!format)
            return false;
        libxlsx.format_set_bg_color(format, colours[i]);
        libxlsx.format_set_border(format, LXW_BORDER_HAIR);
        libxlsx.format_set_text_wrap(format);
        libxlsx.format_set_align(format, LXW_ALIGN_CENTER);
        libxlsx.format_set_align(format, LXW_ALIGN_VERTICAL_CENTER);
    }
    return true;
}

static size_t word_of(const char *best) {
    size_t i = 0;
    while (i + 1 < WORDS && strcmp(words[i], best) != 0)
        i++;
    return i;
}

/* "34 =" and below "2 placed, 1 disputed". */
static void add_cell(plate_sheet *p, uint32_t position, size_t row, size_t column) {
    glassine_chart_cell cell = glassine_chart_at(p->chart, position);
    conv_output *text = &p->out->text;
    size_t best = word_of(cell.best);
    conv_clear(text);
    conv_printf(text, "%lu", (unsigned long)cell.place.number);
    if (cell.place.letters[0])
        conv_printf(text, " %s", cell.place.letters);
    if (signs[best][0])
        conv_printf(text, " %s", signs[best]);
    if (cell.placed)
        conv_printf(text, "\n%lu placed", (unsigned long)cell.placed);
    if (cell.concluded)
        conv_printf(text, "\n%lu concluded", (unsigned long)cell.concluded);
    if (cell.disputed)
        conv_printf(text, "\n%lu disputed", (unsigned long)cell.disputed);
    xlsx_text(p->out, p->sheet, row, column, conv_span(text), p->best[best]);
}

static void add_head(plate_sheet *p, glassine_span label) {
    const glassine_plan *plan = glassine_chart_plan(p->chart);
    uint32_t count = glassine_plan_count(plan), found = glassine_chart_found(p->chart);
    conv_output *text = &p->out->text;
    conv_clear(text);
    conv_printf(text, "Plate %.*s", (int)label.length, label.text);
    xlsx_text(p->out, p->sheet, 0, 0, conv_span(text), p->out->title);
    conv_clear(text);
    conv_printf(
        text,
        "%lu of %lu positions found; %.1f further copies are expected to complete it, if all positions "
        "survive equally",
        (unsigned long)found, (unsigned long)count, glassine_expected_further(count, found));
    xlsx_text(p->out, p->sheet, 1, 0, conv_span(text), p->out->plain);
    xlsx_line(
        p->out, p->sheet, 2, 0,
        "== corroborated: two who came to it independently   = placed   ~ concluded   ? disputed   nothing: "
        "missing. A claim is an opinion, not a certificate.",
        p->out->plain);
}

static bool extent(const glassine_plan *plan, uint32_t *rows, uint32_t *columns) {
    *rows = *columns = 0;
    for (uint32_t i = 0; i < glassine_plan_count(plan); i++) {
        glassine_place place = glassine_plan_place(plan, i);
        *rows = place.sheet_row > *rows ? place.sheet_row : *rows;
        *columns = place.sheet_column > *columns ? place.sheet_column : *columns;
    }
    return *columns <= COLUMNS_MOST;
}

static void add_positions(plate_sheet *p) {
    const glassine_plan *plan = glassine_chart_plan(p->chart);
    uint32_t rows, columns;
    if (!extent(plan, &rows, &columns)) {
        xlsx_line(p->out, p->sheet, 3, 0, "The plate is too wide for a sheet.", p->out->plain);
        return;
    }
    xlsx_note(p->out, libxlsx.worksheet_set_column(p->sheet, 0, (lxw_col_t)(columns - 1), 12, NULL));
    for (uint32_t row = 1; row <= rows; row++) {
        xlsx_note(p->out, libxlsx.worksheet_set_row(p->sheet, (lxw_row_t)(ROWS_BEFORE + row - 1), 45, NULL));
        for (uint32_t column = 1; column <= columns; column++) {
            uint32_t position = glassine_plan_from_sheet(plan, row, column);
            if (position != GLASSINE_NOWHERE)
                add_cell(p, position, ROWS_BEFORE + row - 1, column - 1);
        }
    }
}

static glassine_status add_plate(xlsx_out *out, glassine_record *plate, size_t number,
                                 glassine_error *error) {
    plate_sheet p = {.out = out};
    glassine_chart *chart;
    char name[32];
    glassine_status status = glassine_chart_new(out->bundle, plate, NULL, &chart, error);
    if (status == GLASSINE_REFUSED)
        return GLASSINE_OK; /* a layout that is not settled, or unsaid, gives no chart */
    if (status)
        return status;
    snprintf(name, sizeof name, "Plate chart %zu", number);
    p.chart = chart;
    p.sheet = xlsx_sheet(out, name);
    if (p.sheet && make_formats(&p)) {
        libxlsx.worksheet_fit_to_pages(p.sheet, 1, 0);
        add_head(&p, conv_label(out->bundle, plate, out->options.with_private));
        add_positions(&p);
    }
    glassine_chart_free(chart);
    return GLASSINE_OK;
}

glassine_status xlsx_charts(xlsx_out *out, glassine_error *error) {
    glassine_cursor *cursor;
    size_t number = 0;
    bool hidden = false;
    glassine_status status =
        out->options.with_private ? GLASSINE_OK : conv_grounds_are_private(out->bundle, &hidden, error);
    if (hidden)
        glassine_report_finding(out->report, GLASSINE_WARNING, NULL, NULL, "Ask for them with --with-private",
                                "plate charts rest on private statements, and are left out");
    if (!status && !hidden)
        status = glassine_cursor_new(out->bundle, "plate", false, &cursor, error);
    if (status || hidden)
        return status;
    for (glassine_record *plate; !status && (plate = glassine_cursor_next(cursor));)
        status = add_plate(out, plate, ++number, error);
    glassine_cursor_free(cursor);
    return status;
}
