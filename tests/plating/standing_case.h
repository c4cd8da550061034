/* A question of standings out of a JSON vector (testvectors/standing/README.md): what an adapter does with
 * records. */
#ifndef TEST_PLATING_STANDING_CASE_H
#define TEST_PLATING_STANDING_CASE_H

#include "plating/counting.h"
#include "plating/standing.h"
#include "vectors.h"

enum { PLATES = 8, STAMPS = 8, CLAIMS = 16, STATEMENTS = CLAIMS + 3 * STAMPS, NODES = 64 };

typedef struct standing_case {
    const json_t *test;
    gl_plan *plans[PLATES];
    gl_standing_plate plates[PLATES];
    uint32_t lists[STAMPS][PLATES];
    gl_plate_list plates_of[STAMPS];
    gl_allowance allowed[STATEMENTS][PLATES];
    gl_posset sets[STATEMENTS][PLATES];
    gl_statement statements[STATEMENTS];
    char names[STATEMENTS][40];
    gl_tie ties[32];
    const char *sources[32];
    uint32_t first[NODES + 1], to[NODES * 4], claim_of[NODES];
    const char *nodes[NODES];
    gl_standing_question question;
} standing_case;

static inline uint32_t index_by_id(const json_t *list, const char *id) {
    for (uint32_t i = 0; id && i < json_array_size(list); i++)
        if (strcmp(id, text_of(json_array_get(list, i), "id")) == 0)
            return i;
    return GL_NONE;
}

static inline uint32_t plate_index(const standing_case *c, const char *label) {
    for (uint32_t i = 0; i < c->question.plate_count; i++)
        if (strcmp(label, c->plans[i]->label) == 0)
            return i;
    fail_msg("plate %s", label);
    return 0;
}

static inline void load_plates(standing_case *c) {
    const json_t *plates = json_object_get(c->test, "plates"), *stamps = json_object_get(c->test, "stamps");
    c->question.plate_count = (uint32_t)json_array_size(plates);
    for (uint32_t i = 0; i < c->question.plate_count; i++) {
        const json_t *plate = json_array_get(plates, i);
        c->plans[i] = plan_from(plate);
        c->plates[i] =
            (gl_standing_plate){c->plans[i], (uint32_t)json_array_size(json_object_get(plate, "states"))};
    }
    c->question.stamp_count = (uint32_t)json_array_size(stamps);
    for (uint32_t s = 0; s < c->question.stamp_count; s++) {
        const json_t *design = json_object_get(json_array_get(stamps, s), "design");
        uint32_t count = design ? (uint32_t)json_array_size(design) : c->question.plate_count;
        for (uint32_t i = 0; i < count; i++)
            c->lists[s][i] = design ? plate_index(c, json_string_value(json_array_get(design, i))) : i;
        c->plates_of[s] = (gl_plate_list){c->lists[s], count};
    }
}

/* A new statement; the caller adds what it allows. */
static inline uint32_t add_statement(standing_case *c, uint32_t stamp, uint32_t contributor,
                                     const char *name) {
    uint32_t number = c->question.statement_count++;
    assert_true(number < STATEMENTS);
    c->statements[number] = (gl_statement){
        .stamp = stamp, .contributor = contributor, .allowed = c->allowed[number], .ground = GL_NONE};
    snprintf(c->names[number], sizeof c->names[number], "%s", name);
    return number;
}

static inline gl_posset *allow(standing_case *c, uint32_t statement, uint32_t plate, uint64_t states) {
    uint32_t i = c->statements[statement].allowed_count++;
    assert_true(gl_posset_init(&c->sets[statement][i], c->plans[plate]->count));
    c->allowed[statement][i] = (gl_allowance){plate, &c->sets[statement][i], states};
    return &c->sets[statement][i];
}

static inline unsigned sides_of(const json_t *list) {
    static const char *const names[] = {"left", "right", "top", "bottom"};
    unsigned sides = 0;
    for (unsigned i = 0; i < 4; i++)
        for (size_t j = 0; j < json_array_size(list); j++)
            sides |= strcmp(names[i], json_string_value(json_array_get(list, j))) == 0 ? 1u << i : 0;
    return sides;
}

static inline void load_facts(standing_case *c, uint32_t s) {
    const json_t *stamp = json_array_get(json_object_get(c->test, "stamps"), s);
    const json_t *selvedge = json_object_get(stamp, "selvedge");
    const char *letters = text_of(stamp, "letters"), *number = text_of(stamp, "plate_number");
    const gl_plate_list *list = &c->plates_of[s];
    char name[40];
    bool lettered = false;
    for (uint32_t i = 0; i < list->count; i++)
        lettered |= c->plans[list->plates[i]]->corner_letters;
    if (json_array_size(selvedge)) {
        snprintf(name, sizeof name, "%s selvedge", text_of(stamp, "id"));
        uint32_t statement = add_statement(c, s, GL_NONE, name);
        for (uint32_t i = 0; i < list->count; i++)
            gl_imposed_selvedge(c->plans[list->plates[i]], sides_of(selvedge),
                                allow(c, statement, list->plates[i], GL_STATES_ALL));
    }
    if (letters && lettered) {
        snprintf(name, sizeof name, "%s letters", text_of(stamp, "id"));
        uint32_t statement = add_statement(c, s, GL_NONE, name);
        for (uint32_t i = 0; i < list->count; i++) {
            gl_posset *set = allow(c, statement, list->plates[i], GL_STATES_ALL);
            if (!gl_imposed_letters(c->plans[list->plates[i]], gl_span_of(letters), set))
                gl_posset_fill(set);
        }
    }
    if (number) {
        snprintf(name, sizeof name, "%s plate_number", text_of(stamp, "id"));
        uint32_t statement = add_statement(c, s, GL_NONE, name);
        for (uint32_t i = 0; i < list->count; i++)
            if (gl_imposed_plate_number(gl_span_of(c->plans[list->plates[i]]->label), gl_span_of(number)))
                gl_posset_fill(allow(c, statement, list->plates[i], GL_STATES_ALL));
    }
}

static inline void allow_by_claim(standing_case *c, uint32_t statement, const json_t *claim, uint32_t plate) {
    const json_t *state = json_object_get(claim, "state");
    const char *positions = text_of(claim, "positions");
    uint64_t states = GL_STATES_ALL;
    gl_expression expression;
    if (state) {
        if (plate_index(c, json_string_value(json_array_get(state, 0))) != plate)
            return;
        const json_t *of = json_array_get(json_object_get(c->test, "plates"), plate);
        const json_t *names = json_object_get(of, "states");
        for (uint32_t i = 0; i < json_array_size(names); i++)
            if (strcmp(json_string_value(json_array_get(names, i)),
                       json_string_value(json_array_get(state, 1))) == 0)
                states = UINT64_C(1) << i;
        c->statements[statement].says_state = true;
    }
    if (gl_expression_parse(c->plans[plate], NULL, gl_span_of(positions ? positions : "any"), &expression,
                            NULL, NULL))
        return;
    gl_posset_assign(allow(c, statement, plate, states), &expression.set);
    gl_expression_free(&expression);
}

static inline void load_claims(standing_case *c) {
    const json_t *claims = json_object_get(c->test, "claims"), *stamps = json_object_get(c->test, "stamps");
    gl_claim_status status[CLAIMS];
    bool counts[CLAIMS];
    size_t count = json_array_size(claims);
    assert_true(count <= CLAIMS);
    for (size_t i = 0; i < count; i++) {
        const json_t *claim = json_array_get(claims, i);
        status[i] = (gl_claim_status){.author = (uint32_t)text_of(claim, "by")[0],
                                      .stamp = index_by_id(stamps, text_of(claim, "stamp")),
                                      .withdrawn = json_is_true(json_object_get(claim, "withdrawn")),
                                      .instead_of = index_by_id(claims, text_of(claim, "instead_of"))};
    }
    gl_claims_count(status, count, counts);
    for (size_t i = 0; i < count; i++) {
        const json_t *claim = json_array_get(claims, i), *plates = json_object_get(claim, "plates");
        const char *confidence = text_of(claim, "confidence");
        if (!counts[i] || (confidence && strcmp(confidence, "possible") == 0))
            continue;
        uint32_t statement = add_statement(c, status[i].stamp, status[i].author, text_of(claim, "id"));
        const gl_plate_list *list = &c->plates_of[status[i].stamp];
        c->statements[statement].blind = json_is_true(json_object_get(claim, "blind"));
        for (uint32_t p = 0; p < (plates ? json_array_size(plates) : list->count); p++)
            allow_by_claim(c, statement, claim,
                           plates ? plate_index(c, json_string_value(json_array_get(plates, p)))
                                  : list->plates[p]);
    }
}

static inline uint32_t source_of(standing_case *c, const char *name) {
    uint32_t i = 0;
    while (i < c->question.source_count && strcmp(c->sources[i], name) != 0)
        i++;
    if (i == c->question.source_count)
        c->sources[c->question.source_count++] = name;
    return i;
}

static inline void load_multiples(standing_case *c) {
    const json_t *stamps = json_object_get(c->test, "stamps");
    for (uint32_t b = 0; b < c->question.stamp_count; b++) {
        const json_t *stamp = json_array_get(stamps, b);
        const char *item = text_of(stamp, "item");
        for (uint32_t a = 0; item && a < b; a++) {
            const json_t *other = json_array_get(stamps, a);
            const char *same = text_of(other, "item");
            if (!same || strcmp(same, item) != 0)
                continue;
            c->ties[c->question.tie_count++] =
                (gl_tie){a,
                         b,
                         (int32_t)(whole_of(stamp, "row", 0) - whole_of(other, "row", 0)),
                         (int32_t)(whole_of(stamp, "column", 0) - whole_of(other, "column", 0)),
                         true,
                         source_of(c, item)};
            break;
        }
    }
}

static inline void load_matches(standing_case *c) {
    const json_t *matches = json_object_get(c->test, "matches"), *stamps = json_object_get(c->test, "stamps");
    for (size_t i = 0; i < json_array_size(matches); i++) {
        const json_t *match = json_array_get(matches, i), *two = json_object_get(match, "stamps");
        const char *relation = text_of(match, "relation"), *confidence = text_of(match, "confidence");
        if (strcmp(relation, "different") == 0 || json_is_true(json_object_get(match, "withdrawn")) ||
            (confidence && strcmp(confidence, "possible") == 0))
            continue;
        bool apart = strcmp(relation, "neighbour") == 0;
        c->ties[c->question.tie_count++] =
            (gl_tie){index_by_id(stamps, json_string_value(json_array_get(two, 0))),
                     index_by_id(stamps, json_string_value(json_array_get(two, 1))),
                     apart ? (int32_t)json_integer_value(json_object_get(match, "down")) : 0,
                     apart ? (int32_t)json_integer_value(json_object_get(match, "across")) : 0,
                     false,
                     source_of(c, text_of(match, "id"))};
    }
}

static inline uint32_t node_called(const standing_case *c, const char *id) {
    for (uint32_t i = 0; i < c->question.grounds.count; i++)
        if (strcmp(c->nodes[i], id) == 0)
            return i;
    return GL_NONE;
}

/* Every record that rests on something, or that something rests on, is a node. */
static inline void load_grounds(standing_case *c) {
    static const char *const lists[] = {"claims", "matches", "others"};
    uint32_t edges = 0, count = 0;
    for (int l = 0; l < 3; l++) {
        const json_t *list = json_object_get(c->test, lists[l]);
        for (size_t i = 0; i < json_array_size(list); i++)
            c->nodes[count++] = text_of(json_array_get(list, i), "id");
    }
    c->question.grounds = (gl_grounds){count, c->first, c->to, c->claim_of};
    uint32_t node = 0;
    for (int l = 0; l < 3; l++) {
        const json_t *list = json_object_get(c->test, lists[l]);
        for (size_t i = 0; i < json_array_size(list); i++, node++) {
            const json_t *basis = json_object_get(json_array_get(list, i), "basis");
            c->first[node] = edges;
            c->claim_of[node] = GL_NONE;
            for (size_t j = 0; j < json_array_size(basis); j++)
                c->to[edges++] = node_called(c, json_string_value(json_array_get(basis, j)));
        }
    }
    c->first[node] = edges;
    for (uint32_t s = 0; s < c->question.statement_count; s++) {
        c->statements[s].ground = node_called(c, c->names[s]);
        if (c->statements[s].ground != GL_NONE)
            c->claim_of[c->statements[s].ground] = s;
    }
}

static inline void case_load(standing_case *c, const json_t *test) {
    memset(c, 0, sizeof *c);
    c->test = test;
    c->question = (gl_standing_question){
        .plates = c->plates, .plates_of = c->plates_of, .statements = c->statements, .ties = c->ties};
    load_plates(c);
    for (uint32_t s = 0; s < c->question.stamp_count; s++)
        load_facts(c, s);
    load_claims(c);
    load_multiples(c);
    load_matches(c);
    load_grounds(c);
}

static inline void case_free(standing_case *c) {
    for (uint32_t i = 0; i < PLATES; i++)
        gl_plan_free(c->plans[i]);
    for (uint32_t s = 0; s < STATEMENTS; s++)
        for (uint32_t i = 0; i < PLATES; i++)
            gl_posset_free(&c->sets[s][i]);
}

#endif
