/* What a standing depends on. Every list of it comes from the table of bearing.c. */
#ifndef GL_PLATING_BEARING_H
#define GL_PLATING_BEARING_H

#include "bundle/bundle.h"

enum { GL_LEADS_MOST = 4 };

/* How the records of a type bear on standings. */
typedef struct gl_bearing {
    const char *type;
    /* fields by which a record bears on what it leads to, and that on the record */
    const char *leads[GL_LEADS_MOST];
    bool wide;     /* one of them may bear on every stamp */
    bool surveyed; /* each is looked at for itself: not only where a stamp leads to it */
    bool by_mark;  /* only by the known mark that it is: where no mark is known, they bear on nothing */
} gl_bearing;

/* By their place in the table of types (glassine_record has it). */
typedef struct gl_bearings {
    const gl_bearing *of[UINT8_MAX + 1]; /* NULL: no standing depends on the type */
} gl_bearings;

/* What bears on standings in this bundle. */
gl_bearings gl_bearings_in(const glassine_bundle *bundle);

#endif
