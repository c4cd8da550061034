/* What a merge brought in a sentence or two, and what it leaves to whoever reads it, with commands that can
 * be pasted. */
#include <stdio.h>

#include "exchange/merge_report.h"
#include "exchange/merge_text.h"
#include "exchange/sent.h"
#include "report/report.h"

/* "reply.glassine, a reply to what was sent on 2026-11-25" */
static void add_only_source(const gl_merge_report *it, glassine_bundle *bundle, gl_buf *out) {
    enum { DAY = 10 };
    const char *slash = strrchr(it->source->path, '/'), *kind = it->source->kind;
    gl_buf_printf(out, "%s, %s", slash && slash[1] ? slash + 1 : it->source->path,
                  strcmp(kind, "answers") == 0 ? "answers"
                  : strcmp(kind, "sheet") == 0 ? "a reply sheet"
                  : strcmp(kind, "reply") == 0 ? "a reply"
                                               : "a bundle");
    glassine_record *sent = it->source->answers
                                ? glassine_bundle_record(bundle, gl_span_of(it->source->answers), GL_NO_SPAN)
                                : NULL;
    gl_span on =
        sent && gl_event_is(bundle, sent, "sent") ? glassine_record_text(bundle, sent, "on") : GL_NO_SPAN;
    if (on.text && strcmp(kind, "bundle") != 0)
        gl_buf_printf(out, " to what was sent on %.*s", GL_SPAN_ARGS(gl_span_part(on, 0, DAY)));
}

/* "3 sources", of those that were not left out. */
static void add_sources(const gl_merge_report *it, gl_buf *out) {
    size_t taken = it->sources - it->refused;
    gl_buf_printf(out, "%zu source%s", taken, taken == 1 ? "" : "s");
}

/* What came, in a sentence or two. */
static void say_what_came(const gl_merge_report *it, glassine_bundle *bundle) {
    gl_buf text = GL_BUF_EMPTY;
    if (it->sources == 1)
        add_only_source(it, bundle, &text);
    else
        add_sources(it, &text);
    gl_buf_printf(&text, ": %llu new statement%s", (unsigned long long)it->new_slips,
                  it->new_slips == 1 ? "" : "s");
    if (it->speaker.text)
        gl_buf_printf(&text, " by %.*s", GL_SPAN_ARGS(it->speaker));
    else if (it->speakers)
        gl_buf_printf(&text, " by %zu people", it->speakers);
    if (it->scans)
        gl_buf_printf(&text, ", %llu new scan%s", (unsigned long long)it->scans, it->scans == 1 ? "" : "s");
    if (it->known)
        gl_buf_printf(&text, "; %llu %s here already", (unsigned long long)it->known,
                      it->known == 1 ? "was" : "were");
    if (it->sources > 1 && it->idle)
        gl_buf_printf(&text, "; there was nothing new in %zu of them", it->idle);
    gl_node_check(it->head, &text);
    glassine_node_say(it->head, "%s.", text.failed ? "" : text.text);
    gl_buf_free(&text);
}

static void add_count(gl_buf *out, const char *before, size_t count, const char *one, const char *many) {
    if (count)
        gl_buf_printf(out, "%s%s%zu %s", out->length ? ". " : "", before, count, count == 1 ? one : many);
}

/* "New: 3 claims, 2 observations. Changed: 4 fields. Contested: 1 field." */
static void say_in_short(const gl_merge_report *it) {
    gl_buf text = GL_BUF_EMPTY;
    for (size_t i = 0; i < it->type_count; i++) {
        gl_buf_add_text(&text, i ? ", " : "New: ");
        gl_merge_text_type(it->types[i].type, it->types[i].count, &text);
    }
    add_count(&text, "Changed: ", it->of[GLASSINE_MET_CHANGED].count - it->sheets, "field", "fields");
    add_count(&text, "Contested: ", it->of[GLASSINE_MET_CONTESTED].count, "field", "fields");
    add_count(&text, "Standing elsewhere than before: ", it->of[GLASSINE_MET_STANDING].count, "stamp",
              "stamps");
    gl_node_check(it->head, &text);
    if (text.length && !text.failed)
        glassine_node_say(it->head, "%s.", text.text);
    gl_buf_free(&text);
}

/* "3 fields are contested" and what to do, with commands that can be pasted (NULL: none): `one` and `many`
 * are what stands behind the number, `how` is said of either (NULL: nothing more). */
static void leave(const gl_merge_report *it, glassine_node **list, size_t count, bool attention,
                  const char *one, const char *many, const char *how, const gl_buf *commands) {
    if (!count)
        return;
    if (!*list)
        *list = glassine_node_list(it->result, NULL, "Left to you");
    const char *space = how ? " " : "", *rest = how ? how : "";
    if (count == 1)
        glassine_node_say(*list, "- %s%s%s", one, space, rest);
    else
        glassine_node_say(*list, "- %zu %s%s%s", count, many, space, rest);
    if (commands && commands->length && !commands->failed)
        glassine_node_drawing(*list, commands->text);
    if (attention)
        glassine_report_attention(it->report);
}

/* "    glassine VERB FILE WORDS", a line of its own. */
static void add_command(gl_buf *out, const char *verb, const char *file, const gl_buf *words) {
    gl_buf_printf(out, "%s    glassine %s ", out->length ? "\n" : "", verb);
    gl_merge_text_word(gl_span_of(file), out);
    gl_buf_printf(out, " %s", words->text ? words->text : "");
}

static void say_what_is_to_be_decided(const gl_merge_report *it, const char *file, glassine_node **list) {
    const gl_merge_section *of = it->of;
    gl_buf settle = GL_BUF_EMPTY, standing = GL_BUF_EMPTY;
    add_command(&settle, "settle", file, &it->take);
    add_command(&settle, "settle", file, &it->settle);
    add_command(&standing, "standing", file, &it->disputed_name);
    gl_node_check(it->result, &settle);
    gl_node_check(it->result, &standing);
    leave(
        it, list, of[GLASSINE_MET_QUESTION].count, true,
        it->held ? "Something is not understood."
                 : "Something is not understood. It is left out, and kept in the letter.",
        it->held ? "things are not understood."
                 : "things are not understood. They are left out, and kept in the letter.",
        it->held
            ? "`--understand '3: 64, early'` says how answer 3 is meant, `--accept-partial` takes the others. "
              "Without either nothing is written."
            : "`--understand '3: 64, early'` says how answer 3 is meant, in another merge.",
        NULL);
    leave(it, list, of[GLASSINE_MET_CONTESTED].count, true, "A field is contested.", "fields are contested.",
          "To take somebody's value, or to say another:", &settle);
    leave(it, list, it->disputed, false, "A stamp is disputed now.", "stamps are disputed now.",
          "What cannot all be true:", &standing);
    leave(it, list, of[GLASSINE_MET_COMBINED].records, true, "A record combines several people's changes:",
          "records combine several people's changes:", "see above whether they fit together.", NULL);
    gl_buf_free(&settle);
    gl_buf_free(&standing);
}

/* "`glassine VERB FILE WORDS": a command to be filled in, within a sentence. */
static void add_hint(gl_buf *out, const char *verb, const char *file, const char *rest) {
    gl_buf_printf(out, "`glassine %s ", verb);
    gl_merge_text_word(gl_span_of(file), out);
    gl_buf_add_text(out, rest);
}

static void say_what_is_left(const gl_merge_report *it, const char *file) {
    const gl_merge_section *of = it->of;
    glassine_node *list = NULL;
    gl_buf join = GL_BUF_EMPTY, rename = GL_BUF_EMPTY;
    say_what_is_to_be_decided(it, file, &list);
    add_hint(&join, "join", file, " ONE OTHER` says so.");
    add_hint(&rename, "revise", file, " RECORD label=…` gives one of them another name.");
    leave(it, &list, of[GLASSINE_MET_TWINS].count, false, "Two records may be one and the same:",
          "pairs of records may be one and the same:", gl_buf_span(&join).text, NULL);
    leave(it, &list, of[GLASSINE_MET_SAME_LABEL].count, false,
          "Two records have one name:", "names mean two records:", gl_buf_span(&rename).text, NULL);
    leave(it, &list, of[GLASSINE_MET_NOT_COUNTED].count, true,
          "Something does not count, for the reason given above.",
          "things do not count, for the reasons given above.", NULL, NULL);
    leave(it, &list, of[GLASSINE_MET_FAULT].count, true,
          "Something is not as it should be: its author may correct it.",
          "things are not as they should be: their authors may correct them.", NULL, NULL);
    leave(it, &list, it->refused, true, "A source was left out: get it again.",
          "sources were left out: get them again.", NULL, NULL);
    leave(
        it, &list, of[GLASSINE_MET_INCOMPLETE].count, false,
        "A record waits for earlier statements. What it says counts already, and may change when they come.",
        "records wait for earlier statements. What they say counts already, and may change when those come.",
        NULL, NULL);
    if (!list)
        glassine_node_say(it->result, "Nothing is left for you to decide.");
    gl_buf_free(&join);
    gl_buf_free(&rename);
}

void gl_merge_summary(const gl_merge_report *it, glassine_bundle *bundle) {
    say_what_came(it, bundle);
    say_in_short(it);
    say_what_is_left(it, bundle->file);
}
