#include "numbers.h"

#include "refuse.h"

bool cli_take_whole(const char **text, uint64_t most, uint64_t *number) {
    const char *from = *text;
    *number = 0;
    for (; **text >= '0' && **text <= '9'; ++*text) {
        uint64_t digit = (uint64_t)(**text - '0');
        if (digit > most || *number > (most - digit) / 10) {
            return false;
        }
        *number = *number * 10 + digit;
    }
    return *text > from;
}

glassine_status cli_read_pixels(const char *option, const char *typed, uint32_t *pixels,
                                glassine_error *error) {
    uint64_t number;
    bool good = cli_take_whole(&typed, CLI_PIXELS_MOST, &number) && *typed == '\0';
    *pixels = good ? (uint32_t)number : 0;
    return good ? GLASSINE_OK
                : cli_refuse(error, NULL, "For example 1600, or 0 for pictures as they were scanned",
                             "--%s takes a whole number of pixels up to %d", option, CLI_PIXELS_MOST);
}

/* What the letter at *text multiplies by; *text moves behind it. */
static uint64_t take_unit(const char **text) {
    static const struct {
        char letter, small;
        uint64_t unit;
    } units[] = {{'K', 'k', 1000}, {'M', 'm', 1000000}, {'G', 'g', 1000000000}};
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (**text == units[i].letter || **text == units[i].small) {
            ++*text;
            *text += **text == 'B' || **text == 'b';
            return units[i].unit;
        }
    }
    return 1;
}

glassine_status cli_read_size(const char *option, const char *typed, uint64_t *bytes, glassine_error *error) {
    uint64_t number, unit = 1;
    bool good = cli_take_whole(&typed, INT64_MAX, &number) && number > 0;
    if (good) {
        unit = take_unit(&typed);
        good = *typed == '\0' && number <= INT64_MAX / unit;
    }
    *bytes = good ? number * unit : 0;
    return good ? GLASSINE_OK
                : cli_refuse(error, NULL, "For example 20M, 500K, or a number of bytes", "--%s takes a size",
                             option);
}

glassine_status cli_read_percent(const char *typed, unsigned *percent, glassine_error *error) {
    const char *text = typed;
    uint64_t number;
    bool good = cli_take_whole(&text, 100, &number) && number > 0;
    text += good && *text == '%';
    good = good && *text == '\0';
    *percent = good ? (unsigned)number : 0;
    return good ? GLASSINE_OK
                : cli_refuse(error, typed, "For example: --parity 10",
                             "is no number of parts in a hundred (1 to 100)");
}

glassine_status cli_read_edition(const char *typed, uint32_t *edition, glassine_error *error) {
    const char *text = typed;
    uint64_t number;
    bool good = cli_take_whole(&text, UINT32_MAX - 1, &number) && number > 0 && *text == '\0';
    *edition = good ? (uint32_t)number : 0;
    return good ? GLASSINE_OK : cli_refuse(error, typed, "For example 3", "is no edition's number");
}

glassine_status cli_read_decimal(const char *field, const char *typed, double *number,
                                 glassine_error *error) {
    enum { DIGITS_MOST = 15 };
    double scale = 0; /* 0 before the point, then what the digits are divided by */
    size_t digits = 0;
    const char *text = typed;
    *number = 0;
    for (bool point = false; digits <= DIGITS_MOST; text++) {
        if (*text == '.' && !point) {
            point = true;
            scale = 1;
        } else if (*text >= '0' && *text <= '9') {
            *number = *number * 10 + (*text - '0');
            scale *= 10;
            digits++;
        } else {
            break;
        }
    }
    if (digits == 0 || digits > DIGITS_MOST || *text != '\0') {
        return cli_refuse(error, field, "Write it like 0.3 or 15", "\"%s\" is no number from 0", typed);
    }
    if (scale > 1) {
        *number /= scale;
    }
    return GLASSINE_OK;
}
