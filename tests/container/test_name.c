/* Names: the grammar of spec/container.md, and names that must not stand side by side. */
#include "support.h"

#include "container/name.h"

#define LONG_32 "abcdefghijklmnopqrstuvwxyz012345"
#define LONG_128 LONG_32 LONG_32 LONG_32 LONG_32

static void grammar(void **state) {
    (void)state;
    static const struct {
        const char *name, *rule; /* rule NULL: fine */
    } cases[] = {
        {"data/about.json", NULL},
        {"a", NULL},
        {"read-me.txt", NULL},
        {"A b_c-d.e/0", NULL},
        {"a..b", NULL},
        {"notes/\xc3\xa9t\xc3\xa9.txt", NULL},          /* e with acute, composed */
        {"\xe0\xa4\xb9\xe0\xa4\xbf\xe0\xa4\x82", NULL}, /* letters with marks */
        {LONG_128, NULL},
        {LONG_128 "/" LONG_128 "/" LONG_128 "/" LONG_32 LONG_32 LONG_32 "abcdefghijklmnopqrstuvwxyz0123",
         "C062"},
        {LONG_128 "x", "C062"},
        {"", "C062"},
        {"/a", "C062"},
        {"a/", "C062"},
        {"a//b", "C062"},
        {".", "C062"},
        {"..", "C062"},
        {"a/../b", "C062"},
        {".hidden", "C062"},
        {"a.", "C062"},
        {"a /b", "C062"},
        {" a", "C062"},
        {"a\\b", "C062"},
        {"a:b", "C062"},
        {"a*", "C062"},
        {"a%20b", "C062"},
        {"a\nb", "C062"},
        {"a\tb", "C062"},
        {"a\x7f", "C062"},
        {"~a", "C062"},
        {"a\xe2\x82\xac", "C062"}, /* euro sign: no letter */
        {"\xe2\x80\xae"
         "a",
         "C062"}, /* right-to-left override */
        {"a\xc2\xa0"
         "b",
         "C062"}, /* no-break space */
        {"a\xff", "C060"},
        {"\xc0\xaf", "C060"},     /* overlong slash */
        {"\xed\xa0\x80", "C060"}, /* surrogate */
        {"e\xcc\x81", "C060"},    /* e and a combining acute: not NFC */
        {"con", "C063"},
        {"a/NUL.txt", "C063"},
        {"Aux/b", "C063"},
        {"com1", "C063"},
        {"LPT9.tar.gz", "C063"},
        {"prn .txt", "C063"},
        {"com0", NULL},
        {"com10", NULL},
        {"console", NULL},
        {"icon", NULL},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        gl_name_fault fault;
        bool fine = gl_name_check(gl_span_of(cases[i].name), &fault);
        if (fine != !cases[i].rule || (!fine && strcmp(fault.rule, cases[i].rule) != 0))
            fail_msg("\"%s\" is %s, and should be %s", cases[i].name, fine ? "fine" : fault.rule,
                     cases[i].rule ? cases[i].rule : "fine");
    }
    gl_name_fault fault;
    assert_false(gl_name_check(((gl_span){"a\0b", 3}), &fault));
    assert_non_null(fault.what);
}

/* A part ends where its bytes do: a name may end in the middle of any character. */
static void hostile_bytes(void **state) {
    (void)state;
    random_source luck = {5};
    static const char bytes[] = "aZ0./ -_\\:\xc3\xa9\xcc\x81\xff\xed\x80\xf0\x9f\0";
    for (size_t i = 0; i < 200000; i++) {
        char name[12];
        size_t length = draw_below(&luck, sizeof name + 1);
        for (size_t j = 0; j < length; j++)
            name[j] = bytes[draw_below(&luck, sizeof bytes)];
        gl_name_fault fault;
        if (!gl_name_check((gl_span){name, length}, &fault))
            continue;
        assert_true(length > 0);
        assert_null(memchr(name, '\0', length));
        assert_null(memchr(name, '\\', length));
        assert_int_not_equal(name[0], '/');
        assert_int_not_equal(name[0], '.');
        assert_int_not_equal(name[length - 1], '/');
    }
}

static void bases_and_scans(void **state) {
    (void)state;
    static const char slug48[] = "glassine-" LONG_32 "0123456789abcdef";
    assert_true(gl_name_is_base(GL_SPAN("glassine-a")));
    assert_true(gl_name_is_base(GL_SPAN(slug48)));
    static const char *const bad[] = {"glassine-",
                                      "glassine",
                                      "glassine-A",
                                      "glassine-a_b",
                                      "Glassine-a",
                                      "",
                                      "glassine-" LONG_32 "0123456789abcdefg",
                                      "glassine-\xc3\xa9"};
    for (size_t i = 0; i < COUNT(bad); i++)
        assert_false(gl_name_is_base(gl_span_of(bad[i])));
    gl_digest digest;
#define HEX "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert_true(gl_name_is_scan(GL_SPAN("data/scans/" HEX ".png"), &digest));
    assert_int_equal(digest.bytes[0], 0xe3);
    static const char *const no_scans[] = {"data/scans/" HEX,
                                           "data/scans/" HEX ".",
                                           "data/scans/" HEX ".PNG",
                                           "data/scans/" HEX ".p.g",
                                           "data/scans/a" HEX ".png",
                                           "data/scan/" HEX ".png",
                                           "data/scans/" HEX ".123456789",
                                           "data/scans/x.png"};
    for (size_t i = 0; i < COUNT(no_scans); i++)
        assert_false(gl_name_is_scan(gl_span_of(no_scans[i]), &digest));
}

static void side_by_side(void **state) {
    (void)state;
    static const struct {
        const char *names[3];
        bool apart;
    } cases[] = {
        {{"b/a", "b/c", "b/d/e"}, true},
        {{"b/a", "b/ab", "b/a.b"}, true},
        {{"b/a", "b/c", "b/a"}, false},
        {{"b/a", "b/c", "b/A"}, false},
        {{"b/\xc3\xa9", "b/c", "b/\xc3\x89"}, false}, /* e acute, E acute */
        {{"b/stra\xc3\x9f"
          "e",
          "b/c", "b/STRASSE"},
         false},                            /* full case folding (Unicode 3.13) */
        {{"b/a/x", "b/c", "b/A/y"}, false}, /* one folder, spelled in two ways */
        {{"b/a/x", "b/a", "b/c"}, false},   /* a file, and a folder */
        {{"b/a", "b/c", "b/A/x"}, false},
        {{"b/a/x", "b/a/y", "b/ab"}, true},
    };
    for (size_t i = 0; i < COUNT(cases); i++) {
        gl_entry entries[3] = {{.size = 0}};
        for (size_t j = 0; j < 3; j++)
            entries[j].name = gl_span_of(cases[i].names[j]);
        glassine_error error;
        glassine_status status = gl_names_apart(entries, 3, "file", &error);
        if (cases[i].apart)
            must(status, &error);
        else
            refused_by(status, &error, "C064");
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(grammar),
        cmocka_unit_test(hostile_bytes),
        cmocka_unit_test(bases_and_scans),
        cmocka_unit_test(side_by_side),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
