/* The metadata that a camera puts into a JPEG (Exif 2.3, JEITA CP-3451): maker, serial number, owner, the
 * time, and where it was. Written byte by byte, so that what is read elsewhere was not written by the same
 * code. */
#ifndef ENGRAVER_CAMERA_H
#define ENGRAVER_CAMERA_H

#include <stddef.h>

#define CAMERA_BLOCK_MOST 1024

/* Fills the content of an APP1 segment and returns its length. The place is open ocean. */
size_t camera_block(unsigned char block[CAMERA_BLOCK_MOST], int width, int height);

#endif
