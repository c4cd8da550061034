/* What numbered answers become: claims, opinions and observations by the one who answers, the letter that
 * they came in, and that the sending is answered. An answer takes the place of what the same person answered
 * to the same question in an earlier text. */
#include "exchange/answers_take.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "exchange/sent.h"

/* A copy with a NUL byte behind it. */
const char *gl_answering_keep(gl_answering *it, gl_span text) {
    gl_span copy = gl_arena_copy(it->bundle->arena, text);
    return copy.text ? copy.text : "";
}

bool gl_answering_digest(gl_span text, gl_answer_text *out) {
    gl_hash *hash = gl_hash_new();
    if (!hash)
        return false;
    gl_digest digest = gl_hash_once(hash, text.text, text.length);
    gl_digest_hex(&digest, out->digest);
    gl_hash_free(hash);
    return true;
}

bool gl_answering_id(const gl_answering *it, const gl_answer_text *text, const char *type, gl_span event,
                     uint32_t number, size_t part, char out[GL_DERIVED_SIZE]) {
    gl_buf name = GL_BUF_EMPTY;
    gl_buf_printf(&name, "answers\n%s\n%.*s\n%s\n%u\n%s\n%zu", text->digest, GL_SPAN_ARGS(event), it->by,
                  number, type, part);
    bool done = !name.failed && gl_derived_id(type, gl_buf_span(&name), out);
    gl_buf_free(&name);
    return done;
}

/* -------------------------------------------------------------------------------------- earlier answers */

/* Every text of this person's that was taken in, by the letters that keep their words, and the sheet of the
 * sending; the own one comes last. */
static glassine_status list_texts(gl_answering *it, glassine_error *error) {
    glassine_cursor *cursor;
    size_t room = 0;
    glassine_status status = glassine_cursor_new(it->bundle, "letter", true, &cursor, error);
    for (glassine_record *letter; !status;) {
        void *grown = gl_grow(it->texts, &room, it->text_count + 3, sizeof *it->texts);
        if (!grown) {
            status = gl_fail_memory(error);
            break;
        }
        it->texts = grown;
        if (!(letter = glassine_cursor_next(cursor)))
            break;
        gl_span text = glassine_record_text(it->bundle, letter, "text");
        gl_answer_text *next = &it->texts[it->text_count];
        if (!text.text || !gl_span_is(glassine_record_text(it->bundle, letter, "contributor"), it->by))
            continue;
        if (!gl_answering_digest(text, next))
            status = gl_fail_memory(error);
        else
            it->text_count += strcmp(next->digest, it->own.digest) != 0;
    }
    glassine_cursor_free(cursor);
    if (!status && !it->sheet &&
        !gl_answering_digest(gl_record_id(it->bundle, it->event), &it->texts[it->text_count++]))
        status = gl_fail_memory(error);
    if (!status)
        it->texts[it->text_count++] = it->own;
    return status;
}

/* The record that a text became, of the one who answers; NULL: there is none. */
static glassine_record *answer_in(const gl_answering *it, const gl_answer_text *text, const char *type,
                                  uint32_t number) {
    char id[GL_DERIVED_SIZE];
    return gl_answering_id(it, text, type, gl_record_id(it->bundle, it->event), number, 0, id)
               ? glassine_bundle_record(it->bundle, gl_span_of(id), gl_span_of(it->by))
               : NULL;
}

/* Is a claim of its author's there that stands instead of it? */
static bool is_replaced(glassine_bundle *bundle, glassine_record *claim) {
    glassine_record *const *later;
    size_t count = 0;
    if (glassine_record_referrers(bundle, claim, "claim", true, &later, &count, NULL))
        return false;
    for (size_t i = 0; i < count; i++)
        if (gl_span_equal(glassine_record_text(bundle, later[i], "instead_of"),
                          gl_record_id(bundle, claim)) &&
            gl_span_equal(glassine_record_author(bundle, later[i]), glassine_record_author(bundle, claim)))
            return true;
    return false;
}

bool gl_answer_stands(glassine_bundle *bundle, glassine_record *answer) {
    return !gl_json_true(glassine_record_get(bundle, answer, "withdrawn", NULL)) &&
           !is_replaced(bundle, answer);
}

bool gl_answering_stands(const gl_answering *it, uint32_t number) {
    glassine_record *claim = answer_in(it, &it->own, "claim", number);
    glassine_record *opinion = answer_in(it, &it->own, "opinion", number);
    return (claim && gl_answer_stands(it->bundle, claim)) ||
           (opinion && gl_answer_stands(it->bundle, opinion));
}

int64_t gl_answer_said_at(glassine_bundle *bundle, glassine_record *record) {
    const uint32_t *slips;
    size_t count = 0;
    int64_t at = INT64_MIN;
    if (glassine_record_history(bundle, record, &slips, &count, NULL))
        gl_bundle_fail_memory(bundle, NULL);
    else if (count)
        gl_time_parse(glassine_bundle_slip(bundle, slips[0]).at, &at);
    return at;
}

static const char *type_of(const gl_answer_entry *entry) {
    return entry->answer.kind == GL_ANSWER_PLACE ? "claim" : "opinion";
}

/* Did the record say the same when its words were given last? */
static bool says_already(const gl_answering *it, glassine_record *record, const gl_answer_entry *entry) {
    const uint32_t *slips;
    size_t count = 0;
    bool same = false;
    gl_buf why = GL_BUF_EMPTY;
    gl_buf_printf(&why, "%u: %.*s", entry->number, GL_SPAN_ARGS(entry->words));
    if (glassine_record_history(it->bundle, record, &slips, &count, NULL))
        count = 0;
    for (size_t i = 0; i < count; i++) {
        glassine_slip slip = glassine_bundle_slip(it->bundle, slips[i]);
        if (!gl_json_true(gl_json_member(slip.set, "withdrawn")))
            same = gl_span_equal(slip.why, gl_buf_span(&why));
    }
    gl_buf_free(&why);
    return same;
}

/* Was this answer of this text taken in before? A sheet is filled in further, so there it is so only where it
 * says the same still, and what stands of it is no answer of the other kind. */
static bool is_known(const gl_answering *it, const gl_answer_entry *entry) {
    glassine_record *claim = answer_in(it, &it->own, "claim", entry->number);
    glassine_record *opinion = answer_in(it, &it->own, "opinion", entry->number);
    bool place = entry->answer.kind == GL_ANSWER_PLACE;
    glassine_record *same = place ? claim : opinion, *other = place ? opinion : claim;
    if (it->sheet)
        return same && !(other && gl_answer_stands(it->bundle, other)) && says_already(it, same, entry);
    return !entry->explained && (claim || opinion);
}

static void look_back_from(const gl_answering *it, gl_answer_entry *entry) {
    static const char *const types[] = {"claim", "opinion"};
    const gl_answer_text *own = &it->texts[it->text_count - 1];
    entry->known = is_known(it, entry);
    for (size_t i = 0; i < it->text_count && !entry->known; i++)
        for (size_t t = 0; t < 2; t++) {
            glassine_record *answer = answer_in(it, &it->texts[i], types[t], entry->number);
            bool same = &it->texts[i] == own && strcmp(types[t], type_of(entry)) == 0;
            if (!answer || same || !gl_answer_stands(it->bundle, answer))
                continue;
            if (&it->texts[i] != own && gl_answer_said_at(it->bundle, answer) > it->at)
                entry->outdated = true;
            else if (entry->earlier_count < GL_EARLIER_MOST)
                entry->earlier[entry->earlier_count++] = answer;
        }
}

glassine_status gl_answering_look_back(gl_answering *it, glassine_error *error) {
    glassine_status status = list_texts(it, error);
    for (size_t i = 0; i < it->count && !status; i++)
        if (it->entries[i].answer.kind != GL_ANSWER_NONE)
            look_back_from(it, &it->entries[i]);
    return status;
}

/* ---------------------------------------------------------------------------------------------- records */

enum { FIELDS_MOST = 10 };

/* Enters a record, or revises it where it is there and says otherwise. */
static glassine_status put(gl_answering *it, const char *id, const glassine_assignment *fields, size_t count,
                           const char *why, glassine_error *error) {
    gl_span whole = gl_span_of(id);
    const glassine_type_info *info = gl_type_of_id(whole);
    glassine_record *record =
        glassine_bundle_record(it->bundle, whole, info->authored ? gl_span_of(it->draft->by) : GL_NO_SPAN);
    if (record) {
        it->draft->said_at = 0; /* a correction is the keeper's, and of now */
        glassine_status status = glassine_draft_revise(it->draft, record, fields, count, why, NULL, error);
        it->draft->said_at = it->at;
        return status;
    }
    glassine_assignment said[FIELDS_MOST];
    size_t said_count = 0;
    for (size_t i = 0; i < count; i++)
        if (fields[i].value && *fields[i].value)
            said[said_count++] = fields[i];
    return gl_draft_enter_why(it->draft, id, said, said_count, why, &record, error);
}

static const char *id_text(gl_answering *it, glassine_record *record) {
    return record ? gl_answering_keep(it, gl_record_id(it->bundle, record)) : "";
}

/* The first claim among what the answer takes the place of. */
static glassine_record *claim_among(const gl_answering *it, const gl_answer_entry *from) {
    for (size_t i = 0; i < from->earlier_count; i++)
        if (gl_span_is(glassine_record_type(it->bundle, from->earlier[i]), "claim"))
            return from->earlier[i];
    return NULL;
}

static glassine_status put_claim(gl_answering *it, const gl_answer_entry *from, const char *stamp,
                                 const char *why, glassine_error *error) {
    char id[GL_DERIVED_SIZE];
    const gl_answer *answer = &from->answer;
    glassine_record *instead_of = from->outdated ? NULL : claim_among(it, from);
    bool blind = gl_json_true(glassine_record_get(it->bundle, it->event, "blind", NULL));
    glassine_assignment fields[] = {
        {"stamp", stamp, NULL},
        {"plates", id_text(it, answer->plate), NULL},
        {"positions", gl_answering_keep(it, answer->positions), NULL},
        {"state", id_text(it, answer->state), NULL},
        {"confidence", answer->confidence ? answer->confidence : "probable", NULL},
        {"blind", blind ? "yes" : "", NULL},
        {"instead_of", id_text(it, instead_of), NULL},
        {"withdrawn", from->outdated ? "yes" : "", NULL},
        {"remark", gl_answering_keep(it, answer->remark), NULL}};
    if (!gl_answering_id(it, &it->own, "claim", gl_record_id(it->bundle, it->event), from->number, 0, id))
        return gl_fail_memory(error);
    return put(it, id, fields, sizeof fields / sizeof fields[0], why, error);
}

static glassine_status put_opinion(gl_answering *it, const gl_answer_entry *from, const char *stamp,
                                   const char *why, glassine_error *error) {
    char id[GL_DERIVED_SIZE];
    glassine_assignment fields[] = {{"stamp", stamp, NULL},
                                    {"about", gl_answer_verdict(from->answer.kind), NULL},
                                    {"text", gl_answering_keep(it, from->words), NULL},
                                    {"letter", it->letter, NULL},
                                    {"withdrawn", from->outdated ? "yes" : "", NULL}};
    if (!gl_answering_id(it, &it->own, "opinion", gl_record_id(it->bundle, it->event), from->number, 0, id))
        return gl_fail_memory(error);
    return put(it, id, fields, sizeof fields / sizeof fields[0], why, error);
}

static glassine_status put_seen(gl_answering *it, const gl_answer_entry *from, size_t index,
                                const char *stamp, const char *why, glassine_error *error) {
    char id[GL_DERIVED_SIZE];
    const gl_answer_seen *seen = &from->answer.seen[index];
    glassine_assignment fields[] = {{"stamp", stamp, NULL},
                                    {"appearance", seen->appearance, NULL},
                                    {"seen", seen->seen, NULL},
                                    {"text", gl_answering_keep(it, seen->words), NULL}};
    if (!gl_answering_id(it, &it->own, "observation", gl_record_id(it->bundle, it->event), from->number,
                         index, id))
        return gl_fail_memory(error);
    return put(it, id, fields, sizeof fields / sizeof fields[0], why, error);
}

/* What the answer takes the place of is taken back, save the claim that a new claim stands instead of. */
static glassine_status take_back_earlier(gl_answering *it, const gl_answer_entry *from, const char *why,
                                         glassine_error *error) {
    static const glassine_assignment withdrawn = {"withdrawn", "yes", NULL};
    glassine_record *replaced =
        from->answer.kind == GL_ANSWER_PLACE && !from->outdated ? claim_among(it, from) : NULL;
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < from->earlier_count && !status; i++)
        if (from->earlier[i] != replaced)
            status = glassine_draft_revise(it->draft, from->earlier[i], &withdrawn, 1, why, NULL, error);
    return status;
}

static glassine_status put_answer(gl_answering *it, const gl_answer_entry *from, glassine_error *error) {
    const char *stamp = id_text(it, it->stamps[from->number - 1]);
    gl_buf why = GL_BUF_EMPTY;
    gl_buf_printf(&why, "%u: %.*s", from->number, GL_SPAN_ARGS(from->words));
    glassine_status status = why.failed ? gl_fail_memory(error) : GLASSINE_OK;
    if (!status && !from->known)
        status = take_back_earlier(it, from, why.text, error);
    if (!status && !from->known && from->answer.kind == GL_ANSWER_PLACE)
        status = put_claim(it, from, stamp, why.text, error);
    else if (!status && !from->known && from->answer.kind != GL_ANSWER_NONE)
        status = put_opinion(it, from, stamp, why.text, error);
    for (size_t i = 0; i < from->answer.seen_count && !status; i++)
        status = put_seen(it, from, i, stamp, why.text, error);
    gl_buf_free(&why);
    return status;
}

/* The letter with its words, which is the keeper's own and private. */
static glassine_status put_letter(gl_answering *it, glassine_error *error) {
    char day[GL_TIME_SIZE];
    gl_buf items = GL_BUF_EMPTY;
    glassine_value list = glassine_record_get(it->bundle, it->event, "items", NULL), item;
    size_t at = 0;
    while (list.text && glassine_value_next(list, &at, NULL, &item))
        if (glassine_bundle_record(it->bundle, gl_json_raw(item), GL_NO_SPAN))
            gl_buf_printf(&items, "%s%.*s", items.length ? "," : "", GL_SPAN_ARGS(gl_json_raw(item)));
    gl_time_print(it->at, day);
    day[10] = '\0';
    glassine_assignment fields[] = {{"contributor", it->by, NULL},
                                    {"direction", "from", NULL},
                                    {"on", day, NULL},
                                    {"items", items.text, NULL},
                                    {"text", it->text.text, NULL}};
    glassine_status status =
        items.failed ? gl_fail_memory(error) : glassine_draft_speaker(it->draft, it->writer, NULL, error);
    if (!status && (it->sheet || !glassine_bundle_record(it->bundle, gl_span_of(it->letter), GL_NO_SPAN)))
        status = put(it, it->letter, fields, sizeof fields / sizeof fields[0], NULL, error);
    gl_buf_free(&items);
    return status;
}

static glassine_status put_returned(gl_answering *it, glassine_error *error) {
    char at[GL_TIME_SIZE];
    bool answered, added, own = strcmp(it->by, it->writer) == 0;
    gl_buf line = GL_BUF_EMPTY;
    glassine_status status = gl_sent_answered(it->bundle, it->event, &answered, error);
    if (status || answered)
        return status;
    gl_time_print(it->at, at);
    gl_returned_slip(it->bundle, it->event, gl_span_of(it->by), own ? GL_NO_SPAN : gl_span_of(it->writer),
                     gl_span_of(at), &line);
    status = line.failed ? gl_fail_memory(error)
                         : gl_draft_speak_line(it->draft, gl_buf_span(&line), &added, error);
    gl_buf_free(&line);
    return status ? status : gl_bundle_index(it->bundle, error);
}

glassine_status gl_answering_write(gl_answering *it, glassine_error *error) {
    it->draft->said_at = it->at;
    glassine_status status = put_letter(it, error);
    if (!status)
        status = glassine_draft_speaker(it->draft, it->by,
                                        strcmp(it->by, it->writer) == 0 ? NULL : it->writer, error);
    for (size_t i = 0; i < it->count && !status; i++)
        status = put_answer(it, &it->entries[i], error);
    if (!status && it->count)
        status = put_returned(it, error);
    it->draft->said_at = 0;
    return status;
}
