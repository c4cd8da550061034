/* Files made to hurt: sound ones with bytes changed, moved, doubled, taken out, and the sum made to fit
 * again, so that what lies behind the sum is met, too. Whatever comes: an answer, in bounds (run under the
 * sanitizers). */
#include "support.h"

#include "container/bag.h"
#include "container/layout.h"

enum { ROUNDS = 3000, ENTRIES = 4 };

/* One edition of deflated entries: the sum is over all that lies before the end record. */
static gl_buf sound;
static struct { size_t at, length; } data[ENTRIES]; /* of each entry */

static int make_sound(void **state) {
    if (make_folder(state))
        return -1;
    const char *path = path_in("sound");
    open_edition edition = begin_edition(path, 1);
    static const char *const names[] = {"data/about.json", "slips/00000001-00000001.jsonl", "a",
                                        "notes/b.txt"};
    for (size_t i = 0; i < ENTRIES; i++) {
        char content[200];
        int length =
            snprintf(content, sizeof content, "%s %s %s %s %zu\n", names[i], names[i], names[i], names[i], i);
        glassine_error error;
        must(gl_writer_add(edition.writer, gl_span_of(names[i]), (gl_span){content, (size_t)length}, false,
                           NULL, &error),
             &error);
    }
    finish_edition(&edition);
    sound = file_bytes(path);
    gl_zip *zip = open_zip(path);
    for (size_t i = 0; i < ENTRIES; i++) {
        data[i].at = (size_t)gl_zip_at(zip, i)->data_at;
        data[i].length = (size_t)gl_zip_at(zip, i)->packed;
    }
    close_zip(zip);
    return 0;
}

static int drop_sound(void **state) {
    gl_buf_free(&sound);
    return remove_folder(state);
}

static void change_some(random_source *luck, char *bytes, size_t length) {
    static const uint8_t tempting[] = {0, 1, 2, 8, 0x14, 0x2d, 0x2e, 0x2f, 0x7f, 0x80, 0xfe, 0xff, 'P', 'K'};
    for (size_t n = 1 + draw_below(luck, 3); n-- > 0;) {
        size_t at = draw_below(luck, length);
        switch (draw_below(luck, 4)) {
        case 0:
            bytes[at] ^= (char)(1 << draw_below(luck, 8));
            break;
        case 1:
            bytes[at] = (char)tempting[draw_below(luck, sizeof tempting)];
            break;
        case 2:
            bytes[at] = (char)draw(luck);
            break;
        default: {
            size_t from = draw_below(luck, length), most = length - (at > from ? at : from);
            memmove(bytes + at, bytes + from, draw_below(luck, most < 60 ? most + 1 : 60));
        }
        }
    }
}

static void mend_sum(gl_buf *bytes, size_t end) {
    char hex[GL_HEX_SIZE];
    gl_hash *hash = gl_hash_new();
    gl_digest sum = gl_hash_once(hash, bytes->text, end);
    gl_hash_free(hash);
    gl_digest_hex(&sum, hex);
    memcpy(bytes->text + bytes->length - 64, hex, 64);
}

/* Everything that a reader does with a file; what it says does not matter here. */
static bool use_file(const char *path) {
    glassine_error error = {.rule = ""};
    gl_zip *zip;
    int fd = open_for_reading(path);
    bool opened = gl_zip_open(fd, path, NULL, &zip, &error) == GLASSINE_OK;
    if (opened) {
        gl_manifest *payload = gl_manifest_new(), *tags = gl_manifest_new();
        gl_zip_walk(zip, NULL, NULL, &error);
        gl_bag_read(zip, NULL, payload, tags, &error);
        for (size_t i = 0; i < gl_zip_count(zip); i++)
            gl_bag_check(zip, gl_zip_at(zip, i), payload, tags, &error);
        gl_manifest_free(payload);
        gl_manifest_free(tags);
    } else {
        assert_true(error.rule[0] != '\0');
        assert_true(error.message[0] != '\0');
    }
    gl_zip_close(zip);
    gl_file_close(fd);
    return opened;
}

static void changed_and_mended(void **state) {
    (void)state;
    random_source luck = {77};
    const char *path = path_in("hostile");
    size_t end = sound.length;
    while (gl_get32((const uint8_t *)sound.text + end - 4) != GL_END_SIGN)
        end--;
    end -= 4;
    size_t opened = 0;
    for (int round = 0; round < ROUNDS; round++) {
        gl_buf bytes = GL_BUF_EMPTY;
        gl_buf_add(&bytes, gl_buf_span(&sound));
        size_t entry = draw_below(&luck, 2 * ENTRIES);
        if (entry < ENTRIES) /* half of them in what is deflated, which the sum alone guards */
            change_some(&luck, bytes.text + data[entry].at, data[entry].length);
        else
            change_some(&luck, bytes.text, draw_below(&luck, 4) ? end : end + GL_END_SIZE);
        mend_sum(&bytes, end);
        write_file(path, bytes.text, bytes.length);
        opened += use_file(path);
        gl_buf_free(&bytes);
    }
    assert_true(opened > ROUNDS / 3); /* enough of them get past the sum */
}

static void taken_out_and_put_in(void **state) {
    (void)state;
    random_source luck = {78};
    const char *path = path_in("hostile");
    for (int round = 0; round < ROUNDS / 3; round++) {
        gl_buf bytes = GL_BUF_EMPTY;
        size_t a = draw_below(&luck, sound.length), b = draw_below(&luck, sound.length);
        gl_buf_add(&bytes, gl_span_part(gl_buf_span(&sound), 0, a));
        gl_buf_add(&bytes, gl_span_part(gl_buf_span(&sound), b, sound.length));
        if (draw_below(&luck, 2))
            gl_buf_add(&bytes, gl_buf_span(&sound));
        write_file(path, bytes.text, bytes.length);
        use_file(path);
        gl_buf_free(&bytes);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(changed_and_mended),
        cmocka_unit_test(taken_out_and_put_in),
    };
    return cmocka_run_group_tests(tests, make_sound, drop_sound);
}
