/* What a shop sees of a number.  Factors are those of NIST SP 811, appendix B.8 and B.9: an inch is 25.4 mm, t/C =
 * (t/F - 32)/1.8; the figures here are worked from these by hand. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/habits.h"

static eb_habits imperial(void)
{
  eb_habits habits = {0};
  assert_int_equal(eb_habits_set(&habits, "temperature", "°F", NULL), EB_OK);
  assert_int_equal(eb_habits_set(&habits, "length", "thou", NULL), EB_OK);
  assert_int_equal(eb_habits_set(&habits, "pressure", "inHg", NULL), EB_OK);
  assert_int_equal(eb_habits_set(&habits, "flow", "kg/h", NULL), EB_OK);
  return habits;
}

static void a_text_follows_the_habit(void **state)
{
  (void)state;
  static const struct {
    eb_quantity quantity;
    double value;
    const char *unit;
    bool change;
    const char *metric, *other;
  } known[] = {
      {EB_TEMPERATURE, 75, "C", false, "75 C", "167 F"},
      {EB_TEMPERATURE, 90.4, "C", false, "90 C", "195 F"},
      {EB_TEMPERATURE, -40, "C", false, "-40 C", "-40 F"},
      {EB_TEMPERATURE, 3, "C", true, "3 C", "5.4 F"},
      {EB_TEMPERATURE, 60, "C", true, "60 C", "108 F"},
      {EB_LENGTH, 0.127, "mm", false, "0.13 mm", "5 thou"},
      {EB_LENGTH, 0.05, "mm", false, "0.05 mm", "2 thou"},
      {EB_LENGTH, 0.0889, "mm", false, "0.09 mm", "3.5 thou"},
      {EB_LENGTH, 48, "mm", false, "48 mm", "1.8898 in"},
      {EB_LENGTH, 1500, "m", false, "1500 m", "1500 m"},
      {EB_LENGTH, 0, "mm", false, "0 mm", "0 thou"},
      {EB_LENGTH, -0.0001, "mm", false, "0 mm", "0 thou"},
      {EB_PRESSURE, 60, "kPa", false, "60 kPa", "17.7 inHg"},
      {EB_ENGINE_SPEED, 872.4, "rpm", false, "872 rpm", "872 rpm"},
      {EB_FLOW, 6.25, "div", false, "6.25 div", "6.25 div"}, /* a gauge's own */
      {EB_RATIO, 0.5, "", false, "0.5", "0.5"},
      {EB_LENGTH, 1e20, "mm", false, "1e+20 mm", "1e+20 mm"},
  };
  eb_habits none = {0};
  eb_habits habits = imperial();
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    char text[EB_SHOWN_SIZE];
    assert_int_equal(
        eb_habits_text(&none, known[i].quantity, known[i].value, known[i].unit, known[i].change, text, NULL), EB_OK);
    assert_string_equal(text, known[i].metric);
    assert_int_equal(
        eb_habits_text(&habits, known[i].quantity, known[i].value, known[i].unit, known[i].change, text, NULL), EB_OK);
    assert_string_equal(text, known[i].other);
  }
  char text[EB_SHOWN_SIZE] = "as it was";
  assert_int_equal(eb_habits_text(&none, EB_LENGTH, 1, "rpm", false, text, NULL), EB_BAD_UNIT);
  assert_string_equal(text, "as it was");
}

static void the_unit_depends_on_the_size(void **state)
{
  (void)state;
  eb_habits habits = imperial();
  assert_string_equal(eb_habits_unit(&habits, EB_LENGTH, "mm", 5), "thou");
  assert_string_equal(eb_habits_unit(&habits, EB_LENGTH, "mm", 25.4), "in");
  assert_string_equal(eb_habits_unit(&habits, EB_LENGTH, "m", 3000), "m");
  assert_string_equal(eb_habits_unit(&habits, EB_FLOW, "div", 30), "div");
  assert_string_equal(eb_habits_unit(&habits, EB_ANGLE, "deg", 45), "deg");
  assert_int_equal(eb_habits_set(&habits, "length", "in", NULL), EB_OK);
  assert_string_equal(eb_habits_unit(&habits, EB_LENGTH, "mm", 0.1), "in");
  assert_int_equal(eb_habits_set(&habits, "length", "", NULL), EB_OK);
  assert_string_equal(eb_habits_unit(&habits, EB_LENGTH, "mm", 0.1), "mm");
}

/* Whoever types what is shown is inside; and what is shown has few digits. */
static void limits_are_rounded_inward(void **state)
{
  (void)state;
  static const struct {
    eb_quantity quantity;
    double low, high;
    const char *from, *to;
    double shown_low, shown_high;
  } known[] = {
      {EB_TEMPERATURE, 0, 150, "C", "F", 32, 302},       {EB_TEMPERATURE, -40, 160, "C", "F", -40, 320},
      {EB_LENGTH, 0, 5, "mm", "thou", 0, 196.8},         /* 196.850 */
      {EB_LENGTH, 0.03, 0.4, "mm", "thou", 1.19, 15.74}, /* 1.1811, 15.7480 */
      {EB_LENGTH, 10, 200, "mm", "in", 0.394, 7.874},    /* 0.39370, 7.87402 */
      {EB_PRESSURE, 20, 105, "kPa", "inHg", 5.91, 31.0}, /* 5.90600, 31.00650 */
      {EB_TEMPERATURE, 75, 160, "C", "F", 167, 320},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    double low = 0;
    double high = 0;
    assert_int_equal(
        eb_limits_inward(known[i].quantity, known[i].low, known[i].high, known[i].from, known[i].to, &low, &high, NULL),
        EB_OK);
    assert_true(fabs(low - known[i].shown_low) < 1e-12);
    assert_true(fabs(high - known[i].shown_high) < 1e-12);
  }
}

/* What no shop asks for is refused or shown somehow; it never ends the program. */
static void limits_beyond_sense_harm_nothing(void **state)
{
  (void)state;
  static const double limits[][2] = {
      {0, 1e-310},      {0, 5e-324},        {-1.7e308, 1.7e308}, {0, 1.7e308},
      {1e300, 1.1e300}, {1e-300, 1.1e-300}, {-1e-320, 1e-320},   {1, 1.0000000000000002}};
  for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
    double low = 7;
    double high = 7;
    eb_status status = eb_limits_inward(EB_LENGTH, limits[i][0], limits[i][1], "mm", "thou", &low, &high, NULL);
    if (status == EB_OK)
      assert_true(isfinite(low) && isfinite(high) && low < high);
    else
      assert_true(status == EB_OUT_OF_RANGE && low == 7 && high == 7);
  }
}

static void habits_are_read_and_written(void **state)
{
  (void)state;
  static const struct {
    const char *text, *message;
  } wrong[] = {
      {"[]", "habits are a table"},
      {"{\"temprature\":\"F\"}", "did you mean temperature?"},
      {"{\"voltage\":\"mV\"}", "there are temperature, pressure, length, flow and engine-speed"},
      {"{\"temperature\":\"thou\"}", "\"thou\" is a unit of length"},
      {"{\"length\":7}", "a unit in quotes"},
  };
  eb_error error;
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_json *json = NULL;
    eb_habits habits = imperial();
    eb_habits before = habits;
    assert_int_equal(eb_json_parse(wrong[i].text, strlen(wrong[i].text), &json, NULL), EB_OK);
    assert_int_not_equal(eb_habits_read(json, "the place", &habits, &error), EB_OK);
    assert_string_equal(error.place, "the place");
    if (strstr(error.message, wrong[i].message) == NULL)
      fail_msg("%s", error.message);
    assert_memory_equal(&habits, &before, sizeof habits);
    eb_json_destroy(json);
  }
  eb_habits habits = imperial();
  eb_habits read = {0};
  eb_json *json = eb_habits_json(&habits);
  assert_int_equal(eb_habits_read(json, "", &read, &error), EB_OK);
  assert_memory_equal(&read, &habits, sizeof read);
  eb_json_destroy(json);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_text_follows_the_habit),    cmocka_unit_test(the_unit_depends_on_the_size),
      cmocka_unit_test(limits_are_rounded_inward),   cmocka_unit_test(limits_beyond_sense_harm_nothing),
      cmocka_unit_test(habits_are_read_and_written),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
