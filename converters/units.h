/* Values in the units that people use: millimetres, holes to 20 mm, an amount of money. */
#ifndef CONVERTERS_UNITS_H
#define CONVERTERS_UNITS_H

#include "output.h"

/* Is a field's number one that people would write otherwise? */
bool units_differ(const glassine_field_info *info);
/* Is it kept in hundredths? */
bool units_are_hundredths(const glassine_field_info *info);
/* Is it an amount of money in minor units, whose currency is in the record's field `currency`? */
bool units_are_money(const glassine_field_info *info);
/* "18.5 mm", "14.25", "EUR 12.00"; exact. False, with nothing added, where the value is no integer, or the
 * currency (ISO 4217) is not known. */
bool units_show(conv_output *out, glassine_value value, const glassine_field_info *info,
                glassine_span currency);
/* How many digits the minor unit of a currency has (ISO 4217): 2 of EUR, 0 of JPY; -1: no such code. */
int units_minor_digits(glassine_span currency);

#endif
