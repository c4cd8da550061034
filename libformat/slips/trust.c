#include "slips/trust.h"

#include <stdlib.h>

#include "base/work.h"
#include "slips/trust_inside.h"

gl_trust *gl_trust_new(const gl_store *store, const gl_log *log) {
    gl_trust *trust = calloc(1, sizeof *trust);
    if (!trust)
        return NULL;
    trust->store = store;
    trust->log = log;
    return trust;
}

static void forget_signers(gl_trust *trust) {
    for (size_t i = 0; i < trust->signer_count; i++)
        gl_signer_free(trust->signers[i]);
    trust->signer_count = 0;
}

void gl_trust_free(gl_trust *trust) {
    if (!trust)
        return;
    forget_signers(trust);
    free(trust->signers);
    free(trust->signatures);
    free(trust->slips);
    free(trust->tied);
    free(trust);
}

void gl_trust_keeper(gl_trust *trust, gl_span id) {
    trust->keeper = id;
    gl_trust_changed(trust);
}

void gl_trust_changed(gl_trust *trust) {
    forget_signers(trust);
    for (size_t i = 0; i < trust->slip_count; i++)
        trust->slips[i].word = GL_WORD_UNKNOWN;
}

bool gl_trust_touched_by(gl_span record, gl_span line) {
    if (!gl_span_starts(record, GL_SPAN("contributor/")))
        return false;
    gl_slip_view view;
    gl_span name, item;
    gl_slip_look(line, &view);
    if (gl_json_member(view.set, "key").text)
        return true;
    gl_json_walk walk = gl_json_walk_of(view.clear);
    while (gl_json_next(&walk, &name, &item))
        if (gl_span_is(gl_json_raw(item), "key"))
            return true;
    return false;
}

/* ------------------------------------------------------------------------------------- slips, signatures */

/* Room for what is known of each slip of the store. */
static bool reserve_slips(gl_trust *trust) {
    size_t need = gl_store_count(trust->store);
    if (need > trust->slip_room) {
        void *grown = gl_grow(trust->slips, &trust->slip_room, need, sizeof *trust->slips);
        if (!grown)
            return false;
        trust->slips = grown;
    }
    for (; trust->slip_count < need; trust->slip_count++)
        trust->slips[trust->slip_count] = (gl_slip_trust){GL_WORD_UNKNOWN, false};
    return true;
}

/* Room for the signatures on each of these slips, once there are some. */
static bool reserve_ties(gl_trust *trust) {
    if (!trust->signature_count)
        return true;
    void *grown = gl_grow(trust->tied, &trust->tied_room, trust->slip_count, sizeof *trust->tied);
    if (!grown)
        return false;
    trust->tied = grown;
    for (; trust->tied_count < trust->slip_count; trust->tied_count++)
        trust->tied[trust->tied_count] = GL_NONE;
    return true;
}

static bool note_signature(gl_trust *trust, gl_span line) {
    if (trust->signature_count == trust->signature_room) {
        void *grown = gl_grow(trust->signatures, &trust->signature_room, trust->signature_count + 1,
                              sizeof *trust->signatures);
        if (!grown)
            return false;
        trust->signatures = grown;
    }
    trust->signatures[trust->signature_count++] =
        (gl_signature_trust){.line = line, .slip = GL_NONE, .next = GL_NONE, .fits = GL_FITS_UNKNOWN};
    trust->loose++;
    return true;
}

/* Ties a loose signature to its slip, if that is there. */
static void tie(gl_trust *trust, size_t number) {
    gl_signature_trust *it = &trust->signatures[number];
    gl_signature_view view;
    gl_digest of;
    gl_signature_look(it->line, &view);
    uint32_t slip = gl_digest_parse(view.of, &of) ? gl_store_find(trust->store, &of) : GL_NONE;
    if (slip == GL_NONE || slip >= trust->tied_count)
        return;
    trust->loose--;
    it->slip = slip;
    it->next = trust->tied[slip];
    trust->tied[slip] = (uint32_t)number;
}

/* Takes over what the log holds by now. Signatures that were added stand behind those of the log, so these
 * must all be known before one is added. */
bool gl_trust_catch_up(gl_trust *trust) {
    bool more = trust->slip_count < gl_store_count(trust->store);
    if (!reserve_slips(trust))
        return false;
    size_t before = trust->signature_count;
    while (trust->from_log < gl_log_signatures(trust->log)) {
        if (!note_signature(trust, gl_log_signature(trust->log, trust->from_log)))
            return false;
        trust->from_log++;
    }
    if (!reserve_ties(trust))
        return false;
    for (size_t i = more ? 0 : before; trust->loose && i < trust->signature_count; i++)
        if (trust->signatures[i].slip == GL_NONE)
            tie(trust, i);
    return true;
}

bool gl_trust_add(gl_trust *trust, gl_span line, bool fits) {
    if (!gl_trust_catch_up(trust) || !note_signature(trust, line) || !reserve_ties(trust))
        return false;
    trust->signatures[trust->signature_count - 1].fits = fits ? GL_FITS : GL_FITS_UNKNOWN;
    tie(trust, trust->signature_count - 1);
    return true;
}

/* The chains of signatures are made anew: those that go may stand anywhere in them. */
static void tie_anew(gl_trust *trust) {
    trust->loose = trust->signature_count;
    for (size_t i = 0; i < trust->tied_count; i++)
        trust->tied[i] = GL_NONE;
    for (size_t i = 0; i < trust->signature_count; i++)
        trust->signatures[i].slip = trust->signatures[i].next = GL_NONE;
    for (size_t i = 0; i < trust->signature_count; i++)
        tie(trust, i);
    gl_trust_changed(trust);
}

void gl_trust_drop_added(gl_trust *trust) {
    if (trust->signature_count == trust->from_log)
        return;
    trust->signature_count = trust->from_log;
    tie_anew(trust);
}

void gl_trust_cut(gl_trust *trust, uint32_t slips) {
    if (trust->slip_count <= slips)
        return;
    trust->slip_count = slips;
    if (trust->tied_count > slips)
        trust->tied_count = slips;
    tie_anew(trust);
}

size_t gl_trust_signatures(gl_trust *trust) {
    return gl_trust_catch_up(trust) ? trust->signature_count : 0;
}

gl_span gl_trust_signature(const gl_trust *trust, size_t number) {
    return trust->signatures[number].line;
}

uint32_t gl_trust_signed_slip(const gl_trust *trust, size_t number) {
    return trust->signatures[number].slip;
}

static int find_out(gl_trust *trust, size_t number, gl_verifier *verifier) {
    gl_signature_trust *it = &trust->signatures[number];
    if (it->fits != GL_FITS_UNKNOWN)
        return it->fits == GL_FITS;
    gl_signature_view view;
    gl_public_key key;
    gl_digest of;
    gl_signature signature;
    gl_signature_look(it->line, &view);
    int fits = gl_public_key_parse(view.key, &key) && gl_digest_parse(view.of, &of) &&
                       gl_signature_parse(view.sig, &signature)
                   ? gl_verifier_verify(verifier, &key, gl_signed_bytes(&of), &signature)
                   : 0;
    if (fits >= 0)
        it->fits = fits ? GL_FITS : GL_FITS_NOT;
    return fits;
}

int gl_trust_fits(gl_trust *trust, size_t number) {
    gl_verifier verifier = {.point = NULL};
    int fits = find_out(trust, number, &verifier);
    gl_verifier_end(&verifier);
    return fits;
}

enum { TOGETHER = 32 };

/* Signatures stand one behind another as somebody's slips do: their key is made ready once. */
static void verify_some(void *context, size_t index) {
    gl_trust *trust = context;
    gl_verifier verifier = {.point = NULL};
    for (size_t i = index * TOGETHER; i < (index + 1) * TOGETHER && i < trust->signature_count; i++)
        find_out(trust, i, &verifier); /* keeps what it finds */
    gl_verifier_end(&verifier);
}

size_t gl_trust_verified(gl_trust *trust) {
    size_t count = gl_trust_signatures(trust);
    gl_work((count + TOGETHER - 1) / TOGETHER, verify_some, trust);
    return count;
}

int gl_trust_signed_by(gl_trust *trust, uint32_t slip, const gl_public_key *key) {
    int tries = 0;
    if (!gl_trust_catch_up(trust))
        return -1;
    for (uint32_t at = slip < trust->tied_count ? trust->tied[slip] : GL_NONE;
         at != GL_NONE && tries < GL_SIGNATURE_TRIES; at = trust->signatures[at].next) {
        gl_signature_view view;
        gl_digest by;
        gl_signature_look(trust->signatures[at].line, &view);
        if (!gl_digest_parse(view.key, &by) || !gl_digest_equal(&by, key))
            continue;
        int fits = gl_trust_fits(trust, at);
        if (fits)
            return fits;
        tries++;
    }
    return 0;
}

/* ------------------------------------------------------------------------------------------------ spoken */

bool gl_trust_spoken(gl_trust *trust, uint32_t slip) {
    if (!gl_trust_catch_up(trust))
        return false;
    trust->slips[slip].spoken = true;
    return true;
}

bool gl_trust_is_spoken(const gl_trust *trust, uint32_t slip) {
    return slip < trust->slip_count && trust->slips[slip].spoken;
}

/* ------------------------------------------------------------------------------------------------- words */

static int signed_by_any(gl_trust *trust, uint32_t slip, const gl_signer *signer) {
    for (size_t i = 0; i < signer->counting_count; i++) {
        int fits = gl_trust_signed_by(trust, slip, &signer->counting[i]);
        if (fits)
            return fits;
    }
    return 0;
}

static bool names_in_via(const gl_trust *trust, uint32_t slip, gl_span person) {
    gl_slip_view view;
    gl_slip_look(gl_store_line(trust->store, slip), &view);
    return view.via.text && gl_span_equal(gl_json_raw(view.via), person);
}

/* The keeper's signature vouches for anybody's slip; the keeper's name in `via` does as long as the keeper
 * does not sign. */
static int vouched_for(gl_trust *trust, uint32_t slip) {
    uint32_t person = gl_store_person_find(trust->store, trust->keeper);
    if (person == GL_NONE)
        return names_in_via(trust, slip, trust->keeper);
    const gl_signer *keeper = gl_trust_signer(trust, person);
    if (!keeper)
        return -1;
    int fits = signed_by_any(trust, slip, keeper);
    if (fits)
        return fits;
    return gl_store_at(trust->store, slip)->edition < keeper->since &&
           names_in_via(trust, slip, trust->keeper);
}

static int judge(gl_trust *trust, uint32_t slip) {
    const gl_slip *said = gl_store_at(trust->store, slip);
    const gl_signer *signer = gl_trust_signer(trust, said->author);
    if (!signer)
        return -1;
    if (signer->since == GL_NONE)
        return GLASSINE_WORD_PLAIN;
    int fits = signed_by_any(trust, slip, signer);
    if (fits)
        return fits < 0 ? -1 : GLASSINE_WORD_SIGNED;
    fits = vouched_for(trust, slip);
    if (fits)
        return fits < 0 ? -1 : GLASSINE_WORD_VOUCHED;
    return said->edition < signer->since ? GLASSINE_WORD_PLAIN : GLASSINE_WORD_UNSIGNED;
}

int gl_trust_word(gl_trust *trust, uint32_t slip) {
    if (slip >= trust->slip_count && !gl_trust_catch_up(trust))
        return -1;
    if (trust->slips[slip].word != GL_WORD_UNKNOWN)
        return trust->slips[slip].word;
    int word = judge(trust, slip);
    if (word >= 0)
        trust->slips[slip].word = (uint8_t)word;
    return word;
}

int gl_trust_counts(gl_trust *trust, uint32_t slip) {
    if (gl_trust_is_spoken(trust, slip))
        return 1;
    int word = gl_trust_word(trust, slip);
    return word < 0 ? -1 : word != GLASSINE_WORD_UNSIGNED;
}

const char *glassine_word_name(glassine_word word) {
    static const char *const names[] = {"plain", "signed", "vouched", "unsigned"};
    return (unsigned)word < sizeof names / sizeof names[0] ? names[word] : "";
}
