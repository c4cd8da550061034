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
    uint32_t code;
    gl_span rest = name, part = {name.text, 0};
    for (size_t step; (step = gl_utf8_next(rest, &code)) != 0; rest = gl_span_part(rest, step, rest.length)) {
        if (code == '/') {
            if (!part_ok(part, fault))
                return false;
            part = (gl_span){rest.text + 1, 0};
        } else if (!is_allowed(code)) {
            *fault = (gl_name_fault){"C062", "its name holds a character that names may not have"};
            return false;
        } else {
            part.length += step;
        }
    }
    if (!part_ok(part, fault))
        return false;
    *fault = (gl_name_fault){"C060", "its name is not in Unicode's form NFC"};
    return gl_layout_flags(name) == 0 || gl_text_is_nfc(name);
}

bool gl_entry_name_check(gl_span name, const char **what) {
    gl_name_fault fault;
    if (gl_name_check(name, &fault))
        return true;
    if (what)
        *what = fault.what;
    return false;
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

/* The names met so far in their form without case, and the folders that they lie in. */
typedef struct gathering {
    gl_map *files, *folders;
    gl_arena *arena;
    gl_buf folded;
    gl_span *spelled; /* of each folder */
    size_t spelled_count, spelled_room;
    gl_span last; /* the folder of the name before: mostly the same again */
} gathering;

/* Most names are their own folded form: then no copy is made. */
static bool is_folded(gl_span name) {
    for (size_t i = 0; i < name.length; i++)
        if ((unsigned char)name.text[i] >= 0x80 || name.text[i] != lower(name.text[i]))
            return false;
    return true;
}

static gl_span fold(gathering *met, gl_span name) {
    if (is_folded(name))
        return name;
    gl_buf_clear(&met->folded);
    gl_text_add_folded(&met->folded, name);
    return met->folded.failed ? GL_NO_SPAN : gl_arena_copy(met->arena, gl_buf_span(&met->folded));
}

typedef enum meeting { MET_APART, MET_EQUAL, MET_NO_MEMORY } meeting;

static meeting meet_folder(gathering *met, gl_span folder) {
    gl_span key = fold(met, folder);
    if (!key.text)
        return MET_NO_MEMORY;
    uint32_t number = gl_map_find(met->folders, key);
    if (number != GL_NONE)
        return gl_span_equal(met->spelled[number], folder) ? MET_APART : MET_EQUAL;
    gl_span *spelled = gl_grow(met->spelled, &met->spelled_room, met->spelled_count + 1, sizeof *spelled);
    if (!spelled)
        return MET_NO_MEMORY;
    met->spelled = spelled;
    met->spelled[met->spelled_count] = folder;
    return gl_map_set(met->folders, key, (uint32_t)met->spelled_count++) ? MET_APART : MET_NO_MEMORY;
}

/* Every folder that a name lies in, from the base folder on. */
static meeting meet_folders(gathering *met, gl_span name) {
    size_t length = name.length;
    while (length > 0 && name.text[length - 1] != '/')
        length--;
    if (met->last.length == length && gl_span_starts(name, met->last))
        return MET_APART;
    for (size_t i = 0; i < length; i++) {
        meeting result = name.text[i] == '/' ? meet_folder(met, (gl_span){name.text, i}) : MET_APART;
        if (result != MET_APART)
            return result;
    }
    met->last = (gl_span){name.text, length};
    return MET_APART;
}

static meeting meet(gathering *met, const gl_entry *entry, uint32_t number) {
    meeting result = meet_folders(met, entry->name);
    if (result != MET_APART)
        return result;
    gl_span key = fold(met, entry->name);
    if (!key.text)
        return MET_NO_MEMORY;
    if (gl_map_find(met->files, key) != GL_NONE)
        return MET_EQUAL;
    return gl_map_set(met->files, key, number) ? MET_APART : MET_NO_MEMORY;
}

static glassine_status equal_names(glassine_error *error, const char *path, gl_span name) {
    return gl_fault_in(error, "C064", path, name,
                       "another entry has this name, or one that differs from it in case only");
}

static glassine_status check_apart(gathering *met, const gl_entry *entries, size_t count, const char *path,
                                   glassine_error *error) {
    for (size_t i = 0; i < count; i++) {
        meeting result = meet(met, &entries[i], (uint32_t)i);
        if (result == MET_NO_MEMORY)
            return gl_fail_memory(error);
        if (result == MET_EQUAL)
            return equal_names(error, path, entries[i].name);
    }
    for (size_t i = 0; i < met->spelled_count; i++) {
        gl_span key = fold(met, met->spelled[i]);
        if (!key.text)
            return gl_fail_memory(error);
        if (gl_map_find(met->files, key) != GL_NONE)
            return gl_fault_in(error, "C064", path, met->spelled[i],
                               "this is a file, and a folder of others");
    }
    return GLASSINE_OK;
}

glassine_status gl_names_apart(const gl_entry *entries, size_t count, const char *path,
                               glassine_error *error) {
    gathering met = {.files = gl_map_new(), .folders = gl_map_new(), .arena = gl_arena_new()};
    glassine_status status = GLASSINE_SYSTEM;
    if (met.files && met.folders && met.arena)
        status = check_apart(&met, entries, count, path, error);
    else
        gl_fail_memory(error);
    gl_map_free(met.files);
    gl_map_free(met.folders);
    gl_arena_free(met.arena);
    gl_buf_free(&met.folded);
    free(met.spelled);
    return status;
}
