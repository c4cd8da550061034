/* Field values: what people type into canonical JSON, canonical JSON into what people read, and the check of
 * a value against the table of types. */
#ifndef GL_RECORDS_VALUE_H
#define GL_RECORDS_VALUE_H

#include "base/buf.h"
#include "base/json.h"

/* Finds the TYPE/UUID that a typed name means; `types` NULL-ended or NULL. Fills the error itself. */
typedef glassine_status (*gl_resolve)(void *context, const char *const *types, gl_span typed, gl_buf *id,
                                      glassine_error *error);

/* `typed` as people type it -> canonical JSON appended to `out`. Texts become NFC; choices are matched kindly
 * (case, '-' and spaces for '_'); dates become EDTF ("about 1860" -> "1860~"); where the unit is hundredths a
 * decimal point is understood ("14.25" -> 1425); lists take "a, b, c" (records/list.h). `info` NULL, a field
 * that the table does not know, takes text. `resolve` NULL takes TYPE/UUID only. R-codes; the place of an
 * error is the field and what was typed; `out` is then as it was. */
glassine_status gl_value_parse(const glassine_field_info *info, gl_span typed, gl_resolve resolve,
                               void *context, gl_buf *out, glassine_error *error);

/* Does canonical `value` fit the field? NULL, or static text that says why not, with the rule's code in *rule
 * (which may be NULL). References are checked for form and type name only; NFC is not looked at. */
const char *gl_value_fault(const glassine_field_info *info, gl_span value, const char **rule);

/* As people read it, so that gl_value_parse gives the value again (a label that is unique, provided). What
 * does not fit the field is shown as it stands. `name_of` (may be NULL) appends a reference's label instead
 * of its id, or returns false. */
void gl_value_show(const glassine_field_info *info, gl_span value,
                   bool (*name_of)(void *context, gl_span id, gl_buf *out), void *context, gl_buf *out);

/* Is the field's unit hundredths of something, so that 1425 reads 14.25? */
bool gl_field_in_hundredths(const glassine_field_info *info);

/* TYPE/UUID: is it well-formed, and its two parts. */
bool gl_record_id_split(gl_span id, gl_span *type, gl_span *uuid);

#endif
