/* Taking numbered answers in: which sending they answer, and the records that they become. Every record has
 * an id that follows from the text and the answer's number, so that a text taken in twice is taken in once.
 */
#include "exchange/answers_take.h"

#include <stdio.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/edtf.h"
#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "exchange/answer_sheet.h"
#include "exchange/sent.h"
#include "exchange/subject.h"

enum { TEXT_MOST = 1 << 20, LOOK = 4096 };

/* -------------------------------------------------------------------------------------------- the text */

bool gl_answers_is_text(const char *path) {
    char head[LOOK];
    size_t length;
    if (gl_file_read_head(path, head, sizeof head, &length))
        return false;
    gl_span text = {head, length}, trimmed = gl_text_trim(text);
    if (!length || memchr(head, '\0', length) || gl_span_starts(text, GL_SPAN("PK")) ||
        gl_span_starts(trimmed, GL_SPAN("{")))
        return false;
    return gl_utf8_check(text) + 4 > length;
}

/* Line ends become \n, tabs spaces; the rest must be text. */
static glassine_status clean(gl_answering *it, gl_span raw, glassine_error *error) {
    gl_buf plain = GL_BUF_EMPTY;
    if (gl_span_starts(raw, GL_SPAN("\xef\xbb\xbf")))
        raw = gl_span_part(raw, 3, raw.length);
    glassine_status status = GLASSINE_OK;
    if (gl_utf8_check(raw) != raw.length)
        status = gl_fail(error, GLASSINE_REFUSED, "R027", it->path, "the text is not UTF-8 at byte %zu",
                         gl_utf8_check(raw));
    for (size_t i = 0; i < raw.length && !status; i++) {
        char c = raw.text[i];
        if (c == '\r') {
            if (i + 1 == raw.length || raw.text[i + 1] != '\n')
                gl_buf_add_char(&plain, '\n');
        } else if (c == '\t') {
            gl_buf_add_char(&plain, ' ');
        } else if ((unsigned char)c < 0x20 && c != '\n') {
            status = gl_fail(error, GLASSINE_REFUSED, "R027", it->path,
                             "the text has a control character at byte %zu", i);
        } else {
            gl_buf_add_char(&plain, c);
        }
    }
    if (!status)
        gl_text_add_nfc(&it->text, gl_text_trim(gl_buf_span(&plain)));
    if (!status && (plain.failed || it->text.failed))
        status = gl_fail_memory(error);
    gl_buf_free(&plain);
    if (!status && !it->text.length)
        status = gl_fail(error, GLASSINE_REFUSED, NULL, it->path, "the text is empty");
    return status;
}

/* What the ids of its records follow from: a text; of a sheet, which is filled in further and corrected, the
 * sending. */
static glassine_status name_by(gl_answering *it, gl_span what, glassine_error *error) {
    return gl_answering_digest(what, &it->own) ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status read_text(gl_answering *it, glassine_error *error) {
    gl_buf raw = GL_BUF_EMPTY;
    int code = gl_file_read_all(it->path, TEXT_MOST, &raw);
    glassine_status status =
        code ? gl_fail_system(error, code, it->path, "cannot be read as a text of answers")
             : clean(it, gl_buf_span(&raw), error);
    gl_buf_free(&raw);
    it->sheet = !status && gl_answer_sheet_is(gl_buf_span(&it->text));
    return status ? status : name_by(it, gl_buf_span(&it->text), error);
}

/* ------------------------------------------------------------------------------------- what it answers */

/* Was this text taken in before, as an answer to this event? */
static bool was_taken(const gl_answering *it, glassine_record *event) {
    char id[GL_DERIVED_SIZE];
    return gl_answering_id(it, &it->own, "letter", gl_record_id(it->bundle, event), 0, 0, id) &&
           glassine_bundle_record(it->bundle, gl_span_of(id), GL_NO_SPAN);
}

static glassine_status find_among_sent(gl_answering *it, glassine_error *error) {
    glassine_cursor *cursor;
    glassine_record *open = NULL;
    size_t found = 0;
    glassine_status status = glassine_cursor_new(it->bundle, "event", false, &cursor, error);
    for (glassine_record *event; !status && !it->event && (event = glassine_cursor_next(cursor));) {
        bool answered;
        if (!gl_event_is(it->bundle, event, "sent") ||
            !gl_span_is(glassine_record_text(it->bundle, event, "contributor"), it->by))
            continue;
        if (was_taken(it, event))
            it->event = event;
        status = gl_sent_answered(it->bundle, event, &answered, error);
        if (!status && !answered) {
            open = event;
            found++;
        }
    }
    glassine_cursor_free(cursor);
    if (!status && !it->event && found == 1)
        it->event = open;
    if (status || it->event)
        return status;
    gl_fail(error, GLASSINE_REFUSED, NULL, it->path,
            found ? "%zu sendings to that person are unanswered" : "no sending to that person is unanswered",
            found);
    gl_error_remedy(error,
                    "Say which sending it answers with --answers EVENT; `glassine pending` lists them");
    return GLASSINE_REFUSED;
}

/* A sheet names the sending. */
static glassine_status find_event_of_sheet(gl_answering *it, glassine_error *error) {
    gl_answer_list list = {0};
    gl_span named = gl_answer_sheet_event(gl_buf_span(&it->text), &list);
    glassine_record *event = named.text ? glassine_bundle_record(it->bundle, named, GL_NO_SPAN) : NULL;
    if (event && gl_event_is(it->bundle, event, "sent"))
        it->event = event;
    gl_answers_free(&list);
    return it->event ? GLASSINE_OK
                     : gl_fail(error, GLASSINE_REFUSED, "R032", it->path,
                               "the sheet answers no sending of this bundle");
}

static glassine_status find_event(gl_answering *it, glassine_error *error) {
    const glassine_merge_options *options = it->options;
    glassine_status status = GLASSINE_OK;
    if (options && options->answers_by)
        snprintf(it->by, sizeof it->by, "%s", options->answers_by);
    bool own = strcmp(it->draft->by, it->by) == 0; /* the draft speaks for the one who answers */
    snprintf(it->writer, sizeof it->writer, "%s",
             it->draft->via[0] ? it->draft->via
             : own             ? it->bundle->about.keeper
                               : it->draft->by);
    memcpy(it->draft->own, it->writer, sizeof it->draft->own); /* who is at work takes the answers in */
    if (options && options->event)
        status = glassine_bundle_find(it->bundle, "event", options->event, &it->event, error);
    else if (it->sheet)
        status = find_event_of_sheet(it, error);
    if (!status && !it->by[0] && it->event) {
        gl_span to = glassine_record_text(it->bundle, it->event, "contributor");
        snprintf(it->by, sizeof it->by, "%.*s", (int)to.length, to.length ? to.text : "");
    }
    if (!status && !it->by[0]) {
        status = gl_fail(error, GLASSINE_REFUSED, NULL, it->path, "it is not said whose answers these are");
        gl_error_remedy(error, "Say it with --by WHO");
    }
    return status || it->event ? status : find_among_sent(it, error);
}

static glassine_status list_questions(gl_answering *it, glassine_error *error) {
    glassine_value list = glassine_record_get(it->bundle, it->event, "stamps", NULL), item;
    size_t at = 0;
    while (list.text && it->questions < GL_QUESTIONS_MOST && glassine_value_next(list, &at, NULL, &item)) {
        glassine_record *stamp = glassine_bundle_record(it->bundle, gl_json_raw(item), GL_NO_SPAN);
        it->stamps[it->questions] = stamp;
        it->labels[it->questions++] = stamp ? glassine_record_label(it->bundle, stamp) : GL_SPAN("");
    }
    if (it->questions)
        return GLASSINE_OK;
    gl_fail(error, GLASSINE_REFUSED, NULL, it->path,
            "the sending that it answers does not say which stamps were asked about");
    gl_error_remedy(error, "Enter the answers with `glassine claim --by WHO`");
    return GLASSINE_REFUSED;
}

/* ------------------------------------------------------------------------------------------ what it means */

static glassine_status tell(gl_answering *it, glassine_met met, uint32_t number, gl_span words, gl_span text,
                            glassine_error *error) {
    gl_merging *all = it->merging;
    void *grown = gl_grow(all->answers, &all->answer_room, all->answer_count + 1, sizeof *all->answers);
    if (!grown)
        return gl_fail_memory(error);
    all->answers = grown;
    glassine_record *stamp = number ? it->stamps[number - 1] : NULL;
    all->answers[all->answer_count++] =
        (gl_answer_told){met, number, stamp ? gl_record_id(it->bundle, stamp) : GL_NO_SPAN,
                         gl_answering_keep(it, words), gl_answering_keep(it, text)};
    it->asked += met == GLASSINE_MET_QUESTION;
    return GLASSINE_OK;
}

static gl_answer_entry *entry_of(gl_answering *it, uint32_t number) {
    for (size_t i = 0; i < it->count; i++)
        if (it->entries[i].number == number)
            return &it->entries[i];
    return NULL;
}

static glassine_status take_words(gl_answering *it, const gl_answer_words *words, bool explained,
                                  glassine_error *error) {
    gl_answer_entry new = {.number = words->number,
                           .words = gl_span_of(gl_answering_keep(it, words->words)),
                           .explained = explained},
                    *known;
    if (!it->stamps[words->number - 1])
        return tell(it, GLASSINE_MET_QUESTION, words->number, new.words,
                    GL_SPAN("the stamp is not in this bundle"), error);
    glassine_status status =
        gl_answer_understand(it->bundle, it->stamps[words->number - 1], new.words, &new.answer, error);
    if (status)
        return status;
    if (new.answer.why.text)
        return tell(it, GLASSINE_MET_QUESTION, new.number, new.words, new.answer.why, error);
    if (words->remark.length) {
        gl_buf whole = GL_BUF_EMPTY;
        gl_buf_printf(&whole, "%.*s; %.*s", GL_SPAN_ARGS(new.words), GL_SPAN_ARGS(words->remark));
        new.words = gl_span_of(gl_answering_keep(it, gl_buf_span(&whole)));
        new.answer.remark = gl_span_of(gl_answering_keep(it, words->remark));
        gl_buf_free(&whole);
    }
    known = entry_of(it, new.number);
    if (known)
        return gl_answer_same(&known->answer, &new.answer)
                   ? GLASSINE_OK
                   : tell(it, GLASSINE_MET_QUESTION, new.number, new.words,
                          GL_SPAN("the question is answered before, and differently"), error);
    it->entries[it->count++] = new;
    return GLASSINE_OK;
}

static bool is_overridden(const gl_answer_list *instead, uint32_t number) {
    for (size_t i = 0; number && i < instead->count; i++)
        if (instead->list[i].number == number)
            return true;
    return false;
}

/* What the keeper says the answers mean must be understood itself. */
static glassine_status check_instead(const gl_answering *it, const gl_answer_list *instead,
                                     glassine_error *error) {
    for (size_t i = 0; i < instead->count; i++)
        if (!instead->list[i].number || instead->list[i].why)
            return gl_fail(error, GLASSINE_REFUSED, NULL, it->path,
                           "--understand: \"%.*s\" begins with no number of a question",
                           GL_SPAN_ARGS(instead->list[i].words));
    return GLASSINE_OK;
}

static glassine_status understand(gl_answering *it, const gl_answer_list *list, const gl_answer_list *instead,
                                  glassine_error *error) {
    it->entries = calloc(list->count + instead->count + 1, sizeof *it->entries);
    glassine_status status = it->entries ? check_instead(it, instead, error) : gl_fail_memory(error);
    for (size_t i = 0; i < list->count && !status; i++) {
        const gl_answer_words *words = &list->list[i];
        if (is_overridden(instead, words->number))
            continue;
        if (words->empty && words->number)
            it->emptied[words->number - 1] = true;
        else if (words->empty)
            continue;
        else if (words->why)
            status = tell(it, GLASSINE_MET_QUESTION, 0, words->words, gl_span_of(words->why), error);
        else if (words->number)
            status = take_words(it, words, false, error);
        else
            status = tell(it, GLASSINE_MET_LEFT, 0, words->words, GL_SPAN(""), error);
    }
    for (size_t i = 0; i < instead->count && !status; i++)
        status = take_words(it, &instead->list[i], true, error);
    return status;
}

static int by_number(const void *a, const void *b) {
    const gl_answer_entry *x = a, *y = b;
    return (x->number > y->number) - (x->number < y->number);
}

static glassine_status tell_entry(gl_answering *it, const gl_answer_entry *entry, glassine_error *error) {
    gl_buf shown = GL_BUF_EMPTY;
    gl_answer_shown(it->bundle, &entry->answer, &shown);
    if (entry->outdated)
        gl_buf_add_text(&shown, "; a later answer stands instead of it");
    else if (entry->earlier_count)
        gl_buf_add_text(&shown, "; instead of an earlier answer");
    glassine_status status =
        shown.failed ? gl_fail_memory(error)
                     : tell(it, GLASSINE_MET_ANSWER, entry->number, entry->words, gl_buf_span(&shown), error);
    gl_buf_free(&shown);
    return status;
}

/* An empty row takes nothing back: whoever fills in a fresh copy of the sheet leaves rows empty, too. */
static glassine_status tell_understood(gl_answering *it, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (uint32_t number = 1; number <= it->questions && !status; number++) {
        const gl_answer_entry *entry = entry_of(it, number);
        if (entry)
            status = tell_entry(it, entry, error);
        else if (it->emptied[number - 1] && gl_answering_stands(it, number))
            status = tell(it, GLASSINE_MET_ANSWER, number, GL_SPAN(""),
                          GL_SPAN("the row is empty; the answer that it gave before stands"), error);
    }
    return status;
}

/* When it was said: as the text says, as the keeper says, or else when it was asked. */
static glassine_status find_time(gl_answering *it, gl_span date, glassine_error *error) {
    gl_span latest = GL_SPAN("1970-01-01T00:00:00Z");
    const gl_store *store = it->bundle->store;
    const char *on = it->options ? it->options->on : NULL;
    for (uint32_t slip = gl_store_record(store, it->event->subject)->last; slip != GL_NONE;
         slip = gl_store_at(store, slip)->previous) {
        gl_slip_view view;
        gl_slip_look(gl_store_line(store, slip), &view);
        if (gl_span_compare(gl_json_raw(view.at), latest) > 0)
            latest = gl_json_raw(view.at);
    }
    gl_buf day = GL_BUF_EMPTY;
    if (on && gl_edtf_from_typed(gl_span_of(on), &day, NULL) == GLASSINE_OK)
        gl_buf_add_text(&day, "T00:00:00Z");
    bool done = gl_time_parse(on ? gl_buf_span(&day) : date.text ? date : latest, &it->at);
    gl_buf_free(&day);
    return done ? GLASSINE_OK
                : gl_fail(error, GLASSINE_REFUSED, "R022", it->path, "\"%s\" is no day, like 14 Mar 2026",
                          on ? on : "");
}

/* ---------------------------------------------------------------------------------------------- the whole */

static glassine_status take_in(gl_answering *it, const gl_answer_list *list, const gl_answer_list *instead,
                               glassine_error *error) {
    char by[GL_PERSON_SIZE], via[GL_PERSON_SIZE];
    bool partial = it->options && it->options->accept_partial;
    glassine_status status = understand(it, list, instead, error);
    if (!status && it->count)
        qsort(it->entries, it->count, sizeof *it->entries, by_number);
    if (!status)
        status = find_time(it, list->date, error);
    if (!status)
        status = gl_answering_look_back(it, error);
    if (!status)
        status = tell_understood(it, error);
    if (!status &&
        !gl_answering_id(it, &it->own, "letter", gl_record_id(it->bundle, it->event), 0, 0, it->letter))
        status = gl_fail_memory(error);
    it->merging->held = it->merging->held || (it->asked && !partial);
    if (status || (it->asked && !partial))
        return status;
    snprintf(by, sizeof by, "%s", it->draft->by);
    snprintf(via, sizeof via, "%s", it->draft->via);
    status = gl_answering_write(it, error);
    snprintf(it->draft->by, sizeof it->draft->by, "%s", by);
    snprintf(it->draft->via, sizeof it->draft->via, "%s", via);
    return status;
}

static glassine_status take_text(gl_answering *it, glassine_error *error) {
    glassine_status status = read_text(it, error);
    if (!status)
        status = find_event(it, error);
    if (!status && it->sheet)
        status = name_by(it, gl_record_id(it->bundle, it->event), error);
    if (!status)
        status = list_questions(it, error);
    if (status)
        return status;
    gl_answer_list list = {0}, instead = {0};
    const char *understand_as = it->options && it->options->understand ? it->options->understand : "";
    bool (*read)(gl_span, const gl_span *, size_t, gl_answer_list *) =
        it->sheet ? gl_answer_sheet_read : gl_answers_read;
    if (!read(gl_buf_span(&it->text), it->labels, it->questions, &list) ||
        !gl_answers_read(gl_span_of(understand_as), it->labels, it->questions, &instead))
        status = gl_fail_memory(error);
    if (!status)
        status = take_in(it, &list, &instead, error);
    gl_answers_free(&list);
    gl_answers_free(&instead);
    return status;
}

glassine_status gl_answers_take(gl_merging *merging, glassine_merge_source *source, glassine_error *error) {
    gl_answering *it = calloc(1, sizeof *it);
    if (!it)
        return gl_fail_memory(error);
    it->merging = merging;
    it->draft = merging->draft;
    it->bundle = merging->bundle;
    it->options = merging->options;
    it->path = source->path;
    uint32_t before = gl_store_count(it->bundle->store);
    source->kind = "answers";
    glassine_status status = take_text(it, error);
    source->slips = gl_store_count(it->bundle->store) - before;
    source->answers = it->event ? gl_answering_keep(it, gl_record_id(it->bundle, it->event)) : NULL;
    gl_buf_free(&it->text);
    free(it->entries);
    free(it->texts);
    free(it);
    return status;
}
