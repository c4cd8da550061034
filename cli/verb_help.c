/* help: the verbs, one verb, a type of record, a topic; --version; the manual page. */
#include <string.h>

#include "man.h"
#include "nearest.h"
#include "record.h"
#include "refuse.h"
#include "topics.h"
#include "verbs.h"

/* Paragraphs; lines that begin with two spaces stay as they are. */
static void say_paragraphs(cli_call *call, glassine_node *node, const char *text) {
    while (*text != '\0') {
        size_t length = strcspn(text, "\n");
        const char *line = cli_pool_copy(call->pool, text, length);
        if (line != NULL && strncmp(line, "  ", 2) == 0) {
            glassine_node_drawing(node, line);
        } else if (line != NULL) {
            glassine_node_say(glassine_node_object(node, NULL, ""), "%s", line);
        }
        text += length + (text[length] == '\n');
    }
}

static void add_options(cli_call *call, glassine_node *result, uint64_t options) {
    glassine_node *text = glassine_node_object(result, NULL, "options");
    glassine_node *list = glassine_node_list(result, "options", NULL);
    for (int i = 0; i < CLI_OPTIONS; i++) {
        const cli_option_info *info = cli_option_at((cli_option)i);
        if ((options & CLI_BIT(i)) == 0 || info->help == NULL) {
            continue;
        }
        const char letter[] = {'-', info->letter, ',', ' ', '\0'};
        const char *shown =
            cli_pool_print(call->pool, "%s--%s%s%s", info->letter != 0 ? letter : "", info->name,
                           info->argument != NULL ? " " : "", info->argument != NULL ? info->argument : "");
        glassine_node_string(text, NULL, shown, info->help);
        glassine_node *node = glassine_node_object(list, NULL, NULL);
        glassine_node_string(node, "option", NULL, info->name);
        glassine_node_string(node, "argument", NULL, info->argument);
        glassine_node_string(node, "help", NULL, info->help);
    }
}

static void help_verb(cli_call *call, const cli_verb *verb) {
    glassine_node *result = call->result;
    glassine_node_string(result, "verb", NULL, verb->name);
    glassine_node_string(result, "usage", NULL, verb->usage);
    glassine_node_string(result, "summary", NULL, verb->summary);
    glassine_node_string(result, "help", NULL, verb->help);
    glassine_node_string(result, "example", NULL, verb->example);
    glassine_node_say(result, "glassine %s %s", verb->name, verb->usage);
    say_paragraphs(call, result, verb->help);
    add_options(call, result, cli_verb_options(verb));
    glassine_node *example = glassine_node_object(result, NULL, "example");
    for (const char *line = verb->example; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        glassine_node_drawing(example, cli_pool_print(call->pool, "glassine %.*s", (int)length, line));
        line += length + (line[length] == '\n');
    }
}

static const char *joined(cli_call *call, const char *before, const char *const *list) {
    const char *text = before;
    for (size_t i = 0; list[i] != NULL && text != NULL; i++) {
        text = cli_pool_print(call->pool, "%s%s%s", text, i > 0 ? ", " : "", list[i]);
    }
    return text != NULL ? text : "";
}

/* What may stand there: "text", "a date", "one of left, right" … */
static const char *kind_shown(cli_call *call, const glassine_field_info *field) {
    switch (field->kind) {
    case GLASSINE_TEXT:
        return "text";
    case GLASSINE_INTEGER:
        return field->unit != NULL ? field->unit : "number";
    case GLASSINE_TRUTH:
        return "true or false";
    case GLASSINE_DATE:
        return "date";
    case GLASSINE_CHOICE:
        return joined(call, "", field->choices);
    case GLASSINE_REF:
        return field->refs != NULL
                   ? joined(call, strchr("aeiou", field->refs[0][0]) ? "an " : "a ", field->refs)
                   : "any record";
    case GLASSINE_EXPRESSION:
        return "positions";
    case GLASSINE_HEX:
        return "64 hex digits";
    case GLASSINE_TEXTS:
        return "texts";
    case GLASSINE_CHOICES:
        return joined(call, "some of ", field->choices);
    case GLASSINE_REFS:
        return field->refs != NULL ? cli_pool_print(call->pool, "%ss", joined(call, "", field->refs))
                                   : "any records";
    case GLASSINE_REGION:
        return "left, top, width, height";
    }
    return "";
}

static void help_type(cli_call *call, const glassine_type_info *type) {
    glassine_node *node = glassine_node_object(call->result, "type", type->name);
    glassine_node_string(node, "name", NULL, type->name);
    glassine_node_string(node, "help", NULL, type->help);
    glassine_node_truth(node, "authored", NULL, type->authored);
    glassine_node_string(node, "caution", NULL, type->caution);
    glassine_node_say(node, "%s%s", type->help, type->authored ? "; each speaks for its author alone" : "");
    if (type->caution != NULL) {
        glassine_node_say(node, "%s", type->caution);
    }
    glassine_node *table = glassine_node_table(node, "fields", "fields (* must be there)");
    for (size_t i = 0; i < type->field_count; i++) {
        const glassine_field_info *field = &type->fields[i];
        glassine_node *row = glassine_node_object(table, NULL, NULL);
        glassine_node_string(row, "field", NULL, field->name);
        glassine_node_truth(row, "required", NULL, field->required);
        glassine_node_string(row, "reach", NULL, glassine_reach_name(field->reach));
        glassine_node_format(row, NULL, "field", "%s%s", field->name, field->required ? "*" : "");
        glassine_node_string(row, "takes", "takes", kind_shown(call, field));
        glassine_node_format(row, NULL, "what it is", "%s%s%s", field->help,
                             field->reach != GLASSINE_SHARED ? "; " : "",
                             field->reach != GLASSINE_SHARED ? glassine_reach_name(field->reach) : "");
        glassine_node_string(row, "help", NULL, field->help);
    }
}

static void help_types(cli_call *call) {
    glassine_node *list = glassine_node_list(call->result, "types", NULL);
    glassine_node *text = glassine_node_object(call->result, NULL, "types of records");
    for (size_t i = 0; i < glassine_type_count(); i++) {
        const glassine_type_info *type = glassine_type_at(i);
        glassine_node *node = glassine_node_object(list, NULL, NULL);
        glassine_node_string(node, "name", NULL, type->name);
        glassine_node_string(node, "help", NULL, type->help);
        glassine_node_string(text, NULL, type->name, type->help);
    }
    glassine_node_say(glassine_node_object(call->result, NULL, ""),
                      "`glassine help TYPE` shows the fields of one.");
}

static void help_all(cli_call *call) {
    glassine_node *result = call->result;
    glassine_node *list = glassine_node_list(result, "verbs", NULL);
    glassine_node *group = NULL;
    glassine_node_say(result, "glassine VERB BUNDLE [ARGUMENTS] [OPTIONS]");
    glassine_node_say(result, "glassine BUNDLE                             shows it in the browser");
    for (size_t i = 0; i < cli_verb_count(); i++) {
        const cli_verb *verb = cli_verb_at(i);
        if (group == NULL || cli_verb_at(i - 1)->group != verb->group) {
            group = glassine_node_object(result, NULL, cli_group_name(verb->group));
        }
        glassine_node_string(group, NULL, verb->name, verb->summary);
        glassine_node *node = glassine_node_object(list, NULL, NULL);
        glassine_node_string(node, "verb", NULL, verb->name);
        glassine_node_string(node, "usage", NULL, verb->usage);
        glassine_node_string(node, "summary", NULL, verb->summary);
    }
    glassine_node *more = glassine_node_object(result, NULL, "more");
    glassine_node_string(more, NULL, "help VERB", "what a command does, its options, an example");
    glassine_node_string(more, NULL, "help types",
                         "the types of records; 'help item' shows the fields of one");
    for (size_t i = 0; i < cli_topic_count(); i++) {
        const cli_topic *topic = cli_topic_at(i);
        glassine_node_string(more, NULL, cli_pool_print(call->pool, "help %s", topic->name), topic->summary);
    }
}

static glassine_status unknown(cli_call *call, const char *name) {
    cli_nearest nearest = cli_nearest_start(name);
    for (size_t i = 0; i < cli_verb_count(); i++) {
        cli_nearest_try(&nearest, cli_verb_at(i)->name);
    }
    for (size_t i = 0; i < glassine_type_count(); i++) {
        cli_nearest_try(&nearest, glassine_type_at(i)->name);
    }
    for (size_t i = 0; i < cli_topic_count(); i++) {
        cli_nearest_try(&nearest, cli_topic_at(i)->name);
    }
    const char *remedy = nearest.best != NULL ? cli_pool_print(call->pool, "Did you mean %s?", nearest.best)
                                              : "`glassine help` lists what there is";
    return cli_refuse(call->error, NULL, remedy, "there is no help on \"%s\"", name);
}

glassine_status cli_help(cli_call *call) {
    const cli_args *args = call->args;
    if (cli_has(args, CLI_MAN)) {
        call->terminal->bare = true;
        const char *page = args->word_count > 0 ? args->words[0] : NULL;
        return cli_man_write(page, cli_terminal_write, call->terminal)
                   ? GLASSINE_OK
                   : cli_refuse(call->error, NULL, NULL, "the manual page \"%s\" cannot be written",
                                page != NULL ? page : "glassine");
    }
    if (args->word_count == 0) {
        help_all(call);
        return GLASSINE_OK;
    }
    const char *name = args->words[0];
    const cli_verb *verb = cli_verb_find(name);
    const glassine_type_info *type = glassine_type_find(name);
    const cli_topic *topic = cli_topic_find(name);
    if (verb != NULL) {
        help_verb(call, verb);
    }
    if (type != NULL) { /* claim and match are a verb and a type */
        help_type(call, type);
    }
    if (topic != NULL) {
        glassine_node_string(call->result, "topic", NULL, topic->name);
        glassine_node_string(call->result, "text", NULL, topic->text);
        say_paragraphs(call, call->result, topic->text);
    }
    if (strcmp(name, "types") == 0) {
        help_types(call);
    } else if (verb == NULL && type == NULL && topic == NULL) {
        return unknown(call, name);
    }
    return GLASSINE_OK;
}
