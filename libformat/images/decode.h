/* Whether a picture's pixels can be read, every one of them. */
#ifndef GL_IMAGES_DECODE_H
#define GL_IMAGES_DECODE_H

#include "images/image.h"

/* `image` is what gl_image_look found. *why is NULL where they can, and for kinds that are no pictures we read;
 * where a picture breaks off or is damaged it says how (static text). Pictures of more pixels than are ever
 * read at once (images/pixels.h) are damaged as well: no scanner makes them. Fails where memory runs out. */
glassine_status gl_image_decodes(gl_span file, const gl_image *image, const char **why,
                                 glassine_error *error);

#endif
