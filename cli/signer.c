#include "signer.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "refuse.h"
#include "system.h"
#include "verbs.h"

enum { PASSPHRASE_MOST = 1024 };

/* ------------------------------------------------------------------------------------------ where it lies */

static char *in_configuration(cli_pool *pool, const char *name) {
    const char *folder = getenv("XDG_CONFIG_HOME");
    if (folder != NULL &&
        cli_system_is_whole(folder)) { /* the XDG specification: a relative path counts as unset */
        return cli_pool_print(pool, "%s/glassine/%s", folder, name);
    }
    folder = cli_system_home();
    return folder != NULL && cli_system_is_whole(folder)
               ? cli_pool_print(pool, "%s/.config/glassine/%s", folder, name)
               : NULL;
}

char *cli_key_path(cli_pool *pool) {
    return in_configuration(pool, "key.pem");
}

char *cli_key_path_before(cli_pool *pool) {
    return in_configuration(pool, "key-before.pem");
}

glassine_status cli_key_folder(cli_call *call) {
    char *path = in_configuration(call->pool, "");
    if (path == NULL) {
        return cli_refuse(call->error, NULL, "Set HOME or XDG_CONFIG_HOME", "there is no place for a key");
    }
    for (char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        int code = mkdir(path, 0700) == 0 ? 0 : errno;
        if (code != 0 && code != EEXIST) {
            return cli_cannot_make(call->error, code, path, NULL);
        }
        *slash = '/';
    }
    return GLASSINE_OK;
}

/* ------------------------------------------------------------------------------------------- passphrases */

/* A line without its end; NULL: nothing came, or too much. */
static char *read_line(cli_call *call, FILE *from) {
    char *line = cli_pool_take(call->pool, PASSPHRASE_MOST);
    if (line == NULL || fgets(line, PASSPHRASE_MOST, from) == NULL) {
        return NULL;
    }
    size_t length = strcspn(line, "\n");
    if (line[length] != '\n' && length == PASSPHRASE_MOST - 1) {
        return NULL;
    }
    line[length] = '\0';
    return line;
}

static char *ask_unseen(cli_call *call, const char *question) {
    fprintf(stderr, "%s ", question);
    bool hidden = cli_system_echo(false);
    char *line = read_line(call, stdin);
    if (hidden) {
        cli_system_echo(true);
    }
    fputc('\n', stderr);
    return line;
}

/* From the file that GLASSINE_PASSPHRASE_FILE names; *passphrase stays NULL where nothing names one. */
static glassine_status passphrase_of_file(cli_call *call, const char **passphrase) {
    const char *path = getenv("GLASSINE_PASSPHRASE_FILE");
    *passphrase = NULL;
    if (path == NULL || path[0] == '\0') {
        return GLASSINE_OK;
    }
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        return cli_system(call->error, errno, path, "GLASSINE_PASSPHRASE_FILE names it", "cannot be read");
    }
    *passphrase = read_line(call, file);
    fclose(file);
    return *passphrase != NULL
               ? GLASSINE_OK
               : cli_refuse(call->error, path, "Its first line is the passphrase", "holds no passphrase");
}

static glassine_status wanted_passphrase(cli_call *call, const char *path, const char **passphrase) {
    glassine_status status = passphrase_of_file(call, passphrase);
    if (status != GLASSINE_OK || *passphrase != NULL) {
        return status;
    }
    if (call->terminal->can_ask) {
        *passphrase = ask_unseen(call, "Passphrase of your key:");
    }
    bool may_go_without = (call->verb->options & CLI_BIT(CLI_UNSIGNED)) != 0;
    return *passphrase != NULL
               ? GLASSINE_OK
               : cli_refuse(call->error, path,
                            may_go_without
                                ? "Name a file that holds it in GLASSINE_PASSPHRASE_FILE, or say --unsigned"
                                : "Name a file that holds it in GLASSINE_PASSPHRASE_FILE",
                            "the key wants its passphrase, and nobody can be asked");
}

glassine_status cli_new_passphrase(cli_call *call, const char **passphrase) {
    glassine_status status = passphrase_of_file(call, passphrase);
    if (status != GLASSINE_OK || *passphrase != NULL) {
        return status;
    }
    if (!call->terminal->can_ask) {
        return cli_refuse(call->error, NULL, "Name a file that holds it in GLASSINE_PASSPHRASE_FILE",
                          "nobody can be asked for a passphrase");
    }
    char *first = ask_unseen(call, "Passphrase for the new key:");
    char *again = first != NULL ? ask_unseen(call, "Once more:") : NULL;
    if (again == NULL || strcmp(first, again) != 0) {
        return cli_refuse(call->error, NULL, "Try again", "the two are not the same");
    }
    *passphrase = first;
    return GLASSINE_OK;
}

/* ---------------------------------------------------------------------------------------------- the keys */

static glassine_status read_key(cli_call *call, const char *path, glassine_key **key) {
    bool locked;
    const char *passphrase = NULL;
    *key = NULL;
    if (path == NULL || access(path, F_OK) != 0) {
        return GLASSINE_OK;
    }
    glassine_status status = glassine_key_locked(path, &locked, call->error);
    if (status == GLASSINE_OK && locked) {
        status = wanted_passphrase(call, path, &passphrase);
    }
    return status == GLASSINE_OK ? glassine_key_read(path, passphrase, key, call->error) : status;
}

glassine_status cli_own_key(cli_call *call, const glassine_key **key) {
    glassine_status status = GLASSINE_OK;
    if (call->key == NULL && !cli_has(call->args, CLI_UNSIGNED)) {
        status = read_key(call, cli_key_path(call->pool), &call->key);
    }
    *key = call->key;
    return status;
}

glassine_status cli_sign_with(cli_call *call, glassine_bundle *bundle) {
    const glassine_key *key;
    glassine_status status = cli_own_key(call, &key);
    if (status == GLASSINE_OK && key != NULL && call->key_before == NULL) {
        status = read_key(call, cli_key_path_before(call->pool), &call->key_before);
    }
    if (status == GLASSINE_OK) {
        glassine_bundle_sign_with(bundle, key, call->key_before);
    }
    return status;
}

void cli_forget_keys(cli_call *call) {
    glassine_key_free(call->key);
    glassine_key_free(call->key_before);
    call->key = NULL;
    call->key_before = NULL;
}

void cli_warn_unsigned(cli_call *call, glassine_draft *draft) {
    size_t count = glassine_draft_unsigned(draft);
    if (count > 0) {
        glassine_report_finding(
            call->report, GLASSINE_WARNING, "K030", call->path,
            "Save with that person's key, or let the keeper write it down (--via)",
            count == 1 ? "%zu statement is in the name of one who signs, and is not signed: it will not count"
                       : "%zu statements are in the name of one who signs, and are not signed: "
                         "they will not count",
            count);
    }
}
