/* A bundle as JSON Lines, a file for each type: spec/json-document.md, "Lines". */
#include <stdio.h>

#include "converters.h"
#include "folder.h"
#include "json_record.h"
#include "tables.h"

typedef struct writer {
    glassine_bundle *bundle;
    glassine_json_options options;
    glassine_node *files; /* of the report */
    conv_folder folder;
    json_writer json;
    conv_output listed; /* of about.json */
    char file[128];
} writer;

static glassine_status begin(void *context, const tables *walk, glassine_error *error) {
    writer *w = context;
    snprintf(w->file, sizeof w->file, "%.*s.jsonl", (int)walk->type.length, walk->type.text);
    return conv_folder_begin(&w->folder, w->file, &w->json.out, error);
}

static glassine_status add_line(void *context, tables *walk, glassine_error *error) {
    writer *w = context;
    (void)error; /* what cannot be written is told when the file ends */
    conv_view own = w->json.view;
    w->json.view = walk->view;
    json_add_record(&w->json);
    conv_add_char(&w->json.out, '\n');
    w->json.view = own;
    return GLASSINE_OK;
}

static glassine_status end(void *context, const tables *walk, glassine_error *error) {
    writer *w = context;
    json_member(&w->listed, conv_span_of(w->file));
    conv_printf(&w->listed, "%zu", walk->rows);
    glassine_node *row = glassine_node_object(w->files, NULL, NULL);
    glassine_node_string(row, "file", "File", w->file);
    glassine_node_text(row, "type", "Type", walk->type);
    glassine_node_integer(row, "records", "Records", (int64_t)walk->rows);
    return conv_folder_end(&w->folder, &w->json.out, error);
}

static glassine_status write_about(writer *w, const tables *walk, glassine_error *error) {
    conv_output out;
    char digest[65];
    glassine_status status = conv_folder_begin(&w->folder, "about.json", &out, error);
    if (status)
        return status;
    glassine_bundle_digest(w->bundle, digest);
    conv_add_char(&out, '{');
    json_string_member(&out, "bundle", conv_span_of(glassine_bundle_uuid(w->bundle)));
    json_add_cautions(&out, &walk->cautions);
    json_string_member(&out, "digest", conv_span_of(digest));
    json_open_object(&out, "files");
    conv_add(&out, conv_span(&w->listed));
    conv_add_char(&out, '}');
    json_string_member(&out, "format", conv_span_of("glassine"));
    json_string_member(&out, "keeper", conv_span_of(glassine_bundle_keeper(w->bundle)));
    json_true_member(&out, "private", w->options.with_private);
    json_string_member(&out, "title", conv_span_of(glassine_bundle_title(w->bundle)));
    json_string_member(&out, "version", conv_span_of(JSON_DOCUMENT_VERSION));
    conv_add_text(&out, "}\n");
    out.failed = out.failed ? out.failed : w->listed.failed;
    return conv_folder_end(&w->folder, &out, error);
}

static glassine_status write_all(writer *w, tables *walk, glassine_error *error) {
    const tables_sink sink = {w, begin, add_line, end};
    w->listed.last = '{'; /* where it goes to */
    glassine_status status = tables_walk(walk, &sink, error);
    if (!status)
        status = write_about(w, walk, error);
    return status ? status : conv_folder_keep(&w->folder, error);
}

glassine_status glassine_to_json_lines(glassine_bundle *bundle, const char *folder,
                                       const glassine_json_options *options, glassine_report *report,
                                       glassine_error *error) {
    writer w = {.bundle = bundle};
    if (options)
        w.options = *options;
    w.json = (json_writer){.bundle = bundle, .history = w.options.history, .lines = true};
    glassine_status status = conv_folder_open(&w.folder, folder, error);
    if (status)
        return status;
    tables walk;
    tables_new(&walk, bundle, w.options.with_private, true);
    walk.without_columns = true;
    glassine_node *result = glassine_report_result(report);
    glassine_node_string(result, "folder", "Folder", folder);
    glassine_node_truth(result, "private", w.options.with_private ? "With private fields" : NULL,
                        w.options.with_private);
    w.files = glassine_node_table(result, "files", "Files");
    status = write_all(&w, &walk, error);
    if (!status && w.options.with_private)
        glassine_report_finding(report, GLASSINE_WARNING, NULL, folder, "Do not pass them on",
                                "the files hold private fields");
    conv_folder_close(&w.folder);
    tables_free(&walk);
    conv_free(&w.json.out);
    conv_free(&w.listed);
    return status;
}
