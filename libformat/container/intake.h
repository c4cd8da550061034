/* A bundle that another program packed: the folder it was unpacked to, or an archive of that folder. It is
 * written out as a bundle's file, which is then read and checked as any other (spec/container.md). */
#ifndef GL_CONTAINER_INTAKE_H
#define GL_CONTAINER_INTAKE_H

#include "container/zip.h"

/* May `error`, with which gl_zip_open refused a file, mean that another program packed it? */
bool gl_intake_may_help(const glassine_error *error);

/* Writes what the folder or archive `path` holds into the empty file `fd`, as one edition. Refused where it
 * is none of a bundle, and where an entry is a link, a device, encrypted, named against the grammar, there
 * twice, or beyond the limits (`limits` NULL: the defaults). That the bag and the log are whole is for the
 * one who opens it. */
glassine_status gl_intake(const char *path, const glassine_limits *limits, int fd, glassine_error *error);

#endif
