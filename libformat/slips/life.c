#include "slips/life.h"

#include <stdlib.h>

#include "base/error.h"
#include "slips/graph.h"

/* Steps that looking for what follows what may take in all, for each slip and entry of `after`. */
enum { STEPS_EACH = 64 };

/* Changes none of which follows another, the latest first; a node's set is what its field was up to it.
 * Numbered from 1: set 0 is the empty one. */
typedef struct change_set {
    size_t first; /* in `members` */
    uint32_t count, total;
} change_set;

typedef struct life {
    const gl_graph *graph;
    const uint32_t *slips; /* in order */
    uint32_t *node_at;     /* place in the order -> node of the graph */
    uint32_t *place_of;    /* and back */
    gl_change *changes;
    uint32_t *place; /* of each change */
    uint32_t *from;  /* of each change: the set that it found */
    size_t count, room;
    const gl_change **by_field; /* changes sorted by field, then place */
    uint32_t *set_of;           /* by place, for the field at hand */
    change_set *sets;
    size_t set_count, set_room;
    uint32_t *members; /* numbers of changes */
    size_t member_count, member_room;
    uint32_t *found; /* scratch: changes met at a place where several sets meet */
    size_t found_count, found_room;
    uint32_t *met; /* of each change: the last search that met it, times two, plus one where it is followed */
    uint32_t search;
    uint64_t steps_left;
} life;

static void free_life(life *it) {
    free(it->node_at);
    free(it->place_of);
    free(it->changes);
    free(it->place);
    free(it->from);
    free(it->by_field);
    free(it->set_of);
    free(it->sets);
    free(it->members);
    free(it->found);
    free(it->met);
}

/* ------------------------------------------------------------------------------------------ the changes */

static bool add_change(life *it, uint32_t place, gl_span name, gl_span value) {
    if (it->count == it->room) {
        void *grown = gl_grow(it->changes, &it->room, it->count + 1, sizeof *it->changes);
        if (!grown)
            return false;
        it->changes = grown;
        void *places = realloc(it->place, it->room * sizeof *it->place);
        if (!places)
            return false;
        it->place = places;
    }
    const gl_graph_node *node = &it->graph->nodes[it->node_at[place]];
    it->place[it->count] = place;
    it->changes[it->count++] = (gl_change){.name = name,
                                           .value = value,
                                           .reach = node->reach,
                                           .slip = node->slip,
                                           .fate = node->counts ? GL_FOLLOWED : GL_UNCOUNTED};
    return true;
}

static bool gather(life *it) {
    for (uint32_t place = 0; place < it->graph->count; place++) {
        const gl_graph_node *node = &it->graph->nodes[it->node_at[place]];
        gl_span name, item;
        gl_json_walk walk = gl_json_walk_of(node->set);
        while (gl_json_next(&walk, &name, &item))
            if (!add_change(it, place, name, item))
                return false;
        walk = gl_json_walk_of(node->clear);
        while (gl_json_next(&walk, &name, &item))
            if (!add_change(it, place, gl_json_raw(item), GL_NO_SPAN))
                return false;
    }
    return true;
}

static int compare_fields(const gl_change *a, const gl_change *b) {
    int order = gl_span_compare(a->name, b->name);
    return order ? order : (int)a->reach - (int)b->reach;
}

/* Within a field by place: the changes were gathered in that order. */
static int by_field(const void *a, const void *b) {
    const gl_change *x = *(const gl_change *const *)a, *y = *(const gl_change *const *)b;
    int order = compare_fields(x, y);
    return order ? order : (x > y) - (x < y);
}

static uint32_t number_of(const life *it, const gl_change *change) {
    return (uint32_t)(change - it->changes);
}

static uint32_t place_of(const life *it, const gl_change *change) {
    return it->place[change - it->changes];
}

/* --------------------------------------------------------------------------------------------- the sets */

static bool add_member(life *it, uint32_t change) {
    if (it->member_count == it->member_room) {
        void *grown = gl_grow(it->members, &it->member_room, it->member_count + 1, sizeof *it->members);
        if (!grown)
            return false;
        it->members = grown;
    }
    it->members[it->member_count++] = change;
    return true;
}

/* The number of a new set of the first `count` members at most of `found`; 0 when memory ran out. */
static uint32_t add_set(life *it, const uint32_t *found, size_t count, size_t total) {
    void *grown = gl_grow(it->sets, &it->set_room, it->set_count + 2, sizeof *it->sets);
    if (!grown)
        return 0;
    it->sets = grown;
    change_set *set = &it->sets[++it->set_count];
    *set = (change_set){it->member_count, 0, (uint32_t)total};
    for (; set->count < count && set->count < GL_FROM_MOST; set->count++)
        if (!add_member(it, found[set->count]))
            return 0;
    return (uint32_t)it->set_count;
}

/* Heap of changes, the latest on top: within one field, later ones have greater numbers. */
static bool push_found(life *it, uint32_t change) {
    if (it->found_count == it->found_room) {
        void *grown = gl_grow(it->found, &it->found_room, it->found_count + 1, sizeof *it->found);
        if (!grown)
            return false;
        it->found = grown;
    }
    size_t at = it->found_count++;
    while (at && it->found[(at - 1) / 2] < change) {
        it->found[at] = it->found[(at - 1) / 2];
        at = (at - 1) / 2;
    }
    it->found[at] = change;
    return true;
}

static uint32_t pop_found(life *it) {
    uint32_t top = it->found[0], last = it->found[--it->found_count];
    size_t at = 0;
    for (;;) {
        size_t child = 2 * at + 1;
        if (child >= it->found_count)
            break;
        if (child + 1 < it->found_count && it->found[child + 1] > it->found[child])
            child++;
        if (it->found[child] <= last)
            break;
        it->found[at] = it->found[child];
        at = child;
    }
    it->found[at] = last;
    return top;
}

/* Puts the members of a set into the heap, each once in this search. `followed`: one that was met follows
 * them. *open counts those of which that is not known. False when memory ran out. */
static bool meet_set(life *it, uint32_t number, bool followed, size_t *open) {
    for (uint32_t i = 0; number && i < it->sets[number].count; i++) {
        uint32_t change = it->members[it->sets[number].first + i], mark = it->met[change];
        if (mark / 2 != it->search) {
            it->met[change] = it->search * 2 + followed;
            *open += !followed;
            if (!push_found(it, change))
                return false;
        } else if (followed && !(mark & 1)) {
            it->met[change] |= 1;
            --*open;
        }
    }
    return true;
}

/* The set of what stands among the members met so far: whatever one of them found, directly or through
 * others, it follows. 0 when memory ran out. */
static uint32_t thin_out(life *it, size_t open, size_t missing) {
    uint32_t kept[GL_FROM_MOST];
    size_t count = 0, total = 0;
    while (open) {
        uint32_t change = pop_found(it);
        if (!(it->met[change] & 1)) {
            if (count < GL_FROM_MOST)
                kept[count++] = change;
            total++;
            open--;
        }
        if (!it->steps_left)
            continue;
        it->steps_left--;
        if (!meet_set(it, it->from[change], true, &open))
            return 0;
    }
    it->found_count = 0;
    return add_set(it, kept, count, total + missing);
}

/* The set that the node's `index`-th edge leads to. */
static uint32_t set_behind(const life *it, size_t edge, uint32_t window) {
    uint32_t before = it->place_of[it->graph->edges[edge]];
    return before < window ? 0 : it->set_of[before];
}

/* Several different sets meet at a node. */
static uint32_t join_sets(life *it, const gl_graph_node *node, uint32_t window) {
    size_t open = 0, missing = 0;
    it->search++;
    for (size_t edge = node->edge; edge < node[1].edge; edge++) {
        uint32_t set = set_behind(it, edge, window);
        size_t left_out = set ? it->sets[set].total - it->sets[set].count : 0;
        missing = left_out > missing ? left_out : missing;
        if (!meet_set(it, set, false, &open))
            return 0;
    }
    return thin_out(it, open, missing);
}

/* What the field was for the slip of this node; false when memory ran out. */
static bool set_before(life *it, const gl_graph_node *node, uint32_t window, uint32_t *out) {
    *out = 0;
    for (size_t edge = node->edge; edge < node[1].edge; edge++) {
        uint32_t set = set_behind(it, edge, window);
        if (set && *out && set != *out)
            return (*out = join_sets(it, node, window)) != 0;
        *out = set ? set : *out;
    }
    return true;
}

/* The changes of one field, by_field[first] to by_field[end - 1]: what each of them found. */
static bool go_over_field(life *it, size_t first, size_t end) {
    uint32_t window = place_of(it, it->by_field[first]), last = place_of(it, it->by_field[end - 1]);
    glassine_reach reach = it->by_field[first]->reach;
    for (uint32_t place = window; place <= last; place++) {
        const gl_graph_node *node = &it->graph->nodes[it->node_at[place]];
        it->set_of[place] = 0;
        if (node->reach != reach)
            continue;
        if (!set_before(it, node, window, &it->set_of[place]))
            return false;
        if (place_of(it, it->by_field[first]) != place)
            continue;
        uint32_t change = number_of(it, it->by_field[first++]);
        it->from[change] = it->set_of[place];
        if (node->counts && (it->set_of[place] = add_set(it, &change, 1, 1)) == 0)
            return false;
    }
    return first == end;
}

/* The end of the run of changes of one field that begins at `first`. */
static size_t field_end(const life *it, size_t first) {
    size_t end = first + 1;
    while (end < it->count && compare_fields(it->by_field[first], it->by_field[end]) == 0)
        end++;
    return end;
}

static bool find_froms(life *it) {
    for (size_t first = 0, end; first < it->count; first = end) {
        end = field_end(it, first);
        if (!go_over_field(it, first, end))
            return false;
    }
    return true;
}

/* -------------------------------------------------------------------------------------------- the result */

/* The change of a slip at `place` among those of one field, by_field[low] to by_field[end - 1]. */
static gl_change *change_at(life *it, size_t low, size_t end, uint32_t place) {
    size_t high = end;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (place_of(it, it->by_field[middle]) < place)
            low = middle + 1;
        else
            high = middle;
    }
    return low < end ? &it->changes[number_of(it, it->by_field[low])] : NULL;
}

/* Changes and reading are sorted by field alike, and a field of the one is a field of the other, unless no
 * slip that touches it counts. */
static void mark_standing(life *it, const gl_reading *reading) {
    for (size_t f = 0, first = 0, end; first < it->count && f < reading->field_count; first = end) {
        const gl_read_field *field = &reading->fields[f];
        const gl_change like = {.name = gl_read_name(field), .reach = field->reach};
        end = field_end(it, first);
        if (compare_fields(it->by_field[first], &like) != 0)
            continue;
        for (uint32_t i = 0; i < field->said_count; i++) {
            uint32_t node = gl_graph_node_of(it->graph, gl_read_said(field, i)->slip);
            gl_change *change = change_at(it, first, end, it->place_of[node]);
            if (change)
                change->fate = field->contested ? GL_CONTESTED : GL_STANDS;
        }
        f++;
    }
}

static bool copy_froms(life *it, gl_arena *arena, gl_change *out) {
    for (size_t i = 0; i < it->count; i++) {
        out[i] = it->changes[i];
        const change_set *set = it->from[i] ? &it->sets[it->from[i]] : NULL;
        gl_said *from = set ? GL_ARENA_ARRAY(arena, gl_said, set->count) : NULL;
        if (!set)
            continue;
        if (!from)
            return false;
        for (uint32_t k = 0; k < set->count; k++) {
            const gl_change *was = &it->changes[it->members[set->first + k]];
            from[k] = gl_said_by(was->slip, was->value);
        }
        out[i].from = from;
        out[i].from_count = set->count;
        out[i].from_total = set->total;
    }
    return true;
}

static bool number_places(life *it, size_t count) {
    size_t room = count + 1;
    it->node_at = malloc(room * sizeof *it->node_at);
    it->place_of = malloc(room * sizeof *it->place_of);
    it->set_of = malloc(room * sizeof *it->set_of);
    if (!it->node_at || !it->place_of || !it->set_of)
        return false;
    for (size_t place = 0; place < count; place++) {
        uint32_t node = gl_graph_node_of(it->graph, it->slips[place]);
        it->node_at[place] = node;
        it->place_of[node] = (uint32_t)place;
    }
    return true;
}

static bool make(life *it) {
    if (!gather(it))
        return false;
    it->from = calloc(it->count + 1, sizeof *it->from);
    it->by_field = malloc((it->count + 1) * sizeof *it->by_field);
    it->met = calloc(it->count + 1, sizeof *it->met);
    if (!it->from || !it->by_field || !it->met)
        return false;
    for (size_t i = 0; i < it->count; i++)
        it->by_field[i] = &it->changes[i];
    if (it->count)
        qsort(it->by_field, it->count, sizeof *it->by_field, by_field);
    return find_froms(it);
}

glassine_status gl_life_make(const gl_store *store, uint32_t record, uint32_t author, gl_arena *arena,
                             gl_change **changes, size_t *count, glassine_error *error) {
    gl_graph graph;
    gl_reading reading;
    uint32_t *slips;
    size_t slip_count = 0;
    *count = 0;
    glassine_status status = gl_graph_make(store, record, author, &graph, error);
    if (status)
        return status;
    status = gl_reading_order(store, record, author, arena, &slips, &slip_count, error);
    if (!status)
        status = gl_reading_make(store, record, author, arena, &reading, NULL, error);
    life it = {.graph = &graph, .slips = status ? NULL : slips};
    it.steps_left = STEPS_EACH * ((uint64_t)graph.count + graph.edge_count);
    if (!status && (!number_places(&it, slip_count) || !make(&it)))
        status = gl_fail_memory(error);
    if (!status) {
        mark_standing(&it, &reading);
        *changes = GL_ARENA_ARRAY(arena, gl_change, it.count + 1);
        status = *changes && copy_froms(&it, arena, *changes) ? GLASSINE_OK : gl_fail_memory(error);
        *count = status ? 0 : it.count;
    }
    free_life(&it);
    gl_graph_free(&graph);
    return status;
}
