#include "records/names.h"

#define LONGEST 48 /* bytes of a name that are compared */
#define OFFERED 3

static bool passed_over(char c) {
    return c == '_' || c == '-' || c == ' ' || c == '\t' || c == '\n';
}

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Lower case without '_', '-' and white space, cut to LONGEST. */
static size_t plain(gl_span name, char out[LONGEST]) {
    size_t length = 0;
    for (size_t i = 0; i < name.length && length < LONGEST; i++)
        if (!passed_over(name.text[i]))
            out[length++] = lower(name.text[i]);
    return length;
}

bool gl_name_alike(gl_span typed, gl_span name) {
    size_t i = 0, k = 0;
    for (;;) {
        while (i < typed.length && passed_over(typed.text[i]))
            i++;
        while (k < name.length && passed_over(name.text[k]))
            k++;
        if (i == typed.length || k == name.length)
            return i == typed.length && k == name.length;
        if (lower(typed.text[i++]) != lower(name.text[k++]))
            return false;
    }
}

static size_t least(size_t a, size_t b) {
    return a < b ? a : b;
}

/* Bytes to change, put in, take out or swap with their neighbour until one is the other. */
static size_t distance(gl_span typed, gl_span name) {
    char a[LONGEST], b[LONGEST];
    size_t rows = plain(typed, a), columns = plain(name, b);
    size_t before[LONGEST + 1] = {0}, above[LONGEST + 1], row[LONGEST + 1];
    for (size_t k = 0; k <= columns; k++)
        above[k] = k;
    for (size_t i = 1; i <= rows; i++) {
        row[0] = i;
        for (size_t k = 1; k <= columns; k++) {
            row[k] = least(least(above[k], row[k - 1]) + 1, above[k - 1] + (a[i - 1] != b[k - 1]));
            if (i > 1 && k > 1 && a[i - 1] == b[k - 2] && a[i - 2] == b[k - 1])
                row[k] = least(row[k], before[k - 2] + 1);
        }
        memcpy(before, above, sizeof before);
        memcpy(above, row, sizeof above);
    }
    return above[columns];
}

/* How far off a name may be and still be offered: a third of what was typed, one at least. */
static bool near_enough(gl_span typed, size_t off) {
    return off <= 1 || off <= typed.length / 3;
}

bool gl_names_near(gl_span typed, gl_name_at at, const void *list, size_t count, gl_buf *out) {
    size_t best[OFFERED], off[OFFERED], found = 0;
    for (size_t i = 0; i < count; i++) {
        size_t far = distance(typed, at(list, i));
        if (!near_enough(typed, far))
            continue;
        size_t place = found;
        while (place > 0 && off[place - 1] > far)
            place--;
        if (place == OFFERED)
            continue;
        found = least(found + 1, OFFERED);
        for (size_t k = found - 1; k > place; k--) {
            best[k] = best[k - 1];
            off[k] = off[k - 1];
        }
        best[place] = i;
        off[place] = far;
    }
    for (size_t k = 0; k < found; k++) {
        if (k > 0)
            gl_buf_add_text(out, k + 1 == found ? " or " : ", ");
        gl_buf_add(out, at(list, best[k]));
    }
    return found > 0;
}

void gl_names_list(gl_name_at at, const void *list, size_t count, gl_buf *out) {
    for (size_t i = 0; i < count; i++) {
        if (i > 0)
            gl_buf_add_text(out, ", ");
        gl_buf_add(out, at(list, i));
    }
}
