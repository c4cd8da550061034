/* The plates of a bundle as the computation wants them. */
#ifndef GL_PLATING_FROM_BUNDLE_H
#define GL_PLATING_FROM_BUNDLE_H

#include "bundle/bundle.h"
#include "plating/plan.h"

/* The plan of a plate record. Refused where its layout is contested or lacks rows or columns (R040, R041), or
 * is no layout (R200 and on). */
glassine_status gl_plan_of_plate(glassine_bundle *bundle, glassine_record *plate, gl_plan **plan,
                                 glassine_error *error);

#endif
