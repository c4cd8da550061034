/* to-html: the page that opens without the program. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "converters.h"
#include "refuse.h"
#include "verbs.h"

#define SCAN_LIMIT_MOST 65000 /* more pixels than a JPEG picture has on a side */

static glassine_status scan_limit(cli_call *call, uint32_t *limit) {
    const char *text = call->args->option[CLI_SCAN_LIMIT];
    *limit = GLASSINE_SCAN_LIMIT;
    if (text == NULL) {
        return GLASSINE_OK;
    }
    char *end;
    unsigned long value = strtoul(text, &end, 10);
    if (*text < '0' || *text > '9' || *end != '\0' || value > SCAN_LIMIT_MOST) {
        return cli_refuse(call->error, NULL,
                          "For example --scan-limit 1600, or 0 for pictures as they were scanned",
                          "--scan-limit takes a whole number of pixels up to %d", SCAN_LIMIT_MOST);
    }
    *limit = (uint32_t)value;
    return GLASSINE_OK;
}

static glassine_status face(cli_call *call, glassine_face *chosen) {
    static const cli_option options[] = {CLI_TALK, CLI_SCHEDULE, CLI_HANDOVER};
    unsigned given = 0;
    *chosen = GLASSINE_FACE_ITEMS;
    for (unsigned i = 0; i < 3; i++) {
        if (cli_has(call->args, options[i])) {
            *chosen = (glassine_face)(GLASSINE_FACE_TALK + i);
            given++;
        }
    }
    return given <= 1 ? GLASSINE_OK
                      : cli_refuse(call->error, NULL, "Write a page for each",
                                   "--talk, --schedule and --handover are different pages");
}

static int write_file(void *context, const char *bytes, size_t length) {
    errno = 0;
    return fwrite(bytes, 1, length, context) == length ? 0 : errno != 0 ? errno : EIO;
}

/* Into a new file; nothing of it stays where the writing fails. */
static glassine_status write_page(cli_call *call, const glassine_html_options *options, const char *out) {
    FILE *file = fopen(out, "wbx");
    if (file == NULL) {
        return cli_cannot_make(call->error, errno, out, "OUT names a new file");
    }
    glassine_status status =
        glassine_to_html(call->bundle, options, write_file, file, call->report, call->error);
    if (status == GLASSINE_OK && (fflush(file) != 0 || fsync(fileno(file)) != 0)) {
        status = cli_system(call->error, errno, out, NULL, "cannot be written");
    }
    if (fclose(file) != 0 && status == GLASSINE_OK) {
        status = cli_system(call->error, errno, out, NULL, "cannot be written");
    }
    if (status != GLASSINE_OK) {
        unlink(out);
    }
    return status;
}

glassine_status cli_to_html(cli_call *call) {
    const char *out = call->args->option[CLI_OUT];
    glassine_html_options options = {.with_private = cli_has(call->args, CLI_WITH_PRIVATE),
                                     .selection = call->args->option[CLI_SELECTION]};
    if (out == NULL) {
        return cli_refuse(call->error, NULL, "-o OUT names the new file", "nothing says where to write");
    }
    glassine_status status = scan_limit(call, &options.scan_limit);
    if (status == GLASSINE_OK) {
        status = face(call, &options.face);
    }
    if (status == GLASSINE_OK) {
        status = write_page(call, &options, out);
    }
    if (status == GLASSINE_OK) {
        glassine_node_string(call->result, "written", "written", out);
    }
    return status;
}
