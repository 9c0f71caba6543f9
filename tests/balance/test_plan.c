#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "readings.h"

static eb_layout engine(const char *text)
{
  eb_layout layout;
  assert_int_equal(engine_read(text, &layout, NULL), EB_OK);
  return layout;
}

static eb_plan plan_of(const eb_evidence *evidence, const eb_plan_options *options)
{
  eb_plan plan;
  eb_error error;
  if (eb_evidence_plan(evidence, 0.05, 0.05, options, &plan, &error) != EB_OK)
    fail_msg("%s", error.message);
  size_t size = strlen(plan.reason);
  assert_in_range(size, 20, 320);
  assert_true(plan.reason[size - 1] == '.' && plan.reason[0] >= 'A' && plan.reason[0] <= 'Z');
  return plan;
}

/* A plan for an engine with these deviations, after some quiet passes. */
static eb_plan plan_for(const char *text, const double *y, int passes, double noise, const eb_plan_options *options)
{
  eb_layout layout = engine(text);
  eb_gauge gauge = gauge_fine();
  uint64_t seed = 12;
  eb_evidence *evidence = gather(&layout, &gauge);
  for (int r = 0; r < passes; r++)
    pass(evidence, &layout, y, noise, &seed);
  eb_plan plan = plan_of(evidence, options);
  eb_evidence_destroy(evidence);
  return plan;
}

static eb_plan usual_plan(const char *text, const double *y, int passes, double noise)
{
  eb_plan_options options = eb_plan_options_usual();
  return plan_for(text, y, passes, noise, &options);
}

static const double SIDE[8] = {-0.05, -0.05, -0.05, -0.05, 0.05, 0.05, 0.05, 0.05};
static const double PAIR[8] = {-0.07, -0.07, 0.07, 0.07};
static const double PLATE[8] = {0, 0, 0, 0, 0, 0.14};

static void a_side_is_moved_by_the_link(void **state)
{
  (void)state;
  eb_plan plan = usual_plan(ENGINE_V8, SIDE, 2, 0.002);
  assert_int_equal(plan.step, EB_STEP_MOVE);
  assert_int_equal(plan.move_count, 1);
  assert_int_equal(plan.move[0].adjuster, 0);
  assert_true(plan.move[0].move > 0.06 && plan.move[0].move < 0.1); /* damped: the link's answer is not known yet */
  assert_near(plan.effort_min, 12 + 4, 1e-12);
  assert_true(plan.expected[0] < 0 && plan.expected[0] > -0.03 && plan.expected[7] > 0);
  assert_true(plan.probability_before < 0.5 && plan.probability_after > plan.probability_before + 0.15);
  assert_non_null(strstr(plan.reason, "Side 1-3-5-7 breathes"));
  assert_non_null(strstr(plan.reason, "less than side 2-4-6-8"));
  assert_non_null(strstr(plan.reason, "cross link"));
}

static void a_pair_is_moved_by_its_coupler(void **state)
{
  (void)state;
  eb_plan plan = usual_plan(ENGINE_V8, PAIR, 2, 0.002);
  assert_int_equal(plan.step, EB_STEP_MOVE);
  assert_int_equal(plan.move_count, 1);
  assert_int_equal(plan.move[0].adjuster, 1);
  assert_true(plan.move[0].move > 0);
  assert_non_null(strstr(plan.reason, "Bores 1-3 breathe"));
  assert_non_null(strstr(plan.reason, "left coupler"));
}

static void one_bore_is_moved_by_its_plate(void **state)
{
  (void)state;
  eb_plan plan = usual_plan(ENGINE_V8, PLATE, 2, 0.002);
  assert_int_equal(plan.step, EB_STEP_MOVE);
  assert_int_equal(plan.move_count, 1);
  assert_int_equal(plan.move[0].adjuster, 3 + 3); /* plate 4, of the sixth bore in the rows' order */
  assert_true(plan.move[0].move < 0);
  assert_non_null(strstr(plan.reason, "Bore 4 is 13 % high"));
  assert_non_null(strstr(plan.reason, "plate 4"));
}

static void what_is_even_is_left_alone(void **state)
{
  (void)state;
  static const double even[24] = {0.004, -0.004, 0.002};
  static const char *const engines[] = {ENGINE_V8, ENGINE_INLINE_FOUR, ENGINE_ONE_SIDED, ENGINE_TWIN, ENGINE_24};
  for (size_t e = 0; e < sizeof engines / sizeof engines[0]; e++) {
    eb_plan plan = usual_plan(engines[e], even, 4, 0.004);
    assert_int_equal(plan.step, EB_STEP_DONE);
    assert_int_equal(plan.move_count, 0);
    assert_int_equal(plan.read, 0);
  }
}

static void what_is_unsure_is_read_again(void **state)
{
  (void)state;
  static const double even[8] = {0};
  eb_plan plan = usual_plan(ENGINE_V8, even, 1, 0.01);
  assert_int_equal(plan.step, EB_STEP_READ);
  assert_true(plan.read != 0);
  assert_int_equal(plan.move_count, 0);
  eb_plan_options options = eb_plan_options_usual();
  options.reads_max = 1; /* the first bore was read twice, the others once */
  plan = plan_for(ENGINE_V8, even, 1, 0.01, &options);
  assert_int_not_equal(plan.step, EB_STEP_READ);
}

/* Nothing measured before the engine was started again, or before a move with it running, is taken for granted. */
static void what_was_not_read_is_read_first(void **state)
{
  (void)state;
  eb_layout six = engine(ENGINE_ONE_SIDED);
  eb_gauge gauge = gauge_fine();
  eb_plan_options options = eb_plan_options_usual();
  uint64_t seed = 12;
  static const double y[6] = {0.12};
  eb_evidence *evidence = gather(&six, &gauge);
  pass(evidence, &six, y, 0.003, &seed);
  eb_evidence_move(evidence, 0, -0.1, NULL);
  eb_plan plan = plan_of(evidence, &options);
  assert_int_equal(plan.step, EB_STEP_READ);
  assert_int_equal(plan.read, 0x3F);
  eb_evidence_reading(evidence, 0, 9, NULL);
  plan = plan_of(evidence, &options);
  assert_int_equal(plan.read, 0x3E);
  eb_evidence_destroy(evidence);
}

static double contrast_doubt(const eb_verdict *verdict, int adjuster)
{
  for (int c = 0; c < verdict->contrast_count; c++)
    if (verdict->contrast[c].adjuster == adjuster)
      return verdict->contrast[c].doubt;
  return INFINITY;
}

/* A plate is a quarter of an hour's work; where one reading more may spare it, that comes first: however far bore 3
 * reads off, with another fault beside it or without, its plate is not moved on one reading for less than 2.5 doubts
 * of what the plate is for. */
static void a_doubtful_bore_is_read_before_it_is_moved(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  eb_plan_options options = eb_plan_options_usual();
  int asked = 0, moved = 0, plate = eb_layout_adjuster(&v8, "plate-3");
  for (int off = 30; off <= 120; off += 5)
    for (int beside = 0; beside < 2; beside++) {
      double y[8] = {0, off / 1000.0, 0, 0, 0, 0, 0, beside ? 0.2 : 0};
      uint64_t seed = 12;
      eb_verdict verdict;
      eb_evidence *evidence = gather(&v8, &gauge);
      pass(evidence, &v8, y, 0, &seed);
      eb_plan plan = plan_of(evidence, &options);
      assert_int_equal(eb_evidence_verdict(evidence, 0.05, 0.05, &verdict, NULL), EB_OK);
      asked += plan.step == EB_STEP_READ && (plan.read >> 1 & 1);
      for (int m = 0; m < plan.move_count; m++)
        if (plan.move[m].adjuster == plate) {
          assert_true(fabs(plan.move[m].move) >= 2.5 * contrast_doubt(&verdict, plate));
          moved++;
        }
      eb_evidence_destroy(evidence);
    }
  assert_true(asked > 0 && moved > 0);
}

static void without_hope_it_says_stop(void **state)
{
  (void)state;
  eb_layout fixed = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  eb_plan_options options = eb_plan_options_usual();
  uint64_t seed = 12;
  static const double y[8] = {0.1, -0.1};
  fixed.adjuster_count = 1; /* two bores of one side are apart, and only the link between the sides can be moved */
  eb_evidence *evidence = gather(&fixed, &gauge);
  pass(evidence, &fixed, y, 0.002, &seed);
  pass(evidence, &fixed, y, 0.002, &seed);
  eb_plan plan = plan_of(evidence, &options);
  assert_int_equal(plan.step, EB_STEP_STOP);
  assert_int_equal(plan.move_count, 0);
  eb_evidence_destroy(evidence);
}

static void no_adjuster_is_asked_to_mend_a_dead_bore(void **state)
{
  (void)state;
  static const double apart[2] = {0.8, -0.8}, near[2] = {0.3, -0.3};
  eb_plan plan = usual_plan(ENGINE_TWIN, apart, 3, 0.002);
  assert_int_equal(plan.step, EB_STEP_STOP);
  assert_int_equal(plan.move_count, 0);
  assert_non_null(strstr(plan.reason, "a cylinder that does not fire"));
  plan = usual_plan(ENGINE_TWIN, near, 3, 0.002);
  assert_int_equal(plan.step, EB_STEP_MOVE);
  assert_true(fabs(plan.move[0].move) <= EB_MOVE_MAX);
}

static void the_agreed_stops_are_not_exceeded(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  eb_plan_options options = eb_plan_options_usual();
  uint64_t seed = 12;
  eb_evidence *evidence = gather(&v8, &gauge);
  options.attempts_max = 3;
  pass(evidence, &v8, SIDE, 0.002, &seed);
  for (int stop = 0; stop < 3; stop++) {
    assert_int_equal(plan_of(evidence, &options).step, EB_STEP_MOVE);
    eb_evidence_move(evidence, 0, 0.05, NULL); /* two moves in one stop, that do nothing at all */
    eb_evidence_move(evidence, 1, 0.05, NULL);
    eb_evidence_period(evidence, NULL);
    pass(evidence, &v8, SIDE, 0.002, &seed);
  }
  eb_plan plan = plan_of(evidence, &options);
  assert_int_equal(plan.step, EB_STEP_STOP);
  assert_non_null(strstr(plan.reason, "the agreed 3 stops"));
  eb_evidence_destroy(evidence);
}

static void several_faults_are_moved_in_one_stop(void **state)
{
  (void)state;
  static const double both[8] = {-0.12, -0.12, 0.02, 0.02, 0.05, 0.18, 0.05, 0.05};
  eb_plan plan = usual_plan(ENGINE_V8, both, 3, 0.001);
  assert_int_equal(plan.step, EB_STEP_MOVE);
  assert_true(plan.move_count >= 2);
  for (int m = 1; m < plan.move_count; m++) /* those that touch more bores come first: the layout's order here */
    assert_true(plan.move[m - 1].adjuster < plan.move[m].adjuster);
  eb_plan_options options = eb_plan_options_usual();
  options.one_at_a_time = true;
  eb_plan one = plan_for(ENGINE_V8, both, 3, 0.001, &options);
  assert_int_equal(one.move_count, 1);
  assert_int_equal(one.move[0].adjuster, plan.move[0].adjuster);
  assert_true(one.effort_min < plan.effort_min);
}

/* What is seized is neither moved nor spoken of as a cheaper way; with everything seized there is nothing to do. */
static void what_may_not_be_used_is_left_alone(void **state)
{
  (void)state;
  static const double *const faults[] = {SIDE, PAIR, PLATE};
  for (int method = EB_METHOD_LEAST_EFFORT; method <= EB_METHOD_TRADE_ORDER; method++)
    for (int f = 0; f < 3; f++) {
      eb_plan_options options = eb_plan_options_usual();
      options.method = (eb_method)method;
      eb_plan usual = plan_for(ENGINE_V8, faults[f], 2, 0.002, &options);
      assert_int_equal(usual.step, EB_STEP_MOVE);
      options.without = (uint64_t)1 << usual.move[0].adjuster;
      eb_layout v8 = engine(ENGINE_V8);
      eb_plan plan = plan_for(ENGINE_V8, faults[f], 2, 0.002, &options);
      for (int m = 0; m < plan.move_count; m++)
        assert_int_not_equal(plan.move[m].adjuster, usual.move[0].adjuster);
      assert_null(strstr(plan.reason, v8.adjuster[usual.move[0].adjuster].title));
      options.without = UINT64_MAX;
      plan = plan_for(ENGINE_V8, faults[f], 2, 0.002, &options);
      assert_true(plan.step == EB_STEP_STOP && plan.move_count == 0);
    }
}

static void by_hand_sides_come_before_pairs_and_bores(void **state)
{
  (void)state;
  static const double all[8] = {-0.12, -0.12, 0.02, 0.02, 0.05, 0.18, 0.05, 0.05};
  static const double pairs[8] = {-0.07, -0.07, 0.07, 0.07, 0.1, -0.1, 0, 0};
  eb_plan_options options = eb_plan_options_usual();
  options.method = EB_METHOD_TRADE_ORDER;
  eb_plan plan = plan_for(ENGINE_V8, all, 2, 0.001, &options);
  assert_int_equal(plan.step, EB_STEP_MOVE);
  assert_int_equal(plan.move_count, 1);
  assert_int_equal(plan.move[0].adjuster, 0);
  plan = plan_for(ENGINE_V8, pairs, 2, 0.001, &options);
  assert_int_equal(plan.move_count, 1);
  assert_int_equal(plan.move[0].adjuster, 1);
  plan = plan_for(ENGINE_V8, PLATE, 2, 0.001, &options);
  assert_int_equal(plan.step, EB_STEP_MOVE);
  assert_int_equal(plan.move_count, 1);
}

/* With every adjuster used while the engine runs no stop is paid for. */
static void running_adjusters_cost_no_stop(void **state)
{
  (void)state;
  static const double y[6] = {0.15, 0, 0, 0, 0, 0};
  eb_plan plan = usual_plan(ENGINE_ONE_SIDED, y, 2, 0.002);
  assert_int_equal(plan.step, EB_STEP_MOVE);
  assert_int_equal(plan.move_count, 1);
  assert_int_equal(plan.move[0].adjuster, 0);
  assert_true(plan.effort_min < 12);
}

static void a_bore_left_out_is_not_moved_for(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  eb_plan_options options = eb_plan_options_usual();
  uint64_t seed = 12;
  eb_evidence *evidence = gather(&v8, &gauge);
  for (int r = 0; r < 3; r++)
    pass(evidence, &v8, PLATE, 0.003, &seed);
  assert_int_equal(plan_of(evidence, &options).step, EB_STEP_MOVE);
  eb_evidence_leave_out(evidence, 5);
  eb_plan plan = plan_of(evidence, &options);
  assert_int_equal(plan.step, EB_STEP_DONE);
  assert_true(plan.expected[5] == 0);
  eb_evidence_destroy(evidence);
}

static void the_same_evidence_gives_the_same_plan(void **state)
{
  (void)state;
  static const double y[24] = {0.1,   -0.05, 0.02,  0.07, -0.12, 0.01,  0,    0.03,
                               -0.04, 0.06,  -0.02, 0.09, 0.01,  -0.01, 0.05, -0.03};
  static const char *const engines[] = {ENGINE_V8, ENGINE_W16, ENGINE_24, ENGINE_CHAIN};
  for (size_t e = 0; e < sizeof engines / sizeof engines[0]; e++) {
    eb_layout layout = engine(engines[e]);
    char *text[2];
    for (int r = 0; r < 2; r++) {
      eb_plan plan = usual_plan(engines[e], y, 2, 0.01);
      eb_json *json = eb_plan_json(&plan, &layout);
      text[r] = eb_json_text(json);
      eb_json_destroy(json);
    }
    assert_string_equal(text[0], text[1]);
    eb_json_text_free(text[0]);
    eb_json_text_free(text[1]);
  }
}

static void a_plan_is_shown_as_the_protocol_has_it(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  eb_plan plan = usual_plan(ENGINE_V8, SIDE, 2, 0.002);
  eb_json *json = eb_plan_json(&plan, &v8);
  const eb_json *move = eb_json_at(eb_json_get(json, "moves"), 0);
  assert_string_equal(eb_json_get_string(json, "step", ""), "move");
  assert_string_equal(eb_json_get_string(move, "adjuster", ""), "link");
  assert_near(eb_json_get_number(eb_json_get(move, "share"), "1", 0), expm1(plan.move[0].move / 2), 1e-12);
  assert_near(eb_json_get_number(eb_json_get(move, "share"), "8", 0), expm1(-plan.move[0].move / 2), 1e-12);
  assert_near(eb_json_get_number(eb_json_get(json, "expected"), "1", 9), expm1(plan.expected[0]), 1e-12);
  assert_string_equal(eb_json_get_string(json, "reason", ""), plan.reason);
  eb_json_destroy(json);
}

static void methods_have_words(void **state)
{
  (void)state;
  eb_method method = EB_METHOD_LEAST_EFFORT;
  eb_error error;
  assert_int_equal(eb_method_read("trade-order", &method, &error), EB_OK);
  assert_int_equal(method, EB_METHOD_TRADE_ORDER);
  assert_int_equal(eb_method_read("guess", &method, &error), EB_BAD_VALUE);
  assert_non_null(strstr(error.message, "least-effort"));
  assert_string_equal(eb_step_text(EB_STEP_READ), "read");
}

/* Names and titles as long as they may be: the reason is cut at a character and stays a text. */
static void long_names_do_not_break_the_reason(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  eb_plan_options options = eb_plan_options_usual();
  uint64_t seed = 12;
  for (int i = 0; i < 8; i++)
    snprintf(v8.bore[i], EB_ID_SIZE, "\xC3\xA4\xC3\xB6\xC3\xBC-cylinder-number-%d-of-8", i);
  for (int k = 0; k < 11; k++)
    for (int c = 0; c < 31; c++)
      memcpy(v8.adjuster[k].title + 2 * c, "\xC3\xA4", 3);
  static const double y[8] = {0.2, -0.1, 0.15, -0.15, 0.1, 0.12, -0.2, 0};
  eb_evidence *evidence = gather(&v8, &gauge);
  pass(evidence, &v8, y, 0.001, &seed);
  pass(evidence, &v8, y, 0.001, &seed);
  eb_plan plan;
  assert_int_equal(eb_evidence_plan(evidence, 0.05, 0.05, &options, &plan, NULL), EB_OK);
  assert_true(strlen(plan.reason) < sizeof plan.reason);
  eb_json *json = eb_plan_json(&plan, &v8), *back = NULL;
  char *text = eb_json_text(json);
  assert_int_equal(eb_json_parse(text, strlen(text), &back, NULL), EB_OK); /* UTF-8 among other things */
  eb_json_destroy(back);
  eb_json_text_free(text);
  eb_json_destroy(json);
  eb_evidence_destroy(evidence);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_side_is_moved_by_the_link),
      cmocka_unit_test(a_pair_is_moved_by_its_coupler),
      cmocka_unit_test(one_bore_is_moved_by_its_plate),
      cmocka_unit_test(what_is_even_is_left_alone),
      cmocka_unit_test(what_is_unsure_is_read_again),
      cmocka_unit_test(what_was_not_read_is_read_first),
      cmocka_unit_test(a_doubtful_bore_is_read_before_it_is_moved),
      cmocka_unit_test(without_hope_it_says_stop),
      cmocka_unit_test(no_adjuster_is_asked_to_mend_a_dead_bore),
      cmocka_unit_test(the_agreed_stops_are_not_exceeded),
      cmocka_unit_test(several_faults_are_moved_in_one_stop),
      cmocka_unit_test(what_may_not_be_used_is_left_alone),
      cmocka_unit_test(by_hand_sides_come_before_pairs_and_bores),
      cmocka_unit_test(running_adjusters_cost_no_stop),
      cmocka_unit_test(a_bore_left_out_is_not_moved_for),
      cmocka_unit_test(the_same_evidence_gives_the_same_plan),
      cmocka_unit_test(a_plan_is_shown_as_the_protocol_has_it),
      cmocka_unit_test(methods_have_words),
      cmocka_unit_test(long_names_do_not_break_the_reason),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
