#include "audit/scan_rules.h"

#include <stdio.h>

#include "base/error.h"
#include "images/image.h"

static void report(glassine_bundle *bundle, glassine_record *scan, const char *rule, const char *what,
                   void (*found)(void *context, const glassine_error *error), void *context) {
    glassine_error error;
    gl_buf place = GL_BUF_EMPTY;
    gl_record_shown(bundle, scan, &place);
    gl_fail(&error, GLASSINE_REFUSED, rule, place.failed ? NULL : place.text, "%s", what);
    gl_buf_free(&place);
    found(context, &error);
}

void gl_scan_rules(glassine_bundle *bundle, glassine_record *scan,
                   void (*found)(void *context, const glassine_error *error), void *context) {
    gl_span sha256 = glassine_record_text(bundle, scan, "sha256");
    const gl_entry *entry = sha256.text ? gl_bundle_scan(bundle, sha256.text) : NULL;
    if (!entry)
        return;
    int64_t bytes;
    char what[160];
    if (glassine_record_integer(bundle, scan, "bytes", &bytes) && (uint64_t)bytes != entry->size) {
        snprintf(what, sizeof what, "the record says %lld bytes, the file has %llu", (long long)bytes,
                 (unsigned long long)entry->size);
        report(bundle, scan, "R050", what, found, context);
    }
    gl_span media = glassine_record_text(bundle, scan, "media"), name = gl_zip_inner(bundle->zip, entry);
    const char *extension = gl_image_extension(media);
    size_t length = strlen(extension);
    if (media.text && (name.length < length || memcmp(name.text + name.length - length, extension, length) != 0)) {
        snprintf(what, sizeof what, "the record says %.*s, the file is called %.*s", GL_SPAN_ARGS(media),
                 GL_SPAN_ARGS(gl_span_part(name, 76, name.length)));
        report(bundle, scan, "R051", what, found, context);
    }
}
