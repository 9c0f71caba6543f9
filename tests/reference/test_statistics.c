/* Samples, pooled deviations and uncertainties against published figures. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenbore/statistics.h"
#include "table.h"

static eb_sample describe(const char *name, const char *column)
{
  table t = table_read(name);
  double *values = table_column(&t, column);
  eb_sample sample = eb_sample_describe(values, (size_t)t.rows);
  free(values);
  table_clear(&t);
  return sample;
}

/* NIST StRD, univariate summary statistics (read): mean, standard deviation and lag-1 autocorrelation to the
 * digits that double precision leaves in the data, less one. */
static void strd_univariate(void **state)
{
  (void)state;
  table certified = table_read("strd_univ_certified.csv");
  for (int i = 0; i < certified.rows; i++) {
    char name[64];
    snprintf(name, sizeof name, "strd_univ_%s.csv", table_text(&certified, i, "dataset"));
    eb_sample sample = describe(name, "y");
    assert_digits(name, sample.mean, table_number(&certified, i, "mean"), table_number(&certified, i, "d_mean") - 1);
    assert_digits(name, sample.deviation, table_number(&certified, i, "sd"), table_number(&certified, i, "d_sd") - 1);
    assert_digits(name, sample.autocorrelation, table_number(&certified, i, "r1"),
                  table_number(&certified, i, "d_r1") - 1);
  }
  table_clear(&certified);
}

/* JCGM 100:2008, 4.4.3, table 1 (from memory, then recomputed): mean 100.14, s 1.49, s/sqrt(n) 0.33 degC. */
static void jcgm_100_type_a(void **state)
{
  (void)state;
  eb_sample sample = describe("gum_type_a.csv", "t");
  assert_near("mean", sample.mean, 100.145, 1e-12);
  assert_rounds_to("mean", sample.mean, "100.14");
  assert_rounds_to("s", sample.deviation, "1.489");
  assert_rounds_to("s of the mean", sample.uncertainty, "0.333");
}

/* NIST/SEMATECH e-Handbook 1.3.5.2: 195 values (read), limits 9.258242 and 9.264679 (from memory, then recomputed). */
static void interval_of_a_mean(void **state)
{
  (void)state;
  eb_sample sample = describe("ci_mean_zarr13.csv", "y");
  assert_near("mean", sample.mean, 9.26146075897, 1e-11);
  assert_near("sd", sample.deviation, 0.0227887974248, 1e-11);
  double half = eb_t_quantile(0.975, 194) * sample.uncertainty;
  assert_near("lower limit", sample.mean - half, 9.25824213733, 1e-11);
  assert_near("upper limit", sample.mean + half, 9.26467938062, 1e-11);
  assert_rounds_to("lower limit", sample.mean - half, "9.258242");
  assert_rounds_to("upper limit", sample.mean + half, "9.264679");
}

/* NIST/SEMATECH e-Handbook 2.4.4 (read): repeatability pooled over five wafers, s = 0.10290 with 300 degrees
 * of freedom. */
static void pooling_over_wafers(void **state)
{
  (void)state;
  table t = table_read("nist_pooling.csv");
  eb_spread parts[5];
  assert_int_equal(t.rows, 5);
  for (int i = 0; i < 5; i++) {
    double df = table_number(&t, i, "df");
    parts[i] = (eb_spread){sqrt(table_number(&t, i, "ss") / df), df};
  }
  eb_spread pooled = eb_spread_pool(parts, 5);
  assert_rounds_to("pooled s", pooled.deviation, "0.10290");
  assert_near("degrees of freedom", pooled.degrees_of_freedom, 300, 0);
  table_clear(&t);
}

/* Day-to-day deviation of one wafer and run: six daily means that follow row `first`. */
static eb_sample days_of(const table *t, int first)
{
  double means[6];
  for (int i = 0; i < 6; i++)
    means[i] = table_number(t, first + i, "mean");
  return eb_sample_describe(means, 6);
}

/* NIST/SEMATECH e-Handbook 2.6.1 and 2.6.3, probe 2362 (data and s2 0.0362, s3 0.0197 read; the rest computed):
 * repeatability, day-to-day and run-to-run deviations of a gauge, each pooled over five wafers. */
static void gauge_study(void **state)
{
  (void)state;
  table t = table_read("nist_gauge_probe2362.csv");
  assert_int_equal(t.rows, 60);
  eb_spread repeats[60];
  eb_spread days[10];
  eb_spread runs[5];
  double run_means[10];
  for (int i = 0; i < 60; i++)
    repeats[i] = (eb_spread){table_number(&t, i, "sd"), 5};
  for (int i = 0; i < 10; i++) {
    eb_sample day = days_of(&t, 6 * i);
    days[i] = (eb_spread){day.deviation, 5};
    run_means[i] = day.mean;
  }
  for (int i = 0; i < 5; i++)
    runs[i] = (eb_spread){eb_sample_describe((double[]){run_means[i], run_means[i + 5]}, 2).deviation, 1};
  assert_near("s1", eb_spread_pool(repeats, 60).deviation, 0.07286672537, 1e-8);
  assert_near("s2 of run 1", eb_spread_pool(days, 5).deviation, 0.0333367025, 1e-8);
  assert_near("s2 of run 2", eb_spread_pool(days + 5, 5).deviation, 0.03879365326, 1e-8);
  assert_near("s2", eb_spread_pool(days, 10).deviation, 0.03616824067, 1e-8);
  assert_near("s3", eb_spread_pool(runs, 5).deviation, 0.01964523621, 1e-8);
  assert_near("published s2", eb_spread_pool(days, 10).deviation, 0.0362, 1e-3);
  assert_near("published s3", eb_spread_pool(runs, 5).deviation, 0.0197, 3e-3);
  table_clear(&t);
}

/* JCGM 100:2008, H.5 (read): ten days of five readings each, known by their means and deviations only. */
static void jcgm_100_between_days(void **state)
{
  (void)state;
  table t = table_read("gum_h5_days.csv");
  double *means = table_column(&t, "mean_v");
  eb_spread within[10];
  assert_int_equal(t.rows, 10);
  for (int i = 0; i < 10; i++)
    within[i] = (eb_spread){table_number(&t, i, "sd_uv") * 1e-6, 4};
  eb_sample days = eb_sample_describe(means, 10);
  eb_spread pooled = eb_spread_pool(within, 10);
  double f = 5 * days.deviation * days.deviation / (pooled.deviation * pooled.deviation);
  assert_near("grand mean", days.mean, 10.0000971, 1e-9);
  assert_rounds_to("s of the daily means, uV", days.deviation * 1e6, "57");
  assert_near("s of the daily means", days.deviation, 57.08950e-6, 1e-6);
  assert_rounds_to("s_b, uV", pooled.deviation * 1e6, "85");
  assert_near("u(mean)", days.uncertainty, 18.05329e-6, 1e-6);
  assert_rounds_to("u(mean), uV", days.uncertainty * 1e6, "18");
  assert_near("F", f, 2.26151926999, 1e-9);
  assert_near("p", eb_f_above(f, 9, 40), 0.0373968251, 1e-8);
  free(means);
  table_clear(&t);
}

/* JCGM 100:2008, 5.1.2 and G.4 (the G.4 budget from memory, then recomputed; others as their rows say). */
static void welch_satterthwaite(void **state)
{
  (void)state;
  table inputs = table_read("uncertainty_components.csv");
  table results = table_read("uncertainty_results.csv");
  for (int i = 0; i < results.rows; i++) {
    const char *id = table_text(&results, i, "id");
    eb_component parts[8];
    size_t count = 0;
    for (int j = 0; j < inputs.rows; j++)
      if (strcmp(table_text(&inputs, j, "id"), id) == 0)
        parts[count++] = (eb_component){table_number(&inputs, j, "c"),
                                        {table_number(&inputs, j, "u"), table_number(&inputs, j, "nu")}};
    assert_true(count >= 2);
    eb_spread whole = eb_uncertainty_combine(parts, count);
    assert_near(id, whole.deviation, table_number(&results, i, "uc"), 1e-9);
    assert_near(id, whole.degrees_of_freedom, table_number(&results, i, "nu_eff"), 1e-9);
    double k95 = eb_t_quantile(0.975, whole.degrees_of_freedom);
    assert_near(id, k95, table_number(&results, i, "k95"), 1e-9);
    assert_near(id, k95 * whole.deviation, table_number(&results, i, "u95"), 1e-9);
    assert_near(id, eb_t_quantile(0.995, whole.degrees_of_freedom), table_number(&results, i, "k99"), 1e-9);
  }
  table_clear(&inputs);
  table_clear(&results);
}

/* JCGM 100:2008, 4.3.7 and F.2.2.1 (rules from memory, numbers computed): bounds, and a readable step. */
static void rectangle_and_step(void **state)
{
  (void)state;
  table t = table_read("uncertainty_shapes.csv");
  int checked = 0;
  for (int i = 0; i < t.rows; i++) {
    const char *shape = table_text(&t, i, "shape");
    if (strcmp(shape, "rectangular") != 0 && strcmp(shape, "step") != 0)
      continue;
    checked++;
    assert_near(shape, eb_uncertainty_rectangle(table_number(&t, i, "half_width")), table_number(&t, i, "u"), 1e-14);
  }
  assert_int_equal(checked, 3);
  table_clear(&t);
}

/* NIST/SEMATECH e-Handbook 1.3.5.17, Tietjen and Moore 1972 (from memory, then recomputed): the outlier statistic
 * G = 2.4687 and its critical value 2.032 rest on mean, deviation and a t quantile far out. */
static void outlier_statistic(void **state)
{
  (void)state;
  eb_sample sample = describe("outlier_grubbs.csv", "y");
  double g = (245.57 - sample.mean) / sample.deviation;
  assert_near("G", g, 2.46876461121, 1e-11);
  assert_near("published G", g, 2.4687, 1e-4);
  double t = eb_t_quantile(1 - 0.05 / 8, 6);
  double critical = 7 / sqrt(8) * sqrt(t * t / (6 + t * t));
  assert_near("critical value", critical, 2.03165200155, 1e-10);
  assert_rounds_to("critical value", critical, "2.032");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(strd_univariate),     cmocka_unit_test(jcgm_100_type_a),
      cmocka_unit_test(interval_of_a_mean),  cmocka_unit_test(pooling_over_wafers),
      cmocka_unit_test(gauge_study),         cmocka_unit_test(jcgm_100_between_days),
      cmocka_unit_test(welch_satterthwaite), cmocka_unit_test(rectangle_and_step),
      cmocka_unit_test(outlier_statistic),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
