/* Signatures that are good for one purpose, and the spelling of keys. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "share/sample.h"

static eb_status check(eb_purpose purpose, const char *text, const eb_secret_key *key, const char *signature)
{
  eb_error error;
  return eb_signature_check(eb_host_system(), purpose, text, strlen(text), &key->public_key, signature, &error);
}

static void one_purpose_one_key_one_text(void **state)
{
  (void)state;
  eb_secret_key key = sample_key(1), other = sample_key(2);
  char signature[EB_SIGNATURE_TEXT_SIZE], again[EB_SIGNATURE_TEXT_SIZE];
  for (int p = 0; p < EB_PURPOSES; p++) {
    eb_purpose purpose = (eb_purpose)p, next = (eb_purpose)((p + 1) % (int)EB_PURPOSES), read = EB_PURPOSES;
    assert_int_equal(eb_sign(eb_host_system(), purpose, "text", 4, &key, signature, NULL), EB_OK);
    assert_int_equal(eb_sign(eb_host_system(), purpose, "text", 4, &key, again, NULL), EB_OK);
    assert_string_equal(signature, again);
    assert_int_equal(check(purpose, "text", &key, signature), EB_OK);
    assert_int_equal(check(next, "text", &key, signature), EB_BAD_PURPOSE);
    assert_int_equal(check(purpose, "texts", &key, signature), EB_BAD_SIGNATURE);
    assert_int_equal(check(purpose, "text", &other, signature), EB_BAD_SIGNATURE);
    assert_true(eb_purpose_read(eb_purpose_word(purpose), &read));
    assert_int_equal(read, purpose);
  }
  eb_purpose read;
  assert_false(eb_purpose_read("anything", &read));
}

static void what_is_signed_stands_behind_the_purpose(void **state)
{
  (void)state;
  eb_text text;
  eb_text_init(&text, eb_host_system());
  eb_signed_bytes(&text, EB_FOR_HANDOVER, "a\nb", 3);
  assert_string_equal(text.bytes, "evenbore handover 1\na\nb");
  eb_text_clear(&text);
}

static void no_other_spelling_is_taken(void **state)
{
  (void)state;
  eb_secret_key key = sample_key(1);
  char text[EB_KEY_TEXT_SIZE + 4], signature[EB_SIGNATURE_TEXT_SIZE + 4];
  eb_public_key read;
  eb_error error;
  assert_int_equal(eb_public_key_read(key.public_key.text, &read, &error), EB_OK);
  assert_true(eb_public_key_equal(&read, &key.public_key));
  static const char *const wrong[] = {"", "A", "AAAA", "====", "not a key at all, but of the right length xx ="};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
    assert_int_equal(eb_public_key_read(wrong[i], &read, &error), EB_BAD_VALUE);
  /* The bits behind the last byte, the padding, a character more. */
  strcpy(text, key.public_key.text);
  text[42]++;
  assert_int_equal(eb_public_key_read(text, &read, &error), EB_BAD_VALUE);
  strcpy(text, key.public_key.text);
  text[43] = '\0';
  assert_int_equal(eb_public_key_read(text, &read, &error), EB_BAD_VALUE);
  strcpy(text, key.public_key.text);
  strcat(text, "\n");
  assert_int_equal(eb_public_key_read(text, &read, &error), EB_BAD_VALUE);
  assert_int_equal(eb_sign(eb_host_system(), EB_FOR_BUNDLE, "", 0, &key, signature, NULL), EB_OK);
  assert_int_equal(check(EB_FOR_BUNDLE, "", &key, signature), EB_OK);
  strcat(signature, " ");
  assert_int_equal(check(EB_FOR_BUNDLE, "", &key, signature), EB_BAD_SIGNATURE);
  assert_int_equal(check(EB_FOR_BUNDLE, "", &key, ""), EB_BAD_SIGNATURE);
}

/* The identity of the group as a key, and under it a signature that holds for every text: refused all the same. */
static void a_key_that_signs_anything_is_no_key(void **state)
{
  (void)state;
  eb_secret_key identity;
  char signature[EB_SIGNATURE_TEXT_SIZE];
  memset(&identity, 0, sizeof identity);
  strcpy(identity.public_key.text, "AQAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=");
  memset(signature, 'A', sizeof signature - 1);
  memcpy(signature, "AQ", 2);
  strcpy(signature + 86, "==");
  assert_int_equal(check(EB_FOR_BUNDLE, "text", &identity, signature), EB_BAD_SIGNATURE);
}

static void a_new_key_signs(void **state)
{
  (void)state;
  eb_secret_key first, second;
  char signature[EB_SIGNATURE_TEXT_SIZE];
  assert_int_equal(eb_secret_key_make(&first, NULL), EB_OK);
  assert_int_equal(eb_secret_key_make(&second, NULL), EB_OK);
  assert_false(eb_public_key_equal(&first.public_key, &second.public_key));
  assert_int_equal(eb_sign(eb_host_system(), EB_FOR_REVOCATION, "x", 1, &first, signature, NULL), EB_OK);
  assert_int_equal(check(EB_FOR_REVOCATION, "x", &first, signature), EB_OK);
  eb_secret_key_forget(&first);
  static const eb_secret_key nothing;
  assert_memory_equal(&first, &nothing, sizeof first);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(one_purpose_one_key_one_text),
      cmocka_unit_test(what_is_signed_stands_behind_the_purpose),
      cmocka_unit_test(no_other_spelling_is_taken),
      cmocka_unit_test(a_key_that_signs_anything_is_no_key),
      cmocka_unit_test(a_new_key_signs),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
