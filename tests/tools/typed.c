/* typed: one JSON object {"rule":"field","text":"…"} a line on standard input, rule being one of the grammars
 * in spec/commands.md; on standard output whether the program takes the text so: "good" or "bad". */
#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "args.h"
#include "words.h"

/* A value that is to be read from a file which is not there is one all the same. */
static bool field(const char *text) {
    cli_args args;
    glassine_error error = {0};
    glassine_status status = cli_args_parse(&text, 1, 0, true, &args, &error);
    bool good = status == GLASSINE_OK ? args.field_count == 1
                                      : error.place[0] && !strstr(error.message, "no file is named");
    cli_args_free(&args);
    return good;
}

/* The part before the last "#" is what cannot be opened then. */
static bool edition(const char *text) {
    glassine_bundle *bundle = NULL;
    glassine_error error = {0};
    glassine_bundle_open(text, GLASSINE_READ, NULL, &bundle, &error);
    glassine_bundle_close(bundle);
    return strchr(text, '#') && strcmp(error.place, text) != 0 && !strstr(error.message, "is no edition");
}

static bool line(const char *text) {
    cli_pool pool = {0};
    const char **words;
    size_t count;
    glassine_error error;
    bool good = cli_words_split(&pool, text, strlen(text), &words, &count, &error) == GLASSINE_OK;
    cli_pool_free(&pool);
    return good;
}

static const struct {
    const char *rule;
    bool (*takes)(const char *text);
} readers[] = {{"field", field}, {"edition", edition}, {"line", line}};

int main(void) {
    for (json_t *asked; (asked = json_loadf(stdin, JSON_DISABLE_EOF_CHECK, NULL)) != NULL; json_decref(asked))
        for (size_t i = 0; i < sizeof readers / sizeof readers[0]; i++)
            if (strcmp(json_string_value(json_object_get(asked, "rule")), readers[i].rule) == 0)
                puts(readers[i].takes(json_string_value(json_object_get(asked, "text"))) ? "good" : "bad");
    return 0;
}
