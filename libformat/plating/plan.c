#include "plating/plan.h"

#include <stdlib.h>
#include <string.h>

#define LETTERS 26u
#define USUAL_NAMES (LETTERS + LETTERS * LETTERS) /* with three letters, words such as "row" would come */

static bool is_letter(char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
}

static char upper(char c) {
    return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

bool gl_plan_names_equal(gl_span a, gl_span b) {
    if (a.length != b.length)
        return false;
    for (size_t i = 0; i < a.length; i++)
        if (upper(a.text[i]) != upper(b.text[i]))
            return false;
    return true;
}

/* ---- making one ---- */

static bool sizes_set(gl_plan *plan, const glassine_layout *layout) {
    plan->rows = layout->rows;
    plan->columns = layout->columns;
    plan->panes_across = layout->panes_across ? layout->panes_across : 1;
    plan->panes_down = layout->panes_down ? layout->panes_down : 1;
    uint64_t product = 1;
    const uint32_t factors[] = {plan->rows, plan->columns, plan->panes_across, plan->panes_down};
    for (size_t i = 0; i < sizeof factors / sizeof factors[0]; i++) {
        product *= factors[i]; /* both below 2^32, so it fits */
        if (product > GL_POSITIONS_MOST)
            return false;
    }
    plan->panes = plan->panes_across * plan->panes_down;
    plan->count = (uint32_t)product;
    plan->down = layout->numbering == GLASSINE_DOWN;
    plan->across_sheet = layout->numbering == GLASSINE_ACROSS_SHEET;
    plan->corner_letters = layout->corner_letters;
    plan->fields = plan->across_sheet ? 1 : plan->panes;
    plan->field_rows = plan->across_sheet ? plan->rows * plan->panes_down : plan->rows;
    plan->field_columns = plan->across_sheet ? plan->columns * plan->panes_across : plan->columns;
    plan->per_field = plan->field_rows * plan->field_columns;
    return true;
}

/* The letters of the place: L, R beside each other; T, B below each other; UL, UR, LL, LR for four; else A, B
 * … Z, AA, AB … in reading order. */
static void usual_name(const gl_plan *plan, uint32_t pane, gl_buf *out) {
    static const char *const beside[] = {"L", "R"}, *const below[] = {"T", "B"};
    static const char *const four[] = {"UL", "UR", "LL", "LR"};
    if (plan->panes_across == 2 && plan->panes_down == 1) {
        gl_buf_add_text(out, beside[pane]);
    } else if (plan->panes_across == 1 && plan->panes_down == 2) {
        gl_buf_add_text(out, below[pane]);
    } else if (plan->panes_across == 2 && plan->panes_down == 2) {
        gl_buf_add_text(out, four[pane]);
    } else {
        char digits[8];
        size_t length = 0;
        for (uint32_t left = pane + 1; left; left = (left - 1) / LETTERS)
            digits[length++] = (char)('A' + (char)((left - 1) % LETTERS));
        while (length)
            gl_buf_add_char(out, digits[--length]);
    }
}

/* Letters only (and whatever is not ASCII), so that "7R1" is read in one way; none of the grammar's words. */
static const char *name_fault(gl_span name) {
    static const char *const words[] = {"any", "and", "but", "not", "row", "column", "pane"};
    if (name.length == 0)
        return "is empty";
    if (name.length > GL_PANE_NAME_MOST)
        return "is longer than 16 bytes";
    for (size_t i = 0; i < name.length; i++)
        if (!is_letter(name.text[i]) && (unsigned char)name.text[i] < 0x80)
            return "has something other than letters in it";
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (gl_plan_names_equal(name, gl_span_of(words[i])))
            return "is a word of position expressions";
    return NULL;
}

static gl_span trimmed(gl_span part) {
    while (part.length && part.text[0] == ' ')
        part = gl_span_part(part, 1, part.length);
    while (part.length && part.text[part.length - 1] == ' ')
        part.length--;
    return part;
}

static glassine_status take_name(gl_plan *plan, uint32_t pane, gl_span name, glassine_error *error) {
    const char *fault = name_fault(name);
    if (fault)
        return gl_fail(error, GLASSINE_REFUSED, "R211", "pane_names", "the name \"%.*s\" of pane %u %s",
                       GL_SPAN_ARGS(name), pane + 1, fault);
    for (uint32_t i = 0; i < pane; i++)
        if (gl_plan_names_equal(name, gl_span_of(plan->names[i])))
            return gl_fail(error, GLASSINE_REFUSED, "R211", "pane_names", "two panes are called \"%.*s\"",
                           GL_SPAN_ARGS(name));
    plan->names[pane] = strndup(name.text, name.length);
    return plan->names[pane] ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status given_names(gl_plan *plan, gl_span list, glassine_error *error) {
    uint32_t pane = 0;
    for (bool more = true; more; pane++) {
        const char *comma = memchr(list.text, ',', list.length);
        more = comma != NULL;
        size_t length = comma ? (size_t)(comma - list.text) : list.length;
        if (pane >= plan->panes) {
            pane++;
            break;
        }
        glassine_status status = take_name(plan, pane, trimmed(gl_span_part(list, 0, length)), error);
        if (status)
            return status;
        list = gl_span_part(list, length + 1, list.length);
    }
    if (pane != plan->panes)
        return gl_fail(error, GLASSINE_REFUSED, "R211", "pane_names", "there are %s names than the %u panes",
                       pane > plan->panes ? "more" : "fewer", plan->panes);
    return GLASSINE_OK;
}

static glassine_status usual_names(gl_plan *plan, glassine_error *error) {
    if (plan->panes > USUAL_NAMES)
        return gl_fail(error, GLASSINE_REFUSED, "R211", "pane_names",
                       "more than %u panes need names of their own", USUAL_NAMES);
    gl_buf name = GL_BUF_EMPTY;
    glassine_status status = GLASSINE_OK;
    for (uint32_t pane = 0; pane < plan->panes && !status; pane++) {
        gl_buf_clear(&name);
        usual_name(plan, pane, &name);
        status = name.failed ? gl_fail_memory(error) : GLASSINE_OK;
        if (!status && !(plan->names[pane] = strdup(name.text)))
            status = gl_fail_memory(error);
    }
    gl_buf_free(&name);
    return status;
}

static glassine_status names_set(gl_plan *plan, const char *given, glassine_error *error) {
    bool named = given && *given;
    if (plan->panes == 1 && !named)
        return GLASSINE_OK;
    plan->names = calloc(plan->panes, sizeof *plan->names);
    if (!plan->names)
        return gl_fail_memory(error);
    return named ? given_names(plan, gl_span_of(given), error) : usual_names(plan, error);
}

glassine_status gl_plan_new(const glassine_layout *layout, gl_plan **plan, glassine_error *error) {
    *plan = NULL;
    if (layout->rows == 0 || layout->columns == 0)
        return gl_fail(error, GLASSINE_REFUSED, "R210", NULL, "a plate has at least one row and one column");
    gl_plan *made = calloc(1, sizeof *made);
    if (!made)
        return gl_fail_memory(error);
    glassine_status status = GLASSINE_OK;
    if (!sizes_set(made, layout))
        status = gl_fail(error, GLASSINE_REFUSED, "R210", NULL, "a plate has at most %u positions",
                         GL_POSITIONS_MOST);
    if (!status && layout->label && *layout->label && !(made->label = strdup(layout->label)))
        status = gl_fail_memory(error);
    if (!status)
        status = names_set(made, layout->pane_names, error);
    if (status) {
        gl_plan_free(made);
        return status;
    }
    *plan = made;
    return GLASSINE_OK;
}

void gl_plan_free(gl_plan *plan) {
    if (!plan)
        return;
    for (uint32_t i = 0; plan->names && i < plan->panes; i++)
        free(plan->names[i]);
    free(plan->names);
    free(plan->label);
    free(plan);
}

/* ---- where a position lies ---- */

gl_cell gl_plan_cell(const gl_plan *plan, uint32_t index) {
    uint32_t within = index % plan->per_field;
    gl_cell cell = {.field = index / plan->per_field};
    cell.row = plan->down ? within % plan->field_rows : within / plan->field_columns;
    cell.column = plan->down ? within / plan->field_rows : within % plan->field_columns;
    return cell;
}

uint32_t gl_plan_index(const gl_plan *plan, gl_cell cell) {
    uint32_t within =
        plan->down ? cell.column * plan->field_rows + cell.row : cell.row * plan->field_columns + cell.column;
    return cell.field * plan->per_field + within;
}

uint32_t gl_plan_pane(const gl_plan *plan, uint32_t index) {
    gl_cell cell = gl_plan_cell(plan, index);
    if (!plan->across_sheet)
        return cell.field;
    return cell.row / plan->rows * plan->panes_across + cell.column / plan->columns;
}

glassine_place gl_plan_place(const gl_plan *plan, uint32_t index) {
    gl_cell cell = gl_plan_cell(plan, index);
    glassine_place place = {.position = index, .number = index % plan->per_field + 1};
    place.pane = gl_plan_pane(plan, index);
    place.pane_name = plan->names ? plan->names[place.pane] : NULL;
    uint32_t above = place.pane / plan->panes_across * plan->rows;
    uint32_t before = place.pane % plan->panes_across * plan->columns;
    place.row = cell.row % plan->rows + 1;
    place.column = cell.column % plan->columns + 1;
    place.sheet_row = above + place.row;
    place.sheet_column = before + place.column;
    if (plan->corner_letters && plan->rows * plan->panes_down <= LETTERS &&
        plan->columns * plan->panes_across <= LETTERS) {
        place.letters[0] = (char)('A' + (char)(place.sheet_row - 1));
        place.letters[1] = (char)('A' + (char)(place.sheet_column - 1));
    }
    return place;
}

uint32_t gl_plan_from_pane(const gl_plan *plan, uint32_t pane, uint32_t row, uint32_t column) {
    if (pane >= plan->panes || row == 0 || row > plan->rows || column == 0 || column > plan->columns)
        return GL_NONE;
    gl_cell cell = {pane, row - 1, column - 1};
    if (plan->across_sheet)
        cell = (gl_cell){0, pane / plan->panes_across * plan->rows + row - 1,
                         pane % plan->panes_across * plan->columns + column - 1};
    return gl_plan_index(plan, cell);
}

uint32_t gl_plan_from_sheet(const gl_plan *plan, uint32_t row, uint32_t column) {
    if (row == 0 || row > plan->rows * plan->panes_down || column == 0 ||
        column > plan->columns * plan->panes_across)
        return GL_NONE;
    uint32_t pane = (row - 1) / plan->rows * plan->panes_across + (column - 1) / plan->columns;
    return gl_plan_from_pane(plan, pane, (row - 1) % plan->rows + 1, (column - 1) % plan->columns + 1);
}

uint32_t gl_plan_from_letters(const gl_plan *plan, char row, char column) {
    if (!plan->corner_letters || plan->rows * plan->panes_down > LETTERS ||
        plan->columns * plan->panes_across > LETTERS || !is_letter(row) || !is_letter(column))
        return GL_NONE;
    return gl_plan_from_sheet(plan, (uint32_t)(upper(row) - 'A') + 1, (uint32_t)(upper(column) - 'A') + 1);
}

uint32_t gl_plan_pane_find(const gl_plan *plan, gl_span name) {
    for (uint32_t i = 0; plan->names && i < plan->panes; i++)
        if (gl_plan_names_equal(name, gl_span_of(plan->names[i])))
            return i;
    return GL_NONE;
}

uint32_t gl_plan_step(const gl_plan *plan, uint32_t index, int64_t down, int64_t across) {
    glassine_place place = gl_plan_place(plan, index);
    if (down < -(int64_t)plan->rows || down > (int64_t)plan->rows || across < -(int64_t)plan->columns ||
        across > (int64_t)plan->columns)
        return GL_NONE;
    int64_t row = (int64_t)place.row + down, column = (int64_t)place.column + across;
    if (row < 1 || column < 1)
        return GL_NONE;
    return gl_plan_from_pane(plan, place.pane, (uint32_t)row, (uint32_t)column);
}

uint32_t gl_plan_mirror(const gl_plan *plan, uint32_t index) {
    glassine_place place = gl_plan_place(plan, index);
    return gl_plan_from_sheet(plan, place.sheet_row,
                              plan->columns * plan->panes_across + 1 - place.sheet_column);
}

/* ---- telling it ---- */

void gl_plan_add_number(const gl_plan *plan, uint32_t index, gl_buf *out) {
    gl_buf_printf(out, "%u", index % plan->per_field + 1);
    if (plan->fields > 1)
        gl_buf_add_text(out, plan->names[gl_plan_pane(plan, index)]);
}

bool gl_plan_same(const gl_plan *a, const gl_plan *b) {
    return a->rows == b->rows && a->columns == b->columns && a->panes_across == b->panes_across &&
           a->panes_down == b->panes_down && a->down == b->down && a->across_sheet == b->across_sheet &&
           a->corner_letters == b->corner_letters;
}
