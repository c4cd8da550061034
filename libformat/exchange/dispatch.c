/* Dispatching: a bundle of chosen items for somebody, and the `sent` event in both. */
#include <stdio.h>
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/file.h"
#include "exchange/carry.h"
#include "exchange/dispatch.h"
#include "exchange/letter.h"
#include "exchange/sign.h"

static glassine_status add_item(gl_dispatching *it, glassine_record *item, glassine_error *error) {
    for (size_t i = 0; i < it->item_count; i++)
        if (it->items[i] == item)
            return GLASSINE_OK;
    size_t room = it->item_count;
    if ((room & (room - 1)) == 0) {
        void *grown = realloc(it->items, (room ? room * 2 : 1) * sizeof *it->items);
        if (!grown)
            return gl_fail_memory(error);
        it->items = grown;
    }
    it->items[it->item_count++] = item;
    return GLASSINE_OK;
}

static glassine_status add_selection(gl_dispatching *it, glassine_error *error) {
    glassine_record *selection;
    glassine_status status =
        glassine_bundle_find(it->bundle, "selection", it->options->selection, &selection, error);
    if (status)
        return status;
    glassine_value list = glassine_record_get(it->bundle, selection, "items", NULL), item;
    size_t at = 0;
    while (!status && list.text && glassine_value_next(list, &at, NULL, &item)) {
        glassine_record *record = glassine_bundle_record(it->bundle, gl_json_raw(item), GL_NO_SPAN);
        if (record)
            status = add_item(it, record, error);
    }
    return status;
}

static glassine_status choose(gl_dispatching *it, glassine_error *error) {
    glassine_status status = glassine_bundle_find(it->bundle, "contributor", it->options->to, &it->to, error);
    for (size_t i = 0; i < it->options->item_count && !status; i++) {
        glassine_record *item;
        status = glassine_bundle_find(it->bundle, "item", it->options->items[i], &item, error);
        if (!status)
            status = add_item(it, item, error);
    }
    if (!status && it->options->selection)
        status = add_selection(it, error);
    if (!status && !it->item_count) {
        status = gl_fail(error, GLASSINE_REFUSED, NULL, it->bundle->path, "there is no item to send");
        gl_error_remedy(error, "Name some with --items, or a selection with --selection");
    }
    return status;
}

static bool goes(void *context, uint32_t slip) {
    gl_dispatching *it = context;
    const gl_slip *said = gl_store_at(it->bundle->store, slip);
    glassine_record *record = gl_bundle_record_of_slip(it->bundle, slip);
    gl_span type = glassine_record_type(it->bundle, record);
    return gl_closure_has(&it->closure, record) &&
           gl_leaves(type, (glassine_reach)said->reach, it->options->blind);
}

/* Name and key: of the one it is for, the keeper, and who sends it, whoever speaks in what goes. */
static bool is_party(void *context, uint32_t slip) {
    gl_dispatching *it = context;
    const gl_slip *said = gl_store_at(it->bundle->store, slip);
    gl_span id = gl_store_record(it->bundle->store, said->record)->id;
    return said->reach == GLASSINE_SHARED &&
           (gl_span_is(id, it->bundle->about.keeper) || gl_span_is(id, it->draft->own) ||
            gl_span_equal(id, gl_record_id(it->bundle, it->to)));
}

static glassine_status fill(gl_dispatching *it, glassine_error *error) {
    size_t added;
    glassine_status status = gl_carry_slips(it->make.draft, it->bundle, goes, it, &it->slips, error);
    if (!status)
        status = gl_carry_slips(it->make.draft, it->bundle, is_party, it, &added, error);
    it->slips += status ? 0 : added;
    return status ? status : gl_carry_signatures(it->make.draft, it->bundle, &added, error);
}

/* Scans, and the records of what copies are made of them. */
static glassine_status add_scans(gl_dispatching *it, glassine_error *error) {
    uint32_t before = gl_store_count(it->make.bundle->store);
    gl_buf left = it->copies.left;
    gl_buf_clear(&left);
    it->copies = (gl_copies){.from = it->draft,
                             .to = it->make.draft,
                             .scans = it->options->scans,
                             .limit = it->limit,
                             .keep_metadata = it->options->keep_metadata,
                             .blind = it->options->blind,
                             .progress = it->options->progress,
                             .context = it->options->context,
                             .left = left};
    glassine_status status = gl_copies_send(&it->copies, error);
    it->slips += gl_store_count(it->make.bundle->store) - before;
    return status;
}

static void add_id(gl_buf *out, gl_span id) {
    if (out->length)
        gl_buf_add_char(out, ',');
    gl_buf_add(out, id);
}

/* The chosen items, and the stamps that are asked about, as lists for the event. */
static glassine_status list_ids(gl_dispatching *it, gl_buf *items, gl_buf *stamps, glassine_error *error) {
    gl_span *ids = calloc(it->item_count, sizeof *ids), *asked;
    size_t count = 0;
    if (!ids)
        return gl_fail_memory(error);
    for (size_t i = 0; i < it->item_count; i++) {
        ids[i] = gl_record_id(it->bundle, it->items[i]);
        add_id(items, ids[i]);
    }
    glassine_status status = gl_letter_stamps(it->make.bundle, ids, it->item_count, &asked, &count, error);
    for (size_t i = 0; i < count && !status; i++)
        add_id(stamps, asked[i]);
    free(ids);
    return !status && (items->failed || stamps->failed) ? gl_fail_memory(error) : status;
}

/* The `sent` event: entered in the bundle that sends, and its slips carried into the one that goes. */
static glassine_status enter_event(gl_dispatching *it, glassine_error *error) {
    char digest[GL_HEX_SIZE], on[GL_TIME_SIZE], to[GL_PERSON_SIZE];
    gl_buf items = GL_BUF_EMPTY, stamps = GL_BUF_EMPTY;
    glassine_bundle_digest(it->make.bundle, digest);
    gl_time_print(gl_clock_now(), on);
    on[10] = '\0'; /* the day */
    snprintf(to, sizeof to, "%.*s", GL_SPAN_ARGS(gl_record_id(it->bundle, it->to)));
    glassine_status status = list_ids(it, &items, &stamps, error);
    glassine_assignment fields[8] = {{"kind", "sent", NULL},
                                     {"items", items.text, NULL},
                                     {"on", on, NULL},
                                     {"contributor", to, NULL},
                                     {"digest", digest, NULL}};
    size_t count = 5;
    if (stamps.length)
        fields[count++] = (glassine_assignment){"stamps", stamps.text, NULL};
    if (it->options->blind)
        fields[count++] = (glassine_assignment){"blind", "yes", NULL};
    if (it->options->ask && *it->options->ask)
        fields[count++] = (glassine_assignment){"note", it->options->ask, NULL};
    glassine_record *event;
    uint32_t from = gl_store_count(it->bundle->store);
    if (!status)
        status = gl_draft_enter_as(it->draft, it->event, fields, count, &event, error);
    gl_buf_free(&items);
    gl_buf_free(&stamps);
    for (uint32_t slip = from; !status && slip < gl_store_count(it->bundle->store); slip++) {
        bool fresh;
        status = gl_draft_add_line(it->make.draft, gl_store_line(it->bundle->store, slip), it->bundle->path,
                                   &fresh, error);
        it->slips += fresh;
    }
    if (!status)
        status = gl_bundle_index(it->make.bundle, error);
    if (!status)
        status = gl_draft_sign(it->draft, error);
    size_t ignored;
    return status ? status : gl_carry_signatures(it->make.draft, it->bundle, &ignored, error);
}

static glassine_status begin_make(gl_dispatching *it, glassine_error *error) {
    char uuid[GL_UUID_SIZE], to[GL_PERSON_SIZE];
    if (!gl_uuid_new(uuid))
        return gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "the system gives no random numbers");
    snprintf(it->event, sizeof it->event, "event/%s", uuid);
    snprintf(to, sizeof to, "%.*s", GL_SPAN_ARGS(gl_record_id(it->bundle, it->to)));
    gl_about about = {.keeper = it->bundle->about.keeper,
                      .title = it->bundle->about.title,
                      .answer_by = to,
                      .event = it->event,
                      .blind = it->options->blind};
    glassine_status status = gl_make_new(&it->make, it->path.text, &about, error);
    if (status)
        return status;
    it->make.bundle->key = it->bundle->key;
    memcpy(it->make.draft->own, it->draft->own, sizeof it->draft->own);
    return gl_draft_sign(it->draft, error); /* so that the key goes with what it signs */
}

/* All of it into temporary files, nothing saved yet. */
static glassine_status make(gl_dispatching *it, glassine_error *error) {
    glassine_status status = begin_make(it, error);
    if (!status)
        status = fill(it, error);
    if (!status)
        status = add_scans(it, error);
    if (!status)
        status = enter_event(it, error);
    if (!status)
        status = gl_draft_vouch(it->make.draft, it->bundle, error);
    if (!status)
        status = gl_make_save(&it->make, "sent", error);
    return status ? status : gl_dispatch_make_rest(it, error);
}

/* A try with this limit; what an earlier one made is dropped. */
static glassine_status measure(void *context, uint32_t limit, uint64_t *bytes, glassine_error *error) {
    gl_dispatching *it = context;
    gl_make_free(&it->make);
    gl_draft_clear(it->draft);
    it->limit = limit;
    glassine_status status = make(it, error);
    return status ? status : gl_dispatch_size(it, bytes, error);
}

static glassine_status fit(gl_dispatching *it, glassine_error *error) {
    enum { FINENESS = 20 };
    uint32_t most = gl_copies_longest(it->bundle, it->closure.records, it->closure.count), limit;
    if (it->options->scan_limit && it->options->scan_limit < most)
        most = it->options->scan_limit;
    most = (most + FINENESS - 1) / FINENESS * FINENESS;
    glassine_status status = glassine_limit_fit(most, it->options->size_limit, measure, it, &limit, error);
    if (status || limit)
        return status;
    gl_fail(error, GLASSINE_REFUSED, NULL, it->bundle->path,
            "it does not fit into %llu bytes, however small the pictures are",
            (unsigned long long)it->options->size_limit);
    gl_error_remedy(error, "Send fewer items at once, or --scans none");
    return GLASSINE_REFUSED;
}

static glassine_status send(gl_dispatching *it, glassine_report *report, glassine_error *error) {
    glassine_status status = it->options->size_limit ? fit(it, error) : make(it, error);
    if (!status)
        status = gl_dispatch_publish(it, error);
    if (status)
        return status;
    status = gl_draft_save(it->draft, it->options->note ? it->options->note : "sent", &it->sent, error);
    if (!it->sent) {
        gl_file_remove(it->path.text);
        return status;
    }
    if (!status && report)
        gl_dispatch_tell(it, report);
    return gl_bundle_end_written(it->bundle, report, status, it->path.text, "is written and noted as sent",
                                 error);
}

glassine_status glassine_dispatch(glassine_draft *draft, const glassine_dispatch_options *options,
                                  const char *out, glassine_report *report, glassine_error *error) {
    gl_dispatching it = {
        .draft = draft, .bundle = draft->bundle, .options = options, .limit = options->scan_limit};
    glassine_status status = choose(&it, error);
    if (!status)
        status = gl_closure_make(&it.closure, it.bundle, it.items, it.item_count, options->blind, error);
    if (!status)
        status = gl_dispatch_place(&it, out, error);
    if (!status)
        status = send(&it, report, error);
    gl_make_free(&it.make); /* its temporary file is in the folder */
    if (status && !it.sent) {
        gl_draft_clear(draft);
        gl_dispatch_take_away(&it);
    }
    gl_closure_free(&it.closure);
    gl_dispatch_free(&it);
    free(it.items);
    return status;
}
