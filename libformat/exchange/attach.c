/* Attaching a scan: its bytes go to the end of the file in one pass, its record into the draft. */
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "exchange/gather.h"

/* The item's scan with these bytes, if it has one. */
static glassine_status find_scan(glassine_bundle *bundle, glassine_record *item, const char *hex,
                                 glassine_record **scan, glassine_error *error) {
    glassine_record *const *scans;
    size_t count;
    *scan = NULL;
    glassine_status status = glassine_record_referrers(bundle, item, "scan", true, &scans, &count, error);
    for (size_t i = 0; i < count && !status && !*scan; i++)
        if (gl_span_is(glassine_record_text(bundle, scans[i], "sha256"), hex))
            *scan = scans[i];
    return status;
}

/* Fields that the file itself says, as text for the table to check. */
typedef struct facts {
    char sha256[GL_HEX_SIZE], bytes[24], width[16], height[16], dpi_x[16], dpi_y[16];
    char item[96];
    gl_buf name;
} facts;

static size_t add_facts(const facts *said, const gl_image *image, glassine_assignment *out) {
    size_t count = 0;
    out[count++] = (glassine_assignment){"item", said->item, NULL};
    out[count++] = (glassine_assignment){"sha256", said->sha256, NULL};
    out[count++] = (glassine_assignment){"bytes", said->bytes, NULL};
    out[count++] = (glassine_assignment){"media", image->media, NULL};
    if (said->name.length)
        out[count++] = (glassine_assignment){"name", said->name.text, NULL};
    if (image->width && image->height) {
        out[count++] = (glassine_assignment){"width", said->width, NULL};
        out[count++] = (glassine_assignment){"height", said->height, NULL};
    }
    if (image->dpi_x && image->dpi_y) {
        out[count++] = (glassine_assignment){"dpi_x", said->dpi_x, NULL};
        out[count++] = (glassine_assignment){"dpi_y", said->dpi_y, NULL};
    }
    return count;
}
enum { FACTS = 9 };

glassine_status gl_enter_scan(glassine_draft *draft, gl_span item, gl_span name, uint64_t size,
                              const gl_image *image, const char *hex, const glassine_assignment *fields,
                              size_t count, glassine_record **scan, glassine_error *error) {
    facts said = {.name = GL_BUF_EMPTY};
    gl_text_add_nfc(&said.name, name);
    snprintf(said.item, sizeof said.item, "%.*s", GL_SPAN_ARGS(item));
    snprintf(said.sha256, sizeof said.sha256, "%s", hex);
    snprintf(said.bytes, sizeof said.bytes, "%llu", (unsigned long long)size);
    snprintf(said.width, sizeof said.width, "%u", image->width);
    snprintf(said.height, sizeof said.height, "%u", image->height);
    snprintf(said.dpi_x, sizeof said.dpi_x, "%u", image->dpi_x);
    snprintf(said.dpi_y, sizeof said.dpi_y, "%u", image->dpi_y);
    glassine_assignment *all = calloc(count + FACTS, sizeof *all);
    glassine_status status = all && !said.name.failed ? GLASSINE_OK : gl_fail_memory(error);
    if (!status) {
        size_t known = add_facts(&said, image, all);
        if (count)
            memcpy(all + known, fields, count * sizeof *all);
        status = glassine_draft_enter(draft, "scan", all, known + count, NULL, scan, error);
    }
    gl_buf_free(&said.name);
    free(all);
    return status;
}

static void warn_of_image(const gl_image *image, const char *path, glassine_report *report) {
    if (!report)
        return;
    if (image->trouble)
        glassine_report_finding(report, GLASSINE_WARNING, NULL, path,
                                "It is kept as it is; scan it again if you can", "the image is not sound: %s",
                                image->trouble);
    if (image->place || image->maker_serial || image->person)
        glassine_report_finding(
            report, GLASSINE_WARNING, NULL, path,
            "A dispatch and the page leave it out; whoever gets the file itself can read it",
            "the file carries%s%s%s", image->place ? " the place where it was made" : "",
            image->maker_serial ? image->place ? ", a serial number" : " a serial number" : "",
            image->person ? image->place || image->maker_serial ? ", a name" : " a name" : "");
}

glassine_status glassine_draft_attach(glassine_draft *draft, glassine_record *item, const char *path,
                                      const glassine_assignment *fields, size_t count,
                                      glassine_record **record, bool *known, glassine_report *report,
                                      glassine_error *error) {
    *record = NULL;
    *known = false;
    bool before;
    const gl_gathered *file = gl_draft_gathered(draft, path);
    glassine_status status = file ? GLASSINE_OK : glassine_draft_gather(draft, &path, 1, &before, error);
    if (status)
        return status;
    file = gl_draft_gathered(draft, path);
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&file->digest, hex);
    status = find_scan(draft->bundle, item, hex, record, error);
    if (!status && *record) {
        *known = true;
        return GLASSINE_OK;
    }
    warn_of_image(&file->image, path, report);
    return status ? status
                  : gl_enter_scan(draft, gl_record_id(draft->bundle, item), gl_path_name(path), file->size,
                                  &file->image, hex, fields, count, record, error);
}
