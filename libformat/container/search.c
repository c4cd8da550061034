/* The search for the last whole footer, from the end of the file backwards, in bounded memory and time. */
#include <inttypes.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/footer.h"

enum {
    FIRST_WINDOW = 64 * 1024,
    WINDOW = 1024 * 1024,
    REACH = GL_END_SIZE + GL_COMMENT_MAX /* what a record's check needs behind its beginning */
};

typedef struct footer_search {
    const gl_file *file;
    gl_finding *found;
    uint8_t *window;
    uint64_t budget; /* bytes that may still be read for end records that turn out not to be whole */
    uint64_t met;    /* end records of ours so far, from the end of the file */
    bool done;
} footer_search;

/* Sound editions do not overlap, so checking all of them reads no byte twice. Who prepares end records that
 * claim the same bytes again and again runs out of this. */
static bool pay(footer_search *search, const gl_end *end) {
    uint64_t cost = end->footer.end - end->footer.start;
    if (cost > search->budget)
        return false;
    search->budget -= cost;
    return true;
}

static glassine_status try_candidate(footer_search *search, const uint8_t *bytes, size_t length, uint64_t at,
                                     gl_end *end, glassine_error *error) {
    glassine_status status = gl_end_read(search->file, bytes, length, at, end, error);
    if (status)
        return status;
    if (!pay(search, end)) {
        gl_fault_at(error, "L007", search->file->path, at,
                    "too many end records before it are not whole to look further");
        return GLASSINE_REFUSED;
    }
    return gl_directory_read(search->file, end, false, &search->found->directory, error);
}

/* A limit, a later version or the system ends the search; anything else says: not whole, look further back.
 */
static bool ends_search(const glassine_error *fault) {
    return fault->status != GLASSINE_REFUSED || fault->rule[0] == 'L' || strcmp(fault->rule, "C012") == 0;
}

static glassine_status meet(footer_search *search, const uint8_t *bytes, size_t length, uint64_t at,
                            glassine_error *error) {
    gl_end end;
    glassine_error fault = {0};
    if (!try_candidate(search, bytes, length, at, &end, &fault)) {
        search->done = true;
        search->found->tail = search->file->size - end.footer.end;
        search->found->tail_ours = search->met > 0;
        return GLASSINE_OK;
    }
    if (ends_search(&fault)) {
        if (error)
            *error = fault;
        return fault.status;
    }
    if (search->met++ == 0)
        search->found->fault = fault;
    return GLASSINE_OK;
}

/* Looks at every place in the window, the last first, where an end record may begin. */
static glassine_status scan_window(footer_search *search, size_t places, size_t length, uint64_t offset,
                                   glassine_error *error) {
    for (size_t i = places; i-- > 0 && !search->done;) {
        const uint8_t *at = search->window + i;
        if (*at != 'P' || !gl_end_mark(at, length - i))
            continue;
        glassine_status status = meet(search, at, length - i < REACH ? length - i : REACH, offset + i, error);
        if (status)
            return status;
    }
    return GLASSINE_OK;
}

static glassine_status scan_file(footer_search *search, glassine_error *error) {
    uint64_t end = search->file->size; /* places from here on were looked at */
    size_t window = FIRST_WINDOW;
    while (end > 0 && !search->done) {
        size_t places = end < window ? (size_t)end : window;
        uint64_t offset = end - places, behind = search->file->size - end;
        size_t length = places + (behind < REACH ? (size_t)behind : REACH);
        int code = gl_file_read_at(search->file->fd, search->window, length, offset);
        if (code)
            return gl_fault_reading(error, code, search->file->path);
        glassine_status status = scan_window(search, places, length, offset, error);
        if (status)
            return status;
        end = offset;
        window = WINDOW;
    }
    return GLASSINE_OK;
}

static glassine_status nothing_whole(const footer_search *search, glassine_error *error) {
    if (search->met > 0) {
        if (error)
            *error = search->found->fault;
        return GLASSINE_REFUSED;
    }
    gl_fail(error, GLASSINE_REFUSED, "C011", search->file->path, "it holds no whole edition");
    gl_error_remedy(error,
                    "If another program packed it, use: glassine intake; if it is damaged: glassine recover");
    return GLASSINE_REFUSED;
}

glassine_status gl_footer_search(const gl_file *file, gl_finding *found, glassine_error *error) {
    *found = (gl_finding){0};
    footer_search search = {
        .file = file,
        .found = found,
        .window = malloc(WINDOW + REACH),
        .budget = 2 * file->size, /* sizes are off_t: no overflow */
    };
    if (!search.window)
        return gl_fail_memory(error);
    glassine_status status = scan_file(&search, error);
    free(search.window);
    if (!status && !search.done)
        status = nothing_whole(&search, error);
    return status;
}

glassine_status gl_footer_before(const gl_file *file, uint64_t limit, gl_end *end, glassine_error *error) {
    uint8_t bytes[REACH];
    size_t length = limit < REACH ? (size_t)limit : REACH;
    int code = gl_file_read_at(file->fd, bytes, length, limit - length);
    if (code)
        return gl_fault_reading(error, code, file->path);
    for (size_t i = length; i-- > 0;) {
        if (!gl_end_mark(bytes + i, length - i))
            continue;
        glassine_status status = gl_end_read(file, bytes + i, length - i, limit - length + i, end, error);
        if (status || end->footer.end == limit)
            return status;
        break;
    }
    return gl_fault_at(error, "C026", file->path, limit,
                       "no edition ends here, though a later one follows it");
}
