/* A fuzzing target as a plain program: each file named, and each file in a folder named, goes through it
 * once. */
#include "fuzz.h"

#include <dirent.h>
#include <sys/stat.h>

static size_t replayed;

/* In memory of its own and of just this size, so that a sanitizer sees a step beyond it. */
static int replay(const char *path) {
    gl_buf bytes = GL_BUF_EMPTY;
    if (gl_file_read_all(path, (size_t)1 << 28, &bytes)) {
        fprintf(stderr, "%s cannot be read\n", path);
        return 1;
    }
    uint8_t *copy = malloc(bytes.length + !bytes.length);
    FUZZ_HOLDS(copy != NULL);
    if (bytes.length)
        memcpy(copy, bytes.text, bytes.length);
    if (getenv("GLASSINE_FUZZ_LOUD"))
        fprintf(stderr, "%s\n", path);
    LLVMFuzzerTestOneInput(copy, bytes.length);
    free(copy);
    gl_buf_free(&bytes);
    replayed++;
    return 0;
}

static int replay_folder(const char *path) {
    int wrong = 0;
    DIR *folder = opendir(path);
    for (struct dirent *one; folder && (one = readdir(folder)) != NULL;) {
        char inside[1024];
        if (one->d_name[0] == '.')
            continue;
        snprintf(inside, sizeof inside, "%s/%s", path, one->d_name);
        wrong |= replay(inside);
    }
    if (folder)
        closedir(folder);
    return wrong;
}

int main(int count, char **paths) {
    int wrong = 0;
    for (int i = 1; i < count; i++) {
        struct stat what;
        if (stat(paths[i], &what))
            continue; /* a target that has no such folder */
        wrong |= S_ISDIR(what.st_mode) ? replay_folder(paths[i]) : replay(paths[i]);
    }
    printf("%zu inputs\n", replayed);
    return wrong || !replayed;
}
