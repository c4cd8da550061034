#include "man.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "topics.h"
#include "verbs.h"

typedef struct sheet {
    glassine_write write;
    void *context;
    bool failed;
} sheet;

static void put(sheet *page, const char *text, size_t length) {
    page->failed = page->failed || page->write(page->context, text, length) != 0;
}

static void put_text(sheet *page, const char *text) {
    put(page, text, strlen(text));
}

/* Text as roff shows it: backslashes and hyphens are escaped, and no line begins with a control character. */
static void put_escaped(sheet *page, const char *text, size_t length) {
    for (size_t i = 0; i < length; i++) {
        bool starts = i == 0 || text[i - 1] == '\n';
        if (starts && (text[i] == '.' || text[i] == '\'')) {
            put_text(page, "\\&");
        }
        if (text[i] == '\\') {
            put_text(page, "\\e");
        } else if (text[i] == '-') {
            put_text(page, "\\-");
        } else {
            put(page, text + i, 1);
        }
    }
}

static void put_line(sheet *page, const char *before, const char *text, const char *after) {
    put_text(page, before);
    put_escaped(page, text, strlen(text));
    put_text(page, after);
}

/* Paragraphs; a run of lines that begin with two spaces stays as it is. */
static void put_paragraphs(sheet *page, const char *text, const char *begin) {
    bool kept = false;
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        bool keep = strncmp(text, "  ", 2) == 0;
        if (keep != kept) {
            put_text(page, keep ? ".nf\n" : ".fi\n");
        }
        if (!keep) {
            put_text(page, begin);
        }
        kept = keep;
        put_escaped(page, text, length);
        put_text(page, "\n");
        text += length + (text[length] == '\n');
    }
    if (kept) {
        put_text(page, ".fi\n");
    }
}

static void put_options(sheet *page, uint64_t options) {
    for (int i = 0; i < CLI_OPTIONS; i++) {
        const cli_option_info *info = cli_option_at((cli_option)i);
        if ((options & CLI_BIT(i)) == 0 || info->help == NULL) {
            continue;
        }
        put_text(page, ".TP\n\\fB");
        if (info->letter != 0) {
            const char letter[] = {'\\', '-', info->letter, ',', ' ', '\0'};
            put_text(page, letter);
        }
        put_line(page, "\\-\\-", info->name, "\\fR");
        put_line(page, info->argument != NULL ? " \\fI" : "", info->argument != NULL ? info->argument : "",
                 info->argument != NULL ? "\\fR\n" : "\n");
        put_line(page, "", info->help, "\n");
    }
}

static void put_example(sheet *page, const char *example) {
    put_text(page, ".PP\n.nf\n");
    while (*example != '\0') {
        size_t length = strcspn(example, "\n");
        put_text(page, "  glassine ");
        put_escaped(page, example, length);
        put_text(page, "\n");
        example += length + (example[length] == '\n');
    }
    put_text(page, ".fi\n");
}

static void put_verb(sheet *page, const cli_verb *verb) {
    put_line(page, ".SS \"glassine ", verb->name, "\"\n");
    put_line(page, "\\fBglassine ", verb->name, "\\fR ");
    put_line(page, "", verb->usage, "\n");
    put_paragraphs(page, verb->help, ".PP\n");
    put_options(page, verb->options);
    put_example(page, verb->example);
}

static void put_head(sheet *page) {
    put_text(
        page,
        ".TH GLASSINE 1 \"\" \"glassine " GLASSINE_VERSION_TEXT "\"\n.SH NAME\n"
        "glassine \\- stamps, scans and plate positions in one file that only grows\n"
        ".SH SYNOPSIS\n\\fBglassine\\fR \\fIVERB\\fR \\fIBUNDLE\\fR [\\fIARGUMENTS\\fR] [\\fIOPTIONS\\fR]\n"
        ".br\n\\fBglassine help\\fR [\\fIVERB\\fR]\n.br\n\\fBglassine \\-\\-version\\fR\n.SH DESCRIPTION\n");
    put_paragraphs(
        page,
        "A .glassine file holds the records of a collection, the scans, what was seen on the stamps, who "
        "claims which plate position and why, and where every statement came from. It is sent, answered, "
        "merged and compared. Any unzip program opens it.\n"
        "Options stand anywhere after the verb; -- ends them.",
        ".PP\n");
}

static void put_tail(sheet *page) {
    put_text(
        page,
        ".SH EXIT STATUS\n"
        ".TP\n0\nDone.\n"
        ".TP\n1\nDone, and something wants attention: bundles differ, fields are contested, dispatches are "
        "unanswered, the audit has findings, a merge left something contested.\n"
        ".TP\n2\nRefused: wrong usage or unusable input. Nothing was changed.\n"
        ".TP\n3\nThe system failed (disk full, permission). Nothing was lost.\n"
        ".SH ENVIRONMENT\n"
        ".TP\nGLASSINE_BY\nWho speaks, where \\-\\-by does not say it.\n"
        ".TP\nSOURCE_DATE_EPOCH\nThe time to write, in seconds since 1970, instead of the clock's.\n"
        ".TP\nNO_COLOR\nWhere it is set, no colour.\n"
        ".TP\nCOLUMNS\nThe width of text, where it is set.\n"
        ".SH FILES\n"
        ".TP\n$XDG_CONFIG_HOME/glassine/config.json\nThe configuration: {\"by\":\"NAME\"}.\n");
}

bool cli_man_write(glassine_write write, void *context) {
    sheet page = {write, context, false};
    put_head(&page);
    put_text(&page, ".SH OPTIONS\nEvery command takes these:\n");
    put_options(&page, CLI_BIT(CLI_JSON) | CLI_BIT(CLI_HELP));
    put_text(&page, ".SH COMMANDS\n");
    for (size_t i = 0; i < cli_verb_count(); i++) {
        put_verb(&page, cli_verb_at(i));
    }
    for (size_t i = 0; i < cli_topic_count(); i++) {
        const cli_topic *topic = cli_topic_at(i);
        put_line(&page, ".SH \"", topic->summary, "\"\n");
        put_paragraphs(&page, topic->text, ".PP\n");
    }
    put_tail(&page);
    return !page.failed;
}
