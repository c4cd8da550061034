/* Field values: what people type into canonical JSON, canonical JSON into what people read, and the check of
 * a value against the table of types. */
#ifndef GL_RECORDS_VALUE_H
#define GL_RECORDS_VALUE_H

#include "base/buf.h"
#include "base/json.h"

/* Finds the TYPE/UUID that a typed name means; `types` NULL-ended or NULL. Fills the error itself. */
typedef glassine_status (*gl_resolve)(void *context, const char *const *types, gl_span typed, gl_buf *id,
                                      glassine_error *error);

/* `typed` as people type it -> canonical JSON appended to `out`. Dates become EDTF ("about 1860" -> "1860~"),
 * texts become NFC, choices are matched kindly (case, spaces for underscores), arrays take "a,b,c" (a comma
 * in an element is written "\,"). A field that the table does not know takes text. R-codes with place =
 * field. */
glassine_status gl_value_parse(const glassine_field_info *info, gl_span typed, gl_resolve resolve,
                               void *context, gl_buf *out, glassine_error *error);

/* Does canonical `value` fit the field? NULL, or static text that says why not. References are checked for
 * form and type name only. */
const char *gl_value_fault(const glassine_field_info *info, gl_span value);

/* As people read it. `name_of` (may be NULL) appends a reference's label instead of its id. */
void gl_value_show(const glassine_field_info *info, gl_span value,
                   bool (*name_of)(void *context, gl_span id, gl_buf *out), void *context, gl_buf *out);

/* TYPE/UUID: is it well-formed, and its two parts. */
bool gl_record_id_split(gl_span id, gl_span *type, gl_span *uuid);

#endif
