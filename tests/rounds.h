/* How often a test repeats itself at random. */
#ifndef TESTS_ROUNDS_H
#define TESTS_ROUNDS_H

#ifdef GLASSINE_EMULATED /* each takes many times as long, and the seeds are the first of the others' */
#define ROUNDS_OF(times) ((times) / 10)
#else
#define ROUNDS_OF(times) (times)
#endif

#endif
