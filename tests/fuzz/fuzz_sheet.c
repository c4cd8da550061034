/* A reply sheet, as the page saves one, taken into a bundle that asked. */
#include "asked.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    gl_buf text = GL_BUF_EMPTY;
    gl_buf_add_text(&text, size && data[0] == '{' ? "" : "{"); /* what begins otherwise is taken for a text */
    gl_buf_add_bytes(&text, size ? (const char *)data : "", size);
    asked_merge(fuzz_file("a.json", gl_buf_span(&text)), NULL);
    gl_buf_free(&text);
    return 0;
}
