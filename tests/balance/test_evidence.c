#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/statistics.h"
#include "readings.h"

static eb_layout engine(const char *text)
{
  eb_layout layout;
  assert_int_equal(engine_read(text, &layout, NULL), EB_OK);
  return layout;
}

static eb_verdict judge(const eb_evidence *evidence)
{
  eb_verdict verdict;
  eb_error error;
  if (eb_evidence_verdict(evidence, 0.05, 0.05, &verdict, &error) != EB_OK)
    fail_msg("%s", error.message);
  return verdict;
}

static void read_list(eb_evidence *evidence, int bore, const double *values, int count)
{
  for (int i = 0; i < count; i++)
    assert_int_equal(eb_evidence_reading(evidence, bore, values[i], NULL), EB_OK);
}

static void a_pass_is_closed_at_its_first_bore(void **state)
{
  (void)state;
  static const struct {
    double last;
    bool comparable, accepted;
    int bore;
  } cases[] = {
      {8.0, true, true, 0}, {8.6, true, true, 0}, {8.7, true, false, 0}, {7.3, true, false, 0}, {12, false, true, 1}};
  eb_layout twin = engine(ENGINE_TWIN);
  eb_gauge gauge = gauge_fine();
  for (size_t c = 0; c < sizeof cases / sizeof cases[0]; c++) {
    eb_evidence *evidence = gather(&twin, &gauge);
    eb_closure closure;
    double last;
    eb_evidence_pass(evidence, NULL);
    read_list(evidence, 0, (double[]){8}, 1);
    read_list(evidence, 1, (double[]){9}, 1);
    read_list(evidence, cases[c].bore, &cases[c].last, 1);
    assert_int_equal(eb_evidence_count(evidence, 1, &last), cases[c].bore == 1 ? 2 : 1);
    eb_evidence_close(evidence, &closure);
    assert_int_equal(closure.comparable, cases[c].comparable);
    assert_int_equal(closure.accepted, cases[c].accepted);
    assert_near(closure.limit, log(1.08), 1e-12);
    if (cases[c].comparable)
      assert_near(closure.change, log(cases[c].last / 8), 1e-12);
    assert_int_equal(eb_evidence_count(evidence, 0, &last) > 0, cases[c].accepted);
    eb_evidence_destroy(evidence);
  }
}

/* A step of one graduation low on a coarse scale is no drift. */
static void one_graduation_does_not_reject_a_pass(void **state)
{
  (void)state;
  eb_layout twin = engine(ENGINE_TWIN);
  eb_gauge gauge = eb_gauge_usual();
  gauge.step = 0.5;
  eb_evidence *evidence = gather(&twin, &gauge);
  eb_closure closure;
  eb_evidence_pass(evidence, NULL);
  read_list(evidence, 0, (double[]){3}, 1);
  read_list(evidence, 1, (double[]){3}, 1);
  read_list(evidence, 0, (double[]){3.5}, 1);
  eb_evidence_close(evidence, &closure);
  assert_true(closure.accepted);
  eb_evidence_pass(evidence, NULL);
  read_list(evidence, 0, (double[]){3, 4}, 2);
  eb_evidence_close(evidence, &closure);
  assert_false(closure.accepted);
  eb_evidence_destroy(evidence);
}

static void a_pass_over_an_engine_start_is_not_compared(void **state)
{
  (void)state;
  eb_layout twin = engine(ENGINE_TWIN);
  eb_gauge gauge = gauge_fine();
  eb_evidence *evidence = gather(&twin, &gauge);
  eb_closure closure;
  eb_evidence_pass(evidence, NULL);
  read_list(evidence, 0, (double[]){8}, 1);
  eb_evidence_period(evidence, NULL);
  read_list(evidence, 0, (double[]){12}, 1);
  eb_evidence_close(evidence, &closure);
  assert_false(closure.comparable);
  assert_true(closure.accepted);
  eb_evidence_close(evidence, &closure); /* none is open */
  assert_false(closure.comparable);
  eb_evidence_destroy(evidence);
}

/* With and without a rejected pass everything else is the same, but for the time that it took. */
static void rejected_readings_do_not_count(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  static const double y[8] = {0.03, -0.05, 0.01, 0, 0.02, 0, -0.04, 0.03};
  static const double odd[8] = {-0.3, 0.3};
  eb_verdict verdict[2];
  for (int round = 0; round < 2; round++) {
    uint64_t seed = 3;
    eb_evidence *evidence = gather(&v8, &gauge);
    eb_closure closure;
    if (round == 1) {
      eb_evidence_pass(evidence, NULL);
      for (int i = 0; i < 8; i++)
        eb_evidence_reading(evidence, i, 5 * exp(odd[i]), NULL);
      eb_evidence_reading(evidence, 0, 9, NULL);
      eb_evidence_close(evidence, &closure);
      assert_false(closure.accepted);
      assert_int_equal(eb_evidence_verdict(evidence, 0.05, 0.05, &verdict[1], NULL), EB_UNSOLVABLE);
    }
    eb_evidence_period(evidence, NULL);
    pass(evidence, &v8, y, 0.01, &seed);
    verdict[round] = judge(evidence);
    eb_evidence_destroy(evidence);
  }
  assert_memory_equal(&verdict[0].bore, &verdict[1].bore, sizeof verdict[0].bore);
  assert_true(verdict[0].claim == verdict[1].claim && verdict[0].repeatability == verdict[1].repeatability);
}

/* s^2 = (nu0 s0^2 + sum of squares) / (nu0 + degrees): two bores read twice, 1 % and 3 % apart; too few to spare a
 * degree for a slope. */
static void repeats_are_pooled_with_the_prior(void **state)
{
  (void)state;
  eb_layout twin = engine(ENGINE_TWIN);
  eb_gauge gauge = gauge_fine();
  eb_evidence *evidence = gather(&twin, &gauge);
  read_list(evidence, 0, (double[]){8, 8 * exp(0.01)}, 2);
  read_list(evidence, 1, (double[]){9, 9 * exp(0.03)}, 2);
  eb_verdict verdict = judge(evidence);
  double squares = 4 * 0.02 * 0.02 + 0.01 * 0.01 / 2 + 0.03 * 0.03 / 2;
  assert_near(verdict.repeatability, sqrt(squares / 6), 1e-12);
  assert_near(verdict.degrees_of_freedom, 6, 0.01); /* the readable step is next to nothing here */
  assert_int_equal(verdict.bore[0].readings, 2);
  assert_near(verdict.bore[0].reading, 4 * (1 + exp(0.01)), 1e-12);
  eb_evidence_destroy(evidence);
}

/* The same two bores: what the repeats say by themselves does not depend on what the gauge was believed to be. */
static void repeats_speak_for_themselves(void **state)
{
  (void)state;
  eb_layout twin = engine(ENGINE_TWIN);
  for (double believed = 0.01; believed < 0.06; believed += 0.02) {
    eb_gauge gauge = gauge_fine();
    gauge.repeatability = believed;
    eb_evidence *evidence = gather(&twin, &gauge);
    assert_true(eb_evidence_repeats(evidence).degrees_of_freedom <= 0);
    read_list(evidence, 0, (double[]){8, 8 * exp(0.01)}, 2);
    read_list(evidence, 1, (double[]){9, 9 * exp(0.03)}, 2);
    eb_spread repeats = eb_evidence_repeats(evidence);
    assert_near(repeats.degrees_of_freedom, 2, 0);
    assert_near(repeats.deviation, sqrt((0.01 * 0.01 / 2 + 0.03 * 0.03 / 2) / 2), 1e-12);
    eb_evidence_destroy(evidence);
  }
}

/* Readings that only drift have no scatter once their common slope is out: NIST/SEMATECH e-Handbook 2.3.3.1.2 takes
 * a linear drift out of comparisons in the same spirit. */
static void a_steady_drift_is_not_scatter(void **state)
{
  (void)state;
  eb_layout twin = engine(ENGINE_TWIN);
  eb_gauge gauge = gauge_fine();
  eb_evidence *evidence = gather(&twin, &gauge);
  for (int i = 0; i < 10; i++)
    eb_evidence_reading(evidence, i % 2, 8 * exp(0.01 * i), NULL);
  eb_verdict verdict = judge(evidence);
  assert_near(verdict.repeatability, sqrt(4 * 0.02 * 0.02 / (4 + 7)), 1e-9);
  eb_evidence_destroy(evidence);
}

/* A move between two readings of a bore makes them no repeats. */
static void readings_about_a_move_are_no_repeats(void **state)
{
  (void)state;
  eb_layout twin = engine(ENGINE_TWIN);
  eb_gauge gauge = gauge_fine();
  eb_evidence *evidence = gather(&twin, &gauge);
  read_list(evidence, 0, (double[]){8}, 1);
  read_list(evidence, 1, (double[]){9}, 1);
  eb_evidence_move(evidence, 0, 0.1, NULL);
  read_list(evidence, 0, (double[]){8.5}, 1);
  eb_verdict verdict = judge(evidence);
  assert_near(verdict.repeatability, 0.02, 1e-12);
  assert_int_equal(verdict.bore[0].readings, 1);
  assert_int_equal(verdict.bore[1].readings, 0);
  eb_evidence_destroy(evidence);
}

/* What `count` readings that were all rounded to the same graduation tell of the truth, by Bayes' rule: the standard
 * deviation of what is left of its place x between -step/2 and step/2 when each reading scatters about it. */
static double left_on_one_graduation(double step, double scatter, int count)
{
  enum { PARTS = 4000 };
  double weight = 0, squares = 0;
  for (int i = 0; i < PARTS; i++) {
    double x = ((i + 0.5) / PARTS - 0.5) * step;
    double stays = eb_normal_below((step / 2 - x) / scatter) - eb_normal_below((-step / 2 - x) / scatter);
    weight += pow(stays, count);
    squares += pow(stays, count) * x * x;
  }
  return sqrt(squares / weight);
}

/* Many repeats on one graduation leave nearly the doubt of that graduation, step / sqrt(12) [JCGM 100:2008, 4.3.7]:
 * not less than Bayes' rule leaves where readings scatter as much as the verdict takes them to, and which is less than
 * the rectangle's because a truth near its ends would have shown another graduation now and then.  Many on
 * neighbouring ones take it away.  Each of two bores, halved for the deviation of one of two from their mean. */
static void a_readable_step_does_not_average_away(void **state)
{
  (void)state;
  enum { READINGS = 200 };
  eb_layout twin = engine(ENGINE_TWIN);
  twin.plate_spread = 1; /* so that next to nothing is known beforehand */
  eb_gauge gauge = eb_gauge_usual();
  gauge.step = 0.5;
  double floor = 0.5 / 8 / sqrt(12) / sqrt(2);
  for (int mixed = 0; mixed < 2; mixed++) {
    eb_evidence *evidence = gather(&twin, &gauge);
    for (int i = 0; i < 2 * READINGS; i++)
      eb_evidence_reading(evidence, i % 2, mixed ? 7.5 + 0.5 * (i / 2 % 3) : 8, NULL);
    eb_verdict verdict = judge(evidence);
    double least = left_on_one_graduation(0.5 / 8, verdict.repeatability, READINGS) / sqrt(2);
    if (mixed)
      assert_true(verdict.bore[0].doubt < 0.8 * floor);
    else
      assert_true(verdict.bore[0].doubt > least && verdict.bore[0].doubt < 1.1 * floor && least > 0.8 * floor);
    eb_evidence_destroy(evidence);
  }
}

static void what_cannot_be_judged_is_said(void **state)
{
  (void)state;
  eb_layout single = engine(ENGINE_SINGLE), twin = engine(ENGINE_TWIN);
  eb_gauge gauge = gauge_fine();
  eb_error error;
  eb_verdict verdict = {.worst = 77};
  eb_plan plan = {.move_count = 77};
  eb_plan_options options = eb_plan_options_usual();
  eb_evidence *evidence = gather(&single, &gauge);
  read_list(evidence, 0, (double[]){8}, 1);
  assert_int_equal(eb_evidence_verdict(evidence, 0.05, 0.05, &verdict, &error), EB_UNSOLVABLE);
  assert_non_null(strstr(error.message, "two or more"));
  eb_evidence_destroy(evidence);
  evidence = gather(&twin, &gauge);
  assert_int_equal(eb_evidence_verdict(evidence, 0.05, 0.05, &verdict, &error), EB_UNSOLVABLE);
  assert_non_null(strstr(error.message, "a pass must come first"));
  read_list(evidence, 0, (double[]){8}, 1);
  assert_int_equal(eb_evidence_verdict(evidence, 0.05, 0.05, &(eb_verdict){0}, &error), EB_OK);
  eb_evidence_period(evidence, NULL);
  assert_int_equal(eb_evidence_plan(evidence, 0.05, 0.05, &options, &plan, &error), EB_UNSOLVABLE);
  assert_true(verdict.worst == 77 && plan.move_count == 77);
  eb_evidence_destroy(evidence);
}

static void a_dead_cylinder_is_left_out(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  double y[8] = {0.004, -0.004, 0.003, 0, 0.002, 0, -0.004, 0.003};
  uint64_t seed = 4;
  eb_evidence *evidence = gather(&v8, &gauge);
  y[2] = -2;
  for (int r = 0; r < 4; r++)
    pass(evidence, &v8, y, 0.005, &seed);
  assert_int_equal(judge(evidence).word, EB_UNEVEN);
  eb_evidence_leave_out(evidence, 2);
  eb_verdict verdict = judge(evidence);
  assert_int_equal(verdict.word, EB_EVEN);
  assert_int_equal(verdict.bore[2].word, EB_LEFT_OUT);
  eb_evidence_destroy(evidence);
}

static void a_row_has_a_median(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  eb_evidence *evidence = gather(&v8, &gauge);
  assert_true(eb_evidence_row_median(evidence, 0) == 0);
  read_list(evidence, 0, (double[]){5, 7}, 2);
  assert_true(eb_evidence_row_median(evidence, 3) == 7);
  read_list(evidence, 1, (double[]){4}, 1);
  assert_true(eb_evidence_row_median(evidence, 3) == 5.5);
  read_list(evidence, 2, (double[]){20}, 1);
  assert_true(eb_evidence_row_median(evidence, 3) == 7);
  assert_true(eb_evidence_row_median(evidence, 4) == 0);
  eb_evidence_leave_out(evidence, 2);
  assert_true(eb_evidence_row_median(evidence, 3) == 5.5);
  double last;
  assert_int_equal(eb_evidence_count(evidence, 0, &last), 2);
  assert_true(last == 7);
  eb_evidence_period(evidence, NULL);
  assert_int_equal(eb_evidence_count(evidence, 0, &last), 0);
  assert_true(last == 0 && eb_evidence_row_median(evidence, 0) == 0);
  eb_evidence_destroy(evidence);
}

/* A finer gauge from now on: its readings weigh more, and its repeatability is the one that is told. */
static void a_new_gauge_holds_from_there_on(void **state)
{
  (void)state;
  eb_layout twin = engine(ENGINE_TWIN);
  eb_gauge gauge = gauge_fine(), finer = gauge_fine();
  finer.repeatability = 0.004;
  eb_evidence *evidence = gather(&twin, &gauge);
  read_list(evidence, 0, (double[]){8}, 1);
  read_list(evidence, 1, (double[]){9}, 1);
  double coarse = judge(evidence).bore[0].doubt;
  eb_evidence_set_gauge(evidence, &finer);
  eb_evidence_period(evidence, NULL);
  read_list(evidence, 0, (double[]){8}, 1);
  read_list(evidence, 1, (double[]){9}, 1);
  eb_verdict verdict = judge(evidence);
  assert_near(verdict.repeatability, 0.004, 1e-12);
  assert_true(verdict.bore[0].doubt < 0.5 * coarse);
  eb_evidence_destroy(evidence);
}

/* A host whose memory ends after so many allocations, and which counts what is held. */
typedef struct scarce {
  int left, held;
} scarce;

static void *allocate_scarce(void *context, void *block, size_t size)
{
  scarce *memory = context;
  if (size == 0) {
    memory->held -= block != NULL;
    free(block);
    return NULL;
  }
  if (memory->left-- <= 0)
    return NULL;
  void *moved = realloc(block, size);
  memory->held += block == NULL;
  return moved;
}

/* The whole way from nothing to a plan. */
static eb_status work(const eb_host *host, eb_plan *plan)
{
  eb_layout v8 = engine(ENGINE_V8);
  eb_gauge gauge = gauge_fine();
  eb_plan_options options = eb_plan_options_usual();
  eb_evidence *evidence = NULL;
  eb_status status = eb_evidence_create(host, &v8, &gauge, &evidence, NULL);
  for (int i = 0; i < 80 && status == EB_OK; i++)
    status = eb_evidence_reading(evidence, i % 8, i % 8 < 4 ? 8 : 9, NULL);
  if (status == EB_OK)
    status = eb_evidence_plan(evidence, 0.05, 0.05, &options, plan, NULL);
  eb_evidence_destroy(evidence);
  return status;
}

static void memory_that_runs_out_is_said(void **state)
{
  (void)state;
  scarce memory = {0};
  eb_host host = *eb_host_system();
  host.context = &memory;
  host.allocate = allocate_scarce;
  int allocations = 0;
  for (eb_status status = EB_OUT_OF_MEMORY; status != EB_OK; allocations++) {
    eb_plan plan = {.move_count = 77};
    memory.left = allocations;
    status = work(&host, &plan);
    assert_true(status == EB_OK || (status == EB_OUT_OF_MEMORY && plan.move_count == 77));
    assert_int_equal(memory.held, 0);
    assert_true(allocations < 100);
  }
  assert_true(allocations > 5);
}

static void read_twin(eb_evidence *e, double first, double second, int times)
{
  assert_int_equal(eb_evidence_period(e, NULL), EB_OK);
  for (int i = 0; i < times; i++) {
    assert_int_equal(eb_evidence_reading(e, 0, first, NULL), EB_OK);
    assert_int_equal(eb_evidence_reading(e, 1, second, NULL), EB_OK);
  }
}

/* What an adjuster answered in the end, the same readings given, and whether what was known beforehand stands. */
static double answered(double known_gain, double known_spread, bool *stands)
{
  eb_layout twin;
  eb_gauge gauge = gauge_fine();
  eb_evidence *e;
  eb_gain gain;
  assert_int_equal(engine_read(ENGINE_TWIN, &twin, NULL), EB_OK);
  twin.adjuster[0].known_gain = known_gain;
  twin.adjuster[0].known_spread = known_spread;
  assert_int_equal(eb_evidence_create(eb_host_system(), &twin, &gauge, &e, NULL), EB_OK);
  read_twin(e, 11, 9, 4);
  assert_int_equal(eb_evidence_known_stands(e, stands, NULL), EB_OK);
  assert_true(*stands); /* before a move nothing speaks against it */
  assert_int_equal(eb_evidence_move(e, 0, -0.1, NULL), EB_OK);
  read_twin(e, 10.5, 9.5, 4); /* as an adjuster does that answers as wished */
  assert_int_equal(eb_evidence_known_stands(e, stands, NULL), EB_OK);
  assert_int_equal(eb_evidence_gains(e, &gain, NULL), EB_OK);
  eb_evidence_destroy(e);
  return gain.mean;
}

static void what_was_known_gives_way_to_readings(void **state)
{
  (void)state;
  bool stands;
  double afresh = answered(0, 0, &stands);
  assert_true(stands);
  double known = answered(1.05, 0.15, &stands);
  assert_true(stands && known > afresh);
  assert_true(fabs(answered(4, 0.15, &stands) - afresh) < 1e-12);
  assert_false(stands);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_was_known_gives_way_to_readings),
      cmocka_unit_test(a_pass_is_closed_at_its_first_bore),
      cmocka_unit_test(one_graduation_does_not_reject_a_pass),
      cmocka_unit_test(a_pass_over_an_engine_start_is_not_compared),
      cmocka_unit_test(rejected_readings_do_not_count),
      cmocka_unit_test(repeats_are_pooled_with_the_prior),
      cmocka_unit_test(repeats_speak_for_themselves),
      cmocka_unit_test(a_steady_drift_is_not_scatter),
      cmocka_unit_test(readings_about_a_move_are_no_repeats),
      cmocka_unit_test(a_readable_step_does_not_average_away),
      cmocka_unit_test(what_cannot_be_judged_is_said),
      cmocka_unit_test(a_dead_cylinder_is_left_out),
      cmocka_unit_test(a_row_has_a_median),
      cmocka_unit_test(a_new_gauge_holds_from_there_on),
      cmocka_unit_test(memory_that_runs_out_is_said),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
