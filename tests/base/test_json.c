#include <errno.h>
#include <float.h>
#include <locale.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "comma_locale.h"
#include "evenbore/json.h"
#include "evenbore/host.h"

static void reads_back_what_it_wrote(void **state)
{
  (void)state;
  const char *text = "{\"a\":[1,-2.5,1e-300,0.1],\"b\":\"\\\"\\u00e9\\n\",\"c\":null,\"d\":true,\"e\":{}}";
  eb_json *value = NULL;
  assert_int_equal(eb_json_parse(text, strlen(text), &value, NULL), EB_OK);
  assert_true(eb_json_as_number(eb_json_at(eb_json_get(value, "a"), 3), 0) == 0.1);
  assert_string_equal(eb_json_get_string(value, "b", ""), "\"\xC3\xA9\n");
  char *written = eb_json_text(value);
  eb_json *again = NULL;
  assert_int_equal(eb_json_parse(written, strlen(written), &again, NULL), EB_OK);
  assert_true(eb_json_equal(value, again));
  assert_true(eb_json_set_number(again, "c", 3));
  assert_false(eb_json_equal(value, again));
  eb_json_text_free(written);
  eb_json_destroy(value);
  eb_json_destroy(again);
}

static void what_must_not_reach_a_screen_is_shown_as_an_escape(void **state)
{
  (void)state;
  const char *text =
      "{\"a\":\"\x7F\xC2\x9B|\xE2\x80\xAE|\xF3\xA0\x80\x81|\xC3\xA9\xE4\xB8\xAD\xF0\x9F\x94\xA7\\u0007\"}";
  eb_json *value = NULL, *again = NULL;
  eb_text shown;
  assert_int_equal(eb_json_parse(text, strlen(text), &value, NULL), EB_OK);
  eb_text_init(&shown, eb_host_system());
  assert_true(eb_json_add_shown(&shown, value));
  assert_string_equal(shown.bytes,
                      "{\"a\":\"\\u007F\\u009B|\\u202E|\\uDB40\\uDC01|\xC3\xA9\xE4\xB8\xAD\xF0\x9F\x94\xA7\\u0007\"}");
  assert_int_equal(eb_json_parse(shown.bytes, shown.size, &again, NULL), EB_OK);
  assert_true(eb_json_equal(value, again));
  eb_text_clear(&shown);
  eb_json_destroy(value);
  eb_json_destroy(again);
}

static void numbers_do_not_change_on_their_way(void **state)
{
  (void)state;
  /* The middle two differ in their last bit, which 15 digits do not show. */
  static const double numbers[] = {
      1.0 / 3, 0.1 + 0.2, 0.3, 2.0 / 3 * 1e-9, 1e22 / 7, 5e-324, 1.7976931348623157e308, 123456789012345678.0};
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
    eb_json *number = eb_json_from_number(numbers[i]);
    char *text = eb_json_text(number);
    eb_json *again = NULL;
    assert_int_equal(eb_json_parse(text, strlen(text), &again, NULL), EB_OK);
    if (!eb_json_equal(number, again))
      fail_msg("%s", text);
    eb_json_text_free(text);
    eb_json_destroy(number);
    eb_json_destroy(again);
  }
}

/* The number, kept and written, against printf of the C library. */
static void check_number(double number)
{
  char wanted[40];
  snprintf(wanted, sizeof wanted, "%.15g", number);
  double kept = strtod(wanted, NULL);
  if (!isfinite(kept))
    return;
  eb_json *made = eb_json_from_number(number);
  char *text = eb_json_text(made);
  if (strcmp(text, wanted) != 0 || memcmp(&kept, &(double){eb_json_as_number(made, 0)}, sizeof kept) != 0)
    fail_msg("%.17g: %s, and printf has %s", number, text, wanted);
  eb_json_text_free(text);
  eb_json_destroy(made);
}

/* xorshift64* [S. Vigna 2016; from memory] */
static uint64_t next_bits(uint64_t *state)
{
  *state ^= *state >> 12;
  *state ^= *state << 25;
  *state ^= *state >> 27;
  return *state * UINT64_C(2685821657736338717);
}

static void numbers_are_rounded_and_written_as_printf_does(void **state)
{
  (void)state;
  uint64_t bits = 1;
  for (int i = 0; i < 5000; i++) {
    uint64_t any = next_bits(&bits);
    double number;
    memcpy(&number, &any, sizeof number);
    if (isfinite(number))
      check_number(number);
    /* Of every size that is met, with few digits and with many, and ties in the 16th digit. */
    double scale = pow(10, (double)(any % 24) - 6);
    check_number((double)(any >> 12) * 0x1p-52 * scale);
    check_number((double)(any >> 50) / 1000 * scale);
    check_number(((double)(any >> 15) + 0.5) / 1024);
  }
  for (int e = -8; e <= 17; e++) {
    double power = strtod(
        (const char[]){'1', 'e', e < 0 ? '-' : '+', (char)('0' + abs(e) / 10), (char)('0' + abs(e) % 10), '\0'}, NULL);
    double below = power, above = power;
    for (int i = 0; i < 12 && power < 2e9; i++) {
      below = nextafter(below, 0);
      above = nextafter(above, DBL_MAX);
      check_number(-below);
      check_number(above);
    }
    check_number(power * (1 - 4e-16));
    check_number(power * (1 - 6e-15));
  }
}

static void texts_are(double number, const char *wanted)
{
  eb_json *made = eb_json_from_number(number);
  char *text = eb_json_text(made);
  assert_string_equal(text, wanted);
  eb_json_text_free(text);
  eb_json_destroy(made);
}

static void numbers_do_not_depend_on_the_locale(void **state)
{
  (void)state;
  const char *name = comma_locale();
  assert_non_null(name);
  assert_non_null(setlocale(LC_ALL, name));
  assert_string_equal(localeconv()->decimal_point, ",");
  texts_are(-5.75, "-5.75");
  texts_are(1.5e-9, "1.5e-09");
  texts_are(2.0 / 3 * 1e20, "6.66666666666667e+19");
  texts_are(-0.0, "-0");
  texts_are(2147483648.0, "2147483648");
  setlocale(LC_ALL, "C");
}

/* Every byte that may stand in a string, against what RFC 8259 [section 7] lets stand as it is. */
static void strings_are_written_with_the_escapes_that_they_need(void **state)
{
  (void)state;
  char all[128];
  for (int c = 1; c < 128; c++)
    all[c - 1] = (char)c;
  all[127] = '\0';
  eb_json *value = eb_json_from_string(all), *again = NULL;
  char *text = eb_json_text(value);
  assert_non_null(strstr(text, "\"\\u0001\\u0002"));
  assert_non_null(strstr(text, "\\u0007\\b\\t\\n\\u000b\\f\\r\\u000e"));
  assert_non_null(strstr(text, "\\u001f !\\\"#"));
  assert_non_null(strstr(text, "[\\\\]^"));
  assert_int_equal(eb_json_parse(text, strlen(text), &again, NULL), EB_OK);
  assert_true(eb_json_equal(value, again));
  eb_json_text_free(text);
  eb_json_destroy(value);
  eb_json_destroy(again);
}

static void refuses_what_the_standard_does(void **state)
{
  (void)state;
  static const char *const wrong[] = {
      "",
      " ",
      "{",
      "}",
      "[1,]",
      "{\"a\":}",
      "01",
      "1.",
      "-",
      "+1",
      "1e400",
      "NaN",
      "Infinity",
      "'a'",
      "\"a",
      "\"\\x\"",
      "nul",
      "[1] 2",
      "{1:2}",
      "\"\\u0000\"",
      "\"\\u\"",
      "\"\\u00e\"",
      "\"\\u00eg\"",
      "\"\t\"",
      "[1 2]",
      "{\"a\":1 \"b\":2}",
      "{\"a\":1,\"a\":2}",
      "\"\\ud800\"",
      ".5",
      "1e",
      "[1]]",
      "tru",
      "1234567890123456789012345678901234567890123456789012345678901234567890",
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_json *value = NULL;
    eb_error error;
    eb_error_clear(&error);
    if (eb_json_parse(wrong[i], strlen(wrong[i]), &value, &error) != EB_BAD_VALUE)
      fail_msg("taken: %s", wrong[i]);
    assert_null(value);
    assert_int_not_equal(error.message[0], '\0');
  }
  eb_json *value = NULL;
  assert_int_equal(eb_json_parse("\"\xFF\"", 3, &value, NULL), EB_BAD_TEXT);
  assert_int_equal(eb_json_parse("1\0", 2, &value, NULL), EB_BAD_VALUE);
}

static void bounds_nesting_and_members(void **state)
{
  (void)state;
  char deep[200] = {0};
  memset(deep, '[', EB_JSON_DEPTH_MAX);
  memset(deep + EB_JSON_DEPTH_MAX, ']', EB_JSON_DEPTH_MAX);
  eb_json *value = NULL;
  assert_int_equal(eb_json_parse(deep, strlen(deep), &value, NULL), EB_OK);
  eb_json_destroy(value);
  memset(deep, '[', EB_JSON_DEPTH_MAX + 1);
  memset(deep + EB_JSON_DEPTH_MAX + 1, ']', EB_JSON_DEPTH_MAX + 1);
  assert_int_equal(eb_json_parse(deep, strlen(deep), &value, NULL), EB_BAD_VALUE);

  static char wide[2 * EB_JSON_MEMBERS_MAX + 4];
  size_t at = 0;
  wide[at++] = '[';
  for (int i = 0; i <= EB_JSON_MEMBERS_MAX; i++) {
    wide[at++] = '1';
    wide[at++] = ',';
  }
  wide[at - 1] = ']';
  assert_int_equal(eb_json_parse(wide, at, &value, NULL), EB_BAD_VALUE);
}

static void building_survives_a_missing_container(void **state)
{
  (void)state;
  assert_false(eb_json_set_string(NULL, "a", "b"));
  assert_false(eb_json_add_number(NULL, 1));
  assert_false(eb_json_set(NULL, "a", eb_json_object()));
  assert_false(eb_json_put(NULL, "a", eb_json_object()));
  assert_null(eb_json_get(NULL, "a"));
  assert_false(eb_json_is_object(NULL));
}

/* More members than are looked at one by one; two keys of one mark among them ("costarring" and "liquid" have the same
 * 32-bit FNV-1a, from memory). */
static void a_large_object_may_hold_no_key_twice(void **state)
{
  (void)state;
  static char text[EB_JSON_MEMBERS_MAX * 16 + 64];
  for (int again = -1; again < EB_JSON_MEMBERS_MAX - 3; again = again < 0 ? 0 : again + 511) {
    eb_json *value = NULL;
    size_t used = (size_t)sprintf(text, "{\"costarring\":1,\"liquid\":2");
    for (int i = 0; i < EB_JSON_MEMBERS_MAX - 3; i++)
      used += (size_t)sprintf(text + used, ",\"k%d\":0", i);
    if (again >= 0)
      used += (size_t)sprintf(text + used, ",\"k%d\":0", again);
    text[used++] = '}';
    eb_status status = eb_json_parse(text, used, &value, NULL);
    assert_int_equal(status, again < 0 ? EB_OK : EB_BAD_VALUE);
    eb_json_destroy(value);
  }
}

static void is_text(const eb_json *value, const char *wanted)
{
  char *text = eb_json_text(value);
  assert_string_equal(text, wanted);
  eb_json_text_free(text);
}

/* Keys too: a literal is kept as it stands there, any other is copied. */
static void members_go_from_tree_to_tree(void **state)
{
  (void)state;
  char key[] = "b";
  eb_json *from = eb_json_object(), *to = eb_json_object();
  assert_true(eb_json_put_number(from, "a", 1.5) && eb_json_put_string(from, key, "x") &&
              eb_json_put(from, "c", eb_json_array()) && eb_json_set_bool(from, "a", true));
  key[0] = 'a';
  is_text(from, "{\"a\":true,\"b\":\"x\",\"c\":[]}");
  assert_true(eb_json_move(from, eb_json_get(from, "b"), to));
  assert_false(eb_json_move(from, eb_json_get(from, "b"), to));
  eb_json *taken = eb_json_take(from, "a");
  assert_true(eb_json_as_bool(taken, false));
  assert_null(eb_json_take(from, "a"));
  assert_true(eb_json_set(to, "d", taken));
  eb_json *copy = eb_json_copy(to);
  assert_true(eb_json_join(to, from));
  is_text(to, "{\"b\":\"x\",\"d\":true,\"c\":[]}");
  assert_false(eb_json_join(to, NULL));
  assert_false(eb_json_join(NULL, copy));
  eb_json *list = eb_json_array();
  assert_true(eb_json_add_shared(list, to) && eb_json_add_shared(list, eb_json_get(to, "b")));
  is_text(list, "[{\"b\":\"x\",\"d\":true,\"c\":[]},\"x\"]");
  copy = eb_json_copy(list);
  eb_json_destroy(list);
  is_text(to, "{\"b\":\"x\",\"d\":true,\"c\":[]}");
  eb_json_destroy(to);
  is_text(copy, "[{\"b\":\"x\",\"d\":true,\"c\":[]},\"x\"]");
  eb_json_destroy(copy);
}

static void *no_memory(size_t size)
{
  (void)size;
  errno = ENOMEM;
  return NULL;
}

/* Its key and its place are those of the old value, whatever key it had itself. */
static void a_value_is_replaced_without_memory(void **state)
{
  (void)state;
  char key[] = "b";
  eb_json *object = eb_json_object(), *other = eb_json_object();
  assert_true(eb_json_set_number(object, "a", 1) && eb_json_set_number(object, key, 2) &&
              eb_json_set_number(object, "c", 3));
  key[0] = 'x';
  assert_true(eb_json_set_string(other, "literal", "first") && eb_json_set_string(other, key, "second"));
  eb_json *first = eb_json_take(other, "literal"), *second = eb_json_take(other, "x"), *third = eb_json_array();
  eb_json_allocate_with(no_memory, free);
  bool done = eb_json_set(object, "b", first) && eb_json_set(object, "a", second) && eb_json_set(object, "c", third);
  bool without = eb_json_set(object, "a", NULL) || eb_json_set_number(object, "b", 4);
  eb_json_allocate_with(malloc, free);
  assert_true(done);
  assert_false(without);
  is_text(object, "{\"a\":\"second\",\"b\":\"first\",\"c\":[]}");
  assert_true(eb_json_set_bool(object, "b", false));
  is_text(object, "{\"a\":\"second\",\"b\":false,\"c\":[]}");
  eb_json_destroy(object);
  eb_json_destroy(other);
}

/* Whatever room the text has: none, too little, or enough. */
static void a_text_is_appended_in_place(void **state)
{
  (void)state;
  eb_json *value = eb_json_object();
  assert_true(eb_json_put_string(value, "text", "sixteen letters.") && eb_json_put_number(value, "n", -0.25));
  eb_text text;
  eb_text_init(&text, eb_host_system());
  char wanted[4096] = "";
  for (int i = 0; i < 60; i++) {
    assert_true(eb_json_add_text(&text, value));
    strcat(wanted, "{\"text\":\"sixteen letters.\",\"n\":-0.25}");
    assert_int_equal(text.size, strlen(wanted));
    assert_string_equal(eb_text_string(&text), wanted);
    eb_text_add_bytes(&text, "........", (size_t)i % 9);
    strncat(wanted, "........", (size_t)i % 9);
  }
  eb_text_clear(&text);
  eb_json_destroy(value);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(reads_back_what_it_wrote),
      cmocka_unit_test(what_must_not_reach_a_screen_is_shown_as_an_escape),
      cmocka_unit_test(numbers_do_not_change_on_their_way),
      cmocka_unit_test(numbers_do_not_depend_on_the_locale),
      cmocka_unit_test(members_go_from_tree_to_tree),
      cmocka_unit_test(a_value_is_replaced_without_memory),
      cmocka_unit_test(a_text_is_appended_in_place),
      cmocka_unit_test(numbers_are_rounded_and_written_as_printf_does),
      cmocka_unit_test(strings_are_written_with_the_escapes_that_they_need),
      cmocka_unit_test(refuses_what_the_standard_does),
      cmocka_unit_test(bounds_nesting_and_members),
      cmocka_unit_test(building_survives_a_missing_container),
      cmocka_unit_test(a_large_object_may_hold_no_key_twice),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
