#include "bundle/joins.h"

#include <stdlib.h>

#include "base/error.h"
#include "records/value.h"

/* What a plate's positions depend on; the names of panes are not compared. */
typedef struct layout {
    bool known;
    int64_t rows, columns, across, down;
    bool corner_letters;
    gl_span numbering;
} layout;

/* An id that some join names. The nodes of one thing form a tree below `parent`, and a ring through `next`.
 */
typedef struct node {
    gl_span id;
    uint32_t parent, next;
    uint32_t size;        /* of a root: how many nodes */
    layout layout;        /* of a root: that of its plates, as far as one says it */
    gl_span stands;       /* of a root, once all is joined: the id that stands for all */
    const gl_span *these; /* of a root, once all is joined: all ids, sorted */
} node;

struct gl_joins {
    gl_map *numbers; /* id -> node */
    node *nodes;
    size_t count, room;
    gl_join_fault *faults;
    size_t fault_count, fault_room;
    gl_arena *arena;
};

void gl_joins_free(gl_joins *joins) {
    if (!joins)
        return;
    gl_map_free(joins->numbers);
    gl_arena_free(joins->arena);
    free(joins->nodes);
    free(joins->faults);
    free(joins);
}

/* ------------------------------------------------------------------------------------------ the joins */

/* A join that may bind, and what it is ordered by. */
typedef struct candidate {
    glassine_record *record;
    glassine_value records;
    gl_span at, id;
} candidate;

static int by_age(const void *a, const void *b) {
    const candidate *x = a, *y = b;
    int order = gl_span_compare(x->at, y->at);
    return order ? order : gl_span_compare(x->id, y->id);
}

static bool is_withdrawn(glassine_bundle *bundle, glassine_record *join) {
    bool contested;
    glassine_value value = glassine_record_get(bundle, join, "withdrawn", &contested);
    return contested || gl_json_true(value);
}

/* Is it the keeper's, and in force? */
static bool binds(glassine_bundle *bundle, glassine_record *record, candidate *out) {
    const glassine_field *fields;
    size_t count;
    if (!gl_span_is(glassine_record_type(bundle, record), "join") ||
        !gl_span_is(glassine_record_author(bundle, record), bundle->about.keeper) ||
        glassine_record_set_aside(bundle, record) || is_withdrawn(bundle, record))
        return false;
    *out = (candidate){record, glassine_record_get(bundle, record, "records", NULL), GL_SPAN(""),
                       gl_record_id(bundle, record)};
    if (gl_json_kind_of(out->records) != GL_JSON_ARRAY ||
        glassine_record_fields(bundle, record, &fields, &count, NULL))
        return false;
    for (size_t i = 0; i < count; i++)
        if (gl_span_is(fields[i].name, "records") && fields[i].sayings[0].value.text)
            out->at = fields[i].sayings[0].at;
    return true;
}

/* ------------------------------------------------------------------------------------------- layouts */

static int64_t panes(glassine_bundle *bundle, glassine_record *plate, const char *field) {
    int64_t count;
    return glassine_record_integer(bundle, plate, field, &count) && count > 0 ? count : 1;
}

/* Unknown where rows or columns are unsaid, or any part is contested: such a plate contradicts nothing. */
static layout layout_of(glassine_bundle *bundle, gl_span id) {
    static const char *const parts[] = {"rows",       "columns",   "panes_across",
                                        "panes_down", "numbering", "corner_letters"};
    layout it = {0};
    glassine_record *plate = glassine_bundle_record(bundle, id, GL_NO_SPAN);
    if (!plate || !gl_span_starts(id, GL_SPAN("plate/")))
        return it;
    for (size_t i = 0; i < sizeof parts / sizeof parts[0]; i++) {
        bool contested;
        glassine_record_get(bundle, plate, parts[i], &contested);
        if (contested)
            return it;
    }
    it.known = glassine_record_integer(bundle, plate, "rows", &it.rows) &&
               glassine_record_integer(bundle, plate, "columns", &it.columns);
    it.across = panes(bundle, plate, "panes_across");
    it.down = panes(bundle, plate, "panes_down");
    it.corner_letters = gl_json_true(glassine_record_get(bundle, plate, "corner_letters", NULL));
    it.numbering = glassine_record_text(bundle, plate, "numbering");
    if (!it.numbering.text)
        it.numbering = GL_SPAN("across");
    return it;
}

static bool layouts_agree(const layout *a, const layout *b) {
    return !a->known || !b->known ||
           (a->rows == b->rows && a->columns == b->columns && a->across == b->across && a->down == b->down &&
            a->corner_letters == b->corner_letters && gl_span_equal(a->numbering, b->numbering));
}

/* -------------------------------------------------------------------------------------------- joining */

static uint32_t root_of(const gl_joins *joins, uint32_t number) {
    while (joins->nodes[number].parent != number)
        number = joins->nodes[number].parent;
    return number;
}

/* GL_NONE when memory ran out. */
static uint32_t node_of(glassine_bundle *bundle, gl_joins *joins, gl_span id) {
    uint32_t number = gl_map_find(joins->numbers, id);
    if (number != GL_NONE)
        return number;
    void *grown = gl_grow(joins->nodes, &joins->room, joins->count + 1, sizeof *joins->nodes);
    if (!grown)
        return GL_NONE;
    joins->nodes = grown;
    number = (uint32_t)joins->count;
    if (!gl_map_set(joins->numbers, id, number))
        return GL_NONE;
    joins->nodes[joins->count++] =
        (node){.id = id, .parent = number, .next = number, .size = 1, .layout = layout_of(bundle, id)};
    return number;
}

/* The smaller tree goes below the larger one, so that trees stay flat. */
static void unite(gl_joins *joins, uint32_t a, uint32_t b) {
    a = root_of(joins, a);
    b = root_of(joins, b);
    if (a == b)
        return;
    if (joins->nodes[a].size < joins->nodes[b].size) {
        uint32_t swap = a;
        a = b;
        b = swap;
    }
    node *large = &joins->nodes[a], *small = &joins->nodes[b];
    uint32_t next = large->next;
    large->next = small->next;
    small->next = next;
    small->parent = a;
    large->size += small->size;
    if (!large->layout.known)
        large->layout = small->layout;
}

/* Why a join cannot be applied; NULL: it can. */
static const char *contradiction(glassine_bundle *bundle, gl_joins *joins, glassine_value records,
                                 const char **rule, bool *failed) {
    gl_span name, item, type = GL_NO_SPAN, own, uuid;
    layout seen = {0};
    gl_json_walk walk = gl_json_walk_of(records);
    while (gl_json_next(&walk, &name, &item)) {
        if (!gl_record_id_split(gl_json_raw(item), &own, &uuid))
            continue;
        *rule = "R044";
        if (type.text && !gl_span_equal(type, own))
            return "it joins records of different types";
        type = own;
        uint32_t number = node_of(bundle, joins, gl_json_raw(item));
        if ((*failed = number == GL_NONE))
            return NULL;
        const layout *plates = &joins->nodes[root_of(joins, number)].layout;
        *rule = "R045";
        if (!layouts_agree(&seen, plates))
            return "it joins plates of different layouts";
        if (!seen.known)
            seen = *plates;
    }
    return NULL;
}

static bool add_fault(gl_joins *joins, glassine_record *join, const char *rule, const char *what) {
    void *grown = gl_grow(joins->faults, &joins->fault_room, joins->fault_count + 1, sizeof *joins->faults);
    if (!grown)
        return false;
    joins->faults = grown;
    joins->faults[joins->fault_count++] = (gl_join_fault){join, rule, what};
    return true;
}

static bool apply(glassine_bundle *bundle, gl_joins *joins, const candidate *join) {
    const char *rule;
    bool failed = false;
    const char *what = contradiction(bundle, joins, join->records, &rule, &failed);
    if (failed)
        return false;
    if (what)
        return add_fault(joins, join->record, rule, what);
    gl_span name, item;
    uint32_t first = GL_NONE;
    gl_json_walk walk = gl_json_walk_of(join->records);
    while (gl_json_next(&walk, &name, &item)) {
        uint32_t number = gl_map_find(joins->numbers, gl_json_raw(item));
        if (number != GL_NONE && first != GL_NONE)
            unite(joins, first, number);
        else if (number != GL_NONE)
            first = number;
    }
    return true;
}

/* ------------------------------------------------------------------------------------ what stands for all */

static int by_id(const void *a, const void *b) {
    return gl_span_compare(*(const gl_span *)a, *(const gl_span *)b);
}

/* 2: there and in use, 1: there, 0: not there. */
static int fitness(glassine_bundle *bundle, gl_span id) {
    glassine_record *record = glassine_bundle_record(bundle, id, GL_NO_SPAN);
    return !record ? 0 : glassine_record_set_aside(bundle, record) ? 1 : 2;
}

static bool sum_up(glassine_bundle *bundle, gl_joins *joins, uint32_t root) {
    node *it = &joins->nodes[root];
    gl_span *ids = GL_ARENA_ARRAY(joins->arena, gl_span, it->size);
    if (!ids)
        return false;
    size_t count = 0;
    uint32_t at = root;
    do {
        ids[count++] = joins->nodes[at].id;
        at = joins->nodes[at].next;
    } while (at != root);
    qsort(ids, count, sizeof *ids, by_id);
    int best = -1;
    for (size_t i = 0; i < count; i++) {
        int fits = fitness(bundle, ids[i]);
        if (fits > best) {
            best = fits;
            it->stands = ids[i];
        }
    }
    it->these = ids;
    return true;
}

static bool make(glassine_bundle *bundle, gl_joins *joins) {
    candidate *list = malloc((bundle->record_count + 1) * sizeof *list);
    size_t count = 0;
    bool done = list != NULL;
    for (size_t i = 0; i < bundle->record_count && done; i++)
        count += binds(bundle, bundle->records[i], &list[count]);
    if (count)
        qsort(list, count, sizeof *list, by_age);
    for (size_t i = 0; i < count && done; i++)
        done = apply(bundle, joins, &list[i]);
    for (uint32_t i = 0; i < joins->count && done; i++)
        if (joins->nodes[i].parent == i)
            done = sum_up(bundle, joins, i);
    free(list);
    return done;
}

glassine_status gl_bundle_joins(glassine_bundle *bundle, const gl_joins **out, glassine_error *error) {
    if (!bundle->joins || bundle->joins_of != bundle->generation) {
        gl_joins_free(bundle->joins);
        gl_joins *joins = bundle->joins = calloc(1, sizeof *joins);
        if (joins) {
            joins->numbers = gl_map_new();
            joins->arena = gl_arena_new();
        }
        if (!joins || !joins->numbers || !joins->arena || !make(bundle, joins)) {
            gl_joins_free(joins);
            bundle->joins = NULL;
            return gl_bundle_fail_memory(bundle, error);
        }
        bundle->joins_of = bundle->generation;
    }
    *out = bundle->joins;
    return GLASSINE_OK;
}

static const node *root_node(const gl_joins *joins, gl_span id) {
    uint32_t number = joins->count ? gl_map_find(joins->numbers, id) : GL_NONE;
    const node *root = number == GL_NONE ? NULL : &joins->nodes[root_of(joins, number)];
    return root && root->size > 1 ? root : NULL;
}

gl_span gl_joins_of(const gl_joins *joins, gl_span id) {
    const node *root = root_node(joins, id);
    return root ? root->stands : id;
}

bool gl_joins_any(const gl_joins *joins) {
    return joins->count > 0;
}

size_t gl_joins_members(const gl_joins *joins, gl_span id, const gl_span **members) {
    const node *root = root_node(joins, id);
    *members = root ? root->these : NULL;
    return root ? root->size : 0;
}

size_t gl_joins_faults(const gl_joins *joins, const gl_join_fault **faults) {
    *faults = joins->faults;
    return joins->fault_count;
}
