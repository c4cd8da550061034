#include "record_set.h"

#include <stdlib.h>

void record_set_free(record_set *set) {
    free(set->entries);
    *set = (record_set){0};
}

/* The record's place, or the empty one where it would go. */
static size_t find(const record_set *set, const glassine_record *record) {
    size_t at = (size_t)(((uintptr_t)record >> 4) * UINT64_C(0x9e3779b97f4a7c15) >> 20) & (set->room - 1);
    while (set->entries[at].record && set->entries[at].record != record)
        at = (at + 1) & (set->room - 1);
    return at;
}

static bool grow(record_set *set) {
    record_set grown = {.room = set->room ? set->room * 2 : 64};
    grown.entries = calloc(grown.room, sizeof *grown.entries);
    if (!grown.entries)
        return false;
    for (size_t i = 0; i < set->room; i++) {
        if (set->entries[i].record)
            grown.entries[find(&grown, set->entries[i].record)] = set->entries[i];
    }
    free(set->entries);
    set->entries = grown.entries;
    set->room = grown.room;
    return true;
}

uint64_t record_set_add(record_set *set, const glassine_record *record, uint64_t line, bool *failed) {
    *failed = set->count * 2 >= set->room && !grow(set);
    if (*failed)
        return 0;
    size_t at = find(set, record);
    if (set->entries[at].record)
        return set->entries[at].line;
    set->entries[at] = (record_set_entry){record, line};
    set->count++;
    return 0;
}

bool record_set_has(const record_set *set, const glassine_record *record) {
    return set->room && set->entries[find(set, record)].record;
}
