#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/statistics.h"

static void near(double got, double want, double allowed)
{
  if (!(fabs(got - want) <= allowed))
    fail_msg("%.17g, not %.17g", got, want);
}

/* A host whose memory runs out at the n-th request, and which counts what is out. */
typedef struct scarce {
  int left;
  int held;
} scarce;

static void *scarce_allocate(void *context, void *block, size_t size)
{
  scarce *s = context;
  if (size == 0) {
    s->held -= block != NULL;
    free(block);
    return NULL;
  }
  if (s->left-- <= 0)
    return NULL;
  s->held += block == NULL;
  return realloc(block, size);
}

static eb_host scarce_host(scarce *s)
{
  eb_host host = *eb_host_system();
  host.context = s;
  host.allocate = scarce_allocate;
  return host;
}

static void samples_at_their_edges(void **state)
{
  (void)state;
  eb_sample one = eb_sample_describe((double[]){6.25}, 1);
  assert_true(one.mean == 6.25 && one.deviation == 0 && one.uncertainty == 0 && one.autocorrelation == 0);
  eb_sample equal = eb_sample_describe((double[]){0.1, 0.1, 0.1}, 3);
  near(equal.mean, 0.1, 1e-17);
  assert_true(equal.deviation <= 1e-17 && isfinite(equal.autocorrelation));
  eb_sample two = eb_sample_describe((double[]){5, 7}, 2); /* by hand: sqrt(2), 1 */
  near(two.mean, 6, 0);
  near(two.deviation, 1.4142135623730951, 1e-15);
  near(two.uncertainty, 1, 1e-15);
  eb_sample high = eb_sample_describe((double[]){1e9 + 4, 1e9 + 7, 1e9 + 13, 1e9 + 16}, 4);
  near(high.deviation * high.deviation, 30, 1e-12); /* by hand */
  /* the mean of these two lies between two doubles */
  eb_sample between = eb_sample_describe((double[]){9007199254740992, 9007199254740994}, 2);
  near(between.deviation, 1.4142135623730951, 1e-15);
}

static void pooling_weighs_by_degrees_of_freedom(void **state)
{
  (void)state;
  eb_spread none = eb_spread_pool(NULL, 0);
  assert_true(none.deviation == 0 && none.degrees_of_freedom == 0);
  /* a prior of 2 % with weight 4 and two repeats that say 5 %: sqrt((4 x 4 + 25)/5) % by hand */
  eb_spread parts[] = {{0.02, 4}, {0.05, 1}, {0.9, 0}};
  eb_spread pooled = eb_spread_pool(parts, 3);
  near(pooled.deviation, sqrt(8.2) / 100, 1e-16);
  near(pooled.degrees_of_freedom, 5, 0);
}

static void combining_uncertainties(void **state)
{
  (void)state;
  eb_spread none = eb_uncertainty_combine(NULL, 0);
  assert_true(none.deviation == 0 && isinf(none.degrees_of_freedom));
  /* 3-4-5 by hand; a known part has infinitely many degrees of freedom and adds none */
  eb_component parts[] = {{1, {3, INFINITY}}, {-2, {2, INFINITY}}, {0, {9, 1}}};
  eb_spread whole = eb_uncertainty_combine(parts, 3);
  near(whole.deviation, 5, 1e-15);
  assert_true(isinf(whole.degrees_of_freedom));
  /* two equal parts of nu = 5 make nu = 10 */
  eb_component twins[] = {{1, {0.1, 5}}, {1, {0.1, 5}}};
  near(eb_uncertainty_combine(twins, 2).degrees_of_freedom, 10, 1e-13);
  /* tiny uncertainties do not underflow on the way to their fourth power */
  eb_component tiny[] = {{1, {1e-120, 5}}, {1, {1e-120, 5}}};
  near(eb_uncertainty_combine(tiny, 2).degrees_of_freedom, 10, 1e-13);
}

static eb_anova analyse(const double *y, const int *groups, size_t count, int levels)
{
  eb_anova anova = {0};
  assert_int_equal(eb_anova_nested(eb_host_system(), y, groups, count, levels, &anova, NULL), EB_OK);
  return anova;
}

static void one_reading_a_cell_tests_the_levels_above(void **state)
{
  (void)state;
  /* two sides of two bores, one reading each: nothing is left for the residual.  By hand: between the sides
   * 4 x 0.25, between the bores of a side 2 x (0.5^2 + 0.5^2) */
  static const double y[] = {5, 6, 6, 7};
  static const int groups[] = {1, 1, 1, 2, 2, 1, 2, 2};
  eb_anova anova = analyse(y, groups, 4, 2);
  assert_int_equal(anova.line[2].degrees_of_freedom, 0);
  assert_false(anova.line[1].tested);
  assert_true(anova.line[1].f == 0 && anova.line[1].p == 1);
  assert_true(anova.line[0].tested);
  near(anova.line[0].sum_squares, 1, 1e-15);
  near(anova.line[1].sum_squares, 1, 1e-15);
  near(anova.line[0].f, 2, 1e-14);
  near(anova.r2, 1, 1e-15);
}

static void a_level_without_freedom_is_passed_over(void **state)
{
  (void)state;
  /* one pair a side: the middle level says nothing, the sides are tested against the repeats */
  static const double y[] = {5, 5.5, 7, 7.5};
  static const int groups[] = {0, 0, 0, 0, 1, 0, 1, 0};
  eb_anova anova = analyse(y, groups, 4, 2);
  assert_int_equal(anova.line[0].degrees_of_freedom, 1);
  assert_int_equal(anova.line[1].degrees_of_freedom, 0);
  assert_false(anova.line[1].tested);
  assert_true(anova.line[0].tested);
  near(anova.line[0].f, 32, 1e-12); /* by hand: 4 / (0.25 / 2) */
  near(anova.line[0].component, (4 - 0.125) / 2, 1e-14);
}

static void equal_readings_have_no_spread(void **state)
{
  (void)state;
  static const int groups[] = {0, 0, 1, 1};
  eb_anova flat = analyse((double[]){3, 3, 3, 3}, groups, 4, 1);
  assert_true(flat.line[0].tested && flat.line[0].f == 0 && flat.line[0].p == 1 && flat.r2 == 0);
  eb_anova sharp = analyse((double[]){3, 3, 5, 5}, groups, 4, 1);
  assert_true(isinf(sharp.line[0].f) && sharp.line[0].p == 0 && sharp.r2 == 1);
  eb_anova whole = analyse((double[]){3, 4, 5, 6}, (int[]){7, 7, 7, 7}, 4, 1);
  assert_true(!whole.line[0].tested && whole.line[0].degrees_of_freedom == 0 && whole.r2 == 0);
}

static void equal_groups_under_other_parents_are_others(void **state)
{
  (void)state;
  static const double y[] = {1, 2, 4, 8, 16, 32};
  static const int same[] = {0, 0, 0, 0, 0, 1, 1, 0, 1, 0, 1, 1};
  static const int other[] = {5, -1, 5, -1, 5, 9, -3, 4, -3, 4, -3, 2};
  eb_anova a = analyse(y, same, 6, 2);
  eb_anova b = analyse(y, other, 6, 2);
  assert_int_equal(a.line[1].degrees_of_freedom, 2);
  for (int k = 0; k < 3; k++)
    near(a.line[k].sum_squares, b.line[k].sum_squares, 0);
}

static void analysis_without_memory(void **state)
{
  (void)state;
  for (int i = 0; i < 3; i++) {
    scarce s = {.left = i};
    eb_host host = scarce_host(&s);
    eb_anova anova = {.levels = 77};
    eb_error error;
    assert_int_equal(eb_anova_nested(&host, (double[]){1, 2}, (int[]){0, 1}, 2, 1, &anova, &error), EB_OUT_OF_MEMORY);
    assert_int_equal(anova.levels, 77);
    assert_int_equal(s.held, 0);
  }
}

static void least_squares_at_its_edges(void **state)
{
  (void)state;
  double x[2] = {77, 77};
  eb_fit fit = {.degrees_of_freedom = 77};
  eb_error error;
  const eb_host *host = eb_host_system();
  /* as many rows as columns: 2x + y = 5, x - y = 1 */
  assert_int_equal(eb_least_squares(host, (double[]){2, 1, 1, -1}, (double[]){5, 1}, NULL, 2, 2, x, NULL, &fit, NULL),
                   EB_OK);
  near(x[0], 2, 1e-15);
  near(x[1], 1, 1e-15);
  assert_true(fit.degrees_of_freedom == 0 && fit.deviation == 0 && fit.sum_squares == 0);
  /* columns that depend on one another, also at very different sizes, and one of zeros */
  static const double dependent[3][6] = {{1, 2, 2, 4, 3, 6}, {1, 3e-9, 2, 6e-9, 3, 9e-9}, {1, 0, 1, 0, 1, 0}};
  for (int i = 0; i < 3; i++) {
    x[0] = 77;
    fit.degrees_of_freedom = 77;
    assert_int_equal(eb_least_squares(host, dependent[i], (double[]){1, 2, 4}, NULL, 3, 2, x, NULL, &fit, &error),
                     EB_UNSOLVABLE);
    assert_non_null(strstr(error.message, "depend on one another"));
    assert_true(x[0] == 77 && fit.degrees_of_freedom == 77);
  }
  assert_int_equal(eb_least_squares(host, (double[]){0, 0}, (double[]){1, 2}, NULL, 2, 1, x, NULL, &fit, NULL),
                   EB_UNSOLVABLE);
  /* a sum of columns that rounding has blurred */
  assert_int_equal(
      eb_least_squares(host,
                       (double[]){0.1, 0.7, 0.1 + 0.7, 0.3, 0.11, 0.3 + 0.11, 0.9, 0.4, 0.9 + 0.4, 0.2, 0.8, 0.2 + 0.8},
                       (double[]){1, 2, 3, 5}, NULL, 4, 3, (double[3]){0}, NULL, &fit, NULL),
      EB_UNSOLVABLE);
  /* columns of very different size are no dependence */
  assert_int_equal(
      eb_least_squares(host, (double[]){1e12, 0, 0, 1e-20}, (double[]){1, 1}, NULL, 2, 2, x, NULL, &fit, NULL), EB_OK);
  near(x[0], 1e-12, 1e-27);
  near(x[1], 1e20, 1e5);
}

/* A weight of 3 counts as three equal rows. */
static void weights_count_as_repeats(void **state)
{
  (void)state;
  static const double design[] = {1, 0, 1, 1, 1, 2, 1, 1, 1, 1};
  static const double y[] = {1, 2.5, 2.75, 2.5, 2.5};
  double repeated[2];
  double weighted[2];
  double cofactors[2][4];
  eb_fit fit;
  const eb_host *host = eb_host_system();
  assert_int_equal(eb_least_squares(host, design, y, NULL, 5, 2, repeated, cofactors[0], &fit, NULL), EB_OK);
  double squares = fit.sum_squares;
  assert_int_equal(eb_least_squares(host, design, y, (double[]){1, 3, 1}, 3, 2, weighted, cofactors[1], &fit, NULL),
                   EB_OK);
  near(fit.sum_squares, squares, 1e-15);
  for (int i = 0; i < 2; i++)
    near(weighted[i], repeated[i], 1e-15);
  for (int i = 0; i < 4; i++)
    near(cofactors[1][i], cofactors[0][i], 1e-15);
}

static void least_squares_without_memory(void **state)
{
  (void)state;
  for (int i = 0; i < 4; i++) {
    scarce s = {.left = i};
    eb_host host = scarce_host(&s);
    double x = 77;
    eb_fit fit;
    assert_int_equal(eb_least_squares(&host, (double[]){1, 1}, (double[]){1, 2}, NULL, 2, 1, &x, NULL, &fit, NULL),
                     EB_OUT_OF_MEMORY);
    assert_true(x == 77 && s.held == 0);
  }
  scarce s = {.left = 4};
  eb_host host = scarce_host(&s);
  double x = 0;
  eb_fit fit;
  assert_int_equal(eb_least_squares(&host, (double[]){1, 1}, (double[]){1, 2}, NULL, 2, 1, &x, NULL, &fit, NULL),
                   EB_OK);
  assert_int_equal(s.held, 0);
}

static void distributions_at_their_edges(void **state)
{
  (void)state;
  assert_true(eb_normal_below(0) == 0.5 && eb_normal_below(INFINITY) == 1 && eb_normal_below(-INFINITY) == 0);
  assert_true(eb_normal_quantile(0.5) == 0 && eb_t_quantile(0.5, 3.7) == 0);
  assert_true(eb_t_below(0, 4) == 0.5 && eb_t_below(INFINITY, 4) == 1 && eb_t_below(-INFINITY, 4) == 0);
  assert_true(eb_f_below(0, 2, 3) == 0 && eb_f_above(0, 2, 3) == 1);
  assert_true(eb_f_below(INFINITY, 2, 3) == 1 && eb_f_above(INFINITY, 2, 3) == 0);
  near(eb_t_below(1.3, INFINITY), eb_normal_below(1.3), 0);
  near(eb_t_quantile(0.9, INFINITY), eb_normal_quantile(0.9), 0);
  near(eb_t_quantile(0.9, 1e9), eb_normal_quantile(0.9), 1e-8);
  near(eb_t_quantile(0.1, 7.5), -eb_t_quantile(0.9, 7.5), 1e-14);
}

/* Closed forms: t with 1 degree of freedom is Cauchy's distribution, tan(pi (p - 1/2)); with 2, t = (2p - 1) /
 * sqrt(2 p (1 - p)); F with 2 and 2 is p / (1 - p) [Johnson, Kotz and Balakrishnan, Continuous Univariate
 * Distributions, volume 2; from memory]. */
static void closed_forms(void **state)
{
  (void)state;
  static const double pi = 3.14159265358979323846;
  for (int i = 1; i < 100; i++) {
    double p = i / 100.0;
    double cauchy = tan(pi * (p - 0.5));
    near(eb_t_quantile(p, 1), cauchy, 1e-13 * (1 + fabs(cauchy)));
    double two = (2 * p - 1) / sqrt(2 * p * (1 - p));
    near(eb_t_quantile(p, 2), two, 1e-13 * (1 + fabs(two)));
    near(eb_f_quantile(p, 2, 2), p / (1 - p), 1e-12 * p / (1 - p));
  }
}

/* Far tails and degrees of freedom down to 0.1 end in finite numbers that bring the probability back. */
static void far_tails(void **state)
{
  (void)state;
  static const double nus[] = {0.1, 1, 4.5, 60, 1e4, 1e6};
  static const double tails[] = {1e-300, 1e-30, 1e-12, 1e-3, 0.3};
  for (size_t i = 0; i < 6; i++)
    for (size_t j = 0; j < 6; j++)
      for (size_t k = 0; k < 5; k++) {
        double f = eb_f_quantile(tails[k], nus[i], nus[j]);
        assert_true(isfinite(f) && f >= 0);
        if (f > 1e-290)
          near(eb_f_below(f, nus[i], nus[j]) / tails[k], 1, 1e-7);
      }
  for (size_t i = 1; i < 6; i++)
    for (size_t k = 2; k < 5; k++)
      near(eb_t_below(eb_t_quantile(tails[k], nus[i]), nus[i]) / tails[k], 1, 1e-8);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(samples_at_their_edges),
      cmocka_unit_test(pooling_weighs_by_degrees_of_freedom),
      cmocka_unit_test(combining_uncertainties),
      cmocka_unit_test(one_reading_a_cell_tests_the_levels_above),
      cmocka_unit_test(a_level_without_freedom_is_passed_over),
      cmocka_unit_test(equal_readings_have_no_spread),
      cmocka_unit_test(equal_groups_under_other_parents_are_others),
      cmocka_unit_test(analysis_without_memory),
      cmocka_unit_test(least_squares_at_its_edges),
      cmocka_unit_test(weights_count_as_repeats),
      cmocka_unit_test(least_squares_without_memory),
      cmocka_unit_test(distributions_at_their_edges),
      cmocka_unit_test(closed_forms),
      cmocka_unit_test(far_tails),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
