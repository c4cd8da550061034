/* What a converter shows of a record: without private slips, unless they were asked for. */
#ifndef CONVERTERS_VIEW_H
#define CONVERTERS_VIEW_H

#include "glassine.h"

/* A field in one reach that says something: a value, or several that contest each other. */
typedef struct conv_said {
    const glassine_field *field;
    bool leading; /* of those of this name the first, in the order shared, telling, private */
} conv_said;

typedef struct conv_slip {
    glassine_span line; /* canonical JSON */
    uint32_t edition;
    char digest[65];
} conv_slip;

/* One record at a time; arrays are reused. */
typedef struct conv_view {
    glassine_bundle *bundle;
    bool with_private;
    glassine_record *record;
    conv_said *said; /* sorted by name, then reach */
    size_t said_count, said_room;
    conv_slip *slips; /* those that are shown, each after those that it follows */
    size_t slip_count, slip_room;
    char (*latest)[65]; /* digests of the latest slips: reach after reach, sorted; see conv_latest */
    size_t latest_from[GLASSINE_REACHES + 1], latest_room;
    bool holds_private; /* something that is shown is private */
} conv_view;

void conv_view_free(conv_view *view);

/* Looks at `record`. *shown is false where all its slips are private and these were not asked for. */
glassine_status conv_view_look(conv_view *view, glassine_record *record, bool *shown, glassine_error *error);

/* The same of what the record was for somebody who had these slips and what they follow; without slips. */
glassine_status conv_view_look_back(conv_view *view, glassine_record *record, const char (*slips)[65],
                                    size_t slip_count, glassine_error *error);
/* What is said by that name in that reach; NULL: nothing. */
const glassine_field *conv_view_field(const conv_view *view, glassine_span name, glassine_reach reach);

/* Digests of the latest slips of a reach, sorted. */
static inline size_t conv_latest(const conv_view *view, glassine_reach reach, const char (**digests)[65]) {
    if (!view->latest)
        return 0;
    *digests = (const char(*)[65])view->latest + view->latest_from[reach];
    return view->latest_from[reach + 1] - view->latest_from[reach];
}

/* Is there no slip, in the reaches that are shown, that counts? Then a change follows none. */
static inline bool conv_nothing_counts(const conv_view *view) {
    return view->latest_from[GLASSINE_REACHES] == 0;
}

/* The value that stands; absent for a contested field. */
static inline glassine_value conv_value(const conv_said *said) {
    return said->field->contested ? (glassine_value){NULL, 0} : said->field->sayings[0].value;
}

/* What people call a record; absent where this would tell something private that was not asked for. */
glassine_span conv_label(glassine_bundle *bundle, glassine_record *record, bool with_private);
/* The same of the record that a reference leads to; absent where it is not there. */
glassine_span conv_label_of(glassine_bundle *bundle, glassine_span id, bool with_private);
/* The same; where it is not there, `id` stands for it. */
glassine_span conv_name_of(glassine_bundle *bundle, glassine_span id, bool with_private);

/* Does something private stand behind what is worked out of the bundle (standings, charts)? Then such a
 * figure tells of it, and is for those only who asked for what is private. */
glassine_status conv_grounds_are_private(glassine_bundle *bundle, bool *hidden, glassine_error *error);

/* What a reader has to be told of the records that are shown ("A claim is an opinion …"): each caution once,
 * sorted. */
#define CONV_CAUTIONS_MOST 16
typedef struct conv_cautions {
    const char *text[CONV_CAUTIONS_MOST]; /* static text of the table of types */
    size_t count;
} conv_cautions;
glassine_status conv_cautions_look(conv_cautions *cautions, conv_view *view, glassine_record *record,
                                   glassine_error *error);

#endif
