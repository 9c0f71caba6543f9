/* The room share: procedures on their way between shops: who made one, that it is unchanged, and where it is kept.
 * Nothing in it runs a procedure, and nothing in it trusts one: trust is a person's word. */
#include "evenbore/signing.h"

#include "ed25519.h"

#include <assert.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

_Static_assert((int)EB_KEY_BYTES == (int)EB_ED25519_KEY, "key");
_Static_assert((int)EB_SIGNATURE_BYTES == (int)EB_ED25519_SIGNATURE, "signature");

static const char *const purposes[EB_PURPOSES] = {"bundle", "card", "handover", "revocation"};

const char *eb_purpose_word(eb_purpose purpose)
{
  return purposes[purpose];
}

bool eb_purpose_read(const char *word, eb_purpose *purpose)
{
  for (int i = 0; i < EB_PURPOSES; i++)
    if (strcmp(purposes[i], word) == 0) {
      *purpose = (eb_purpose)i;
      return true;
    }
  return false;
}

static void encode(const unsigned char *bytes, size_t size, char *text, size_t room)
{
  sodium_bin2base64(text, room, bytes, size, sodium_base64_VARIANT_ORIGINAL);
}

/* Exactly `size` bytes, in the spelling that encode gives them. */
static bool decode(const char *text, unsigned char *bytes, size_t size)
{
  char again[EB_SIGNATURE_TEXT_SIZE];
  const char *end = NULL;
  size_t made = 0, length = strlen(text);
  if (length != sodium_base64_encoded_len(size, sodium_base64_VARIANT_ORIGINAL) - 1 ||
      sodium_base642bin(bytes, size, text, length, NULL, &made, &end, sodium_base64_VARIANT_ORIGINAL) != 0 ||
      made != size || *end != '\0')
    return false;
  encode(bytes, size, again, sizeof again);
  return strcmp(again, text) == 0;
}

eb_status eb_public_key_read(const char *text, eb_public_key *key, eb_error *error)
{
  unsigned char bytes[EB_KEY_BYTES];
  if (!decode(text, bytes, sizeof bytes))
    return eb_fail(error, EB_BAD_VALUE, "", "\"%.60s\" is no public key; 44 characters of base64 are wanted", text);
  memcpy(key->text, text, EB_KEY_TEXT_SIZE);
  return EB_OK;
}

void eb_public_key_bytes(const eb_public_key *key, unsigned char bytes[EB_KEY_BYTES])
{
  bool is_key = decode(key->text, bytes, EB_KEY_BYTES);
  assert(is_key);
  if (!is_key)
    memset(bytes, 0, EB_KEY_BYTES); /* of small order: no signature is good under it */
}

bool eb_public_key_equal(const eb_public_key *a, const eb_public_key *b)
{
  return strcmp(a->text, b->text) == 0;
}

/* What stands before the key in a SubjectPublicKeyInfo: SEQUENCE, SEQUENCE, OID 1.3.101.112, BIT STRING [RFC 8410,
 * section 4]. */
void eb_public_key_pem(const eb_public_key *key, char pem[EB_KEY_PEM_SIZE])
{
  unsigned char info[12 + EB_KEY_BYTES] = {0x30, 0x2A, 0x30, 0x05, 0x06, 0x03, 0x2B, 0x65, 0x70, 0x03, 0x21, 0x00};
  char text[64];
  eb_public_key_bytes(key, info + 12);
  encode(info, sizeof info, text, sizeof text);
  snprintf(pem, EB_KEY_PEM_SIZE, "-----BEGIN PUBLIC KEY-----\n%s\n-----END PUBLIC KEY-----\n", text);
}

bool eb_signature_bytes(const char *signature, unsigned char bytes[EB_SIGNATURE_BYTES])
{
  return decode(signature, bytes, EB_SIGNATURE_BYTES);
}

void eb_secret_key_from_seed(const unsigned char seed[EB_KEY_BYTES], eb_secret_key *key)
{
  unsigned char bytes[EB_KEY_BYTES];
  memcpy(key->seed, seed, EB_KEY_BYTES);
  eb_ed25519_public(seed, bytes);
  encode(bytes, sizeof bytes, key->public_key.text, sizeof key->public_key.text);
}

eb_status eb_secret_key_make(eb_secret_key *key, eb_error *error)
{
  unsigned char seed[EB_KEY_BYTES];
  if (sodium_init() < 0)
    return eb_fail(error, EB_IO, "", "the system gives no random numbers, so that no key can be made");
  randombytes_buf(seed, sizeof seed);
  eb_secret_key_from_seed(seed, key);
  sodium_memzero(seed, sizeof seed);
  return EB_OK;
}

void eb_secret_key_forget(eb_secret_key *key)
{
  sodium_memzero(key, sizeof *key);
}

void eb_signed_bytes(eb_text *text, eb_purpose purpose, const void *bytes, size_t size)
{
  eb_text_printf(text, "evenbore %s 1\n", purposes[purpose]);
  eb_text_add_bytes(text, bytes, size);
}

eb_status eb_sign(const eb_host *host, eb_purpose purpose, const void *bytes, size_t size, const eb_secret_key *key,
                  char signature[EB_SIGNATURE_TEXT_SIZE], eb_error *error)
{
  unsigned char raw[EB_SIGNATURE_BYTES];
  eb_text text;
  assert(size <= EB_SIGNED_MAX);
  eb_text_init(&text, host);
  eb_signed_bytes(&text, purpose, bytes, size);
  bool done = !text.failed;
  if (done) {
    eb_ed25519_sign(key->seed, text.bytes, text.size, raw);
    encode(raw, sizeof raw, signature, EB_SIGNATURE_TEXT_SIZE);
  }
  eb_text_clear(&text);
  return done ? EB_OK : eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

static eb_status check(const eb_host *host, eb_purpose purpose, const void *bytes, size_t size,
                       const unsigned char key[EB_KEY_BYTES], const unsigned char *raw, bool *good, eb_error *error)
{
  eb_text text;
  eb_text_init(&text, host);
  eb_signed_bytes(&text, purpose, bytes, size);
  bool done = !text.failed;
  if (done)
    *good = eb_ed25519_check(key, text.bytes, text.size, raw);
  eb_text_clear(&text);
  return done ? EB_OK : eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

eb_status eb_signature_check(const eb_host *host, eb_purpose purpose, const void *bytes, size_t size,
                             const eb_public_key *key, const char *signature, eb_error *error)
{
  unsigned char raw[EB_SIGNATURE_BYTES], public_key[EB_KEY_BYTES];
  if (size > EB_SIGNED_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "%zu bytes are signed; %d are the most", size, (int)EB_SIGNED_MAX);
  if (!decode(signature, raw, sizeof raw))
    return eb_fail(error, EB_BAD_SIGNATURE, "", "there is no signature; 88 characters of base64 are wanted");
  eb_public_key_bytes(key, public_key);
  for (int i = 0; i < EB_PURPOSES; i++) {
    eb_purpose tried = (eb_purpose)(((int)purpose + i) % EB_PURPOSES);
    bool good = false;
    eb_status status = check(host, tried, bytes, size, public_key, raw, &good, error);
    if (status != EB_OK)
      return status;
    if (good && tried != purpose)
      return eb_fail(error, EB_BAD_PURPOSE, "", "it was signed as a %s, and passed off as a %s", purposes[tried],
                     purposes[purpose]);
    if (good)
      return EB_OK;
  }
  return eb_fail(error, EB_BAD_SIGNATURE, "", "the signature is not its maker's for what stands here");
}
