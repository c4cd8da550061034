/* Copies of scans that browsers show: made when they are asked for, kept nowhere. */
#include <errno.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/work.h"
#include "bundle/bundle.h"
#include "images/reduce.h"

#define FILE_MOST ((uint64_t)1 << 30) /* a larger scan is not taken into memory */

static int gather(void *context, const char *bytes, size_t length) {
    gl_buf *out = context;
    gl_buf_add_bytes(out, bytes, length);
    return out->failed ? ENOMEM : 0;
}

glassine_status gl_bundle_scan_bytes(glassine_bundle *bundle, const char *sha256, gl_buf *file,
                                     glassine_error *error) {
    uint64_t bytes = 0;
    if (glassine_scan_has(bundle, sha256, &bytes) && bytes > FILE_MOST)
        return gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path,
                       "scan %.64s is too large for a copy of it", sha256);
    return glassine_scan_read(bundle, sha256, gather, file, error);
}

static bool keeps_size(const gl_image *image, uint32_t limit) {
    return limit == 0 || (image->width <= limit && image->height <= limit);
}

/* The bytes themselves, without metadata; not done where they are of no kind that browsers show. */
static bool take_stripped(gl_span file, const gl_image *image, glassine_picture *picture) {
    bool shown = strcmp(image->media, "image/jpeg") == 0 || strcmp(image->media, "image/png") == 0;
    gl_buf made = GL_BUF_EMPTY;
    gl_stripped done = shown ? gl_strip(file, &made) : GL_STRIP_UNABLE;
    if (done == GL_STRIP_NOTHING) {
        gl_buf_clear(&made);
        gl_buf_add(&made, file);
    }
    if (done == GL_STRIP_UNABLE || made.failed) {
        gl_buf_free(&made);
        return false;
    }
    picture->media = image->media;
    picture->bytes = (unsigned char *)made.text;
    picture->length = made.length;
    picture->width = image->width;
    picture->height = image->height;
    picture->exact = true;
    return true;
}

static glassine_status take_reduced(glassine_bundle *bundle, gl_span file, const gl_image *image,
                                    uint32_t limit, glassine_picture *picture, glassine_error *error) {
    gl_reduced reduced;
    glassine_status status = gl_reduce(file, image, bundle->path, limit, &reduced, error);
    if (status)
        return status;
    picture->media = "image/jpeg";
    picture->bytes = reduced.bytes;
    picture->length = reduced.length;
    picture->width = reduced.width;
    picture->height = reduced.height;
    return GLASSINE_OK;
}

/* JPEG and PNG as they are where they fit and browsers turn them; a picture that is turned by a PNG chunk,
 * and a PNG that a JPEG copy beats by far, are better copied. */
static glassine_status make(glassine_bundle *bundle, gl_span file, const gl_image *image, uint32_t limit,
                            glassine_picture *picture, glassine_error *error) {
    bool is_png = strcmp(image->media, "image/png") == 0, turned = image->orientation > 1;
    if (keeps_size(image, limit) && (!is_png || (!turned && limit == 0)) &&
        take_stripped(file, image, picture))
        return GLASSINE_OK;
    glassine_status status = take_reduced(bundle, file, image, limit, picture, error);
    if (status || !is_png || turned || !keeps_size(image, limit) || file.length > picture->length)
        return status;
    glassine_picture other = {.orientation = picture->orientation,
                              .scan_width = picture->scan_width,
                              .scan_height = picture->scan_height};
    if (take_stripped(file, image, &other)) {
        free(picture->bytes);
        *picture = other;
    }
    return GLASSINE_OK;
}

glassine_status glassine_picture_make(glassine_bundle *bundle, const char *sha256, uint32_t limit,
                                      glassine_picture *picture, glassine_error *error) {
    gl_buf file = GL_BUF_EMPTY;
    gl_image image;
    *picture = (glassine_picture){0};
    glassine_status status = gl_bundle_scan_bytes(bundle, sha256, &file, error);
    if (!status)
        status = gl_image_look_memory(gl_buf_span(&file), &image, error);
    if (!status) {
        picture->scan_width = image.width;
        picture->scan_height = image.height;
        picture->orientation = image.orientation ? image.orientation : 1;
        status = make(bundle, gl_buf_span(&file), &image, limit, picture, error);
    }
    gl_buf_free(&file);
    return status;
}

static void make_one(void *context, size_t index) {
    glassine_picture_wanted *one = (glassine_picture_wanted *)context + index;
    if (one->bundle && !one->status)
        one->status = glassine_picture_make(one->bundle, one->sha256, one->limit, &one->picture, &one->error);
}

/* The bundle's index of scans is made before many ask it at once: from then on it is only read. */
void glassine_pictures_make(glassine_picture_wanted *wanted, size_t count) {
    for (size_t i = 0; i < count; i++) {
        wanted[i].status = GLASSINE_OK;
        if (wanted[i].bundle && !glassine_scan_has(wanted[i].bundle, wanted[i].sha256, NULL))
            wanted[i].status = gl_bundle_end(wanted[i].bundle, NULL, GLASSINE_OK, &wanted[i].error);
    }
    gl_work(count, make_one, wanted);
}

void glassine_picture_free(glassine_picture *picture) {
    free(picture->bytes);
    *picture = (glassine_picture){0};
}
