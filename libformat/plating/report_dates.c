/* The report on earliest and latest dates of a plate's positions, states and marks. */
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "plating/dates.h"
#include "plating/standings.h"
#include "report/report.h"

/* One thing that is dated: all dated markings on stamps that belong to it. */
typedef struct dated_list {
    gl_dated *dated;
    const gl_survey_date **from;
    uint32_t count;
    size_t room, from_room;
} dated_list;

typedef struct dating {
    glassine_standings *standings;
    gl_survey *survey;
    glassine_report *report;
    uint32_t plate;
    dated_list list; /* of the subject in hand */
} dating;

static bool add_stamp(dating *d, uint32_t stamp) {
    uint32_t count;
    const gl_survey_date *dates = gl_survey_dated(d->survey, stamp, &count);
    for (uint32_t i = 0; i < count; i++) {
        dated_list *list = &d->list;
        if (!gl_survey_grow((void **)&list->dated, &list->room, list->count, sizeof *list->dated) ||
            !gl_survey_grow((void **)&list->from, &list->from_room, list->count, sizeof *list->from))
            return false;
        list->dated[list->count] =
            (gl_dated){dates[i].date, gl_date_proven(&dates[i].date, dates[i].dated_by)};
        list->from[list->count++] = &dates[i];
    }
    return true;
}

/* ---- telling a span ---- */

typedef struct day_text {
    char text[40];
} day_text;

static day_text text_of(int64_t day) {
    int64_t year;
    unsigned month, of_month;
    day_text out;
    gl_date_from_days(day, &year, &month, &of_month);
    snprintf(out.text, sizeof out.text, "%s%04lld-%02u-%02u", year < 0 ? "-" : "",
             (long long)(year < 0 ? -year : year), month, of_month);
    return out;
}

static gl_span stamp_label(const dating *d, uint32_t from) {
    return gl_tell_label(d->survey, d->survey->stamps[d->list.from[from]->stamp].record);
}

/* {"day","stamp","marking","dated_by"}; as text "1861-03-14 (H-014, postmark)". */
static void tell_bound(const dating *d, const gl_bound *bound, const char *key, const char *label,
                       glassine_node *row) {
    if (bound->from == GL_NONE) {
        glassine_node_text(row, NULL, label, label ? GL_SPAN("") : GL_NO_SPAN);
        return;
    }
    const gl_survey_date *date = d->list.from[bound->from];
    day_text day = text_of(bound->day);
    glassine_node *one = glassine_node_object(row, key, NULL);
    glassine_node_string(one, "day", NULL, day.text);
    glassine_node_text(one, "stamp", NULL,
                       glassine_record_id(d->survey->bundle, d->survey->stamps[date->stamp].record));
    glassine_node_text(one, "label", NULL, stamp_label(d, bound->from));
    glassine_node_text(one, "marking", NULL, glassine_record_id(d->survey->bundle, date->marking));
    glassine_node_text(one, "dated_by", NULL, date->dated_by);
    gl_span by = date->dated_by.text ? date->dated_by : GL_SPAN("year not proven");
    glassine_node_format(row, NULL, label, "%s (%.*s, %.*s)", day.text,
                         GL_SPAN_ARGS(stamp_label(d, bound->from)), GL_SPAN_ARGS(by));
}

static void tell_span(const dating *d, const gl_date_span *span, glassine_node *row) {
    glassine_node_integer(row, "proven", "dated", span->proven);
    glassine_node_integer(row, "unproven", "year not proven", span->unproven);
    tell_bound(d, &span->certainly_by, "certainly_by", "in use by", row);
    tell_bound(d, &span->possibly_from, "possibly_from", NULL, row);
    tell_bound(d, &span->certainly_until, "certainly_until", "still in use", row);
    tell_bound(d, &span->possibly_until, "possibly_until", NULL, row);
    tell_bound(d, &span->unproven_earlier, "unproven_earlier", "earlier, if its year were proven", row);
}

/* ---- what is pointed out ---- */

/* A date that no dated thing should lie before: published as the earliest, the day on which a state began or
 * a design was issued. */
typedef struct against {
    glassine_record *record;
    const char *field;
    bool perhaps;       /* also those are told that may lie before it */
    const char *remedy; /* where it cannot be; NULL: it may well be */
} against;

/* `what` names it: "the beginning of state early". */
static void point_out(const dating *d, const against *with, const gl_buf *what) {
    gl_date than;
    gl_span text = gl_survey_text(d->survey, with->record, with->field);
    if (!text.text || !gl_edtf_parse(text, &than, NULL, NULL))
        return;
    for (uint32_t i = 0; i < d->list.count; i++) {
        gl_earlier earlier = gl_date_earlier(&d->list.dated[i], &than);
        if (earlier == GL_NOT_EARLIER || (earlier == GL_PERHAPS_EARLIER && !with->perhaps))
            continue;
        bool certain = earlier == GL_EARLIER;
        gl_span on = glassine_record_text(d->survey->bundle, d->list.from[i]->marking, "on");
        glassine_report_finding(
            d->report, certain ? GLASSINE_WARNING : GLASSINE_NOTE, NULL, stamp_label(d, i).text,
            certain ? with->remedy : NULL, "dated %.*s, %s before %.*s (%.*s)", GL_SPAN_ARGS(on),
            certain ? "certainly" : "perhaps", GL_SPAN_ARGS(gl_buf_span(what)), GL_SPAN_ARGS(text));
    }
}

#define CANNOT_BE "its date, its state or its place cannot be right"

/* ---- the subjects ---- */

static glassine_node *subject_row(glassine_node *table, const char *kind, gl_span name) {
    glassine_node *row = glassine_node_object(table, NULL, NULL);
    glassine_node_string(row, "kind", NULL, kind);
    glassine_node_text(row, "name", kind, name);
    return row;
}

static bool placed_at(const dating *d, uint32_t stamp, uint32_t position) {
    const gl_standing *s = &d->standings->all[stamp].s;
    return s->candidates == 1 && s->plate == d->plate && s->position == position;
}

/* Stamps that stand on this plate, by position: one pass. */
static bool sort_placed(const dating *d, uint32_t *first, uint32_t *stamps, uint32_t positions) {
    for (uint32_t i = 0; i < d->survey->stamp_count; i++) {
        const gl_standing *s = &d->standings->all[i].s;
        if (s->candidates == 1 && s->plate == d->plate)
            first[s->position + 2]++;
    }
    for (uint32_t p = 2; p < positions + 2; p++)
        first[p] += first[p - 1];
    for (uint32_t i = 0; i < d->survey->stamp_count; i++) {
        uint32_t position = d->standings->all[i].s.position;
        if (position < positions && placed_at(d, i, position))
            stamps[first[position + 1]++] = i;
    }
    return true;
}

static bool tell_positions(dating *d, glassine_node *table) {
    const gl_plan *plan = d->survey->plates[d->plate].plan;
    uint32_t *first = calloc((size_t)plan->count + 2, sizeof *first);
    uint32_t *stamps = calloc((size_t)d->survey->stamp_count + 1, sizeof *stamps);
    bool room = first && stamps && sort_placed(d, first, stamps, plan->count);
    for (uint32_t p = 0; room && p < plan->count; p++) {
        d->list.count = 0;
        for (uint32_t i = first[p]; i < first[p + 1] && room; i++)
            room = add_stamp(d, stamps[i]);
        if (!room || d->list.count == 0)
            continue;
        gl_buf name = GL_BUF_EMPTY;
        gl_plan_add_number(plan, p, &name);
        gl_date_span span = gl_dates_span(d->list.dated, d->list.count);
        glassine_node *row = subject_row(table, "position", gl_buf_span(&name));
        gl_node_check(row, &name);
        glassine_node_integer(row, "position", NULL, gl_plan_place(plan, p).number);
        tell_span(d, &span, row);
        gl_buf_free(&name);
    }
    free(first);
    free(stamps);
    return room;
}

static bool tell_states(dating *d, glassine_node *table) {
    const gl_survey_plate *plate = &d->survey->plates[d->plate];
    for (uint32_t n = 0; n < plate->state_count; n++) {
        d->list.count = 0;
        for (uint32_t i = 0; i < d->survey->stamp_count; i++) {
            const gl_standing *s = &d->standings->all[i].s;
            if (s->state != GL_UNPLACED && s->state_plate == d->plate && s->state_number == n &&
                !add_stamp(d, i))
                return false;
        }
        if (d->list.count == 0)
            continue;
        gl_date_span span = gl_dates_span(d->list.dated, d->list.count);
        glassine_node *row = subject_row(table, "state", plate->state_names[n]);
        glassine_node_text(row, "state", NULL, glassine_record_id(d->survey->bundle, plate->states[n]));
        tell_span(d, &span, row);
        const against began = {plate->states[n], "from", true, CANNOT_BE};
        gl_buf subject = GL_BUF_EMPTY;
        gl_buf_printf(&subject, "the beginning of state %.*s", GL_SPAN_ARGS(plate->state_names[n]));
        point_out(d, &began, &subject);
        gl_buf_free(&subject);
    }
    return true;
}

static bool add_showing(dating *d, uint32_t mark) {
    uint32_t last = GL_NONE;
    for (uint32_t i = 0; i < d->survey->observation_count; i++) {
        const gl_survey_observation *seen = &d->survey->observations[i];
        if (seen->mark != mark || seen->seen.presence != GL_PRESENT || seen->stamp == last)
            continue;
        last = seen->stamp;
        if (!add_stamp(d, seen->stamp))
            return false;
    }
    return true;
}

static bool tell_marks(dating *d, glassine_node *table) {
    for (uint32_t m = 0; m < d->survey->mark_count; m++) {
        const gl_survey_mark *mark = &d->survey->marks[m];
        d->list.count = 0;
        if (mark->plate != d->plate)
            continue;
        if (!add_showing(d, m))
            return false;
        if (d->list.count == 0)
            continue;
        gl_date_span span = gl_dates_span(d->list.dated, d->list.count);
        gl_span label = gl_tell_label(d->survey, mark->record);
        glassine_node *row = subject_row(table, "mark", label);
        glassine_node_text(row, "mark", NULL, glassine_record_id(d->survey->bundle, mark->record));
        tell_span(d, &span, row);
        const against published = {mark->record, "earliest", true, NULL};
        gl_buf subject = GL_BUF_EMPTY;
        gl_buf_printf(&subject, "the earliest date published for mark %.*s", GL_SPAN_ARGS(label));
        point_out(d, &published, &subject);
        gl_buf_free(&subject);
    }
    return true;
}

/* Stamps of the plate that are dated before the design was issued. */
static bool check_issue(dating *d) {
    uint32_t design = d->survey->plates[d->plate].design;
    glassine_record *record =
        design == GL_NONE
            ? NULL
            : glassine_bundle_record(d->survey->bundle, d->survey->designs[design].id, GL_NO_SPAN);
    d->list.count = 0;
    for (uint32_t i = 0; record && i < d->survey->stamp_count; i++)
        if (d->standings->all[i].s.plate == d->plate && !add_stamp(d, i))
            return false;
    const against issued = {record, "issued", false, CANNOT_BE};
    gl_buf subject = GL_BUF_EMPTY;
    gl_buf_add_text(&subject, "the issue of the design");
    if (record)
        point_out(d, &issued, &subject);
    gl_buf_free(&subject);
    return true;
}

static bool tell_all(dating *d) {
    glassine_node *result = glassine_report_result(d->report);
    glassine_record *plate = d->survey->plates[d->plate].record;
    glassine_node_text(result, "plate", NULL, glassine_record_id(d->survey->bundle, plate));
    glassine_node_text(result, "label", "plate", gl_tell_label(d->survey, plate));
    return tell_positions(d, glassine_node_table(result, "positions", "Positions")) &&
           tell_states(d, glassine_node_table(result, "states", "States")) &&
           tell_marks(d, glassine_node_table(result, "marks", "Marks")) && check_issue(d);
}

glassine_status glassine_dates(glassine_bundle *bundle, glassine_record *plate, glassine_report *report,
                               glassine_error *error) {
    dating d = {.report = report};
    glassine_status status = glassine_standings_new(bundle, report, &d.standings, error);
    if (status)
        return status;
    d.survey = &d.standings->survey;
    d.plate = gl_map_find(d.survey->plate_of, gl_survey_id(d.survey, plate));
    if (d.plate == GL_NONE)
        status = gl_survey_no_plate(d.survey, plate, error);
    else if (!tell_all(&d) || glassine_report_failed(report))
        status = gl_fail_memory(error);
    free(d.list.dated);
    free(d.list.from);
    glassine_standings_free(d.standings);
    return gl_bundle_end(bundle, NULL, status, error);
}
