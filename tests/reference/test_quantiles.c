/* Normal, Student t and F against printed tables, long arithmetic and GSL. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "evenbore/statistics.h"
#include "table.h"

/* mpmath, 40 digits (computed; 1.645, 1.960, 2.326, 2.576 and 3.090 read in NIST's table). */
static void normal_table(void **state)
{
  (void)state;
  table t = table_read("normal_quantiles.csv");
  for (int i = 0; i < t.rows; i++) {
    double p = table_number(&t, i, "p");
    double z = table_number(&t, i, "z");
    assert_near("z", eb_normal_quantile(p), z, 1e-14);
    assert_near("p", eb_normal_below(z), p, 1e-14);
  }
  table_clear(&t);
}

/* NIST/SEMATECH e-Handbook 1.3.6.7.2 and NIST TN 1297, table B.1 (read); ten digits by mpmath (computed). */
static void student_table(void **state)
{
  (void)state;
  table t = table_read("student_t.csv");
  for (int i = 0; i < t.rows; i++) {
    double nu = table_number(&t, i, "nu");
    double p = table_number(&t, i, "p");
    bool two_sided = strcmp(table_text(&t, i, "kind"), "two_sided") == 0;
    double got = eb_t_quantile(two_sided ? (1 + p) / 2 : p, nu);
    assert_near("t", got, table_number(&t, i, "value"), 1e-9);
    bool misprint = two_sided && nu > 34 && nu < 36 && p < 0.95 && p > 0.7; /* 1.70 for 1.690 */
    if (!misprint)
      assert_rounds_to("published t", got, table_text(&t, i, "published"));
  }
  table_clear(&t);
}

/* NIST handbook and JCGM 100:2008, H.5 (from memory; six digits read in a published test suite); SciPy (computed). */
static void f_table(void **state)
{
  (void)state;
  table t = table_read("f_quantiles.csv");
  for (int i = 0; i < t.rows; i++) {
    double nu1 = table_number(&t, i, "df1");
    double nu2 = table_number(&t, i, "df2");
    double p = table_number(&t, i, "p");
    double f = table_number(&t, i, "f");
    assert_near("F", eb_f_quantile(p, nu1, nu2), f, 1e-9);
    assert_near("p", eb_f_below(f, nu1, nu2), p, 1e-10);
    assert_near("upper tail", eb_f_above(f, nu1, nu2), 1 - p, 1e-9);
    if (table_text(&t, i, "published")[0] != '\0')
      assert_rounds_to("published F", eb_f_quantile(p, nu1, nu2), table_text(&t, i, "published"));
  }
  table_clear(&t);
}

static double below(double x, double nu)
{
  return isnan(nu) ? eb_normal_below(x) : eb_t_below(x, nu);
}

/* JCGM 106:2012, 7.3 (from memory, then recomputed) and rows computed with mpmath: the probability that a measured
 * quantity lies inside its limits. */
static void conformity(void **state)
{
  (void)state;
  table t = table_read("jcgm106_conformance.csv");
  for (int i = 0; i < t.rows; i++) {
    double y = table_number(&t, i, "y");
    double u = table_number(&t, i, "u");
    double nu = table_number(&t, i, "nu");
    double low = table_number(&t, i, "tl");
    double high = table_number(&t, i, "tu");
    double inside = (isnan(high) ? 1 : below((high - y) / u, nu)) - (isnan(low) ? 0 : below((low - y) / u, nu));
    const char *id = table_text(&t, i, "id");
    assert_near(id, inside, table_number(&t, i, "pc"), isnan(nu) ? 1e-10 : 1e-9);
    if (table_text(&t, i, "pc_published")[0] != '\0')
      assert_rounds_to(id, inside, table_text(&t, i, "pc_published"));
  }
  table_clear(&t);
}

/* JCGM 106:2012, 7.3, table 1 (from memory, then recomputed; one row read): the guard band's factor. */
static void guard_bands(void **state)
{
  (void)state;
  table t = table_read("jcgm106_guardband.csv");
  for (int i = 0; i < t.rows; i++) {
    double p = table_number(&t, i, "p");
    double nu = table_number(&t, i, "nu");
    assert_near("k", eb_t_quantile(p, nu), table_number(&t, i, "k"), 1e-9);
    if (isinf(nu))
      assert_near("k", eb_normal_quantile(p), table_number(&t, i, "k"), 1e-9);
    if (table_text(&t, i, "k_published")[0] != '\0')
      assert_rounds_to("published k", eb_t_quantile(p, nu), table_text(&t, i, "k_published"));
  }
  table_clear(&t);
}

/* Two numbers from one seed: a probability from 1e-6 to 1 - 1e-6, tails as likely as the middle; degrees of freedom,
 * not whole, from 1 to 1e6. */
static double some_probability(gsl_rng *random)
{
  double tail = pow(10, gsl_ran_flat(random, -6, -0.301));
  return gsl_rng_uniform(random) < 0.5 ? tail : 1 - tail;
}

static double some_nu(gsl_rng *random)
{
  return pow(10, gsl_ran_flat(random, 0, 6));
}

/* A quantile is right where GSL's distribution, taken there, gives the probability back; the allowed error of the
 * quantile is turned into one of the probability by the density. */
static void check_probability(const char *what, double got, double want, double density, double x, double relative)
{
  double allowed = relative * fabs(x) * density + 1e-13 * want;
  if (!(fabs(got - want) <= allowed))
    fail_msg("%s: %.17g for %.17g at %.17g", what, got, want, x);
}

static void normal_agrees_with_gsl(void **state)
{
  (void)state;
  gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
  gsl_rng_set(random, 1988);
  for (int i = 0; i < 5000; i++) {
    double p = some_probability(random);
    assert_near("z", eb_normal_quantile(p), gsl_cdf_ugaussian_Pinv(p), 2e-15);
    double z = gsl_ran_flat(random, -8, 8);
    assert_near("p", eb_normal_below(z), gsl_cdf_ugaussian_P(z), 1e-12);
  }
  for (int i = 1; i < 300; i++) { /* far out, the quantile must bring the tail back */
    double p = pow(10, -i);
    assert_near("tail", eb_normal_below(eb_normal_quantile(p)), p, 1e-12);
  }
  gsl_rng_free(random);
}

static void student_agrees_with_gsl(void **state)
{
  (void)state;
  gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
  gsl_rng_set(random, 1908);
  for (int i = 0; i < 5000; i++) {
    double p = some_probability(random);
    double nu = some_nu(random);
    double t = eb_t_quantile(p, nu);
    bool upper = p > 0.5;
    check_probability("t", upper ? gsl_cdf_tdist_Q(t, nu) : gsl_cdf_tdist_P(t, nu), upper ? 1 - p : p,
                      gsl_ran_tdist_pdf(t, nu), t, 1e-9);
    double x = gsl_ran_flat(random, -20, 20);
    assert_near("p", eb_t_below(x, nu) + 1, gsl_cdf_tdist_P(x, nu) + 1, 1e-11);
  }
  gsl_rng_free(random);
}

static void f_agrees_with_gsl(void **state)
{
  (void)state;
  gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
  gsl_rng_set(random, 1924);
  for (int i = 0; i < 5000; i++) {
    double p = some_probability(random);
    double nu1 = some_nu(random);
    double nu2 = some_nu(random);
    double f = eb_f_quantile(p, nu1, nu2);
    bool upper = p > 0.5;
    check_probability("F", upper ? gsl_cdf_fdist_Q(f, nu1, nu2) : gsl_cdf_fdist_P(f, nu1, nu2), upper ? 1 - p : p,
                      gsl_ran_fdist_pdf(f, nu1, nu2), f, 1e-9);
  }
  gsl_rng_free(random);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(normal_table),
      cmocka_unit_test(student_table),
      cmocka_unit_test(f_table),
      cmocka_unit_test(conformity),
      cmocka_unit_test(guard_bands),
      cmocka_unit_test(normal_agrees_with_gsl),
      cmocka_unit_test(student_agrees_with_gsl),
      cmocka_unit_test(f_agrees_with_gsl),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
