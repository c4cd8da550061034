/* The end of a save: directory, Zip64 records, end record, each on disk before the next depends on it; and
 * the way back, where something failed. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/footer.h"
#include "container/writing.h"

enum { TAIL_NAMES = 1000 };

/* A new file beside the bundle: NAME.tail-N, or NAME.tail-N-2 … where that is there. */
static int make_tail_file(gl_writer *writer, int *fd) {
    int code = ENAMETOOLONG;
    for (unsigned i = 1; i <= TAIL_NAMES; i++) {
        gl_buf name = GL_BUF_EMPTY;
        gl_buf_printf(&name, "%s.tail-%" PRIu32, writer->path, writer->edition);
        if (i > 1)
            gl_buf_printf(&name, "-%u", i);
        if (name.failed) {
            gl_buf_free(&name);
            return ENOMEM;
        }
        code = gl_file_open_write(name.text, true, fd);
        if (!code) {
            writer->tail_path = name.text;
            return 0;
        }
        gl_buf_free(&name);
        if (code != EEXIST)
            break;
    }
    return code;
}

static int save_tail(gl_writer *writer) {
    int fd, code = make_tail_file(writer, &fd);
    if (code)
        return code;
    code = gl_file_copy_range(writer->fd, writer->start, fd, 0, writer->tail);
    if (!code)
        code = gl_file_sync(fd);
    int closing = gl_file_close(fd);
    if (!code)
        code = closing;
    if (!code)
        code = gl_file_sync_folder_of(writer->tail_path);
    if (!code)
        return 0;
    gl_file_remove(writer->tail_path);
    free(writer->tail_path);
    writer->tail_path = NULL;
    return code;
}

glassine_status gl_writer_begin(gl_writer *writer, glassine_error *error) {
    if (writer->begun)
        return GLASSINE_OK;
    uint64_t size;
    int code = gl_file_size(writer->fd, &size);
    if (code)
        return gl_fault_reading(error, code, writer->path);
    if (size != writer->start + writer->tail)
        return gl_fail(error, GLASSINE_REFUSED, NULL, writer->path,
                       "the file has changed since it was opened");
    if (writer->tail && (code = save_tail(writer)) != 0)
        return gl_fail_system(error, code, writer->path,
                              "the bytes behind its last edition cannot be saved first");
    writer->begun = true;
    if (writer->tail && (code = gl_file_truncate(writer->fd, writer->start)) != 0) {
        writer->broken = true;
        return gl_fault_writing(error, code, writer->path);
    }
    return GLASSINE_OK;
}

/* The copy of the tail goes away only once the file surely has it again. */
static void put_tail_back(gl_writer *writer) {
    int fd;
    if (gl_file_open_read(writer->tail_path, &fd))
        return;
    int code = gl_file_copy_range(fd, 0, writer->fd, writer->start, writer->tail);
    gl_file_close(fd);
    if (!code && !gl_file_sync_data(writer->fd))
        gl_file_remove(writer->tail_path);
}

void gl_writer_undo(gl_writer *writer) {
    if (gl_file_truncate(writer->fd, writer->start))
        return;
    if (writer->tail_path)
        put_tail_back(writer);
    else
        gl_file_sync_data(writer->fd);
}

static void add_record(gl_buf *records, const gl_entry *entry, gl_footer *footer) {
    uint8_t record[GL_RECORD_MAX];
    gl_buf_add_bytes(records, record, gl_layout_record(entry, record));
    footer->entries++;
}

/* Kept entries lie before this edition's, each in the order of the file: so the directory is sorted by place.
 */
static glassine_status make_records(const gl_writer *writer, gl_footer *footer, gl_buf *records,
                                    glassine_error *error) {
    uint8_t zip64[GL_END64_BOTH];
    size_t kept = writer->zip ? gl_zip_count(writer->zip) : 0;
    for (size_t i = 0; i < kept; i++)
        if (!writer->dropped[i])
            add_record(records, gl_zip_at(writer->zip, i), footer);
    for (size_t i = 0; i < writer->fresh_count; i++)
        add_record(records, &writer->fresh[i], footer);
    footer->directory_size = records->length;
    gl_buf_add_bytes(records, zip64, gl_layout_end64(footer, zip64));
    return records->failed ? gl_fail_memory(error) : GLASSINE_OK;
}

static glassine_status sync_data(const gl_writer *writer, glassine_error *error) {
    int code = gl_file_sync_data(writer->fd);
    return code ? gl_fail_system(error, code, writer->path, "cannot be brought safely to disk") : GLASSINE_OK;
}

static glassine_status write_end(gl_writer *writer, gl_end *end, glassine_error *error) {
    uint8_t record[GL_END_MAX];
    size_t length = gl_layout_end(&end->footer, record);
    end->footer.end = end->at + length;
    glassine_status status = sync_data(writer, error);
    if (!status)
        status = gl_writer_put(writer, record, length, end->at, error);
    return status ? status : sync_data(writer, error);
}

static glassine_status write_footer(gl_writer *writer, gl_buf *records, glassine_error *error) {
    gl_footer *footer = &writer->end.footer;
    *footer = (gl_footer){
        .start = writer->start,
        .directory_at = writer->at,
        .edition = writer->edition,
        .major = GLASSINE_FORMAT_MAJOR,
        .minor = GLASSINE_FORMAT_MINOR,
    };
    glassine_status status = make_records(writer, footer, records, error);
    if (!status)
        status = gl_writer_put(writer, records->text, records->length, writer->at, error);
    gl_file file = {.fd = writer->fd, .path = writer->path};
    if (!status)
        status = gl_sum_edition(&file, writer->base, writer->fresh, writer->fresh_count, gl_buf_span(records),
                                &footer->sum, error);
    writer->end.records = writer->at + footer->directory_size;
    writer->end.at = writer->at + records->length;
    return status ? status : write_end(writer, &writer->end, error);
}

glassine_status gl_writer_finish(gl_writer *writer, uint64_t *end, glassine_error *error) {
    if (writer->broken || writer->finished)
        return gl_fail(error, GLASSINE_REFUSED, NULL, writer->path, "this save is over, or failed before");
    if (writer->fresh_count == 0)
        return gl_fail(error, GLASSINE_REFUSED, "C052", writer->path, "an edition must add an entry");
    gl_buf records = GL_BUF_EMPTY;
    glassine_status status = write_footer(writer, &records, error);
    gl_buf_free(&records);
    writer->finished = !status;
    writer->broken = status != GLASSINE_OK;
    *end = writer->end.footer.end;
    return status;
}
