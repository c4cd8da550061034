/* Making a new bundle: in a temporary file beside its name, published whole. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/error.h"
#include "base/file.h"
#include "exchange/draft.h"
#include "exchange/place.h"

enum { SLUG_MOST = 48 };

void gl_slug_of(const char *path, gl_buf *base) {
    gl_span name = gl_path_name(path);
    gl_buf_add_text(base, "glassine-");
    size_t start = base->length;
    for (size_t i = 0; i < name.length && base->length - start < SLUG_MOST; i++) {
        char c = name.text[i];
        if (c == '.' && gl_span_starts(gl_span_part(name, i, name.length), GL_SPAN(".glassine")))
            break;
        if (c >= 'A' && c <= 'Z')
            c = (char)(c - 'A' + 'a');
        bool plain = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
        if (plain)
            gl_buf_add_char(base, c);
        else if (base->length > start && base->text[base->length - 1] != '-')
            gl_buf_add_char(base, '-');
    }
    while (base->length > start && base->text[base->length - 1] == '-')
        base->length--;
    if (base->length == start)
        gl_buf_add_text(base, "bundle");
    if (base->text)
        base->text[base->length] = '\0';
}

static char *kept(gl_arena *arena, const char *text, bool *failed) {
    gl_span copy = text ? gl_arena_copy(arena, gl_span_of(text)) : GL_NO_SPAN;
    *failed = *failed || (text && !copy.text);
    return (char *)copy.text;
}

/* Copies the facts, and fills what the caller left open: base from the path, a fresh uuid, now. */
static bool fill_about(glassine_bundle *bundle, const char *path, const gl_about *about) {
    char uuid[GL_UUID_SIZE], made[GL_TIME_SIZE];
    gl_buf base = GL_BUF_EMPTY;
    gl_slug_of(path, &base);
    gl_time_print(gl_clock_now(), made);
    bool failed = base.failed || (!about->uuid && !gl_uuid_new(uuid));
    gl_about *own = &bundle->about;
    *own = (gl_about){.blind = about->blind};
    if (!failed) {
        own->base = kept(bundle->arena, about->base ? about->base : base.text, &failed);
        own->uuid = kept(bundle->arena, about->uuid ? about->uuid : uuid, &failed);
        own->made = kept(bundle->arena, about->made ? about->made : made, &failed);
        own->keeper = kept(bundle->arena, about->keeper, &failed);
        gl_trust_keeper(bundle->trust, gl_span_of(own->keeper));
        own->title = kept(bundle->arena, about->title, &failed);
        own->version = kept(bundle->arena, "1.0", &failed);
        own->answer_by = kept(bundle->arena, about->answer_by, &failed);
        own->answers = kept(bundle->arena, about->answers, &failed);
        own->event = kept(bundle->arena, about->event, &failed);
    }
    gl_buf_free(&base);
    return !failed;
}

static glassine_status refuse_existing(const char *path, glassine_error *error) {
    gl_fail(error, GLASSINE_REFUSED, NULL, path, "the file is there already");
    gl_error_remedy(error, "Choose another name, or move it away");
    return GLASSINE_REFUSED;
}

static glassine_status open_temporary(gl_make *make, glassine_error *error) {
    gl_buf name = GL_BUF_EMPTY;
    int code = gl_file_part_new(make->path, GL_PART_SHARED, &name, &make->bundle->fd);
    if (code) {
        gl_buf_free(&name);
        return gl_fail_making(error, code, make->path, "cannot be written");
    }
    make->temporary = name.text; /* taken over */
    return GLASSINE_OK;
}

glassine_status gl_make_new(gl_make *make, const char *path, const gl_about *about, glassine_error *error) {
    *make = (gl_make){0};
    if (access(path, F_OK) == 0)
        return refuse_existing(path, error);
    make->path = strdup(path);
    make->bundle = gl_bundle_blank(path, GLASSINE_WRITE, NULL);
    glassine_status status = GLASSINE_OK;
    if (!make->path || !make->bundle || !(make->bundle->file = strdup(path)) ||
        !fill_about(make->bundle, path, about))
        status = gl_fail_memory(error);
    if (!status)
        status = open_temporary(make, error);
    if (!status)
        status = glassine_draft_new(make->bundle, about->keeper, NULL, &make->draft, error);
    if (status)
        gl_make_free(make);
    return status;
}

/* Where it fails the file goes, whatever is in it by then. */
glassine_status gl_make_save(gl_make *make, const char *note, glassine_error *error) {
    bool saved;
    return gl_draft_save(make->draft, note, &saved, error);
}

glassine_status gl_make_publish(gl_make *make, bool replace, glassine_error *error) {
    glassine_status status = gl_put_in_place(make->temporary, make->path, replace, error);
    if (!status) {
        free(make->temporary);
        make->temporary = NULL;
    }
    return status;
}

glassine_status gl_make_add_page(gl_make *make, gl_span page, glassine_error *error) {
    return gl_rewrite_with(make->bundle, &(gl_rewrite_extras){.page = page}, make->temporary, true, error);
}

void gl_make_free(gl_make *make) {
    glassine_draft_free(make->draft);
    glassine_bundle_close(make->bundle);
    if (make->temporary)
        gl_file_remove(make->temporary);
    free(make->temporary);
    free(make->path);
    *make = (gl_make){0};
}

glassine_status glassine_bundle_make(const char *path, const char *title, const char *keeper,
                                     glassine_error *error) {
    return glassine_bundle_make_signed(path, title, keeper, NULL, error);
}

glassine_status glassine_bundle_make_from(const char *path, const char *title, const char *keeper,
                                          const glassine_key *key, const char *source,
                                          const glassine_merge_options *options, glassine_error *error) {
    char uuid[GL_UUID_SIZE], person[GL_PERSON_SIZE];
    if (!gl_uuid_new(uuid))
        return gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "the system gives no random numbers");
    snprintf(person, sizeof person, "contributor/%s", uuid);
    gl_about about = {.keeper = person, .title = (char *)title};
    gl_make make;
    glassine_status status = gl_make_new(&make, path, &about, error);
    if (status)
        return status;
    glassine_bundle_sign_with(make.bundle, key, NULL);
    glassine_record *record;
    glassine_assignment name = {"name", keeper, NULL}, heading = {"title", title, NULL};
    status = gl_draft_enter_as(make.draft, person, &name, 1, &record, error);
    if (!status)
        status = glassine_draft_enter(make.draft, "collection", &heading, 1, NULL, &record, error);
    if (!status)
        status = gl_make_save(&make, "begun", error);
    if (!status && source)
        status = glassine_merge(make.draft, &source, 1, options, NULL, error);
    if (!status)
        status = gl_make_publish(&make, false, error);
    gl_make_free(&make);
    return status;
}

glassine_status glassine_bundle_make_signed(const char *path, const char *title, const char *keeper,
                                            const glassine_key *key, glassine_error *error) {
    return glassine_bundle_make_from(path, title, keeper, key, NULL, NULL, error);
}

/* ------------------------------------------------------------------------------------- out of other
 * documents */

struct glassine_making {
    gl_make make;
};

/* Title and keeper come from outside: what is written must be what can be read. */
static glassine_status check_about(gl_make *make, glassine_error *error) {
    gl_buf text = GL_BUF_EMPTY;
    gl_about read;
    gl_about_print(&make->bundle->about, &text);
    glassine_status status =
        text.failed ? gl_fail_memory(error)
                    : gl_about_parse(make->bundle->arena, gl_buf_span(&text), make->path, &read, error);
    gl_buf_free(&text);
    if (status)
        gl_make_free(make);
    return status;
}

glassine_status glassine_making_new(const char *path, const char *title, const char *keeper,
                                    glassine_making **making, glassine_error *error) {
    gl_about about = {.keeper = (char *)keeper, .title = (char *)title};
    *making = calloc(1, sizeof **making);
    if (!*making)
        return gl_fail_memory(error);
    glassine_status status = gl_make_new(&(*making)->make, path, &about, error);
    if (!status)
        status = check_about(&(*making)->make, error);
    if (status) {
        free(*making);
        *making = NULL;
    }
    return status;
}

glassine_bundle *glassine_making_bundle(glassine_making *making) {
    return making->make.bundle;
}

glassine_draft *glassine_making_draft(glassine_making *making) {
    return making->make.draft;
}

glassine_status glassine_making_publish(glassine_making *making, const char *note, glassine_error *error) {
    glassine_status status = gl_make_save(&making->make, note, error);
    return status ? status : gl_make_publish(&making->make, false, error);
}

void glassine_making_free(glassine_making *making) {
    if (making)
        gl_make_free(&making->make);
    free(making);
}
