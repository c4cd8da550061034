#include "exchange/copies.h"

#include <stdio.h>
#include <stdlib.h>

#include "audit/leaving.h"
#include "base/error.h"
#include "images/reduce.h"
#include "images/strip.h"

#define LONGEST_SIDE 1000000 /* of a picture that a bundle may claim to hold */
enum { REF_SIZE = 96 };

typedef enum outcome { AS_IT_IS, CLEARED, REDUCED, STAYS } outcome;

/* One scan on its way. */
typedef struct sending {
    glassine_record *scan; /* of the bundle that sends */
    gl_buf file, made;
    gl_image image;  /* of `file`, then of `made` */
    const char *why; /* it stays */
} sending;

static bool fits(const gl_copies *it, const gl_image *image) {
    return it->scans == GLASSINE_SCANS_FULL || it->limit == 0 ||
           (image->width <= it->limit && image->height <= it->limit);
}

static outcome clear(sending *one) {
    switch (gl_strip(gl_buf_span(&one->file), &one->made)) {
    case GL_STRIP_NOTHING:
        return AS_IT_IS;
    case GL_STRIP_DONE:
        return CLEARED;
    default:
        one->why = "what it may tell beyond the picture cannot be taken out of such a file";
        return STAYS;
    }
}

static glassine_status reduce(const gl_copies *it, sending *one, outcome *done, glassine_error *error) {
    gl_reduced reduced;
    glassine_error fault;
    glassine_status status =
        gl_reduce(gl_buf_span(&one->file), &one->image, NULL, it->limit, &reduced, &fault);
    if (status == GLASSINE_SYSTEM) {
        if (error)
            *error = fault;
        return status;
    }
    *done = status ? STAYS : REDUCED;
    one->why = "it cannot be made smaller: its picture cannot be read";
    if (!status)
        gl_buf_add_bytes(&one->made, reduced.bytes, reduced.length);
    free(status ? NULL : reduced.bytes);
    return GLASSINE_OK;
}

/* `made` and `image` are of the copy where one is made. */
static glassine_status make_copy(const gl_copies *it, sending *one, outcome *done, glassine_error *error) {
    glassine_status status = gl_image_look_memory(gl_buf_span(&one->file), &one->image, error);
    if (status)
        return status;
    if (!fits(it, &one->image))
        status = reduce(it, one, done, error);
    else
        *done = it->keep_metadata ? AS_IT_IS : clear(one);
    if (!status && one->made.failed)
        status = gl_fail_memory(error);
    if (!status && (*done == CLEARED || *done == REDUCED))
        status = gl_image_look_memory(gl_buf_span(&one->made), &one->image, error);
    return status;
}

/* The copy's bytes, unless an equal one goes already. */
static glassine_status add_bytes(glassine_draft *to, const sending *one, const gl_digest *digest,
                                 const char *hex, glassine_error *error) {
    char inner[128];
    gl_digest present;
    snprintf(inner, sizeof inner, "data/scans/%s.%s", hex, one->image.extension);
    if (gl_manifest_find(to->bundle->payload, gl_span_of(inner), &present))
        return GLASSINE_OK;
    glassine_status status = gl_draft_writer(to, error);
    if (!status)
        status = gl_writer_add(to->writer, gl_span_of(inner), gl_buf_span(&one->made), true, NULL, error);
    return status ? status : gl_draft_brought(to, gl_span_of(inner), digest, one->made.length, error);
}

/* Was this copy sent before? Then its record is there. */
static glassine_status is_known(glassine_bundle *from, const sending *one, const char *hex, bool *known,
                                glassine_error *error) {
    glassine_record *const *copies;
    size_t count;
    *known = false;
    glassine_status status =
        glassine_record_referrers(from, one->scan, "scan", false, &copies, &count, error);
    for (size_t i = 0; i < count && !status && !*known; i++)
        *known =
            gl_span_is(glassine_record_text(from, copies[i], "sha256"), hex) &&
            gl_span_equal(glassine_record_text(from, copies[i], "taken_from"), gl_record_id(from, one->scan));
    return status;
}

/* A field that a copy has from its original; false where that has none. */
static bool kept(glassine_bundle *from, glassine_record *scan, const char *field, char out[REF_SIZE]) {
    gl_span text = glassine_record_text(from, scan, field);
    snprintf(out, REF_SIZE, "%.*s", GL_SPAN_ARGS(text));
    return text.length > 0 && text.length < REF_SIZE;
}

/* Said by the one who sends, in both bundles. */
static glassine_status enter(const gl_copies *it, const sending *one, const char *hex,
                             glassine_error *error) {
    glassine_bundle *from = it->from->bundle;
    char id[REF_SIZE], stamp[REF_SIZE], side[REF_SIZE];
    glassine_assignment fields[3] = {{"taken_from", id, NULL}};
    size_t count = 1;
    snprintf(id, sizeof id, "%.*s", GL_SPAN_ARGS(gl_record_id(from, one->scan)));
    if (kept(from, one->scan, "stamp", stamp))
        fields[count++] = (glassine_assignment){"stamp", stamp, NULL};
    if (kept(from, one->scan, "side", side))
        fields[count++] = (glassine_assignment){"side", side, NULL};
    uint32_t first = gl_store_count(from->store);
    glassine_record *record;
    glassine_status status =
        gl_enter_scan(it->from, glassine_record_text(from, one->scan, "item"), GL_SPAN(""), one->made.length,
                      &one->image, hex, fields, count, &record, error);
    for (uint32_t slip = first; !status && slip < gl_store_count(from->store); slip++) {
        bool fresh;
        if (gl_leaves(GL_SPAN("scan"), (glassine_reach)gl_store_at(from->store, slip)->reach, it->blind))
            status = gl_draft_take_slip(it->to, from, slip, &fresh, error);
    }
    return status ? status : gl_bundle_index(it->to->bundle, error);
}

static glassine_status send_copy(const gl_copies *it, const sending *one, glassine_error *error) {
    char hex[GL_HEX_SIZE];
    bool known;
    gl_hash *hash = gl_hash_new();
    if (!hash)
        return gl_fail_memory(error);
    gl_digest digest = gl_hash_once(hash, one->made.text, one->made.length);
    gl_hash_free(hash);
    gl_digest_hex(&digest, hex);
    glassine_status status = is_known(it->from->bundle, one, hex, &known, error);
    if (!status && !known)
        status = enter(it, one, hex, error);
    return status ? status : add_bytes(it->to, one, &digest, hex, error);
}

static void leave(gl_copies *it, const sending *one) {
    gl_buf_add(&it->left, glassine_record_label(it->from->bundle, one->scan));
    gl_buf_add_char(&it->left, '\0');
    gl_buf_add_text(&it->left, one->why);
    gl_buf_add_char(&it->left, '\0');
}

static glassine_status send_bytes(gl_copies *it, sending *one, const char *hex, glassine_error *error) {
    outcome done = AS_IT_IS;
    bool taken = false;
    bool untouched = it->keep_metadata && it->scans == GLASSINE_SCANS_FULL;
    glassine_status status =
        untouched ? GLASSINE_OK : gl_bundle_scan_bytes(it->from->bundle, hex, &one->file, error);
    if (!status && !untouched)
        status = make_copy(it, one, &done, error);
    if (!status && done != AS_IT_IS && done != STAYS &&
        !glassine_record_text(it->from->bundle, one->scan, "item").text) {
        one->why = "which item it belongs to is contested or unsaid";
        done = STAYS;
    }
    if (status)
        return status;
    if (done == STAYS)
        leave(it, one);
    else if (done == AS_IT_IS)
        status = gl_draft_take_scan(it->to, it->from->bundle, hex, &taken, error);
    else
        status = send_copy(it, one, error);
    it->whole += done == AS_IT_IS;
    it->cleared += done == CLEARED;
    it->reduced += done == REDUCED;
    return status;
}

/* Every digest that stands in the record's `sha256`, contested or not. */
static glassine_status send_scan(gl_copies *it, glassine_record *scan, glassine_error *error) {
    const gl_reading *reading;
    glassine_bundle *from = it->from->bundle;
    glassine_record *original = glassine_bundle_record(from, gl_record_id(it->to->bundle, scan), GL_NO_SPAN);
    if (!original)
        return GLASSINE_OK;
    glassine_status status = gl_record_reading(it->to->bundle, scan, &reading, error);
    const gl_read_field *end = NULL,
                        *field = status ? NULL : gl_reading_named(reading, GL_SPAN("sha256"), &end);
    for (; field < end && !status; field++)
        for (uint32_t i = 0; i < field->said_count && !status; i++) {
            char hex[GL_HEX_SIZE];
            sending one = {.scan = original, .file = GL_BUF_EMPTY, .made = GL_BUF_EMPTY};
            snprintf(hex, sizeof hex, "%.*s", GL_SPAN_ARGS(gl_json_raw(gl_read_value(field, i))));
            if (glassine_scan_has(from, hex, NULL))
                status = send_bytes(it, &one, hex, error);
            gl_buf_free(&one.file);
            gl_buf_free(&one.made);
        }
    return status;
}

glassine_status gl_copies_send(gl_copies *it, glassine_error *error) {
    glassine_bundle *to = it->to->bundle;
    size_t count = to->record_count; /* copies join them on the way */
    glassine_status status = GLASSINE_OK;
    if (it->scans == GLASSINE_SCANS_NONE)
        return GLASSINE_OK;
    for (size_t i = 0; i < count && !status; i++) {
        if (it->progress)
            it->progress(it->context, "copying", "scans", i, count);
        if (gl_span_is(glassine_record_type(to, to->records[i]), "scan"))
            status = send_scan(it, to->records[i], error);
    }
    return status || !it->left.failed ? status : gl_fail_memory(error);
}

void gl_copies_tell(const gl_copies *it, glassine_report *report) {
    const char *remedy = it->scans == GLASSINE_SCANS_FULL ? "--keep-metadata sends it as it is" : NULL;
    for (size_t at = 0; at < it->left.length;) {
        const char *label = it->left.text + at, *why = label + strlen(label) + 1;
        glassine_report_finding(report, GLASSINE_WARNING, NULL, label, remedy, "the scan stays behind: %s",
                                why);
        at = (size_t)(why + strlen(why) + 1 - it->left.text);
    }
}

uint32_t gl_copies_longest(glassine_bundle *from, glassine_record *const *records, size_t count) {
    uint32_t longest = 0;
    for (size_t i = 0; i < count; i++) {
        int64_t width = 0, height = 0;
        if (!gl_span_is(glassine_record_type(from, records[i]), "scan"))
            continue;
        glassine_record_integer(from, records[i], "width", &width);
        glassine_record_integer(from, records[i], "height", &height);
        int64_t longer = width > height ? width : height;
        if (longer > longest && longer <= LONGEST_SIDE)
            longest = (uint32_t)longer;
    }
    return longest;
}
