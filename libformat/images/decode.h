/* Whether a picture's pixels can be read, every one of them. */
#ifndef GL_IMAGES_DECODE_H
#define GL_IMAGES_DECODE_H

#include "images/image.h"

/* `image` is what gl_image_look found. True for kinds that are no pictures we read; false where a picture
 * breaks off or is damaged: *why says how (static text), NULL: memory ran out. Pictures of more pixels than
 * are ever read at once (images/pixels.h) are damaged as well: no scanner makes them. */
bool gl_image_decodes(gl_span file, const gl_image *image, const char **why);

#endif
