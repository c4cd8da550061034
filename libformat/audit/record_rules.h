/* The record rules (R-codes): what a record must be, beyond the form of its slips (spec/records.md). */
#ifndef GL_AUDIT_RECORD_RULES_H
#define GL_AUDIT_RECORD_RULES_H

#include "bundle/bundle.h"
#include "plating/plan.h"

/* Checks one value of a record's field: kind, choices, that references lead somewhere and to the right type, positions
 * on the plate, a state that the plate has, a place inside its item, a region inside its scan. The first broken rule
 * fills the error. What others say of the field is theirs. */
glassine_status gl_record_rules_value(glassine_bundle *bundle, glassine_record *record, gl_span field,
                                      gl_span value, glassine_error *error);
/* Required fields are there. */
glassine_status gl_record_rules_required(glassine_bundle *bundle, glassine_record *record,
                                         glassine_error *error);

/* The plan of the plate that was needed last: the record that is checked next is mostly on the same one. All zero at
 * first; good as long as the bundle does not change; the plan is to be freed at last. */
typedef struct gl_plan_kept {
    const glassine_record *plate;
    gl_plan *plan;
} gl_plan_kept;

/* Every broken rule of a record: `found` is called for each; the error's place names record and field. */
void gl_record_rules(glassine_bundle *bundle, glassine_record *record, gl_plan_kept *kept,
                     void (*found)(void *context, const glassine_error *error), void *context);

#endif
