/* preview_merge FILE SOURCE…: tells in its own words what a merge would bring, and writes nothing. */
#include <stdio.h>

#include <glassine.h>

static glassine_span name_of(glassine_bundle *bundle, glassine_span person) {
    glassine_record *record = glassine_bundle_record(bundle, person, (glassine_span){NULL, 0});
    return record ? glassine_record_label(bundle, record) : person;
}

static void print_span(const char *before, glassine_span text, const char *after) {
    printf("%s%.*s%s", before, (int)text.length, text.text ? text.text : "", after);
}

static void print_value(glassine_bundle *bundle, const glassine_field *field, size_t saying) {
    if (!field)
        printf("(unsaid)");
    else if (!field->sayings[saying].value.text)
        printf("(taken away)");
    else
        print_span("", glassine_value_shown(bundle, field->sayings[saying].value, field->info), "");
}

static void print_field(glassine_bundle *bundle, const glassine_merge_note *note) {
    print_span("", glassine_record_type(bundle, note->record), " ");
    print_span("", glassine_record_label(bundle, note->record), ": ");
    print_span("", note->is->name, "");
}

/* A glassine_merge_tell. */
static void tell(void *context, glassine_bundle *bundle, const glassine_merge_note *note) {
    (void)context;
    switch (note->met) {
    case GLASSINE_MET_PERSON:
        print_span("", name_of(bundle, note->person), ": ");
        printf("%d statements, %d new record%s\n", (int)note->slips, (int)note->fresh,
               note->fresh == 1 ? "" : "s");
        break;
    case GLASSINE_MET_CHANGED:
        print_field(bundle, note);
        printf(": ");
        print_value(bundle, note->was, 0);
        printf(" -> ");
        print_value(bundle, note->is, 0);
        printf("\n");
        break;
    case GLASSINE_MET_CONTESTED:
        print_field(bundle, note);
        printf(" is contested: ");
        for (size_t i = 0; i < note->is->saying_count; i++) {
            printf("%s", i ? ", " : "");
            print_value(bundle, note->is, i);
            print_span(" (", name_of(bundle, note->is->sayings[i].by), ")");
        }
        printf("\n");
        break;
    case GLASSINE_MET_STANDING:
        print_span("", glassine_record_label(bundle, note->record), ": ");
        printf("%s -> %s\n", note->before ? note->before : "(not here)", note->text);
        break;
    default: /* and more: see glassine_met */
        break;
    }
}

int main(int argc, char **argv) {
    if (argc < 3) {
        fprintf(stderr, "usage: preview_merge FILE SOURCE...\n");
        return GLASSINE_REFUSED;
    }
    glassine_error error;
    glassine_bundle *bundle = NULL;
    glassine_draft *draft = NULL;
    const glassine_merge_options options = {.preview = true, .tell = tell};
    glassine_status status = glassine_bundle_open(argv[1], GLASSINE_WRITE, NULL, &bundle, &error);
    if (!status)
        status = glassine_draft_new(bundle, NULL, NULL, &draft, &error);
    if (!status)
        status =
            glassine_merge(draft, (const char *const *)argv + 2, (size_t)argc - 2, &options, NULL, &error);
    if (status) {
        char line[2048];
        glassine_error_line(&error, line, sizeof line);
        fprintf(stderr, "preview_merge: %s\n", line);
    }
    glassine_draft_free(draft);
    glassine_bundle_close(bundle);
    return (int)status;
}
