#include "base/json.h"

#include "base/text.h"

typedef struct scan {
    const char *start, *at, *end;
    gl_json_fault *fault;
} scan;

static bool wrong(scan *s, const char *at, const char *what) {
    if (s->fault)
        *s->fault = (gl_json_fault){(size_t)(at - s->start), what};
    return false;
}

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* The character that has to stand here and does not: which of the usual reasons is it? */
static bool unexpected(scan *s, const char *otherwise) {
    if (s->at == s->end)
        return wrong(s, s->at, "the text ends too early");
    if (memchr(" \t\n\r", *s->at, 4))
        return wrong(s, s->at, "white space outside a string");
    return wrong(s, s->at, otherwise);
}

/* RFC 8785 3.2.2.2: a character is escaped where it must be, by its short form where it has one. Of the
 * control characters the value set has \n alone. */
static bool check_escape(scan *s) {
    if (s->end - s->at < 2)
        return wrong(s, s->at, "the text ends too early");
    switch (s->at[1]) {
    case '"':
    case '\\':
    case 'n':
        s->at += 2;
        return true;
    case 'b':
    case 't':
    case 'f':
    case 'r':
        return wrong(s, s->at, "control character in a string");
    case 'u':
        if (s->end - s->at >= 5 && memcmp(s->at, "\\u00", 4) == 0 && (s->at[4] == '0' || s->at[4] == '1'))
            return wrong(s, s->at, "control character in a string");
        return wrong(s, s->at, "escape of a character that needs none");
    default:
        return wrong(s, s->at, "escape that canonical JSON does not have");
    }
}

/* How many bytes from `at` on are plain for certain, a word at a time: ASCII, and no control character, quote or
 * backslash. A byte less than b has its high bit set in (byte - b) & ~byte. */
static size_t plain_words(const char *at, size_t left) {
    const uint64_t ones = UINT64_C(0x0101010101010101);
    size_t done = 0;
    for (uint64_t word; left - done >= sizeof word; done += sizeof word) {
        memcpy(&word, at + done, sizeof word);
        uint64_t quote = word ^ '"' * ones, slash = word ^ '\\' * ones;
        if ((word | ((word - ' ' * ones) & ~word) | ((quote - ones) & ~quote) | ((slash - ones) & ~slash)) &
            0x80 * ones)
            break;
    }
    return done;
}

/* At the opening quote. `text` gets what lies between the quotes; `plain` says that it is ASCII without
 * escapes. */
static bool check_string(scan *s, gl_span *text, bool *plain) {
    const char *start = ++s->at;
    *plain = true;
    s->at += plain_words(s->at, (size_t)(s->end - s->at));
    while (s->at < s->end) {
        unsigned char c = (unsigned char)*s->at;
        if (c == '"') {
            *text = (gl_span){start, (size_t)(s->at - start)};
            s->at++;
            return true;
        }
        if (c >= 0x20 && c < 0x80 && c != '\\') {
            s->at++;
            continue;
        }
        *plain = false;
        if (c < 0x20)
            return wrong(s, s->at, "control character in a string");
        if (c == '\\') {
            if (!check_escape(s))
                return false;
            continue;
        }
        uint32_t code;
        size_t length = gl_utf8_next((gl_span){s->at, (size_t)(s->end - s->at)}, &code);
        if (length == 1)
            return wrong(s, s->at, "not UTF-8");
        s->at += length;
    }
    return wrong(s, s->at, "the text ends too early");
}

static bool check_number(scan *s) {
    const char *start = s->at;
    bool negative = *s->at == '-';
    if (negative)
        s->at++;
    if (s->at == s->end || !is_digit(*s->at))
        return unexpected(s, "a value is missing");
    const char *digits = s->at;
    int64_t value = 0;
    for (; s->at < s->end && is_digit(*s->at); s->at++) {
        value = value * 10 + (*s->at - '0');
        if (value > GL_JSON_INTEGER_MAX)
            return wrong(s, start, "integer beyond 2^53-1");
    }
    if (s->at < s->end && memchr(".eE", *s->at, 3))
        return wrong(s, start, "number with a fraction or an exponent");
    if (*digits == '0' && s->at - digits > 1)
        return wrong(s, start, "number with a leading zero");
    if (negative && value == 0)
        return wrong(s, start, "minus zero");
    return true;
}

static bool check_word(scan *s, const char *word) {
    size_t length = strlen(word);
    if ((size_t)(s->end - s->at) < length || memcmp(s->at, word, length) != 0)
        return wrong(s, s->at, "a value is missing");
    s->at += length;
    return true;
}

static bool check_scalar(scan *s) {
    gl_span text;
    bool plain;
    if (s->at == s->end)
        return unexpected(s, "");
    switch (*s->at) {
    case '"':
        return check_string(s, &text, &plain);
    case 't':
        return check_word(s, "true");
    case 'f':
        return check_word(s, "false");
    case 'n':
        return wrong(s, s->at, "null is no value");
    default:
        return *s->at == '-' || is_digit(*s->at) ? check_number(s) : unexpected(s, "a value is missing");
    }
}

/* Behind an element: takes the comma, or the closing bracket (*done). */
static bool check_after(scan *s, char closing, bool *done) {
    if (s->at == s->end || (*s->at != ',' && *s->at != closing))
        return unexpected(s, "a comma or closing bracket is missing");
    *done = *s->at++ == closing;
    return true;
}

static bool check_array(scan *s) {
    bool done = false;
    s->at++;
    if (s->at < s->end && *s->at == ']') {
        s->at++;
        return true;
    }
    while (!done) {
        if (s->at < s->end && (*s->at == '[' || *s->at == '{'))
            return wrong(s, s->at, "an array may not hold arrays or objects");
        if (!check_scalar(s) || !check_after(s, ']', &done))
            return false;
    }
    return true;
}

/* Is `name` behind `before`? Names are plain ASCII nearly always, and bytes then decide. */
static bool check_order(scan *s, gl_span before, gl_span name, bool plain) {
    int order = plain ? gl_span_compare(before, name) : gl_json_raw_name_order(before, name);
    if (order < 0)
        return true;
    return wrong(s, name.text - 1, order == 0 ? "a member stands twice" : "members out of order");
}

/* `them`: NULL, or the members to look for in this object. */
static bool check_object(scan *s, unsigned depth, gl_json_wanted *them) {
    gl_span before = GL_NO_SPAN, name;
    bool before_plain = true, plain = true, done = false;
    s->at++;
    if (s->at < s->end && *s->at == '}') {
        s->at++;
        return true;
    }
    while (!done) {
        if (s->at == s->end || *s->at != '"')
            return unexpected(s, "a member's name is missing");
        if (!check_string(s, &name, &plain))
            return false;
        if (before.text && !check_order(s, before, name, plain && before_plain))
            return false;
        before = name;
        before_plain = plain;
        if (s->at == s->end || *s->at != ':')
            return unexpected(s, "a colon is missing");
        const char *value = ++s->at;
        char c = s->at < s->end ? *s->at : '\0';
        if (c == '{' && depth == 0)
            return wrong(s, s->at, "an object too deep inside others");
        if (!(c == '{' ? check_object(s, depth - 1, NULL) : c == '[' ? check_array(s) : check_scalar(s)))
            return false;
        if (them)
            gl_json_keep(them, name, (gl_span){value, (size_t)(s->at - value)});
        if (!check_after(s, '}', &done))
            return false;
    }
    return true;
}

bool gl_json_check_members(gl_span text, unsigned depth, gl_json_wanted *them, gl_json_fault *fault) {
    if (text.length == 0)
        text = GL_SPAN("");
    scan s = {text.text, text.text, text.text + text.length, fault};
    if (s.at == s.end || *s.at != '{')
        return unexpected(&s, "no JSON object");
    if (!check_object(&s, depth, them))
        return false;
    return s.at == s.end || unexpected(&s, "something follows the object");
}

bool gl_json_check(gl_span text, unsigned depth, gl_json_fault *fault) {
    return gl_json_check_members(text, depth, NULL, fault);
}
