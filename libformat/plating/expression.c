#include "plating/expression.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "plating/part.h"
#include "plating/reader.h"

typedef struct parser {
    const gl_plan *plan;
    const gl_state_names *states;
    gl_reader in;
    gl_part part;      /* being read */
    size_t part_at;    /* where it begins */
    size_t unclear_at; /* the first clause of it that needs a pane beside it; SIZE_MAX: none */
    bool pane_said;    /* in it */
    size_t work;       /* stretches of numbers touched so far */
    gl_expression *out;
} parser;

#define REMEDY                                                                                               \
    "Write numbers (7), ranges (41-50), row 3, column 4, R6/3 or any, joined by \",\", \"and\", \"but not\""

/* "plate 1", "a pane of plate 1": what it is that has so many rows. */
static void whose(const parser *p, char *out, size_t size) {
    const char *label = p->plan->label;
    snprintf(out, size, "%s%s%s", p->plan->fields > 1 ? "a pane of " : "", label ? "plate " : "the plate",
             label ? label : "");
}

/* A number that is too great, or 0. */
static const char *rule_of(const char *what) {
    return strcmp(what, "position") == 0 ? "R201" : "R202";
}

static glassine_status fail_lacks(parser *p, size_t at, const char *what, uint32_t most) {
    char owner[128];
    whose(p, owner, sizeof owner);
    return gl_reader_fail(&p->in, at, rule_of(what), NULL, "%s has %u %s%s", owner, most, what,
                          most == 1 ? "" : "s");
}

static bool is_one_of(gl_span word, const char *const *words) {
    for (; *words; words++)
        if (gl_plan_names_equal(word, gl_span_of(*words)))
            return true;
    return false;
}

/* A word that joins clauses. */
static bool is_joint(gl_span word) {
    static const char *const words[] = {"and", "but", "not", NULL};
    return is_one_of(word, words);
}

/* A word of the grammar, and so no pane. */
static bool is_keyword(gl_span word) {
    static const char *const words[] = {"any", "row", "column", "pane", NULL};
    return is_joint(word) || is_one_of(word, words);
}

/* The next number, from 1 to `most`. */
static glassine_status take_number(parser *p, const char *what, uint32_t most, uint32_t *number) {
    if (gl_reader_at_end(&p->in))
        return gl_reader_fail(&p->in, p->in.at, "R200", REMEDY,
                              "the expression ends where a number is expected");
    if (!gl_reader_is_digit(gl_reader_peek(&p->in)))
        return gl_reader_fail(&p->in, p->in.at, "R200", REMEDY, "a number is expected");
    size_t start = p->in.at;
    uint32_t value = 0;
    for (; p->in.at < p->in.text.length && gl_reader_is_digit(p->in.text.text[p->in.at]); p->in.at++)
        if (value <= GL_POSITIONS_MOST)
            value = value * 10 + (uint32_t)(p->in.text.text[p->in.at] - '0');
    if (value == 0)
        return gl_reader_fail(&p->in, start, rule_of(what), NULL, "%ss count from 1", what);
    if (value > most)
        return fail_lacks(p, start, what, most);
    *number = value;
    return GLASSINE_OK;
}

/* number [ "-" number ] */
static glassine_status take_range(parser *p, const char *what, uint32_t most, uint32_t *first,
                                  uint32_t *last) {
    size_t start = gl_reader_place(&p->in);
    glassine_status status = take_number(p, what, most, first);
    *last = *first;
    if (status || !gl_reader_take_char(&p->in, '-'))
        return status;
    status = take_number(p, what, most, last);
    if (!status && *last < *first)
        return gl_reader_fail(&p->in, start, "R206", "Write the smaller number first",
                              "the range %u-%u is empty", *first, *last);
    return status;
}

/* ---- clauses ---- */

/* A clause that says one place of a pane, and not which pane. */
static void needs_pane(parser *p, size_t at) {
    if (p->plan->fields > 1 && at < p->unclear_at)
        p->unclear_at = at;
}

static glassine_status row_clause(parser *p) {
    uint32_t first = 0, last = 0;
    glassine_status status = take_range(p, "row", p->plan->field_rows, &first, &last);
    if (!status)
        gl_part_rows(&p->part, first - 1, last - 1);
    return status;
}

static glassine_status column_clause(parser *p) {
    uint32_t first = 0, last = 0;
    glassine_status status = take_range(p, "column", p->plan->field_columns, &first, &last);
    if (!status)
        gl_part_columns(&p->part, first - 1, last - 1);
    return status;
}

static glassine_status cell_clause(parser *p, size_t start) {
    uint32_t row = 0, column = 0;
    glassine_status status = take_number(p, "row", p->plan->field_rows, &row);
    if (status)
        return status;
    if (!gl_reader_take_char(&p->in, '/'))
        return gl_reader_fail(&p->in, p->in.at, "R200", "Write R6/3 for row 6, stamp 3",
                              "\"/\" is expected between row and column");
    status = take_number(p, "column", p->plan->field_columns, &column);
    if (status)
        return status;
    gl_part_rows(&p->part, row - 1, row - 1);
    gl_part_columns(&p->part, column - 1, column - 1);
    needs_pane(p, start);
    return GLASSINE_OK;
}

static glassine_status unknown_pane(parser *p, gl_span name, size_t at) {
    if (!p->plan->names)
        return gl_reader_fail(&p->in, at, "R203", "Leave the pane out",
                              "there is no pane \"%.*s\": it has only one pane",
                              GL_SPAN_ARGS(gl_reader_shortened(name)));
    char list[128] = "";
    for (uint32_t i = 0; i < p->plan->panes && strlen(list) < 80; i++) {
        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", p->plan->names[i]);
    }
    return gl_reader_fail(&p->in, at, "R203", NULL, "there is no pane \"%.*s\" (its panes are %s)",
                          GL_SPAN_ARGS(gl_reader_shortened(name)), list);
}

static glassine_status pane_clause(parser *p) {
    gl_span name = gl_reader_word(&p->in);
    size_t at = p->in.at;
    if (name.length == 0)
        return gl_reader_fail(&p->in, at, "R200", NULL, "the name of a pane is expected");
    uint32_t pane = gl_plan_pane_find(p->plan, name);
    if (pane == GL_NONE)
        return unknown_pane(p, name, at);
    p->in.at += name.length;
    gl_part_pane(&p->part, pane);
    p->pane_said = true;
    return GLASSINE_OK;
}

static glassine_status letters_clause(parser *p, gl_span word, size_t start) {
    const gl_plan *plan = p->plan;
    if (!gl_plan_place(plan, 0).letters[0])
        return gl_reader_fail(&p->in, start, "R205", "Write the number, or row and column",
                              "\"%.*s\": the plate has no corner letters", GL_SPAN_ARGS(word));
    uint32_t index = gl_plan_from_letters(plan, word.text[0], word.text[1]);
    if (index == GL_NONE) {
        uint32_t last =
            gl_plan_from_sheet(plan, plan->rows * plan->panes_down, plan->columns * plan->panes_across);
        return gl_reader_fail(&p->in, start, "R205", NULL, "its corner letters end at %s",
                              gl_plan_place(plan, last).letters);
    }
    p->in.at += word.length;
    gl_part_one(&p->part, index);
    p->pane_said = true;
    return GLASSINE_OK;
}

static glassine_status word_clause(parser *p) {
    gl_span word = gl_reader_word(&p->in);
    size_t start = p->in.at;
    if (gl_reader_take_word(&p->in, "any"))
        return GLASSINE_OK;
    if (gl_reader_take_word(&p->in, "row"))
        return row_clause(p);
    if (gl_reader_take_word(&p->in, "column"))
        return column_clause(p);
    if (gl_reader_take_word(&p->in, "pane"))
        return pane_clause(p);
    if (gl_reader_take_word(&p->in, "R"))
        return cell_clause(p, start);
    if (word.length == 2 && (unsigned char)word.text[0] < 0x80)
        return letters_clause(p, word, start);
    return gl_reader_fail(&p->in, start, "R200", REMEDY, "\"%.*s\" is not a word of expressions",
                          GL_SPAN_ARGS(gl_reader_shortened(word)));
}

/* ---- 7R1E ---- */

/* Does the text at `at` say the plate's label, and nothing that would make another label of it? */
static bool label_here(const parser *p, size_t at) {
    gl_span label = gl_span_of(p->plan->label);
    if (!label.text || !gl_plan_names_equal(gl_span_part(p->in.text, at, label.length), label))
        return false;
    size_t after = at + label.length;
    return !(gl_reader_is_digit(label.text[label.length - 1]) && after < p->in.text.length &&
             gl_reader_is_digit(p->in.text.text[after]));
}

/* The pane whose name begins `run`: the whole run, or what is left of it begins the plate's label. */
static uint32_t pane_here(const parser *p, gl_span run, size_t *length) {
    uint32_t pane = gl_plan_pane_find(p->plan, run);
    *length = run.length;
    for (size_t shorter = run.length; pane == GL_NONE && shorter-- > 1;) {
        *length = shorter;
        pane = gl_plan_pane_find(p->plan, gl_span_part(run, 0, shorter));
        if (pane != GL_NONE && !label_here(p, p->in.at + shorter))
            pane = GL_NONE;
    }
    return pane;
}

static glassine_status other_label(parser *p) {
    size_t end = p->in.at;
    while (end < p->in.text.length &&
           (gl_reader_is_digit(p->in.text.text[end]) || gl_reader_is_letter(p->in.text.text[end])))
        end++;
    gl_span said = gl_reader_shortened(gl_span_part(p->in.text, p->in.at, end - p->in.at));
    if (!p->plan->label)
        return gl_reader_fail(&p->in, p->in.at, "R204", NULL,
                              "plate \"%.*s\" is meant: this plate has no label", GL_SPAN_ARGS(said));
    return gl_reader_fail(&p->in, p->in.at, "R204", NULL, "plate \"%.*s\" is meant: this is plate %s",
                          GL_SPAN_ARGS(said), p->plan->label);
}

static bool begins_name(gl_span initial, gl_span name) {
    return initial.length <= name.length &&
           gl_plan_names_equal(initial, gl_span_part(name, 0, initial.length));
}

static glassine_status state_said(parser *p, gl_span initial, size_t at) {
    gl_expression *out = p->out;
    if (out->state_said.text && !gl_plan_names_equal(out->state_said, initial))
        return gl_reader_fail(&p->in, at, "R212", "Make a statement of its own for each state",
                              "two states are named: %.*s and %.*s",
                              GL_SPAN_ARGS(gl_reader_shortened(out->state_said)),
                              GL_SPAN_ARGS(gl_reader_shortened(initial)));
    out->state_said = initial;
    if (!p->states || !p->states->names)
        return GLASSINE_OK;
    size_t fitting = 0;
    for (size_t i = 0; i < p->states->count; i++) {
        if (!begins_name(initial, p->states->names[i]))
            continue;
        out->state = (uint32_t)i;
        if (initial.length == p->states->names[i].length)
            return GLASSINE_OK;
        fitting++;
    }
    if (fitting == 1)
        return GLASSINE_OK;
    return gl_reader_fail(&p->in, at, "R212", NULL, "\"%.*s\" begins the name of %s",
                          GL_SPAN_ARGS(gl_reader_shortened(initial)),
                          fitting ? "several states of the plate" : "no state of the plate");
}

/* [ plate-label [ state-initial ] ] */
static glassine_status label_and_state(parser *p) {
    char next = gl_reader_peek(&p->in);
    if (!label_here(p, p->in.at)) {
        bool another =
            gl_reader_is_digit(next) || (gl_reader_is_letter(next) && !is_keyword(gl_reader_word(&p->in)));
        return another ? other_label(p) : GLASSINE_OK;
    }
    p->in.at += strlen(p->plan->label);
    bool bracket = gl_reader_take_char(&p->in, '(');
    gl_span initial = gl_reader_word(&p->in);
    if (!bracket && (initial.length == 0 || is_keyword(initial)))
        return GLASSINE_OK;
    if (initial.length == 0)
        return gl_reader_fail(&p->in, p->in.at, "R200", NULL, "the initial of a state is expected");
    size_t at = p->in.at;
    p->in.at += initial.length;
    if (bracket && !gl_reader_take_char(&p->in, ')'))
        return gl_reader_fail(&p->in, p->in.at, "R200", NULL, "\")\" is expected");
    return state_said(p, initial, at);
}

static glassine_status in_pane(parser *p, uint32_t number, size_t start) {
    gl_span run = gl_reader_word(&p->in);
    size_t at = p->in.at, length = 0;
    uint32_t pane = pane_here(p, run, &length);
    if (pane == GL_NONE)
        return unknown_pane(p, run, at);
    p->in.at += length;
    uint32_t index = p->plan->across_sheet ? number - 1 : pane * p->plan->per_field + number - 1;
    if (gl_plan_pane(p->plan, index) != pane)
        return gl_reader_fail(&p->in, start, "R201", NULL, "position %u is in pane %s", number,
                              p->plan->names[gl_plan_pane(p->plan, index)]);
    gl_part_one(&p->part, index);
    p->pane_said = true;
    return label_and_state(p);
}

/* Dashes that text programs put for "-": U+2012 to U+2015, U+2212. */
static bool is_dash(gl_span word) {
    return gl_span_starts(word, GL_SPAN("\xe2\x80\x92")) || gl_span_starts(word, GL_SPAN("\xe2\x80\x93")) ||
           gl_span_starts(word, GL_SPAN("\xe2\x80\x94")) || gl_span_starts(word, GL_SPAN("\xe2\x80\x95")) ||
           gl_span_starts(word, GL_SPAN("\xe2\x88\x92"));
}

static glassine_status number_clause(parser *p) {
    size_t start = p->in.at;
    uint32_t first = 0, last = 0;
    glassine_status status = take_range(p, "position", p->plan->per_field, &first, &last);
    if (status)
        return status;
    gl_span word = gl_reader_word(&p->in);
    if (is_dash(word))
        return gl_reader_fail(&p->in, p->in.at, "R200", "Write \"-\"", "this dash does not make a range");
    bool ranged = memchr(p->in.text.text + start, '-', p->in.at - start) != NULL;
    bool named = word.length && !is_keyword(word);
    if (named && ranged)
        return gl_reader_fail(&p->in, p->in.at, "R200", "Write \"pane R and 41-50\"",
                              "a range takes no pane behind it");
    if (named)
        return in_pane(p, first, start);
    gl_part_numbers(&p->part, first - 1, last - 1);
    needs_pane(p, start);
    return GLASSINE_OK;
}

static glassine_status read_clause(parser *p) {
    char next = gl_reader_peek(&p->in);
    if (gl_reader_at_end(&p->in))
        return gl_reader_fail(&p->in, p->in.at, "R200", REMEDY,
                              "the expression ends where a position is expected");
    if (gl_reader_is_digit(next))
        return number_clause(p);
    if (gl_reader_is_letter(next) && !is_joint(gl_reader_word(&p->in)))
        return word_clause(p);
    return gl_reader_fail(&p->in, p->in.at, "R200", REMEDY, "a position is expected");
}

/* ---- parts and the whole ---- */

size_t gl_expression_most(const gl_plan *plan) {
    return 1024 + 16 * (size_t)plan->count;
}

/* Keeps reading linear in the plate: a canonical expression touches each position a few times at most. */
static size_t work_most(const gl_plan *plan) {
    return 65536 + 16 * (size_t)plan->count;
}

/* A number or R6/3 alone means nothing where several panes have it. */
static glassine_status fail_unclear(parser *p) {
    char remedy[96];
    snprintf(remedy, sizeof remedy, "Name the pane: \"7%s\", or \"pane %s and 7\"", p->plan->names[0],
             p->plan->names[0]);
    return gl_reader_fail(&p->in, p->unclear_at, "R208", remedy, "each of the %u panes has such a position",
                          p->plan->panes);
}

static glassine_status read_part(parser *p, gl_posset *set) {
    p->part = gl_part_any(p->plan);
    p->part_at = gl_reader_place(&p->in);
    p->unclear_at = SIZE_MAX;
    p->pane_said = false;
    do {
        glassine_status status = read_clause(p);
        if (status)
            return status;
    } while (gl_reader_take_word(&p->in, "and"));
    if (p->unclear_at != SIZE_MAX && !p->pane_said)
        return fail_unclear(p);
    size_t touched = gl_part_fill(p->plan, &p->part, set);
    if (!touched)
        return gl_reader_fail(&p->in, p->part_at, "R207", NULL, "no position is all of this at once");
    p->work += touched;
    if (p->work > work_most(p->plan))
        return gl_reader_fail(&p->in, p->part_at, "R209", NULL,
                              "the expression names the same positions over and over");
    return GLASSINE_OK;
}

static glassine_status read_alternatives(parser *p, gl_posset *set) {
    do {
        glassine_status status = read_part(p, set);
        if (status)
            return status;
    } while (gl_reader_take_char(&p->in, ','));
    return GLASSINE_OK;
}

static glassine_status read_rest(parser *p, gl_posset *away) {
    size_t start = gl_reader_place(&p->in);
    if (gl_reader_at_end(&p->in))
        return GLASSINE_OK;
    if (!gl_reader_take_word(&p->in, "but"))
        return gl_reader_fail(&p->in, start, "R200", REMEDY, "\",\", \"and\" or \"but not\" is expected");
    if (!gl_reader_take_word(&p->in, "not"))
        return gl_reader_fail(&p->in, gl_reader_place(&p->in), "R200", REMEDY,
                              "\"not\" is expected after \"but\"");
    glassine_status status = read_alternatives(p, away);
    if (status)
        return status;
    if (!gl_reader_at_end(&p->in))
        return gl_reader_fail(&p->in, p->in.at, "R200", REMEDY, "\",\" or \"and\" is expected");
    gl_posset_minus(&p->out->set, away);
    if (gl_posset_empty(&p->out->set))
        return gl_reader_fail(&p->in, start, "R207", NULL, "nothing is left");
    return GLASSINE_OK;
}

static glassine_status read_all(parser *p) {
    size_t most = gl_expression_most(p->plan);
    if (p->in.text.length > most)
        return gl_reader_fail(&p->in, 0, "R209", NULL,
                              "the expression is %zu bytes long, the most for this plate is %zu",
                              p->in.text.length, most);
    size_t bad = gl_utf8_check(p->in.text);
    if (bad != p->in.text.length)
        return gl_reader_fail(&p->in, bad, "R200", NULL, "this is not UTF-8");
    glassine_status status = read_alternatives(p, &p->out->set);
    if (status)
        return status;
    gl_posset away;
    if (!gl_posset_init(&away, p->plan->count))
        return gl_fail_memory(p->in.error);
    status = read_rest(p, &away);
    gl_posset_free(&away);
    return status;
}

glassine_status gl_expression_parse(const gl_plan *plan, const gl_state_names *states, gl_span text,
                                    gl_expression *expression, size_t *at, glassine_error *error) {
    *expression = GL_EXPRESSION_NONE;
    parser p = {.plan = plan, .states = states, .in = {text, 0, 0, error}, .out = expression};
    glassine_status status =
        gl_posset_init(&expression->set, plan->count) ? read_all(&p) : gl_fail_memory(error);
    if (at)
        *at = status == GLASSINE_REFUSED ? gl_reader_character(&p.in, p.in.fault_at) : 0;
    if (status)
        gl_expression_free(expression);
    return status;
}

void gl_expression_free(gl_expression *expression) {
    gl_posset_free(&expression->set);
    *expression = GL_EXPRESSION_NONE;
}
