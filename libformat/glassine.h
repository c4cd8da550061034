/* glassine: a bundle of stamps, scans and plate-position claims in one file that only grows.
 *
 * The format is described in spec/. This header is the whole public interface of the library.
 *
 * Conventions
 *  - Every function that can fail returns a glassine_status and fills a glassine_error, which may be NULL.
 *    Nothing is printed, nothing exits, no state is global, no locale is consulted.
 *  - Text is UTF-8. A `const char *` in is NUL-ended; a glassine_span out is bytes with a length, and where it
 *    holds decoded text, a NUL byte follows.
 *  - What a function hands out by pointer or span without _new or _open in its name is borrowed: it lives until
 *    the bundle is closed, unless its comment says otherwise. _open pairs with _close, _new with _free; these
 *    take NULL.
 *  - A handle is used by one thread at a time; different handles are independent.
 */
#ifndef GLASSINE_H
#define GLASSINE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* What the shared library exports. */
#if defined(GLASSINE_BUILD) && !defined(_WIN32)
#define GLASSINE_API __attribute__((visibility("default")))
#else
#define GLASSINE_API
#endif

#define GLASSINE_FORMAT_MAJOR 1 /* of the format that this library writes (spec/versions.md) */
#define GLASSINE_FORMAT_MINOR 0 /* the same */

/* ---------------------------------------------------------------------------------------------- basics */

/* Bytes that somebody else keeps; text == NULL says absent. */
typedef struct glassine_span {
    const char *text; /* not NUL-ended unless said so */
    size_t length;    /* in bytes */
} glassine_span;

/* How a call ended. The values are the exit statuses of the program. */
typedef enum glassine_status {
    GLASSINE_OK = 0,
    GLASSINE_REFUSED = 2, /* unusable input or arguments; nothing was changed */
    GLASSINE_SYSTEM = 3   /* the system failed (disk full, permission, memory); nothing was lost */
} glassine_status;

/* What went wrong: what, where, what to do; each part is one line fit for a terminal. */
typedef struct glassine_error {
    glassine_status status; /* as the call returns it */
    char rule[8];           /* rule code of spec/rules.md ("C014"), or "" */
    char place[512];        /* file, record, line, answer … or "" */
    char message[768];      /* what is wrong */
    char remedy[512];       /* what to do, or "" */
} glassine_error;

/* "PLACE: MESSAGE (RULE). REMEDY" into `out`, cut to `size` bytes at a character; always NUL-ended. */
GLASSINE_API void glassine_error_line(const glassine_error *error, char *out, size_t size);

/* Limits on what is read (spec/limits.md has the reason of each default); 0 takes the default. */
typedef struct glassine_limits {
    uint64_t entries;          /* entries in a directory */
    uint64_t directory_bytes;  /* size of the central directory */
    uint64_t small_file_bytes; /* inflated size of a tag file, manifest, about.json */
    uint64_t segment_bytes;    /* inflated size of one segment */
    uint64_t log_bytes;        /* inflated size of the whole log */
    uint64_t ratio;            /* inflated : deflated, beyond the first mebibyte */
    uint64_t line_bytes;       /* one line of the log */
    uint64_t slips;            /* slips in the set */
    uint64_t after;            /* digests in one slip's `after` */
    uint64_t fields;           /* fields one slip touches */
    uint64_t editions;         /* editions in a log, footers in a file */
    uint64_t record_fields; /* fields of a record that its type does not have and that several slips touch */
} glassine_limits;
/* The defaults of spec/limits.md. */
GLASSINE_API glassine_limits glassine_limits_default(void);

/* ---------------------------------------------------------------------------------------------- reports */

/* Every verb fills one report; one printer makes text for people of it, another one JSON. A report is a list of
 * findings and a tree of nodes: `key` names a node in JSON, `label` heads it in text. key == NULL: text only;
 * label == NULL: JSON only. Failure to get memory sticks and is told by glassine_report_failed. All text is
 * copied; printing shows control characters escaped. */
typedef struct glassine_report glassine_report;
/* A part of a report's result; it lives as long as its report. */
typedef struct glassine_node glassine_node;

/* How much a finding weighs. */
typedef enum glassine_weight {
    GLASSINE_NOTE,    /* worth knowing */
    GLASSINE_WARNING, /* something wants attention */
    GLASSINE_FAULT    /* a rule is broken */
} glassine_weight;

/* An empty report; NULL: no memory. `verb` is copied. */
GLASSINE_API glassine_report *glassine_report_new(const char *verb);
GLASSINE_API void glassine_report_free(glassine_report *report); /* frees it, with its result and findings */
/* From here on the report is for one of the printers only: of rows and lists, which may be long, it keeps
 * what that one shows. */
GLASSINE_API void glassine_report_only(glassine_report *report, bool json);
/* Did memory run out while it was filled? Then it is not complete. */
GLASSINE_API bool glassine_report_failed(const glassine_report *report);
/* Says which bundle and edition the report is about. */
GLASSINE_API void glassine_report_about(glassine_report *report, const char *bundle, uint32_t edition);
/* `rule`, `place`, `remedy` may be NULL. */
GLASSINE_API void glassine_report_finding(glassine_report *report, glassine_weight weight, const char *rule,
                                          const char *place, const char *remedy, const char *format, ...)
    __attribute__((format(printf, 6, 7)));
/* How many findings weigh `at_least` that much. */
GLASSINE_API size_t glassine_report_findings(const glassine_report *report, glassine_weight at_least);
/* Empties the result: what it tells was not kept after all. */
GLASSINE_API void glassine_report_drop_result(glassine_report *report);
/* Takes an error over: the JSON then has an "error" member. */
GLASSINE_API void glassine_report_error(glassine_report *report, const glassine_error *error);
/* The root of "result": an object. */
GLASSINE_API glassine_node *glassine_report_result(glassine_report *report);
/* Replaces the root by an array (a bare list as result), once, before anything was added. */
GLASSINE_API glassine_node *glassine_report_result_list(glassine_report *report, const char *label,
                                                        bool table);
/* Sets what the verb's exit status should be when nothing failed: something wants attention (1). */
GLASSINE_API void glassine_report_attention(glassine_report *report);
/* Was that said of it? */
GLASSINE_API bool glassine_report_wants_attention(const glassine_report *report);

/* Nodes. Every adder takes NULL as parent and then does nothing, returning NULL. */
GLASSINE_API glassine_node *glassine_node_object(glassine_node *parent, const char *key, const char *label);
/* An array; its elements are added with key NULL-able: in an array keys are ignored, and text shows every element,
 * labelled or not. */
GLASSINE_API glassine_node *glassine_node_list(glassine_node *parent, const char *key, const char *label);
/* An array of objects that text shows as a table: one column for each labelled member of the rows. */
GLASSINE_API glassine_node *glassine_node_table(glassine_node *parent, const char *key, const char *label);
/* A field with text out of a bundle or from outside; it is copied. */
GLASSINE_API void glassine_node_text(glassine_node *parent, const char *key, const char *label,
                                     glassine_span value);
/* The same, of text that ends with NUL. */
GLASSINE_API void glassine_node_string(glassine_node *parent, const char *key, const char *label,
                                       const char *value);
/* The same, made as printf makes it. */
GLASSINE_API void glassine_node_format(glassine_node *parent, const char *key, const char *label,
                                       const char *format, ...) __attribute__((format(printf, 4, 5)));
/* A field with a number. */
GLASSINE_API void glassine_node_integer(glassine_node *parent, const char *key, const char *label,
                                        int64_t value);
/* `digits` after the point, in text and in JSON. */
GLASSINE_API void glassine_node_real(glassine_node *parent, const char *key, const char *label, double value,
                                     int digits);
/* A field that holds or does not. */
GLASSINE_API void glassine_node_truth(glassine_node *parent, const char *key, const char *label, bool value);
/* A member that is JSON already (canonical or not, but valid); text does not show it. */
GLASSINE_API void glassine_node_json(glassine_node *parent, const char *key, glassine_span json);
/* A line of prose, in text only. */
GLASSINE_API void glassine_node_say(glassine_node *parent, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* Text only, line breaks kept as they are (a drawing, a map). */
GLASSINE_API void glassine_node_drawing(glassine_node *parent, const char *text);

/* Where printing goes: returns 0, or an errno value that ends it. */
typedef int (*glassine_write)(void *context, const char *bytes, size_t length);
/* How text for people is laid out. */
typedef struct glassine_text_style {
    unsigned width; /* columns; 0: 80 */
    bool colour;    /* for a terminal that shows colours */
} glassine_text_style;
/* {"verb","bundle","edition","findings":[{"weight","rule","place","message","remedy"}],"result"} and "error". */
GLASSINE_API int glassine_report_json(const glassine_report *report, glassine_write write, void *context);
/* The result for people (standard output's part); findings are printed by the next function. */
GLASSINE_API int glassine_report_text(const glassine_report *report, glassine_text_style style,
                                      glassine_write write, void *context);
/* The findings for people (standard error's part), one a line. */
GLASSINE_API int glassine_report_findings_text(const glassine_report *report, glassine_text_style style,
                                               glassine_write write, void *context);

/* ------------------------------------------------------------------------------- types and their fields */

/* Who may see a statement (spec/slips.md): everybody; not those who get a blind dispatch; the keeper alone.
 */
typedef enum glassine_reach { GLASSINE_SHARED, GLASSINE_TELLING, GLASSINE_PRIVATE } glassine_reach;
#define GLASSINE_REACHES 3                                          /* how many there are */
GLASSINE_API const char *glassine_reach_name(glassine_reach reach); /* "shared", "telling", "private" */

/* What the values of a field are. */
typedef enum glassine_kind {
    GLASSINE_TEXT,       /* string */
    GLASSINE_INTEGER,    /* integer within `least` and `most` */
    GLASSINE_TRUTH,      /* boolean */
    GLASSINE_DATE,       /* string: EDTF level 1 */
    GLASSINE_CHOICE,     /* string: one of `choices` */
    GLASSINE_REF,        /* string: TYPE/UUID of one of `refs` */
    GLASSINE_EXPRESSION, /* string: positions on a plate */
    GLASSINE_HEX,        /* string: 64 lower-case hex digits */
    GLASSINE_TEXTS,      /* array of strings */
    GLASSINE_CHOICES,    /* array of strings, each one of `choices` */
    GLASSINE_REFS,       /* array of TYPE/UUID */
    GLASSINE_REGION      /* array of four integers: x, y, width, height in pixels */
} glassine_kind;

/* A field of a type of records, as the table has it. */
typedef struct glassine_field_info {
    const char *name;           /* as in records, lower case */
    glassine_kind kind;         /* what its values are */
    glassine_reach reach;       /* where a writer puts it unless told otherwise */
    bool required;              /* every record of the type has it */
    const char *const *choices; /* NULL-ended; NULL where any value of the kind will do */
    const char *const *refs;    /* NULL-ended types a reference may lead to; NULL: any */
    int64_t least, most;        /* of an integer; of references: how many (most 0: as many as one likes) */
    const char *unit;           /* "micrometres", "hundredths of a dot per inch" …, or NULL */
    const char *help;           /* one line */
} glassine_field_info;

/* A type of records, as the table has it. */
typedef struct glassine_type_info {
    const char *name;                  /* as in records, lower case */
    bool authored;                     /* a record of it speaks for its author alone */
    const char *label;                 /* the field people name it by, or NULL */
    const char *help;                  /* one line */
    const char *caution;               /* what to be told when one is entered or shown, or NULL */
    const glassine_field_info *fields; /* in the order of the table */
    size_t field_count;                /* how many */
} glassine_type_info;

/* The one table of record types (spec/records.md), in its order. */
GLASSINE_API size_t glassine_type_count(void);
/* The type of this number, from 0. */
GLASSINE_API const glassine_type_info *glassine_type_at(size_t index);
GLASSINE_API const glassine_type_info *glassine_type_find(const char *name); /* NULL: unknown */
/* A field of a type; NULL: the type (which may be NULL) has none of that name. */
GLASSINE_API const glassine_field_info *glassine_type_field(const glassine_type_info *type, const char *name);
/* Where a writer puts the field of a record whose field `kind` says this (NULL: unsaid): a purchase or a sale is private
 * whole. */
GLASSINE_API glassine_reach glassine_type_reach(const glassine_type_info *type,
                                                const glassine_field_info *field, const char *kind);
/* The type's caution where it holds for a record whose field `kind` says this (NULL: unsaid or not yet known):
 * of an event it holds for treatments and repairs only. NULL: none. */
GLASSINE_API const char *glassine_type_caution(const glassine_type_info *type, const char *kind);

/* ---------------------------------------------------------------------------------------------- bundles */

/* An opened bundle. */
typedef struct glassine_bundle glassine_bundle;
/* A record of an opened bundle; it lives until the bundle is closed. */
typedef struct glassine_record glassine_record;
typedef struct glassine_key glassine_key; /* somebody's own key, to sign with */

/* What a bundle is opened for. */
typedef enum glassine_mode {
    GLASSINE_READ,
    GLASSINE_WRITE /* holds the bundle's lock until it is closed; waits for another writer up to `wait_ms` */
} glassine_mode;

/* Who looks on while something takes long, and may stop it. */
typedef struct glassine_watch {
    /* Called now and then, on the thread that called the library: what is being done, how much of how much, and of what
     * ("files"; NULL: bytes). False stops the work: it fails with GLASSINE_SYSTEM, and everything is as it was. */
    bool (*tell)(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total);
    void *context; /* for `tell` */
} glassine_watch;

/* How a bundle is opened; all zero is usual. */
typedef struct glassine_options {
    const glassine_limits *limits; /* NULL: the defaults */
    const glassine_watch *watch;   /* NULL: nobody; outlives the bundle */
    unsigned wait_ms;              /* 0: ten seconds */
} glassine_options;

/* Opens a bundle: a file, or "FILE#N" for its edition N (reading only); for reading also a folder that was
 * unpacked from one, or another program's archive of such a folder. A file whose name holds '#' and exists is
 * itself. Where a file does not end in a whole footer the last whole edition is opened, and
 * glassine_bundle_tail tells of the rest. */
GLASSINE_API glassine_status glassine_bundle_open(const char *path, glassine_mode mode,
                                                  const glassine_options *options, glassine_bundle **bundle,
                                                  glassine_error *error);
/* Opens a bundle for reading where another is open: what the logs of both begin with was checked in `beside`, and is
 * neither checked again nor held twice. So two copies of one bundle take little more than one. `beside` is to be closed
 * after it. */
GLASSINE_API glassine_status glassine_bundle_open_beside(const char *path, const glassine_bundle *beside,
                                                         const glassine_options *options,
                                                         glassine_bundle **bundle, glassine_error *error);
/* Lets go of it, of its lock and of everything borrowed from it. What a draft holds and was not saved is
 * gone. */
GLASSINE_API void glassine_bundle_close(glassine_bundle *bundle);

/* Tells whoever looks on at the bundle how far work on it is, as glassine_watch says; fails where that stops it. */
GLASSINE_API glassine_status glassine_bundle_tell(glassine_bundle *bundle, const char *doing,
                                                  const char *unit, uint64_t done, uint64_t total,
                                                  glassine_error *error);

/* Did memory run out in a function that has no status to say so (a label, a text, a digest), or was a cursor stopped by
 * whoever looks on? Then what was given since then may be incomplete; functions that do have a status fail from here
 * on, and the bundle is to be closed. */
GLASSINE_API bool glassine_bundle_failed(const glassine_bundle *bundle);

/* The path of its file or folder. */
GLASSINE_API const char *glassine_bundle_path(const glassine_bundle *bundle);
/* The bundle's own UUID, which its copies share. */
GLASSINE_API const char *glassine_bundle_uuid(const glassine_bundle *bundle);
GLASSINE_API const char *glassine_bundle_base(const glassine_bundle *bundle); /* "glassine-SLUG" */
/* Its title when it was made; that of the `collection` record may be newer. */
GLASSINE_API const char *glassine_bundle_title(const glassine_bundle *bundle);
GLASSINE_API const char *glassine_bundle_keeper(const glassine_bundle *bundle);    /* contributor/UUID */
GLASSINE_API const char *glassine_bundle_answer_by(const glassine_bundle *bundle); /* the same, or NULL */
GLASSINE_API const char *glassine_bundle_event(const glassine_bundle *bundle);     /* event/UUID, or NULL */
GLASSINE_API const char *
glassine_bundle_answers(const glassine_bundle *bundle); /* UUID of the dispatch, or NULL */
/* Was it dispatched blind? */
GLASSINE_API bool glassine_bundle_blind(const glassine_bundle *bundle);
/* The number of the edition that is open. */
GLASSINE_API uint32_t glassine_bundle_edition(const glassine_bundle *bundle);
GLASSINE_API glassine_span
glassine_bundle_version(const glassine_bundle *bundle); /* "1.0", as the file says */
/* Bytes after the last whole edition that belong to none; 0 in a sound file. */
GLASSINE_API uint64_t glassine_bundle_tail(const glassine_bundle *bundle);
/* Who else is saving into the file now ("process 4711 (glassine)"): what is behind the last whole edition may be theirs.
 * NULL: nobody, or the system does not tell. The text is the bundle's. */
GLASSINE_API const char *glassine_bundle_writer(glassine_bundle *bundle);
/* How many slips the set has. */
GLASSINE_API uint64_t glassine_bundle_slips(const glassine_bundle *bundle);
/* Lines of the log that this version does not know; they are kept. */
GLASSINE_API uint64_t glassine_bundle_unknown_lines(const glassine_bundle *bundle);
/* The content digest: SHA-256 over the sorted digests of all slips, as 64 hex digits. */
GLASSINE_API void glassine_bundle_digest(glassine_bundle *bundle, char out[65]);

/* An edition, as its line in the log says. */
typedef struct glassine_edition {
    uint32_t number;    /* from 1 */
    glassine_span at;   /* RFC 3339 */
    glassine_span by;   /* contributor/UUID */
    glassine_span note; /* may be empty */
    glassine_span tool; /* which program saved it, and its version */
    glassine_span log;  /* the chain's value, 64 hex digits */
    uint64_t slips;     /* running total */
    uint64_t brings;    /* payload files it added */
} glassine_edition;
/* The number of the last edition whose time is not after `date` (as people type it; its last moment counts); 0 where
 * the bundle begins later. */
GLASSINE_API glassine_status glassine_bundle_as_of(const glassine_bundle *bundle, const char *date,
                                                   uint32_t *edition, glassine_error *error);
/* Edition `number`, from 1; of zeros where there is none. */
GLASSINE_API glassine_edition glassine_bundle_edition_at(const glassine_bundle *bundle, uint32_t number);

/* ------------------------------------------------------------------------------------ records, readings */

/* A value as canonical JSON; text == NULL says that the field was cleared. */
typedef glassine_span glassine_value;

/* Who stands behind a statement (spec/signatures.md). What is GLASSINE_WORD_UNSIGNED does not count: it stays in the
 * set and in histories, and no reading has it. */
typedef enum glassine_word {
    GLASSINE_WORD_PLAIN,   /* nobody's signature; its author does not sign, or did not yet when it came */
    GLASSINE_WORD_SIGNED,  /* its author's key signed it */
    GLASSINE_WORD_VOUCHED, /* the keeper vouches for it */
    GLASSINE_WORD_UNSIGNED /* its author signs, and this carries neither that signature nor the keeper's word */
} glassine_word;
GLASSINE_API const char *
glassine_word_name(glassine_word word); /* "plain", "signed", "vouched", "unsigned" */

/* One statement that stands for a field: nothing that touches the field follows it. */
typedef struct glassine_saying {
    glassine_value value; /* what it says */
    glassine_span by;     /* contributor/UUID */
    glassine_span via;    /* contributor/UUID, or absent */
    glassine_span at;     /* RFC 3339 */
    glassine_span why;    /* decoded, or absent */
    uint32_t slip;        /* its number in this handle */
    glassine_word word;   /* who stands behind it */
} glassine_saying;

/* A field of a record with everything that stands for it (spec/readings.md). */
typedef struct glassine_field {
    glassine_span name;              /* of the field */
    glassine_reach reach;            /* a field may be said in each reach */
    bool contested;                  /* the sayings differ */
    const glassine_saying *sayings;  /* sorted by value, then time, then digest; never empty */
    size_t saying_count;             /* how many */
    const glassine_field_info *info; /* NULL: a field this version does not know */
} glassine_field;

/* A record: everything said on one TYPE/UUID; of an authored type, everything that one author said there. */
GLASSINE_API glassine_span glassine_record_id(const glassine_bundle *bundle,
                                              const glassine_record *record); /* TYPE/UUID */
GLASSINE_API glassine_span glassine_record_type(const glassine_bundle *bundle,
                                                const glassine_record *record); /* TYPE */
GLASSINE_API const glassine_type_info *
glassine_record_info(const glassine_bundle *bundle, const glassine_record *record); /* NULL: unknown */
/* The author (contributor/UUID) of an authored record; absent for others. */
GLASSINE_API glassine_span glassine_record_author(const glassine_bundle *bundle,
                                                  const glassine_record *record);
/* The name that to-json and references use where one UUID has several authors: TYPE/UUID, and for authored
 * records TYPE/UUID/AUTHOR-UUID. */
GLASSINE_API glassine_span glassine_record_key(glassine_bundle *bundle, glassine_record *record);
/* What people call it: its label or name, a stamp's item and number ("H-014.2"), else a short id. */
GLASSINE_API glassine_span glassine_record_label(glassine_bundle *bundle, glassine_record *record);

/* The reading: fields sorted by name, then reach. Made when first asked for. */
GLASSINE_API glassine_status glassine_record_fields(glassine_bundle *bundle, glassine_record *record,
                                                    const glassine_field **fields, size_t *count,
                                                    glassine_error *error);
/* The reading as it was for somebody who had these slips (digests, of whatever reach) and what they follow, and
 * nothing else on this record: what a sheet or a document was made from. Refused where one of them is not here, is no
 * slip on this record, or does not count. Lives until the bundle is closed; each call makes a new one. */
GLASSINE_API glassine_status glassine_record_fields_at(glassine_bundle *bundle, glassine_record *record,
                                                       const char (*slips)[65], size_t slip_count,
                                                       const glassine_field **fields, size_t *count,
                                                       glassine_error *error);
/* Digests of the latest slips of one reach, sorted: those that a new one would follow. Live until the bundle is
 * closed. */
GLASSINE_API glassine_status glassine_record_latest(glassine_bundle *bundle, glassine_record *record,
                                                    glassine_reach reach, const char (**slips)[65],
                                                    size_t *count, glassine_error *error);
/* The field's one value over shared, telling and private (in this order, the first that says it); absent where
 * it is unsaid, cleared or contested (*contested tells; may be NULL). */
GLASSINE_API glassine_value glassine_record_get(glassine_bundle *bundle, glassine_record *record,
                                                const char *field, bool *contested);
/* The same, decoded: text of a string; absent for other kinds. */
GLASSINE_API glassine_span glassine_record_text(glassine_bundle *bundle, glassine_record *record,
                                                const char *field);
/* The one value of a field, where it is an integer. */
GLASSINE_API bool glassine_record_integer(glassine_bundle *bundle, glassine_record *record, const char *field,
                                          int64_t *value);
/* Somebody's slip follows one that is not in the set. */
GLASSINE_API bool glassine_record_incomplete(glassine_bundle *bundle, glassine_record *record);
/* At least one statement on it counts. Where none does, lists and derived figures pass it over. */
GLASSINE_API bool glassine_record_counts(glassine_bundle *bundle, glassine_record *record);
/* The keeper set it aside. */
GLASSINE_API bool glassine_record_set_aside(glassine_bundle *bundle, glassine_record *record);

/* By TYPE/UUID, TYPE/UUID/AUTHOR-UUID, or whatever people type: an unambiguous beginning (six hex digits or
 * more), a label or name, "H-014" or "H-014.2" for a stamp. `type` restricts it (NULL: any). Refused with the
 * choices where several fit (R-code), and where none does. */
GLASSINE_API glassine_status glassine_bundle_find(glassine_bundle *bundle, const char *type, const char *name,
                                                  glassine_record **record, glassine_error *error);
/* Exactly this TYPE/UUID (and author, where absent the first by author); NULL where it is not there. */
GLASSINE_API glassine_record *glassine_bundle_record(glassine_bundle *bundle, glassine_span id,
                                                     glassine_span author);

/* Records of `type` (NULL: any) with a reference to `record` in one of their fields, in a cursor's order; those
 * set aside are left out unless `aside`. The array lives until the next call on this bundle. */
GLASSINE_API glassine_status glassine_record_referrers(glassine_bundle *bundle, glassine_record *record,
                                                       const char *type, bool aside,
                                                       glassine_record *const **referrers, size_t *count,
                                                       glassine_error *error);

/* Who writes a bundle in another form walks it so: a cursor gives the records, glassine_record_fields what each of
 * them says (every field in its reach, contested or not, with its kind and unit), glassine_record_referrers what
 * belongs to it, glassine_record_history its slips. What is private has its reach and is for the writer to leave out.
 *
 * A cursor over records: in the order of the type table, unknown types by name after them; within a type by
 * label (as people count), then id, then author. */
typedef struct glassine_cursor glassine_cursor;
/* `type` NULL: all types. Records set aside are passed over unless `aside`. */
GLASSINE_API glassine_status glassine_cursor_new(glassine_bundle *bundle, const char *type, bool aside,
                                                 glassine_cursor **cursor, glassine_error *error);
GLASSINE_API glassine_record *glassine_cursor_next(glassine_cursor *cursor); /* NULL at the end */
GLASSINE_API void glassine_cursor_free(glassine_cursor *cursor); /* frees it, not the records that it gave */

/* Every slip on a record in an order that respects `after`, ties by time, then digest. */
typedef struct glassine_slip {
    glassine_span line;    /* canonical JSON */
    glassine_span record;  /* TYPE/UUID */
    glassine_span by, via; /* via absent unless another wrote it down */
    glassine_span at;      /* RFC 3339 */
    glassine_span why;     /* decoded */
    glassine_span set;     /* canonical object */
    glassine_span clear;   /* canonical array, or absent */
    glassine_span after;   /* canonical array */
    glassine_reach reach;  /* who may see it */
    uint32_t edition;      /* the one that brought it here */
    glassine_word word;    /* who stands behind it */
    char digest[65];       /* of its line, 64 hex digits */
} glassine_slip;
/* The slips on a record, each after all that it follows: their numbers, for glassine_bundle_slip. */
GLASSINE_API glassine_status glassine_record_history(glassine_bundle *bundle, glassine_record *record,
                                                     const uint32_t **slips, size_t *count,
                                                     glassine_error *error);
/* The slip of this number. */
GLASSINE_API glassine_slip glassine_bundle_slip(glassine_bundle *bundle, uint32_t number);

/* A record's life: every change of every field, slip by slip in the order of the history, a slip's own changes in
 * the order of their names, what it clears last. */
typedef enum glassine_fate {
    GLASSINE_FOLLOWED, /* a later change of the field follows it */
    GLASSINE_STANDS,   /* it is what the field is now */
    GLASSINE_DISPUTED, /* it is one of the values of a contested field */
    GLASSINE_UNCOUNTED /* its slip does not count */
} glassine_fate;
/* What one slip said of one field, and what became of that. */
typedef struct glassine_change {
    uint32_t slip;        /* its number in this handle */
    glassine_span field;  /* its name */
    glassine_reach reach; /* of the slip */
    glassine_value value; /* absent: cleared */
    glassine_fate fate;   /* what became of it */
    const glassine_saying
        *from;           /* what the field was for the one who spoke: nothing where it was unsaid, several
                                    where it was contested (so that this change settled it); the latest first */
    uint32_t from_count; /* at most 16 are given … */
    uint32_t from_total; /* … of so many */
    const glassine_field_info *info; /* NULL: the type has no such field */
} glassine_change;
/* The array lives until the bundle is closed. */
GLASSINE_API glassine_status glassine_record_life(glassine_bundle *bundle, glassine_record *record,
                                                  const glassine_change **changes, size_t *count,
                                                  glassine_error *error);

/* Values, from canonical JSON. Decoded text lives as long as the bundle. */
GLASSINE_API glassine_span glassine_value_text(glassine_bundle *bundle, glassine_value value);
/* A value that is an integer. */
GLASSINE_API bool glassine_value_integer(glassine_value value, int64_t *out);
/* A value as people read it ("owned", "10, 20, 300, 200", a reference as its label). */
GLASSINE_API glassine_span glassine_value_shown(glassine_bundle *bundle, glassine_value value,
                                                const glassine_field_info *info);
/* Walks an array, or an object (names then say the members); start with *at = 0. */
GLASSINE_API bool glassine_value_next(glassine_value value, size_t *at, glassine_span *name,
                                      glassine_value *item);

/* ---------------------------------------------------------------------------------------------- writing */

/* All writing goes through a draft: slips and scans gathered, checked, and saved as one edition, or dropped. The
 * bundle (opened with GLASSINE_WRITE) shows what the draft holds at once: names, readings and `after` see it. */
typedef struct glassine_draft glassine_draft;

/* One field as it is typed. */
typedef struct glassine_assignment {
    const char *field; /* its name */
    const char *value; /* as people type it: "14 Mar 1860", "a,b,c", "10,20,300,200", a label; "" clears */
    /* "shared", "telling", "private"; NULL: where the field is said already, else where the table of types
     * puts it */
    const char *reach;
} glassine_assignment;

/* `by`: who speaks (contributor/UUID), NULL: the bundle's keeper, or in a dispatch the one it is for; `via`:
 * who writes it down for them, NULL: nobody else. Only one draft at a time. */
GLASSINE_API glassine_status glassine_draft_new(glassine_bundle *bundle, const char *by, const char *via,
                                                glassine_draft **draft, glassine_error *error);
GLASSINE_API void glassine_draft_free(glassine_draft *draft); /* drops what was not saved */
/* Changes the speaker for what follows. */
GLASSINE_API glassine_status glassine_draft_speaker(glassine_draft *draft, const char *by, const char *via,
                                                    glassine_error *error);
/* Who speaks: contributor/UUID. */
GLASSINE_API const char *glassine_draft_by(const glassine_draft *draft);

/* Enters a record of `type` with these fields: one slip for each reach they need, always one shared or (where
 * every field is private) private. Values are checked by the table of types; required fields must be there. */
GLASSINE_API glassine_status glassine_draft_enter(glassine_draft *draft, const char *type,
                                                  const glassine_assignment *fields, size_t count,
                                                  const char *why, glassine_record **record,
                                                  glassine_error *error);
/* Changes fields of a record: one slip for each reach. Fields that already have the value are left out; where
 * nothing remains, no slip is made and *changed is false. A contested field is not changed here (settle). */
GLASSINE_API glassine_status glassine_draft_revise(glassine_draft *draft, glassine_record *record,
                                                   const glassine_assignment *fields, size_t count,
                                                   const char *why, bool *changed, glassine_error *error);
/* Answers a contested field: the slip follows all its values. Refused where it is not contested. */
GLASSINE_API glassine_status glassine_draft_settle(glassine_draft *draft, glassine_record *record,
                                                   const glassine_assignment *fields, size_t count,
                                                   const char *why, glassine_error *error);
/* One field of a statement that comes out of a sheet or a document. */
typedef struct glassine_statement {
    const char *field; /* its name */
    const char *typed; /* as in glassine_assignment; NULL: */
    /* exactly this; absent: the field is cleared. Its field need not be in the table of types */
    glassine_value value;
    const char *reach; /* as in glassine_assignment */
} glassine_statement;
/* Says something that was thought out elsewhere, from an older state of the record perhaps: the slips follow exactly
 * `after` (digests, of whatever reach), so that what was said since then stands beside it. What was so already in the
 * reading of these slips is left out; where nothing remains, *changed is false. A field that was contested there is
 * settled. `id`: TYPE/UUID, or a type alone for a new record; of an authored type the speaker's own is meant. A record
 * that is not there is entered, and then `after` is empty. */
GLASSINE_API glassine_status glassine_draft_state(glassine_draft *draft, const char *id,
                                                  const glassine_statement *statements, size_t count,
                                                  const char (*after)[65], size_t after_count,
                                                  const char *why, glassine_record **record, bool *changed,
                                                  glassine_error *error);
/* A slip as its line stands (somebody's, from elsewhere; canonical JSON). *added is false where it is here already. */
GLASSINE_API glassine_status glassine_draft_take(glassine_draft *draft, glassine_span line, bool *added,
                                                 glassine_error *error);
/* Takes back all but the first `slips` slips that were gathered (glassine_draft_slips). Records that only they
 * brought are gone. */
GLASSINE_API void glassine_draft_back(glassine_draft *draft, size_t slips);
/* Answers contested fields of a record (those of these names; count 0: all) with the value that `who`
 * (contributor/UUID) gave, where that person gave one: the slips follow all values. *settled: how many. */
GLASSINE_API glassine_status glassine_draft_settle_by(glassine_draft *draft, glassine_record *record,
                                                      const char *who, const char *const *names, size_t count,
                                                      const char *why, size_t *settled,
                                                      glassine_error *error);
/* Brings a record's fields back to what they were in `then`, an earlier edition of the bundle, by new slips. Fields
 * that were contested then are left as they are; *left counts them. */
GLASSINE_API glassine_status glassine_draft_restore(glassine_draft *draft, glassine_record *record,
                                                    glassine_bundle *then, const char *why, size_t *changed,
                                                    size_t *left, glassine_error *error);
/* A scan of an item: the file's bytes go into the bundle at the save, its record at once. Extra fields as in
 * enter. Recognised by content: JPEG, PNG, TIFF with width, height, resolution; any other file is kept as it
 * is. *record is the scan, existing already where *known. Warnings go into `report` (may be NULL). */
GLASSINE_API glassine_status glassine_draft_attach(glassine_draft *draft, glassine_record *item,
                                                   const char *path, const glassine_assignment *fields,
                                                   size_t count, glassine_record **record, bool *known,
                                                   glassine_report *report, glassine_error *error);
/* Takes the bytes of many files into the draft, on all processors at once; glassine_draft_attach then has the scan's
 * record to make only. *known[i]: the bundle, or a file before it in the list, has these bytes already. */
GLASSINE_API glassine_status glassine_draft_gather(glassine_draft *draft, const char *const *paths,
                                                   size_t count, bool *known, glassine_error *error);
/* Slips gathered so far. */
GLASSINE_API size_t glassine_draft_slips(const glassine_draft *draft);
/* Scans gathered so far. */
GLASSINE_API size_t glassine_draft_scans(const glassine_draft *draft);
/* Saves as one edition, durably: when it returns GLASSINE_OK the edition is on disk. Where it fails the file is
 * as it was. A draft that holds nothing makes no edition. The draft is empty afterwards and can go on. */
GLASSINE_API glassine_status glassine_draft_save(glassine_draft *draft, const char *note,
                                                 glassine_error *error);

/* Makes a bundle: its collection record and its keeper as first contributor (`keeper` is a name). The file must
 * not exist. */
GLASSINE_API glassine_status glassine_bundle_make(const char *path, const char *title, const char *keeper,
                                                  glassine_error *error);
/* The same, signed with the keeper's key. */
GLASSINE_API glassine_status glassine_bundle_make_signed(const char *path, const char *title,
                                                         const char *keeper, const glassine_key *key,
                                                         glassine_error *error);
/* A bundle that is made out of what is held elsewhere, and published whole or not at all: `keeper` (contributor/UUID) is
 * said by what goes into its draft. Bundle and draft live until it is freed. */
typedef struct glassine_making glassine_making;
/* Begins one in a file beside `path`, which must not exist. */
GLASSINE_API glassine_status glassine_making_new(const char *path, const char *title, const char *keeper,
                                                 glassine_making **making, glassine_error *error);
/* The bundle that is being made. */
GLASSINE_API glassine_bundle *glassine_making_bundle(glassine_making *making);
/* The draft that fills it. */
GLASSINE_API glassine_draft *glassine_making_draft(glassine_making *making);
/* Saves the draft, and gives the file its name, which must not be taken. */
GLASSINE_API glassine_status glassine_making_publish(glassine_making *making, const char *note,
                                                     glassine_error *error);
/* Where it was not published, nothing is left of it. */
GLASSINE_API void glassine_making_free(glassine_making *making);

/* -------------------------------------------------------------------------- signatures, whose word counts */

/* A person's own key (Ed25519, RFC 8032). The library looks for none by itself: whoever has one gives it to the
 * bundle, and what is written through that handle is signed with it. */
GLASSINE_API glassine_status glassine_key_new(glassine_key **key, glassine_error *error);
GLASSINE_API void glassine_key_free(glassine_key *key); /* frees it, wiped first */
/* The public key, as 64 hex digits. */
GLASSINE_API const char *glassine_key_public(const glassine_key *key);
/* Into a new file that its owner alone may read: PKCS#8 in PEM, encrypted where `passphrase` is not NULL. */
GLASSINE_API glassine_status glassine_key_write(const glassine_key *key, const char *path,
                                                const char *passphrase, glassine_error *error);
/* `passphrase` NULL: none; refused where the key wants one, or another one. */
GLASSINE_API glassine_status glassine_key_read(const char *path, const char *passphrase, glassine_key **key,
                                               glassine_error *error);
/* Does the file's key want a passphrase? */
GLASSINE_API glassine_status glassine_key_locked(const char *path, bool *locked, glassine_error *error);

/* What is said, dispatched, replied and merged through this handle is signed with `key` from here on, where the one
 * who speaks (or writes it down for another) holds it. The first save with it also says whose key it is. `before`:
 * the key that it takes the place of, which then signs that; NULL: none. Both outlive the bundle's handle. */
GLASSINE_API void glassine_bundle_sign_with(glassine_bundle *bundle, const glassine_key *key,
                                            const glassine_key *before);
/* Slips of the draft that will not count once they are saved: they are in the name of one who signs, and nothing
 * here signs or vouches for them. */
GLASSINE_API size_t glassine_draft_unsigned(glassine_draft *draft);
/* Signs what the draft's speaker said in earlier editions without a signature; for the keeper also what the keeper
 * wrote down for others. What does not count is signed on the `records` alone (`record_count` may be 0), since it may
 * be somebody else's work. *count: how many were signed; *left: how many do not count, and were not. */
GLASSINE_API glassine_status glassine_draft_sign_earlier(glassine_draft *draft,
                                                         glassine_record *const *records, size_t record_count,
                                                         size_t *count, size_t *left, glassine_error *error);
/* The keeper's word on a contributor's key (64 hex digits): that one counts, with the keys it is changed for, and no
 * other. NULL: the contributor does not sign. Refused for anybody but the keeper. */
GLASSINE_API glassine_status glassine_draft_trust(glassine_draft *draft, glassine_record *contributor,
                                                  const char *key, glassine_error *error);
/* Every contributor's keys: how they are known, whether they count, and how many statements they signed. */
GLASSINE_API glassine_status glassine_keys(glassine_bundle *bundle, glassine_report *report,
                                           glassine_error *error);

/* What contributors who are not the keeper propose: to set a record aside or to take it back, and joins. Each has an
 * id that glassine_draft_adopt takes. Wants attention where there are some. */
GLASSINE_API glassine_status glassine_proposed(glassine_bundle *bundle, glassine_report *report,
                                               glassine_error *error);
/* The keeper says the same. *record is what it is said on. */
GLASSINE_API glassine_status glassine_draft_adopt(glassine_draft *draft, const char *proposal,
                                                  glassine_record **record, glassine_error *error);

/* --------------------------------------------------------------------------------------------- scans out */

/* Is the payload of this digest (64 hex digits) in the bundle; its size. */
GLASSINE_API bool glassine_scan_has(glassine_bundle *bundle, const char *sha256, uint64_t *bytes);
/* The SHA-256 of a file outside, as 64 hex digits: for asking the above. */
GLASSINE_API glassine_status glassine_file_digest(const char *path, char out[65], glassine_error *error);
/* Streams a scan's bytes, checking them against their digest. */
GLASSINE_API glassine_status glassine_scan_read(glassine_bundle *bundle, const char *sha256,
                                                glassine_write write, void *context, glassine_error *error);

/* -------------------------------------------------------------------------------------- whole-bundle work */

/* What an audit looks at; all zero: everything but the pixels. */
typedef struct glassine_audit_options {
    bool quick;                    /* structure and log only, no scan bytes */
    bool images;                   /* reads every pixel of the scans as well */
    const glassine_limits *limits; /* NULL: the defaults */
    /* Called now and then from the calling thread, as glassine_watch's tell; NULL: nobody is told. */
    void (*progress)(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total);
    /* Called once with the bundle, for the time of the call, where it opens; NULL: nobody is told. */
    void (*opened)(void *context, glassine_bundle *bundle);
    void *context; /* for `progress` */
} glassine_audit_options;
/* Checks everything; each broken rule is a finding of the report. Opens the file itself: a file that cannot be
 * opened as a bundle is a finding too. */
GLASSINE_API glassine_status glassine_audit(const char *path, const glassine_audit_options *options,
                                            glassine_report *report, glassine_error *error);

/* Rewrites compactly, as one segment without leftovers; `out` NULL: in place (through a temporary file, under
 * the lock). Same editions, same log, same content digest. `options` here, in
 * glassine_tidy_with_parity, glassine_extract and glassine_unpack: as in glassine_bundle_open. */
GLASSINE_API glassine_status glassine_tidy(const char *path, const char *out, const glassine_options *options,
                                           glassine_report *report, glassine_error *error);
/* The same, with parity beside the rest (spec/parity.md), from which glassine_recover rebuilds damaged stretches:
 * `percent` (1–100) of the file's length, which it becomes the longer for. */
GLASSINE_API glassine_status glassine_tidy_with_parity(const char *path, const char *out, unsigned percent,
                                                       const glassine_options *options,
                                                       glassine_report *report, glassine_error *error);
/* How damaged files are recovered; all zero is usual. */
typedef struct glassine_recover_options {
    const char
        *base;     /* the base folder ("glassine-SLUG") that is wanted; NULL: the one with most whole files */
    bool doubtful; /* takes in slips too that nothing vouches for */
    const glassine_limits *limits; /* NULL: the defaults */
} glassine_recover_options;
/* Gets every slip and scan that is whole out of damaged files (of one bundle: one, or several copies), whatever
 * else is lost, into the new bundle `out`; says what is missing. What is not whole is kept in the new folder
 * OUT.damaged. The damaged files are only read. Wants attention where something is lost. */
GLASSINE_API glassine_status glassine_recover(const char *const *paths, size_t count, const char *out,
                                              const glassine_recover_options *options,
                                              glassine_report *report, glassine_error *error);

/* How a bundle is backed up; all zero is usual. */
typedef struct glassine_backup_options {
    bool full;    /* compares every byte, not only the history */
    bool replace; /* gives up what only the backup has: a longer history or another one, damage, a torn end */
} glassine_backup_options;
/* Brings the backup `destination` (a file of its own; made where it is not there) to the last edition of `bundle`, which
 * is open for reading. Where the bundle only grew, what is new is appended: the backup is valid at every moment. Where
 * one of the two was tidied since, it is copied whole, read back, and then takes the place of the one that was there.
 * Refused with an explanation where the backup is of another bundle, has a longer history or another one. `options` NULL:
 * none. {"destination","way","edition","editions","bytes","checked"}. */
GLASSINE_API glassine_status glassine_backup(glassine_bundle *bundle, const char *destination,
                                             const glassine_backup_options *options, glassine_report *report,
                                             glassine_error *error);

/* An edition (path "FILE#N"), or what a folder or another program's archive holds, as a file of its own with its
 * editions up to that; `out` must not exist. */
GLASSINE_API glassine_status glassine_extract(const char *path, const char *out,
                                              const glassine_options *options, glassine_report *report,
                                              glassine_error *error);
/* Writes FOLDER/glassine-SLUG/; follows no link, overwrites nothing. */
GLASSINE_API glassine_status glassine_unpack(const char *path, const char *folder,
                                             const glassine_options *options, glassine_report *report,
                                             glassine_error *error);

/* Writes the page that opens without the program (glassine_to_html of the converters does). `scans`: the
 * bundle in which scans are looked for whose bytes `bundle` does not have. */
typedef glassine_status (*glassine_page)(void *context, glassine_bundle *bundle, glassine_bundle *scans,
                                         uint32_t scan_limit, glassine_write write, void *out,
                                         glassine_error *error);

/* What a dispatch carries of the scans. */
typedef enum glassine_scans {
    GLASSINE_SCANS_FULL,    /* every pixel */
    GLASSINE_SCANS_REDUCED, /* copies of at most `scan_limit` pixels on the longer side */
    GLASSINE_SCANS_NONE     /* their records only */
} glassine_scans;

/* What is dispatched, and to whom. */
typedef struct glassine_dispatch_options {
    const char *to;           /* contributor: name or id */
    const char *const *items; /* labels or ids */
    size_t item_count;        /* how many */
    const char *selection;    /* or a selection's label; NULL: none */
    bool blind;               /* without claims, opinions and whatever else might tell a position */
    const char *ask;          /* the question, put into the letter and the sent event; NULL: none */
    const char *note;         /* NULL: none */
    glassine_scans scans;     /* whether and how they go along */
    uint32_t scan_limit;      /* for reduced copies and the page's pictures; 0: as many pixels as there are */
    /* Scans go as they are, with the places, names and serial numbers that their files may tell; else
     * without, and what cannot be cleared stays behind and is a finding. */
    bool keep_metadata;
    /* All that is written has at most so many bytes, by the largest `scan_limit` that does it (but no larger
     * than the one above, where that is not 0); 0: no matter. Refused where nothing does. */
    uint64_t size_limit;
    glassine_page page; /* goes into the bundle as open-me.html, and beside it into a folder; NULL: none */
    bool sheet;         /* a sheet for answers into the folder (spec/answers.md) */
    /* Called now and then from the calling thread, as glassine_watch's tell; NULL: nobody is told. */
    void (*progress)(void *context, const char *doing, const char *unit, uint64_t done, uint64_t total);
    void *context; /* of `page` and `progress` */
} glassine_dispatch_options;
/* Makes a bundle for somebody, and the `sent` event in both. `out` ending in '/': a folder with the bundle,
 * the page and letter.txt. `draft` is an empty draft of the bundle that sends; it is saved. */
GLASSINE_API glassine_status glassine_dispatch(glassine_draft *draft,
                                               const glassine_dispatch_options *options, const char *out,
                                               glassine_report *report, glassine_error *error);
/* The largest limit, of those that are multiples of 20 up to `most`, for which `measure` counts no more than
 * `bytes`, supposing that it counts more for a larger one. *limit is 0 where none does. `measure` was last
 * called for *limit, unless that is 0. */
GLASSINE_API glassine_status glassine_limit_fit(uint32_t most, uint64_t bytes,
                                                glassine_status (*measure)(void *context, uint32_t limit,
                                                                           uint64_t *bytes,
                                                                           glassine_error *error),
                                                void *context, uint32_t *limit, glassine_error *error);
/* What is out, with whom, since when, unanswered. */
GLASSINE_API glassine_status glassine_pending(glassine_bundle *bundle, glassine_report *report,
                                              glassine_error *error);
/* What `by` (contributor/UUID) added since a dispatch came, as a small bundle: out of the dispatch itself, or out
 * of a bundle of one's own that it was merged into. `event`: the `sent` event that it answers (TYPE/UUID or a
 * beginning of it); NULL: the dispatch's own, else the only unanswered one that was sent to `by`. */
GLASSINE_API glassine_status glassine_reply(glassine_bundle *bundle, const char *by, const char *event,
                                            const char *out, glassine_report *report, glassine_error *error);

/* A source of a merge, and what was taken of it. */
typedef struct glassine_merge_source {
    const char *path;       /* as it was given */
    const char *kind;       /* "bundle", "reply", "answers", "sheet" */
    const char *uuid;       /* of the bundle; NULL: it is none */
    const char *answers;    /* the `sent` event that it answers; NULL: none */
    bool refused;           /* as unsound (skip_bad), with `error`; the rest is 0 */
    glassine_error error;   /* why it was refused, where it was */
    uint64_t slips;         /* that were new */
    uint64_t known;         /* slips that were here already */
    uint64_t scans;         /* that were new */
    uint64_t signatures;    /* that were new */
    uint64_t unknown_lines; /* of its log; they stay there */
    /* bytes behind its last whole edition: a save that is not whole, of which nothing is taken */
    uint64_t tail;
} glassine_merge_source;

/* What a merge comes upon. Notes of one kind come together, in the order of this list, and within a kind by item. */
typedef enum glassine_met {
    GLASSINE_MET_SOURCE, /* `source` */
    GLASSINE_MET_ANSWER, /* answer `number` of a text is on the stamp `record`: `before` as it was given, `text` as
                                   it was understood */
    GLASSINE_MET_QUESTION, /* what was not understood: `number` (0: none), `before` as given, `text` why */
    GLASSINE_MET_LEFT,     /* a line of a text that is no answer: `before`; it stays in the letter's record */
    GLASSINE_MET_PERSON, /* `person` says something new: `slips` of them, on `records`, of which `fresh` are new */
    GLASSINE_MET_NEW,     /* `record` was not there */
    GLASSINE_MET_CHANGED, /* a field of `record` is another than it `was` */
    GLASSINE_MET_AGREED,  /* somebody says on `record` what it said already */
    GLASSINE_MET_COMBINED, /* no field of `record` is contested, and yet nobody wrote it as it now is: it combines
                                   what several people changed without knowing of each other; a note for each field */
    GLASSINE_MET_CONTESTED, /* a field of `record` is contested; `was` may be, too */
    GLASSINE_MET_STANDING, /* the standing of the stamp `record`: `before` (NULL: it was not there), `text` */
    GLASSINE_MET_NOT_COUNTED,   /* something that came for `record` does not count: `text` says why */
    GLASSINE_MET_FAULT,         /* `record` breaks a rule: `text` */
    GLASSINE_MET_SAME_LABEL,    /* `record` and `other` go by one name, `text` */
    GLASSINE_MET_TWINS,         /* `record` and `other` may be one and the same: `text` says why */
    GLASSINE_MET_LEADS_NOWHERE, /* a reference of `record` leads to what is not here: `text` */
    GLASSINE_MET_INCOMPLETE, /* slips of `record` follow some that are not here; it may change when they come */
    GLASSINE_MET_COMPLETED   /* that was so, and is no more */
} glassine_met;

/* One thing that a merge tells; which members say something depends on `met`. */
typedef struct glassine_merge_note {
    glassine_met met;                       /* what it is about */
    const glassine_merge_source *source;    /* where it came from */
    glassine_span person;                   /* contributor/UUID */
    glassine_record *record, *other;        /* of the bundle that takes in */
    glassine_record *item;                  /* that the record belongs to; NULL: to none */
    const glassine_field *was, *is;         /* NULL: unsaid */
    uint32_t first;                         /* slips from this number on came now */
    uint64_t slips, records, fresh, number; /* counts; `fresh` of records that are new here */
    const char *rule, *before, *text;       /* NULL, or for this call only */
} glassine_merge_note;
/* `bundle` shows all that came, also in a preview; its readings live until the call of glassine_merge returns. */
typedef void (*glassine_merge_tell)(void *context, glassine_bundle *bundle, const glassine_merge_note *note);

/* What a merge takes, and whom it tells; all zero is usual. */
typedef struct glassine_merge_options {
    bool preview;            /* the report only; nothing is written */
    bool skip_bad;           /* sources that are not sound are left out, and the others are merged */
    bool without_private;    /* private slips stay where they are */
    const char *const *only; /* NULL-ended list of types; NULL: all */
    const char *note;        /* on the edition */
    /* Of numbered answers as text (spec/answers.md): */
    const char
        *answers_by;   /* contributor/UUID whose answers they are. Who wrote them down (`via`) is the draft's
                               `via`, else its speaker, or the keeper where that is the same person */
    const char *event; /* the `sent` event that they answer; NULL: the only one that may be meant */
    const char *on;    /* their date as people type it; NULL: the one in the text, else that of the sending */
    /* numbered answers that stand for those of the same numbers in the text; NULL: none */
    const char *understand;
    bool accept_partial; /* takes what is understood where something is not; else nothing is written then */
    glassine_merge_tell tell; /* NULL: nobody but the report is told */
    void *context;            /* for `tell` and `progress` */
} glassine_merge_options;
/* Takes in the slips and scans of `sources` in one save; `draft` is an empty draft and is saved (dropped for a
 * preview). A source that is not sound is refused whole, and, without skip_bad, all the others with it. `report` may
 * be NULL. Wants attention where something is contested, combined, not counted or not taken. */
GLASSINE_API glassine_status glassine_merge(glassine_draft *draft, const char *const *sources, size_t count,
                                            const glassine_merge_options *options, glassine_report *report,
                                            glassine_error *error);
/* Makes a bundle, as glassine_bundle_make_signed does, with what `options` let in of `source` merged into it: whole, or
 * not at all. `key` NULL: unsigned; `source` NULL: nothing is merged. */
GLASSINE_API glassine_status glassine_bundle_make_from(const char *path, const char *title,
                                                       const char *keeper, const glassine_key *key,
                                                       const char *source,
                                                       const glassine_merge_options *options,
                                                       glassine_error *error);
/* A field in which two bundles differ; of a record that one side has, each of its fields. */
typedef struct glassine_diff_note {
    glassine_record *a, *b; /* NULL: that side has it not */
    glassine_record *item;  /* that it belongs to, of b where that has the record; NULL: to none */
    const glassine_field *field_a, *field_b; /* NULL: unsaid there; both: nothing at all is said */
} glassine_diff_note;
/* Takes one difference; what `note` points to lives for this call. */
typedef void (*glassine_diff_tell)(void *context, glassine_bundle *a, glassine_bundle *b,
                                   const glassine_diff_note *note);
/* What is compared, and who is told; all zero is usual. */
typedef struct glassine_diff_options {
    const char *const *only; /* NULL-ended list of types; NULL: all */
    const char *item;        /* only what belongs to this item, as people name it; NULL: all */
    uint32_t since;          /* only records on which editions of b later than this one speak; 0: all */
    const char *by; /* only fields of which this contributor/UUID says what stands there; NULL: all */
    glassine_diff_tell tell; /* by item, and within one by record; NULL: nobody but the report is told */
    void *context;           /* for `tell` */
} glassine_diff_options;
/* What B has that A lacks and the reverse, by record and field, and what the two are to each other. `options` and
 * `report` may be NULL. Wants attention where they differ in slips or scans. */
GLASSINE_API glassine_status glassine_diff(glassine_bundle *a, glassine_bundle *b,
                                           const glassine_diff_options *options, glassine_report *report,
                                           glassine_error *error);
/* Every contested field with all its values. Wants attention where there are some. */
GLASSINE_API glassine_status glassine_contested(glassine_bundle *bundle, glassine_report *report,
                                                glassine_error *error);
/* Every edition: number, time, who, note, what it brought, log value. */
GLASSINE_API glassine_status glassine_editions(glassine_bundle *bundle, glassine_report *report,
                                               glassine_error *error);

/* -------------------------------------------------------------------------------------- plates, positions */

/* Layout of a plate, as its record has it (spec/plates.md). */
typedef struct glassine_layout {
    uint32_t rows, columns;            /* of one pane */
    uint32_t panes_across, panes_down; /* 0 counts as 1 */
    enum {
        GLASSINE_ACROSS,
        GLASSINE_DOWN,
        GLASSINE_ACROSS_SHEET
    } numbering;            /* within a pane, or through all of them */
    bool corner_letters;    /* a stamp carries its row and column as letters */
    const char *pane_names; /* comma-separated, in reading order; NULL: letters of the place (L, R …) */
    const char *label;      /* the plate's own, for errors and 7R1E; may be NULL */
} glassine_layout;

/* The plan of a plate: a checked layout. A position is a number from 0 to count-1 in the order of its number on
 * the plate, pane after pane; what people call it is in glassine_place. */
typedef struct glassine_plan glassine_plan;
/* No position. */
#define GLASSINE_NOWHERE UINT32_MAX

/* A place on a plate, as people and as programs name it. */
typedef struct glassine_place {
    uint32_t position;                /* 0 … count-1 */
    uint32_t number;                  /* from 1: in its pane, with across_sheet on the whole sheet */
    uint32_t pane;                    /* from 0, in reading order */
    uint32_t row, column;             /* within the pane, from 1 */
    uint32_t sheet_row, sheet_column; /* on the whole sheet, from 1 */
    char letters[3];                  /* corner letters, the row's first: "TL"; "" where the plate has none */
    const char *pane_name;            /* borrowed from the plan; NULL: a single pane without a name */
} glassine_place;

/* At most 100,000 positions. R210, R211. Keeps no pointer into `layout`. */
GLASSINE_API glassine_status glassine_plan_new(const glassine_layout *layout, glassine_plan **plan,
                                               glassine_error *error);
/* The plan of a `plate` record. Refused too where its layout is contested or unsaid (R040, R041). */
GLASSINE_API glassine_status glassine_plan_of_plate(glassine_bundle *bundle, glassine_record *plate,
                                                    glassine_plan **plan, glassine_error *error);
GLASSINE_API void glassine_plan_free(glassine_plan *plan); /* frees it, after the positions made of it */
/* How many positions the plate has. */
GLASSINE_API uint32_t glassine_plan_count(const glassine_plan *plan);
/* `position` must be below the count. */
GLASSINE_API glassine_place glassine_plan_place(const glassine_plan *plan, uint32_t position);
/* The ways back; GLASSINE_NOWHERE where the plate has no such place. Pane from 0, rows and columns from 1. */
GLASSINE_API uint32_t glassine_plan_from_pane(const glassine_plan *plan, uint32_t pane, uint32_t row,
                                              uint32_t column);
/* The position at a row and column of the whole sheet, from 1; GLASSINE_NOWHERE where there is none. */
GLASSINE_API uint32_t glassine_plan_from_sheet(const glassine_plan *plan, uint32_t row, uint32_t column);
/* Corner letters are those of the sheet's rows and columns, A to Z (published descriptions of British
 * line-engraved plates: 20 rows of 12 are AA to TL); a sheet of more than 26 rows or columns has none. */
GLASSINE_API uint32_t glassine_plan_from_letters(const glassine_plan *plan, char row, char column);
/* The position `down` rows below and `across` columns right of it within its pane. */
GLASSINE_API uint32_t glassine_plan_neighbour(const glassine_plan *plan, uint32_t position, int64_t down,
                                              int64_t across);
/* The position at this place of the sheet when the plate is seen from its face. */
GLASSINE_API uint32_t glassine_plan_mirror(const glassine_plan *plan, uint32_t position);

/* A set of positions of one plate, out of an expression (spec/expressions.md). The plan must outlive it. Positions
 * are numbers from 0 here too: what an expression calls 1 is 0. */
typedef struct glassine_positions glassine_positions;
/* Refused with R200–R209 where it is no expression, or does not fit the plate; *at (may be NULL) is then the character
 * that is wrong, from 1, counted in code points. *positions is the caller's to free. Where the expression names a state
 * (7R1E), its initial is kept. */
GLASSINE_API glassine_status glassine_positions_parse(const glassine_plan *plan, const char *expression,
                                                      glassine_positions **positions, size_t *at,
                                                      glassine_error *error);
GLASSINE_API void glassine_positions_free(glassine_positions *positions); /* frees it, the set */
/* How many positions the set has. */
GLASSINE_API uint32_t glassine_positions_count(const glassine_positions *positions);
/* Is this position in the set? */
GLASSINE_API bool glassine_positions_has(const glassine_positions *positions, uint32_t position);
/* The first member that is `from` or after it; GLASSINE_NOWHERE at the end. */
GLASSINE_API uint32_t glassine_positions_next(const glassine_positions *positions, uint32_t from);
/* The initial of the state that it named; "" for none. */
GLASSINE_API const char *glassine_positions_state(const glassine_positions *positions);
/* The canonical expression of the set: equal sets, equal text; parsing it gives the set. Borrowed until the set
 * is freed; NULL when memory ran out. */
GLASSINE_API const char *glassine_positions_expression(glassine_positions *positions);
/* "10 positions: 4, 24, 34 …", naming at most `most` (0: all). Borrowed until the next call on the set. */
GLASSINE_API const char *glassine_positions_shown(glassine_positions *positions, uint32_t most);

/* Parameters of the ranking of places from marks (spec/ranking.md), every one of them the caller's to set: start
 * from the defaults and change what is to differ. Distances are thousandths of the design, all else shares from 0
 * to 1. What cannot be (a share above 1, a σ of 0) is refused by what uses them. */
typedef struct glassine_ranking {
    double visibility;                        /* of a mark whose visibility is unsaid: 0.8 */
    double visibility_least, visibility_most; /* what is said is held within: 0.05, 0.95 */
    double spread_least;                      /* the least σ of a mark: 15 */
    double together;         /* observations by different people closer than this are one: 30 */
    double other_appearance; /* K of a mark seen as another appearance: 0.03 */
    double no_place;         /* fit where the mark or what was seen has no place: 0.3 */
    double stray;            /* something seen that no mark explains, at most: 0.01 */
    double stray_shared;     /* the same, shared by all places in question: 0.03 … */
    double stray_least;      /* … but no less than this each: 0.00025 */
    double trace;            /* the same, where it is a trace of a re-entry that was met: 0.5 */
    double reach;            /* an absent or unclear observation reaches so many σ: 3 */
    double silent;           /* share of its visibility that a mark pays of which nobody spoke: 0.5 */
    double hasty; /* that the stamp was not looked over closely, so that such marks pay nothing; once
                                  for each thing that was seen: 0.3 */
} glassine_ranking;
/* The parameters of spec/ranking.md. */
GLASSINE_API glassine_ranking glassine_ranking_default(void);

/* How many further copies, drawn at random from a plate whose positions all survive equally, are expected to
 * complete it: N · Σ 1/i, i = 1 … N-found (the coupon collector's expectation, any probability textbook). */
GLASSINE_API double glassine_expected_further(uint32_t positions, uint32_t found);

/* Perforation gauge: holes to 20 millimetres, from `pitches` (holes less one) over `length_um`. Each figure is
 * rounded from the exact quotient, halves up. All 0 where an argument is 0 or the gauge is beyond 655. */
typedef struct glassine_gauge {
    uint16_t hundredths; /* 1172: 11.72 */
    uint16_t tenths;     /* 117: 11.7 */
    uint16_t quarters;   /* 47: 11¾ */
} glassine_gauge;
/* Perforation: holes in 20 mm = 20,000 · pitches / length in micrometres (spec/plates.md). */
GLASSINE_API glassine_gauge glassine_gauge_of(uint32_t pitches, uint64_t length_um);
/* "11¾", or where the sides' nearest quarter is another, "11¾ × 12" (top and bottom first: common practice, no
 * source); `sides` NULL: one gauge. Always NUL-ended; 32 bytes are enough. */
GLASSINE_API void glassine_gauge_print(glassine_gauge across, const glassine_gauge *sides, char *out,
                                       size_t size);
/* By the scan's resolution in hundredths of a dot per inch (25.4 mm), halves up; 0 where that is 0 or the product
 * is beyond 64 bits. */
GLASSINE_API uint64_t glassine_um_from_pixels(uint64_t pixels, uint64_t dpi_hundredths);
/* Pixels = micrometres · dots per inch / 25,400, rounded to the nearest. */
GLASSINE_API uint64_t glassine_pixels_from_um(uint64_t um, uint64_t dpi_hundredths);

/* What follows is worked out of a bundle (spec/standing.md, spec/ranking.md). Joined records count as one; what is
 * contested counts as unsaid, and is a finding of the report; a plate without a settled layout takes no part. */

/* What all claims on the bundle's stamps amount to. Holds as long as nothing is said anew; the bundle must outlive
 * it. */
typedef struct glassine_standings glassine_standings;

/* What all claims on a stamp amount to (spec/standing.md). */
typedef struct glassine_stamp_standing {
    glassine_record *stamp;        /* whose it is */
    const char *standing;          /* "unplaced", "narrowed", "placed", "corroborated", "disputed" */
    const char *state;             /* the same, of the state of the plate */
    uint32_t count;                /* pairs of plate and position that are left */
    glassine_record *plate;        /* where it is one; else NULL */
    uint32_t position;             /* likewise, from 0; else GLASSINE_NOWHERE */
    glassine_record *plate_state;  /* where one state is left; else NULL */
    uint32_t claims, blind_claims; /* that count */
    uint32_t voices;               /* contributors whose own view is the one place */
    uint32_t independent;          /* of these: whose view does not rest on another's */
    uint32_t blind_voices;         /* of these: who made a claim blind */
    uint32_t disputes;             /* groups of statements that cannot all be true */
    uint32_t conclusions;          /* that somebody holds */
} glassine_stamp_standing;

/* `report` gets findings; may be NULL. */
GLASSINE_API glassine_status glassine_standings_new(glassine_bundle *bundle, glassine_report *report,
                                                    glassine_standings **standings, glassine_error *error);
GLASSINE_API void
glassine_standings_free(glassine_standings *standings); /* frees it, with what it handed out */
/* Stamps in a cursor's order; of joined records the first stands for all. */
GLASSINE_API size_t glassine_standings_count(const glassine_standings *standings);
/* The standing of this number, from 0. */
GLASSINE_API glassine_stamp_standing glassine_standings_at(const glassine_standings *standings, size_t index);
/* The stamp's place among them, SIZE_MAX where it has none (set aside, or no stamp). */
GLASSINE_API size_t glassine_standings_find(const glassine_standings *standings, glassine_record *stamp);
/* The plates that are left for a stamp, `plate` counting them from 0: false at the end. *expression is canonical, "any" where every
 * position is left; both texts live as long as the standings. */
GLASSINE_API bool glassine_standings_places(glassine_standings *standings, size_t index, size_t plate,
                                            glassine_record **record, const char **expression,
                                            uint32_t *count);
/* "plate 1: 64", "plate 1: 10 positions: 4, 24, 34 …", with at most `most` numbers a plate (0: all); NULL when memory ran out. */
GLASSINE_API const char *glassine_standings_shown(glassine_standings *standings, size_t index, uint32_t most);
/* The claim on the stamp that says most: of those that count the surest, of these the one that leaves the fewest
 * places, of these the first in a cursor's order. NULL where none counts. */
GLASSINE_API glassine_record *glassine_standings_best_claim(const glassine_standings *standings,
                                                            size_t index);
/* The conclusions on it, from 0; NULL at the end. */
GLASSINE_API glassine_record *glassine_standings_conclusion(const glassine_standings *standings, size_t index,
                                                            size_t number);
/* An array of one object a stamp, {"stamp","label","standing","count","candidates":[…],…}; of a disputed one also
 * which statements cannot all be true. `stamps` NULL: all, as text in a table; else these, told in full. */
GLASSINE_API glassine_status glassine_standing(glassine_bundle *bundle, glassine_record *const *stamps,
                                               size_t count, glassine_report *report, glassine_error *error);

/* How places are ranked; all zero is usual. */
typedef struct glassine_locate_options {
    const glassine_ranking *ranking; /* NULL: the defaults */
    glassine_record *plate;          /* only this one; NULL: all of the design */
    const char *within;              /* only these positions of every plate; NULL: all */
    bool with_claims;                /* only positions that the stamp's standing leaves */
    uint32_t most;                   /* places that are told; 0: 10 */
} glassine_locate_options;
/* Weighs every place of the stamp's design (of every design, where it has none) by what was observed on it:
 * {"stamp","label","places":[{"plate","label","position","state","weight","reasons"}…],"look_next"}, greatest weight
 * first. The weights of all places add up to 1; how far they may be taken for probabilities is in spec/ranking.md.
 * Refused with R220 where it has more than 1000 observations, with R221 where there are more than 10,000,000 places
 * and states, and where a parameter is beyond what it can mean. `options` may be NULL. */
GLASSINE_API glassine_status glassine_locate(glassine_bundle *bundle, glassine_record *stamp,
                                             const glassine_locate_options *options, glassine_report *report,
                                             glassine_error *error);
/* Other stamps of its design, or of none, that show the same marks, placed or not: {"stamp","label","marks":[…],
 * "alike":[…]}, most alike first, at most `most` (0: 20). `ranking` NULL: the defaults. Refused as glassine_locate. */
GLASSINE_API glassine_status glassine_alike(glassine_bundle *bundle, glassine_record *stamp,
                                            const glassine_ranking *ranking, uint32_t most,
                                            glassine_report *report, glassine_error *error);

/* A plate as a whole, for drawing: what stands at each position, worked out when it is made. The bundle must outlive
 * it, and nothing may be said anew meanwhile. `report` gets findings; may be NULL. */
typedef struct glassine_chart glassine_chart;
/* One position of a chart. */
typedef struct glassine_chart_cell {
    glassine_place place; /* where it is */
    /* the best that can be said: "corroborated", "placed", "concluded", "disputed", "missing" */
    const char *best;
    uint32_t placed, corroborated; /* stamps that stand here; corroborated ones count in both */
    uint32_t owned;                /* of the placed ones: those whose item is owned */
    uint32_t disputed;             /* disputed stamps of which somebody's own view is this place */
    uint32_t concluded;            /* stamps concluded to come from here, whatever their standing */
} glassine_chart_cell;
/* The chart of a plate: what stands at each position. */
GLASSINE_API glassine_status glassine_chart_new(glassine_bundle *bundle, glassine_record *plate,
                                                glassine_report *report, glassine_chart **chart,
                                                glassine_error *error);
GLASSINE_API void glassine_chart_free(glassine_chart *chart); /* frees it, with its plan */
/* The layout of its plate. */
GLASSINE_API const glassine_plan *glassine_chart_plan(const glassine_chart *chart);
/* `position` from 0, below the count of the plan. */
GLASSINE_API glassine_chart_cell glassine_chart_at(const glassine_chart *chart, uint32_t position);
/* Positions where a stamp is placed or corroborated. */
GLASSINE_API uint32_t glassine_chart_found(const glassine_chart *chart);
/* {"plate","label","positions","found","expected_further","cells":[…]}; as text a map of the plate. */
GLASSINE_API glassine_status glassine_chart_report(glassine_bundle *bundle, glassine_record *plate,
                                                   glassine_report *report, glassine_error *error);
/* Earliest and latest dates by position, state and mark, what each rests on, new earliest dates, and dates before the
 * mark, the state or the design existed, as findings (spec/standing.md, "Dates"). */
GLASSINE_API glassine_status glassine_dates(glassine_bundle *bundle, glassine_record *plate,
                                            glassine_report *report, glassine_error *error);

/* ---------------------------------------------------------------------------------- pictures for the page */

/* A copy of a scan that every browser shows, without metadata but for colour profile, resolution and the way it is
 * turned (spec/images.md). */
typedef struct glassine_picture {
    const char *media;                /* "image/jpeg" or "image/png"; static */
    unsigned char *bytes;             /* a JPEG or PNG file */
    size_t length;                    /* in bytes */
    uint32_t width, height;           /* of these bytes, as stored */
    uint32_t scan_width, scan_height; /* of the scan, as stored: regions count in its pixels */
    uint8_t orientation;              /* EXIF 1–8, of both: how a browser turns the picture */
    bool exact;                       /* the pixels are the scan's own, byte for byte */
} glassine_picture;
/* Of the scan with this digest, at most `limit` pixels on the longer side (0: as it is). Refused where its bytes are
 * not there, or of a kind that no copy is made of. Free it after success. */
GLASSINE_API glassine_status glassine_picture_make(glassine_bundle *bundle, const char *sha256,
                                                   uint32_t limit, glassine_picture *picture,
                                                   glassine_error *error);
/* One of several that are wanted, and what became of it. */
typedef struct glassine_picture_wanted {
    glassine_bundle *bundle;  /* which holds the scan's bytes; NULL: this one is passed over */
    char sha256[65];          /* of the scan */
    uint32_t limit;           /* as above */
    glassine_picture picture; /* free it where `status` is GLASSINE_OK */
    glassine_status status;   /* as glassine_picture_make gives it */
    glassine_error error;     /* as well */
} glassine_picture_wanted;
/* Makes them on all processors. */
GLASSINE_API void glassine_pictures_make(glassine_picture_wanted *wanted, size_t count);
GLASSINE_API void glassine_picture_free(glassine_picture *picture); /* frees it, with its bytes */

#ifdef __cplusplus
}
#endif

#endif
