/* The payload that a log tells of: what its editions brought, less what they say was lost. */
#include "base/error.h"
#include "bundle/bundle.h"

enum { HEX = GL_HEX_SIZE - 1, BEFORE_NAME = HEX + 2 };

/* "SHA256  data/NAME", decoded. */
static bool split_line(gl_span line, gl_digest *digest, gl_span *name) {
    *name = gl_span_part(line, BEFORE_NAME, line.length);
    return line.length > BEFORE_NAME && gl_digest_parse(gl_span_part(line, 0, HEX), digest);
}

static glassine_status bring(gl_manifest *payload, gl_span name, const gl_digest *digest, uint32_t edition,
                             const char *place, glassine_error *error) {
    if (gl_manifest_find(payload, name, NULL))
        return gl_fail(error, GLASSINE_REFUSED, "E040", place,
                       "edition %u brings %.*s, which is there already", edition, GL_SPAN_ARGS(name));
    return gl_manifest_set(payload, name, digest) ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status lose(gl_manifest *payload, gl_span name, const gl_digest *digest, uint32_t edition,
                            const char *place, glassine_error *error) {
    gl_digest there;
    if (!gl_manifest_find(payload, name, &there) || !gl_digest_equal(&there, digest))
        return gl_fail(error, GLASSINE_REFUSED, "E041", place,
                       "edition %u says that %.*s is lost, which was not there", edition, GL_SPAN_ARGS(name));
    gl_manifest_remove(payload, name);
    return GLASSINE_OK;
}

typedef glassine_status (*change)(gl_manifest *payload, gl_span name, const gl_digest *digest,
                                  uint32_t edition, const char *place, glassine_error *error);

static glassine_status apply(gl_manifest *payload, gl_span array, change how, uint32_t edition,
                             const char *place, glassine_error *error) {
    gl_json_walk walk = gl_json_walk_of(array);
    gl_span none, item, earlier = GL_NO_SPAN;
    glassine_status status = GLASSINE_OK;
    for (; !status && gl_json_next(&walk, &none, &item); earlier = item) {
        gl_buf line = GL_BUF_EMPTY;
        gl_digest digest;
        gl_span name;
        gl_json_add_decoded(&line, item);
        if (line.failed)
            status = gl_fail_memory(error);
        else if (!split_line(gl_buf_span(&line), &digest, &name) ||
                 (earlier.text && gl_span_compare(earlier, item) >= 0))
            status = gl_fail(error, GLASSINE_REFUSED, how == lose ? "E041" : "E016", place,
                             "edition %u has lines that are no sorted \"SHA256  data/NAME\"", edition);
        else
            status = how(payload, name, &digest, edition, place, error);
        gl_buf_free(&line);
    }
    return status;
}

glassine_status gl_payload_step(const gl_edition *edition, gl_manifest *payload, const char *place,
                                glassine_error *error) {
    gl_span lost = gl_json_member(edition->line, "lost");
    glassine_status status = GLASSINE_OK;
    if (lost.text && gl_json_kind_of(lost) != GL_JSON_ARRAY)
        return gl_fail(error, GLASSINE_REFUSED, "E041", place, "edition %u: `lost` is no list",
                       edition->number);
    if (lost.text)
        status = apply(payload, lost, lose, edition->number, place, error);
    return status ? status
                  : apply(payload, gl_edition_said(edition).brings, bring, edition->number, place, error);
}

glassine_status gl_payload_of(const gl_log *log, uint32_t edition, gl_manifest *payload, const char *place,
                              glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (uint32_t number = 1; number <= edition && !status; number++)
        status = gl_payload_step(gl_log_edition(log, number), payload, place, error);
    return status;
}

/* Every line of `list` stands in `other` too; else `what` is said of it. */
static void check_lines(const glassine_bundle *bundle, const gl_manifest *list, const gl_manifest *other,
                        const char *what, gl_told_error tell, void *context) {
    size_t at = 0;
    gl_span name;
    gl_digest digest, there;
    while (gl_manifest_next(list, &at, &name, &digest)) {
        glassine_error found = {0};
        if (gl_manifest_find(other, name, &there) && gl_digest_equal(&digest, &there))
            continue;
        gl_fail(&found, GLASSINE_REFUSED, "E040", bundle->file, "%.*s %s", GL_SPAN_ARGS(name), what);
        tell(context, &found);
    }
}

glassine_status gl_payload_check(const glassine_bundle *bundle, gl_told_error tell, void *context,
                                 glassine_error *error) {
    gl_manifest *brought = gl_manifest_new();
    if (!brought)
        return gl_fail_memory(error);
    glassine_status status = gl_payload_of(bundle->log, bundle->edition, brought, bundle->file, error);
    if (!status && bundle->edition == gl_zip_footer(bundle->zip)->edition) {
        check_lines(bundle, brought, bundle->payload,
                    "was brought by an edition, and the manifest has it not so", tell, context);
        check_lines(bundle, bundle->payload, brought, "is in the manifest, and no edition brought it so",
                    tell, context);
    }
    gl_manifest_free(brought);
    return status;
}
