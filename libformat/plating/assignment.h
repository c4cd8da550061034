/* The best one-to-one assignment of rows to columns, where any of them may be left out. */
#ifndef GL_PLATING_ASSIGNMENT_H
#define GL_PLATING_ASSIGNMENT_H

#include <stdbool.h>
#include <stdint.h>

#include "base/map.h" /* GL_NONE */

/* Finds the assignment whose sum of gain[row * columns + column] is greatest; a row or column left out adds
 * 0. match[row] is its column, or GL_NONE. Where several sums are greatest, one of them by a fixed rule.
 * Gains are finite. Exact: successive shortest augmenting paths with potentials (Hungarian method; Kuhn 1955,
 * Munkres 1957), O(min² · max). False when memory ran out. */
bool gl_assign(const double *gain, uint32_t rows, uint32_t columns, uint32_t *match);

#endif
