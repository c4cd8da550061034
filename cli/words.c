#include "words.h"

#include <string.h>

#include "refuse.h"

typedef struct scanner {
    const char *at, *end;
    char *out; /* the word being put together */
} scanner;

static bool is_space(char c) {
    return c == ' ' || c == '\t' || c == '\r';
}

/* What stands between the quote at scan->at and its partner; false where there is none. */
static bool take_quoted(scanner *scan) {
    char quote = *scan->at++;
    while (scan->at < scan->end && *scan->at != quote) {
        bool escape = quote == '"' && *scan->at == '\\' && scan->at + 1 < scan->end &&
                      (scan->at[1] == '"' || scan->at[1] == '\\');
        scan->at += escape;
        *scan->out++ = *scan->at++;
    }
    if (scan->at == scan->end) {
        return false;
    }
    scan->at++;
    return true;
}

/* Takes one word off the line. NULL, or what is wrong with it. */
static const char *take_word(scanner *scan) {
    while (scan->at < scan->end && !is_space(*scan->at)) {
        if (*scan->at == '\'' || *scan->at == '"') {
            if (!take_quoted(scan)) {
                return "a quote is not closed";
            }
        } else if (*scan->at != '\\') {
            *scan->out++ = *scan->at++;
        } else if (++scan->at < scan->end) {
            *scan->out++ = *scan->at++;
        } else {
            return "nothing follows the backslash";
        }
    }
    *scan->out++ = '\0';
    return NULL;
}

glassine_status cli_words_split(cli_pool *pool, const char *line, size_t length, const char ***words,
                                size_t *count, glassine_error *error) {
    if (memchr(line, '\0', length) != NULL) {
        return cli_refuse(error, NULL, NULL, "the line holds a NUL byte");
    }
    scanner scan = {line, line + length, cli_pool_take(pool, length + 2)};
    *words = cli_pool_take(pool, (length / 2 + 2) * sizeof **words);
    *count = 0;
    if (scan.out == NULL || *words == NULL) {
        return cli_memory(error);
    }
    while (true) {
        while (scan.at < scan.end && is_space(*scan.at)) {
            scan.at++;
        }
        if (scan.at == scan.end || *scan.at == '#') {
            return GLASSINE_OK;
        }
        (*words)[(*count)++] = scan.out;
        const char *wrong = take_word(&scan);
        if (wrong != NULL) {
            return cli_refuse(error, NULL, "'…', \"…\" and a backslash keep spaces and quotes as they are",
                              "%s", wrong);
        }
    }
}
