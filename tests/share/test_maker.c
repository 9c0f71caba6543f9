/* Makers: fingerprints that people read to one another, keys on the disk, and what a maker states. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "share/shelf_rig.h"

static void digits_only(const char *text, char *digits)
{
  for (; *text != '\0'; text++)
    if (*text != ' ')
      *digits++ = *text;
  *digits = '\0';
}

static eb_status typed(const eb_maker_key *key, const char *text)
{
  eb_error error;
  return eb_fingerprint_check(&key->secret.public_key, text, &error);
}

/* Worked out by Python's hashlib and integers from RFC 8032, 7.1, test 1's public key, with the check digits of another
 * writing of Damm's table: int(sha256(b"evenbore fingerprint 1\n" + key)) % 10**32. */
static void a_fingerprint_is_what_its_definition_says(void **state)
{
  (void)state;
  static const unsigned char seed[EB_KEY_BYTES] = {0x9d, 0x61, 0xb1, 0x9d, 0xef, 0xfd, 0x5a, 0x60, 0xba, 0x84, 0x4a,
                                                   0xf4, 0x92, 0xec, 0x2c, 0xc4, 0x44, 0x49, 0xc5, 0x69, 0x7b, 0x32,
                                                   0x69, 0x19, 0x70, 0x3b, 0xac, 0x03, 0x1c, 0xae, 0x7f, 0x60};
  eb_secret_key key;
  char text[EB_FINGERPRINT_SIZE];
  eb_secret_key_from_seed(seed, &key);
  eb_fingerprint(&key.public_key, text);
  assert_string_equal(text, "25589 88663 95710 10631 04187 88790 14218 18109");
}

static void it_is_taken_as_people_type_it(void **state)
{
  (void)state;
  eb_maker_key key = rig_key(1, "Bench Nine");
  char text[EB_FINGERPRINT_SIZE], digits[EB_FINGERPRINT_SIZE], spread[200] = "";
  eb_fingerprint(&key.secret.public_key, text);
  digits_only(text, digits);
  for (const char *c = digits; *c != '\0'; c++)
    snprintf(spread + strlen(spread), sizeof spread - strlen(spread), "%c-. ", *c);
  assert_int_equal(typed(&key, text), EB_OK);
  assert_int_equal(typed(&key, digits), EB_OK);
  assert_int_equal(typed(&key, spread), EB_OK);
}

static void nothing_else_is(void **state)
{
  (void)state;
  static const char *const answers[] = {
      "", " ", "y", "Y", "yes", "Yes", "1", "ok", "\n", "true", "0", "00000 00000 00000 00000 00000 00000 00000 00000"};
  eb_maker_key key = rig_key(1, "Bench Nine"), other = rig_key(2, "Bench Nine");
  char text[EB_FINGERPRINT_SIZE];
  for (size_t i = 0; i < sizeof answers / sizeof answers[0]; i++)
    assert_int_equal(typed(&key, answers[i]), EB_FINGERPRINT);
  eb_fingerprint(&other.secret.public_key, text);
  assert_int_equal(typed(&key, text), EB_FINGERPRINT);
  eb_fingerprint(&key.secret.public_key, text);
  assert_int_equal(typed(&key, text + 1), EB_FINGERPRINT);
  char longer[EB_FINGERPRINT_SIZE + 1];
  snprintf(longer, sizeof longer, "%s1", text);
  assert_int_equal(typed(&key, longer), EB_FINGERPRINT);
}

/* Every single wrong digit, every two neighbours swapped in a group, every two groups swapped: noticed by the check
 * digits, that is, with the number of a group, and never with a right digit. */
static void slips_are_noticed_at_their_group(void **state)
{
  (void)state;
  eb_maker_key key = rig_key(7, "Bench Nine");
  char right[EB_FINGERPRINT_SIZE], text[EB_FINGERPRINT_SIZE], word[40];
  eb_error error;
  int slips = 0;
  eb_fingerprint(&key.secret.public_key, right);
  for (size_t i = 0; i < strlen(right); i++)
    for (char digit = '0'; digit <= '9' && right[i] != ' '; digit++) {
      memcpy(text, right, sizeof text);
      text[i] = digit;
      if (digit == right[i])
        continue;
      assert_int_equal(eb_fingerprint_check(&key.secret.public_key, text, &error), EB_FINGERPRINT);
      snprintf(word, sizeof word, "group %zu ", i / 6 + 1);
      assert_non_null(strstr(error.message, word));
      slips++;
    }
  for (size_t i = 0; i + 1 < strlen(right); i++) {
    memcpy(text, right, sizeof text);
    text[i] = right[i + 1];
    text[i + 1] = right[i];
    if (right[i] == ' ' || right[i + 1] == ' ' || right[i] == right[i + 1])
      continue;
    assert_int_equal(eb_fingerprint_check(&key.secret.public_key, text, &error), EB_FINGERPRINT);
    assert_non_null(strstr(error.message, "group"));
    slips++;
  }
  for (size_t a = 0; a < 8; a++)
    for (size_t b = 0; b < a; b++) {
      memcpy(text, right, sizeof text);
      memcpy(text + 6 * a, right + 6 * b, 5);
      memcpy(text + 6 * b, right + 6 * a, 5);
      assert_int_equal(eb_fingerprint_check(&key.secret.public_key, text, &error), EB_FINGERPRINT);
      assert_non_null(strstr(error.message, "group"));
      slips++;
    }
  assert_true(slips > 400);
}

static void a_key_without_a_passphrase_reads_back(void **state)
{
  (void)state;
  eb_maker_key key = rig_key(3, "Bench Nine"), read;
  eb_maker maker;
  eb_error error;
  eb_text text;
  bool sealed = true;
  eb_text_init(&text, eb_host_system());
  assert_int_equal(eb_maker_key_write(&key, NULL, 0, &text, &error), EB_OK);
  assert_int_equal(eb_maker_key_look("k", text.bytes, text.size, &maker, &sealed, &error), EB_OK);
  assert_false(sealed);
  assert_int_equal(eb_maker_key_read("k", text.bytes, text.size, NULL, 0, &read, &error), EB_OK);
  assert_memory_equal(&read.secret, &key.secret, sizeof read.secret);
  assert_string_equal(read.name, "Bench Nine");
  /* Another public key beside the seed would have people sign for somebody else. */
  eb_maker_key other = rig_key(4, "Bench Nine");
  char *place = strstr(text.bytes, key.secret.public_key.text);
  memcpy(place, other.secret.public_key.text, strlen(other.secret.public_key.text));
  assert_int_equal(eb_maker_key_read("k", text.bytes, text.size, NULL, 0, &read, &error), EB_DAMAGED);
  assert_int_equal(eb_maker_key_read("k", "{}", 2, NULL, 0, &read, &error), EB_BAD_FORM);
  assert_int_equal(eb_maker_key_read("k", text.bytes, text.size / 2, NULL, 0, &read, &error), EB_BAD_FORM);
  eb_text_clear(&text);
}

static void a_sealed_key_wants_its_passphrase(void **state)
{
  (void)state;
  eb_maker_key key = rig_key(3, "Bench Nine"), read;
  eb_error error;
  eb_text text;
  char seed[64];
  eb_text_init(&text, eb_host_system());
  assert_int_equal(eb_maker_key_write(&key, "four tyres", 10, &text, &error), EB_OK);
  /* The seed of sample_key in base64 begins so. */
  snprintf(seed, sizeof seed, "AwECAw");
  assert_null(strstr(text.bytes, seed));
  assert_int_equal(eb_maker_key_read("k", text.bytes, text.size, NULL, 0, &read, &error), EB_PASSPHRASE);
  assert_int_equal(eb_maker_key_read("k", text.bytes, text.size, "four tyre", 9, &read, &error), EB_PASSPHRASE);
  assert_int_equal(eb_maker_key_read("k", text.bytes, text.size, "four tyres", 10, &read, &error), EB_OK);
  assert_memory_equal(&read.secret, &key.secret, sizeof read.secret);
  /* A file that wants more work than is sane is refused before any is done. */
  char *passes = strstr(text.bytes, "\"passes\": 3");
  assert_non_null(passes);
  passes[strlen("\"passes\": ")] = '9';
  char *memory = strstr(text.bytes, "262144");
  assert_non_null(memory);
  memcpy(memory, "999999", 6);
  assert_int_equal(eb_maker_key_look("k", text.bytes, text.size, &(eb_maker){.name = ""}, &(bool){false}, &error),
                   EB_OK);
  memcpy(memory, "262144", 6);
  char *grown = malloc(text.size + 16);
  snprintf(grown, text.size + 16, "%.*s0%s", (int)(memory + 6 - text.bytes), text.bytes, memory + 6);
  assert_int_equal(eb_maker_key_read("k", grown, strlen(grown), "four tyres", 10, &read, &error), EB_OUT_OF_RANGE);
  free(grown);
  eb_text_clear(&text);
}

static void names_that_deceive_are_none(void **state)
{
  (void)state;
  static const char *const names[] = {"", " Bench", "Bench ", "Bench\nNine", "Bench\x1b[2J", "B\xE2\x80\xAEx", "\xFF"};
  char longest[EB_MAKER_NAME_SIZE + 1];
  eb_error error;
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
    assert_int_equal(eb_maker_name_check(names[i], &error), EB_BAD_TEXT);
  memset(longest, 'n', sizeof longest);
  longest[EB_MAKER_NAME_SIZE] = '\0';
  assert_int_equal(eb_maker_name_check(longest, &error), EB_BAD_TEXT);
  assert_int_equal(eb_maker_name_check(longest + 1, &error), EB_OK);
}

static void write_statement(eb_statement_kind kind, eb_text *text)
{
  eb_error error;
  eb_maker_key old = rig_key(1, "Bench Nine"), new = rig_key(2, "Bench Nine, new");
  eb_maker maker = rig_maker(&old);
  const eb_host *host = eb_host_system();
  eb_text_init(text, host);
  eb_status status = kind == EB_CARD       ? eb_card_write(host, &old, text, &error)
                     : kind == EB_HANDOVER ? eb_handover_write(host, &old, &new, text, &error)
                                           : eb_revocation_write(host, &maker, &new, EB_KEY_LOST, "gone", text, &error);
  assert_int_equal(status, EB_OK);
}

static eb_status read_statement(const char *text, size_t size, eb_statement *statement)
{
  eb_error error;
  return eb_statement_read(eb_host_system(), "s", text, size, statement, &error);
}

/* Every bit of a card turned over in turn, and every ninth of the longer two: never taken. */
static void a_statement_is_what_was_signed_or_nothing(void **state)
{
  (void)state;
  for (eb_statement_kind kind = EB_CARD; kind < EB_STATEMENT_KINDS; kind++) {
    eb_text text;
    eb_statement statement;
    write_statement(kind, &text);
    assert_true(eb_statement_is(text.bytes, text.size));
    assert_int_equal(read_statement(text.bytes, text.size, &statement), EB_OK);
    assert_int_equal(statement.kind, kind);
    assert_string_equal(statement.maker.name, "Bench Nine");
    size_t step = kind == EB_CARD ? 1 : 9;
    for (size_t bit = 0; bit < text.size * 8; bit += step) {
      text.bytes[bit / 8] = (char)(text.bytes[bit / 8] ^ (1 << bit % 8));
      assert_int_not_equal(read_statement(text.bytes, text.size, &statement), EB_OK);
      text.bytes[bit / 8] = (char)(text.bytes[bit / 8] ^ (1 << bit % 8));
    }
    for (size_t cut = 0; cut + 1 < text.size; cut += step)
      assert_int_not_equal(read_statement(text.bytes, cut, &statement), EB_OK);
    printf("%s: %zu bits turned over\n", eb_statement_word(kind), (text.size * 8 + step - 1) / step);
    eb_text_clear(&text);
  }
}

/* A revocation's signature under a handover, and the other way round. */
static void one_kind_does_not_pass_as_another(void **state)
{
  (void)state;
  eb_text text, changed;
  eb_statement statement;
  write_statement(EB_CARD, &text);
  eb_text_init(&changed, eb_host_system());
  const char *word = strstr(text.bytes, "evenbore-card");
  eb_text_printf(&changed, "%.*sevenbore-handover%s", (int)(word - text.bytes), text.bytes, word + 13);
  assert_int_not_equal(read_statement(changed.bytes, changed.size, &statement), EB_OK);
  eb_text_clear(&changed);
  eb_text_clear(&text);
}

static void a_handover_wants_both(void **state)
{
  (void)state;
  eb_text text, again;
  eb_statement statement;
  eb_maker_key old = rig_key(1, "Bench Nine"), new = rig_key(2, "Bench Nine, new"), thief = rig_key(9, "Bench Nine");
  eb_error error;
  write_statement(EB_HANDOVER, &text);
  /* Signed by the new key and by somebody who is not the old one. */
  eb_text_init(&again, eb_host_system());
  assert_int_equal(eb_handover_write(eb_host_system(), &thief, &new, &again, &error), EB_OK);
  char *signatures = strstr(text.bytes, "\"signatures\":[");
  char *theirs = strstr(again.bytes, "\"signatures\":[");
  memcpy(signatures, theirs, strlen("\"signatures\":[\n\"") + 88);
  assert_int_equal(read_statement(text.bytes, text.size, &statement), EB_BAD_SIGNATURE);
  assert_int_equal(eb_handover_write(eb_host_system(), &old, &old, &again, &error), EB_BAD_VALUE);
  eb_text_clear(&text);
  eb_text_clear(&again);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_fingerprint_is_what_its_definition_says),
      cmocka_unit_test(it_is_taken_as_people_type_it),
      cmocka_unit_test(nothing_else_is),
      cmocka_unit_test(slips_are_noticed_at_their_group),
      cmocka_unit_test(a_key_without_a_passphrase_reads_back),
      cmocka_unit_test(a_sealed_key_wants_its_passphrase),
      cmocka_unit_test(names_that_deceive_are_none),
      cmocka_unit_test(a_statement_is_what_was_signed_or_nothing),
      cmocka_unit_test(one_kind_does_not_pass_as_another),
      cmocka_unit_test(a_handover_wants_both),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
