/* The chart of a plate as SVG. Lengths are hundredths of a millimetre, so that no locale's decimal comma can
 * get in. */
#include <inttypes.h>
#include <stdio.h>

#include "converters.h"
#include "output.h"

enum {
    WIDTH = 19000,
    HEIGHT_MOST = 25400,
    HEAD = 1900,   /* title and figures */
    LEGEND = 2600, /* below the plate */
    CELL_MOST = 1900,
    GAP = 60 /* of a hundred parts of a cell, between panes */
};

/* What is drawn for a cell, whose sign also stands in the legend. */
typedef struct look {
    const char *best, *attributes, *says;
    bool struck; /* with a stroke through it */
} look;

/* Attributes rather than a style sheet: there are programs that draw SVG and know no selectors. */
static const look LOOKS[] = {
    {"corroborated", "fill=\"#b7cfe6\" stroke=\"#1a1a1a\" stroke-width=\"90\"",
     "corroborated: two people's own views are this place", false},
    {"placed", "fill=\"#e3ecf5\" stroke=\"#1a1a1a\" stroke-width=\"25\"",
     "placed: one place is left (the number says how many copies)", false},
    {"concluded", "fill=\"#ffffff\" stroke=\"#1a1a1a\" stroke-width=\"40\" stroke-dasharray=\"160 90\"",
     "only concluded", false},
    {"disputed", "fill=\"#ffffff\" stroke=\"#1a1a1a\" stroke-width=\"40\"",
     "disputed: somebody's view is this place", true},
    {"missing", "fill=\"#ffffff\" stroke=\"#8a8a8a\" stroke-width=\"14\" stroke-dasharray=\"30 60\"",
     "missing", false},
};
#define LOOK_COUNT (sizeof LOOKS / sizeof LOOKS[0])

typedef struct drawing {
    conv_output *out;
    const glassine_chart *chart;
    const glassine_plan *plan;
    uint32_t rows, columns; /* of the whole sheet */
    uint32_t panes_across, panes_down;
    int64_t cell; /* side, in hundredths of a millimetre */
} drawing;

static void measure(drawing *it) {
    uint32_t pane_rows = 1, pane_columns = 1;
    for (uint32_t i = 0; i < glassine_plan_count(it->plan); i++) {
        glassine_place place = glassine_plan_place(it->plan, i);
        it->rows = place.sheet_row > it->rows ? place.sheet_row : it->rows;
        it->columns = place.sheet_column > it->columns ? place.sheet_column : it->columns;
        pane_rows = place.row > pane_rows ? place.row : pane_rows;
        pane_columns = place.column > pane_columns ? place.column : pane_columns;
    }
    it->panes_across = it->columns / pane_columns;
    it->panes_down = it->rows / pane_rows;
    int64_t across = (int64_t)WIDTH * 100 / ((int64_t)it->columns * 100 + (it->panes_across - 1) * GAP);
    int64_t down =
        (int64_t)(HEIGHT_MOST - HEAD - LEGEND) * 100 / ((int64_t)it->rows * 100 + (it->panes_down - 1) * GAP);
    it->cell = across < down ? across : down;
    if (it->cell > CELL_MOST) {
        it->cell = CELL_MOST;
    }
}

/* Where the column (or row) with this number begins, from 1; panes stand apart. */
static int64_t offset(const drawing *it, uint32_t number, uint32_t count, uint32_t panes) {
    uint32_t pane = (number - 1) / (count / panes);
    return (int64_t)(number - 1) * it->cell + pane * it->cell * GAP / 100;
}

static int64_t left_of(const drawing *it, uint32_t column) {
    int64_t width = offset(it, it->columns, it->columns, it->panes_across) + it->cell;
    return (WIDTH - width) / 2 + offset(it, column, it->columns, it->panes_across);
}

static int64_t top_of(const drawing *it, uint32_t row) {
    return HEAD + offset(it, row, it->rows, it->panes_down);
}

/* Text that came out of a bundle: what XML reserves, and what it does not allow at all. */
static void add_escaped(conv_output *out, glassine_span text) {
    for (size_t i = 0; i < text.length; i++) {
        unsigned char c = (unsigned char)text.text[i];
        if (c == '&' || c == '<' || c == '>' || c == '"') {
            conv_printf(out, "&#%d;", c);
        } else {
            conv_add_char(out, c < 0x20 || c == 0x7f ? ' ' : (char)c);
        }
    }
}

static void add_head(const drawing *it, glassine_span label, int64_t height) {
    char figures[160];
    uint32_t count = glassine_plan_count(it->plan), found = glassine_chart_found(it->chart);
    double further = glassine_expected_further(count, found);
    snprintf(figures, sizeof figures,
             "%" PRIu32 " of %" PRIu32 " positions found; %" PRIu64
             " further copies expected to complete it, if all positions survive equally",
             found, count, (uint64_t)(further + 0.5));
    conv_printf(it->out,
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"190mm\" height=\"%" PRId64 ".%02" PRId64
                "mm\" viewBox=\"0 0 %d %" PRId64 "\" role=\"img\" font-family=\"sans-serif\">\n<title>Plate ",
                height / 100, height % 100, WIDTH, height);
    add_escaped(it->out, label);
    conv_printf(it->out, "</title>\n<desc>%s</desc>\n", figures);
    conv_add_text(it->out, "<rect x=\"0\" y=\"0\" width=\"100%\" height=\"100%\" fill=\"#ffffff\" stroke=\"none\"/>\n"
                           "<text x=\"0\" y=\"650\" font-size=\"620\" font-weight=\"bold\">Plate ");
    add_escaped(it->out, label);
    conv_printf(it->out, "</text>\n<text x=\"0\" y=\"1350\" font-size=\"400\">%s</text>\n", figures);
}

static const look *look_of(const char *best) {
    for (size_t i = 0; i < LOOK_COUNT; i++) {
        if (conv_is(conv_span_of(best), LOOKS[i].best)) {
            return &LOOKS[i];
        }
    }
    return &LOOKS[LOOK_COUNT - 1];
}

/* A square with its sign: how many copies, "?" where it is disputed too, "c" where it is only concluded. */
static void add_square(conv_output *out, const look *kind, int64_t x, int64_t y, int64_t side,
                       const char *sign) {
    int64_t inner = side * 88 / 100, margin = (side - inner) / 2;
    conv_printf(
        out, "<g %s><rect x=\"%" PRId64 "\" y=\"%" PRId64 "\" width=\"%" PRId64 "\" height=\"%" PRId64 "\"/>",
        kind->attributes, x + margin, y + margin, inner, inner);
    if (kind->struck) {
        conv_printf(out, "<path stroke-width=\"22\" d=\"M%" PRId64 " %" PRId64 "L%" PRId64 " %" PRId64 "\"/>",
                    x + margin, y + side - margin, x + side - margin, y + margin);
    }
    if (*sign != '\0') {
        conv_printf(out,
                    "<text font-weight=\"bold\" fill=\"#000000\" stroke=\"none\" x=\"%" PRId64
                    "\" y=\"%" PRId64 "\" font-size=\"%" PRId64 "\" text-anchor=\"middle\">%s</text>",
                    x + side / 2, y + side * 80 / 100, side * 46 / 100, sign);
    }
    conv_add_text(out, "</g>\n");
}

static void add_cell(const drawing *it, uint32_t position) {
    glassine_chart_cell cell = glassine_chart_at(it->chart, position);
    const look *kind = look_of(cell.best);
    int64_t x = left_of(it, cell.place.sheet_column), y = top_of(it, cell.place.sheet_row);
    char sign[32] = "";
    if (cell.placed > 0) {
        snprintf(sign, sizeof sign, "%" PRIu32 "%s", cell.placed, cell.disputed > 0 ? "?" : "");
    } else if (cell.disputed > 0) {
        snprintf(sign, sizeof sign, "?%s", cell.concluded > 0 ? "c" : "");
    } else if (cell.concluded > 0) {
        snprintf(sign, sizeof sign, "c");
    }
    add_square(it->out, kind, x, y, it->cell, sign);
    conv_printf(it->out,
                "<text fill=\"#4a4a4a\" x=\"%" PRId64 "\" y=\"%" PRId64 "\" font-size=\"%" PRId64
                "\">%" PRIu32 "</text>\n",
                x + it->cell * 12 / 100, y + it->cell * 34 / 100, it->cell * 24 / 100, cell.place.number);
}

static void add_pane_name(const drawing *it, uint32_t position) {
    glassine_place place = glassine_plan_place(it->plan, position);
    if (place.pane_name == NULL || place.row != 1 || place.column != 1) {
        return;
    }
    conv_printf(it->out, "<text x=\"%" PRId64 "\" y=\"%" PRId64 "\" font-size=\"%" PRId64 "\">",
                left_of(it, place.sheet_column), top_of(it, place.sheet_row) - it->cell * 8 / 100,
                it->cell * 40 / 100);
    add_escaped(it->out, conv_span_of(place.pane_name));
    conv_add_text(it->out, "</text>\n");
}

static void add_legend(const drawing *it, int64_t top) {
    static const char *const signs[LOOK_COUNT] = {"2", "1", "c", "?", ""};
    for (size_t i = 0; i < LOOK_COUNT; i++) {
        int64_t x = (int64_t)(i % 2) * (WIDTH / 2), y = top + (int64_t)(i / 2) * 750;
        add_square(it->out, &LOOKS[i], x, y, 620, signs[i]);
        conv_printf(it->out, "<text x=\"%" PRId64 "\" y=\"%" PRId64 "\" font-size=\"310\">%s</text>\n",
                    x + 800, y + 430, LOOKS[i].says);
    }
}

static void draw(drawing *it, glassine_span label) {
    measure(it);
    int64_t bottom = top_of(it, it->rows) + it->cell;
    add_head(it, label, bottom + LEGEND);
    for (uint32_t i = 0; i < glassine_plan_count(it->plan); i++) {
        add_cell(it, i);
        add_pane_name(it, i);
    }
    add_legend(it, bottom + 350);
    conv_add_text(it->out, "</svg>\n");
}

glassine_status glassine_chart_svg(glassine_bundle *bundle, glassine_record *plate, glassine_write write,
                                   void *context, glassine_report *report, glassine_error *error) {
    glassine_chart *chart;
    glassine_status status = glassine_chart_new(bundle, plate, report, &chart, error);
    if (status != GLASSINE_OK) {
        return status;
    }
    conv_output out = {.write = write, .context = context};
    drawing it = {.out = &out, .chart = chart, .plan = glassine_chart_plan(chart)};
    draw(&it, glassine_record_label(bundle, plate));
    int code = conv_finish(&out);
    conv_free(&out);
    glassine_chart_free(chart);
    return code != 0 ? conv_fail_system(error, code, NULL, "the chart cannot be written") : GLASSINE_OK;
}
