/* What claims and conclusions leave possible: expressions read once for each plate, and what is said alike
 * kept once. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/survey.h"

typedef struct read_expression {
    gl_posset set; /* no words: it names nothing on the plate */
    uint32_t state;
    const char *fault;
} read_expression;

struct gl_survey_cache {
    gl_map *expression_of; /* "PLATE TEXT" */
    read_expression *expressions;
    size_t expression_count, expression_room;
    gl_map *allowed_of;
    gl_survey_allowed *allowed;
    size_t allowed_count, allowed_room;
};

struct gl_survey_cache *gl_survey_cache_new(void) {
    struct gl_survey_cache *cache = calloc(1, sizeof *cache);
    if (!cache)
        return NULL;
    cache->expression_of = gl_map_new();
    cache->allowed_of = gl_map_new();
    if (cache->expression_of && cache->allowed_of)
        return cache;
    gl_survey_cache_free(cache);
    return NULL;
}

void gl_survey_cache_free(struct gl_survey_cache *cache) {
    if (!cache)
        return;
    for (size_t i = 0; i < cache->expression_count; i++)
        gl_posset_free(&cache->expressions[i].set);
    free(cache->expressions);
    free(cache->allowed);
    gl_map_free(cache->expression_of);
    gl_map_free(cache->allowed_of);
    free(cache);
}

const gl_survey_allowed *gl_survey_recall(const gl_survey *survey, gl_span key) {
    uint32_t number = gl_map_find(survey->cache->allowed_of, key);
    return number == GL_NONE ? NULL : &survey->cache->allowed[number];
}

bool gl_survey_keep(gl_survey *survey, gl_span key, gl_survey_allowed allowed) {
    struct gl_survey_cache *cache = survey->cache;
    gl_survey_allowed *moved =
        gl_grow(cache->allowed, &cache->allowed_room, cache->allowed_count + 1, sizeof *moved);
    gl_span kept = gl_arena_copy(survey->arena, key);
    if (moved)
        cache->allowed = moved;
    if (!moved || !kept.text || !gl_map_set(cache->allowed_of, kept, (uint32_t)cache->allowed_count))
        return false;
    cache->allowed[cache->allowed_count++] = allowed;
    return true;
}

/* ---- expressions ---- */

static glassine_status read_new(gl_survey *survey, uint32_t plate, gl_span text, read_expression *made,
                                glassine_error *error) {
    const gl_survey_plate *on = &survey->plates[plate];
    const gl_state_names states = {on->state_count ? on->state_names : NULL, on->state_count};
    gl_expression expression;
    glassine_error fault;
    glassine_status status = gl_expression_parse(on->plan, &states, text, &expression, NULL, &fault);
    if (status == GLASSINE_SYSTEM)
        return gl_fail_memory(error);
    *made = (read_expression){.set = expression.set, .state = expression.state};
    if (status == GLASSINE_OK)
        return status;
    char line[1024];
    *made = (read_expression){.state = GL_NONE};
    glassine_error_line(&fault, line, sizeof line);
    made->fault = gl_arena_copy(survey->arena, gl_span_of(line)).text;
    return made->fault ? GLASSINE_OK : gl_fail_memory(error);
}

static glassine_status keep_new(gl_survey *survey, gl_span key, uint32_t plate, gl_span text,
                                uint32_t *number, glassine_error *error) {
    struct gl_survey_cache *cache = survey->cache;
    read_expression *moved =
        gl_grow(cache->expressions, &cache->expression_room, cache->expression_count + 1, sizeof *moved);
    gl_span kept = gl_arena_copy(survey->arena, key);
    if (moved)
        cache->expressions = moved;
    if (!moved || !kept.text)
        return gl_fail_memory(error);
    *number = (uint32_t)cache->expression_count;
    glassine_status status = read_new(survey, plate, text, &cache->expressions[*number], error);
    if (status)
        return status;
    cache->expression_count++;
    return gl_map_set(cache->expression_of, kept, *number) ? GLASSINE_OK : gl_fail_memory(error);
}

glassine_status gl_survey_expression(gl_survey *survey, uint32_t plate, gl_span text, const gl_posset **set,
                                     uint32_t *state, const char **fault, glassine_error *error) {
    gl_buf key = GL_BUF_EMPTY;
    gl_buf_printf(&key, "%u %.*s", plate, GL_SPAN_ARGS(text));
    uint32_t number = key.failed ? GL_NONE : gl_map_find(survey->cache->expression_of, gl_buf_span(&key));
    glassine_status status = key.failed ? gl_fail_memory(error) : GLASSINE_OK;
    if (!status && number == GL_NONE)
        status = keep_new(survey, gl_buf_span(&key), plate, text, &number, error);
    gl_buf_free(&key);
    if (status)
        return status;
    const read_expression *read = &survey->cache->expressions[number];
    *set = read->set.words ? &read->set : NULL;
    *state = read->state;
    *fault = read->fault;
    return GLASSINE_OK;
}

/* ---- allowances ---- */

/* What is said, as text: absent where unsaid. */
typedef struct said {
    glassine_value plates; /* array of references */
    gl_span positions;
    gl_span state; /* id that stands for it */
} said;

/* The cache may move, the words of its sets do not: the set is copied, and they are shared. */
static glassine_status allow_on(gl_survey *survey, const said *what, uint32_t plate, gl_survey_allowed *out,
                                gl_allowance *list, glassine_error *error) {
    gl_allowance allowance = {plate, NULL, GL_STATES_ALL};
    const gl_posset *set = NULL;
    uint32_t initial = GL_NONE;
    if (what->positions.text) {
        const char *fault = NULL;
        glassine_status status =
            gl_survey_expression(survey, plate, what->positions, &set, &initial, &fault, error);
        if (status)
            return status;
        if (!set) {
            out->fault = out->fault ? out->fault : fault;
            return GLASSINE_OK;
        }
        gl_posset *copy = GL_ARENA_NEW(survey->arena, gl_posset);
        if (!copy)
            return gl_fail_memory(error);
        *copy = *set;
        allowance.positions = copy;
    }
    if (what->state.text) {
        const gl_survey_state *state = &survey->states[gl_map_find(survey->state_of, what->state)];
        if (state->plate != plate)
            return GLASSINE_OK;
        allowance.states = UINT64_C(1) << state->number;
    }
    if (initial != GL_NONE)
        allowance.states &= UINT64_C(1) << initial;
    out->says_state |= allowance.states != GL_STATES_ALL;
    list[out->count++] = allowance;
    return GLASSINE_OK;
}

/* The plates that are named, each once, else those of the design. */
static glassine_status plates_named(gl_survey *survey, const said *what, uint32_t stamp, uint32_t **plates,
                                    uint32_t *count, glassine_error *error) {
    const gl_survey_design *design = gl_survey_plates_of(survey, stamp);
    size_t most = what->plates.text ? gl_json_count(what->plates) : design->count;
    *count = 0;
    *plates = GL_ARENA_ARRAY(survey->arena, uint32_t, most + 1);
    if (!*plates)
        return gl_fail_memory(error);
    for (uint32_t i = 0; i < design->count && !what->plates.text; i++)
        (*plates)[(*count)++] = design->plates[i];
    glassine_value item;
    size_t at = 0;
    while (what->plates.text && glassine_value_next(what->plates, &at, NULL, &item)) {
        uint32_t plate = gl_map_find(survey->plate_of, gl_joins_of(survey->joins, gl_json_raw(item)));
        bool told = plate == GL_NONE;
        for (uint32_t i = 0; i < *count && !told; i++)
            told = (*plates)[i] == plate;
        if (!told)
            (*plates)[(*count)++] = plate;
    }
    return GLASSINE_OK;
}

static glassine_status work_out(gl_survey *survey, const said *what, uint32_t stamp,
                                gl_survey_allowed *allowed, glassine_error *error) {
    uint32_t *plates, count;
    *allowed = (gl_survey_allowed){0};
    glassine_status status = plates_named(survey, what, stamp, &plates, &count, error);
    gl_allowance *list = status ? NULL : GL_ARENA_ARRAY(survey->arena, gl_allowance, (size_t)count + 1);
    if (!status && !list)
        status = gl_fail_memory(error);
    bool lost = what->state.text && gl_map_find(survey->state_of, what->state) == GL_NONE;
    for (uint32_t i = 0; i < count && !status && !lost; i++)
        status = allow_on(survey, what, plates[i], allowed, list, error);
    allowed->list = list;
    if (allowed->count > 0)
        allowed->fault = NULL; /* it fits one plate at least */
    return status;
}

/* Claims that say the same of stamps of one design have one key. */
static void add_key(const said *what, uint32_t design, gl_buf *key) {
    const size_t head[] = {design, what->plates.length, what->state.length, what->positions.text != NULL};
    gl_buf_add_text(key, "said ");
    gl_buf_add_bytes(key, head, sizeof head);
    gl_buf_add(key, what->plates);
    gl_buf_add(key, what->state);
    gl_buf_add(key, what->positions);
}

glassine_status gl_survey_allow(gl_survey *survey, glassine_record *record, uint32_t stamp,
                                gl_survey_allowed *allowed, glassine_error *error) {
    said what = {.plates = gl_survey_get(survey, record, "plates"),
                 .positions = gl_survey_text(survey, record, "positions"),
                 .state = gl_survey_ref(survey, record, "state")};
    if (what.plates.text && gl_json_kind_of(what.plates) != GL_JSON_ARRAY)
        what.plates = GL_NO_SPAN;
    gl_buf key = GL_BUF_EMPTY;
    add_key(&what, survey->stamps[stamp].design, &key);
    const gl_survey_allowed *known = key.failed ? NULL : gl_survey_recall(survey, gl_buf_span(&key));
    glassine_status status = key.failed ? gl_fail_memory(error) : GLASSINE_OK;
    if (known) {
        *allowed = *known;
    } else if (!status) {
        status = work_out(survey, &what, stamp, allowed, error);
        if (!status && !gl_survey_keep(survey, gl_buf_span(&key), *allowed))
            status = gl_fail_memory(error);
    }
    gl_buf_free(&key);
    return status;
}
