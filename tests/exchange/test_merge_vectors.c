/* testvectors/merge: bundles as lines, what a merge makes of them, and what it must tell. */
#include "exchange/support.h"

#include <dirent.h>
#include <jansson.h>

static const char *text_of(json_t *object, const char *name) {
    return json_string_value(json_object_get(object, name));
}

static void write_bundle(const char *path, const char *keeper, json_t *lines) {
    gl_make make;
    gl_about about = {.keeper = (char *)keeper, .title = (char *)"Sorrel Islands"};
    size_t i;
    json_t *line;
    unlink(path);
    MUST(gl_make_new(&make, path, &about, &error));
    json_array_foreach(lines, i, line) {
        bool added;
        MUST(gl_draft_add_line(make.draft, gl_span_of(json_string_value(line)), path, &added, &error));
    }
    MUST(gl_bundle_index(make.bundle, &error));
    MUST(glassine_draft_save(make.draft, "vector", &error));
    MUST(gl_make_publish(&make, false, &error));
    gl_make_free(&make);
}

static const char *const kinds[] = {[GLASSINE_MET_NEW] = "new",
                                    [GLASSINE_MET_CHANGED] = "changed",
                                    [GLASSINE_MET_AGREED] = "agreed",
                                    [GLASSINE_MET_COMBINED] = "combined",
                                    [GLASSINE_MET_CONTESTED] = "contested",
                                    [GLASSINE_MET_STANDING] = "standings",
                                    [GLASSINE_MET_NOT_COUNTED] = "not_counted",
                                    [GLASSINE_MET_FAULT] = "faults",
                                    [GLASSINE_MET_SAME_LABEL] = "same_label",
                                    [GLASSINE_MET_TWINS] = "twins",
                                    [GLASSINE_MET_LEADS_NOWHERE] = "leads_nowhere",
                                    [GLASSINE_MET_INCOMPLETE] = "incomplete",
                                    [GLASSINE_MET_COMPLETED] = "completed"};

/* Each note as a line: the record's key, and what tells it from others of its kind. */
static void hear(void *context, glassine_bundle *bundle, const glassine_merge_note *note) {
    json_t *told = context, *list;
    char line[400], more[200] = "";
    const char *kind = (size_t)note->met < COUNT(kinds) ? kinds[note->met] : NULL;
    if (!kind || !note->record)
        return;
    if (note->met == GLASSINE_MET_CHANGED || note->met == GLASSINE_MET_CONTESTED)
        snprintf(more, sizeof more, " %s", span_text(note->is->name));
    else if (note->met == GLASSINE_MET_NOT_COUNTED || note->met == GLASSINE_MET_FAULT ||
             note->met == GLASSINE_MET_LEADS_NOWHERE)
        snprintf(more, sizeof more, " %s", note->rule ? note->rule : "-");
    else if (note->other)
        snprintf(more, sizeof more, " %s", span_text(glassine_record_key(bundle, note->other)));
    else if (note->met == GLASSINE_MET_STANDING)
        snprintf(more, sizeof more, " %.*s", (int)strcspn(note->text, ":"), note->text);
    snprintf(line, sizeof line, "%s%s", span_text(glassine_record_key(bundle, note->record)), more);
    list = json_object_get(told, kind);
    if (!list) {
        list = json_array();
        json_object_set_new(told, kind, list);
    }
    json_t *last = json_array_get(list, json_array_size(list) - 1);
    if (note->met != GLASSINE_MET_COMBINED || !last || strcmp(json_string_value(last), line) != 0)
        json_array_append_new(list, json_string(line));
}

static int by_text(const void *a, const void *b) {
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* As one line, sorted. */
static char *sorted(json_t *list) {
    size_t count = json_array_size(list), length = 3;
    const char **lines = malloc((count + 1) * sizeof *lines);
    for (size_t i = 0; i < count; i++) {
        lines[i] = json_string_value(json_array_get(list, i));
        length += strlen(lines[i]) + 1;
    }
    qsort(lines, count, sizeof *lines, by_text);
    char *out = malloc(length), *at = out;
    *at = '\0';
    for (size_t i = 0; i < count; i++)
        at += sprintf(at, "%s\n", lines[i]);
    free(lines);
    return out;
}

static void compare_report(const char *name, json_t *told, json_t *wanted) {
    for (size_t i = 0; i < COUNT(kinds); i++) {
        if (!kinds[i])
            continue;
        char *is = sorted(json_object_get(told, kinds[i])), *want = sorted(json_object_get(wanted, kinds[i]));
        if (strcmp(is, want) != 0)
            fail_msg("%s: %s: told\n%swanted\n%s", name, kinds[i], is, want);
        free(is);
        free(want);
    }
}

static void compare_field(const char *name, const glassine_field *field, json_t *wanted) {
    json_t *said = json_object_get(wanted, "said");
    if (strcmp(span_text(field->name), text_of(wanted, "name")) != 0)
        fail_msg("%s: field %s, wanted %s", name, span_text(field->name), text_of(wanted, "name"));
    assert_string_equal(glassine_reach_name(field->reach), text_of(wanted, "reach"));
    assert_int_equal(field->contested, json_is_true(json_object_get(wanted, "contested")));
    assert_int_equal(field->saying_count, json_array_size(said));
    for (size_t i = 0; i < field->saying_count; i++) {
        json_t *value = json_object_get(json_array_get(said, i), "value");
        char *text = value ? json_dumps(value, JSON_COMPACT | JSON_SORT_KEYS | JSON_ENCODE_ANY) : NULL;
        assert_int_equal(text != NULL, field->sayings[i].value.text != NULL);
        assert_true(!text || gl_span_is(field->sayings[i].value, text));
        free(text);
    }
}

static void compare_readings(const char *name, glassine_bundle *bundle, json_t *wanted) {
    size_t i;
    json_t *want;
    json_array_foreach(wanted, i, want) {
        const char *author = text_of(want, "author");
        glassine_record *record = glassine_bundle_record(bundle, gl_span_of(text_of(want, "record")),
                                                         author ? gl_span_of(author) : GL_NO_SPAN);
        const glassine_field *fields;
        size_t count;
        json_t *list = json_object_get(want, "fields");
        assert_non_null(record);
        MUST(glassine_record_fields(bundle, record, &fields, &count, &error));
        assert_int_equal(count, json_array_size(list));
        for (size_t f = 0; f < count; f++)
            compare_field(name, &fields[f], json_array_get(list, f));
        assert_int_equal(glassine_record_incomplete(bundle, record),
                         json_is_true(json_object_get(want, "incomplete")));
    }
}

static void merge(const char *path, const char *const *paths, size_t count, bool preview, json_t *told) {
    glassine_merge_options options = {.preview = preview, .tell = hear, .context = told};
    saying_session on = begin_saying(path, NULL);
    glassine_report *report = glassine_report_new("merge");
    MUST(glassine_merge(on.draft, paths, count, &options, report, &error));
    glassine_report_free(report);
    glassine_draft_free(on.draft);
    glassine_bundle_close(on.bundle);
}

static void check(const char *name, json_t *vector) {
    const char *path = in_folder("mine.glassine"), *keeper = text_of(vector, "keeper");
    json_t *sources = json_object_get(vector, "sources"), *told = json_object(), *again = json_object();
    size_t count = json_array_size(sources);
    char(*names)[200] = calloc(count, sizeof *names);
    const char **paths = calloc(count, sizeof *paths);
    for (size_t i = 0; i < count; i++) {
        snprintf(names[i], sizeof names[i], "%s/source-%zu.glassine", folder, i);
        paths[i] = names[i];
        write_bundle(names[i], "contributor/00000000-0000-4000-8000-00000000000b",
                     json_array_get(sources, i));
    }
    write_bundle(path, keeper, json_object_get(vector, "bundle"));
    uint64_t before = file_length(path);
    merge(path, paths, count, true, told);
    assert_int_equal(file_length(path), before);
    compare_report(name, told, json_object_get(vector, "report"));
    merge(path, paths, count, false, again);
    assert_true(json_equal(told, again)); /* a preview tells the same */
    glassine_bundle *bundle = opened(path, GLASSINE_READ);
    char digest[65];
    glassine_bundle_digest(bundle, digest);
    assert_string_equal(digest, text_of(vector, "content_digest"));
    assert_string_equal(glassine_bundle_keeper(bundle), keeper);
    compare_readings(name, bundle, json_object_get(vector, "readings"));
    glassine_bundle_close(bundle);
    json_decref(told);
    json_decref(again);
    free(names);
    free(paths);
}

static void merges_are_those_written_down(void **state) {
    (void)state;
    DIR *vectors = opendir(TESTVECTORS "/merge");
    assert_non_null(vectors);
    size_t count = 0;
    for (struct dirent *entry; (entry = readdir(vectors));) {
        char path[1024];
        if (!strstr(entry->d_name, ".json"))
            continue;
        snprintf(path, sizeof path, TESTVECTORS "/merge/%s", entry->d_name);
        json_t *vector = json_load_file(path, 0, NULL);
        assert_non_null(vector);
        check(entry->d_name, vector);
        json_decref(vector);
        count++;
    }
    closedir(vectors);
    assert_true(count >= 30);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(merges_are_those_written_down),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
