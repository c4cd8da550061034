/* The computation of plating: standing, locate, alike, chart, dates. */
#include <stddef.h>
#include <string.h>

#include "converters.h"
#include "new_file.h"
#include "numbers.h"
#include "record.h"
#include "refuse.h"
#include "verbs.h"

/* standing: which stamps are asked for. */
typedef struct asked {
    const char *standing;
    glassine_record *plate, *contributor; /* NULL: any */
} asked;

static glassine_status take_filter(cli_call *call, asked *wanted) {
    for (size_t i = 0; i < call->args->field_count; i++) {
        const glassine_assignment *given = &call->args->fields[i];
        glassine_status status = GLASSINE_OK;
        if (strcmp(given->field, "standing") == 0) {
            wanted->standing = given->value;
        } else if (strcmp(given->field, "plate") == 0) {
            status = cli_find(call, "plate", given->value, &wanted->plate);
        } else if (strcmp(given->field, "contributor") == 0) {
            status = cli_find(call, "contributor", given->value, &wanted->contributor);
        } else {
            status = cli_refuse(call->error, given->field, "standing=, plate= and contributor= choose stamps",
                                "stamps are not chosen by this");
        }
        if (status != GLASSINE_OK) {
            return status;
        }
    }
    return GLASSINE_OK;
}

static bool plate_is_left(glassine_standings *standings, size_t index, const glassine_record *plate) {
    glassine_record *left;
    const char *expression;
    uint32_t count;
    for (size_t i = 0; glassine_standings_places(standings, index, i, &left, &expression, &count); i++) {
        if (left == plate) {
            return true;
        }
    }
    return false;
}

static bool somebody_claims(cli_call *call, glassine_record *stamp, glassine_record *contributor) {
    cli_records claims;
    if (cli_referrers(call, stamp, "claim", &claims) != GLASSINE_OK) {
        return false;
    }
    const char *who = cli_id(call, contributor);
    for (size_t i = 0; i < claims.count; i++) {
        if (cli_span_is(glassine_record_author(call->bundle, claims.list[i]), who)) {
            return true;
        }
    }
    return false;
}

static bool fits(cli_call *call, glassine_standings *standings, size_t index, const asked *wanted) {
    glassine_stamp_standing it = glassine_standings_at(standings, index);
    return (wanted->standing == NULL || strcmp(wanted->standing, it.standing) == 0) &&
           (wanted->plate == NULL || plate_is_left(standings, index, wanted->plate)) &&
           (wanted->contributor == NULL || somebody_claims(call, it.stamp, wanted->contributor));
}

/* The stamps that the filter leaves, in the call's pool. */
static glassine_status choose(cli_call *call, const asked *wanted, cli_records *stamps) {
    glassine_standings *standings;
    glassine_status status = glassine_standings_new(call->bundle, NULL, &standings, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    size_t count = glassine_standings_count(standings);
    stamps->count = 0;
    stamps->list = cli_pool_take(call->pool, (count + 1) * sizeof(glassine_record *));
    for (size_t i = 0; stamps->list != NULL && i < count; i++) {
        if (fits(call, standings, i, wanted)) {
            stamps->list[stamps->count++] = glassine_standings_at(standings, i).stamp;
        }
    }
    glassine_standings_free(standings);
    return stamps->list != NULL ? GLASSINE_OK : cli_memory(call->error);
}

static glassine_status name_stamps(cli_call *call, cli_records *stamps) {
    const cli_args *args = call->args;
    stamps->list = cli_pool_take(call->pool, (args->word_count + 1) * sizeof(glassine_record *));
    if (stamps->list == NULL) {
        return cli_memory(call->error);
    }
    glassine_status status = GLASSINE_OK;
    for (stamps->count = 0; stamps->count < args->word_count && status == GLASSINE_OK; stamps->count++) {
        status = cli_find(call, "stamp", args->words[stamps->count], &stamps->list[stamps->count]);
    }
    return status;
}

glassine_status cli_standing(cli_call *call) {
    const cli_args *args = call->args;
    asked wanted = {0};
    cli_records stamps = {NULL, 0};
    glassine_status status = take_filter(call, &wanted);
    if (status == GLASSINE_OK && args->word_count != 0 && args->field_count != 0) {
        status = cli_refuse(call->error, NULL, "Leave one of the two out",
                            "stamps are either named, or chosen by standing, plate or contributor");
    }
    if (status == GLASSINE_OK && args->word_count != 0) {
        status = name_stamps(call, &stamps);
    }
    if (status == GLASSINE_OK && args->field_count != 0) {
        status = choose(call, &wanted, &stamps);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    return glassine_standing(call->bundle, stamps.list, stamps.count, call->report, call->error);
}

/* The parameters of the ranking by their names. */
typedef struct parameter {
    const char *name;
    size_t slot;
} parameter;
#define PARAMETER(name)                                                                                      \
    { #name, offsetof(glassine_ranking, name) }
static const parameter PARAMETERS[] = {
    PARAMETER(visibility),      PARAMETER(visibility_least),
    PARAMETER(visibility_most), PARAMETER(spread_least),
    PARAMETER(together),        PARAMETER(other_appearance),
    PARAMETER(no_place),        PARAMETER(stray),
    PARAMETER(stray_shared),    PARAMETER(stray_least),
    PARAMETER(trace),           PARAMETER(reach),
    PARAMETER(silent),          PARAMETER(hasty),
};
#define PARAMETER_COUNT (sizeof PARAMETERS / sizeof PARAMETERS[0])

static double *slot_of(glassine_ranking *ranking, const char *name) {
    for (size_t i = 0; i < PARAMETER_COUNT; i++) {
        if (strcmp(PARAMETERS[i].name, name) == 0) {
            return (double *)(void *)((char *)ranking + PARAMETERS[i].slot);
        }
    }
    return NULL;
}

static glassine_status take_parameters(cli_call *call, glassine_ranking *ranking) {
    *ranking = glassine_ranking_default();
    for (size_t i = 0; i < call->args->field_count; i++) {
        const glassine_assignment *given = &call->args->fields[i];
        double *slot = slot_of(ranking, given->field);
        if (slot == NULL) {
            return cli_refuse(call->error, given->field, "`glassine help locate` names them",
                              "the ranking has no such parameter");
        }
        glassine_status status = cli_read_decimal(given->field, given->value, slot, call->error);
        if (status != GLASSINE_OK) {
            return status;
        }
    }
    return GLASSINE_OK;
}

glassine_status cli_locate(cli_call *call) {
    const cli_args *args = call->args;
    glassine_ranking ranking;
    glassine_locate_options options = {.ranking = &ranking,
                                       .within = args->option[CLI_WITHIN],
                                       .with_claims = cli_has(args, CLI_WITH_CLAIMS)};
    glassine_record *stamp;
    glassine_status status = take_parameters(call, &ranking);
    if (status == GLASSINE_OK) {
        status = cli_find(call, "stamp", args->words[0], &stamp);
    }
    if (status == GLASSINE_OK && args->word_count > 1) {
        status = cli_find(call, "plate", args->words[1], &options.plate);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    return glassine_locate(call->bundle, stamp, &options, call->report, call->error);
}

glassine_status cli_alike(cli_call *call) {
    glassine_ranking ranking;
    glassine_record *stamp;
    glassine_status status = take_parameters(call, &ranking);
    if (status == GLASSINE_OK) {
        status = cli_find(call, "stamp", call->args->words[0], &stamp);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    return glassine_alike(call->bundle, stamp, &ranking, 0, call->report, call->error);
}

/* The plate that was named, or the only one there is. */
static glassine_status find_plate(cli_call *call, glassine_record **plate) {
    if (call->args->word_count > 0) {
        return cli_find(call, "plate", call->args->words[0], plate);
    }
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(call->bundle, "plate", false, &cursor, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    *plate = glassine_cursor_next(cursor);
    bool alone = *plate != NULL && glassine_cursor_next(cursor) == NULL;
    glassine_cursor_free(cursor);
    if (alone) {
        return GLASSINE_OK;
    }
    return cli_refuse(call->error, call->path, "Name the plate",
                      *plate == NULL ? "there is no plate" : "there are several plates");
}

typedef struct chart_job {
    cli_call *call;
    glassine_record *plate;
} chart_job;

static glassine_status write_chart(void *job, glassine_write write, void *context) {
    const chart_job *it = job;
    return glassine_chart_svg(it->call->bundle, it->plate, write, context, NULL, it->call->error);
}

glassine_status cli_chart(cli_call *call) {
    glassine_record *plate;
    glassine_status status = find_plate(call, &plate);
    if (status == GLASSINE_OK && cli_has(call->args, CLI_SVG)) {
        chart_job job = {call, plate};
        status = cli_to_file(call, call->args->option[CLI_SVG], write_chart, &job);
    }
    return status != GLASSINE_OK ? status
                                 : glassine_chart_report(call->bundle, plate, call->report, call->error);
}

glassine_status cli_dates(cli_call *call) {
    glassine_record *plate;
    glassine_status status = find_plate(call, &plate);
    return status != GLASSINE_OK ? status : glassine_dates(call->bundle, plate, call->report, call->error);
}
