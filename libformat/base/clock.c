#include "base/clock.h"

#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "base/edtf.h"
#include "base/hash.h"
#include "base/platform.h"
#include "base/text.h"

#define DAY INT64_C(86400)
#define YEAR_0 INT64_C(-62167219200)    /* 0000-01-01T00:00:00Z */
#define YEAR_9999 INT64_C(253402300799) /* 9999-12-31T23:59:59Z */

typedef struct moment {
    int64_t year;
    unsigned month, day, hour, minute, second;
} moment;

int64_t gl_clock_now(void) {
    int64_t epoch;
    const char *fixed = getenv("SOURCE_DATE_EPOCH");
    if (fixed && gl_text_integer(gl_span_of(fixed), &epoch))
        return epoch;
    return (int64_t)time(NULL);
}

static moment moment_of(int64_t seconds) {
    moment m;
    int64_t days = seconds / DAY, rest = seconds % DAY;
    if (rest < 0) {
        rest += DAY;
        days--;
    }
    gl_date_from_days(days, &m.year, &m.month, &m.day);
    m.hour = (unsigned)(rest / 3600);
    m.minute = (unsigned)(rest / 60 % 60);
    m.second = (unsigned)(rest % 60);
    return m;
}

static void put_digits(char *out, unsigned count, uint64_t value) {
    for (; count; value /= 10)
        out[--count] = (char)('0' + value % 10);
}

void gl_time_print(int64_t seconds, char out[GL_TIME_SIZE]) {
    seconds = seconds < YEAR_0 ? YEAR_0 : seconds > YEAR_9999 ? YEAR_9999 : seconds;
    moment m = moment_of(seconds);
    memcpy(out, "0000-00-00T00:00:00Z", GL_TIME_SIZE);
    put_digits(out, 4, (uint64_t)m.year);
    put_digits(out + 5, 2, m.month);
    put_digits(out + 8, 2, m.day);
    put_digits(out + 11, 2, m.hour);
    put_digits(out + 14, 2, m.minute);
    put_digits(out + 17, 2, m.second);
}

/* The number that `count` digits at `at` make; the form was checked before. */
static unsigned take_digits(const char *at, unsigned count) {
    unsigned value = 0;
    while (count--)
        value = value * 10 + (unsigned)(*at++ - '0');
    return value;
}

static bool has_form(gl_span text, const char *form) {
    if (text.length != strlen(form))
        return false;
    for (size_t i = 0; i < text.length; i++) {
        bool digit = text.text[i] >= '0' && text.text[i] <= '9';
        if (form[i] == '0' ? !digit : text.text[i] != form[i])
            return false;
    }
    return true;
}

bool gl_time_parse(gl_span text, int64_t *seconds) {
    if (!has_form(text, "0000-00-00T00:00:00Z"))
        return false;
    moment m = {take_digits(text.text, 4),      take_digits(text.text + 5, 2),
                take_digits(text.text + 8, 2),  take_digits(text.text + 11, 2),
                take_digits(text.text + 14, 2), take_digits(text.text + 17, 2)};
    if (m.month < 1 || m.month > 12 || m.day < 1 || m.day > gl_month_length(m.year, m.month) || m.hour > 23 ||
        m.minute > 59 || m.second > 59)
        return false;
    *seconds = gl_days_from_date(m.year, m.month, m.day) * DAY + (int64_t)m.hour * 3600 +
               (int64_t)m.minute * 60 + m.second;
    return true;
}

/* APPNOTE 4.4.6: year from 1980 in 7 bits, month, day; hour, minute, seconds by two. */
void gl_time_dos(int64_t seconds, uint16_t *date, uint16_t *time) {
    const int64_t first = INT64_C(315532800),
                  last = INT64_C(4354819199); /* 1980-01-01 … 2107-12-31T23:59:59 */
    moment m = moment_of(seconds < first ? first : seconds > last ? last : seconds);
    *date = (uint16_t)((unsigned)(m.year - 1980) << 9 | m.month << 5 | m.day);
    *time = (uint16_t)(m.hour << 11 | m.minute << 5 | m.second / 2);
}

/* RFC 9562, 5.4: 122 random bits, version 4, variant 10. */
bool gl_uuid_new(char out[GL_UUID_SIZE]) {
    unsigned char b[16];
    if (!gl_platform_random(b, sizeof b))
        return false;
    b[6] = (unsigned char)((b[6] & 0x0F) | 0x40);
    b[8] = (unsigned char)((b[8] & 0x3F) | 0x80);
    snprintf(out, GL_UUID_SIZE, "%02x%02x%02x%02x-%02x%02x-%02x%02x-%02x%02x-%02x%02x%02x%02x%02x%02x", b[0],
             b[1], b[2], b[3], b[4], b[5], b[6], b[7], b[8], b[9], b[10], b[11], b[12], b[13], b[14], b[15]);
    return true;
}

bool gl_uuid_check(gl_span text) {
    static const uint8_t digits[] = {8, 4, 4, 4, 12};
    if (text.length != GL_UUID_SIZE - 1)
        return false;
    size_t at = 0;
    for (size_t i = 0; i < sizeof digits / sizeof *digits; i++) {
        if (!gl_hex_check(gl_span_part(text, at, digits[i]), digits[i]))
            return false;
        at += digits[i];
        if (at < text.length && text.text[at++] != '-')
            return false;
    }
    return true;
}
