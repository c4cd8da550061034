/* What was typed after the verb: words, fields (name=value) and options. */
#ifndef CLI_ARGS_H
#define CLI_ARGS_H

#include "glassine.h"
#include "pool.h"

/* Every option of the program; a verb says which of them it takes. */
typedef enum cli_option {
    CLI_JSON,
    CLI_HELP,
    CLI_BY,
    CLI_VIA,
    CLI_WHY,
    CLI_REACH,
    CLI_NOTE,
    CLI_OUT,
    CLI_HISTORY,
    CLI_ASIDE,
    CLI_QUICK,
    CLI_INSTEAD_OF,
    CLI_ALSO,
    CLI_TO,
    CLI_ITEMS,
    CLI_SELECTION,
    CLI_BLIND,
    CLI_ASK,
    CLI_ANSWERS,
    CLI_PREVIEW,
    CLI_ONLY,
    CLI_WITH_PRIVATE,
    CLI_WITHIN,
    CLI_WITH_CLAIMS,
    CLI_SVG,
    CLI_SKIP_BAD,
    CLI_ACCEPT_PARTIAL,
    CLI_UNDERSTAND,
    CLI_ON,
    CLI_TAKE,
    CLI_AS,
    CLI_ITEM,
    CLI_SINCE,
    CLI_AS_OF,
    CLI_PLATES_FROM,
    CLI_SCAN_LIMIT,
    CLI_SIZE_LIMIT,
    CLI_SCANS,
    CLI_KEEP_METADATA,
    CLI_SHEET,
    CLI_TALK,
    CLI_SCHEDULE,
    CLI_HANDOVER,
    CLI_BASE,
    CLI_DOUBTFUL,
    CLI_STRIKE_MISSING,
    CLI_MAP,
    CLI_MAP_DRAFT,
    CLI_FLAT,
    CLI_NO_BOM,
    CLI_LINES,
    CLI_PICTURES,
    CLI_UNSIGNED,
    CLI_PASSPHRASE,
    CLI_CHANGE,
    CLI_IMAGES,
    CLI_FULL,
    CLI_REPLACE,
    CLI_PARITY,
    CLI_MAN,
    CLI_OPTIONS
} cli_option;

#define CLI_BIT(option) (UINT64_C(1) << (option))

typedef struct cli_option_info {
    const char *name;     /* without the dashes */
    char letter;          /* of the short form, or 0 */
    const char *argument; /* what follows it, as the help calls it; NULL: nothing */
    const char *help;     /* NULL: not shown */
} cli_option_info;

const cli_option_info *cli_option_at(cli_option option);

typedef struct cli_args {
    const char **words;
    size_t word_count;
    glassine_assignment *fields;
    size_t field_count;
    const char *option[CLI_OPTIONS]; /* the argument, "" where it takes none; NULL: not given */
    cli_pool pool;                   /* behind the above */
} cli_args;

/* Takes `tokens` (borrowed, they must outlive `args`) apart. Options stand anywhere; `--` ends them. With
 * `fields`, NAME=VALUE is a field: `NAME=@PATH` reads the value from a file, `NAME=@@…` begins with an at
 * sign. `options` is the set of CLI_BIT that is allowed. After a failure too, cli_args_free is due. */
glassine_status cli_args_parse(const char *const *tokens, size_t count, uint64_t options, bool fields,
                               cli_args *args, glassine_error *error);
void cli_args_free(cli_args *args);

bool cli_has(const cli_args *args, cli_option option);
/* A name as the format writes names: "Plate-Number" becomes "plate_number". */
void cli_spell(char *name);
/* The value of a field that was given, else NULL. */
const char *cli_field(const cli_args *args, const char *name);

#endif
