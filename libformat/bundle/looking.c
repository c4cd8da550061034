/* One look at each of many records: an index of what they say costs more than a few looks, and most who open a bundle
 * look up one name. */
#include <stdatomic.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "base/work.h"
#include "bundle/names.h"

enum { TOGETHER = 4096 };

typedef struct looking {
    glassine_bundle *bundle;
    glassine_record *const *records;
    size_t count;
    const gl_sought *sought;
    bool *fits;
    atomic_bool failed;
} looking;

bool gl_label_folds_to(gl_span value, gl_span folded, gl_buf *text, gl_buf *fold) {
    if (gl_json_kind_of(value) != GL_JSON_STRING)
        return false;
    gl_buf_clear(text);
    gl_json_add_decoded(text, value);
    return gl_text_folds_to(gl_buf_span(text), folded, fold);
}

/* Did a slip on the record ever say it, whether it stands or not? */
static bool ever_said(const looking *it, const glassine_record *record, gl_buf *text, gl_buf *fold) {
    const glassine_type_info *info = glassine_record_info(it->bundle, record);
    for (uint32_t slip = gl_record_newest(it->bundle, record); slip != GL_NONE;
         slip = gl_record_before(it->bundle, record, slip)) {
        gl_span name, value;
        gl_json_walk walk = gl_json_walk_of(gl_slip_set(gl_store_line(it->bundle->store, slip)));
        while (gl_json_next(&walk, &name, &value))
            if (it->sought->id.text ? gl_value_refers(value, it->sought->id)
                                    : gl_is_label_field(info, name) &&
                                          gl_label_folds_to(value, it->sought->folded, text, fold))
                return true;
    }
    return false;
}

static void look_at_some(void *context, size_t index) {
    looking *it = context;
    gl_buf text = GL_BUF_EMPTY, fold = GL_BUF_EMPTY;
    size_t end = (index + 1) * TOGETHER < it->count ? (index + 1) * TOGETHER : it->count;
    for (size_t i = index * TOGETHER; i < end; i++) {
        gl_records_expect(it->bundle, it->records, it->count, i);
        it->fits[i] = ever_said(it, it->records[i], &text, &fold);
    }
    if (text.failed || fold.failed)
        atomic_store(&it->failed, true);
    gl_buf_free(&text);
    gl_buf_free(&fold);
}

bool gl_look_through(glassine_bundle *bundle, glassine_record *const *records, size_t count,
                     const gl_sought *sought, bool *fits) {
    looking it = {.bundle = bundle, .records = records, .count = count, .sought = sought, .fits = fits};
    gl_work((count + TOGETHER - 1) / TOGETHER, look_at_some, &it);
    return !atomic_load(&it.failed);
}
