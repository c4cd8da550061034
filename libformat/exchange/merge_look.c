/* What came with a merge and what it amounts to now, told note by note: the bundle as it was beside the
 * bundle as it would be. */
#include <stdio.h>
#include <stdlib.h>

#include "audit/record_rules.h"
#include "base/error.h"
#include "base/work.h"
#include "bundle/joins.h"
#include "exchange/compare.h"
#include "exchange/merge.h"
#include "exchange/subject.h"
#include "plating/scope.h"

/* Standings as they were and as they are: of two handles, so that each has a thread of its own. */
typedef struct standing_pair {
    glassine_bundle *bundle[2];
    const bool *marks; /* by subject: what bears on the stamps that they are of; NULL: on all of them */
    gl_watch watch;
    glassine_standings *made[2];
    gl_arena *arena[2];    /* of the texts */
    const char **shown[2]; /* "placed: plate 1: 64" */
    glassine_error error[2];
    glassine_status status[2];
} standing_pair;

typedef struct looking {
    gl_merging *merging;
    glassine_bundle *bundle, *before;
    gl_touched *touched; /* by item */
    size_t count;
    bool bears;  /* something came that standings depend on */
    bool *scope; /* by subject: what bears on the stamps that it bears on; NULL: on all of them */
    standing_pair standings;
    glassine_error *error;
} looking;

static void tell(const looking *it, glassine_merge_note note) {
    note.first = it->merging->first;
    it->merging->tell(it->merging->context, it->bundle, &note);
}

static void tell_of(const looking *it, glassine_met met, const gl_touched *on, const char *rule,
                    const char *text) {
    tell(it, (glassine_merge_note){
                 .met = met, .record = on->record, .item = on->item, .rule = rule, .text = text});
}

/* What was understood, then what was not, then what is no answer. */
static void tell_answers(const looking *it) {
    static const glassine_met kinds[] = {GLASSINE_MET_ANSWER, GLASSINE_MET_QUESTION, GLASSINE_MET_LEFT};
    for (size_t kind = 0; kind < sizeof kinds / sizeof kinds[0]; kind++)
        for (size_t i = 0; i < it->merging->answer_count; i++) {
            const gl_answer_told *told = &it->merging->answers[i];
            glassine_record *stamp =
                told->stamp.text ? glassine_bundle_record(it->bundle, told->stamp, GL_NO_SPAN) : NULL;
            if (told->met == kinds[kind])
                tell(it, (glassine_merge_note){.met = told->met,
                                               .number = told->number,
                                               .record = stamp,
                                               .item = stamp ? gl_item_of(it->bundle, stamp) : NULL,
                                               .before = told->words,
                                               .text = told->text});
        }
}

/* ------------------------------------------------------------------------------------- touched records */

static bool list_touched(looking *it, gl_subject_entry **entries) {
    uint32_t first = it->merging->first, end = gl_store_count(it->bundle->store);
    gl_subject_entry *list = calloc(end - first + 1u, sizeof *list);
    for (uint32_t slip = first; slip < end && list; slip++) {
        glassine_record *record = gl_bundle_record_of_slip(it->bundle, slip);
        if (slip == gl_record_newest(it->bundle, record) && glassine_record_counts(it->bundle, record))
            list[it->count++].record = record;
    }
    *entries = list;
    return list && gl_sort_by_item(it->bundle, list, it->count);
}

static glassine_status find_touched(looking *it, glassine_error *error) {
    gl_subject_entry *entries = NULL;
    bool done = list_touched(it, &entries);
    it->touched = done ? calloc(it->count + 1, sizeof *it->touched) : NULL;
    for (size_t i = 0; it->touched && i < it->count; i++)
        it->touched[i] = (gl_touched){.record = entries[i].record, .item = entries[i].item};
    free(entries);
    return it->touched ? GLASSINE_OK : gl_fail_memory(error);
}

/* The bundle as it was numbers what it has as the bundle as it is. */
static glassine_record *earlier(const looking *it, const glassine_record *record) {
    return gl_bundle_record_of(it->before, record->subject, record->author);
}

/* ----------------------------------------------------------------------------------- what is to be looked at */

/* What came is told beside what was: the bundle as it is on disk. */
static glassine_status find_before(looking *it, glassine_error *error) {
    glassine_status status = gl_bundle_as_saved(it->bundle, &it->merging->before, error);
    it->before = it->merging->before;
    return status || !it->bears ? status : gl_merge_scope(it->merging, &it->scope, error);
}

/* One asks for readings, the other for what is in the store alone: each has a thread. */
typedef struct finding {
    looking *looking;
    glassine_status status[2];
    glassine_error error[2];
} finding;

static void find_one(void *context, size_t index) {
    static glassine_status (*const find[])(looking *, glassine_error *) = {find_touched, find_before};
    finding *it = context;
    it->status[index] = find[index](it->looking, &it->error[index]);
}

/* Where the same slips count as before, the readings that both bundles' standings need are made once, on all processors. */
static glassine_status share_readings(const looking *it) {
    glassine_record **list = malloc((it->bundle->record_count + 1) * sizeof(glassine_record *));
    size_t count = list && it->bears ? gl_scope_records(it->bundle, it->scope, list) : 0;
    glassine_status status =
        list ? gl_bundle_read_ahead(it->bundle, list, count, it->error) : gl_fail_memory(it->error);
    free(list);
    return status || gl_bundle_share_readings(it->before, it->bundle) ? status : gl_fail_memory(it->error);
}

static glassine_status find_all(looking *it) {
    finding found = {.looking = it};
    bool judged_anew = gl_merge_judges_anew(it->merging);
    it->bears = judged_anew || gl_merge_bears(it->merging);
    gl_work(2, find_one, &found);
    for (size_t i = 0; i < 2; i++)
        if (found.status[i]) {
            if (it->error)
                *it->error = found.error[i];
            return found.status[i];
        }
    glassine_status status = judged_anew ? GLASSINE_OK : share_readings(it);
    if (status)
        return status;
    for (size_t i = 0; i < it->count; i++)
        it->touched[i].was = earlier(it, it->touched[i].record);
    return GLASSINE_OK;
}

static void tell_new(const looking *it) {
    for (size_t i = 0; i < it->count; i++)
        if (!it->touched[i].was)
            tell_of(it, GLASSINE_MET_NEW, &it->touched[i], NULL, NULL);
}

/* ---------------------------------------------------------------------------------------------- fields */

/* Calls `each` for every pair of fields; ends where that says so. */
static glassine_status go_over_fields(const looking *it, const gl_touched *on,
                                      void (*each)(const looking *it, const gl_touched *on,
                                                   const glassine_field *was, const glassine_field *is)) {
    gl_pairs pairs;
    const glassine_field *was, *is;
    glassine_status status = gl_pairs_of(it->before, on->was, it->bundle, on->record, &pairs, it->error);
    while (!status && gl_pairs_next(&pairs, &was, &is))
        each(it, on, was, is);
    return status;
}

static void tell_if_changed(const looking *it, const gl_touched *on, const glassine_field *was,
                            const glassine_field *is) {
    if (is && !is->contested && !gl_same_values(was, is))
        tell(it,
             (glassine_merge_note){
                 .met = GLASSINE_MET_CHANGED, .record = on->record, .item = on->item, .was = was, .is = is});
}

static void tell_if_contested(const looking *it, const gl_touched *on, const glassine_field *was,
                              const glassine_field *is) {
    if (is && is->contested)
        tell(
            it,
            (glassine_merge_note){
                .met = GLASSINE_MET_CONTESTED, .record = on->record, .item = on->item, .was = was, .is = is});
}

static glassine_status tell_changed(const looking *it) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < it->count && !status; i++)
        if (it->touched[i].was)
            status = go_over_fields(it, &it->touched[i], tell_if_changed);
    return status;
}

/* Does a field of it hold several values? */
static glassine_status is_contested(const looking *it, const gl_touched *on, bool *contested) {
    const gl_reading *reading;
    glassine_status status = gl_record_reading(it->bundle, on->record, &reading, it->error);
    *contested = false;
    for (uint32_t i = 0; !status && i < reading->field_count && !*contested; i++)
        *contested = reading->fields[i].contested;
    return status;
}

static glassine_status tell_contested(const looking *it) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < it->count && !status; i++) {
        bool contested;
        status = is_contested(it, &it->touched[i], &contested);
        if (!status && contested)
            status = go_over_fields(it, &it->touched[i], tell_if_contested);
    }
    return status;
}

static glassine_status tell_agreed(const looking *it) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < it->count && !status; i++) {
        gl_pairs pairs;
        const glassine_field *was, *is;
        bool same = true;
        if (!it->touched[i].was)
            continue;
        status =
            gl_pairs_of(it->before, it->touched[i].was, it->bundle, it->touched[i].record, &pairs, it->error);
        while (!status && same && gl_pairs_next(&pairs, &was, &is))
            same = gl_same_values(was, is);
        if (!status && same)
            tell_of(it, GLASSINE_MET_AGREED, &it->touched[i], NULL, NULL);
    }
    return status;
}

/* --------------------------------------------------------------------------------------------- combined */

/* Do several people's slips stand side by side here, none of which follows another, and did one of them come
 * now? A slip that touches nothing says nothing, and who follows all of them has seen all of them. */
static glassine_status combines_in(const looking *it, const gl_touched *on, glassine_reach reach,
                                   bool *combined) {
    gl_digest *heads;
    size_t count;
    glassine_status status = gl_reading_heads(it->bundle->store, on->record->subject, on->record->author,
                                              reach, it->bundle->arena, &heads, &count, it->error);
    uint32_t author = GL_NONE;
    bool several = false, came = false;
    for (size_t i = 0; i < count && !status; i++) {
        uint32_t slip = gl_store_find(it->bundle->store, &heads[i]);
        glassine_slip said = glassine_bundle_slip(it->bundle, slip);
        if (said.set.length <= 2 && !said.clear.text)
            continue;
        uint32_t by = gl_store_at(it->bundle->store, slip)->author;
        several = several || (author != GL_NONE && by != author);
        came = came || slip >= it->merging->first;
        author = by;
    }
    *combined = several && came;
    return status;
}

static glassine_status combines(const looking *it, const gl_touched *on, bool *combined) {
    bool contested;
    *combined = false;
    glassine_status status = is_contested(it, on, &contested);
    if (status || contested || on->record->author != GL_NONE ||
        gl_store_record(it->bundle->store, on->record->subject)->count == 1)
        return status;
    for (int reach = 0; reach < GLASSINE_REACHES && !status && !*combined; reach++)
        status = combines_in(it, on, (glassine_reach)reach, combined);
    return status;
}

static glassine_status tell_combined(const looking *it) {
    glassine_status status = GLASSINE_OK;
    for (size_t i = 0; i < it->count && !status; i++) {
        const glassine_field *fields;
        size_t count = 0;
        bool combined;
        status = combines(it, &it->touched[i], &combined);
        if (!status && combined)
            status = glassine_record_fields(it->bundle, it->touched[i].record, &fields, &count, it->error);
        for (size_t f = 0; f < count && !status; f++)
            tell(it, (glassine_merge_note){.met = GLASSINE_MET_COMBINED,
                                           .record = it->touched[i].record,
                                           .item = it->touched[i].item,
                                           .is = &fields[f]});
    }
    return status;
}

/* -------------------------------------------------------------------------------------------- standings */

static const char *show_standing(glassine_standings *standings, size_t index, gl_buf *text, gl_arena *arena) {
    glassine_stamp_standing is = glassine_standings_at(standings, index);
    bool unplaced = strcmp(is.standing, "unplaced") == 0;
    const char *places = unplaced || !is.count ? "" : glassine_standings_shown(standings, index, 6);
    gl_buf_clear(text);
    gl_buf_add_text(text, is.standing);
    if (places && *places) {
        gl_buf_add_text(text, ": ");
        gl_buf_add_text(text, places);
    }
    return places && !text->failed ? gl_arena_copy(arena, gl_buf_span(text)).text : NULL;
}

static bool show_all(standing_pair *it, size_t i) {
    size_t count = glassine_standings_count(it->made[i]);
    gl_buf text = GL_BUF_EMPTY;
    it->arena[i] = gl_arena_new();
    it->shown[i] = malloc((count + 1) * sizeof *it->shown[i]);
    bool done = it->arena[i] && it->shown[i];
    for (size_t k = 0; done && k < count; k++)
        done = (it->shown[i][k] = show_standing(it->made[i], k, &text, it->arena[i])) != NULL;
    gl_buf_free(&text);
    return done;
}

static void make_standings(void *context, size_t i) {
    standing_pair *it = context;
    it->status[i] = gl_standings_within(it->bundle[i], it->marks, &it->watch, &it->made[i], &it->error[i]);
    if (!it->status[i] && !show_all(it, i))
        it->status[i] = gl_fail_memory(&it->error[i]);
}

/* Whoever looks on is told on the caller's thread alone. */
static glassine_status work_out_standings(looking *it) {
    standing_pair *pair = &it->standings;
    const glassine_watch *by = it->bundle->watch;
    if (!it->bears)
        return GLASSINE_OK;
    *pair = (standing_pair){.bundle = {it->before, it->bundle},
                            .marks = it->scope,
                            .watch = {.by = by,
                                      .doing = "working out standings",
                                      .unit = "records",
                                      .total = gl_scope_records(it->before, it->scope, NULL) +
                                               gl_scope_records(it->bundle, it->scope, NULL)}};
    it->bundle->watch = NULL;
    gl_work_watched(2, make_standings, pair, &pair->watch);
    it->bundle->watch = by;
    atomic_store(&pair->watch.done, pair->watch.total);
    if (!gl_watch_tell(&pair->watch))
        return gl_watch_fail(it->error);
    for (size_t i = 0; i < 2; i++)
        if (pair->status[i]) {
            if (it->error)
                *it->error = pair->error[i];
            return pair->status[i];
        }
    return GLASSINE_OK;
}

static void drop_standings(const standing_pair *pair) {
    for (size_t i = 0; i < 2; i++) {
        glassine_standings_free(pair->made[i]);
        gl_arena_free(pair->arena[i]);
        free(pair->shown[i]);
    }
}

/* A stamp that stands elsewhere than before. */
typedef struct moved {
    glassine_record *stamp;
    const char *was, *is; /* `was` NULL: it was not there */
} moved;

/* Those that do, into a list that has room for all. */
static size_t find_moved(const looking *it, moved *moves) {
    const standing_pair *pair = &it->standings;
    size_t count = 0;
    for (size_t i = 0; i < glassine_standings_count(pair->made[1]); i++) {
        glassine_record *stamp = glassine_standings_at(pair->made[1], i).stamp, *before = earlier(it, stamp);
        size_t place = before ? glassine_standings_find(pair->made[0], before) : SIZE_MAX;
        moved one = {stamp, place == SIZE_MAX ? NULL : pair->shown[0][place], pair->shown[1][i]};
        if (strcmp(one.is, one.was ? one.was : "unplaced") != 0)
            moves[count++] = one;
    }
    return count;
}

static int by_stamp(const void *a, const void *b) {
    const moved *x = a, *y = b;
    return (x->stamp > y->stamp) - (x->stamp < y->stamp);
}

/* By item, as all that is met. */
static bool tell_moves(const looking *it, moved *moves, size_t count) {
    gl_subject_entry *entries = calloc(count + 1, sizeof *entries);
    for (size_t i = 0; entries && i < count; i++)
        entries[i].record = moves[i].stamp;
    bool done = entries && gl_sort_by_item(it->bundle, entries, count);
    if (done && count)
        qsort(moves, count, sizeof *moves, by_stamp);
    for (size_t i = 0; done && i < count; i++) {
        moved wanted = {.stamp = entries[i].record};
        const moved *found = bsearch(&wanted, moves, count, sizeof *moves, by_stamp);
        tell(it, (glassine_merge_note){.met = GLASSINE_MET_STANDING,
                                       .record = found->stamp,
                                       .item = entries[i].item,
                                       .before = found->was,
                                       .text = found->is});
    }
    free(entries);
    return done;
}

static glassine_status tell_standings(const looking *it) {
    if (!it->bears)
        return GLASSINE_OK;
    size_t most = glassine_standings_count(it->standings.made[1]);
    moved *moves = malloc((most + 1) * sizeof *moves);
    bool room = moves && tell_moves(it, moves, find_moved(it, moves));
    free(moves);
    return room ? GLASSINE_OK : gl_fail_memory(it->error);
}

/* ------------------------------------------------------------------------------------------ not counted */

/* Does the entry of `after` lead to a slip that is none of the record's, or of another reach or author? */
static bool is_stray(const looking *it, const gl_slip *slip, const glassine_record *record,
                     const gl_digest *digest) {
    uint32_t number = gl_store_find(it->bundle->store, digest);
    if (number == GL_NONE)
        return false;
    const gl_slip *other = gl_store_at(it->bundle->store, number);
    return other->record != slip->record || other->reach != slip->reach ||
           (record->author != GL_NONE && other->author != slip->author);
}

/* What the slips that came for a record hold that does not count. */
typedef struct oddities {
    size_t strays, silent;
    bool aside;
} oddities;

static bool touches(gl_span set, const char *field) {
    return gl_json_member(set, field).text != NULL;
}

static oddities odd_slips(const looking *it, const gl_touched *on) {
    oddities odd = {0};
    const gl_store *store = it->bundle->store;
    for (uint32_t number = gl_store_record(store, on->record->subject)->last;
         number != GL_NONE && number >= it->merging->first; number = gl_store_at(store, number)->previous) {
        const gl_slip *slip = gl_store_at(store, number);
        gl_slip_view view;
        gl_digest digest;
        size_t at = 0;
        if (on->record->author != GL_NONE && slip->author != on->record->author)
            continue;
        gl_slip_look(gl_store_line(store, number), &view);
        odd.silent += gl_store_counts(store, number) == 0;
        odd.aside = odd.aside || (touches(view.set, "set_aside") &&
                                  !gl_span_is(gl_json_raw(view.by), it->bundle->about.keeper));
        while (gl_slip_after_next(&view, &at, &digest))
            odd.strays += is_stray(it, slip, on->record, &digest);
    }
    return odd;
}

/* Authored records of one id by several people: who came first is not asked, each speaks for its author. */
static bool is_beside_another(const gl_touched *on, const glassine_bundle *bundle) {
    if (on->record->author == GL_NONE)
        return false;
    for (const glassine_record *record = bundle->newest_of[on->record->subject]; record;
         record = record->older)
        if (record != on->record)
            return true;
    return false;
}

static void tell_not_counted_of(const looking *it, const gl_touched *on) {
    char text[200];
    oddities odd = odd_slips(it, on);
    if (odd.silent)
        tell_of(it, GLASSINE_MET_NOT_COUNTED, on, NULL,
                "its author signs, and this is signed by no key of theirs: it is kept and shown, and does "
                "not count");
    if (odd.strays) {
        snprintf(text, sizeof text,
                 odd.strays == 1 ? "%zu reference to an earlier slip leads to another record, reach or author"
                                 : "%zu references to earlier slips lead to another record, reach or author",
                 odd.strays);
        tell_of(it, GLASSINE_MET_NOT_COUNTED, on, "S050", text);
    }
    if (odd.aside)
        tell_of(it, GLASSINE_MET_NOT_COUNTED, on, NULL,
                "setting aside is the keeper's: this is a proposal (`revise … set_aside=yes` takes it up)");
    if (gl_span_is(glassine_record_type(it->bundle, on->record), "join") &&
        !gl_span_is(glassine_record_author(it->bundle, on->record), it->bundle->about.keeper))
        tell_of(it, GLASSINE_MET_NOT_COUNTED, on, NULL,
                "joins are the keeper's: this is a proposal (`join` takes it up)");
    if (is_beside_another(on, it->bundle))
        tell_of(it, GLASSINE_MET_NOT_COUNTED, on, "R048",
                "somebody else has a record of this id: each speaks for its author alone");
}

/* Joins of the keeper's that cannot be applied, and could before. */
static glassine_status tell_join_faults(const looking *it) {
    const gl_joins *was, *is;
    const gl_join_fault *old, *now;
    glassine_status status = gl_bundle_joins(it->before, &was, it->error);
    if (!status)
        status = gl_bundle_joins(it->bundle, &is, it->error);
    size_t old_count = status ? 0 : gl_joins_faults(was, &old),
           count = status ? 0 : gl_joins_faults(is, &now);
    for (size_t i = 0; i < count; i++) {
        bool known = false;
        for (size_t k = 0; k < old_count && !known; k++)
            known =
                gl_span_equal(gl_record_id(it->before, old[k].join), gl_record_id(it->bundle, now[i].join));
        gl_touched on = {.record = now[i].join};
        if (!known)
            tell_of(it, GLASSINE_MET_NOT_COUNTED, &on, now[i].rule, now[i].what);
    }
    return status;
}

/* ------------------------------------------------------------------------------------------------ rules */

/* A reference that leads nowhere is told after all other faults. */
typedef struct nowhere {
    const gl_touched *on;
    const char *message;
} nowhere;

typedef struct ruling {
    const looking *looking;
    const gl_touched *on;
    nowhere *list;
    size_t count, room;
    bool failed;
} ruling;

static void tell_or_keep(void *context, const glassine_error *error) {
    ruling *it = context;
    if (strcmp(error->rule, "R032") != 0) {
        tell_of(it->looking, GLASSINE_MET_FAULT, it->on, error->rule, error->message);
        return;
    }
    void *grown = gl_grow(it->list, &it->room, it->count + 1, sizeof *it->list);
    const char *message = gl_arena_copy(it->looking->bundle->arena, gl_span_of(error->message)).text;
    it->list = grown ? grown : it->list;
    it->failed = it->failed || !grown || !message;
    if (!it->failed)
        it->list[it->count++] = (nowhere){it->on, message};
}

static glassine_status tell_faults(const looking *it, ruling *rules) {
    gl_plan_kept kept = {NULL, NULL};
    for (size_t i = 0; i < it->count; i++) {
        rules->on = &it->touched[i];
        if (glassine_record_info(it->bundle, rules->on->record) &&
            !glassine_record_incomplete(it->bundle, rules->on->record) &&
            !glassine_record_set_aside(it->bundle, rules->on->record))
            gl_record_rules(it->bundle, rules->on->record, &kept, tell_or_keep, rules);
    }
    gl_plan_free(kept.plan);
    return rules->failed ? gl_fail_memory(it->error) : GLASSINE_OK;
}

static void tell_nowhere(const looking *it, const ruling *rules) {
    for (size_t i = 0; i < rules->count; i++)
        tell_of(it, GLASSINE_MET_LEADS_NOWHERE, rules->list[i].on, "R032", rules->list[i].message);
}

static void tell_completeness(const looking *it, bool completed) {
    for (size_t i = 0; i < it->count; i++) {
        const gl_touched *on = &it->touched[i];
        bool is = glassine_record_incomplete(it->bundle, on->record);
        bool was = on->was && glassine_record_incomplete(it->before, on->was);
        if (completed ? was && !is : is)
            tell_of(it, completed ? GLASSINE_MET_COMPLETED : GLASSINE_MET_INCOMPLETE, on, NULL, NULL);
    }
}

/* ------------------------------------------------------------------------------------------- all of it */

static glassine_status look(const looking *it, ruling *rules) {
    for (size_t i = 0; i < it->merging->source_count; i++)
        tell(it, (glassine_merge_note){.met = GLASSINE_MET_SOURCE, .source = &it->merging->sources[i]});
    tell_answers(it);
    glassine_status status = gl_merge_people(it->merging, it->error);
    if (!status)
        tell_new(it);
    if (!status)
        status = tell_changed(it);
    if (!status)
        status = tell_agreed(it);
    if (!status)
        status = tell_combined(it);
    if (!status)
        status = tell_contested(it);
    if (!status)
        status = tell_standings(it);
    for (size_t i = 0; i < it->count && !status; i++)
        tell_not_counted_of(it, &it->touched[i]);
    if (!status)
        status = tell_join_faults(it);
    if (!status)
        status = tell_faults(it, rules);
    if (!status)
        status = gl_merge_alike(it->merging, it->touched, it->count, it->error);
    if (status)
        return status;
    tell_nowhere(it, rules);
    tell_completeness(it, false);
    tell_completeness(it, true);
    return GLASSINE_OK;
}

glassine_status gl_merge_look(gl_merging *merging, glassine_error *error) {
    looking it = {.merging = merging, .bundle = merging->bundle, .error = error};
    ruling rules = {.looking = &it};
    glassine_status status = find_all(&it);
    if (!status)
        status = work_out_standings(&it);
    if (!status && merging->note) /* so far all processors were at work */
        gl_draft_write_ahead(merging->draft, merging->note);
    if (!status)
        status = look(&it, &rules);
    drop_standings(&it.standings);
    free(rules.list);
    free(it.touched);
    free(it.scope);
    return status;
}
