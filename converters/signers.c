#include "signers.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>

#include "view.h"

/* One statement that is not plain. */
typedef struct word {
    glassine_span by;
    glassine_word word;
} word;

typedef struct words {
    word *list;
    size_t count, room;
} words;

/* Where nobody ever gave a key, nobody signs, and no statement need be looked at. */
static glassine_status has_keys(glassine_bundle *bundle, bool *keys, glassine_error *error) {
    glassine_cursor *cursor;
    glassine_status status = glassine_cursor_new(bundle, "contributor", true, &cursor, error);
    if (status)
        return status;
    *keys = false;
    for (glassine_record *record; !*keys && (record = glassine_cursor_next(cursor)) != NULL;)
        *keys = glassine_record_text(bundle, record, "key").text != NULL;
    glassine_cursor_free(cursor);
    return GLASSINE_OK;
}

static int by_person(const void *a, const void *b) {
    return conv_compare(((const word *)a)->by, ((const word *)b)->by);
}

static bool collect(glassine_bundle *bundle, bool with_private, words *all) {
    uint64_t count = glassine_bundle_slips(bundle);
    for (uint32_t i = 0; i < count; i++) {
        glassine_slip slip = glassine_bundle_slip(bundle, i);
        if (slip.word == GLASSINE_WORD_PLAIN || (slip.reach == GLASSINE_PRIVATE && !with_private))
            continue;
        word *grown = conv_grow(all->list, &all->room, all->count + 1, sizeof *grown);
        if (!grown)
            return false;
        all->list = grown;
        all->list[all->count++] = (word){slip.by, slip.word};
    }
    if (all->count)
        qsort(all->list, all->count, sizeof *all->list, by_person);
    return true;
}

static bool count_up(glassine_bundle *bundle, bool with_private, const words *all, conv_signers *signers) {
    for (size_t i = 0; i < all->count; i++) {
        const word *one = &all->list[i];
        if (!i || by_person(one, one - 1) != 0) {
            conv_signer *grown = conv_grow(signers->list, &signers->room, signers->count + 1, sizeof *grown);
            if (!grown)
                return false;
            signers->list = grown;
            signers->list[signers->count++] =
                (conv_signer){.person = one->by, .name = conv_name_of(bundle, one->by, with_private)};
        }
        conv_signer *signer = &signers->list[signers->count - 1];
        signer->is_signed += one->word == GLASSINE_WORD_SIGNED;
        signer->vouched += one->word == GLASSINE_WORD_VOUCHED;
        signer->uncounted += one->word == GLASSINE_WORD_UNSIGNED;
    }
    return true;
}

glassine_status conv_signers_find(glassine_bundle *bundle, bool with_private, conv_signers *signers,
                                  glassine_error *error) {
    words all = {0};
    bool keys;
    *signers = (conv_signers){0};
    glassine_status status = has_keys(bundle, &keys, error);
    if (status || !keys)
        return status;
    if (!collect(bundle, with_private, &all) || !count_up(bundle, with_private, &all, signers))
        status = conv_fail_system(error, ENOMEM, NULL, "Cannot list who signs");
    free(all.list);
    return status;
}

void conv_signers_free(conv_signers *signers) {
    free(signers->list);
    *signers = (conv_signers){0};
}

void conv_signer_say(const conv_signer *signer, conv_output *out) {
    conv_add(out, signer->name);
    conv_printf(out, ": %" PRIu64 " signed", signer->is_signed);
    if (signer->vouched)
        conv_printf(out, ", %" PRIu64 " vouched for by the keeper", signer->vouched);
    if (signer->uncounted)
        conv_printf(out, "; %" PRIu64 " not signed, which do not count and are left out", signer->uncounted);
}
