/* What no checksum covers, one wrong bit at a time: names, header fields, records, the marks in a segment. A
 * single wrong bit there takes nothing away: the recovered bundle has every slip, every scan, and the same
 * `log`. */
#include "exchange/support.h"

#include "container/layout.h"

enum { ITEMS = 100, LONG = 1500 };

typedef struct sound_bundle {
    gl_buf bytes; /* tidied: one segment, one record for each entry */
    char digest[65];
    char log[65];
    uint64_t slips;
} sound_bundle;

static sound_bundle sound;

static void look_into(const char *path, sound_bundle *it) {
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    glassine_bundle_digest(bundle, it->digest);
    snprintf(it->log, sizeof it->log, "%s",
             span_text(glassine_bundle_edition_at(bundle, glassine_bundle_edition(bundle)).log));
    it->slips = glassine_bundle_slips(bundle);
    glassine_bundle_close(bundle);
}

static int make_sound(void **state) {
    if (make_folder(state) != 0)
        return -1;
    setenv("SOURCE_DATE_EPOCH", "1764061200", 1);
    char note[LONG + 1] = "";
    memset(note, 'n', LONG);
    const char *path = in_folder("grown.glassine"), *tidied = in_folder("tidied.glassine");
    MUST(glassine_bundle_make(path, "Sorrel Islands", "Keeper", &error));
    for (int save = 0; save < 2; save++) {
        saying_session session = begin_saying(path, NULL);
        for (int i = 0; i < ITEMS; i++) {
            char label[32];
            glassine_record *record;
            snprintf(label, sizeof label, "H-%d-%d", save, i);
            MUST(glassine_draft_enter(session.draft, "item",
                                      (glassine_assignment[]){{"label", label, NULL}, {"title", note, NULL}},
                                      2, NULL, &record, &error));
        }
        end_saying(&session);
    }
    MUST(glassine_tidy(path, tidied, NULL, NULL, &error));
    look_into(tidied, &sound);
    return gl_file_read_all(tidied, (size_t)1 << 28, &sound.bytes);
}

static int drop_sound(void **state) {
    gl_buf_free(&sound.bytes);
    return remove_folder(state);
}

/* The first place of `what` from `from` on. */
static size_t find_from(size_t from, const char *what, size_t length) {
    for (size_t i = from; i + length <= sound.bytes.length; i++)
        if (memcmp(sound.bytes.text + i, what, length) == 0)
            return i;
    return SIZE_MAX;
}

static void recover_whole(size_t at, unsigned bit) {
    const char *damaged = in_folder("damaged.glassine"), *out = in_folder("out.glassine");
    sound_bundle got = {.slips = 0};
    sound.bytes.text[at] = (char)(sound.bytes.text[at] ^ 1 << bit);
    unlink(damaged);
    assert_int_equal(gl_file_write_all(damaged, gl_buf_span(&sound.bytes), true), 0);
    sound.bytes.text[at] = (char)(sound.bytes.text[at] ^ 1 << bit);
    error = (glassine_error){0};
    if (glassine_recover(&damaged, 1, out, NULL, NULL, &error))
        fail_msg("bit %u of byte %zu: %s (%s)", bit, at, error.message, error.rule);
    look_into(out, &got);
    unlink(out);
    if (got.slips != sound.slips || strcmp(got.digest, sound.digest) != 0 || strcmp(got.log, sound.log) != 0)
        fail_msg("bit %u of byte %zu: %llu of %llu slips", bit, at, (unsigned long long)got.slips,
                 (unsigned long long)sound.slips);
}

/* Two bits of each byte: others of the next. */
static void flip_each(size_t from, size_t length) {
    for (size_t at = from; at < from + length; at++) {
        recover_whole(at, at % 8);
        recover_whole(at, (at + 5) % 8);
    }
}

static const char SEGMENT[] = "slips/00000001-00000003.jsonl";

static void headers(void **state) {
    (void)state;
    size_t name = find_from(0, SEGMENT, sizeof SEGMENT - 1);
    size_t header = name - sizeof "glassine-grown/" + 1 - 30;
    assert_memory_equal(sound.bytes.text + header, "PK\003\004", 4);
    flip_each(header, name + sizeof SEGMENT - 1 - header);
}

static void records(void **state) {
    (void)state;
    size_t name = find_from(find_from(0, SEGMENT, sizeof SEGMENT - 1) + 1, SEGMENT, sizeof SEGMENT - 1);
    size_t record = name - sizeof "glassine-grown/" + 1 - 46;
    assert_memory_equal(sound.bytes.text + record, "PK\001\002", 4);
    flip_each(record, name + sizeof SEGMENT - 1 - record);
}

/* A mark is an empty stored block (RFC 1951, 3.2.4): three bits in the byte before it, and these four bytes.
 */
static void marks(void **state) {
    (void)state;
    size_t at = find_from(0, SEGMENT, sizeof SEGMENT - 1), count = 0;
    while ((at = find_from(at, "\0\0\377\377", 4)) != SIZE_MAX) {
        flip_each(at, 4);
        at += 4;
        count++;
    }
    assert_true(count >= 2);
}

/* The names of files that every bundle has, and of the folder: another spelling is in nobody's way. */
static void other_names(void **state) {
    (void)state;
    static const char *const names[] = {"tagmanifest-sha256.txt", "bag-info.txt", "data/about.json",
                                        "bagit.txt"};
    for (size_t i = 0; i < COUNT(names); i++) {
        size_t header = find_from(0, names[i], strlen(names[i]));
        flip_each(header, strlen(names[i]));
    }
}

/* Changes a byte in the middle of the content of the file `name`, whose local header comes first. */
static void spoil(const char *name) {
    size_t at = find_from(0, name, strlen(name)), header = at - (sizeof "glassine-grown/" - 1) - 30;
    assert_memory_equal(sound.bytes.text + header, "PK\003\004", 4);
    sound.bytes.text[at + strlen(name) + 20] ^= 0x55;
}

static const char *recover_spoilt(char uuid[64]) {
    const char *damaged = in_folder("damaged.glassine"), *out = in_folder("out.glassine");
    unlink(damaged);
    unlink(out);
    assert_int_equal(gl_file_write_all(damaged, gl_buf_span(&sound.bytes), true), 0);
    MUST(glassine_recover(&damaged, 1, out, NULL, NULL, &error));
    glassine_bundle *bundle = opened(out, GLASSINE_READ);
    assert_string_equal(bundle->about.title, "Sorrel Islands");
    snprintf(uuid, 64, "%s", bundle->about.uuid);
    glassine_bundle_close(bundle);
    return out;
}

/* spec/recovery.md, section 3: data/about.json is put together from bag-info.txt and the log, and known to be
 * right by its digest; where bag-info.txt is spoilt too, a new one is made, with the collection's title. */
static void whose_it_is(void **state) {
    (void)state;
    char first[64], second[64];
    sound_bundle got = {.slips = 0};
    spoil("data/about.json");
    look_into(recover_spoilt(first), &got);
    assert_string_equal(got.digest, sound.digest);
    assert_string_equal(got.log, sound.log);
    spoil("bag-info.txt");
    look_into(recover_spoilt(second), &got);
    assert_string_equal(got.digest, sound.digest);
    assert_string_not_equal(got.log, sound.log); /* an edition more, which brings the new one */
    assert_string_not_equal(first, second);
    unlink(in_folder("out.glassine"));
    spoil("bag-info.txt"); /* as they were */
    spoil("data/about.json");
}

/* Limits hold for damaged files as well: of entries, of a segment that is whole, of what the pieces of one
 * that is not inflate to. */
static void limits_hold(void **state) {
    (void)state;
    static const struct {
        const char *rule;
        glassine_limits limits;
        bool spoilt; /* the segment */
    } cases[] = {{"L001", {.entries = 1}, false},
                 {"L005", {.segment_bytes = 100}, false},
                 {"L005", {.log_bytes = 100}, false},
                 {"L005", {.log_bytes = 100}, true}};
    const char *damaged = in_folder("damaged.glassine"), *out = in_folder("out.glassine");
    for (size_t i = 0; i < COUNT(cases); i++) {
        size_t inside = find_from(0, SEGMENT, sizeof SEGMENT - 1) + 1000;
        gl_span all = gl_buf_span(&sound.bytes);
        sound.bytes.text[inside] ^= cases[i].spoilt ? 0x55 : 0;
        unlink(damaged);
        assert_int_equal(gl_file_write_all(damaged, all, true), 0);
        sound.bytes.text[inside] ^= cases[i].spoilt ? 0x55 : 0;
        const glassine_recover_options options = {.limits = &cases[i].limits};
        error = (glassine_error){0};
        assert_int_equal(glassine_recover(&damaged, 1, out, &options, NULL, &error), GLASSINE_REFUSED);
        assert_string_equal(error.rule, cases[i].rule);
        assert_int_not_equal(access(out, F_OK), 0);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(whose_it_is), cmocka_unit_test(headers),     cmocka_unit_test(records),
        cmocka_unit_test(marks),       cmocka_unit_test(other_names), cmocka_unit_test(limits_hold),
    };
    return cmocka_run_group_tests(tests, make_sound, drop_sound);
}
