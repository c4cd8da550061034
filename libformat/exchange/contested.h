/* Contested fields in a report, for `contested` and for what a merge says. */
#ifndef GL_EXCHANGE_CONTESTED_H
#define GL_EXCHANGE_CONTESTED_H

#include "bundle/bundle.h"

/* The contested fields of one record, each as an object of `list`; *count goes up by their number. */
glassine_status gl_report_contested_of(glassine_bundle *bundle, glassine_record *record, glassine_node *list,
                                       size_t *count, glassine_error *error);

#endif
