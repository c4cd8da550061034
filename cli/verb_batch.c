/* batch: many commands as one edition, all or none. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "refuse.h"
#include "speaker.h"
#include "verbs.h"
#include "words.h"

enum { LIST_MOST = 1 << 28 };

typedef struct list {
    char *text;
    size_t length;
    const char *name; /* for messages */
} source;

static glassine_status read_stream(FILE *stream, source *list, glassine_error *error) {
    size_t room = 0;
    while (!feof(stream)) {
        if (list->length == room) {
            room = room > 0 ? room * 2 : 1 << 16;
            char *more = room <= LIST_MOST ? realloc(list->text, room) : NULL;
            if (more == NULL) {
                return room <= LIST_MOST ? cli_memory(error)
                                         : cli_refuse(error, list->name, "Split it", "the list is too long");
            }
            list->text = more;
        }
        list->length += fread(list->text + list->length, 1, room - list->length, stream);
        if (ferror(stream)) {
            return cli_system(error, errno, list->name, NULL, "cannot be read");
        }
    }
    return GLASSINE_OK;
}

static glassine_status read_list(cli_call *call, source *list) {
    const char *path = call->args->word_count > 0 ? call->args->words[0] : "-";
    if (strcmp(path, "-") == 0) {
        list->name = "standard input";
        return read_stream(stdin, list, call->error);
    }
    list->name = path;
    FILE *stream = fopen(path, "rb");
    if (stream == NULL) {
        return cli_system(call->error, errno, path, "batch takes a file with one command a line",
                          "cannot be read");
    }
    glassine_status status = read_stream(stream, list, call->error);
    fclose(stream);
    return status;
}

static glassine_status find_verb(const char *name, const cli_verb **verb, glassine_error *error) {
    *verb = cli_verb_find(name);
    if (*verb == NULL) {
        return cli_verb_unknown(name, error);
    }
    if ((*verb)->mode != CLI_WRITES || (*verb)->run == cli_batch) {
        return cli_refuse(error, NULL, "A batch holds commands that enter and change: enter, revise, claim …",
                          "%s does not stand in a batch", name);
    }
    return GLASSINE_OK;
}

typedef struct work {
    cli_call *call;
    const char *by, *via; /* who speaks where a line does not say otherwise */
    glassine_node *commands;
    size_t done;
} work;

static glassine_status set_speaker(const work *batch, const cli_args *args, cli_pool *pool) {
    cli_call *call = batch->call;
    const char *by = NULL, *via = NULL;
    glassine_status status = GLASSINE_OK;
    if (cli_has(args, CLI_BY) || cli_has(args, CLI_VIA)) {
        status = cli_speaker_find(pool, call->bundle, args, &by, &via, call->error);
    }
    by = cli_has(args, CLI_BY) ? by : batch->by;
    via = cli_has(args, CLI_VIA) ? via : batch->via;
    return status == GLASSINE_OK ? glassine_draft_speaker(call->draft, by, via, call->error) : status;
}

static glassine_status run_verb(const work *batch, const cli_verb *verb, const cli_args *args, cli_pool *pool,
                                size_t number) {
    glassine_status status = cli_verb_check_words(verb, args->word_count, batch->call->error);
    if (status == GLASSINE_OK) {
        status = set_speaker(batch, args, pool);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_node *node = glassine_node_object(batch->commands, NULL, NULL);
    glassine_node_integer(node, "line", NULL, (int64_t)number);
    glassine_node_string(node, "verb", NULL, verb->name);
    cli_call inner = *batch->call;
    inner.verb = verb;
    inner.args = args;
    inner.pool = pool;
    inner.result = glassine_node_object(node, "result", NULL);
    return verb->run(&inner);
}

static glassine_status run_line(work *batch, const char *line, size_t length, size_t number) {
    cli_pool pool = {0};
    cli_args args = {0};
    const char **words;
    size_t count;
    const cli_verb *verb = NULL;
    glassine_error *error = batch->call->error;
    glassine_status status = cli_words_split(&pool, line, length, &words, &count, error);
    bool empty = status == GLASSINE_OK && count == 0;
    if (status == GLASSINE_OK && !empty) {
        status = find_verb(words[0], &verb, error);
    }
    if (status == GLASSINE_OK && !empty) {
        uint64_t options = verb->options & ~CLI_BIT(CLI_NOTE); /* the note is the edition's, so the batch's */
        status = cli_args_parse(words + 1, count - 1, options, verb->fields, &args, error);
    }
    if (status == GLASSINE_OK && !empty) {
        status = run_verb(batch, verb, &args, &pool, number);
        batch->done++;
    }
    cli_args_free(&args);
    cli_pool_free(&pool);
    return status;
}

static glassine_status run_lines(work *batch, const source *list) {
    cli_call *call = batch->call;
    const char *at = list->text, *end = list->text + list->length;
    glassine_status status = GLASSINE_OK;
    cli_progress_begin(call->terminal, "working through the list", "bytes", list->length);
    for (size_t number = 1; at < end && status == GLASSINE_OK; number++) {
        const char *feed = memchr(at, '\n', (size_t)(end - at));
        const char *stop = feed != NULL ? feed : end;
        status = run_line(batch, at, (size_t)(stop - at), number);
        if (status != GLASSINE_OK) {
            const char *place = cli_pool_print(call->pool, "%s: line %zu", list->name, number);
            cli_within(call->error, place != NULL ? place : list->name);
        }
        at = feed != NULL ? feed + 1 : end;
        cli_progress_step(call->terminal, (uint64_t)(at - list->text));
    }
    cli_progress_end(call->terminal);
    return status;
}

glassine_status cli_batch(cli_call *call) {
    source list = {NULL, 0, NULL};
    work all = {.call = call, .commands = glassine_node_list(call->result, "commands", NULL)};
    bool can_ask = call->terminal->can_ask;
    call->terminal->can_ask = false; /* a batch runs through without questions */
    glassine_status status =
        cli_speaker_find(call->pool, call->bundle, call->args, &all.by, &all.via, call->error);
    if (status == GLASSINE_OK) {
        status = read_list(call, &list);
    }
    if (status == GLASSINE_OK && list.length > 0) {
        status = run_lines(&all, &list);
    }
    call->terminal->can_ask = can_ask;
    free(list.text);
    glassine_node_integer(call->result, "count", NULL, (int64_t)all.done);
    glassine_node_say(call->result, "%zu command%s", all.done, all.done == 1 ? "" : "s");
    return status;
}
