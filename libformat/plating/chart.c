#include "plating/chart.h"

#include <stdlib.h>

bool gl_chart_make(gl_chart *chart, uint32_t positions) {
    *chart = (gl_chart){.positions = positions};
    chart->cells = calloc((size_t)positions + 1, sizeof *chart->cells);
    return chart->cells != NULL;
}

void gl_chart_free(gl_chart *chart) {
    free(chart->cells);
    *chart = (gl_chart){0};
}

void gl_chart_place(gl_chart *chart, uint32_t position, gl_standing_word word, bool owned) {
    gl_chart_cell *cell = &chart->cells[position];
    cell->placed++;
    cell->corroborated += word == GL_CORROBORATED;
    cell->owned += owned;
}

void gl_chart_close(gl_chart *chart) {
    chart->found = 0;
    for (uint32_t i = 0; i < chart->positions; i++)
        chart->found += chart->cells[i].placed > 0;
    chart->expected_further = glassine_expected_further(chart->positions, chart->found);
}

const char *gl_chart_cell_word(const gl_chart_cell *cell) {
    if (cell->corroborated)
        return "corroborated";
    if (cell->placed)
        return "placed";
    if (cell->concluded)
        return "concluded";
    return cell->disputed ? "disputed" : "missing";
}

/* The smallest terms first, so that none is lost. */
double glassine_expected_further(uint32_t positions, uint32_t found) {
    double sum = 0;
    for (uint32_t i = positions > found ? positions - found : 0; i > 0; i--)
        sum += 1.0 / i;
    return sum * positions;
}
