/* EDTF levels 0 and 1 (Library of Congress, 4 February 2019); the grammar and the bounds are spec/dates.md.
 */
#include "base/edtf.h"

#define YEAR_DIGITS_MOST ((size_t)15) /* keeps days far inside int64_t */

typedef struct scan {
    gl_span text;
    size_t at;
    const char *fault; /* the first that was met */
} scan;

static bool fault(scan *s, const char *what) {
    if (!s->fault)
        s->fault = what;
    return false;
}

static char peek(const scan *s, size_t ahead) {
    return s->at + ahead < s->text.length ? s->text.text[s->at + ahead] : '\0';
}

static bool take(scan *s, char c) {
    if (s->at >= s->text.length || s->text.text[s->at] != c)
        return false;
    s->at++;
    return true;
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* ------------------------------------------------------------------------------------------------- days */

static bool is_leap(int64_t year) {
    return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

unsigned gl_month_length(int64_t year, unsigned month) {
    static const uint8_t lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return month == 2 && is_leap(year) ? 29 : lengths[month - 1];
}

/* Rounds towards minus infinity. */
static int64_t divide_down(int64_t a, int64_t b) {
    return a / b - (a % b < 0);
}

#define DAYS_IN_400_YEARS 146097
#define DAYS_TO_1970 719468 /* from 1 March of year 0 */

/* Counts years from 1 March, so that the leap day is the last of its year: then the days before a month are
 * (153 m + 2) / 5, March being month 0. */
int64_t gl_days_from_date(int64_t year, unsigned month, unsigned day) {
    int64_t years = month <= 2 ? year - 1 : year;
    int64_t era = divide_down(years, 400);
    int64_t of_era = years - era * 400;
    int64_t of_year = (153 * (int64_t)(month > 2 ? month - 3 : month + 9) + 2) / 5 + (int64_t)day - 1;
    int64_t days = of_era * 365 + of_era / 4 - of_era / 100 + of_year;
    return era * DAYS_IN_400_YEARS + days - DAYS_TO_1970;
}

void gl_date_from_days(int64_t days, int64_t *year, unsigned *month, unsigned *day) {
    int64_t shifted = days + DAYS_TO_1970;
    int64_t era = divide_down(shifted, DAYS_IN_400_YEARS);
    int64_t of_era = shifted - era * DAYS_IN_400_YEARS;
    int64_t years = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    int64_t of_year = of_era - (365 * years + years / 4 - years / 100);
    int64_t from_march = (5 * of_year + 2) / 153;
    *day = (unsigned)(of_year - (153 * from_march + 2) / 5 + 1);
    *month = (unsigned)(from_march < 10 ? from_march + 3 : from_march - 9);
    *year = era * 400 + years + (*month <= 2);
}

static void set_days(gl_date *date, int64_t first_year, unsigned first_month, int64_t last_year,
                     unsigned last_month) {
    date->first = gl_days_from_date(first_year, first_month, 1);
    date->last = gl_days_from_date(last_year, last_month, gl_month_length(last_year, last_month));
}

/* ------------------------------------------------------------------------------------------------ dates */

static bool two_digits(scan *s, unsigned *value) {
    char tens = peek(s, 0), ones = peek(s, 1);
    if (!is_digit(tens) || !is_digit(ones))
        return fault(s, "two digits are wanted here");
    *value = (unsigned)((tens - '0') * 10 + (ones - '0'));
    s->at += 2;
    return true;
}

/* "Y" and a year of more than four digits. */
static bool long_year(scan *s, gl_date *date) {
    bool negative = take(s, '-');
    size_t start = s->at;
    int64_t year = 0;
    if (peek(s, 0) == '0')
        return fault(s, "a year after Y starts with another digit than 0");
    for (; is_digit(peek(s, 0)); s->at++) {
        if (s->at - start == YEAR_DIGITS_MOST)
            return fault(s, "a year has at most 15 digits");
        year = year * 10 + (peek(s, 0) - '0');
    }
    if (s->at - start < 5)
        return fault(s, "a year after Y has more than four digits");
    year = negative ? -year : year;
    set_days(date, year, 1, year, 12);
    return true;
}

/* The season may fall on either side of the equator, and be counted by whole months or from solstices and
 * equinoxes (spec/dates.md). */
static void set_season(gl_date *date, int64_t year, unsigned season) {
    if (season % 2) /* 21 spring, 23 autumn */
        set_days(date, year, 3, year, 12);
    else /* 22 summer, 24 winter: one of the two goes on into the next year */
        set_days(date, year, 1, year + 1, 3);
}

static bool unspecified(scan *s) {
    if (peek(s, 0) != 'X' || peek(s, 1) != 'X')
        return false;
    s->at += 2;
    return true;
}

static bool day_of_month(scan *s, gl_date *date, int64_t year, unsigned month) {
    unsigned day;
    set_days(date, year, month, year, month);
    if (unspecified(s))
        return true;
    if (!two_digits(s, &day))
        return false;
    if (day < 1 || day > gl_month_length(year, month)) {
        s->at -= 2;
        return fault(s, "the month has no such day");
    }
    date->first = date->last = gl_days_from_date(year, month, day);
    return true;
}

static bool rest_of_year(scan *s, gl_date *date, int64_t year, bool *is_day) {
    unsigned month;
    if (unspecified(s)) {
        set_days(date, year, 1, year, 12);
        if (!take(s, '-'))
            return true;
        return unspecified(s) || fault(s, "where the month is XX the day is XX");
    }
    if (!two_digits(s, &month))
        return false;
    if (month >= 21 && month <= 24) {
        set_season(date, year, month);
        return true;
    }
    if (month < 1 || month > 12) {
        s->at -= 2;
        return fault(s, "a month is 01 to 12, a season 21 to 24");
    }
    if (!take(s, '-')) {
        set_days(date, year, month, year, month);
        return true;
    }
    *is_day = peek(s, 0) != 'X';
    return day_of_month(s, date, year, month);
}

/* Four digits, the last one or two of which may be X; `unknown` is how many. */
static bool four_digits(scan *s, int64_t *year, unsigned *unknown) {
    *year = 0;
    *unknown = 0;
    for (unsigned i = 0; i < 4; i++, s->at++) {
        char c = peek(s, 0);
        if (c == 'X' && i >= 2)
            ++*unknown;
        else if (!is_digit(c) || *unknown)
            return fault(s, "a year has four digits, of which the last one or two may be X");
        *year = *year * 10 + (c == 'X' ? 0 : c - '0');
    }
    return true;
}

static bool calendar_date(scan *s, gl_date *date, bool *is_day) {
    if (take(s, 'Y'))
        return long_year(s, date);
    size_t start = s->at;
    bool negative = take(s, '-');
    int64_t year;
    unsigned unknown;
    if (!four_digits(s, &year, &unknown))
        return false;
    if (negative && year == 0 && !unknown) {
        s->at = start;
        return fault(s, "there is no year -0000");
    }
    if (unknown) {
        int64_t last = year + (unknown == 2 ? 99 : 9);
        int64_t nearest = year == 0 ? 1 : year; /* of -000X: there is no -0000 */
        set_days(date, negative ? -last : year, 1, negative ? -nearest : last, 12);
        return true;
    }
    year = negative ? -year : year;
    if (take(s, '-'))
        return rest_of_year(s, date, year, is_day);
    set_days(date, year, 1, year, 12);
    return true;
}

/* ------------------------------------------------------------------------------------------------ times */

static bool clock_part(scan *s, unsigned most) {
    unsigned value;
    if (!two_digits(s, &value))
        return false;
    if (value <= most)
        return true;
    s->at -= 2;
    return fault(s, "there is no such time of day");
}

/* hh:mm:ss with Z, or an offset of hours, or of hours and minutes, or nothing. The day stays the one that is
 * written: it is the day on the spot. */
static bool time_of_day(scan *s) {
    for (int part = 0; part < 3; part++) {
        if (part && !take(s, ':'))
            return fault(s, "a time is hh:mm:ss");
        if (!clock_part(s, part ? 59 : 23))
            return false;
    }
    if (take(s, 'Z'))
        return true;
    if (!take(s, '+') && !take(s, '-'))
        return true;
    return clock_part(s, 14) && (!take(s, ':') || clock_part(s, 59));
}

static void qualification(scan *s, gl_date *date) {
    char c = peek(s, 0);
    date->uncertain = c == '?' || c == '%';
    date->approximate = c == '~' || c == '%';
    if (date->uncertain || date->approximate)
        s->at++;
}

/* One date up to the end of `s->text`. */
static bool one_date(scan *s, gl_date *date, bool with_time) {
    bool is_day = false;
    *date = (gl_date){0};
    if (!calendar_date(s, date, &is_day))
        return false;
    if (with_time && is_day && take(s, 'T')) {
        if (!time_of_day(s))
            return false;
    } else {
        qualification(s, date);
    }
    return s->at == s->text.length || fault(s, "nothing is wanted after this date");
}

/* -------------------------------------------------------------------------------------------- intervals */

typedef struct end_point {
    gl_date date;
    bool open, unknown;
} end_point;

static bool one_end(scan *s, size_t from, size_t to, end_point *point) {
    scan part = {.text = {s->text.text, to}, .at = from};
    gl_span text = gl_span_part(s->text, from, to - from);
    *point = (end_point){.unknown = text.length == 0, .open = gl_span_is(text, "..")};
    if (point->unknown || point->open || one_date(&part, &point->date, false))
        return true;
    s->at = part.at;
    return fault(s, part.fault);
}

static bool interval(scan *s, size_t slash, gl_date *date) {
    end_point start, end;
    if (!one_end(s, 0, slash, &start) || !one_end(s, slash + 1, s->text.length, &end))
        return false;
    bool starts = !start.open && !start.unknown, ends = !end.open && !end.unknown;
    s->at = slash;
    if (!starts && !ends)
        return fault(s, "one end of an interval is a date");
    *date = (gl_date){.first = starts ? start.date.first : INT64_MIN,
                      .last = ends ? end.date.last : INT64_MAX,
                      .open_start = start.open,
                      .open_end = end.open,
                      .unknown_start = start.unknown,
                      .unknown_end = end.unknown,
                      .uncertain = start.date.uncertain || end.date.uncertain,
                      .approximate = start.date.approximate || end.date.approximate};
    return date->first <= date->last || fault(s, "the interval ends before it starts");
}

bool gl_edtf_parse(gl_span text, gl_date *date, size_t *at, const char **what) {
    scan s = {.text = text};
    const char *slash = text.length ? memchr(text.text, '/', text.length) : NULL;
    bool good = slash ? interval(&s, (size_t)(slash - text.text), date) : one_date(&s, date, true);
    if (good)
        return true;
    if (at)
        *at = s.at;
    if (what)
        *what = s.fault;
    return false;
}

gl_date_order gl_date_compare(const gl_date *a, const gl_date *b) {
    if (a->last < b->first)
        return GL_DATE_BEFORE;
    return a->first > b->last ? GL_DATE_AFTER : GL_DATE_EITHER;
}
