/* Parity: its bytes are those that another program works out (ISA-L, Intel's library of storage functions),
 * and damage up to the bound is rebuilt to the byte. */
#include "support.h"

#include "base/galois.h"
#include "container/paritied.h"
#ifdef GLASSINE_ISAL
#include <isa-l/erasure_code.h>
#endif

typedef struct scene {
    gl_parity plan;
    gl_buf bytes; /* covered bytes, then the parity as an entry would hold it, with a gap for the header */
    size_t table;
} scene;

enum { HEADER = 77 };

static gl_parity set_scene(scene *it, size_t length, unsigned percent, uint64_t seed) {
    random_source luck = {seed};
    *it = (scene){.bytes = GL_BUF_EMPTY};
    for (size_t i = 0; i < length; i++)
        gl_buf_add_char(&it->bytes, (char)(draw(&luck) >> 33));
    write_file(path_in("covered"), it->bytes.text, it->bytes.length);
    it->plan = gl_parity_plan(length, percent);
    it->plan.at = length + HEADER;
    glassine_error error;
    int fd = open_for_reading(path_in("covered"));
    for (int i = 0; i < HEADER; i++)
        gl_buf_add_char(&it->bytes, 'h');
    must(gl_parity_make(fd, "covered", &it->plan, &it->bytes, &error), &error);
    gl_file_close(fd);
    it->table = gl_parity_table(&it->plan);
    return it->plan;
}

/* Mends the bytes; the covered ones of the outcome are in `out`, where there is one. */
static gl_mending mend(const gl_buf *bytes, size_t from, size_t length, gl_buf *out) {
    glassine_error error;
    gl_mending mending;
    write_file(path_in("damaged"), bytes->text, bytes->length);
    gl_file file = {.fd = open_for_reading(path_in("damaged")),
                    .path = "damaged",
                    .size = bytes->length,
                    .forgiving = true};
    must(gl_parity_mend(&file, &mending, &error), &error);
    gl_buf_clear(out);
    gl_buf_reserve(out, length + 1);
    out->length = length;
    int fd = mending.fd >= 0 ? mending.fd : file.fd;
    assert_int_equal(gl_file_read_at(fd, out->text, length, from), 0);
    if (mending.fd >= 0)
        gl_file_close(mending.fd);
    gl_file_close(file.fd);
    return mending;
}

static void spoil(gl_buf *bytes, size_t from, size_t length) {
    for (size_t i = from; i < from + length && i < bytes->length; i++)
        bytes->text[i] = (char)(bytes->text[i] ^ 0x5a);
}

static void must_mend(const scene *it, const gl_buf *damaged, size_t shift) {
    gl_buf out = GL_BUF_EMPTY;
    gl_mending mending = mend(damaged, shift, (size_t)it->plan.covered, &out);
    assert_int_equal(mending.bad, 0);
    assert_memory_equal(out.text, it->bytes.text, (size_t)it->plan.covered);
    gl_buf_free(&out);
}

/* -------------------------------------------------------------------------------------------- the field */

static void field(void **state) {
    (void)state;
    assert_int_equal(gl_galois_multiply(0x80, 2), 0x1d); /* x^8 = x^4 + x^3 + x^2 + 1 */
    for (unsigned a = 1; a < 256; a++) {
        assert_int_equal(gl_galois_multiply((uint8_t)a, gl_galois_inverse((uint8_t)a)), 1);
        uint8_t from[256], to[256] = {0};
        for (unsigned b = 0; b < 256; b++)
            from[b] = (uint8_t)b;
        gl_galois_add(to, from, (uint8_t)a, sizeof to);
        for (unsigned b = 0; b < 256; b++)
            assert_int_equal(to[b], gl_galois_multiply((uint8_t)a, (uint8_t)b));
    }
    uint8_t none[4] = {1, 2, 1, 2};
    assert_false(gl_galois_invert(none, 2));
}

#ifdef GLASSINE_ISAL
/* gf_gen_cauchy1_matrix and ec_encode_data of ISA-L over the same groups. */
static void as_isal(void **state) {
    (void)state;
    static const struct {
        size_t length;
        unsigned percent;
    } cases[] = {{1, 10}, {512, 1}, {5000, 10}, {100000, 10}, {300000, 33}, {20000, 100}, {1200000, 7}};
    for (size_t c = 0; c < COUNT(cases); c++) {
        scene it;
        gl_parity plan = set_scene(&it, cases[c].length, cases[c].percent, c + 1);
        int width = (int)plan.width, extra = (int)plan.extra;
        unsigned char *matrix = malloc((size_t)(width + extra) * plan.width),
                      *tables = malloc(32u * plan.width * plan.extra);
        unsigned char *padded = calloc((size_t)plan.groups * plan.width + 1, plan.block);
        unsigned char *data[256], *coded[256], *parity = malloc((size_t)plan.extra * plan.block);
        memcpy(padded, it.bytes.text, cases[c].length);
        gf_gen_cauchy1_matrix(matrix, width + extra, width);
        ec_init_tables(width, extra, matrix + width * width, tables);
        for (uint32_t group = 0; group < plan.groups; group++) {
            for (uint32_t i = 0; i < plan.width; i++)
                data[i] = padded + ((size_t)i * plan.groups + group) * plan.block;
            for (uint32_t i = 0; i < plan.extra; i++)
                coded[i] = parity + (size_t)i * plan.block;
            ec_encode_data((int)plan.block, width, extra, tables, data, coded);
            for (uint32_t i = 0; i < plan.extra; i++)
                assert_memory_equal(it.bytes.text + plan.at + it.table +
                                        gl_parity_place(&plan, group, i) * plan.block,
                                    coded[i], plan.block);
        }
        free(matrix);
        free(tables);
        free(padded);
        free(parity);
        gl_buf_free(&it.bytes);
    }
}
#endif

/* --------------------------------------------------------------------------------------------- mending */

/* Any blocks, as many as a group has parity blocks: data, parity, or both. */
static void any_blocks(void **state) {
    (void)state;
    random_source luck = {5};
    for (int round = 0; round < 60; round++) {
        scene it;
        gl_parity plan = set_scene(&it, 1 + draw_below(&luck, 400000), 1 + (unsigned)draw_below(&luck, 40),
                                   draw(&luck) | 1);
        uint64_t data = gl_parity_data(&plan), all = data + (uint64_t)plan.groups * plan.extra;
        gl_buf damaged = GL_BUF_EMPTY;
        gl_buf_add(&damaged, gl_buf_span(&it.bytes));
        bool *hit = calloc((size_t)all, sizeof *hit);
        for (uint32_t i = 0; i < plan.extra; i++) {
            size_t block = draw_below(&luck, (size_t)all);
            if (hit[block])
                continue;
            hit[block] = true;
            size_t at = block < data ? block * plan.block
                                     : (size_t)plan.at + it.table + (block - (size_t)data) * plan.block;
            size_t end = block < data ? (size_t)plan.covered : damaged.length;
            spoil(&damaged, at, end - at < plan.block ? end - at : plan.block);
        }
        must_mend(&it, &damaged, 0);
        free(hit);
        gl_buf_free(&damaged);
        gl_buf_free(&it.bytes);
    }
}

/* Any one stretch up to the bound, anywhere; also with bytes before the file. */
static void any_stretch(void **state) {
    (void)state;
    random_source luck = {6};
    for (int round = 0; round < 120; round++) {
        scene it;
        gl_parity plan = set_scene(&it, 20000 + draw_below(&luck, 400000), 10, draw(&luck) | 1);
        size_t bound = (size_t)(plan.groups * plan.extra - 3) * plan.block,
               shift = round % 3 ? 0 : draw_below(&luck, 9000);
        gl_buf damaged = GL_BUF_EMPTY;
        for (size_t i = 0; i < shift; i++)
            gl_buf_add_char(&damaged, 'r');
        gl_buf_add(&damaged, gl_buf_span(&it.bytes));
        /* also over the border to the parity, and over either copy of the table */
        size_t from = round % 2 ? draw_below(&luck, it.bytes.length - bound)
                                : (size_t)plan.covered - draw_below(&luck, bound);
        spoil(&damaged, shift + from, bound);
        must_mend(&it, &damaged, shift);
        gl_buf_free(&damaged);
        gl_buf_free(&it.bytes);
    }
}

/* Beyond the bound it says so, and alters nothing that it cannot make right. */
static void beyond(void **state) {
    (void)state;
    scene it;
    gl_parity plan = set_scene(&it, 90000, 10, 9);
    gl_buf damaged = GL_BUF_EMPTY, out = GL_BUF_EMPTY;
    gl_buf_add(&damaged, gl_buf_span(&it.bytes));
    spoil(&damaged, 0, (size_t)(plan.groups * plan.extra + 1) * plan.block);
    gl_mending mending = mend(&damaged, 0, (size_t)plan.covered, &out);
    assert_true(mending.bad > 0);
    for (size_t i = 0; i < plan.covered; i++)
        assert_true(out.text[i] == it.bytes.text[i] || out.text[i] == damaged.text[i]);
    gl_buf_clear(&damaged); /* parity of something else: nothing is made of it */
    gl_buf_add(&damaged, gl_buf_span(&it.bytes));
    spoil(&damaged, 0, (size_t)plan.covered);
    mending = mend(&damaged, 0, (size_t)plan.covered, &out);
    assert_int_equal(mending.rebuilt, 0);
    assert_int_equal(mending.bad, gl_parity_data(&plan));
    gl_buf_free(&damaged);
    gl_buf_free(&out);
    gl_buf_free(&it.bytes);
}

static void put_number(uint8_t *at, uint64_t value, size_t bytes) {
    for (size_t i = 0; i < bytes; i++)
        at[i] = (uint8_t)(value >> 8 * i);
}

/* A head that says anything at all. */
static void hostile(void **state) {
    (void)state;
    random_source luck = {11};
    scene it;
    gl_parity plan = set_scene(&it, 3000, 20, 12);
    for (int round = 0; round < 2000; round++) {
        gl_buf damaged = GL_BUF_EMPTY, out = GL_BUF_EMPTY;
        gl_buf_add(&damaged, gl_buf_span(&it.bytes));
        for (int i = 0; i < 3; i++)
            damaged.text[plan.at + 16 + draw_below(&luck, GL_PARITY_HEAD - 16)] = (char)draw(&luck);
        spoil(&damaged, 700, 100);
        mend(&damaged, 0, (size_t)plan.covered, &out);
        assert_memory_equal(out.text, it.bytes.text,
                            (size_t)plan.covered); /* the other copy of the table is whole */
        gl_buf_free(&damaged);
        gl_buf_free(&out);
    }
    gl_buf_free(&it.bytes);
}

/* Heads in front of the real table, each with a table that reaches over half of the file and is none. Reading
 * all of them would take as many times the file as there are: after twice its size nothing is looked for. */
static void many_false_tables(void **state) {
    (void)state;
    for (size_t heads = 2; heads <= 8; heads += 6) {
        scene it;
        set_scene(&it, 3000, 20, 13);
        const uint64_t before = 512 + heads * GL_PARITY_HEAD, half = (before + it.bytes.length) / 2;
        gl_parity claimed = {.covered = 512, .at = 512, .block = 512, .groups = 1, .width = 1, .extra = 1};
        claimed.groups = (uint32_t)((half - gl_parity_table(&claimed)) / GL_PARITY_SUM);
        gl_buf bytes = GL_BUF_EMPTY, out = GL_BUF_EMPTY;
        for (int i = 0; i < 512; i++)
            gl_buf_add_char(&bytes, 'x');
        for (size_t i = 0; i < heads; i++) {
            uint8_t head[GL_PARITY_HEAD];
            memcpy(head, it.bytes.text + it.plan.at, sizeof head);
            put_number(head + 24, claimed.covered, 8);
            put_number(head + 32, claimed.at, 8);
            put_number(head + 40, claimed.block, 4);
            put_number(head + 44, claimed.groups, 4);
            put_number(head + 48, claimed.width, 4);
            put_number(head + 52, claimed.extra, 4);
            gl_buf_add_bytes(&bytes, head, sizeof head);
        }
        gl_buf_add(&bytes, gl_buf_span(&it.bytes));
        gl_mending mending = mend(&bytes, (size_t)before, (size_t)it.plan.covered, &out);
        assert_int_equal(mending.blocks, heads == 2 ? gl_parity_data(&it.plan) : 0);
        gl_buf_free(&bytes);
        gl_buf_free(&out);
        gl_buf_free(&it.bytes);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(field),
#ifdef GLASSINE_ISAL
        cmocka_unit_test(as_isal),
#endif
        cmocka_unit_test(any_blocks), cmocka_unit_test(any_stretch),       cmocka_unit_test(beyond),
        cmocka_unit_test(hostile),    cmocka_unit_test(many_false_tables),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
