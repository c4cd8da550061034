/* A test of files: in a folder of its own, with the system's own calls again at the end. */
#ifndef TESTS_BASE_IN_FOLDER_H
#define TESTS_BASE_IN_FOLDER_H

#include "unit.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/calls.h"
#include "base/file.h"

static char folder[256];

static inline const char *in_folder(const char *name) {
    static char path[4][512];
    static unsigned turn;
    turn = (turn + 1) % 4;
    snprintf(path[turn], sizeof path[turn], "%s/%s", folder, name);
    return path[turn];
}

static inline size_t files_in_folder(void) {
    size_t count = 0;
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(dir);
    return count;
}

static inline int make_folder(void **state) {
    (void)state;
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/glassine-test-XXXXXX", base && *base ? base : "/tmp");
    return mkdtemp(folder) ? 0 : -1;
}

static inline int remove_folder(void **state) {
    (void)state;
    gl_calls_use(NULL);
    DIR *dir = opendir(folder);
    for (struct dirent *entry; dir && (entry = readdir(dir)) != NULL;)
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            unlink(in_folder(entry->d_name));
    closedir(dir);
    return rmdir(folder);
}

static inline void put(const char *name, gl_span content) {
    assert_int_equal(gl_file_write_all(in_folder(name), content, false), 0);
}

static inline void check_content(const char *name, gl_span expected) {
    gl_buf content = GL_BUF_EMPTY;
    assert_int_equal(gl_file_read_all(in_folder(name), SIZE_MAX / 2, &content), 0);
    assert_true(gl_span_equal(gl_buf_span(&content), expected));
    gl_buf_free(&content);
}

#define FILE_TEST(function) cmocka_unit_test_setup_teardown(function, make_folder, remove_folder)

#endif
