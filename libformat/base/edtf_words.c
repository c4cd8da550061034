#include "base/edtf_words.h"

#include "base/text.h"

#define WORD_MOST 16

typedef struct word {
    const char *text;
    gl_typed_kind kind;
    int value;
} word;

/* Whole words; a month may also be cut to three letters or more. */
static const word words[] = {
    {"january", GL_TYPED_MONTH, 1},   {"february", GL_TYPED_MONTH, 2},   {"march", GL_TYPED_MONTH, 3},
    {"april", GL_TYPED_MONTH, 4},     {"may", GL_TYPED_MONTH, 5},        {"june", GL_TYPED_MONTH, 6},
    {"july", GL_TYPED_MONTH, 7},      {"august", GL_TYPED_MONTH, 8},     {"september", GL_TYPED_MONTH, 9},
    {"october", GL_TYPED_MONTH, 10},  {"november", GL_TYPED_MONTH, 11},  {"december", GL_TYPED_MONTH, 12},
    {"i", GL_TYPED_ROMAN, 1},         {"ii", GL_TYPED_ROMAN, 2},         {"iii", GL_TYPED_ROMAN, 3},
    {"iv", GL_TYPED_ROMAN, 4},        {"v", GL_TYPED_ROMAN, 5},          {"vi", GL_TYPED_ROMAN, 6},
    {"vii", GL_TYPED_ROMAN, 7},       {"viii", GL_TYPED_ROMAN, 8},       {"ix", GL_TYPED_ROMAN, 9},
    {"x", GL_TYPED_ROMAN, 10},        {"xi", GL_TYPED_ROMAN, 11},        {"xii", GL_TYPED_ROMAN, 12},
    {"spring", GL_TYPED_SEASON, 21},  {"summer", GL_TYPED_SEASON, 22},   {"autumn", GL_TYPED_SEASON, 23},
    {"fall", GL_TYPED_SEASON, 23},    {"winter", GL_TYPED_SEASON, 24},   {"about", GL_TYPED_ABOUT, 0},
    {"around", GL_TYPED_ABOUT, 0},    {"circa", GL_TYPED_ABOUT, 0},      {"ca", GL_TYPED_ABOUT, 0},
    {"c", GL_TYPED_ABOUT, 0},         {"approx", GL_TYPED_ABOUT, 0},     {"approximately", GL_TYPED_ABOUT, 0},
    {"perhaps", GL_TYPED_PERHAPS, 0}, {"possibly", GL_TYPED_PERHAPS, 0}, {"probably", GL_TYPED_PERHAPS, 0},
    {"maybe", GL_TYPED_PERHAPS, 0},   {"before", GL_TYPED_BEFORE, 0},    {"until", GL_TYPED_UNTIL, 0},
    {"till", GL_TYPED_UNTIL, 0},      {"to", GL_TYPED_UNTIL, 0},         {"by", GL_TYPED_UNTIL, 0},
    {"after", GL_TYPED_AFTER, 0},     {"since", GL_TYPED_SINCE, 0},      {"from", GL_TYPED_SINCE, 0},
    {"not", GL_TYPED_NOT, 0},         {"between", GL_TYPED_BETWEEN, 0},  {"and", GL_TYPED_AND, 0},
    {"or", GL_TYPED_OR, 0},           {"later", GL_TYPED_LATER, 0},      {"onwards", GL_TYPED_LATER, 0},
    {"earlier", GL_TYPED_EARLIER, 0}, {"century", GL_TYPED_CENTURY, 0},  {"of", GL_TYPED_FILLER, 0},
    {"the", GL_TYPED_FILLER, 0},      {"in", GL_TYPED_FILLER, 0},        {"on", GL_TYPED_FILLER, 0},
};

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static bool is_letter(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c + ('a' - 'A')) : c;
}

static void skip(gl_span *rest, size_t count) {
    *rest = gl_span_part(*rest, count, rest->length);
}

static bool skip_spaces(gl_span *rest) {
    size_t at = 0;
    while (at < rest->length && (rest->text[at] == ' ' || rest->text[at] == '\t' || rest->text[at] == ','))
        at++;
    skip(rest, at);
    return at > 0;
}

/* Takes letters off, in lower case; their number. */
static size_t take_letters(gl_span *rest, char out[WORD_MOST]) {
    size_t count = 0;
    while (count < rest->length && is_letter(rest->text[count]) && count < WORD_MOST - 1) {
        out[count] = lower(rest->text[count]);
        count++;
    }
    out[count] = '\0';
    skip(rest, count);
    return count;
}

static const word *find_word(const char *text, size_t length) {
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        bool cut =
            words[i].kind == GL_TYPED_MONTH && length >= 3 && strncmp(words[i].text, text, length) == 0;
        if (cut || strcmp(words[i].text, text) == 0)
            return &words[i];
    }
    return NULL;
}

static bool take_word(gl_span *rest, gl_typed_token *token) {
    gl_span start = *rest;
    char text[WORD_MOST];
    size_t length = take_letters(rest, text);
    const word *found = find_word(text, length);
    if (!found) {
        *rest = start;
        return false;
    }
    token->kind = found->kind;
    token->value = found->value;
    if (rest->length && rest->text[0] == '.' && found->kind != GL_TYPED_ROMAN) /* "Mar.", "c." */
        skip(rest, 1);
    return true;
}

/* What may follow the digits of a number: "1850s", "1850's", "14th", "185x". */
static bool take_ending(gl_span *rest, gl_typed_token *token) {
    char ending[WORD_MOST];
    if (rest->length > 1 && rest->text[0] == '\'' && is_letter(rest->text[1]))
        skip(rest, 1);
    size_t length = take_letters(rest, ending);
    if (!length)
        return true;
    if (strcmp(ending, "s") == 0 && token->digits == 4) {
        token->kind = GL_TYPED_DECADE;
        return true;
    }
    bool ordinal = strcmp(ending, "st") == 0 || strcmp(ending, "nd") == 0 || strcmp(ending, "rd") == 0 ||
                   strcmp(ending, "th") == 0;
    if (ordinal && token->digits <= 2) {
        token->kind = GL_TYPED_ORDINAL;
        return true;
    }
    if (strspn(ending, "x") != length || token->digits + length != 4 || length > 2)
        return false;
    *token = (gl_typed_token){.kind = GL_TYPED_UNKNOWN,
                              .value = token->value * (length == 2 ? 100 : 10),
                              .digits = (unsigned)length};
    return true;
}

static bool take_number(gl_span *rest, gl_typed_token *token) {
    gl_span start = *rest;
    token->kind = GL_TYPED_NUMBER;
    while (rest->length && is_digit(rest->text[0]) && token->digits < 5) {
        token->value = token->value * 10 + (rest->text[0] - '0');
        token->digits++;
        skip(rest, 1);
    }
    if (token->digits < 5 && take_ending(rest, token))
        return true;
    *rest = start;
    return false;
}

/* En dash, em dash, minus sign, and the hyphens of U+2010 and U+2011 stand for '-'; the first three part more
 * than the digits of one date. */
static bool take_dash(gl_span *rest, gl_typed_token *token) {
    uint32_t code;
    if (gl_utf8_check(*rest) == 0)
        return false;
    gl_span character = *rest;
    size_t length = gl_utf8_next((gl_span){character.text, gl_utf8_check(character)}, &code);
    if (code != 0x2010 && code != 0x2011 && code != 0x2013 && code != 0x2014 && code != 0x2212)
        return false;
    skip(rest, length);
    *token = (gl_typed_token){.kind = GL_TYPED_MARK, .value = '-', .spaced = code >= 0x2013};
    return true;
}

bool gl_typed_next(gl_span *rest, gl_typed_token *token) {
    bool space_before = skip_spaces(rest);
    *token = (gl_typed_token){.kind = GL_TYPED_END};
    if (!rest->length)
        return true;
    char c = rest->text[0];
    if (is_digit(c))
        return take_number(rest, token);
    if (is_letter(c))
        return take_word(rest, token);
    if (!memchr("-/.?~%", c, 6))
        return take_dash(rest, token);
    skip(rest, 1);
    bool space_after = rest->length && rest->text[0] == ' ';
    *token = (gl_typed_token){.kind = GL_TYPED_MARK, .value = c, .spaced = space_before && space_after};
    return true;
}
