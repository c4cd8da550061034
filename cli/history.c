#include "history.h"

#include <stdlib.h>
#include <string.h>

#include "describe.h"
#include "line.h"
#include "refuse.h"

/* What a field was before is looked for among the statements that a slip follows. Beyond this many on one
 * record the search, which is quadratic, is left out. */
enum { FOLLOWED_MOST = 4000 };

typedef struct story {
    glassine_slip *slips; /* each after all it follows */
    size_t count;
    const glassine_slip **by_digest; /* the same, sorted */
    bool *follows; /* of the slip at hand: does it follow that one, directly or through others? */
    bool searched;
} story;

static int by_digest(const void *a, const void *b) {
    const glassine_slip *const *x = a, *const *y = b;
    return memcmp((*x)->digest, (*y)->digest, 64);
}

/* The slip of this digest among those before `until`; `until` where there is none. */
static size_t find_slip(const story *past, glassine_span digest, size_t until) {
    for (size_t low = 0, high = past->count; digest.length == 64 && low < high;) {
        size_t middle = low + (high - low) / 2;
        int order = memcmp(past->by_digest[middle]->digest, digest.text, 64);
        if (order == 0) {
            size_t slip = (size_t)(past->by_digest[middle] - past->slips);
            return slip < until ? slip : until;
        }
        if (order < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    return until;
}

static void mark_followed(cli_call *call, story *past, size_t slip, size_t until) {
    glassine_span name;
    glassine_value digest;
    for (size_t at = 0; glassine_value_next(past->slips[slip].after, &at, &name, &digest);) {
        size_t found = find_slip(past, glassine_value_text(call->bundle, digest), until);
        if (found < until) {
            past->follows[found] = true;
        }
    }
}

/* Marks all that slip number `which` follows. */
static void follow(cli_call *call, story *past, size_t which) {
    memset(past->follows, 0, past->count * sizeof *past->follows);
    mark_followed(call, past, which, which);
    for (size_t i = which; i-- > 0;) {
        if (past->follows[i]) {
            mark_followed(call, past, i, i);
        }
    }
}

/* Does the slip touch the field? *value is absent where it clears it. */
static bool touches(cli_call *call, const glassine_slip *slip, glassine_span field, glassine_value *value) {
    glassine_span name;
    glassine_value element;
    for (size_t at = 0; glassine_value_next(slip->set, &at, &name, value);) {
        if (name.length == field.length && memcmp(name.text, field.text, field.length) == 0) {
            return true;
        }
    }
    *value = (glassine_value){NULL, 0};
    for (size_t at = 0; slip->clear.text != NULL && glassine_value_next(slip->clear, &at, &name, &element);) {
        glassine_span cleared = glassine_value_text(call->bundle, element);
        if (cleared.length == field.length && memcmp(cleared.text, field.text, field.length) == 0) {
            return true;
        }
    }
    return false;
}

/* What the field was before slip number `which`: what the nearest one that it follows says. */
static bool value_before(cli_call *call, const story *past, size_t which, glassine_span field,
                         glassine_value *value) {
    for (size_t i = which; past->searched && i-- > 0;) {
        if (past->follows[i] && touches(call, &past->slips[i], field, value)) {
            return true;
        }
    }
    *value = (glassine_value){NULL, 0};
    return false;
}

typedef struct telling {
    glassine_node *list;  /* for JSON */
    glassine_node *lines; /* for text */
    const glassine_type_info *type;
} telling;

static void add_value(glassine_node *node, const char *key, glassine_value value) {
    glassine_node_json(node, key, value.text != NULL ? value : (glassine_span){"null", 4});
}

static const char *shown(cli_call *call, glassine_value value, const glassine_field_info *info) {
    const char *text = value.text != NULL
                           ? cli_pool_span(call->pool, glassine_value_shown(call->bundle, value, info))
                           : "nothing";
    return text != NULL ? text : "";
}

static void add_change(cli_call *call, const story *past, size_t which, glassine_span field,
                       glassine_value to, const telling *change) {
    glassine_value from;
    bool before = value_before(call, past, which, field, &from);
    const char *name = cli_pool_span(call->pool, field);
    if (name == NULL) {
        return;
    }
    const glassine_field_info *info = change->type != NULL ? glassine_type_field(change->type, name) : NULL;
    glassine_node *node = glassine_node_object(change->list, NULL, NULL);
    glassine_node_string(node, "field", NULL, name);
    add_value(node, "from", from);
    add_value(node, "to", to);
    if (before) {
        glassine_node_format(change->lines, NULL, name, "%s → %s", shown(call, from, info),
                             shown(call, to, info));
    } else {
        glassine_node_string(change->lines, NULL, name, shown(call, to, info));
    }
}

static void add_slip(cli_call *call, story *past, size_t which, const glassine_type_info *type,
                     glassine_node *list) {
    const glassine_slip *slip = &past->slips[which];
    if (past->searched) {
        follow(call, past, which);
    }
    glassine_span by = cli_person(call, slip->by);
    cli_line heading = {0};
    cli_line_add(&heading, "%.*s  %.*s  edition %u", (int)slip->at.length, slip->at.text, (int)by.length,
                 by.text, slip->edition);
    if (slip->reach != GLASSINE_SHARED) {
        cli_line_add(&heading, "  %s", glassine_reach_name(slip->reach));
    }
    glassine_node *node = glassine_node_object(list, NULL, heading.text);
    glassine_node_string(node, "slip", NULL, slip->digest);
    glassine_node_integer(node, "edition", NULL, slip->edition);
    glassine_node_text(node, "at", NULL, slip->at);
    glassine_node_text(node, "by", NULL, slip->by);
    glassine_node_text(node, "by_name", NULL, by);
    glassine_node_text(node, "via", NULL, slip->via);
    glassine_node_string(node, "reach", NULL, glassine_reach_name(slip->reach));
    glassine_node_text(node, "why", NULL, slip->why);
    telling change = {glassine_node_list(node, "changes", NULL), node, type};
    glassine_span name;
    glassine_value value;
    for (size_t at = 0; glassine_value_next(slip->set, &at, &name, &value);) {
        add_change(call, past, which, name, value, &change);
    }
    for (size_t at = 0; slip->clear.text != NULL && glassine_value_next(slip->clear, &at, &name, &value);) {
        add_change(call, past, which, glassine_value_text(call->bundle, value), (glassine_value){NULL, 0},
                   &change);
    }
    if (slip->via.text != NULL) {
        glassine_node_text(node, NULL, "(written down by)", cli_person(call, slip->via));
    }
    if (slip->why.length > 0) {
        glassine_node_text(node, NULL, "(why)", slip->why);
    }
}

static bool sort_digests(cli_call *call, story *past) {
    past->by_digest = cli_pool_take(call->pool, (past->count + 1) * sizeof *past->by_digest);
    past->follows = cli_pool_take(call->pool, (past->count + 1) * sizeof *past->follows);
    if (past->by_digest == NULL || past->follows == NULL) {
        return false;
    }
    for (size_t i = 0; i < past->count; i++) {
        past->by_digest[i] = &past->slips[i];
    }
    if (past->count > 0) {
        qsort(past->by_digest, past->count, sizeof *past->by_digest, by_digest);
    }
    return true;
}

glassine_status cli_history(cli_call *call, glassine_node *node, glassine_record *record) {
    const uint32_t *numbers;
    story past = {0};
    glassine_status status =
        glassine_record_history(call->bundle, record, &numbers, &past.count, call->error);
    if (status != GLASSINE_OK) {
        return status;
    }
    past.slips = cli_pool_take(call->pool, (past.count + 1) * sizeof *past.slips);
    if (past.slips == NULL) {
        return cli_memory(call->error);
    }
    for (size_t i = 0; i < past.count; i++) {
        past.slips[i] = glassine_bundle_slip(call->bundle, numbers[i]);
    }
    past.searched = past.count <= FOLLOWED_MOST;
    if (past.searched && !sort_digests(call, &past)) {
        return cli_memory(call->error);
    }
    glassine_node *list = glassine_node_list(node, "history", "history");
    for (size_t i = 0; i < past.count; i++) {
        add_slip(call, &past, i, glassine_record_info(call->bundle, record), list);
    }
    return GLASSINE_OK;
}
