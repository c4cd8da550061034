/* Reads lines, each an EDTF string; prints for each "FIRST LAST" in days since 1970-01-01, "none" for a bound that
 * is not there, or "refused". */
#include <inttypes.h>
#include <stdio.h>

#include "base/edtf.h"

static void print_bound(int64_t days, int64_t none, char after) {
    if (days == none)
        printf("none%c", after);
    else
        printf("%" PRId64 "%c", days, after);
}

int main(void) {
    char line[256];
    while (fgets(line, sizeof line, stdin)) {
        gl_date date;
        if (!gl_edtf_parse((gl_span){line, strcspn(line, "\n")}, &date, NULL, NULL)) {
            puts("refused");
            continue;
        }
        print_bound(date.first, INT64_MIN, ' ');
        print_bound(date.last, INT64_MAX, '\n');
    }
    return 0;
}
