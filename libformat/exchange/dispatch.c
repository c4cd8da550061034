/* Dispatching: a bundle of chosen items for somebody, and the `sent` event in both. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/file.h"
#include "exchange/carry.h"
#include "exchange/closure.h"
#include "exchange/letter.h"
#include "exchange/sign.h"

typedef struct dispatching {
    glassine_draft *draft; /* of the bundle that sends */
    glassine_bundle *bundle;
    const glassine_dispatch_options *options;
    glassine_record *to;
    glassine_record **items;
    size_t item_count;
    gl_closure closure;
    char event[6 + 36 + 1];
    gl_make make;
    size_t slips, scans;
} dispatching;

static glassine_status add_item(dispatching *it, glassine_record *item, glassine_error *error) {
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

static glassine_status add_selection(dispatching *it, glassine_error *error) {
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

static glassine_status choose(dispatching *it, glassine_error *error) {
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
    dispatching *it = context;
    const gl_slip *said = gl_store_at(it->bundle->store, slip);
    glassine_record *record = gl_bundle_record_of_slip(it->bundle, slip);
    gl_span type = glassine_record_type(it->bundle, record);
    return gl_closure_has(&it->closure, record) &&
           gl_leaves(type, (glassine_reach)said->reach, it->options->blind);
}

/* Name and key: of the one it is for, the keeper, and who sends it, whoever speaks in what goes. */
static bool is_party(void *context, uint32_t slip) {
    dispatching *it = context;
    const gl_slip *said = gl_store_at(it->bundle->store, slip);
    gl_span id = gl_store_record(it->bundle->store, said->record)->id;
    return said->reach == GLASSINE_SHARED &&
           (gl_span_is(id, it->bundle->about.keeper) || gl_span_is(id, it->draft->own) ||
            gl_span_equal(id, gl_record_id(it->bundle, it->to)));
}

static glassine_status fill(dispatching *it, glassine_error *error) {
    size_t added;
    glassine_status status = gl_carry_slips(it->make.draft, it->bundle, goes, it, &it->slips, error);
    if (!status)
        status = gl_carry_slips(it->make.draft, it->bundle, is_party, it, &added, error);
    it->slips += status ? 0 : added;
    if (!status)
        status = gl_carry_signatures(it->make.draft, it->bundle, &added, error);
    return status ? status : gl_carry_scans(it->make.draft, it->bundle, &it->scans, error);
}

static void add_id(gl_buf *out, gl_span id) {
    if (out->length)
        gl_buf_add_char(out, ',');
    gl_buf_add(out, id);
}

/* The chosen items, and the stamps that are asked about, as lists for the event. */
static glassine_status list_ids(dispatching *it, gl_buf *items, gl_buf *stamps, glassine_error *error) {
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
static glassine_status enter_event(dispatching *it, glassine_error *error) {
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

static glassine_status begin_make(dispatching *it, const char *path, glassine_error *error) {
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
    glassine_status status = gl_make_new(&it->make, path, &about, error);
    if (status)
        return status;
    it->make.bundle->key = it->bundle->key;
    memcpy(it->make.draft->own, it->draft->own, sizeof it->draft->own);
    return gl_draft_sign(it->draft, error); /* so that the key goes with what it signs */
}

/* "FOLDER/": the folder is made, the bundle lies in it under its own name. */
static glassine_status place_of_bundle(const char *out, gl_buf *path, bool *folder, glassine_error *error) {
    size_t length = strlen(out);
    *folder = length && out[length - 1] == '/';
    gl_buf_add_text(path, out);
    if (!*folder)
        return path->failed ? gl_fail_memory(error) : GLASSINE_OK;
    int code = gl_file_make_folder(out);
    if (code == EEXIST) {
        *folder = false;
        gl_fail(error, GLASSINE_REFUSED, NULL, out, "the folder is there already");
        gl_error_remedy(error, "Choose another name, or move it away");
        return GLASSINE_REFUSED;
    }
    if (code) {
        *folder = false;
        return gl_fail_making(error, code, out, "cannot be made");
    }
    gl_span name = gl_path_name(gl_span_part(gl_span_of(out), 0, length - 1).text);
    while (name.length && name.text[name.length - 1] == '/')
        name.length--;
    gl_buf_add(path, name);
    gl_buf_add_text(path, ".glassine");
    return path->failed ? gl_fail_memory(error) : GLASSINE_OK;
}

static glassine_status write_letter(dispatching *it, const char *folder, const char *bundle_path,
                                    glassine_error *error) {
    gl_buf text = GL_BUF_EMPTY, path = GL_BUF_EMPTY;
    gl_span *ids = calloc(it->item_count, sizeof *ids);
    if (!ids)
        return gl_fail_memory(error);
    for (size_t i = 0; i < it->item_count; i++)
        ids[i] = gl_record_id(it->bundle, it->items[i]);
    glassine_status status = gl_letter_write(it->make.bundle, ids, it->item_count, it->options->ask,
                                             gl_path_name(bundle_path), &text, error);
    free(ids);
    gl_buf_printf(&path, "%sletter.txt", folder);
    if (!status && (text.failed || path.failed))
        status = gl_fail_memory(error);
    int code = status ? 0 : gl_file_write_all(path.text, gl_buf_span(&text), true);
    if (code)
        status = gl_fail_system(error, code, path.text, "cannot be written");
    gl_buf_free(&text);
    gl_buf_free(&path);
    return status;
}

/* The folder that this call made: with the letter, if that was written. */
static void take_folder_away(const char *folder) {
    gl_buf letter = GL_BUF_EMPTY;
    gl_buf_printf(&letter, "%sletter.txt", folder);
    if (!letter.failed)
        gl_file_remove(letter.text);
    gl_buf_free(&letter);
    rmdir(folder);
}

static void report_sending(const dispatching *it, const char *path, bool letter, glassine_report *report) {
    glassine_node *result = glassine_report_result(report);
    glassine_report_about(report, it->bundle->path, it->bundle->edition);
    glassine_node_string(result, "written", "written", path);
    glassine_node_text(result, "to", NULL, gl_record_id(it->bundle, it->to));
    glassine_node_text(result, "to_name", "for", glassine_record_label(it->bundle, it->to));
    glassine_node_string(result, "event", NULL, it->event);
    glassine_node_string(result, "bundle_uuid", NULL, it->make.bundle->about.uuid);
    glassine_node_truth(result, "blind", "blind", it->options->blind);
    glassine_node_integer(result, "items", "items", (int64_t)it->item_count);
    glassine_node_integer(result, "slips", "slips", (int64_t)it->slips);
    glassine_node_integer(result, "scans", "scans", (int64_t)it->scans);
    glassine_node_truth(result, "letter", NULL, letter);
    if (letter)
        glassine_node_say(result, "letter.txt beside it has numbered questions to paste into an e-mail.");
    glassine_node_say(result, "Private fields stayed behind%s.",
                      it->options->blind ? ", and so did claims, opinions and whatever might tell a position"
                                         : "");
}

static glassine_status send(dispatching *it, const char *out, const char *path, bool folder,
                            glassine_report *report, glassine_error *error) {
    glassine_status status = begin_make(it, path, error);
    if (!status)
        status = fill(it, error);
    if (!status)
        status = enter_event(it, error);
    if (!status)
        status = gl_draft_vouch(it->make.draft, it->bundle, error);
    if (!status)
        status = glassine_draft_save(it->make.draft, "sent", error);
    if (!status)
        status = gl_make_publish(&it->make, false, error);
    if (!status && folder)
        status = write_letter(it, out, path, error);
    if (!status) {
        status = glassine_draft_save(it->draft, it->options->note ? it->options->note : "sent", error);
        if (status)
            gl_file_remove(path);
    }
    if (!status && report)
        report_sending(it, path, folder, report);
    return status;
}

glassine_status glassine_dispatch(glassine_draft *draft, const glassine_dispatch_options *options,
                                  const char *out, glassine_report *report, glassine_error *error) {
    dispatching it = {.draft = draft, .bundle = draft->bundle, .options = options};
    gl_buf path = GL_BUF_EMPTY;
    bool folder = false;
    glassine_status status = choose(&it, error);
    if (!status)
        status = gl_closure_make(&it.closure, it.bundle, it.items, it.item_count, options->blind, error);
    if (!status)
        status = place_of_bundle(out, &path, &folder, error);
    if (!status)
        status = send(&it, out, path.text, folder, report, error);
    if (status) {
        gl_draft_clear(draft);
        if (folder)
            take_folder_away(out);
    }
    gl_make_free(&it.make);
    gl_closure_free(&it.closure);
    gl_buf_free(&path);
    free(it.items);
    return status;
}
