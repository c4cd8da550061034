/* Numbers and days as a workbook keeps them, without the locale's help. */
#include <stdio.h>
#include <stdlib.h>

#include "xlsx_in.h"

#define DIGITS 15

/* A decimal number taken apart: 0.DIGITS × 10^point. */
typedef struct decimal {
    bool negative;
    char digits[DIGITS + 1]; /* room for the carry of rounding */
    int count, point;
} decimal;

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* Rounds half up at the sixteenth digit. */
static void round_up(decimal *number) {
    int at = number->count - 1;
    while (at >= 0 && number->digits[at] == '9')
        number->digits[at--] = '0';
    if (at >= 0) {
        number->digits[at]++;
        return;
    }
    memmove(number->digits + 1, number->digits, (size_t)number->count - 1);
    number->digits[0] = '1';
    number->point++;
}

static bool take_exponent(glassine_span text, decimal *number) {
    if (!text.length)
        return true;
    if (text.text[0] != 'E' && text.text[0] != 'e')
        return false;
    size_t at = 1;
    bool negative = at < text.length && text.text[at] == '-';
    at += at < text.length && (text.text[at] == '-' || text.text[at] == '+');
    int exponent = 0;
    if (at == text.length || text.length - at > 4)
        return false;
    for (; at < text.length; at++) {
        if (!is_digit(text.text[at]))
            return false;
        exponent = exponent * 10 + (text.text[at] - '0');
    }
    number->point += negative ? -exponent : exponent;
    return true;
}

static bool take_apart(glassine_span text, decimal *number) {
    size_t at = text.length && text.text[0] == '-';
    bool point = false, up = false, any = false;
    int beyond = 0;
    *number = (decimal){.negative = at};
    for (; at < text.length && (is_digit(text.text[at]) || (text.text[at] == '.' && !point)); at++) {
        if (text.text[at] == '.') {
            point = true;
            continue;
        }
        any = true;
        bool leading = !number->count && text.text[at] == '0';
        if (leading) {
            number->point -= point;
            continue;
        }
        if (number->count < DIGITS)
            number->digits[number->count++] = text.text[at];
        else if (beyond++ == 0)
            up = text.text[at] >= '5';
        number->point += !point;
    }
    if (up)
        round_up(number);
    while (number->count && number->digits[number->count - 1] == '0')
        number->count--;
    return any && take_exponent((glassine_span){text.text + at, text.length - at}, number) &&
           number->point > -30 && number->point < 310;
}

bool xlsx_number(glassine_span kept, conv_output *out) {
    decimal number;
    if (!take_apart(kept, &number))
        return false;
    if (!number.count) {
        conv_add_char(out, '0');
        return true;
    }
    if (number.negative)
        conv_add_char(out, '-');
    if (number.point <= 0)
        conv_add_char(out, '0');
    for (int i = 0; i < number.point; i++)
        conv_add_char(out, i < number.count ? number.digits[i] : '0');
    if (number.count > number.point)
        conv_add_char(out, '.');
    for (int i = number.point; i < number.count; i++)
        conv_add_char(out, i < 0 ? '0' : number.digits[i]);
    return true;
}

/* Day 0 is 1970-01-01; the Gregorian calendar backwards and forwards. */
static void add_day(long day, conv_output *out) {
    day += 719468;
    long era = day / 146097, of_era = day % 146097;
    long year = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
    long of_year = of_era - (365 * year + year / 4 - year / 100);
    long month = (5 * of_year + 2) / 153;
    long date = of_year - (153 * month + 2) / 5 + 1;
    month += month < 10 ? 3 : -9;
    year += era * 400 + (month <= 2);
    conv_printf(out, "%04ld-%02ld-%02ld", year, month, date);
}

/* Day 60 is the 29 February 1900 that never was; the days before it are counted one higher than those behind
 * it (ECMA-376 part 1, 18.17.4.1). */
static long first_day(bool from_1904, long serial) {
    return from_1904 ? -24107 : serial < 60 ? -25568 : -25569;
}

bool xlsx_day(glassine_span kept, bool from_1904, conv_output *out) {
    conv_output plain = {0};
    long serial = -1, seconds = 0;
    bool number = xlsx_number(kept, &plain);
    if (plain.failed)
        out->failed = plain.failed;
    else if (number && plain.text[0] != '-' && strcspn(plain.text, ".") <= 7) {
        size_t whole = strcspn(plain.text, ".");
        serial = 0;
        for (size_t i = 0; i < whole; i++)
            serial = serial * 10 + (plain.text[i] - '0');
        double part = 0, weight = 0.1;
        for (size_t i = whole + 1; i < plain.length; i++, weight /= 10)
            part += (plain.text[i] - '0') * weight;
        seconds = (long)(part * 86400 + 0.5);
    }
    conv_free(&plain);
    if (seconds == 86400) {
        serial++;
        seconds = 0;
    }
    if (serial < (from_1904 ? 0 : 1) || serial > 2958465 || (serial == 60 && !from_1904))
        return false;
    add_day(serial + first_day(from_1904, serial), out);
    if (seconds)
        conv_printf(out, " %02ld:%02ld:%02ld", seconds / 3600, seconds / 60 % 60, seconds % 60);
    return true;
}

bool xlsx_is_date_format(unsigned number, const char *code) {
    if (!code)
        return (number >= 14 && number <= 17) || number == 22 || (number >= 27 && number <= 31) ||
               number == 36 || (number >= 50 && number <= 54) || number == 57 || number == 58;
    for (const char *at = code; *at && *at != ';'; at++) {
        if (*at == '"')
            at += strcspn(at + 1, "\"") + 1;
        else if (*at == '[')
            at += strcspn(at, "]");
        else if (*at == '\\' || *at == '_' || *at == '*')
            at++;
        else if (strchr("dDyY", *at))
            return true;
        if (!*at)
            break;
    }
    return false;
}
