/* The field GF(2^8) modulo x^8 + x^4 + x^3 + x^2 + 1 (0x11d), and what Reed–Solomon codes need of it: rows of
 * a Cauchy matrix (spec/parity.md). */
#ifndef GL_BASE_GALOIS_H
#define GL_BASE_GALOIS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

uint8_t gl_galois_multiply(uint8_t a, uint8_t b);
/* Of anything but 0. */
uint8_t gl_galois_inverse(uint8_t a);
/* The coefficient of data block `column` in parity block `row` of a group of `width` data blocks. */
uint8_t gl_galois_cauchy(unsigned width, unsigned row, unsigned column);
/* to[i] += factor · from[i] */
void gl_galois_add(uint8_t *to, const uint8_t *from, uint8_t factor, size_t length);
/* Inverts a square part of a Cauchy matrix, size · size elements, in place; false where it is none. `size` is at most 255. */
bool gl_galois_invert(uint8_t *matrix, unsigned size);

#endif
