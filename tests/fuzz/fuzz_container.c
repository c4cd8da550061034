/* A whole file: opened, audited with its pictures, recovered from. What a sum or a CRC would stop is let
 * through: the last end record's sum is made to fit first. */
#include "fuzz.h"

#include "base/hash.h"

/* Where the last end record of ours begins; `size`: nowhere. */
static size_t last_end(const char *bytes, size_t size) {
    for (size_t at = size < 22 + 64 ? 0 : size - 22 - 64 + 1; at-- > 0;)
        if (memcmp(bytes + at, "PK\005\006", 4) == 0 && memcmp(bytes + at + 22, "glassine ", 9) == 0)
            return at;
    return size;
}

/* The sum over all that lies before: that of an edition that follows 0 and has no stored scans. */
static void mend_sum(gl_buf *bytes) {
    size_t end = last_end(bytes->text, bytes->length);
    char hex[GL_HEX_SIZE];
    if (end == bytes->length)
        return;
    gl_hash *hash = gl_hash_new();
    FUZZ_HOLDS(hash != NULL);
    gl_digest sum = gl_hash_once(hash, bytes->text, end);
    gl_hash_free(hash);
    gl_digest_hex(&sum, hex);
    memcpy(bytes->text + bytes->length - 64, hex, 64);
}

static void audit(const char *path) {
    const glassine_audit_options options = {.images = true};
    glassine_error error = {0};
    glassine_report *report = glassine_report_new("audit");
    FUZZ_HOLDS(report != NULL);
    fuzz_said(glassine_audit(path, &options, report, &error), &error);
    glassine_report_free(report);
}

static void recover(const char *path) {
    char out[160];
    glassine_error error = {0};
    fuzz_path("recovered.glassine", out);
    unlink(out);
    glassine_report *report = glassine_report_new("recover");
    FUZZ_HOLDS(report != NULL);
    glassine_status status = glassine_recover(&path, 1, out, NULL, report, &error);
    fuzz_said(status, &error);
    glassine_report_free(report);
    if (!status)
        audit(out);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    gl_buf bytes = GL_BUF_EMPTY;
    gl_buf_add_bytes(&bytes, size ? (const char *)data : "", size);
    audit(fuzz_file("a.glassine", gl_buf_span(&bytes)));
    if (size > 64) {
        mend_sum(&bytes);
        audit(fuzz_file("a.glassine", gl_buf_span(&bytes)));
    }
    if (size && data[size - 1] % 8 == 0) /* slow, so not with each */
        recover(fuzz_file("a.glassine", gl_buf_span(&bytes)));
    gl_buf_free(&bytes);
    return 0;
}
