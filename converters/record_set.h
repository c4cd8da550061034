/* A set of records, each with the line on which it was met. */
#ifndef CONVERTERS_RECORD_SET_H
#define CONVERTERS_RECORD_SET_H

#include "output.h"

typedef struct record_set_entry {
    const glassine_record *record;
    uint64_t line;
} record_set_entry;

typedef struct record_set {
    record_set_entry *entries; /* open addressing; a power of two of them */
    size_t count, room;
} record_set;

void record_set_free(record_set *set);
/* The line of an earlier one, 0 where there is none; *failed where memory ran out. */
uint64_t record_set_add(record_set *set, const glassine_record *record, uint64_t line, bool *failed);
bool record_set_has(const record_set *set, const glassine_record *record);

#endif
