/* That memory ran out, kept of the bundle for those that cannot say so themselves. */
#include "base/error.h"
#include "bundle/bundle.h"

bool glassine_bundle_failed(const glassine_bundle *bundle) {
    return bundle->failed || bundle->stopped || gl_arena_failed(bundle->arena);
}

glassine_status gl_bundle_fail_memory(glassine_bundle *bundle, glassine_error *error) {
    bundle->failed = true;
    return gl_fail_memory(error);
}

glassine_status gl_bundle_end(const glassine_bundle *bundle, const glassine_report *report,
                              glassine_status status, glassine_error *error) {
    if (bundle->stopped)
        return gl_watch_fail(error);
    bool failed = glassine_bundle_failed(bundle) || (report && glassine_report_failed(report));
    return failed ? gl_fail_memory(error) : status;
}

glassine_status gl_bundle_end_written(const glassine_bundle *bundle, const glassine_report *report,
                                      glassine_status status, const char *path, const char *stays,
                                      glassine_error *error) {
    if (bundle)
        status = gl_bundle_end(bundle, report, status, error);
    if (status)
        gl_error_remedy(error, "\"%s\" %s all the same", path, stays);
    return status;
}
