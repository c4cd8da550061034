/* How far work on a bundle is, told to whoever looks on. */
#include "base/watch.h"

#include "bundle/bundle.h"

glassine_status glassine_bundle_tell(glassine_bundle *bundle, const char *doing, const char *unit,
                                     uint64_t done, uint64_t total, glassine_error *error) {
    gl_watch watch = {.by = bundle->watch, .doing = doing, .unit = unit, .total = total};
    gl_watch_add(&watch, done);
    bundle->stopped = bundle->stopped || !gl_watch_tell(&watch);
    return bundle->stopped ? gl_watch_fail(error) : GLASSINE_OK;
}
