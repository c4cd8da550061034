#include "speaker.h"

#include <errno.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "refuse.h"
#include "system.h"

/* $XDG_CONFIG_HOME/glassine/config.json, else under $HOME/.config; NULL where neither is set. */
static char *configuration_path(cli_pool *pool) {
    const char *rest = "glassine/config.json";
    const char *folder = getenv("XDG_CONFIG_HOME");
    if (folder != NULL &&
        cli_system_is_whole(folder)) { /* the XDG specification: a relative path counts as unset */
        return cli_pool_print(pool, "%s/%s", folder, rest);
    }
    folder = cli_system_home();
    return folder != NULL && folder[0] != '\0' ? cli_pool_print(pool, "%s/.config/%s", folder, rest) : NULL;
}

/* The configuration's `by`; *name stays NULL where it has none or there is no configuration. */
static glassine_status configured(cli_pool *pool, const char *path, const char **name,
                                  glassine_error *error) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return errno == ENOENT || errno == ENOTDIR ? GLASSINE_OK
                                                   : cli_system(error, errno, path, NULL, "cannot be read");
    }
    json_error_t fault;
    json_t *root = json_loadf(file, JSON_REJECT_DUPLICATES, &fault);
    fclose(file);
    if (root == NULL) {
        return cli_refuse(error, path, "Mend or remove this file", "line %d is no JSON: %s", fault.line,
                          fault.text);
    }
    json_t *by = json_object_get(root, "by");
    glassine_status status = GLASSINE_OK;
    if (!json_is_object(root) || (by != NULL && !json_is_string(by))) {
        status = cli_refuse(error, path, "It looks like {\"by\":\"NAME\"}", "is no configuration");
    } else if (by != NULL) {
        *name = cli_pool_copy(pool, json_string_value(by), json_string_length(by));
        status = *name != NULL ? GLASSINE_OK : cli_memory(error);
    }
    json_decref(root);
    return status;
}

/* Who speaks where the command does not say it. */
static glassine_status said_once_for_all(cli_pool *pool, cli_speaker *speaker, glassine_error *error) {
    *speaker = (cli_speaker){getenv("GLASSINE_BY"), "GLASSINE_BY"};
    if (speaker->name != NULL && speaker->name[0] != '\0') {
        return GLASSINE_OK;
    }
    *speaker = (cli_speaker){NULL, configuration_path(pool)};
    return speaker->source != NULL ? configured(pool, speaker->source, &speaker->name, error) : GLASSINE_OK;
}

glassine_status cli_speaker_said(cli_pool *pool, const cli_args *args, cli_speaker *speaker,
                                 glassine_error *error) {
    *speaker = (cli_speaker){args->option[CLI_BY], "--by"};
    bool said = speaker->name != NULL && speaker->name[0] != '\0';
    return said ? GLASSINE_OK : said_once_for_all(pool, speaker, error);
}

bool cli_speaker_was_said(const cli_args *args) {
    const char *by = getenv("GLASSINE_BY");
    return cli_has(args, CLI_BY) || (by != NULL && by[0] != '\0');
}

static glassine_status contributor(cli_pool *pool, glassine_bundle *bundle, const char *name,
                                   const char *source, const char **id, glassine_error *error) {
    glassine_record *record;
    glassine_status status = glassine_bundle_find(bundle, "contributor", name, &record, error);
    if (status == GLASSINE_OK) {
        *id = cli_pool_span(pool, glassine_record_id(bundle, record));
        return *id != NULL ? GLASSINE_OK : cli_memory(error);
    }
    if (error != NULL) {
        cli_within(error, source);
    }
    return status;
}

/* Whoever enters the contributor that they themselves are cannot be there yet. */
static bool enters_themselves(const cli_args *args, const char *name) {
    const char *entered = cli_field(args, "name");
    return args->word_count == 1 && strcmp(args->words[0], "contributor") == 0 && entered != NULL &&
           strcmp(entered, name) == 0;
}

glassine_status cli_speaker_find(cli_pool *pool, glassine_bundle *bundle, const cli_args *args,
                                 const char **by, const char **via, glassine_error *error) {
    cli_speaker speaker;
    *by = NULL;
    *via = NULL;
    glassine_status status = cli_speaker_said(pool, args, &speaker, error);
    if (status == GLASSINE_OK && speaker.name != NULL) {
        status = contributor(pool, bundle, speaker.name, speaker.source, by, error);
        if (status == GLASSINE_REFUSED && enters_themselves(args, speaker.name)) {
            status = GLASSINE_OK;
        }
    }
    if (status == GLASSINE_OK && cli_has(args, CLI_VIA)) {
        status = contributor(pool, bundle, args->option[CLI_VIA], "--via", via, error);
    }
    return status;
}

glassine_status cli_speaker_at_work(cli_pool *pool, glassine_bundle *bundle, const cli_args *args,
                                    const char *by, const char **via, glassine_error *error) {
    cli_speaker speaker;
    if (!cli_has(args, CLI_BY) || *via != NULL) {
        return GLASSINE_OK;
    }
    glassine_status status = said_once_for_all(pool, &speaker, error);
    if (status == GLASSINE_OK && speaker.name != NULL) {
        status = contributor(pool, bundle, speaker.name, speaker.source, via, NULL);
        status = status == GLASSINE_REFUSED ? GLASSINE_OK : status; /* nobody here */
    }
    if (status == GLASSINE_OK && *via != NULL && strcmp(*via, by) == 0) {
        *via = NULL;
    }
    return status;
}

const char *cli_speaker_usual(const glassine_bundle *bundle) {
    const char *answers = glassine_bundle_answer_by(bundle);
    return answers != NULL ? answers : glassine_bundle_keeper(bundle);
}
