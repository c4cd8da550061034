/* The readers of single formats and of the metadata inside them. Each looks at what `source` holds and notes
 * it in source->image; what is not sound is noted as trouble, never refused. */
#ifndef GL_IMAGES_PARTS_H
#define GL_IMAGES_PARTS_H

#include "images/source.h"

void gl_jpeg_look(gl_source *source); /* ITU-T T.81, JFIF, EXIF */
void gl_png_look(gl_source *source);  /* ISO/IEC 15948 */
void gl_tiff_look(gl_source *source); /* TIFF 6.0, BigTIFF */

/* An EXIF block: a TIFF structure in the range. Size is not taken from it, resolution only where none is
 * said. */
void gl_exif_look(gl_source *source, uint64_t at, uint64_t length);

/* Photoshop image resources: the IPTC ones among them. IPTC records. XMP, as text. */
void gl_resources_look(gl_source *source, uint64_t at, uint64_t length);
void gl_iptc_look(gl_source *source, uint64_t at, uint64_t length);
void gl_xmp_look(gl_image *image, const uint8_t *text, size_t length);

#endif
