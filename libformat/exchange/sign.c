#include "exchange/sign.h"

#include "base/error.h"
#include "records/value.h"

/* NULL where memory ran out, too: the bundle notes it. */
static const gl_signer *signer_at(glassine_bundle *bundle, uint32_t person) {
    const gl_signer *signer = gl_trust_signer(bundle->trust, person);
    bundle->failed = bundle->failed || !signer;
    return signer;
}

static const gl_signer *signer_of(glassine_draft *draft, const char *person) {
    uint32_t number = gl_store_person_find(draft->bundle->store, gl_span_of(person));
    return number == GL_NONE ? NULL : signer_at(draft->bundle, number);
}

static bool puts_forward(const gl_signer *signer, const glassine_key *key) {
    for (size_t i = 0; signer && i < signer->count; i++)
        if (signer->keys[i].way != GL_KEY_NOT_HELD && gl_digest_equal(&signer->keys[i].key, &key->public_key))
            return true;
    return false;
}

bool gl_draft_holds_key(glassine_draft *draft) {
    const glassine_key *key = draft->bundle->key;
    const gl_signer *signer = key ? signer_of(draft, draft->own) : NULL;
    for (size_t i = 0; signer && i < signer->count; i++) {
        const gl_held_key *held = &signer->keys[i];
        if (held->way != GL_KEY_NOT_HELD && held->way != GL_KEY_BEFORE && held->slip != GL_NONE &&
            gl_digest_equal(&held->key, &key->public_key) &&
            gl_span_is(glassine_bundle_slip(draft->bundle, held->slip).by, draft->own))
            return true;
    }
    return false;
}

static bool is_somebody_elses(glassine_draft *draft) {
    glassine_bundle *bundle = draft->bundle;
    for (uint32_t person = 0; person < gl_store_people(bundle->store); person++)
        if (!gl_span_is(gl_store_person(bundle->store, person), draft->own) &&
            puts_forward(signer_at(bundle, person), bundle->key))
            return true;
    return false;
}

/* Takes the key the place of one that counts? */
static bool is_change(const glassine_bundle *bundle, const gl_signer *signer) {
    return signer && bundle->key_before && gl_signer_has(signer, &bundle->key_before->public_key) &&
           !gl_digest_equal(&bundle->key->public_key, &bundle->key_before->public_key);
}

/* May the key be put forward in the name of the one at work? A contributor who signs with another key already
 * changes it with that one's signature; the keeper may begin anew, and says so by name (trust). */
static bool may_put_forward(glassine_draft *draft, const gl_signer *signer) {
    const glassine_bundle *bundle = draft->bundle;
    if (is_somebody_elses(draft))
        return false;
    return !signer || signer->since == GL_NONE || is_change(bundle, signer) || draft->begins_anew ||
           gl_signer_has(signer, &bundle->key->public_key);
}

static glassine_status add_signature(glassine_draft *draft, const glassine_key *key, uint32_t slip,
                                     glassine_error *error) {
    gl_buf line = GL_BUF_EMPTY;
    bool made = gl_signature_write(key, &gl_store_at(draft->bundle->store, slip)->digest, &line);
    gl_span copy = made ? gl_arena_copy(draft->bundle->arena, gl_buf_span(&line)) : GL_NO_SPAN;
    gl_buf_free(&line);
    return copy.text ? gl_draft_add_signature(draft, copy, error) : gl_fail_memory(error);
}

/* A slip that says whose key it is, signed by it, and by the one that it takes the place of. */
static glassine_status put_forward(glassine_draft *draft, bool change, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    char by[GL_PERSON_SIZE], via[GL_PERSON_SIZE];
    memcpy(by, draft->by, sizeof by);
    memcpy(via, draft->via, sizeof via);
    gl_buf set = GL_BUF_EMPTY;
    gl_buf_printf(&set, "{\"key\":\"%s\"", bundle->key->hex);
    if (change)
        gl_buf_printf(&set, ",\"key_before\":\"%s\"", bundle->key_before->hex);
    gl_buf_add_char(&set, '}');
    memcpy(draft->by, draft->own, sizeof by);
    draft->via[0] = '\0';
    uint32_t slip = gl_store_count(bundle->store);
    glassine_status status = set.failed ? gl_fail_memory(error)
                                        : gl_draft_slip(draft, gl_span_of(draft->own), GLASSINE_SHARED,
                                                        gl_buf_span(&set), GL_NO_SPAN, NULL, error);
    memcpy(draft->by, by, sizeof by);
    memcpy(draft->via, via, sizeof via);
    gl_buf_free(&set);
    if (!status)
        status = add_signature(draft, bundle->key, slip, error);
    if (!status && change)
        status = add_signature(draft, bundle->key_before, slip, error);
    return status ? status : gl_bundle_index(bundle, error);
}

/* Did the one at work speak this slip, or write it down? */
static bool is_own(glassine_draft *draft, uint32_t slip) {
    glassine_slip said = glassine_bundle_slip(draft->bundle, slip);
    return gl_span_is(said.by, draft->own) || (said.via.text && gl_span_is(said.via, draft->own));
}

static bool carries_key(glassine_draft *draft, uint32_t slip) {
    glassine_bundle *bundle = draft->bundle;
    int carries = gl_trust_signed_by(bundle->trust, slip, &bundle->key->public_key);
    bundle->failed = bundle->failed || carries < 0;
    return carries != 0;
}

glassine_status gl_draft_sign(glassine_draft *draft, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    if (!bundle->key)
        return GLASSINE_OK;
    glassine_status status = GLASSINE_OK;
    if (!gl_draft_holds_key(draft)) {
        const gl_signer *signer = signer_of(draft, draft->own);
        if (!may_put_forward(draft, signer))
            return gl_bundle_end(bundle, NULL, GLASSINE_OK, error);
        status = put_forward(draft, is_change(bundle, signer), error);
    }
    for (uint32_t slip = draft->base; slip < gl_store_count(bundle->store) && !status; slip++)
        if (gl_trust_is_spoken(bundle->trust, slip) && is_own(draft, slip) && !carries_key(draft, slip))
            status = add_signature(draft, bundle->key, slip, error);
    return gl_bundle_end(bundle, NULL, status, error);
}

glassine_status gl_draft_vouch(glassine_draft *draft, glassine_bundle *from, glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    glassine_status status = GLASSINE_OK;
    if (!gl_span_is(gl_span_of(draft->own), bundle->about.keeper) || !gl_draft_holds_key(draft))
        return gl_bundle_end(bundle, NULL, GLASSINE_OK, error);
    for (uint32_t slip = draft->base; slip < gl_store_count(bundle->store) && !status; slip++) {
        uint32_t there = gl_store_find(from->store, &gl_store_at(bundle->store, slip)->digest);
        /* The keeper signs in this bundle from its first edition on, so that the keeper's earlier word needs
         * it too. */
        bool needed = is_own(draft, slip) || gl_bundle_word(bundle, slip) == GLASSINE_WORD_UNSIGNED;
        if (needed && there != GL_NONE && gl_bundle_word(from, there) != GLASSINE_WORD_UNSIGNED &&
            !carries_key(draft, slip))
            status = add_signature(draft, bundle->key, slip, error);
    }
    status = gl_bundle_end(bundle, NULL, status, error);
    return gl_bundle_end(from, NULL, status, error);
}

/* Will the slip be signed when the draft is saved? */
static bool will_be_signed(glassine_draft *draft, uint32_t slip) {
    glassine_bundle *bundle = draft->bundle;
    return bundle->key && gl_trust_is_spoken(bundle->trust, slip) && is_own(draft, slip) &&
           (gl_draft_holds_key(draft) || may_put_forward(draft, signer_of(draft, draft->own)));
}

size_t glassine_draft_unsigned(glassine_draft *draft) {
    glassine_bundle *bundle = draft->bundle;
    size_t count = 0;
    for (uint32_t slip = draft->base; slip < gl_store_count(bundle->store); slip++)
        count += gl_trust_is_spoken(bundle->trust, slip) &&
                 gl_bundle_word(bundle, slip) == GLASSINE_WORD_UNSIGNED && !will_be_signed(draft, slip);
    return count;
}

static bool is_on(glassine_bundle *bundle, gl_span id, glassine_record *const *records, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (gl_span_equal(id, gl_record_id(bundle, records[i])))
            return true;
    return false;
}

glassine_status glassine_draft_sign_earlier(glassine_draft *draft, glassine_record *const *records,
                                            size_t record_count, size_t *count, size_t *left,
                                            glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    bool keeper = gl_span_is(gl_span_of(draft->own), bundle->about.keeper);
    *count = *left = 0;
    if (!bundle->key) {
        gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path, "there is no key to sign with");
        gl_error_remedy(error, "`glassine key new` makes one");
        return GLASSINE_REFUSED;
    }
    glassine_status status = gl_draft_sign(draft, error);
    if (!status && !gl_draft_holds_key(draft))
        status =
            gl_fail(error, GLASSINE_REFUSED, NULL, bundle->path, "the key is not that of the one who speaks");
    for (uint32_t slip = 0; slip < draft->base && !status; slip++) {
        glassine_slip said = glassine_bundle_slip(bundle, slip);
        bool own =
            gl_span_is(said.by, draft->own) || (keeper && said.via.text && gl_span_is(said.via, draft->own));
        if (!own || carries_key(draft, slip))
            continue;
        if (said.word == GLASSINE_WORD_UNSIGNED && !is_on(bundle, said.record, records, record_count)) {
            ++*left;
            continue;
        }
        status = add_signature(draft, bundle->key, slip, error);
        ++*count;
    }
    return gl_bundle_end(bundle, NULL, status, error);
}

/* ------------------------------------------------------------------------------------------ the keeper's
 * word */

glassine_status glassine_draft_trust(glassine_draft *draft, glassine_record *contributor, const char *key,
                                     glassine_error *error) {
    glassine_bundle *bundle = draft->bundle;
    gl_span id = gl_record_id(bundle, contributor);
    gl_public_key parsed;
    if (!gl_span_is(gl_span_of(draft->by), bundle->about.keeper)) {
        gl_fail(error, GLASSINE_REFUSED, "K032", bundle->path, "only the keeper's word on a key counts");
        gl_error_remedy(error, "Say so in a bundle of your own");
        return GLASSINE_REFUSED;
    }
    if (key && !gl_public_key_parse(gl_span_of(key), &parsed))
        return gl_fail(error, GLASSINE_REFUSED, "R024", NULL, "\"%s\" is no public key of 64 hex digits",
                       key);
    if (gl_span_is(id, bundle->about.keeper)) {
        if (!key || !bundle->key || strcmp(key, bundle->key->hex) != 0) {
            gl_fail(error, GLASSINE_REFUSED, "K032", bundle->path,
                    "the keeper's own key is the one that the keeper signs with");
            gl_error_remedy(error, "Name the key that `glassine key show` shows");
            return GLASSINE_REFUSED;
        }
        draft->begins_anew = true;
        return gl_draft_sign(draft, error);
    }
    gl_buf set = GL_BUF_EMPTY;
    gl_buf_printf(&set, key ? "{\"key\":\"%s\"}" : "{}%s", key ? key : "");
    glassine_status status = set.failed ? gl_fail_memory(error)
                                        : gl_draft_slip(draft, id, GLASSINE_SHARED, gl_buf_span(&set),
                                                        key ? GL_NO_SPAN : GL_SPAN("[\"key\"]"), NULL, error);
    gl_buf_free(&set);
    return status ? status : gl_bundle_index(bundle, error);
}
