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
        ".br\n\\fBglassine\\fR \\fIBUNDLE\\fR [\\fIOPTIONS\\fR]\n"
        ".br\n\\fBglassine help\\fR [\\fIVERB\\fR]\n.br\n\\fBglassine \\-\\-version\\fR\n.SH DESCRIPTION\n");
    put_paragraphs(
        page,
        "A .glassine file holds the records of a collection, the scans, what was seen on the stamps, who "
        "claims which plate position and why, and where every statement came from. It is sent, answered, "
        "merged and compared. Any unzip program opens it.\n"
        "Without a verb, the bundle is shown in the browser: its page is written, and it says where.\n"
        "Options stand anywhere after the verb; -- ends them.",
        ".PP\n");
}

/* ------------------------------------------------------------------------------------------- the pages */

static const char *const FAMILIES[] = {
    [CLI_WRITING] = "writing",   [CLI_READING] = "reading", [CLI_PLATING] = "plating",
    [CLI_TOGETHER] = "together", [CLI_FILE] = "file",       [CLI_CONVERTING] = "converting",
};
enum { FAMILIES_COUNT = sizeof FAMILIES / sizeof FAMILIES[0] };

/* The commands of the family, each with its summary. */
static void put_list(sheet *page, cli_group group) {
    for (size_t i = 0; i < cli_verb_count(); i++) {
        const cli_verb *verb = cli_verb_at(i);
        if (verb->group == group) {
            put_line(page, ".TP\n\\fB", verb->name, "\\fR\n");
            put_line(page, "", verb->summary, "\n");
        }
    }
}

static void put_see_also(sheet *page, int but) {
    put_text(page, ".SH SEE ALSO\n");
    for (int group = 0; group < FAMILIES_COUNT; group++) {
        if (group != but) {
            put_line(page, ".BR glassine\\-", FAMILIES[group], " (1),\n");
        }
    }
    put_text(page, but < 0 ? ".BR glassine (5)\n" : ".BR glassine (1),\n.BR glassine (5)\n");
}

static void put_family(sheet *page, int group) {
    put_line(page, ".TH GLASSINE\\-", FAMILIES[group],
             " 1 \"\" \"glassine " GLASSINE_VERSION_TEXT "\"\n.SH NAME\n");
    put_line(page, "glassine\\-", FAMILIES[group], " \\- ");
    put_line(page, "", cli_group_name((cli_group)group), "\n.SH COMMANDS\n");
    for (size_t i = 0; i < cli_verb_count(); i++) {
        if (cli_verb_at(i)->group == (cli_group)group) {
            put_verb(page, cli_verb_at(i));
        }
    }
    put_see_also(page, group);
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

static void put_program(sheet *page) {
    put_head(page);
    put_text(page, ".SH OPTIONS\nEvery command takes these:\n");
    put_options(page, CLI_BIT(CLI_JSON) | CLI_BIT(CLI_HELP));
    put_text(page, ".SH COMMANDS\n");
    for (int group = 0; group < FAMILIES_COUNT; group++) {
        put_line(page, ".SS \"", cli_group_name((cli_group)group), "\"\n");
        put_line(page, "Described in glassine\\-", FAMILIES[group], "(1).\n");
        put_list(page, (cli_group)group);
    }
    for (size_t i = 0; i < cli_topic_count(); i++) {
        const cli_topic *topic = cli_topic_at(i);
        put_line(page, ".SH \"", topic->summary, "\"\n");
        put_paragraphs(page, topic->text, ".PP\n");
    }
    put_tail(page);
    put_see_also(page, -1);
}

static const char FORMAT[] =
    "A bundle is one ZIP file (ISO/IEC 21320-1) that only grows: each save appends what is new, a directory "
    "of the "
    "whole, and an end record. So every earlier edition is a beginning of the file. It begins with the bytes "
    "50 4b 03 "
    "04 and has glassine- at offset 30; its media type is application/vnd.glassine+zip.\n"
    "Unpacked, it is a folder glassine-NAME that is a bag by RFC 8493:\n"
    "  data/about.json               whose bundle it is\n"
    "  data/scans/SHA256.EXT         the scans, named by their digests\n"
    "  slips/FFFFFFFF-LLLLLLLL.jsonl the log: what editions F to L brought\n"
    "  manifest-sha256.txt           checks data/: sha256sum -c\n"
    "  tagmanifest-sha256.txt        checks the rest\n"
    "  read-me.txt                   how to read all this without any program of ours\n"
    "  open-me.html                  where it is there: a page that shows the bundle as it was then\n"
    "The log is lines of canonical JSON (RFC 8785). A slip is one statement by one contributor about one "
    "record; it "
    "never changes, and names the slips that it follows. What the slips on a record amount to, whatever the "
    "order in "
    "which they came, is its reading; where two of them differ and neither follows the other, both stand.\n"
    "An edition line ends each save. Its member log is a chain of SHA-256 over all lines before it: whoever "
    "notes one "
    "can later show that nothing before it was altered.\n"
    "The specification, JSON Schemas and a conformance kit come with the program.";

static void put_format(sheet *page) {
    put_text(page, ".TH GLASSINE 5 \"\" \"glassine " GLASSINE_VERSION_TEXT "\"\n.SH NAME\n"
                   "glassine \\- the bundle: a file format for stamps, scans and plate positions\n"
                   ".SH DESCRIPTION\n");
    put_paragraphs(page, FORMAT, ".PP\n");
    put_text(page, ".SH SEE ALSO\n.BR glassine (1)\n");
}

bool cli_man_write(const char *name, glassine_write write, void *context) {
    sheet page = {write, context, false};
    if (name == NULL) {
        put_program(&page);
    } else if (strcmp(name, "format") == 0) {
        put_format(&page);
    } else {
        int group = 0;
        while (group < FAMILIES_COUNT && strcmp(name, FAMILIES[group]) != 0) {
            group++;
        }
        if (group == FAMILIES_COUNT) {
            return false;
        }
        put_family(&page, group);
    }
    return !page.failed;
}
