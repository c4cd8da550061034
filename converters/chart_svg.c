/* The chart of a plate as SVG. Lengths are hundredths of a millimetre, so that no locale's decimal comma can
 * get in. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "converters.h"
#include "output.h"

enum {
    WIDTH = 19000,
    HEIGHT_MOST = 25400,
    HEAD = 2900, /* title and figures */
    TEXT = 470,  /* of a letter: large enough to be read where the whole is as wide as a telephone */
    LINE = 680,
    TITLE_MOST = 32, /* characters of a label; a longer one is narrowed */
    EDGE = 100,
    CELL_MOST = 1900,
    GAP = 60 /* of a hundred parts of a cell, between panes */
};

/* What is drawn for a cell, with its sign in the legend. */
typedef struct look {
    const char *best, *attributes, *sign, *says;
    bool framed; /* with a second, thin frame inside */
} look;

/* Attributes rather than a style sheet: there are programs that draw SVG and know no selectors. Told apart by
 * frame and sign; the tints only differ in lightness. */
static const look LOOKS[] = {
    {"corroborated", "fill=\"#b7cfe6\" stroke=\"#1a1a1a\" stroke-width=\"90\"", "2",
     "corroborated: people came to it independently", false},
    {"placed", "fill=\"#e3ecf5\" stroke=\"#1a1a1a\" stroke-width=\"25\"", "1",
     "placed: the number says how many copies", false},
    {"concluded", "fill=\"#ffffff\" stroke=\"#1a1a1a\" stroke-width=\"40\" stroke-dasharray=\"160 90\"", "c",
     "no more than concluded (c: somebody concludes it)", false},
    {"disputed", "fill=\"#ffffff\" stroke=\"#1a1a1a\" stroke-width=\"25\"", "?",
     "no more than disputed (?: one side of a dispute)", true},
    {"missing", "fill=\"#ffffff\" stroke=\"#8a8a8a\" stroke-width=\"14\" stroke-dasharray=\"30 60\"", "",
     "missing", false},
};
#define LOOK_COUNT (sizeof LOOKS / sizeof LOOKS[0])
#define LEGEND ((int64_t)LOOK_COUNT * LINE + 450)

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
        (HEIGHT_MOST - HEAD - LEGEND) * 100 / ((int64_t)it->rows * 100 + (it->panes_down - 1) * GAP);
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

static void add_text(conv_output *out, int64_t x, int64_t y, const char *text) {
    conv_printf(out, "<text x=\"%" PRId64 "\" y=\"%" PRId64 "\" font-size=\"%d\">%s</text>\n", x, y, TEXT,
                text);
}

/* Code points of UTF-8. */
static size_t characters(glassine_span text) {
    size_t count = 0;
    for (size_t i = 0; i < text.length; i++) {
        count += ((unsigned char)text.text[i] & 0xC0) != 0x80;
    }
    return count;
}

static void add_head(const drawing *it, glassine_span label, int64_t height) {
    char found[80], further[120];
    uint32_t count = glassine_plan_count(it->plan), k = glassine_chart_found(it->chart);
    snprintf(found, sizeof found, "%" PRIu32 " of %" PRIu32 " positions found", k, count);
    uint64_t copies = (uint64_t)(glassine_expected_further(count, k) + 0.5);
    snprintf(further, sizeof further,
             "about %" PRIu64 " further %s to complete it, if all places survive equally", copies,
             copies == 1 ? "copy" : "copies");
    if (k == count) {
        snprintf(further, sizeof further, "the plate is complete");
    }
    conv_printf(it->out,
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"190mm\" height=\"%" PRId64 ".%02" PRId64
                "mm\" viewBox=\"0 0 %d %" PRId64 "\" role=\"img\" font-family=\"sans-serif\">\n<title>Plate ",
                height / 100, height % 100, WIDTH, height);
    add_escaped(it->out, label);
    conv_printf(it->out, "</title>\n<desc>%s; %s</desc>\n", found, further);
    conv_add_text(it->out,
                  "<rect x=\"0\" y=\"0\" width=\"100%\" height=\"100%\" fill=\"#ffffff\" stroke=\"none\"/>\n"
                  "<text x=\"100\" y=\"700\" font-size=\"660\" font-weight=\"bold\"");
    if (characters(label) > TITLE_MOST) {
        conv_printf(it->out, " textLength=\"%d\" lengthAdjust=\"spacingAndGlyphs\"", WIDTH - 2 * EDGE);
    }
    conv_add_text(it->out, ">Plate ");
    add_escaped(it->out, label);
    conv_add_text(it->out, "</text>\n");
    add_text(it->out, EDGE, 1450, found);
    add_text(it->out, EDGE, 1450 + LINE, further);
}

static const look *look_of(const char *best) {
    for (size_t i = 0; i < LOOK_COUNT; i++) {
        if (conv_is(conv_span_of(best), LOOKS[i].best)) {
            return &LOOKS[i];
        }
    }
    return &LOOKS[LOOK_COUNT - 1];
}

static void add_frame(conv_output *out, int64_t x, int64_t y, int64_t side, const char *attributes) {
    conv_printf(out,
                "<rect x=\"%" PRId64 "\" y=\"%" PRId64 "\" width=\"%" PRId64 "\" height=\"%" PRId64 "\"%s/>",
                x, y, side, side, attributes);
}

static void add_square(conv_output *out, const look *kind, int64_t x, int64_t y, int64_t side,
                       const char *sign) {
    int64_t inner = side * 88 / 100, margin = (side - inner) / 2;
    conv_printf(out, "<g %s>", kind->attributes);
    add_frame(out, x + margin, y + margin, inner, "");
    if (kind->framed) {
        int64_t inset = side * 5 / 100;
        add_frame(out, x + margin + inset, y + margin + inset, inner - 2 * inset, " stroke-width=\"18\"");
    }
    if (*sign != '\0') {
        conv_printf(out,
                    "<text font-weight=\"bold\" fill=\"#000000\" stroke=\"none\" x=\"%" PRId64
                    "\" y=\"%" PRId64 "\" font-size=\"%" PRId64 "\" text-anchor=\"middle\">%s</text>",
                    x + side / 2, y + side * 80 / 100, side * 46 / 100, sign);
    }
    conv_add_text(out, "</g>\n");
}

/* How many copies, c where somebody concludes it, ? where it is one side of a dispute. */
static void add_cell(const drawing *it, uint32_t position) {
    glassine_chart_cell cell = glassine_chart_at(it->chart, position);
    const look *kind = look_of(cell.best);
    int64_t x = left_of(it, cell.place.sheet_column), y = top_of(it, cell.place.sheet_row);
    char sign[32] = "";
    if (cell.placed > 0) {
        snprintf(sign, sizeof sign, "%" PRIu32, cell.placed);
    }
    snprintf(sign + strlen(sign), sizeof sign - strlen(sign), "%s%s", cell.concluded > 0 ? "c" : "",
             cell.disputed > 0 ? "?" : "");
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
    for (size_t i = 0; i < LOOK_COUNT; i++) {
        int64_t y = top + (int64_t)i * LINE;
        add_square(it->out, &LOOKS[i], 0, y, LINE, LOOKS[i].sign);
        add_text(it->out, LINE + 2 * EDGE, y + LINE * 70 / 100, LOOKS[i].says);
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
    add_legend(it, bottom + LEGEND - (int64_t)LOOK_COUNT * LINE - EDGE);
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
