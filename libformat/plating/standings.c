#include "plating/standings.h"

#include <stdlib.h>

#include "base/error.h"
#include "plating/scope.h"

/* ---- keeping what a run tells ---- */

/* Numbers out of somebody else's array into the arena; most stamps have none of most kinds. */
static bool copy_numbers(gl_arena *arena, const uint32_t **numbers, uint32_t count) {
    uint32_t *to = count ? GL_ARENA_ARRAY(arena, uint32_t, count) : NULL;
    if (to)
        memcpy(to, *numbers, count * sizeof *to);
    *numbers = to;
    return to || !count;
}

static bool copy_soles(gl_arena *arena, gl_standing *s) {
    gl_sole_place *to = s->sole_count ? GL_ARENA_ARRAY(arena, gl_sole_place, s->sole_count) : NULL;
    if (to)
        memcpy(to, s->sole, s->sole_count * sizeof *to);
    s->sole = to;
    return to || !s->sole_count;
}

static bool copy_sides(gl_arena *arena, gl_group *group) {
    gl_side *sides = GL_ARENA_ARRAY(arena, gl_side, group->side_count);
    bool room = sides != NULL;
    for (uint32_t i = 0; i < group->side_count && room; i++) {
        sides[i] = group->sides[i];
        room = copy_numbers(arena, &sides[i].statements, sides[i].count);
    }
    group->sides = sides;
    return room && copy_numbers(arena, &group->sources, group->source_count);
}

static bool copy_groups(gl_arena *arena, gl_standing *s) {
    gl_group *groups = s->group_count ? GL_ARENA_ARRAY(arena, gl_group, s->group_count) : NULL;
    bool room = groups || !s->group_count;
    for (uint32_t i = 0; i < s->group_count && room; i++) {
        groups[i] = s->groups[i];
        room = copy_sides(arena, &groups[i]);
    }
    s->groups = groups;
    return room;
}

static bool copy_set(gl_arena *arena, const gl_posset *from, gl_left *left) {
    gl_posset *set = GL_ARENA_NEW(arena, gl_posset);
    size_t words = ((size_t)from->size + 63) / 64;
    if (!set)
        return false;
    *set = (gl_posset){GL_ARENA_ARRAY(arena, uint64_t, words), from->size};
    if (!set->words)
        return false;
    gl_posset_assign(set, from);
    left->positions = set;
    return true;
}

static bool keep_plate(glassine_standings *kept, const gl_standing *s, uint32_t plate, gl_left *left) {
    uint32_t size = kept->survey.plates[plate].plan->count;
    gl_posset set;
    if (!gl_posset_init(&set, size))
        return false;
    gl_standing_positions(s, plate, &set);
    *left = (gl_left){plate, gl_posset_count(&set), NULL, gl_standing_states(s, plate)};
    bool room = left->count == 0 || left->count == size || copy_set(kept->survey.arena, &set, left);
    gl_posset_free(&set);
    return room;
}

static bool keep_left(glassine_standings *kept, const gl_standing *s, gl_kept_standing *to) {
    const gl_survey_design *design = gl_survey_plates_of(&kept->survey, s->stamp);
    if (s->place == GL_UNPLACED && s->state == GL_UNPLACED)
        return true;
    for (uint32_t i = 0; i < design->count; i++) {
        gl_left left;
        if (!keep_plate(kept, s, design->plates[i], &left))
            return false;
        if (left.count == 0 && left.states == 0)
            continue;
        gl_left *grown = gl_grow(kept->left, &kept->left_room, (size_t)to->left_count + 1, sizeof *grown);
        if (!grown)
            return false;
        kept->left = grown;
        kept->left[to->left_count++] = left;
    }
    to->left = to->left_count ? GL_ARENA_ARRAY(kept->survey.arena, gl_left, to->left_count) : NULL;
    if (to->left)
        memcpy(to->left, kept->left, to->left_count * sizeof *to->left);
    return to->left || !to->left_count;
}

static glassine_status keep(void *context, const gl_standing *s, glassine_error *error) {
    glassine_standings *kept = context;
    gl_kept_standing *to = &kept->all[s->stamp];
    gl_arena *arena = kept->survey.arena;
    bool tied = s->member > 0; /* to the stamp told before, and disputed as that is */
    to->s = *s;
    to->s.joint = NULL;
    if (tied)
        to->s.groups = kept->all[kept->kept].s.groups;
    bool room = (tied || copy_groups(arena, &to->s)) && keep_left(kept, s, to);
    kept->kept = s->stamp;
    room = room && copy_numbers(arena, &to->s.in_two_minds, s->in_two_minds_count) &&
           copy_soles(arena, &to->s) && copy_numbers(arena, &to->s.idle, s->idle_count);
    return room ? gl_survey_done(&kept->survey, error) : gl_fail_memory(error);
}

/* ---- conclusions of each stamp ---- */

static bool list_conclusions(glassine_standings *kept) {
    const gl_survey *survey = &kept->survey;
    size_t stamps = survey->stamp_count;
    uint32_t *first = kept->conclusion_first = GL_ARENA_ARRAY(survey->arena, uint32_t, stamps + 2);
    kept->conclusions = GL_ARENA_ARRAY(survey->arena, uint32_t, (size_t)survey->conclusion_count + 1);
    if (!first || !kept->conclusions)
        return false;
    memset(first, 0, (stamps + 2) * sizeof *first);
    for (uint32_t i = 0; i < survey->conclusion_count; i++)
        first[survey->conclusions[i].stamp + 2]++;
    for (size_t s = 2; s < stamps + 2; s++)
        first[s] += first[s - 1];
    for (uint32_t i = 0; i < survey->conclusion_count; i++)
        kept->conclusions[first[survey->conclusions[i].stamp + 1]++] = i;
    return true;
}

/* `best`: with the best claim of each stamp. */
static glassine_status make(glassine_bundle *bundle, const bool *marks, bool best, glassine_report *report,
                            gl_watch *watch, glassine_standings **out, glassine_error *error) {
    *out = NULL;
    glassine_standings *made = calloc(1, sizeof *made);
    if (!made)
        return gl_fail_memory(error);
    made->kept = GL_NONE;
    glassine_status status = gl_survey_make(bundle, marks, report, watch, &made->survey, error);
    if (!status) {
        made->all = calloc((size_t)made->survey.stamp_count + 1, sizeof *made->all);
        status = made->all && list_conclusions(made) ? GLASSINE_OK : gl_fail_memory(error);
    }
    if (!status) {
        gl_standing_question question = gl_survey_question(&made->survey);
        status = gl_standing_run(&question, keep, made, error);
    }
    if (!status && best && !gl_standings_best_claims(made))
        status = gl_fail_memory(error);
    status = gl_bundle_end(bundle, NULL, status, error);
    if (status) {
        glassine_standings_free(made);
        return status;
    }
    *out = made;
    return GLASSINE_OK;
}

glassine_status glassine_standings_new(glassine_bundle *bundle, glassine_report *report,
                                       glassine_standings **out, glassine_error *error) {
    return make(bundle, NULL, true, report, NULL, out, error);
}

glassine_status gl_standings_within(glassine_bundle *bundle, const bool *marks, gl_watch *watch,
                                    glassine_standings **out, glassine_error *error) {
    return make(bundle, marks, false, NULL, watch, out, error);
}

void glassine_standings_free(glassine_standings *standings) {
    if (!standings)
        return;
    gl_survey_free(&standings->survey);
    gl_buf_free(&standings->shown);
    free(standings->left);
    free(standings->all);
    free(standings);
}

/* ---- asking ---- */

size_t glassine_standings_count(const glassine_standings *standings) {
    return standings->survey.stamp_count;
}

size_t glassine_standings_find(const glassine_standings *standings, glassine_record *stamp) {
    uint32_t number = gl_survey_stamp_of(&standings->survey, stamp);
    return number == GL_NONE ? SIZE_MAX : number;
}

glassine_stamp_standing glassine_standings_at(const glassine_standings *standings, size_t index) {
    const gl_survey *survey = &standings->survey;
    const gl_standing *s = &standings->all[index].s;
    return (glassine_stamp_standing){
        .stamp = survey->stamps[index].record,
        .standing = gl_standing_name(s->place),
        .state = gl_standing_name(s->state),
        .count = s->candidates,
        .plate = s->plate == GL_NONE ? NULL : survey->plates[s->plate].record,
        .position = s->position,
        .plate_state =
            s->state_plate == GL_NONE ? NULL : survey->plates[s->state_plate].states[s->state_number],
        .claims = s->claims,
        .blind_claims = s->blind_claims,
        .voices = s->voices,
        .independent = s->independent,
        .blind_voices = s->blind_voices,
        .disputes = s->group_count,
        .conclusions = standings->conclusion_first[index + 1] - standings->conclusion_first[index]};
}

/* Everything is left of a stamp that nothing binds. */
static bool has_all(const glassine_standings *standings, uint32_t stamp) {
    const gl_standing *s = &standings->all[stamp].s;
    return s->place == GL_UNPLACED && s->state == GL_UNPLACED;
}

uint32_t gl_standings_plates(const glassine_standings *standings, uint32_t stamp) {
    return has_all(standings, stamp) ? gl_survey_plates_of(&standings->survey, stamp)->count
                                     : standings->all[stamp].left_count;
}

gl_left gl_standings_left(const glassine_standings *standings, uint32_t stamp, uint32_t number) {
    const gl_survey *survey = &standings->survey;
    if (!has_all(standings, stamp))
        return standings->all[stamp].left[number];
    uint32_t plate = gl_survey_plates_of(survey, stamp)->plates[number];
    return (gl_left){plate, survey->plates[plate].plan->count, NULL, GL_STATES_ALL};
}

static bool print_expression(glassine_standings *standings, size_t index, uint32_t number) {
    gl_kept_standing *kept = &standings->all[index];
    const gl_survey *survey = &standings->survey;
    gl_left left = kept->left[number];
    gl_buf text = GL_BUF_EMPTY;
    if (!kept->expressions) {
        kept->expressions = GL_ARENA_ARRAY(survey->arena, gl_span, kept->left_count);
        if (!kept->expressions)
            return false;
        memset(kept->expressions, 0, kept->left_count * sizeof *kept->expressions);
    }
    if (kept->expressions[number].text)
        return true;
    if (!left.count)
        gl_buf_add_text(&text, "");
    else if (!left.positions)
        gl_buf_add_text(&text, "any");
    else if (gl_expression_print(survey->plates[left.plate].plan, left.positions, &text, NULL))
        text.failed = true;
    if (!text.failed)
        kept->expressions[number] = gl_arena_copy(survey->arena, gl_buf_span(&text));
    gl_buf_free(&text);
    return kept->expressions[number].text != NULL;
}

bool glassine_standings_places(glassine_standings *standings, size_t index, size_t plate,
                               glassine_record **record, const char **expression, uint32_t *count) {
    if (plate >= gl_standings_plates(standings, (uint32_t)index))
        return false;
    gl_left left = gl_standings_left(standings, (uint32_t)index, (uint32_t)plate);
    *record = standings->survey.plates[left.plate].record;
    *count = left.count;
    *expression = "any";
    if (has_all(standings, (uint32_t)index))
        return true;
    bool printed = print_expression(standings, index, (uint32_t)plate);
    if (!printed)
        standings->survey.bundle->failed = true;
    *expression = printed ? standings->all[index].expressions[plate].text : NULL;
    return true;
}

const char *glassine_standings_shown(glassine_standings *standings, size_t index, uint32_t most) {
    gl_buf *out = &standings->shown;
    const gl_survey *survey = &standings->survey;
    gl_buf_clear(out);
    gl_buf_add_text(out, "");
    for (uint32_t i = 0; i < gl_standings_plates(standings, (uint32_t)index); i++) {
        gl_left left = gl_standings_left(standings, (uint32_t)index, i);
        if (left.count == 0)
            continue;
        gl_buf_add_text(out, out->length ? "; " : "");
        gl_tell_plate(survey, left.plate, out);
        gl_buf_add_text(out, ": ");
        if (left.positions && left.count == 1) /* a single one needs no counting */
            gl_plan_add_number(survey->plates[left.plate].plan, gl_posset_next(left.positions, 0), out);
        else if (left.positions)
            gl_expression_echo(survey->plates[left.plate].plan, left.positions, most, out);
        else
            gl_buf_printf(out, "any of %u positions", left.count);
    }
    return out->failed ? NULL : out->text;
}
