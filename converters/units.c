#include "units.h"

#include <inttypes.h>
#include <stdio.h>

static bool in(const glassine_field_info *info, const char *unit) {
    return info && info->unit && strncmp(info->unit, unit, strlen(unit)) == 0;
}

bool units_are_money(const glassine_field_info *info) {
    return in(info, "minor units");
}

bool units_are_hundredths(const glassine_field_info *info) {
    return in(info, "hundredths");
}

bool units_differ(const glassine_field_info *info) {
    return in(info, "micrometres") || units_are_hundredths(info) || units_are_money(info);
}

static bool among(glassine_span code, const char *codes) {
    for (const char *at = codes; *at; at += at[3] ? 4 : 3) {
        if (memcmp(at, code.text, 3) == 0)
            return true;
    }
    return false;
}

/* ISO 4217, table A.1: the currencies whose minor unit is not a hundredth. */
int units_minor_digits(glassine_span currency) {
    if (currency.length != 3)
        return -1;
    for (size_t i = 0; i < 3; i++) {
        if (currency.text[i] < 'A' || currency.text[i] > 'Z')
            return -1;
    }
    if (among(currency, "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"))
        return 0;
    if (among(currency, "BHD IQD JOD KWD LYD OMR TND"))
        return 3;
    return among(currency, "CLF UYW") ? 4 : 2;
}

/* `number` over ten to the power of `digits`; `all` of the digits, or as many as are needed. */
static void add_decimal(conv_output *out, int64_t number, int digits, bool all) {
    char text[32];
    uint64_t size = number < 0 ? (uint64_t)-number : (uint64_t)number, unit = 1;
    for (int i = 0; i < digits; i++)
        unit *= 10;
    conv_printf(out, "%s%" PRIu64, number < 0 ? "-" : "", size / unit);
    int length = snprintf(text, sizeof text, "%0*" PRIu64, digits, size % unit);
    while (!all && length > 0 && text[length - 1] == '0')
        length--;
    if (digits && length > 0)
        conv_printf(out, ".%.*s", length, text);
}

bool units_show(conv_output *out, glassine_value value, const glassine_field_info *info,
                glassine_span currency) {
    int64_t number;
    if (!value.text || !units_differ(info) || !glassine_value_integer(value, &number))
        return false;
    int minor = units_minor_digits(currency);
    if (in(info, "micrometres")) {
        add_decimal(out, number, 3, false);
        conv_add_text(out, " mm");
    } else if (units_are_hundredths(info)) {
        add_decimal(out, number, 2, false);
    } else if (minor < 0) {
        return false;
    } else {
        conv_printf(out, "%.3s ", currency.text);
        add_decimal(out, number, minor, true);
    }
    return true;
}
