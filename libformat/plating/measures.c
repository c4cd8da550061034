/* Measures: perforation gauges, pixels and micrometres. Whole-number arithmetic throughout, halves rounded
 * up. */
#include <stdio.h>

#include "glassine.h"

#define UM_PER_GAUGE_LENGTH UINT64_C(20000) /* holes are counted to 20 mm */
#define UM_PER_INCH UINT64_C(25400)
#define LENGTH_MOST (UINT64_C(1) << 62)

/* numerator / denominator, halves up. */
static uint64_t rounded(uint64_t numerator, uint64_t denominator) {
    uint64_t whole = numerator / denominator, rest = numerator % denominator;
    return whole + (rest >= denominator - rest);
}

glassine_gauge glassine_gauge_of(uint32_t pitches, uint64_t length_um) {
    const glassine_gauge none = {0, 0, 0};
    if (pitches == 0 || length_um == 0 || length_um > LENGTH_MOST)
        return none;
    uint64_t holes = UM_PER_GAUGE_LENGTH * pitches;
    uint64_t hundredths = rounded(holes * 100, length_um);
    if (hundredths > UINT16_MAX)
        return none;
    return (glassine_gauge){(uint16_t)hundredths, (uint16_t)rounded(holes * 10, length_um),
                            (uint16_t)rounded(holes * 4, length_um)};
}

void glassine_gauge_print(glassine_gauge across, const glassine_gauge *sides, char *out, size_t size) {
    static const char *const parts[] = {"", "¼", "½", "¾"};
    if (!sides || sides->quarters == across.quarters)
        snprintf(out, size, "%u%s", across.quarters / 4, parts[across.quarters % 4]);
    else
        snprintf(out, size, "%u%s × %u%s", across.quarters / 4, parts[across.quarters % 4],
                 sides->quarters / 4, parts[sides->quarters % 4]);
}

uint64_t glassine_um_from_pixels(uint64_t pixels, uint64_t dpi_hundredths) {
    if (dpi_hundredths == 0 || pixels > UINT64_MAX / (UM_PER_INCH * 100))
        return 0;
    return rounded(UM_PER_INCH * 100 * pixels, dpi_hundredths);
}

uint64_t glassine_pixels_from_um(uint64_t um, uint64_t dpi_hundredths) {
    if (dpi_hundredths == 0 || um > UINT64_MAX / dpi_hundredths)
        return 0;
    return rounded(um * dpi_hundredths, UM_PER_INCH * 100);
}
