#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "engines.h"
#include "evenbore/belief.h"

enum { WIDTH = EB_BELIEF_STATES_MAX };

static eb_belief *believe(const eb_layout *layout, const eb_priors *priors)
{
  eb_belief *belief = NULL;
  assert_int_equal(eb_belief_create(eb_host_system(), layout, priors, &belief, NULL), EB_OK);
  return belief;
}

static eb_layout engine(const char *text)
{
  eb_layout layout;
  assert_int_equal(engine_read(text, &layout, NULL), EB_OK);
  return layout;
}

static void read_all(eb_belief *belief, const eb_layout *layout, const double *y, double level, double variance)
{
  for (int i = 0; i < layout->bore_count; i++)
    eb_belief_reading(belief, i, (double)i / layout->bore_count, level + y[i], variance);
}

/* Symmetric, finite, and x'Cx > 0 but for rounding: Cholesky's method runs through with a trace's 1e-13 added, since
 * deviations from a mean have one direction without variance. */
static void check_definite(const double *covariance, int count)
{
  double *c = malloc(sizeof *c * (size_t)(count * count));
  double trace = 0;
  for (int i = 0; i < count; i++)
    trace += covariance[i * count + i];
  assert_true(isfinite(trace) && trace > 0);
  memcpy(c, covariance, sizeof *c * (size_t)(count * count));
  for (int j = 0; j < count; j++) {
    for (int i = 0; i < count; i++)
      assert_true(covariance[i * count + j] == covariance[j * count + i]);
    c[j * count + j] += 1e-13 * trace;
    for (int l = 0; l < j; l++)
      c[j * count + j] -= c[j * count + l] * c[j * count + l];
    assert_true(c[j * count + j] > 0);
    c[j * count + j] = sqrt(c[j * count + j]);
    for (int i = j + 1; i < count; i++) {
      for (int l = 0; l < j; l++)
        c[i * count + j] -= c[i * count + l] * c[j * count + l];
      c[i * count + j] /= c[j * count + j];
    }
  }
  free(c);
}

static void run_for_long(const char *text, double spread, double plate_spread, int updates, uint64_t seed)
{
  static double mean[WIDTH], covariance[WIDTH * WIDTH];
  eb_layout layout = engine(text);
  layout.plate_spread = plate_spread;
  for (int k = 0; k < layout.adjuster_count; k++)
    layout.adjuster[k].spread = spread;
  eb_belief *belief = believe(&layout, NULL);
  for (int u = 0; u < updates; u++) {
    double draw = stream_uniform(&seed), other = stream_uniform(&seed);
    int bore = (int)(stream_uniform(&seed) * layout.bore_count);
    if (draw < 0.9)
      eb_belief_reading(belief, bore, 3 * other, 2 + 0.1 * stream_normal(&seed), u % 7 == 0 ? 1e-12 : 4e-4);
    else if (draw < 0.95)
      eb_belief_move(belief, (int)(other * layout.adjuster_count), 0.1 * stream_normal(&seed));
    else
      eb_belief_period(belief);
    if (u % 500 != 0 && u != updates - 1)
      continue;
    eb_belief_joint(belief, mean, covariance);
    check_definite(covariance, layout.bore_count + layout.adjuster_count);
    for (int i = 0; i < layout.bore_count + layout.adjuster_count; i++)
      assert_true(isfinite(mean[i]));
  }
  eb_belief_destroy(belief);
}

static void covariance_stays_definite(void **state)
{
  (void)state;
  run_for_long(ENGINE_V8, 0.08, 0.05, 10000, 1);
  run_for_long(ENGINE_V8, 1, 1e-6, 2000, 2);
  run_for_long(ENGINE_V8, 1e-6, 1, 2000, 3);
  run_for_long(ENGINE_CHAIN, 1e-6, 1e-6, 2000, 4);
  run_for_long(ENGINE_24, 0.08, 0.05, 1000, 5);
}

static void the_largest_layout_fits(void **state)
{
  (void)state;
  eb_layout layout = engine(ENGINE_24);
  while (layout.adjuster_count < EB_ADJUSTERS_MAX) {
    int k = layout.adjuster_count++;
    layout.adjuster[k] = layout.adjuster[1 + k % 24];
  }
  static double mean[WIDTH], covariance[WIDTH * WIDTH], y[EB_BORES_MAX];
  eb_belief *belief = believe(&layout, NULL);
  read_all(belief, &layout, y, 2, 1e-4);
  eb_belief_move(belief, 63, 0.1);
  eb_belief_joint(belief, mean, covariance);
  check_definite(covariance, 24 + 64);
  eb_belief_destroy(belief);
}

static void the_level_of_a_period_does_not_matter(void **state)
{
  (void)state;
  eb_layout layout = engine(ENGINE_V8);
  static const double y[8] = {0.03, -0.05, 0.01, 0, 0.02, 0, -0.04, 0.03};
  double low[8], high[8], low_covariance[64], high_covariance[64];
  for (int round = 0; round < 2; round++) {
    eb_belief *belief = believe(&layout, NULL);
    read_all(belief, &layout, y, round == 0 ? -3 : 9, 4e-4);
    eb_belief_period(belief);
    read_all(belief, &layout, y, round == 0 ? 40 : 0.1, 4e-4);
    eb_belief_deviations(belief, round == 0 ? low : high, round == 0 ? low_covariance : high_covariance);
    eb_belief_destroy(belief);
  }
  for (int i = 0; i < 8; i++)
    assert_near(low[i], high[i], 1e-12);
  for (int i = 0; i < 64; i++)
    assert_true(low_covariance[i] == high_covariance[i]);
}

/* What was known of the bores before an engine start is still known after it, but for what a start may do to each of
 * the two adjusters of several bores that move a bore here: half of the move that it is worth. */
static void a_new_period_keeps_the_bores(void **state)
{
  (void)state;
  eb_layout layout = engine(ENGINE_V8);
  static const double y[8] = {0.03, -0.05, 0.01, 0, 0.02, 0, -0.04, 0.03};
  double before[8], after[8], before_covariance[64], after_covariance[64];
  eb_belief *belief = believe(&layout, NULL);
  read_all(belief, &layout, y, 2, 4e-4);
  eb_belief_deviations(belief, before, before_covariance);
  eb_belief_period(belief);
  eb_belief_deviations(belief, after, after_covariance);
  double start = eb_belief_priors(belief)->start;
  for (int i = 0; i < 8; i++) {
    assert_near(after[i], before[i], 1e-12);
    assert_near(after_covariance[9 * i] - before_covariance[9 * i], 2 * (start / 2) * (start / 2), 1e-12);
  }
  eb_belief_destroy(belief);
}

static void a_drift_alike_for_all_is_no_imbalance(void **state)
{
  (void)state;
  eb_layout layout = engine(ENGINE_V8);
  double mean[8];
  eb_belief *belief = believe(&layout, NULL);
  for (int round = 0; round < 12; round++)
    for (int i = 0; i < 8; i++)
      eb_belief_reading(belief, i, round + i / 8.0, 2 + 0.02 * (round + i / 8.0), 1e-4);
  eb_belief_deviations(belief, mean, NULL);
  for (int i = 0; i < 8; i++)
    assert_true(fabs(mean[i]) < 0.002);
  eb_belief_destroy(belief);
}

/* An adjuster that gives half of what was wished, seen twice, is believed to give about half. */
static void a_gain_is_learned_and_bounded(void **state)
{
  (void)state;
  eb_layout layout = engine(ENGINE_TWIN);
  eb_belief *belief = believe(&layout, NULL);
  double y[2] = {-0.2, 0.2}, mean, spread, first_spread;
  eb_belief_gain(belief, 0, &mean, &first_spread);
  assert_true(mean == 1);
  assert_near(first_spread, 0.5, 1e-12);
  read_all(belief, &layout, y, 2, 1e-4);
  for (int round = 0; round < 2; round++) {
    eb_belief_move(belief, 0, 0.2);
    y[0] += 0.05;
    y[1] -= 0.05;
    eb_belief_period(belief);
    read_all(belief, &layout, y, 2.1, 1e-4);
  }
  eb_belief_gain(belief, 0, &mean, &spread);
  assert_true(mean > 0.4 && mean < 0.65);
  assert_true(spread < first_spread && spread >= 0.12);
  for (int round = 0; round < 200; round++) { /* it never answers at all: the gain stays at its bound */
    eb_belief_move(belief, 0, 0.2);
    eb_belief_period(belief);
    read_all(belief, &layout, y, 2.1, 1e-4);
  }
  eb_belief_gain(belief, 0, &mean, &spread);
  assert_near(mean, 0.25, 1e-12);
  assert_true(spread >= 0.12);
  eb_belief_destroy(belief);
}

static void a_copy_goes_its_own_way(void **state)
{
  (void)state;
  eb_layout layout = engine(ENGINE_V8);
  static const double y[8] = {0.03, -0.05, 0.01, 0, 0.02, 0, -0.04, 0.03};
  double before[8], after[8], copied[8];
  eb_belief *belief = believe(&layout, NULL), *copy = NULL;
  read_all(belief, &layout, y, 2, 4e-4);
  eb_belief_deviations(belief, before, NULL);
  assert_int_equal(eb_belief_copy(belief, &copy, NULL), EB_OK);
  eb_belief_move(copy, 0, 0.1);
  eb_belief_deviations(copy, copied, NULL);
  assert_near(copied[0] - before[0], 0.05, 1e-9);
  assert_near(copied[7] - before[7], -0.05, 1e-9);
  eb_belief_destroy(belief);
  belief = copy;
  eb_belief_deviations(belief, after, NULL);
  assert_memory_equal(copied, after, sizeof after);
  eb_belief_destroy(belief);
}

static void a_bore_left_out_is_not_in_the_mean(void **state)
{
  (void)state;
  eb_layout layout = engine(ENGINE_V8);
  double mean[8], y[8] = {-1, 0, 0, 0, 0, 0, 0, 0}, sum = 0;
  eb_belief *belief = believe(&layout, NULL);
  read_all(belief, &layout, y, 2, 4e-4);
  eb_belief_leave_out(belief, 0);
  assert_int_equal(eb_belief_counted(belief), 0xFE);
  eb_belief_deviations(belief, mean, NULL);
  for (int i = 1; i < 8; i++)
    sum += mean[i];
  assert_near(sum, 0, 1e-12);
  assert_true(mean[0] < -0.3);
  eb_belief_destroy(belief);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(covariance_stays_definite),
      cmocka_unit_test(the_largest_layout_fits),
      cmocka_unit_test(the_level_of_a_period_does_not_matter),
      cmocka_unit_test(a_new_period_keeps_the_bores),
      cmocka_unit_test(a_drift_alike_for_all_is_no_imbalance),
      cmocka_unit_test(a_gain_is_learned_and_bounded),
      cmocka_unit_test(a_copy_goes_its_own_way),
      cmocka_unit_test(a_bore_left_out_is_not_in_the_mean),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
