/* A foreign sheet's cells, as people type them for their fields. */
#include <inttypes.h>
#include <stdio.h>

#include "map.h"
#include "spaces.h"
#include "units.h"

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* --------------------------------------------------------------------------------------------- numbers */

/* What stands between the thousands: the other sign, a space, an apostrophe. */
static size_t group_sign(glassine_span text, size_t at, char decimal) {
    static const char *const signs[] = {" ", "'", "\xc2\xa0", "\xe2\x80\xaf", "\xe2\x80\x99"};
    char other = decimal == ',' ? '.' : decimal == '.' ? ',' : '\0';
    if (other && text.text[at] == other)
        return 1;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        size_t length = strlen(signs[i]);
        if (text.length - at >= length && memcmp(text.text + at, signs[i], length) == 0)
            return length;
    }
    return 0;
}

/* Groups behind the first have three digits: 1.234.567. */
bool map_number(glassine_span cell, char decimal, conv_output *plain) {
    size_t at = 0, digits = 0;
    bool grouped = false, any = false, behind = false;
    if (cell.length && cell.text[0] == '-') {
        conv_add_char(plain, '-');
        at++;
    }
    while (at < cell.length) {
        size_t sign = behind || !any ? 0 : group_sign(cell, at, decimal);
        if (is_digit(cell.text[at])) {
            conv_add_char(plain, cell.text[at++]);
            digits++;
            any = true;
        } else if (sign && (grouped ? digits == 3 : digits <= 3)) {
            grouped = true;
            digits = 0;
            at += sign;
        } else if (decimal && cell.text[at] == decimal && any && !behind && (!grouped || digits == 3)) {
            conv_add_char(plain, '.');
            behind = true;
            digits = 0;
            at++;
        } else {
            return false;
        }
    }
    return any && digits > 0 && (behind || !grouped || digits == 3);
}

/* `plain` times `factor`, which must be whole; appended. */
static bool add_multiple(glassine_span plain, int64_t factor, conv_output *out) {
    int64_t number = 0, unit = 1;
    bool behind = false, negative = plain.length && plain.text[0] == '-';
    for (size_t i = negative; i < plain.length; i++) {
        if (plain.text[i] == '.') {
            behind = true;
            continue;
        }
        if (number > (INT64_MAX - 9) / 10 || (behind && unit > INT64_MAX / 10))
            return false;
        number = number * 10 + (plain.text[i] - '0');
        unit *= behind ? 10 : 1;
    }
    if (number > INT64_MAX / factor || number * factor % unit != 0)
        return false;
    conv_printf(out, "%s%" PRId64, negative ? "-" : "", number * factor / unit);
    return true;
}

/* ----------------------------------------------------------------------------------------------- money */

static size_t starts(glassine_span text, const char *with) {
    size_t length = strlen(with);
    return text.length >= length && memcmp(text.text, with, length) == 0 ? length : 0;
}

static size_t ends(glassine_span text, const char *with) {
    size_t length = strlen(with);
    return text.length >= length && memcmp(text.text + text.length - length, with, length) == 0 ? length : 0;
}

/* Takes the currency off either end. NULL, or what is wrong: it is another one than the map says. */
static const char *take_currency(glassine_span *cell, const char *currency) {
    static const struct {
        const char *sign, *code; /* code NULL: of several currencies */
    } signs[] = {
        {"\xe2\x82\xac", "EUR"}, {"\xc2\xa3", "GBP"}, {"\xc2\xa5", NULL}, {"$", NULL}, {"\xc2\xa4", NULL}};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        size_t before = starts(*cell, signs[i].sign), behind = ends(*cell, signs[i].sign);
        if (!before && !behind)
            continue;
        if (signs[i].code && currency[0] && strcmp(signs[i].code, currency) != 0)
            return "the sign is that of another currency than is said";
        cell->text += before;
        cell->length -= before ? before : behind;
        *cell = spaces_trim(*cell);
        return NULL;
    }
    size_t before = currency[0] ? starts(*cell, currency) : 0,
           behind = currency[0] ? ends(*cell, currency) : 0;
    cell->text += before;
    cell->length -= before ? before : behind;
    *cell = spaces_trim(*cell);
    return NULL;
}

static const char *add_number(const map_column *column, glassine_span cell, int kind, int64_t factor,
                              const char *no_whole, conv_output *typed) {
    conv_output plain = {0};
    const char *fault = NULL;
    char decimal = kind == GRID_NUMBER ? '.' : column->decimal;
    if (!map_number(cell, decimal, &plain))
        fault =
            decimal ? "it is no number" : "it is no number, or the map does not say the sign of its decimals";
    else if (!add_multiple(conv_span(&plain), factor, typed))
        fault = no_whole;
    conv_free(&plain);
    return fault;
}

static const char *add_money(const map_column *column, glassine_span cell, int kind, conv_output *typed) {
    const char *fault = take_currency(&cell, column->currency);
    int digits = column->currency[0] ? units_minor_digits(conv_span_of(column->currency)) : 2;
    int64_t factor = 1;
    if (fault)
        return fault;
    if (digits < 0)
        return "the map's currency is no ISO 4217 code";
    for (int i = 0; i < digits; i++)
        factor *= 10;
    return add_number(column, cell, kind, factor, "it has more decimals than the currency's minor unit",
                      typed);
}

/* ----------------------------------------------------------------------------------------------- dates */

/* Three numbers with one sign between them, perhaps spaces too. */
bool map_triple(glassine_span cell, unsigned parts[3], unsigned digits[3]) {
    size_t at = 0;
    char sign = '\0';
    for (unsigned i = 0; i < 3; i++) {
        parts[i] = digits[i] = 0;
        for (; at < cell.length && is_digit(cell.text[at]) && digits[i] < 5; at++, digits[i]++)
            parts[i] = parts[i] * 10 + (unsigned)(cell.text[at] - '0');
        while (at < cell.length && cell.text[at] == ' ' && i < 2)
            at++;
        if (!digits[i] || digits[i] == 3 || digits[i] > 4 || (i < 2 && at == cell.length))
            return false;
        if (i == 2)
            break;
        bool first = sign == '\0';
        if (!strchr("./-", cell.text[at]) || (!first && cell.text[at] != sign))
            return false;
        sign = cell.text[at++];
        while (at < cell.length && cell.text[at] == ' ')
            at++;
    }
    return at == cell.length;
}

static const char *add_triple(const map_column *column, const unsigned parts[3], const unsigned digits[3],
                              conv_output *typed) {
    static const unsigned places[][3] = {{0}, {2, 1, 0}, {2, 0, 1}, {0, 1, 2}}; /* year, month, day */
    bool year_first = digits[0] == 4;
    if (!column->order && !year_first)
        return "day and month could be either way round; say their order in the map";
    const unsigned *place = places[year_first ? MAP_YEAR_MONTH_DAY : column->order];
    unsigned year = parts[place[0]], month = parts[place[1]], day = parts[place[2]];
    if (digits[place[0]] != 4) {
        if (!column->years_from)
            return "the year has two digits; say in the map which hundred years they are of: years from 1850";
        unsigned from = (unsigned)column->years_from;
        year += from - from % 100;
        year += year < from ? 100 : 0;
    }
    if (month < 1 || month > 12 || digits[place[1]] > 2 || digits[place[2]] > 2)
        return "it is no day in the order that the map says";
    conv_printf(typed, "%04u-%02u-%02u", year, month, day);
    return NULL;
}

static const char *add_date(const map_column *column, glassine_span cell, int kind, conv_output *typed) {
    unsigned parts[3], digits[3];
    if (kind == GRID_DATE) {
        conv_add(typed, (glassine_span){cell.text, cell.length < 10 ? cell.length : 10});
        return NULL;
    }
    if (map_triple(cell, parts, digits))
        return add_triple(column, parts, digits, typed);
    conv_add(typed, cell);
    return NULL;
}

/* ----------------------------------------------------------------------------------------------- cells */

/* The part of a cell that is meant; nothing where it has not so many. */
static glassine_span part_of(const map_column *column, glassine_span cell) {
    const char *separator = column->split ? map_separator(column->split) : NULL;
    size_t length = separator ? strlen(separator) : 0;
    for (size_t part = 1; length; part++) {
        size_t end = 0;
        while (end < cell.length &&
               !(cell.length - end >= length && memcmp(cell.text + end, separator, length) == 0))
            end++;
        if (part == column->part)
            return spaces_trim((glassine_span){cell.text, column->part_on ? cell.length : end});
        if (end == cell.length)
            return (glassine_span){"", 0};
        cell = (glassine_span){cell.text + end + length, cell.length - end - length};
    }
    return spaces_trim(cell);
}

/* As a list is typed in a command: "a, b", a comma within written "\,". Without a separator it is one
 * element. */
static void add_list(const char *separator, glassine_span cell, conv_output *typed) {
    size_t length = strlen(separator);
    for (size_t i = 0; i < cell.length;) {
        if (length && cell.length - i >= length && memcmp(cell.text + i, separator, length) == 0) {
            conv_add_char(typed, ',');
            i += length;
            continue;
        }
        if (cell.text[i] == ',' || cell.text[i] == '\\')
            conv_add_char(typed, '\\');
        conv_add_char(typed, cell.text[i++]);
    }
}

static bool is_list(const glassine_field_info *info) {
    return info &&
           (info->kind == GLASSINE_TEXTS || info->kind == GLASSINE_CHOICES || info->kind == GLASSINE_REFS);
}

static const map_meaning *meaning_of(const map_column *column, glassine_span cell) {
    const map_meaning *other = NULL;
    for (size_t i = 0; i < column->meaning_count; i++) {
        if (conv_is(cell, column->meanings[i].cell))
            return &column->meanings[i];
        if (cell.length && strcmp(column->meanings[i].cell, "*") == 0)
            other = &column->meanings[i];
    }
    return other;
}

const char *map_cell(const map_column *column, glassine_span cell, int kind, conv_output *typed) {
    cell = part_of(column, spaces_trim(cell));
    if (kind == GRID_WRONG)
        return "the cell holds an error";
    const map_meaning *meaning = meaning_of(column, cell);
    if (meaning) {
        conv_add_text(typed, meaning->value);
        return NULL;
    }
    if (!cell.length)
        return NULL;
    if (column->money)
        return add_money(column, cell, kind, typed);
    if (column->factor || (column->decimal && column->info && column->info->kind == GLASSINE_INTEGER)) {
        int64_t factor = column->factor ? column->factor : units_are_hundredths(column->info) ? 100 : 1;
        return add_number(column, cell, kind, factor, "it is not whole in the unit that the field is kept in",
                          typed);
    }
    if (column->info && column->info->kind == GLASSINE_DATE)
        return add_date(column, cell, kind, typed);
    if (is_list(column->info))
        add_list(column->list ? map_separator(column->list) : "", cell, typed);
    else
        conv_add(typed, cell);
    return NULL;
}
