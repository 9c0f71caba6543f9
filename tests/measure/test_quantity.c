#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <locale.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "comma_locale.h"
#include "evenbore/quantity.h"
#include "evenbore/text.h"

#define DEGREE "\xC2\xB0"
#define MINUS "\xE2\x88\x92"
#define HALF "\xC2\xBD"

typedef struct good_entry {
  const char *text;
  eb_quantity quantity;
  const char *wanted;
  double value; /* by hand, in `wanted` */
  const char *unit;
} good_entry;

/* What a person may type.  Expected values are written out by hand; those with
 * units use NIST SP 811's exact factors (inch 25.4 mm, degC = (degF - 32)/1.8). */
static const good_entry good[] = {
    {"6", EB_FLOW, "div", 6, "div"},
    {"6.5", EB_FLOW, "div", 6.5, "div"},
    {"6,5", EB_FLOW, "div", 6.5, "div"},
    {".5", EB_FLOW, "div", 0.5, "div"},
    {",5", EB_FLOW, "div", 0.5, "div"},
    {"6 1/2", EB_FLOW, "div", 6.5, "div"},
    {"6  1/2 div", EB_FLOW, "div", 6.5, "div"},
    {"1/2", EB_FLOW, "div", 0.5, "div"},
    {"6" HALF, EB_FLOW, "div", 6.5, "div"},
    {"6 " HALF " divisions", EB_FLOW, "div", 6.5, "div"},
    {HALF, EB_FLOW, "div", 0.5, "div"},
    {"\xC2\xBC", EB_FLOW, "div", 0.25, "div"},
    {"2\xC2\xBE", EB_FLOW, "div", 2.75, "div"},
    {" \t7\r\n", EB_FLOW, "div", 7, "div"},
    {"7\xC2\xA0\x64iv", EB_FLOW, "div", 7, "div"},
    {"7\xE2\x80\xAF"
     "div",
     EB_FLOW, "div", 7, "div"},
    {"7\xE2\x80\x89"
     "div",
     EB_FLOW, "div", 7, "div"},
    {"+3", EB_TEMPERATURE, "C", 3, "C"},
    {"-3", EB_TEMPERATURE, "C", -3, "C"},
    {MINUS "3.25 " DEGREE "C", EB_TEMPERATURE, "C", -3.25, "C"},
    {"-1 1/2", EB_TEMPERATURE, "C", -1.5, "C"},
    {"6.5 C", EB_TEMPERATURE, "C", 6.5, "C"},
    {"92C", EB_TEMPERATURE, "C", 92, "C"},
    {"92 c", EB_TEMPERATURE, DEGREE "C", 92, "C"},
    {"68 F", EB_TEMPERATURE, "C", 20, "F"},
    {"20", EB_TEMPERATURE, "F", 20, "F"},
    {"0.002 in", EB_LENGTH, "thou", 2, "in"},
    {"2 thou", EB_LENGTH, "mm", 0.0508, "thou"},
    {"2 mil", EB_LENGTH, "mm", 0.0508, "thou"},
    {"1/2\"", EB_LENGTH, "mm", 12.7, "in"},
    {"50 \xC2\xB5m", EB_LENGTH, "mm", 0.05, "um"},
    {"50 \xCE\xBCm", EB_LENGTH, "mm", 0.05, "um"},
    {"0.05mm", EB_LENGTH, "mm", 0.05, "mm"},
    {"3 MM", EB_LENGTH, "mm", 3, "mm"},
    {"0,050", EB_LENGTH, "mm", 0.05, "mm"},
    {"1,2345", EB_LENGTH, "mm", 1.2345, "mm"},
    {"1.234", EB_LENGTH, "mm", 1.234, "mm"},
    {"35 kPa", EB_PRESSURE, "mbar", 350, "kPa"},
    {"35 KPA", EB_PRESSURE, "bar", 0.35, "kPa"},
    {"850", EB_ENGINE_SPEED, "rpm", 850, "rpm"},
    {"850 RPM", EB_ENGINE_SPEED, "rpm", 850, "rpm"},
    {"850 1/min", EB_ENGINE_SPEED, "rpm", 850, "rpm"},
    {"850 /min", EB_ENGINE_SPEED, "rpm", 850, "rpm"},
    {"1/4 turn", EB_ANGLE, "deg", 90, "turn"},
    {"6" DEGREE, EB_ANGLE, "deg", 6, "deg"},
    {"1 1/2 min", EB_TIME, "s", 90, "min"},
    {"2 h", EB_TIME, "min", 120, "h"},
    {"5 %", EB_RATIO, "", 0.05, "%"},
    {"5%", EB_RATIO, "%", 5, "%"},
    {"0.05 ratio", EB_RATIO, "%", 5, ""},
    {"0.05", EB_RATIO, "", 0.05, ""},
    {"450 mV", EB_VOLTAGE, "V", 0.45, "mV"},
    {"0.45 v", EB_VOLTAGE, "mV", 450, "V"},
    {"4", EB_COUNT, "", 4, ""},
    {"8/2", EB_COUNT, "", 4, ""},
    {"2.5", EB_COUNT, "", 2.5, ""},
    {"1 g/s", EB_FLOW, "kg/h", 3.6, "g/s"},
    {"123456789012345", EB_FLOW, "div", 123456789012345, "div"},
    {"0.12345678901234", EB_FLOW, "div", 0.12345678901234, "div"},
};

static void check_good(const good_entry *want)
{
  eb_entry entry = {0};
  eb_error error = {0};
  eb_status status = eb_entry_read(want->text, strlen(want->text), want->quantity, want->wanted, &entry, &error);
  if (status != EB_OK)
    fail_msg("\"%s\": %s", want->text, error.message);
  if (fabs(entry.value - want->value) > 1e-15 * fabs(want->value))
    fail_msg("\"%s\" reads as %.17g", want->text, entry.value);
  assert_string_equal(entry.unit, want->unit);
}

static void what_a_person_types_is_read(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
    check_good(&good[i]);
}

static void the_typed_number_is_kept(void **state)
{
  (void)state;
  eb_entry entry;
  assert_int_equal(eb_entry_read("2 thou", 6, EB_LENGTH, "mm", &entry, NULL), EB_OK);
  assert_true(entry.given == 2 && entry.value == 0.0508);
  assert_string_equal(entry.unit, "thou");
  assert_int_equal(eb_entry_read("-0", 2, EB_LENGTH, "mm", &entry, NULL), EB_OK);
  assert_false(signbit(entry.value));
}

/* The nearest double to a decimal fraction is the compiler's own reading of it. */
static void decimals_are_the_nearest_double(void **state)
{
  (void)state;
  static const double numbers[] = {0.1, 0.3, 1.1, 2.675, 0.000000000000001, 99999999999999.9, 9.99999999999999, 4.35};
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
    char text[64];
    snprintf(text, sizeof text, "%.15f", numbers[i]);
    text[16] = '\0'; /* 15 digits and the point */
    double want = 0;
    sscanf(text, "%lf", &want);
    eb_entry entry;
    assert_int_equal(eb_entry_read(text, strlen(text), EB_FLOW, "div", &entry, NULL), EB_OK);
    assert_true(entry.value == want);
  }
}

typedef struct bad_entry {
  const char *text;
  eb_quantity quantity;
  eb_status status;
  const char *says;
} bad_entry;

static const bad_entry bad[] = {
    {"", EB_FLOW, EB_BAD_VALUE, "nothing was typed"},
    {"   ", EB_FLOW, EB_BAD_VALUE, "such as 6.5"},
    {"six", EB_FLOW, EB_BAD_VALUE, "write one such as 6.5"},
    {"nan", EB_FLOW, EB_BAD_VALUE, "write one such as 6.5"},
    {"NaN", EB_FLOW, EB_BAD_VALUE, "write one such as 6.5"},
    {"inf", EB_FLOW, EB_BAD_VALUE, "write one such as 6.5"},
    {"-infinity", EB_FLOW, EB_BAD_VALUE, "write one such as 6.5"},
    {"1e400", EB_FLOW, EB_BAD_VALUE, "without an exponent"},
    {"1e3", EB_FLOW, EB_BAD_VALUE, "without an exponent"},
    {"6.5E-2", EB_FLOW, EB_BAD_VALUE, "without an exponent"},
    {"0x10", EB_FLOW, EB_BAD_VALUE, "decimal number"},
    {"0X1F", EB_FLOW, EB_BAD_VALUE, "decimal number"},
    {"6 x", EB_FLOW, EB_BAD_VALUE, "decimal number"},
    {"6e", EB_FLOW, EB_BAD_UNIT, "div, kg/h, g/s or lb/h"},
    {"6.", EB_FLOW, EB_BAD_VALUE, "behind the decimal point"},
    {".", EB_FLOW, EB_BAD_VALUE, "no number"},
    {"-", EB_FLOW, EB_BAD_VALUE, "no number"},
    {"--3", EB_FLOW, EB_BAD_VALUE, "no number"},
    {"+-3", EB_FLOW, EB_BAD_VALUE, "no number"},
    {"- 3", EB_FLOW, EB_BAD_VALUE, "no number"},
    {"6.5.1", EB_FLOW, EB_BAD_VALUE, "more than one number"},
    {"6,5,1", EB_FLOW, EB_BAD_VALUE, "more than one number"},
    {"1,234", EB_FLOW, EB_BAD_VALUE, "1234 or 1.234"},
    {"12,345 div", EB_FLOW, EB_BAD_VALUE, "1234 or 1.234"},
    {"1,234,567", EB_FLOW, EB_BAD_VALUE, "1234 or 1.234"},
    {"00,123", EB_FLOW, EB_BAD_VALUE, "1234 or 1.234"},
    {"6 500", EB_FLOW, EB_BAD_VALUE, "6 1/2 for a fraction"},
    {"6 7", EB_FLOW, EB_BAD_VALUE, "a space stands inside"},
    {"6-7", EB_FLOW, EB_BAD_VALUE, "more than one number"},
    {"6/0", EB_FLOW, EB_BAD_VALUE, "over zero"},
    {"6 1/0", EB_FLOW, EB_BAD_VALUE, "over zero"},
    {"6 3/2", EB_FLOW, EB_BAD_VALUE, "less than one"},
    {"1/2/3", EB_FLOW, EB_BAD_VALUE, "more than one number"},
    {"1/", EB_FLOW, EB_BAD_VALUE, "more than one number"},
    {"6.5 1/2", EB_FLOW, EB_BAD_VALUE, "more than one number"},
    {"6" HALF HALF, EB_FLOW, EB_BAD_VALUE, "more than one number"},
    {"1234567890123456", EB_FLOW, EB_BAD_VALUE, "15 digits"},
    {"0.1234567890123456", EB_FLOW, EB_BAD_VALUE, "15 digits"},
    {"1/1234567890123456", EB_FLOW, EB_BAD_VALUE, "15 digits"},
    {"92 psi", EB_TEMPERATURE, EB_BAD_UNIT, "\"psi\" is a unit of pressure; for temperature write C, F or K"},
    {"92 bananas", EB_TEMPERATURE, EB_BAD_UNIT, "for temperature write C, F or K"},
    {"92 C C", EB_TEMPERATURE, EB_BAD_UNIT, "C, F or K"},
    {"92" DEGREE, EB_TEMPERATURE, EB_BAD_UNIT, "\"" DEGREE "\" is a unit of angle"},
    {"14 MPa", EB_PRESSURE, EB_BAD_UNIT, "psi, inHg, mmHg or atm"},
    {"6 kg/h", EB_FLOW, EB_BAD_UNIT, "what the gauge says"},
    {"4 rpm", EB_COUNT, EB_BAD_UNIT, "for count write no unit"},
    {"6\x01", EB_FLOW, EB_BAD_TEXT, "U+0001"},
    {"6\xE2\x80\x8B", EB_FLOW, EB_BAD_TEXT, "U+200B"},
    {"6\xFF", EB_FLOW, EB_BAD_TEXT, "byte 2"},
    {"\xC0\xB6", EB_FLOW, EB_BAD_TEXT, "not UTF-8"},
};

static const char *usual_unit(eb_quantity quantity)
{
  return quantity == EB_FLOW ? "div" : quantity == EB_TEMPERATURE ? "C" : quantity == EB_PRESSURE ? "kPa" : "";
}

static void a_wrong_entry_says_what_would_be_right(void **state)
{
  (void)state;
  for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
    eb_entry entry = {.value = 77, .unit = "as before"};
    eb_error error = {0};
    eb_status status =
        eb_entry_read(bad[i].text, strlen(bad[i].text), bad[i].quantity, usual_unit(bad[i].quantity), &entry, &error);
    if (status != bad[i].status || error.status != status || strstr(error.message, bad[i].says) == NULL)
      fail_msg("\"%s\": %s: %s", bad[i].text, eb_status_word(status), error.message);
    assert_true(entry.value == 77);
    assert_string_equal(entry.unit, "as before");
    assert_int_equal(
        eb_entry_read(bad[i].text, strlen(bad[i].text), bad[i].quantity, usual_unit(bad[i].quantity), &entry, NULL),
        bad[i].status);
  }
}

static void a_nul_is_refused(void **state)
{
  (void)state;
  eb_entry entry;
  eb_error error;
  assert_int_equal(eb_entry_read("6\0", 2, EB_FLOW, "div", &entry, &error), EB_BAD_TEXT);
  assert_int_equal(eb_entry_read("6\0mm", 1, EB_LENGTH, "mm", &entry, &error), EB_OK);
}

static void ten_thousand_characters_are_refused(void **state)
{
  (void)state;
  static char text[10000];
  static const char fillers[] = {'9', ' ', '-', '.', '\xC2'};
  for (size_t i = 0; i < sizeof fillers; i++) {
    memset(text, fillers[i], sizeof text);
    eb_entry entry;
    eb_error error;
    assert_int_equal(eb_entry_read(text, sizeof text, EB_FLOW, "div", &entry, &error), EB_BAD_TEXT);
    assert_non_null(strstr(error.message, "10000 bytes"));
  }
}

static void an_entry_has_64_bytes(void **state)
{
  (void)state;
  char text[65];
  memset(text, 'z', sizeof text);
  text[0] = '6';
  eb_entry entry;
  eb_error error;
  assert_int_equal(eb_entry_read(text, 64, EB_FLOW, "div", &entry, &error), EB_BAD_UNIT);
  assert_int_equal(eb_entry_read(text, 65, EB_FLOW, "div", &entry, &error), EB_BAD_TEXT);
  assert_non_null(strstr(error.message, "at most 64"));
}

static void what_is_shown_back_is_short(void **state)
{
  (void)state;
  char text[64];
  memset(text, 'z', sizeof text);
  eb_entry entry;
  eb_error error;
  assert_int_equal(eb_entry_read(text, sizeof text, EB_FLOW, "div", &entry, &error), EB_BAD_VALUE);
  assert_non_null(strstr(error.message, "\"zzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzz...\""));
  assert_int_equal(eb_entry_read(text, 40, EB_FLOW, "div", &entry, &error), EB_BAD_VALUE);
  assert_non_null(strstr(error.message, "\"zzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzz\""));
}

/* Every byte string of up to three bytes from an alphabet of troublemakers ends in a finite number or an error. */
static void no_short_entry_is_trouble(void **state)
{
  (void)state;
  static const char alphabet[] = "01/.,-+ exX\"C%\xC2\xBD\xA0\xE2\x88\x92\n";
  const size_t letters = sizeof alphabet - 1;
  for (size_t i = 0; i < letters * letters * letters * letters; i++) {
    char text[4] = {alphabet[i % letters], alphabet[i / letters % letters], alphabet[i / letters / letters % letters],
                    alphabet[i / letters / letters / letters]};
    eb_entry entry;
    eb_error error = {0};
    if (eb_entry_read(text, 4, EB_LENGTH, "mm", &entry, &error) == EB_OK)
      assert_true(isfinite(entry.value));
    else
      assert_true(error.message[0] != '\0' && eb_utf8_valid(error.message, strlen(error.message), NULL));
  }
}

static void entries_do_not_depend_on_the_locale(void **state)
{
  const char *name = comma_locale();
  assert_non_null(name);
  assert_non_null(setlocale(LC_ALL, name));
  assert_string_equal(localeconv()->decimal_point, ",");
  what_a_person_types_is_read(state);
  a_wrong_entry_says_what_would_be_right(state);
  setlocale(LC_ALL, "C");
}

static void quantities_have_words(void **state)
{
  (void)state;
  for (int i = 0; i < EB_QUANTITIES; i++) {
    eb_quantity back = EB_QUANTITIES;
    assert_int_equal(eb_quantity_read(eb_quantity_word((eb_quantity)i), &back, NULL), EB_OK);
    assert_int_equal(back, i);
  }
  assert_string_equal(eb_quantity_word(EB_ENGINE_SPEED), "engine-speed");
  eb_quantity quantity = EB_TIME;
  eb_error error;
  assert_int_equal(eb_quantity_read("torque", &quantity, &error), EB_BAD_VALUE);
  assert_non_null(strstr(error.message, "\"torque\""));
  assert_non_null(strstr(error.message, "temperature"));
  assert_non_null(strstr(error.message, "flow"));
  assert_int_equal(quantity, EB_TIME);
}

static void units_have_one_symbol(void **state)
{
  (void)state;
  static const struct {
    eb_quantity quantity;
    const char *written;
    const char *symbol;
  } known[] = {
      {EB_TEMPERATURE, "degc", "C"}, {EB_PRESSURE, "in Hg", "inHg"}, {EB_ENGINE_SPEED, "r/min", "rpm"},
      {EB_LENGTH, "Inches", "in"},   {EB_TIME, "Minutes", "min"},    {EB_RATIO, "", ""},
      {EB_VOLTAGE, "MV", "mV"},      {EB_FLOW, "LB/H", "lb/h"},      {EB_COUNT, "", ""},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    const char *symbol = NULL;
    assert_int_equal(eb_unit_symbol(known[i].quantity, known[i].written, &symbol, NULL), EB_OK);
    assert_string_equal(symbol, known[i].symbol);
  }
  const char *symbol = "as before";
  eb_error error;
  assert_int_equal(eb_unit_symbol(EB_LENGTH, "", &symbol, &error), EB_BAD_UNIT);
  assert_non_null(strstr(error.message, "mm, um, cm, m, in or thou"));
  assert_int_equal(eb_unit_symbol(EB_LENGTH, "mm ", &symbol, &error), EB_BAD_UNIT);
  assert_string_equal(symbol, "as before");
}

static void conversions_refuse_what_they_cannot_do(void **state)
{
  (void)state;
  double converted = 5;
  eb_error error;
  assert_int_equal(eb_unit_convert(EB_FLOW, 6, "div", "kg/h", &converted, &error), EB_BAD_UNIT);
  assert_int_equal(eb_unit_convert(EB_FLOW, 6, "lb/h", "div", &converted, &error), EB_BAD_UNIT);
  assert_int_equal(eb_unit_convert(EB_PRESSURE, 1e308, "bar", "Pa", &converted, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_unit_convert(EB_LENGTH, 1, "mm", "C", &converted, &error), EB_BAD_UNIT);
  assert_true(converted == 5);
  assert_int_equal(eb_unit_convert(EB_FLOW, 6, "div", "divisions", &converted, &error), EB_OK);
  assert_true(converted == 6);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_a_person_types_is_read),
      cmocka_unit_test(the_typed_number_is_kept),
      cmocka_unit_test(decimals_are_the_nearest_double),
      cmocka_unit_test(a_wrong_entry_says_what_would_be_right),
      cmocka_unit_test(a_nul_is_refused),
      cmocka_unit_test(ten_thousand_characters_are_refused),
      cmocka_unit_test(an_entry_has_64_bytes),
      cmocka_unit_test(what_is_shown_back_is_short),
      cmocka_unit_test(no_short_entry_is_trouble),
      cmocka_unit_test(entries_do_not_depend_on_the_locale),
      cmocka_unit_test(quantities_have_words),
      cmocka_unit_test(units_have_one_symbol),
      cmocka_unit_test(conversions_refuse_what_they_cannot_do),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
