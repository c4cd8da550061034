/* The instructions of a map's column, each a few words, with "; " between them. */
#include <stdlib.h>

#include "map.h"
#include "spaces.h"

#define WORDS_MOST 8

typedef struct words {
    glassine_span list[WORDS_MOST];
    size_t count;
} words;

static words words_of(glassine_span text) {
    words found = {.count = 0};
    text = spaces_trim(text);
    while (text.length && found.count < WORDS_MOST) {
        const char *space = memchr(text.text, ' ', text.length);
        size_t length = space ? (size_t)(space - text.text) : text.length;
        found.list[found.count++] = (glassine_span){text.text, length};
        text = spaces_trim((glassine_span){text.text + length, text.length - length});
    }
    return found;
}

char *map_copy(glassine_span text) {
    char *copy = malloc(text.length + 1);
    if (!copy)
        return NULL;
    if (text.length)
        memcpy(copy, text.text, text.length);
    copy[text.length] = '\0';
    return copy;
}

const char *map_separator(const char *named) {
    static const char *const names[][2] = {{"comma", ","}, {"semicolon", ";"}, {"space", " "},
                                           {"slash", "/"}, {"bar", "|"},       {"dash", "-"},
                                           {"tab", "\t"},  {"plus", "+"},      {"newline", "\n"}};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        if (strcmp(named, names[i][0]) == 0)
            return names[i][1];
    }
    return named;
}

bool map_count(glassine_span text, size_t most, size_t *value) {
    *value = 0;
    if (!text.length || text.length > 6)
        return false;
    for (size_t i = 0; i < text.length; i++) {
        if (text.text[i] < '0' || text.text[i] > '9')
            return false;
        *value = *value * 10 + (size_t)(text.text[i] - '0');
    }
    return *value <= most;
}

static const char *read_date(map_column *column, const words *said) {
    static const struct {
        const char *first, *second;
        map_order order;
    } orders[] = {{"day", "month", MAP_DAY_MONTH_YEAR},
                  {"month", "day", MAP_MONTH_DAY_YEAR},
                  {"year", "month", MAP_YEAR_MONTH_DAY}};
    column->order = MAP_NO_ORDER;
    for (size_t i = 0; said->count == 4 && i < sizeof orders / sizeof *orders; i++) {
        if (conv_is(said->list[1], orders[i].first) && conv_is(said->list[2], orders[i].second))
            column->order = orders[i].order;
    }
    return column->order
               ? NULL
               : "an order of dates is: date day month year, date month day year, date year month day";
}

static const char *read_years(map_column *column, const words *said) {
    size_t from;
    if (said->count != 3 || !conv_is(said->list[1], "from") || !map_count(said->list[2], 9900, &from) ||
        from < 1)
        return "two-digit years are told like this: years from 1850";
    column->years_from = (int)from;
    return NULL;
}

static const char *read_money(map_column *column, const words *said) {
    column->money = true;
    if (said->count == 1)
        return NULL;
    if (said->count > 2 || said->list[1].length != 3)
        return "money is told like this: money EUR (the currency's ISO 4217 code)";
    memcpy(column->currency, said->list[1].text, 3);
    return NULL;
}

static const char *read_decimal(map_column *column, const words *said) {
    bool comma = said->count == 2 && (conv_is(said->list[1], ",") || conv_is(said->list[1], "comma"));
    bool point = said->count == 2 && (conv_is(said->list[1], ".") || conv_is(said->list[1], "point"));
    column->decimal = comma ? ',' : point ? '.' : '\0';
    return column->decimal ? NULL : "decimals are told like this: decimal comma, decimal point";
}

static const char *read_unit(map_column *column, const words *said) {
    static const struct {
        const char *name;
        int64_t factor;
    } units[] = {{"um", 1}, {"mm", 1000}, {"cm", 10000}, {"inch", 25400}};
    column->factor = 0;
    for (size_t i = 0; said->count == 2 && i < sizeof units / sizeof *units; i++) {
        if (conv_is(said->list[1], units[i].name))
            column->factor = units[i].factor;
    }
    return column->factor ? NULL : "a unit is one of: unit um, unit mm, unit cm, unit inch";
}

static const char *read_split(map_column *column, const words *said) {
    column->part_on = said->count == 4 && conv_is(said->list[3], "on");
    if (said->count != (column->part_on ? 4 : 3) || !map_count(said->list[2], 999999, &column->part) ||
        !column->part)
        return "a part of a cell is told like this: split slash 2; with all behind it: split slash 2 on";
    free(column->split);
    column->split = map_copy(said->list[1]);
    return column->split ? NULL : "memory ran out";
}

static const char *read_list(map_column *column, const words *said) {
    if (said->count != 2)
        return "a list is told like this: list comma";
    free(column->list);
    column->list = map_copy(said->list[1]);
    return column->list ? NULL : "memory ran out";
}

static const char *read_meaning(map_column *column, glassine_span said) {
    const char *sign = memchr(said.text, '=', said.length);
    glassine_span cell = spaces_trim((glassine_span){said.text, (size_t)(sign - said.text)});
    glassine_span value =
        spaces_trim((glassine_span){sign + 1, said.length - (size_t)(sign + 1 - said.text)});
    map_meaning *grown =
        conv_grow(column->meanings, &column->meaning_room, column->meaning_count + 1, sizeof *grown);
    if (!grown)
        return "memory ran out";
    column->meanings = grown;
    grown[column->meaning_count] = (map_meaning){map_copy(cell), map_copy(value)};
    map_meaning *one = &grown[column->meaning_count++];
    return one->cell && one->value ? NULL : "memory ran out";
}

static const char *read_one(map_column *column, glassine_span said) {
    static const struct {
        const char *word;
        const char *(*read)(map_column *column, const words *said);
    } readers[] = {{"date", read_date},       {"years", read_years}, {"money", read_money},
                   {"decimal", read_decimal}, {"unit", read_unit},   {"split", read_split},
                   {"list", read_list}};
    words found = words_of(said);
    if (!found.count)
        return NULL;
    if (memchr(said.text, '?', said.length))
        return "a question is left open here";
    for (size_t i = 0; i < sizeof readers / sizeof *readers; i++) {
        if (conv_is(found.list[0], readers[i].word) && !memchr(said.text, '=', said.length))
            return readers[i].read(column, &found);
    }
    if (memchr(said.text, '=', said.length))
        return read_meaning(column, said);
    return "it is none of: date, years, money, decimal, unit, split, list, WORD=VALUE";
}

const char *map_read_as(map_column *column, glassine_span as) {
    const char *fault = NULL;
    while (as.length && !fault) {
        const char *end = memchr(as.text, ';', as.length);
        size_t length = end ? (size_t)(end - as.text) : as.length;
        fault = read_one(column, (glassine_span){as.text, length});
        length += end != NULL;
        as = (glassine_span){as.text + length, as.length - length};
    }
    return fault;
}
