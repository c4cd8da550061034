/* What the tests of the container share: a folder of their own, random content, and a model of what a file
 * must hold after each edition. */
#ifndef TESTS_CONTAINER_SUPPORT_H
#define TESTS_CONTAINER_SUPPORT_H

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "base/error.h"
#include "base/file.h"
#include "container/writer.h"
#include "folder.h"

#define UNUSED __attribute__((unused))
#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static const gl_span BASE = {"glassine-test", 13};
enum { AT = 1764061200 }; /* 2025-11-25T09:00:00Z */

/* ------------------------------------------------------------------------------------------- folder */

/* The path of a file in the folder; the same pointer for the same name. */
UNUSED static const char *path_in(const char *name) {
    static char paths[32][256];
    char path[256];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    for (size_t i = 0; i < COUNT(paths); i++) {
        if (!paths[i][0])
            memcpy(paths[i], path, sizeof path);
        if (strcmp(paths[i], path) == 0)
            return paths[i];
    }
    fail_msg("more files than there is room for");
    return NULL;
}

/* ------------------------------------------------------------------------------------------- checks */

/* Fails the test with the error's line where `status` is not OK. */
UNUSED static void must(glassine_status status, const glassine_error *error) {
    if (status == GLASSINE_OK)
        return;
    char line[2048];
    glassine_error_line(error, line, sizeof line);
    fail_msg("%s", line);
}

UNUSED static void refused_by(glassine_status status, const glassine_error *error, const char *rule) {
    assert_int_equal(status, GLASSINE_REFUSED);
    assert_string_equal(error->rule, rule);
}

/* ------------------------------------------------------------------------------------------- files */

UNUSED static gl_buf file_bytes(const char *path) {
    gl_buf bytes = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(path, SIZE_MAX / 2, &bytes), 0);
    return bytes;
}

UNUSED static void write_file(const char *path, const void *bytes, size_t length) {
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    assert_int_equal(fclose(file), 0);
}

UNUSED static int open_for_reading(const char *path) {
    int fd = -1;
    assert_int_equal(gl_file_open_read(path, &fd), 0);
    return fd;
}

UNUSED static int open_for_writing(const char *path, bool create) {
    int fd = -1;
    assert_int_equal(gl_file_open_write(path, create, &fd), 0);
    return fd;
}

/* ------------------------------------------------------------------------------------------- random */

/* xorshift64* (S. Vigna, "An experimental exploration of Marsaglia's xorshift generators", 2016). */
typedef struct random_source {
    uint64_t state; /* not 0 */
} random_source;

static uint64_t draw(random_source *luck) {
    luck->state ^= luck->state >> 12;
    luck->state ^= luck->state << 25;
    luck->state ^= luck->state >> 27;
    return luck->state * UINT64_C(2685821657736338717);
}

UNUSED static size_t draw_below(random_source *luck, size_t below) {
    return (size_t)(draw(luck) >> 33) % below;
}

/* Up to `most` bytes: noise, or text that deflates well. */
UNUSED static void draw_content(random_source *luck, size_t most, gl_buf *out) {
    size_t length = draw_below(luck, most + 1);
    bool noise = draw_below(luck, 2) == 0;
    gl_buf_clear(out);
    gl_buf_reserve(out, 1);
    for (size_t i = 0; i < length; i++)
        gl_buf_add_char(out, noise ? (char)draw(luck) : (char)('a' + (i / 7) % 5));
}

/* ------------------------------------------------------------------------------------------- model */

enum { MODEL_MOST = 64 };

typedef struct model_entry {
    char inner[128];
    char *content;
    size_t length;
} model_entry;

typedef struct file_model {
    model_entry entries[MODEL_MOST];
    size_t count;
} file_model;

UNUSED static model_entry *model_find(file_model *model, const char *inner) {
    for (size_t i = 0; i < model->count; i++)
        if (strcmp(model->entries[i].inner, inner) == 0)
            return &model->entries[i];
    return NULL;
}

UNUSED static void model_drop(file_model *model, const char *inner) {
    model_entry *entry = model_find(model, inner);
    if (!entry)
        return;
    free(entry->content);
    *entry = model->entries[--model->count];
}

UNUSED static void model_put(file_model *model, const char *inner, gl_span content) {
    model_drop(model, inner);
    assert_true(model->count < MODEL_MOST);
    model_entry *entry = &model->entries[model->count++];
    snprintf(entry->inner, sizeof entry->inner, "%s", inner);
    entry->content = malloc(content.length + 1);
    assert_non_null(entry->content);
    memcpy(entry->content, content.text, content.length);
    entry->length = content.length;
}

UNUSED static void model_copy(const file_model *from, file_model *to) {
    *to = (file_model){.count = 0};
    for (size_t i = 0; i < from->count; i++)
        model_put(to, from->entries[i].inner, (gl_span){from->entries[i].content, from->entries[i].length});
}

UNUSED static void model_free(file_model *model) {
    while (model->count)
        model_drop(model, model->entries[0].inner);
}

/* The file holds exactly what the model says, by name and content. */
UNUSED static void model_agrees(file_model *model, const gl_zip *zip) {
    assert_int_equal(gl_zip_count(zip), model->count);
    gl_buf content = GL_BUF_EMPTY;
    for (size_t i = 0; i < model->count; i++) {
        glassine_error error;
        const model_entry *right = &model->entries[i];
        const gl_entry *entry = gl_zip_find(zip, gl_span_of(right->inner));
        assert_non_null(entry);
        gl_buf_clear(&content);
        must(gl_zip_read(zip, entry, SIZE_MAX, &content, &error), &error);
        assert_int_equal(content.length, right->length);
        assert_true(gl_span_equal(gl_buf_span(&content), (gl_span){right->content, right->length}));
    }
    gl_buf_free(&content);
}

/* ------------------------------------------------------------------------------------------- editions */

/* A scan from bytes in memory; its inner name goes to `inner`. */
UNUSED static glassine_status add_scan(gl_writer *writer, gl_span content, const char *extension,
                                       char inner[128], glassine_error *error) {
    const char *path = path_in("scan");
    write_file(path, content.text, content.length);
    int fd = open_for_reading(path);
    gl_digest digest;
    glassine_status status =
        gl_writer_add_scan(writer, fd, path, content.length, extension, NULL, &digest, error);
    gl_file_close(fd);
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&digest, hex);
    snprintf(inner, 128, "data/scans/%s.%s", hex, extension);
    return status;
}

/* Opens path for writing with its last edition; *zip is NULL for a new file. */
typedef struct open_edition {
    int fd;
    gl_zip *zip;
    gl_writer *writer;
} open_edition;

UNUSED static open_edition begin_edition(const char *path, uint32_t number) {
    open_edition edition = {.fd = open_for_writing(path, number == 1)};
    glassine_error error;
    if (number > 1)
        must(gl_zip_open(edition.fd, path, NULL, &edition.zip, &error), &error);
    must(gl_writer_new(edition.fd, path, edition.zip, BASE, number, AT + 60 * (int64_t)number,
                       &edition.writer, &error),
         &error);
    return edition;
}

UNUSED static void close_edition(open_edition *edition) {
    gl_writer_free(edition->writer);
    gl_zip_close(edition->zip);
    gl_file_close(edition->fd);
}

UNUSED static uint64_t finish_edition(open_edition *edition) {
    glassine_error error;
    uint64_t end = 0;
    must(gl_writer_finish(edition->writer, &end, &error), &error);
    close_edition(edition);
    return end;
}

UNUSED static gl_zip *open_zip(const char *path) {
    glassine_error error;
    gl_zip *zip = NULL;
    must(gl_zip_open(open_for_reading(path), path, NULL, &zip, &error), &error);
    return zip;
}

UNUSED static void close_zip(gl_zip *zip) {
    int fd = gl_zip_fd(zip);
    gl_zip_close(zip);
    gl_file_close(fd);
}

#endif
