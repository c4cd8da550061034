/* Scan bytes out of a bundle. */
#include "base/error.h"
#include "bundle/bundle.h"

static const gl_span SCANS = {"data/scans/", 11};

static bool make_index(glassine_bundle *bundle) {
    bundle->scans = gl_map_new();
    if (!bundle->scans)
        return false;
    for (size_t i = 0; i < gl_zip_count(bundle->zip); i++) {
        gl_span name = gl_zip_inner(bundle->zip, gl_zip_at(bundle->zip, i));
        if (gl_span_starts(name, SCANS) && name.length > SCANS.length + 64 &&
            !gl_map_set(bundle->scans, gl_span_part(name, SCANS.length, 64), (uint32_t)i)) {
            gl_map_free(bundle->scans);
            bundle->scans = NULL;
            return false;
        }
    }
    return true;
}

const gl_entry *gl_bundle_scan(glassine_bundle *bundle, const char *sha256) {
    gl_digest digest;
    if (!gl_digest_parse(gl_span_of(sha256), &digest))
        return NULL;
    if (!bundle->scans && !make_index(bundle)) {
        bundle->failed = true;
        return NULL;
    }
    uint32_t at = gl_map_find(bundle->scans, gl_span_of(sha256));
    return at == GL_NONE ? NULL : gl_zip_at(bundle->zip, at);
}

bool glassine_scan_has(glassine_bundle *bundle, const char *sha256, uint64_t *bytes) {
    const gl_entry *entry = gl_bundle_scan(bundle, sha256);
    if (entry && bytes)
        *bytes = entry->size;
    return entry != NULL;
}

glassine_status glassine_scan_read(glassine_bundle *bundle, const char *sha256, glassine_write write,
                                   void *context, glassine_error *error) {
    const gl_entry *entry = gl_bundle_scan(bundle, sha256);
    if (!entry)
        return gl_bundle_end(
            bundle, NULL,
            gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path, "there is no scan %.64s in it", sha256),
            error);
    gl_digest found, wanted;
    glassine_status status = gl_zip_stream(bundle->zip, entry, write, context, &found, error);
    if (status)
        return status;
    gl_digest_parse(gl_span_of(sha256), &wanted);
    if (!gl_digest_equal(&found, &wanted))
        return gl_fail(error, GLASSINE_REFUSED, "B024", bundle->path, "the bytes of scan %.64s have changed",
                       sha256);
    return GLASSINE_OK;
}
