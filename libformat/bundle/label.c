/* What people call a record: its label or name; a stamp by its item, "H-014.2"; other records by what they are
 * about. Cached until the set changes, since a label may come from another record. */
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "bundle/names.h"

/* How people number the stamps of an item: by row, column, then the time of their first slip, then id. */
typedef struct place {
    glassine_record *record;
    int64_t row, column;
    gl_span at, id;
} place;

static int by_place(const void *a, const void *b) {
    const place *x = a, *y = b;
    if (x->row != y->row)
        return x->row < y->row ? -1 : 1;
    if (x->column != y->column)
        return x->column < y->column ? -1 : 1;
    int order = gl_span_compare(x->at, y->at);
    return order ? order : gl_span_compare(x->id, y->id);
}

static gl_span first_time(const glassine_bundle *bundle, const glassine_record *record) {
    gl_span first = GL_NO_SPAN;
    for (uint32_t slip = gl_store_record(bundle->store, record->subject)->last; slip != GL_NONE;
         slip = gl_store_at(bundle->store, slip)->previous) {
        gl_slip_view view;
        gl_slip_look(gl_store_line(bundle->store, slip), &view);
        if (!first.text || gl_span_compare(view.at, first) < 0)
            first = view.at;
    }
    return first;
}

static place place_of(glassine_bundle *bundle, glassine_record *record) {
    place it = {record, 0, 0, first_time(bundle, record), gl_record_id(bundle, record)};
    glassine_record_integer(bundle, record, "row", &it.row);
    glassine_record_integer(bundle, record, "column", &it.column);
    return it;
}

static bool order_by_place(glassine_bundle *bundle, glassine_record *const *list, size_t count,
                           glassine_record **out) {
    place *places = malloc(count * sizeof *places);
    for (size_t i = 0; places && i < count; i++)
        places[i] = place_of(bundle, list[i]);
    if (places)
        qsort(places, count, sizeof *places, by_place);
    for (size_t i = 0; places && i < count; i++)
        out[i] = places[i].record;
    free(places);
    return places != NULL;
}

glassine_status gl_item_stamps(glassine_bundle *bundle, gl_span item, glassine_record ***stamps,
                               size_t *count, glassine_error *error) {
    glassine_record **list;
    glassine_status status = gl_names_referrers(bundle, item, "stamp", &list, count, error);
    if (status)
        return status;
    glassine_record **out = GL_ARENA_ARRAY(bundle->arena, glassine_record *, *count + 1);
    if (!out)
        return gl_bundle_fail_memory(bundle, error);
    if (*count == 1)
        out[0] = list[0];
    *stamps = out;
    return *count < 2 || order_by_place(bundle, list, *count, out) ? GLASSINE_OK
                                                                   : gl_bundle_fail_memory(bundle, error);
}

static void add_label_of(glassine_bundle *bundle, gl_span id, gl_buf *out) {
    enum { REST_OF_UUID = 28 };
    glassine_record *record = glassine_bundle_record(bundle, id, GL_NO_SPAN);
    if (record) {
        gl_buf_add(out, glassine_record_label(bundle, record));
        return;
    }
    /* What stands in a reference need not be one: it is cut between characters. */
    gl_span start = gl_span_part(id, 0, id.length > REST_OF_UUID ? id.length - REST_OF_UUID : id.length);
    gl_buf_add(out, gl_span_part(start, 0, gl_utf8_check(start)));
}

/* In the arena; absent where it says of no item whose stamp it is, or memory ran out. */
static gl_span stamp_label(glassine_bundle *bundle, glassine_record *record) {
    gl_span id = glassine_record_text(bundle, record, "item");
    glassine_record *item = id.text ? glassine_bundle_record(bundle, id, GL_NO_SPAN) : NULL, **stamps;
    size_t count;
    if (!id.text || gl_item_stamps(bundle, id, &stamps, &count, NULL))
        return GL_NO_SPAN;
    if (item && count < 2) /* as most are called: by the item's own label */
        return glassine_record_label(bundle, item);
    gl_buf text = GL_BUF_EMPTY;
    add_label_of(bundle, id, &text);
    for (size_t i = 0; count > 1 && i < count; i++)
        if (stamps[i] == record)
            gl_buf_printf(&text, ".%zu", i + 1);
    gl_span made = text.failed ? GL_NO_SPAN : gl_arena_copy(bundle->arena, gl_buf_span(&text));
    gl_buf_free(&text);
    return made;
}

static void add_scan(glassine_bundle *bundle, glassine_record *record, gl_buf *out) {
    gl_span name = glassine_record_text(bundle, record, "name");
    gl_span item = glassine_record_text(bundle, record, "item");
    if (name.length) {
        gl_buf_add(out, name);
        return;
    }
    if (!item.text)
        return;
    add_label_of(bundle, item, out);
    gl_span side = glassine_record_text(bundle, record, "side");
    if (side.length) {
        gl_buf_add_char(out, ' ');
        gl_buf_add(out, side);
    }
}

/* "claim on K-001", from the first of these fields that leads somewhere. */
static void add_subject(glassine_bundle *bundle, glassine_record *record, gl_buf *out) {
    static const char *const leads[] = {"stamp", "item", "plate", "contributor", NULL};
    for (size_t i = 0; leads[i]; i++) {
        gl_span id = glassine_record_text(bundle, record, leads[i]);
        if (!id.length)
            continue;
        gl_buf_add(out, glassine_record_type(bundle, record));
        gl_buf_add_text(out, " on ");
        add_label_of(bundle, id, out);
        return;
    }
}

static void add_told(glassine_bundle *bundle, glassine_record *record, gl_buf *out) {
    gl_span type = glassine_record_type(bundle, record), id = gl_record_id(bundle, record);
    if (gl_span_is(type, "scan"))
        add_scan(bundle, record, out);
    else if (!gl_span_is(type, "stamp"))
        add_subject(bundle, record, out);
    if (!out->length)
        gl_buf_add(out, gl_span_part(id, 0, type.length + 9)); /* "event/3f2a91c0" */
}

/* In the arena; absent where memory ran out. */
static gl_span make_label(glassine_bundle *bundle, glassine_record *record) {
    const glassine_type_info *info = glassine_record_info(bundle, record);
    const char *field = info ? info->label : "label";
    gl_span own = field ? glassine_record_text(bundle, record, field) : GL_NO_SPAN;
    if (!own.length && gl_span_is(glassine_record_type(bundle, record), "stamp"))
        own = stamp_label(bundle, record);
    if (own.length)
        return own;
    gl_buf text = GL_BUF_EMPTY;
    add_told(bundle, record, &text);
    gl_span made = text.failed ? GL_NO_SPAN : gl_arena_copy(bundle->arena, gl_buf_span(&text));
    gl_buf_free(&text);
    return made;
}

glassine_span glassine_record_label(glassine_bundle *bundle, glassine_record *record) {
    gl_made *of = gl_record_made(bundle, record);
    if (!of)
        return gl_record_id(bundle, record);
    if (of->label.text && of->label_of == bundle->generation)
        return of->label;
    /* A reference may lead round in a circle in a hostile bundle: the id stands in while the label is made. */
    of->label = gl_record_id(bundle, record);
    of->label_of = bundle->generation;
    gl_span made = make_label(bundle, record);
    bundle->failed = bundle->failed || !made.text;
    if (made.text)
        of->label = made;
    return of->label;
}
