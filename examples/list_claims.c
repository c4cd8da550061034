/* list_claims FILE: opens a bundle and lists who claims which place on the plate for which stamp. */
#include <stdio.h>

#include <glassine.h>

static void list_claim(glassine_bundle *bundle, glassine_record *claim) {
    const glassine_type_info *type = glassine_record_info(bundle, claim);
    static const char *const formats[] = {"%.*s: ", "positions %.*s, ", "%.*s, "};
    static const char *const fields[] = {"stamp", "positions", "confidence"};
    for (size_t i = 0; i < 3; i++) {
        glassine_value value = glassine_record_get(bundle, claim, fields[i], NULL);
        glassine_span shown = glassine_value_shown(bundle, value, glassine_type_field(type, fields[i]));
        printf(formats[i], (int)shown.length, shown.text ? shown.text : "");
    }
    glassine_span author = glassine_record_author(bundle, claim);
    glassine_record *person = glassine_bundle_record(bundle, author, (glassine_span){NULL, 0});
    glassine_span name = person ? glassine_record_label(bundle, person) : author;
    printf("says %.*s\n", (int)name.length, name.text);
}

int main(int argc, char **argv) {
    if (argc != 2) {
        fprintf(stderr, "usage: list_claims FILE\n");
        return GLASSINE_REFUSED;
    }
    glassine_error error;
    glassine_bundle *bundle = NULL;
    glassine_cursor *cursor = NULL;
    glassine_status status = glassine_bundle_open(argv[1], GLASSINE_READ, NULL, &bundle, &error);
    if (!status)
        status = glassine_cursor_new(bundle, "claim", false, &cursor, &error);
    for (glassine_record *claim; !status && (claim = glassine_cursor_next(cursor));)
        list_claim(bundle, claim);
    if (status) {
        char line[2048];
        glassine_error_line(&error, line, sizeof line);
        fprintf(stderr, "list_claims: %s\n", line);
    }
    glassine_cursor_free(cursor);
    glassine_bundle_close(bundle);
    return (int)status;
}
