/* glassine: finds the verb, opens its bundle, runs it, saves, prints the report. */
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "as_of.h"
#include "backed_up.h"
#include "complete.h"
#include "line.h"
#include "memory.h"
#include "refuse.h"
#include "signer.h"
#include "speaker.h"
#include "system.h"
#include "verbs.h"
#include "watching.h"

/* --json among the arguments, so that a refusal to take them apart is told in the wanted form too. */
static bool wants_json(int count, char **arguments) {
    for (int i = 1; i < count && strcmp(arguments[i], "--") != 0; i++) {
        if (strcmp(arguments[i], "--json") == 0) {
            return true;
        }
    }
    return false;
}

/* What is unusual about the opened file, and worth knowing. */
static void look_at_bundle(cli_call *call) {
    uint64_t tail = glassine_bundle_tail(call->bundle);
    const char *writer = tail > 0 ? glassine_bundle_writer(call->bundle) : NULL;
    if (writer != NULL) {
        glassine_report_finding(call->report, GLASSINE_NOTE, NULL, call->path,
                                "The last whole edition is shown", "%s is saving into it", writer);
    } else if (tail > 0) {
        glassine_report_finding(call->report, GLASSINE_WARNING, NULL, call->path,
                                "`glassine audit` tells more; the last whole edition is shown",
                                tail == 1 ? "the last save is not whole: %llu byte belongs to no edition"
                                          : "the last save is not whole: %llu bytes belong to no edition",
                                (unsigned long long)tail);
    }
    uint64_t unknown = glassine_bundle_unknown_lines(call->bundle);
    if (unknown > 0) {
        glassine_report_finding(
            call->report, GLASSINE_NOTE, NULL, call->path,
            unknown == 1 ? "A newer program may know it" : "A newer program may know them",
            unknown == 1 ? "%llu line is of a kind that this version does not know; it is kept"
                         : "%llu lines are of a kind that this version does not know; they are kept",
            (unsigned long long)unknown);
    }
}

/* --as-of: the bundle as it was then takes the place of the one that is open. */
static glassine_status go_back(cli_call *call) {
    glassine_bundle *then = NULL;
    glassine_status status = cli_as_of_open(call, call->bundle, &then);
    if (status == GLASSINE_OK) {
        glassine_bundle_close(call->bundle);
        call->bundle = then;
        glassine_report_about(call->report, call->path, glassine_bundle_edition(then));
    }
    return status;
}

static glassine_status open_bundle(cli_call *call) {
    if (call->verb->mode == CLI_ALONE) {
        return GLASSINE_OK;
    }
    bool writes = call->verb->mode != CLI_READS;
    glassine_status status =
        glassine_bundle_open(call->path, writes ? GLASSINE_WRITE : GLASSINE_READ,
                             writes ? cli_watch(call) : cli_look_on(call), &call->bundle, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_report_about(call->report, call->path, glassine_bundle_edition(call->bundle));
    look_at_bundle(call);
    cli_memory_compare(call, call->bundle);
    if (!writes) {
        return cli_has(call->args, CLI_AS_OF) ? go_back(call) : GLASSINE_OK;
    }
    const char *by, *via;
    status = cli_speaker_find(call->pool, call->bundle, call->args, &by, &via, call->error);
    if (status == GLASSINE_OK && (by != NULL || !cli_speaker_was_said(call->args))) {
        status = cli_sign_with(call, call->bundle); /* but not where somebody enters themselves only now */
    }
    return status == GLASSINE_OK ? glassine_draft_new(call->bundle, by, via, &call->draft, call->error)
                                 : status;
}

static glassine_status save(cli_call *call) {
    if (call->verb->mode != CLI_WRITES) {
        return GLASSINE_OK;
    }
    cli_warn_unsigned(call, call->draft);
    glassine_status status = cli_watch_check(call);
    if (status == GLASSINE_OK) {
        status = glassine_draft_save(call->draft, call->args->option[CLI_NOTE], call->error);
    }
    if (status == GLASSINE_OK) {
        glassine_report_about(call->report, call->path, glassine_bundle_edition(call->bundle));
    }
    return status;
}

/* Puts the bundle before an error's place, unless the error is about a file that was named on the command
 * line. */
static void place_in_bundle(cli_call *call) {
    const char *place = call->error->place;
    const char *out = call->args->option[CLI_OUT];
    bool named = strncmp(place, call->path, strlen(call->path)) == 0 ||
                 (out != NULL && strncmp(place, out, strlen(out)) == 0);
    for (size_t i = call->verb->files; i > 0 && i <= call->args->word_count; i++) {
        const char *word = call->args->words[i - 1];
        named = named || strncmp(place, word, strlen(word)) == 0;
    }
    if (!named && call->verb->run != cli_batch) {
        cli_within(call->error, call->path);
    }
}

/* Memory did, under something that cannot say so itself. */
static bool ran_out(const cli_call *call) {
    return glassine_report_failed(call->report) ||
           (call->bundle != NULL && glassine_bundle_failed(call->bundle));
}

static glassine_status run(cli_call *call) {
    glassine_status status = open_bundle(call);
    uint32_t before = call->bundle != NULL ? glassine_bundle_edition(call->bundle) : 0;
    if (status == GLASSINE_OK) {
        status = call->verb->run(call);
        if (status != GLASSINE_OK && call->bundle != NULL) {
            place_in_bundle(call);
        }
    }
    if (status == GLASSINE_OK && ran_out(call)) {
        status = cli_memory(call->error);
    }
    if (status == GLASSINE_OK) {
        status = save(call);
    }
    if (status == GLASSINE_OK && call->draft != NULL && glassine_bundle_edition(call->bundle) > before) {
        cli_memory_keep(call, call->bundle);
        cli_backed_up_mention(call, call->bundle);
    }
    glassine_draft_free(call->draft);
    glassine_bundle_close(call->bundle);
    cli_forget_keys(call);
    return status;
}

/* Splits FILE off the words. */
static glassine_status take_path(cli_call *call, cli_args *args) {
    if (!call->verb->bundle) {
        return GLASSINE_OK;
    }
    if (args->word_count == 0) {
        cli_line remedy = {0};
        cli_line_add(&remedy, "Usage: glassine %s %s", call->verb->name, call->verb->usage);
        return cli_refuse(call->error, NULL, remedy.text, "no bundle is named");
    }
    call->path = args->words[0];
    args->words++;
    args->word_count--;
    return GLASSINE_OK;
}

/* `words` behind the verb. */
static glassine_status run_verb(cli_call *call, char **words, size_t count) {
    cli_args args;
    glassine_status status = cli_args_parse((const char *const *)words, count, cli_verb_options(call->verb),
                                            call->verb->fields, &args, call->error);
    call->args = &args;
    call->pool = &args.pool;
    if (status == GLASSINE_OK && cli_has(&args, CLI_HELP)) {
        args.words[0] = call->verb->name; /* there is room for one more than was typed */
        args.word_count = 1;
        call->verb = cli_verb_find("help");
    } else if (status == GLASSINE_OK) {
        status = take_path(call, &args);
    }
    if (status == GLASSINE_OK) {
        status = cli_verb_check_words(call->verb, args.word_count, call->error);
    }
    if (status == GLASSINE_OK) {
        status = run(call);
    }
    cli_args_free(&args);
    call->args = NULL;
    call->pool = NULL;
    return status;
}

static void tell_version(cli_call *call) {
    glassine_node_string(call->result, "program", NULL, GLASSINE_VERSION_TEXT);
    glassine_node_format(call->result, "format", NULL, "%d.%d", GLASSINE_FORMAT_MAJOR, GLASSINE_FORMAT_MINOR);
    glassine_node_say(call->result, "glassine %s, format %d.%d", GLASSINE_VERSION_TEXT, GLASSINE_FORMAT_MAJOR,
                      GLASSINE_FORMAT_MINOR);
}

/* "FILE", or "FILE#N" for an edition of it. */
static bool is_file(const char *name) {
    char path[4096];
    struct stat about;
    if (stat(name, &about) == 0) {
        return true;
    }
    size_t length = cli_is_edition(name) ? (size_t)(strrchr(name, '#') - name) : sizeof path;
    if (length >= sizeof path) {
        return false;
    }
    memcpy(path, name, length);
    path[length] = '\0';
    return stat(path, &about) == 0;
}

static const char *verb_name(int count, char **arguments) {
    if (count < 2 || strcmp(arguments[1], "--help") == 0 || strcmp(arguments[1], "-h") == 0) {
        return "help";
    }
    if (strcmp(arguments[1], "--version") == 0) {
        return "version";
    }
    bool bare = cli_verb_find(arguments[1]) == NULL && is_file(arguments[1]);
    return bare ? cli_verb_bare()->name : arguments[1];
}

/* A bundle without a verb is shown. */
static glassine_status begin_bare(cli_call *call, int count, char **arguments) {
    if (count > 2 && arguments[2][0] != '-') {
        return cli_refuse(call->error, arguments[1],
                          "For example: glassine list FILE item; `glassine help` lists the commands",
                          "a command comes before the bundle");
    }
    call->verb = cli_verb_bare();
    return run_verb(call, arguments + 1, (size_t)count - 1);
}

static glassine_status begin(cli_call *call, const char *name, int count, char **arguments) {
    if (strcmp(name, "version") == 0) {
        tell_version(call);
        return GLASSINE_OK;
    }
    if (strcmp(name, "--complete") == 0) {
        call->terminal->bare = true;
        return cli_complete(arguments + 2, (size_t)count - 2, cli_terminal_write, call->terminal)
                   ? GLASSINE_OK
                   : cli_memory(call->error);
    }
    call->verb = cli_verb_find(name);
    if (call->verb != NULL) {
        return run_verb(call, arguments + 2, count > 2 ? (size_t)count - 2 : 0);
    }
    return name == cli_verb_bare()->name ? begin_bare(call, count, arguments)
                                         : cli_verb_unknown(name, call->error);
}

static int exit_status(const cli_call *call, glassine_status status) {
    if (status != GLASSINE_OK) {
        return (int)status;
    }
    return glassine_report_wants_attention(call->report) ? 1 : 0;
}

int main(int count, char **arguments) {
    cli_system_begin(count, arguments);
    cli_terminal terminal;
    glassine_error error = {.status = GLASSINE_OK};
    cli_terminal_begin(&terminal, wants_json(count, arguments));
    const char *name = verb_name(count, arguments);
    glassine_report *report = glassine_report_new(name);
    if (report == NULL) {
        fputs("glassine: no memory left\n", stderr);
        return GLASSINE_SYSTEM;
    }
    glassine_report_only(report, terminal.json);
    cli_call call = {
        .report = report, .result = glassine_report_result(report), .terminal = &terminal, .error = &error};
    glassine_status status = begin(&call, name, count, arguments);
    error.status = status;
    if (status != GLASSINE_OK) {
        if (!terminal.tells_all) {
            glassine_report_drop_result(report);
        }
        glassine_report_error(report, &error);
    }
    int code = exit_status(&call, status);
    if (!cli_terminal_print(&terminal, report, &error)) {
        bool saved = status == GLASSINE_OK && call.verb != NULL && cli_verb_leaves(call.verb);
        cli_system(&error, terminal.failure, "standard output", NULL, "the result could not be written%s",
                   saved ? " (what was to be saved is saved)" : "");
        cli_terminal_tell(&error);
        code = GLASSINE_SYSTEM;
    }
    glassine_report_free(report);
    return code;
}
