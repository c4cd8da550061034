/* From a pasted e-mail to numbered answers: quoted lines, signatures and greetings are told apart from
 * answers, an answer may run over several lines, and several may stand in one. What belongs to no question is
 * kept aside. */
#include <stdio.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/text.h"
#include "exchange/answers.h"

enum { NUMBERS_MOST = 64 };

typedef struct numbers {
    uint32_t list[NUMBERS_MOST];
    size_t count;
    bool firm; /* a colon or the like stands behind them */
} numbers;

typedef struct reading {
    gl_answer_list *out;
    const gl_span *labels;
    size_t questions;
    numbers open;     /* the answer that goes on */
    gl_buf words;     /* of it */
    uint32_t quoted;  /* the question that was quoted last, whose answer may follow; 0: none */
    bool begun;       /* an answer was met */
    bool closed;      /* behind a farewell or before a signature */
    size_t closed_at; /* how many lines there were before that */
    bool failed;
} reading;

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static gl_span from(gl_span text, size_t start) {
    return gl_span_part(text, start < text.length ? start : text.length, text.length);
}

static gl_span without_space(gl_span text) {
    while (text.length && (text.text[0] == ' ' || text.text[0] == '\t'))
        text = from(text, 1);
    return text;
}

/* Does the text begin with the word, whatever its letters' case? */
static bool begins(gl_span text, const char *word) {
    size_t length = strlen(word);
    if (text.length < length)
        return false;
    for (size_t i = 0; i < length; i++)
        if (lower(text.text[i]) != word[i])
            return false;
    return true;
}

static bool has_digit(gl_span text) {
    for (size_t i = 0; i < text.length; i++)
        if (is_digit(text.text[i]))
            return true;
    return false;
}

/* ------------------------------------------------------------------------------------------------- heads */

static bool take_number(gl_span *text, uint32_t *number) {
    size_t digits = 0;
    *number = 0;
    while (digits < text->length && digits < 6 && is_digit(text->text[digits]))
        *number = *number * 10 + (uint32_t)(text->text[digits++] - '0');
    if (!digits || (digits < text->length && is_digit(text->text[digits])))
        return false;
    *text = from(*text, digits);
    return true;
}

/* What may stand before a number: "No. 3", "(3)", "Question 3", "- 3:", "Re 3". True where the word says that
 * a question's number follows. */
static bool take_opening(gl_span *text) {
    static const char *const words[] = {"question", "answer", "number", "stamp", "no.",  "nr.",
                                        "no ",      "nr ",    "ad ",    "re ",   "re: ", "to ",
                                        "as to ",   "#",      "q",      NULL};
    bool found = false;
    while (text->length && (text->text[0] == '*' || text->text[0] == '(' ||
                            (text->text[0] == '-' && text->length > 1 && text->text[1] == ' ')))
        *text = without_space(from(*text, 1));
    for (size_t i = 0; words[i] && !found; i++) {
        gl_span rest = begins(*text, words[i]) ? without_space(from(*text, strlen(words[i]))) : GL_NO_SPAN;
        if (rest.length && is_digit(rest.text[0])) {
            *text = rest;
            found = true;
        }
    }
    return found;
}

/* ", 4", " and 4", " & 4", "-4": another number of the same answer. */
static bool take_joint(gl_span *text, bool *range) {
    static const char *const joints[] = {",", "and ", "&", "+", "-", "\xe2\x80\x93", NULL};
    gl_span rest = without_space(*text);
    for (size_t i = 0; joints[i]; i++) {
        if (!begins(rest, joints[i]))
            continue;
        gl_span next = without_space(from(rest, strlen(joints[i])));
        if (begins(next, "and "))
            next = without_space(from(next, 4));
        if (!next.length || !is_digit(next.text[0]))
            return false;
        *range = i >= 4;
        *text = next;
        return true;
    }
    return false;
}

static bool add_number(numbers *list, uint32_t number, bool range) {
    uint32_t first = range && list->count ? list->list[list->count - 1] + 1 : number;
    for (uint32_t n = first; n <= number; n++) {
        if (list->count == NUMBERS_MOST)
            return false;
        list->list[list->count++] = n;
    }
    return first <= number;
}

/* ':' and its like behind the numbers; a full stop or white space is less firm. */
static bool take_end(gl_span *text, bool *firm) {
    gl_span rest = without_space(*text);
    *firm = false;
    if (rest.length && (rest.text[0] == ':' || rest.text[0] == ')' || rest.text[0] == '=')) {
        *firm = true;
        rest = from(rest, 1);
        if (rest.length && rest.text[0] == ':')
            rest = from(rest, 1);
    } else if (rest.length > 1 && rest.text[0] == '.' && rest.text[1] == ' ') {
        *firm = true;
        rest = from(rest, 1);
    } else if ((begins(rest, "- ") || begins(rest, "\xe2\x80\x93 ")) && rest.text != text->text) {
        *firm = true;
        rest = from(rest, rest.text[0] == '-' ? 1 : 3);
    } else if (rest.text == text->text && rest.length) {
        return false; /* "4a", "4/5", "4.5" */
    }
    *text = without_space(rest);
    return true;
}

/* The numbers at the beginning of a line and where its answer begins. */
static bool take_numbers(gl_span line, numbers *out, gl_span *rest) {
    gl_span text = without_space(line), single;
    uint32_t number;
    bool range = false;
    *out = (numbers){.count = 0};
    bool opened = take_opening(&text);
    if (!take_number(&text, &number) || !add_number(out, number, false))
        return false;
    single = text;
    bool whole = true;
    while (whole && take_joint(&text, &range))
        whole = take_number(&text, &number) && add_number(out, number, range);
    if (whole && take_end(&text, &out->firm) &&
        (out->count == 1 || (text.length && (out->firm || !is_digit(text.text[0]))))) {
        out->firm = out->firm || opened;
        *rest = text;
        return true;
    }
    out->count = 1; /* "1: 64, 65" is no list of questions */
    *rest = single;
    bool ended = take_end(rest, &out->firm);
    out->firm = out->firm || opened;
    return ended;
}

/* A line may begin with what a stamp is called instead of its number. */
static bool take_label(const reading *it, gl_span line, numbers *out, gl_span *rest) {
    line = without_space(line);
    for (size_t i = 0; i < it->questions; i++) {
        gl_span label = it->labels[i], text = from(line, label.length);
        if (!label.length || !gl_span_starts(line, label))
            continue;
        gl_span end = without_space(text);
        if (!end.length || (end.text[0] != ':' && end.text[0] != '=' && !begins(end, "- ")))
            continue;
        *out = (numbers){.list = {(uint32_t)i + 1}, .count = 1, .firm = true};
        *rest = without_space(from(end, 1));
        return true;
    }
    return false;
}

/* --------------------------------------------------------------------------------------------- gathering */

static void add(reading *it, uint32_t number, gl_span words, const char *why) {
    gl_answer_list *out = it->out;
    void *grown = gl_grow(out->list, &out->room, out->count + 1, sizeof *out->list);
    gl_span kept = grown ? gl_arena_copy(out->arena, gl_text_trim(words)) : GL_NO_SPAN;
    out->list = grown ? grown : out->list;
    it->failed = it->failed || !kept.text;
    if (kept.text)
        out->list[out->count++] = (gl_answer_words){.number = number, .words = kept, .why = why};
}

/* Where in the words another numbered answer begins: "64, 2: 65", "64; 3) cannot tell", "64 and 4: 7". */
static size_t next_head(const reading *it, gl_span words, uint32_t *number) {
    for (size_t i = 1; i < words.length; i++) {
        gl_span rest = from(words, i);
        if (!is_digit(words.text[i]) || words.text[i - 1] != ' ' || !take_number(&rest, number))
            continue;
        rest = without_space(rest);
        if (!rest.length || rest.text[0] != ':' || *number < 1 || *number > it->questions)
            continue;
        gl_span before = gl_text_trim(gl_span_part(words, 0, i));
        char last = before.length ? before.text[before.length - 1] : ' ';
        bool joined = before.length > 4 && begins(from(before, before.length - 4), " and");
        if (last == ',' || last == ';' || last == '.' || joined)
            return i;
    }
    return 0;
}

/* The words without the comma or the "and" that led to the next answer. */
static gl_span before_head(gl_span words) {
    words = gl_text_trim(words);
    if (words.length > 4 && begins(from(words, words.length - 4), " and"))
        words = gl_text_trim(gl_span_part(words, 0, words.length - 4));
    while (words.length && strchr(",;", words.text[words.length - 1]))
        words.length--;
    return words;
}

static void add_answer(reading *it, const numbers *to, gl_span words) {
    for (size_t i = 0; i < to->count; i++) {
        uint32_t number = to->list[i];
        bool known = number >= 1 && number <= it->questions;
        add(it, known ? number : 0, words, known ? NULL : "the letter has no question of that number");
    }
}

static void close_answer(reading *it) {
    if (!it->open.count)
        return;
    gl_span words = gl_buf_span(&it->words);
    uint32_t number;
    size_t at;
    numbers to = it->open;
    while ((at = next_head(it, words, &number)) != 0) {
        add_answer(it, &to, before_head(gl_span_part(words, 0, at)));
        to = (numbers){.list = {number}, .count = 1};
        gl_span rest = from(words, at);
        take_number(&rest, &number);
        words = from(without_space(rest), 1);
    }
    add_answer(it, &to, words);
    it->failed = it->failed || it->words.failed;
    it->open.count = 0;
    gl_buf_clear(&it->words);
}

static void open_answer(reading *it, const numbers *to, gl_span words) {
    close_answer(it);
    it->begun = true;
    it->open = *to;
    it->quoted = 0;
    gl_buf_add(&it->words, words);
}

/* ------------------------------------------------------------------------------------------------- lines */

static bool is_farewell(gl_span line) {
    static const char *const words[] = {"best ",     "kind ",       "regards", "yours",     "with best",
                                        "with kind", "sincerely",   "cheers",  "greetings", "all the best",
                                        "thank",     "many thanks", NULL};
    for (size_t i = 0; words[i]; i++)
        if (begins(line, words[i]) && !has_digit(line) && line.length < 48)
            return true;
    return false;
}

static bool is_signature(gl_span line) {
    return gl_span_is(line, "--") || gl_span_is(line, "-- ") || begins(line, "___");
}

/* "> 3. H-014 - Kingfisher": what follows unquoted may answer it. */
static void take_quote(reading *it, gl_span line) {
    while (line.length && (line.text[0] == '>' || line.text[0] == ' ' || line.text[0] == '\t'))
        line = from(line, 1);
    numbers to;
    gl_span rest;
    close_answer(it);
    if (take_numbers(line, &to, &rest) && to.count == 1 && to.list[0] >= 1 && to.list[0] <= it->questions &&
        gl_span_starts(rest, it->labels[to.list[0] - 1]))
        it->quoted = to.list[0];
}

static bool take_date(reading *it, gl_span line);

static bool is_head(const reading *it, gl_span line, numbers *to, gl_span *rest) {
    if (take_label(it, line, to, rest))
        return true;
    if (!take_numbers(line, to, rest) || !rest->length)
        return false;
    /* "3 64" may be two numbers of anything. */
    return to->firm || (to->list[0] <= it->questions && !is_digit(rest->text[0]));
}

static void take_line(reading *it, gl_span line) {
    gl_span trimmed = gl_text_trim(line), rest;
    numbers to;
    if (trimmed.length && trimmed.text[0] == '>') {
        take_quote(it, trimmed);
    } else if (!trimmed.length) {
        close_answer(it);
    } else if (it->closed) {
        /* A postscript may answer, too, where it says so clearly. */
        if (is_head(it, trimmed, &to, &rest) && to.firm && to.list[0] <= it->questions)
            open_answer(it, &to, rest);
        else
            add(it, 0, trimmed, NULL);
    } else if (is_signature(trimmed) || (it->begun && is_farewell(trimmed))) {
        close_answer(it);
        it->closed = true;
        it->closed_at = it->out->count;
        add(it, 0, trimmed, NULL);
    } else if (take_date(it, trimmed)) {
        close_answer(it);
    } else if (is_head(it, trimmed, &to, &rest)) {
        open_answer(it, &to, rest);
    } else if (it->open.count) {
        gl_buf_add_char(&it->words, ' ');
        gl_buf_add(&it->words, trimmed);
    } else if (it->quoted) {
        to = (numbers){.list = {it->quoted}, .count = 1};
        open_answer(it, &to, trimmed);
    } else {
        add(it, 0, trimmed, NULL);
    }
}

/* "Date: Sat, 14 Mar 2026 10:00:00 +0100" (RFC 5322, 3.3), by which the answers were given. */
static bool take_date(reading *it, gl_span line) {
    static const char months[] = "janfebmaraprmayjunjulaugsepoctnovdec";
    char text[96], month[4] = "";
    int day, year, hour, minute, second = 0, zone = 0;
    if (!begins(line, "date:") || line.length >= sizeof text)
        return false;
    memcpy(text, line.text + 5, line.length - 5);
    text[line.length - 5] = '\0';
    const char *at = strchr(text, ',') ? strchr(text, ',') + 1 : text;
    if (sscanf(at, " %2d %3s %4d %2d:%2d:%2d %5d", &day, month, &year, &hour, &minute, &second, &zone) < 5)
        return true;
    for (size_t i = 0; i < 3; i++)
        month[i] = lower(month[i]);
    const char *found = strstr(months, month);
    char stamp[48];
    int64_t seconds;
    snprintf(stamp, sizeof stamp, "%04d-%02d-%02dT%02d:%02d:%02dZ", year,
             found ? (int)(found - months) / 3 + 1 : 0, day, hour, minute, second);
    if (!found || !gl_time_parse(gl_span_of(stamp), &seconds))
        return true;
    gl_time_print(seconds - (zone / 100) * 3600 - (zone % 100) * 60, stamp);
    it->out->date = gl_arena_copy(it->out->arena, gl_span_of(stamp));
    return true;
}

/* Numbers in a line that answers nothing may be an answer that was not recognised, as long as a question is
 * open. */
static void ask_about_left(reading *it) {
    bool *answered = GL_ARENA_ARRAY(it->out->arena, bool, it->questions + 1);
    size_t open = it->questions;
    it->failed = it->failed || !answered;
    if (it->failed)
        return;
    memset(answered, 0, (it->questions + 1) * sizeof *answered);
    for (size_t i = 0; i < it->out->count; i++) {
        uint32_t number = it->out->list[i].number;
        open -= number && !answered[number];
        answered[number] = true;
    }
    size_t end = it->closed ? it->closed_at : it->out->count;
    for (size_t i = 0; i < end && open; i++) {
        gl_answer_words *line = &it->out->list[i];
        if (!line->number && !line->why && has_digit(line->words))
            line->why = "it has numbers, and begins with none of a question; say which it answers";
    }
}

bool gl_answers_read(gl_span text, const gl_span *labels, size_t count, gl_answer_list *out) {
    *out = (gl_answer_list){.arena = gl_arena_new()};
    reading it = {.out = out, .labels = labels, .questions = count};
    if (!out->arena)
        return false;
    while (text.length) {
        const char *feed = memchr(text.text, '\n', text.length);
        size_t length = feed ? (size_t)(feed - text.text) : text.length;
        take_line(&it, gl_span_part(text, 0, length));
        text = from(text, length + 1);
    }
    close_answer(&it);
    ask_about_left(&it);
    gl_buf_free(&it.words);
    return !it.failed;
}

void gl_answers_free(gl_answer_list *list) {
    gl_arena_free(list->arena);
    free(list->list);
    *list = (gl_answer_list){0};
}
