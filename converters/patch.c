/* RFC 6902: what makes the one JSON document of the other. `add`, `remove` and `replace` only. */
#include "converters.h"

#include <errno.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>

#include "output.h"

static int keep(void *context, const char *bytes, size_t length) {
    conv_output *it = context;
    conv_add(it, (glassine_span){bytes, length});
    return it->failed;
}

/* PATH/NAME, with '~' and '/' escaped (RFC 6901, 3). NULL when memory ran out. */
static char *below(const char *path, const char *name) {
    char *out = malloc(strlen(path) + 2 * strlen(name) + 2), *at = out;
    if (out == NULL) {
        return NULL;
    }
    at += sprintf(at, "%s/", path);
    for (; *name != '\0'; name++) {
        if (*name == '~' || *name == '/') {
            *at++ = '~';
            *at++ = *name == '~' ? '0' : '1';
        } else {
            *at++ = *name;
        }
    }
    *at = '\0';
    return out;
}

static bool say(json_t *patch, const char *op, const char *path, json_t *value) {
    json_t *one = json_pack("{s:s,s:s}", "op", op, "path", path);
    return one != NULL && (value == NULL || json_object_set(one, "value", value) == 0) &&
           json_array_append_new(patch, one) == 0;
}

static bool compare(json_t *patch, const char *path, json_t *a, json_t *b);

static bool compare_at(json_t *patch, const char *path, const char *name, json_t *a, json_t *b) {
    char *place = below(path, name);
    bool done = place != NULL;
    if (done && a == NULL) {
        done = say(patch, "add", place, b);
    } else if (done && b == NULL) {
        done = say(patch, "remove", place, NULL);
    } else if (done) {
        done = compare(patch, place, a, b);
    }
    free(place);
    return done;
}

static bool compare_objects(json_t *patch, const char *path, json_t *a, json_t *b) {
    const char *name;
    json_t *value;
    bool done = true;
    json_object_foreach(a, name, value) {
        done = done && compare_at(patch, path, name, value, json_object_get(b, name));
    }
    json_object_foreach(b, name, value) {
        done = done && (json_object_get(a, name) != NULL || compare_at(patch, path, name, NULL, value));
    }
    return done;
}

/* What both begin and end with stays; in between, elements are replaced, then taken away from the back, or
 * added. */
static bool compare_arrays(json_t *patch, const char *path, json_t *a, json_t *b) {
    size_t first = 0, a_end = json_array_size(a), b_end = json_array_size(b);
    bool done = true;
    char name[24];
    while (first < a_end && first < b_end && json_equal(json_array_get(a, first), json_array_get(b, first))) {
        first++;
    }
    while (a_end > first && b_end > first &&
           json_equal(json_array_get(a, a_end - 1), json_array_get(b, b_end - 1))) {
        a_end--;
        b_end--;
    }
    size_t at = first;
    for (; at < a_end && at < b_end && done; at++) {
        snprintf(name, sizeof name, "%zu", at);
        done = compare_at(patch, path, name, json_array_get(a, at), json_array_get(b, at));
    }
    for (size_t gone = a_end; gone > at && done; gone--) {
        snprintf(name, sizeof name, "%zu", gone - 1);
        done = compare_at(patch, path, name, json_array_get(a, gone - 1), NULL);
    }
    for (; at < b_end && done; at++) {
        snprintf(name, sizeof name, "%zu", at);
        done = compare_at(patch, path, name, NULL, json_array_get(b, at));
    }
    return done;
}

static bool compare(json_t *patch, const char *path, json_t *a, json_t *b) {
    if (json_equal(a, b)) {
        return true;
    }
    if (json_is_object(a) && json_is_object(b)) {
        return compare_objects(patch, path, a, b);
    }
    if (json_is_array(a) && json_is_array(b)) {
        return compare_arrays(patch, path, a, b);
    }
    return say(patch, "replace", path, b);
}

static glassine_status load(glassine_bundle *bundle, const glassine_json_options *options, json_t **document,
                            glassine_error *error) {
    conv_output text = {0};
    glassine_status status = glassine_to_json(bundle, options, keep, &text, error);
    *document = status == GLASSINE_OK ? json_loadb(text.text, text.length, 0, NULL) : NULL;
    conv_free(&text);
    return status == GLASSINE_OK && *document == NULL ? conv_fail_system(error, ENOMEM, NULL, "out of memory")
                                                      : status;
}

/* An operation a line. */
static int hand_on(json_t *patch, glassine_write write, void *context) {
    conv_output out = {.write = write, .context = context};
    size_t index;
    json_t *one;
    conv_add_text(&out, "[");
    json_array_foreach(patch, index, one) {
        char *text = json_dumps(one, JSON_COMPACT | JSON_SORT_KEYS);
        conv_add_text(&out, index > 0 ? ",\n" : "\n");
        conv_add_text(&out, text != NULL ? text : "");
        out.failed = text == NULL ? ENOMEM : out.failed;
        free(text);
    }
    conv_add_text(&out, json_array_size(patch) > 0 ? "\n]\n" : "]\n");
    int code = conv_finish(&out);
    conv_free(&out);
    return code;
}

glassine_status glassine_patch(glassine_bundle *a, glassine_bundle *b, const glassine_json_options *options,
                               glassine_write write, void *context, size_t *operations,
                               glassine_error *error) {
    json_t *from = NULL, *to = NULL, *patch = json_array();
    glassine_status status = load(a, options, &from, error);
    if (status == GLASSINE_OK) {
        status = load(b, options, &to, error);
    }
    if (status == GLASSINE_OK && (patch == NULL || !compare(patch, "", from, to))) {
        status = conv_fail_system(error, ENOMEM, NULL, "out of memory");
    }
    int code = status == GLASSINE_OK ? hand_on(patch, write, context) : 0;
    *operations = json_array_size(patch);
    json_decref(from);
    json_decref(to);
    json_decref(patch);
    return code != 0 ? conv_fail_system(error, code, NULL, "the patch cannot be written") : status;
}
