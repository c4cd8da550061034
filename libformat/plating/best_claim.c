/* Of the claims on a stamp the one that says most, for those who have room for one. */
#include "plating/standings.h"

/* 0: the surest. A claim that does not say how sure it is counts as probable. */
static unsigned doubt(gl_survey *survey, const gl_survey_claim *claim) {
    if (claim->possible)
        return 2;
    return gl_span_is(gl_survey_text(survey, claim->record, "confidence"), "certain") ? 0 : 1;
}

/* Pairs of plate and position that the claim leaves. */
static uint64_t places(const gl_survey *survey, const gl_survey_claim *claim) {
    if (claim->statement == GL_NONE)
        return UINT64_MAX;
    const gl_statement *said = &survey->statements[claim->statement];
    uint64_t count = said->allowed ? 0 : UINT64_MAX;
    for (uint32_t i = 0; said->allowed && i < said->allowed_count; i++) {
        const gl_allowance *on = &said->allowed[i];
        count += on->positions ? gl_posset_count(on->positions) : survey->plates[on->plate].plan->count;
    }
    return count;
}

typedef struct worth {
    unsigned doubt;
    uint64_t places;
} worth;

bool gl_standings_best_claims(glassine_standings *standings) {
    gl_survey *survey = &standings->survey;
    size_t stamps = (size_t)survey->stamp_count + 1;
    worth *best = GL_ARENA_ARRAY(survey->arena, worth, stamps);
    standings->best_claims = GL_ARENA_ARRAY(survey->arena, glassine_record *, stamps);
    if (!best || !standings->best_claims)
        return false;
    memset(standings->best_claims, 0, stamps * sizeof *standings->best_claims);
    for (uint32_t i = 0; i < survey->claim_count; i++) {
        const gl_survey_claim *claim = &survey->claims[i];
        const worth here = {doubt(survey, claim), places(survey, claim)}, there = best[claim->stamp];
        bool first = !standings->best_claims[claim->stamp];
        if (!claim->counts || !here.places) /* it leaves nothing, and so does not count either */
            continue;
        if (!first &&
            (here.doubt > there.doubt || (here.doubt == there.doubt && here.places >= there.places)))
            continue;
        best[claim->stamp] = here;
        standings->best_claims[claim->stamp] = claim->record;
    }
    return true;
}

glassine_record *glassine_standings_best_claim(const glassine_standings *standings, size_t index) {
    return standings->best_claims[index];
}

glassine_record *glassine_standings_conclusion(const glassine_standings *standings, size_t index,
                                               size_t number) {
    const uint32_t *first = standings->conclusion_first + index;
    return number < first[1] - first[0]
               ? standings->survey.conclusions[standings->conclusions[first[0] + number]].record
               : NULL;
}
