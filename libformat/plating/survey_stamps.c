/* Stamps, and what the item imposes on them: selvedge, letters, plate number, the other stamps of a multiple.
 */
#include <stdlib.h>

#include "base/error.h"
#include "plating/counting.h"
#include "plating/survey.h"

#define MULTIPLE_MOST 1000000 /* rows or columns: more is no place in a multiple */

static bool is_aside(const gl_survey *survey, uint32_t subject) {
    glassine_record *record = gl_bundle_record_on(survey->bundle, subject);
    return record && glassine_record_set_aside(survey->bundle, record);
}

static gl_survey_stamp *stamp_of(gl_survey *survey, glassine_record *record, uint32_t *number) {
    uint32_t *on = &survey->stamp_on[gl_survey_subject(survey, record)];
    if (!*on) {
        gl_survey_stamp *stamp = GL_SURVEY_ADD(survey, stamps, stamp_count);
        if (!stamp)
            return NULL;
        *stamp = (gl_survey_stamp){
            .record = record, .design = GL_NONE, .item_subject = GL_NONE, .next_on = GL_NONE};
        *on = survey->stamp_count;
    }
    *number = *on - 1;
    return &survey->stamps[*number];
}

/* Of joined records the first one that says something is believed; the audit shows where they differ. */
static glassine_status visit_stamp(gl_survey *survey, glassine_record *record, glassine_error *error) {
    gl_span item = gl_survey_ref(survey, record, "item");
    uint32_t on = item.text ? gl_store_record_find(survey->bundle->store, item) : GL_NONE;
    if (is_aside(survey, on))
        return GLASSINE_OK;
    uint32_t number;
    gl_survey_stamp *stamp = stamp_of(survey, record, &number);
    gl_survey_entry *entry = stamp ? GL_SURVEY_ADD(survey, entries, entry_count) : NULL;
    if (!entry)
        return gl_fail_memory(error);
    *entry = (gl_survey_entry){record, number};
    gl_span design = gl_survey_ref(survey, record, "design");
    if (stamp->design == GL_NONE && design.text)
        stamp->design = gl_map_find(survey->design_of, design);
    int64_t row, column;
    bool placed = gl_survey_integer(survey, record, "row", &row) &&
                  gl_survey_integer(survey, record, "column", &column);
    if (!stamp->item.text) {
        stamp->item = item;
        stamp->item_subject = on;
    }
    if (placed && !stamp->row && gl_span_equal(stamp->item, item)) {
        stamp->row = row;
        stamp->column = column;
    }
    return GLASSINE_OK;
}

/* Backwards, so that each item's stamps are listed in their order. */
static bool list_by_item(gl_survey *survey) {
    for (uint32_t i = survey->stamp_count; i-- > 0;) {
        gl_survey_stamp *stamp = &survey->stamps[i];
        if (!stamp->item.text)
            continue;
        if (stamp->item_subject != GL_NONE) {
            uint32_t *first = &survey->first_on[stamp->item_subject];
            stamp->next_on = *first ? *first - 1 : GL_NONE;
            *first = i + 1;
            continue;
        }
        stamp->next_on = gl_map_find(survey->first_absent, stamp->item);
        if (!gl_map_set(survey->first_absent, stamp->item, i))
            return false;
    }
    return true;
}

glassine_status gl_survey_stamps(gl_survey *survey, glassine_error *error) {
    glassine_status status = gl_survey_each(survey, "stamp", visit_stamp, error);
    return !status && !list_by_item(survey) ? gl_fail_memory(error) : status;
}

/* ---- facts ---- */

gl_statement *gl_survey_say(gl_survey *survey, uint32_t stamp, gl_source_kind kind, glassine_record *record) {
    gl_statement *statement = GL_SURVEY_ADD(survey, statements, statement_count);
    if (!statement || !gl_survey_grow((void **)&survey->sources, &survey->room.sources,
                                      survey->statement_count, sizeof *survey->sources))
        return NULL;
    survey->sources[survey->statement_count - 1] = (gl_source){kind, record};
    *statement = (gl_statement){.stamp = stamp, .contributor = GL_NONE, .ground = GL_NONE};
    return statement;
}

/* What the item shows; the parts that a fact does not speak of are absent. */
typedef struct fact {
    gl_survey *survey;
    unsigned sides;  /* selvedge */
    gl_span letters; /* corner letters */
    gl_span number;  /* plate number */
} fact;

/* Fills the set with what it leaves of a plate; false: the plate is ruled out. */
typedef bool (*impose)(const fact *of, const gl_survey_plate *plate, gl_posset *set);

static bool impose_selvedge(const fact *of, const gl_survey_plate *plate, gl_posset *set) {
    gl_imposed_selvedge(plate->plan, of->sides, set);
    return true;
}

static bool impose_letters(const fact *of, const gl_survey_plate *plate, gl_posset *set) {
    if (!gl_imposed_letters(plate->plan, of->letters, set))
        gl_posset_fill(set);
    return true;
}

static bool impose_number(const fact *of, const gl_survey_plate *plate, gl_posset *set) {
    gl_posset_fill(set);
    return gl_imposed_plate_number(glassine_record_label(of->survey->bundle, plate->record), of->number);
}

static bool arena_set(gl_arena *arena, gl_posset *set, uint32_t size) {
    size_t words = ((size_t)size + 63) / 64;
    set->size = size;
    set->words = GL_ARENA_ARRAY(arena, uint64_t, words + 1);
    if (set->words)
        gl_posset_clear(set);
    return set->words != NULL;
}

static bool work_out(const fact *of, const gl_survey_design *design, impose how, gl_survey_allowed *allowed) {
    gl_survey *survey = of->survey;
    gl_allowance *list = GL_ARENA_ARRAY(survey->arena, gl_allowance, (size_t)design->count + 1);
    gl_posset *sets = GL_ARENA_ARRAY(survey->arena, gl_posset, (size_t)design->count + 1);
    if (!list || !sets)
        return false;
    *allowed = (gl_survey_allowed){.list = list};
    for (uint32_t i = 0; i < design->count; i++) {
        const gl_survey_plate *plate = &survey->plates[design->plates[i]];
        if (!arena_set(survey->arena, &sets[i], plate->plan->count))
            return false;
        if (how(of, plate, &sets[i]))
            list[allowed->count++] = (gl_allowance){design->plates[i], &sets[i], GL_STATES_ALL};
    }
    return true;
}

/* Stamps of one design that show the same share what it leaves. */
static glassine_status add_fact(const fact *of, uint32_t stamp, gl_source_kind kind, glassine_record *record,
                                impose how, glassine_error *error) {
    gl_survey *survey = of->survey;
    gl_survey_allowed allowed;
    gl_buf key = GL_BUF_EMPTY;
    gl_buf_printf(&key, "fact %d %u %u %.*s/%.*s", (int)kind, survey->stamps[stamp].design, of->sides,
                  GL_SPAN_ARGS(of->letters), GL_SPAN_ARGS(of->number));
    const gl_survey_allowed *known = key.failed ? NULL : gl_survey_recall(survey, gl_buf_span(&key));
    bool room = !key.failed;
    if (known)
        allowed = *known;
    else
        room = room && work_out(of, gl_survey_plates_of(survey, stamp), how, &allowed) &&
               gl_survey_keep(survey, gl_buf_span(&key), allowed);
    gl_buf_free(&key);
    gl_statement *statement = room ? gl_survey_say(survey, stamp, kind, record) : NULL;
    if (!statement)
        return gl_fail_memory(error);
    statement->allowed = allowed.list;
    statement->allowed_count = allowed.count;
    return GLASSINE_OK;
}

static unsigned sides_said(gl_survey *survey, glassine_record *record, const char *field) {
    static const char *const names[] = {"left", "right", "top", "bottom"};
    glassine_value list = gl_survey_get(survey, record, field), item;
    unsigned sides = 0;
    size_t at = 0;
    if (!list.text || gl_json_kind_of(list) != GL_JSON_ARRAY)
        return 0;
    while (glassine_value_next(list, &at, NULL, &item))
        for (unsigned i = 0; i < 4; i++)
            sides |= gl_span_is(gl_json_raw(item), names[i]) ? 1u << i : 0;
    return sides;
}

static bool any_lettered(const gl_survey *survey, const gl_survey_design *design) {
    for (uint32_t i = 0; i < design->count; i++)
        if (gl_plan_place(survey->plates[design->plates[i]].plan, 0).letters[0])
            return true;
    return false;
}

static bool two_letters(gl_span letters) {
    return letters.text && letters.length == 2 && !gl_span_is(letters, "??");
}

static glassine_status facts_of(gl_survey *survey, const gl_survey_entry *entry, glassine_error *error) {
    const gl_survey_design *design = gl_survey_plates_of(survey, entry->stamp);
    fact selvedge = {.survey = survey, .sides = sides_said(survey, entry->record, "selvedge")};
    fact letters = {.survey = survey, .letters = gl_survey_text(survey, entry->record, "letters")};
    fact number = {.survey = survey, .number = gl_survey_text(survey, entry->record, "plate_number")};
    glassine_status status = GLASSINE_OK;
    if (selvedge.sides)
        status = add_fact(&selvedge, entry->stamp, GL_SOURCE_SELVEDGE, entry->record, impose_selvedge, error);
    if (!status && two_letters(letters.letters) && any_lettered(survey, design))
        status = add_fact(&letters, entry->stamp, GL_SOURCE_LETTERS, entry->record, impose_letters, error);
    if (!status && number.number.length)
        status = add_fact(&number, entry->stamp, GL_SOURCE_PLATE_NUMBER, entry->record, impose_number, error);
    return status;
}

/* ---- marks in the margin that were seen and are known ---- */

/* Nobody else says that the mark is not there. */
static bool undenied(const gl_survey *survey, const gl_survey_observation *of, uint32_t first, uint32_t end) {
    for (uint32_t i = first; i < end; i++)
        if (survey->observations[i].mark == of->mark && survey->observations[i].seen.presence != GL_PRESENT)
            return false;
    return true;
}

static uint64_t states_of_mark(const gl_survey *survey, const gl_survey_mark *mark) {
    uint32_t count = survey->plates[mark->plate].state_count;
    uint64_t states = 0;
    if (count == 0 || (mark->first_state == 0 && mark->last_state >= count - 1))
        return GL_STATES_ALL;
    for (uint32_t i = mark->first_state; i < count && i <= mark->last_state; i++)
        states |= UINT64_C(1) << i;
    return states;
}

static glassine_status mark_fact(gl_survey *survey, const gl_survey_observation *of,
                                 const gl_survey_mark *mark, glassine_error *error) {
    const glassine_ranking ranking = glassine_ranking_default();
    const gl_survey_plate *plate = &survey->plates[mark->plate];
    gl_allowance *allowed = GL_ARENA_NEW(survey->arena, gl_allowance);
    gl_posset *set = GL_ARENA_NEW(survey->arena, gl_posset);
    gl_statement *statement =
        allowed && set ? gl_survey_say(survey, of->stamp, GL_SOURCE_MARK, of->record) : NULL;
    if (!statement || !arena_set(survey->arena, set, plate->plan->count))
        return gl_fail_memory(error);
    double sigma = mark->spread > ranking.spread_least ? mark->spread : ranking.spread_least;
    gl_imposed_mark(plate->plan, mark->positions, mark->spot, of->seen.spot, ranking.reach * sigma,
                    plate->pitch_x, plate->pitch_y, set);
    *allowed = (gl_allowance){mark->plate, set, states_of_mark(survey, mark)};
    statement->allowed = allowed;
    statement->allowed_count = 1;
    statement->says_state = allowed->states != GL_STATES_ALL;
    return GLASSINE_OK;
}

static glassine_status mark_facts(gl_survey *survey, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (uint32_t first = 0, end; first < survey->observation_count && !status; first = end) {
        for (end = first; end < survey->observation_count &&
                          survey->observations[end].stamp == survey->observations[first].stamp;
             end++)
            ;
        for (uint32_t i = first; i < end && !status; i++) {
            const gl_survey_observation *of = &survey->observations[i];
            const gl_survey_mark *mark = of->mark == GL_NONE ? NULL : &survey->marks[of->mark];
            if (mark && mark->positions && gl_spot_margins(mark->spot) && of->seen.presence == GL_PRESENT &&
                undenied(survey, of, first, end))
                status = mark_fact(survey, of, mark, error);
        }
    }
    return status;
}

glassine_status gl_survey_facts(gl_survey *survey, glassine_error *error) {
    glassine_status status = GLASSINE_OK;
    for (uint32_t i = 0; i < survey->entry_count && !status; i++)
        status = facts_of(survey, &survey->entries[i], error);
    return status ? status : mark_facts(survey, error);
}
