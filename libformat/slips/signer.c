/* The keys of one contributor in a bundle (spec/signatures.md). However many are put forward, in whatever
 * order, the work is in proportion to their number. */
#include <stdlib.h>

#include "slips/reading.h"
#include "slips/trust_inside.h"

/* Of a key that was put forward: the key before it, if its slip names one. */
typedef struct origin {
    gl_span before; /* hex, in the slip's line; absent: none */
    uint32_t next;  /* another key that was changed from the same one, later */
} origin;

/* Being worked out. */
typedef struct signing {
    gl_trust *trust;
    gl_signer *signer;
    uint32_t person, record; /* the contributor, and the record of the same id */
    origin *origins;         /* of the first keys of the signer: those that own slips gave */
    size_t origin_count, origin_room;
    gl_map *given;        /* keys that are held, by their hex digits */
    gl_map *changed_from; /* hex digits of a key -> the first change from it */
    bool failed;
} signing;

void gl_signer_free(gl_signer *signer) {
    if (!signer)
        return;
    free(signer->keys);
    free(signer->counting);
    free(signer);
}

static gl_held_key *add_key(signing *it, gl_held_key key) {
    gl_signer *signer = it->signer;
    if (signer->count == signer->room) {
        void *grown = gl_grow(signer->keys, &signer->room, signer->count + 1, sizeof *signer->keys);
        it->failed = it->failed || !grown;
        if (!grown)
            return NULL;
        signer->keys = grown;
    }
    signer->keys[signer->count] = key;
    return &signer->keys[signer->count++];
}

bool gl_signer_has(const gl_signer *signer, const gl_public_key *key) {
    for (size_t i = 0; i < signer->counting_count; i++)
        if (gl_digest_equal(&signer->counting[i], key))
            return true;
    return false;
}

/* The key counts; false where too many do already. */
static bool accept(signing *it, gl_held_key *key, gl_key_way way) {
    gl_signer *signer = it->signer;
    if (!gl_signer_has(signer, &key->key)) {
        if (signer->counting_count == GL_TRUST_KEYS_MOST) {
            signer->too_many = true;
            return false;
        }
        if (!signer->counting)
            signer->counting = calloc(GL_TRUST_KEYS_MOST, sizeof *signer->counting);
        if (!signer->counting) {
            it->failed = true;
            return false;
        }
        signer->counting[signer->counting_count++] = key->key;
    }
    key->way = way;
    key->counts = true;
    if (key->edition < signer->since)
        signer->since = key->edition;
    return true;
}

/* ---------------------------------------------------------------------------------- what was put forward */

/* What a slip says of its author's key. */
typedef struct given_key {
    gl_public_key key, before;
    gl_span hex, before_hex; /* before_hex absent: no change */
} given_key;

static bool look_at_key(gl_span line, given_key *out) {
    gl_slip_view view;
    gl_slip_look(line, &view);
    gl_span key = gl_json_member(view.set, "key"), before = gl_json_member(view.set, "key_before");
    *out = (given_key){.hex = gl_json_kind_of(key) == GL_JSON_STRING ? gl_json_raw(key) : GL_NO_SPAN};
    if (!out->hex.text || !gl_public_key_parse(out->hex, &out->key))
        return false;
    if (!before.text)
        return true;
    out->before_hex = gl_json_kind_of(before) == GL_JSON_STRING ? gl_json_raw(before) : GL_NO_SPAN;
    return out->before_hex.text && gl_public_key_parse(out->before_hex, &out->before);
}

/* As gl_trust_signed_by, memory that ran out being noted. */
static bool is_signed(signing *it, uint32_t slip, const gl_public_key *key) {
    int fits = gl_trust_signed_by(it->trust, slip, key);
    it->failed = it->failed || fits < 0;
    return fits > 0;
}

static void put_forward(signing *it, uint32_t slip) {
    given_key said;
    if (!look_at_key(gl_store_line(it->trust->store, slip), &said))
        return;
    bool held =
        is_signed(it, slip, &said.key) && (!said.before_hex.text || is_signed(it, slip, &said.before));
    gl_held_key key = {.key = said.key,
                       .slip = slip,
                       .edition = gl_store_at(it->trust->store, slip)->edition,
                       .way = held ? GL_KEY_RIVAL : GL_KEY_NOT_HELD};
    if (it->origin_count == it->origin_room) {
        void *grown = gl_grow(it->origins, &it->origin_room, it->origin_count + 1, sizeof *it->origins);
        it->failed = it->failed || !grown;
        if (!grown)
            return;
        it->origins = grown;
    }
    if (!add_key(it, key))
        return;
    it->origins[it->origin_count++] = (origin){said.before_hex, GL_NONE};
    if (held && !gl_map_set(it->given, said.hex, 1))
        it->failed = true;
}

/* The keys that the contributor's own slips give, in the order of arrival. */
static void gather(signing *it) {
    const gl_store *store = it->trust->store;
    uint32_t voice = gl_store_voice_find(store, it->record, it->person);
    if (voice == GL_NONE)
        return;
    uint32_t count = gl_store_voice(store, voice)->count, slip = gl_store_voice(store, voice)->last;
    uint32_t *order = malloc(((size_t)count + 1) * sizeof *order);
    it->failed = it->failed || !order;
    for (uint32_t i = count; order && i-- > 0; slip = gl_store_at(store, slip)->own_previous)
        order[i] = slip;
    for (uint32_t i = 0; i < count && !it->failed; i++)
        put_forward(it, order[i]);
    free(order);
}

/* Ties each change to the key it is from: last first, so that a chain runs in the order of arrival. */
static void tie_changes(signing *it) {
    for (size_t i = it->origin_count; i-- > 0 && !it->failed;) {
        origin *from = &it->origins[i];
        if (!from->before.text || it->signer->keys[i].way == GL_KEY_NOT_HELD)
            continue;
        from->next = gl_map_find(it->changed_from, from->before);
        it->failed = !gl_map_set(it->changed_from, from->before, (uint32_t)i);
    }
}

/* ---------------------------------------------------------------------------------------- what is decided */

/* Did the contributor begin with this key, as far as is known: it is no change, or from a key that nothing
 * gives? */
static bool begins(const signing *it, size_t i) {
    const origin *from = &it->origins[i];
    return it->signer->keys[i].way != GL_KEY_NOT_HELD &&
           (!from->before.text || gl_map_find(it->given, from->before) == GL_NONE);
}

/* First sight: what begins in the first edition in which something does. */
static void accept_first_seen(signing *it) {
    gl_signer *signer = it->signer;
    uint32_t first = GL_NONE;
    for (size_t i = 0; i < it->origin_count; i++)
        if (signer->keys[i].edition < first && begins(it, i))
            first = signer->keys[i].edition;
    for (size_t i = 0; i < it->origin_count && first != GL_NONE; i++)
        if (signer->keys[i].edition == first && begins(it, i) && !accept(it, &signer->keys[i], GL_KEY_SEEN))
            return;
    signer->together = (uint32_t)signer->counting_count;
}

/* All own slips that give this key count with it. */
static void accept_given(signing *it, const gl_public_key *key, uint32_t until, gl_key_way way) {
    for (size_t i = 0; i < it->origin_count; i++) {
        gl_held_key *held = &it->signer->keys[i];
        if (held->way == GL_KEY_RIVAL && held->edition <= until && gl_digest_equal(&held->key, key))
            accept(it, held, way);
    }
}

/* The keeper's own key: one that an edition saved by the keeper names. Nobody's slip can bring such a line
 * into the log, so that no reply makes its sender the keeper. The keeper signs since the first such edition: the key may
 * have come before it, in a file that somebody else made, and silences nothing there. */
static uint32_t accept_saved(signing *it) {
    const gl_log *log = it->trust->log;
    gl_public_key key, before = {{0}};
    uint32_t since = GL_NONE;
    for (uint32_t number = 1; number <= gl_log_editions(log) && it->origin_count; number++) {
        gl_edition_view said = gl_edition_said(gl_log_edition(log, number));
        if (!said.key.text || !gl_span_equal(said.by, it->trust->keeper) ||
            !gl_public_key_parse(said.key, &key) || gl_digest_equal(&key, &before))
            continue;
        accept_given(it, &key, number, GL_KEY_SAVED);
        if (!gl_signer_has(it->signer, &key))
            continue;
        before = key; /* the next editions mostly name the same one */
        if (since == GL_NONE)
            since = number;
    }
    return since;
}

static void accept_said(signing *it, const gl_said *said) {
    gl_public_key key;
    gl_span value = gl_said_value(said);
    if (gl_json_kind_of(value) != GL_JSON_STRING || !gl_public_key_parse(gl_json_raw(value), &key))
        return;
    accept_given(it, &key, GL_NONE, GL_KEY_KEEPER);
    gl_held_key *added =
        add_key(it, (gl_held_key){.key = key,
                                  .slip = said->slip,
                                  .edition = gl_store_at(it->trust->store, said->slip)->edition});
    if (added)
        accept(it, added, GL_KEY_KEEPER);
}

/* The keeper's word on somebody else's key, where there is one: it alone decides. */
static void accept_keepers_word(signing *it) {
    const gl_store *store = it->trust->store;
    uint32_t keeper = gl_store_person_find(store, it->trust->keeper);
    if (keeper == GL_NONE || gl_store_voice_find(store, it->record, keeper) == GL_NONE)
        return;
    gl_arena *arena = gl_arena_new();
    gl_reading reading = {0};
    it->failed =
        it->failed || !arena || gl_reading_make(store, it->record, keeper, arena, &reading, NULL, NULL);
    for (uint32_t i = 0; !it->failed && i < reading.field_count; i++) {
        if (!gl_span_is(gl_read_name(&reading.fields[i]), "key") || !reading.fields[i].said_count)
            continue;
        it->signer->by_word = true;
        for (uint32_t k = 0; k < reading.fields[i].said_count; k++)
            accept_said(it, gl_read_said(&reading.fields[i], k));
    }
    gl_arena_free(arena);
}

/* ------------------------------------------------------------------------------------------------ changes */

/* Of the changes from `key` those of the earliest edition count. */
static void accept_changes_from(signing *it, const gl_public_key *key) {
    char hex[GL_HEX_SIZE];
    gl_digest_hex(key, hex);
    uint32_t first = gl_map_find(it->changed_from, gl_span_of(hex));
    for (uint32_t i = first; i != GL_NONE && !it->signer->too_many; i = it->origins[i].next)
        if (it->signer->keys[i].edition == it->signer->keys[first].edition && !it->signer->keys[i].counts)
            accept(it, &it->signer->keys[i], GL_KEY_CHANGED);
}

/* A key from which one that counts was changed: it signed that. */
static void accept_before(signing *it, size_t i) {
    gl_public_key before;
    if (!it->signer->keys[i].counts || !it->origins[i].before.text ||
        !gl_public_key_parse(it->origins[i].before, &before) || gl_signer_has(it->signer, &before))
        return;
    gl_held_key *added = add_key(it, (gl_held_key){.key = before,
                                                   .slip = it->signer->keys[i].slip,
                                                   .edition = it->signer->keys[i].edition});
    if (added)
        accept(it, added, GL_KEY_BEFORE);
}

static void work_out(signing *it) {
    gl_signer *signer = it->signer;
    gl_span id = gl_store_person(it->trust->store, it->person);
    it->record = gl_store_record_find(it->trust->store, id);
    if (it->record == GL_NONE)
        return;
    gather(it);
    tie_changes(it);
    bool keeper = gl_span_equal(id, it->trust->keeper);
    uint32_t saved = GL_NONE;
    if (keeper)
        saved = accept_saved(it);
    else
        accept_keepers_word(it);
    if (!keeper && !signer->by_word)
        accept_first_seen(it);
    for (size_t i = it->origin_count; i-- > 0 && !signer->by_word && !it->failed;)
        accept_before(it, i);
    for (size_t i = 0; i < signer->counting_count && !it->failed; i++) /* those accepted meanwhile, too */
        accept_changes_from(it, &signer->counting[i]);
    if (keeper)
        signer->since = saved;
}

/* ------------------------------------------------------------------------------------------------- asking */

static bool reserve(gl_trust *trust) {
    size_t need = gl_store_people(trust->store);
    if (need > trust->signer_room) {
        void *grown = gl_grow(trust->signers, &trust->signer_room, need, sizeof *trust->signers);
        if (!grown)
            return false;
        trust->signers = grown;
    }
    while (trust->signer_count < need)
        trust->signers[trust->signer_count++] = NULL;
    return true;
}

const gl_signer *gl_trust_signer(gl_trust *trust, uint32_t person) {
    if (!gl_trust_catch_up(trust) || !reserve(trust))
        return NULL;
    if (trust->signers[person])
        return trust->signers[person];
    signing it = {.trust = trust, .person = person, .signer = calloc(1, sizeof(gl_signer))};
    it.given = gl_map_new();
    it.changed_from = gl_map_new();
    it.failed = !it.signer || !it.given || !it.changed_from;
    if (!it.failed) {
        it.signer->since = GL_NONE;
        work_out(&it);
    }
    gl_map_free(it.given);
    gl_map_free(it.changed_from);
    free(it.origins);
    if (it.failed) {
        gl_signer_free(it.signer);
        return NULL;
    }
    return trust->signers[person] = it.signer;
}
