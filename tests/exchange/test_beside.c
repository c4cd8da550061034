/* A bundle opened beside another one is what it is by itself, or refused with the same words: every vector beside every
 * valid one, and copies of one bundle that went on in different ways. */
#include "support.h"

#include <dirent.h>

/* All that was read of a bundle, or why it was refused, as text. */
static char *told(glassine_status status, glassine_bundle *bundle) {
    gl_buf text = GL_BUF_EMPTY;
    char hex[GL_HEX_SIZE];
    gl_buf_printf(&text, "%d ", (int)status);
    if (status) {
        gl_buf_printf(&text, "%s %s %s", error.rule, error.place, error.message);
        return text.text;
    }
    for (uint32_t number = 1; number <= gl_log_editions(bundle->log); number++) {
        const gl_edition *edition = gl_log_edition(bundle->log, number);
        gl_digest_hex(&edition->log, hex);
        gl_buf_printf(&text, "%u %s %u %zu %llu %llu\n", edition->number, hex, edition->slips,
                      edition->signatures, (unsigned long long)edition->unknown,
                      (unsigned long long)edition->end);
    }
    for (uint32_t i = 0; i < gl_store_count(bundle->store); i++) {
        const gl_slip *slip = gl_store_at(bundle->store, i);
        gl_digest_hex(&slip->digest, hex);
        gl_buf_printf(&text, "%s %u %u %u %u %u %d\n%.*s\n", hex, slip->record, slip->author, slip->previous,
                      slip->own_previous, slip->edition, slip->reach,
                      GL_SPAN_ARGS(gl_store_line(bundle->store, i)));
    }
    for (size_t i = 0; i < gl_trust_signatures(bundle->trust); i++)
        gl_buf_printf(&text, "%.*s %d\n", GL_SPAN_ARGS(gl_trust_signature(bundle->trust, i)),
                      gl_trust_fits(bundle->trust, i));
    for (size_t i = 0; i < bundle->record_count; i++) {
        glassine_record *record = bundle->records[i];
        gl_buf_printf(&text, "%.*s %d\n", GL_SPAN_ARGS(glassine_record_label(bundle, record)),
                      glassine_record_counts(bundle, record));
    }
    gl_buf_printf(&text, "unknown %llu, edition %u\n", (unsigned long long)gl_log_unknown(bundle->log),
                  bundle->edition);
    assert_false(text.failed);
    return text.text;
}

static char *by_itself(const char *path) {
    glassine_bundle *bundle = NULL;
    error = (glassine_error){0};
    glassine_status status = glassine_bundle_open(path, GLASSINE_READ, NULL, &bundle, &error);
    char *text = told(status, bundle);
    glassine_bundle_close(bundle);
    return text;
}

static void is_the_same_beside(const char *path, glassine_bundle *other, const char *wanted) {
    glassine_bundle *bundle = NULL;
    error = (glassine_error){0};
    glassine_status status = glassine_bundle_open_beside(path, other, NULL, &bundle, &error);
    char *text = told(status, bundle);
    if (strcmp(text, wanted) != 0)
        fail_msg("%s beside %s:\n%s\nby itself:\n%s", path, other->path, text, wanted);
    free(text);
    glassine_bundle_close(bundle);
}

static size_t list_vectors(const char *where, char (**paths)[300]) {
    DIR *vectors = opendir(where);
    size_t count = 0;
    assert_non_null(vectors);
    *paths = NULL;
    for (struct dirent *entry; (entry = readdir(vectors));) {
        if (!strstr(entry->d_name, ".glassine"))
            continue;
        *paths = realloc(*paths, (count + 1) * sizeof **paths);
        assert_non_null(*paths);
        snprintf((*paths)[count++], sizeof **paths, "%s/%s", where, entry->d_name);
    }
    closedir(vectors);
    return count;
}

static void vectors_are_what_they_are(void **state) {
    static const char *const kinds[] = {TESTVECTORS "/valid", TESTVECTORS "/bad"};
    char(*others)[300], (*paths)[300];
    (void)state;
    size_t other_count = list_vectors(kinds[0], &others), compared = 0;
    glassine_bundle **beside = calloc(other_count, sizeof(glassine_bundle *));
    assert_non_null(beside);
    for (size_t i = 0; i < other_count; i++)
        beside[i] = opened(others[i], GLASSINE_READ);
    for (size_t kind = 0; kind < COUNT(kinds); kind++) {
        size_t count = list_vectors(kinds[kind], &paths);
        for (size_t i = 0; i < count; i++) {
            char *wanted = by_itself(paths[i]);
            for (size_t k = 0; k < other_count; k++, compared++)
                is_the_same_beside(paths[i], beside[k], wanted);
            free(wanted);
        }
        free(paths);
    }
    for (size_t i = 0; i < other_count; i++)
        glassine_bundle_close(beside[i]);
    free(beside);
    free(others);
    assert_true(compared > 1000);
}

static void save_one(const char *path, const char *label) {
    saying_session on = begin_saying(path, NULL);
    glassine_record *record;
    const glassine_assignment item[] = {{"label", label, NULL}};
    MUST(glassine_draft_enter(on.draft, "item", item, 1, NULL, &record, &error));
    end_saying(&on);
}

enum { SAVES = 12, APART = 3 };

/* Saves join segments, so that those of a copy which went on end elsewhere. */
static void copies_are_what_they_are(void **state) {
    static char paths[SAVES + SAVES][256];
    char path[256];
    size_t count = 0;
    (void)state;
    snprintf(path, sizeof path, "%s", in_folder("one.glassine"));
    MUST(glassine_bundle_make(path, "Kingfisher", "Keeper", &error));
    for (int i = 0; i < SAVES; i++) {
        char label[20];
        snprintf(label, sizeof label, "K-%d", i);
        save_one(path, label);
        snprintf(paths[count], sizeof paths[0], "%s", in_folder("copy-%d.glassine", i));
        copy_file(path, paths[count++]);
        if (i % APART == 0) {
            snprintf(paths[count], sizeof paths[0], "%s", in_folder("apart-%d.glassine", i));
            copy_file(path, paths[count]);
            save_one(paths[count], "K-99");
            save_one(paths[count++], "K-100");
        }
    }
    for (size_t i = 0; i < count; i++) {
        char *wanted = by_itself(paths[i]);
        for (size_t k = 0; k < count; k++) {
            glassine_bundle *other = opened(paths[k], GLASSINE_READ);
            is_the_same_beside(paths[i], other, wanted);
            glassine_bundle_close(other);
        }
        free(wanted);
    }
}

/* Each of the two may be an earlier edition than the file's last. */
static void editions_are_what_they_are(void **state) {
    (void)state;
    const char *path = in_folder("three.glassine");
    char editions[APART + 2][256];
    MUST(glassine_bundle_make(path, "Kingfisher", "Keeper", &error));
    for (int i = 0; i < APART; i++)
        save_one(path, "K-1");
    for (int i = 0; i <= APART; i++)
        snprintf(editions[i], sizeof editions[i], "%s#%d", path, i + 1);
    snprintf(editions[APART + 1], sizeof editions[0], "%s", path);
    for (size_t i = 0; i < COUNT(editions); i++) {
        char *wanted = by_itself(editions[i]);
        for (size_t k = 0; k < COUNT(editions); k++) {
            glassine_bundle *other = opened(editions[k], GLASSINE_READ);
            is_the_same_beside(editions[i], other, wanted);
            glassine_bundle_close(other);
        }
        free(wanted);
    }
}

/* What a draft holds beyond the log is not in common with anything. */
static void a_draft_is_not_taken_over(void **state) {
    (void)state;
    const char *path = in_folder("two.glassine"), *copy = in_folder("grown.glassine");
    MUST(glassine_bundle_make(path, "Kingfisher", "Keeper", &error));
    for (int i = 0; i < APART; i++)
        save_one(path, "K-1");
    copy_file(path, copy);
    save_one(copy, "K-2");
    char *wanted = by_itself(copy);
    saying_session on = begin_saying(path, NULL);
    glassine_record *record;
    const glassine_assignment item[] = {{"label", "K-3", NULL}};
    MUST(glassine_draft_enter(on.draft, "item", item, 1, NULL, &record, &error));
    is_the_same_beside(copy, on.bundle, wanted);
    free(wanted);
    end_saying(&on);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(vectors_are_what_they_are), cmocka_unit_test(copies_are_what_they_are),
        cmocka_unit_test(editions_are_what_they_are), cmocka_unit_test(a_draft_is_not_taken_over)};
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
