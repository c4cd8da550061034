/* Manifests (RFC 8493, 2.1.3): one line a file, in the form that sha256sum -c reads. */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/map.h"
#include "container/bag.h"
#include "container/name.h"

typedef struct manifest_line {
    gl_span name;
    gl_digest digest;
    bool listed;
} manifest_line;

struct gl_manifest {
    gl_arena *arena; /* names */
    gl_map *index;   /* name -> line */
    manifest_line *lines;
    size_t count, room, listed;
    bool changed; /* since it was parsed, or last said to be settled */
};

gl_manifest *gl_manifest_new(void) {
    gl_manifest *manifest = calloc(1, sizeof *manifest);
    if (!manifest)
        return NULL;
    manifest->arena = gl_arena_new();
    manifest->index = gl_map_new();
    if (manifest->arena && manifest->index)
        return manifest;
    gl_manifest_free(manifest);
    return NULL;
}

void gl_manifest_free(gl_manifest *manifest) {
    if (!manifest)
        return;
    gl_arena_free(manifest->arena);
    gl_map_free(manifest->index);
    free(manifest->lines);
    free(manifest);
}

static manifest_line *find_line(const gl_manifest *manifest, gl_span name) {
    uint32_t number = gl_map_find(manifest->index, name);
    return number == GL_NONE ? NULL : &manifest->lines[number];
}

static manifest_line *add_line(gl_manifest *manifest, gl_span name) {
    gl_span copy = gl_arena_copy(manifest->arena, name);
    manifest_line *lines = gl_grow(manifest->lines, &manifest->room, manifest->count + 1, sizeof *lines);
    if (lines)
        manifest->lines = lines;
    if (!copy.text || !lines || !gl_map_set(manifest->index, copy, (uint32_t)manifest->count))
        return NULL;
    manifest->lines[manifest->count] = (manifest_line){.name = copy};
    return &manifest->lines[manifest->count++];
}

static bool list_line(gl_manifest *manifest, manifest_line *line, const gl_digest *digest) {
    if (!line)
        return false;
    manifest->changed = manifest->changed || !line->listed || !gl_digest_equal(&line->digest, digest);
    manifest->listed += !line->listed;
    line->listed = true;
    line->digest = *digest;
    return true;
}

bool gl_manifest_set(gl_manifest *manifest, gl_span name, const gl_digest *digest) {
    manifest_line *line = find_line(manifest, name);
    return list_line(manifest, line ? line : add_line(manifest, name), digest);
}

bool gl_manifest_changed(const gl_manifest *manifest) {
    return manifest->changed;
}

void gl_manifest_settle(gl_manifest *manifest) {
    manifest->changed = false;
}

void gl_manifest_remove(gl_manifest *manifest, gl_span name) {
    manifest_line *line = find_line(manifest, name);
    if (!line || !line->listed)
        return;
    line->listed = false;
    manifest->listed--;
    manifest->changed = true;
}

bool gl_manifest_find(const gl_manifest *manifest, gl_span name, gl_digest *digest) {
    const manifest_line *line = find_line(manifest, name);
    if (!line || !line->listed)
        return false;
    if (digest)
        *digest = line->digest;
    return true;
}

size_t gl_manifest_count(const gl_manifest *manifest) {
    return manifest->listed;
}

bool gl_manifest_next(const gl_manifest *manifest, size_t *at, gl_span *name, gl_digest *digest) {
    while (*at < manifest->count) {
        const manifest_line *line = &manifest->lines[(*at)++];
        if (!line->listed)
            continue;
        *name = line->name;
        *digest = line->digest;
        return true;
    }
    return false;
}

static int compare_lines(const void *a, const void *b) {
    const manifest_line *const *left = a, *const *right = b;
    return gl_span_compare((*left)->name, (*right)->name);
}

void gl_manifest_print(const gl_manifest *manifest, gl_buf *out) {
    const manifest_line **sorted = calloc(manifest->listed ? manifest->listed : 1, sizeof *sorted);
    if (!sorted) {
        out->failed = true;
        return;
    }
    size_t count = 0;
    for (size_t i = 0; i < manifest->count; i++)
        if (manifest->lines[i].listed)
            sorted[count++] = &manifest->lines[i];
    qsort(sorted, count, sizeof *sorted, compare_lines);
    for (size_t i = 0; i < count; i++) {
        char hex[GL_HEX_SIZE];
        gl_digest_hex(&sorted[i]->digest, hex);
        gl_buf_add_text(out, hex);
        gl_buf_add_text(out, "  ");
        gl_buf_add(out, sorted[i]->name);
        gl_buf_add_char(out, '\n');
    }
    free(sorted);
}

/* "SHA256  name" without its \n; NULL, or what is wrong. */
static const char *split_line(gl_span text, gl_digest *digest, gl_span *name) {
    const size_t hex = GL_HEX_SIZE - 1;
    gl_name_fault fault;
    if (!gl_digest_parse(gl_span_part(text, 0, hex), digest))
        return "it does not begin with a SHA-256 digest in lower-case hex";
    if (!gl_span_starts(gl_span_part(text, hex, text.length), GL_SPAN("  ")))
        return "no two spaces follow its digest";
    *name = gl_span_part(text, hex + 2, text.length);
    return gl_name_check(*name, &fault) ? NULL : fault.what;
}

static glassine_status bad_line(glassine_error *error, const char *place, size_t number, const char *what) {
    char where[32];
    snprintf(where, sizeof where, "line %zu", number);
    gl_fail(error, GLASSINE_REFUSED, "B021", where, "%s", what);
    gl_error_within(error, place);
    return GLASSINE_REFUSED;
}

glassine_status gl_manifest_parse(gl_manifest *manifest, gl_span text, const char *place,
                                  glassine_error *error) {
    gl_span last = GL_NO_SPAN;
    for (size_t number = 1; text.length > 0; number++) {
        const char *end = memchr(text.text, '\n', text.length);
        if (!end)
            return bad_line(error, place, number, "it is not ended by a line feed");
        gl_span whole = {text.text, (size_t)(end - text.text)}, name;
        gl_digest digest;
        const char *what = split_line(whole, &digest, &name);
        if (!what && last.text && gl_span_compare(last, name) >= 0)
            what = "it does not come after the line before, by the bytes of their names";
        if (what)
            return bad_line(error, place, number, what);
        if (!list_line(manifest, add_line(manifest, name), &digest)) /* sorted, so it is new */
            return gl_fail_memory(error);
        last = name;
        text = gl_span_part(text, whole.length + 1, text.length);
    }
    gl_manifest_settle(manifest);
    return GLASSINE_OK;
}
