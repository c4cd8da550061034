/* Replying: what somebody added since a dispatch came, as a small bundle. */
#include <stdio.h>

#include "base/error.h"
#include "exchange/carry.h"
#include "exchange/closure.h"
#include "exchange/sent.h"
#include "exchange/sign.h"

typedef struct replying {
    glassine_bundle *bundle;
    const char *by;
    glassine_record *event; /* the `sent` one that is answered */
    bool whole;             /* the bundle is the dispatch itself: everything that was added counts */
    uint32_t since;         /* the edition that brought the event; what is later counts */
    gl_closure closure;     /* of the event's items, where not `whole` */
    gl_make make;
    size_t slips, scans;
} replying;

/* The only unanswered dispatch that was sent to the one who replies. */
static glassine_status find_sent(replying *it, glassine_error *error) {
    glassine_cursor *cursor;
    size_t found = 0;
    glassine_status status = glassine_cursor_new(it->bundle, "event", false, &cursor, error);
    for (glassine_record *event; !status && (event = glassine_cursor_next(cursor));) {
        bool answered;
        if (!gl_event_is(it->bundle, event, "sent") ||
            !gl_span_is(glassine_record_text(it->bundle, event, "contributor"), it->by))
            continue;
        status = gl_sent_answered(it->bundle, event, &answered, error);
        if (status || answered)
            continue;
        it->event = event;
        found++;
    }
    glassine_cursor_free(cursor);
    if (status || found == 1)
        return status;
    gl_fail(error, GLASSINE_REFUSED, NULL, it->bundle->path,
            found ? "%zu dispatches to you are unanswered" : "no dispatch to you is unanswered (%zu)", found);
    gl_error_remedy(error,
                    "Say which `sent` event is answered with --answers; `glassine pending` lists them");
    return GLASSINE_REFUSED;
}

/* The edition that brought the first slip on the event. */
static uint32_t edition_of(const glassine_bundle *bundle, const glassine_record *record) {
    uint32_t first = UINT32_MAX;
    for (uint32_t slip = gl_store_record(bundle->store, record->subject)->last; slip != GL_NONE;
         slip = gl_store_at(bundle->store, slip)->previous)
        if (gl_store_at(bundle->store, slip)->edition < first)
            first = gl_store_at(bundle->store, slip)->edition;
    return first;
}

static glassine_status find_event(replying *it, const char *event, glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    glassine_status status = GLASSINE_OK;
    const char *own = bundle->about.event;
    if (event)
        status = glassine_bundle_find(bundle, "event", event, &it->event, error);
    else if (own)
        it->event = glassine_bundle_record(bundle, gl_span_of(own), GL_NO_SPAN);
    if (!status && !it->event)
        status = find_sent(it, error);
    if (status)
        return status;
    it->whole = own && gl_span_is(gl_record_id(bundle, it->event), own) && bundle->about.answer_by != NULL;
    it->since = it->whole ? 1 : edition_of(bundle, it->event);
    return GLASSINE_OK;
}

static glassine_status reach_items(replying *it, glassine_error *error) {
    glassine_value list = glassine_record_get(it->bundle, it->event, "items", NULL), item;
    size_t at = 0, count = 0, room = gl_json_count(list);
    glassine_record **items = GL_ARENA_ARRAY(it->bundle->arena, glassine_record *, room + 1);
    if (!items)
        return gl_fail_memory(error);
    while (list.text && glassine_value_next(list, &at, NULL, &item)) {
        glassine_record *record = glassine_bundle_record(it->bundle, gl_json_raw(item), GL_NO_SPAN);
        if (record)
            items[count++] = record;
    }
    return gl_closure_make(&it->closure, it->bundle, items, count, false, error);
}

static bool goes_back(void *context, uint32_t slip) {
    replying *it = context;
    const gl_slip *said = gl_store_at(it->bundle->store, slip);
    glassine_slip view = glassine_bundle_slip(it->bundle, slip);
    glassine_record *record = gl_bundle_record_of_slip(it->bundle, slip);
    bool mine = gl_span_is(view.by, it->by) || gl_span_is(view.via, it->by);
    bool later = it->whole ? said->edition > it->since : said->edition >= it->since;
    return mine && later && said->reach != GLASSINE_PRIVATE &&
           (it->whole || gl_closure_has(&it->closure, record));
}

/* By which key the answers are signed goes back with them, whenever it was said. */
static bool gives_own_key(void *context, uint32_t slip) {
    const replying *it = context;
    const gl_slip *said = gl_store_at(it->bundle->store, slip);
    gl_span id = gl_store_record(it->bundle->store, said->record)->id;
    return said->reach == GLASSINE_SHARED && gl_span_is(id, it->by) &&
           gl_span_is(gl_store_person(it->bundle->store, said->author), it->by) &&
           gl_trust_touched_by(id, gl_store_line(it->bundle->store, slip));
}

/* The latest time of what goes back: so that the event's slip, too, follows from the answers alone. */
static gl_span latest_time(const glassine_bundle *made) {
    gl_span latest = GL_SPAN("1970-01-01T00:00:00Z");
    for (uint32_t slip = 0; slip < gl_store_count(made->store); slip++) {
        gl_slip_view view;
        gl_slip_look(gl_store_line(made->store, slip), &view);
        gl_span at = gl_json_raw(view.at);
        if (gl_span_compare(at, latest) > 0)
            latest = at;
    }
    return latest;
}

static glassine_status add_returned(replying *it, glassine_error *error) {
    gl_buf line = GL_BUF_EMPTY;
    gl_returned_slip(it->bundle, it->event, gl_span_of(it->by), GL_NO_SPAN, latest_time(it->make.bundle),
                     &line);
    bool added = false;
    glassine_status status = line.failed
                                 ? gl_fail_memory(error)
                                 : gl_draft_speak_line(it->make.draft, gl_buf_span(&line), &added, error);
    gl_buf_free(&line);
    return status ? status : gl_bundle_index(it->make.bundle, error);
}

static glassine_status fill(replying *it, glassine_error *error) {
    size_t ignored;
    glassine_status status = gl_carry_slips(it->make.draft, it->bundle, goes_back, it, &it->slips, error);
    if (!status && !it->slips) {
        status = gl_fail(error, GLASSINE_REFUSED, NULL, it->bundle->path,
                         "you added nothing since the dispatch came");
        gl_error_remedy(error, "Answer with `glassine claim`, or say with --by who answers");
    }
    if (!status)
        status = gl_carry_slips(it->make.draft, it->bundle, gives_own_key, it, &ignored, error);
    if (!status)
        status = add_returned(it, error);
    if (!status)
        status = gl_carry_signatures(it->make.draft, it->bundle, &ignored, error);
    return status ? status : gl_carry_scans(it->make.draft, it->bundle, &it->scans, error);
}

static void report_reply(const replying *it, const char *out, glassine_report *report) {
    glassine_node *result = glassine_report_result(report);
    glassine_report_about(report, it->bundle->path, it->bundle->edition);
    glassine_node_string(result, "written", "written", out);
    glassine_node_text(result, "answers", NULL, gl_record_id(it->bundle, it->event));
    glassine_node_string(result, "by", NULL, it->by);
    glassine_node_integer(result, "slips", "slips", (int64_t)it->slips);
    glassine_node_integer(result, "scans", "scans", (int64_t)it->scans);
}

glassine_status glassine_reply(glassine_bundle *bundle, const char *by, const char *event, const char *out,
                               glassine_report *report, glassine_error *error) {
    replying it = {.bundle = bundle, .by = by};
    glassine_status status = find_event(&it, event, error);
    if (!status && !it.whole)
        status = reach_items(&it, error);
    gl_span id = status ? GL_NO_SPAN : gl_record_id(bundle, it.event);
    char answered[64];
    snprintf(answered, sizeof answered, "%.*s", (int)id.length, id.length ? id.text : "");
    gl_about about = {.keeper = (char *)by,
                      .title = bundle->about.title,
                      .event = answered,
                      .answers = it.whole ? bundle->about.uuid : NULL};
    if (!status)
        status = gl_make_new(&it.make, out, &about, error);
    if (!status)
        it.make.bundle->key = bundle->key;
    if (!status)
        status = fill(&it, error);
    if (!status)
        status = gl_bundle_end(bundle, NULL, GLASSINE_OK, error);
    if (!status)
        status = gl_make_save(&it.make, "reply", error);
    if (!status)
        status = gl_make_publish(&it.make, false, error);
    if (!status && report) {
        report_reply(&it, out, report);
        status = gl_bundle_end_written(bundle, report, GLASSINE_OK, out, GL_STAYS_WHOLE, error);
    }
    gl_make_free(&it.make);
    if (it.closure.keys)
        gl_closure_free(&it.closure);
    return status;
}
