/* malloc and its kin in place of the system's, for everything in this process (the library, the converters,
 * and every library below them): the call of a given number fails, and what was not given back is known. */
#ifndef TESTS_MEMORY_ALLOCATOR_H
#define TESTS_MEMORY_ALLOCATOR_H

#include <stdbool.h>
#include <stdint.h>

/* From here on calls are counted, and number `failing` (from 1; 0: none) gets nothing; with `for_good` all
 * after it too. */
void allocator_watch(uint64_t failing, bool for_good);
/* No call fails any more; what is given back is still noted. */
void allocator_relax(void);
/* Ends the watch. How many calls there were since it began. */
uint64_t allocator_stop(void);
/* How many of the watch's pieces were not given back. */
uint64_t allocator_kept(void);
/* Notes where calls come from, which is slow. */
void allocator_trace(bool on);
/* Where the failing call came from, and (told) where each piece that was kept did: for people, to standard
 * error. */
void allocator_show_failing(void);
void allocator_show_kept(void);

#endif
