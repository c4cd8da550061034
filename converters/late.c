#include "late.h"

#include <dlfcn.h>
#include <errno.h>
#include <pthread.h>
#include <stdio.h>

#include "output.h"

static pthread_mutex_t one_at_a_time = PTHREAD_MUTEX_INITIALIZER;

static glassine_status is_not_there(const conv_late *library, int code, const char *place,
                                    glassine_error *error) {
    char message[sizeof error->message];
    const char *why = dlerror();
    if (code == ENOMEM)
        return conv_fail_system(error, code, place, library->without);
    snprintf(message, sizeof message, "%s: the library %s cannot be loaded (%s)", library->without,
             library->file, why ? why : "no reason is given");
    return conv_fail(error, GLASSINE_SYSTEM, place, "Install that library", message);
}

static glassine_status lacks(const conv_late *library, const char *name, const char *place,
                             glassine_error *error) {
    char message[sizeof error->message];
    snprintf(message, sizeof message, "%s: the library %s is here without %s", library->without,
             library->file, name);
    return conv_fail(error, GLASSINE_SYSTEM, place, "Install a newer version of that library", message);
}

static glassine_status load(conv_late *library, const char *place, glassine_error *error) {
    errno = 0;
    void *loaded = dlopen(library->file, RTLD_NOW | RTLD_LOCAL);
    if (!loaded)
        return is_not_there(library, errno, place, error);
    for (size_t i = 0; i < library->count; i++) {
        void *function = dlsym(loaded, library->names[i]);
        if (!function)
            return lacks(library, library->names[i], place, error);
        /* By its bytes: in POSIX a pointer to anything may lead to a function, in C it may not. */
        memcpy((char *)library->calls + i * sizeof function, &function, sizeof function);
    }
    library->there = true;
    return GLASSINE_OK;
}

glassine_status conv_late_load(conv_late *library, const char *place, glassine_error *error) {
    pthread_mutex_lock(&one_at_a_time);
    glassine_status status = library->there ? GLASSINE_OK : load(library, place, error);
    pthread_mutex_unlock(&one_at_a_time);
    return status;
}
