/* Numbered answers as text: somebody's e-mail that answers the questions of letter.txt (spec/answers.md). */
#ifndef GL_EXCHANGE_ANSWERS_H
#define GL_EXCHANGE_ANSWERS_H

#include "exchange/merge.h"

/* ---- answers_read.c: which words answer which question */

/* One answer, or a line that is none. */
typedef struct gl_answer_words {
    uint32_t number; /* of the question, from 1; 0: no answer */
    gl_span words;   /* in the arena, lines joined by spaces */
    gl_span remark;  /* of a sheet, where it stands by itself; absent: none */
    const char *why; /* why it is a question to whoever takes it in; NULL: it is none */
    bool empty;      /* a row of a sheet that says nothing */
} gl_answer_words;

typedef struct gl_answer_list {
    gl_arena *arena;
    gl_answer_words *list;
    size_t count, room;
    gl_span date; /* of a Date: line, "2026-03-14T10:00:00Z"; absent: none */
} gl_answer_list;

/* `labels`: what the stamps asked about are called, in the letter's order. False when memory ran out. */
bool gl_answers_read(gl_span text, const gl_span *labels, size_t count, gl_answer_list *out);
void gl_answers_free(gl_answer_list *list);

/* ---- answers_mean.c: what the words of an answer mean */

typedef enum gl_answer_kind {
    GL_ANSWER_NONE,
    GL_ANSWER_PLACE, /* positions */
    GL_ANSWER_CANNOT_TELL,
    GL_ANSWER_NOT_GENUINE,
    GL_ANSWER_OTHER_PLATE
} gl_answer_kind;

enum { GL_ANSWER_SEEN_MOST = 8 };

typedef struct gl_answer_seen {
    const char *appearance, *seen; /* of the table's choices */
    gl_span words;
} gl_answer_seen;

typedef struct gl_answer {
    gl_answer_kind kind;
    gl_span positions;      /* canonical expression */
    gl_span shown;          /* "1 position: 64" */
    glassine_record *plate; /* that was named; NULL: none was */
    glassine_record *state;
    const char *confidence; /* "certain" …; NULL: not said */
    gl_span remark;         /* what is a comment, as it was given; may be empty */
    gl_answer_seen seen[GL_ANSWER_SEEN_MOST];
    size_t seen_count;
    gl_span why; /* why it is not understood; absent: it is */
} gl_answer;

/* Of an answer on this stamp. Texts are in the bundle's arena. */
glassine_status gl_answer_understand(glassine_bundle *bundle, glassine_record *stamp, gl_span words,
                                     gl_answer *out, glassine_error *error);
/* Do two answers mean the same? */
bool gl_answer_same(const gl_answer *a, const gl_answer *b);
/* What an opinion that is this answer is about: "cannot tell"; "" for kinds that are no opinion. */
const char *gl_answer_verdict(gl_answer_kind kind);
/* As people read it: "1 position: 64, state early, probable". */
void gl_answer_shown(glassine_bundle *bundle, const gl_answer *answer, gl_buf *out);

/* ---- answers_write.c */

/* Does the claim or opinion stand, neither withdrawn nor replaced by its author? */
bool gl_answer_stands(glassine_bundle *bundle, glassine_record *answer);
/* When it was said first. */
int64_t gl_answer_said_at(glassine_bundle *bundle, glassine_record *answer);

/* ---- answers.c: taking them in */

/* Is the file a text, rather than a bundle or an archive? */
bool gl_answers_is_text(const char *path);
/* Fills the source, and `answers` and `held` of the merge. */
glassine_status gl_answers_take(gl_merging *it, glassine_merge_source *source, glassine_error *error);

#endif
