/* A record by what people type: its id, a beginning of it, a label; a stamp by its item. */
#include <stdio.h>

#include "base/error.h"
#include "base/text.h"
#include "bundle/names.h"
#include "records/value.h"

enum { SHOWN_CHOICES = 8, PREFIX_DIGITS = 6 };

typedef struct search {
    glassine_bundle *bundle;
    const char *const *types; /* NULL: any */
    gl_span typed;
    gl_span within;          /* where several fit, those that refer to this record; absent: any */
    glassine_record **found; /* in the arena */
    size_t count, room;
} search;

static bool wants(const search *it, gl_span type) {
    if (!it->types)
        return true;
    for (size_t i = 0; it->types[i]; i++)
        if (gl_span_is(type, it->types[i]))
            return true;
    return false;
}

static bool wants_type(const search *it, const char *type) {
    return wants(it, gl_span_of(type));
}

static bool add(search *it, glassine_record *record) {
    for (size_t i = 0; i < it->count; i++)
        if (it->found[i] == record)
            return true;
    if (it->count == it->room) {
        size_t room = it->room ? it->room * 2 : 8;
        glassine_record **grown = GL_ARENA_ARRAY(it->bundle->arena, glassine_record *, room);
        if (!grown)
            return false;
        if (it->count)
            memcpy(grown, it->found, it->count * sizeof *grown);
        it->found = grown;
        it->room = room;
    }
    it->found[it->count++] = record;
    return true;
}

/* TYPE/UUID, or TYPE/UUID/AUTHOR-UUID. */
static bool by_id(search *it) {
    gl_span type, uuid, id = it->typed;
    char author[12 + 37];
    bool with_author = false;
    if (id.length > 37 && id.text[id.length - 37] == '/') {
        gl_span head = gl_span_part(id, 0, id.length - 37);
        if (gl_record_id_split(head, &type, &uuid)) {
            snprintf(author, sizeof author, "contributor%.37s", id.text + id.length - 37);
            with_author = true;
            id = head;
        }
    }
    if (!gl_record_id_split(id, &type, &uuid) || !wants(it, type))
        return true;
    uint32_t subject = gl_store_record_find(it->bundle->store, id);
    if (subject == GL_NONE)
        return true;
    for (glassine_record *record = it->bundle->newest_of[subject]; record; record = record->older)
        if ((!with_author || gl_span_is(glassine_record_author(it->bundle, record), author)) &&
            !add(it, record))
            return false;
    return true;
}

static bool is_hex(char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || c == '-';
}

/* "item/4fae12", "4fae12": six hex digits or more. */
static bool by_beginning(search *it) {
    const char *slash = memchr(it->typed.text, '/', it->typed.length);
    size_t from = slash ? (size_t)(slash - it->typed.text) + 1 : 0;
    gl_span digits = gl_span_part(it->typed, from, it->typed.length);
    if (digits.length < PREFIX_DIGITS || digits.length > 36)
        return true;
    for (size_t i = 0; i < digits.length; i++)
        if (!is_hex(digits.text[i]))
            return true;
    for (size_t i = 0; i < it->bundle->record_count; i++) {
        glassine_record *record = it->bundle->records[i];
        gl_span id = gl_record_id(it->bundle, record), type, uuid;
        if (!gl_record_id_split(id, &type, &uuid) || !wants(it, type))
            continue;
        if (gl_span_starts(slash ? id : uuid, it->typed) && !add(it, record))
            return false;
    }
    return true;
}

static glassine_status by_label(search *it, glassine_error *error) {
    glassine_record **list;
    size_t count;
    glassine_status status = gl_names_labelled(it->bundle, it->typed, it->types, &list, &count, error);
    for (size_t i = 0; i < count && !status; i++)
        if (!add(it, list[i]))
            status = gl_fail_memory(error);
    return status;
}

/* The stamps of the item called `label`: all, or the `number`-th. */
static glassine_status stamps_of(search *it, gl_span label, int64_t number, glassine_error *error) {
    static const char *const item_only[] = {"item", NULL};
    search items = {.bundle = it->bundle, .types = item_only, .typed = label};
    glassine_status status = by_label(&items, error);
    if (!status && !items.count && !(by_id(&items) && (items.count || by_beginning(&items))))
        status = gl_fail_memory(error);
    for (size_t i = 0; i < items.count && !status; i++) {
        glassine_record **stamps;
        size_t count;
        status = gl_item_stamps(it->bundle, gl_record_id(it->bundle, items.found[i]), &stamps, &count, error);
        for (size_t k = 0; k < count && !status; k++)
            if ((!number || (int64_t)k + 1 == number) && !add(it, stamps[k]))
                status = gl_fail_memory(error);
    }
    return status;
}

/* "H-014", "H-014.2" for a stamp. */
static glassine_status by_item(search *it, glassine_error *error) {
    glassine_status status = stamps_of(it, it->typed, 0, error);
    if (status || it->count)
        return status;
    size_t dot = it->typed.length;
    while (dot && it->typed.text[dot - 1] != '.')
        dot--;
    int64_t number;
    if (dot < 2 || !gl_text_integer(gl_span_part(it->typed, dot, it->typed.length), &number) || number < 1)
        return GLASSINE_OK;
    return stamps_of(it, gl_span_part(it->typed, 0, dot - 1), number, error);
}

/* Where several fit, those that `keep` keeps, as far as there are some. */
static void prefer(search *it, bool (*keep)(search *it, glassine_record *record)) {
    size_t kept = 0;
    for (size_t i = 0; i < it->count; i++)
        if (keep(it, it->found[i]))
            kept++;
    if (!kept || kept == it->count)
        return;
    kept = 0;
    for (size_t i = 0; i < it->count; i++)
        if (keep(it, it->found[i]))
            it->found[kept++] = it->found[i];
    it->count = kept;
}

static bool not_aside(search *it, glassine_record *record) {
    return !gl_record_left_out(it->bundle, record);
}

static bool label_to_the_letter(search *it, glassine_record *record) {
    return gl_span_equal(glassine_record_label(it->bundle, record), it->typed);
}

static bool refers_within(search *it, glassine_record *record) {
    const gl_reading *reading;
    if (gl_record_reading(it->bundle, record, &reading, NULL))
        return false;
    for (uint32_t i = 0; i < reading->field_count; i++)
        if (!reading->fields[i].contested &&
            gl_value_refers(gl_read_value(&reading->fields[i], 0), it->within))
            return true;
    return false;
}

static void add_types(const search *it, gl_buf *out) {
    for (size_t i = 0; it->types && it->types[i]; i++)
        gl_buf_printf(out, "%s%s", i ? " or " : "", it->types[i]);
    if (!it->types)
        gl_buf_add_text(out, "record");
}

static glassine_status refuse_none(const search *it, glassine_error *error) {
    gl_buf wanted = GL_BUF_EMPTY;
    add_types(it, &wanted);
    gl_fail(error, GLASSINE_REFUSED, "R034", it->bundle->path, "there is no %s \"%.*s\"",
            wanted.failed ? "record" : wanted.text, GL_SPAN_ARGS(it->typed));
    gl_error_remedy(error, "`glassine list` shows what is there");
    gl_buf_free(&wanted);
    return GLASSINE_REFUSED;
}

static glassine_status refuse_several(search *it, glassine_error *error) {
    gl_records_sort(it->bundle, it->found, it->count);
    gl_buf choices = GL_BUF_EMPTY;
    for (size_t i = 0; i < it->count && i < SHOWN_CHOICES; i++) {
        gl_buf_add_text(&choices, i ? ", " : "");
        gl_record_shown(it->bundle, it->found[i], &choices);
    }
    if (it->count > SHOWN_CHOICES)
        gl_buf_printf(&choices, " and %zu more", it->count - SHOWN_CHOICES);
    gl_fail(error, GLASSINE_REFUSED, "R033", it->bundle->path, "\"%.*s\" may be any of %zu: %s",
            GL_SPAN_ARGS(it->typed), it->count, choices.failed ? "" : choices.text);
    gl_error_remedy(error, "Name one by its id");
    gl_buf_free(&choices);
    return GLASSINE_REFUSED;
}

glassine_status gl_bundle_find(glassine_bundle *bundle, const char *const *types, gl_span typed,
                               gl_span within, glassine_record **record, glassine_error *error) {
    search it = {.bundle = bundle, .types = types, .typed = gl_text_trim(typed), .within = within};
    *record = NULL;
    if (!by_id(&it))
        return gl_fail_memory(error);
    glassine_status status = it.count ? GLASSINE_OK : by_label(&it, error);
    if (!status && !it.count && types && wants_type(&it, "stamp"))
        status = by_item(&it, error);
    if (!status && !it.count && !by_beginning(&it))
        status = gl_fail_memory(error);
    if (status)
        return status;
    if (it.count > 1) {
        prefer(&it, not_aside);
        prefer(&it, label_to_the_letter);
        if (within.text)
            prefer(&it, refers_within);
    }
    if (it.count != 1)
        status = it.count ? refuse_several(&it, error) : refuse_none(&it, error);
    else
        *record = it.found[0];
    return gl_bundle_end(bundle, NULL, status, error);
}

glassine_status glassine_bundle_find(glassine_bundle *bundle, const char *type, const char *name,
                                     glassine_record **record, glassine_error *error) {
    const char *const types[] = {type, NULL};
    return gl_bundle_find(bundle, type ? types : NULL, gl_span_of(name), GL_NO_SPAN, record, error);
}
