/* Inside the layer: the members that any kind of line has, found in one walk. */
#ifndef GL_SLIPS_MEMBERS_H
#define GL_SLIPS_MEMBERS_H

#include "slips/line.h"

/* In canonical order. */
enum {
    GL_AFTER,
    GL_AT,
    GL_BRINGS,
    GL_BY,
    GL_CLEAR,
    GL_EDITION,
    GL_FORMAT,
    GL_KEY,
    GL_LOG,
    GL_NOTE,
    GL_OF,
    GL_REACH,
    GL_RECORD,
    GL_SET,
    GL_SIG,
    GL_SLIPS,
    GL_TOOL,
    GL_VIA,
    GL_WHY,
    GL_MEMBERS
};

typedef struct gl_members {
    gl_span of[GL_MEMBERS]; /* JSON values; absent: text == NULL */
} gl_members;

/* Members first … last, to be found in a walk over a line. */
gl_json_wanted gl_members_wanted(unsigned first, unsigned last, gl_members *members);
/* Members first … last of a canonical line; looks no further than the last. */
void gl_members_look(gl_span line, unsigned first, unsigned last, gl_members *members);

/* gl_line_check; what it found on the way is for others to use. */
glassine_status gl_members_check(gl_span line, const glassine_limits *limits, const char *place,
                                 gl_line_kind *kind, gl_members *members, glassine_error *error);

/* "shared", "telling" or "private", with its quotes. */
bool gl_reach_parse(gl_span value, glassine_reach *reach);

/* The caller's limit; the default where it is 0 or no limits are given. */
#define GL_LIMIT(limits, name) ((limits) && (limits)->name ? (limits)->name : glassine_limits_default().name)

#endif
