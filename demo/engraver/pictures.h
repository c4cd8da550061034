/* Picture files through the usual libraries. */
#ifndef ENGRAVER_PICTURES_H
#define ENGRAVER_PICTURES_H

#include "items.h"

/* Writes three-byte pixels; `camera`: a JPEG as a camera makes it, with its block of metadata. */
bool picture_write(const char *path, scan_kind kind, const unsigned char *pixels, int width, int height,
                   int dpi, bool camera);

#endif
