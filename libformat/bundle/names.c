/* Two indexes over the records: by label, and who refers to whom. Records wait until somebody has looked for one of their
 * type more than a few times; entries are only ever added, so what an index gives is checked against the record as it is
 * now. */
#include <stdlib.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/text.h"
#include "bundle/names.h"
#include "records/table.h"

typedef struct link {
    glassine_record *record;
    uint32_t next;
} link;

/* The records of a type that wait. */
typedef struct queue {
    glassine_record **list; /* of many it is made when it is wanted, and not kept */
    size_t listed, room;
    size_t count;
    unsigned looks; /* so often they were looked through */
} queue;

/* So many are indexed at once; of more, the first few look-ups look through all that wait. */
enum { MANY_WAIT = 1024, FEW_LOOKS = 3 };

struct gl_names {
    gl_arena *keys;
    gl_map *by_label, *by_reference;
    link *links;
    size_t link_count, link_room;
    /* one for each type, by its place in the table, and one more for types that are not in it */
    queue *waiting;
    gl_buf text, folded;     /* of a label that is being indexed */
    glassine_record **found; /* what the last look-up gave */
    size_t found_count, found_room;
};

struct gl_names *gl_names_new(void) {
    struct gl_names *names = calloc(1, sizeof *names);
    if (!names)
        return NULL;
    names->keys = gl_arena_new();
    names->by_label = gl_map_new();
    names->by_reference = gl_map_new();
    names->waiting = calloc(glassine_type_count() + 1, sizeof *names->waiting);
    if (!names->keys || !names->by_label || !names->by_reference || !names->waiting) {
        gl_names_free(names);
        return NULL;
    }
    return names;
}

void gl_names_free(struct gl_names *names) {
    if (!names)
        return;
    gl_map_free(names->by_label);
    gl_map_free(names->by_reference);
    gl_arena_free(names->keys);
    free(names->links);
    for (size_t i = 0; names->waiting && i <= glassine_type_count(); i++)
        free(names->waiting[i].list);
    free(names->waiting);
    gl_buf_free(&names->text);
    gl_buf_free(&names->folded);
    free(names->found);
    free(names);
}

bool gl_names_queue(struct gl_names *names, const glassine_type_info *type, glassine_record *record) {
    if (record->queued)
        return true;
    queue *of_type = &names->waiting[gl_type_place(type)];
    if (of_type->count < MANY_WAIT) {
        void *grown = gl_grow(of_type->list, &of_type->room, of_type->listed + 1, sizeof(glassine_record *));
        if (!grown)
            return false;
        of_type->list = grown;
        of_type->list[of_type->listed++] = record;
    }
    of_type->count++;
    record->queued = true;
    return true;
}

void gl_names_forget(struct gl_names *names) {
    gl_map_clear(names->by_label);
    gl_map_clear(names->by_reference);
    names->link_count = 0;
    for (size_t i = 0; i <= glassine_type_count(); i++)
        names->waiting[i] = (queue){.list = names->waiting[i].list, .room = names->waiting[i].room};
}

/* A new link comes behind the first, so that the map is asked once. What `key` points to outlives the map. */
static bool add_link(struct gl_names *names, gl_map *map, gl_span key, glassine_record *record) {
    void *grown = gl_grow(names->links, &names->link_room, names->link_count + 1, sizeof(link));
    if (!grown)
        return false;
    link *links = names->links = grown;
    uint32_t number = (uint32_t)names->link_count, head = number;
    bool first;
    if (!gl_map_add(map, key, &head, &first))
        return false;
    uint32_t next = first ? GL_NONE : links[head].next;
    if (!first && links[next == GL_NONE ? head : next].record == record)
        return true;
    links[number] = (link){record, next};
    if (!first)
        links[head].next = number;
    names->link_count++;
    return true;
}

bool gl_is_label_field(const glassine_type_info *info, gl_span name) {
    if (info)
        return info->label && gl_span_is(name, info->label);
    return gl_span_is(name, "label") || gl_span_is(name, "name");
}

static bool index_label(struct gl_names *names, glassine_record *record, gl_span value) {
    if (gl_json_kind_of(value) != GL_JSON_STRING)
        return true;
    gl_buf_clear(&names->text);
    gl_buf_clear(&names->folded);
    gl_json_add_decoded(&names->text, value);
    gl_text_add_folded(&names->folded, gl_buf_span(&names->text));
    gl_span kept = names->text.failed || names->folded.failed
                       ? GL_NO_SPAN
                       : gl_arena_copy(names->keys, gl_buf_span(&names->folded));
    return kept.text && add_link(names, names->by_label, kept, record);
}

bool gl_value_refers(gl_span value, gl_span id) {
    if (gl_json_kind_of(value) == GL_JSON_STRING)
        return gl_span_equal(gl_json_raw(value), id);
    if (gl_json_kind_of(value) != GL_JSON_ARRAY)
        return false;
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    while (gl_json_next(&walk, &name, &item))
        if (gl_span_equal(gl_json_raw(item), id))
            return true;
    return false;
}

/* TYPE/UUID has a slash just there, and little else has. */
static bool may_be_id(gl_span text) {
    return text.length > GL_UUID_SIZE && text.text[text.length - GL_UUID_SIZE] == '/';
}

static bool index_reference(struct gl_names *names, glassine_record *record, gl_span value) {
    gl_span id = gl_json_raw(value);
    return !may_be_id(id) || add_link(names, names->by_reference, id, record);
}

static bool index_references(struct gl_names *names, glassine_record *record, gl_span value) {
    if (gl_json_kind_of(value) != GL_JSON_ARRAY)
        return index_reference(names, record, value);
    gl_json_walk walk = gl_json_walk_of(value);
    gl_span name, item;
    while (gl_json_next(&walk, &name, &item))
        if (!index_reference(names, record, item))
            return false;
    return true;
}

/* What slips on the record ever set, whether it stands or not: looking it up tells. So no reading is made of a record that
 * nobody asks for. */
static glassine_status index_record(glassine_bundle *bundle, glassine_record *record, glassine_error *error) {
    const glassine_type_info *info = glassine_record_info(bundle, record);
    for (uint32_t slip = gl_record_newest(bundle, record); slip != GL_NONE;
         slip = gl_record_before(bundle, record, slip)) {
        gl_span name, value;
        gl_json_walk walk = gl_json_walk_of(gl_slip_set(gl_store_line(bundle->store, slip)));
        while (gl_json_next(&walk, &name, &value))
            if ((gl_is_label_field(info, name) && !index_label(bundle->names, record, value)) ||
                !index_references(bundle->names, record, value))
                return gl_bundle_fail_memory(bundle, error);
    }
    return GLASSINE_OK;
}

/* Lists all that wait. */
static bool list_waiting(const glassine_bundle *bundle, queue *of_type) {
    if (of_type->listed == of_type->count)
        return true;
    void *grown = gl_grow(of_type->list, &of_type->room, of_type->count, sizeof(glassine_record *));
    if (!grown)
        return false;
    of_type->list = grown;
    of_type->listed = 0;
    size_t type = (size_t)(of_type - bundle->names->waiting);
    for (size_t i = 0; i < bundle->record_count && of_type->listed < of_type->count; i++)
        if (bundle->records[i]->queued && bundle->records[i]->type == type)
            of_type->list[of_type->listed++] = bundle->records[i];
    return true;
}

/* A long list is made again sooner than it is kept. */
static void unlist(queue *of_type) {
    if (of_type->listed <= MANY_WAIT)
        return;
    free(of_type->list);
    of_type->list = NULL;
    of_type->listed = of_type->room = 0;
}

static glassine_status index_waiting(glassine_bundle *bundle, queue *of_type, glassine_error *error) {
    if (!list_waiting(bundle, of_type))
        return gl_bundle_fail_memory(bundle, error);
    glassine_status status = GLASSINE_OK;
    size_t done = 0;
    while (done < of_type->count && !(status = index_record(bundle, of_type->list[done], error))) {
        of_type->list[done++]->queued = false;
        gl_records_expect(bundle, of_type->list, of_type->count, done);
    }
    of_type->count -= done;
    unlist(of_type);
    of_type->listed = 0; /* what is left waits to be listed anew */
    return status;
}

static bool collect(struct gl_names *names, glassine_record *record) {
    void *grown =
        gl_grow(names->found, &names->found_room, names->found_count + 1, sizeof(glassine_record *));
    if (!grown)
        return false;
    names->found = grown;
    names->found[names->found_count++] = record;
    return true;
}

static int by_address(const void *a, const void *b) {
    const glassine_record *x = *(glassine_record *const *)a, *y = *(glassine_record *const *)b;
    return (x > y) - (x < y);
}

static void drop_doubles(struct gl_names *names) {
    if (!names->found_count)
        return;
    qsort(names->found, names->found_count, sizeof *names->found, by_address);
    size_t kept = 1;
    for (size_t i = 1; i < names->found_count; i++)
        if (names->found[i] != names->found[kept - 1])
            names->found[kept++] = names->found[i];
    names->found_count = kept;
}

/* Does some value of the record's label, as it is now, fold to `folded`? */
static bool has_label(glassine_bundle *bundle, glassine_record *record, gl_span folded) {
    const gl_reading *reading;
    if (gl_record_reading(bundle, record, &reading, NULL))
        return false;
    const glassine_type_info *info = glassine_record_info(bundle, record);
    gl_buf text = GL_BUF_EMPTY, fold = GL_BUF_EMPTY;
    bool found = false;
    for (uint32_t i = 0; i < reading->field_count && !found; i++) {
        const gl_read_field *field = &reading->fields[i];
        for (uint32_t k = 0; k < field->said_count && gl_is_label_field(info, field->name) && !found; k++)
            found = gl_label_folds_to(field->said[k].value, folded, &text, &fold);
    }
    bundle->failed = bundle->failed || text.failed || fold.failed;
    gl_buf_free(&text);
    gl_buf_free(&fold);
    return found;
}

/* Does some field of the record, as it is now, refer to `id`? */
static bool refers(glassine_bundle *bundle, glassine_record *record, gl_span id) {
    const gl_reading *reading;
    if (gl_record_reading(bundle, record, &reading, NULL))
        return false;
    for (uint32_t i = 0; i < reading->field_count; i++)
        for (uint32_t k = 0; k < reading->fields[i].said_count; k++)
            if (reading->fields[i].said[k].value.text &&
                gl_value_refers(reading->fields[i].said[k].value, id))
                return true;
    return false;
}

/* Takes the record among what was found, if it says that now. */
static bool collect_fitting(glassine_bundle *bundle, glassine_record *record, const gl_sought *sought) {
    bool fits =
        sought->id.text ? refers(bundle, record, sought->id) : has_label(bundle, record, sought->folded);
    return !fits || collect(bundle->names, record);
}

static bool look_through(glassine_bundle *bundle, queue *of_type, const gl_sought *sought) {
    bool *fits = malloc(of_type->count);
    bool done = fits && list_waiting(bundle, of_type) &&
                gl_look_through(bundle, of_type->list, of_type->count, sought, fits);
    for (size_t i = 0; done && i < of_type->count; i++)
        done = !fits[i] || collect_fitting(bundle, of_type->list[i], sought);
    free(fits);
    unlist(of_type);
    of_type->looks++;
    return done;
}

/* What waits of a type, which is looked through, or indexed where that was done often enough. */
static glassine_status meet_waiting(glassine_bundle *bundle, size_t type, const gl_sought *sought,
                                    glassine_error *error) {
    queue *of_type = &bundle->names->waiting[type];
    const glassine_type_info *info = glassine_type_at(type);
    if (!sought->id.text && info && !info->label)
        return GLASSINE_OK; /* nobody calls them anything */
    if (of_type->count < MANY_WAIT || of_type->looks == FEW_LOOKS)
        return index_waiting(bundle, of_type, error);
    return look_through(bundle, of_type, sought) ? GLASSINE_OK : gl_bundle_fail_memory(bundle, error);
}

void gl_names_expect(struct gl_names *names, const char *type, size_t looks) {
    if (looks > FEW_LOOKS)
        names->waiting[gl_type_place(glassine_type_find(type))].looks = FEW_LOOKS;
}

static bool is_among(const char *const *types, gl_span type) {
    for (size_t i = 0; types && types[i]; i++)
        if (gl_span_is(type, types[i]))
            return true;
    return !types;
}

static glassine_status look_up(glassine_bundle *bundle, const gl_sought *sought, const char *const *types,
                               glassine_record ***list, size_t *count, glassine_error *error) {
    struct gl_names *names = bundle->names;
    glassine_status status = GLASSINE_OK;
    names->found_count = 0;
    for (size_t i = 0; !types && i <= glassine_type_count() && !status; i++)
        status = meet_waiting(bundle, i, sought, error);
    for (size_t i = 0; types && types[i] && !status; i++)
        status = meet_waiting(bundle, gl_type_place(glassine_type_find(types[i])), sought, error);
    if (status)
        return status;
    uint32_t at = sought->id.text ? gl_map_find(names->by_reference, sought->id)
                                  : gl_map_find(names->by_label, sought->folded);
    for (; at != GL_NONE; at = names->links[at].next)
        if (is_among(types, glassine_record_type(bundle, names->links[at].record)) &&
            !collect_fitting(bundle, names->links[at].record, sought))
            return gl_bundle_fail_memory(bundle, error);
    drop_doubles(names);
    *list = names->found;
    *count = names->found_count;
    return GLASSINE_OK;
}

glassine_status gl_names_labelled(glassine_bundle *bundle, gl_span label, const char *const *types,
                                  glassine_record ***list, size_t *count, glassine_error *error) {
    gl_buf folded = GL_BUF_EMPTY;
    gl_text_add_folded(&folded, label);
    gl_sought sought = {.folded = gl_buf_span(&folded)};
    glassine_status status = folded.failed ? gl_bundle_fail_memory(bundle, error)
                                           : look_up(bundle, &sought, types, list, count, error);
    gl_buf_free(&folded);
    return status;
}

glassine_status gl_names_referrers(glassine_bundle *bundle, gl_span id, const char *type,
                                   glassine_record ***list, size_t *count, glassine_error *error) {
    const char *const types[] = {type, NULL};
    return look_up(bundle, &(gl_sought){.id = id}, type ? types : NULL, list, count, error);
}

glassine_status glassine_record_referrers(glassine_bundle *bundle, glassine_record *record, const char *type,
                                          bool aside, glassine_record *const **referrers, size_t *count,
                                          glassine_error *error) {
    glassine_record **list;
    glassine_status status =
        gl_names_referrers(bundle, gl_record_id(bundle, record), type, &list, count, error);
    if (status)
        return status;
    size_t kept = 0;
    for (size_t i = 0; i < *count; i++)
        if (aside || !gl_record_left_out(bundle, list[i]))
            list[kept++] = list[i];
    /* Sorting asks for labels, and these look up referrers themselves: on a list of our own. */
    glassine_record **own = GL_ARENA_ARRAY(bundle->arena, glassine_record *, kept + 1);
    if (!own)
        return gl_bundle_fail_memory(bundle, error);
    if (kept)
        memcpy(own, list, kept * sizeof *own);
    gl_records_sort(bundle, own, kept);
    *referrers = own;
    *count = kept;
    return gl_bundle_end(bundle, NULL, GLASSINE_OK, error);
}
