#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/digest.h"
#include "evenbore/status.h"
#include "evenbore/text.h"

static void utf8_follows_rfc_3629(void **state)
{
  (void)state;
  static const char *const good[] = {
      "", "a", "\xC2\x80", "\xE2\x82\xAC", "\xF0\x9F\x94\xA7", "\xF4\x8F\xBF\xBF", "\xED\x9F\xBF"};
  static const char *const bad[] = {"\x80",
                                    "\xC0\x80",
                                    "\xC1\xBF",
                                    "\xE0\x9F\xBF",
                                    "\xED\xA0\x80",
                                    "\xF0\x8F\xBF\xBF",
                                    "\xF4\x90\x80\x80",
                                    "\xF5\x80\x80\x80",
                                    "\xE2\x82",
                                    "\xFF",
                                    "a\xC3"};
  for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
    assert_true(eb_utf8_valid(good[i], strlen(good[i]), NULL));
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
    assert_false(eb_utf8_valid(bad[i], strlen(bad[i]), NULL));
  size_t at = 0;
  assert_false(eb_utf8_valid("ab\xFFz", 4, &at));
  assert_int_equal(at, 2);
}

static void unsafe_characters_are_spelled_out(void **state)
{
  (void)state;
  eb_text text;
  eb_text_init(&text, eb_host_system());
  const char *hostile = "a\x1B[2J\n\xE2\x80\xAE"
                        "b\xFF";
  eb_text_add_safe(&text, hostile, strlen(hostile), false);
  assert_string_equal(eb_text_string(&text), "a\\u{1B}[2J\\u{A}\\u{202E}b\\xFF");
  eb_text_reset(&text);
  eb_text_add_safe(&text, "a\nb", 3, true);
  assert_string_equal(eb_text_string(&text), "a\nb");
  eb_text_clear(&text);
  assert_int_equal(eb_utf8_columns("a\xC3\xA9\xE4\xB8\xAD"
                                   "e\xCC\x81"),
                   5);
}

static void nearest_word(void **state)
{
  (void)state;
  static const char *const words[] = {"coupler", "link", "plate", "screw"};
  assert_string_equal(eb_nearest("cupler", words, 4), "coupler");
  assert_string_equal(eb_nearest("lnik", words, 4), "link");
  assert_string_equal(eb_nearest("plates", words, 4), "plate");
  assert_null(eb_nearest("manifold", words, 4));
  assert_null(eb_nearest("", words, 4));
}

/* FIPS 180-4 names the function; the two messages and digests are from NIST's
 * published examples for SHA-256 ("abc" and the 56-character message). */
static void digests_match_published_examples(void **state)
{
  (void)state;
  char digest[EB_DIGEST_SIZE];
  eb_digest("abc", 3, digest);
  assert_string_equal(digest, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  const char *longer = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
  eb_digest(longer, strlen(longer), digest);
  assert_string_equal(digest, "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  char chained[EB_DIGEST_SIZE];
  eb_digest_chain("a", "bc", 2, chained);
  eb_digest("abc", 3, digest);
  assert_string_equal(chained, digest);
}

static void times_are_rfc_3339(void **state)
{
  (void)state;
  char text[EB_TIME_TEXT_SIZE];
  eb_time_text((eb_time){.unix_ms = 1772597167089, .offset_min = 60}, text);
  assert_string_equal(text, "2026-03-04T05:06:07.089+01:00");
  eb_time_text((eb_time){.unix_ms = -1, .offset_min = -150}, text);
  assert_string_equal(text, "1969-12-31T21:29:59.999-02:30");
}

static void errors_are_cut_at_a_character(void **state)
{
  (void)state;
  char longer[2000];
  for (size_t i = 0; i + 2 < sizeof longer; i += 2)
    memcpy(longer + i, "\xC3\xA9", 3);
  eb_error error;
  eb_fail(&error, EB_IO, longer, "%s", longer);
  assert_true(eb_utf8_valid(error.message, strlen(error.message), NULL));
  assert_true(eb_utf8_valid(error.place, strlen(error.place), NULL));
  eb_fail(&error, EB_IO, error.place, "x%s", error.message);
  assert_int_equal(error.message[0], 'x');
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(utf8_follows_rfc_3629), cmocka_unit_test(unsafe_characters_are_spelled_out),
      cmocka_unit_test(nearest_word),          cmocka_unit_test(digests_match_published_examples),
      cmocka_unit_test(times_are_rfc_3339),    cmocka_unit_test(errors_are_cut_at_a_character),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
