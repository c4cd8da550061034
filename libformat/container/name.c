#include "container/name.h"

#include <stdlib.h>
#include <utf8proc.h>

#include "base/arena.h"
#include "base/error.h"
#include "base/map.h"
#include "base/text.h"
#include "container/fault.h"
#include "container/layout.h"

enum { PART_MAX = 128, EXTENSION_MAX = 8, SLUG_MAX = 48 };

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

static bool is_lower(char c) {
    return c >= 'a' && c <= 'z';
}

static char lower(char c) {
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Letters and the marks that letters of many scripts are written with (Unicode general categories L and M).
 */
static bool is_letter(uint32_t code) {
    if (code < 0x80)
        return is_lower(lower((char)code));
    utf8proc_category_t category = utf8proc_category((utf8proc_int32_t)code);
    return category >= UTF8PROC_CATEGORY_LU && category <= UTF8PROC_CATEGORY_ME;
}

static bool is_allowed(uint32_t code) {
    if (code == '-' || code == '_' || code == '.' || code == ' ')
        return true;
    return is_letter(code) || (code < 0x80 && is_digit((char)code));
}

/* How many bytes from `at` on are small letters and digits, as nearly all are. */
static size_t plain_run(gl_span name, size_t at) {
    size_t from = at;
    while (at < name.length && (is_lower(name.text[at]) || is_digit(name.text[at])))
        at++;
    return at - from;
}

static bool is_dot_or_space(char c) {
    return c == '.' || c == ' ';
}

static bool same_ignoring_case(gl_span a, const char *small) {
    if (a.length != strlen(small))
        return false;
    for (size_t i = 0; i < a.length; i++)
        if (lower(a.text[i]) != small[i])
            return false;
    return true;
}

/* Names that one widespread system keeps for devices, whatever extension follows. */
static bool is_device(gl_span part) {
    const char *dot = memchr(part.text, '.', part.length);
    gl_span stem = gl_text_trim(dot ? (gl_span){part.text, (size_t)(dot - part.text)} : part);
    if (stem.length < 3 || stem.length > 4)
        return false;
    static const char *const plain[] = {"con", "prn", "aux", "nul"};
    for (size_t i = 0; i < sizeof plain / sizeof *plain; i++)
        if (same_ignoring_case(stem, plain[i]))
            return true;
    if (stem.length != 4 || !is_digit(stem.text[3]) || stem.text[3] == '0')
        return false;
    stem.length = 3;
    return same_ignoring_case(stem, "com") || same_ignoring_case(stem, "lpt");
}

static bool part_ok(gl_span part, gl_name_fault *fault) {
    fault->rule = "C062";
    if (part.length == 0)
        fault->what = "a part of its name is empty";
    else if (part.length > PART_MAX)
        fault->what = "a part of its name is longer than 128 bytes";
    else if (is_dot_or_space(part.text[0]) || is_dot_or_space(part.text[part.length - 1]))
        fault->what = "a part of its name starts or ends with a dot or a space";
    else if (is_device(part))
        *fault = (gl_name_fault){"C063", "its name is reserved for a device on some systems"};
    else
        return true;
    return false;
}

bool gl_name_check(gl_span name, gl_name_fault *fault) {
    if (gl_utf8_check(name) != name.length) {
        *fault = (gl_name_fault){"C060", "its name is not UTF-8"};
        return false;
    }
    *fault = (gl_name_fault){"C062", "its name is longer than 512 bytes"};
    if (name.length > GL_NAME_MAX)
        return false;
    size_t part = 0;
    for (size_t at = plain_run(name, 0); at < name.length; at += plain_run(name, at)) {
        uint32_t code;
        size_t step = gl_utf8_next(gl_span_part(name, at, name.length), &code);
        if (code == '/') {
            if (!part_ok(gl_span_part(name, part, at - part), fault))
                return false;
            part = at + 1;
        } else if (!is_allowed(code)) {
            *fault = (gl_name_fault){"C062", "its name holds a character that names may not have"};
            return false;
        }
        at += step;
    }
    if (!part_ok(gl_span_part(name, part, name.length), fault))
        return false;
    *fault = (gl_name_fault){"C060", "its name is not in Unicode's form NFC"};
    return gl_layout_flags(name) == 0 || gl_text_is_nfc(name);
}

bool gl_name_is_base(gl_span base) {
    gl_span start = GL_SPAN("glassine-");
    if (!gl_span_starts(base, start) || base.length == start.length || base.length > start.length + SLUG_MAX)
        return false;
    for (size_t i = start.length; i < base.length; i++)
        if (!is_lower(base.text[i]) && !is_digit(base.text[i]) && base.text[i] != '-')
            return false;
    return true;
}

bool gl_name_is_scan(gl_span inner, gl_digest *digest) {
    size_t head = sizeof GL_SCANS - 1, hex = GL_HEX_SIZE - 1;
    if (!gl_span_starts(inner, GL_SPAN(GL_SCANS)) || inner.length < head + hex + 2 ||
        inner.length > head + hex + 1 + EXTENSION_MAX || inner.text[head + hex] != '.')
        return false;
    for (size_t i = head + hex + 1; i < inner.length; i++)
        if (!is_lower(inner.text[i]) && !is_digit(inner.text[i]))
            return false;
    return gl_digest_parse(gl_span_part(inner, head, hex), digest);
}

bool gl_name_is_segment(gl_span inner, uint32_t *first, uint32_t *last) {
    enum { LENGTH = 6 + 8 + 1 + 8 + 6 };
    if (inner.length != LENGTH || !gl_span_starts(inner, GL_SPAN("slips/")) || inner.text[14] != '-' ||
        memcmp(inner.text + 23, ".jsonl", 6) != 0)
        return false;
    int64_t from, to;
    gl_span f = gl_span_part(inner, 6, 8), l = gl_span_part(inner, 15, 8);
    if (strspn(f.text, "0123456789") < 8 || strspn(l.text, "0123456789") < 8)
        return false;
    if (!gl_text_integer(f, &from) || !gl_text_integer(l, &to) || from < 1 || to < from)
        return false;
    *first = (uint32_t)from;
    *last = (uint32_t)to;
    return true;
}

#define A_FILE GL_NONE /* in place of a folder's number */

/* The names met so far in their form without case, and the folders that they lie in. */
struct gl_apart {
    gl_map *names; /* of a folder its number in `spelled`, of a file A_FILE */
    gl_arena *arena;
    gl_buf folded;
    gl_span *spelled; /* of each folder */
    size_t spelled_count, spelled_room;
    gl_span last; /* the folder of the name before: mostly the same again */
};

gl_apart *gl_apart_new(void) {
    gl_apart *names = calloc(1, sizeof *names);
    if (!names)
        return NULL;
    *names = (gl_apart){.names = gl_map_new(), .arena = gl_arena_new(), .last = GL_SPAN("")};
    if (names->names && names->arena)
        return names;
    gl_apart_free(names);
    return NULL;
}

void gl_apart_free(gl_apart *names) {
    if (!names)
        return;
    gl_map_free(names->names);
    gl_arena_free(names->arena);
    gl_buf_free(&names->folded);
    free(names->spelled);
    free(names);
}

/* Most names are their own folded form: then no copy is made. */
static bool is_folded(gl_span name) {
    for (size_t i = 0; i < name.length; i++)
        if ((unsigned char)name.text[i] >= 0x80 || name.text[i] != lower(name.text[i]))
            return false;
    return true;
}

static gl_span fold(gl_apart *met, gl_span name) {
    if (is_folded(name))
        return name;
    gl_buf_clear(&met->folded);
    gl_text_add_folded(&met->folded, name);
    return met->folded.failed ? GL_NO_SPAN : gl_arena_copy(met->arena, gl_buf_span(&met->folded));
}

static gl_meeting meet_folder(gl_apart *met, gl_span folder) {
    gl_span key = fold(met, folder);
    gl_span *spelled = gl_grow(met->spelled, &met->spelled_room, met->spelled_count + 1, sizeof *spelled);
    if (!key.text || !spelled)
        return GL_APART_NO_MEMORY;
    met->spelled = spelled;
    uint32_t number = (uint32_t)met->spelled_count;
    bool added;
    if (!gl_map_add(met->names, key, &number, &added))
        return GL_APART_NO_MEMORY;
    if (added)
        met->spelled[met->spelled_count++] = folder;
    if (number == A_FILE)
        return GL_APART_FOLDER;
    return gl_span_equal(met->spelled[number], folder) ? GL_APART : GL_APART_EQUAL;
}

/* Every folder that a name lies in, from the base folder on. */
static gl_meeting meet_folders(gl_apart *met, gl_span name) {
    size_t length = name.length;
    while (length > 0 && name.text[length - 1] != '/')
        length--;
    if (met->last.length == length && gl_span_starts(name, met->last))
        return GL_APART;
    for (size_t i = 0; i < length; i++) {
        gl_meeting result = name.text[i] == '/' ? meet_folder(met, (gl_span){name.text, i}) : GL_APART;
        if (result != GL_APART)
            return result;
    }
    met->last = (gl_span){name.text, length};
    return GL_APART;
}

gl_meeting gl_apart_meet(gl_apart *met, gl_span name) {
    gl_meeting result = meet_folders(met, name);
    if (result != GL_APART)
        return result;
    gl_span key = fold(met, name);
    uint32_t number = A_FILE;
    bool added;
    if (!key.text || !gl_map_add(met->names, key, &number, &added))
        return GL_APART_NO_MEMORY;
    if (added)
        return GL_APART;
    return number == A_FILE ? GL_APART_EQUAL : GL_APART_FOLDER;
}

static glassine_status check_apart(gl_apart *met, const gl_entry *entries, size_t count, const char *path,
                                   glassine_error *error) {
    for (size_t i = 0; i < count; i++) {
        gl_meeting result = gl_apart_meet(met, entries[i].name);
        if (result == GL_APART_NO_MEMORY)
            return gl_fail_memory(error);
        if (result == GL_APART_EQUAL)
            return gl_fault_in(error, "C064", path, entries[i].name,
                               "another entry has this name, or one that differs from it in case only");
        if (result == GL_APART_FOLDER)
            return gl_fault_in(error, "C064", path, entries[i].name,
                               "this or its folder is a file, and a folder of others");
    }
    return GLASSINE_OK;
}

glassine_status gl_names_apart(const gl_entry *entries, size_t count, const char *path,
                               glassine_error *error) {
    gl_apart *met = gl_apart_new();
    glassine_status status = met ? check_apart(met, entries, count, path, error) : gl_fail_memory(error);
    gl_apart_free(met);
    return status;
}
