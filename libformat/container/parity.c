#include "container/parity.h"

#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/galois.h"
#include "base/hash.h"
#include "container/fault.h"
#include "container/paritied.h"
#include "container/writing.h"

enum { SMALL = 512, LARGE = 4096, TOGETHER = 64, CODEWORD = 255 };

static const char MAGIC[] = "glassine parity\n"; /* 16 bytes */

/* Small files have small blocks: damage of one byte costs a whole one. */
gl_parity gl_parity_plan(uint64_t covered, unsigned percent) {
    gl_parity plan = {.covered = covered};
    uint32_t widest = CODEWORD * 100 / (100 + percent);
    plan.block = covered > (uint64_t)LARGE * widest ? LARGE : SMALL;
    uint64_t blocks = gl_parity_data(&plan);
    plan.groups = (uint32_t)((blocks + widest - 1) / widest);
    plan.groups += plan.groups == 0;
    plan.width = (uint32_t)((blocks + plan.groups - 1) / plan.groups);
    plan.width += plan.width == 0;
    plan.extra = (plan.width * percent + 99) / 100;
    return plan;
}

uint64_t gl_parity_data(const gl_parity *plan) {
    return (plan->covered + plan->block - 1) / plan->block;
}

size_t gl_parity_table(const gl_parity *plan) {
    return GL_PARITY_HEAD +
           (size_t)(gl_parity_data(plan) + (uint64_t)plan->groups * plan->extra) * GL_PARITY_SUM +
           GL_DIGEST_SIZE;
}

void gl_parity_sum(gl_hash *hash, const uint8_t *bytes, size_t length, uint8_t out[GL_PARITY_SUM]) {
    gl_digest digest = gl_hash_once(hash, bytes, length);
    memcpy(out, digest.bytes, GL_PARITY_SUM);
}

/* --------------------------------------------------------------------------------------------- the table */

static void put(uint8_t *at, uint64_t value, size_t bytes) {
    for (size_t i = 0; i < bytes; i++)
        at[i] = (uint8_t)(value >> 8 * i);
}

static void put_head(const gl_parity *plan, unsigned copy, uint8_t out[GL_PARITY_HEAD]) {
    memcpy(out, MAGIC, 16);
    put(out + 16, 1, 4);
    put(out + 20, copy, 4);
    put(out + 24, plan->covered, 8);
    put(out + 32, plan->at, 8);
    put(out + 40, plan->block, 4);
    put(out + 44, plan->groups, 4);
    put(out + 48, plan->width, 4);
    put(out + 52, plan->extra, 4);
}

bool gl_parity_read_head(const uint8_t in[GL_PARITY_HEAD], gl_parity *plan, unsigned *copy) {
    *copy = gl_get32(in + 20);
    *plan = (gl_parity){.covered = gl_get64(in + 24),
                        .at = gl_get64(in + 32),
                        .block = gl_get32(in + 40),
                        .groups = gl_get32(in + 44),
                        .width = gl_get32(in + 48),
                        .extra = gl_get32(in + 52)};
    if (memcmp(in, MAGIC, 16) != 0 || gl_get32(in + 16) != 1 || *copy > 1 || plan->covered > INT64_MAX / 2 ||
        plan->at > INT64_MAX / 2 || plan->at < plan->covered || plan->block < SMALL || plan->block > LARGE ||
        !plan->groups || !plan->width || !plan->extra || plan->width > CODEWORD || plan->extra > CODEWORD ||
        plan->width + plan->extra > CODEWORD)
        return false;
    uint64_t blocks = gl_parity_data(plan);
    if (blocks > SIZE_MAX / 64 || (uint64_t)plan->groups * plan->extra > SIZE_MAX / 64)
        return false; /* its table would be larger than any memory */
    return blocks <= (uint64_t)plan->groups * plan->width &&
           blocks > (uint64_t)plan->groups * (plan->width - 1);
}

/* ------------------------------------------------------------------------------------------------- coding */

typedef struct coder {
    const gl_parity *plan;
    const gl_file *file;
    gl_hash *hash;
    uint8_t *row;    /* adjacent blocks, one of each group that is at work */
    uint8_t *sums;   /* of data blocks, then of parity blocks */
    uint8_t *parity; /* all of it */
} coder;

/* Data blocks `first` … first+count-1; what is not there is zeros. */
static glassine_status read_row(const coder *it, uint64_t first, uint32_t count, glassine_error *error) {
    uint64_t at = first * it->plan->block, size = (uint64_t)count * it->plan->block;
    memset(it->row, 0, (size_t)size);
    if (at >= it->plan->covered)
        return GLASSINE_OK;
    size_t length = it->plan->covered - at < size ? (size_t)(it->plan->covered - at) : (size_t)size;
    int code = gl_bytes_read(it->file, it->row, length, at);
    return code ? gl_fault_reading(error, code, it->file->path) : GLASSINE_OK;
}

static void code_row(const coder *it, uint32_t first, uint32_t count, uint32_t column) {
    const gl_parity *plan = it->plan;
    uint64_t blocks = gl_parity_data(plan);
    for (uint32_t i = 0; i < count; i++) {
        uint64_t block = (uint64_t)column * plan->groups + first + i;
        const uint8_t *bytes = it->row + (size_t)i * plan->block;
        if (block >= blocks)
            break;
        gl_parity_sum(it->hash, bytes, plan->block, it->sums + block * GL_PARITY_SUM);
        for (uint32_t row = 0; row < plan->extra; row++)
            gl_galois_add(it->parity + gl_parity_place(plan, first + i, row) * plan->block, bytes,
                          gl_galois_cauchy(plan->width, row, column), plan->block);
    }
}

/* Some groups that lie beside each other are done at once, so that reading goes over longer stretches. */
static glassine_status code_all(const coder *it, glassine_error *error) {
    const gl_parity *plan = it->plan;
    glassine_status status = GLASSINE_OK;
    for (uint32_t first = 0; first < plan->groups && !status; first += TOGETHER) {
        uint32_t count = plan->groups - first < TOGETHER ? plan->groups - first : TOGETHER;
        for (uint32_t column = 0; column < plan->width && !status; column++) {
            status = read_row(it, (uint64_t)column * plan->groups + first, count, error);
            if (!status)
                code_row(it, first, count, column);
        }
    }
    return status;
}

static void add_table(const coder *it, unsigned copy, gl_buf *out) {
    uint8_t head[GL_PARITY_HEAD];
    size_t start = out->length;
    put_head(it->plan, copy, head);
    gl_buf_add_bytes(out, head, sizeof head);
    gl_buf_add_bytes(out, it->sums, gl_parity_table(it->plan) - GL_PARITY_HEAD - GL_DIGEST_SIZE);
    if (out->failed)
        return;
    gl_digest digest = gl_hash_once(it->hash, out->text + start, out->length - start);
    gl_buf_add_bytes(out, digest.bytes, sizeof digest.bytes);
}

glassine_status gl_parity_make(int fd, const char *path, const gl_parity *plan, gl_buf *out,
                               glassine_error *error) {
    gl_file file = {.fd = fd, .path = path, .size = plan->covered};
    uint64_t data = gl_parity_data(plan), parity = (uint64_t)plan->groups * plan->extra;
    coder it = {.plan = plan,
                .file = &file,
                .hash = gl_hash_new(),
                .row = malloc((size_t)TOGETHER * plan->block),
                .sums = malloc((size_t)(data + parity) * GL_PARITY_SUM),
                .parity = calloc((size_t)parity, plan->block)};
    glassine_status status =
        it.hash && it.row && it.sums && it.parity ? code_all(&it, error) : gl_fail_memory(error);
    if (!status) {
        for (uint64_t i = 0; i < parity; i++)
            gl_parity_sum(it.hash, it.parity + i * plan->block, plan->block,
                          it.sums + (data + i) * GL_PARITY_SUM);
        add_table(&it, 0, out);
        gl_buf_add_bytes(out, it.parity, (size_t)parity * plan->block);
        add_table(&it, 1, out);
        if (out->failed)
            status = gl_fail_memory(error);
    }
    gl_hash_free(it.hash);
    free(it.row);
    free(it.sums);
    free(it.parity);
    return status;
}

glassine_status gl_writer_add_parity(gl_writer *writer, unsigned percent, gl_digest *digest,
                                     glassine_error *error) {
    gl_buf content = GL_BUF_EMPTY;
    gl_parity plan = gl_parity_plan(writer->at, percent);
    plan.at = writer->at + GL_LOCAL_SIZE + writer->base.length + sizeof "/" GL_PARITY_NAME - 1;
    glassine_status status = gl_parity_make(writer->fd, writer->path, &plan, &content, error);
    if (!status)
        status = gl_writer_add(writer, GL_SPAN(GL_PARITY_NAME), gl_buf_span(&content), true, digest, error);
    gl_buf_free(&content);
    return status;
}
