/* Damaged blocks rebuilt from parity. */
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "base/galois.h"
#include "container/fault.h"
#include "container/paritied.h"

enum { WINDOW = 256 * 1024, MAGIC_SIZE = 16, MOST = 255 };

typedef struct mender {
    const gl_file *file;
    gl_parity plan;
    uint64_t base;   /* where the covered bytes begin in this file */
    uint64_t blocks; /* where the parity blocks begin */
    gl_buf table;    /* head and sums, as they were found whole */
    uint64_t left;   /* bytes that may still be read for tables that turn out not to be whole */
    gl_hash *hash;
    bool *bad;      /* data blocks */
    uint8_t *block; /* one, and the group's missing ones behind it */
    gl_mending *out;
    glassine_error *error;
} mender;

/* ------------------------------------------------------------------------------------------ finding it */

/* A table that begins at `at`: true where it is whole, and the place that it gives for itself can be. */
static glassine_status read_table(mender *it, uint64_t at, bool *whole) {
    uint8_t head[GL_PARITY_HEAD];
    unsigned copy;
    *whole = false;
    if (it->file->size - at < sizeof head)
        return GLASSINE_OK;
    int code = gl_bytes_read(it->file, head, sizeof head, at);
    if (code)
        return gl_fault_reading(it->error, code, it->file->path);
    if (!gl_parity_read_head(head, &it->plan, &copy) || gl_parity_data(&it->plan) > it->file->size ||
        gl_parity_table(&it->plan) > it->file->size - at)
        return GLASSINE_OK;
    size_t size = gl_parity_table(&it->plan);
    if (size > it->left)
        return GLASSINE_OK;
    uint64_t parity = (uint64_t)it->plan.groups * it->plan.extra * it->plan.block;
    uint64_t back =
        it->plan.at + (copy ? size + parity : 0); /* how far behind the covered bytes' beginning it lies */
    if (back > at)
        return GLASSINE_OK;
    gl_buf_clear(&it->table);
    if (!gl_buf_reserve(&it->table, size))
        return gl_fail_memory(it->error);
    code = gl_bytes_read(it->file, it->table.text, size, at);
    if (code)
        return gl_fault_reading(it->error, code, it->file->path);
    gl_digest digest = gl_hash_once(it->hash, it->table.text, size - GL_DIGEST_SIZE);
    *whole = memcmp(digest.bytes, it->table.text + size - GL_DIGEST_SIZE, GL_DIGEST_SIZE) == 0;
    it->left -= *whole ? 0 : size;
    it->base = at - back;
    it->blocks = it->base + it->plan.at + size;
    return GLASSINE_OK;
}

/* The first whole table of the file. */
static glassine_status find_table(mender *it, bool *found) {
    uint8_t *window = malloc(WINDOW + MAGIC_SIZE);
    glassine_status status = window ? GLASSINE_OK : gl_fail_memory(it->error);
    *found = false;
    for (uint64_t offset = 0; offset < it->file->size && !status && !*found; offset += WINDOW) {
        uint64_t left = it->file->size - offset;
        size_t length = left < WINDOW + MAGIC_SIZE ? (size_t)left : WINDOW + MAGIC_SIZE;
        int code = gl_bytes_read(it->file, window, length, offset);
        if (code)
            status = gl_fault_reading(it->error, code, it->file->path);
        for (size_t i = 0; !status && !*found && i + MAGIC_SIZE <= length && i < WINDOW; i++) {
            const uint8_t *at = memchr(window + i, 'g', length - MAGIC_SIZE + 1 - i);
            if (!at)
                break;
            i = (size_t)(at - window);
            if (memcmp(at, "glassine parity\n", MAGIC_SIZE) == 0)
                status = read_table(it, offset + i, found);
        }
    }
    free(window);
    return status;
}

/* ----------------------------------------------------------------------------------------------- checking */

static const uint8_t *sum_of(const mender *it, uint64_t index) {
    return (const uint8_t *)it->table.text + GL_PARITY_HEAD + index * GL_PARITY_SUM;
}

/* Reads data block `index`, or behind these parity block; *good: it is what it was. */
static glassine_status read_block(const mender *it, uint64_t index, uint8_t *out, bool *good) {
    const gl_parity *plan = &it->plan;
    uint64_t data = gl_parity_data(plan);
    uint64_t at = index < data ? it->base + index * plan->block : it->blocks + (index - data) * plan->block;
    uint64_t end = index < data ? it->base + plan->covered : at + plan->block;
    uint64_t length = end - at < plan->block ? end - at : plan->block;
    uint8_t sum[GL_PARITY_SUM];
    memset(out, 0, plan->block);
    if (at < it->file->size) {
        if (length > it->file->size - at)
            length = it->file->size - at;
        int code = gl_bytes_read(it->file, out, (size_t)length, at);
        if (code)
            return gl_fault_reading(it->error, code, it->file->path);
    }
    gl_parity_sum(it->hash, out, plan->block, sum);
    *good = memcmp(sum, sum_of(it, index), sizeof sum) == 0;
    return GLASSINE_OK;
}

static glassine_status check_blocks(mender *it) {
    uint64_t data = gl_parity_data(&it->plan);
    glassine_status status = GLASSINE_OK;
    it->out->blocks = data;
    for (uint64_t i = 0; i < data && !status; i++) {
        bool good = false;
        status = read_block(it, i, it->block, &good);
        it->bad[i] = !good;
        it->out->bad += !good;
    }
    return status;
}

/* ------------------------------------------------------------------------------------------- rebuilding */

static glassine_status copy_file(mender *it) {
    uint8_t *bytes = malloc(WINDOW);
    int code = gl_file_open_nameless(&it->out->fd);
    glassine_status status = bytes ? GLASSINE_OK : gl_fail_memory(it->error);
    if (code)
        it->out->fd = -1;
    for (uint64_t at = 0; at < it->file->size && !status && !code; at += WINDOW) {
        size_t length = it->file->size - at < WINDOW ? (size_t)(it->file->size - at) : WINDOW;
        code = gl_bytes_read(it->file, bytes, length, at);
        if (!code)
            code = gl_file_write_at(it->out->fd, bytes, length, at);
    }
    free(bytes);
    return code ? gl_fail_system(it->error, code, it->file->path,
                                 "cannot be copied to a temporary file to be mended")
                : status;
}

/* A group's bad data blocks, and as many parity blocks that are good. */
typedef struct group {
    uint32_t number, count;
    uint32_t columns[MOST], rows[MOST];
    uint8_t *sides; /* what the rows give once the good blocks are taken away: count blocks */
} group;

static uint64_t block_at(const mender *it, const group *of, uint32_t column) {
    return (uint64_t)column * it->plan.groups + of->number;
}

/* False where more is bad than parity is left. */
static glassine_status choose_rows(mender *it, group *of, bool *enough) {
    uint32_t chosen = 0;
    uint64_t data = gl_parity_data(&it->plan);
    glassine_status status = GLASSINE_OK;
    for (uint32_t row = 0; row < it->plan.extra && chosen < of->count && !status; row++) {
        bool good = false;
        uint64_t place = data + gl_parity_place(&it->plan, of->number, row);
        status = read_block(it, place, of->sides + (size_t)chosen * it->plan.block, &good);
        if (!status && good)
            of->rows[chosen++] = row;
    }
    *enough = chosen == of->count;
    return status;
}

static glassine_status take_good_away(mender *it, const group *of) {
    const gl_parity *plan = &it->plan;
    glassine_status status = GLASSINE_OK;
    for (uint32_t column = 0; column < plan->width && !status; column++) {
        uint64_t index = block_at(it, of, column);
        bool good = false;
        if (index >= gl_parity_data(plan) || it->bad[index])
            continue;
        status = read_block(it, index, it->block, &good);
        for (uint32_t i = 0; i < of->count && !status; i++)
            gl_galois_add(of->sides + (size_t)i * plan->block, it->block,
                          gl_galois_cauchy(plan->width, of->rows[i], column), plan->block);
    }
    return status;
}

/* One block out of the others' sum, checked, into the copy. */
static glassine_status put_block(mender *it, const group *of, uint32_t which, const uint8_t *inverse) {
    const gl_parity *plan = &it->plan;
    uint64_t index = block_at(it, of, of->columns[which]), at = index * plan->block;
    uint8_t sum[GL_PARITY_SUM];
    memset(it->block, 0, plan->block);
    for (uint32_t i = 0; i < of->count; i++)
        gl_galois_add(it->block, of->sides + (size_t)i * plan->block, inverse[which * of->count + i],
                      plan->block);
    gl_parity_sum(it->hash, it->block, plan->block, sum);
    if (memcmp(sum, sum_of(it, index), sizeof sum) != 0)
        return GLASSINE_OK;
    size_t length = plan->covered - at < plan->block ? (size_t)(plan->covered - at) : plan->block;
    int code = gl_file_write_at(it->out->fd, it->block, length, it->base + at);
    if (code)
        return gl_fail_system(it->error, code, it->file->path, "what was mended cannot be kept");
    it->out->rebuilt++;
    it->out->bad--;
    return GLASSINE_OK;
}

static glassine_status solve(mender *it, const group *of) {
    uint8_t *matrix = malloc((size_t)of->count * of->count);
    if (!matrix)
        return gl_fail_memory(it->error);
    for (uint32_t i = 0; i < of->count; i++)
        for (uint32_t j = 0; j < of->count; j++)
            matrix[i * of->count + j] = gl_galois_cauchy(it->plan.width, of->rows[i], of->columns[j]);
    glassine_status status = take_good_away(it, of);
    if (!status && gl_galois_invert(matrix, of->count)) /* every part of a Cauchy matrix has an inverse */
        for (uint32_t i = 0; i < of->count && !status; i++)
            status = put_block(it, of, i, matrix);
    free(matrix);
    return status;
}

static glassine_status rebuild_group(mender *it, uint32_t number) {
    group of = {.number = number};
    for (uint32_t column = 0; column < it->plan.width; column++) {
        uint64_t index = block_at(it, &of, column);
        if (index < gl_parity_data(&it->plan) && it->bad[index])
            of.columns[of.count++] = column;
    }
    if (of.count == 0 || of.count > it->plan.extra)
        return GLASSINE_OK;
    bool enough = false;
    of.sides = malloc((size_t)of.count * it->plan.block);
    glassine_status status = of.sides ? choose_rows(it, &of, &enough) : gl_fail_memory(it->error);
    if (!status && enough)
        status = solve(it, &of);
    free(of.sides);
    return status;
}

static glassine_status mend(mender *it) {
    bool found = false;
    glassine_status status = find_table(it, &found);
    if (status || !found)
        return status;
    it->bad = calloc((size_t)gl_parity_data(&it->plan) + 1, sizeof *it->bad);
    it->block = malloc(it->plan.block);
    status = it->bad && it->block ? check_blocks(it) : gl_fail_memory(it->error);
    if (status || it->out->bad == 0)
        return status;
    status = copy_file(it);
    for (uint32_t number = 0; number < it->plan.groups && !status; number++)
        status = rebuild_group(it, number);
    return status;
}

glassine_status gl_parity_mend(const gl_file *file, gl_mending *mending, glassine_error *error) {
    *mending = (gl_mending){.fd = -1};
    mender it = {.file = file,
                 .table = GL_BUF_EMPTY,
                 .left = 2 * file->size, /* sizes are off_t: no overflow */
                 .hash = gl_hash_new(),
                 .out = mending,
                 .error = error};
    glassine_status status = it.hash ? mend(&it) : gl_fail_memory(error);
    if (mending->fd >= 0 && (status || mending->rebuilt == 0)) {
        gl_file_close(mending->fd);
        mending->fd = -1;
    }
    gl_hash_free(it.hash);
    gl_buf_free(&it.table);
    free(it.bad);
    free(it.block);
    return status;
}
