#include "glassine.h"

#define MEBIBYTE (UINT64_C(1) << 20)
#define GIBIBYTE (UINT64_C(1) << 30)

/* The reasons are in spec/limits.md; its table and this one are compared by a test. */
glassine_limits glassine_limits_default(void) {
    return (glassine_limits){
        .entries = 1000000,
        .directory_bytes = 256 * MEBIBYTE,
        .small_file_bytes = 256 * MEBIBYTE,
        .segment_bytes = 4 * GIBIBYTE,
        .log_bytes = 4 * GIBIBYTE,
        .ratio = 200,
        .line_bytes = 256 * MEBIBYTE,
        .slips = 16000000,
        .after = 100000,
        .fields = 1000,
        .editions = 1000000,
        .record_fields = 1000,
    };
}
