/* What others than the keeper propose, and the keeper's taking it up (spec/signatures.md). A proposal goes by
 * the beginning of the digest of the slip that makes it. */
#include <stdio.h>

#include "base/error.h"
#include "base/text.h"
#include "bundle/joins.h"
#include "exchange/draft.h"

enum { SHOWN_DIGITS = 12, TYPED_LEAST = 6 };

typedef struct proposal {
    uint32_t slip;
    glassine_record *record; /* to be set aside or taken back; or the join */
    bool join, aside;
} proposal;

/* What is done with each: false ends the walk. */
typedef bool (*each_proposal)(void *context, glassine_bundle *bundle, const proposal *it);

static bool is_keepers(const glassine_bundle *bundle, uint32_t slip) {
    return gl_span_is(gl_store_person(bundle->store, gl_store_at(bundle->store, slip)->author),
                      bundle->about.keeper);
}

/* Standing words of others on setting the record aside, other than what is so. Where the keeper answered,
 * these are followed by the answer and stand no more. */
static glassine_status walk_aside(glassine_bundle *bundle, glassine_record *record, each_proposal each,
                                  void *context, bool *on, glassine_error *error) {
    const gl_reading *reading;
    glassine_status status = gl_record_reading(bundle, record, &reading, error);
    if (status)
        return status;
    bool now = glassine_record_set_aside(bundle, record);
    const gl_read_field *end, *field = gl_reading_named(reading, GL_SPAN("set_aside"), &end);
    for (; field < end; field++)
        for (uint32_t i = 0; *on && i < field->said_count; i++) {
            bool aside = gl_json_true(gl_read_value(field, i));
            if (!is_keepers(bundle, gl_read_said(field, i)->slip) && aside != now)
                *on = each(context, bundle, &(proposal){gl_read_said(field, i)->slip, record, false, aside});
        }
    return GLASSINE_OK;
}

/* Are all that it names one already? */
static bool is_joined(const gl_joins *joins, glassine_value records) {
    gl_span name, item, first = GL_NO_SPAN;
    gl_json_walk walk = gl_json_walk_of(records);
    while (gl_json_next(&walk, &name, &item)) {
        gl_span stands = gl_joins_of(joins, gl_json_raw(item));
        if (first.text && !gl_span_equal(first, stands))
            return false;
        first = stands;
    }
    return true;
}

static glassine_status walk_join(glassine_bundle *bundle, glassine_record *record, each_proposal each,
                                 void *context, bool *on, glassine_error *error) {
    const gl_joins *joins;
    const gl_reading *reading;
    bool contested;
    glassine_status status = gl_bundle_joins(bundle, &joins, error);
    if (!status)
        status = gl_record_reading(bundle, record, &reading, error);
    glassine_value withdrawn = glassine_record_get(bundle, record, "withdrawn", &contested);
    const gl_read_field *field =
        status ? NULL : gl_reading_field(reading, GL_SPAN("records"), GLASSINE_SHARED);
    if (status || contested || gl_json_true(withdrawn) || glassine_record_set_aside(bundle, record) ||
        !field || field->contested || gl_json_kind_of(gl_read_value(field, 0)) != GL_JSON_ARRAY ||
        is_keepers(bundle, gl_read_said(field, 0)->slip) || is_joined(joins, gl_read_value(field, 0)))
        return status;
    *on = each(context, bundle, &(proposal){gl_read_said(field, 0)->slip, record, true, false});
    return GLASSINE_OK;
}

static glassine_status walk(glassine_bundle *bundle, each_proposal each, void *context,
                            glassine_error *error) {
    glassine_cursor *cursor;
    bool on = true;
    glassine_status status = glassine_cursor_new(bundle, NULL, true, &cursor, error);
    for (glassine_record *record; !status && on && (record = glassine_cursor_next(cursor));) {
        status = walk_aside(bundle, record, each, context, &on, error);
        if (!status && on && gl_span_is(glassine_record_type(bundle, record), "join"))
            status = walk_join(bundle, record, each, context, &on, error);
    }
    glassine_cursor_free(cursor);
    return status;
}

/* ------------------------------------------------------------------------------------------------ listing */

typedef struct listing {
    glassine_node *table;
    size_t count;
} listing;

static void add_what(glassine_bundle *bundle, const proposal *it, gl_buf *out) {
    if (!it->join) {
        gl_buf_add_text(out, it->aside ? "set aside " : "take back ");
        gl_record_shown(bundle, it->record, out);
        return;
    }
    gl_span name, item;
    const char *between = "join ";
    gl_json_walk records = gl_json_walk_of(glassine_record_get(bundle, it->record, "records", NULL));
    while (gl_json_next(&records, &name, &item)) {
        glassine_record *one = glassine_bundle_record(bundle, gl_json_raw(item), GL_NO_SPAN);
        gl_buf_add_text(out, between);
        if (one)
            gl_record_shown(bundle, one, out);
        else
            gl_buf_add(out, gl_json_raw(item));
        between = " and ";
    }
}

static bool list_one(void *context, glassine_bundle *bundle, const proposal *it) {
    listing *all = context;
    glassine_slip slip = glassine_bundle_slip(bundle, it->slip);
    glassine_record *person = glassine_bundle_record(bundle, slip.by, GL_NO_SPAN);
    gl_buf what = GL_BUF_EMPTY;
    add_what(bundle, it, &what);
    glassine_node *row = glassine_node_object(all->table, NULL, NULL);
    glassine_node_text(row, "proposal", "proposal", (gl_span){slip.digest, SHOWN_DIGITS});
    glassine_node_string(row, "kind", NULL, it->join ? "join" : it->aside ? "set_aside" : "take_back");
    glassine_node_text(row, "record", NULL, gl_record_id(bundle, it->record));
    glassine_node_string(row, "what", "what", what.failed || !what.text ? "" : what.text);
    glassine_node_text(row, "by", NULL, slip.by);
    glassine_node_text(row, "by_name", "by", person ? glassine_record_label(bundle, person) : slip.by);
    glassine_node_text(row, "at", "at", slip.at);
    glassine_node_text(row, "why", "why", slip.why);
    gl_buf_free(&what);
    all->count++;
    return true;
}

glassine_status glassine_proposed(glassine_bundle *bundle, glassine_report *report, glassine_error *error) {
    glassine_node *result = glassine_report_result(report);
    listing all = {.table = glassine_node_table(result, "proposed", "")};
    glassine_status status = walk(bundle, list_one, &all, error);
    if (status)
        return status;
    if (all.count)
        glassine_report_attention(report);
    else
        glassine_node_say(result, "Nothing is proposed.");
    return gl_bundle_end(bundle, report, GLASSINE_OK, error);
}

/* --------------------------------------------------------------------------------------------- taking up */

typedef struct looking {
    gl_span typed;
    proposal found;
    size_t count;
} looking;

static bool look_at_one(void *context, glassine_bundle *bundle, const proposal *it) {
    looking *search = context;
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&gl_store_at(bundle->store, it->slip)->digest, hex);
    if (!gl_span_starts(gl_span_of(hex), search->typed))
        return true;
    search->found = *it;
    search->count++;
    return true;
}

static glassine_status find_proposal(glassine_bundle *bundle, const char *typed, proposal *found,
                                     glassine_error *error) {
    looking search = {.typed = gl_span_of(typed)};
    glassine_status status =
        search.typed.length < TYPED_LEAST ? GLASSINE_OK : walk(bundle, look_at_one, &search, error);
    if (status || search.count == 1) {
        *found = search.found;
        return status;
    }
    gl_fail(error, GLASSINE_REFUSED, search.count ? "R033" : "R034", bundle->path, "%s goes by \"%s\"",
            search.count ? "more than one proposal" : "no proposal", typed);
    gl_error_remedy(error, "`glassine proposed` lists them; six digits or more");
    return GLASSINE_REFUSED;
}

static glassine_status join_too(glassine_draft *draft, const proposal *it, glassine_record **record,
                                glassine_error *error) {
    gl_span name, item;
    gl_buf list = GL_BUF_EMPTY;
    gl_json_walk records = gl_json_walk_of(glassine_record_get(draft->bundle, it->record, "records", NULL));
    while (gl_json_next(&records, &name, &item)) {
        if (list.length)
            gl_buf_add_char(&list, ',');
        gl_buf_add(&list, gl_json_raw(item));
    }
    const glassine_assignment field = {"records", list.text, NULL};
    glassine_status status = list.failed
                                 ? gl_fail_memory(error)
                                 : glassine_draft_enter(draft, "join", &field, 1, NULL, record, error);
    gl_buf_free(&list);
    return status;
}

glassine_status glassine_draft_adopt(glassine_draft *draft, const char *typed, glassine_record **record,
                                     glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    proposal it = {0};
    *record = NULL;
    if (!gl_span_is(gl_span_of(draft->by), bundle->about.keeper)) {
        gl_fail(error, GLASSINE_REFUSED, "R048", bundle->path,
                "only the keeper takes up what others propose");
        gl_error_remedy(error, "Ask the keeper");
        return GLASSINE_REFUSED;
    }
    glassine_status status = find_proposal(bundle, typed, &it, error);
    if (status)
        return status;
    if (it.join)
        return join_too(draft, &it, record, error);
    *record = it.record;
    status = gl_draft_slip(draft, gl_record_id(bundle, it.record), GLASSINE_SHARED,
                           it.aside ? GL_SPAN("{\"set_aside\":true}") : GL_SPAN("{\"set_aside\":false}"),
                           GL_NO_SPAN, NULL, error);
    return status ? status : gl_bundle_index(bundle, error);
}
