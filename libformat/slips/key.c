/* A person's own key: made, kept as PKCS#8 in PEM (RFC 5958, RFC 7468, RFC 8410), read back. */
#include <errno.h>
#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/pkcs12.h>
#include <openssl/x509.h>
#include <stdlib.h>

#include "base/error.h"
#include "base/file.h"
#include "slips/signature.h"

enum {
    FILE_MOST = 65536,
    ROUNDS = 600000, /* of PBKDF2 with HMAC-SHA-256: about a fifth of a second */
    SALT = 16
};

/* Takes `pair` over. */
static glassine_status wrap(EVP_PKEY *pair, glassine_key **out, glassine_error *error) {
    glassine_key *key = pair ? calloc(1, sizeof *key) : NULL;
    size_t length = sizeof key->public_key.bytes;
    if (!key || EVP_PKEY_get_raw_public_key(pair, key->public_key.bytes, &length) != 1) {
        EVP_PKEY_free(pair);
        free(key);
        return gl_fail_memory(error);
    }
    key->pair = pair;
    gl_digest_hex(&key->public_key, key->hex);
    *out = key;
    return GLASSINE_OK;
}

glassine_status glassine_key_new(glassine_key **key, glassine_error *error) {
    *key = NULL;
    EVP_PKEY *pair = EVP_PKEY_Q_keygen(NULL, NULL, "ED25519");
    if (!pair)
        return gl_fail(error, GLASSINE_SYSTEM, NULL, NULL, "no key could be made");
    return wrap(pair, key, error);
}

void glassine_key_free(glassine_key *key) {
    if (!key)
        return;
    EVP_PKEY_free(key->pair);
    free(key);
}

const char *glassine_key_public(const glassine_key *key) {
    return key->hex;
}

/* ------------------------------------------------------------------------------------------------ reading */

/* Private keys are not left about in memory that is given back. */
static void forget(gl_buf *text) {
    if (text->text)
        OPENSSL_cleanse(text->text, text->length);
    gl_buf_free(text);
}

static glassine_status read_file(const char *path, gl_buf *text, glassine_error *error) {
    int code = gl_file_read_all(path, FILE_MOST, text);
    if (code == EFBIG)
        return gl_fail(error, GLASSINE_REFUSED, NULL, path, "is no file of a key");
    return code ? gl_fail_system(error, code, path, "cannot be read") : GLASSINE_OK;
}

static int no_passphrase(char *out, int size, int writing, void *context) {
    const char *passphrase = context;
    size_t length = passphrase ? strlen(passphrase) : 0;
    (void)writing;
    if (!passphrase || length > (size_t)size)
        return -1;
    memcpy(out, passphrase, length);
    return (int)length;
}

static bool is_locked(gl_span text) {
    static const char mark[] = "ENCRYPTED PRIVATE KEY-----";
    for (size_t i = 0; i + sizeof mark - 1 <= text.length; i++)
        if (memcmp(text.text + i, mark, sizeof mark - 1) == 0)
            return true;
    return false;
}

glassine_status glassine_key_locked(const char *path, bool *locked, glassine_error *error) {
    gl_buf text = GL_BUF_EMPTY;
    glassine_status status = read_file(path, &text, error);
    *locked = !status && is_locked(gl_buf_span(&text));
    forget(&text);
    return status;
}

glassine_status glassine_key_read(const char *path, const char *passphrase, glassine_key **key,
                                  glassine_error *error) {
    *key = NULL;
    gl_buf text = GL_BUF_EMPTY;
    glassine_status status = read_file(path, &text, error);
    if (status) {
        forget(&text);
        return status;
    }
    bool locked = is_locked(gl_buf_span(&text));
    BIO *memory = BIO_new_mem_buf(gl_buf_span(&text).text, (int)text.length);
    EVP_PKEY *pair = memory ? PEM_read_bio_PrivateKey(memory, NULL, no_passphrase, (void *)passphrase) : NULL;
    BIO_free(memory);
    forget(&text);
    if (!pair && locked)
        return gl_fail(error, GLASSINE_REFUSED, NULL, path,
                       passphrase ? "the passphrase does not open the key" : "the key wants its passphrase");
    if (!pair || EVP_PKEY_get_base_id(pair) != EVP_PKEY_ED25519) {
        EVP_PKEY_free(pair);
        return gl_fail(error, GLASSINE_REFUSED, NULL, path, "holds no Ed25519 key (PKCS#8 in PEM)");
    }
    return wrap(pair, key, error);
}

/* ------------------------------------------------------------------------------------------------ writing */

static bool print_locked(BIO *memory, const PKCS8_PRIV_KEY_INFO *plain, const char *passphrase) {
    X509_SIG *locked = PKCS8_encrypt(-1, EVP_aes_256_cbc(), passphrase, (int)strlen(passphrase), NULL, SALT,
                                     ROUNDS, (PKCS8_PRIV_KEY_INFO *)plain);
    bool done = locked && PEM_write_bio_PKCS8(memory, locked) == 1;
    X509_SIG_free(locked);
    return done;
}

static bool print(const glassine_key *key, const char *passphrase, BIO *memory) {
    PKCS8_PRIV_KEY_INFO *plain = EVP_PKEY2PKCS8(key->pair);
    bool done = plain && (passphrase ? print_locked(memory, plain, passphrase)
                                     : PEM_write_bio_PKCS8_PRIV_KEY_INFO(memory, plain) == 1);
    PKCS8_PRIV_KEY_INFO_free(plain);
    return done;
}

glassine_status glassine_key_write(const glassine_key *key, const char *path, const char *passphrase,
                                   glassine_error *error) {
    BIO *memory = BIO_new(BIO_s_secmem());
    char *text = NULL;
    long length = 0;
    if (!memory || !print(key, passphrase, memory) || (length = BIO_get_mem_data(memory, &text)) <= 0) {
        BIO_free(memory);
        return gl_fail(error, GLASSINE_SYSTEM, NULL, path, "the key could not be written down");
    }
    int code = gl_file_write_private(path, (gl_span){text, (size_t)length});
    OPENSSL_cleanse(text, (size_t)length);
    BIO_free(memory);
    if (code == EEXIST) {
        gl_fail(error, GLASSINE_REFUSED, NULL, path, "there is a key already");
        return GLASSINE_REFUSED;
    }
    return code ? gl_fail_making(error, code, path, "cannot be written") : GLASSINE_OK;
}
