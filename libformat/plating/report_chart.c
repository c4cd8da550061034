/* The chart of a plate out of a bundle, for drawing and as a report. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/chart.h"
#include "plating/standings.h"

struct glassine_chart {
    glassine_standings *standings;
    uint32_t plate;
    gl_chart chart;
};

static bool is_owned(const gl_survey *survey, uint32_t stamp) {
    gl_span item = survey->stamps[stamp].item;
    glassine_record *record = item.text ? glassine_bundle_record(survey->bundle, item, GL_NO_SPAN) : NULL;
    gl_span holding = record ? glassine_record_text(survey->bundle, record, "holding") : GL_NO_SPAN;
    return !holding.length || gl_span_is(holding, "owned");
}

/* The one position of this plate that is left by what is said; GL_NONE where it leaves others too. */
static uint32_t only_place(const gl_allowance *allowed, uint32_t count, uint32_t plate) {
    if (!allowed || count != 1 || allowed->plate != plate || !allowed->positions ||
        gl_posset_count(allowed->positions) != 1)
        return GL_NONE;
    return gl_posset_next(allowed->positions, 0);
}

/* Each place that somebody's own view of the disputed stamp leaves alone; `last` has the number of the stamp,
 * from 1, that was told there last, so that many who say the same count once. */
static void add_disputes(glassine_chart *chart, const gl_standing *s, uint32_t *last) {
    for (uint32_t i = 0; i < s->sole_count; i++) {
        uint32_t at = s->sole[i].position;
        if (s->sole[i].plate != chart->plate || last[at] == s->stamp + 1)
            continue;
        last[at] = s->stamp + 1;
        chart->chart.cells[at].disputed++;
    }
}

static bool add_stamps(glassine_chart *chart) {
    uint32_t *last = calloc((size_t)chart->chart.positions + 1, sizeof *last);
    if (!last)
        return false;
    const glassine_standings *standings = chart->standings;
    for (uint32_t i = 0; i < standings->survey.stamp_count; i++) {
        const gl_standing *s = &standings->all[i].s;
        if ((s->place == GL_PLACED || s->place == GL_CORROBORATED) && s->plate == chart->plate)
            gl_chart_place(&chart->chart, s->position, s->place, is_owned(&standings->survey, i));
        if (s->place == GL_DISPUTED)
            add_disputes(chart, s, last);
        bool on_plate = false;
        for (uint32_t n = 0; s->place == GL_NARROWED && n < gl_standings_plates(standings, i); n++) {
            gl_left left = gl_standings_left(standings, i, n);
            on_plate |= left.plate == chart->plate && left.count > 0;
        }
        chart->chart.narrowed += on_plate;
    }
    for (uint32_t i = 0; i < standings->survey.conclusion_count; i++) {
        const gl_survey_conclusion *conclusion = &standings->survey.conclusions[i];
        uint32_t at = only_place(conclusion->allowed, conclusion->allowed_count, chart->plate);
        if (at != GL_NONE)
            chart->chart.cells[at].concluded++;
    }
    free(last);
    return true;
}

glassine_status glassine_chart_new(glassine_bundle *bundle, glassine_record *plate, glassine_report *report,
                                   glassine_chart **out, glassine_error *error) {
    *out = NULL;
    glassine_chart *made = calloc(1, sizeof *made);
    if (!made)
        return gl_fail_memory(error);
    glassine_status status = glassine_standings_new(bundle, report, &made->standings, error);
    if (!status) {
        const gl_survey *survey = &made->standings->survey;
        made->plate = gl_map_find(survey->plate_of, gl_survey_id(survey, plate));
        if (made->plate == GL_NONE)
            status = gl_survey_no_plate(survey, plate, error);
    }
    if (!status && (!gl_chart_make(&made->chart, made->standings->survey.plates[made->plate].plan->count) ||
                    !add_stamps(made)))
        status = gl_fail_memory(error);
    status = gl_bundle_end(bundle, NULL, status, error);
    if (status) {
        glassine_chart_free(made);
        return status;
    }
    gl_chart_close(&made->chart);
    *out = made;
    return GLASSINE_OK;
}

void glassine_chart_free(glassine_chart *chart) {
    if (!chart)
        return;
    gl_chart_free(&chart->chart);
    glassine_standings_free(chart->standings);
    free(chart);
}

const glassine_plan *glassine_chart_plan(const glassine_chart *chart) {
    return chart->standings->survey.plates[chart->plate].plan;
}

uint32_t glassine_chart_found(const glassine_chart *chart) {
    return chart->chart.found;
}

glassine_chart_cell glassine_chart_at(const glassine_chart *chart, uint32_t position) {
    const gl_chart_cell *cell = &chart->chart.cells[position];
    return (glassine_chart_cell){.place = gl_plan_place(glassine_chart_plan(chart), position),
                                 .best = gl_chart_cell_word(cell),
                                 .placed = cell->placed,
                                 .corroborated = cell->corroborated,
                                 .owned = cell->owned,
                                 .disputed = cell->disputed,
                                 .concluded = cell->concluded};
}

/* ---- as a report ---- */

static void tell_cell(const glassine_chart_cell *cell, glassine_node *list) {
    glassine_node *row = glassine_node_object(list, NULL, NULL);
    glassine_node_integer(row, "position", NULL, cell->place.number);
    if (cell->place.pane_name)
        glassine_node_string(row, "pane", NULL, cell->place.pane_name);
    glassine_node_integer(row, "row", NULL, cell->place.row);
    glassine_node_integer(row, "column", NULL, cell->place.column);
    glassine_node_string(row, "best", NULL, cell->best);
    glassine_node_integer(row, "placed", NULL, cell->placed);
    glassine_node_integer(row, "corroborated", NULL, cell->corroborated);
    glassine_node_integer(row, "owned", NULL, cell->owned);
    glassine_node_integer(row, "disputed", NULL, cell->disputed);
    glassine_node_integer(row, "concluded", NULL, cell->concluded);
}

/* ---- as a drawing ---- */

#define LABEL 4u /* in characters: the number of a row */
#define CELL 5u
#define PANE_GAP 2u
#define LINE_MOST 79u

/* How many copies, '+' where one is corroborated, 'c' where one is concluded, '?' where one is disputed. */
static void draw_cell(const glassine_chart_cell *cell, gl_buf *out) {
    gl_buf_add_char(out, ' ');
    if (cell->placed > 9)
        gl_buf_add_char(out, '*');
    else if (cell->placed)
        gl_buf_printf(out, "%u", cell->placed);
    else
        gl_buf_add_char(out, cell->concluded || cell->disputed ? '-' : '.');
    gl_buf_add_char(out, cell->corroborated ? '+' : ' ');
    gl_buf_add_char(out, cell->concluded ? 'c' : ' ');
    gl_buf_add_char(out, cell->disputed ? '?' : ' ');
}

static bool begins_pane(const gl_plan *plan, uint32_t column) {
    return (column - 1) % plan->columns == 0;
}

/* The last column that a line which begins with `first` has room for: whole panes where one fits. */
static uint32_t last_of_line(const gl_plan *plan, uint32_t first) {
    uint32_t columns = plan->columns * plan->panes_across, width = LABEL, whole = 0, column = first;
    for (; column <= columns; column++) {
        width += CELL + (column > first && begins_pane(plan, column) ? PANE_GAP : 0);
        if (width > LINE_MOST && column > first)
            break;
        if (column == columns || begins_pane(plan, column + 1))
            whole = column;
    }
    return whole ? whole : column - 1;
}

static void begin_cell(const gl_plan *plan, uint32_t first, uint32_t column, gl_buf *out) {
    if (column > first && begins_pane(plan, column))
        gl_buf_printf(out, "%*s", (int)PANE_GAP, "");
}

static void draw_pane_names(const gl_plan *plan, uint32_t row, uint32_t first, uint32_t last, gl_buf *out) {
    const char *before = "     pane ";
    for (uint32_t column = first; column <= last; column++) {
        glassine_place place = gl_plan_place(plan, gl_plan_from_sheet(plan, row, column));
        if (!place.pane_name || (column > first && !begins_pane(plan, column)))
            continue;
        gl_buf_printf(out, "%s%s", before, place.pane_name);
        before = ", ";
    }
    if (*before == ',')
        gl_buf_add_char(out, '\n');
}

static void draw_line(const glassine_chart *chart, uint32_t row, uint32_t first, uint32_t last, gl_buf *out) {
    const gl_plan *plan = glassine_chart_plan(chart);
    for (uint32_t column = first; column <= last; column++) {
        glassine_chart_cell cell = glassine_chart_at(chart, gl_plan_from_sheet(plan, row, column));
        if (column == first)
            gl_buf_printf(out, "%*u", (int)LABEL, cell.place.row);
        begin_cell(plan, first, column, out);
        draw_cell(&cell, out);
    }
    gl_buf_add_char(out, '\n');
}

/* The panes that lie beside each other, or as much of them as a line has room for, under the columns'
 * numbers. */
static void draw_block(const glassine_chart *chart, uint32_t top, uint32_t first, uint32_t last,
                       gl_buf *out) {
    const gl_plan *plan = glassine_chart_plan(chart);
    draw_pane_names(plan, top, first, last, out);
    gl_buf_printf(out, "%*s", (int)LABEL, "");
    for (uint32_t column = first; column <= last; column++) {
        begin_cell(plan, first, column, out);
        gl_buf_printf(out, " %-*u", (int)CELL - 1,
                      gl_plan_place(plan, gl_plan_from_sheet(plan, top, column)).column);
    }
    gl_buf_add_char(out, '\n');
    for (uint32_t row = top; row < top + plan->rows; row++)
        draw_line(chart, row, first, last, out);
}

/* The sheet as it is looked at; panes below each other where they are too wide for a line. */
static void draw(const glassine_chart *chart, gl_buf *out) {
    const gl_plan *plan = glassine_chart_plan(chart);
    for (uint32_t top = 1; top <= plan->rows * plan->panes_down; top += plan->rows) {
        for (uint32_t first = 1, last; first <= plan->columns * plan->panes_across; first = last + 1) {
            last = last_of_line(plan, first);
            if (top > 1 || first > 1)
                gl_buf_add_char(out, '\n');
            draw_block(chart, top, first, last, out);
        }
    }
}

static glassine_status report_it(const glassine_chart *chart, glassine_report *report,
                                 glassine_error *error) {
    const gl_survey *survey = &chart->standings->survey;
    glassine_record *plate = survey->plates[chart->plate].record;
    glassine_node *result = glassine_report_result(report);
    gl_buf drawing = GL_BUF_EMPTY;
    draw(chart, &drawing);
    if (drawing.failed) {
        gl_buf_free(&drawing);
        return gl_fail_memory(error);
    }
    glassine_node_text(result, "plate", NULL, glassine_record_id(survey->bundle, plate));
    glassine_node_text(result, "label", "plate", gl_tell_label(survey, plate));
    glassine_node_integer(result, "positions", "positions", chart->chart.positions);
    glassine_node_integer(result, "found", "found", chart->chart.found);
    glassine_node_real(result, "expected_further", NULL, chart->chart.expected_further, 4);
    glassine_node_real(result, NULL, "further copies expected", chart->chart.expected_further, 1);
    glassine_node_integer(result, "narrowed", "stamps that stand at several places", chart->chart.narrowed);
    glassine_node *cells = glassine_node_list(result, "cells", NULL);
    for (uint32_t i = 0; i < chart->chart.positions; i++) {
        glassine_chart_cell cell = glassine_chart_at(chart, i);
        tell_cell(&cell, cells);
    }
    glassine_node_drawing(result, drawing.text);
    glassine_node_say(result,
                      "Rows at the left, columns above. Number: copies that stand there (*: over 9).");
    glassine_node_say(result,
                      "+ one is corroborated, c somebody concludes this place, ? one side of a dispute.");
    glassine_node_say(result, ". missing, - missing but for that.");
    glassine_node_say(result, "Further copies: drawn at random, if all positions survive equally.");
    gl_buf_free(&drawing);
    return gl_bundle_end(survey->bundle, report, GLASSINE_OK, error);
}

glassine_status glassine_chart_report(glassine_bundle *bundle, glassine_record *plate,
                                      glassine_report *report, glassine_error *error) {
    glassine_chart *chart;
    glassine_status status = glassine_chart_new(bundle, plate, report, &chart, error);
    if (status)
        return status;
    status = report_it(chart, report, error);
    glassine_chart_free(chart);
    return status;
}
