/* image_copy strip IN OUT, image_copy reduce LIMIT IN OUT: copies of picture files as the library makes them.
 * `strip` says on standard output what it did: nothing, done or unable (only then no OUT is written). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/error.h"
#include "base/file.h"
#include "images/reduce.h"

static int fail(const glassine_error *error) {
    char line[2048];
    glassine_error_line(error, line, sizeof line);
    fprintf(stderr, "image_copy: %s\n", line);
    return 1;
}

static int write_out(const char *path, const void *bytes, size_t length) {
    FILE *file = fopen(path, "wb");
    if (!file)
        return 1;
    bool whole = fwrite(bytes, 1, length, file) == length;
    return fclose(file) == 0 && whole ? 0 : 1;
}

static int strip(gl_span file, const char *out) {
    static const char *const names[] = {"nothing", "done", "unable"};
    gl_buf made = GL_BUF_EMPTY;
    gl_stripped result = gl_strip(file, &made);
    puts(names[result]);
    gl_span bytes = result == GL_STRIP_DONE ? gl_buf_span(&made) : file;
    int code = result == GL_STRIP_UNABLE ? 0 : write_out(out, bytes.text, bytes.length);
    gl_buf_free(&made);
    return code;
}

static int reduce(gl_span file, const char *in, uint32_t limit, const char *out) {
    glassine_error error;
    gl_image image;
    gl_reduced made;
    int fd;
    if (gl_file_open_read(in, &fd))
        return 1;
    glassine_status status = gl_image_look(fd, in, &image, &error);
    gl_file_close(fd);
    if (!status)
        status = gl_reduce(file, &image, in, limit, &made, &error);
    if (status)
        return fail(&error);
    int code = write_out(out, made.bytes, made.length);
    free(made.bytes);
    return code;
}

int main(int count, char **words) {
    bool strips = count == 4 && strcmp(words[1], "strip") == 0;
    bool reduces = count == 5 && strcmp(words[1], "reduce") == 0;
    if (!strips && !reduces) {
        fputs("usage: image_copy strip IN OUT | image_copy reduce LIMIT IN OUT\n", stderr);
        return 2;
    }
    gl_buf file = GL_BUF_EMPTY;
    const char *in = words[count - 2], *out = words[count - 1];
    if (gl_file_read_all(in, (size_t)1 << 30, &file))
        return 1;
    int code = strips ? strip(gl_buf_span(&file), out)
                      : reduce(gl_buf_span(&file), in, (uint32_t)strtoul(words[2], NULL, 10), out);
    gl_buf_free(&file);
    return code;
}
