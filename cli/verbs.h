/* The one table of verbs: parsing, help, the manual page and `batch` follow it. */
#ifndef CLI_VERBS_H
#define CLI_VERBS_H

#include "call.h"

typedef enum cli_mode {
    CLI_ALONE,       /* opens no bundle, or does so itself */
    CLI_READS,       /* FILE open for reading */
    CLI_WRITES,      /* FILE open for writing, and a draft that is saved afterwards; may stand in a batch */
    CLI_SAVES_ITSELF /* the same, but saves itself; may not stand in a batch */
} cli_mode;

typedef enum cli_group {
    CLI_WRITING,
    CLI_READING,
    CLI_PLATING,
    CLI_TOGETHER,
    CLI_FILE,
    CLI_CONVERTING,
    CLI_ABOUT
} cli_group;

struct cli_verb {
    const char *name;
    cli_group group;
    cli_mode mode;
    bool bundle;    /* the first word is FILE */
    bool fields;    /* takes name=value */
    bool leaves;    /* writes a file of its own, which stays though its result could not be told */
    unsigned least; /* words after FILE */
    unsigned most;
    unsigned files;    /* the words from this one on, counted from 1, name other files; 0: none does */
    uint64_t options;  /* CLI_BIT of what it takes beyond --json and --help */
    const char *usage; /* what follows the verb */
    const char *summary;
    const char *help;    /* paragraphs, separated by line feeds */
    const char *example; /* lines, each without "glassine " */
    glassine_status (*run)(cli_call *call);
};

size_t cli_verb_count(void);
const cli_verb *cli_verb_at(size_t index);
const cli_verb *cli_verb_find(const char *name); /* NULL: there is none */
/* What a bundle alone, without a verb, asks for; it stands in no list. */
const cli_verb *cli_verb_bare(void);
uint64_t cli_verb_options(const cli_verb *verb); /* all of them */
const char *cli_group_name(cli_group group);
/* Does what it saved or wrote stay, though its result could not be told? */
bool cli_verb_leaves(const cli_verb *verb);
/* Refuses a name that is no verb, naming the nearest. */
glassine_status cli_verb_unknown(const char *name, glassine_error *error);
/* Refuses too few or too many words, with the usage. `words` are those after FILE. */
glassine_status cli_verb_check_words(const cli_verb *verb, size_t words, glassine_error *error);

glassine_status cli_alike(cli_call *call);
glassine_status cli_adopt(cli_call *call);
glassine_status cli_attach(cli_call *call);
glassine_status cli_audit(cli_call *call);
glassine_status cli_backup(cli_call *call);
glassine_status cli_batch(cli_call *call);
glassine_status cli_chart(cli_call *call);
glassine_status cli_claim(cli_call *call);
glassine_status cli_conclude(cli_call *call);
glassine_status cli_contested(cli_call *call);
glassine_status cli_dates(cli_call *call);
glassine_status cli_diff(cli_call *call);
glassine_status cli_digest(cli_call *call);
glassine_status cli_dispatch(cli_call *call);
glassine_status cli_editions(cli_call *call);
glassine_status cli_enter(cli_call *call);
glassine_status cli_extract(cli_call *call);
glassine_status cli_from_csv(cli_call *call);
glassine_status cli_from_json(cli_call *call);
glassine_status cli_from_xlsx(cli_call *call);
glassine_status cli_gather(cli_call *call);
glassine_status cli_intake(cli_call *call);
glassine_status cli_help(cli_call *call);
glassine_status cli_join(cli_call *call);
glassine_status cli_key(cli_call *call);
glassine_status cli_list(cli_call *call);
glassine_status cli_locate(cli_call *call);
glassine_status cli_match(cli_call *call);
glassine_status cli_merge(cli_call *call);
glassine_status cli_new(cli_call *call);
glassine_status cli_open(cli_call *call);
glassine_status cli_observe(cli_call *call);
glassine_status cli_pending(cli_call *call);
glassine_status cli_recover(cli_call *call);
glassine_status cli_proposed(cli_call *call);
glassine_status cli_reply(cli_call *call);
glassine_status cli_revise(cli_call *call);
glassine_status cli_settle(cli_call *call);
glassine_status cli_show(cli_call *call);
glassine_status cli_standing(cli_call *call);
glassine_status cli_tidy(cli_call *call);
glassine_status cli_to_csv(cli_call *call);
glassine_status cli_to_html(cli_call *call);
glassine_status cli_to_json(cli_call *call);
glassine_status cli_to_xlsx(cli_call *call);
glassine_status cli_trust(cli_call *call);
glassine_status cli_unpack(cli_call *call);
glassine_status cli_withdraw(cli_call *call);

#endif
