/* A draft from inside: slips in the store behind `base`, a writer once a scan went in. */
#ifndef GL_EXCHANGE_DRAFT_H
#define GL_EXCHANGE_DRAFT_H

#include "bundle/bundle.h"
#include "images/image.h"

typedef struct gl_gathered gl_gathered; /* gather.h */

enum { GL_PERSON_SIZE = 12 + 36 + 1 }; /* "contributor/UUID" */

struct glassine_draft {
    glassine_bundle *bundle;
    char by[GL_PERSON_SIZE], via[GL_PERSON_SIZE]; /* via "": nobody else */
    char own[GL_PERSON_SIZE];                     /* the one at work: who began it, whoever speaks since */
    bool begins_anew;         /* the keeper signs with another key from here on, by hand */
    uint32_t base;            /* slips that were there before */
    int64_t said_at;          /* when what follows was said; 0: now */
    int64_t at;               /* the edition's time, once a writer is there */
    gl_writer *writer;        /* NULL: nothing was written yet */
    gl_buf signatures;        /* lines carried from elsewhere, each with its \n */
    gl_map *known_signatures; /* the bundle's lines and these; NULL: not gathered */
    gl_span *brings;          /* manifest lines of new payload, in the arena */
    size_t brings_count, brings_room;
    uint64_t payload_bytes; /* that they add */
    gl_gathered *gathered;  /* files whose bytes are in already */
    size_t gathered_count, gathered_room;
    gl_map *gathered_paths; /* path -> its number among them; NULL: none */
    struct gl_ahead *ahead; /* its lines are being written already (save.c); NULL: not so */
};

/* draft.c */
/* The writer, made when it is first needed. */
glassine_status gl_draft_writer(glassine_draft *draft, glassine_error *error);
/* A slip as its line stands (somebody's, from elsewhere): checked, copied, added to the set. */
glassine_status gl_draft_add_line(glassine_draft *draft, gl_span line, const char *place, bool *added,
                                  glassine_error *error);
/* The same of slip number `slip` of another bundle, which was checked there: under the same limits it needs no second
 * check. */
glassine_status gl_draft_take_slip(glassine_draft *draft, const glassine_bundle *from, uint32_t slip,
                                   bool *added, glassine_error *error);
/* The same of a slip that is spoken here and now, to be signed at the save. */
glassine_status gl_draft_speak_line(glassine_draft *draft, gl_span line, bool *added, glassine_error *error);
/* The line lives as long as the bundle. Whose word counts is judged anew after gl_bundle_trust_changed only.
 */
glassine_status gl_draft_add_signature(glassine_draft *draft, gl_span line, glassine_error *error);
/* A payload file that the writer now holds under this inner name. */
glassine_status gl_draft_brought(glassine_draft *draft, gl_span inner, const gl_digest *digest,
                                 uint64_t bytes, glassine_error *error);
/* A scan's raw bytes out of another bundle; nothing where it is here already, or not there. */
glassine_status gl_draft_take_scan(glassine_draft *draft, glassine_bundle *from, const char *sha256,
                                   bool *taken, glassine_error *error);
/* The raw bytes of an entry of another bundle, whose content was checked, and which is not here. */
glassine_status gl_draft_take_entry(glassine_draft *draft, glassine_bundle *from, const gl_entry *entry,
                                    const gl_digest *digest, glassine_error *error);
/* Files that were gathered are unknown from here on. */
void gl_draft_forget_gathered(glassine_draft *draft);
/* Drops the signatures behind the first `length` bytes of them. */
void gl_draft_cut_signatures(glassine_draft *draft, size_t length);
/* Drops what the draft holds and starts it afresh at the bundle's present end. */
void gl_draft_clear(glassine_draft *draft);

/* save.c */
/* Begins to write the lines that the draft holds on a thread of its own, where that can be done, while the caller looks
 * at the bundle: nothing may be added until the draft is saved, with this note, or dropped. What fails is told by the
 * save. */
void gl_draft_write_ahead(glassine_draft *draft, const char *note);
/* Drops what was written so, as if it had not begun. */
void gl_draft_drop_ahead(glassine_draft *draft);
/* As glassine_draft_save. *saved: what it held is on disk and stays, even where the status says that the handle cannot
 * go on from it. */
glassine_status gl_draft_save(glassine_draft *draft, const char *note, bool *saved, glassine_error *error);

/* say.c */
/* One slip of the draft's speaker on `id`, following the latest ones there. `set`: canonical object; `clear`:
 * canonical array or absent. */
glassine_status gl_draft_slip(glassine_draft *draft, gl_span id, glassine_reach reach, gl_span set,
                              gl_span clear, const char *why, glassine_error *error);

/* A record under an id that the caller chose (of a type of the table). */
glassine_status gl_draft_enter_as(glassine_draft *draft, const char *id, const glassine_assignment *fields,
                                  size_t count, glassine_record **record, glassine_error *error);
glassine_status gl_draft_enter_why(glassine_draft *draft, const char *id, const glassine_assignment *fields,
                                   size_t count, const char *why, glassine_record **record,
                                   glassine_error *error);

/* attach.c */
/* The record of a scan whose bytes have this digest; `name` may be empty. */
glassine_status gl_enter_scan(glassine_draft *draft, gl_span item, gl_span name, uint64_t size,
                              const gl_image *image, const char *hex, const glassine_assignment *fields,
                              size_t count, glassine_record **scan, glassine_error *error);

/* make.c */
/* A new bundle in memory and in a temporary file beside `path`, with an empty draft; published under its name
 * by gl_make_publish after the draft was saved. */
typedef struct gl_make {
    glassine_bundle *bundle;
    glassine_draft *draft;
    char *temporary;
    char *path;
} gl_make;
glassine_status gl_make_new(gl_make *make, const char *path, const gl_about *about, glassine_error *error);
/* The file must not exist, unless `replace`. */
glassine_status gl_make_publish(gl_make *make, bool replace, glassine_error *error);
/* Saves what the draft holds. */
glassine_status gl_make_save(gl_make *make, const char *note, glassine_error *error);
/* Puts the page into what was made, after its draft was saved; still under its temporary name. */
glassine_status gl_make_add_page(gl_make *make, gl_span page, glassine_error *error);
void gl_make_free(gl_make *make); /* removes the temporary file where it was not published */
/* A slug for the base folder, out of the file's name: "glassine-SLUG". */
void gl_slug_of(const char *path, gl_buf *base);

/* rewrite.c */
/* The edition that `from` was opened at, whole, as one segment without leftovers, into the file `out`, which
 * must not exist unless `replace` (then it takes over the permissions of `from`'s file). */
glassine_status gl_rewrite(glassine_bundle *from, const char *out, bool replace, glassine_error *error);
/* What is put into it besides. */
typedef struct gl_rewrite_extras {
    gl_span page;    /* to be open-me.html; absent: the one that `from` has, if any */
    unsigned parity; /* in parts in a hundred; 0: none */
} gl_rewrite_extras;
glassine_status gl_rewrite_with(glassine_bundle *from, const gl_rewrite_extras *extras, const char *out,
                                bool replace, glassine_error *error);

#endif
