/* The belief against generalised least squares by the GNU Scientific Library, with
 * every prior as an observation of its own and the levels free. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <gsl/gsl_blas.h>

#include "engine_rows.h"

#include "evenbore/belief.h"

static const double OTHER_GAIN = 1.4, OTHER_SPREAD = 0.2;

/* The belief and the same as rows. */
typedef struct job {
  engine_rows engine;
  eb_belief *belief;
  eb_belief *other; /* the same readings, other gains beforehand */
  int passes_read;
  double truth[EB_BORES_MAX]; /* of the engine that is read: its adjusters answer as wished */
} job;

static job *begin(const char *text)
{
  static job j;
  memset(&j, 0, sizeof j);
  rows_begin(&j.engine, text);
  assert_int_equal(eb_belief_create(eb_host_system(), &j.engine.layout, NULL, &j.belief, NULL), EB_OK);
  eb_belief_weigh(j.belief);
  eb_layout other = j.engine.layout;
  for (int k = 0; k < other.adjuster_count; k++) {
    other.adjuster[k].gain = OTHER_GAIN;
    other.adjuster[k].gain_spread = OTHER_SPREAD;
  }
  assert_int_equal(eb_belief_create(eb_host_system(), &other, NULL, &j.other, NULL), EB_OK);
  eb_belief_weigh(j.other);
  return &j;
}

static void read_bore(job *j, int bore, double passes, double value, double variance)
{
  eb_belief_reading(j->belief, bore, passes, value, variance);
  eb_belief_reading(j->other, bore, passes, value, variance);
  rows_reading(&j->engine, bore, passes, value, variance);
}

static void start_again(job *j)
{
  eb_belief_period(j->belief);
  eb_belief_period(j->other);
  rows_start_again(&j->engine);
  j->passes_read = 0;
}

static void move(job *j, int adjuster, double size)
{
  eb_belief_move(j->belief, adjuster, size);
  eb_belief_move(j->other, adjuster, size);
  rows_move(&j->engine, adjuster, size);
  for (int i = 0; i < j->engine.layout.bore_count; i++)
    j->truth[i] += eb_adjuster_effect(&j->engine.layout.adjuster[adjuster], i) * size;
}

/* Rows that pick the deviations from the counted bores' mean. */
static void pick_deviations(const engine_rows *e, eb_bores counted, gsl_matrix *pick)
{
  int n = e->layout.bore_count, count = 0;
  for (int i = 0; i < n; i++)
    count += counted >> i & 1;
  for (int u = 0; u < e->unknowns; u++) {
    double mean = 0;
    for (int i = 0; i < n; i++)
      if (counted >> i & 1)
        mean += e->now[i][u] / count;
    for (int i = 0; i < n; i++)
      gsl_matrix_set(pick, (size_t)i, (size_t)u, e->now[i][u] - mean);
  }
}

static void compare(job *j)
{
  size_t unknowns = (size_t)j->engine.unknowns, n = (size_t)j->engine.layout.bore_count;
  gsl_matrix *covariance = gsl_matrix_alloc(unknowns, unknowns), *pick = gsl_matrix_alloc(n, unknowns),
             *half = gsl_matrix_alloc(n, unknowns), *wanted = gsl_matrix_alloc(n, n);
  gsl_vector *x = gsl_vector_alloc(unknowns);
  rows_fit(&j->engine, x, covariance);
  pick_deviations(&j->engine, eb_belief_counted(j->belief), pick);
  gsl_blas_dgemm(CblasNoTrans, CblasNoTrans, 1, pick, covariance, 0, half);
  gsl_blas_dgemm(CblasNoTrans, CblasTrans, 1, half, pick, 0, wanted);
  double mean[EB_BORES_MAX], found[EB_BORES_MAX * EB_BORES_MAX];
  eb_belief_deviations(j->belief, mean, found);
  for (size_t a = 0; a < n; a++) {
    double expected = 0;
    for (size_t u = 0; u < unknowns; u++)
      expected += gsl_matrix_get(pick, a, u) * gsl_vector_get(x, u);
    assert_near(mean[a], expected, 1e-9);
    for (size_t b = 0; b < n; b++)
      assert_near(found[a * n + b], gsl_matrix_get(wanted, a, b),
                  1e-9 * sqrt(found[a * n + a] * found[b * n + b]) + 1e-16);
  }
  for (int k = 0; k < j->engine.layout.adjuster_count; k++) {
    double gain, spread;
    size_t at = (size_t)rows_gain(&j->engine, k);
    eb_belief_gain(j->belief, k, &gain, &spread);
    assert_near(gain, gsl_vector_get(x, at), 1e-9);
    assert_near(spread, sqrt(gsl_matrix_get(covariance, at, at)), 1e-9);
  }
  gsl_matrix_free(covariance);
  gsl_matrix_free(pick);
  gsl_matrix_free(half);
  gsl_matrix_free(wanted);
  gsl_vector_free(x);
}

/* ln of the density of all observations, the level's free constants left out: half the squares that are left, and half
 * the determinant of the unknowns' covariance. */
static double log_density(const engine_rows *e)
{
  size_t unknowns = (size_t)e->unknowns;
  gsl_matrix *covariance = gsl_matrix_alloc(unknowns, unknowns);
  gsl_vector *x = gsl_vector_alloc(unknowns);
  double density = -0.5 * rows_fit(e, x, covariance);
  gsl_linalg_cholesky_decomp1(covariance);
  for (size_t u = 0; u < unknowns; u++)
    density += log(gsl_matrix_get(covariance, u, u));
  for (int r = 0; r < e->rows; r++)
    density += 0.5 * log(e->weight[r]);
  gsl_matrix_free(covariance);
  gsl_vector_free(x);
  return density;
}

/* Two priors of the gains: which of them the readings speak for, and how clearly. */
static void compare_likelihoods(const job *j)
{
  static engine_rows other;
  other = j->engine;
  for (int k = 0; k < other.layout.adjuster_count; k++) {
    int row = other.layout.bore_count + k;
    assert_near(other.row[row][rows_gain(&other, k)], 1, 0);
    other.observed[row] = OTHER_GAIN;
    other.weight[row] = 1 / (OTHER_SPREAD * OTHER_SPREAD);
  }
  double wanted = log_density(&other) - log_density(&j->engine);
  assert_near(eb_belief_likelihood(j->other) - eb_belief_likelihood(j->belief), wanted, 1e-8);
}

static void read_pass(job *j, uint64_t *seed, double level)
{
  int n = j->engine.layout.bore_count;
  for (int i = 0; i <= n; i++)
    read_bore(j, i % n, j->passes_read + (double)i / n, level + j->truth[i % n] + 0.02 * stream_normal(seed),
              4e-4 * (0.5 + stream_uniform(seed)));
  j->passes_read++;
}

/* Moves are small and few enough that the gains keep inside their bounds and above their least spread, where the
 * belief departs from plain least squares on purpose. */
static void work_on(const char *text, uint64_t seed)
{
  job *j = begin(text);
  for (int i = 0; i < j->engine.layout.bore_count; i++)
    j->truth[i] = 0.06 * stream_normal(&seed);
  read_pass(j, &seed, 2.2);
  compare(j);
  for (int stop = 0; stop < 3; stop++) {
    move(j, stop % j->engine.layout.adjuster_count, 0.03 * (stop - 1.5));
    move(j, j->engine.layout.adjuster_count - 1, 0.03);
    start_again(j);
    read_pass(j, &seed, 1.5 + stop);
    read_bore(j, 1, 1.2, 1.5 + stop + j->truth[1], 3e-4);
    compare(j);
    compare_likelihoods(j);
  }
  eb_belief_leave_out(j->belief, 0);
  compare(j);
  eb_belief_destroy(j->belief);
  eb_belief_destroy(j->other);
}

static void belief_equals_least_squares(void **state)
{
  (void)state;
  static const char *const engines[] = {ENGINE_V8, ENGINE_INLINE_FOUR, ENGINE_ONE_SIDED, ENGINE_CHAIN, ENGINE_W16};
  for (size_t e = 0; e < sizeof engines / sizeof engines[0]; e++)
    work_on(engines[e], 100 + e);
}

/* Two bores read once each: the posterior by hand from the textbook's formula for two independent normal sources. */
static void one_contrast_is_weighed_with_its_prior(void **state)
{
  (void)state;
  eb_layout twin;
  eb_belief *belief;
  double mean[2], covariance[4];
  assert_int_equal(engine_read(ENGINE_TWIN, &twin, NULL), EB_OK);
  twin.adjuster[0].spread = 0.03;
  twin.plate_spread = 0.04;
  assert_int_equal(eb_belief_create(eb_host_system(), &twin, NULL, &belief, NULL), EB_OK);
  eb_belief_reading(belief, 0, 0, 1.10, 0.0004);
  eb_belief_reading(belief, 1, 0, 1.00, 0.0004);
  eb_belief_deviations(belief, mean, covariance);
  /* y1 - y2: prior variance 0.03^2 + 2 0.04^2 = 0.0041, reading 0.10 of variance 0.0008. */
  assert_near(mean[0], 0.5 * 0.10 * 0.0041 / 0.0049, 1e-14);
  assert_near(covariance[0], 0.25 * 0.0041 * 0.0008 / 0.0049, 1e-16);
  assert_near(covariance[1], -covariance[0], 1e-18);
  eb_belief_destroy(belief);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(belief_equals_least_squares),
      cmocka_unit_test(one_contrast_is_weighed_with_its_prior),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
