/* Signatures and digests, through the library as it is built: Ed25519 against RFC 8032, section 7.1, and SHA-256
 * against the examples of FIPS 180-4 (the tables name where each was read). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenbore/digest.h"
#include "evenbore/signing.h"

#include "ed25519.h"
#include "table.h"

enum { MESSAGE_MAX = 64 };

static size_t bytes_of(const char *hex, unsigned char *bytes, size_t room)
{
  size_t size = strlen(hex) / 2;
  assert_true(strlen(hex) % 2 == 0 && size <= room);
  for (size_t i = 0; i < size; i++) {
    unsigned value = 0;
    assert_int_equal(sscanf(hex + 2 * i, "%2x", &value), 1);
    bytes[i] = (unsigned char)value;
  }
  return size;
}

static void signatures_of_rfc_8032(void **state)
{
  (void)state;
  table t = table_read("rfc8032_ed25519.csv");
  for (int i = 0; i < t.rows; i++) {
    unsigned char seed[32], public_key[32], message[MESSAGE_MAX], signature[64], made[64], made_key[32];
    size_t size = bytes_of(table_text(&t, i, "message"), message, sizeof message);
    assert_int_equal(bytes_of(table_text(&t, i, "seed"), seed, 32), 32);
    assert_int_equal(bytes_of(table_text(&t, i, "public"), public_key, 32), 32);
    assert_int_equal(bytes_of(table_text(&t, i, "signature"), signature, 64), 64);
    eb_ed25519_public(seed, made_key);
    assert_memory_equal(made_key, public_key, 32);
    eb_ed25519_sign(seed, message, size, made);
    assert_memory_equal(made, signature, 64);
    assert_true(eb_ed25519_check(public_key, message, size, signature));
    for (int bit = 0; bit < 8 * 64; bit++) {
      made[bit / 8] ^= (unsigned char)(1U << (bit % 8));
      assert_false(eb_ed25519_check(public_key, message, size, made));
      made[bit / 8] ^= (unsigned char)(1U << (bit % 8));
    }
    /* The keys that people see are the same ones. */
    eb_secret_key key;
    eb_secret_key_from_seed(seed, &key);
    eb_public_key_bytes(&key.public_key, made_key);
    assert_memory_equal(made_key, public_key, 32);
  }
  assert_int_equal(t.rows, 4);
  table_clear(&t);
}

static void digests_of_fips_180(void **state)
{
  (void)state;
  table t = table_read("fips180_sha256.csv");
  for (int i = 0; i < t.rows; i++) {
    const char *message = table_text(&t, i, "message");
    size_t size = strlen(message), times = (size_t)table_number(&t, i, "times");
    char digest[EB_DIGEST_SIZE], *all = malloc(size * times + 1);
    assert_non_null(all);
    for (size_t k = 0; k < times; k++)
      memcpy(all + k * size, message, size);
    eb_digest(all, size * times, digest);
    assert_string_equal(digest, table_text(&t, i, "digest"));
    free(all);
  }
  assert_int_equal(t.rows, 4);
  table_clear(&t);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(signatures_of_rfc_8032),
      cmocka_unit_test(digests_of_fips_180),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
