/* Two indexes over the records: by label, and who refers to whom. Records wait until somebody has looked for one of their
 * type more than a few times; entries are only ever added, so what an index gives is checked against the record as it is
 * now. */
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "bundle/links.h"
#include "bundle/names.h"
#include "records/table.h"

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
    gl_links *links;
    /* one for each type, by its place in the table, and one more for types that are not in it */
    queue *waiting;
    glassine_record **found; /* what the last look-up gave */
    size_t found_count, found_room;
};

struct gl_names *gl_names_new(void) {
    struct gl_names *names = calloc(1, sizeof *names);
    if (!names)
        return NULL;
    names->links = gl_links_new();
    names->waiting = calloc(glassine_type_count() + 1, sizeof *names->waiting);
    if (!names->links || !names->waiting) {
        gl_names_free(names);
        return NULL;
    }
    return names;
}

void gl_names_free(struct gl_names *names) {
    if (!names)
        return;
    gl_links_free(names->links);
    for (size_t i = 0; names->waiting && i <= glassine_type_count(); i++)
        free(names->waiting[i].list);
    free(names->waiting);
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
    gl_links_forget(names->links);
    for (size_t i = 0; i <= glassine_type_count(); i++)
        names->waiting[i] = (queue){.list = names->waiting[i].list, .room = names->waiting[i].room};
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

static bool add_mention(void *context, const gl_mention *mention) {
    return gl_links_add(context, mention);
}

static glassine_status index_waiting(glassine_bundle *bundle, queue *of_type, glassine_error *error) {
    gl_links *links = bundle->names->links;
    if (!list_waiting(bundle, of_type) ||
        !gl_mentions_gather(bundle, of_type->list, of_type->count, gl_links_arena(links), add_mention, links))
        return gl_bundle_fail_memory(bundle, error);
    for (size_t i = 0; i < of_type->count; i++)
        of_type->list[i]->queued = false;
    of_type->count = 0;
    unlist(of_type);
    of_type->listed = 0;
    return GLASSINE_OK;
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
        for (uint32_t k = 0; k < field->said_count && gl_is_label_field(info, gl_read_name(field)) && !found;
             k++)
            found = gl_label_folds_to(gl_read_value(field, k), folded, &text, &fold);
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
            if (gl_read_value(&reading->fields[i], k).text &&
                gl_value_refers(gl_read_value(&reading->fields[i], k), id))
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

static bool collect_from(glassine_bundle *bundle, uint32_t link, const gl_sought *sought,
                         const char *const *types) {
    const gl_links *links = bundle->names->links;
    bool done = true;
    for (; link != GL_NONE && done; link = gl_links_at(links, link)->next) {
        glassine_record *record = gl_links_at(links, link)->record;
        done =
            !is_among(types, glassine_record_type(bundle, record)) || collect_fitting(bundle, record, sought);
    }
    return done;
}

/* Of what came to the bundle after somebody had referred to it there are links of both kinds. */
static bool collect_all(glassine_bundle *bundle, const gl_sought *sought, const char *const *types) {
    const gl_links *links = bundle->names->links;
    if (!sought->id.text)
        return collect_from(bundle, gl_links_by_label(links, sought->folded), sought, types);
    uint32_t subject = gl_store_record_find(bundle->store, sought->id);
    return collect_from(bundle, gl_links_by_subject(links, subject), sought, types) &&
           collect_from(bundle, gl_links_by_id(links, sought->id), sought, types);
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
    if (!collect_all(bundle, sought, types))
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
