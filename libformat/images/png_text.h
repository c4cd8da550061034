/* Text chunks of PNG files, and the metadata that programs put into them. */
#ifndef GL_IMAGES_PNG_TEXT_H
#define GL_IMAGES_PNG_TEXT_H

#include "images/source.h"

/* The data of a chunk tEXt, zTXt or iTXt; `kind` is the first letter of its type. */
void gl_png_text_look(gl_source *source, char kind, uint64_t at, uint64_t length);

#endif
