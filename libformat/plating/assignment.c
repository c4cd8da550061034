#include "plating/assignment.h"

#include <math.h>
#include <stdlib.h>

/* Minimises cost = -gain over `n` rows, each of which takes one of `m` columns: the real ones, then one
 * stand-in a row, of cost 0, that says "left out". Numbering from 1, with 0 as the root, as the method is
 * usually told. */
typedef struct solver {
    const double *gain;
    uint32_t n, real, m;
    bool turned;        /* rows of the problem are columns of the matrix */
    uint32_t width;     /* of the matrix */
    double *u, *v;      /* potentials */
    double *slack;      /* least reduced cost of a column from the tree */
    uint32_t *taken;    /* row that a column is assigned to, 0: free */
    uint32_t *previous; /* column before it on the path */
    bool *in_tree;
} solver;

static double cost(const solver *s, uint32_t row, uint32_t column) {
    if (column > s->real)
        return 0;
    uint32_t r = s->turned ? column - 1 : row - 1, c = s->turned ? row - 1 : column - 1;
    return -s->gain[(size_t)r * s->width + c];
}

/* Grows the tree of shortest paths from `row` until it reaches a free column. */
static uint32_t grow_tree(solver *s, uint32_t row) {
    for (uint32_t j = 0; j <= s->m; j++) {
        s->slack[j] = INFINITY;
        s->in_tree[j] = false;
    }
    s->taken[0] = row;
    uint32_t at = 0;
    do {
        s->in_tree[at] = true;
        uint32_t from = s->taken[at], next = 0;
        double least = INFINITY;
        for (uint32_t j = 1; j <= s->m; j++) {
            if (s->in_tree[j])
                continue;
            double reduced = cost(s, from, j) - s->u[from] - s->v[j];
            if (reduced < s->slack[j]) {
                s->slack[j] = reduced;
                s->previous[j] = at;
            }
            if (s->slack[j] < least) {
                least = s->slack[j];
                next = j;
            }
        }
        for (uint32_t j = 0; j <= s->m; j++) {
            if (s->in_tree[j]) {
                s->u[s->taken[j]] += least;
                s->v[j] -= least;
            } else {
                s->slack[j] -= least;
            }
        }
        at = next;
    } while (s->taken[at] != 0);
    return at;
}

static void solve(solver *s) {
    for (uint32_t row = 1; row <= s->n; row++) {
        uint32_t at = grow_tree(s, row);
        while (at != 0) {
            uint32_t before = s->previous[at];
            s->taken[at] = s->taken[before];
            at = before;
        }
    }
}

static bool solver_make(solver *s) {
    size_t rows = (size_t)s->n + 1, columns = (size_t)s->m + 1;
    s->u = calloc(rows, sizeof *s->u);
    s->v = calloc(columns, sizeof *s->v);
    s->slack = calloc(columns, sizeof *s->slack);
    s->taken = calloc(columns, sizeof *s->taken);
    s->previous = calloc(columns, sizeof *s->previous);
    s->in_tree = calloc(columns, sizeof *s->in_tree);
    return s->u && s->v && s->slack && s->taken && s->previous && s->in_tree;
}

static void solver_free(solver *s) {
    free(s->u);
    free(s->v);
    free(s->slack);
    free(s->taken);
    free(s->previous);
    free(s->in_tree);
}

bool gl_assign(const double *gain, uint32_t rows, uint32_t columns, uint32_t *match) {
    for (uint32_t i = 0; i < rows; i++)
        match[i] = GL_NONE;
    if (rows == 0 || columns == 0)
        return true;
    bool turned = rows > columns;
    uint32_t n = turned ? columns : rows, real = turned ? rows : columns;
    solver s = {.gain = gain, .n = n, .real = real, .m = real + n, .turned = turned, .width = columns};
    bool room = solver_make(&s);
    if (room)
        solve(&s);
    for (uint32_t j = 1; room && j <= real; j++) {
        if (s.taken[j] == 0)
            continue;
        uint32_t row = turned ? j - 1 : s.taken[j] - 1, column = turned ? s.taken[j] - 1 : j - 1;
        match[row] = column;
    }
    solver_free(&s);
    return room;
}
