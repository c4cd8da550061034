/* The bag of an open file: is it the one that RFC 8493 and spec/bag.md ask for? */
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/work.h"
#include "container/bag.h"
#include "container/fault.h"
#include "container/name.h"

static bool is_payload(gl_span inner) {
    return gl_span_starts(inner, GL_SPAN("data/"));
}

static glassine_status digest_differs(const gl_zip *zip, const gl_entry *entry, glassine_error *error) {
    bool payload = is_payload(gl_zip_inner(zip, entry));
    return gl_fault_in(error, payload ? "B024" : "B034", gl_zip_path(zip), entry->name,
                       "its content does not have the digest that %s gives",
                       payload ? GL_BAG_PAYLOAD : GL_BAG_TAGS);
}

/* The line that the entry must keep to; false for the tag manifest, which has none. */
static bool line_of(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                    const gl_manifest *tags, gl_digest *digest) {
    gl_span inner = gl_zip_inner(zip, entry);
    return gl_manifest_find(is_payload(inner) ? payload : tags, inner, digest);
}

/* Nothing becomes of the content; it is counted. */
static int count_bytes(void *context, const char *bytes, size_t length) {
    (void)bytes;
    return gl_watch_add(context, length) ? 0 : ECANCELED;
}

glassine_status gl_bag_check_watched(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                                     const gl_manifest *tags, gl_watch *watch, glassine_error *error) {
    gl_digest right, found;
    bool listed = line_of(zip, entry, payload, tags, &right);
    glassine_status status =
        gl_zip_stream(zip, entry, watch ? count_bytes : NULL, watch, listed ? &found : NULL, error);
    if (status)
        return watch && atomic_load(&watch->stopped) ? gl_watch_fail(error) : status;
    return !listed || gl_digest_equal(&right, &found) ? GLASSINE_OK : digest_differs(zip, entry, error);
}

glassine_status gl_bag_check(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                             const gl_manifest *tags, glassine_error *error) {
    return gl_bag_check_watched(zip, entry, payload, tags, NULL, error);
}

typedef struct checking {
    const gl_zip *zip;
    const gl_entry *const *entries;
    const gl_manifest *payload, *tags;
    gl_watch *watch;
    glassine_status *found;
} checking;

static void check_one(void *context, size_t index) {
    const checking *it = context;
    it->found[index] =
        gl_bag_check_watched(it->zip, it->entries[index], it->payload, it->tags, it->watch, NULL);
}

glassine_status gl_bag_check_many(const gl_zip *zip, const gl_entry *const *entries, size_t count,
                                  const gl_manifest *payload, const gl_manifest *tags, gl_watch *watch,
                                  glassine_error *error) {
    checking it = {zip, entries, payload, tags, watch, calloc(count + 1, sizeof *it.found)};
    if (!it.found)
        return gl_fail_memory(error);
    gl_work_watched(count, check_one, &it, watch);
    glassine_status status = watch && atomic_load(&watch->stopped) ? gl_watch_fail(error) : GLASSINE_OK;
    for (size_t i = 0; i < count && !status; i++) /* what is wrong with it is told by looking once more */
        if (it.found[i])
            status = gl_bag_check(zip, entries[i], payload, tags, error);
    free(it.found);
    return status;
}

glassine_status gl_bag_check_content(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                                     const gl_manifest *tags, gl_span content, glassine_error *error) {
    gl_digest right;
    if (!line_of(zip, entry, payload, tags, &right))
        return GLASSINE_OK;
    gl_hash *hash = gl_hash_new();
    if (!hash)
        return gl_fail_memory(error);
    gl_digest found = gl_hash_once(hash, content.text, content.length);
    gl_hash_free(hash);
    return gl_digest_equal(&right, &found) ? GLASSINE_OK : digest_differs(zip, entry, error);
}

glassine_status gl_bag_read_file(const gl_zip *zip, const gl_entry *entry, const gl_manifest *payload,
                                 const gl_manifest *tags, uint64_t limit, gl_buf *out,
                                 glassine_error *error) {
    size_t before = out->length;
    glassine_status status = gl_zip_read(zip, entry, limit, out, error);
    gl_span content = gl_span_part(gl_buf_span(out), before, out->length);
    return status ? status : gl_bag_check_content(zip, entry, payload, tags, content, error);
}

/* What a reading of the bag works on. */
typedef struct bag_reader {
    const gl_zip *zip;
    uint64_t limit; /* of a small file */
    gl_manifest *payload, *tags;
    glassine_error *error;
} bag_reader;

static bool is_between(gl_span name, const char *start, const char *end) {
    gl_span tail = gl_span_of(end);
    return gl_span_starts(name, gl_span_of(start)) && name.length >= tail.length &&
           gl_span_equal(gl_span_part(name, name.length - tail.length, tail.length), tail);
}

/* RFC 8493, 2.2.1 and 2.2.3: what could make another program see another bag. */
static glassine_status check_foreign(const bag_reader *bag, gl_span inner, gl_span name) {
    bool manifest = is_between(inner, "manifest-", ".txt") || is_between(inner, "tagmanifest-", ".txt");
    bool ours = gl_span_is(inner, GL_BAG_PAYLOAD) || gl_span_is(inner, GL_BAG_TAGS);
    if (manifest && !ours)
        return gl_fault_in(bag->error, "B040", gl_zip_path(bag->zip), name,
                           "a bundle has SHA-256 manifests, and no others");
    if (gl_span_is(inner, "fetch.txt"))
        return gl_fault_in(bag->error, "B041", gl_zip_path(bag->zip), name,
                           "a bundle holds all its files itself, so it has no fetch.txt");
    return GLASSINE_OK;
}

/* A file that must be there; in the manifests' order of reading, so that each is checked as soon as it can
 * be. */
static glassine_status read_bag_file(const bag_reader *bag, const char *inner, const char *rule,
                                     gl_buf *out) {
    const gl_entry *entry = gl_zip_find(bag->zip, gl_span_of(inner));
    if (!entry)
        return gl_fail(bag->error, GLASSINE_REFUSED, rule, gl_zip_path(bag->zip), "it has no %s", inner);
    return gl_bag_read_file(bag->zip, entry, bag->payload, bag->tags, bag->limit, out, bag->error);
}

static glassine_status read_manifest(const bag_reader *bag, const char *inner, const char *absent,
                                     gl_manifest *manifest) {
    gl_buf text = GL_BUF_EMPTY;
    glassine_status status = read_bag_file(bag, inner, absent, &text);
    if (!status) {
        status = gl_manifest_parse(manifest, gl_buf_span(&text), inner, bag->error);
        if (status)
            gl_error_within(bag->error, gl_zip_path(bag->zip));
    }
    gl_buf_free(&text);
    return status;
}

/* An entry of the file: its line is there, and a scan's line says what its name says. */
static glassine_status check_listed(const bag_reader *bag, const gl_entry *entry) {
    gl_span inner = gl_zip_inner(bag->zip, entry);
    gl_digest line, name;
    bool payload = is_payload(inner);
    glassine_status status = check_foreign(bag, inner, entry->name);
    if (status || gl_span_is(inner, GL_BAG_TAGS))
        return status;
    if (!gl_manifest_find(payload ? bag->payload : bag->tags, inner, &line))
        return gl_fault_in(bag->error, payload ? "B022" : "B032", gl_zip_path(bag->zip), entry->name,
                           "%s has no line for it", payload ? GL_BAG_PAYLOAD : GL_BAG_TAGS);
    if (gl_name_is_scan(inner, &name) && !gl_digest_equal(&line, &name))
        return gl_fault_in(bag->error, "B025", gl_zip_path(bag->zip), entry->name,
                           GL_BAG_PAYLOAD " gives another digest than its name");
    return GLASSINE_OK;
}

/* A line of a manifest: its file is there, and belongs to this manifest. Every one of `entries` entries has its line, and
 * no two have the same: with as many lines there is none left over. */
static glassine_status check_lines(const bag_reader *bag, const gl_manifest *manifest, bool payload,
                                   size_t entries) {
    if (gl_manifest_count(manifest) == entries)
        return GLASSINE_OK;
    size_t at = 0;
    gl_span name;
    gl_digest digest;
    while (gl_manifest_next(manifest, &at, &name, &digest)) {
        bool right = is_payload(name) == payload && !gl_span_is(name, GL_BAG_TAGS);
        if (!right || !gl_zip_find(bag->zip, name))
            return gl_fault_in(bag->error, payload ? "B023" : "B033", gl_zip_path(bag->zip), name,
                               "%s has a line for it, and should not",
                               payload ? GL_BAG_PAYLOAD : GL_BAG_TAGS);
    }
    return GLASSINE_OK;
}

static glassine_status check_names(const bag_reader *bag) {
    size_t count = gl_zip_count(bag->zip), payload = 0;
    for (size_t i = 0; i < count; i++) {
        const gl_entry *entry = gl_zip_at(bag->zip, i);
        glassine_status status = check_listed(bag, entry);
        if (status)
            return status;
        payload += is_payload(gl_zip_inner(bag->zip, entry));
    }
    glassine_status status = check_lines(bag, bag->payload, true, payload);
    return status ? status
                  : check_lines(bag, bag->tags, false,
                                count - payload - 1); /* without the tag manifest itself */
}

static glassine_status check_declaration(const bag_reader *bag) {
    gl_buf text = GL_BUF_EMPTY;
    glassine_status status = read_bag_file(bag, GL_BAG_DECLARATION, "B010", &text);
    if (!status && !gl_span_is(gl_buf_span(&text), GL_BAG_DECLARED))
        status = gl_fail(bag->error, GLASSINE_REFUSED, "B010", gl_zip_path(bag->zip),
                         GL_BAG_DECLARATION " does not declare a bag of BagIt 1.0 in UTF-8");
    gl_buf_free(&text);
    return status;
}

/* The value of `label` where the text has it exactly once, on a line of its own. */
static bool only_value(gl_span text, gl_span label, gl_span *value) {
    size_t found = 0;
    while (text.length > 0) {
        const char *end = memchr(text.text, '\n', text.length);
        size_t length = end ? (size_t)(end - text.text) : text.length;
        if (gl_span_starts(gl_span_part(text, 0, length), label)) {
            *value = gl_span_part(text, label.length, length - label.length);
            found++;
        }
        text = gl_span_part(text, length + 1, text.length);
    }
    return found == 1;
}

/* RFC 8493, 2.2.2: the whole payload in two numbers. */
static void add_oxum(const gl_zip *zip, gl_buf *out) {
    uint64_t bytes = 0, files = 0;
    for (size_t i = 0; i < gl_zip_count(zip); i++) {
        const gl_entry *entry = gl_zip_at(zip, i);
        if (!is_payload(gl_zip_inner(zip, entry)))
            continue;
        bytes += entry->size;
        files++;
    }
    gl_buf_printf(out, "%" PRIu64 ".%" PRIu64, bytes, files);
}

static glassine_status check_info(const bag_reader *bag) {
    gl_buf text = GL_BUF_EMPTY, right = GL_BUF_EMPTY;
    gl_span oxum;
    const char *path = gl_zip_path(bag->zip);
    glassine_status status = read_bag_file(bag, GL_BAG_INFO, "B011", &text);
    add_oxum(bag->zip, &right);
    if (!status && right.failed)
        status = gl_fail_memory(bag->error);
    if (!status && !only_value(gl_buf_span(&text), GL_SPAN("Payload-Oxum: "), &oxum))
        status = gl_fail(bag->error, GLASSINE_REFUSED, "B011", path,
                         GL_BAG_INFO " does not have exactly one line Payload-Oxum");
    else if (!status && !gl_span_equal(oxum, gl_buf_span(&right)))
        status = gl_fail(bag->error, GLASSINE_REFUSED, "B012", path,
                         GL_BAG_INFO " says that the payload is %.*s, and it is %s (bytes.files)",
                         GL_SPAN_ARGS(oxum), right.text);
    gl_buf_free(&text);
    gl_buf_free(&right);
    return status;
}

static glassine_status check_required(const bag_reader *bag) {
    static const struct {
        const char *name, *rule;
    } required[] = {{GL_BAG_ABOUT, "B050"}, {GL_BAG_README, "B051"}};
    for (size_t i = 0; i < sizeof required / sizeof *required; i++)
        if (!gl_zip_find(bag->zip, gl_span_of(required[i].name)))
            return gl_fail(bag->error, GLASSINE_REFUSED, required[i].rule, gl_zip_path(bag->zip),
                           "it has no %s", required[i].name);
    return GLASSINE_OK;
}

glassine_status gl_bag_read(const gl_zip *zip, const glassine_limits *limits, gl_manifest *payload,
                            gl_manifest *tags, glassine_error *error) {
    glassine_limits usual = glassine_limits_default();
    uint64_t limit = limits && limits->small_file_bytes ? limits->small_file_bytes : usual.small_file_bytes;
    bag_reader bag = {zip, limit, payload, tags, error};
    glassine_status status = read_manifest(&bag, GL_BAG_TAGS, "B030", tags);
    if (!status)
        status = read_manifest(&bag, GL_BAG_PAYLOAD, "B020", payload);
    if (!status)
        status = check_declaration(&bag);
    if (!status)
        status = check_required(&bag);
    if (!status)
        status = check_names(&bag);
    return status ? status : check_info(&bag);
}
