/* A plate as a drawing. */
#ifndef CONVERTERS_CHART_H
#define CONVERTERS_CHART_H

#include "glassine.h"

/* An SVG picture of a plate (spec/plates.md): every position with what can be said of it, a legend, the
 * figures. It is 190 mm wide and at most 254 mm high, so that it prints on one page of A4 and of Letter. No
 * meaning hangs on colour: outline, filling and sign say the same. */
glassine_status glassine_chart_svg(glassine_bundle *bundle, glassine_record *plate, glassine_write write,
                                   void *context, glassine_report *report, glassine_error *error);

#endif
