#include "base/late.h"

#include <dlfcn.h>
#include <errno.h>
#include <pthread.h>
#include <string.h>

#include "base/error.h"

static pthread_mutex_t one_at_a_time = PTHREAD_MUTEX_INITIALIZER;

static glassine_status is_not_there(const gl_late *library, int code, glassine_error *error) {
    const char *why = dlerror();
    if (code == ENOMEM)
        return gl_fail_memory(error);
    gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "%s: the library %s cannot be loaded (%s)", library->without,
            library->file, why ? why : "no reason is given");
    gl_error_remedy(error, "Install that library");
    return GLASSINE_SYSTEM;
}

static glassine_status lacks(const gl_late *library, const char *name, glassine_error *error) {
    gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "%s: the library %s is here without %s", library->without,
            library->file, name);
    gl_error_remedy(error, "Install a newer version of that library");
    return GLASSINE_SYSTEM;
}

/* What it needs is loaded now and not by and by: a library that cannot work is found out here. */
static glassine_status load(gl_late *library, glassine_error *error) {
    errno = 0;
    void *loaded = dlopen(library->file, RTLD_NOW | RTLD_LOCAL);
    if (!loaded)
        return is_not_there(library, errno, error);
    for (size_t i = 0; i < library->count; i++) {
        void *function = dlsym(loaded, library->names[i]);
        if (!function)
            return lacks(library, library->names[i], error);
        /* By its bytes: in POSIX a pointer to anything may lead to a function, in C it may not. */
        memcpy((char *)library->calls + i * sizeof function, &function, sizeof function);
    }
    library->there = true;
    return GLASSINE_OK;
}

glassine_status gl_late_load(gl_late *library, glassine_error *error) {
    pthread_mutex_lock(&one_at_a_time);
    glassine_status status = library->there ? GLASSINE_OK : load(library, error);
    pthread_mutex_unlock(&one_at_a_time);
    return status;
}
