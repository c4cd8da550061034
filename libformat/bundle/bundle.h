/* An opened bundle: container, log and set of slips together; records, readings and names over them. */
#ifndef GL_BUNDLE_BUNDLE_H
#define GL_BUNDLE_BUNDLE_H

#include "base/arena.h"
#include "base/map.h"
#include "container/bag.h"
#include "slips/log.h"
#include "slips/reading.h"
#include "slips/trust.h"

/* What about.json says; spans live as long as the bundle. */
typedef struct gl_about {
    char *base, *uuid, *keeper, *title, *made, *version;
    char *answer_by, *event, *answers; /* NULL where unsaid */
    bool blind;
} gl_about;

/* A segment of the log as the directory has it: editions first … last. Its text is that of `pieces` pieces from
 * `piece` on: one where it was read, several where saves through this handle joined it (the slips keep spans
 * into the pieces, so these never move). */
typedef struct gl_segment {
    uint32_t first, last;
    size_t piece, pieces;
    bool borrowed; /* its text is that of the bundle beside which this one was opened */
} gl_segment;

/* What was made of a record that somebody asked for. */
typedef struct gl_made {
    gl_reading *reading;    /* NULL: not made, or no longer true */
    glassine_field *fields; /* the same for the public, NULL: not made */
    gl_span label;          /* true for `label_of` */
    uint64_t label_of;      /* the bundle's generation that the label was made in */
} gl_made;

struct glassine_record {
    uint32_t subject;       /* in the store */
    uint32_t author;        /* in the store; GL_NONE: not of an authored type */
    uint32_t first_slip;    /* the slip that made it known here */
    bool queued;            /* waits to be indexed by name */
    uint8_t type;           /* its place in the table (gl_type_place) */
    glassine_record *older; /* the record before it on the same subject */
    gl_made *made;          /* NULL: nobody asked yet, as of most records */
};

struct glassine_bundle {
    char *path; /* as given */
    char *file; /* without #N */
    int fd;
    bool writing, drafting;
    bool failed;  /* memory ran out under something that cannot say so; it sticks */
    bool stopped; /* who looks on stopped something that cannot say so; it sticks, too */
    glassine_limits limits;
    const glassine_watch *watch; /* NULL: nobody looks on */
    gl_arena *arena;
    gl_zip *zip;
    gl_store *store;
    gl_log *log;
    bool shares_log;               /* it is another handle's */
    const glassine_bundle *beside; /* as long as the log is read: what it begins with may be known; NULL */
    const glassine_bundle *like;   /* beside which it was opened, and whose first slips are its own; NULL */
    uint32_t like_slips;           /* so many */
    bool without_records;
    gl_trust *trust;
    const glassine_key *key, *key_before; /* to sign with; NULL: none */
    gl_manifest *payload, *tags;
    gl_about about;
    uint32_t keeper_number; /* the keeper's in the store, as it was found last */
    gl_segment *segments;
    size_t segment_count, segment_room;
    gl_buf *pieces; /* the log, in order */
    size_t piece_count, piece_room;
    /* that frees the pieces, since it has lines in them; NULL: this one does */
    const glassine_bundle *lent_to;
    gl_buf *adopted; /* pieces of others that were lent to this one */
    size_t adopted_count, adopted_room;
    uint32_t edition; /* shown; less than the file's last where opened with #N */

    glassine_record **records; /* in order of first slip */
    size_t record_count, record_room;
    glassine_record **newest_of; /* by subject: its newest record */
    size_t newest_room;
    uint32_t indexed_slips; /* slips the records know of */
    uint64_t generation;    /* counts changes of the set; labels depend on other records */

    struct gl_names *names;         /* by label, and who refers to whom */
    const glassine_record *life_of; /* whose life was asked for last, at `life_at`; NULL: nobody's */
    uint64_t life_at;
    const glassine_change *life;
    size_t life_count;
    gl_map *scans;          /* hex digest -> entry of the directory; NULL: not made */
    struct gl_joins *joins; /* what the keeper's joins amount to (joins.h); NULL: not made */
    uint64_t joins_of;      /* the generation that they were made in */
};

/* about.c */
glassine_status gl_about_parse(gl_arena *arena, gl_span text, const char *place, gl_about *about,
                               glassine_error *error);
void gl_about_print(const gl_about *about, gl_buf *out);

/* open.c */
/* A handle that nothing was read into; NULL when memory ran out. */
glassine_bundle *gl_bundle_blank(const char *path, glassine_mode mode, const glassine_options *options);

/* The bundle as it was saved last, without what a draft holds: its log, set and records, to be looked at. It shares
 * lines with `bundle`, which must neither change nor be closed before it. */
glassine_status gl_bundle_as_saved(const glassine_bundle *bundle, glassine_bundle **out,
                                   glassine_error *error);

/* failure.c */
/* Memory ran out: noted of the bundle for good, since what it has made and what it gives may be incomplete now. */
glassine_status gl_bundle_fail_memory(glassine_bundle *bundle, glassine_error *error);
/* What a function ends with that read from the bundle and filled the report (NULL: none): `status`, unless memory ran
 * out under something on the way. */
glassine_status gl_bundle_end(const glassine_bundle *bundle, const glassine_report *report,
                              glassine_status status, glassine_error *error);

/* The same of a function that wrote the file or folder `path` before it filled the report: an error says that it stays
 * ("is written and whole"), whatever became of telling about it. `bundle` NULL: that was asked already. */
glassine_status gl_bundle_end_written(const glassine_bundle *bundle, const glassine_report *report,
                                      glassine_status status, const char *path, const char *stays,
                                      glassine_error *error);
#define GL_STAYS_WHOLE "is written and whole"

/* As glassine_bundle_open_beside; `beside` NULL: by itself. Without `records` it has the log and the set of slips, and
 * nothing of them can be asked as records. */
glassine_status gl_bundle_open_beside(const char *path, const glassine_bundle *beside,
                                      const glassine_options *options, bool records, glassine_bundle **out,
                                      glassine_error *error);
/* The set, and the log that brought it, become the handle's; false when memory ran out. */
bool gl_bundle_take_set(glassine_bundle *bundle, gl_store *store, gl_log *log);

/* beside.c */
/* The segment's piece becomes the text that `bundle->beside` has of it, where both files have the same bytes of it. */
glassine_status gl_bundle_borrow_segment(const glassine_bundle *bundle, gl_segment *segment,
                                         glassine_error *error);
/* Does the manifest of each give the same digest of it? Then it was checked. */
bool gl_bundle_is_checked_beside(const glassine_bundle *bundle, const gl_segment *segment);
/* The text of the log becomes the other handle's to free, so that this one may be closed before it. False when memory ran
 * out. */
bool gl_bundle_lend_log(glassine_bundle *bundle, glassine_bundle *to);
/* Begins the handle's log with what it has in common with that of `bundle->beside`, once its segments are in memory. */
glassine_status gl_bundle_begin_beside(glassine_bundle *bundle, glassine_error *error);

/* load.c */
/* Reads the segments and about.json of `bundle->zip` into the handle; `until` 0: all editions. */
glassine_status gl_bundle_load(glassine_bundle *bundle, uint32_t until, glassine_error *error);
/* Room for one piece more, empty; NULL when memory ran out. */
gl_buf *gl_bundle_piece(glassine_bundle *bundle);
/* Room for one segment more. */
gl_segment *gl_bundle_segment(glassine_bundle *bundle);
/* "slips/FFFFFFFF-LLLLLLLL.jsonl" */
#define GL_SEGMENT_NAME_SIZE 32
void gl_segment_name(const gl_segment *segment, char out[GL_SEGMENT_NAME_SIZE]);
/* E022 for one end record of the file: its version is that of its edition's line in the log. */
glassine_status gl_bundle_check_end(const glassine_bundle *bundle, const gl_footer *footer,
                                    glassine_error *error);
/* After a save: the container is the file as the writer left it. */
glassine_status gl_bundle_follow(glassine_bundle *bundle, const gl_writer *writer, glassine_error *error);

/* records.c */
/* Makes records of the slips that the store has and the bundle does not know yet, and forgets readings that are
 * no longer true. */
glassine_status gl_bundle_index(glassine_bundle *bundle, glassine_error *error);
/* The same for a new handle whose store is the beginning of that of `of`. */
glassine_status gl_bundle_index_as(glassine_bundle *bundle, const glassine_bundle *of, glassine_error *error);
/* Takes over what readings `of` has of records that no later slip is on, where it was indexed as `of`: they are the
 * same, but for whether something that a slip follows came since. Only where the same slips count in both. `of` must
 * outlive it, and make no other readings of these. False when memory ran out. */
bool gl_bundle_share_readings(glassine_bundle *bundle, const glassine_bundle *of);
/* Takes back all slips from number `count` on. */
void gl_bundle_cut(glassine_bundle *bundle, uint32_t count);
glassine_record *gl_bundle_record_of(const glassine_bundle *bundle, uint32_t subject, uint32_t author);
/* The record on a subject of the store (GL_NONE: there is none); of an authored one the first by its author's id. */
glassine_record *gl_bundle_record_on(const glassine_bundle *bundle, uint32_t subject);
/* The slips on the record, its author's where it has one: the newest, and the one before `slip`; GL_NONE: none. */
uint32_t gl_record_newest(const glassine_bundle *bundle, const glassine_record *record);
uint32_t gl_record_before(const glassine_bundle *bundle, const glassine_record *record, uint32_t slip);
/* Of records that are looked at one after the other: the one at `at` is next, and of those behind it the newest slips are
 * fetched from memory meanwhile. */
void gl_records_expect(const glassine_bundle *bundle, glassine_record *const *records, size_t count,
                       size_t at);
/* The record a slip speaks on. */
glassine_record *gl_bundle_record_of_slip(const glassine_bundle *bundle, uint32_t slip);
/* NULL when memory ran out, which is noted of the bundle. */
gl_made *gl_record_made(glassine_bundle *bundle, glassine_record *record);
glassine_status gl_record_reading(glassine_bundle *bundle, glassine_record *record,
                                  const gl_reading **reading, glassine_error *error);
/* The reading as it was with these slips (digests in hex) and what they follow. Refused where one of them is not here,
 * is no slip on this record, or does not count. */
glassine_status gl_record_reading_at(glassine_bundle *bundle, glassine_record *record,
                                     const char (*slips)[65], size_t count, gl_reading *reading,
                                     glassine_error *error);
/* Do lists and derived figures pass over it: the keeper set it aside, or no slip on it counts? */
bool gl_record_left_out(glassine_bundle *bundle, glassine_record *record);
/* The fields of this name in a reading, by reach: from the one that it returns up to *end. */
const gl_read_field *gl_reading_named(const gl_reading *reading, gl_span name, const gl_read_field **end);
/* The field of this name and reach in a reading; NULL: nothing touches it. */
const gl_read_field *gl_reading_field(const gl_reading *reading, gl_span name, glassine_reach reach);
/* One value that stands, or stood, as the public interface gives it. */
glassine_saying gl_saying_of(glassine_bundle *bundle, const gl_said *said);
/* NULL: a type that the table does not know. */
const glassine_type_info *gl_type_of_id(gl_span id);
gl_span gl_record_id(const glassine_bundle *bundle, const glassine_record *record);
/* "item K-001 (item/6f…)" for messages; appended. */
void gl_record_shown(glassine_bundle *bundle, glassine_record *record, gl_buf *out);

/* ahead.c */
/* Makes the readings of all of these that have none, on all processors. */
glassine_status gl_bundle_read_ahead(glassine_bundle *bundle, glassine_record *const *records, size_t count,
                                     glassine_error *error);

/* trust.c */
/* The store asks the bundle's trust, and the table of types, from now on. */
void gl_bundle_judge(glassine_bundle *bundle);
/* Whose word counts may be another than before: readings, names and what follows from them are made anew. */
glassine_status gl_bundle_trust_changed(glassine_bundle *bundle, glassine_error *error);
/* Who stands behind a slip; GLASSINE_WORD_UNSIGNED when memory ran out. */
glassine_word gl_bundle_word(glassine_bundle *bundle, uint32_t slip);

/* values.c */
gl_span gl_bundle_decoded(glassine_bundle *bundle, gl_span json_string);

/* names.c */
struct gl_names *gl_names_new(void);
void gl_names_free(struct gl_names *names);
/* The record is new or changed: index it again before the next look-up among records of its type (NULL: one that the
 * table does not know). */
bool gl_names_queue(struct gl_names *names, const glassine_type_info *type, glassine_record *record);
/* Records went away: everything is indexed again from what is queued after this. */
void gl_names_forget(struct gl_names *names);
/* So often somebody will look for records of this type that refer to something: where that is more than a few times, they
 * are indexed the first time. */
void gl_names_expect(struct gl_names *names, const char *type, size_t looks);
/* Records that refer to `id`, in a cursor's order, in an array that lives until the next call. */
glassine_status gl_names_referrers(glassine_bundle *bundle, gl_span id, const char *type,
                                   glassine_record ***list, size_t *count, glassine_error *error);
/* As glassine_bundle_find, with several types (NULL-ended; NULL: any). Where several records fit, those that
 * refer to the record `within` (absent: no matter) are preferred: "early" of this plate. */
glassine_status gl_bundle_find(glassine_bundle *bundle, const char *const *types, gl_span typed,
                               gl_span within, glassine_record **record, glassine_error *error);

/* payload.c */
/* What `edition` makes of the payload before it: less what it lost, with what it brought (E016, E040, E041). */
glassine_status gl_payload_step(const gl_edition *edition, gl_manifest *payload, const char *place,
                                glassine_error *error);
/* The payload of edition N by the log, into an empty manifest. */
glassine_status gl_payload_of(const gl_log *log, uint32_t edition, gl_manifest *payload, const char *place,
                              glassine_error *error);
/* What the editions brought and lost, against the manifest: each file on which they differ is told (E040). The manifest
 * is that of the file's last edition, so of an earlier one only what its log says of itself is checked. */
typedef void (*gl_told_error)(void *context, const glassine_error *error);
glassine_status gl_payload_check(const glassine_bundle *bundle, gl_told_error tell, void *context,
                                 glassine_error *error);

/* scans.c */
/* The payload entry of this digest (64 hex digits), whatever its extension; NULL: not there. */
const gl_entry *gl_bundle_scan(glassine_bundle *bundle, const char *sha256);

/* picture.c */
/* A scan's bytes, checked, at the end of `file`. Refused where they are not there, or too many for memory. */
glassine_status gl_bundle_scan_bytes(glassine_bundle *bundle, const char *sha256, gl_buf *file,
                                     glassine_error *error);

/* cursor.c */
/* In the order of a cursor. */
void gl_records_sort(glassine_bundle *bundle, glassine_record **records, size_t count);

#endif
