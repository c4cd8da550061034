/* Canonical JSON (RFC 8785) within the value set of the format: checking, walking, writing.
 * The value set: strings, integers within +-(2^53-1), booleans, arrays of these, and objects of one level:
 * their members are strings, integers, booleans or arrays of these. An array never holds an array or an
 * object. A string holds any character but the control characters of RFC 8259 (U+0000 to U+001F) other than
 * \n. General JSON from outside is read with jansson instead. */
#ifndef GL_BASE_JSON_H
#define GL_BASE_JSON_H

#include <stdint.h>

#include "base/buf.h"

#define GL_JSON_INTEGER_MAX INT64_C(9007199254740991)

typedef enum gl_json_kind {
    GL_JSON_NONE,
    GL_JSON_STRING,
    GL_JSON_INTEGER,
    GL_JSON_BOOLEAN,
    GL_JSON_ARRAY,
    GL_JSON_OBJECT
} gl_json_kind;

/* What is wrong and where, in a check that failed. */
typedef struct gl_json_fault {
    size_t at;        /* byte offset */
    const char *what; /* static text: "members out of order", "control character in a string" … */
} gl_json_fault;

/* True where `text` is exactly one canonical JSON object: members sorted by UTF-16 code units, none twice,
 * no white space, shortest escapes, no control character but \n (written \n), valid UTF-8, no `null`, no
 * fraction or exponent, no -0. NFC is not looked at.
 * `depth` is how many levels of objects may lie below the outer one: 0, an object of scalars and arrays of
 * scalars; 1, whose members may be such objects; 2, a slip, for the objects among the values of `set`. Arrays
 * hold scalars only, wherever they stand. `fault` may be NULL. */
bool gl_json_check(gl_span text, unsigned depth, gl_json_fault *fault);

/* Members of an object that are wanted, by names of small ASCII letters in canonical order. */
typedef struct gl_json_wanted {
    const gl_span *names;
    gl_span *values;    /* of each name its JSON value; to be absent at first */
    size_t next, count; /* names before `next` were passed */
} gl_json_wanted;
/* One member after the other, in canonical order: keeps those that are wanted. */
void gl_json_keep(gl_json_wanted *them, gl_span name, gl_span value);
/* gl_json_check, and the outer object's members that are wanted on the way. */
bool gl_json_check_members(gl_span text, unsigned depth, gl_json_wanted *them, gl_json_fault *fault);

/* What follows holds for canonical text only (that was checked, or that we wrote). */
gl_json_kind gl_json_kind_of(gl_span value);

/* Walks the members of an object, or the elements of an array, in order:
 *     gl_json_walk walk = gl_json_walk_of(value);
 *     while (gl_json_next(&walk, &name, &item)) …
 * `name` is the raw string without its quotes (escapes left as they are); absent for arrays. */
typedef struct gl_json_walk {
    const char *at, *end;
} gl_json_walk;
gl_json_walk gl_json_walk_of(gl_span value);
bool gl_json_next(gl_json_walk *walk, gl_span *name, gl_span *item);
size_t gl_json_count(gl_span value);
/* The member of that name (a plain ASCII name); absent span where there is none. */
gl_span gl_json_member(gl_span object, const char *name);

/* The string between the quotes with its escapes resolved, appended (all escapes of RFC 8785, also of the
 * control characters that the value set leaves out). `value` includes the quotes. */
void gl_json_add_decoded(gl_buf *buf, gl_span value);
/* The string without its quotes, as it stands: equal to the decoded one where no backslash is in it. */
gl_span gl_json_raw(gl_span value);
/* False where it is no integer. */
bool gl_json_integer(gl_span value, int64_t *out);
/* Is it the boolean true? */
bool gl_json_true(gl_span value);

/* Order of member names in canonical JSON (RFC 8785 3.2.3: by UTF-16 code units), for decoded UTF-8. */
int gl_json_name_order(gl_span a, gl_span b);
/* The same for raw names, as gl_json_next gives them. */
int gl_json_raw_name_order(gl_span a, gl_span b);

/* Writing. A string comes out as RFC 8785 3.2.2.2 has it, whatever it holds (\b \t \n \f \r \u00xx \" \\, all
 * else as it is); bytes that are no UTF-8 become U+FFFD. Keeping to the value set is the caller's. */
void gl_json_add_string(gl_buf *buf, gl_span utf8); /* with quotes */
void gl_json_add_integer(gl_buf *buf, int64_t value);

#endif
