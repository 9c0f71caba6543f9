/* A person in the tuner's place: what there is to see, and what comes of an answer. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/person.h"

static const char HELLO[] =
    "{\"type\":\"hello\",\"layout\":{\"bores\":[\"1\",\"2\",\"3\",\"4\"],\"rows\":[[\"1\",\"2\"],[\"3\",\"4\"]],"
    "\"row_titles\":[\"left\",\"right\"],\"adjusters\":[{\"id\":\"link\",\"kind\":\"link\",\"title\":\"link\","
    "\"sides\":[[\"1\",\"2\"],[\"3\",\"4\"]],\"effort\":4,\"stopped\":true}]}}";

static const char START[] = "{\"type\":\"ask\",\"kind\":\"engine\",\"state\":\"running\"}";
static const char READ[] = "{\"type\":\"ask\",\"kind\":\"reading\",\"bore\":\"2\",\"condition\":\"idle\",\"unit\":"
                           "\"div\",\"low\":1,\"high\":30}";
static const char MOVE[] = "{\"type\":\"ask\",\"kind\":\"adjust\",\"adjuster\":\"link\",\"move\":0.04}";

static eb_json *parsed(const char *text)
{
  eb_json *made = NULL;
  assert_int_equal(eb_json_parse(text, strlen(text), &made, NULL), EB_OK);
  return made;
}

static eb_bay *bay_with(int fault)
{
  eb_bay_options options = eb_bay_options_usual();
  eb_bay *bay = NULL;
  eb_json *hello = parsed(HELLO);
  if (fault < EB_FAULTS)
    options.fault[fault] = 1;
  assert_int_equal(eb_bay_create(eb_host_system(), &options, &bay, NULL), EB_OK);
  assert_int_equal(eb_bay_hear(bay, hello, NULL), EB_OK);
  eb_json_destroy(hello);
  return bay;
}

static eb_sight look(eb_bay *bay, const char *text)
{
  eb_sight sight;
  eb_json *ask = parsed(text);
  assert_int_equal(eb_bay_look(bay, ask, &sight, NULL), EB_OK);
  eb_json_destroy(ask);
  return sight;
}

static eb_felt act(eb_bay *bay, const char *text, const char *answer, double move)
{
  eb_felt felt;
  eb_json *ask = parsed(text), *value = parsed(answer);
  eb_bay_act(bay, ask, value, move, &felt);
  eb_json_destroy(ask);
  eb_json_destroy(value);
  return felt;
}

static double deviation(const eb_bay *bay, int bore)
{
  eb_engine_truth truth;
  assert_int_equal(eb_bay_truth(bay, &truth, NULL), EB_OK);
  return truth.deviation[bore];
}

static void a_needle_flutters_about_its_place(void **state)
{
  (void)state;
  eb_bay *bay = bay_with(EB_FAULTS);
  assert_true(act(bay, START, "true", 0).fired);
  eb_engine_wait(eb_bay_engine(bay), 60);
  double sum = 0, squares = 0;
  enum { LOOKS = 200 };
  for (int i = 0; i < LOOKS; i++) {
    eb_sight sight = look(bay, READ);
    assert_int_equal(sight.dial, EB_DIAL_GAUGE);
    assert_int_equal(sight.bore, 1);
    assert_true(sight.least < sight.most);
    double middle = log(0.5 * (sight.least + sight.most));
    sum += middle;
    squares += middle * middle;
  }
  /* Whoever reads the middle is as good as the gauge is said to be: 2 %, and a wandering idle. */
  double spread = sqrt(squares / LOOKS - sum / LOOKS * sum / LOOKS);
  assert_true(spread > 0.01 && spread < 0.025);
  eb_bay_work work;
  eb_bay_account(bay, &work);
  assert_int_equal(work.readings, LOOKS);
  eb_bay_destroy(bay);
}

static void the_engine_is_brought_to_what_is_looked_at(void **state)
{
  (void)state;
  eb_bay *bay = bay_with(EB_FAULTS);
  assert_true(look(bay, READ).started);
  assert_false(look(bay, READ).started);
  eb_sight cold = look(bay, "{\"kind\":\"reading\",\"bore\":\"1\",\"condition\":\"cold\",\"quantity\":\"length\","
                            "\"unit\":\"mm\",\"low\":0,\"high\":5}");
  assert_true(cold.stopped);
  assert_int_equal(cold.dial, EB_DIAL_LEAF);
  assert_true(cold.least > 0 && cold.least < 1);
  eb_bay_destroy(bay);
}

static void a_move_is_the_persons_own(void **state)
{
  (void)state;
  double moved[2];
  for (int way = 0; way < 2; way++) {
    eb_bay *bay = bay_with(EB_FAULTS);
    double before = deviation(bay, 0);
    assert_true(act(bay, MOVE, "{\"done\":true}", way == 0 ? 0.1 : -0.1).moved);
    moved[way] = deviation(bay, 0) - before;
    eb_bay_destroy(bay);
  }
  assert_true(moved[0] > 0.005);
  assert_true(moved[1] < -0.005);
  eb_bay *bay = bay_with(EB_FAULTS);
  double before = deviation(bay, 0);
  assert_false(act(bay, MOVE, "{\"done\":true}", 0).moved);
  assert_false(act(bay, MOVE, "{\"done\":false,\"why\":\"seized\"}", 0.1).moved);
  assert_true(fabs(deviation(bay, 0) - before) < 1e-12);
  eb_bay_destroy(bay);
}

static void a_running_engine_is_switched_off_for_a_move(void **state)
{
  (void)state;
  eb_bay *bay = bay_with(EB_FAULTS);
  act(bay, START, "true", 0);
  assert_true(act(bay, MOVE, "{\"done\":true}", 0.05).moved);
  assert_true(act(bay, START, "true", 0).fired);
  eb_bay_destroy(bay);
}

static void a_cold_check_shows_what_is_there(void **state)
{
  (void)state;
  static const char SEALED[] = "{\"type\":\"ask\",\"kind\":\"confirm\",\"key\":\"cold.sealed\"}";
  for (int there = 0; there < 2; there++) {
    eb_bay *bay = bay_with(there ? EB_FAULT_LEAK : EB_FAULTS);
    eb_sight sight = look(bay, SEALED);
    assert_int_equal(sight.checks, 1U << EB_FAULT_LEAK);
    assert_int_equal(sight.finds, there ? sight.checks : 0);
    assert_int_equal(act(bay, SEALED, "true", 0).mended, 0);
    assert_int_equal(eb_bay_found(bay), 0);
    assert_int_equal(act(bay, SEALED, "false", 0).mended, there ? sight.checks : 0);
    assert_int_equal(eb_bay_found(bay), there ? sight.checks : 0);
    assert_int_equal(look(bay, SEALED).finds, 0);
    eb_bay_destroy(bay);
  }
}

static void a_choice_shows_only_what_it_is_about(void **state)
{
  (void)state;
  static const char ASK[] = "{\"kind\":\"choose\",\"key\":\"fault.sticking\",\"options\":[{\"id\":\"sound\"},"
                            "{\"id\":\"stick\"},{\"id\":\"lash\"}]}";
  eb_bay *bay = bay_with(EB_FAULT_LEAK);
  assert_int_equal(look(bay, ASK).finds, 0);
  eb_bay_destroy(bay);
  bay = bay_with(EB_FAULT_STICK);
  assert_int_equal(look(bay, ASK).finds, 1U << EB_FAULT_STICK);
  assert_int_equal(act(bay, ASK, "\"sound\"", 0).mended, 0);
  assert_int_equal(act(bay, ASK, "\"stick\"", 0).mended, 1U << EB_FAULT_STICK);
  assert_int_equal(eb_bay_found(bay), 1U << EB_FAULT_STICK);
  eb_bay_destroy(bay);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_needle_flutters_about_its_place),
      cmocka_unit_test(the_engine_is_brought_to_what_is_looked_at),
      cmocka_unit_test(a_move_is_the_persons_own),
      cmocka_unit_test(a_running_engine_is_switched_off_for_a_move),
      cmocka_unit_test(a_cold_check_shows_what_is_there),
      cmocka_unit_test(a_choice_shows_only_what_it_is_about),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
