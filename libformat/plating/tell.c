/* Statements and ties in words, for reports. */
#include "plating/standings.h"

gl_span gl_tell_label(const gl_survey *survey, glassine_record *record) {
    gl_span label = record ? glassine_record_label(survey->bundle, record) : GL_NO_SPAN;
    return label.text ? label : GL_SPAN("something unknown");
}

void gl_tell_plate(const gl_survey *survey, uint32_t plate, gl_buf *out) {
    gl_buf_printf(out, "plate %.*s", GL_SPAN_ARGS(gl_tell_label(survey, survey->plates[plate].record)));
}

static void tell_states(const gl_survey_plate *plate, uint64_t states, gl_buf *out) {
    bool first = true;
    if (plate->state_count == 0 || states == GL_STATES_ALL)
        return;
    for (uint32_t i = 0; i < plate->state_count; i++) {
        if (!(states >> i & 1))
            continue;
        gl_buf_printf(out, "%s%.*s", first ? " (" : ", ", GL_SPAN_ARGS(plate->state_names[i]));
        first = false;
    }
    gl_buf_add_text(out, first ? "" : ")");
}

void gl_tell_allowed(const gl_survey *survey, const gl_allowance *allowed, uint32_t count, gl_buf *out) {
    if (!allowed)
        gl_buf_add_text(out, "any position");
    else if (count == 0)
        gl_buf_add_text(out, "no position of the plates that come in question");
    for (uint32_t i = 0; allowed && i < count; i++) {
        const gl_survey_plate *plate = &survey->plates[allowed[i].plate];
        gl_buf_add_text(out, i ? "; " : "");
        gl_tell_plate(survey, allowed[i].plate, out);
        gl_buf_add_text(out, ": ");
        if (!allowed[i].positions)
            gl_buf_add_text(out, "any position");
        else if (gl_posset_empty(allowed[i].positions))
            gl_buf_add_text(out, "no position");
        else if (gl_expression_print(plate->plan, allowed[i].positions, out, NULL))
            out->failed = true;
        tell_states(plate, allowed[i].states, out);
    }
}

static void tell_sides(const gl_survey *survey, glassine_record *stamp, gl_buf *out) {
    glassine_value list = glassine_record_get(survey->bundle, stamp, "selvedge", NULL), item;
    size_t at = 0, count = 0;
    gl_buf_add_text(out, "selvedge at the ");
    while (list.text && glassine_value_next(list, &at, NULL, &item))
        gl_buf_printf(out, "%s%.*s", count++ ? " and " : "", GL_SPAN_ARGS(gl_json_raw(item)));
}

static void tell_mark(const gl_survey *survey, glassine_record *observation, gl_buf *out) {
    gl_span mark = glassine_record_text(survey->bundle, observation, "mark");
    glassine_record *record = mark.text ? glassine_bundle_record(survey->bundle, mark, GL_NO_SPAN) : NULL;
    gl_buf_printf(out, "the margin mark %.*s that was seen", GL_SPAN_ARGS(gl_tell_label(survey, record)));
}

void gl_tell_statement(const gl_survey *survey, uint32_t number, uint32_t about, gl_buf *out) {
    const gl_statement *statement = &survey->statements[number];
    const gl_source *source = &survey->sources[number];
    if (statement->stamp != about)
        gl_buf_printf(out,
                      "%.*s: ", GL_SPAN_ARGS(gl_tell_label(survey, survey->stamps[statement->stamp].record)));
    switch (source->kind) {
    case GL_SOURCE_CLAIM:
        gl_buf_printf(out, "%s says ", gl_survey_name(survey, statement->contributor));
        gl_tell_allowed(survey, statement->allowed, statement->allowed_count, out);
        break;
    case GL_SOURCE_SELVEDGE:
        tell_sides(survey, source->record, out);
        break;
    case GL_SOURCE_LETTERS:
        gl_buf_printf(out, "corner letters %.*s",
                      GL_SPAN_ARGS(glassine_record_text(survey->bundle, source->record, "letters")));
        break;
    case GL_SOURCE_PLATE_NUMBER:
        gl_buf_printf(out, "plate number %.*s",
                      GL_SPAN_ARGS(glassine_record_text(survey->bundle, source->record, "plate_number")));
        break;
    case GL_SOURCE_MARK:
        tell_mark(survey, source->record, out);
        break;
    }
}

static const gl_tie *tie_of(const gl_survey *survey, uint32_t source) {
    for (uint32_t i = 0; i < survey->tie_count; i++)
        if (survey->ties[i].source == source)
            return &survey->ties[i];
    return NULL;
}

void gl_tell_tie(const gl_survey *survey, uint32_t source, gl_buf *out) {
    const gl_tie_source *from = &survey->tie_sources[source];
    const gl_tie *tie = tie_of(survey, source);
    if (!from->match) {
        glassine_record *item = glassine_bundle_record(survey->bundle, from->item, GL_NO_SPAN);
        gl_buf_printf(out, "the stamps of %.*s hang together", GL_SPAN_ARGS(gl_tell_label(survey, item)));
        return;
    }
    gl_span author = glassine_record_author(survey->bundle, from->match);
    glassine_record *person = glassine_bundle_record(survey->bundle, author, GL_NO_SPAN);
    gl_span one = gl_tell_label(survey, survey->stamps[tie->a].record);
    gl_span other = gl_tell_label(survey, survey->stamps[tie->b].record);
    gl_buf_printf(out, "%.*s says that ", GL_SPAN_ARGS(gl_tell_label(survey, person)));
    if (tie->down == 0 && tie->across == 0)
        gl_buf_printf(out, "%.*s and %.*s come from one position", GL_SPAN_ARGS(one), GL_SPAN_ARGS(other));
    else
        gl_buf_printf(out, "%.*s comes from %d down and %d across of %.*s", GL_SPAN_ARGS(other), tie->down,
                      tie->across, GL_SPAN_ARGS(one));
}
