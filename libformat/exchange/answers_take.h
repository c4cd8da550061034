/* A text of numbered answers on its way in: answers.c finds out what it answers and what it means,
 * answers_write.c makes records of it. */
#ifndef GL_EXCHANGE_ANSWERS_TAKE_H
#define GL_EXCHANGE_ANSWERS_TAKE_H

#include "exchange/answers.h"
#include "exchange/derived.h"

enum { GL_QUESTIONS_MOST = 4096, GL_EARLIER_MOST = 16 };

/* One answer as it will be taken. */
typedef struct gl_answer_entry {
    uint32_t number;
    gl_span words;
    gl_answer answer;
    bool explained; /* the keeper said how it is meant */
    bool known;     /* this text was taken in before, and so was its answer: nothing is made of it again */
    bool outdated;  /* a later text answers the question again, and was taken in before this one */
    /* What was answered to the question and stands, by the same person: this answer takes its place. */
    glassine_record *earlier[GL_EARLIER_MOST];
    size_t earlier_count;
} gl_answer_entry;

/* The digest of a text. */
typedef struct gl_answer_text {
    char digest[GL_HEX_SIZE];
} gl_answer_text;

typedef struct gl_answering {
    gl_merging *merging;
    glassine_draft *draft;
    glassine_bundle *bundle;
    const glassine_merge_options *options;
    const char *path;
    gl_buf text; /* as it is kept */
    bool sheet;  /* it is the sheet that went with a dispatch */
    gl_answer_text own;
    glassine_record *event;
    char by[GL_PERSON_SIZE], writer[GL_PERSON_SIZE];
    glassine_record *stamps[GL_QUESTIONS_MOST];
    gl_span labels[GL_QUESTIONS_MOST];
    bool emptied[GL_QUESTIONS_MOST]; /* the sheet has a row for it that says nothing */
    size_t questions;
    gl_answer_entry *entries;
    size_t count;
    size_t asked; /* what is not understood */
    int64_t at;
    char letter[GL_DERIVED_SIZE];
    gl_answer_text *texts; /* all that this person wrote and that were taken in */
    size_t text_count;
} gl_answering;

/* A copy with a NUL byte behind it, in the bundle's arena. */
const char *gl_answering_keep(gl_answering *it, gl_span text);
/* SHA-256 of a text; false when memory ran out. */
bool gl_answering_digest(gl_span text, gl_answer_text *out);
/* The id of a record that a text becomes: of answer `number`, or of the letter (0). */
bool gl_answering_id(const gl_answering *it, const gl_answer_text *text, const char *type, gl_span event,
                     uint32_t number, size_t part, char out[GL_DERIVED_SIZE]);
/* Does an answer of this text to the question, which was taken in before, stand? */
bool gl_answering_stands(const gl_answering *it, uint32_t number);
/* What stands of earlier answers to the same questions, into the entries. */
glassine_status gl_answering_look_back(gl_answering *it, glassine_error *error);
/* The letter, the answers and the `returned` event, into the draft. */
glassine_status gl_answering_write(gl_answering *it, glassine_error *error);

#endif
