/* The canonical expression of a set: the shortest of a fixed list of ways to write it (spec/expressions.md).
 */

#include "plating/expression.h"
#include "plating/part.h"

/* One way of writing: the positions that are still to be named, and those that may be named along the way. */
typedef struct writing {
    const gl_plan *plan;
    gl_posset need, allow;
    gl_buf *out;
    size_t start; /* of this list of parts in `out` */
    size_t most;  /* no use in growing beyond */
} writing;

#define EVERY_FIELD GL_NONE

static bool too_long(const writing *w) {
    return w->out->length > w->most || w->out->failed;
}

/* Begins a part, within `pane` where that is not GL_NONE. */
static void begin_part(writing *w, uint32_t pane) {
    if (w->out->length > w->start)
        gl_buf_add_text(w->out, ", ");
    if (pane != GL_NONE)
        gl_buf_printf(w->out, "pane %s and ", w->plan->names[pane]);
}

static uint32_t pane_of_field(const gl_plan *plan, uint32_t field) {
    return field == EVERY_FIELD || plan->fields == 1 ? GL_NONE : field;
}

static void add_range(gl_buf *out, uint32_t first, uint32_t last) {
    if (first == last)
        gl_buf_printf(out, "%u", first + 1);
    else
        gl_buf_printf(out, "%u-%u", first + 1, last + 1);
}

/* ---- whole panes ---- */

/* Are the positions of the part all allowed, and is one of them needed? Then names them as done. */
static bool take_whole(writing *w, const gl_part *part, gl_posset *scratch) {
    gl_posset_clear(scratch);
    gl_part_fill(w->plan, part, scratch);
    if (!gl_posset_meets(scratch, &w->need) || !gl_posset_within(scratch, &w->allow))
        return false;
    gl_posset_minus(&w->need, scratch);
    return true;
}

static void write_panes(writing *w, gl_posset *scratch) {
    for (uint32_t pane = 0; w->plan->names && w->plan->panes > 1 && pane < w->plan->panes; pane++) {
        gl_part part = gl_part_any(w->plan);
        gl_part_pane(&part, pane);
        if (!take_whole(w, &part, scratch))
            continue;
        begin_part(w, GL_NONE);
        gl_buf_printf(w->out, "pane %s", w->plan->names[pane]);
    }
}

/* ---- whole rows and columns ---- */

typedef struct axis {
    bool rows;
    uint32_t lines, length;
} axis;

static axis axis_of(const gl_plan *plan, bool rows) {
    return rows ? (axis){true, plan->field_rows, plan->field_columns}
                : (axis){false, plan->field_columns, plan->field_rows};
}

static uint32_t index_on(const gl_plan *plan, const axis *a, uint32_t field, uint32_t line, uint32_t i) {
    return gl_plan_index(plan, a->rows ? (gl_cell){field, line, i} : (gl_cell){field, i, line});
}

typedef struct line_fit {
    bool allowed, needed;
} line_fit;

static line_fit fit_of(const writing *w, const axis *a, uint32_t field, uint32_t line) {
    line_fit fit = {true, false};
    uint32_t first = field == EVERY_FIELD ? 0 : field;
    uint32_t last = field == EVERY_FIELD ? w->plan->fields - 1 : field;
    for (uint32_t f = first; f <= last && fit.allowed; f++) {
        for (uint32_t i = 0; i < a->length && fit.allowed; i++) {
            uint32_t index = index_on(w->plan, a, f, line, i);
            fit.allowed = gl_posset_has(&w->allow, index);
            fit.needed |= gl_posset_has(&w->need, index);
        }
    }
    return fit;
}

static void done_lines(writing *w, const axis *a, uint32_t field, uint32_t first, uint32_t last) {
    for (uint32_t f = 0; f < w->plan->fields; f++)
        for (uint32_t line = first; line <= last && (field == EVERY_FIELD || f == field); line++)
            for (uint32_t i = 0; i < a->length; i++)
                gl_posset_remove(&w->need, index_on(w->plan, a, f, line, i));
}

/* Longest runs of lines that are allowed whole, from a needed one to a needed one. */
static void write_lines_of(writing *w, const axis *a, uint32_t field) {
    for (uint32_t line = 0; line < a->lines && !too_long(w); line++) {
        line_fit fit = fit_of(w, a, field, line);
        if (!fit.allowed || !fit.needed)
            continue;
        uint32_t last = line, next = line + 1;
        for (; next < a->lines && (fit = fit_of(w, a, field, next)).allowed; next++)
            last = fit.needed ? next : last;
        begin_part(w, pane_of_field(w->plan, field));
        gl_buf_add_text(w->out, a->rows ? "row " : "column ");
        add_range(w->out, line, last);
        done_lines(w, a, field, line, last);
        line = next;
    }
}

static void write_lines(writing *w, bool rows) {
    axis a = axis_of(w->plan, rows);
    write_lines_of(w, &a, EVERY_FIELD);
    for (uint32_t field = 0; w->plan->fields > 1 && field < w->plan->fields; field++)
        write_lines_of(w, &a, field);
}

/* ---- numbers ---- */

static size_t digits(uint32_t number) {
    size_t count = 1;
    for (; number >= 10; number /= 10)
        count++;
    return count;
}

/* Within panes "4R, 5R" may be shorter than "pane R and 4-5". */
static bool singly(const writing *w, uint32_t field, uint32_t first, uint32_t last) {
    if (w->plan->fields == 1)
        return first == last;
    uint32_t base = field * w->plan->per_field;
    size_t name = strlen(w->plan->names[field]), one_by_one = 0;
    size_t range = strlen("pane  and -") + name + digits(first + 1) + digits(last + 1);
    for (uint32_t i = first; i <= last && one_by_one <= range; i++)
        if (gl_posset_has(&w->need, base + i))
            one_by_one += digits(i + 1) + name + (i > first ? strlen(", ") : 0);
    return first == last || one_by_one < range;
}

static void write_run(writing *w, uint32_t field, uint32_t first, uint32_t last) {
    uint32_t base = field * w->plan->per_field;
    if (!singly(w, field, first, last)) {
        begin_part(w, pane_of_field(w->plan, field));
        add_range(w->out, first, last);
        return;
    }
    for (uint32_t i = first; i <= last; i++) {
        if (!gl_posset_has(&w->need, base + i))
            continue;
        begin_part(w, GL_NONE);
        gl_plan_add_number(w->plan, base + i, w->out);
    }
}

/* Longest runs of allowed numbers of a field, from a needed one to a needed one. */
static void write_numbers(writing *w) {
    uint32_t index = gl_posset_next(&w->need, 0);
    while (index != GL_NONE && !too_long(w)) {
        uint32_t field = index / w->plan->per_field, base = field * w->plan->per_field;
        uint32_t last = index, next = index + 1;
        for (; next < base + w->plan->per_field && gl_posset_has(&w->allow, next); next++)
            last = gl_posset_has(&w->need, next) ? next : last;
        write_run(w, field, index - base, last - base);
        index = gl_posset_next(&w->need, next);
    }
}

/* ---- boxes: the same stretch of several neighbouring lines ---- */

static bool needed(const writing *w, const axis *a, uint32_t field, uint32_t line, uint32_t i) {
    return gl_posset_has(&w->need, index_on(w->plan, a, field, line, i));
}

static bool lines_alike(const writing *w, const axis *a, uint32_t field, uint32_t line, uint32_t other) {
    for (uint32_t i = 0; i < a->length; i++)
        if (needed(w, a, field, line, i) != needed(w, a, field, other, i))
            return false;
    return true;
}

static void write_box(writing *w, const axis *a, uint32_t field, gl_bounds lines, gl_bounds across) {
    const gl_plan *plan = w->plan;
    bool one_line = lines.first == lines.last, one_across = across.first == across.last;
    bool along = a->rows != plan->down; /* numbers run along the lines */
    if ((one_line && (along || one_across)) || (one_across && !along)) {
        uint32_t base = field * plan->per_field;
        write_run(w, field, index_on(plan, a, field, lines.first, across.first) - base,
                  index_on(plan, a, field, lines.last, across.last) - base);
        return;
    }
    bool whole_lines = across.first == 0 && across.last == a->length - 1;
    bool all_lines = lines.first == 0 && lines.last == a->lines - 1;
    gl_bounds rows = a->rows ? lines : across, columns = a->rows ? across : lines;
    bool say_rows = a->rows ? !all_lines || whole_lines : !whole_lines;
    bool say_columns = a->rows ? !whole_lines : !all_lines || whole_lines;
    begin_part(w, pane_of_field(plan, field));
    if (say_rows) {
        gl_buf_add_text(w->out, "row ");
        add_range(w->out, rows.first, rows.last);
    }
    if (say_columns) {
        gl_buf_add_text(w->out, say_rows ? " and column " : "column ");
        add_range(w->out, columns.first, columns.last);
    }
}

static void write_boxes_of(writing *w, const axis *a, uint32_t field) {
    for (uint32_t line = 0, last; line < a->lines && !too_long(w); line = last + 1) {
        for (last = line; last + 1 < a->lines && lines_alike(w, a, field, line, last + 1); last++)
            ;
        for (uint32_t i = 0; i < a->length; i++) {
            if (!needed(w, a, field, line, i))
                continue;
            uint32_t first = i;
            while (i + 1 < a->length && needed(w, a, field, line, i + 1))
                i++;
            write_box(w, a, field, (gl_bounds){line, last}, (gl_bounds){first, i});
        }
    }
}

static void write_boxes(writing *w, bool rows) {
    axis a = axis_of(w->plan, rows);
    for (uint32_t field = 0; field < w->plan->fields; field++)
        write_boxes_of(w, &a, field);
}

/* ---- the ways of writing a list of parts ---- */

#define WAYS 6

static void write_way(writing *w, unsigned way, gl_posset *scratch) {
    write_panes(w, scratch);
    switch (way) {
    case 4:
        write_boxes(w, true);
        return;
    case 5:
        write_boxes(w, false);
        return;
    default:
        if (way & 1)
            write_lines(w, true);
        if (way & 2)
            write_lines(w, false);
        write_numbers(w);
    }
}

/* ---- what a list is taken from ---- */

typedef enum base { BASE_NONE, BASE_ANY, BASE_ROWS, BASE_COLUMNS, BASE_PANES, BASES } base;

/* The lines, or panes, that the set touches: each is filled once, at its first member. */
static void touched(const gl_plan *plan, const gl_posset *set, base kind, gl_posset *out) {
    gl_posset_clear(out);
    for (uint32_t i = gl_posset_next(set, 0); i != GL_NONE; i = gl_posset_next(set, i + 1)) {
        if (gl_posset_has(out, i))
            continue;
        gl_cell cell = gl_plan_cell(plan, i);
        gl_part part = gl_part_any(plan);
        if (kind == BASE_PANES)
            gl_part_pane(&part, gl_plan_pane(plan, i));
        else if (kind == BASE_ROWS)
            gl_part_rows(&part, cell.row, cell.row);
        else
            gl_part_columns(&part, cell.column, cell.column);
        gl_part_fill(plan, &part, out);
    }
}

typedef struct printer {
    const gl_plan *plan;
    const gl_posset *set;
    gl_posset base, scratch;
    writing w;
    gl_buf trial, best;
} printer;

static void keep_shorter(printer *p) {
    bool better = p->best.length == 0 || p->trial.length < p->best.length ||
                  (p->trial.length == p->best.length &&
                   gl_span_compare(gl_buf_span(&p->trial), gl_buf_span(&p->best)) < 0);
    if (p->trial.failed || !better)
        return;
    gl_buf swap = p->best;
    p->best = p->trial;
    p->trial = swap;
}

static void try_plain(printer *p, unsigned way) {
    writing *w = &p->w;
    gl_posset_assign(&w->need, p->set);
    gl_posset_assign(&w->allow, p->set);
    write_way(w, way, &p->scratch);
}

/* BASE but not REST: what lies outside the base may be named in the rest as well. */
static void try_less(printer *p, base kind, unsigned way) {
    writing *w = &p->w;
    if (kind == BASE_ANY) {
        gl_buf_add_text(w->out, "any");
    } else {
        gl_posset_assign(&w->need, &p->base);
        gl_posset_assign(&w->allow, &p->base);
        if (kind == BASE_PANES)
            write_panes(w, &p->scratch);
        else
            write_lines(w, kind == BASE_ROWS);
    }
    gl_buf_add_text(w->out, " but not ");
    w->start = w->out->length;
    gl_posset_assign(&w->need, &p->base);
    gl_posset_minus(&w->need, p->set);
    gl_posset_assign(&w->allow, &p->base);
    gl_posset_complement(&w->allow);
    gl_posset_or(&w->allow, &w->need);
    write_way(w, way, &p->scratch);
}

static void try_all(printer *p) {
    for (base kind = BASE_NONE; kind < BASES; kind++) {
        if (kind == BASE_PANES && p->plan->panes == 1)
            continue;
        if (kind == BASE_ANY)
            gl_posset_fill(&p->base);
        else if (kind != BASE_NONE)
            touched(p->plan, p->set, kind, &p->base);
        if (kind != BASE_NONE && gl_posset_equal(&p->base, p->set))
            continue; /* nothing to take away: a plain list says it */
        for (unsigned way = 0; way < WAYS; way++) {
            gl_buf_clear(&p->trial);
            p->w = (writing){p->plan,   p->w.need, p->w.allow,
                             &p->trial, 0,         p->best.length ? p->best.length : SIZE_MAX};
            if (kind == BASE_NONE)
                try_plain(p, way);
            else
                try_less(p, kind, way);
            keep_shorter(p);
        }
    }
}

glassine_status gl_expression_print(const gl_plan *plan, const gl_posset *set, gl_buf *out,
                                    glassine_error *error) {
    uint32_t count = gl_posset_count(set);
    bool every = count == plan->count;
    bool one = count == 1 && plan->rows * plan->columns > 1; /* nothing is shorter than its number then */
    if (every)
        gl_buf_add_text(out, "any");
    else if (one)
        gl_plan_add_number(plan, gl_posset_next(set, 0), out);
    if (count == 0 || every || one)
        return out->failed ? gl_fail_memory(error) : GLASSINE_OK;
    printer p = {.plan = plan, .set = set};
    bool room = gl_posset_init(&p.base, plan->count) && gl_posset_init(&p.scratch, plan->count) &&
                gl_posset_init(&p.w.need, plan->count) && gl_posset_init(&p.w.allow, plan->count);
    if (room)
        try_all(&p);
    if (room && p.best.length)
        gl_buf_add(out, gl_buf_span(&p.best));
    bool failed = !room || !p.best.length || p.best.failed || p.trial.failed || out->failed;
    gl_posset_free(&p.base);
    gl_posset_free(&p.scratch);
    gl_posset_free(&p.w.need);
    gl_posset_free(&p.w.allow);
    gl_buf_free(&p.trial);
    gl_buf_free(&p.best);
    return failed ? gl_fail_memory(error) : GLASSINE_OK;
}

void gl_expression_echo(const gl_plan *plan, const gl_posset *set, uint32_t most, gl_buf *out) {
    uint32_t count = gl_posset_count(set), told = 0;
    gl_buf_printf(out, "%u position%s", count, count == 1 ? "" : "s");
    for (uint32_t i = gl_posset_next(set, 0); i != GL_NONE; i = gl_posset_next(set, i + 1)) {
        if (most && told == most) {
            gl_buf_add_text(out, " …");
            break;
        }
        gl_buf_add_text(out, told++ ? ", " : ": ");
        gl_plan_add_number(plan, i, out);
    }
}
