/* Claims, conclusions, and what rests on what. */
#include <stdlib.h>

#include "base/error.h"
#include "plating/counting.h"
#include "plating/survey.h"

static uint32_t stamp_said(gl_survey *survey, glassine_record *record) {
    gl_span stamp = gl_survey_ref(survey, record, "stamp");
    return stamp.text ? gl_survey_find_stamp(survey, stamp) : GL_NONE;
}

void gl_survey_note_basis(gl_survey *survey, glassine_record *record) {
    bool contested;
    survey->rests =
        survey->rests || glassine_record_get(survey->bundle, record, "basis", &contested).text || contested;
}

static glassine_status visit_claim(gl_survey *survey, glassine_record *record, glassine_error *error) {
    uint32_t stamp = stamp_said(survey, record);
    gl_survey_note_basis(survey, record);
    if (stamp == GL_NONE)
        return GLASSINE_OK;
    gl_survey_claim *claim = GL_SURVEY_ADD(survey, claims, claim_count);
    if (!claim)
        return gl_fail_memory(error);
    *claim = (gl_survey_claim){.record = record, .stamp = stamp, .instead_of = GL_NONE, .statement = GL_NONE};
    claim->author = gl_survey_person(survey, glassine_record_author(survey->bundle, record));
    claim->possible = gl_span_is(gl_survey_text(survey, record, "confidence"), "possible");
    claim->withdrawn = gl_survey_truth(survey, record, "withdrawn");
    return claim->author == GL_NONE ? gl_fail_memory(error) : GLASSINE_OK;
}

/* ---- which of them count ---- */

/* Claims by "claim/UUID AUTHOR": authored records of one id are several. */
static bool index_claims(gl_survey *survey, gl_map *by_key) {
    for (uint32_t i = 0; i < survey->claim_count; i++) {
        glassine_record *record = survey->claims[i].record;
        gl_buf key = GL_BUF_EMPTY;
        gl_buf_printf(&key, "%.*s %.*s", GL_SPAN_ARGS(glassine_record_id(survey->bundle, record)),
                      GL_SPAN_ARGS(glassine_record_author(survey->bundle, record)));
        gl_span kept = key.failed ? GL_NO_SPAN : gl_arena_copy(survey->arena, gl_buf_span(&key));
        gl_buf_free(&key);
        if (!kept.text || !gl_map_set(by_key, kept, i))
            return false;
    }
    return true;
}

/* The claim of the same author that this id means; GL_NONE. Few claims stand instead of another: *by_key is made for
 * the first that does. False when memory ran out. */
static bool find_replaced(gl_survey *survey, const gl_survey_claim *claim, gl_span id, gl_map **by_key,
                          uint32_t *replaced) {
    if (!*by_key && (!(*by_key = gl_map_new()) || !index_claims(survey, *by_key)))
        return false;
    gl_buf key = GL_BUF_EMPTY;
    gl_buf_printf(&key, "%.*s %.*s", GL_SPAN_ARGS(id),
                  GL_SPAN_ARGS(glassine_record_author(survey->bundle, claim->record)));
    bool done = !key.failed;
    *replaced = done ? gl_map_find(*by_key, gl_buf_span(&key)) : GL_NONE;
    gl_buf_free(&key);
    return done;
}

static glassine_status count_claims(gl_survey *survey, glassine_error *error) {
    gl_claim_status *status = calloc((size_t)survey->claim_count + 1, sizeof *status);
    bool *counts = calloc((size_t)survey->claim_count + 1, sizeof *counts);
    bool room = status && counts;
    gl_map *by_key = NULL;
    for (uint32_t i = 0; room && i < survey->claim_count; i++) {
        gl_survey_claim *claim = &survey->claims[i];
        glassine_value replaced = gl_survey_get(survey, claim->record, "instead_of");
        if (replaced.text && gl_json_kind_of(replaced) == GL_JSON_STRING)
            room = find_replaced(survey, claim, gl_json_raw(replaced), &by_key, &claim->instead_of);
        status[i] = (gl_claim_status){claim->author, claim->stamp, claim->withdrawn, claim->instead_of};
    }
    if (room)
        gl_claims_count(status, survey->claim_count, counts);
    for (uint32_t i = 0; room && i < survey->claim_count; i++)
        survey->claims[i].counts = counts[i];
    gl_map_free(by_key);
    free(status);
    free(counts);
    return room ? GLASSINE_OK : gl_fail_memory(error);
}

static void report_fault(const gl_survey *survey, const gl_survey_claim *claim, const char *fault) {
    if (fault && survey->report)
        glassine_report_finding(
            survey->report, GLASSINE_WARNING, NULL,
            glassine_record_label(survey->bundle, survey->stamps[claim->stamp].record).text, NULL,
            "the claim by %s does not count: %s", gl_survey_name(survey, claim->author), fault);
}

static glassine_status state_claim(gl_survey *survey, uint32_t number, glassine_error *error) {
    gl_survey_claim *claim = &survey->claims[number];
    gl_survey_allowed allowed;
    if (!claim->counts || claim->possible)
        return GLASSINE_OK;
    glassine_status status = gl_survey_allow(survey, claim->record, claim->stamp, &allowed, error);
    if (status)
        return status;
    report_fault(survey, claim, allowed.fault);
    gl_statement *statement = gl_survey_say(survey, claim->stamp, GL_SOURCE_CLAIM, claim->record);
    if (!statement)
        return gl_fail_memory(error);
    claim->statement = survey->statement_count - 1;
    statement->contributor = claim->author;
    statement->allowed = allowed.list;
    statement->allowed_count = allowed.count;
    statement->says_state = allowed.says_state;
    statement->blind = gl_survey_truth(survey, claim->record, "blind");
    return GLASSINE_OK;
}

static glassine_status visit_conclusion(gl_survey *survey, glassine_record *record, glassine_error *error) {
    uint32_t stamp = stamp_said(survey, record);
    gl_survey_allowed allowed;
    gl_survey_note_basis(survey, record);
    if (stamp == GL_NONE)
        return GLASSINE_OK;
    glassine_status status = gl_survey_allow(survey, record, stamp, &allowed, error);
    if (status)
        return status;
    gl_survey_conclusion *conclusion = GL_SURVEY_ADD(survey, conclusions, conclusion_count);
    uint32_t author = gl_survey_person(survey, glassine_record_author(survey->bundle, record));
    if (!conclusion || author == GL_NONE)
        return gl_fail_memory(error);
    *conclusion = (gl_survey_conclusion){record, stamp, author, allowed.list, allowed.count};
    return GLASSINE_OK;
}

glassine_status gl_survey_claims(gl_survey *survey, glassine_error *error) {
    glassine_status status = gl_survey_each(survey, "claim", visit_claim, error);
    if (!status)
        status = count_claims(survey, error);
    for (uint32_t i = 0; i < survey->claim_count && !status; i++)
        status = state_claim(survey, i, error);
    return status ? status : gl_survey_each(survey, "conclusion", visit_conclusion, error);
}

/* ---- grounds: every claim, match and conclusion is a node ---- */

typedef struct digging {
    gl_survey *survey;
    glassine_record **records; /* by node */
    uint32_t *same;            /* the next node of the same id; GL_NONE */
    gl_map *node_of;           /* id -> its first node */
    uint32_t count;
    size_t record_room, same_room, edge_room, edge_count;
    uint32_t *edges;
} digging;

static bool add_node(digging *d, glassine_record *record) {
    gl_span id = glassine_record_id(d->survey->bundle, record);
    if (!gl_survey_grow((void **)&d->records, &d->record_room, d->count, sizeof *d->records) ||
        !gl_survey_grow((void **)&d->same, &d->same_room, d->count, sizeof *d->same))
        return false;
    d->records[d->count] = record;
    d->same[d->count] = gl_map_find(d->node_of, id);
    return gl_map_set(d->node_of, id, d->count++);
}

static glassine_status add_nodes(digging *d, const char *type, glassine_error *error) {
    gl_survey_walk walk;
    glassine_status status = gl_survey_walk_begin(d->survey, type, &walk, error);
    if (status)
        return status;
    glassine_record *record;
    bool room = true;
    while (room && (record = gl_survey_walk_next(&walk)) != NULL)
        room = add_node(d, record);
    gl_survey_walk_end(&walk);
    return room ? GLASSINE_OK : gl_fail_memory(error);
}

static bool add_edge(digging *d, uint32_t to) {
    uint32_t *moved = gl_grow(d->edges, &d->edge_room, d->edge_count + 1, sizeof *moved);
    if (!moved)
        return false;
    d->edges = moved;
    d->edges[d->edge_count++] = to;
    return true;
}

static bool add_edges(digging *d, uint32_t node) {
    glassine_value basis = gl_survey_get(d->survey, d->records[node], "basis"), item;
    size_t at = 0;
    if (!basis.text || gl_json_kind_of(basis) != GL_JSON_ARRAY)
        return true;
    while (glassine_value_next(basis, &at, NULL, &item))
        for (uint32_t to = gl_map_find(d->node_of, gl_json_raw(item)); to != GL_NONE; to = d->same[to])
            if (!add_edge(d, to))
                return false;
    return true;
}

static bool lay_grounds(digging *d) {
    gl_survey *survey = d->survey;
    survey->ground_first = GL_ARENA_ARRAY(survey->arena, uint32_t, (size_t)d->count + 1);
    survey->ground_statement = GL_ARENA_ARRAY(survey->arena, uint32_t, (size_t)d->count + 1);
    if (!survey->ground_first || !survey->ground_statement)
        return false;
    for (uint32_t node = 0; node < d->count; node++) {
        survey->ground_first[node] = (uint32_t)d->edge_count;
        survey->ground_statement[node] = GL_NONE;
        if (!add_edges(d, node))
            return false;
    }
    survey->ground_first[d->count] = (uint32_t)d->edge_count;
    survey->ground_to = GL_ARENA_ARRAY(survey->arena, uint32_t, d->edge_count + 1);
    if (!survey->ground_to)
        return false;
    if (d->edge_count)
        memcpy(survey->ground_to, d->edges, d->edge_count * sizeof *d->edges);
    survey->ground_count = d->count;
    return true;
}

/* Claims are walked in the same order as nodes were made of them, so that the two meet. */
static void point_statements(digging *d) {
    gl_survey *survey = d->survey;
    for (uint32_t node = 0, claim = 0; node < d->count && claim < survey->claim_count; node++) {
        if (d->records[node] != survey->claims[claim].record)
            continue;
        uint32_t statement = survey->claims[claim++].statement;
        survey->ground_statement[node] = statement;
        if (statement != GL_NONE)
            survey->statements[statement].ground = node;
    }
}

/* Where nothing rests on anything there are no grounds. */
glassine_status gl_survey_grounds(gl_survey *survey, glassine_error *error) {
    if (!survey->rests)
        return GLASSINE_OK;
    digging d = {.survey = survey, .node_of = gl_map_new()};
    glassine_status status = d.node_of ? add_nodes(&d, "claim", error) : gl_fail_memory(error);
    if (!status)
        status = add_nodes(&d, "match", error);
    if (!status)
        status = add_nodes(&d, "conclusion", error);
    if (!status && !lay_grounds(&d))
        status = gl_fail_memory(error);
    if (!status)
        point_statements(&d);
    gl_map_free(d.node_of);
    free(d.records);
    free(d.same);
    free(d.edges);
    return status;
}
