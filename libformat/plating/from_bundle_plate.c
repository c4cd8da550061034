/* The layout of a plate out of its record. */
#include "plating/from_bundle.h"

static uint32_t whole(glassine_bundle *bundle, glassine_record *plate, const char *field, uint32_t fallback) {
    int64_t value;
    if (!glassine_record_integer(bundle, plate, field, &value) || value < 1 || value > UINT32_MAX)
        return fallback;
    return (uint32_t)value;
}

/* The first field of the layout about which people disagree; NULL: none. */
static const char *contested_field(glassine_bundle *bundle, glassine_record *plate) {
    static const char *const fields[] = {"rows",       "columns",   "panes_across",   "panes_down",
                                         "pane_names", "numbering", "corner_letters", NULL};
    for (size_t i = 0; fields[i]; i++) {
        bool contested;
        glassine_record_get(bundle, plate, fields[i], &contested);
        if (contested)
            return fields[i];
    }
    return NULL;
}

/* "pane_names" as one text with commas. */
static void add_pane_names(glassine_bundle *bundle, glassine_record *plate, gl_buf *out) {
    glassine_value value = glassine_record_get(bundle, plate, "pane_names", NULL), item;
    if (gl_json_kind_of(value) == GL_JSON_STRING)
        gl_json_add_decoded(out, value);
    if (gl_json_kind_of(value) != GL_JSON_ARRAY)
        return;
    size_t at = 0;
    while (glassine_value_next(value, &at, NULL, &item)) {
        if (out->length)
            gl_buf_add_char(out, ',');
        gl_json_add_decoded(out, item);
    }
}

glassine_status gl_plan_of_plate(glassine_bundle *bundle, glassine_record *plate, gl_plan **plan,
                                 glassine_error *error) {
    *plan = NULL;
    const char *contested = contested_field(bundle, plate);
    gl_span label = glassine_record_label(bundle, plate);
    if (contested)
        return gl_fail(error, GLASSINE_REFUSED, "R041", label.text, "its %s are contested: settle them first",
                       contested);
    gl_span numbering = glassine_record_text(bundle, plate, "numbering");
    gl_buf names = GL_BUF_EMPTY;
    add_pane_names(bundle, plate, &names);
    glassine_layout layout = {
        .rows = whole(bundle, plate, "rows", 0),
        .columns = whole(bundle, plate, "columns", 0),
        .panes_across = whole(bundle, plate, "panes_across", 1),
        .panes_down = whole(bundle, plate, "panes_down", 1),
        .numbering = gl_span_is(numbering, "down")           ? GLASSINE_DOWN
                     : gl_span_is(numbering, "across_sheet") ? GLASSINE_ACROSS_SHEET
                                                             : GLASSINE_ACROSS,
        .corner_letters = gl_json_true(glassine_record_get(bundle, plate, "corner_letters", NULL)),
        .pane_names = names.length ? names.text : NULL,
        .label = label.text,
    };
    glassine_status status = !layout.rows || !layout.columns
                                 ? gl_fail(error, GLASSINE_REFUSED, "R040", label.text, "the plate has no %s",
                                           layout.rows ? "columns" : "rows")
                                 : gl_plan_new(&layout, plan, error);
    gl_buf_free(&names);
    return status;
}

glassine_status glassine_plan_of_plate(glassine_bundle *bundle, glassine_record *plate, glassine_plan **plan,
                                       glassine_error *error) {
    return gl_plan_of_plate(bundle, plate, plan, error);
}
