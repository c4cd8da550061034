/* What the table of types says beyond glassine_type_info: rules that span fields, and names as people type
 * them. */
#ifndef GL_RECORDS_TABLE_H
#define GL_RECORDS_TABLE_H

#include "base/buf.h"

/* NULL: not in the table. */
const glassine_type_info *gl_type_of(gl_span name);
/* The index that glassine_type_at has it under; NULL: the first behind all. */
size_t gl_type_place(const glassine_type_info *type);
const glassine_field_info *gl_field_of(const glassine_type_info *type, gl_span name);

/* Names of types and fields: a lower-case letter, then up to 31 of these, digits and '_'. */
bool gl_table_name_check(gl_span name);

/* The reach a writer gives a field unless told otherwise. `kind` is what the record's field `kind` says
 * (absent: nothing): a purchase or a sale is private whole. A field that the table does not know (NULL) is
 * private. */
glassine_reach gl_field_reach(const glassine_type_info *type, const glassine_field_info *field, gl_span kind);

/* Two fields of which a record needs one; NULL where its type has no such rule. */
typedef struct gl_either {
    const char *type, *one, *other;
} gl_either;
const gl_either *gl_type_either(const glassine_type_info *type);

/* The first field that the type requires and the record has not ("label", "item or stamp"); NULL: none. */
const char *gl_type_lacks(const glassine_type_info *type, bool (*has)(void *context, const char *field),
                          void *context);

/* What a typed name means; case, '-' and spaces for '_' are overlooked. Refused with the nearest names. */
glassine_status gl_type_typed(gl_span typed, const glassine_type_info **type, glassine_error *error);
/* *info is NULL for a field of the writer's own ("own_" and a name), which the table never knows. `name` gets
 * the field's name appended. `type` NULL (a type that is not in the table): any name that is one. */
glassine_status gl_field_typed(const glassine_type_info *type, gl_span typed, gl_buf *name,
                               const glassine_field_info **info, glassine_error *error);

#endif
