#include "audit/scan_rules.h"

#include <stdio.h>

#include "base/error.h"
#include "images/decode.h"

#define LOOKED_INTO ((uint64_t)1 << 30)

static void report(glassine_bundle *bundle, glassine_record *scan, const char *rule, const char *what,
                   void (*found)(void *context, const glassine_error *error), void *context) {
    glassine_error error;
    gl_buf place = GL_BUF_EMPTY;
    gl_record_shown(bundle, scan, &place);
    gl_fail(&error, GLASSINE_REFUSED, rule, place.failed ? NULL : place.text, "%s", what);
    gl_buf_free(&place);
    found(context, &error);
}

static void check_listed(glassine_bundle *bundle, glassine_record *scan, const gl_entry *entry,
                         void (*found)(void *context, const glassine_error *error), void *context) {
    int64_t bytes;
    char what[160];
    if (glassine_record_integer(bundle, scan, "bytes", &bytes) && (uint64_t)bytes != entry->size) {
        snprintf(what, sizeof what, "the record says %lld byte%s, the file has %llu", (long long)bytes,
                 bytes == 1 ? "" : "s", (unsigned long long)entry->size);
        report(bundle, scan, "R050", what, found, context);
    }
    gl_span media = glassine_record_text(bundle, scan, "media"), name = gl_zip_inner(bundle->zip, entry);
    const char *extension = gl_image_extension(media);
    size_t length = strlen(extension);
    if (media.text &&
        (name.length < length || memcmp(name.text + name.length - length, extension, length) != 0)) {
        snprintf(what, sizeof what, "the record says %.*s, the file is called %.*s", GL_SPAN_ARGS(media),
                 GL_SPAN_ARGS(gl_span_part(name, 76, name.length)));
        report(bundle, scan, "R051", what, found, context);
    }
}

static bool differs(glassine_bundle *bundle, glassine_record *scan, const char *field, uint32_t size,
                    int64_t *said) {
    return size && glassine_record_integer(bundle, scan, field, said) && *said != (int64_t)size;
}

static void check_size(glassine_bundle *bundle, glassine_record *scan, const gl_image *image,
                       void (*found)(void *context, const glassine_error *error), void *context) {
    int64_t said;
    char what[160];
    bool wide = differs(bundle, scan, "width", image->width, &said);
    if (!wide && !differs(bundle, scan, "height", image->height, &said))
        return;
    snprintf(what, sizeof what, "the record says a %s of %lld pixels, the file has %u",
             wide ? "width" : "height", (long long)said, wide ? image->width : image->height);
    report(bundle, scan, "R051", what, found, context);
}

/* A stored scan is looked at where it lies; a deflated one, or one whose pixels are wanted, in memory. */
static glassine_status look(glassine_bundle *bundle, const gl_entry *entry, gl_scan_depth depth, gl_buf *file,
                            gl_image *image, glassine_error *error) {
    if (entry->method == 0 && depth != GL_SCAN_DECODED)
        return gl_image_look_within(bundle->fd, bundle->file, entry->data_at, entry->size, image, error);
    glassine_status status = gl_zip_read(bundle->zip, entry, LOOKED_INTO, file, error);
    return status ? status : gl_image_look_memory(gl_buf_span(file), image, error);
}

glassine_status gl_scan_rules(glassine_bundle *bundle, glassine_record *scan, gl_scan_depth depth,
                              void (*found)(void *context, const glassine_error *error), void *context,
                              glassine_error *error) {
    gl_span sha256 = glassine_record_text(bundle, scan, "sha256");
    const gl_entry *entry = sha256.text ? gl_bundle_scan(bundle, sha256.text) : NULL;
    if (!entry)
        return GLASSINE_OK;
    check_listed(bundle, scan, entry, found, context);
    if (depth == GL_SCAN_LISTED || entry->size > LOOKED_INTO)
        return GLASSINE_OK;
    gl_buf file = GL_BUF_EMPTY;
    gl_image image;
    const char *why = NULL;
    glassine_status status = look(bundle, entry, depth, &file, &image, error);
    if (!status) {
        check_size(bundle, scan, &image, found, context);
        why = image.trouble;
        if (!why && depth == GL_SCAN_DECODED)
            status = gl_image_decodes(gl_buf_span(&file), &image, &why, error);
    }
    if (!status && why)
        report(bundle, scan, "R053", why, found, context);
    gl_buf_free(&file);
    return status == GLASSINE_REFUSED ? GLASSINE_OK
                                      : status; /* damage is for the container's rules to tell */
}
