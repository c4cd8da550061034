/* testvectors/answers: texts as people write them, each with how it must be understood, or what must be
 * asked; and that a text taken in twice is taken in once. */
#include "exchange/support.h"

#include <dirent.h>
#include <jansson.h>

#define KEEPER "contributor/00000000-0000-4000-8000-00000000000a"
#define SPECIALIST "contributor/00000000-0000-4000-8000-00000000000b"
#define EVENT "event/00000000-0000-4000-8000-0000000000e1"

static void enter(glassine_draft *draft, const char *id, const glassine_assignment *fields, size_t count) {
    glassine_record *record;
    MUST(gl_draft_enter_as(draft, id, fields, count, &record, &error));
}

#define ENTER(draft, id, ...)                                                                                \
    do {                                                                                                     \
        const glassine_assignment fields_[] = {__VA_ARGS__};                                                 \
        enter(draft, id, fields_, COUNT(fields_));                                                           \
    } while (0)

static const char *id(const char *type, unsigned number) {
    static char ids[16][64];
    static unsigned next;
    char *out = ids[next++ % COUNT(ids)];
    snprintf(out, sizeof ids[0], "%s/00000000-0000-4000-8000-%012x", type, number);
    return out;
}

/* Six items with a stamp each, H-001 to H-006, of one design, with one plate of 12 rows of 10 or with two,
 * and states early and late; asked about in this order. */
static const char *make_bundle(int plates) {
    const char *path = in_folder("asked.glassine");
    gl_make make;
    gl_about about = {.keeper = (char *)KEEPER, .title = (char *)"Sorrel Islands"};
    char stamps[400] = "", items[400] = "";
    unlink(path);
    setenv("SOURCE_DATE_EPOCH", "1772359200", 1);
    MUST(gl_make_new(&make, path, &about, &error));
    ENTER(make.draft, KEEPER, {"name", "Wren Alderby", NULL});
    ENTER(make.draft, SPECIALIST, {"name", "Odile Farrow", NULL});
    ENTER(make.draft, id("design", 1), {"label", "KF", NULL});
    for (int plate = 1; plate <= plates; plate++) {
        char label[16];
        snprintf(label, sizeof label, "%d", plate);
        ENTER(make.draft, id("plate", (unsigned)plate), {"label", label, NULL},
              {"design", id("design", 1), NULL}, {"rows", "12", NULL}, {"columns", "10", NULL});
        ENTER(make.draft, id("plate_state", (unsigned)plate * 16),
              {"plate", id("plate", (unsigned)plate), NULL}, {"name", "early", NULL}, {"order", "1", NULL});
        ENTER(make.draft, id("plate_state", (unsigned)plate * 16 + 1),
              {"plate", id("plate", (unsigned)plate), NULL}, {"name", "late", NULL}, {"order", "2", NULL});
    }
    for (unsigned item = 1; item <= 6; item++) {
        char label[8];
        snprintf(label, sizeof label, "H-%03u", item);
        ENTER(make.draft, id("item", item), {"label", label, NULL});
        ENTER(make.draft, id("stamp", item), {"item", id("item", item), NULL},
              {"design", id("design", 1), NULL});
        snprintf(stamps + strlen(stamps), sizeof stamps - strlen(stamps), "%s%s", item > 1 ? "," : "",
                 id("stamp", item));
        snprintf(items + strlen(items), sizeof items - strlen(items), "%s%s", item > 1 ? "," : "",
                 id("item", item));
    }
    ENTER(make.draft, EVENT, {"kind", "sent", NULL}, {"items", items, NULL}, {"stamps", stamps, NULL},
          {"contributor", SPECIALIST, NULL}, {"on", "2026-03-01", NULL});
    MUST(glassine_draft_save(make.draft, "asked", &error));
    MUST(gl_make_publish(&make, false, &error));
    gl_make_free(&make);
    return path;
}

/* What a merge told, in the form of the vectors. */
typedef struct heard {
    json_t *answers, *questions;
    size_t left;
} heard;

static void hear(void *context, glassine_bundle *bundle, const glassine_merge_note *note) {
    heard *it = context;
    char number[12];
    (void)bundle;
    snprintf(number, sizeof number, "%u", (unsigned)note->number);
    if (note->met == GLASSINE_MET_ANSWER)
        json_object_set_new(it->answers, number, json_string(note->text));
    if (note->met == GLASSINE_MET_QUESTION)
        json_array_append_new(it->questions, json_pack("[s,s]", number, note->text));
    it->left += note->met == GLASSINE_MET_LEFT;
}

static heard take(const char *path, const char *text, const glassine_merge_options *options,
                  bool *attention) {
    heard it = {json_object(), json_array(), 0};
    const char *source = in_folder("answer.txt");
    glassine_merge_options all = options ? *options : (glassine_merge_options){0};
    unlink(source);
    assert_int_equal(gl_file_write_all(source, gl_span_of(text), true), 0);
    all.answers_by = SPECIALIST;
    all.tell = hear;
    all.context = &it;
    saying_session on = begin_saying(path, KEEPER);
    glassine_report *report = glassine_report_new("merge");
    MUST(glassine_merge(on.draft, &source, 1, &all, report, &error));
    *attention = glassine_report_wants_attention(report);
    glassine_report_free(report);
    glassine_draft_free(on.draft);
    glassine_bundle_close(on.bundle);
    return it;
}

static void forget(heard *it) {
    json_decref(it->answers);
    json_decref(it->questions);
}

/* The question's reason need only hold what the vector says. */
static void compare_questions(const char *name, json_t *found, json_t *wanted) {
    size_t i;
    json_t *want;
    if (json_array_size(found) != json_array_size(wanted))
        fail_msg("%s: %zu questions: %s", name, json_array_size(found), json_dumps(found, 0));
    json_array_foreach(wanted, i, want) {
        json_t *is = json_array_get(found, i);
        if (strcmp(json_string_value(json_array_get(is, 0)), json_string_value(json_array_get(want, 0))) !=
                0 ||
            !strstr(json_string_value(json_array_get(is, 1)), json_string_value(json_array_get(want, 1))))
            fail_msg("%s: %s", name, json_dumps(is, 0));
    }
}

static void check(const char *name, json_t *vector) {
    json_t *plates = json_object_get(vector, "plates"), *answers = json_object_get(vector, "answers");
    json_t *questions = json_object_get(vector, "questions"), *lines = json_object_get(vector, "text"), *line;
    gl_buf text = GL_BUF_EMPTY;
    size_t i;
    bool attention;
    json_array_foreach(lines, i, line) gl_buf_printf(&text, "%s\n", json_string_value(line));
    const char *path = make_bundle(plates ? (int)json_integer_value(plates) : 1);
    uint64_t before = file_length(path);
    heard it = take(path, text.text, NULL, &attention);
    if (!json_equal(it.answers, answers))
        fail_msg("%s: understood %s, wanted %s", name, json_dumps(it.answers, JSON_SORT_KEYS),
                 json_dumps(answers, JSON_SORT_KEYS));
    compare_questions(name, it.questions, questions);
    forget(&it);
    if (json_array_size(questions)) {
        assert_true(attention);
        assert_int_equal(file_length(path),
                         before); /* nothing is written as long as something is not understood */
    } else {
        uint64_t once = file_length(path);
        assert_true(once > before);
        it = take(path, text.text, NULL, &attention);
        forget(&it);
        assert_int_equal(file_length(path), once);
    }
    gl_buf_free(&text);
}

static void texts_are_understood_or_asked_about(void **state) {
    (void)state;
    DIR *folder_of_vectors = opendir(TESTVECTORS "/answers");
    assert_non_null(folder_of_vectors);
    size_t count = 0;
    for (struct dirent *entry; (entry = readdir(folder_of_vectors));) {
        char path[1024];
        if (!strstr(entry->d_name, ".json"))
            continue;
        snprintf(path, sizeof path, TESTVECTORS "/answers/%s", entry->d_name);
        json_t *vector = json_load_file(path, 0, NULL);
        assert_non_null(vector);
        check(entry->d_name, vector);
        json_decref(vector);
        count++;
    }
    closedir(folder_of_vectors);
    assert_true(count >= 40);
}

/* Texts that are odd in more than one way; the vectors have those that people write. */
static void odd_texts(void **state) {
    static const struct {
        const char *text, *answers, *questions;
        int plates;
    } cases[] = {
        {"1: cannot place it", "{\"1\":\"cannot tell\"}", "[]", 1},
        {"1: cannot tell, not genuine", "{}", "[[\"1\",\"it gives two answers\"]]", 1},
        {"1: plate 1, 64, plate 2", "{}", "[[\"1\",\"it names two plates\"]]", 2},
        {"1: 64, early state, late state", "{}", "[[\"1\",\"it names two states\"]]", 1},
        {"1: row 4 but not in column 2",
         "{\"1\":\"9 positions: 31, 33, 34, 35, 36, 37, 38, 39, 40; probable\"}", "[]", 1},
        {"1: 64 - early", "{\"1\":\"1 position: 64; state early; probable\"}", "[]", 1},
        {"1: 64, , early", "{\"1\":\"1 position: 64; state early; probable\"}", "[]", 1},
        {"1, and 2, and 3: 64",
         "{\"1\":\"1 position: 64; probable\",\"2\":\"1 position: 64; probable\",\"3\":\"1 position: 64; "
         "probable\"}",
         "[]", 1},
        {"1:: 64", "{\"1\":\"1 position: 64; probable\"}", "[]", 1},
        {"1: 64\n\nRegards\nOdile\n\n2: 65",
         "{\"1\":\"1 position: 64; probable\",\"2\":\"1 position: 65; probable\"}", "[]", 1},
        {"\xef\xbb\xbf"
         "1: 64",
         "{\"1\":\"1 position: 64; probable\"}", "[]", 1},
        {"1: dot, flaw, scratch, dot, flaw, scratch, dot, flaw, scratch", "{}",
         "[[\"1\",\"it tells of more than can be taken in at once\"]]", 1},
    };
    (void)state;
    for (size_t i = 0; i < COUNT(cases); i++) {
        json_t *lines = json_pack("[s]", cases[i].text);
        json_t *vector = json_pack("{s:i,s:o,s:o,s:o}", "plates", cases[i].plates, "text", lines, "answers",
                                   json_loads(cases[i].answers, 0, NULL), "questions",
                                   json_loads(cases[i].questions, 0, NULL));
        assert_non_null(vector);
        check(cases[i].text, vector);
        json_decref(vector);
    }
}

static const char TEXT[] = "1: 64, early\n2: who knows\n3: cannot tell\n";

/* Two copies that took the same text in at different times hold the same slips. */
static void two_copies_take_a_text_in_alike(void **state) {
    (void)state;
    char digests[2][65];
    bool attention;
    for (int copy = 0; copy < 2; copy++) {
        const char *path = make_bundle(1);
        setenv("SOURCE_DATE_EPOCH", copy ? "1800000000" : "1790000000", 1);
        heard it = take(path, "1: 64, early\r\n2:\t cannot tell", NULL, &attention);
        forget(&it);
        glassine_bundle *bundle = opened(path, GLASSINE_READ);
        glassine_bundle_digest(bundle, digests[copy]);
        glassine_bundle_close(bundle);
    }
    assert_string_equal(digests[0], digests[1]);
}

static void what_is_not_understood_can_be_explained_or_left(void **state) {
    (void)state;
    bool attention;
    const char *path = make_bundle(1);
    heard it = take(path, TEXT, &(glassine_merge_options){.accept_partial = true}, &attention);
    assert_int_equal(json_object_size(it.answers), 2);
    assert_int_equal(json_array_size(it.questions), 1);
    assert_true(attention);
    forget(&it);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    uint64_t slips = glassine_bundle_slips(bundle);
    glassine_bundle_close(bundle);
    it = take(path, TEXT, &(glassine_merge_options){.understand = "2: 65, late"}, &attention);
    assert_string_equal(json_string_value(json_object_get(it.answers, "2")),
                        "1 position: 65; state late; probable");
    assert_int_equal(json_array_size(it.questions), 0);
    forget(&it);
    bundle = opened(path, GLASSINE_READ);
    assert_int_equal(glassine_bundle_slips(bundle), slips + 1); /* the claim; all else is there */
    glassine_bundle_close(bundle);
}

/* Whose they are, who wrote them down, when, and the words themselves. */
static void answers_say_where_they_come_from(void **state) {
    (void)state;
    bool attention;
    const char *path = make_bundle(1);
    heard it = take(path, "Date: Sat, 14 Mar 2026 10:00:00 +0100\n\n4: 64, certain, guideline at the top",
                    NULL, &attention);
    forget(&it);
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    glassine_cursor *cursor;
    size_t met = 0;
    MUST(glassine_cursor_new(bundle, NULL, true, &cursor, &error));
    for (glassine_record *record; (record = glassine_cursor_next(cursor));) {
        const char *type = span_text(glassine_record_type(bundle, record));
        const uint32_t *slips;
        size_t count;
        MUST(glassine_record_history(bundle, record, &slips, &count, &error));
        glassine_slip slip = glassine_bundle_slip(bundle, slips[0]);
        if (strcmp(type, "claim") == 0 || strcmp(type, "observation") == 0) {
            assert_string_equal(span_text(slip.by), SPECIALIST);
            assert_string_equal(span_text(slip.via), KEEPER);
            assert_string_equal(span_text(slip.at), "2026-03-14T09:00:00Z");
            assert_string_equal(span_text(slip.why), "4: 64, certain, guideline at the top");
            assert_int_equal(span_text(slip.record)[strlen(type) + 15],
                             '8'); /* RFC 9562: the version's digit */
            met++;
        } else if (strcmp(type, "letter") == 0) {
            assert_string_equal(span_text(slip.by), KEEPER);
            assert_int_equal(slip.reach, GLASSINE_PRIVATE);
            assert_non_null(
                strstr(span_text(glassine_record_text(bundle, record, "text")), "4: 64, certain"));
            met++;
        }
    }
    assert_int_equal(met, 3);
    glassine_cursor_free(cursor);
    glassine_bundle_close(bundle);
}

/* "claim 64, withdrawn; …" of what stands and stood on the stamp that question 1 asks about, sorted. */
static const char *answers_on_first_stamp(const char *path) {
    static char out[8 * 128];
    char parts[8][120];
    size_t count = 0;
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    glassine_record *const *list;
    size_t found;
    glassine_record *stamp = glassine_bundle_record(bundle, gl_span_of(id("stamp", 1)), GL_NO_SPAN);
    MUST(glassine_record_referrers(bundle, stamp, NULL, true, &list, &found, &error));
    for (size_t i = 0; i < found; i++) {
        gl_span type = glassine_record_type(bundle, list[i]);
        bool claim = gl_span_is(type, "claim"), replaces;
        if (!claim && !gl_span_is(type, "opinion"))
            continue;
        gl_span says = glassine_record_text(bundle, list[i], claim ? "positions" : "about");
        replaces = glassine_record_text(bundle, list[i], "instead_of").text != NULL;
        bool withdrawn = gl_json_true(glassine_record_get(bundle, list[i], "withdrawn", NULL));
        snprintf(parts[count++], sizeof parts[0], "%.*s%s%s", GL_SPAN_ARGS(says), replaces ? " instead" : "",
                 withdrawn ? " withdrawn" : "");
    }
    qsort(parts, count, sizeof parts[0], (int (*)(const void *, const void *))strcmp);
    out[0] = '\0';
    for (size_t i = 0; i < count; i++)
        snprintf(out + strlen(out), sizeof out - strlen(out), "%s%s", i ? "; " : "", parts[i]);
    glassine_bundle_close(bundle);
    return out;
}

static void take_text(const char *path, const char *text, const char *understand) {
    bool attention;
    heard it =
        take(path, text, &(glassine_merge_options){.event = EVENT, .understand = understand}, &attention);
    forget(&it);
}

/* Somebody who answers a question again has changed their mind, in whatever order the texts are taken in. */
static void a_later_answer_takes_the_place_of_an_earlier_one(void **state) {
    static const char early[] = "Date: Sat, 14 Mar 2026 10:00:00 +0000\n\n";
    static const char late[] = "Date: Sun, 15 Mar 2026 10:00:00 +0000\n\n";
    static const struct {
        const char *first, *second, *wanted;
    } cases[] = {
        {"1: 64", "1: 65", "64; 65 instead"},
        {"1: 64", "1: cannot tell", "64 withdrawn; cannot tell"},
        {"1: cannot tell", "1: 64", "64; cannot tell withdrawn"},
        {"1: cannot tell", "1: not genuine", "cannot tell withdrawn; not genuine"},
        {"1: 64", "2: cannot tell", "64"},
        {"1: 64", "1: no dot", "64"},
    };
    (void)state;
    for (size_t i = 0; i < COUNT(cases); i++)
        for (int dated = 0; dated < 2; dated++)
            for (int reversed = 0; reversed <= dated; reversed++) {
                char first[120], second[120];
                snprintf(first, sizeof first, "%s%s", dated ? early : "", cases[i].first);
                snprintf(second, sizeof second, "%s%s", dated ? late : "", cases[i].second);
                const char *path = make_bundle(1);
                take_text(path, reversed ? second : first, NULL);
                take_text(path, reversed ? first : second, NULL);
                const char *wanted = cases[i].wanted;
                if (reversed && i == 0)
                    wanted = "64 withdrawn; 65"; /* the older one is taken back from the first */
                assert_string_equal(answers_on_first_stamp(path), wanted);
                uint64_t length = file_length(path);
                take_text(path, first, NULL);
                take_text(path, second, NULL);
                assert_int_equal(file_length(path), length); /* once taken in, always taken in */
            }
}

/* The keeper misread an answer, says so, and thinks better of it. */
static void an_answer_can_be_explained_otherwise(void **state) {
    (void)state;
    const char *path = make_bundle(1);
    take_text(path, "1: 64", NULL);
    take_text(path, "1: 64", "1: cannot tell");
    assert_string_equal(answers_on_first_stamp(path), "64 withdrawn; cannot tell");
    uint64_t length = file_length(path);
    take_text(path, "1: 64", NULL);
    assert_int_equal(file_length(path), length);
    take_text(path, "1: 64", "1: 46");
    assert_string_equal(answers_on_first_stamp(path), "46; cannot tell withdrawn");
}

/* A row of a sheet that says this and then that, and this again: what it says last stands, and nothing else.
 */
static void a_sheet_can_be_corrected_to_and_fro(void **state) {
    static const struct {
        const char *positions, *otherwise, *wanted;
    } steps[] = {
        {"64", "", "64"},
        {"", "cannot tell", "64 withdrawn; cannot tell"},
        {"64", "", "64; cannot tell withdrawn"},
        {"", "cannot tell", "64 withdrawn; cannot tell"},
        {"", "not genuine", "64 withdrawn; not genuine"},
        {"", "cannot tell", "64 withdrawn; cannot tell"},
        {"65", "", "65; cannot tell withdrawn"},
    };
    (void)state;
    char path[200], sheet[200];
    snprintf(path, sizeof path, "%s", make_bundle(1));
    for (size_t i = 0; i < COUNT(steps); i++) {
        snprintf(sheet, sizeof sheet, "question,stamp,positions,otherwise,sent\n1,H-001,%s,%s,%s\n",
                 steps[i].positions, steps[i].otherwise, EVENT);
        take_text(path, sheet, NULL);
        assert_string_equal(answers_on_first_stamp(path), steps[i].wanted);
        uint64_t length = file_length(path);
        take_text(path, sheet, NULL);
        assert_int_equal(file_length(path), length);
    }
}

/* What a later text says stands against a sheet that is taken in once more. */
static void a_sheet_taken_in_again_leaves_a_later_text_alone(void **state) {
    static const char *const later[] = {"1: 65", "1: cannot tell"};
    static const char *const wanted[] = {"64; 65 instead", "64 withdrawn; cannot tell"};
    static const char sheet[] = "question,stamp,positions,sent\n1,H-001,64," EVENT "\n";
    (void)state;
    for (size_t i = 0; i < COUNT(later); i++) {
        const char *path = make_bundle(1);
        take_text(path, sheet, NULL);
        take_text(path, later[i], NULL);
        assert_string_equal(answers_on_first_stamp(path), wanted[i]);
        take_text(path, sheet, NULL);
        assert_string_equal(answers_on_first_stamp(path), wanted[i]);
    }
}

static void texts_that_are_none_are_refused(void **state) {
    static const char *const texts[] = {"1: 64\x01", "1: \xff\xfe", "   \n \n"};
    (void)state;
    const char *path = make_bundle(1), *source = in_folder("answer.txt");
    for (size_t i = 0; i < COUNT(texts); i++) {
        uint64_t before = file_length(path);
        unlink(source);
        assert_int_equal(gl_file_write_all(source, gl_span_of(texts[i]), true), 0);
        saying_session on = begin_saying(path, KEEPER);
        assert_int_equal(glassine_merge(on.draft, &source, 1,
                                        &(glassine_merge_options){.answers_by = SPECIALIST}, NULL, &error),
                         GLASSINE_REFUSED);
        glassine_draft_free(on.draft);
        glassine_bundle_close(on.bundle);
        assert_int_equal(file_length(path), before);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(texts_are_understood_or_asked_about),
        cmocka_unit_test(odd_texts),
        cmocka_unit_test(two_copies_take_a_text_in_alike),
        cmocka_unit_test(what_is_not_understood_can_be_explained_or_left),
        cmocka_unit_test(answers_say_where_they_come_from),
        cmocka_unit_test(a_later_answer_takes_the_place_of_an_earlier_one),
        cmocka_unit_test(an_answer_can_be_explained_otherwise),
        cmocka_unit_test(a_sheet_can_be_corrected_to_and_fro),
        cmocka_unit_test(a_sheet_taken_in_again_leaves_a_later_text_alone),
        cmocka_unit_test(texts_that_are_none_are_refused),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
