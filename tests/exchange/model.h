/* A second reading of records, slow and literal: what spec/readings.md says, over parsed lines, sharing
 * nothing with the library. Slips are numbered as they become known; a set of them is an array of truths. */
#ifndef TESTS_EXCHANGE_MODEL_H
#define TESTS_EXCHANGE_MODEL_H

#include <jansson.h>
#include <openssl/evp.h>

#include "exchange/support.h"

enum { MODEL_SLIPS = 400, MODEL_TEXT = 1 << 17 };

typedef struct model_slip {
    char digest[65];
    json_t *json;
    const char *record, *by, *at, *reach;
    bool authored;
} model_slip;

typedef struct model {
    model_slip slips[MODEL_SLIPS];
    size_t count;
} model;

static void model_digest(const void *bytes, size_t length, char out[65]) {
    unsigned char raw[32];
    unsigned size = sizeof raw;
    assert_int_equal(EVP_Digest(bytes, length, raw, &size, EVP_sha256(), NULL), 1);
    for (size_t i = 0; i < sizeof raw; i++)
        snprintf(out + 2 * i, 3, "%02x", raw[i]);
}

/* The list of spec/records.md, written out once more. */
static bool model_authored(const char *record) {
    static const char *const types[] = {"observation/", "claim/",      "match/",
                                        "opinion/",     "conclusion/", "join/"};
    for (size_t i = 0; i < COUNT(types); i++)
        if (strncmp(record, types[i], strlen(types[i])) == 0)
            return true;
    return false;
}

static const char *model_text(json_t *object, const char *name) {
    return json_string_value(json_object_get(object, name));
}

/* The number of the slip of this line. */
static size_t model_add(model *it, glassine_span line) {
    char digest[65];
    model_digest(line.text, line.length, digest);
    for (size_t i = 0; i < it->count; i++)
        if (strcmp(it->slips[i].digest, digest) == 0)
            return i;
    assert_true(it->count < MODEL_SLIPS);
    model_slip *slip = &it->slips[it->count];
    slip->json = json_loadb(line.text, line.length, 0, NULL);
    assert_non_null(slip->json);
    strcpy(slip->digest, digest);
    slip->record = model_text(slip->json, "record");
    slip->by = model_text(slip->json, "by");
    slip->at = model_text(slip->json, "at");
    slip->reach = model_text(slip->json, "reach");
    slip->authored = model_authored(slip->record);
    return it->count++;
}

static void model_free(model *it) {
    while (it->count)
        json_decref(it->slips[--it->count].json);
}

/* ------------------------------------------------------------------------------------- the definition */

static bool model_says(json_t *array, const char *text) {
    size_t i;
    json_t *item;
    json_array_foreach(array, i, item) if (strcmp(json_string_value(item), text) == 0) return true;
    return false;
}

/* Is there an edge from `one` to `other`: an entry of `after` inside record, reach and (where authored)
 * author? */
static bool model_edge(const model_slip *one, const model_slip *other) {
    return strcmp(one->record, other->record) == 0 && strcmp(one->reach, other->reach) == 0 &&
           (!one->authored || strcmp(one->by, other->by) == 0) &&
           model_says(json_object_get(one->json, "after"), other->digest);
}

/* Marks all that `one` follows, directly or through others. */
static void model_follow(const model *it, const bool *has, size_t one, bool *seen) {
    for (size_t i = 0; i < it->count; i++)
        if (has[i] && !seen[i] && model_edge(&it->slips[one], &it->slips[i])) {
            seen[i] = true;
            model_follow(it, has, i, seen);
        }
}

static bool model_touches(const model_slip *slip, const char *field) {
    return json_object_get(json_object_get(slip->json, "set"), field) != NULL ||
           model_says(json_object_get(slip->json, "clear"), field);
}

/* Is it a slip of this record, and where this is authored, by this author? */
static bool model_on(const model_slip *slip, const char *record, const char *author) {
    return strcmp(slip->record, record) == 0 && (!author || strcmp(slip->by, author) == 0);
}

static int model_compare(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* Sorts lines and writes them behind each other. */
static void model_print_sorted(char **lines, size_t count, char *out) {
    qsort(lines, count, sizeof *lines, model_compare);
    for (size_t i = 0; i < count; i++) {
        strcat(out, lines[i]);
        free(lines[i]);
    }
}

/* "kind shared contested\n  "cover" 2026… DIGEST\n …": one field as text; a cleared value is shown as '-'. */
static char *model_field(const model *it, const bool *has, const char *record, const char *author,
                         const char *field, const char *reach) {
    char *lines[MODEL_SLIPS], values[2][256] = {"", ""};
    size_t count = 0;
    bool contested = false;
    for (size_t i = 0; i < it->count; i++) {
        const model_slip *slip = &it->slips[i];
        if (!has[i] || !model_on(slip, record, author) || strcmp(slip->reach, reach) ||
            !model_touches(slip, field))
            continue;
        bool followed = false;
        for (size_t k = 0; k < it->count && !followed; k++) {
            const model_slip *other = &it->slips[k];
            if (k == i || !has[k] || !model_on(other, record, author) || strcmp(other->reach, reach) ||
                !model_touches(other, field))
                continue;
            bool seen[MODEL_SLIPS] = {false};
            model_follow(it, has, k, seen);
            followed = seen[i];
        }
        if (followed)
            continue;
        json_t *value = json_object_get(json_object_get(slip->json, "set"), field);
        char *text = value ? json_dumps(value, JSON_COMPACT | JSON_SORT_KEYS | JSON_ENCODE_ANY) : NULL;
        snprintf(values[count > 0], sizeof values[0], "%s", text ? text : "-");
        contested = contested || (count > 0 && strcmp(values[0], values[1]) != 0);
        char *line = malloc(512);
        snprintf(line, 512, "  %s %s %s\n", text ? text : "-", slip->at, slip->digest);
        free(text);
        lines[count++] = line;
    }
    char *out = malloc(1024 + 512 * count);
    sprintf(out, "%s %s%s\n", field, reach, contested ? " contested" : "");
    model_print_sorted(lines, count, out);
    return out;
}

/* Every field of a record, and whether an entry of `after` leads out of the set. */
static char *model_record(const model *it, const bool *has, const char *record, const char *author) {
    static const char *const reaches[] = {"shared", "telling", "private"};
    char *fields[256], *names[256];
    size_t count = 0, named = 0;
    bool incomplete = false;
    for (size_t i = 0; i < it->count; i++) {
        if (!has[i] || !model_on(&it->slips[i], record, author))
            continue;
        const char *name;
        json_t *value;
        size_t k;
        json_object_foreach(json_object_get(it->slips[i].json, "set"), name, value) names[named++] =
            (char *)name;
        json_array_foreach(json_object_get(it->slips[i].json, "clear"), k, value) names[named++] =
            (char *)json_string_value(value);
        assert_true(named < COUNT(names) - 8);
        qsort(names, named, sizeof *names, model_compare);
        size_t kept = 0;
        for (size_t n = 0; n < named; n++)
            if (!kept || strcmp(names[kept - 1], names[n]))
                names[kept++] = names[n];
        named = kept;
        json_array_foreach(json_object_get(it->slips[i].json, "after"), k, value) {
            bool there = false;
            for (size_t n = 0; n < it->count; n++)
                there = there || (has[n] && strcmp(it->slips[n].digest, json_string_value(value)) == 0);
            incomplete = incomplete || !there;
        }
    }
    for (size_t n = 0; n < named; n++)
        for (size_t r = 0; r < COUNT(reaches); r++) {
            char *text = model_field(it, has, record, author, names[n], reaches[r]);
            if (strchr(text, '\n')[1])
                fields[count++] = text;
            else
                free(text);
        }
    char *out = malloc(MODEL_TEXT);
    snprintf(out, MODEL_TEXT, "%s%s%s%s\n", record, author ? " of " : "", author ? author : "",
             incomplete ? " incomplete" : "");
    model_print_sorted(fields, count, out);
    return out;
}

/* The whole reading of a set of slips as text: equal readings, equal text. */
static char *model_reading(const model *it, const bool *has) {
    char *records[MODEL_SLIPS];
    size_t count = 0;
    for (size_t i = 0; i < it->count; i++) {
        if (!has[i])
            continue;
        const model_slip *slip = &it->slips[i];
        bool seen = false;
        for (size_t k = 0; k < i && !seen; k++)
            seen = has[k] && model_on(&it->slips[k], slip->record, slip->authored ? slip->by : NULL);
        if (!seen)
            records[count++] = model_record(it, has, slip->record, slip->authored ? slip->by : NULL);
    }
    char *out = calloc(1, count * 4096 + MODEL_TEXT);
    model_print_sorted(records, count, out);
    return out;
}

/* SHA-256 over the sorted digests, as bytes. */
static void model_content_digest(const model *it, const bool *has, char out[65]) {
    char *digests[MODEL_SLIPS];
    unsigned char bytes[MODEL_SLIPS * 32];
    size_t count = 0;
    for (size_t i = 0; i < it->count; i++)
        if (has[i])
            digests[count++] = (char *)it->slips[i].digest;
    qsort(digests, count, sizeof *digests, model_compare);
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < 32; k++) {
            unsigned byte;
            assert_int_equal(sscanf(digests[i] + 2 * k, "%2x", &byte), 1);
            bytes[32 * i + k] = (unsigned char)byte;
        }
    model_digest(bytes, 32 * count, out);
}

/* ------------------------------------------------------------------- what the library says, as such text */

static char *library_field(glassine_bundle *bundle, const glassine_field *field) {
    char *lines[MODEL_SLIPS], *out = malloc(1024 + 512 * field->saying_count);
    for (size_t i = 0; i < field->saying_count; i++) {
        const glassine_saying *said = &field->sayings[i];
        lines[i] = malloc(512);
        snprintf(lines[i], 512, "  %s %s %s\n", said->value.text ? span_text(said->value) : "-",
                 span_text(said->at), glassine_bundle_slip(bundle, said->slip).digest);
    }
    sprintf(out, "%s %s%s\n", span_text(field->name), glassine_reach_name(field->reach),
            field->contested ? " contested" : "");
    model_print_sorted(lines, field->saying_count, out);
    return out;
}

static char *library_record(glassine_bundle *bundle, glassine_record *record) {
    const glassine_field *list;
    size_t count;
    MUST(glassine_record_fields(bundle, record, &list, &count, &error));
    glassine_span author = glassine_record_author(bundle, record);
    char *fields[256], *out = malloc(MODEL_TEXT);
    snprintf(out, MODEL_TEXT, "%s%s%s%s\n", span_text(glassine_record_id(bundle, record)),
             author.text ? " of " : "", span_text(author),
             glassine_record_incomplete(bundle, record) ? " incomplete" : "");
    for (size_t i = 0; i < count; i++)
        fields[i] = library_field(bundle, &list[i]);
    model_print_sorted(fields, count, out);
    return out;
}

static char *library_reading(glassine_bundle *bundle) {
    glassine_cursor *cursor;
    char *records[MODEL_SLIPS];
    size_t count = 0;
    MUST(glassine_cursor_new(bundle, NULL, true, &cursor, &error));
    for (glassine_record *record; (record = glassine_cursor_next(cursor));)
        records[count++] = library_record(bundle, record);
    glassine_cursor_free(cursor);
    char *out = calloc(1, count * 4096 + MODEL_TEXT);
    model_print_sorted(records, count, out);
    return out;
}

#endif
