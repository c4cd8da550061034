/* A scan's file: looked at, its pixels read, copied without what it tells, reduced. A copy tells nothing. */
#include "fuzz.h"

#include "images/decode.h"
#include "images/reduce.h"
#include "images/strip.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    gl_image image = {0};
    glassine_error error = {0};
    gl_span file = fuzz_span(data, size);
    if (gl_image_look_memory(file, &image, &error))
        return 0;
    FUZZ_HOLDS(image.media && image.extension);
    const char *why = NULL;
    if ((uint64_t)image.width * image.height < 1 << 20)
        FUZZ_HOLDS(gl_image_decodes(file, &image, &why, &error) == GLASSINE_OK);
    gl_buf copy = GL_BUF_EMPTY;
    if (gl_strip(file, &copy) == GL_STRIP_DONE) {
        gl_image stripped = {0};
        FUZZ_HOLDS(gl_image_look_memory(gl_buf_span(&copy), &stripped, &error) == GLASSINE_OK);
        FUZZ_HOLDS(!stripped.place && !stripped.maker_serial && !stripped.person);
    }
    gl_buf_free(&copy);
    return 0;
}
