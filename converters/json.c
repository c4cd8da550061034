/* A bundle as one JSON document: spec/json-document.md. Members stand in canonical order (RFC 8785), a record
 * a line. */
#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>

#include "converters.h"
#include "json_record.h"
#include "signers.h"

typedef struct keyed {
    glassine_span key;
    glassine_record *record;
} keyed;

typedef struct writer {
    json_writer json;
    glassine_json_options options;
    keyed *records;
    size_t record_count, record_room;
} writer;

static int by_key(const void *a, const void *b) {
    return conv_compare(((const keyed *)a)->key, ((const keyed *)b)->key);
}

static glassine_status collect_records(writer *w, glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(w->json.bundle, NULL, true, &cursor, error);
    if (status)
        return status;
    for (glassine_record *record; (record = glassine_cursor_next(cursor));) {
        keyed *grown = conv_grow(w->records, &w->record_room, w->record_count + 1, sizeof *grown);
        if (!grown) {
            status = conv_fail_system(error, ENOMEM, NULL, "Cannot list the records");
            break;
        }
        w->records = grown;
        grown[w->record_count++] = (keyed){glassine_record_key(w->json.bundle, record), record};
    }
    glassine_cursor_free(cursor);
    if (w->record_count)
        qsort(w->records, w->record_count, sizeof *w->records, by_key);
    return status;
}

static glassine_status add_records(writer *w, glassine_error *error) {
    bool first = true;
    json_open_object(&w->json.out, "records");
    for (size_t i = 0; i < w->record_count && !w->json.out.failed; i++) {
        bool shown;
        glassine_status status = conv_view_look(&w->json.view, w->records[i].record, &shown, error);
        if (status)
            return status;
        if (!shown)
            continue;
        conv_add_text(&w->json.out, first ? "\n" : ",\n");
        first = false;
        conv_add_json_string(&w->json.out, w->records[i].key);
        conv_add_char(&w->json.out, ':');
        json_add_record(&w->json);
    }
    conv_add_text(&w->json.out, first ? "}" : "\n}");
    return GLASSINE_OK;
}

/* ---------------------------------------------------------------------------------------------- document */

static glassine_status add_cautions(writer *w, glassine_error *error) {
    conv_cautions cautions = {0};
    for (size_t i = 0; i < w->record_count; i++) {
        glassine_status status = conv_cautions_look(&cautions, &w->json.view, w->records[i].record, error);
        if (status)
            return status;
    }
    json_add_cautions(&w->json.out, &cautions);
    return GLASSINE_OK;
}

static void add_count(conv_output *out, const char *name, uint64_t count) {
    json_member(out, conv_span_of(name));
    conv_printf(out, "%" PRIu64, count);
}

static glassine_status add_signers(writer *w, glassine_error *error) {
    conv_output *out = &w->json.out;
    conv_signers signers;
    glassine_status status = conv_signers_find(w->json.bundle, w->options.with_private, &signers, error);
    if (signers.count)
        json_open_object(out, "signatures");
    for (size_t i = 0; i < signers.count; i++) {
        const conv_signer *signer = &signers.list[i];
        json_member(out, signer->person);
        conv_add_char(out, '{');
        add_count(out, "signed", signer->is_signed);
        add_count(out, "uncounted", signer->uncounted);
        add_count(out, "vouched", signer->vouched);
        conv_add_char(out, '}');
    }
    if (signers.count)
        conv_add_char(out, '}');
    conv_signers_free(&signers);
    return status;
}

static glassine_status add_document(writer *w, glassine_error *error) {
    conv_output *out = &w->json.out;
    char digest[65];
    glassine_bundle_digest(w->json.bundle, digest);
    conv_add_char(out, '{');
    json_string_member(out, "bundle", conv_span_of(glassine_bundle_uuid(w->json.bundle)));
    glassine_status status = add_cautions(w, error);
    if (status)
        return status;
    json_string_member(out, "digest", conv_span_of(digest));
    json_string_member(out, "format", conv_span_of("glassine"));
    json_string_member(out, "keeper", conv_span_of(glassine_bundle_keeper(w->json.bundle)));
    json_true_member(out, "private", w->options.with_private);
    status = add_records(w, error);
    if (status)
        return status;
    status = add_signers(w, error);
    if (status)
        return status;
    json_string_member(out, "title", conv_span_of(glassine_bundle_title(w->json.bundle)));
    json_string_member(out, "version", conv_span_of(JSON_DOCUMENT_VERSION));
    conv_add_text(out, "}\n");
    int code = conv_finish(out);
    return code ? conv_fail_system(error, code, NULL, "Cannot write the document") : GLASSINE_OK;
}

glassine_status glassine_to_json(glassine_bundle *bundle, const glassine_json_options *options,
                                 glassine_write write, void *context, glassine_error *error) {
    writer w = {.json = {.bundle = bundle, .out = {.write = write, .context = context}}};
    if (options)
        w.options = *options;
    w.json.history = w.options.history;
    w.json.view = (conv_view){.bundle = bundle, .with_private = w.options.with_private};
    glassine_status status = collect_records(&w, error);
    if (!status)
        status = add_document(&w, error);
    conv_free(&w.json.out);
    conv_view_free(&w.json.view);
    free(w.records);
    return status;
}
