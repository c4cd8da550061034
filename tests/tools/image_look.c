/* image_look FILE…: what gl_image_look says of each file, one JSON object a line. */
#include <inttypes.h>
#include <stdio.h>

#include "base/error.h"
#include "base/file.h"
#include "base/json.h"
#include "images/image.h"

static void member(gl_buf *line, const char *name, const char *value) {
    gl_buf_printf(line, "\"%s\":", name);
    gl_json_add_string(line, gl_span_of(value));
    gl_buf_add_char(line, ',');
}

static void describe(const gl_image *image, gl_buf *line) {
    gl_buf_add_char(line, '{');
    member(line, "media", image->media);
    member(line, "extension", image->extension);
    if (image->trouble)
        member(line, "trouble", image->trouble);
    gl_buf_printf(line,
                  "\"width\":%" PRIu32 ",\"height\":%" PRIu32 ",\"dpi_x\":%" PRIu32 ",\"dpi_y\":%" PRIu32
                  ",\"orientation\":%u,\"place\":%s,\"serial\":%s,\"person\":%s}\n",
                  image->width, image->height, image->dpi_x, image->dpi_y, (unsigned)image->orientation,
                  image->place ? "true" : "false", image->maker_serial ? "true" : "false",
                  image->person ? "true" : "false");
}

static glassine_status look(const char *path, glassine_error *error) {
    gl_image image;
    int fd, failure = gl_file_open_read(path, &fd);
    if (failure)
        return gl_fail_system(error, failure, path, "cannot be opened");
    glassine_status status = gl_image_look(fd, path, &image, error);
    gl_file_close(fd);
    if (status != GLASSINE_OK)
        return status;
    gl_buf line = GL_BUF_EMPTY;
    describe(&image, &line);
    fwrite(line.text, 1, line.length, stdout);
    gl_buf_free(&line);
    return GLASSINE_OK;
}

int main(int count, char **paths) {
    for (int i = 1; i < count; i++) {
        glassine_error error;
        char line[2048];
        if (look(paths[i], &error) != GLASSINE_OK) {
            glassine_error_line(&error, line, sizeof line);
            fprintf(stderr, "image_look: %s\n", line);
            return 1;
        }
    }
    return 0;
}
