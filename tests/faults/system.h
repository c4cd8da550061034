/* What the system gives is the same in each run: linked with --wrap=sysconf and --wrap=gl_platform_random. */
#ifndef TESTS_MEMORY_SYSTEM_H
#define TESTS_MEMORY_SYSTEM_H

/* Random numbers begin anew. */
void system_begin(void);

#endif
