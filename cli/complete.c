#include "complete.h"

#include <string.h>

#include "args.h"
#include "topics.h"
#include "verbs.h"

enum { MOST_OFFERED = 2000 }; /* nobody reads more, and a shell grows slow */

typedef struct completion {
    cli_pool pool;
    glassine_write write;
    void *context;
    const cli_verb *verb;
    char *const
        *plain; /* the words before the last that are neither options nor their arguments nor fields */
    size_t plain_count;
    const char *before; /* what was typed of the word and stays: up to "=", or the last comma */
    const char *stem;   /* what was typed behind it */
    size_t offered;
    glassine_bundle *bundle;
    bool failed;
} completion;

static void offer(completion *line, glassine_span text, const char *behind) {
    size_t typed = strlen(line->stem);
    if (text.text == NULL || text.length < typed || strncmp(text.text, line->stem, typed) != 0 ||
        memchr(text.text, '\n', text.length) != NULL || line->offered++ >= MOST_OFFERED) {
        return;
    }
    const char *whole =
        cli_pool_print(&line->pool, "%s%.*s%s\n", line->before, (int)text.length, text.text, behind);
    if (whole == NULL || line->write(line->context, whole, strlen(whole)) != 0) {
        line->failed = true;
    }
}

static void offer_text(completion *line, const char *text) {
    offer(line, (glassine_span){text, strlen(text)}, "");
}

static void offer_list(completion *line, const char *const *list) {
    for (size_t i = 0; list != NULL && list[i] != NULL; i++) {
        offer_text(line, list[i]);
    }
}

static void offer_verbs(completion *line) {
    for (size_t i = 0; i < cli_verb_count(); i++) {
        offer_text(line, cli_verb_at(i)->name);
    }
}

static void offer_types(completion *line) {
    for (size_t i = 0; i < glassine_type_count(); i++) {
        offer_text(line, glassine_type_at(i)->name);
    }
}

static void offer_topics(completion *line) {
    offer_verbs(line);
    offer_types(line);
    for (size_t i = 0; i < cli_topic_count(); i++) {
        offer_text(line, cli_topic_at(i)->name);
    }
}

static void offer_options(completion *line) {
    uint64_t options = cli_verb_options(line->verb);
    for (int i = 0; i < CLI_OPTIONS; i++) {
        const cli_option_info *info = cli_option_at((cli_option)i);
        if ((options & CLI_BIT(i)) != 0 && info->help != NULL) {
            const char *shown = cli_pool_print(&line->pool, "--%s", info->name);
            offer_text(line, shown != NULL ? shown : "");
        }
    }
}

/* The bundle that the line names; NULL where none can be read, which is nothing to tell of here. */
static glassine_bundle *bundle_of(completion *line) {
    if (line->bundle == NULL && line->verb->bundle && line->plain_count > 0) {
        glassine_bundle_open(line->plain[0], GLASSINE_READ, NULL, &line->bundle, NULL);
    }
    return line->bundle;
}

/* What the records of a type are called; of any type where it is NULL. */
static void offer_labels(completion *line, const char *type) {
    glassine_bundle *bundle = bundle_of(line);
    glassine_cursor *cursor = NULL;
    if (bundle == NULL || glassine_cursor_new(bundle, type, false, &cursor, NULL) != GLASSINE_OK) {
        return;
    }
    for (glassine_record *record; (record = glassine_cursor_next(cursor)) != NULL;) {
        offer(line, glassine_record_label(bundle, record), "");
    }
    glassine_cursor_free(cursor);
}

/* ------------------------------------------------------------------------------------------------ options */

/* A list with commas: what stands before the last comma stays. */
static void behind_comma(completion *line) {
    const char *comma = strrchr(line->stem, ',');
    if (comma != NULL) {
        const char *kept =
            cli_pool_print(&line->pool, "%s%.*s", line->before, (int)(comma + 1 - line->stem), line->stem);
        line->before = kept != NULL ? kept : "";
        line->stem = comma + 1;
    }
}

static void offer_argument(completion *line, const char *argument) {
    static const char *const REACHES[] = {"shared", "telling", "private", NULL};
    if (strcmp(argument, "WHO") == 0) {
        offer_labels(line, "contributor");
    } else if (strcmp(argument, "REACH") == 0) {
        offer_list(line, REACHES);
    } else if (strcmp(argument, "S") == 0) {
        offer_labels(line, "selection");
    } else if (strcmp(argument, "A,B,…") == 0) {
        behind_comma(line);
        offer_labels(line, "item");
    } else if (strcmp(argument, "TYPES") == 0) {
        behind_comma(line);
        offer_types(line);
    }
}

/* The option that the word is and whose argument comes next; NULL: none. */
static const cli_option_info *awaiting(const char *word) {
    for (int i = 0; i < CLI_OPTIONS; i++) {
        const cli_option_info *info = cli_option_at((cli_option)i);
        bool is_short = info->letter != 0 && word[0] == '-' && word[1] == info->letter && word[2] == '\0';
        if (info->argument != NULL &&
            (is_short || (strncmp(word, "--", 2) == 0 && strcmp(word + 2, info->name) == 0))) {
            return info;
        }
    }
    return NULL;
}

/* ------------------------------------------------------------------------------------------------- fields */

/* The type whose fields the verb takes; NULL where that hangs on nothing that was typed. */
static const glassine_type_info *type_of(completion *line) {
    static const char *const OF_VERB[][2] = {
        {"new", "collection"},      {"attach", "scan"}, {"observe", "observation"}, {"claim", "claim"},
        {"conclude", "conclusion"}, {"match", "match"}, {"join", "join"},           {"withdraw", "claim"}};
    for (size_t i = 0; i < sizeof OF_VERB / sizeof OF_VERB[0]; i++) {
        if (strcmp(line->verb->name, OF_VERB[i][0]) == 0) {
            return glassine_type_find(OF_VERB[i][1]);
        }
    }
    if (line->plain_count < 2) {
        return NULL;
    }
    if (strstr(line->verb->usage, "FILE TYPE") != NULL) {
        return glassine_type_find(line->plain[1]);
    }
    glassine_record *record = NULL;
    glassine_bundle *bundle = bundle_of(line);
    if (bundle == NULL || glassine_bundle_find(bundle, NULL, line->plain[1], &record, NULL) != GLASSINE_OK) {
        return NULL;
    }
    return glassine_record_info(bundle, record);
}

static void offer_field_names(completion *line, const glassine_type_info *type) {
    for (size_t i = 0; type != NULL && i < type->field_count; i++) {
        offer(line, (glassine_span){type->fields[i].name, strlen(type->fields[i].name)}, "=");
    }
    if (type != NULL && strcmp(type->name, "item") == 0) { /* they go to the item's stamp */
        offer_field_names(line, glassine_type_find("stamp"));
    }
}

static const glassine_field_info *field_of(const glassine_type_info *type, const char *name) {
    const glassine_field_info *field = type != NULL ? glassine_type_field(type, name) : NULL;
    if (field == NULL && type != NULL && strcmp(type->name, "item") == 0) {
        field = glassine_type_field(glassine_type_find("stamp"), name);
    }
    return field;
}

static void offer_values(completion *line, const char *word, const char *equals) {
    static const char *const TRUTHS[] = {"yes", "no", NULL};
    const char *name = cli_pool_copy(&line->pool, word, (size_t)(equals - word));
    const char *before = cli_pool_copy(&line->pool, word, (size_t)(equals + 1 - word));
    const glassine_field_info *field = name != NULL ? field_of(type_of(line), name) : NULL;
    if (field == NULL || before == NULL) {
        return;
    }
    line->before = before;
    line->stem = equals + 1;
    if (field->kind == GLASSINE_CHOICES || field->kind == GLASSINE_REFS) {
        behind_comma(line);
    }
    offer_list(line, field->kind == GLASSINE_TRUTH ? TRUTHS : field->choices);
    for (size_t i = 0; field->refs != NULL && field->refs[i] != NULL; i++) {
        offer_labels(line, strcmp(field->refs[i], "stamp") == 0 ? "item" : field->refs[i]);
    }
}

/* -------------------------------------------------------------------------------------------------- words */

/* The usage tells what the word stands for: "FILE STAMP [PLATE] POSITIONS …". */
static const char *kind_of_word(completion *line) {
    const char *at = line->verb->usage;
    size_t length = 0;
    for (size_t i = 0; i <= line->plain_count; i++) {
        at += length;
        at += strspn(at, " []");
        length = strcspn(at, " []");
        if (length > strlen("…") && strncmp(at + length - strlen("…"), "…", strlen("…")) == 0) {
            length -= strlen("…"); /* it stands for all that follow */
            break;
        }
    }
    return cli_pool_copy(&line->pool, at, length);
}

static void offer_word(completion *line) {
    const char *kind = kind_of_word(line);
    if (kind == NULL) {
        line->failed = true;
    } else if (strcmp(kind, "TYPE") == 0) {
        offer_types(line);
    } else if (strcmp(kind, "RECORD") == 0) {
        offer_labels(line, NULL);
    } else if (strcmp(kind, "ITEM") == 0 || strcmp(kind, "STAMP") == 0 || strcmp(kind, "CLAIM") == 0) {
        offer_labels(line, "item");
    } else if (strcmp(kind, "PLATE") == 0) {
        offer_labels(line, "plate");
    }
}

static void complete(completion *line, const char *word, const char *option_before) {
    const cli_option_info *option = option_before != NULL ? awaiting(option_before) : NULL;
    const char *equals = strchr(word, '=');
    line->stem = word;
    if (option != NULL) {
        offer_argument(line, option->argument);
    } else if (word[0] == '-') {
        offer_options(line);
    } else if (line->verb->fields && equals != NULL) {
        offer_values(line, word, equals);
    } else if (strcmp(line->verb->name, "help") == 0) {
        offer_topics(line);
    } else {
        if (line->plain_count > 0) {
            offer_word(line);
        }
        if (line->verb->fields && (line->plain_count > 0 || !line->verb->bundle)) {
            offer_field_names(line, type_of(line));
        }
    }
}

bool cli_complete(char *const *words, size_t count, glassine_write write, void *context) {
    completion line = {
        .write = write, .context = context, .before = "", .stem = count > 0 ? words[count - 1] : ""};
    if (count < 2) {
        offer_verbs(&line);
        cli_pool_free(&line.pool);
        return !line.failed;
    }
    line.verb = cli_verb_find(words[0]);
    char **plain = cli_pool_take(&line.pool, count * sizeof *plain);
    if (line.verb != NULL && plain != NULL) {
        for (size_t i = 1; i + 1 < count; i++) {
            if (awaiting(words[i]) != NULL) {
                i++;
            } else if (words[i][0] != '-' && !(line.verb->fields && strchr(words[i], '=') != NULL)) {
                plain[line.plain_count++] = words[i];
            }
        }
        line.plain = plain;
        complete(&line, words[count - 1], count > 2 ? words[count - 2] : NULL);
    }
    glassine_bundle_close(line.bundle);
    bool done = !line.failed && plain != NULL;
    cli_pool_free(&line.pool);
    return done;
}
