/* Lines of a log out of whatever text was saved: taken apart into editions, and judged by the chain. */
#include <stdlib.h>

#include "exchange/recover.h"
#include "slips/chain.h"

bool gl_lines_begin(gl_lines *it, const glassine_limits *limits) {
    *it = (gl_lines){.limits = limits, .hash = gl_hash_new()};
    return it->hash != NULL;
}

void gl_lines_free(gl_lines *it) {
    for (size_t i = 0; i < it->text_count; i++)
        gl_buf_free(&it->texts[i]);
    free(it->texts);
    free(it->groups);
    free(it->loose);
    gl_hash_free(it->hash);
    *it = (gl_lines){0};
}

bool gl_lines_next(gl_span *rest, gl_span *line) {
    const char *end = rest->length ? memchr(rest->text, '\n', rest->length) : NULL;
    if (!end)
        return false;
    *line = (gl_span){rest->text, (size_t)(end - rest->text)};
    *rest = gl_span_part(*rest, line->length + 1, rest->length);
    return true;
}

static bool add_loose(gl_lines *it, gl_span line) {
    gl_span *grown = it->loose;
    if (it->loose_count == it->loose_room)
        grown = gl_grow(grown, &it->loose_room, it->loose_count + 1, sizeof *grown);
    if (!grown)
        return false;
    it->loose = grown;
    it->loose[it->loose_count++] = line;
    return true;
}

static bool add_all_loose(gl_lines *it, gl_span text) {
    gl_span line;
    while (gl_lines_next(&text, &line))
        if (!add_loose(it, line))
            return false;
    return true;
}

static bool add_group(gl_lines *it, const gl_group *group) {
    gl_group *grown = it->groups;
    if (it->group_count == it->group_room)
        grown = gl_grow(grown, &it->group_room, it->group_count + 1, sizeof *grown);
    if (!grown)
        return false;
    it->groups = grown;
    it->groups[it->group_count++] = *group;
    return true;
}

/* Where the walk through a text stands: behind an edition line, or behind something that is no line. */
typedef struct text_walk {
    const char *from;
    gl_digest before;
    bool before_known;
} text_walk;

static bool close_group(gl_lines *it, text_walk *walk, gl_span line, bool sound) {
    gl_group group = {.text = {walk->from, (size_t)(line.text + line.length + 1 - walk->from)},
                      .line = line,
                      .before = walk->before,
                      .before_known = walk->before_known,
                      .sound = sound};
    gl_edition_look(line, &group.view);
    if (!gl_digest_parse(group.view.log, &group.log)) /* never: the line was checked */
        return false;
    walk->before = group.log;
    walk->before_known = true;
    walk->from = line.text + line.length + 1;
    return add_group(it, &group);
}

static bool take_apart(gl_lines *it, gl_span text, bool sound) {
    text_walk walk = {.from = text.text};
    gl_span line;
    while (gl_lines_next(&text, &line)) {
        gl_line_kind kind;
        if (gl_line_check(line, it->limits, NULL, &kind, NULL) != GLASSINE_OK) {
            gl_span before = {walk.from, (size_t)(line.text - walk.from)};
            walk = (text_walk){.from = line.text + line.length + 1};
            if (!add_all_loose(it, before))
                return false;
        } else if (kind == GL_LINE_EDITION && !close_group(it, &walk, line, sound)) {
            return false;
        }
    }
    return add_all_loose(it, (gl_span){walk.from, (size_t)(text.text - walk.from)});
}

bool gl_lines_take(gl_lines *it, gl_buf *text, bool sound) {
    gl_buf *grown = it->texts;
    if (it->text_count == it->text_room)
        grown = gl_grow(grown, &it->text_room, it->text_count + 1, sizeof *grown);
    if (!grown) {
        gl_buf_free(text);
        return false;
    }
    it->texts = grown;
    it->texts[it->text_count++] = *text;
    return text->length == 0 || take_apart(it, gl_buf_span(text), sound);
}

/* ----------------------------------------------------------------------------------------------- judging */

static int by_edition(const void *a, const void *b) {
    const gl_group *x = a, *y = b;
    if (x->view.edition != y->view.edition)
        return x->view.edition < y->view.edition ? -1 : 1;
    return (x->text.text > y->text.text) - (x->text.text < y->text.text);
}

static size_t first_of(const gl_lines *it, int64_t edition) {
    size_t low = 0, high = it->group_count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (it->groups[middle].view.edition < edition)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static bool chain_holds(const gl_lines *it, const gl_group *group, const gl_digest *before) {
    gl_span lines = {group->text.text, (size_t)(group->line.text - group->text.text)};
    gl_digest chain = gl_chain_lines(it->hash, before, lines);
    chain = gl_chain_edition(it->hash, &chain, group->line, group->view.log);
    return gl_digest_equal(&chain, &group->log);
}

/* What the chain may have been before the group: what its text says, where nothing is missing in that; else
 * what any line of the edition before says. True where one of them is right; it is then known. */
static bool find_before(const gl_lines *it, gl_group *group) {
    if (group->before_known && chain_holds(it, group, &group->before))
        return true;
    if (group->view.edition == 1) {
        group->before = (gl_digest){{0}};
        return chain_holds(it, group, &group->before);
    }
    int64_t edition = group->view.edition - 1;
    for (size_t i = first_of(it, edition); i < it->group_count && it->groups[i].view.edition == edition;
         i++) {
        group->before = it->groups[i].log;
        if (chain_holds(it, group, &group->before))
            return true;
    }
    return false;
}

bool gl_lines_judge(gl_lines *it) {
    if (it->group_count)
        qsort(it->groups, it->group_count, sizeof *it->groups, by_edition);
    for (size_t i = 0; i < it->group_count; i++) {
        gl_group *group = &it->groups[i];
        group->before_known = find_before(it, group);
        group->sound = group->sound || group->before_known;
        if (!group->sound && !add_all_loose(it, group->text))
            return false;
    }
    return true;
}

const gl_group *gl_lines_after(const gl_lines *it, int64_t edition, const gl_digest *before) {
    for (size_t i = first_of(it, edition); i < it->group_count && it->groups[i].view.edition == edition;
         i++) {
        const gl_group *group = &it->groups[i];
        if (group->before_known && gl_digest_equal(&group->before, before))
            return group;
    }
    return NULL;
}
