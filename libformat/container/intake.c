#include "container/intake.h"

#include <inttypes.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/json.h"
#include "base/map.h"
#include "base/text.h"
#include "container/bag.h"
#include "container/fault.h"
#include "container/foreign.h"
#include "container/layout.h"
#include "container/name.h"

enum { PIECE = 1 << 18, DIGITS = 8 };

/* It is gone through twice: first for its names, which say where the bag lies in it, then for its content. */
typedef struct taking {
    const char *path;
    glassine_limits limits;
    gl_foreign from;
    gl_arena *arena;
    gl_map *names;  /* inner names met, each once */
    gl_span prefix; /* what all names begin with: "glassine-SLUG/", "FOLDER/glassine-SLUG/" or nothing */
    bool found;     /* the prefix is known */
    gl_buf about;   /* content of the about.json that lies least deep */
    size_t about_depth;
    gl_span base;
    uint32_t edition; /* the last one that a segment is for */
    gl_writer *writer;
    char *piece;
    uint64_t log_bytes;
} taking;

bool gl_intake_may_help(const glassine_error *error) {
    return error->status == GLASSINE_REFUSED &&
           (strcmp(error->rule, "C010") == 0 || strcmp(error->rule, "C011") == 0);
}

/* Archives of "." have "./" before each name. */
static gl_span plain_name(gl_span name) {
    while (gl_span_starts(name, GL_SPAN("./")))
        name = gl_span_part(name, 2, name.length);
    return name;
}

static bool ends_with(gl_span name, gl_span end) {
    return name.length >= end.length &&
           gl_span_equal(gl_span_part(name, name.length - end.length, name.length), end);
}

/* The name is `file`, alone or below folders. */
static bool is_below(gl_span name, gl_span file) {
    return ends_with(name, file) &&
           (name.length == file.length || name.text[name.length - file.length - 1] == '/');
}

/* --------------------------------------------------------------------------------------------- content */

static glassine_status read_whole(taking *it, gl_span name, uint64_t limit, const char *rule, gl_buf *out,
                                  glassine_error *error) {
    for (;;) {
        size_t got;
        glassine_status status = gl_foreign_read(&it->from, it->piece, PIECE, &got, error);
        if (status || !got)
            return status;
        if (out->length + got > limit)
            return gl_fault_in(error, rule, it->path, name, "it is longer than %" PRIu64 " bytes", limit);
        gl_buf_add_bytes(out, it->piece, got);
        if (out->failed)
            return gl_fail_memory(error);
    }
}

static glassine_status spool(taking *it, int fd, uint64_t *size, glassine_error *error) {
    *size = 0;
    for (;;) {
        size_t got;
        glassine_status status = gl_foreign_read(&it->from, it->piece, PIECE, &got, error);
        if (status || !got)
            return status;
        int code = gl_file_write_at(fd, it->piece, got, *size);
        if (code)
            return gl_fail_system(error, code, it->path, "cannot be unpacked to a temporary file");
        *size += got;
    }
}

/* A scan may be large, so it goes by way of a file; its name must be its digest. */
static glassine_status write_scan(taking *it, gl_span name, gl_span inner, const gl_digest *named,
                                  glassine_error *error) {
    int fd;
    uint64_t size;
    gl_digest digest;
    int code = gl_file_open_nameless(&fd);
    if (code)
        return gl_fail_system(error, code, it->path, "cannot be unpacked to a temporary file");
    const char *extension = inner.text + inner.length;
    while (extension[-1] != '.')
        extension--;
    char kept[16] = "";
    memcpy(kept, extension, (size_t)(inner.text + inner.length - extension));
    glassine_status status = spool(it, fd, &size, error);
    if (!status)
        status = gl_writer_add_scan(it->writer, fd, it->path, size, kept, NULL, &digest, error);
    gl_file_close(fd);
    if (!status && !gl_digest_equal(&digest, named))
        status =
            gl_fault_in(error, "B024", it->path, name, "its content has not the digest that is its name");
    return status;
}

static glassine_status write_small(taking *it, gl_span name, gl_span inner, glassine_error *error) {
    bool segment = gl_span_starts(inner, GL_SPAN("slips/"));
    gl_buf content = GL_BUF_EMPTY;
    glassine_status status =
        read_whole(it, name, segment ? it->limits.segment_bytes : it->limits.small_file_bytes,
                   segment ? "L004" : "L003", &content, error);
    it->log_bytes += segment ? content.length : 0;
    if (!status && it->log_bytes > it->limits.log_bytes)
        status = gl_fault_in(error, "L005", it->path, name, "the log is longer than %" PRIu64 " bytes",
                             it->limits.log_bytes);
    if (!status)
        status = gl_writer_add(it->writer, inner, gl_buf_span(&content), false, NULL, error);
    gl_buf_free(&content);
    return status;
}

/* --------------------------------------------------------------------------------------- the first pass */

static size_t depth_of(gl_span name) {
    size_t depth = 0;
    for (size_t i = 0; i < name.length; i++)
        depth += name.text[i] == '/';
    return depth;
}

/* The bag's declaration says where the bag lies: the one that lies least deep. */
static glassine_status note_declaration(taking *it, gl_span name, glassine_error *error) {
    size_t depth = depth_of(name), known = depth_of(it->prefix);
    if (it->found && depth >= known)
        return GLASSINE_OK; /* whether it lies below the other is seen when all names are compared */
    it->prefix = gl_arena_copy(it->arena, gl_span_part(name, 0, name.length - strlen(GL_BAG_DECLARATION)));
    it->found = true;
    return it->prefix.text ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status note_about(taking *it, gl_span name, glassine_error *error) {
    if (it->about.length && depth_of(name) >= it->about_depth)
        return GLASSINE_OK;
    gl_buf_clear(&it->about);
    it->about_depth = depth_of(name);
    return read_whole(it, name, it->limits.small_file_bytes, "L003", &it->about, error);
}

/* "slips/FFFFFFFF-LLLLLLLL.jsonl": its LLLLLLLL; 0 where it is no such name. */
static uint32_t last_edition(gl_span name) {
    static const gl_span form = {"slips/00000000-00000000.jsonl", 29};
    if (name.length < form.length)
        return 0;
    name = gl_span_part(name, name.length - form.length, name.length);
    for (size_t i = 0; i < form.length; i++)
        if (form.text[i] == '0' ? name.text[i] < '0' || name.text[i] > '9' : name.text[i] != form.text[i])
            return 0;
    uint32_t last = 0;
    for (size_t i = form.length - 6 - DIGITS; i < form.length - 6; i++)
        last = last * 10 + (uint32_t)(name.text[i] - '0');
    return last;
}

static glassine_status note_name(taking *it, gl_span name, glassine_error *error) {
    uint32_t last = last_edition(name);
    if (last > it->edition)
        it->edition = last;
    if (is_below(name, GL_SPAN(GL_BAG_DECLARATION)))
        return note_declaration(it, name, error);
    return is_below(name, GL_SPAN(GL_BAG_ABOUT)) ? note_about(it, name, error) : GLASSINE_OK;
}

/* The folder that holds the bag, where its name is one for it; else what about.json says. */
static glassine_status find_base(taking *it, glassine_error *error) {
    gl_span folder = it->prefix;
    if (folder.length)
        folder.length--;
    for (size_t i = folder.length; i-- > 0;)
        if (folder.text[i] == '/') {
            folder = gl_span_part(folder, i + 1, folder.length);
            break;
        }
    gl_span about = gl_text_trim(gl_buf_span(&it->about));
    if (!gl_name_is_base(folder) && gl_json_check(about, 1, NULL))
        folder = gl_json_raw(gl_json_member(about, "base"));
    if (!folder.text || !gl_name_is_base(folder))
        return gl_fail(error, GLASSINE_REFUSED, "C061", it->path,
                       "it does not say what its base folder is called");
    it->base = gl_arena_copy(it->arena, folder);
    return it->base.text ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status no_bundle(const taking *it, glassine_error *error) {
    gl_fail(error, GLASSINE_REFUSED, "C010", it->path,
            "it holds no bundle: there is no %s, or no slips, in it",
            it->found ? "segment of the log" : GL_BAG_DECLARATION);
    gl_error_remedy(error, "Name the folder that a bundle was unpacked to, or an archive of it");
    return GLASSINE_REFUSED;
}

/* ----------------------------------------------------------------------------------------- both passes */

typedef glassine_status (*visit)(taking *it, gl_span name, glassine_error *error);

static glassine_status go_through(taking *it, visit each, glassine_error *error) {
    glassine_status status = gl_foreign_open(it->path, &it->limits, &it->from, error);
    for (;;) {
        gl_span name = GL_NO_SPAN;
        bool end = false;
        if (!status)
            status = gl_foreign_next(&it->from, &name, &end, error);
        if (status || end)
            break;
        status = each(it, plain_name(name), error);
    }
    gl_foreign_close(&it->from);
    return status;
}

static glassine_status write_entry(taking *it, gl_span name, glassine_error *error) {
    gl_span inner = gl_span_part(name, it->prefix.length, name.length);
    gl_digest digest;
    if (!gl_span_starts(name, it->prefix))
        return gl_fault_in(error, "C061", it->path, name, "it does not lie in the folder of the bag, %.*s",
                           GL_SPAN_ARGS(it->prefix));
    if (gl_map_find(it->names, inner) != GL_NONE)
        return gl_fault_in(error, "C064", it->path, name, "there are two entries of this name");
    gl_span kept = gl_arena_copy(it->arena, inner);
    if (!kept.text || !gl_map_set(it->names, kept, 1))
        return gl_fail_memory(error);
    return gl_name_is_scan(kept, &digest) ? write_scan(it, name, kept, &digest, error)
                                          : write_small(it, name, kept, error);
}

static glassine_status take(taking *it, int fd, glassine_error *error) {
    uint64_t end;
    glassine_status status = go_through(it, note_name, error);
    if (!status && (!it->found || !it->edition))
        status = no_bundle(it, error);
    if (!status)
        status = find_base(it, error);
    if (!status)
        status = gl_writer_new(fd, it->path, NULL, it->base, it->edition, 0, &it->writer, error);
    if (!status)
        status = go_through(it, write_entry, error);
    if (!status)
        status = gl_writer_finish(it->writer, &end, error);
    gl_writer_free(it->writer);
    return status;
}

static uint64_t limit_of(uint64_t given, uint64_t usual) {
    return given ? given : usual;
}

glassine_status gl_intake(const char *path, const glassine_limits *limits, int fd, glassine_error *error) {
    glassine_limits usual = glassine_limits_default();
    const glassine_limits *given = limits ? limits : &usual;
    taking it = {.path = path,
                 .limits = {.entries = limit_of(given->entries, usual.entries),
                            .small_file_bytes = limit_of(given->small_file_bytes, usual.small_file_bytes),
                            .segment_bytes = limit_of(given->segment_bytes, usual.segment_bytes),
                            .log_bytes = limit_of(given->log_bytes, usual.log_bytes),
                            .ratio = limit_of(given->ratio, usual.ratio)},
                 .arena = gl_arena_new(),
                 .names = gl_map_new(),
                 .piece = malloc(PIECE)};
    glassine_status status = it.arena && it.names && it.piece ? take(&it, fd, error) : gl_fail_memory(error);
    gl_buf_free(&it.about);
    gl_arena_free(it.arena);
    gl_map_free(it.names);
    free(it.piece);
    return status;
}
