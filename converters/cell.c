#include "cell.h"

#define MARK '`'
#define CONTESTED "`contested: "
#define BETWEEN_VALUES " | "
#define CLEARED "(cleared)"
#define JSON "`json:"

/* ----------------------------------------------------------------------------- what may stand unmarked */

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* A whole number as anybody writes it: "0", "1860", not "007", not a number that would be rounded. */
static bool is_whole_number(glassine_span text) {
    if (!text.length || text.length > CELL_DIGITS_KEPT || (text.text[0] == '0' && text.length > 1))
        return false;
    for (size_t i = 0; i < text.length; i++) {
        if (!is_digit(text.text[i]))
            return false;
    }
    return true;
}

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c + ('a' - 'A')) : c;
}

static bool is_ascii_letter(char c) {
    return lower(c) >= 'a' && lower(c) <= 'z';
}

/* UTF-8's first code point, where it is at least U+00C0 (two bytes from C3 80 on). */
static uint32_t first_code(glassine_span text) {
    const unsigned char *at = (const unsigned char *)text.text;
    if (text.length >= 2 && at[0] >= 0xc3 && at[0] < 0xe0)
        return ((uint32_t)(at[0] & 0x1f) << 6) | (at[1] & 0x3f);
    if (text.length >= 3 && at[0] >= 0xe0 && at[0] < 0xf0)
        return ((uint32_t)(at[0] & 0x0f) << 12) | ((uint32_t)(at[1] & 0x3f) << 6) | (at[2] & 0x3f);
    return text.length >= 4 && at[0] >= 0xf0 ? 0x10000 : 0;
}

/* Letters of any script. The ranges left out hold signs, spaces, marks of direction and full-width forms,
 * some of which programs take for an operator or a digit. */
static bool starts_with_letter(glassine_span text) {
    if (text.length && is_ascii_letter(text.text[0]))
        return true;
    uint32_t code = first_code(text);
    bool sign = code == 0xd7 || code == 0xf7 || (code >= 0x2000 && code < 0x2c00) ||
                (code >= 0x3000 && code < 0x3040) || (code >= 0xfe00 && code < 0x10000);
    return code >= 0xc0 && !sign;
}

static bool word_is(glassine_span text, size_t length, const char *word, size_t least) {
    if (length < least || length > strlen(word))
        return false;
    for (size_t i = 0; i < length; i++) {
        if (lower(text.text[i]) != word[i])
            return false;
    }
    return true;
}

/* "Mar 5", "May-61", "true": words that programs turn into a date or a truth value. */
static bool would_be_turned(glassine_span text) {
    static const char *const months[] = {"january",   "february", "march",    "april",
                                         "may",       "june",     "july",     "august",
                                         "september", "october",  "november", "december"};
    size_t word = 0;
    bool digit = false;
    while (word < text.length && is_ascii_letter(text.text[word]))
        word++;
    for (size_t i = word; i < text.length; i++)
        digit |= is_digit(text.text[i]);
    if (word == text.length && (word_is(text, word, "true", 4) || word_is(text, word, "false", 5)))
        return true;
    for (size_t i = 0; digit && i < sizeof months / sizeof *months; i++) {
        if (word_is(text, word, months[i], 3))
            return true;
    }
    return false;
}

void cell_text(conv_output *out, glassine_span text) {
    bool harmless = is_whole_number(text) || (starts_with_letter(text) && !would_be_turned(text));
    if (!harmless)
        conv_add_char(out, MARK);
    conv_add(out, text);
}

/* ---------------------------------------------------------------------------------------------- values */

void cell_element(conv_output *list, glassine_span element) {
    if (list->length)
        conv_add_text(list, "; ");
    for (size_t i = 0; i < element.length; i++) {
        if (element.text[i] == '\\' || element.text[i] == ';')
            conv_add_char(list, '\\');
        conv_add_char(list, element.text[i]);
    }
}

/* Elements that would come back otherwise: nothing, or white space that programs take off a cell's ends. */
static bool is_frail(glassine_span element) {
    return !element.length || element.text[0] == ' ' || element.text[element.length - 1] == ' ';
}

/* Joins an array of strings, or of integers; false, with nothing added, where the cell could not be read
 * back. */
static bool add_list(conv_output *out, glassine_bundle *bundle, glassine_value array, bool strings) {
    conv_output list = {0};
    glassine_value item;
    bool good = true;
    for (size_t at = 0; good && glassine_value_next(array, &at, NULL, &item);) {
        int64_t number;
        glassine_span text = strings ? glassine_value_text(bundle, item) : item;
        good = strings ? text.text && !is_frail(text) : glassine_value_integer(item, &number);
        if (good)
            cell_element(&list, text);
    }
    good = good && list.length;
    if (good)
        cell_text(out, conv_span(&list));
    out->failed = out->failed ? out->failed : list.failed;
    conv_free(&list);
    return good;
}

static bool is_string_kind(glassine_kind kind) {
    return kind == GLASSINE_TEXT || kind == GLASSINE_DATE || kind == GLASSINE_CHOICE ||
           kind == GLASSINE_REF || kind == GLASSINE_EXPRESSION || kind == GLASSINE_HEX;
}

/* As the field's kind has it; false, with nothing added, where the value is of another kind. */
static bool add_fitting(conv_output *out, glassine_bundle *bundle, glassine_value value,
                        const glassine_field_info *info) {
    glassine_kind kind = info ? info->kind : GLASSINE_TEXT; /* a field that is not known is taken for text */
    int64_t number;
    if (value.text[0] == '"' && is_string_kind(kind)) {
        cell_text(out, glassine_value_text(bundle, value));
        return true;
    }
    if (kind == GLASSINE_INTEGER && glassine_value_integer(value, &number)) {
        if (value.length <= CELL_DIGITS_KEPT)
            conv_add(out, value);
        else
            cell_text(out, value);
        return true;
    }
    if (kind == GLASSINE_TRUTH && (value.text[0] == 't' || value.text[0] == 'f')) {
        conv_add_text(out, value.text[0] == 't' ? "yes" : "no");
        return true;
    }
    bool strings = kind == GLASSINE_TEXTS || kind == GLASSINE_CHOICES || kind == GLASSINE_REFS;
    return value.text[0] == '[' && (strings || kind == GLASSINE_REGION) &&
           add_list(out, bundle, value, strings);
}

static void add_value(conv_output *out, glassine_bundle *bundle, glassine_value value,
                      const glassine_field_info *info) {
    if (add_fitting(out, bundle, value, info))
        return;
    conv_add_text(out, JSON);
    conv_add(out, value);
}

/* One of several values: the bar between them is escaped within. */
static void add_contested_value(conv_output *out, glassine_bundle *bundle, const glassine_saying *saying,
                                const glassine_field_info *info) {
    conv_output one = {0};
    if (saying->value.text)
        add_value(&one, bundle, saying->value, info);
    else
        conv_add_text(&one, CLEARED);
    for (size_t i = 0; i < one.length; i++) {
        if (one.text[i] == '\\' || one.text[i] == '|')
            conv_add_char(out, '\\');
        conv_add_char(out, one.text[i]);
    }
    out->failed = out->failed ? out->failed : one.failed;
    conv_free(&one);
}

static bool same_value(const glassine_saying *a, const glassine_saying *b) {
    return !a->value.text == !b->value.text && (!a->value.text || conv_equal(a->value, b->value));
}

void cell_field(conv_output *out, glassine_bundle *bundle, const glassine_field *field) {
    if (!field->contested) {
        add_value(out, bundle, field->sayings[0].value, field->info);
        return;
    }
    conv_add_text(out, CONTESTED);
    for (size_t i = 0; i < field->saying_count; i++) {
        if (i && same_value(&field->sayings[i - 1], &field->sayings[i]))
            continue;
        if (i)
            conv_add_text(out, BETWEEN_VALUES);
        add_contested_value(out, bundle, &field->sayings[i], field->info);
    }
}

/* --------------------------------------------------------------------------------------------- and back */

static bool begins(glassine_span cell, const char *with) {
    size_t length = strlen(with);
    return cell.length >= length && memcmp(cell.text, with, length) == 0;
}

bool cell_is_contested(glassine_span cell) {
    return begins(cell, CONTESTED);
}

bool cell_is_json(glassine_span cell, glassine_span *json) {
    size_t length = strlen(JSON);
    if (!begins(cell, JSON))
        return false;
    *json = (glassine_span){cell.text + length, cell.length - length};
    return true;
}

glassine_span cell_unmarked(glassine_span cell) {
    bool marked = cell.length && cell.text[0] == MARK;
    return (glassine_span){cell.text + marked, cell.length - marked};
}

glassine_span cell_without_need(glassine_span cell) {
    glassine_span json, bare = cell_unmarked(cell);
    bool needed =
        cell_is_contested(cell) || cell_is_json(cell, &json) || !bare.length || bare.text[0] == MARK;
    return needed ? cell : bare;
}

bool cell_is_left_out(glassine_span cell) {
    return conv_is(cell, CELL_LEFT_OUT);
}
