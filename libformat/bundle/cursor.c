/* A cursor over records, in the order that every list, sheet and document has. */
#include <stdlib.h>

#include "base/error.h"
#include "base/platform.h"
#include "base/text.h"
#include "bundle/bundle.h"
#include "records/table.h"

struct glassine_cursor {
    glassine_bundle *bundle;
    glassine_record **records;
    size_t count, at;
};

enum { MANY = 4096, NOW_AND_THEN = 256, AHEAD = 8, FEW_FIELDS = 12 };

/* What is said on the record at this place is to be looked at soon: it lies in lines of the log, here and
 * there. */
static void expect(glassine_record *const *records, size_t count, size_t at) {
    const gl_made *made = at < count ? records[at]->made : NULL;
    for (size_t i = 0; made && made->reading && i < made->reading->field_count && i < FEW_FIELDS; i++)
        gl_platform_prefetch(made->reading->fields[i].name_text);
}

/* What a record is ordered by. */
typedef struct sort_key {
    glassine_record *record;
    size_t type; /* place in the table; unknown types come after */
    gl_span type_name, label, id, author;
} sort_key;

static sort_key sort_key_of(glassine_bundle *bundle, glassine_record *record) {
    return (sort_key){.record = record,
                      .type = gl_type_place(glassine_record_info(bundle, record)),
                      .type_name = glassine_record_type(bundle, record),
                      .label = glassine_record_label(bundle, record),
                      .id = gl_record_id(bundle, record),
                      .author = glassine_record_author(bundle, record)};
}

static int by_key(const void *a, const void *b) {
    const sort_key *x = a, *y = b;
    if (x->type != y->type)
        return x->type < y->type ? -1 : 1;
    int order = gl_span_compare(x->type_name, y->type_name);
    if (!order)
        order = gl_text_natural(x->label, y->label);
    if (!order)
        order = gl_span_compare(x->id, y->id);
    return order ? order : gl_span_compare(x->author, y->author);
}

/* What people call no name of its own is mostly called by its stamp, and whether that is the only one on its item is
 * looked up. */
static void expect_looks(const glassine_bundle *bundle, glassine_record *const *records, size_t count) {
    size_t looks = 0;
    for (size_t i = 0; i < count; i++) {
        const glassine_type_info *info = glassine_record_info(bundle, records[i]);
        looks += info && !info->label;
    }
    gl_names_expect(bundle->names, "stamp", looks);
}

static bool sort_records(glassine_bundle *bundle, glassine_record **records, size_t count) {
    if (count < 2)
        return true;
    sort_key *keys = count <= SIZE_MAX / sizeof *keys ? malloc(count * sizeof *keys) : NULL;
    if (!keys)
        return false;
    expect_looks(bundle, records, count);
    for (size_t i = 0; i < count; i++) {
        expect(records, count, i + AHEAD);
        keys[i] = sort_key_of(bundle, records[i]);
    }
    qsort(keys, count, sizeof *keys, by_key);
    for (size_t i = 0; i < count; i++)
        records[i] = keys[i].record;
    free(keys);
    return true;
}

void gl_records_sort(glassine_bundle *bundle, glassine_record **records, size_t count) {
    if (!sort_records(bundle, records, count))
        bundle->failed = true;
}

static void leave_out(glassine_bundle *bundle, glassine_cursor *cursor) {
    size_t kept = 0;
    for (size_t i = 0; i < cursor->count; i++)
        if (!gl_record_left_out(bundle, cursor->records[i]))
            cursor->records[kept++] = cursor->records[i];
    cursor->count = kept;
}

glassine_status glassine_cursor_new(glassine_bundle *bundle, const char *type, bool aside,
                                    glassine_cursor **out, glassine_error *error) {
    *out = NULL;
    glassine_cursor *cursor = calloc(1, sizeof *cursor);
    if (cursor)
        cursor->bundle = bundle;
    if (cursor)
        cursor->records = malloc((bundle->record_count + 1) * sizeof(glassine_record *));
    if (!cursor || !cursor->records) {
        glassine_cursor_free(cursor);
        return gl_fail_memory(error);
    }
    for (size_t i = 0; i < bundle->record_count; i++)
        if (!type || gl_span_is(glassine_record_type(bundle, bundle->records[i]), type))
            cursor->records[cursor->count++] = bundle->records[i];
    glassine_status status = gl_bundle_read_ahead(bundle, cursor->records, cursor->count, error);
    if (!status && !aside)
        leave_out(bundle, cursor);
    if (!status && !sort_records(bundle, cursor->records, cursor->count))
        status = gl_fail_memory(error);
    if (!status)
        status = gl_bundle_end(bundle, NULL, GLASSINE_OK, error);
    if (status)
        glassine_cursor_free(cursor);
    else
        *out = cursor;
    return status;
}

/* Of one over many records whoever looks on is told. Where that is stopped, the bundle keeps it for whoever ends the
 * work. */
glassine_record *glassine_cursor_next(glassine_cursor *cursor) {
    bool ends = cursor->at == cursor->count;
    if (cursor->count >= MANY && (ends || cursor->at % NOW_AND_THEN == 0) &&
        glassine_bundle_tell(cursor->bundle, "going over", "records", cursor->at, cursor->count, NULL))
        return NULL;
    expect(cursor->records, cursor->count, cursor->at + AHEAD);
    return ends ? NULL : cursor->records[cursor->at++];
}

void glassine_cursor_free(glassine_cursor *cursor) {
    if (!cursor)
        return;
    free(cursor->records);
    free(cursor);
}
