/* The bytes of many files into a draft at once: looked at, told apart, copied. Most files have a length that
 * no other one has, and are new for that alone; only those of one length are read to tell whether they are
 * the same. */
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/work.h"
#include "exchange/gather.h"

enum { INNER_SIZE = 128 };

typedef struct gathering {
    glassine_draft *draft;
    gl_gathered *files; /* of this call */
    size_t count;
    glassine_error *errors;
    glassine_status *failed;
    size_t *suspects; /* files that may be the same as another or as what is in the bundle */
    size_t suspect_count;
} gathering;

/* ---------------------------------------------------------------------------------------------- looking */

static glassine_status look_at(gl_gathered *file, glassine_error *error) {
    int fd, code = gl_file_open_read(file->path, &fd);
    if (code)
        return gl_fail_system(error, code, file->path, "cannot be opened");
    code = gl_file_size(fd, &file->size);
    glassine_status status =
        code ? gl_fail_system(error, code, file->path, "cannot be looked at") : GLASSINE_OK;
    if (!status && !file->size)
        status = gl_fail(error, GLASSINE_REFUSED, NULL, file->path, "the file is empty");
    if (!status)
        status = gl_image_look(fd, file->path, &file->image, error);
    gl_file_close(fd);
    return status;
}

static void look_at_one(void *context, size_t index) {
    gathering *it = context;
    it->failed[index] = look_at(&it->files[index], &it->errors[index]);
}

static void hash_one(void *context, size_t index) {
    gathering *it = context;
    size_t number = it->suspects[index];
    char hex[GL_HEX_SIZE];
    it->failed[number] = glassine_file_digest(it->files[number].path, hex, &it->errors[number]);
    if (!it->failed[number])
        gl_digest_parse(gl_span_of(hex), &it->files[number].digest);
}

/* The failure of the first file, as if they had been gone through in order. */
static glassine_status first_failure(const gathering *it, glassine_error *error) {
    for (size_t i = 0; i < it->count; i++) {
        if (!it->failed[i])
            continue;
        if (error)
            *error = it->errors[i];
        return it->failed[i];
    }
    return GLASSINE_OK;
}

/* ---------------------------------------------------------------------------------------- telling apart */

static void inner_name(const gl_gathered *file, char out[INNER_SIZE]) {
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&file->digest, hex);
    snprintf(out, INNER_SIZE, "data/scans/%s.%s", hex, file->image.extension);
}

typedef struct sized {
    uint64_t size;
    size_t number; /* of the file */
    bool shared;   /* something else has this length */
} sized;

static int by_size(const void *a, const void *b) {
    const sized *x = a, *y = b;
    return (x->size > y->size) - (x->size < y->size);
}

/* Something in the bundle, or taken in before, has this length. */
static void share(sized *sizes, size_t count, uint64_t size) {
    const sized wanted = {.size = size};
    sized *found = bsearch(&wanted, sizes, count, sizeof wanted, by_size);
    if (found)
        found->shared = true;
}

static void share_all(const gathering *it, sized *sizes) {
    const gl_zip *zip = it->draft->bundle->zip;
    for (size_t i = 0; zip && i < gl_zip_count(zip); i++)
        if (gl_span_starts(gl_zip_inner(zip, gl_zip_at(zip, i)), GL_SPAN("data/scans/")))
            share(sizes, it->count, gl_zip_at(zip, i)->size);
    for (const gl_gathered *before = it->draft->gathered; before < it->files; before++)
        share(sizes, it->count, before->size);
}

/* Files of one length lie together: if one is a suspect, all are. */
static bool find_suspects(gathering *it) {
    sized *sizes = calloc(it->count + 1, sizeof *sizes);
    it->suspects = calloc(it->count + 1, sizeof *it->suspects);
    if (!sizes || !it->suspects) {
        free(sizes);
        return false;
    }
    for (size_t i = 0; i < it->count; i++)
        sizes[i] = (sized){it->files[i].size, i, false};
    if (it->count)
        qsort(sizes, it->count, sizeof *sizes, by_size);
    share_all(it, sizes);
    for (size_t i = 0, next; i < it->count; i = next) {
        bool shared = sizes[i].shared;
        for (next = i + 1; next < it->count && sizes[next].size == sizes[i].size; next++)
            shared = true;
        for (size_t j = i; shared && j < next; j++)
            it->suspects[it->suspect_count++] = sizes[j].number;
    }
    free(sizes);
    return true;
}

static int by_number(const void *a, const void *b) {
    const size_t *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

static bool is_there(glassine_draft *draft, const gl_gathered *file, const char *hex) {
    char inner[INNER_SIZE];
    gl_digest present;
    inner_name(file, inner);
    return glassine_scan_has(draft->bundle, hex, NULL) ||
           gl_manifest_find(draft->bundle->payload, gl_span_of(inner), &present);
}

static glassine_status mark_known(gathering *it, glassine_error *error) {
    gl_map *seen = gl_map_new();
    char(*names)[GL_HEX_SIZE] = calloc(it->suspect_count + 1, sizeof *names);
    glassine_status status = seen && names ? GLASSINE_OK : gl_fail_memory(error);
    if (it->suspect_count)
        qsort(it->suspects, it->suspect_count, sizeof *it->suspects, by_number);
    for (size_t i = 0; i < it->suspect_count && !status; i++) {
        gl_gathered *file = &it->files[it->suspects[i]];
        gl_digest_hex(&file->digest, names[i]);
        file->known =
            gl_map_find(seen, gl_span_of(names[i])) != GL_NONE || is_there(it->draft, file, names[i]);
        if (!gl_map_set(seen, gl_span_of(names[i]), 1))
            status = gl_fail_memory(error);
    }
    gl_map_free(seen);
    free(names);
    return status;
}

/* ------------------------------------------------------------------------------------------- taking in */

static glassine_status note_brought(gathering *it, const gl_scan_in *scans, const size_t *numbers,
                                    size_t count, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < count && !status; i++) {
        gl_gathered *file = &it->files[numbers[i]];
        file->digest = scans[i].digest;
        char inner[INNER_SIZE];
        gl_digest present;
        inner_name(file, inner);
        if (!gl_manifest_find(it->draft->bundle->payload, gl_span_of(inner), &present))
            status = gl_draft_brought(it->draft, gl_span_of(inner), &file->digest, file->size, error);
    }
    return status;
}

static glassine_status take_in(gathering *it, glassine_error *error) {
    gl_scan_in *scans = calloc(it->count + 1, sizeof *scans);
    size_t *numbers = calloc(it->count + 1, sizeof *numbers), count = 0;
    gl_watch watch = {.by = it->draft->bundle->watch, .doing = "taking scans in"};
    for (size_t i = 0; scans && numbers && i < it->count; i++) {
        const gl_gathered *file = &it->files[i];
        if (file->known)
            continue;
        numbers[count] = i;
        scans[count++] =
            (gl_scan_in){.path = file->path, .extension = file->image.extension, .size = file->size};
        watch.total += file->size;
    }
    glassine_status status = scans && numbers ? GLASSINE_OK : gl_fail_memory(error);
    if (!status && count)
        status = gl_draft_writer(it->draft, error);
    if (!status && count)
        status = gl_writer_add_scans(it->draft->writer, scans, count, &watch, error);
    if (!status)
        status = note_brought(it, scans, numbers, count, error);
    free(scans);
    free(numbers);
    return status;
}

/* ------------------------------------------------------------------------------------------ the whole */

/* Room for these files among those that the draft knows. */
static glassine_status note_files(glassine_draft *draft, const char *const *paths, size_t count,
                                  glassine_error *error) {
    void *grown = gl_grow(draft->gathered, &draft->gathered_room, draft->gathered_count + count + 1,
                          sizeof *draft->gathered);
    if (!grown)
        return gl_fail_memory(error);
    draft->gathered = grown;
    if (!draft->gathered_paths && !(draft->gathered_paths = gl_map_new()))
        return gl_fail_memory(error);
    for (size_t i = 0; i < count; i++) {
        gl_span path = gl_arena_copy(draft->bundle->arena, gl_span_of(paths[i]));
        if (!path.text || !gl_map_set(draft->gathered_paths, path, (uint32_t)(draft->gathered_count + i)))
            return gl_fail_memory(error);
        draft->gathered[draft->gathered_count + i] = (gl_gathered){.path = path.text};
    }
    return GLASSINE_OK;
}

static glassine_status gather(gathering *it, glassine_error *error) {
    gl_work(it->count, look_at_one, it);
    glassine_status status = first_failure(it, error);
    if (!status && !find_suspects(it))
        status = gl_fail_memory(error);
    if (!status) {
        gl_work(it->suspect_count, hash_one, it);
        status = first_failure(it, error);
    }
    if (!status)
        status = mark_known(it, error);
    return status ? status : take_in(it, error);
}

glassine_status glassine_draft_gather(glassine_draft *draft, const char *const *paths, size_t count,
                                      bool *known, glassine_error *error) {
    glassine_status status = note_files(draft, paths, count, error);
    if (status)
        return status;
    gathering it = {.draft = draft,
                    .files = draft->gathered + draft->gathered_count,
                    .count = count,
                    .errors = calloc(count + 1, sizeof *it.errors),
                    .failed = calloc(count + 1, sizeof *it.failed)};
    status = it.errors && it.failed ? gather(&it, error) : gl_fail_memory(error);
    for (size_t i = 0; i < count; i++)
        known[i] = it.files[i].known;
    if (!status)
        draft->gathered_count += count;
    free(it.errors);
    free(it.failed);
    free(it.suspects);
    return status;
}

const gl_gathered *gl_draft_gathered(const glassine_draft *draft, const char *path) {
    uint32_t number = draft->gathered_paths ? gl_map_find(draft->gathered_paths, gl_span_of(path)) : GL_NONE;
    if (number >= draft->gathered_count)
        return NULL;
    const gl_gathered *file = &draft->gathered[number]; /* another one where a gathering failed in between */
    return strcmp(file->path, path) == 0 ? file : NULL;
}
