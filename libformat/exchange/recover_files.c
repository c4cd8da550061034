/* Which of the pieces become files of the new bundle, and what is missing. */
#include <stdlib.h>

#include "base/error.h"
#include "base/text.h"
#include "container/name.h"
#include "container/parity.h"
#include "exchange/recover.h"

typedef struct file_chooser {
    gl_recovery *it;
    gl_map *names;     /* inner name -> index in it->files */
    gl_manifest *told; /* payload that sound lines of editions that are not kept speak of */
    gl_map *listed;    /* digest of a scan, in hex -> its name among these */
    gl_span *brought;
    gl_map *scans;   /* digest of a scan, in hex -> the slip that gives its size */
    uint64_t *sizes; /* by slip */
    glassine_error *error;
} file_chooser;

static const gl_span SCANS = {"data/scans/", 11};

static bool is_payload(gl_span inner) {
    return gl_span_starts(inner, GL_SPAN("data/"));
}

/* What a bundle may not hold, whoever put it there (spec/bag.md). */
static bool is_refused(gl_span inner) {
    bool manifest =
        gl_span_starts(inner, GL_SPAN("manifest-")) || gl_span_starts(inner, GL_SPAN("tagmanifest-"));
    return manifest || gl_span_is(inner, "fetch.txt");
}

/* Files that are taken over as they are: not those that a recovery writes itself. */
static bool is_carried(gl_span inner) {
    uint32_t first, last;
    return !gl_span_is(inner, GL_BAG_ABOUT) && !gl_span_is(inner, GL_PARITY_NAME) && !gl_bag_writes(inner) &&
           !is_refused(inner) && !gl_name_is_segment(inner, &first, &last);
}

/* Would it meet the segment that is written, whose editions are not known yet? */
static bool meets_segment(gl_span inner) {
    uint32_t first, last;
    gl_buf folded = GL_BUF_EMPTY;
    gl_text_add_folded(&folded, inner);
    bool meets = !folded.failed && gl_name_is_segment(gl_buf_span(&folded), &first, &last);
    gl_buf_free(&folded);
    return meets;
}

/* What the lines that are not kept say was brought. */
static glassine_status hear(file_chooser *chooser) {
    const gl_lines *lines = &chooser->it->lines;
    for (size_t i = 0; i < lines->group_count; i++) {
        if (!lines->groups[i].sound)
            continue;
        gl_json_walk walk = gl_json_walk_of(lines->groups[i].view.brings);
        gl_span none, item;
        while (gl_json_next(&walk, &none, &item)) {
            gl_buf line = GL_BUF_EMPTY;
            gl_digest digest;
            gl_json_add_decoded(&line, item);
            gl_span name = gl_span_part(gl_buf_span(&line), GL_HEX_SIZE + 1, line.length);
            bool done = !line.failed;
            if (done && gl_digest_parse(gl_span_part(gl_buf_span(&line), 0, GL_HEX_SIZE - 1), &digest) &&
                !gl_manifest_find(chooser->it->kept, name, NULL))
                done = gl_manifest_set(chooser->told, name, &digest);
            gl_buf_free(&line);
            if (!done)
                return gl_fail_memory(chooser->error);
        }
    }
    return GLASSINE_OK;
}

/* By the digest that is in them, the names of scans that the editions brought. */
static glassine_status list_scans(file_chooser *chooser) {
    const gl_manifest *lists[] = {chooser->it->kept, chooser->told};
    uint32_t count = 0;
    chooser->brought =
        malloc((gl_manifest_count(lists[0]) + gl_manifest_count(lists[1]) + 1) * sizeof *chooser->brought);
    if (!chooser->brought)
        return gl_fail_memory(chooser->error);
    for (size_t i = 0; i < 2; i++) {
        size_t at = 0;
        gl_span name;
        gl_digest digest;
        while (gl_manifest_next(lists[i], &at, &name, &digest)) {
            if (!gl_span_starts(name, SCANS) || name.length <= SCANS.length + GL_HEX_SIZE)
                continue;
            chooser->brought[count] = gl_arena_copy(chooser->it->arena, name);
            gl_span hex = gl_span_part(chooser->brought[count], SCANS.length, GL_HEX_SIZE - 1);
            if (!hex.text || !gl_map_set(chooser->listed, hex, count++))
                return gl_fail_memory(chooser->error);
        }
    }
    return GLASSINE_OK;
}

/* A piece's name. No sum covers the extension in a header; where a scan's bytes are what an edition brought,
 * the name that they had there counts. */
static gl_span name_of(const file_chooser *chooser, const gl_piece *piece) {
    if (!gl_span_starts(piece->inner, SCANS))
        return piece->inner;
    char hex[GL_HEX_SIZE];
    gl_digest_hex(&piece->digest, hex);
    uint32_t at = gl_map_find(chooser->listed, gl_span_of(hex));
    return at == GL_NONE ? piece->inner : chooser->brought[at];
}

/* Is the piece the file of that name that the bundle had? A scan's name says so itself. */
static bool fits(const file_chooser *chooser, gl_span inner, const gl_piece *piece) {
    gl_digest digest;
    if (gl_manifest_find(chooser->it->kept, inner, &digest) ||
        gl_manifest_find(chooser->told, inner, &digest))
        return gl_digest_equal(&digest, &piece->digest);
    return true;
}

static glassine_status choose(file_chooser *chooser, size_t source, size_t index) {
    gl_recovery *it = chooser->it;
    const gl_piece *piece = gl_salvage_at(it->sources[source].salvage, index);
    gl_span inner = name_of(chooser, piece);
    if (!piece->whole || !is_carried(inner) || !fits(chooser, inner, piece))
        return GLASSINE_OK;
    gl_found_file file = {inner, source, index, piece->digest, piece->entry.size, is_payload(inner)};
    uint32_t known = gl_map_find(chooser->names, inner);
    if (known != GL_NONE) {
        /* Of what may change the latest counts, in the file that was named first. */
        if (it->files[known].source == source)
            it->files[known] = file;
        return GLASSINE_OK;
    }
    gl_found_file *grown = it->files;
    if (it->file_count == it->file_room)
        grown = gl_grow(grown, &it->file_room, it->file_count + 1, sizeof *grown);
    if (!grown)
        return gl_fail_memory(chooser->error);
    it->files = grown;
    it->files[it->file_count] = file;
    return gl_map_set(chooser->names, inner, (uint32_t)it->file_count++) ? GLASSINE_OK
                                                                         : gl_fail_memory(chooser->error);
}

static glassine_status choose_all(file_chooser *chooser) {
    glassine_status status = GLASSINE_OK;
    for (size_t s = 0; s < chooser->it->source_count && !status; s++)
        for (size_t i = 0; i < gl_salvage_count(chooser->it->sources[s].salvage) && !status; i++)
            status = choose(chooser, s, i);
    return status;
}

/* -------------------------------------------------------------------------------- scans without a header */

/* How long scans are, by the records that describe them. */
static glassine_status learn_sizes(file_chooser *chooser) {
    const gl_store *store = chooser->it->log.store;
    chooser->sizes = malloc((gl_store_count(store) + 1) * sizeof *chooser->sizes);
    bool done = chooser->sizes != NULL;
    for (uint32_t i = 0; i < gl_store_count(store) && done; i++) {
        gl_slip_view slip;
        int64_t bytes;
        gl_slip_look(gl_store_line(store, i), &slip);
        if (!gl_span_starts(gl_json_raw(slip.record), GL_SPAN("scan/")) ||
            !gl_json_integer(gl_json_member(slip.set, "bytes"), &bytes) || bytes <= 0)
            continue;
        chooser->sizes[i] = (uint64_t)bytes;
        gl_span hex = gl_json_raw(gl_json_member(slip.set, "sha256"));
        done = !hex.text || gl_map_set(chooser->scans, hex, i);
    }
    return done ? GLASSINE_OK : gl_fail_memory(chooser->error);
}

static glassine_status search_scan(file_chooser *chooser, gl_span inner, const gl_digest *digest) {
    gl_recovery *it = chooser->it;
    char hex[GL_HEX_SIZE];
    gl_digest_hex(digest, hex);
    uint32_t slip = gl_map_find(chooser->scans, gl_span_of(hex));
    uint64_t size = slip == GL_NONE ? 0 : chooser->sizes[slip];
    glassine_status status = GLASSINE_OK;
    bool found = false;
    for (size_t s = 0; s < it->source_count && size && !found && !status; s++) {
        gl_salvage *salvage = it->sources[s].salvage;
        status = gl_salvage_find_scan(salvage, digest, inner, size, &found, chooser->error);
        if (found && !status)
            status = choose(chooser, s, gl_salvage_count(salvage) - 1);
    }
    return status;
}

static glassine_status search_missing(file_chooser *chooser, const gl_manifest *list) {
    size_t at = 0;
    gl_span name;
    gl_digest digest;
    glassine_status status = GLASSINE_OK;
    while (!status && gl_manifest_next(list, &at, &name, &digest))
        if (gl_span_starts(name, SCANS) && gl_map_find(chooser->names, name) == GL_NONE)
            status = search_scan(chooser, name, &digest);
    return status;
}

/* ------------------------------------------------------------------------------------ names that meet */

/* Names of what a recovery writes itself. */
static glassine_status meet_own(gl_apart *names, glassine_error *error) {
    static const char *const own[] = {GL_BAG_DECLARATION, GL_BAG_INFO,  GL_BAG_PAYLOAD, GL_BAG_TAGS,
                                      GL_BAG_README,      GL_BAG_ABOUT, "slips/-"};
    for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
        if (gl_apart_meet(names, gl_span_of(own[i])) == GL_APART_NO_MEMORY)
            return gl_fail_memory(error);
    return GLASSINE_OK;
}

/* Files that cannot lie in one bundle with others, since no sum covers a name and this one is damaged: they
 * go behind those that are taken. */
static glassine_status part(file_chooser *chooser, gl_apart *names) {
    gl_recovery *it = chooser->it;
    size_t kept = 0;
    gl_found_file *sorted = malloc((it->file_count + 1) * sizeof *sorted), *end = sorted + it->file_count;
    if (!sorted)
        return gl_fail_memory(chooser->error);
    /* Scans first: their names are sure. */
    glassine_status status = GLASSINE_OK;
    for (size_t pass = 0; pass < 2 && !status; pass++)
        for (size_t i = 0; i < it->file_count && !status; i++) {
            if (gl_span_starts(it->files[i].inner, SCANS) != (pass == 0))
                continue;
            gl_meeting meeting =
                meets_segment(it->files[i].inner) ? GL_APART_EQUAL : gl_apart_meet(names, it->files[i].inner);
            if (meeting == GL_APART_NO_MEMORY)
                status = gl_fail_memory(chooser->error);
            else if (meeting == GL_APART)
                sorted[kept++] = it->files[i];
            else if (!gl_manifest_set(it->gone, it->files[i].inner, &it->files[i].digest))
                status = gl_fail_memory(chooser->error);
            else
                *--end = it->files[i];
        }
    if (!status) {
        it->apart_count = it->file_count - kept;
        memcpy(it->files, sorted, it->file_count * sizeof *sorted);
        it->file_count = kept;
    }
    free(sorted);
    return status;
}

static glassine_status part_names(file_chooser *chooser) {
    gl_apart *names = gl_apart_new();
    glassine_status status = names ? meet_own(names, chooser->error) : gl_fail_memory(chooser->error);
    if (!status && chooser->it->file_count)
        status = part(chooser, names);
    gl_apart_free(names);
    return status;
}

/* --------------------------------------------------------------------------------------- what is missing */

static glassine_status note_missing(file_chooser *chooser, const gl_manifest *list, gl_manifest *missing) {
    size_t at = 0;
    gl_span name;
    gl_digest digest;
    while (gl_manifest_next(list, &at, &name, &digest))
        if (!gl_span_is(name, GL_BAG_ABOUT) && gl_map_find(chooser->names, name) == GL_NONE &&
            !gl_manifest_set(missing, name, &digest))
            return gl_fail_memory(chooser->error);
    return GLASSINE_OK;
}

/* Names that only a broken piece speaks of. */
static glassine_status note_broken(file_chooser *chooser) {
    gl_recovery *it = chooser->it;
    for (size_t s = 0; s < it->source_count; s++)
        for (size_t i = 0; i < gl_salvage_count(it->sources[s].salvage); i++) {
            const gl_piece *piece = gl_salvage_at(it->sources[s].salvage, i);
            static const gl_digest unknown = {{0}};
            if (!piece->whole && is_carried(piece->inner) &&
                gl_map_find(chooser->names, piece->inner) == GL_NONE &&
                !gl_manifest_find(it->lost, piece->inner, NULL) &&
                !gl_manifest_find(it->gone, piece->inner, NULL) &&
                !gl_manifest_set(it->gone, piece->inner, &unknown))
                return gl_fail_memory(chooser->error);
        }
    return GLASSINE_OK;
}

static glassine_status list_payload(file_chooser *chooser) {
    gl_recovery *it = chooser->it;
    for (size_t i = 0; i < it->file_count; i++)
        if (it->files[i].payload && !gl_manifest_set(it->payload, it->files[i].inner, &it->files[i].digest))
            return gl_fail_memory(chooser->error);
    return GLASSINE_OK;
}

static glassine_status choose_files(file_chooser *chooser) {
    gl_recovery *it = chooser->it;
    glassine_status status =
        gl_payload_of(it->log.log, gl_log_editions(it->log.log), it->kept, NULL, chooser->error);
    if (!status)
        status = hear(chooser);
    if (!status)
        status = list_scans(chooser);
    if (!status)
        status = choose_all(chooser);
    if (!status)
        status = learn_sizes(chooser);
    if (!status)
        status = search_missing(chooser, it->kept);
    if (!status)
        status = search_missing(chooser, chooser->told);
    if (!status)
        status = part_names(chooser);
    if (!status)
        status = note_missing(chooser, it->kept, it->lost);
    if (!status)
        status = note_missing(chooser, chooser->told, it->gone);
    if (!status)
        status = note_broken(chooser);
    return status ? status : list_payload(chooser);
}

glassine_status gl_recovery_files(gl_recovery *it, glassine_error *error) {
    file_chooser chooser = {.it = it,
                            .names = gl_map_new(),
                            .told = gl_manifest_new(),
                            .listed = gl_map_new(),
                            .scans = gl_map_new(),
                            .error = error};
    bool ready = chooser.names && chooser.told && chooser.listed && chooser.scans;
    glassine_status status = ready ? choose_files(&chooser) : gl_fail_memory(error);
    gl_map_free(chooser.names);
    gl_manifest_free(chooser.told);
    gl_map_free(chooser.listed);
    gl_map_free(chooser.scans);
    free(chooser.brought);
    free(chooser.sizes);
    return status;
}
