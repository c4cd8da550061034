/* Taking values over as they stand: somebody's among those of a contested field, or those that a record had
 * before. */
#include "base/error.h"
#include "exchange/compare.h"
#include "exchange/draft.h"

/* What one slip of each reach will set and clear; fields come sorted by name. */
typedef struct gathering {
    gl_buf set[GLASSINE_REACHES], clear[GLASSINE_REACHES];
    size_t count;
} gathering;

static void gather(gathering *it, const glassine_field *field, glassine_value value) {
    gl_buf *to = value.text ? &it->set[field->reach] : &it->clear[field->reach];
    gl_buf_add_char(to, to->length ? ',' : value.text ? '{' : '[');
    gl_json_add_string(to, field->name);
    if (value.text) {
        gl_buf_add_char(to, ':');
        gl_buf_add(to, value);
    }
    it->count++;
}

static glassine_status say_gathered(glassine_draft *draft, glassine_record *record, gathering *it,
                                    const char *why, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (int reach = 0; reach < GLASSINE_REACHES; reach++) {
        gl_buf *set = &it->set[reach], *clear = &it->clear[reach];
        bool any = set->length || clear->length;
        gl_buf_add_text(set, set->length ? "}" : "{}");
        if (clear->length)
            gl_buf_add_char(clear, ']');
        if (!status && (set->failed || clear->failed))
            status = gl_fail_memory(error);
        if (!status && any)
            status =
                gl_draft_slip(draft, gl_record_id(draft->bundle, record), (glassine_reach)reach,
                              gl_buf_span(set), clear->length ? gl_buf_span(clear) : GL_NO_SPAN, why, error);
        gl_buf_free(set);
        gl_buf_free(clear);
    }
    return status ? status : gl_bundle_index(draft->bundle, error);
}

/* An authored record speaks for its author alone. */
static glassine_status may_speak(const glassine_draft *draft, glassine_record *record,
                                 glassine_error *error) {
    gl_span author = glassine_record_author(draft->bundle, record);
    if (!author.text || gl_span_is(author, draft->by))
        return GLASSINE_OK;
    gl_fail(error, GLASSINE_REFUSED, "R048", NULL,
            "it speaks for its author alone, and you are not its author");
    gl_error_remedy(error, "Make a statement of your own beside it");
    return GLASSINE_REFUSED;
}

/* The one value that `who` gives a field; false where that person gives none, or several. */
static bool value_of(const glassine_field *field, gl_span who, glassine_value *value) {
    const glassine_saying *found = NULL;
    for (size_t i = 0; i < field->saying_count; i++) {
        const glassine_saying *said = &field->sayings[i];
        if (!gl_span_equal(said->by, who))
            continue;
        if (found && ((found->value.text == NULL) != (said->value.text == NULL) ||
                      !gl_span_equal(found->value, said->value)))
            return false;
        found = said;
    }
    *value = found ? found->value : GL_NO_SPAN;
    return found != NULL;
}

static bool is_named(const glassine_field *field, const char *const *names, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (gl_span_is(field->name, names[i]))
            return true;
    return count == 0;
}

glassine_status glassine_draft_settle_by(glassine_draft *draft, glassine_record *record, const char *who,
                                         const char *const *names, size_t count, const char *why,
                                         size_t *settled, glassine_error *error) {
    const glassine_field *fields;
    size_t field_count;
    gathering it = {.count = 0};
    *settled = 0;
    glassine_status status = may_speak(draft, record, error);
    if (!status)
        status = glassine_record_fields(draft->bundle, record, &fields, &field_count, error);
    for (size_t i = 0; !status && i < field_count; i++) {
        glassine_value value;
        if (fields[i].contested && is_named(&fields[i], names, count) &&
            value_of(&fields[i], gl_span_of(who), &value))
            gather(&it, &fields[i], value);
    }
    if (status || !it.count)
        return status;
    status = say_gathered(draft, record, &it, why, error);
    *settled = status ? 0 : it.count;
    return status;
}

/* Does it say nothing: unsaid, or taken away by everybody who speaks of it? */
static bool is_unsaid(const glassine_field *field) {
    return !field || (!field->contested && !field->sayings[0].value.text);
}

/* What the field was then, where it is another now. One that was contested then is left as it is. */
static void gather_earlier(gathering *it, const glassine_field *now, const glassine_field *then,
                           size_t *left) {
    if (gl_same_values(now, then) || (is_unsaid(now) && is_unsaid(then)))
        return;
    if (then && then->contested)
        ++*left;
    else
        gather(it, now ? now : then, then ? then->sayings[0].value : GL_NO_SPAN);
}

glassine_status glassine_draft_restore(glassine_draft *draft, glassine_record *record, glassine_bundle *then,
                                       const char *why, size_t *changed, size_t *left,
                                       glassine_error *error) {
    gl_pairs pairs;
    const glassine_field *is, *was;
    gathering it = {.count = 0};
    *changed = *left = 0;
    glassine_record *earlier = gl_same_record(draft->bundle, record, then);
    glassine_status status = may_speak(draft, record, error);
    if (!status && !earlier)
        status = gl_fail(error, GLASSINE_REFUSED, NULL, then->path, "the record was not there in edition %u",
                         then->edition);
    if (!status)
        status = gl_pairs_of(draft->bundle, record, then, earlier, &pairs, error);
    while (!status && gl_pairs_next(&pairs, &is, &was))
        gather_earlier(&it, is, was, left);
    if (status || !it.count)
        return status;
    status = say_gathered(draft, record, &it, why, error);
    *changed = status ? 0 : it.count;
    return status;
}
