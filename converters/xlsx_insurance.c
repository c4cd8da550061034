/* The insurance list: what is owned, where it is kept, what it was insured, appraised or bought for. */
#include <errno.h>
#include <stdlib.h>

#include "units.h"
#include "xlsx_out.h"

#define FIRST_ROW 4
#define CURRENCIES_MOST 64

enum { ITEM, TITLE, KIND, STORAGE, FIGURE, AS_OF, AMOUNT, CURRENCY, COST, COST_CURRENCY };

/* What the list adds up to in one currency; minor units. */
typedef struct total {
    char currency[4];
    int64_t amount, cost;
    bool beyond; /* more than can be counted */
} total;

typedef struct insurance {
    xlsx_out *out;
    lxw_worksheet *sheet;
    lxw_format *money[5]; /* by the digits of the minor unit */
    total totals[CURRENCIES_MOST];
    size_t count, row, without;
} insurance;

static total *total_of(insurance *list, glassine_span currency) {
    for (size_t i = 0; i < list->count; i++) {
        if (conv_is(currency, list->totals[i].currency))
            return &list->totals[i];
    }
    if (list->count == CURRENCIES_MOST)
        return NULL;
    total *fresh = &list->totals[list->count++];
    memcpy(fresh->currency, currency.text, 3);
    return fresh;
}

static double in_units(int64_t minor, int digits) {
    double unit = 1;
    for (int i = 0; i < digits; i++)
        unit *= 10;
    return (double)minor / unit;
}

/* Writes a sum and adds it up; an amount without a known currency is shown as it is kept, and told. */
static void add_money(insurance *list, size_t column, int64_t minor, glassine_span currency, bool cost) {
    int digits = units_minor_digits(currency);
    lxw_row_t row = (lxw_row_t)list->row;
    if (digits < 0 || minor < 0) {
        conv_clear(&list->out->text);
        conv_printf(&list->out->text, "%lld minor units of %.*s", (long long)minor,
                    (int)(currency.length < 20 ? currency.length : 20),
                    currency.length ? currency.text : "?");
        xlsx_text(list->out, list->sheet, row, column, conv_span(&list->out->text), list->out->plain);
        return;
    }
    xlsx_note(list->out, libxlsx.worksheet_write_number(list->sheet, row, (lxw_col_t)column,
                                                        in_units(minor, digits), list->money[digits]));
    xlsx_text(list->out, list->sheet, row, column + 1, currency, list->out->plain);
    total *sum = total_of(list, currency);
    int64_t *of = sum ? cost ? &sum->cost : &sum->amount : NULL;
    if (of && minor > INT64_MAX - *of)
        sum->beyond = true;
    else if (of)
        *of += minor; /* what is kept is never less than nothing */
}

/* ----------------------------------------------------------------------------------------------------
 * figures */

static int rank(glassine_span kind) {
    return conv_is(kind, "insured") ? 0 : conv_is(kind, "appraised") ? 1 : 2;
}

/* The insured figure, else the appraised one; of several the one that holds for the latest date. */
static glassine_record *figure_of(insurance *list, glassine_record *item) {
    glassine_bundle *bundle = list->out->bundle;
    glassine_record *const *values, *best = NULL;
    size_t count;
    int64_t amount;
    if (glassine_record_referrers(bundle, item, "valuation", false, &values, &count, NULL))
        return NULL;
    for (size_t i = 0; i < count; i++) {
        int here = rank(glassine_record_text(bundle, values[i], "kind"));
        if (here > 1 || !glassine_record_integer(bundle, values[i], "amount_minor", &amount))
            continue;
        int there = best ? rank(glassine_record_text(bundle, best, "kind")) : 2;
        glassine_span date = glassine_record_text(bundle, values[i], "as_of");
        if (here < there ||
            (best && here == there && conv_compare(date, glassine_record_text(bundle, best, "as_of")) > 0))
            best = values[i];
    }
    return best;
}

static void add_text(insurance *list, glassine_record *record, size_t column, const char *field) {
    xlsx_text(list->out, list->sheet, list->row, column,
              glassine_record_text(list->out->bundle, record, field), list->out->plain);
}

static void add_item(insurance *list, glassine_record *item) {
    glassine_bundle *bundle = list->out->bundle;
    int64_t minor;
    xlsx_text(list->out, list->sheet, list->row, ITEM, glassine_record_label(bundle, item), list->out->plain);
    add_text(list, item, TITLE, "title");
    add_text(list, item, KIND, "kind");
    add_text(list, item, STORAGE, "storage");
    glassine_record *figure = figure_of(list, item);
    if (figure) {
        add_text(list, figure, FIGURE, "kind");
        add_text(list, figure, AS_OF, "as_of");
        glassine_record_integer(bundle, figure, "amount_minor", &minor);
        add_money(list, AMOUNT, minor, glassine_record_text(bundle, figure, "currency"), false);
    }
    list->without += !figure;
    if (glassine_record_integer(bundle, item, "cost_minor", &minor))
        add_money(list, COST, minor, glassine_record_text(bundle, item, "currency"), true);
    list->row++;
}

static bool is_owned(glassine_bundle *bundle, glassine_record *item) {
    bool contested;
    glassine_value holding = glassine_record_get(bundle, item, "holding", &contested);
    return contested || !holding.text || conv_is(holding, "\"owned\"");
}

/* ------------------------------------------------------------------------------------------------- sheet */

static bool make_formats(insurance *list) {
    static const char *const formats[] = {"#,##0", "#,##0.0", "#,##0.00", "#,##0.000", "#,##0.0000"};
    for (size_t i = 0; i < sizeof formats / sizeof *formats; i++) {
        list->money[i] = libxlsx.workbook_add_format(list->out->book);
        if (!list->money[i])
            return false;
        libxlsx.format_set_num_format(list->money[i], formats[i]);
        libxlsx.format_set_align(list->money[i], LXW_ALIGN_VERTICAL_TOP);
    }
    return true;
}

static void add_head(insurance *list) {
    static const char *const headers[] = {"Item",  "Title",  "Kind",     "Kept", "Figure",
                                          "As of", "Amount", "Currency", "Cost", "Currency"};
    static const double widths[] = {12, 30, 10, 24, 10, 12, 14, 10, 14, 10};
    xlsx_line(list->out, list->sheet, 0, 0, "PRIVATE: insurance list. Do not pass it on but to the insurer.",
              list->out->warning);
    xlsx_line(
        list->out, list->sheet, 1, 0,
        "Of each item that is owned: the insured figure, else the appraised one, else none; of several the "
        "latest. Somebody's figure at a date: no offer, and no promise of what it would fetch.",
        list->out->plain);
    for (size_t i = 0; i < sizeof headers / sizeof *headers; i++) {
        xlsx_line(list->out, list->sheet, FIRST_ROW - 1, i, headers[i], list->out->header);
        xlsx_note(list->out,
                  libxlsx.worksheet_set_column(list->sheet, (lxw_col_t)i, (lxw_col_t)i, widths[i], NULL));
    }
    libxlsx.worksheet_fit_to_pages(list->sheet, 1, 0);
    libxlsx.worksheet_freeze_panes(list->sheet, FIRST_ROW, 0);
    xlsx_note(list->out, libxlsx.worksheet_repeat_rows(list->sheet, FIRST_ROW - 1, FIRST_ROW - 1));
}

/* A sum that the program works out anew when a figure is changed. */
static void add_sum(insurance *list, const total *sum, size_t last, bool cost) {
    char of[32], in[32], formula[128];
    int digits = units_minor_digits(conv_span_of(sum->currency));
    size_t column = cost ? COST : AMOUNT;
    snprintf(of, sizeof of, "%c%d:%c%zu", (char)('A' + column), FIRST_ROW + 1, (char)('A' + column), last);
    snprintf(in, sizeof in, "%c%d:%c%zu", (char)('A' + column + 1), FIRST_ROW + 1, (char)('A' + column + 1),
             last);
    snprintf(formula, sizeof formula, "=SUMIF(%s,\"%s\",%s)", in, sum->currency, of);
    xlsx_note(list->out, libxlsx.worksheet_write_formula_num(
                             list->sheet, (lxw_row_t)list->row, (lxw_col_t)column, formula,
                             list->money[digits], in_units(cost ? sum->cost : sum->amount, digits)));
    xlsx_line(list->out, list->sheet, list->row, column + 1, sum->currency, list->out->header);
}

static void add_totals(insurance *list) {
    size_t last = list->row;
    glassine_node *totals =
        glassine_node_table(glassine_report_result(list->out->report), "insurance", "Insurance list");
    list->row++;
    for (size_t i = 0; i < list->count; i++, list->row++) {
        const total *sum = &list->totals[i];
        int digits = units_minor_digits(conv_span_of(sum->currency));
        xlsx_line(list->out, list->sheet, list->row, 0, "Total", list->out->header);
        add_sum(list, sum, last, false);
        add_sum(list, sum, last, true);
        glassine_node *row = glassine_node_object(totals, NULL, NULL);
        glassine_node_string(row, "currency", "Currency", sum->currency);
        glassine_node_real(row, "amount", "Amount", in_units(sum->amount, digits), digits);
        glassine_node_real(row, "cost", "Cost", in_units(sum->cost, digits), digits);
        if (sum->beyond)
            glassine_report_finding(list->out->report, GLASSINE_WARNING, NULL, sum->currency, NULL,
                                    "the total is beyond what can be counted, and is not right");
    }
    if (list->without)
        glassine_report_finding(list->out->report, GLASSINE_NOTE, NULL, NULL, NULL,
                                list->without == 1
                                    ? "%zu item of the insurance list has no insured or appraised figure"
                                    : "%zu items of the insurance list have no insured or appraised figure",
                                list->without);
}

glassine_status xlsx_insurance(xlsx_out *out, glassine_error *error) {
    insurance *list = calloc(1, sizeof *list);
    if (!list)
        return conv_fail_system(error, ENOMEM, NULL, "Cannot write the workbook");
    *list = (insurance){.out = out, .sheet = xlsx_sheet(out, "Insurance list"), .row = FIRST_ROW};
    glassine_cursor *cursor = NULL;
    glassine_status status = glassine_cursor_new(out->bundle, "item", false, &cursor, error);
    if (!status && list->sheet && make_formats(list)) {
        add_head(list);
        for (glassine_record *item; (item = glassine_cursor_next(cursor));) {
            if (is_owned(out->bundle, item))
                add_item(list, item);
        }
        add_totals(list);
    }
    glassine_cursor_free(cursor);
    free(list);
    return status;
}
