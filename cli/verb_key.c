/* Signatures: the user's own key, and the keeper's word on others' keys; proposals taken up. */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "line.h"
#include "memory.h"
#include "record.h"
#include "refuse.h"
#include "signer.h"
#include "speaker.h"
#include "verbs.h"

/* --------------------------------------------------------------------------------------------- key new */

/* The key that is there steps back; the first save into each bundle that knows it says that it was changed.
 */
static glassine_status step_back(cli_call *call, const char *path) {
    const char *before = cli_key_path_before(call->pool);
    if (access(path, F_OK) != 0) {
        return GLASSINE_OK;
    }
    if (!cli_has(call->args, CLI_CHANGE)) {
        return cli_refuse(call->error, path, "--change keeps it as the one before, and makes another",
                          "there is a key already");
    }
    if (access(before, F_OK) == 0) {
        return cli_refuse(
            call->error, before,
            "Move it to a safe place first; bundles that know only that key take the keeper's word "
            "(trust)",
            "there is a key from an earlier change");
    }
    return rename(path, before) == 0 ? GLASSINE_OK : cli_cannot_make(call->error, errno, before, NULL);
}

static glassine_status key_new(cli_call *call) {
    const char *path = cli_key_path(call->pool), *passphrase = NULL;
    glassine_key *key = NULL;
    glassine_status status = cli_key_folder(call);
    if (status == GLASSINE_OK && cli_has(call->args, CLI_PASSPHRASE)) {
        status = cli_new_passphrase(call, &passphrase);
    }
    if (status == GLASSINE_OK) {
        status = step_back(call, path);
    }
    if (status == GLASSINE_OK) {
        status = glassine_key_new(&key, call->error);
    }
    if (status == GLASSINE_OK) {
        status = glassine_key_write(key, path, passphrase, call->error);
    }
    if (status == GLASSINE_OK) {
        glassine_node_string(call->result, "key", "key", glassine_key_public(key));
        glassine_node_string(call->result, "file", "kept in", path);
        glassine_node_truth(call->result, "passphrase", NULL, passphrase != NULL);
        glassine_node_say(call->result,
                          "From now on what you write is signed with it. Keep a copy of the file in a "
                          "safe place: nobody can make it again.");
    }
    glassine_key_free(key);
    return status;
}

/* -------------------------------------------------------------------------------------------- key show */

static glassine_status show_keys_of(cli_call *call, const char *path) {
    glassine_bundle *bundle;
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_report_about(call->report, path, glassine_bundle_edition(bundle));
    status = glassine_keys(bundle, call->report, call->error);
    glassine_bundle_close(bundle);
    return status;
}

static glassine_status key_show(cli_call *call) {
    const glassine_key *key;
    if (call->args->word_count > 1) {
        return show_keys_of(call, call->args->words[1]);
    }
    glassine_status status = cli_own_key(call, &key);
    if (status != GLASSINE_OK) {
        return status;
    }
    if (key == NULL) {
        return cli_refuse(call->error, NULL, "`glassine key new` makes one", "you have no key");
    }
    glassine_node_string(call->result, "key", NULL, glassine_key_public(key));
    glassine_node_string(call->result, "file", NULL, cli_key_path(call->pool));
    glassine_node_say(call->result, "%s", glassine_key_public(key));
    return GLASSINE_OK;
}

/* -------------------------------------------------------------------------------------------- key sign */

/* The records that are named behind the file. */
static glassine_status records_named(cli_call *call, glassine_bundle *bundle, cli_records *records) {
    size_t most = call->args->word_count - 2;
    records->count = 0;
    records->list = cli_pool_take(call->pool, (most + 1) * sizeof(glassine_record *));
    if (records->list == NULL) {
        return cli_memory(call->error);
    }
    for (size_t i = 0; i < most; i++) {
        glassine_status status = glassine_bundle_find(bundle, NULL, call->args->words[i + 2],
                                                      &records->list[records->count], call->error);
        if (status != GLASSINE_OK) {
            return status;
        }
        records->count++;
    }
    return GLASSINE_OK;
}

static void tell_signed(cli_call *call, const char *path, size_t count, size_t left) {
    glassine_node_integer(call->result, "signed", "earlier statements signed", (int64_t)count);
    if (left > 0) {
        glassine_report_finding(
            call->report, GLASSINE_WARNING, "K030", path,
            "`audit` names them. Look at each with `show RECORD --history`; those that are yours "
            "are signed by `key sign FILE RECORD`",
            "%zu in your name do not count and were left as they are: somebody else may have "
            "written them",
            left);
    }
}

static glassine_status sign_earlier(cli_call *call, const char *path, glassine_bundle *bundle) {
    const char *by, *via;
    glassine_draft *draft = NULL;
    cli_records records = {.count = 0};
    size_t count = 0, left = 0;
    uint32_t before = glassine_bundle_edition(bundle);
    glassine_status status = cli_speaker_find(call->pool, bundle, call->args, &by, &via, call->error);
    if (status == GLASSINE_OK) {
        status = records_named(call, bundle, &records);
    }
    if (status == GLASSINE_OK) {
        status = cli_sign_with(call, bundle);
    }
    if (status == GLASSINE_OK) {
        status = glassine_draft_new(bundle, by, via, &draft, call->error);
    }
    if (status == GLASSINE_OK) {
        status = glassine_draft_sign_earlier(draft, records.list, records.count, &count, &left, call->error);
    }
    if (status == GLASSINE_OK) {
        status = glassine_draft_save(draft, "signed", call->error);
    }
    if (status == GLASSINE_OK) {
        glassine_report_about(call->report, path, glassine_bundle_edition(bundle));
        tell_signed(call, path, count, left);
        if (glassine_bundle_edition(bundle) > before) {
            cli_memory_keep(call, bundle);
        }
    }
    glassine_draft_free(draft);
    return status;
}

static glassine_status key_sign(cli_call *call) {
    glassine_bundle *bundle;
    if (call->args->word_count < 2) {
        return cli_refuse(call->error, NULL, "glassine key sign FILE", "no bundle is named");
    }
    const char *path = call->args->words[1];
    glassine_status status = glassine_bundle_open(path, GLASSINE_WRITE, NULL, &bundle, call->error);
    if (status == GLASSINE_OK) {
        status = sign_earlier(call, path, bundle);
        glassine_bundle_close(bundle);
    }
    return status;
}

glassine_status cli_key(cli_call *call) {
    const char *what = call->args->words[0];
    if (strcmp(what, "new") == 0 && call->args->word_count == 1) {
        return key_new(call);
    }
    if (strcmp(what, "show") == 0 && call->args->word_count <= 2) {
        return key_show(call);
    }
    if (strcmp(what, "sign") == 0) {
        return key_sign(call);
    }
    return cli_refuse(call->error, NULL, "glassine key new, key show [FILE], key sign FILE",
                      "\"%s\" is nothing that can be done with a key", what);
}

/* ----------------------------------------------------------------------------------- the keeper's word */

glassine_status cli_trust(cli_call *call) {
    glassine_record *person;
    const char *key = call->args->words[1];
    bool none = strcmp(key, "none") == 0;
    glassine_status status = cli_find(call, "contributor", call->args->words[0], &person);
    if (status == GLASSINE_OK) {
        status = glassine_draft_trust(call->draft, person, none ? NULL : key, call->error);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_node_string(call->result, "contributor", NULL, cli_id(call, person));
    glassine_node_string(call->result, "key", NULL, none ? NULL : key);
    glassine_node_say(call->result,
                      none ? "%s counts as one who does not sign." : "Of %s this key counts, and no other.",
                      cli_label(call, person));
    return GLASSINE_OK;
}

glassine_status cli_proposed(cli_call *call) {
    return glassine_proposed(call->bundle, call->report, call->error);
}

glassine_status cli_adopt(cli_call *call) {
    glassine_node *list = glassine_node_table(call->result, "adopted", "Taken up");
    for (size_t i = 0; i < call->args->word_count; i++) {
        glassine_record *record;
        glassine_status status =
            glassine_draft_adopt(call->draft, call->args->words[i], &record, call->error);
        if (status != GLASSINE_OK) {
            return status;
        }
        glassine_node *row = glassine_node_object(list, NULL, NULL);
        glassine_node_string(row, "proposal", "proposal", call->args->words[i]);
        glassine_node_string(row, "record", "record", cli_id(call, record));
        glassine_node_string(row, "label", "label", cli_label(call, record));
    }
    return GLASSINE_OK;
}
