/* A workbook. An archive as it stands; or its five members one behind the other with NUL bytes between, of
 * which a ZIP file is made here, so that no CRC and no deflate stream keeps the XML from being met. */
#include "fuzz.h"

#include <zlib.h>

#include "base/text.h"
#include "xlsx_in.h"

static const char *const members[] = {"xl/workbook.xml", "xl/_rels/workbook.xml.rels",
                                      "xl/worksheets/sheet1.xml", "xl/styles.xml", "xl/sharedStrings.xml"};
enum { MEMBERS = sizeof members / sizeof *members };

static void add(gl_buf *out, uint64_t value, unsigned width) {
    for (unsigned i = 0; i < width; i++)
        gl_buf_add_char(out, (char)(i < 8 ? value >> 8 * i & 0xff : 0));
}

/* What a local header and a directory record have in common (APPNOTE 4.3.7, 4.3.12): from "version needed"
 * on. */
static void add_common(gl_buf *out, const char *name, gl_span content) {
    add(out, 20, 2);
    add(out, 0, 8); /* flags, stored, time, date */
    add(out, crc32(0, (const Bytef *)content.text, (uInt)content.length), 4);
    add(out, content.length, 4);
    add(out, content.length, 4);
    add(out, strlen(name), 2);
    add(out, 0, 2);
}

static void make_zip(gl_span text, gl_buf *out) {
    gl_buf directory = GL_BUF_EMPTY;
    unsigned count = 0;
    for (size_t at = 0; count < MEMBERS && at <= text.length; count++) {
        const char *end = at < text.length ? memchr(text.text + at, 0, text.length - at) : NULL;
        gl_span content = {text.text + at, (end ? (size_t)(end - text.text) : text.length) - at};
        add(&directory, 0x02014b50, 4);
        add(&directory, 20, 2);
        add_common(&directory, members[count], content);
        add(&directory, 0, 10); /* comment, disk, attributes */
        add(&directory, out->length, 4);
        gl_buf_add_text(&directory, members[count]);
        add(out, 0x04034b50, 4);
        add_common(out, members[count], content);
        gl_buf_add_text(out, members[count]);
        gl_buf_add(out, content);
        at += content.length + 1;
    }
    size_t start = out->length;
    gl_buf_add(out, gl_buf_span(&directory));
    add(out, 0x06054b50, 4);
    add(out, 0, 4);
    add(out, count, 2);
    add(out, count, 2);
    add(out, directory.length, 4);
    add(out, start, 4);
    add(out, 0, 2);
    gl_buf_free(&directory);
}

static void use(const char *path) {
    xlsx_book book = {0};
    glassine_error error = {0};
    glassine_status status = xlsx_get(path, &book, &error);
    fuzz_said(status, &error);
    for (size_t i = 0; !status && i < book.part_count; i++)
        for (size_t cell = 0; cell < book.sheets[i].cell_count; cell++) {
            const grid_cell *one = &book.sheets[i].cells[cell];
            FUZZ_HOLDS(gl_utf8_check((gl_span){one->text, one->length}) == one->length);
        }
    xlsx_free(&book);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    gl_buf zip = GL_BUF_EMPTY;
    if (size > 1 && data[0] == 'P' && data[1] == 'K')
        gl_buf_add(&zip, fuzz_span(data, size));
    else
        make_zip(size ? fuzz_span(data, size) : GL_SPAN(""), &zip);
    use(fuzz_file("a.xlsx", gl_buf_span(&zip)));
    gl_buf_free(&zip);
    return 0;
}
