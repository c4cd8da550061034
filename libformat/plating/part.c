#include "plating/part.h"

static void narrow(gl_bounds *bounds, uint32_t first, uint32_t last) {
    if (first > bounds->first)
        bounds->first = first;
    if (last < bounds->last)
        bounds->last = last;
}

static bool empty(gl_bounds bounds) {
    return bounds.last < bounds.first;
}

static bool inside(gl_bounds bounds, uint32_t value) {
    return value >= bounds.first && value <= bounds.last;
}

gl_part gl_part_any(const gl_plan *plan) {
    return (gl_part){.rows = {0, plan->field_rows - 1},
                     .columns = {0, plan->field_columns - 1},
                     .numbers = {0, plan->per_field - 1},
                     .pane = GL_NONE,
                     .one = GL_NONE};
}

void gl_part_rows(gl_part *part, uint32_t first, uint32_t last) {
    narrow(&part->rows, first, last);
}

void gl_part_columns(gl_part *part, uint32_t first, uint32_t last) {
    narrow(&part->columns, first, last);
}

void gl_part_numbers(gl_part *part, uint32_t first, uint32_t last) {
    narrow(&part->numbers, first, last);
}

void gl_part_pane(gl_part *part, uint32_t pane) {
    part->nothing |= part->pane != GL_NONE && part->pane != pane;
    part->pane = pane;
}

void gl_part_one(gl_part *part, uint32_t index) {
    part->nothing |= part->one != GL_NONE && part->one != index;
    part->one = index;
}

static size_t fill_one(const gl_plan *plan, const gl_part *part, gl_posset *set) {
    gl_cell cell = gl_plan_cell(plan, part->one);
    bool fits = inside(part->rows, cell.row) && inside(part->columns, cell.column) &&
                inside(part->numbers, part->one % plan->per_field) &&
                (part->pane == GL_NONE || part->pane == gl_plan_pane(plan, part->one));
    if (fits)
        gl_posset_add(set, part->one);
    return fits;
}

/* `lines` run along the numbers, `across` over them: rows and columns where numbers run across, the reverse
 * where they run down. */
static size_t fill_field(gl_posset *set, uint32_t base, gl_bounds lines, gl_bounds across, uint32_t length,
                         gl_bounds numbers) {
    size_t touched = 0;
    narrow(&lines, numbers.first / length, numbers.last / length);
    for (uint32_t line = lines.first; !empty(lines) && line <= lines.last; line++) {
        gl_bounds stretch = {line * length + across.first, line * length + across.last};
        narrow(&stretch, numbers.first, numbers.last);
        if (empty(stretch))
            continue;
        gl_posset_add_range(set, base + stretch.first, base + stretch.last);
        touched++;
    }
    return touched;
}

size_t gl_part_fill(const gl_plan *plan, const gl_part *part, gl_posset *set) {
    gl_bounds rows = part->rows, columns = part->columns;
    uint32_t first_field = 0, last_field = plan->fields - 1;
    if (part->nothing)
        return 0;
    if (part->one != GL_NONE)
        return fill_one(plan, part, set);
    if (part->pane != GL_NONE && plan->across_sheet) {
        uint32_t above = part->pane / plan->panes_across * plan->rows;
        uint32_t before = part->pane % plan->panes_across * plan->columns;
        narrow(&rows, above, above + plan->rows - 1);
        narrow(&columns, before, before + plan->columns - 1);
    } else if (part->pane != GL_NONE) {
        first_field = last_field = part->pane;
    }
    if (empty(rows) || empty(columns) || empty(part->numbers))
        return 0;
    size_t touched = 0;
    for (uint32_t field = first_field; field <= last_field; field++)
        touched +=
            plan->down
                ? fill_field(set, field * plan->per_field, columns, rows, plan->field_rows, part->numbers)
                : fill_field(set, field * plan->per_field, rows, columns, plan->field_columns, part->numbers);
    return touched;
}
