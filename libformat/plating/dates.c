#include "plating/dates.h"

bool gl_date_proven(const gl_date *date, gl_span dated_by) {
    if (date->uncertain || date->approximate)
        return false;
    return gl_span_is(dated_by, "postmark") || gl_span_is(dated_by, "docketing") ||
           gl_span_is(dated_by, "contents");
}

static bool has_first(const gl_date *date) {
    return !date->open_start && !date->unknown_start;
}

static bool has_last(const gl_date *date) {
    return !date->open_end && !date->unknown_end;
}

static void keep_least(gl_bound *bound, uint32_t from, int64_t day) {
    if (bound->from == GL_NONE || day < bound->day)
        *bound = (gl_bound){from, day};
}

static void keep_greatest(gl_bound *bound, uint32_t from, int64_t day) {
    if (bound->from == GL_NONE || day > bound->day)
        *bound = (gl_bound){from, day};
}

static void take_proven(gl_date_span *span, uint32_t i, const gl_date *date) {
    span->proven++;
    if (has_last(date)) {
        keep_least(&span->certainly_by, i, date->last);
        keep_greatest(&span->possibly_until, i, date->last);
    }
    if (has_first(date)) {
        keep_least(&span->possibly_from, i, date->first);
        keep_greatest(&span->certainly_until, i, date->first);
    }
}

gl_date_span gl_dates_span(const gl_dated *dated, uint32_t count) {
    const gl_bound none = {GL_NONE, 0};
    gl_date_span span = {0, 0, none, none, none, none, none};
    for (uint32_t i = 0; i < count; i++) {
        if (dated[i].proven) {
            take_proven(&span, i, &dated[i].date);
            continue;
        }
        span.unproven++;
        if (has_last(&dated[i].date))
            keep_least(&span.unproven_earlier, i, dated[i].date.last);
    }
    if (span.certainly_by.from != GL_NONE && span.unproven_earlier.day >= span.certainly_by.day)
        span.unproven_earlier = none;
    return span;
}

gl_earlier gl_date_earlier(const gl_dated *dated, const gl_date *than) {
    if (!has_first(than))
        return GL_NOT_EARLIER;
    if (has_last(&dated->date) && dated->date.last < than->first)
        return dated->proven ? GL_EARLIER : GL_PERHAPS_EARLIER;
    bool in_part = !has_first(&dated->date) || dated->date.first < than->first;
    return in_part ? GL_PERHAPS_EARLIER : GL_NOT_EARLIER;
}
