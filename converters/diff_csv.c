/* What differs between two bundles, as a sheet: a row for each field. */
#include "cell.h"
#include "converters.h"
#include "csv_put.h"

typedef struct sheet {
    conv_output out;
    size_t rows;
} sheet;

static void put_field(conv_output *out, glassine_bundle *bundle, const glassine_field *field) {
    conv_output cell = {0};
    if (field != NULL) {
        cell_field(&cell, bundle, field);
    }
    csv_put_cell(out, conv_span(&cell), false);
    out->failed = out->failed != 0 ? out->failed : cell.failed;
    conv_free(&cell);
}

static void put_note(void *context, glassine_bundle *a, glassine_bundle *b, const glassine_diff_note *note) {
    sheet *it = context;
    glassine_bundle *bundle = note->b != NULL ? b : a;
    glassine_record *record = note->b != NULL ? note->b : note->a;
    const glassine_field *field = note->field_b != NULL ? note->field_b : note->field_a;
    glassine_span nothing = conv_span_of("");
    csv_put_text(&it->out, note->item != NULL ? glassine_record_label(bundle, note->item) : nothing, true);
    csv_put_text(&it->out, glassine_record_key(bundle, record), false);
    csv_put_text(&it->out, glassine_record_type(bundle, record), false);
    csv_put_text(&it->out, glassine_record_label(bundle, record), false);
    csv_put_text(&it->out,
                 conv_span_of(note->a == NULL   ? "second"
                              : note->b == NULL ? "first"
                                                : "both"),
                 false);
    csv_put_text(&it->out, field != NULL ? field->name : nothing, false);
    csv_put_text(&it->out, field != NULL ? conv_span_of(glassine_reach_name(field->reach)) : nothing, false);
    put_field(&it->out, a, note->field_a);
    put_field(&it->out, b, note->field_b);
    conv_add_char(&it->out, '\n');
    it->rows++;
}

glassine_status glassine_diff_csv(glassine_bundle *a, glassine_bundle *b,
                                  const glassine_diff_options *options, glassine_write write, void *context,
                                  size_t *rows, glassine_error *error) {
    sheet it = {.out = {.write = write, .context = context}};
    glassine_diff_options told = options != NULL ? *options : (glassine_diff_options){0};
    told.tell = put_note;
    told.context = &it;
    conv_add_text(&it.out, "item,record,type,label,in,field,reach,first,second\n");
    glassine_status status = glassine_diff(a, b, &told, NULL, error);
    int code = conv_finish(&it.out);
    conv_free(&it.out);
    *rows = it.rows;
    return status == GLASSINE_OK && code != 0
               ? conv_fail_system(error, code, NULL, "the sheet cannot be written")
               : status;
}
