#include "slips/store.h"

#include <inttypes.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/platform.h"
#include "base/work.h"
#include "slips/index.h"
#include "slips/members.h"

typedef struct person {
    gl_span id;
    uint32_t first; /* the first slip by that person */
} person;

/* Slips lie in chunks of so many, that another store may have the same ones: a slip stays as it was added. */
enum { CHUNK_BITS = 17 };
#define CHUNK ((uint32_t)1 << CHUNK_BITS)

struct gl_store {
    gl_slip **chunks;
    size_t chunk_count, chunk_room;
    size_t last_room; /* of the last chunk, in slips */
    size_t borrowed;  /* the first so many chunks are another store's */
    gl_subject *records;
    gl_voice *voices;
    person *people;
    uint32_t slip_count, record_count, voice_count, person_count;
    size_t record_room, voice_room, person_room;
    gl_index by_digest, by_record;
    gl_index by_voice; /* of a record with several: all but its first */
    /* they are another store's, and may know more than this one has */
    bool borrows_indexes;
    gl_map *person_ids;
    gl_hash *hash;
    gl_store_judge judge;
    uint64_t key[4]; /* of the indexes: random, so that nobody can prepare slips that collide */
};

static gl_slip *slip_at(const gl_store *store, uint32_t slip) {
    return &store->chunks[slip >> CHUNK_BITS][slip & (CHUNK - 1)];
}

gl_store *gl_store_new(void) {
    gl_store *store = calloc(1, sizeof *store);
    if (!store)
        return NULL;
    store->person_ids = gl_map_new();
    store->hash = gl_hash_new();
    if (!store->person_ids || !store->hash || !gl_platform_random(store->key, sizeof store->key)) {
        gl_store_free(store);
        return NULL;
    }
    return store;
}

void gl_store_free(gl_store *store) {
    if (!store)
        return;
    for (size_t i = store->borrowed; i < store->chunk_count; i++)
        free(store->chunks[i]);
    free(store->chunks);
    free(store->records);
    free(store->voices);
    free(store->people);
    if (!store->borrows_indexes) {
        gl_index_free(&store->by_digest);
        gl_index_free(&store->by_record);
        gl_index_free(&store->by_voice);
    }
    gl_map_free(store->person_ids);
    gl_hash_free(store->hash);
    free(store);
}

/* Mixes two words under the store's key. The words are digests, which nobody chooses freely, or small
 * numbers. */
static uint32_t mix(const gl_store *store, uint64_t a, uint64_t b) {
    uint64_t x = (a ^ store->key[0]) * (store->key[1] | 1);
    x = ((x ^ x >> 32) + b + store->key[2]) * (store->key[3] | 1);
    return (uint32_t)(x >> 32);
}

static uint32_t digest_hash(const gl_store *store, const gl_digest *digest) {
    uint64_t words[2];
    memcpy(words, digest->bytes, sizeof words);
    return mix(store, words[0], words[1]);
}

static uint32_t record_hash(const gl_store *store, gl_span id) {
    return (uint32_t)gl_siphash(store->key, id.text, id.length);
}

static uint32_t find_digest(const gl_store *store, const gl_digest *digest, uint32_t hash) {
    uint32_t slip;
    size_t at = hash;
    while ((slip = gl_index_next(&store->by_digest, hash, &at)) != GL_NONE)
        if (slip < store->slip_count && gl_digest_equal(&slip_at(store, slip)->digest, digest))
            return slip;
    return GL_NONE;
}

uint32_t gl_store_find(const gl_store *store, const gl_digest *digest) {
    return find_digest(store, digest, digest_hash(store, digest));
}

uint32_t gl_store_find_next(const gl_store *store, const gl_digest *digest, uint32_t *next) {
    bool there = *next < store->slip_count && gl_digest_equal(&slip_at(store, *next)->digest, digest);
    uint32_t found = there ? *next : gl_store_find(store, digest);
    if (found != GL_NONE)
        *next = found + 1;
    return found;
}

/* Nearly every record has one voice. */
uint32_t gl_store_voice_find(const gl_store *store, uint32_t record, uint32_t author) {
    uint32_t first = store->records[record].first_voice;
    if (first == GL_NONE || store->voices[first].author == author || store->records[record].voice == first)
        return first != GL_NONE && store->voices[first].author == author ? first : GL_NONE;
    uint32_t hash = mix(store, record, author), voice;
    size_t at = hash;
    while ((voice = gl_index_next(&store->by_voice, hash, &at)) != GL_NONE)
        if (voice < store->voice_count && store->voices[voice].record == record &&
            store->voices[voice].author == author)
            return voice;
    return GL_NONE;
}

static uint32_t find_record(const gl_store *store, gl_span id, uint32_t hash) {
    uint32_t record;
    size_t at = hash;
    while ((record = gl_index_next(&store->by_record, hash, &at)) != GL_NONE)
        if (record < store->record_count && gl_span_equal(store->records[record].id, id))
            return record;
    return GL_NONE;
}

uint32_t gl_store_record_find(const gl_store *store, gl_span id) {
    return find_record(store, id, record_hash(store, id));
}

uint32_t gl_store_person_find(const gl_store *store, gl_span id) {
    return gl_map_find(store->person_ids, id);
}

/* ----------------------------------------------------------------------------------------------- adding */

static bool grow(void **array, size_t *room, uint32_t count, size_t size) {
    void *grown = count < *room ? *array : gl_grow(*array, room, (size_t)count + 1, size);
    if (!grown)
        return false;
    *array = grown;
    return true;
}

/* A chunk more, with room for at least so many slips. */
static bool add_chunk(gl_store *store, size_t slips) {
    gl_slip **grown = gl_grow(store->chunks, &store->chunk_room, store->chunk_count + 1, sizeof(gl_slip *));
    if (!grown)
        return false;
    store->chunks = grown;
    size_t room = 0;
    gl_slip *chunk = gl_grow(NULL, &room, slips, sizeof *chunk);
    if (!chunk)
        return false;
    store->chunks[store->chunk_count++] = chunk;
    store->last_room = room;
    return true;
}

/* After a cut slips may be about to go into a chunk that is another store's as well: from there on this one has its own. */
static bool own_chunk(gl_store *store, size_t at, size_t within) {
    gl_slip *chunk = malloc(CHUNK * sizeof *chunk);
    if (!chunk)
        return false;
    memcpy(chunk, store->chunks[at], within * sizeof *chunk);
    for (size_t i = store->borrowed; i < store->chunk_count; i++)
        free(store->chunks[i]);
    store->chunks[at] = chunk;
    store->chunk_count = at + 1;
    store->borrowed = at;
    store->last_room = CHUNK;
    return true;
}

/* The first chunk grows, the others are whole from the beginning. */
static bool make_slip_room(gl_store *store) {
    size_t at = store->slip_count >> CHUNK_BITS, within = store->slip_count & (CHUNK - 1);
    if (at < store->borrowed)
        return own_chunk(store, at, within);
    if (at == store->chunk_count)
        return add_chunk(store, at ? CHUNK : 1);
    if (at + 1 < store->chunk_count || within < store->last_room)
        return true;
    gl_slip *grown = gl_grow(store->chunks[at], &store->last_room, within + 1, sizeof *grown);
    if (grown)
        store->chunks[at] = grown;
    return grown != NULL;
}

/* Whole chunks, the last of them as far as it will be filled. */
static bool reserve_chunks(gl_store *store, size_t slips) {
    size_t first = store->chunk_count;
    bool room = true;
    while (room && store->chunk_count * CHUNK < slips)
        room = add_chunk(store, CHUNK);
    for (size_t i = first; room && i < store->chunk_count; i++) {
        size_t filled = slips - i * CHUNK < CHUNK ? slips - i * CHUNK : CHUNK;
        gl_work_hand_out(store->chunks[i], filled * sizeof(gl_slip));
    }
    return room;
}

bool gl_store_reserve(gl_store *store, uint32_t slips) {
    bool whole =
        !store->chunk_count || store->last_room == CHUNK; /* a first chunk that still grows is left to it */
    if (slips < CHUNK || slips > GL_NONE - 1 - store->slip_count || !whole)
        return true;
    return gl_index_reserve(&store->by_digest, slips) && gl_index_reserve(&store->by_record, slips / 4 * 3) &&
           reserve_chunks(store, (size_t)store->slip_count + slips);
}

/* Room for one more of everything, so that what follows can hardly fail half-way. */
static bool make_room(gl_store *store) {
    void *records = store->records, *voices = store->voices, *people = store->people;
    bool room = make_slip_room(store) &&
                grow(&records, &store->record_room, store->record_count, sizeof *store->records) &&
                grow(&voices, &store->voice_room, store->voice_count, sizeof *store->voices) &&
                grow(&people, &store->person_room, store->person_count, sizeof *store->people) &&
                gl_index_reserve(&store->by_digest, 1) && gl_index_reserve(&store->by_record, 1) &&
                gl_index_reserve(&store->by_voice, 1);
    store->records = records;
    store->voices = voices;
    store->people = people;
    return room;
}

/* Lines come in runs on one record, and in longer runs by one person: the last one is tried before the map.
 */
static uint32_t record_of(gl_store *store, gl_span id, uint32_t hash) {
    if (store->slip_count) {
        uint32_t last = slip_at(store, store->slip_count - 1)->record;
        if (gl_span_equal(store->records[last].id, id))
            return last;
    }
    uint32_t record = find_record(store, id, hash);
    if (record != GL_NONE)
        return record;
    gl_index_add(&store->by_record, hash, store->record_count);
    store->records[store->record_count] =
        (gl_subject){.id = id, .last = GL_NONE, .voice = GL_NONE, .first_voice = GL_NONE};
    return store->record_count++;
}

static uint32_t person_of(gl_store *store, gl_span id) {
    if (store->slip_count) {
        uint32_t last = slip_at(store, store->slip_count - 1)->author;
        if (gl_span_equal(store->people[last].id, id))
            return last;
    }
    uint32_t known = gl_map_find(store->person_ids, id);
    if (known != GL_NONE)
        return known;
    if (!gl_map_set(store->person_ids, id, store->person_count))
        return GL_NONE;
    store->people[store->person_count] = (person){id, store->slip_count};
    return store->person_count++;
}

static gl_voice *voice_of(gl_store *store, uint32_t record, uint32_t author) {
    uint32_t voice = gl_store_voice_find(store, record, author);
    if (voice == GL_NONE) {
        voice = store->voice_count++;
        store->voices[voice] = (gl_voice){record, author, GL_NONE, 0, store->records[record].voice};
        store->records[record].voice = voice;
        if (store->records[record].first_voice == GL_NONE)
            store->records[record].first_voice = voice;
        else
            gl_index_add(&store->by_voice, mix(store, record, author), voice);
    }
    return &store->voices[voice];
}

static glassine_status check_limits(const gl_store *store, gl_span line, const glassine_limits *limits,
                                    glassine_error *error) {
    uint64_t slips = GL_LIMIT(limits, slips), bytes = GL_LIMIT(limits, line_bytes);
    if (store->slip_count >= slips || store->slip_count >= GL_NONE - 1)
        return gl_fail(error, GLASSINE_REFUSED, "L021", NULL, "there are more than %" PRIu64 " slips", slips);
    if (line.length > bytes || line.length > UINT32_MAX)
        return gl_fail(error, GLASSINE_REFUSED, "L020", NULL, "the line has %zu bytes; the limit is %" PRIu64,
                       line.length, bytes);
    return GLASSINE_OK;
}

static void prepare(const gl_store *store, gl_span line, const gl_digest *digest, const gl_members *members,
                    gl_prepared *out) {
    *out = (gl_prepared){.line = line,
                         .by = gl_json_raw(members->of[GL_BY]),
                         .record = gl_json_raw(members->of[GL_RECORD]),
                         .digest = *digest,
                         .reach = GLASSINE_PRIVATE};
    gl_reach_parse(members->of[GL_REACH], &out->reach);
    out->digest_hash = digest_hash(store, &out->digest);
    out->record_hash = record_hash(store, out->record);
}

void gl_store_prepare(const gl_store *store, gl_hash *hash, gl_span line, const gl_members *members,
                      gl_prepared *out) {
    gl_digest digest = gl_hash_once(hash, line.text, line.length);
    prepare(store, line, &digest, members, out);
}

void gl_store_expect(const gl_store *store, const gl_prepared *prepared) {
    gl_index_expect(&store->by_digest, prepared->digest_hash);
    gl_index_expect(&store->by_record, prepared->record_hash);
}

glassine_status gl_store_add(gl_store *store, gl_span line, uint32_t edition, const glassine_limits *limits,
                             uint32_t *slip, bool *added, glassine_error *error) {
    gl_digest digest = gl_hash_once(store->hash, line.text, line.length);
    return gl_store_add_known(store, line, &digest, edition, limits, slip, added, error);
}

glassine_status gl_store_add_known(gl_store *store, gl_span line, const gl_digest *digest, uint32_t edition,
                                   const glassine_limits *limits, uint32_t *slip, bool *added,
                                   glassine_error *error) {
    gl_members members;
    gl_prepared prepared;
    gl_members_look(line, GL_BY, GL_RECORD, &members);
    prepare(store, line, digest, &members, &prepared);
    return gl_store_add_prepared(store, &prepared, edition, limits, slip, added, error);
}

glassine_status gl_store_add_prepared(gl_store *store, const gl_prepared *prepared, uint32_t edition,
                                      const glassine_limits *limits, uint32_t *slip, bool *added,
                                      glassine_error *error) {
    gl_span line = prepared->line;
    *slip = find_digest(store, &prepared->digest, prepared->digest_hash);
    *added = *slip == GL_NONE;
    if (!*added)
        return GLASSINE_OK;
    glassine_status status = check_limits(store, line, limits, error);
    if (status)
        return status;
    if (!make_room(store))
        return gl_fail_memory(error);

    uint32_t author = person_of(store, prepared->by);
    if (author == GL_NONE) {
        gl_store_cut(store, store->slip_count);
        return gl_fail_memory(error);
    }
    uint32_t record = record_of(store, prepared->record, prepared->record_hash);
    gl_subject *subject = &store->records[record];
    gl_voice *voice = voice_of(store, record, author);
    *slip = store->slip_count++;
    *slip_at(store, *slip) = (gl_slip){.line = line.text,
                                       .length = (uint32_t)line.length,
                                       .record = record,
                                       .author = author,
                                       .previous = subject->last,
                                       .own_previous = voice->last,
                                       .edition = edition & ((UINT32_C(1) << GL_EDITION_BITS) - 1),
                                       .reach = (uint32_t)prepared->reach & 3,
                                       .digest = prepared->digest};
    subject->last = voice->last = *slip;
    subject->count++;
    voice->count++;
    gl_index_add(&store->by_digest, prepared->digest_hash, *slip);
    return GLASSINE_OK;
}

/* ---------------------------------------------------------------------------------------------- cutting */

static void forget(const gl_store *store, gl_index *index, uint32_t hash, uint32_t number) {
    if (!store->borrows_indexes)
        gl_index_remove(index, hash, number);
}

static void take_back_slip(gl_store *store) {
    uint32_t number = --store->slip_count;
    const gl_slip *slip = slip_at(store, number);
    gl_subject *subject = &store->records[slip->record];
    gl_voice *voice = &store->voices[gl_store_voice_find(store, slip->record, slip->author)];
    forget(store, &store->by_digest, digest_hash(store, &slip->digest), number);
    subject->last = slip->previous;
    subject->count--;
    voice->last = slip->own_previous;
    voice->count--;
}

/* Voices, records and people are numbered as they first appear: those that only the slips taken back brought
 * are the last ones. */
static void take_back_voices(gl_store *store) {
    while (store->voice_count && store->voices[store->voice_count - 1].count == 0) {
        const gl_voice *voice = &store->voices[--store->voice_count];
        gl_subject *subject = &store->records[voice->record];
        if (subject->first_voice == store->voice_count)
            subject->first_voice = GL_NONE;
        else
            forget(store, &store->by_voice, mix(store, voice->record, voice->author), store->voice_count);
        subject->voice = voice->next;
    }
}

void gl_store_cut(gl_store *store, uint32_t count) {
    uint32_t people = store->person_count;
    while (store->slip_count > count)
        take_back_slip(store);
    take_back_voices(store);
    while (store->record_count && store->records[store->record_count - 1].count == 0) {
        store->record_count--;
        forget(store, &store->by_record, record_hash(store, store->records[store->record_count].id),
               store->record_count);
    }
    while (store->person_count && store->people[store->person_count - 1].first >= count)
        store->person_count--;
    /* The map cannot forget one key; filling it again needs no memory, as it held more before. */
    if (store->person_count < people) {
        gl_map_clear(store->person_ids);
        for (uint32_t i = 0; i < store->person_count; i++)
            gl_map_set(store->person_ids, store->people[i].id, i);
    }
}

static void *copied(const void *from, size_t count, size_t size) {
    void *to = malloc((count ? count : 1) * size);
    if (!to || !count)
        return to;
    gl_platform_expect_filled(to, count * size);
    gl_work_copy(to, from, count * size);
    return to;
}

static bool copy_indexes(const gl_store *from, gl_store *to) {
    return gl_index_copy(&from->by_digest, &to->by_digest) &&
           gl_index_copy(&from->by_record, &to->by_record) && gl_index_copy(&from->by_voice, &to->by_voice);
}

static bool borrow_indexes(const gl_store *from, gl_store *to) {
    to->by_digest = from->by_digest;
    to->by_record = from->by_record;
    to->by_voice = from->by_voice;
    to->borrows_indexes = true;
    return true;
}

static gl_store *first_slips(const gl_store *store, uint32_t count,
                             bool (*with_indexes)(const gl_store *from, gl_store *to)) {
    gl_store *it = gl_store_new();
    if (!it)
        return NULL;
    it->chunks = copied(store->chunks, store->chunk_count, sizeof(gl_slip *));
    it->chunk_count = it->borrowed = it->chunks ? store->chunk_count : 0;
    it->slip_count = store->slip_count;
    it->record_count = store->record_count;
    it->voice_count = store->voice_count;
    it->person_count = store->person_count;
    it->records = copied(store->records, store->record_count, sizeof *it->records);
    it->voices = copied(store->voices, store->voice_count, sizeof *it->voices);
    it->people = copied(store->people, store->person_count, sizeof *it->people);
    memcpy(it->key, store->key, sizeof it->key);
    bool done = it->chunks && it->records && it->voices && it->people && with_indexes(store, it);
    for (uint32_t i = 0; i < it->person_count && done; i++)
        done = gl_map_set(it->person_ids, it->people[i].id, i);
    if (!done) {
        gl_store_free(it);
        return NULL;
    }
    gl_store_cut(it, count);
    return it;
}

gl_store *gl_store_before(const gl_store *store, uint32_t count) {
    return first_slips(store, count, borrow_indexes);
}

/* Of the chunk that is not full it has its own. */
gl_store *gl_store_beginning(const gl_store *store, uint32_t count) {
    gl_store *it = first_slips(store, count, copy_indexes);
    if (!it)
        return NULL;
    size_t full = count >> CHUNK_BITS, rest = count & (CHUNK - 1);
    it->chunk_room = it->chunk_count;
    it->chunk_count = it->borrowed = full;
    if (!rest)
        return it;
    const gl_slip *from = it->chunks[full];
    if (!add_chunk(it, CHUNK)) {
        gl_store_free(it);
        return NULL;
    }
    memcpy(it->chunks[full], from, rest * sizeof *from);
    return it;
}

/* ---------------------------------------------------------------------------------------------- looking */

uint32_t gl_store_count(const gl_store *store) {
    return store->slip_count;
}

const gl_slip *gl_store_at(const gl_store *store, uint32_t slip) {
    return slip_at(store, slip);
}

gl_span gl_store_line(const gl_store *store, uint32_t slip) {
    const gl_slip *it = slip_at(store, slip);
    return (gl_span){it->line, it->length};
}

void gl_store_use_judge(gl_store *store, gl_store_judge judge) {
    store->judge = judge;
}

int gl_store_counts(const gl_store *store, uint32_t slip) {
    return store->judge.counts ? store->judge.counts(store->judge.context, slip) : 1;
}

bool gl_store_knows(const gl_store *store, gl_span record, gl_span field) {
    return store->judge.knows && store->judge.knows(store->judge.context, record, field);
}

uint64_t gl_store_record_fields(const gl_store *store) {
    return store->judge.record_fields ? store->judge.record_fields : glassine_limits_default().record_fields;
}

uint32_t gl_store_records(const gl_store *store) {
    return store->record_count;
}

const gl_subject *gl_store_record(const gl_store *store, uint32_t record) {
    return &store->records[record];
}

uint32_t gl_store_people(const gl_store *store) {
    return store->person_count;
}

gl_span gl_store_person(const gl_store *store, uint32_t person_number) {
    return store->people[person_number].id;
}

const gl_voice *gl_store_voice(const gl_store *store, uint32_t voice) {
    return &store->voices[voice];
}

static int by_bytes(const void *a, const void *b) {
    return gl_digest_compare(a, b);
}

glassine_status gl_store_digest(const gl_store *store, gl_digest *digest, glassine_error *error) {
    size_t count = store->slip_count;
    gl_digest *sorted = malloc((count ? count : 1) * sizeof *sorted);
    if (!sorted)
        return gl_fail_memory(error);
    for (uint32_t i = 0; i < count; i++)
        sorted[i] = slip_at(store, i)->digest;
    qsort(sorted, count, sizeof *sorted, by_bytes);
    *digest = gl_hash_once(store->hash, sorted, count * sizeof *sorted);
    free(sorted);
    return GLASSINE_OK;
}
