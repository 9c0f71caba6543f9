#include "ed25519.h"

#include <sodium.h>

_Static_assert(EB_ED25519_KEY == crypto_sign_SEEDBYTES, "seed");
_Static_assert(EB_ED25519_KEY == crypto_sign_PUBLICKEYBYTES, "key");
_Static_assert(EB_ED25519_SIGNATURE == crypto_sign_BYTES, "signature");

void eb_ed25519_public(const unsigned char seed[EB_ED25519_KEY], unsigned char public_key[EB_ED25519_KEY])
{
  unsigned char secret[crypto_sign_SECRETKEYBYTES];
  crypto_sign_seed_keypair(public_key, secret, seed);
  sodium_memzero(secret, sizeof secret);
}

void eb_ed25519_sign(const unsigned char seed[EB_ED25519_KEY], const void *bytes, size_t size,
                     unsigned char signature[EB_ED25519_SIGNATURE])
{
  unsigned char public_key[crypto_sign_PUBLICKEYBYTES], secret[crypto_sign_SECRETKEYBYTES];
  crypto_sign_seed_keypair(public_key, secret, seed);
  crypto_sign_detached(signature, NULL, bytes, size, secret);
  sodium_memzero(secret, sizeof secret);
}

bool eb_ed25519_check(const unsigned char public_key[EB_ED25519_KEY], const void *bytes, size_t size,
                      const unsigned char signature[EB_ED25519_SIGNATURE])
{
  return crypto_sign_verify_detached(signature, bytes, size, public_key) == 0;
}
