#include "images/shrink.h"

#include <stdlib.h>

bool gl_shrink_open(gl_shrink *shrink, gl_pixels *from, uint32_t width, uint32_t height) {
    *shrink = (gl_shrink){.from = from, .width = width, .height = height, .channels = from->channels};
    shrink->row_in = malloc((size_t)from->width * from->channels);
    shrink->row = calloc((size_t)width * from->channels, sizeof *shrink->row);
    shrink->sum = calloc((size_t)width * from->channels, sizeof *shrink->sum);
    return shrink->row_in && shrink->row && shrink->sum;
}

void gl_shrink_close(gl_shrink *shrink) {
    free(shrink->row_in);
    free(shrink->row);
    free(shrink->sum);
}

/* Means of row_in, each over from->width / width old pixels. */
static void narrow(gl_shrink *s) {
    double step = (double)s->from->width / s->width;
    for (uint32_t x = 0; x < s->width; x++) {
        double begin = x * step, end = begin + step;
        uint32_t first = (uint32_t)begin,
                 last = (uint32_t)end < s->from->width ? (uint32_t)end : s->from->width - 1;
        for (unsigned c = 0; c < s->channels; c++) {
            double sum =
                s->row_in[(size_t)first * s->channels + c] * ((first < last ? first + 1 : end) - begin);
            for (uint32_t i = first + 1; i < last; i++)
                sum += s->row_in[(size_t)i * s->channels + c];
            if (last > first)
                sum += s->row_in[(size_t)last * s->channels + c] * (end - last);
            s->row[(size_t)x * s->channels + c] = (float)(sum / step);
        }
    }
}

static void next_row(gl_shrink *s) {
    if (s->at_in < s->from->height && !s->from->row(s->from, s->row_in)) {
        memset(s->row_in, 255, (size_t)s->from->width * s->channels);
        s->at_in = s->from->height; /* and so is all that follows */
    }
    s->at_in++;
    s->part = 0;
    s->has_row = true;
    narrow(s);
}

void gl_shrink_row(gl_shrink *s, uint8_t *out) {
    size_t values = (size_t)s->width * s->channels;
    float wanted = (float)s->from->height / (float)s->height, step = wanted;
    memset(s->sum, 0, values * sizeof *s->sum);
    while (wanted > 1e-4f) {
        if (!s->has_row)
            next_row(s);
        float share = 1 - s->part < wanted ? 1 - s->part : wanted;
        for (size_t i = 0; i < values; i++)
            s->sum[i] += s->row[i] * share;
        s->part += share;
        wanted -= share;
        s->has_row = s->part < 1 - 1e-4f;
    }
    for (size_t i = 0; i < values; i++)
        out[i] = (uint8_t)(s->sum[i] / step + 0.5f);
}
