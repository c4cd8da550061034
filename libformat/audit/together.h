/* Record rules over several fields or several records: what single fields cannot show. */
#ifndef GL_AUDIT_TOGETHER_H
#define GL_AUDIT_TOGETHER_H

#include "bundle/bundle.h"

/* R043–R047, R049, R056, R213, R214, as far as the record's type has them. The first broken rule fills the error. */
glassine_status gl_together_rules(glassine_bundle *bundle, glassine_record *record, glassine_error *error);

#endif
