/* Opening and closing a bundle; what it says of itself. */
#include <errno.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "bundle/joins.h"
#include "container/footer.h"
#include "container/intake.h"

enum { DEFAULT_WAIT_MS = 10000, DIRECTORY_READ_AGAIN = 3 };

/* "FILE#N" -> FILE and N, where no file of the whole name exists; what begins with its only '#' is a name. */
static glassine_status split_edition(glassine_bundle *bundle, uint32_t *edition, glassine_error *error) {
    *edition = 0;
    char *hash = strrchr(bundle->path, '#');
    size_t length = strlen(bundle->path);
    if (hash && hash > bundle->path && access(bundle->path, F_OK) != 0) {
        int64_t number;
        if (!gl_text_integer(gl_span_of(hash + 1), &number) || number < 1 || number > UINT32_MAX - 1)
            return gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path,
                           "\"%s\" is no edition: a number from 1 is wanted after '#'", hash + 1);
        *edition = (uint32_t)number;
        length = (size_t)(hash - bundle->path);
    }
    bundle->file = strndup(bundle->path, length);
    return bundle->file ? GLASSINE_OK : gl_fail_memory(error);
}

/* Opens for writing under the lock. A tidy may have renamed another file into place while we waited: once the
 * lock is held, the open file and the name must agree, else again. */
static glassine_status open_locked(glassine_bundle *bundle, unsigned wait_ms, glassine_error *error) {
    for (;;) {
        int code = gl_file_open_write(bundle->file, false, &bundle->fd);
        if (code)
            return gl_fail_system(error, code, bundle->file, "cannot be opened for writing");
        code = gl_file_lock(bundle->fd, wait_ms);
        if (code == EWOULDBLOCK) {
            gl_buf holder = GL_BUF_EMPTY;
            bool known = gl_file_lock_holder(bundle->fd, &holder) && !holder.failed;
            gl_fail(error, GLASSINE_SYSTEM, NULL, bundle->file, "%s is writing to it",
                    known ? holder.text : "another program");
            gl_error_remedy(error, "Wait until it is done, then try again");
            gl_buf_free(&holder);
            return GLASSINE_SYSTEM;
        }
        if (code)
            return gl_fail_system(error, code, bundle->file, "cannot be locked");
        bool same = false;
        code = gl_file_is_same(bundle->fd, bundle->file, &same);
        if (code)
            return gl_fail_system(error, code, bundle->file, "cannot be looked at");
        if (same)
            return GLASSINE_OK;
        gl_file_close(bundle->fd);
        bundle->fd = -1;
    }
}

/* A folder, or an archive that another program made of one, as a file that has no name. */
static glassine_status take_in_foreign(glassine_bundle *bundle, glassine_error *error) {
    int fd;
    int code = gl_file_open_nameless(&fd);
    if (code)
        return gl_fail_system(error, code, bundle->file, "cannot be unpacked to a temporary file");
    glassine_status status = gl_intake(bundle->file, &bundle->limits, fd, error);
    if (!status)
        status = gl_zip_open(fd, bundle->file, &bundle->limits, &bundle->zip, error);
    if (status) {
        gl_file_close(fd);
        return status;
    }
    if (bundle->fd >= 0)
        gl_file_close(bundle->fd);
    bundle->fd = fd;
    return GLASSINE_OK;
}

/* Who writes beside us first cuts off what a killed save left at the end, which may be just where the directory is
 * looked for: then the file is another than it was, and is read again. */
static glassine_status read_directory(glassine_bundle *bundle, uint64_t size, glassine_error *error) {
    for (unsigned more = DIRECTORY_READ_AGAIN;; more--) {
        uint64_t before = size;
        glassine_status status = gl_zip_open(bundle->fd, bundle->file, &bundle->limits, &bundle->zip, error);
        if (!status || !more || gl_file_size(bundle->fd, &size) != 0 || size == before)
            return status;
    }
}

/* A file that is no bundle may hold one that another program packed. Where it does not, what was wrong with it as a
 * bundle is told. */
static glassine_status open_reading(glassine_bundle *bundle, glassine_error *error) {
    glassine_error own = {0}, foreign = {0};
    int code = gl_file_open_read(bundle->file, &bundle->fd);
    if (code)
        return gl_fail_system(error, code, bundle->file, "cannot be opened");
    uint64_t size = 0;
    if (gl_file_size(bundle->fd, &size) == EISDIR)
        return take_in_foreign(bundle, error);
    glassine_status status = read_directory(bundle, size, &own);
    if (status && gl_intake_may_help(&own)) {
        status = take_in_foreign(bundle, &foreign);
        if (status && strcmp(foreign.rule, "C010") != 0)
            own = foreign;
    }
    if (status && error)
        *error = own;
    return status;
}

static glassine_status open_file(glassine_bundle *bundle, unsigned wait_ms, glassine_error *error) {
    if (!bundle->writing)
        return open_reading(bundle, error);
    glassine_status status = open_locked(bundle, wait_ms, error);
    return status ? status : gl_zip_open(bundle->fd, bundle->file, &bundle->limits, &bundle->zip, error);
}

glassine_bundle *gl_bundle_blank(const char *path, glassine_mode mode, const glassine_options *options) {
    glassine_bundle *bundle = calloc(1, sizeof *bundle);
    if (!bundle)
        return NULL;
    bundle->fd = -1;
    bundle->writing = mode == GLASSINE_WRITE;
    bundle->limits = gl_limits_filled(options ? options->limits : NULL);
    bundle->watch = options ? options->watch : NULL;
    bundle->path = strdup(path);
    bundle->arena = gl_arena_new();
    bundle->store = gl_store_new();
    bundle->log = bundle->store ? gl_log_new(bundle->store) : NULL;
    bundle->trust = bundle->log ? gl_trust_new(bundle->store, bundle->log) : NULL;
    bundle->payload = gl_manifest_new();
    bundle->tags = gl_manifest_new();
    bundle->names = gl_names_new();
    if (!bundle->path || !bundle->arena || !bundle->trust || !bundle->payload || !bundle->tags ||
        !bundle->names) {
        glassine_bundle_close(bundle);
        return NULL;
    }
    gl_bundle_judge(bundle);
    return bundle;
}

/* `beside` NULL: nothing is known of it. */
static glassine_status open_bundle(const char *path, glassine_mode mode, const glassine_options *options,
                                   const glassine_bundle *beside, bool records, glassine_bundle **out,
                                   glassine_error *error) {
    *out = NULL;
    glassine_bundle *bundle = gl_bundle_blank(path, mode, options);
    if (!bundle)
        return gl_fail_memory(error);
    uint32_t edition;
    unsigned wait_ms = options && options->wait_ms ? options->wait_ms : DEFAULT_WAIT_MS;
    glassine_status status = split_edition(bundle, &edition, error);
    bundle->beside = edition ? NULL : beside; /* of which every edition may be known */
    bundle->without_records = !records;
    if (!status && edition && bundle->writing)
        status = gl_fail(error, GLASSINE_REFUSED, NULL, path, "an old edition can be read and not changed");
    if (!status)
        status = open_file(bundle, wait_ms, error);
    if (!status)
        status = gl_bundle_load(bundle, edition, error);
    bundle->beside = NULL;
    if (status) {
        glassine_bundle_close(bundle);
        return status;
    }
    *out = bundle;
    return GLASSINE_OK;
}

glassine_status glassine_bundle_open(const char *path, glassine_mode mode, const glassine_options *options,
                                     glassine_bundle **out, glassine_error *error) {
    return open_bundle(path, mode, options, NULL, true, out, error);
}

/* What is wrong is told as it is when the bundle is read by itself, with the numbers of its own lines. */
glassine_status gl_bundle_open_beside(const char *path, const glassine_bundle *beside,
                                      const glassine_options *options, bool records, glassine_bundle **out,
                                      glassine_error *error) {
    glassine_status status = open_bundle(path, GLASSINE_READ, options, beside, records, out, error);
    return status == GLASSINE_REFUSED && beside
               ? open_bundle(path, GLASSINE_READ, options, NULL, records, out, error)
               : status;
}

glassine_status glassine_bundle_open_beside(const char *path, const glassine_bundle *beside,
                                            const glassine_options *options, glassine_bundle **out,
                                            glassine_error *error) {
    return gl_bundle_open_beside(path, beside, options, true, out, error);
}

bool gl_bundle_take_set(glassine_bundle *bundle, gl_store *store, gl_log *log) {
    gl_trust_free(bundle->trust);
    if (!bundle->shares_log)
        gl_log_free(bundle->log);
    gl_store_free(bundle->store);
    bundle->log = log;
    bundle->store = store;
    bundle->trust = gl_trust_new(store, log);
    if (!bundle->trust)
        return false;
    gl_trust_keeper(bundle->trust, gl_span_of(bundle->about.keeper));
    gl_bundle_judge(bundle);
    return true;
}

/* What a blank handle has of its own gives way. */
static bool share(const glassine_bundle *of, glassine_bundle *bundle) {
    const gl_edition *last = gl_log_edition(of->log, gl_log_editions(of->log));
    gl_store *store = gl_store_before(of->store, last ? last->slips : 0);
    if (!store)
        return false;
    bundle->about = of->about;
    bundle->edition = of->edition;
    bool taken = gl_bundle_take_set(bundle, store, of->log);
    bundle->shares_log = true;
    return taken;
}

glassine_status gl_bundle_as_saved(const glassine_bundle *bundle, glassine_bundle **out,
                                   glassine_error *error) {
    glassine_options options = {.limits = &bundle->limits};
    *out = gl_bundle_blank(bundle->file, GLASSINE_READ, &options);
    if (!*out)
        return gl_fail_memory(error);
    glassine_status status =
        share(bundle, *out) ? gl_bundle_index_as(*out, bundle, error) : gl_fail_memory(error);
    if (status) {
        glassine_bundle_close(*out);
        *out = NULL;
    }
    return status;
}

void glassine_bundle_close(glassine_bundle *bundle) {
    if (!bundle)
        return;
    gl_zip_close(bundle->zip);
    gl_trust_free(bundle->trust);
    if (!bundle->shares_log)
        gl_log_free(bundle->log);
    gl_store_free(bundle->store);
    gl_manifest_free(bundle->payload);
    gl_manifest_free(bundle->tags);
    gl_names_free(bundle->names);
    gl_map_free(bundle->scans);
    gl_joins_free(bundle->joins);
    for (size_t i = 0; i < bundle->segment_count; i++)
        if (bundle->segments[i].borrowed)
            bundle->pieces[bundle->segments[i].piece] = GL_BUF_EMPTY;
    for (size_t i = 0; i < bundle->piece_count && !bundle->lent_to; i++)
        gl_buf_free(&bundle->pieces[i]);
    for (size_t i = 0; i < bundle->adopted_count; i++)
        gl_buf_free(&bundle->adopted[i]);
    free(bundle->adopted);
    free(bundle->segments);
    free(bundle->pieces);
    free(bundle->records);
    free(bundle->newest_of);
    gl_arena_free(bundle->arena);
    if (bundle->fd >= 0)
        gl_file_close(bundle->fd);
    free(bundle->path);
    free(bundle->file);
    free(bundle);
}

const char *glassine_bundle_path(const glassine_bundle *bundle) {
    return bundle->path;
}

const char *glassine_bundle_uuid(const glassine_bundle *bundle) {
    return bundle->about.uuid;
}

const char *glassine_bundle_base(const glassine_bundle *bundle) {
    return bundle->about.base;
}

const char *glassine_bundle_title(const glassine_bundle *bundle) {
    return bundle->about.title;
}

const char *glassine_bundle_keeper(const glassine_bundle *bundle) {
    return bundle->about.keeper;
}

const char *glassine_bundle_answer_by(const glassine_bundle *bundle) {
    return bundle->about.answer_by;
}

const char *glassine_bundle_event(const glassine_bundle *bundle) {
    return bundle->about.event;
}

const char *glassine_bundle_answers(const glassine_bundle *bundle) {
    return bundle->about.answers;
}

bool glassine_bundle_blind(const glassine_bundle *bundle) {
    return bundle->about.blind;
}

uint32_t glassine_bundle_edition(const glassine_bundle *bundle) {
    return bundle->edition;
}

glassine_span glassine_bundle_version(const glassine_bundle *bundle) {
    return gl_span_of(bundle->about.version);
}

uint64_t glassine_bundle_tail(const glassine_bundle *bundle) {
    return gl_zip_tail(bundle->zip);
}

const char *glassine_bundle_writer(glassine_bundle *bundle) {
    gl_buf holder = GL_BUF_EMPTY;
    gl_span kept = GL_NO_SPAN;
    if (!bundle->writing && gl_file_lock_holder(bundle->fd, &holder) && !holder.failed)
        kept = gl_arena_copy(bundle->arena, gl_buf_span(&holder));
    gl_buf_free(&holder);
    return kept.text;
}

uint64_t glassine_bundle_slips(const glassine_bundle *bundle) {
    return gl_store_count(bundle->store);
}

uint64_t glassine_bundle_unknown_lines(const glassine_bundle *bundle) {
    return gl_log_unknown(bundle->log);
}

void glassine_bundle_digest(glassine_bundle *bundle, char out[65]) {
    gl_digest digest;
    if (gl_store_digest(bundle->store, &digest, NULL) == GLASSINE_OK)
        gl_digest_hex(&digest, out);
    else {
        bundle->failed = true;
        out[0] = '\0';
    }
}
