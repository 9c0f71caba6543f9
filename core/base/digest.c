#include "evenbore/digest.h"

#include <sodium.h>
#include <string.h>

static void finish(crypto_hash_sha256_state *state, char digest[EB_DIGEST_SIZE])
{
  unsigned char raw[crypto_hash_sha256_BYTES];
  crypto_hash_sha256_final(state, raw);
  sodium_bin2hex(digest, EB_DIGEST_SIZE, raw, sizeof raw);
}

void eb_digest(const void *bytes, size_t size, char digest[EB_DIGEST_SIZE])
{
  eb_digest_chain("", bytes, size, digest);
}

void eb_digest_chain(const char *previous, const void *bytes, size_t size, char digest[EB_DIGEST_SIZE])
{
  crypto_hash_sha256_state state;
  crypto_hash_sha256_init(&state);
  crypto_hash_sha256_update(&state, (const unsigned char *)previous, strlen(previous));
  crypto_hash_sha256_update(&state, bytes, size);
  finish(&state, digest);
}
