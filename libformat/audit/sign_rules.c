#include "audit/sign_rules.h"

#include <stdio.h>

#include "base/error.h"

enum { TOLD_MOST = 20 };

/* The rules here, in the order in which what is left untold is told. */
static const char *const rules[] = {"K020", "K030", "K031", "K032", "K033", "K034", "K040", "L026"};
enum { FITS, COUNTS, CHANGE, GIVER, HOLDS, ONE, EDITION, KEYS, RULES };

typedef struct exam {
    glassine_bundle *bundle;
    void (*found)(void *context, const glassine_error *error);
    void *context;
    size_t told[RULES];
} exam;

static void tell(exam *it, int rule, gl_span place, const char *what) {
    glassine_error error;
    char where[160];
    if (it->told[rule]++ >= TOLD_MOST)
        return;
    snprintf(where, sizeof where, "%.*s", GL_SPAN_ARGS(place));
    gl_fail(&error, GLASSINE_REFUSED, rules[rule], where, "%s", what);
    it->found(it->context, &error);
}

static void tell_rest(exam *it) {
    for (int rule = 0; rule < RULES; rule++) {
        glassine_error error;
        if (it->told[rule] <= TOLD_MOST)
            continue;
        gl_fail(&error, GLASSINE_REFUSED, rules[rule], it->bundle->file, "and %zu more of the same",
                it->told[rule] - TOLD_MOST);
        it->found(it->context, &error);
    }
}

/* "claim/… (slip 1a2b3c4d5e6f)" */
static gl_span place_of(exam *it, uint32_t slip, char out[160]) {
    glassine_slip said = glassine_bundle_slip(it->bundle, slip);
    int length = snprintf(out, 160, "%.*s, slip %.12s", GL_SPAN_ARGS(said.record), said.digest);
    return (gl_span){out, length > 0 ? (size_t)length : 0};
}

static glassine_status check_signatures(exam *it, glassine_error *error) {
    gl_trust *trust = it->bundle->trust;
    size_t count = gl_trust_verified(trust);
    for (size_t i = 0; i < count; i++) {
        int fits = gl_trust_fits(trust, i);
        if (fits < 0)
            return gl_fail_memory(error);
        if (fits)
            continue;
        char place[160];
        uint32_t slip = gl_trust_signed_slip(trust, i);
        gl_signature_view view;
        gl_signature_look(gl_trust_signature(trust, i), &view);
        tell(it, FITS, slip == GL_NONE ? view.of : place_of(it, slip, place),
             "a signature on it does not fit");
    }
    return GLASSINE_OK;
}

static void check_word(exam *it, uint32_t slip) {
    glassine_slip said = glassine_bundle_slip(it->bundle, slip);
    char place[160], what[256];
    if (said.word != GLASSINE_WORD_UNSIGNED)
        return;
    glassine_record *person = glassine_bundle_record(it->bundle, said.by, GL_NO_SPAN);
    gl_span name = person ? glassine_record_label(it->bundle, person) : said.by;
    snprintf(what, sizeof what, "it is in the name of %.*s, who signs, and is not signed",
             (int)(name.length > 100 ? 100 : name.length), name.text);
    tell(it, COUNTS, place_of(it, slip, place), what);
}

static void check_giver(exam *it, uint32_t slip) {
    glassine_slip said = glassine_bundle_slip(it->bundle, slip);
    char place[160];
    if (gl_span_starts(said.record, GL_SPAN("contributor/")) && gl_json_member(said.set, "key").text &&
        !gl_span_equal(said.by, said.record) && !gl_span_is(said.by, it->bundle->about.keeper))
        tell(it, GIVER, place_of(it, slip, place), "it gives somebody else's key");
}

static void check_keys(exam *it, const gl_signer *signer, gl_span person) {
    char place[160];
    size_t rivals = 0;
    if (signer->too_many)
        tell(it, KEYS, person, "more than 100 keys would count");
    for (size_t i = 0; i < signer->count; i++) {
        const gl_held_key *key = &signer->keys[i];
        rivals += key->way == GL_KEY_RIVAL;
        if (key->way != GL_KEY_NOT_HELD)
            continue;
        glassine_slip said = glassine_bundle_slip(it->bundle, key->slip);
        bool change = gl_json_member(said.set, "key_before").text != NULL;
        tell(it, change ? CHANGE : HOLDS, place_of(it, key->slip, place),
             change ? "the key it gives is not signed for by both keys"
                    : "it is not signed by the key that it gives");
    }
    bool keeper = gl_span_is(person, it->bundle->about.keeper);
    if (!signer->too_many && !keeper && !signer->by_word && (signer->together > 1 || rivals))
        tell(it, ONE, person,
             signer->together > 1 ? "two keys came at once in this name; both count until one is trusted"
                                  : "another key is given in this name than the one seen first");
    if (keeper && rivals)
        tell(it, ONE, person, "a key is given in the keeper's name with which the keeper never saved");
}

static glassine_status check_people(exam *it, glassine_error *error) {
    const gl_store *store = it->bundle->store;
    for (uint32_t person = 0; person < gl_store_people(store); person++) {
        const gl_signer *signer = gl_trust_signer(it->bundle->trust, person);
        if (!signer)
            return gl_fail_memory(error);
        check_keys(it, signer, gl_store_person(store, person));
    }
    return GLASSINE_OK;
}

static bool gave(const gl_signer *signer, const gl_public_key *key, uint32_t until) {
    for (size_t i = 0; i < signer->count; i++)
        if (signer->keys[i].way != GL_KEY_NOT_HELD && signer->keys[i].edition <= until &&
            gl_digest_equal(&signer->keys[i].key, key))
            return true;
    return false;
}

static glassine_status check_editions(exam *it, glassine_error *error) {
    glassine_bundle *bundle = it->bundle;
    for (uint32_t number = 1; number <= bundle->edition; number++) {
        gl_edition_view said = gl_edition_said(gl_log_edition(bundle->log, number));
        gl_public_key key;
        if (!said.key.text)
            continue;
        uint32_t person = gl_store_person_find(bundle->store, said.by);
        const gl_signer *signer = person == GL_NONE ? NULL : gl_trust_signer(bundle->trust, person);
        if (person != GL_NONE && !signer)
            return gl_fail_memory(error);
        char place[64];
        snprintf(place, sizeof place, "edition %u", number);
        if (!signer || !gl_public_key_parse(said.key, &key) || !gave(signer, &key, number))
            tell(it, EDITION, gl_span_of(place), "it names a key that the one who saved it did not give");
    }
    return GLASSINE_OK;
}

glassine_status gl_sign_rules(glassine_bundle *bundle,
                              void (*found)(void *context, const glassine_error *error), void *context,
                              glassine_error *error) {
    exam it = {.bundle = bundle, .found = found, .context = context};
    glassine_status status = check_signatures(&it, error);
    for (uint32_t slip = 0; slip < gl_store_count(bundle->store) && !status; slip++) {
        check_word(&it, slip);
        check_giver(&it, slip);
    }
    if (!status)
        status = check_people(&it, error);
    if (!status)
        status = check_editions(&it, error);
    tell_rest(&it);
    return status;
}
