/* How the parts of the table of types are written: one line a field. Used by table_*.c alone. */
#ifndef GL_RECORDS_FIELDS_H
#define GL_RECORDS_FIELDS_H

#include "base/json.h"

/* A part of the table: neighbouring types, in the order of spec/records.md. */
typedef struct gl_table_part {
    const glassine_type_info *types;
    size_t count;
} gl_table_part;
extern const gl_table_part gl_table_who, gl_table_plate, gl_table_said, gl_table_life;

#define SHARED GLASSINE_SHARED
#define TELLING GLASSINE_TELLING
#define PRIVATE GLASSINE_PRIVATE
#define NEEDED true
#define OPTIONAL false

#define LIST(...) ((const char *const[]){__VA_ARGS__, NULL})

/* name, kind, reach, required, choices, refs, least, most, unit, help */
#define TEXT(name, reach, need, help)                                                                        \
    { name, GLASSINE_TEXT, reach, need, NULL, NULL, 0, 0, NULL, help }
#define TEXTS(name, reach, help)                                                                             \
    { name, GLASSINE_TEXTS, reach, OPTIONAL, NULL, NULL, 0, 0, NULL, help }
#define TRUTH(name, reach, help)                                                                             \
    { name, GLASSINE_TRUTH, reach, OPTIONAL, NULL, NULL, 0, 0, NULL, help }
#define DATE(name, reach, help)                                                                              \
    { name, GLASSINE_DATE, reach, OPTIONAL, NULL, NULL, 0, 0, NULL, help }
#define EXPRESSION(name, reach, help)                                                                        \
    { name, GLASSINE_EXPRESSION, reach, OPTIONAL, NULL, NULL, 0, 0, NULL, help }
#define HEX(name, reach, need, help)                                                                         \
    { name, GLASSINE_HEX, reach, need, NULL, NULL, 0, 0, NULL, help }
#define REGION(name, reach, help)                                                                            \
    { name, GLASSINE_REGION, reach, OPTIONAL, NULL, NULL, 0, GL_PIXELS_MOST, "pixels", help }
#define INTEGER(name, reach, need, least, most, unit, help)                                                  \
    { name, GLASSINE_INTEGER, reach, need, NULL, NULL, least, most, unit, help }
#define CHOICE(name, reach, need, choices, help)                                                             \
    { name, GLASSINE_CHOICE, reach, need, choices, NULL, 0, 0, NULL, help }
#define CHOICES(name, reach, choices, help)                                                                  \
    { name, GLASSINE_CHOICES, reach, OPTIONAL, choices, NULL, 0, 0, NULL, help }
#define REF(name, reach, need, refs, help)                                                                   \
    { name, GLASSINE_REF, reach, need, NULL, refs, 0, 0, NULL, help }
/* `least` … `most` references; most 0: as many as one likes */
#define REFS(name, reach, need, refs, least, most, help)                                                     \
    { name, GLASSINE_REFS, reach, need, NULL, refs, least, most, NULL, help }
#define ANY_TYPE NULL

/* The field that every type has, the last one of each. */
#define SET_ASIDE(reach)                                                                                     \
    TRUTH("set_aside", reach, "takes the record out of lists and derived figures; false brings it back")

#define TYPE(name, authored, label, caution, help, fields)                                                   \
    { name, authored, label, help, caution, fields, sizeof(fields) / sizeof((fields)[0]) }
#define AUTHORED true
#define COMMON false

/* Bounds, each far beyond what a collection meets, and small enough that products of them fit. */
#define GL_PIXELS_MOST INT64_C(4294967295)
#define GL_MICROMETRES_MOST 1000000 /* a metre */
#define GL_SUBJECTS_MOST 1000       /* rows or columns */
#define GL_PANES_MOST 100
#define GL_OFF_DESIGN 10000 /* thousandths: ten designs away */

/* Lists that several fields share. */
#define CONFIDENCES LIST("certain", "probable", "possible")
#define APPEARANCES                                                                                          \
    LIST("dot", "guide_line", "doubling", "remains", "flaw", "scratch", "crack", "recut", "retouch", "burr", \
         "wear", "imprint", "plate_number", "other")

#endif
