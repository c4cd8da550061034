/* What people type for a field, into canonical JSON. */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/edtf.h"
#include "base/error.h"
#include "base/text.h"
#include "records/list.h"
#include "records/names.h"
#include "records/value.h"

/* What one field's parsing needs; `typed` is clean text without white space around it. */
typedef struct parsing {
    const glassine_field_info *info;
    gl_span typed;
    const char *place;
    gl_resolve resolve;
    void *context;
    gl_buf *out;
    glassine_error *error;
} parsing;

/* FIELD "TYPED", the typed part cut short: the place of every error here. */
static void make_place(const glassine_field_info *info, gl_span typed, char *out, size_t size) {
    gl_span head = gl_span_part(typed, 0, 60);
    while (head.length > 0 && head.length < typed.length &&
           ((unsigned char)typed.text[head.length] & 0xC0) == 0x80)
        head.length--;
    snprintf(out, size, "%s%s\"%.*s%s\"", info ? info->name : "", info ? " " : "", GL_SPAN_ARGS(head),
             head.length < typed.length ? "..." : "");
}

/* Line ends become \n, tabs spaces; other control characters are refused; the rest becomes NFC. */
static glassine_status clean(gl_span typed, const char *place, gl_buf *out, glassine_error *error) {
    size_t bad = gl_utf8_check(typed);
    if (bad < typed.length)
        return gl_fail(error, GLASSINE_REFUSED, "R027", place, "byte %zu is not UTF-8", bad + 1);
    gl_buf plain = GL_BUF_EMPTY;
    uint32_t code;
    size_t length;
    for (size_t at = 0; (length = gl_utf8_next(gl_span_part(typed, at, SIZE_MAX), &code)) != 0;
         at += length) {
        bool line_end = code == '\r' || code == '\n';
        if (code == '\r' && at + 1 < typed.length && typed.text[at + 1] == '\n')
            continue;
        if (!line_end && code != '\t' && (code < 0x20 || (code >= 0x7F && code < 0xA0))) {
            gl_buf_free(&plain);
            return gl_fail(error, GLASSINE_REFUSED, "R027", place,
                           "control character U+%04" PRIX32 " at byte %zu", code, at + 1);
        }
        gl_utf8_add(&plain, line_end ? '\n' : code == '\t' ? ' ' : code);
    }
    gl_text_add_nfc(out, gl_buf_span(&plain));
    bool failed = plain.failed || out->failed;
    gl_buf_free(&plain);
    return failed ? gl_fail_memory(error) : GLASSINE_OK;
}

/* ISO 4217, 3.2: a currency's code is three capital letters. What is none stays as it is. */
static bool is_currency_code(const parsing *it) {
    bool letters = it->info && strcmp(it->info->name, "currency") == 0 && it->typed.length == 3;
    for (size_t i = 0; letters && i < it->typed.length; i++)
        letters = (it->typed.text[i] | 0x20) >= 'a' && (it->typed.text[i] | 0x20) <= 'z';
    return letters;
}

static glassine_status parse_text(const parsing *it) {
    if (is_currency_code(it)) {
        const char *typed = it->typed.text;
        const char code[3] = {(char)(typed[0] & ~0x20), (char)(typed[1] & ~0x20), (char)(typed[2] & ~0x20)};
        gl_json_add_string(it->out, (gl_span){code, sizeof code});
    } else {
        gl_json_add_string(it->out, it->typed);
    }
    return GLASSINE_OK;
}

/* A position expression: white space does not matter in it, so that a single space is enough. */
static glassine_status parse_expression(const parsing *it) {
    gl_buf squeezed = GL_BUF_EMPTY;
    bool space = false;
    for (size_t i = 0; i < it->typed.length; i++) {
        char c = it->typed.text[i] == '\n' ? ' ' : it->typed.text[i];
        if (c != ' ' || !space)
            gl_buf_add_char(&squeezed, c);
        space = c == ' ';
    }
    gl_json_add_string(it->out, gl_buf_span(&squeezed));
    bool failed = squeezed.failed;
    gl_buf_free(&squeezed);
    return failed ? gl_fail_memory(it->error) : GLASSINE_OK;
}

/* "14.25" or "14,5" as hundredths. False: no such number; without a point it is whole hundredths. */
static bool hundredths(gl_span typed, int64_t *value) {
    size_t point = 0;
    while (point < typed.length && typed.text[point] != '.' && typed.text[point] != ',')
        point++;
    gl_span whole = gl_span_part(typed, 0, point), behind = gl_span_part(typed, point + 1, SIZE_MAX);
    int64_t part;
    if (point == typed.length)
        return gl_text_integer(typed, value);
    if (memchr(typed.text, '-', typed.length) || !gl_text_integer(whole, value) || behind.length < 1 ||
        behind.length > 2 || !gl_text_integer(behind, &part) || *value > GL_JSON_INTEGER_MAX / 100 - 1)
        return false;
    *value = *value * 100 + (behind.length == 1 ? part * 10 : part);
    return true;
}

static glassine_status parse_integer(const parsing *it) {
    int64_t value;
    bool decimal = gl_field_in_hundredths(it->info);
    gl_span typed = it->typed;
    const char *unit = it->info->unit ? it->info->unit : "";
    if (!(decimal ? hundredths(typed, &value) : gl_text_integer(typed, &value)))
        return gl_fail(it->error, GLASSINE_REFUSED, "R023", it->place, "not a whole number%s%s",
                       *unit ? " of " : "", unit);
    if (value < it->info->least || value > it->info->most) {
        gl_fail(it->error, GLASSINE_REFUSED, "R023", it->place, "must be from %" PRId64 " to %" PRId64 "%s%s",
                it->info->least, it->info->most, *unit ? " " : "", unit);
        if (decimal)
            gl_error_remedy(it->error,
                            "A number with a decimal point is taken whole: 14.0 is 1400 hundredths");
        return GLASSINE_REFUSED;
    }
    gl_json_add_integer(it->out, value);
    return GLASSINE_OK;
}

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c + ('a' - 'A')) : c;
}

static bool is_word(gl_span typed, const char *word) {
    bool same = typed.length == strlen(word);
    for (size_t i = 0; same && i < typed.length; i++)
        same = lower(typed.text[i]) == word[i];
    return same;
}

static glassine_status parse_truth(const parsing *it) {
    static const char *const words[] = {"no", "false", "0", "yes", "true", "1"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (is_word(it->typed, words[i])) {
            gl_buf_add_text(it->out, i < 3 ? "false" : "true");
            return GLASSINE_OK;
        }
    return gl_fail(it->error, GLASSINE_REFUSED, "R020", it->place, "must be yes or no");
}

static glassine_status parse_date(const parsing *it) {
    gl_buf date = GL_BUF_EMPTY;
    glassine_status status = gl_edtf_from_typed(it->typed, &date, it->error);
    if (status == GLASSINE_OK)
        gl_json_add_string(it->out, gl_buf_span(&date));
    else if (status == GLASSINE_REFUSED && it->error) {
        snprintf(it->error->rule, sizeof it->error->rule, "R022");
        gl_error_within(it->error, it->place);
    }
    gl_buf_free(&date);
    return status;
}

static gl_span choice_at(const void *list, size_t index) {
    return gl_span_of(((const char *const *)list)[index]);
}

/* The number of the choice that a typed word means; refused with all of them. */
static glassine_status find_choice(const parsing *it, gl_span word, size_t *found) {
    const char *const *choices = it->info->choices;
    size_t count = 0;
    for (; choices[count]; count++)
        if (gl_name_alike(word, gl_span_of(choices[count]))) {
            *found = count;
            return GLASSINE_OK;
        }
    gl_buf all = GL_BUF_EMPTY;
    gl_names_list(choice_at, choices, count, &all);
    gl_fail(it->error, GLASSINE_REFUSED, "R021", it->place, "must be one of %s",
            all.failed ? "the list" : all.text);
    gl_buf_free(&all);
    return GLASSINE_REFUSED;
}

static glassine_status parse_choice(const parsing *it) {
    size_t found;
    glassine_status status = find_choice(it, it->typed, &found);
    if (status == GLASSINE_OK)
        gl_json_add_string(it->out, gl_span_of(it->info->choices[found]));
    return status;
}

static glassine_status parse_hex(const parsing *it) {
    gl_buf digits = GL_BUF_EMPTY;
    for (size_t i = 0; i < it->typed.length; i++)
        gl_buf_add_char(&digits, lower(it->typed.text[i]));
    gl_json_add_string(it->out, gl_buf_span(&digits));
    bool failed = digits.failed;
    gl_buf_free(&digits);
    return failed ? gl_fail_memory(it->error) : GLASSINE_OK;
}

static glassine_status add_ref(const parsing *it, gl_span typed) {
    if (!it->resolve) {
        gl_json_add_string(it->out, typed);
        return GLASSINE_OK;
    }
    gl_buf id = GL_BUF_EMPTY;
    glassine_status status = it->resolve(it->context, it->info->refs, typed, &id, it->error);
    if (status == GLASSINE_OK)
        gl_json_add_string(it->out, gl_buf_span(&id));
    else
        gl_error_within(it->error, it->info->name);
    gl_buf_free(&id);
    return status;
}

static glassine_status parse_ref(const parsing *it) {
    return add_ref(it, it->typed);
}

static glassine_status add_element(const parsing *it, gl_span element) {
    if (it->info->kind == GLASSINE_REFS)
        return add_ref(it, element);
    if (element.length == 0)
        return gl_fail(it->error, GLASSINE_REFUSED, "R025", it->place,
                       "there is nothing between two commas; a comma within a text is written \\,");
    gl_json_add_string(it->out, element);
    return GLASSINE_OK;
}

static glassine_status parse_list(const parsing *it) {
    gl_buf element = GL_BUF_EMPTY;
    glassine_status status = GLASSINE_OK;
    gl_buf_add_char(it->out, '[');
    size_t at = 0;
    for (bool first = true; status == GLASSINE_OK && gl_list_next(it->typed, &at, &element); first = false) {
        if (!first)
            gl_buf_add_char(it->out, ',');
        status = add_element(it, gl_buf_span(&element));
        gl_buf_clear(&element);
    }
    gl_buf_add_char(it->out, ']');
    if (status == GLASSINE_OK && element.failed)
        status = gl_fail_memory(it->error);
    gl_buf_free(&element);
    return status;
}

/* Choices are a set: they are written in the table's order, each once, so that equal sets are equal values.
 */
static glassine_status parse_choices(const parsing *it) {
    gl_buf element = GL_BUF_EMPTY;
    glassine_status status = GLASSINE_OK;
    uint64_t chosen = 0;
    size_t at = 0, found;
    while (status == GLASSINE_OK && gl_list_next(it->typed, &at, &element)) {
        status = find_choice(it, gl_buf_span(&element), &found);
        if (status == GLASSINE_OK)
            chosen |= UINT64_C(1) << found;
        gl_buf_clear(&element);
    }
    if (status == GLASSINE_OK && element.failed)
        status = gl_fail_memory(it->error);
    gl_buf_free(&element);
    gl_buf_add_char(it->out, '[');
    for (size_t i = 0, count = 0; it->info->choices[i]; i++)
        if (chosen >> i & 1) {
            gl_buf_add_text(it->out, count++ ? "," : "");
            gl_json_add_string(it->out, gl_span_of(it->info->choices[i]));
        }
    gl_buf_add_char(it->out, ']');
    return status;
}

static glassine_status parse_region(const parsing *it) {
    gl_buf element = GL_BUF_EMPTY;
    int64_t number;
    bool whole = true;
    gl_buf_add_char(it->out, '[');
    size_t at = 0;
    for (bool first = true; whole && gl_list_next(it->typed, &at, &element); first = false) {
        gl_buf_add_text(it->out, first ? "" : ",");
        whole = gl_text_integer(gl_buf_span(&element), &number);
        gl_json_add_integer(it->out, whole ? number : 0);
        gl_buf_clear(&element);
    }
    gl_buf_add_char(it->out, ']');
    bool failed = element.failed;
    gl_buf_free(&element);
    if (failed)
        return gl_fail_memory(it->error);
    return whole ? GLASSINE_OK
                 : gl_fail(it->error, GLASSINE_REFUSED, "R026", it->place,
                           "must be four whole numbers: left, top, width, height");
}

static glassine_status parse_kind(const parsing *it) {
    static glassine_status (*const parsers[])(const parsing *) = {
        [GLASSINE_TEXT] = parse_text,
        [GLASSINE_INTEGER] = parse_integer,
        [GLASSINE_TRUTH] = parse_truth,
        [GLASSINE_DATE] = parse_date,
        [GLASSINE_CHOICE] = parse_choice,
        [GLASSINE_REF] = parse_ref,
        [GLASSINE_EXPRESSION] = parse_expression,
        [GLASSINE_HEX] = parse_hex,
        [GLASSINE_TEXTS] = parse_list,
        [GLASSINE_CHOICES] = parse_choices,
        [GLASSINE_REFS] = parse_list,
        [GLASSINE_REGION] = parse_region,
    };
    return it->info ? parsers[it->info->kind](it) : parse_text(it);
}

/* What was made must fit the field as any other value must. */
static glassine_status check_made(const parsing *it, size_t from) {
    const char *rule = NULL;
    if (it->out->failed)
        return gl_fail_memory(it->error);
    const char *what = gl_value_fault(it->info, gl_span_part(gl_buf_span(it->out), from, SIZE_MAX), &rule);
    return what ? gl_fail(it->error, GLASSINE_REFUSED, rule, it->place, "%s", what) : GLASSINE_OK;
}

glassine_status gl_value_parse(const glassine_field_info *info, gl_span typed, gl_resolve resolve,
                               void *context, gl_buf *out, glassine_error *error) {
    char place[160];
    make_place(info, typed, place, sizeof place);
    gl_buf text = GL_BUF_EMPTY;
    size_t from = out->length;
    glassine_status status = clean(typed, place, &text, error);
    if (status == GLASSINE_OK) {
        parsing it = {info, gl_text_trim(gl_buf_span(&text)), place, resolve, context, out, error};
        status = parse_kind(&it);
        if (status == GLASSINE_OK)
            status = check_made(&it, from);
    }
    if (status != GLASSINE_OK && !out->failed) {
        out->length = from;
        if (out->text)
            out->text[from] = '\0';
    }
    gl_buf_free(&text);
    return status;
}
