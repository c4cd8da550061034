#include "args.h"

#include <ctype.h>
#include <errno.h>
#include <stdio.h>
#include <string.h>

#include "line.h"
#include "nearest.h"
#include "refuse.h"

static const cli_option_info OPTIONS[CLI_OPTIONS] = {
    [CLI_JSON] = {"json", 0, NULL, "one JSON document on standard output instead of text"},
    [CLI_HELP] = {"help", 'h', NULL, "what this command does"},
    [CLI_BY] = {"by", 0, "WHO",
                "the contributor who speaks (else GLASSINE_BY, the configuration, the keeper)"},
    [CLI_VIA] = {"via", 0, "WHO", "the contributor who writes it down for the one who speaks"},
    [CLI_WHY] = {"why", 0, "TEXT", "the reason, kept with each statement"},
    [CLI_REACH] = {"reach", 0, "REACH",
                   "who may see it: shared, telling or private (else as the field's table says)"},
    [CLI_NOTE] = {"note", 0, "TEXT", "a note on the edition that the save makes"},
    [CLI_OUT] = {"out", 'o', "OUT", "the file or folder to write; it must not exist"},
    [CLI_HISTORY] = {"history", 0, NULL, "every statement in its order: who, when, what changed"},
    [CLI_ASIDE] = {"aside", 0, NULL, "also what the keeper set aside"},
    [CLI_QUICK] = {"quick", 0, NULL, "structure and log only, not the bytes of the scans"},
    [CLI_INSTEAD_OF] = {"instead-of", 0, NULL, "the claim replaces your earlier one on that stamp"},
    [CLI_ALSO] = {"also", 0, NULL, "the claim stands beside your earlier ones"},
    [CLI_TO] = {"to", 0, "WHO", "the contributor it goes to"},
    [CLI_ITEMS] = {"items", 0, "A,B,…", "the items, by label"},
    [CLI_SELECTION] = {"selection", 0, "S", "the items of a selection, by its label"},
    [CLI_BLIND] = {"blind", 0, NULL,
                   "without claims, opinions, titles and remarks that might tell a position"},
    [CLI_ASK] = {"ask", 0, "TEXT", "the question that goes with it"},
    [CLI_ANSWERS] = {"answers", 0, "EVENT", "the sending that it answers, by its id, where several are open"},
    [CLI_PREVIEW] = {"preview", 0, NULL, "only tell what would happen"},
    [CLI_ONLY] = {"only", 0, "TYPES", "only records of these types"},
    [CLI_WITH_PRIVATE] = {"with-private", 0, NULL, "private fields too: prices, storage places, addresses"},
    [CLI_WITHIN] = {"within", 0, "POSITIONS", "only these positions"},
    [CLI_WITH_CLAIMS] = {"with-claims", 0, NULL, "only places that the standing of the stamp leaves"},
    [CLI_SKIP_BAD] = {"skip-bad", 0, NULL, "leaves sources out that are not sound, and takes the others"},
    [CLI_ACCEPT_PARTIAL] = {"accept-partial", 0, NULL, "takes what is understood, where something is not"},
    [CLI_UNDERSTAND] = {"understand", 0, "ANSWERS",
                        "how answers of a text are meant: '3: 64, early; 5: cannot tell'"},
    [CLI_ON] = {"on", 0, "DATE", "when the answers of a text were given, where it does not say"},
    [CLI_AS] = {"as", 0, "FORM", "patch (RFC 6902, between the two to-json documents) or csv"},
    [CLI_ITEM] = {"item", 0, "ITEM", "only what belongs to this item"},
    [CLI_SINCE] = {"since", 0, "N",
                   "only records on which the second bundle has something later than edition N"},
    [CLI_AS_OF] = {"as-of", 0, "N|DATE", "as it was in edition N, or in the last edition not after DATE"},
    [CLI_PLATES_FROM] = {"plates-from", 0, "KIT",
                         "takes over the designs, plates, states and marks of a bundle"},
    [CLI_TAKE] = {"take", 0, "WHO", "takes the values that this contributor gave"},
    [CLI_SCAN_LIMIT] =
        {"scan-limit", 0, "PIXELS",
         "pixels on the longer side of a picture (1600 unless said, in a schedule 480; 0: as scanned)"},
    [CLI_SIZE_LIMIT] = {"size-limit", 0, "SIZE",
                        "the largest pictures with which all of it stays within SIZE (20M, 500K, bytes)"},
    [CLI_SCANS] = {"scans", 0, "full|reduced|none",
                   "what goes of the scans: every pixel, smaller copies, or none"},
    [CLI_KEEP_METADATA] = {"keep-metadata", 0, NULL,
                           "with the places, names and serial numbers that scans carry"},
    [CLI_SHEET] = {"sheet", 0, NULL, "also a sheet for answers, to be filled in (answers.csv)"},
    [CLI_TALK] = {"talk", 0, NULL, "one item a screen, for a projector"},
    [CLI_SCHEDULE] = {"schedule", 0, NULL,
                      "a list with pictures, storage places and values; with --with-private only"},
    [CLI_HANDOVER] = {"handover", 0, NULL, "what those who take over must know"},
    [CLI_SVG] = {"svg", 0, "OUT", "also draw it as an SVG picture into this new file"},
    [CLI_BASE] = {"base", 0, "FOLDER",
                  "what lies in this base folder (glassine-NAME), where it is not alone"},
    [CLI_DOUBTFUL] = {"doubtful", 0, NULL, "takes in slips too that nothing vouches for"},
    [CLI_STRIKE_MISSING] = {"strike-missing", 0, NULL,
                            "sets aside the records that a sheet has no row of any more"},
    [CLI_MAP] = {"map", 0, "MAP", "how a foreign sheet's columns are to be read"},
    [CLI_MAP_DRAFT] = {"map-draft", 0, "MAP", "writes a first map, to be corrected, and takes nothing"},
    [CLI_FLAT] = {"flat", 0, NULL, "one table with an item a row, for people"},
    [CLI_NO_BOM] = {"no-bom", 0, NULL, "without a byte order mark"},
    [CLI_LINES] = {"lines", 0, NULL, "a file of JSON Lines for each type, in the folder OUT"},
    [CLI_PICTURES] = {"pictures", 0, NULL, "with a small picture of each item"},
    [CLI_UNSIGNED] = {"unsigned", 0, NULL, "do not sign, though there is a key"},
    [CLI_PASSPHRASE] = {"passphrase", 0, NULL, "keep the new key under a passphrase"},
    [CLI_CHANGE] = {"change", 0, NULL, "the new key takes the place of the one that is there"},
    [CLI_IMAGES] = {"images", 0, NULL, "read every pixel of the scans too"},
    [CLI_FULL] = {"full", 0, NULL, "compare every byte"},
    [CLI_REPLACE] = {"replace", 0, NULL, "give up what only the backup has"},
    [CLI_PARITY] = {"parity", 0, "PERCENT",
                    "with parity of so many parts in a hundred, to rebuild damage from"},
    [CLI_MAN] = {"man", 0, NULL, NULL},
};

const cli_option_info *cli_option_at(cli_option option) {
    return &OPTIONS[option];
}

bool cli_has(const cli_args *args, cli_option option) {
    return args->option[option] != NULL;
}

const char *cli_field(const cli_args *args, const char *name) {
    for (size_t i = 0; i < args->field_count; i++) {
        if (strcmp(args->fields[i].field, name) == 0) {
            return args->fields[i].value;
        }
    }
    return NULL;
}

#define VALUE_FROM_FILE                                                                                      \
    "name=@PATH reads the value from a file; a value that begins with an at sign is written name=@@…"

/* The whole file as NUL-ended text, its last line end taken off. */
static glassine_status read_value(cli_pool *pool, const char *path, const char **out, glassine_error *error) {
    const size_t most = (size_t)glassine_limits_default().line_bytes;
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return cli_system(error, errno, path, VALUE_FROM_FILE, "cannot be read");
    }
    char *text = cli_pool_take(pool, most + 1);
    if (text == NULL) {
        fclose(file);
        return cli_memory(error);
    }
    size_t length = fread(text, 1, most + 1, file);
    bool broken = ferror(file) != 0;
    fclose(file);
    if (broken) {
        return cli_system(error, EIO, path, NULL, "cannot be read");
    }
    if (length > most) {
        return cli_refuse(error, path, NULL, "is longer than a value may be (%zu bytes)", most);
    }
    if (memchr(text, '\0', length) != NULL) {
        return cli_refuse(error, path, "A value is text", "holds a NUL byte");
    }
    size_t kept = 0;
    for (size_t i = 0; i < length; i++) {
        if (text[i] != '\r' || i + 1 >= length || text[i + 1] != '\n') {
            text[kept++] = text[i];
        }
    }
    kept -= kept > 0 && text[kept - 1] == '\n';
    text[kept] = '\0';
    *out = text;
    return GLASSINE_OK;
}

/* Where NAME ends in NAME=VALUE; 0 where the token is no field. */
static size_t field_name_length(const char *token) {
    size_t length = 0;
    while (isalpha((unsigned char)token[length]) ||
           (length > 0 &&
            (isdigit((unsigned char)token[length]) || token[length] == '_' || token[length] == '-'))) {
        length++;
    }
    return token[length] == '=' ? length : 0;
}

void cli_spell(char *name) {
    for (; *name != '\0'; name++) {
        *name = *name == '-' || *name == ' ' ? '_' : (char)tolower((unsigned char)*name);
    }
}

static glassine_status take_field(cli_args *args, const char *token, size_t length, glassine_error *error) {
    char *name = cli_pool_copy(&args->pool, token, length);
    if (name == NULL) {
        return cli_memory(error);
    }
    cli_spell(name);
    if (cli_field(args, name) != NULL) {
        return cli_refuse(error, name, NULL, "this field is given twice");
    }
    const char *value = token + length + 1;
    if (value[0] == '@' && value[1] == '@') {
        value++;
    } else if (value[0] == '@' && value[1] == '\0') {
        return cli_refuse(error, name, VALUE_FROM_FILE, "no file is named behind its at sign");
    } else if (value[0] == '@') {
        glassine_status status = read_value(&args->pool, value + 1, &value, error);
        if (status != GLASSINE_OK) {
            return status;
        }
    }
    args->fields[args->field_count++] = (glassine_assignment){.field = name, .value = value};
    return GLASSINE_OK;
}

static glassine_status unknown_option(const char *token, uint64_t allowed, glassine_error *error) {
    size_t length = strcspn(token + 2, "=");
    char typed[64];
    snprintf(typed, sizeof typed, "%.*s", (int)(length < sizeof typed ? length : sizeof typed - 1),
             token + 2);
    cli_nearest nearest = cli_nearest_start(typed);
    cli_line list = {0};
    for (int i = 0; i < CLI_OPTIONS; i++) {
        if ((allowed & CLI_BIT(i)) != 0 && OPTIONS[i].help != NULL) {
            cli_nearest_try(&nearest, OPTIONS[i].name);
            cli_line_add(&list, " --%s", OPTIONS[i].name);
        }
    }
    cli_line remedy = {0};
    if (nearest.best != NULL) {
        cli_line_add(&remedy, "Did you mean --%s?", nearest.best);
    } else {
        cli_line_add(&remedy, "It takes%s; an argument that begins with a dash comes after --", list.text);
    }
    return cli_refuse(error, NULL, remedy.text, "there is no option --%s here", typed);
}

/* The option that `token` begins; *inline_argument is what stands behind "=" in it. */
static int find_option(const char *token, uint64_t allowed, const char **inline_argument) {
    *inline_argument = NULL;
    for (int i = 0; i < CLI_OPTIONS; i++) {
        if ((allowed & CLI_BIT(i)) == 0) {
            continue;
        }
        const cli_option_info *info = &OPTIONS[i];
        if (token[1] != '-') {
            if (info->letter != 0 && token[1] == info->letter && token[2] == '\0') {
                return i;
            }
            continue;
        }
        size_t length = strlen(info->name);
        if (strncmp(token + 2, info->name, length) == 0 &&
            (token[2 + length] == '\0' || token[2 + length] == '=')) {
            *inline_argument = token[2 + length] == '=' ? token + 3 + length : NULL;
            return i;
        }
    }
    return -1;
}

/* Takes the option at tokens[*at], and the token after it where it wants an argument. */
static glassine_status take_option(cli_args *args, const char *const *tokens, size_t count, size_t *at,
                                   uint64_t allowed, glassine_error *error) {
    const char *token = tokens[*at];
    const char *argument;
    int option = find_option(token, allowed, &argument);
    if (option < 0 && token[1] != '-') {
        return cli_refuse(error, NULL, "An argument that begins with a dash comes after --",
                          "there is no option %s here", token);
    }
    if (option < 0) {
        return unknown_option(token, allowed, error);
    }
    const cli_option_info *info = &OPTIONS[option];
    if (args->option[option] != NULL) {
        return cli_refuse(error, NULL, NULL, "the option --%s is given twice", info->name);
    }
    if (info->argument == NULL) {
        if (argument != NULL) {
            return cli_refuse(error, NULL, NULL, "the option --%s takes nothing behind it", info->name);
        }
        args->option[option] = "";
        return GLASSINE_OK;
    }
    if (argument == NULL && *at + 1 < count) {
        argument = tokens[++*at];
    }
    if (argument == NULL || argument[0] == '\0') {
        return cli_refuse(error, NULL, NULL, "the option --%s wants %s behind it", info->name,
                          info->argument);
    }
    args->option[option] = argument;
    return GLASSINE_OK;
}

glassine_status cli_args_parse(const char *const *tokens, size_t count, uint64_t options, bool fields,
                               cli_args *args, glassine_error *error) {
    memset(args, 0, sizeof *args);
    args->words = cli_pool_take(&args->pool, (count + 1) * sizeof *args->words);
    args->fields = cli_pool_take(&args->pool, (count + 1) * sizeof *args->fields);
    if (args->words == NULL || args->fields == NULL) {
        return cli_memory(error);
    }
    bool ended = false;
    for (size_t i = 0; i < count; i++) {
        const char *token = tokens[i];
        glassine_status status = GLASSINE_OK;
        size_t name = fields ? field_name_length(token) : 0;
        if (!ended && strcmp(token, "--") == 0) {
            ended = true;
        } else if (!ended && token[0] == '-' && token[1] != '\0') {
            status = take_option(args, tokens, count, &i, options, error);
        } else if (name > 0) {
            status = take_field(args, token, name, error);
        } else {
            args->words[args->word_count++] = token;
        }
        if (status != GLASSINE_OK) {
            return status;
        }
    }
    return GLASSINE_OK;
}

void cli_args_free(cli_args *args) {
    cli_pool_free(&args->pool);
}
