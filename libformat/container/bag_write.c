/* The files of the bag that every edition writes, as far as they changed. */
#include <inttypes.h>

#include "base/clock.h"
#include "base/error.h"
#include "container/bag.h"
#include "container/readme.h"

/* A value on one line: what would break it becomes a space (RFC 8493, 2.2.2). */
static void add_info(gl_buf *out, const char *label, gl_span value) {
    if (value.length == 0)
        return;
    gl_buf_printf(out, "%s: ", label);
    for (size_t i = 0; i < value.length; i++) {
        unsigned char c = (unsigned char)value.text[i];
        gl_buf_add_char(out, c < 0x20 || c == 0x7f ? ' ' : (char)c);
    }
    gl_buf_add_char(out, '\n');
}

/* Has the edition before a file of exactly this content? */
static glassine_status is_unchanged(const gl_zip *previous, const gl_writer *writer, gl_span inner,
                                    gl_span content, bool *unchanged, glassine_error *error) {
    const gl_entry *entry = previous && gl_writer_has(writer, inner) ? gl_zip_find(previous, inner) : NULL;
    *unchanged = false;
    if (!entry || entry->size != content.length || entry->crc != gl_crc32(0, content.text, content.length))
        return GLASSINE_OK;
    gl_buf old = GL_BUF_EMPTY;
    glassine_status status = gl_zip_read(previous, entry, entry->size, &old, error);
    if (!status)
        *unchanged = gl_span_equal(gl_buf_span(&old), content);
    gl_buf_free(&old);
    return status;
}

/* Writes the file where it changed, and its line into `tags` (may be NULL). */
static glassine_status write_file(gl_writer *writer, const gl_zip *previous, const char *inner,
                                  const gl_buf *content, gl_manifest *tags, gl_hash *hash,
                                  glassine_error *error) {
    if (content->failed)
        return gl_fail_memory(error);
    gl_span name = gl_span_of(inner), text = gl_buf_span(content);
    gl_digest digest = gl_hash_once(hash, text.text, text.length);
    bool unchanged;
    glassine_status status = is_unchanged(previous, writer, name, text, &unchanged, error);
    if (!status && !unchanged)
        status = gl_writer_add(writer, name, text, false, NULL, error);
    if (!status && tags && !gl_manifest_set(tags, name, &digest))
        status = gl_fail_memory(error);
    return status;
}

typedef struct bag_file {
    const char *name;
    void (*make)(gl_buf *out, const gl_bag_facts *facts, const gl_manifest *payload, const gl_manifest *tags);
    bool tag; /* has a line in the tag manifest */
} bag_file;

static void make_declaration(gl_buf *out, const gl_bag_facts *facts, const gl_manifest *payload,
                             const gl_manifest *tags) {
    (void)facts, (void)payload, (void)tags;
    gl_buf_add_text(out, GL_BAG_DECLARED);
}

static void make_readme(gl_buf *out, const gl_bag_facts *facts, const gl_manifest *payload,
                        const gl_manifest *tags) {
    (void)facts, (void)payload, (void)tags;
    gl_buf_add_text(out, gl_readme_text);
}

static void make_info(gl_buf *out, const gl_bag_facts *facts, const gl_manifest *payload,
                      const gl_manifest *tags) {
    (void)payload, (void)tags;
    char time[GL_TIME_SIZE];
    gl_time_print(facts->at, time);
    add_info(out, "Bag-Software-Agent", facts->tool);
    gl_buf_printf(out, "Bagging-Date: %.10s\n", time);
    add_info(out, "External-Description", facts->title);
    gl_buf_printf(out, "External-Identifier: urn:uuid:%.*s\n", GL_SPAN_ARGS(facts->uuid));
    gl_buf_printf(out, "Payload-Oxum: %" PRIu64 ".%" PRIu64 "\n", facts->payload_bytes, facts->payload_files);
}

static void make_payload(gl_buf *out, const gl_bag_facts *facts, const gl_manifest *payload,
                         const gl_manifest *tags) {
    (void)facts, (void)tags;
    gl_manifest_print(payload, out);
}

static void make_tags(gl_buf *out, const gl_bag_facts *facts, const gl_manifest *payload,
                      const gl_manifest *tags) {
    (void)facts, (void)payload;
    gl_manifest_print(tags, out);
}

/* There is one form of a manifest only: parsed and not changed, it is the file as it was, which tens of thousands of lines
 * need not be printed for. */
static bool is_settled(const gl_writer *writer, const gl_zip *previous, const gl_manifest *payload,
                       const gl_manifest *tags) {
    gl_span name = GL_SPAN(GL_BAG_PAYLOAD);
    return previous && !gl_manifest_changed(payload) && gl_writer_has(writer, name) &&
           gl_manifest_find(tags, name, NULL);
}

glassine_status gl_bag_write(gl_writer *writer, const gl_zip *previous, const gl_bag_facts *facts,
                             const gl_manifest *payload, gl_manifest *tags, glassine_error *error) {
    /* The tag manifest last: it lists the others. */
    static const bag_file files[] = {
        {GL_BAG_DECLARATION, make_declaration, true},
        {GL_BAG_README, make_readme, true},
        {GL_BAG_INFO, make_info, true},
        {GL_BAG_PAYLOAD, make_payload, true},
        {GL_BAG_TAGS, make_tags, false},
    };
    gl_hash *hash = gl_hash_new();
    glassine_status status = hash ? GLASSINE_OK : gl_fail_memory(error);
    gl_manifest_remove(tags, GL_SPAN(GL_BAG_TAGS));
    for (size_t i = 0; !status && i < sizeof files / sizeof *files; i++) {
        if (files[i].make == make_payload && is_settled(writer, previous, payload, tags))
            continue;
        gl_buf content = GL_BUF_EMPTY;
        files[i].make(&content, facts, payload, tags);
        status =
            write_file(writer, previous, files[i].name, &content, files[i].tag ? tags : NULL, hash, error);
        gl_buf_free(&content);
    }
    gl_hash_free(hash);
    return status;
}

bool gl_bag_writes(gl_span inner) {
    static const char *const files[] = {GL_BAG_DECLARATION, GL_BAG_INFO, GL_BAG_PAYLOAD, GL_BAG_TAGS,
                                        GL_BAG_README};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++)
        if (gl_span_is(inner, files[i]))
            return true;
    return false;
}
