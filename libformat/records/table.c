/* The one table of record types (spec/records.md), put together of its parts. */
#include "records/table.h"

#include <stdio.h>

#include "base/error.h"
#include "base/text.h"
#include "records/fields.h"
#include "records/names.h"

static const gl_table_part *const parts[] = {&gl_table_who, &gl_table_plate, &gl_table_said, &gl_table_life};
#define PARTS (sizeof parts / sizeof parts[0])

#define GL_NAME_ROOM 33 /* one more than the longest name */

static const gl_either either[] = {
    {"observation", "item", "stamp"},
    {"opinion", "item", "stamp"},
    {"event", "item", "items"},
};

const char *glassine_reach_name(glassine_reach reach) {
    switch (reach) {
    case GLASSINE_SHARED:
        return "shared";
    case GLASSINE_TELLING:
        return "telling";
    case GLASSINE_PRIVATE:
        return "private";
    }
    return NULL;
}

size_t glassine_type_count(void) {
    size_t count = 0;
    for (size_t i = 0; i < PARTS; i++)
        count += parts[i]->count;
    return count;
}

const glassine_type_info *glassine_type_at(size_t index) {
    for (size_t i = 0; i < PARTS; i++) {
        if (index < parts[i]->count)
            return &parts[i]->types[index];
        index -= parts[i]->count;
    }
    return NULL;
}

size_t gl_type_place(const glassine_type_info *type) {
    size_t place = 0;
    for (size_t i = 0; type && i < PARTS; i++)
        for (size_t k = 0; k < parts[i]->count; k++, place++)
            if (&parts[i]->types[k] == type)
                return place;
    return glassine_type_count();
}

/* Asked for every slip and every value shown: most names differ in their first letter. */
static bool is_name(const char *of_table, gl_span name) {
    return name.length && name.text[0] == of_table[0] && gl_span_is(name, of_table);
}

const glassine_type_info *gl_type_of(gl_span name) {
    for (size_t i = 0; i < PARTS; i++)
        for (size_t k = 0; k < parts[i]->count; k++)
            if (is_name(parts[i]->types[k].name, name))
                return &parts[i]->types[k];
    return NULL;
}

const glassine_field_info *gl_field_of(const glassine_type_info *type, gl_span name) {
    for (size_t i = 0; type && i < type->field_count; i++)
        if (is_name(type->fields[i].name, name))
            return &type->fields[i];
    return NULL;
}

const glassine_type_info *glassine_type_find(const char *name) {
    return name ? gl_type_of(gl_span_of(name)) : NULL;
}

const glassine_field_info *glassine_type_field(const glassine_type_info *type, const char *name) {
    return name ? gl_field_of(type, gl_span_of(name)) : NULL;
}

glassine_reach glassine_type_reach(const glassine_type_info *type, const glassine_field_info *field,
                                   const char *kind) {
    return gl_field_reach(type, field, gl_span_of(kind));
}

const char *glassine_type_caution(const glassine_type_info *type, const char *kind) {
    if (!type || !kind || strcmp(type->name, "event") != 0)
        return type ? type->caution : NULL;
    return strcmp(kind, "treated") == 0 || strcmp(kind, "repaired") == 0 ? type->caution : NULL;
}

bool gl_table_name_check(gl_span name) {
    if (name.length < 1 || name.length > 32 || name.text[0] < 'a' || name.text[0] > 'z')
        return false;
    for (size_t i = 1; i < name.length; i++) {
        char c = name.text[i];
        if (!((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_'))
            return false;
    }
    return true;
}

glassine_reach gl_field_reach(const glassine_type_info *type, const glassine_field_info *field,
                              gl_span kind) {
    if (!field)
        return GLASSINE_PRIVATE;
    if (type && strcmp(type->name, "event") == 0 &&
        (gl_span_is(kind, "acquired") || gl_span_is(kind, "sold")))
        return GLASSINE_PRIVATE;
    return field->reach;
}

const gl_either *gl_type_either(const glassine_type_info *type) {
    for (size_t i = 0; type && i < sizeof either / sizeof either[0]; i++)
        if (strcmp(type->name, either[i].type) == 0)
            return &either[i];
    return NULL;
}

const char *gl_type_lacks(const glassine_type_info *type, bool (*has)(void *context, const char *field),
                          void *context) {
    for (size_t i = 0; type && i < type->field_count; i++)
        if (type->fields[i].required && !has(context, type->fields[i].name))
            return type->fields[i].name;
    const gl_either *two = gl_type_either(type);
    if (!two || has(context, two->one) || has(context, two->other))
        return NULL;
    return strcmp(two->other, "items") == 0 ? "item or items" : "item or stamp";
}

static gl_span type_name(const void *list, size_t index) {
    (void)list;
    return gl_span_of(glassine_type_at(index)->name);
}

static gl_span field_name(const void *type, size_t index) {
    return gl_span_of(((const glassine_type_info *)type)->fields[index].name);
}

/* Says which names come near, and all of them as the remedy. */
static glassine_status refuse_name(glassine_error *error, const char *rule, const char *place,
                                   const char *what, gl_span typed, gl_name_at at, const void *list,
                                   size_t count) {
    gl_buf near = GL_BUF_EMPTY, all = GL_BUF_EMPTY;
    if (gl_names_near(typed, at, list, count, &near))
        gl_fail(error, GLASSINE_REFUSED, rule, place, "no %s of that name; did you mean %s?", what,
                near.text);
    else
        gl_fail(error, GLASSINE_REFUSED, rule, place, "no %s of that name", what);
    gl_names_list(at, list, count, &all);
    if (all.length > 0)
        gl_error_remedy(error, "Choose one of: %s", all.text);
    glassine_status status = near.failed || all.failed ? gl_fail_memory(error) : GLASSINE_REFUSED;
    gl_buf_free(&near);
    gl_buf_free(&all);
    return status;
}

/* The typed name, quoted and short, as the place of an error. */
static void typed_place(gl_span typed, char *out, size_t size) {
    gl_span head = gl_span_part(typed, 0, 60);
    snprintf(out, size, "\"%.*s%s\"", GL_SPAN_ARGS(head), head.length < typed.length ? "..." : "");
}

glassine_status gl_type_typed(gl_span typed, const glassine_type_info **type, glassine_error *error) {
    typed = gl_text_trim(typed);
    for (size_t i = 0; i < glassine_type_count(); i++) {
        *type = glassine_type_at(i);
        if (gl_name_alike(typed, gl_span_of((*type)->name)))
            return GLASSINE_OK;
    }
    *type = NULL;
    char place[80];
    typed_place(typed, place, sizeof place);
    return refuse_name(error, "R010", place, "type", typed, type_name, NULL, glassine_type_count());
}

/* A name as the format writes names; false where it cannot be one. */
static bool spell(gl_span typed, char out[GL_NAME_ROOM], gl_span *name) {
    if (typed.length >= GL_NAME_ROOM)
        return false;
    for (size_t i = 0; i < typed.length; i++) {
        char c = typed.text[i];
        out[i] = c == '-' || c == ' ' ? '_' : c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
    }
    *name = (gl_span){out, typed.length};
    return gl_table_name_check(*name);
}

glassine_status gl_field_typed(const glassine_type_info *type, gl_span typed, gl_buf *name,
                               const glassine_field_info **info, glassine_error *error) {
    typed = gl_text_trim(typed);
    *info = NULL;
    for (size_t i = 0; type && i < type->field_count; i++)
        if (gl_name_alike(typed, gl_span_of(type->fields[i].name))) {
            *info = &type->fields[i];
            gl_buf_add_text(name, (*info)->name);
            return name->failed ? gl_fail_memory(error) : GLASSINE_OK;
        }
    char room[GL_NAME_ROOM], place[80];
    gl_span spelt;
    typed_place(typed, place, sizeof place);
    bool own =
        spell(typed, room, &spelt) && (!type || (spelt.length > 4 && gl_span_starts(spelt, GL_SPAN("own_"))));
    if (!own)
        return refuse_name(error, "R011", place, "field", typed, field_name, type,
                           type ? type->field_count : 0);
    gl_buf_add(name, spelt);
    return name->failed ? gl_fail_memory(error) : GLASSINE_OK;
}
