/* Plates, their states, and the plates of each design. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/survey.h"

static uint32_t design_number(gl_survey *survey, gl_span id) {
    uint32_t number = gl_map_find(survey->design_of, id);
    if (number != GL_NONE)
        return number;
    gl_survey_design *design = GL_SURVEY_ADD(survey, designs, design_count);
    if (!design)
        return GL_NONE;
    *design = (gl_survey_design){.id = id};
    number = survey->design_count - 1;
    return gl_map_set(survey->design_of, id, number) ? number : GL_NONE;
}

static glassine_status visit_design(gl_survey *survey, glassine_record *record, glassine_error *error) {
    return design_number(survey, gl_survey_id(survey, record)) == GL_NONE ? gl_fail_memory(error)
                                                                          : GLASSINE_OK;
}

static bool add_to(gl_survey_design *design, uint32_t plate) {
    uint32_t *moved = gl_grow(design->plates, &design->room, (size_t)design->count + 1, sizeof *moved);
    if (!moved)
        return false;
    design->plates = moved;
    design->plates[design->count++] = plate;
    return true;
}

/* Pitch in thousandths of the design's width or height. */
static double pitch(gl_survey *survey, glassine_record *plate, const char *field, gl_span design,
                    const char *size) {
    int64_t um, whole;
    glassine_record *of = design.text ? glassine_bundle_record(survey->bundle, design, GL_NO_SPAN) : NULL;
    if (!of || !gl_survey_integer(survey, plate, field, &um) ||
        !gl_survey_integer(survey, of, size, &whole) || um <= 0 || whole <= 0)
        return 0;
    return 1000.0 * (double)um / (double)whole;
}

static void report_plate(const gl_survey *survey, glassine_record *plate, const glassine_error *error) {
    if (survey->report)
        glassine_report_finding(survey->report, GLASSINE_WARNING, error->rule,
                                glassine_record_label(survey->bundle, plate).text,
                                error->remedy[0] ? error->remedy : NULL,
                                "nothing is worked out for this plate: %s", error->message);
}

/* A plate whose layout is contested, or is none, takes no part. */
static glassine_status visit_plate(gl_survey *survey, glassine_record *record, glassine_error *error) {
    gl_span id = glassine_record_id(survey->bundle, record), design = gl_survey_ref(survey, record, "design");
    gl_plan *plan;
    glassine_error fault;
    if (!gl_span_equal(id, gl_survey_id(survey, record)))
        return GLASSINE_OK; /* another record stands for it */
    glassine_status status = gl_plan_of_plate(survey->bundle, record, &plan, &fault);
    if (status == GLASSINE_SYSTEM)
        return gl_fail_memory(error);
    if (status) {
        report_plate(survey, record, &fault);
        return GLASSINE_OK;
    }
    gl_survey_plate *plate = GL_SURVEY_ADD(survey, plates, plate_count);
    if (!plate) {
        gl_plan_free(plan);
        return gl_fail_memory(error);
    }
    uint32_t number = survey->plate_count - 1, of = design.text ? design_number(survey, design) : GL_NONE;
    *plate = (gl_survey_plate){.record = record, .plan = plan, .design = of};
    plate->pitch_x = pitch(survey, record, "pitch_x_um", design, "width_um");
    plate->pitch_y = pitch(survey, record, "pitch_y_um", design, "height_um");
    bool room = gl_map_set(survey->plate_of, id, number) && add_to(&survey->all, number) &&
                (of == GL_NONE || add_to(&survey->designs[of], number));
    return room ? GLASSINE_OK : gl_fail_memory(error);
}

glassine_status gl_survey_no_plate(const gl_survey *survey, glassine_record *plate, glassine_error *error) {
    gl_plan *plan;
    glassine_status status = gl_plan_of_plate(survey->bundle, plate, &plan, error);
    gl_plan_free(plan);
    gl_span label = glassine_record_label(survey->bundle, plate);
    return status ? status
                  : gl_fail(error, GLASSINE_REFUSED, NULL, label.text,
                            "the plate is set aside, so nothing is worked out for it");
}

/* ---- states ---- */

typedef struct ordered_state {
    uint32_t plate;
    int64_t order;
    gl_span id;
    glassine_record *record;
} ordered_state;

typedef struct state_list {
    ordered_state *list;
    size_t count, room;
} state_list;

static int state_order(const void *left, const void *right) {
    const ordered_state *a = left, *b = right;
    if (a->plate != b->plate)
        return a->plate < b->plate ? -1 : 1;
    if (a->order != b->order)
        return a->order < b->order ? -1 : 1;
    return gl_span_compare(a->id, b->id);
}

static glassine_status gather_states(gl_survey *survey, state_list *states, glassine_error *error) {
    gl_survey_walk walk;
    glassine_status status = gl_survey_walk_begin(survey, "plate_state", &walk, error);
    if (status)
        return status;
    glassine_record *record;
    while (!status && (record = gl_survey_walk_next(&walk)) != NULL) {
        ordered_state state = {.id = glassine_record_id(survey->bundle, record), .record = record};
        gl_span plate = gl_survey_ref(survey, record, "plate");
        state.plate = plate.text ? gl_map_find(survey->plate_of, plate) : GL_NONE;
        gl_survey_integer(survey, record, "order", &state.order);
        if (state.plate == GL_NONE || !gl_span_equal(state.id, gl_survey_id(survey, record)))
            continue;
        ordered_state *moved = gl_grow(states->list, &states->room, states->count + 1, sizeof *moved);
        if (!moved) {
            status = gl_fail_memory(error);
            break;
        }
        states->list = moved;
        states->list[states->count++] = state;
    }
    gl_survey_walk_end(&walk);
    return status;
}

static bool add_state(gl_survey *survey, const ordered_state *from, uint32_t number) {
    gl_survey_plate *plate = &survey->plates[from->plate];
    gl_survey_state *state = GL_SURVEY_ADD(survey, states, state_count);
    if (!state)
        return false;
    *state = (gl_survey_state){from->plate, number};
    plate->states[number] = from->record;
    plate->state_names[number] = glassine_record_text(survey->bundle, from->record, "name");
    if (!plate->state_names[number].text)
        plate->state_names[number] = GL_SPAN("");
    plate->state_count++;
    return gl_map_set(survey->state_of, from->id, survey->state_count - 1);
}

static bool add_states(gl_survey *survey, const state_list *states) {
    for (size_t i = 0; i < states->count;) {
        uint32_t number = states->list[i].plate;
        gl_survey_plate *plate = &survey->plates[number];
        plate->states = GL_ARENA_ARRAY(survey->arena, glassine_record *, GL_STATES_MOST);
        plate->state_names = GL_ARENA_ARRAY(survey->arena, gl_span, GL_STATES_MOST);
        if (!plate->states || !plate->state_names)
            return false;
        for (; i < states->count && states->list[i].plate == number; i++) {
            if (plate->state_count == GL_STATES_MOST && survey->report)
                glassine_report_finding(survey->report, GLASSINE_WARNING, "R222",
                                        glassine_record_label(survey->bundle, plate->record).text, NULL,
                                        "only the first %u states of the plate are taken into account",
                                        GL_STATES_MOST);
            if (plate->state_count < GL_STATES_MOST &&
                !add_state(survey, &states->list[i], plate->state_count))
                return false;
        }
    }
    return true;
}

glassine_status gl_survey_plates(gl_survey *survey, glassine_error *error) {
    state_list states = {0};
    glassine_status status = gl_survey_each(survey, "design", visit_design, error);
    if (!status)
        status = gl_survey_each(survey, "plate", visit_plate, error);
    if (!status)
        status = gather_states(survey, &states, error);
    if (!status && states.count)
        qsort(states.list, states.count, sizeof *states.list, state_order);
    if (!status && !add_states(survey, &states))
        status = gl_fail_memory(error);
    free(states.list);
    return status;
}

const gl_survey_design *gl_survey_plates_of(const gl_survey *survey, uint32_t stamp) {
    uint32_t design = survey->stamps[stamp].design;
    return design == GL_NONE ? &survey->all : &survey->designs[design];
}
