#include "exchange/letter.h"

#include "base/error.h"
#include "base/text.h"
#include "bundle/names.h"

glassine_status gl_letter_stamps(glassine_bundle *sent, const gl_span *items, size_t count, gl_span **out,
                                 size_t *out_count, glassine_error *error) {
    *out_count = 0;
    *out = NULL;
    for (size_t i = 0; i < count; i++) {
        glassine_record **stamps;
        size_t more;
        glassine_status status = gl_item_stamps(sent, items[i], &stamps, &more, error);
        if (status)
            return status;
        gl_span *grown = GL_ARENA_ARRAY(sent->arena, gl_span, *out_count + more + 1);
        if (!grown)
            return gl_fail_memory(error);
        if (*out_count)
            memcpy(grown, *out, *out_count * sizeof *grown);
        for (size_t k = 0; k < more; k++)
            grown[(*out_count)++] = gl_record_id(sent, stamps[k]);
        *out = grown;
    }
    return GLASSINE_OK;
}

static void add_scans(glassine_bundle *sent, glassine_record *record, gl_buf *out) {
    glassine_record *const *scans;
    size_t count;
    if (glassine_record_referrers(sent, record, "scan", false, &scans, &count, NULL))
        return;
    size_t own = 0;
    for (size_t i = 0; i < count; i++)
        own += !glassine_record_text(sent, scans[i], "taken_from")
                    .length; /* else a copy of one that is counted */
    if (own)
        gl_buf_printf(out, "   %zu scan%s of it.\n", own, own == 1 ? "" : "s");
}

static void add_stamp(glassine_bundle *sent, glassine_record *stamp, size_t number, gl_buf *out) {
    gl_buf_printf(out, "%zu. ", number);
    gl_text_add_shown(out, glassine_record_label(sent, stamp), false);
    gl_span design = glassine_record_text(sent, stamp, "design");
    glassine_record *of = design.text ? glassine_bundle_record(sent, design, GL_NO_SPAN) : NULL;
    if (of) {
        gl_buf_add_text(out, " - ");
        gl_text_add_shown(out, glassine_record_label(sent, of), false);
    }
    gl_buf_add_text(out, "\n   From which position, or which positions, does it come, and in which state?\n");
}

static void add_heading(glassine_bundle *sent, const char *ask, gl_span file_name, bool page, gl_buf *out) {
    gl_buf_add_text(out, "Subject: ");
    gl_text_add_shown(out, gl_span_of(sent->about.title), false);
    gl_buf_add_text(out, "\n\n");
    if (ask && *ask) {
        gl_text_add_shown(out, gl_span_of(ask), true);
        gl_buf_add_text(out, "\n\n");
    }
    gl_buf_add_text(out, "The attached file ");
    gl_text_add_shown(out, file_name, false);
    gl_buf_add_text(out,
                    " holds the scans and what is known of these stamps. Any unzip program\n"
                    "opens it; the pictures are in its folder data/scans. With the program glassine, the\n"
                    "answers can be written into the file itself.\n\n");
    if (page)
        gl_buf_add_text(
            out, "open-me.html, which is attached or lies in that file, shows everything in a browser. Look\n"
                 "closely, answer there, and send back the file that \"Save the reply\" makes.\n\n");
    gl_buf_add_text(out,
                    "To answer by e-mail, put the number before each answer, for instance\n\n"
                    "   1: 64, early state, certain\n"
                    "   2: column 4 but not row 2, possible\n"
                    "   3: cannot tell\n\n"
                    "Positions count from the top left, along the rows. An answer is taken as your opinion,\n"
                    "and as no certificate.\n\n");
}

glassine_status gl_letter_write(glassine_bundle *sent, const gl_span *items, size_t count, const char *ask,
                                gl_span file_name, bool page, gl_buf *out, glassine_error *error) {
    size_t number = 0;
    add_heading(sent, ask, file_name, page, out);
    for (size_t i = 0; i < count; i++) {
        glassine_record *item = glassine_bundle_record(sent, items[i], GL_NO_SPAN);
        glassine_record **stamps;
        size_t stamp_count;
        if (!item)
            continue;
        glassine_status status = gl_item_stamps(sent, items[i], &stamps, &stamp_count, error);
        if (status)
            return status;
        for (size_t k = 0; k < stamp_count; k++)
            add_stamp(sent, stamps[k], ++number, out);
        add_scans(sent, item, out);
        gl_buf_add_char(out, '\n');
    }
    return GLASSINE_OK;
}
