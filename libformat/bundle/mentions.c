#include "bundle/mentions.h"

#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/text.h"
#include "base/work.h"

/* Records of one job, and jobs whose mentions are in memory together. */
enum { TOGETHER = 1024, JOBS_MOST = 32 };

/* What one job gathers. */
typedef struct basket {
    gl_arena *arena; /* of labels */
    gl_mention *list;
    size_t count, room;
    gl_buf text, folded; /* of the label at hand */
    bool failed;
} basket;

typedef struct gathering {
    const glassine_bundle *bundle;
    glassine_record *const *records;
    size_t count;
    basket baskets[JOBS_MOST];
} gathering;

bool gl_is_label_field(const glassine_type_info *info, gl_span name) {
    if (info)
        return info->label && gl_span_is(name, info->label);
    return gl_span_is(name, "label") || gl_span_is(name, "name");
}

static void add(basket *to, gl_mention mention) {
    gl_mention *grown = gl_grow(to->list, &to->room, to->count + 1, sizeof *grown);
    to->failed = to->failed || !grown || !mention.text.text;
    if (!grown)
        return;
    to->list = grown;
    to->list[to->count++] = mention;
}

static void add_label(basket *to, glassine_record *record, gl_span value) {
    if (gl_json_kind_of(value) != GL_JSON_STRING)
        return;
    gl_buf_clear(&to->text);
    gl_buf_clear(&to->folded);
    gl_json_add_decoded(&to->text, value);
    gl_text_add_folded(&to->folded, gl_buf_span(&to->text));
    to->failed = to->failed || to->text.failed || to->folded.failed;
    if (!to->failed)
        add(to, (gl_mention){.record = record,
                             .text = gl_arena_copy(to->arena, gl_buf_span(&to->folded)),
                             .subject = GL_NONE,
                             .is_label = true});
}

/* TYPE/UUID has a slash just there, and little else has. */
static bool may_be_id(gl_span text) {
    return text.length > GL_UUID_SIZE && text.text[text.length - GL_UUID_SIZE] == '/';
}

static void add_reference(basket *to, const gl_store *store, glassine_record *record, gl_span value) {
    gl_span id = gl_json_raw(value);
    if (may_be_id(id))
        add(to, (gl_mention){.record = record, .text = id, .subject = gl_store_record_find(store, id)});
}

static void add_references(basket *to, const gl_store *store, glassine_record *record, gl_span value) {
    if (gl_json_kind_of(value) != GL_JSON_ARRAY) {
        add_reference(to, store, record, value);
        return;
    }
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    while (gl_json_next(&walk, &name, &item))
        add_reference(to, store, record, item);
}

static void gather_from(const glassine_bundle *bundle, glassine_record *record, basket *to) {
    const glassine_type_info *info = glassine_record_info(bundle, record);
    for (uint32_t slip = gl_record_newest(bundle, record); slip != GL_NONE;
         slip = gl_record_before(bundle, record, slip)) {
        gl_span name, value;
        gl_json_walk walk = gl_json_walk_of(gl_slip_set(gl_store_line(bundle->store, slip)));
        while (gl_json_next(&walk, &name, &value)) {
            if (gl_is_label_field(info, name))
                add_label(to, record, value);
            add_references(to, bundle->store, record, value);
        }
    }
}

static void gather_some(void *context, size_t index) {
    gathering *it = context;
    basket *to = &it->baskets[index];
    size_t end = (index + 1) * TOGETHER < it->count ? (index + 1) * TOGETHER : it->count;
    to->arena = gl_arena_new();
    to->failed = !to->arena;
    for (size_t i = index * TOGETHER; i < end && !to->failed; i++) {
        gl_records_expect(it->bundle, it->records, it->count, i);
        gather_from(it->bundle, it->records[i], to);
    }
    gl_buf_free(&to->text);
    gl_buf_free(&to->folded);
}

/* Hands on what a job gathered, and empties its basket. */
static bool hand_on(basket *from, gl_arena *arena, bool (*each)(void *context, const gl_mention *mention),
                    void *context) {
    bool done = !from->failed;
    gl_arena_take(arena, from->arena);
    for (size_t i = 0; i < from->count && done; i++)
        done = each(context, &from->list[i]);
    free(from->list);
    *from = (basket){0};
    return done;
}

bool gl_mentions_gather(const glassine_bundle *bundle, glassine_record *const *records, size_t count,
                        gl_arena *arena, bool (*each)(void *context, const gl_mention *mention),
                        void *context) {
    gathering it = {.bundle = bundle};
    bool done = true;
    for (size_t at = 0; at < count && done; at += it.count) {
        it.records = records + at;
        it.count = count - at < (size_t)TOGETHER * JOBS_MOST ? count - at : (size_t)TOGETHER * JOBS_MOST;
        size_t jobs = (it.count + TOGETHER - 1) / TOGETHER;
        gl_work(jobs, gather_some, &it);
        for (size_t i = 0; i < jobs; i++)
            done = hand_on(&it.baskets[i], arena, each, context) && done;
    }
    return done;
}
