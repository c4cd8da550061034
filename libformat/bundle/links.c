#include "bundle/links.h"

#include <stdlib.h>

#include "base/error.h"

/* Nearly all that records refer to is in the store, which knows its id already: an array of first links by its number there
 * stands in the place of another map of the same ids. */
struct gl_links {
    gl_arena *arena;
    gl_map *by_label;
    gl_map *by_id;        /* of what was not in the store */
    uint32_t *by_subject; /* the first link and 1; 0: there is none */
    size_t subjects;
    gl_link *list;
    size_t count, room;
};

gl_links *gl_links_new(void) {
    gl_links *links = calloc(1, sizeof *links);
    if (!links)
        return NULL;
    links->arena = gl_arena_new();
    links->by_label = gl_map_new();
    links->by_id = gl_map_new();
    if (links->arena && links->by_label && links->by_id)
        return links;
    gl_links_free(links);
    return NULL;
}

void gl_links_free(gl_links *links) {
    if (!links)
        return;
    gl_map_free(links->by_label);
    gl_map_free(links->by_id);
    gl_arena_free(links->arena);
    free(links->by_subject);
    free(links->list);
    free(links);
}

void gl_links_forget(gl_links *links) {
    gl_map_clear(links->by_label);
    gl_map_clear(links->by_id);
    if (links->subjects)
        memset(links->by_subject, 0, links->subjects * sizeof *links->by_subject);
    links->count = 0;
}

gl_arena *gl_links_arena(gl_links *links) {
    return links->arena;
}

/* The next link is of this record, behind the one at `head`, the first of its kind (GL_NONE: there is none yet): so the
 * first one stays it. False where the record is there already. */
static bool put(gl_links *links, uint32_t head, glassine_record *record) {
    gl_link *list = links->list;
    uint32_t next = head == GL_NONE ? GL_NONE : list[head].next, number = (uint32_t)links->count;
    if (head != GL_NONE && list[next == GL_NONE ? head : next].record == record)
        return false;
    list[number] = (gl_link){record, next};
    if (head != GL_NONE)
        list[head].next = number;
    links->count++;
    return true;
}

static bool add_by_text(gl_links *links, gl_map *map, gl_span text, glassine_record *record) {
    uint32_t head = (uint32_t)links->count;
    bool first;
    if (!gl_map_add(map, text, &head, &first))
        return false;
    put(links, first ? GL_NONE : head, record);
    return true;
}

static bool add_by_subject(gl_links *links, uint32_t subject, glassine_record *record) {
    size_t before = links->subjects;
    if (subject >= before) {
        uint32_t *grown = gl_grow(links->by_subject, &links->subjects, (size_t)subject + 1, sizeof *grown);
        if (!grown)
            return false;
        links->by_subject = grown;
        memset(grown + before, 0, (links->subjects - before) * sizeof *grown);
    }
    uint32_t *first = &links->by_subject[subject], number = (uint32_t)links->count;
    put(links, *first ? *first - 1 : GL_NONE, record);
    if (!*first)
        *first = number + 1;
    return true;
}

bool gl_links_add(gl_links *links, const gl_mention *mention) {
    gl_link *grown = gl_grow(links->list, &links->room, links->count + 1, sizeof *grown);
    if (!grown)
        return false;
    links->list = grown;
    if (mention->subject != GL_NONE)
        return add_by_subject(links, mention->subject, mention->record);
    return add_by_text(links, mention->is_label ? links->by_label : links->by_id, mention->text,
                       mention->record);
}

uint32_t gl_links_by_label(const gl_links *links, gl_span folded) {
    return gl_map_find(links->by_label, folded);
}

uint32_t gl_links_by_subject(const gl_links *links, uint32_t subject) {
    return subject < links->subjects && links->by_subject[subject] ? links->by_subject[subject] - 1 : GL_NONE;
}

uint32_t gl_links_by_id(const gl_links *links, gl_span id) {
    return gl_map_find(links->by_id, id);
}

const gl_link *gl_links_at(const gl_links *links, uint32_t link) {
    return &links->list[link];
}
