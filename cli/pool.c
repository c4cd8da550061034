#include "pool.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct cli_pooled {
    struct cli_pooled *before;
    max_align_t bytes[];
};

void *cli_pool_take(cli_pool *pool, size_t size) {
    struct cli_pooled *taken = malloc(sizeof *taken + size);
    if (taken == NULL) {
        return NULL;
    }
    taken->before = pool->last;
    pool->last = taken;
    return taken->bytes;
}

char *cli_pool_copy(cli_pool *pool, const char *text, size_t length) {
    char *copy = cli_pool_take(pool, length + 1);
    if (copy != NULL) {
        memcpy(copy, text, length);
        copy[length] = '\0';
    }
    return copy;
}

char *cli_pool_span(cli_pool *pool, glassine_span span) {
    return span.text != NULL ? cli_pool_copy(pool, span.text, span.length) : NULL;
}

char *cli_pool_print(cli_pool *pool, const char *format, ...) {
    va_list arguments, again;
    va_start(arguments, format);
    va_copy(again, arguments);
    int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    char *text = length >= 0 ? cli_pool_take(pool, (size_t)length + 1) : NULL;
    if (text != NULL) {
        vsnprintf(text, (size_t)length + 1, format, again);
    }
    va_end(again);
    return text;
}

/* The part that begins at *text, up to a comma that no backslash hides; *text moves behind it. */
static char *next_part(cli_pool *pool, const char **text) {
    const char *from = *text + strspn(*text, " ");
    char *part = cli_pool_take(pool, strlen(from) + 1);
    if (part == NULL) {
        return NULL;
    }
    size_t length = 0;
    for (; *from != '\0' && *from != ','; from++) {
        from += from[0] == '\\' && (from[1] == ',' || from[1] == '\\');
        part[length++] = *from;
    }
    while (length > 0 && part[length - 1] == ' ') {
        length--;
    }
    part[length] = '\0';
    *text = from + (*from == ',');
    return part;
}

const char **cli_pool_split(cli_pool *pool, const char *text, size_t *count) {
    size_t most = 1;
    for (const char *c = text; *c != '\0'; c++) {
        most += *c == ',';
    }
    const char **list = cli_pool_take(pool, (most + 1) * sizeof *list);
    if (list == NULL) {
        return NULL;
    }
    *count = 0;
    while (*text != '\0') {
        const char *part = next_part(pool, &text);
        if (part == NULL) {
            return NULL;
        }
        if (part[0] != '\0') {
            list[(*count)++] = part;
        }
    }
    list[*count] = NULL;
    return list;
}

void cli_pool_free(cli_pool *pool) {
    while (pool->last != NULL) {
        struct cli_pooled *before = pool->last->before;
        free(pool->last);
        pool->last = before;
    }
}
