/* What the logs of two bundles begin with, where one grew from a copy of the other. Lines that were checked in one need
 * not be checked in the other: the same bytes follow one another in both. */
#include "base/error.h"
#include "bundle/bundle.h"

/* The text of a log, from its beginning, piece by piece. */
typedef struct walk {
    const glassine_bundle *bundle;
    size_t segment, piece; /* of the segment */
    gl_span rest;          /* of the piece */
} walk;

static bool walk_on(walk *it) {
    const glassine_bundle *bundle = it->bundle;
    while (!it->rest.length) {
        while (it->segment < bundle->segment_count && it->piece == bundle->segments[it->segment].pieces) {
            it->segment++;
            it->piece = 0;
        }
        if (it->segment == bundle->segment_count)
            return false;
        it->rest = gl_buf_span(&bundle->pieces[bundle->segments[it->segment].piece + it->piece++]);
    }
    return true;
}

/* The last edition of `beside` up to which both have the same bytes; 0: there is none. */
static uint32_t edition_in_common(const glassine_bundle *bundle, const glassine_bundle *beside) {
    walk one = {.bundle = bundle}, other = {.bundle = beside};
    const gl_edition *next;
    uint64_t compared = 0;
    uint32_t number = 0;
    while ((next = gl_log_edition(beside->log, number + 1)) != NULL) {
        while (compared < next->end && walk_on(&one) && walk_on(&other)) {
            size_t length = one.rest.length < other.rest.length ? one.rest.length : other.rest.length;
            length = length < next->end - compared ? length : (size_t)(next->end - compared);
            if (one.rest.text != other.rest.text && memcmp(one.rest.text, other.rest.text, length) != 0)
                return number;
            one.rest = gl_span_part(one.rest, length, one.rest.length);
            other.rest = gl_span_part(other.rest, length, other.rest.length);
            compared += length;
        }
        if (compared < next->end)
            return number;
        number++;
    }
    return number;
}

/* Taking the set over costs as much as `beside` is large: that is worth it only where most of it is in common. */
static bool is_worth_it(const glassine_bundle *beside, uint32_t edition) {
    return edition && gl_log_edition(beside->log, edition)->slips >= gl_store_count(beside->store) / 2;
}

/* What is within the limits of one must be within those of the other. */
static const glassine_bundle *usable_beside(const glassine_bundle *bundle) {
    const glassine_bundle *beside = bundle->beside;
    return beside && memcmp(&beside->limits, &bundle->limits, sizeof bundle->limits) == 0 ? beside : NULL;
}

/* The segment of the same editions, where it is one piece; NULL. */
static const gl_segment *same_segment(const glassine_bundle *beside, const gl_segment *segment) {
    for (size_t i = 0; i < beside->segment_count; i++) {
        const gl_segment *other = &beside->segments[i];
        if (other->first == segment->first && other->last == segment->last)
            return other->pieces == 1 ? other : NULL;
    }
    return NULL;
}

glassine_status gl_bundle_borrow_segment(const glassine_bundle *bundle, gl_segment *segment,
                                         glassine_error *error) {
    const glassine_bundle *beside = usable_beside(bundle);
    const gl_segment *other = beside ? same_segment(beside, segment) : NULL;
    char name[GL_SEGMENT_NAME_SIZE];
    gl_segment_name(segment, name);
    const gl_entry *there = other && beside->zip ? gl_zip_find(beside->zip, gl_span_of(name)) : NULL;
    if (!there)
        return GLASSINE_OK;
    glassine_status status = gl_zip_is_alike(bundle->zip, gl_zip_find(bundle->zip, gl_span_of(name)),
                                             beside->zip, there, &segment->borrowed, error);
    if (!status && segment->borrowed)
        bundle->pieces[segment->piece] = beside->pieces[other->piece];
    return status;
}

bool gl_bundle_is_checked_beside(const glassine_bundle *bundle, const gl_segment *segment) {
    char name[GL_SEGMENT_NAME_SIZE];
    gl_digest own, other;
    gl_segment_name(segment, name);
    return gl_manifest_find(bundle->tags, gl_span_of(name), &own) &&
           gl_manifest_find(bundle->beside->tags, gl_span_of(name), &other) && gl_digest_equal(&own, &other);
}

glassine_status gl_bundle_begin_beside(glassine_bundle *bundle, glassine_error *error) {
    const glassine_bundle *beside = usable_beside(bundle);
    if (!beside)
        return GLASSINE_OK;
    uint32_t edition = edition_in_common(bundle, beside);
    if (!is_worth_it(beside, edition))
        return GLASSINE_OK;
    uint32_t slips = gl_log_edition(beside->log, edition)->slips;
    gl_store *store = gl_store_beginning(beside->store, slips);
    gl_log *log = store ? gl_log_beginning(beside->log, edition, store) : NULL;
    if (!log) {
        gl_store_free(store);
        return gl_fail_memory(error);
    }
    bundle->like = beside;
    bundle->like_slips = slips;
    return gl_bundle_take_set(bundle, store, log) ? GLASSINE_OK : gl_fail_memory(error);
}

bool gl_bundle_lend_log(glassine_bundle *bundle, glassine_bundle *to) {
    gl_buf *grown =
        gl_grow(to->adopted, &to->adopted_room, to->adopted_count + bundle->piece_count, sizeof *grown);
    if (!grown)
        return false;
    to->adopted = grown;
    for (size_t i = 0; i < bundle->segment_count; i++)
        for (size_t k = 0; k < bundle->segments[i].pieces && !bundle->segments[i].borrowed; k++)
            to->adopted[to->adopted_count++] = bundle->pieces[bundle->segments[i].piece + k];
    bundle->lent_to = to;
    return true;
}
