/* What a bundle holds for the computation: plates, stamps, claims, marks and observations as plain structs,
 * joined records as one, what is contested as unsaid. Gathered anew for each question; nothing in it outlives
 * the bundle. Private to this layer. */
#ifndef GL_PLATING_SURVEY_H
#define GL_PLATING_SURVEY_H

#include "base/edtf.h"
#include "bundle/bundle.h"
#include "bundle/joins.h"
#include "plating/expression.h"
#include "plating/from_bundle.h"
#include "plating/seen.h"
#include "plating/standing.h"

typedef struct gl_survey_plate {
    glassine_record *record; /* the one that stands for all joined ones */
    gl_plan *plan;
    uint32_t design;          /* GL_NONE: unsaid */
    glassine_record **states; /* early to late */
    gl_span *state_names;
    uint32_t state_count;
    double pitch_x, pitch_y; /* thousandths of the design; 0: unsaid */
} gl_survey_plate;

typedef struct gl_survey_design {
    gl_span id;
    uint32_t *plates;
    uint32_t count;
    size_t room;
} gl_survey_design;

typedef struct gl_survey_state {
    uint32_t plate, number;
} gl_survey_state;

typedef struct gl_survey_stamp {
    glassine_record *record; /* the first of those joined */
    uint32_t design;         /* GL_NONE: unsaid, and so every plate comes in question */
    gl_span item;            /* the id that stands for it */
    int64_t row, column;     /* in its multiple; 0: unsaid */
    uint32_t item_subject;   /* of `item`, in the store; GL_NONE: it is not in the bundle */
    uint32_t next_on;        /* the next stamp of the item; GL_NONE */
} gl_survey_stamp;

/* A stamp's record; several where they are joined. */
typedef struct gl_survey_entry {
    glassine_record *record;
    uint32_t stamp;
} gl_survey_entry;

typedef enum gl_source_kind {
    GL_SOURCE_CLAIM,
    GL_SOURCE_SELVEDGE,
    GL_SOURCE_LETTERS,
    GL_SOURCE_PLATE_NUMBER,
    GL_SOURCE_MARK
} gl_source_kind;

/* Where a statement comes from. */
typedef struct gl_source {
    gl_source_kind kind;
    glassine_record *record; /* claim, stamp or observation */
} gl_source;

/* Where ties come from: a multiple (its item) or a match. */
typedef struct gl_tie_source {
    gl_span item;           /* absent for a match */
    glassine_record *match; /* NULL for a multiple */
} gl_tie_source;

typedef struct gl_survey_claim {
    glassine_record *record;
    uint32_t stamp, author;
    bool possible;
    uint32_t instead_of; /* claim; GL_NONE */
    bool withdrawn, counts;
    uint32_t statement; /* GL_NONE: it does not bind */
} gl_survey_claim;

typedef struct gl_survey_conclusion {
    glassine_record *record;
    uint32_t stamp, author;
    const gl_allowance *allowed;
    uint32_t allowed_count;
} gl_survey_conclusion;

typedef struct gl_survey_mark {
    glassine_record *record;
    uint32_t plate;
    const gl_posset *positions; /* NULL: unknown */
    uint32_t first_state, last_state;
    uint32_t appearance;
    bool re_entry;
    gl_spot spot;
    double spread, visibility; /* less than 0: unsaid */
} gl_survey_mark;

typedef struct gl_survey_observation {
    uint32_t stamp;
    glassine_record *record;
    uint32_t mark; /* that it is held to be; GL_NONE */
    gl_observation seen;
} gl_survey_observation;

/* A dated marking on a stamp. */
typedef struct gl_survey_date {
    uint32_t stamp;
    glassine_record *marking;
    gl_span id; /* of the marking */
    gl_date date;
    gl_span dated_by; /* absent: unsaid */
} gl_survey_date;

typedef struct gl_survey {
    glassine_bundle *bundle;
    glassine_report *report; /* gets findings; NULL: nobody wants them */
    gl_watch *watch;         /* counts the records that are done with, and may stop it; NULL: nobody's */
    uint64_t done;           /* so many */
    const gl_joins *joins;
    gl_arena *arena;
    glassine_record **within; /* of a scope, those that take part, by type; NULL: all of the bundle's do */
    size_t *within_first;     /* by place in the table of types: the first of each in `within` */

    gl_survey_plate *plates;
    uint32_t plate_count;
    gl_map *plate_of; /* id that stands -> plate */
    gl_survey_design *designs;
    uint32_t design_count;
    gl_map *design_of;
    gl_survey_design all; /* every plate */
    gl_survey_state *states;
    uint32_t state_count;
    gl_map *state_of;

    gl_survey_stamp *stamps;
    uint32_t stamp_count;
    uint32_t subjects;    /* that the bundle had */
    uint32_t *stamp_on;   /* by subject: the number of the stamp that it stands for, from 1; 0: none */
    uint32_t *first_on;   /* by subject: the number of the item's first stamp, from 1; 0: none */
    gl_map *first_absent; /* the same of items that are spoken of and not in the bundle, by id, from 0 */
    gl_survey_entry *entries;
    uint32_t entry_count;

    gl_span *people;
    uint32_t people_count;
    gl_map *person_of;

    gl_survey_claim *claims;
    uint32_t claim_count;
    gl_survey_conclusion *conclusions;
    uint32_t conclusion_count;
    gl_statement *statements;
    gl_source *sources;
    uint32_t statement_count;
    gl_tie *ties;
    uint32_t tie_count;
    gl_tie_source *tie_sources;
    uint32_t tie_source_count;

    gl_survey_mark *marks;
    uint32_t mark_count;
    gl_map *mark_of;
    gl_survey_observation *observations; /* by stamp */
    uint32_t observation_count;
    gl_survey_date *dates; /* by stamp */
    uint32_t date_count;

    /* what the question needs of it */
    gl_standing_plate *standing_plates;
    gl_plate_list *plates_of;
    uint32_t *ground_first, *ground_to, *ground_statement;
    uint32_t ground_count;
    bool rests; /* something says what it rests on */

    struct gl_survey_cache *cache; /* expressions that were read, and allowances made of them */
    struct {
        size_t plates, designs, states, stamps, entries, people, claims, conclusions, statements, sources,
            ties, tie_sources, marks, observations, dates;
    } room;
} gl_survey;

/* Plates, states, stamps, people, marks, observations, dates, claims, conclusions, ties. `marks` by subject, as
 * gl_scope_spread leaves them: only what is marked, for standings alone (there are no dates); NULL: everything. */
glassine_status gl_survey_make(glassine_bundle *bundle, const bool *marks, glassine_report *report,
                               gl_watch *watch, gl_survey *survey, glassine_error *error);
void gl_survey_free(gl_survey *survey);
gl_standing_question gl_survey_question(const gl_survey *survey);

/* Refuses a plate that takes no part, saying why. */
glassine_status gl_survey_no_plate(const gl_survey *survey, glassine_record *plate, glassine_error *error);

/* ---- for its own files ---- */

/* Walks the records of a type that are not set aside. */
typedef glassine_status (*gl_survey_visit)(gl_survey *survey, glassine_record *record, glassine_error *error);
glassine_status gl_survey_each(gl_survey *survey, const char *type, gl_survey_visit visit,
                               glassine_error *error);

/* One record is done with. Refused where whoever looks on stops it. */
glassine_status gl_survey_done(gl_survey *survey, glassine_error *error);

/* The same, step by step. */
typedef struct gl_survey_walk {
    glassine_cursor *cursor; /* NULL: within a scope */
    glassine_record **next, **end;
} gl_survey_walk;
glassine_status gl_survey_walk_begin(const gl_survey *survey, const char *type, gl_survey_walk *walk,
                                     glassine_error *error);
glassine_record *gl_survey_walk_next(gl_survey_walk *walk);
void gl_survey_walk_end(gl_survey_walk *walk);
/* Finds what is marked. */
glassine_status gl_survey_keep_within(gl_survey *survey, const bool *marks, glassine_error *error);

/* The field's value; absent where unsaid, or contested, which becomes a finding. */
glassine_value gl_survey_get(gl_survey *survey, glassine_record *record, const char *field);
gl_span gl_survey_text(gl_survey *survey, glassine_record *record, const char *field);
bool gl_survey_integer(gl_survey *survey, glassine_record *record, const char *field, int64_t *value);
bool gl_survey_truth(gl_survey *survey, glassine_record *record, const char *field);
/* The id that stands for what the field refers to; absent. */
gl_span gl_survey_ref(gl_survey *survey, glassine_record *record, const char *field);
gl_span gl_survey_id(const gl_survey *survey, glassine_record *record);
/* In the store, of what stands for the record. */
uint32_t gl_survey_subject(const gl_survey *survey, const glassine_record *record);
/* The number of the stamp with this id, or joined with it; GL_NONE. The same of a record. */
uint32_t gl_survey_find_stamp(const gl_survey *survey, gl_span id);
uint32_t gl_survey_stamp_of(const gl_survey *survey, const glassine_record *record);
/* The first stamp of the item, whose others gl_survey_stamp.next_on leads to; GL_NONE. `item` is the id that stands
 * for it, as gl_survey_ref gives it. */
uint32_t gl_survey_first_on(const gl_survey *survey, gl_span item);
/* Of every claim, match and conclusion: does it rest on something? */
void gl_survey_note_basis(gl_survey *survey, glassine_record *record);
/* A contributor's number; GL_NONE when memory ran out. */
uint32_t gl_survey_person(gl_survey *survey, gl_span id);
/* As people call the contributor. */
const char *gl_survey_name(const gl_survey *survey, uint32_t person);
/* Room for one more; NULL when memory ran out. */
#define GL_SURVEY_ADD(survey, array, counter)                                                                \
    (gl_survey_grow((void **)&(survey)->array, &(survey)->room.array, (survey)->counter,                     \
                    sizeof *(survey)->array)                                                                 \
         ? &(survey)->array[(survey)->counter++]                                                             \
         : NULL)
bool gl_survey_grow(void **array, size_t *room, uint32_t count, size_t size);

glassine_status gl_survey_plates(gl_survey *survey, glassine_error *error);
glassine_status gl_survey_stamps(gl_survey *survey, glassine_error *error);
glassine_status gl_survey_marks(gl_survey *survey, glassine_error *error);
glassine_status gl_survey_facts(gl_survey *survey, glassine_error *error);
glassine_status gl_survey_claims(gl_survey *survey, glassine_error *error);
glassine_status gl_survey_ties(gl_survey *survey, glassine_error *error);
glassine_status gl_survey_grounds(gl_survey *survey, glassine_error *error);
glassine_status gl_survey_dates(gl_survey *survey, glassine_error *error);

/* The set that an expression names on a plate, NULL where it names none, and then *fault says why; *state
 * GL_NONE where it says none. Each expression is read once. */
glassine_status gl_survey_expression(gl_survey *survey, uint32_t plate, gl_span text, const gl_posset **set,
                                     uint32_t *state, const char **fault, glassine_error *error);

/* What a statement leaves, plate by plate; shared by all that say the same. */
typedef struct gl_survey_allowed {
    const gl_allowance *list; /* NULL and count 0: nothing is left */
    uint32_t count;
    bool says_state;
    const char *fault; /* of an expression that fits no plate; NULL */
} gl_survey_allowed;

/* Of `plates`, `positions` and `state` of a claim or conclusion. */
glassine_status gl_survey_allow(gl_survey *survey, glassine_record *record, uint32_t stamp,
                                gl_survey_allowed *allowed, glassine_error *error);

struct gl_survey_cache *gl_survey_cache_new(void);
void gl_survey_cache_free(struct gl_survey_cache *cache);
/* What was allowed under this key, NULL: nothing yet; and keeps it. */
const gl_survey_allowed *gl_survey_recall(const gl_survey *survey, gl_span key);
bool gl_survey_keep(gl_survey *survey, gl_span key, gl_survey_allowed allowed);

/* Observations of a stamp, by id; its dated markings, earliest first. */
const gl_survey_observation *gl_survey_seen_on(const gl_survey *survey, uint32_t stamp, uint32_t *count);
const gl_survey_date *gl_survey_dated(const gl_survey *survey, uint32_t stamp, uint32_t *count);
/* The plates that come in question for a stamp. */
const gl_survey_design *gl_survey_plates_of(const gl_survey *survey, uint32_t stamp);
/* A new statement about the stamp, not yet saying anything; NULL when memory ran out. */
gl_statement *gl_survey_say(gl_survey *survey, uint32_t stamp, gl_source_kind kind, glassine_record *record);

#endif
