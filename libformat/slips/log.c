#include "slips/log.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/work.h"
#include "slips/chain.h"
#include "slips/members.h"

struct gl_log {
    gl_store *store;
    gl_hash *hash;
    gl_digest chain; /* c of the last line */
    gl_edition *editions;
    gl_span *signatures;
    size_t edition_count, edition_room, signature_count, signature_room;
    uint64_t bytes, unknown;
    uint32_t slips;
    gl_watch *watch; /* NULL: nobody's */
};

gl_log *gl_log_new(gl_store *store) {
    gl_log *log = calloc(1, sizeof *log);
    if (!log)
        return NULL;
    log->store = store;
    log->hash = gl_hash_new();
    if (!log->hash) {
        gl_log_free(log);
        return NULL;
    }
    return log;
}

void gl_log_free(gl_log *log) {
    if (!log)
        return;
    gl_hash_free(log->hash);
    free(log->editions);
    free(log->signatures);
    free(log);
}

static void *copied(const void *from, size_t count, size_t size) {
    void *to = malloc((count + 1) * size);
    if (to && count)
        memcpy(to, from, count * size);
    return to;
}

gl_log *gl_log_beginning(const gl_log *of, uint32_t edition, gl_store *store) {
    const gl_edition *last = &of->editions[edition - 1];
    gl_log *log = gl_log_new(store);
    if (!log)
        return NULL;
    log->editions = copied(of->editions, edition, sizeof *log->editions);
    log->signatures = copied(of->signatures, last->signatures, sizeof *log->signatures);
    if (!log->editions || !log->signatures) {
        gl_log_free(log);
        return NULL;
    }
    log->edition_count = log->edition_room = edition;
    log->signature_count = log->signature_room = last->signatures;
    log->unknown = last->unknown;
    log->chain = last->log;
    log->bytes = last->end;
    log->slips = last->slips;
    return log;
}

void gl_log_watch(gl_log *log, gl_watch *watch) {
    log->watch = watch;
}

gl_edition_view gl_edition_said(const gl_edition *edition) {
    gl_edition_view view;
    gl_edition_look(edition->line, &view);
    return view;
}

uint32_t gl_log_editions(const gl_log *log) {
    return (uint32_t)log->edition_count;
}

const gl_edition *gl_log_edition(const gl_log *log, uint32_t number) {
    return number >= 1 && number <= log->edition_count ? &log->editions[number - 1] : NULL;
}

uint64_t gl_log_unknown(const gl_log *log) {
    return log->unknown;
}

size_t gl_log_signatures(const gl_log *log) {
    return log->signature_count;
}

gl_span gl_log_signature(const gl_log *log, size_t index) {
    return log->signatures[index];
}

/* -------------------------------------------------------------------------------------------- reading it */

/* What an edition line says of the log. */
typedef struct closing {
    gl_span log;
    int64_t number, slips;
} closing;

/* A line, and what is found out about it before its turn comes. */
typedef struct waiting {
    gl_span line;
    union {
        gl_prepared slip;
        struct {
            closing edition;  /* of an edition line */
            gl_digest digest; /* what it is linked by */
        };
    };
    gl_line_kind kind;
    bool unsound; /* what is wrong is told when its turn comes */
} waiting;

static glassine_status read_slip(gl_log *log, const gl_prepared *prepared, const glassine_limits *limits,
                                 glassine_error *error) {
    uint32_t slip;
    bool added;
    glassine_status status = gl_store_add_prepared(log->store, prepared, (uint32_t)log->edition_count + 1,
                                                   limits, &slip, &added, error);
    if (status)
        return status;
    if (!added)
        return gl_fail(error, GLASSINE_REFUSED, "S013", NULL, "the same slip is in the log already");
    log->slips++;
    log->chain = gl_chain_link(log->hash, &log->chain, &prepared->digest);
    return GLASSINE_OK;
}

static glassine_status read_other(gl_log *log, const waiting *line, glassine_error *error) {
    if (line->kind == GL_LINE_SIGNATURE) {
        gl_span *grown = log->signatures;
        if (log->signature_count == log->signature_room)
            grown = gl_grow(grown, &log->signature_room, log->signature_count + 1, sizeof *grown);
        if (!grown)
            return gl_fail_memory(error);
        log->signatures = grown;
        log->signatures[log->signature_count++] = line->line;
    } else {
        log->unknown++;
    }
    log->chain = gl_chain_link(log->hash, &log->chain, &line->digest);
    return GLASSINE_OK;
}

static glassine_status add_edition(gl_log *log, const gl_edition *edition, const glassine_limits *limits,
                                   glassine_error *error) {
    uint64_t asked = GL_LIMIT(limits, editions), most = asked < GL_EDITION_MOST ? asked : GL_EDITION_MOST;
    if (log->edition_count >= most)
        return gl_fail(error, GLASSINE_REFUSED, "L024", NULL, "there are more than %" PRIu64 " editions",
                       most);
    if (log->edition_count == log->edition_room) {
        gl_edition *grown =
            gl_grow(log->editions, &log->edition_room, log->edition_count + 1, sizeof *log->editions);
        if (!grown)
            return gl_fail_memory(error);
        log->editions = grown;
    }
    log->editions[log->edition_count++] = *edition;
    return GLASSINE_OK;
}

/* `end`: bytes of the whole log up to and with this line. */
static glassine_status read_edition(gl_log *log, const waiting *line, uint64_t end,
                                    const glassine_limits *limits, glassine_error *error) {
    gl_edition edition = {.number = (uint32_t)log->edition_count + 1, .line = line->line, .end = end};
    const closing *said = &line->edition;
    if (said->number != (int64_t)edition.number)
        return gl_fail(error, GLASSINE_REFUSED, "E011", NULL,
                       "edition %" PRId64 " stands where %" PRIu32 " belongs", said->number, edition.number);
    if (said->slips != (int64_t)log->slips)
        return gl_fail(error, GLASSINE_REFUSED, "E012", NULL,
                       "edition %" PRIu32 " counts %" PRId64 " slip%s; the log up to it has %" PRIu32,
                       edition.number, said->slips, said->slips == 1 ? "" : "s", log->slips);
    gl_digest fits;
    edition.slips = log->slips;
    edition.signatures = log->signature_count;
    edition.unknown = log->unknown;
    edition.log = gl_chain_link(log->hash, &log->chain, &line->digest);
    if (!gl_digest_parse(said->log, &fits) || !gl_digest_equal(&fits, &edition.log))
        return gl_fail(error, GLASSINE_REFUSED, "E013", NULL,
                       "the `log` value of edition %" PRIu32 " does not fit the lines up to it",
                       edition.number);
    log->chain = edition.log;
    return add_edition(log, &edition, limits, error);
}

/* Lines are checked and hashed on all processors, so many at a time, while those before them are taken in one after the
 * other. */
enum { STRETCH_LEAST = 1024, STRETCH_MOST = 8192, BYTES_EACH = 4096, BATCH = 256, AHEAD = 8 };

typedef struct stretch {
    waiting *lines;
    size_t count;
    uint64_t bytes;
} stretch;

typedef struct log_reading {
    gl_log *log;
    const glassine_limits *limits;
    gl_span segment;
    uint32_t until; /* edition to stop at; 0: none */
    gl_span rest;   /* of the segment: what is not cut into lines yet */
    size_t room;    /* of each stretch, in lines */
    stretch now, next, cut;
    uint64_t number;   /* lines taken in, for messages */
    gl_line_kind kind; /* of the last one */
    glassine_status status;
    glassine_error error;
} log_reading;

static void prepare(const gl_store *store, gl_hash *hash, const gl_members *members, waiting *line) {
    gl_edition_view view;
    switch (line->kind) {
    case GL_LINE_SLIP:
        gl_store_prepare(store, hash, line->line, members, &line->slip);
        break;
    case GL_LINE_EDITION:
        gl_edition_look(line->line, &view);
        line->edition = (closing){view.log, view.edition, view.slips};
        line->digest = gl_chain_edition_line(hash, line->line, view.log);
        break;
    default:
        line->digest = gl_hash_once(hash, line->line.text, line->line.length);
    }
}

static void prepare_batch(const log_reading *it, size_t index) {
    gl_hash *hash = gl_hash_new();
    size_t end = (index + 1) * BATCH < it->next.count ? (index + 1) * BATCH : it->next.count;
    for (size_t i = index * BATCH; i < end; i++) {
        waiting *line = &it->next.lines[i];
        gl_members members;
        line->unsound = !hash || gl_members_check(line->line, it->limits, NULL, &line->kind, &members, NULL);
        if (!line->unsound)
            prepare(it->log->store, hash, &members, line);
    }
    gl_hash_free(hash);
}

/* A line with its \n, at `end` of the log. */
static glassine_status read_line(gl_log *log, waiting *line, uint64_t end, const glassine_limits *limits,
                                 glassine_error *error) {
    if (line->unsound) {
        glassine_status status = gl_line_check(line->line, limits, NULL, &line->kind, error);
        return status ? status : gl_fail_memory(error);
    }
    switch (line->kind) {
    case GL_LINE_SLIP:
        return read_slip(log, &line->slip, limits, error);
    case GL_LINE_EDITION:
        return read_edition(log, line, end, limits, error);
    default:
        return read_other(log, line, error);
    }
}

static glassine_status within(glassine_status status, const char *place, uint64_t line,
                              glassine_error *error) {
    char where[sizeof error->place];
    snprintf(where, sizeof where, "%s%sline %" PRIu64, place ? place : "", place ? ": " : "", line);
    gl_error_within(error, where);
    return status;
}

static glassine_status check_begin(const gl_log *log, gl_span segment, uint32_t first, uint32_t last,
                                   const glassine_limits *limits, const char *place, glassine_error *error) {
    uint64_t most = GL_LIMIT(limits, log_bytes);
    if (segment.length > most || log->bytes > most - segment.length)
        return gl_fail(error, GLASSINE_REFUSED, "L005", place, "the log has more than %" PRIu64 " bytes",
                       most);
    if (first != log->edition_count + 1 || last < first)
        return gl_fail(error, GLASSINE_REFUSED, "E020", place,
                       "the segment is said to hold editions %" PRIu32 " to %" PRIu32 ", and %zu is the next",
                       first, last, log->edition_count + 1);
    return GLASSINE_OK;
}

/* Cuts the next lines off the rest. What has no end of line stays there. */
static void cut_lines(log_reading *it) {
    gl_span *rest = &it->rest;
    it->cut.count = 0;
    it->cut.bytes = 0;
    while (it->cut.count < it->room && rest->length) {
        const char *end = memchr(rest->text, '\n', rest->length);
        if (!end)
            return;
        size_t length = (size_t)(end - rest->text);
        it->cut.lines[it->cut.count++] = (waiting){.line = {rest->text, length}};
        it->cut.bytes += length + 1;
        *rest = gl_span_part(*rest, length + 1, rest->length);
    }
}

static bool is_at_end(const log_reading *it) {
    return it->status || (it->until && it->log->edition_count == it->until);
}

static void take_in(log_reading *it) {
    for (size_t i = 0; i < it->now.count && !is_at_end(it); i++) {
        waiting *line = &it->now.lines[i];
        if (i + AHEAD < it->now.count && it->now.lines[i + AHEAD].kind == GL_LINE_SLIP)
            gl_store_expect(it->log->store, &it->now.lines[i + AHEAD].slip);
        it->number++;
        uint64_t end = (uint64_t)(line->line.text - it->segment.text) + line->line.length + 1;
        it->status = read_line(it->log, line, it->log->bytes + end, it->limits, &it->error);
        it->kind = line->kind;
    }
}

/* What is ready is taken in, what comes after the next is cut into lines, and the next is prepared, which needs nothing of
 * the store that changes with the first. */
enum { TAKE, CUT, PREPARE };

static void do_job(void *context, size_t index) {
    log_reading *it = context;
    if (index == TAKE)
        take_in(it);
    else if (index == CUT)
        cut_lines(it);
    else
        prepare_batch(it, index - PREPARE);
}

/* Slips that the store holds beyond those of the log were checked and hashed when they came: the lines that are just those
 * are only chained. */
static void take_known(log_reading *it) {
    gl_log *log = it->log;
    gl_span *rest = &it->rest;
    for (; log->slips < gl_store_count(log->store); log->slips++, it->number++) {
        gl_span line = gl_store_line(log->store, log->slips);
        if (rest->length <= line.length || rest->text[line.length] != '\n' ||
            memcmp(rest->text, line.text, line.length) != 0)
            break;
        log->chain = gl_chain_link(log->hash, &log->chain, &gl_store_at(log->store, log->slips)->digest);
        *rest = gl_span_part(*rest, line.length + 1, rest->length);
    }
    gl_store_cut(log->store, log->slips);
}

/* Lines are as long as the first ones, or so; those of slips are never shorter than LEAST. */
static bool reserve_slips(const log_reading *it) {
    enum { SAMPLE = 64 * 1024, LEAST = 160 };
    if (it->rest.length < SAMPLE)
        return true;
    size_t lines = 1;
    for (size_t i = 0; i < SAMPLE; i++)
        lines += it->rest.text[i] == '\n';
    size_t length = SAMPLE / lines > LEAST ? SAMPLE / lines : LEAST, slips = it->rest.length / length;
    return gl_store_reserve(it->log->store, slips < UINT32_MAX ? (uint32_t)slips : UINT32_MAX);
}

static glassine_status read_lines(log_reading *it, const char *place, glassine_error *error) {
    take_known(it);
    if (!reserve_slips(it))
        return gl_fail_memory(error);
    cut_lines(it);
    do {
        stretch taken = it->now;
        it->now = it->next;
        it->next = it->cut;
        it->cut = taken;
        if (it->log->watch && !gl_watch_add(it->log->watch, it->next.bytes))
            return gl_watch_fail(error);
        gl_work_on(it->now.bytes + it->next.bytes, PREPARE + (it->next.count + BATCH - 1) / BATCH, do_job, it,
                   NULL);
    } while (it->next.count && !is_at_end(it));
    if (!is_at_end(it) && it->rest.length) {
        it->number++;
        it->status = gl_fail(&it->error, GLASSINE_REFUSED, "S011", NULL, "the last line has no end");
    }
    if (it->status && error)
        *error = it->error;
    return it->status ? within(it->status, place, it->number, error) : GLASSINE_OK;
}

/* Short stretches for a short segment: what is touched for the first time costs as well. */
static size_t stretch_room(size_t length) {
    size_t room = length / BYTES_EACH;
    room = room < STRETCH_LEAST ? STRETCH_LEAST : room > STRETCH_MOST ? STRETCH_MOST : room;
    return length < room ? length + 1 : room; /* an empty line is one byte */
}

glassine_status gl_log_read(gl_log *log, gl_span segment, uint32_t first, uint32_t last, uint32_t until,
                            const glassine_limits *limits, const char *place, glassine_error *error) {
    glassine_status status = check_begin(log, segment, first, last, limits, place, error);
    if (status)
        return status;
    log_reading it = {.log = log,
                      .room = stretch_room(segment.length),
                      .limits = limits,
                      .segment = segment,
                      .until = until,
                      .rest = segment,
                      .kind = GL_LINE_OTHER};
    it.now.lines = malloc(it.room * sizeof *it.now.lines);
    it.next.lines = malloc(it.room * sizeof *it.next.lines);
    it.cut.lines = malloc(it.room * sizeof *it.cut.lines);
    status =
        it.now.lines && it.next.lines && it.cut.lines ? read_lines(&it, place, error) : gl_fail_memory(error);
    free(it.now.lines);
    free(it.next.lines);
    free(it.cut.lines);
    if (status)
        return status;
    bool stopped = until && log->edition_count == until;
    if (it.kind != GL_LINE_EDITION)
        return gl_fail(error, GLASSINE_REFUSED, "E021", place,
                       "the segment does not end with an edition line");
    if (log->edition_count != last && !stopped)
        return gl_fail(error, GLASSINE_REFUSED, "E020", place,
                       "the segment is said to end with edition %" PRIu32 "; it ends with %zu", last,
                       log->edition_count);
    log->bytes = log->editions[log->edition_count - 1].end;
    return GLASSINE_OK;
}

/* --------------------------------------------------------------------------------------------- writing it */

static void write_edition(const gl_edition_parts *parts, gl_buf *before, gl_buf *behind) {
    gl_buf_add_text(before, "{\"at\":");
    gl_json_add_string(before, parts->at);
    gl_buf_add_text(before, ",\"brings\":");
    gl_buf_add(before, parts->brings);
    gl_buf_add_text(before, ",\"by\":");
    gl_json_add_string(before, parts->by);
    gl_buf_printf(before, ",\"edition\":%" PRIu32 ",\"format\":\"%d.%d\"", parts->edition,
                  GLASSINE_FORMAT_MAJOR, GLASSINE_FORMAT_MINOR);
    if (parts->key.text) {
        gl_buf_add_text(before, ",\"key\":");
        gl_json_add_string(before, parts->key);
    }
    if (parts->lost.text) {
        gl_buf_add_text(behind, ",\"lost\":");
        gl_buf_add(behind, parts->lost);
    }
    gl_buf_add_text(behind, ",\"note\":");
    gl_json_add_string(behind, parts->note);
    gl_buf_printf(behind, ",\"slips\":%" PRIu64 ",\"tool\":", parts->slips);
    gl_json_add_string(behind, parts->tool);
    gl_buf_add_char(behind, '}');
}

static glassine_status close_log(const gl_log *log, gl_hash *hash, gl_span lines,
                                 const gl_edition_parts *parts, gl_buf *before, gl_buf *behind,
                                 glassine_error *error) {
    write_edition(parts, before, behind);
    if (before->failed || behind->failed)
        return gl_fail_memory(error);
    gl_digest start = log ? log->chain : (gl_digest){{0}};
    gl_digest chain = gl_chain_lines(hash, &start, lines);
    char hex[GL_HEX_SIZE];
    chain = gl_chain_parts(hash, &chain, gl_buf_span(before), gl_buf_span(behind));
    gl_digest_hex(&chain, hex);
    gl_buf_printf(before, ",\"log\":\"%s\"", hex);
    gl_buf_add(before, gl_buf_span(behind));
    if (before->failed)
        return gl_fail_memory(error);
    gl_line_kind kind;
    return gl_line_check(gl_buf_span(before), NULL, "the edition line to be written", &kind, error);
}

glassine_status gl_log_close(const gl_log *log, gl_span lines, const gl_edition_parts *parts, gl_buf *out,
                             glassine_error *error) {
    uint32_t next = log ? (uint32_t)log->edition_count + 1 : 1;
    if (parts->edition != next)
        return gl_fail(error, GLASSINE_REFUSED, "E011", NULL,
                       "edition %" PRIu32 " was to be written where %" PRIu32 " belongs", parts->edition,
                       next);
    gl_hash *hash = gl_hash_new();
    if (!hash)
        return gl_fail_memory(error);
    gl_buf before = GL_BUF_EMPTY, behind = GL_BUF_EMPTY;
    glassine_status status = close_log(log, hash, lines, parts, &before, &behind, error);
    if (!status) {
        gl_buf_add(out, gl_buf_span(&before));
        gl_buf_add_char(out, '\n');
        if (out->failed)
            status = gl_fail_memory(error);
    }
    gl_buf_free(&before);
    gl_buf_free(&behind);
    gl_hash_free(hash);
    return status;
}
