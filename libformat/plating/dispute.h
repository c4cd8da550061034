/* The smallest groups of statements that cannot all be true. Private to the standings. */
#ifndef GL_PLATING_DISPUTE_H
#define GL_PLATING_DISPUTE_H

#include "plating/joint.h"

#define GL_GROUPS_MOST 16u /* groups that are told */
#define GL_GROUP_SIDES_MOST                                                                                  \
    4u /* of a group that is searched for in full; one larger is found where there is no other */

typedef struct gl_disputes {
    gl_group *groups;
    uint32_t group_count;
    bool complete; /* every group of up to GL_GROUP_SIDES_MOST sides is there */
    void *memory;  /* an arena that all of it lies in */
} gl_disputes;

/* A component of tied stamps in which not everything can be true. */
typedef struct gl_dispute_scope {
    const gl_standing_question *question;
    gl_tied *tied;
    const uint32_t *stamps; /* ascending */
    uint32_t stamp_count;
    const uint32_t *first, *statements; /* of stamp s: statements[first[s]] … that count */
} gl_dispute_scope;

glassine_status gl_disputes_find(const gl_dispute_scope *scope, gl_disputes *disputes, glassine_error *error);
void gl_disputes_free(gl_disputes *disputes);

#endif
