/* typed BUNDLE: one JSON object {"rule":"field","text":"…"} a line on standard input, rule being one of those
 * below, of the grammars in spec/; on standard output what the program makes of the text: "good", "bad" (not
 * understood), or "refused" (understood, and refused for another reason). BUNDLE is where records and
 * editions are looked for. */
#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "args.h"
#include "as_of.h"
#include "base/edtf.h"
#include "numbers.h"
#include "record.h"
#include "records/value.h"
#include "shape.h"
#include "words.h"

static cli_pool pool;
static glassine_error error;
static cli_args as_of_args;
static cli_call call = {.args = &as_of_args, .pool = &pool, .error = &error};

typedef enum answer { BAD, GOOD, REFUSED } answer;

static answer is(bool good) {
    return good ? GOOD : BAD;
}

static answer took(glassine_status status) {
    return is(status == GLASSINE_OK);
}

/* ------------------------------------------------------------------------------------- spec/commands.md */

/* A value that is to be read from a file which is not there is one all the same. */
static answer field(const char *text) {
    cli_args args;
    glassine_status status = cli_args_parse(&text, 1, 0, true, &args, &error);
    bool good = status == GLASSINE_OK ? args.field_count == 1
                                      : error.place[0] && !strstr(error.message, "no file is named");
    cli_args_free(&args);
    return is(good);
}

/* The part before the last "#" is what cannot be opened then. */
static answer edition(const char *text) {
    glassine_bundle *bundle = NULL;
    glassine_bundle_open(text, GLASSINE_READ, NULL, &bundle, &error);
    glassine_bundle_close(bundle);
    return is(strchr(text, '#') && strcmp(error.place, text) != 0 && !strstr(error.message, "is no edition"));
}

static answer line(const char *text) {
    const char **words;
    size_t count;
    return took(cli_words_split(&pool, text, strlen(text), &words, &count, &error));
}

/* A date that is none: the same words whether it was not understood or has no last day, since both are
 * outside. */
static answer as_of(const char *text) {
    glassine_bundle *then = NULL;
    as_of_args.option[CLI_AS_OF] = text;
    glassine_status status = cli_as_of_open(&call, call.bundle, &then);
    glassine_bundle_close(then);
    if (status == GLASSINE_OK || strstr(error.message, "has no edition") ||
        strstr(error.message, "there is no edition"))
        return GOOD;
    bool outside = strstr(error.message, "not understood") || strstr(error.message, "has no last day") ||
                   strstr(error.message, "is no edition");
    return outside ? BAD : REFUSED;
}

static answer record(const char *text) {
    glassine_record *found;
    glassine_status status = cli_find(&call, NULL, text, &found);
    if (status != GLASSINE_OK &&
        strcmp(error.rule, "R033") != 0) /* a stamp is looked for when nothing else fits */
        status = glassine_bundle_find(call.bundle, "stamp", text, &found, &error);
    return is(status == GLASSINE_OK || strcmp(error.rule, "R033") == 0);
}

/* Taken up in a draft of the keeper's that is dropped. */
static answer proposal(const char *text) {
    glassine_bundle *bundle;
    glassine_draft *draft = NULL;
    glassine_record *taken;
    if (glassine_bundle_open(call.path, GLASSINE_WRITE, NULL, &bundle, &error))
        return REFUSED;
    glassine_status status = glassine_draft_new(bundle, glassine_bundle_keeper(bundle), NULL, &draft, &error);
    if (status == GLASSINE_OK)
        status = glassine_draft_adopt(draft, text, &taken, &error);
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    return took(status);
}

static answer size(const char *text) {
    uint64_t bytes;
    return took(cli_read_size("size-limit", text, &bytes, &error));
}

static answer pixels(const char *text) {
    uint32_t most;
    return took(cli_read_pixels("scan-limit", text, &most, &error));
}

static answer percent(const char *text) {
    unsigned parts;
    return took(cli_read_percent(text, &parts, &error));
}

static answer number(const char *text) {
    uint32_t edition_number;
    return took(cli_read_edition(text, &edition_number, &error));
}

static answer decimal(const char *text) {
    double value;
    return took(cli_read_decimal("reach", text, &value, &error));
}

static answer stamps(const char *text) {
    cli_shape shape;
    return took(cli_shape_parse(text, &shape, &error));
}

/* ------------------------------------------------------------------------------ spec/dates.md, records.md */

static answer date(const char *text) {
    gl_buf written = GL_BUF_EMPTY;
    glassine_status status = gl_edtf_from_typed(gl_span_of(text), &written, &error);
    gl_buf_free(&written);
    return status == GLASSINE_OK ? GOOD : strstr(error.message, "not understood") ? BAD : REFUSED;
}

static answer value(const char *type, const char *name, const char *text) {
    gl_buf made = GL_BUF_EMPTY;
    const glassine_field_info *info = glassine_type_field(glassine_type_find(type), name);
    glassine_status status = gl_value_parse(info, gl_span_of(text), NULL, NULL, &made, &error);
    gl_buf_free(&made);
    return took(status);
}

/* Fields of each kind: rule → type and field. */
static const struct {
    const char *rule, *type, *field;
} fields[] = {{"integer", "plate", "rows"},         {"hundredths", "stamp", "gauge_top"},
              {"truth", "plate", "corner_letters"}, {"hex", "contributor", "key"},
              {"texts", "printing", "shades"},      {"region", "observation", "region"}};

static const struct {
    const char *rule;
    answer (*takes)(const char *text);
} readers[] = {{"field", field},      {"edition", edition}, {"line", line},     {"as-of", as_of},
               {"record", record},    {"size", size},       {"pixels", pixels}, {"percent", percent},
               {"number", number},    {"decimal", decimal}, {"stamps", stamps}, {"typed", date},
               {"proposal", proposal}};

static answer judge(const char *rule, const char *text) {
    error = (glassine_error){0};
    for (size_t i = 0; i < sizeof readers / sizeof readers[0]; i++)
        if (strcmp(rule, readers[i].rule) == 0)
            return readers[i].takes(text);
    for (size_t i = 0; i < sizeof fields / sizeof fields[0]; i++)
        if (strcmp(rule, fields[i].rule) == 0)
            return value(fields[i].type, fields[i].field, text);
    fprintf(stderr, "typed: there is no rule %s\n", rule);
    return BAD;
}

int main(int count, char **arguments) {
    static const char *const words[] = {"bad", "good", "refused"};
    if (count != 2 || glassine_bundle_open(arguments[1], GLASSINE_READ, NULL, &call.bundle, &error)) {
        fprintf(stderr, "usage: typed BUNDLE (%s)\n", error.message);
        return 1;
    }
    call.path = arguments[1];
    for (json_t *asked; (asked = json_loadf(stdin, JSON_DISABLE_EOF_CHECK, NULL)) != NULL; json_decref(asked))
        puts(words[judge(json_string_value(json_object_get(asked, "rule")),
                         json_string_value(json_object_get(asked, "text")))]);
    glassine_bundle_close(call.bundle);
    cli_pool_free(&pool);
    return 0;
}
