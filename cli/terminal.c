#include "terminal.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "system.h"

enum { WIDTH_UNKNOWN = 80, WIDTH_LEAST = 20, WIDTH_MOST = 1000 };

/* COLUMNS where it is set (POSIX), else what the terminal says. */
static unsigned width_of(int descriptor) {
    const char *columns = getenv("COLUMNS");
    if (columns != NULL) {
        char *end;
        long width = strtol(columns, &end, 10);
        if (end != columns && *end == '\0' && width >= WIDTH_LEAST && width <= WIDTH_MOST) {
            return (unsigned)width;
        }
    }
    unsigned width = cli_system_width(descriptor);
    return width >= WIDTH_LEAST ? width : WIDTH_UNKNOWN;
}

/* Colour only on a terminal that has it, and never where NO_COLOR is set and not empty. */
static bool colour_on(int descriptor) {
    const char *no = getenv("NO_COLOR");
    const char *term = getenv("TERM");
    return isatty(descriptor) && (no == NULL || no[0] == '\0') && (term == NULL || strcmp(term, "dumb") != 0);
}

void cli_terminal_begin(cli_terminal *terminal, bool json) {
    memset(terminal, 0, sizeof *terminal);
    terminal->json = json;
    terminal->live = isatty(STDERR_FILENO) && !json;
    terminal->can_ask = terminal->live && isatty(STDIN_FILENO);
    terminal->out = (glassine_text_style){width_of(STDOUT_FILENO), colour_on(STDOUT_FILENO)};
    terminal->err = (glassine_text_style){width_of(STDERR_FILENO), colour_on(STDERR_FILENO)};
}

static int write_to(FILE *stream, const char *bytes, size_t length) {
    errno = 0;
    if (fwrite(bytes, 1, length, stream) == length) {
        return 0;
    }
    return errno != 0 ? errno : EIO;
}

int cli_terminal_write(void *context, const char *bytes, size_t length) {
    cli_terminal *terminal = context;
    if (terminal->failure == 0) {
        terminal->failure = write_to(stdout, bytes, length);
    }
    return terminal->failure;
}

/* Nothing can be done where standard error fails. */
static int write_error(void *context, const char *bytes, size_t length) {
    (void)context;
    return write_to(stderr, bytes, length);
}

void cli_terminal_tell(const glassine_error *error) {
    char line[sizeof(glassine_error) + 64];
    glassine_error_line(error, line, sizeof line);
    fprintf(stderr, "glassine: %s\n", line);
}

static void flush_out(cli_terminal *terminal) {
    errno = 0;
    if (fflush(stdout) != 0 && terminal->failure == 0) {
        terminal->failure = errno != 0 ? errno : EIO;
    }
}

bool cli_terminal_print(cli_terminal *terminal, const glassine_report *report, const glassine_error *error) {
    bool failed = error->status != GLASSINE_OK;
    if (terminal->json && !terminal->bare) {
        glassine_report_json(report, cli_terminal_write, terminal);
        flush_out(terminal);
        return terminal->failure == 0;
    }
    if ((!failed || terminal->tells_all) && !terminal->bare) {
        glassine_report_text(report, terminal->out, cli_terminal_write, terminal);
    }
    flush_out(terminal);
    glassine_report_findings_text(report, terminal->err, write_error, terminal);
    if (failed && terminal->failure == 0) {
        cli_terminal_tell(error);
    }
    return terminal->failure == 0;
}

char cli_terminal_ask(cli_terminal *terminal, const char *question) {
    if (!terminal->can_ask) {
        return 0;
    }
    fprintf(stderr, "%s [y/n] ", question);
    char answer[16];
    if (fgets(answer, sizeof answer, stdin) == NULL) {
        return 0;
    }
    char first = answer[0];
    return first == 'y' || first == 'Y' ? 'y' : first == 'n' || first == 'N' ? 'n' : (char)0;
}

static double now(void) {
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + (double)time.tv_nsec / 1e9;
}

void cli_progress_begin(cli_terminal *terminal, const char *doing, const char *unit, uint64_t total) {
    if (terminal->live) {
        double time = now();
        terminal->progress =
            (struct cli_progress){.doing = doing, .unit = unit, .total = total, .began = time, .shown = time};
    }
}

void cli_progress_step(cli_terminal *terminal, uint64_t done) {
    struct cli_progress *progress = &terminal->progress;
    progress->done = done;
    double time = terminal->live ? now() : 0;
    if (!terminal->live || time - progress->shown < 0.2) {
        return;
    }
    progress->shown = time;
    double speed = (double)done / (time - progress->began);
    double left = speed > 0 ? (double)(progress->total - done) / speed : 0;
    if (progress->unit == NULL) {
        fprintf(stderr, "\r\033[K%s: %.1f of %.1f MB, %.0f MB a second, %.0f s left", progress->doing,
                (double)done / 1e6, (double)progress->total / 1e6, speed / 1e6, left);
    } else {
        fprintf(stderr, "\r\033[K%s: %llu of %llu %s, %.0f a second, %.0f s left", progress->doing,
                (unsigned long long)done, (unsigned long long)progress->total, progress->unit, speed, left);
    }
}

void cli_progress_end(cli_terminal *terminal) {
    if (terminal->live && terminal->progress.shown > terminal->progress.began) {
        fputs("\r\033[K", stderr);
    }
    terminal->progress.doing = NULL;
}

void cli_progress_tell(cli_terminal *terminal, const char *doing, const char *unit, uint64_t done,
                       uint64_t total) {
    const struct cli_progress *now = &terminal->progress;
    if (now->doing == NULL || strcmp(now->doing, doing) != 0 || now->total != total) {
        cli_progress_end(terminal);
        cli_progress_begin(terminal, doing, unit, total);
    }
    cli_progress_step(terminal, done);
}
