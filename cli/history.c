#include "history.h"

#include "describe.h"
#include "line.h"
#include "refuse.h"

/* Where the changes of a slip go. */
typedef struct telling {
    glassine_node *list;  /* for JSON */
    glassine_node *lines; /* for text */
} telling;

static void add_value(glassine_node *node, const char *key, glassine_value value) {
    glassine_node_json(node, key, value.text != NULL ? value : (glassine_span){"null", 4});
}

static glassine_span shown(cli_call *call, glassine_value value, const glassine_field_info *info) {
    return value.text != NULL ? glassine_value_shown(call->bundle, value, info)
                              : (glassine_span){"nothing", 7};
}

/* "blue | green" of what a field was, with how many more there were. */
static const char *shown_from(cli_call *call, const glassine_change *change) {
    const char *text = "";
    for (size_t i = 0; i < change->from_count && text != NULL; i++) {
        glassine_span value = shown(call, change->from[i].value, change->info);
        text =
            cli_pool_print(call->pool, "%s%s%.*s", text, i > 0 ? " | " : "", (int)value.length, value.text);
    }
    if (text != NULL && change->from_total > change->from_count) {
        text = cli_pool_print(call->pool, "%s | and %u more", text, change->from_total - change->from_count);
    }
    return text != NULL ? text : "";
}

static const char *fate_name(glassine_fate fate) {
    static const char *const NAMES[] = {[GLASSINE_FOLLOWED] = "followed",
                                        [GLASSINE_STANDS] = "stands",
                                        [GLASSINE_DISPUTED] = "contested",
                                        [GLASSINE_UNCOUNTED] = "not counted"};
    return NAMES[fate];
}

/* The values that a change settled, each with its author. */
static void add_settled(cli_call *call, glassine_node *node, const glassine_change *change) {
    glassine_node *list = glassine_node_list(node, "settles", NULL);
    for (size_t i = 0; i < change->from_count; i++) {
        const glassine_saying *said = &change->from[i];
        glassine_node *one = glassine_node_object(list, NULL, NULL);
        add_value(one, "value", said->value);
        glassine_node_text(one, "by", NULL, said->by);
        glassine_node_text(one, "by_name", NULL, cli_person(call, said->by));
        glassine_node_text(one, "at", NULL, said->at);
    }
}

static void add_change(cli_call *call, const glassine_change *change, const telling *to) {
    glassine_node *node = glassine_node_object(to->list, NULL, NULL);
    glassine_node_text(node, "field", NULL, change->field);
    add_value(node, "from", change->from_count == 1 ? change->from[0].value : (glassine_value){NULL, 0});
    add_value(node, "to", change->value);
    glassine_node_string(node, "fate", NULL, fate_name(change->fate));
    if (change->from_total > 1) {
        add_settled(call, node, change);
    }
    glassine_span value = shown(call, change->value, change->info);
    glassine_node_format(to->lines, NULL, cli_pool_span(call->pool, change->field), "%s%s%.*s%s",
                         shown_from(call, change), change->from_count > 0 ? " → " : "", (int)value.length,
                         value.text,
                         change->fate == GLASSINE_DISPUTED    ? "  (contested)"
                         : change->fate == GLASSINE_UNCOUNTED ? "  (not counted)"
                                                              : "");
}

static telling add_slip(cli_call *call, const glassine_slip *slip, glassine_node *list) {
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
    glassine_node_string(node, "word", NULL, glassine_word_name(slip->word));
    if (slip->word != GLASSINE_WORD_PLAIN) {
        glassine_node_string(node, NULL, "(word)", cli_word(slip->word));
    }
    glassine_node_text(node, "why", NULL, slip->why);
    return (telling){glassine_node_list(node, "changes", NULL), node};
}

static void add_remarks(cli_call *call, const glassine_slip *slip, glassine_node *node) {
    if (slip->via.text != NULL) {
        glassine_node_text(node, NULL, "(written down by)", cli_person(call, slip->via));
    }
    if (slip->why.length > 0) {
        glassine_node_text(node, NULL, "(why)", slip->why);
    }
}

glassine_status cli_history(cli_call *call, glassine_node *node, glassine_record *record) {
    const uint32_t *slips;
    const glassine_change *changes;
    size_t slip_count, change_count, at = 0;
    glassine_status status = glassine_record_history(call->bundle, record, &slips, &slip_count, call->error);
    if (status == GLASSINE_OK) {
        status = glassine_record_life(call->bundle, record, &changes, &change_count, call->error);
    }
    if (status != GLASSINE_OK) {
        return status;
    }
    glassine_node *list = glassine_node_list(node, "history", "history");
    for (size_t i = 0; i < slip_count; i++) {
        glassine_slip slip = glassine_bundle_slip(call->bundle, slips[i]);
        telling to = add_slip(call, &slip, list);
        for (; at < change_count && changes[at].slip == slips[i]; at++) {
            add_change(call, &changes[at], &to);
        }
        add_remarks(call, &slip, to.lines);
    }
    return GLASSINE_OK;
}
