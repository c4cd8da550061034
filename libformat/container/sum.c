/* The sum of an edition (spec/container.md): every byte of it but the end record and the data of stored
 * scans. */
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "container/fault.h"
#include "container/footer.h"

enum { PIECE = 256 * 1024 };

typedef struct summing {
    const gl_file *file;
    gl_hash *hash;
    uint8_t *piece;
} summing;

static int add_range(summing *sum, uint64_t from, uint64_t to) {
    while (from < to) {
        size_t length = to - from < PIECE ? (size_t)(to - from) : PIECE;
        int code = gl_file_read_at(sum->file->fd, sum->piece, length, from);
        if (code)
            return code;
        gl_hash_add(sum->hash, sum->piece, length);
        from += length;
    }
    return 0;
}

/* Entries lie end to end; those between two stored scans are read in one go. The header of a stored scan is
 * known from its entry: tens of thousands of small reads are spared, and it is compared before it is used. */
static int add_entries(summing *sum, gl_span base, const gl_entry *entries, size_t count) {
    uint8_t header[GL_LOCAL_MAX];
    uint64_t from = count ? entries[0].header_at : 0, to = from;
    for (size_t i = 0; i < count; i++) {
        const gl_entry *entry = &entries[i];
        if (gl_layout_is_scan(base, entry)) {
            int code = add_range(sum, from, to);
            if (code)
                return code;
            gl_hash_add(sum->hash, header, gl_layout_local(entry, header));
            from = entry->data_at + entry->packed;
        }
        to = entry->data_at + entry->packed;
    }
    return add_range(sum, from, to);
}

glassine_status gl_sum_edition(const gl_file *file, gl_span base, const gl_entry *entries, size_t count,
                               gl_span records, gl_digest *digest, glassine_error *error) {
    summing sum = {file, gl_hash_new(), malloc(PIECE)};
    glassine_status status = GLASSINE_OK;
    if (!sum.hash || !sum.piece) {
        status = gl_fail_memory(error);
    } else {
        gl_hash_start(sum.hash);
        int code = add_entries(&sum, base, entries, count);
        if (code)
            status = gl_fault_reading(error, code, file->path);
        gl_hash_add(sum.hash, records.text, records.length);
        *digest = gl_hash_end(sum.hash);
    }
    gl_hash_free(sum.hash);
    free(sum.piece);
    return status;
}
