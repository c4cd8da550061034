/* Numbered answers, as somebody writes them in an e-mail. */
#include "asked.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    asked_merge(fuzz_file("a.txt", fuzz_span(data, size)), ASKED_SPECIALIST);
    return 0;
}
