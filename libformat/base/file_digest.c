/* The digest of a file's bytes, by which a bundle knows its scans. */
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/hash.h"

enum { BLOCK = 1 << 18 };

static int hash_file(int fd, gl_hash *hash, char *block) {
    uint64_t size;
    int code = gl_file_size(fd, &size);
    gl_hash_start(hash);
    for (uint64_t at = 0; !code && at < size;) {
        size_t length = size - at < BLOCK ? (size_t)(size - at) : BLOCK;
        code = gl_file_read_at(fd, block, length, at);
        if (!code)
            gl_hash_add(hash, block, length);
        at += length;
    }
    return code;
}

glassine_status glassine_file_digest(const char *path, char out[65], glassine_error *error) {
    int fd;
    int code = gl_file_open_read(path, &fd);
    if (code)
        return gl_fail_system(error, code, path, "cannot be opened");
    gl_hash *hash = gl_hash_new();
    char *block = malloc(BLOCK);
    glassine_status status = hash && block ? GLASSINE_OK : gl_fail_memory(error);
    if (!status && (code = hash_file(fd, hash, block)))
        status = gl_fail_system(error, code, path, "cannot be read");
    if (!status) {
        gl_digest digest = gl_hash_end(hash);
        gl_digest_hex(&digest, out);
    }
    free(block);
    gl_hash_free(hash);
    gl_file_close(fd);
    return status;
}
