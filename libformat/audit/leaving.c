#include "audit/leaving.h"

#include <stdio.h>

#include "base/error.h"
#include "records/value.h"

bool gl_leaves(gl_span type, glassine_reach reach, bool blind) {
    static const char *const tells[] = {"claim", "opinion", "conclusion", "match", NULL};
    if (reach == GLASSINE_PRIVATE)
        return false;
    if (!blind)
        return true;
    for (size_t i = 0; tells[i]; i++)
        if (gl_span_is(type, tells[i]))
            return false;
    return reach == GLASSINE_SHARED;
}

void gl_leaving_rules(glassine_bundle *bundle, void (*found)(void *context, const glassine_error *error),
                      void *context) {
    if (!bundle->about.answer_by)
        return;
    for (uint32_t slip = 0; slip < gl_store_count(bundle->store); slip++) {
        const gl_slip *said = gl_store_at(bundle->store, slip);
        gl_span id = gl_store_record(bundle->store, said->record)->id, type, uuid;
        glassine_reach reach = (glassine_reach)said->reach;
        if (said->edition != 1 || !gl_record_id_split(id, &type, &uuid) ||
            gl_leaves(type, reach, bundle->about.blind))
            continue;
        glassine_error error;
        char place[96];
        snprintf(place, sizeof place, "%.*s", GL_SPAN_ARGS(id));
        gl_fail(&error, GLASSINE_REFUSED, reach == GLASSINE_PRIVATE ? "S060" : "S061", place,
                "a %s slip of type %.*s came with the dispatch", glassine_reach_name(reach),
                GL_SPAN_ARGS(type));
        found(context, &error);
    }
}
