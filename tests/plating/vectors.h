/* Reading the files of testvectors/ with a JSON library that is not ours. */
#ifndef TEST_PLATING_VECTORS_H
#define TEST_PLATING_VECTORS_H

#include <jansson.h>

#include "layouts.h"

static inline json_t *vectors_load(const char *name) {
    char path[512];
    snprintf(path, sizeof path, "%s/%s", TESTVECTORS, name);
    json_error_t fault;
    json_t *root = json_load_file(path, JSON_REJECT_DUPLICATES, &fault);
    if (!root)
        fail_msg("%s:%d: %s", path, fault.line, fault.text);
    return root;
}

static inline const char *text_of(const json_t *object, const char *key) {
    return json_string_value(json_object_get(object, key));
}

static inline uint32_t whole_of(const json_t *object, const char *key, uint32_t otherwise) {
    const json_t *value = json_object_get(object, key);
    return value ? (uint32_t)json_integer_value(value) : otherwise;
}

/* Is the text one of a list of texts? */
static inline bool is_named(const json_t *list, const char *text) {
    for (size_t i = 0; i < json_array_size(list); i++)
        if (strcmp(text, json_string_value(json_array_get(list, i))) == 0)
            return true;
    return false;
}

static inline gl_plan *plan_from(const json_t *layout) {
    const char *numbering = text_of(layout, "numbering");
    glassine_layout made = {.rows = whole_of(layout, "rows", 0),
                            .columns = whole_of(layout, "columns", 0),
                            .panes_across = whole_of(layout, "panes_across", 1),
                            .panes_down = whole_of(layout, "panes_down", 1),
                            .corner_letters = json_is_true(json_object_get(layout, "corner_letters")),
                            .pane_names = text_of(layout, "pane_names"),
                            .label = text_of(layout, "label")};
    if (numbering)
        made.numbering = strcmp(numbering, "down") == 0 ? GLASSINE_DOWN : GLASSINE_ACROSS_SHEET;
    return plan_make(made);
}

#endif
