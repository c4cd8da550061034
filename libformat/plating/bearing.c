#include "plating/bearing.h"

#include "records/table.h"

static const gl_bearing table[] = {
    {.type = "item"}, /* set aside, it takes its stamps with it */
    {.type = "stamp", .leads = {"item"}, .surveyed = true},
    {.type = "design", .wide = true, .surveyed = true},
    {.type = "plate", .wide = true, .surveyed = true},
    {.type = "plate_state", .wide = true, .surveyed = true},
    {.type = "mark", .wide = true, .surveyed = true},
    {.type = "observation", .leads = {"stamp", "item"}, .surveyed = true, .by_mark = true},
    {.type = "claim", .leads = {"stamp", "basis", "instead_of"}, .surveyed = true},
    {.type = "match", .leads = {"stamps", "basis"}, .surveyed = true},
    {.type = "conclusion", .leads = {"stamp", "basis"}, .surveyed = true},
    {.type = "join", .leads = {"records"}, .wide = true},
};

static uint8_t place_of(const char *type) {
    return (uint8_t)gl_type_place(glassine_type_find(type));
}

static bool has_any(const glassine_bundle *bundle, const char *type) {
    uint8_t place = place_of(type);
    for (size_t i = 0; i < bundle->record_count; i++)
        if (bundle->records[i]->type == place)
            return true;
    return false;
}

gl_bearings gl_bearings_in(const glassine_bundle *bundle) {
    bool marks = has_any(bundle, "mark");
    gl_bearings bearings = {{NULL}};
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        if (marks || !table[i].by_mark)
            bearings.of[place_of(table[i].type)] = &table[i];
    return bearings;
}
