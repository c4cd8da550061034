/* Programs for Windows hold all their libraries: there is none to be loaded. */
#ifndef GL_BASE_WINDOWS_DLFCN_H
#define GL_BASE_WINDOWS_DLFCN_H

#include <stddef.h>

#define RTLD_NOW 0
#define RTLD_LOCAL 0

static inline void *dlopen(const char *file, int how) {
    (void)file, (void)how;
    return NULL;
}

static inline void *dlsym(void *loaded, const char *name) {
    (void)loaded, (void)name;
    return NULL;
}

static inline char *dlerror(void) {
    return NULL;
}

#endif
