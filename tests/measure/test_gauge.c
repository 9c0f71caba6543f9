#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/gauge.h"

static eb_status read_text(const char *text, eb_gauge *gauge, eb_error *error)
{
  eb_json *json = NULL;
  assert_int_equal(eb_json_parse(text, strlen(text), &json, NULL), EB_OK);
  eb_status status = eb_gauge_read(json, "v8.lua:3", gauge, error);
  eb_json_destroy(json);
  return status;
}

static void the_usual_gauge(void **state)
{
  (void)state;
  eb_gauge usual = eb_gauge_usual();
  assert_true(usual.low == 1 && usual.high == 30 && usual.step == 0.25);
  assert_true(usual.best_low == 1 && usual.best_high == 10);
  assert_true(usual.repeatability == 0.02 && usual.repeatability_weight == 4);
  assert_string_equal(usual.unit, "div");
  assert_string_equal(usual.vent, "");
}

static void keys_are_read_over_what_is_there(void **state)
{
  (void)state;
  eb_gauge gauge = eb_gauge_usual();
  eb_error error = {0};
  assert_int_equal(read_text("{}", &gauge, &error), EB_OK);
  eb_gauge usual = eb_gauge_usual();
  assert_true(gauge.high == usual.high && gauge.step == usual.step);
  assert_int_equal(read_text("{\"low\":0,\"high\":60,\"step\":0.5,\"best\":[5,40],\"repeatability\":0.03,"
                             "\"repeatability_weight\":9.5,\"unit\":\"KG/H\",\"vent\":\"two turns out\"}",
                             &gauge, &error),
                   EB_OK);
  assert_true(gauge.low == 0 && gauge.high == 60 && gauge.step == 0.5 && gauge.best_low == 5 && gauge.best_high == 40);
  assert_true(gauge.repeatability == 0.03 && gauge.repeatability_weight == 9.5);
  assert_string_equal(gauge.unit, "kg/h");
  assert_string_equal(gauge.vent, "two turns out");
}

static void what_is_written_reads_back(void **state)
{
  (void)state;
  eb_gauge gauge = eb_gauge_usual();
  gauge.low = 0.1;
  gauge.best_low = 1.1;
  strcpy(gauge.vent, "half \xC2\xBD");
  eb_json *json = eb_gauge_json(&gauge);
  assert_non_null(json);
  eb_gauge back = eb_gauge_usual();
  assert_int_equal(eb_gauge_read(json, "", &back, NULL), EB_OK);
  assert_true(back.low == 0.1 && back.best_low == 1.1 && back.high == 30);
  assert_string_equal(back.vent, gauge.vent);
  eb_json_destroy(json);
}

static void a_wrong_gauge_says_what_would_be_right(void **state)
{
  (void)state;
  static const struct {
    const char *text;
    eb_status status;
    const char *says;
  } wrong[] = {
      {"[1,30]", EB_BAD_VALUE, "a gauge is a table"},
      {"{\"hihg\":20}", EB_BAD_VALUE, "did you mean \"high\"?"},
      {"{\"colour\":20}", EB_BAD_VALUE, "it has low, high, step"},
      {"{\"low\":\"1\"}", EB_BAD_VALUE, "low is a number"},
      {"{\"best\":[1]}", EB_BAD_VALUE, "such as [1, 10]"},
      {"{\"best\":[1,\"x\"]}", EB_BAD_VALUE, "such as [1, 10]"},
      {"{\"unit\":5}", EB_BAD_VALUE, "\"kg/h\""},
      {"{\"unit\":\"psi\"}", EB_BAD_UNIT, "for flow write div, kg/h, g/s or lb/h"},
      {"{\"unit\":\"\"}", EB_BAD_UNIT, "write div"},
      {"{\"vent\":7}", EB_BAD_VALUE, "vent is text"},
      {"{\"vent\":\"a vent that needs far too many words\"}", EB_BAD_TEXT, "at most 31 bytes"},
      {"{\"vent\":\"a\\nb\"}", EB_BAD_TEXT, "printable"},
      {"{\"low\":-1}", EB_OUT_OF_RANGE, "low is 0 or more"},
      {"{\"low\":30}", EB_OUT_OF_RANGE, "from 30 to 30"},
      {"{\"high\":2e6}", EB_OUT_OF_RANGE, "at most 1000000"},
      {"{\"step\":0}", EB_OUT_OF_RANGE, "above 0"},
      {"{\"step\":20}", EB_OUT_OF_RANGE, "half of the scale"},
      {"{\"high\":8}", EB_OUT_OF_RANGE, "lies inside the scale, 1 to 8"},
      {"{\"best\":[0.5,10]}", EB_OUT_OF_RANGE, "lies inside the scale, 1 to 30"},
      {"{\"best\":[5,5]}", EB_OUT_OF_RANGE, "rises"},
      {"{\"repeatability\":0}", EB_OUT_OF_RANGE, "0.0001 and 0.5"},
      {"{\"repeatability\":2}", EB_OUT_OF_RANGE, "0.02 is 2 % of a reading"},
      {"{\"repeatability_weight\":0}", EB_OUT_OF_RANGE, "between 0.1 and 1000"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_gauge gauge = eb_gauge_usual();
    eb_error error = {0};
    eb_status status = read_text(wrong[i].text, &gauge, &error);
    if (status != wrong[i].status || strstr(error.message, wrong[i].says) == NULL)
      fail_msg("%s: %s: %s", wrong[i].text, eb_status_word(status), error.message);
    assert_string_equal(error.place, "v8.lua:3");
    assert_true(gauge.low == 1 && gauge.high == 30 && gauge.best_high == 10 && gauge.step == 0.25);
    assert_string_equal(gauge.vent, "");
  }
}

static void slips_are_asked_again(void **state)
{
  (void)state;
  eb_gauge gauge = eb_gauge_usual();
  assert_int_equal(eb_gauge_slip(&gauge, 6, 0, 0), EB_SLIP_NONE);
  assert_int_equal(eb_gauge_slip(&gauge, 1, 0, 0), EB_SLIP_NONE);
  assert_int_equal(eb_gauge_slip(&gauge, 30, 0, 0), EB_SLIP_NONE);
  assert_int_equal(eb_gauge_slip(&gauge, 0.99, 0, 0), EB_SLIP_OFF_SCALE);
  assert_int_equal(eb_gauge_slip(&gauge, 30.01, 0, 0), EB_SLIP_OFF_SCALE);
  assert_int_equal(eb_gauge_slip(&gauge, -6, 0, 0), EB_SLIP_OFF_SCALE);
  /* three times, or a third, is still taken; a decimal point lost or gained is not */
  assert_int_equal(eb_gauge_slip(&gauge, 18, 6, 6), EB_SLIP_NONE);
  assert_int_equal(eb_gauge_slip(&gauge, 2, 6, 6), EB_SLIP_NONE);
  assert_int_equal(eb_gauge_slip(&gauge, 18.25, 6, 0), EB_SLIP_LAST);
  assert_int_equal(eb_gauge_slip(&gauge, 1.75, 6, 0), EB_SLIP_LAST);
  assert_int_equal(eb_gauge_slip(&gauge, 18.25, 0, 6), EB_SLIP_ROW);
  assert_int_equal(eb_gauge_slip(&gauge, 1.75, 7, 6), EB_SLIP_LAST);
  assert_int_equal(eb_gauge_slip(&gauge, 1.75, 2, 6), EB_SLIP_ROW);
  gauge.low = 0;
  assert_int_equal(eb_gauge_slip(&gauge, 0, 0, 0), EB_SLIP_OFF_SCALE);
}

/* JCGM 100:2008, 4.3.7 and F.2.2.1: a step d has the standard uncertainty 0.29 d;
 * 5.1.2: independent parts add as squares.  Numbers worked out by hand. */
static void a_reading_is_doubted_by_its_step_and_repeatability(void **state)
{
  (void)state;
  eb_gauge gauge = eb_gauge_usual();
  gauge.step = 1;
  double alone = sqrt(eb_gauge_variance(&gauge, 0, 1));
  assert_true(fabs(alone - 0.288675134594813) < 1e-14);
  assert_true(fabs(eb_gauge_variance(&gauge, 0.02, 10) - (0.0004 + 0.01 / 12)) < 1e-15);
  assert_true(eb_gauge_variance(&gauge, 0.02, 1) > eb_gauge_variance(&gauge, 0.02, 10));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_usual_gauge),
      cmocka_unit_test(keys_are_read_over_what_is_there),
      cmocka_unit_test(what_is_written_reads_back),
      cmocka_unit_test(a_wrong_gauge_says_what_would_be_right),
      cmocka_unit_test(slips_are_asked_again),
      cmocka_unit_test(a_reading_is_doubted_by_its_step_and_repeatability),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
