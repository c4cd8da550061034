#include "base/galois.h"

#include <string.h>

enum { MODULUS = 0x11d, MOST = 255 };

uint8_t gl_galois_multiply(uint8_t a, uint8_t b) {
    unsigned product = 0;
    for (unsigned left = a; b; b = (uint8_t)(b >> 1)) {
        if (b & 1)
            product ^= left;
        left = left & 0x80 ? left << 1 ^ MODULUS : left << 1;
    }
    return (uint8_t)product;
}

/* a^254, since a^255 is 1. */
uint8_t gl_galois_inverse(uint8_t a) {
    uint8_t power = a, result = 1;
    for (int bit = 1; bit < 8; bit++) {
        power = gl_galois_multiply(power, power);
        result = gl_galois_multiply(result, power);
    }
    return result;
}

uint8_t gl_galois_cauchy(unsigned width, unsigned row, unsigned column) {
    return gl_galois_inverse((uint8_t)((width + row) ^ column));
}

void gl_galois_add(uint8_t *to, const uint8_t *from, uint8_t factor, size_t length) {
    uint8_t low[16], high[16]; /* products with the four lower and the four upper bits */
    for (unsigned i = 0; i < 16; i++) {
        low[i] = gl_galois_multiply(factor, (uint8_t)i);
        high[i] = gl_galois_multiply(factor, (uint8_t)(i << 4));
    }
    for (size_t i = 0; i < length; i++)
        to[i] ^= (uint8_t)(low[from[i] & 15] ^ high[from[i] >> 4]);
}

static void scale(uint8_t *row, uint8_t factor, unsigned size) {
    for (unsigned i = 0; i < size; i++)
        row[i] = gl_galois_multiply(row[i], factor);
}

/* Gauss and Jordan, on the matrix and the one beside it that becomes its inverse. Every square part of a
 * Cauchy matrix has an inverse, so no pivot of one is 0 and no rows need to change places. */
bool gl_galois_invert(uint8_t *matrix, unsigned size) {
    static const uint8_t one = 1;
    uint8_t inverse[MOST * MOST];
    memset(inverse, 0, (size_t)size * size);
    for (unsigned i = 0; i < size; i++)
        inverse[i * size + i] = one;
    for (unsigned i = 0; i < size; i++) {
        if (!matrix[i * size + i])
            return false;
        uint8_t factor = gl_galois_inverse(matrix[i * size + i]);
        scale(matrix + i * size, factor, size);
        scale(inverse + i * size, factor, size);
        for (unsigned row = 0; row < size; row++) {
            factor = matrix[row * size + i];
            if (row == i || !factor)
                continue;
            gl_galois_add(matrix + row * size, matrix + i * size, factor, size);
            gl_galois_add(inverse + row * size, inverse + i * size, factor, size);
        }
    }
    memcpy(matrix, inverse, (size_t)size * size);
    return true;
}
