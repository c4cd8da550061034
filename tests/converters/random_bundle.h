/* Random bundles: every type and every kind of field, hostile texts, values that fit no field, several
 * people, fields that are contested, private and telling slips. The same seed gives the same bundle. */
#ifndef TESTS_CONVERTERS_RANDOM_BUNDLE_H
#define TESTS_CONVERTERS_RANDOM_BUNDLE_H

#include "made.h"

#define UNUSED __attribute__((unused))
#define RECORDS_MOST 64

typedef struct random_bundle {
    glassine_bundle *bundle;
    uint64_t luck;
    char ids[RECORDS_MOST][80];
    size_t count;
} random_bundle;

/* xorshift64* (G. Marsaglia, S. Vigna): the tests need variety, not secrecy. */
UNUSED static uint32_t draw(random_bundle *it, uint32_t below) {
    it->luck ^= it->luck >> 12;
    it->luck ^= it->luck << 25;
    it->luck ^= it->luck >> 27;
    return (uint32_t)(it->luck * UINT64_C(2685821657736338717) >> 32) % below;
}

#define PICK(it, list) (list)[draw(it, (uint32_t)(sizeof(list) / sizeof((list)[0])))]

/* ------------------------------------------------------------------------------------------------- values */

UNUSED static void draw_hostile(random_bundle *it, gl_buf *out) {
    static const char *const bits[] = {"a",
                                       "`",
                                       "'",
                                       "=",
                                       ";",
                                       "; ",
                                       " ",
                                       "\\",
                                       "|",
                                       " | ",
                                       "\"",
                                       ",",
                                       "7",
                                       "-",
                                       "\n",
                                       "\n\n",
                                       "json:",
                                       "`json:",
                                       "contested: ",
                                       "\xe9\xb3\xa5",
                                       "Mar",
                                       "true",
                                       "E",
                                       "/",
                                       "\xef\xbb\xbf",
                                       "+",
                                       "@",
                                       "007",
                                       "1E5",
                                       "7-8",
                                       "%",
                                       "\xc3\x9c",
                                       "e\xcc\x81",
                                       "\xf0\x9f\x90\xa6",
                                       "\xe2\x80\xaa",
                                       "\xc2\xa0",
                                       "<b>",
                                       "&amp;",
                                       "_x0041_",
                                       "{",
                                       "[",
                                       "#",
                                       "(cleared)",
                                       "\xef\xbf\xbe",
                                       "0x1F",
                                       "\xe2\x80\xa8",
                                       "sep=;",
                                       "id",
                                       "version"};
    gl_buf text = GL_BUF_EMPTY;
    for (unsigned n = draw(it, 8); n > 0; n--)
        gl_buf_add_text(&text, PICK(it, bits));
    if (draw(it, 200) == 0)
        for (unsigned n = 2000; n > 0; n--)
            gl_buf_add_text(&text, "long text, ");
    gl_json_add_string(out, gl_buf_span(&text));
    gl_buf_free(&text);
}

UNUSED static void draw_scalar(random_bundle *it, gl_buf *out) {
    switch (draw(it, 4)) {
    case 0:
        gl_json_add_integer(out, (int64_t)draw(it, 100000) * (draw(it, 2) ? 90071992547 : -1));
        break;
    case 1:
        gl_buf_add_text(out, draw(it, 2) ? "true" : "false");
        break;
    default:
        draw_hostile(it, out);
    }
}

UNUSED static void draw_any(random_bundle *it, gl_buf *out) {
    unsigned kind = draw(it, 4), count = draw(it, 4);
    if (kind < 2) {
        draw_scalar(it, out);
        return;
    }
    gl_buf_add_text(out, kind == 2 ? "[" : "{");
    for (unsigned i = 0; i < count; i++) {
        gl_buf_printf(out, "%s", i ? "," : "");
        if (kind == 3)
            gl_buf_printf(out, "\"m%u\":", i);
        draw_scalar(it, out);
    }
    gl_buf_add_char(out, kind == 2 ? ']' : '}');
}

UNUSED static void draw_reference(random_bundle *it, const glassine_field_info *info, gl_buf *out) {
    for (unsigned tries = 0; tries < 40; tries++) {
        const char *id = it->ids[draw(it, (uint32_t)it->count)];
        bool fits = !info->refs;
        for (size_t i = 0; info->refs && info->refs[i]; i++)
            fits |=
                strncmp(id, info->refs[i], strlen(info->refs[i])) == 0 && id[strlen(info->refs[i])] == '/';
        if (!fits)
            continue;
        gl_buf_printf(out, "\"%s\"", id);
        return;
    }
    gl_buf_add_text(out, "\"" ITEM "\""); /* leads nowhere, or to another type */
}

UNUSED static void draw_elements(random_bundle *it, const glassine_field_info *info, gl_buf *out) {
    gl_buf_add_char(out, '[');
    unsigned chosen = 0;
    for (unsigned n = 1 + draw(it, 3), i = 0; i < n; i++) {
        gl_buf_add_text(out, i ? "," : "");
        if (info->kind == GLASSINE_REFS)
            draw_reference(it, info, out);
        else if (info->kind == GLASSINE_CHOICES) /* in their order, each once */
            gl_buf_printf(out, "\"%s\"", info->choices[chosen++]);
        else
            draw_hostile(it, out);
    }
    gl_buf_add_char(out, ']');
}

/* A value as the field has it, nearly always. */
UNUSED static void draw_value(random_bundle *it, const glassine_field_info *info, gl_buf *out) {
    static const char *const dates[] = {"1860",         "1860-03",    "1860-03-14", "1860~",
                                        "1861-05/1862", "1905-01-01", "186X",       "2026-05-01",
                                        "1899-12-31",   "1900-02-28", "../1864"};
    static const char *const places[] = {"any", "4", "R1/4", "column 4 but not row 2", "1-10, 21-30"};
    if (draw(it, 12) == 0) {
        draw_any(it, out);
        return;
    }
    size_t choices = 0;
    while (info->choices && info->choices[choices])
        choices++;
    switch (info->kind) {
    case GLASSINE_INTEGER:
        gl_json_add_integer(out, draw(it, 2) ? info->least + draw(it, 1000) : info->most);
        break;
    case GLASSINE_TRUTH:
        gl_buf_add_text(out, draw(it, 2) ? "true" : "false");
        break;
    case GLASSINE_DATE:
        gl_buf_printf(out, "\"%s\"", PICK(it, dates));
        break;
    case GLASSINE_CHOICE:
        gl_buf_printf(out, "\"%s\"", info->choices[draw(it, (uint32_t)choices)]);
        break;
    case GLASSINE_REF:
        draw_reference(it, info, out);
        break;
    case GLASSINE_EXPRESSION:
        gl_buf_printf(out, "\"%s\"", PICK(it, places));
        break;
    case GLASSINE_HEX:
        gl_buf_printf(out, "\"%064x\"", draw(it, 1 << 30));
        break;
    case GLASSINE_REGION:
        gl_buf_printf(out, "[%u,%u,%u,%u]", draw(it, 9000), draw(it, 9000), 1 + draw(it, 99),
                      1 + draw(it, 99));
        break;
    case GLASSINE_TEXT:
        draw_hostile(it, out);
        break;
    default:
        draw_elements(it, info, out);
    }
}

/* -------------------------------------------------------------------------------------------------- slips */

typedef struct drawn_member {
    char name[40], value[30000];
} drawn_member;

UNUSED static int by_member(const void *a, const void *b) {
    return strcmp(((const drawn_member *)a)->name, ((const drawn_member *)b)->name);
}

UNUSED static void draw_name(random_bundle *it, const glassine_type_info *type,
                             const glassine_field_info **info, char *name, size_t size) {
    static const char *const others[] = {"own_shelf", "own_x",     "later",      "id",
                                         "version",   "contested", "item_label", "author"};
    *info = NULL;
    if (!type || draw(it, 12) == 0) {
        snprintf(name, size, "%s", PICK(it, others));
        return;
    }
    *info = &type->fields[draw(it, (uint32_t)type->field_count)];
    snprintf(name, size, "%s", (*info)->name);
}

/* An object of `most` members at most, and the names that a slip clears. */
UNUSED static void draw_set(random_bundle *it, const glassine_type_info *type, unsigned most, gl_buf *set,
                            gl_buf *clear) {
    static drawn_member members[8];
    size_t count = 0;
    for (unsigned n = draw(it, most + 1); n > 0; n--) {
        const glassine_field_info *info;
        gl_buf value = GL_BUF_EMPTY;
        drawn_member *one = &members[count];
        draw_name(it, type, &info, one->name, sizeof one->name);
        for (size_t i = 0; i < count; i++)
            if (strcmp(members[i].name, one->name) == 0)
                one = NULL, i = count;
        if (!one || strcmp(one->name, "set_aside") == 0)
            continue;
        if (info)
            draw_value(it, info, &value);
        else
            draw_any(it, &value);
        snprintf(one->value, sizeof one->value, "%s", value.length < sizeof one->value ? value.text : "1");
        gl_buf_free(&value);
        count++;
    }
    qsort(members, count, sizeof *members, by_member);
    size_t said = 0, cleared = 0;
    gl_buf_add_char(set, '{');
    for (size_t i = 0; i < count; i++) {
        if (clear && draw(it, 6) == 0)
            gl_buf_printf(clear, "%s\"%s\"", cleared++ ? "," : "[", members[i].name);
        else
            gl_buf_printf(set, "%s\"%s\":%s", said++ ? "," : "", members[i].name, members[i].value);
    }
    gl_buf_add_char(set, '}');
    if (cleared)
        gl_buf_add_char(clear, ']');
}

/* A slip that follows nothing, the latest, or some of what is there. */
UNUSED static void draw_slip(random_bundle *it, const char *id, const char *by) {
    const glassine_type_info *type = gl_type_of_id(gl_span_of(id));
    glassine_reach reach = draw(it, 3) ? GLASSINE_SHARED : (glassine_reach)draw(it, GLASSINE_REACHES);
    gl_digest after[4];
    size_t count = 0;
    uint32_t subject = gl_store_record_find(it->bundle->store, gl_span_of(id));
    if (subject != GL_NONE && draw(it, 5)) {
        uint32_t slip = gl_store_record(it->bundle->store, subject)->last;
        for (; slip != GL_NONE && count < 3; slip = gl_store_at(it->bundle->store, slip)->previous) {
            const gl_slip *one = gl_store_at(it->bundle->store, slip);
            if (one->reach == reach && draw(it, 3))
                after[count++] = one->digest;
        }
    }
    for (size_t i = 1; i < count; i++)
        for (size_t k = i; k > 0 && gl_digest_compare(&after[k], &after[k - 1]) < 0; k--) {
            gl_digest other = after[k];
            after[k] = after[k - 1];
            after[k - 1] = other;
        }
    char at[32];
    snprintf(at, sizeof at, "2026-05-%02uT10:%02u:00Z", 1 + draw(it, 28), draw(it, 60));
    gl_buf set = GL_BUF_EMPTY, clear = GL_BUF_EMPTY;
    draw_set(it, type, 8, &set, &clear);
    made_add(it->bundle, (made_slip){.by = by,
                                     .record = id,
                                     .reach = reach,
                                     .set = set.text,
                                     .clear = clear.length ? clear.text : NULL,
                                     .at = at,
                                     .after = after,
                                     .after_count = count});
    gl_buf_free(&set);
    gl_buf_free(&clear);
}

UNUSED static random_bundle *draw_bundle(uint64_t seed) {
    random_bundle *it = calloc(1, sizeof *it);
    assert_non_null(it);
    it->luck = seed * UINT64_C(0x9e3779b97f4a7c15) + 1;
    it->bundle = made_bundle();
    for (size_t t = 0; t <= glassine_type_count(); t++) {
        const char *type = t < glassine_type_count() ? glassine_type_at(t)->name : "teapot";
        for (unsigned n = draw(it, 4); n > 0 && it->count < RECORDS_MOST; n--, it->count++)
            snprintf(it->ids[it->count], sizeof it->ids[0], "%s/00000000-0000-4000-8000-%012zx", type,
                     it->count);
    }
    if (!it->count)
        snprintf(it->ids[it->count++], sizeof it->ids[0], "%s", ITEM);
    made_say(it->bundle, KEEPER, KEEPER, GLASSINE_SHARED, "{\"name\":\"Margery Lark\"}");
    made_say(it->bundle, OTHER, OTHER, GLASSINE_SHARED, "{\"name\":\"=Ansel Teal\"}");
    for (size_t i = 0; i < it->count; i++)
        for (unsigned n = 1 + draw(it, 5); n > 0; n--)
            draw_slip(it, it->ids[i], draw(it, 2) ? KEEPER : OTHER);
    return it;
}

UNUSED static void free_bundle(random_bundle *it) {
    made_free(it->bundle);
    free(it);
}

#endif
