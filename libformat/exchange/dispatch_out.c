/* What a dispatch puts where: the bundle, and in a folder the page, the letter and the sheet beside it. */
#include "exchange/dispatch.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/error.h"
#include "base/file.h"
#include "exchange/answer_sheet.h"
#include "exchange/letter.h"

#define PAGE_NAME GL_BAG_PAGE
#define LETTER_NAME "letter.txt"
#define SHEET_NAME "answers.csv"

glassine_status gl_dispatch_place(gl_dispatching *it, const char *out, glassine_error *error) {
    size_t length = strlen(out);
    bool folder = length && out[length - 1] == '/';
    gl_buf_add_text(&it->path, out);
    if (!folder && it->options->sheet) {
        gl_fail(error, GLASSINE_REFUSED, NULL, out, "a sheet goes into a folder beside the bundle");
        gl_error_remedy(error, "End the name with a slash: -o FOLDER/");
        return GLASSINE_REFUSED;
    }
    if (!folder)
        return it->path.failed ? gl_fail_memory(error) : GLASSINE_OK;
    int code = gl_file_make_folder(out);
    if (code == EEXIST) {
        gl_fail(error, GLASSINE_REFUSED, NULL, out, "the folder is there already");
        gl_error_remedy(error, "Choose another name, or move it away");
        return GLASSINE_REFUSED;
    }
    if (code)
        return gl_fail_making(error, code, out, "cannot be made");
    it->folder = out;
    gl_span name = gl_path_name(gl_span_part(gl_span_of(out), 0, length - 1).text);
    while (name.length && name.text[name.length - 1] == '/')
        name.length--;
    gl_buf_add(&it->path, name);
    gl_buf_add_text(&it->path, ".glassine");
    return it->path.failed ? gl_fail_memory(error) : GLASSINE_OK;
}

/* ---- what lies beside the bundle ---- */

static glassine_status make_letter(gl_dispatching *it, const gl_span *ids, glassine_error *error) {
    glassine_status status =
        gl_letter_write(it->make.bundle, ids, it->item_count, it->options->ask, gl_path_name(it->path.text),
                        it->page.length > 0, &it->letter, error);
    if (!status && it->options->sheet)
        status = gl_answer_sheet_write(it->make.bundle, ids, it->item_count, &it->sheet, error);
    if (!status && (it->letter.failed || it->sheet.failed))
        status = gl_fail_memory(error);
    return gl_bundle_end(it->make.bundle, NULL, status, error);
}

static int keep(void *context, const char *bytes, size_t length) {
    gl_buf *out = context;
    gl_buf_add_bytes(out, bytes, length);
    return out->failed ? ENOMEM : 0;
}

static glassine_status make_page(gl_dispatching *it, glassine_error *error) {
    const glassine_dispatch_options *options = it->options;
    if (!options->page)
        return GLASSINE_OK;
    glassine_status status =
        options->page(options->context, it->make.bundle, it->bundle, it->limit, keep, &it->page, error);
    return status ? status : gl_make_add_page(&it->make, gl_buf_span(&it->page), error);
}

glassine_status gl_dispatch_make_rest(gl_dispatching *it, glassine_error *error) {
    gl_buf_clear(&it->page);
    gl_buf_clear(&it->letter);
    gl_buf_clear(&it->sheet);
    glassine_status status = make_page(it, error);
    if (status || !it->folder)
        return status;
    gl_span *ids = calloc(it->item_count, sizeof *ids);
    if (!ids)
        return gl_fail_memory(error);
    for (size_t i = 0; i < it->item_count; i++)
        ids[i] = gl_record_id(it->bundle, it->items[i]);
    status = make_letter(it, ids, error);
    free(ids);
    return status;
}

glassine_status gl_dispatch_size(gl_dispatching *it, uint64_t *bytes, glassine_error *error) {
    int fd, code = gl_file_open_read(it->make.temporary, &fd);
    if (!code) {
        code = gl_file_size(fd, bytes);
        gl_file_close(fd);
    }
    if (code)
        return gl_fail_system(error, code, it->path.text, "cannot be looked at");
    if (it->folder)
        *bytes += it->page.length + it->letter.length + it->sheet.length;
    return GLASSINE_OK;
}

/* ---- names ---- */

static glassine_status write_beside(gl_dispatching *it, const char *name, const gl_buf *content,
                                    glassine_error *error) {
    gl_buf path = GL_BUF_EMPTY;
    if (!it->folder || !content->length)
        return GLASSINE_OK;
    gl_buf_printf(&path, "%s%s", it->folder, name);
    int code = path.failed ? ENOMEM : gl_file_write_all(path.text, gl_buf_span(content), true);
    glassine_status status = code ? gl_fail_system(error, code, path.text, "cannot be written") : GLASSINE_OK;
    gl_buf_free(&path);
    return status;
}

glassine_status gl_dispatch_publish(gl_dispatching *it, glassine_error *error) {
    glassine_status status = gl_dispatch_size(it, &it->bytes, error);
    if (!status)
        status = gl_make_publish(&it->make, false, error);
    if (status)
        return status;
    status = write_beside(it, PAGE_NAME, &it->page, error);
    if (!status)
        status = write_beside(it, LETTER_NAME, &it->letter, error);
    if (!status)
        status = write_beside(it, SHEET_NAME, &it->sheet, error);
    if (status)
        gl_file_remove(it->path.text);
    return status;
}

void gl_dispatch_take_away(gl_dispatching *it) {
    static const char *const names[] = {PAGE_NAME, LETTER_NAME, SHEET_NAME};
    if (!it->folder)
        return;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        char path[PATH_MAX]; /* there may be no memory left */
        if (snprintf(path, sizeof path, "%s%s", it->folder, names[i]) < (int)sizeof path)
            gl_file_remove(path);
    }
    rmdir(it->folder);
}

void gl_dispatch_free(gl_dispatching *it) {
    gl_buf_free(&it->path);
    gl_buf_free(&it->page);
    gl_buf_free(&it->letter);
    gl_buf_free(&it->sheet);
    gl_buf_free(&it->copies.left);
}

/* ---- what is told ---- */

static void tell_scans(const gl_dispatching *it, glassine_node *result) {
    static const char *const names[] = {"full", "reduced", "none"};
    const gl_copies *copies = &it->copies;
    glassine_node_integer(result, "scans", "scans",
                          (int64_t)(copies->whole + copies->cleared + copies->reduced));
    glassine_node_integer(result, "scans_cleared", copies->cleared ? "without metadata" : NULL,
                          (int64_t)copies->cleared);
    glassine_node_integer(result, "scans_reduced", copies->reduced ? "made smaller" : NULL,
                          (int64_t)copies->reduced);
    glassine_node_string(result, "scans_carried", NULL, names[it->options->scans]);
    glassine_node_integer(result, "scan_limit",
                          it->options->size_limit ? "pictures at most, in pixels" : NULL, it->limit);
    glassine_node_integer(result, "bytes", "bytes", (int64_t)it->bytes);
}

void gl_dispatch_tell(gl_dispatching *it, glassine_report *report) {
    glassine_node *result = glassine_report_result(report);
    bool blind = it->options->blind;
    glassine_report_about(report, it->bundle->path, it->bundle->edition);
    glassine_node_string(result, "written", "written", it->path.text);
    glassine_node_text(result, "to", NULL, gl_record_id(it->bundle, it->to));
    glassine_node_text(result, "to_name", "for", glassine_record_label(it->bundle, it->to));
    glassine_node_string(result, "event", NULL, it->event);
    glassine_node_string(result, "bundle_uuid", NULL, it->make.bundle->about.uuid);
    glassine_node_truth(result, "blind", "blind", blind);
    glassine_node_integer(result, "items", "items", (int64_t)it->item_count);
    glassine_node_integer(result, "slips", "slips", (int64_t)it->slips);
    tell_scans(it, result);
    glassine_node_truth(result, "page", NULL, it->page.length > 0);
    glassine_node_truth(result, "letter", NULL, it->letter.length > 0);
    glassine_node_truth(result, "sheet", NULL, it->sheet.length > 0);
    if (it->folder && it->page.length)
        glassine_node_say(result, PAGE_NAME " beside it shows everything in a browser, and takes answers.");
    if (it->letter.length)
        glassine_node_say(result, LETTER_NAME " beside it has numbered questions to paste into an e-mail.");
    if (it->sheet.length)
        glassine_node_say(result, SHEET_NAME " beside it is a sheet to fill in.");
    glassine_node_say(result, "Private fields stayed behind%s.",
                      blind ? ", and so did claims, opinions and whatever might tell a position" : "");
    if (!it->options->keep_metadata && it->copies.cleared)
        glassine_node_say(result, "So did the places, names and serial numbers that scans carried.");
    gl_copies_tell(&it->copies, report);
}
