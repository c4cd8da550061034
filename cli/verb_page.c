/* to-html, and FILE alone: the page that opens without the program. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "browser.h"
#include "numbers.h"
#include "page.h"
#include "refuse.h"
#include "system.h"
#include "verbs.h"

#define SCHEDULE_SCAN_LIMIT 480 /* pictures as large as a thumb */

glassine_status cli_scan_limit(cli_call *call, uint32_t *limit) {
    const char *typed = call->args->option[CLI_SCAN_LIMIT];
    *limit = GLASSINE_SCAN_LIMIT;
    return typed != NULL ? cli_read_pixels("scan-limit", typed, limit, call->error) : GLASSINE_OK;
}

glassine_status cli_size_limit(cli_call *call, uint64_t *limit) {
    const char *typed = call->args->option[CLI_SIZE_LIMIT];
    *limit = 0;
    return typed != NULL ? cli_read_size("size-limit", typed, limit, call->error) : GLASSINE_OK;
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

/* Into the open file; nothing of it stays where the writing fails. */
static glassine_status write_page(cli_call *call, const glassine_html_options *options, const char *out,
                                  FILE *file) {
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

static int count_bytes(void *context, const char *bytes, size_t length) {
    (void)bytes;
    *(uint64_t *)context += length;
    return 0;
}

typedef struct sizing {
    glassine_bundle *bundle;
    glassine_html_options options;
} sizing;

static glassine_status measure(void *context, uint32_t limit, uint64_t *bytes, glassine_error *error) {
    sizing *it = context;
    it->options.scan_limit = limit;
    *bytes = 0;
    return glassine_to_html(it->bundle, &it->options, count_bytes, bytes, NULL, error);
}

/* The longest side of a scan that there is. */
static glassine_status longest_side(cli_call *call, int64_t *longest) {
    glassine_cursor *cursor;
    *longest = 0;
    glassine_status status = glassine_cursor_new(call->bundle, "scan", false, &cursor, call->error);
    for (glassine_record *scan; status == GLASSINE_OK && (scan = glassine_cursor_next(cursor)) != NULL;) {
        static const char *const SIDES[] = {"width", "height"};
        for (int i = 0; i < 2; i++) {
            int64_t side;
            if (glassine_record_integer(call->bundle, scan, SIDES[i], &side) && side > *longest) {
                *longest = side;
            }
        }
    }
    glassine_cursor_free(cursor);
    return status;
}

/* --size-limit: the largest pictures that fit, no larger than --scan-limit where that is given. */
static glassine_status fit(cli_call *call, glassine_html_options *options) {
    uint64_t bytes;
    int64_t most;
    glassine_status status = cli_size_limit(call, &bytes);
    if (status != GLASSINE_OK || bytes == 0) {
        return status;
    }
    status = longest_side(call, &most);
    if (cli_has(call->args, CLI_SCAN_LIMIT) && options->scan_limit > 0 && options->scan_limit < most) {
        most = options->scan_limit;
    }
    sizing it = {call->bundle, *options};
    if (status == GLASSINE_OK) {
        status = glassine_limit_fit(most < CLI_PIXELS_MOST ? (uint32_t)most : CLI_PIXELS_MOST, bytes, measure,
                                    &it, &options->scan_limit, call->error);
    }
    if (status == GLASSINE_OK && options->scan_limit == 0) {
        return cli_refuse(call->error, NULL, "Take fewer items, with --selection",
                          "the page does not fit into %s, however small its pictures are",
                          call->args->option[CLI_SIZE_LIMIT]);
    }
    if (status == GLASSINE_OK) {
        glassine_node_integer(call->result, "scan_limit", "pictures at most, in pixels", options->scan_limit);
    }
    return status;
}

static glassine_status page_options(cli_call *call, glassine_html_options *options) {
    *options = (glassine_html_options){.with_private = cli_has(call->args, CLI_WITH_PRIVATE),
                                       .selection = call->args->option[CLI_SELECTION]};
    glassine_status status = cli_scan_limit(call, &options->scan_limit);
    if (status == GLASSINE_OK) {
        status = face(call, &options->face);
    }
    if (options->face == GLASSINE_FACE_SCHEDULE && !cli_has(call->args, CLI_SCAN_LIMIT)) {
        options->scan_limit = SCHEDULE_SCAN_LIMIT;
    }
    return status == GLASSINE_OK ? fit(call, options) : status;
}

static glassine_status write_new(cli_call *call, const glassine_html_options *options, const char *out) {
    FILE *file = fopen(out, "wbx");
    return file != NULL ? write_page(call, options, out, file)
                        : cli_cannot_make(call->error, errno, out, "OUT names a new file");
}

glassine_status cli_to_html(cli_call *call) {
    const char *out = call->args->option[CLI_OUT];
    glassine_html_options options;
    if (out == NULL) {
        return cli_refuse(call->error, NULL, "-o OUT names the new file", "nothing says where to write");
    }
    glassine_status status = page_options(call, &options);
    if (status == GLASSINE_OK) {
        status = write_new(call, &options, out);
    }
    if (status == GLASSINE_OK) {
        glassine_node_string(call->result, "written", "written", out);
    }
    return status;
}

glassine_status cli_page_for(void *context, glassine_bundle *bundle, glassine_bundle *scans,
                             uint32_t scan_limit, glassine_write write, void *out, glassine_error *error) {
    (void)context;
    const glassine_html_options options = {.scan_limit = scan_limit, .scans = scans};
    return glassine_to_html(bundle, &options, write, out, NULL, error);
}

/* ---- FILE alone: the page where pages are kept, and the browser ---- */

/* "$XDG_CACHE_HOME/glassine/UUID.html" (else ~/.cache), its folder made. */
static glassine_status place_of_page(cli_call *call, const char **path) {
    const char *cache = getenv("XDG_CACHE_HOME"), *home = cli_system_home();
    const char *face_name = cli_has(call->args, CLI_TALK)       ? "-talk"
                            : cli_has(call->args, CLI_SCHEDULE) ? "-schedule"
                            : cli_has(call->args, CLI_HANDOVER) ? "-handover"
                                                                : "";
    bool cached = cache != NULL && cli_system_is_whole(cache);
    if (!cached && (home == NULL || !cli_system_is_whole(home))) {
        return cli_refuse(call->error, NULL, "Set HOME or XDG_CACHE_HOME, or write it with -o OUT",
                          "there is no place for the page");
    }
    const char *parent = cached ? cache : cli_pool_print(call->pool, "%s/.cache", home);
    const char *folder = parent != NULL ? cli_pool_print(call->pool, "%s/glassine", parent) : NULL;
    *path = folder != NULL ? cli_pool_print(call->pool, "%s/%s%s.html", folder,
                                            glassine_bundle_uuid(call->bundle), face_name)
                           : NULL;
    if (*path == NULL) {
        return cli_memory(call->error);
    }
    if ((mkdir(parent, 0700) != 0 && errno != EEXIST) || (mkdir(folder, 0700) != 0 && errno != EEXIST)) {
        return cli_cannot_make(call->error, errno, folder, "Write the page elsewhere with -o OUT");
    }
    return GLASSINE_OK;
}

/* In place of the one that was shown before; only its owner may read it. */
static glassine_status write_again(cli_call *call, const glassine_html_options *options, const char *out) {
    const char *fresh = cli_pool_print(call->pool, "%s.%ld", out, (long)getpid());
    if (fresh == NULL) {
        return cli_memory(call->error);
    }
    int fd = open(fresh, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    FILE *file = fd >= 0 ? fdopen(fd, "wb") : NULL;
    if (file == NULL) {
        glassine_status failed =
            cli_cannot_make(call->error, errno, fresh, "Write the page elsewhere with -o OUT");
        if (fd >= 0) {
            close(fd);
            unlink(fresh);
        }
        return failed;
    }
    glassine_status status = write_page(call, options, fresh, file);
    if (status == GLASSINE_OK && rename(fresh, out) != 0) {
        status = cli_system(call->error, errno, out, NULL, "cannot be written");
        unlink(fresh);
    }
    return status;
}

glassine_status cli_open(cli_call *call) {
    const char *out = call->args->option[CLI_OUT], *with;
    glassine_html_options options;
    glassine_status status = page_options(call, &options);
    if (status == GLASSINE_OK && out == NULL) {
        status = place_of_page(call, &out);
        status = status == GLASSINE_OK ? write_again(call, &options, out) : status;
    } else if (status == GLASSINE_OK) {
        status = write_new(call, &options, out);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_node_string(call->result, "written", "written", out);
    status = cli_browser_show(call->pool, out, &with, call->error);
    if (status == GLASSINE_OK && with == NULL) {
        glassine_report_finding(call->report, GLASSINE_WARNING, NULL, out, "Open it in your browser yourself",
                                "no browser could be started");
    }
    if (status == GLASSINE_OK) {
        glassine_node_string(call->result, "opened_with", with != NULL ? "opened with" : NULL,
                             with != NULL ? with : "nothing");
    }
    return status;
}
