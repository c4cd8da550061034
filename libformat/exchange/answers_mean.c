/* What the words of one answer mean. Every word must be accounted for: what is neither a place, a state, a
 * plate, a verdict, how sure somebody is, nor a plain comment, is a question to whoever takes the answer in.
 */
#include <stdlib.h>
#include <utf8proc.h>

#include "base/error.h"
#include "base/text.h"
#include "bundle/joins.h"
#include "exchange/answers.h"
#include "plating/from_bundle.h"

enum { TOKENS_MOST = 400, PLATES_MOST = 64 };

typedef struct token {
    gl_span text;  /* as given */
    gl_span small; /* in small letters */
    bool ends;     /* a comma, full stop or bracket stands behind it */
} token;

typedef struct plate {
    glassine_record *record;
    gl_plan *plan;
} plate;

typedef struct meaning {
    glassine_bundle *bundle;
    gl_answer *out;
    token tokens[TOKENS_MOST];
    size_t count, at;
    plate plates[PLATES_MOST]; /* of the stamp's design */
    size_t plate_count;
    gl_buf places, without, remark;
    bool corner_letters, places_over; /* no more places are taken: what was said behind them is about them */
} meaning;

static glassine_status ask(meaning *it, const char *why) {
    if (!it->out->why.text)
        it->out->why = gl_arena_copy(it->bundle->arena, gl_span_of(why));
    return GLASSINE_OK;
}

/* ------------------------------------------------------------------------------------------------ tokens */

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static bool is_space(char c) {
    return c == ' ' || c == '\t' || c == '\n';
}

static bool is_number(gl_span text) {
    return text.length && is_digit(text.text[0]);
}

/* Memory ran out for what is looked at: then nothing may be concluded from it. */
static void note_failure(const meaning *it, const gl_buf *text) {
    it->bundle->failed = it->bundle->failed || text->failed;
}

/* "text" as given and in small letters, its typographic apostrophe made plain. */
static bool add_token(meaning *it, gl_span text, bool ends) {
    gl_buf small = GL_BUF_EMPTY;
    for (size_t i = 0; i < text.length; i++) {
        char c = text.text[i];
        if (gl_span_starts(gl_span_part(text, i, text.length), GL_SPAN("\xe2\x80\x99"))) {
            gl_buf_add_char(&small, '\'');
            i += 2;
        } else {
            gl_buf_add_char(&small, c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c);
        }
    }
    gl_span kept = small.failed ? GL_NO_SPAN : gl_arena_copy(it->bundle->arena, gl_buf_span(&small));
    note_failure(it, &small);
    gl_buf_free(&small);
    if (!kept.text || it->count == TOKENS_MOST)
        return false;
    it->tokens[it->count++] = (token){text, kept, ends};
    return true;
}

static bool is_stop(gl_span rest) {
    static const char *const stops[] = {",", ";", "(", ")", "!", NULL};
    for (size_t i = 0; stops[i]; i++)
        if (rest.text[0] == stops[i][0])
            return true;
    return rest.text[0] == '.' && (rest.length == 1 || is_space(rest.text[1]));
}

static bool is_dash(gl_span text) {
    return gl_span_is(text, "-") || gl_span_is(text, "\xe2\x80\x93") || gl_span_is(text, "\xe2\x80\x94");
}

static bool take_tokens(meaning *it, gl_span words) {
    size_t i = 0;
    while (i < words.length) {
        size_t start = i;
        while (i < words.length && !is_space(words.text[i]) && !is_stop(gl_span_part(words, i, words.length)))
            i++;
        gl_span text = gl_span_part(words, start, i - start);
        bool ends = i < words.length && !is_space(words.text[i]);
        if (is_dash(text) && it->count)
            it->tokens[it->count - 1].ends = true;
        else if (text.length && !add_token(it, text, ends))
            return false;
        else if (!text.length && ends && it->count)
            it->tokens[it->count - 1].ends = true;
        i += i < words.length;
    }
    return true;
}

/* ----------------------------------------------------------------------------------------------- phrases */

typedef struct phrase {
    const char *words;
    const char *says;
} phrase;

/* Longer ones before those that they begin with. */
static const phrase sureness[] = {{"not sure", "possible"},
                                  {"not certain", "possible"},
                                  {"not quite sure", "possible"},
                                  {"unsure", "possible"},
                                  {"uncertain", "possible"},
                                  {"just a guess", "possible"},
                                  {"only a guess", "possible"},
                                  {"a guess", "possible"},
                                  {"possible", "possible"},
                                  {"possibly", "possible"},
                                  {"perhaps", "possible"},
                                  {"maybe", "possible"},
                                  {"might be", "possible"},
                                  {"may be", "possible"},
                                  {"could be", "possible"},
                                  {"fairly sure", "probable"},
                                  {"fairly certain", "probable"},
                                  {"quite sure", "probable"},
                                  {"pretty sure", "probable"},
                                  {"reasonably sure", "probable"},
                                  {"most likely", "probable"},
                                  {"most probably", "probable"},
                                  {"very likely", "probable"},
                                  {"likely", "probable"},
                                  {"probable", "probable"},
                                  {"probably", "probable"},
                                  {"no doubt", "certain"},
                                  {"without doubt", "certain"},
                                  {"for sure", "certain"},
                                  {"for certain", "certain"},
                                  {"absolutely certain", "certain"},
                                  {"quite certain", "certain"},
                                  {"very sure", "certain"},
                                  {"certainly", "certain"},
                                  {"certain", "certain"},
                                  {"definitely", "certain"},
                                  {"definite", "certain"},
                                  {"sure", "certain"},
                                  {NULL, NULL}};
static const phrase undecided[] = {{"cannot tell for certain", ""},
                                   {"cannot tell for sure", ""},
                                   {"cannot tell", ""},
                                   {"can not tell", ""},
                                   {"can't tell", ""},
                                   {"cannot say", ""},
                                   {"can't say", ""},
                                   {"cannot place", ""},
                                   {"can't place", ""},
                                   {"no idea", ""},
                                   {"don't know", ""},
                                   {"do not know", ""},
                                   {"unable to tell", ""},
                                   {"unable to say", ""},
                                   {"impossible to tell", ""},
                                   {"impossible to say", ""},
                                   {"undecided", ""},
                                   {"?", ""},
                                   {NULL, NULL}};
static const phrase forged[] = {{"not genuine", ""}, {"a forgery", ""}, {"forgery", ""}, {"forged", ""},
                                {"a fake", ""},      {"fake", ""},      {NULL, NULL}};
static const phrase elsewhere[] = {
    {"another plate", ""},  {"a different plate", ""},   {"different plate", ""},   {"some other plate", ""},
    {"not this plate", ""}, {"not from this plate", ""}, {"not of this plate", ""}, {NULL, NULL}};
/* Said before what matters, and meaning nothing by themselves. */
static const char *const fillers[] = {
    "i",         "think", "believe", "would", "say",    "it",    "it's",     "its",   "is",
    "this",      "that",  "from",    "at",    "the",    "on",    "position", "pos",   "pos.",
    "positions", "place", "i'd",     "i'm",   "am",     "comes", "one",      "looks", "like",
    "my",        "in",    "of",      "be",    "state:", "seems", "to",       "stamp", NULL};
/* What must not stand in a comment: it may turn what was said round. */
static const char *const turning[] = {"not",      "or",      "but",     "except", "unless", "if", "either",
                                      "neither",  "nor",     "than",    "isn't",  "never",  "no", "though",
                                      "although", "however", "instead", "rather", NULL};

/* Do the tokens from `at` on say this phrase, with no comma inside? How many they are; 0: they do not. */
static size_t says_words(const meaning *it, size_t at, const char *words) {
    size_t count = 0;
    gl_span rest = gl_span_of(words);
    while (rest.length) {
        const char *space = memchr(rest.text, ' ', rest.length);
        size_t length = space ? (size_t)(space - rest.text) : rest.length;
        if (at + count >= it->count ||
            !gl_span_equal(it->tokens[at + count].small, gl_span_part(rest, 0, length)))
            return 0;
        count++;
        rest = gl_span_part(rest, length + (space != NULL), rest.length);
        if (rest.length && it->tokens[at + count - 1].ends)
            return 0;
    }
    return count;
}

static const phrase *take_phrase(meaning *it, const phrase *list) {
    for (; list->words; list++) {
        size_t count = says_words(it, it->at, list->words);
        if (count) {
            it->at += count;
            return list;
        }
    }
    return NULL;
}

static bool is_one_of(gl_span small, const char *const *list) {
    for (size_t i = 0; list[i]; i++)
        if (gl_span_is(small, list[i]))
            return true;
    return false;
}

static bool take_verdict(meaning *it, const phrase *list, gl_answer_kind kind) {
    if (!take_phrase(it, list))
        return false;
    if (it->out->kind != GL_ANSWER_NONE && it->out->kind != kind)
        ask(it, "it gives two answers");
    it->out->kind = kind;
    if (it->at < it->count && gl_span_is(it->tokens[it->at].small, "it"))
        it->at++; /* "cannot place it" */
    return true;
}

static bool take_sureness(meaning *it) {
    const phrase *found = take_phrase(it, sureness);
    if (!found)
        return false;
    if (it->out->confidence && strcmp(it->out->confidence, found->says) != 0)
        ask(it, "it says in two ways how sure it is");
    it->out->confidence = found->says;
    it->places_over = it->places.length > 0;
    return true;
}

/* ---------------------------------------------------------------------------------------- plate and state */

static bool folded_equal(const meaning *it, gl_span a, gl_span b) {
    gl_buf x = GL_BUF_EMPTY, y = GL_BUF_EMPTY;
    gl_text_add_folded(&x, a);
    gl_text_add_folded(&y, b);
    bool same = !x.failed && !y.failed && gl_span_equal(gl_buf_span(&x), gl_buf_span(&y));
    note_failure(it, &x);
    note_failure(it, &y);
    gl_buf_free(&x);
    gl_buf_free(&y);
    return same;
}

static bool take_plate(meaning *it) {
    static const char *const words[] = {"plate", "pl", "pl.", NULL};
    if (it->at + 1 >= it->count || !is_one_of(it->tokens[it->at].small, words))
        return false;
    for (size_t i = 0; i < it->plate_count; i++) {
        glassine_record *record = it->plates[i].record;
        if (!folded_equal(it, it->tokens[it->at + 1].text, glassine_record_label(it->bundle, record)))
            continue;
        if (it->out->plate && it->out->plate != record)
            ask(it, "it names two plates");
        it->out->plate = record;
        it->at += 2;
        return true;
    }
    ask(it, "it names a plate that the stamp's design does not have here");
    it->at += 2;
    return true;
}

/* The name's words stand at the tokens; how many they are. */
static size_t says_name(const meaning *it, gl_span name) {
    gl_buf small = GL_BUF_EMPTY;
    for (size_t i = 0; i < name.length; i++)
        gl_buf_add_char(&small, name.text[i] >= 'A' && name.text[i] <= 'Z' ? (char)(name.text[i] + 32)
                                                                           : name.text[i]);
    size_t count = small.failed || !small.length ? 0 : says_words(it, it->at, small.text);
    note_failure(it, &small);
    gl_buf_free(&small);
    return count;
}

static bool set_state(meaning *it, glassine_record *state, size_t count) {
    if (it->out->state && it->out->state != state)
        ask(it, "it names two states");
    it->out->state = state;
    it->at += count;
    if (it->at < it->count && gl_span_is(it->tokens[it->at].small, "state") && !it->tokens[it->at - 1].ends)
        it->at++;
    it->places_over = it->places.length > 0;
    return true;
}

static bool take_state(meaning *it) {
    size_t before = it->at;
    if (gl_span_is(it->tokens[it->at].small, "state") && it->at + 1 < it->count)
        it->at++;
    for (size_t i = 0; i < it->plate_count; i++) {
        glassine_record *const *states;
        size_t count;
        if ((it->out->plate && it->plates[i].record != it->out->plate) ||
            glassine_record_referrers(it->bundle, it->plates[i].record, "plate_state", false, &states, &count,
                                      NULL))
            continue;
        for (size_t k = 0; k < count; k++) {
            size_t words = says_name(it, glassine_record_text(it->bundle, states[k], "name"));
            if (words)
                return set_state(it, states[k], words);
        }
    }
    it->at = before;
    return false;
}

/* ------------------------------------------------------------------------------------------------ places */

/* The word of the grammar of positions that a token stands for; NULL: none. */
static const char *place_word(gl_span small) {
    static const struct {
        const char *typed, *means;
    } words[] = {{"row", "row"},      {"rows", "row"},    {"column", "column"}, {"columns", "column"},
                 {"col", "column"},   {"col.", "column"}, {"cols", "column"},   {"any", "any"},
                 {"anywhere", "any"}, {"and", "and"},     {"or", ","},          {"to", "-"},
                 {"pane", "pane"},    {"either", ""},     {"pos", ""},          {"position", ""},
                 {"positions", ""},   {"pos.", ""},       {NULL, NULL}};
    for (size_t i = 0; words[i].typed; i++)
        if (gl_span_is(small, words[i].typed))
            return words[i].means;
    return NULL;
}

/* "R6/3", and where the plate has them, corner letters. */
static bool is_place_name(const meaning *it, const token *one) {
    gl_span text = one->text;
    if (text.length >= 4 && (text.text[0] == 'R' || text.text[0] == 'r') && is_digit(text.text[1]) &&
        memchr(text.text, '/', text.length))
        return true;
    return it->corner_letters && text.length == 2 && text.text[0] >= 'A' && text.text[0] <= 'Z' &&
           text.text[1] >= 'A' && text.text[1] <= 'Z';
}

static bool begins_place(const meaning *it, size_t at) {
    static const char *const openings[] = {"row",  "rows", "column",   "columns", "col",    "col.",
                                           "cols", "any",  "anywhere", "pane",    "either", NULL};
    return at < it->count && (is_number(it->tokens[at].text) || is_place_name(it, &it->tokens[at]) ||
                              is_one_of(it->tokens[at].small, openings));
}

/* Puts a token behind a group of places, spelled as the grammar wants it. */
static void add_place_token(gl_buf *group, const token *one, const char *word) {
    bool closes_range = group->length && group->text[group->length - 1] == '-';
    bool second_axis = word && (strcmp(word, "row") == 0 || strcmp(word, "column") == 0) && group->length &&
                       is_digit(group->text[group->length - 1]);
    if (word && !*word)
        return;
    if (word && strcmp(word, "-") == 0) {
        gl_buf_add_char(group, '-');
        return;
    }
    if (second_axis)
        gl_buf_add_text(group, " and");
    if (group->length && !closes_range && !(word && strcmp(word, ",") == 0))
        gl_buf_add_char(group, ' ');
    if (word)
        gl_buf_add_text(group, word);
    for (size_t i = 0; !word && i < one->text.length; i++) {
        if (gl_span_starts(gl_span_part(one->text, i, one->text.length), GL_SPAN("\xe2\x80\x93"))) {
            gl_buf_add_char(group, '-'); /* an en dash between numbers */
            i += 2;
        } else {
            gl_buf_add_char(group, one->text.text[i]);
        }
    }
}

/* "or", "and" and "to" go on with a place only where one follows. */
static bool goes_on(const meaning *it, const char *word) {
    bool joins = word && (strcmp(word, "and") == 0 || strcmp(word, ",") == 0 || strcmp(word, "-") == 0);
    return !joins || begins_place(it, it->at + 1);
}

/* A run of tokens that name places, up to the next comma. */
static void take_group(meaning *it, gl_buf *to, bool joined) {
    gl_buf group = GL_BUF_EMPTY;
    bool ends = false, pane = false;
    while (it->at < it->count && !ends) {
        const token *next = &it->tokens[it->at];
        const char *word = place_word(next->small);
        bool named = is_number(next->text) || is_place_name(it, next) || pane;
        if ((!word && !named) || !goes_on(it, word))
            break;
        add_place_token(&group, next, pane || named ? NULL : word);
        pane = word && strcmp(word, "pane") == 0;
        ends = next->ends;
        it->at++;
    }
    if (to->length && group.length)
        gl_buf_add_text(to, joined ? " and " : ", ");
    gl_buf_add(to, gl_buf_span(&group));
    to->failed = to->failed || group.failed;
    gl_buf_free(&group);
}

/* "not row 2", "but not 64", "except 3": places that are taken away. */
static bool take_exclusion(meaning *it) {
    static const char *const openings[] = {"but not", "and not", "not", "except for",
                                           "except",  "without", NULL};
    for (size_t i = 0; openings[i]; i++) {
        size_t words = says_words(it, it->at, openings[i]), at = it->at + words;
        while (words && at < it->count && gl_span_is(it->tokens[at].small, "in"))
            at++;
        if (!words || !begins_place(it, at))
            continue;
        it->at = at;
        take_group(it, &it->without, false);
        return true;
    }
    return false;
}

static bool take_places(meaning *it) {
    size_t at = it->at;
    bool and_more = says_words(it, at, "and") > 0, or_more = says_words(it, at, "or") > 0;
    at += and_more || or_more;
    if (!begins_place(it, at))
        return false;
    if (it->places_over)
        ask(it,
            "it names more places behind how sure it is or a state, so it is not clear which they are about");
    it->at = at;
    take_group(it, &it->places, and_more);
    return true;
}

/* ----------------------------------------------------------------------------------------------- comments */

/* An appearance that the words speak of, and whether it is said to be there. */
static const char *appearance_of(gl_span small) {
    static const struct {
        const char *typed, *means;
    } words[] = {{"dot", "dot"},           {"dots", "dot"},         {"guideline", "guide_line"},
                 {"doubling", "doubling"}, {"doubled", "doubling"}, {"scratch", "scratch"},
                 {"crack", "crack"},       {"flaw", "flaw"},        {"burr", "burr"},
                 {"retouch", "retouch"},   {"recut", "recut"},      {"wear", "wear"},
                 {"imprint", "imprint"},   {"remains", "remains"},  {NULL, NULL}};
    for (size_t i = 0; words[i].typed; i++)
        if (gl_span_is(small, words[i].typed))
            return words[i].means;
    return NULL;
}

/* The words from `first` up to `end`, as they were given. */
static gl_span words_between(const meaning *it, size_t first, size_t end) {
    const char *start = it->tokens[first].text.text;
    gl_span last = it->tokens[end - 1].text;
    return (gl_span){start, (size_t)(last.text + last.length - start)};
}

/* A digit of any script: whoever reads numbers into a comment should be asked what they say. */
static bool has_digit(gl_span text) {
    uint32_t code;
    for (size_t step; (step = gl_utf8_next(text, &code)) != 0; text = gl_span_part(text, step, text.length))
        if (utf8proc_category((utf8proc_int32_t)code) == UTF8PROC_CATEGORY_ND)
            return true;
    return false;
}

static bool may_comment(const meaning *it, size_t first, size_t end) {
    for (size_t i = first; i < end; i++)
        if (has_digit(it->tokens[i].text) || is_one_of(it->tokens[i].small, turning))
            return false;
    return true;
}

static void add_seen(meaning *it, const char *appearance, const char *seen, gl_span words) {
    if (it->out->seen_count < GL_ANSWER_SEEN_MOST)
        it->out->seen[it->out->seen_count++] = (gl_answer_seen){appearance, seen, words};
    else
        ask(it, "it tells of more than can be taken in at once");
}

/* What is left up to the next comma: something seen, or a comment, or not understood. */
static void take_comment(meaning *it, size_t first) {
    size_t end = first;
    while (end < it->count && !it->tokens[end].ends)
        end++;
    end += end < it->count;
    it->at = end;
    gl_span words = words_between(it, first, end);
    bool absent = gl_span_is(it->tokens[first].small, "no") || gl_span_is(it->tokens[first].small, "without");
    bool unclear = gl_span_is(it->tokens[end - 1].small, "unclear");
    const char *appearance = NULL;
    for (size_t i = first; i < end && !appearance; i++)
        appearance = appearance_of(it->tokens[i].small);
    if (!may_comment(it, first + absent, end) || (absent && !appearance)) {
        gl_buf why = GL_BUF_EMPTY;
        gl_buf_printf(&why, "\"%.*s\" is not understood", GL_SPAN_ARGS(words));
        ask(it, why.failed ? "a part of it is not understood" : why.text);
        gl_buf_free(&why);
    } else if (appearance) {
        add_seen(it, appearance, absent ? "absent" : unclear ? "unclear" : "present", words);
    } else {
        if (it->remark.length)
            gl_buf_add_text(&it->remark, ", ");
        gl_buf_add(&it->remark, words);
    }
}

/* -------------------------------------------------------------------------------------------- the whole */

static glassine_status find_plates(meaning *it, glassine_record *stamp, glassine_error *error) {
    const gl_joins *joins;
    gl_span design = glassine_record_text(it->bundle, stamp, "design");
    glassine_record *of = design.text ? glassine_bundle_record(it->bundle, design, GL_NO_SPAN) : NULL;
    glassine_record *const *list;
    size_t count;
    if (!of)
        return GLASSINE_OK;
    glassine_status status = gl_bundle_joins(it->bundle, &joins, error);
    if (!status)
        status = glassine_record_referrers(it->bundle, of, "plate", false, &list, &count, error);
    for (size_t i = 0; !status && i < count && it->plate_count < PLATES_MOST; i++) {
        gl_span id = gl_record_id(it->bundle, list[i]);
        plate *next = &it->plates[it->plate_count];
        if (!gl_span_equal(gl_joins_of(joins, id), id))
            continue;
        glassine_status planned = gl_plan_of_plate(it->bundle, list[i], &next->plan, error);
        status = planned == GLASSINE_SYSTEM ? planned : GLASSINE_OK;
        if (planned)
            continue;
        next->record = list[i];
        it->corner_letters = it->corner_letters ||
                             gl_json_true(glassine_record_get(it->bundle, list[i], "corner_letters", NULL));
        it->plate_count++;
    }
    return status;
}

/* The places on every plate that comes in question; they must fit all of them. */
static void parse_places(meaning *it) {
    gl_buf whole = GL_BUF_EMPTY;
    gl_buf_add(&whole, it->places.length ? gl_buf_span(&it->places) : GL_SPAN("any"));
    if (it->without.length)
        gl_buf_printf(&whole, " but not %s", it->without.text);
    if (!it->plate_count)
        ask(it, "no plate of the stamp's design is here, on which places could be looked up");
    for (size_t i = 0; i < it->plate_count && !whole.failed; i++) {
        glassine_positions *positions;
        glassine_error error = {0};
        if (it->out->plate && it->plates[i].record != it->out->plate)
            continue;
        if (glassine_positions_parse(it->plates[i].plan, whole.text, &positions, NULL, &error)) {
            it->bundle->failed = it->bundle->failed || error.status == GLASSINE_SYSTEM;
            ask(it, error.message);
            break;
        }
        const char *expression = glassine_positions_expression(positions);
        const char *shown = glassine_positions_shown(positions, 10);
        it->bundle->failed = it->bundle->failed || !expression || !shown;
        it->out->positions = gl_arena_copy(it->bundle->arena, gl_span_of(expression));
        it->out->shown = gl_arena_copy(it->bundle->arena, gl_span_of(shown));
        glassine_positions_free(positions);
    }
    note_failure(it, &whole);
    gl_buf_free(&whole);
}

static void take_next(meaning *it) {
    size_t first = it->at;
    while (it->at < it->count && is_one_of(it->tokens[it->at].small, fillers) && !begins_place(it, it->at) &&
           !it->tokens[it->at].ends)
        it->at++;
    if (take_verdict(it, undecided, GL_ANSWER_CANNOT_TELL) ||
        take_verdict(it, forged, GL_ANSWER_NOT_GENUINE) ||
        take_verdict(it, elsewhere, GL_ANSWER_OTHER_PLATE) || take_sureness(it) || take_plate(it) ||
        take_state(it) || take_exclusion(it) || take_places(it))
        return;
    take_comment(it, first);
}

static void conclude(meaning *it) {
    gl_answer *out = it->out;
    bool places = it->places.length || it->without.length;
    if (places && out->kind != GL_ANSWER_NONE)
        ask(it, "it gives two answers");
    if (places && out->kind == GL_ANSWER_NONE) {
        out->kind = GL_ANSWER_PLACE;
        parse_places(it);
    }
    if (out->kind == GL_ANSWER_NONE && out->plate) {
        out->kind = GL_ANSWER_PLACE; /* a plate alone: anywhere on it */
        parse_places(it);
    }
    if (out->kind == GL_ANSWER_NONE && !out->seen_count)
        ask(it, "no answer is found in it");
    out->remark = gl_arena_copy(it->bundle->arena, gl_buf_span(&it->remark));
}

glassine_status gl_answer_understand(glassine_bundle *bundle, glassine_record *stamp, gl_span words,
                                     gl_answer *out, glassine_error *error) {
    *out = (gl_answer){0};
    meaning *it = calloc(1, sizeof *it);
    if (!it)
        return gl_fail_memory(error);
    it->bundle = bundle;
    it->out = out;
    glassine_status status = find_plates(it, stamp, error);
    if (!status && !take_tokens(it, words))
        status = ask(it, "it is too long to be understood");
    while (!status && it->at < it->count)
        take_next(it);
    if (!status)
        conclude(it);
    note_failure(it, &it->places);
    note_failure(it, &it->without);
    note_failure(it, &it->remark);
    status = gl_bundle_end(bundle, NULL, status, error);
    for (size_t i = 0; i < it->plate_count; i++)
        gl_plan_free(it->plates[i].plan);
    gl_buf_free(&it->places);
    gl_buf_free(&it->without);
    gl_buf_free(&it->remark);
    free(it);
    return status;
}

bool gl_answer_same(const gl_answer *a, const gl_answer *b) {
    bool same = a->kind == b->kind && gl_span_equal(a->positions, b->positions) && a->plate == b->plate &&
                a->state == b->state && a->confidence == b->confidence &&
                gl_span_equal(a->remark, b->remark) && a->seen_count == b->seen_count;
    for (size_t i = 0; same && i < a->seen_count; i++)
        same = a->seen[i].appearance == b->seen[i].appearance && a->seen[i].seen == b->seen[i].seen;
    return same;
}

static const char *apart(const gl_buf *out) {
    return out->length ? "; " : "";
}

const char *gl_answer_verdict(gl_answer_kind kind) {
    static const char *const verdicts[] = {[GL_ANSWER_NONE] = "",
                                           [GL_ANSWER_PLACE] = "",
                                           [GL_ANSWER_CANNOT_TELL] = "cannot tell",
                                           [GL_ANSWER_NOT_GENUINE] = "not genuine",
                                           [GL_ANSWER_OTHER_PLATE] = "another plate"};
    return verdicts[kind];
}

void gl_answer_shown(glassine_bundle *bundle, const gl_answer *answer, gl_buf *out) {
    gl_buf_add_text(out, gl_answer_verdict(answer->kind));
    gl_buf_add(out, answer->shown);
    if (answer->plate)
        gl_buf_printf(out, "%splate %.*s", apart(out),
                      GL_SPAN_ARGS(glassine_record_label(bundle, answer->plate)));
    if (answer->state)
        gl_buf_printf(out, "%sstate %.*s", apart(out),
                      GL_SPAN_ARGS(glassine_record_text(bundle, answer->state, "name")));
    if (answer->kind == GL_ANSWER_PLACE)
        gl_buf_printf(out, "%s%s", apart(out), answer->confidence ? answer->confidence : "probable");
    for (size_t i = 0; i < answer->seen_count; i++)
        gl_buf_printf(out, "%s%s seen as %s", apart(out), answer->seen[i].appearance, answer->seen[i].seen);
    if (answer->remark.length)
        gl_buf_printf(out, "%sremark: %.*s", apart(out), GL_SPAN_ARGS(answer->remark));
}
