/* Signing: Ed25519 signatures (RFC 8032) that are each good for one purpose.
 *
 * What is signed is never the bytes alone but a line before them that names the purpose:
 *
 *   "evenbore " PURPOSE " 1\n" BYTES
 *
 * PURPOSE is one of the words below.  None holds a space or a newline, so that no bytes for one purpose are bytes for
 * another: a signature under a bundle cannot be passed off as one under a handover.  It is pure Ed25519, no
 * pre-hash: `openssl pkeyutl -verify -rawin` checks it over exactly these bytes.
 *
 * Keys and signatures are text in base64 (RFC 4648, with padding); only the one right spelling of each is read. */
#ifndef EVENBORE_SIGNING_H
#define EVENBORE_SIGNING_H

#include "evenbore/host.h"
#include "evenbore/status.h"
#include "evenbore/text.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  EB_KEY_BYTES = 32,
  EB_KEY_TEXT_SIZE = 45,       /* 44 characters, and the NUL at their end */
  EB_SIGNATURE_TEXT_SIZE = 89, /* 88 characters of 64 bytes */
  EB_SIGNED_MAX = 1 << 20      /* bytes that one signature is over, without the purpose's line */
};

typedef enum eb_purpose { EB_FOR_BUNDLE, EB_FOR_CARD, EB_FOR_HANDOVER, EB_FOR_REVOCATION, EB_PURPOSES } eb_purpose;

const char *eb_purpose_word(eb_purpose purpose);             /* "bundle", "card", "handover", "revocation"; static */
bool eb_purpose_read(const char *word, eb_purpose *purpose); /* false: no such purpose */

/* A maker's public key, as it stands in texts. */
typedef struct eb_public_key {
  char text[EB_KEY_TEXT_SIZE];
} eb_public_key;

/* A maker's private key: the seed of RFC 8032, and the public key that follows from it. Forget it after use. */
typedef struct eb_secret_key {
  unsigned char seed[EB_KEY_BYTES];
  eb_public_key public_key;
} eb_secret_key;

/* EB_BAD_VALUE: not 32 bytes in base64. */
eb_status eb_public_key_read(const char *text, eb_public_key *key, eb_error *error);
void eb_public_key_bytes(const eb_public_key *key, unsigned char bytes[EB_KEY_BYTES]);
bool eb_public_key_equal(const eb_public_key *a, const eb_public_key *b);

/* For other programs: the key as a PEM text (SubjectPublicKeyInfo, RFC 8410), and the 64 bytes of a signature; false
 * where the text is none. */
enum { EB_SIGNATURE_BYTES = 64, EB_KEY_PEM_SIZE = 128 };
void eb_public_key_pem(const eb_public_key *key, char pem[EB_KEY_PEM_SIZE]);
bool eb_signature_bytes(const char *signature, unsigned char bytes[EB_SIGNATURE_BYTES]);

/* A new pair from the system's random numbers. EB_IO where there are none. */
eb_status eb_secret_key_make(eb_secret_key *key, eb_error *error);
void eb_secret_key_from_seed(const unsigned char seed[EB_KEY_BYTES], eb_secret_key *key);
void eb_secret_key_forget(eb_secret_key *key); /* overwrites it */

/* The bytes that a signature is over, added to *text: for who wants to check it without this library. */
void eb_signed_bytes(eb_text *text, eb_purpose purpose, const void *bytes, size_t size);

/* The same key, purpose and bytes give the same signature.  At most EB_SIGNED_MAX bytes (asserted). EB_OUT_OF_MEMORY.
 */
eb_status eb_sign(const eb_host *host, eb_purpose purpose, const void *bytes, size_t size, const eb_secret_key *key,
                  char signature[EB_SIGNATURE_TEXT_SIZE], eb_error *error);

/* EB_BAD_PURPOSE: the key's true signature of these bytes, but for another purpose, which the message names;
 * EB_BAD_SIGNATURE: none of this key and these bytes, or no signature at all; EB_OUT_OF_RANGE: too many bytes;
 * EB_OUT_OF_MEMORY.  error->place is "". */
eb_status eb_signature_check(const eb_host *host, eb_purpose purpose, const void *bytes, size_t size,
                             const eb_public_key *key, const char *signature, eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
