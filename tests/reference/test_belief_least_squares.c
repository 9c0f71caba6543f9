/* The belief against generalised least squares by the GNU Scientific Library, with
 * every prior as an observation of its own and the levels free. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit.h>

#include "balance/engines.h"
#include "evenbore/belief.h"

enum { UNKNOWNS_MAX = 300, ROWS_MAX = 600 };

/* Unknowns: bores before work, gains, and for each period its level and drift, for each move its misses.  `now` is
 * what the bores are by now as sums of the unknowns. */
typedef struct job {
  eb_layout layout;
  eb_belief *belief;
  int unknowns, rows, level, drift, passes_read;
  double now[EB_BORES_MAX][UNKNOWNS_MAX];
  double truth[EB_BORES_MAX]; /* of the engine that is read: its adjusters answer as wished */
  double row[ROWS_MAX][UNKNOWNS_MAX], observed[ROWS_MAX], weight[ROWS_MAX];
} job;

static int gain_of(const job *j, int adjuster)
{
  return j->layout.bore_count + adjuster;
}

static double *observe(job *j, double observed, double variance)
{
  assert_true(j->rows < ROWS_MAX);
  j->observed[j->rows] = observed;
  j->weight[j->rows] = 1 / variance;
  return j->row[j->rows++];
}

/* The bores' prior covariance, written out, and made rows of unit variance by Cholesky. */
static void observe_prior(job *j)
{
  int n = j->layout.bore_count;
  gsl_matrix *covariance = gsl_matrix_calloc((size_t)n, (size_t)n);
  for (int a = 0; a < n; a++)
    for (int b = 0; b < n; b++) {
      double sum = a == b ? j->layout.plate_spread * j->layout.plate_spread : 0;
      for (int k = 0; k < j->layout.adjuster_count; k++) {
        const eb_adjuster *adjuster = &j->layout.adjuster[k];
        sum += eb_adjuster_effect(adjuster, a) * eb_adjuster_effect(adjuster, b) * adjuster->spread * adjuster->spread;
      }
      gsl_matrix_set(covariance, (size_t)a, (size_t)b, sum);
    }
  gsl_linalg_cholesky_decomp1(covariance);
  gsl_linalg_tri_lower_invert(covariance);
  for (int a = 0; a < n; a++) {
    double *row = observe(j, 0, 1);
    for (int b = 0; b <= a; b++)
      row[b] = gsl_matrix_get(covariance, (size_t)a, (size_t)b);
  }
  gsl_matrix_free(covariance);
}

static void period(job *j)
{
  j->level = j->unknowns++;
  j->drift = j->unknowns++;
  j->passes_read = 0;
  observe(j, 0, 0.015 * 0.015)[j->drift] = 1;
}

static job *begin(const char *text)
{
  static job j;
  memset(&j, 0, sizeof j);
  assert_int_equal(engine_read(text, &j.layout, NULL), EB_OK);
  assert_int_equal(eb_belief_create(eb_host_system(), &j.layout, NULL, &j.belief, NULL), EB_OK);
  j.unknowns = j.layout.bore_count + j.layout.adjuster_count;
  for (int i = 0; i < j.layout.bore_count; i++)
    j.now[i][i] = 1;
  observe_prior(&j);
  for (int k = 0; k < j.layout.adjuster_count; k++)
    observe(&j, j.layout.adjuster[k].gain,
            j.layout.adjuster[k].gain_spread * j.layout.adjuster[k].gain_spread)[gain_of(&j, k)] = 1;
  period(&j);
  return &j;
}

static void read_bore(job *j, int bore, double passes, double value, double variance)
{
  eb_belief_reading(j->belief, bore, passes, value, variance);
  double *row = observe(j, value, variance);
  memcpy(row, j->now[bore], sizeof j->now[bore]);
  row[j->level] += 1;
  row[j->drift] += passes;
}

static int miss(job *j)
{
  assert_true(j->unknowns < UNKNOWNS_MAX);
  observe(j, 0, 1)[j->unknowns] = 1;
  return j->unknowns++;
}

/* Another start: all adjusters of several bores close a hair differently. */
static void start_again(job *j)
{
  eb_belief_period(j->belief);
  period(j);
  for (int k = 0; k < j->layout.adjuster_count; k++) {
    const eb_adjuster *adjuster = &j->layout.adjuster[k];
    eb_bores touched = adjuster->first | adjuster->second;
    if ((touched & (touched - 1)) == 0)
      continue;
    int closes = miss(j);
    for (int i = 0; i < j->layout.bore_count; i++)
      j->now[i][closes] += 0.004 * eb_adjuster_effect(adjuster, i);
  }
}

static void move(job *j, int adjuster, double size)
{
  const eb_adjuster *moved = &j->layout.adjuster[adjuster];
  eb_belief_move(j->belief, adjuster, size);
  int along = miss(j), alike = miss(j);
  for (int i = 0; i < j->layout.bore_count; i++) {
    double effect = eb_adjuster_effect(moved, i);
    j->truth[i] += effect * size;
    j->now[i][gain_of(j, adjuster)] += effect * size;
    j->now[i][along] += effect * sqrt(0.15 * 0.15 * size * size + 0.008 * 0.008);
    bool touched = (moved->first | moved->second) >> i & 1;
    if (touched)
      j->now[i][alike] += 0.12 * fabs(size);
    j->now[i][miss(j)] += touched ? 0.006 : sqrt(0.015 * 0.015 * size * size + 0.001 * 0.001);
  }
}

/* Rows that pick the deviations from the counted bores' mean. */
static void pick_deviations(const job *j, eb_bores counted, gsl_matrix *pick)
{
  int n = j->layout.bore_count, count = 0;
  for (int i = 0; i < n; i++)
    count += counted >> i & 1;
  for (int u = 0; u < j->unknowns; u++) {
    double mean = 0;
    for (int i = 0; i < n; i++)
      if (counted >> i & 1)
        mean += j->now[i][u] / count;
    for (int i = 0; i < n; i++)
      gsl_matrix_set(pick, (size_t)i, (size_t)u, j->now[i][u] - mean);
  }
}

static void compare(job *j)
{
  size_t rows = (size_t)j->rows, unknowns = (size_t)j->unknowns, n = (size_t)j->layout.bore_count;
  gsl_matrix *design = gsl_matrix_alloc(rows, unknowns), *covariance = gsl_matrix_alloc(unknowns, unknowns);
  gsl_matrix *pick = gsl_matrix_alloc(n, unknowns), *half = gsl_matrix_alloc(n, unknowns),
             *wanted = gsl_matrix_alloc(n, n);
  gsl_vector *y = gsl_vector_alloc(rows), *w = gsl_vector_alloc(rows), *x = gsl_vector_alloc(unknowns);
  for (size_t r = 0; r < rows; r++) {
    gsl_vector_set(y, r, j->observed[r]);
    gsl_vector_set(w, r, j->weight[r]);
    for (size_t u = 0; u < unknowns; u++)
      gsl_matrix_set(design, r, u, j->row[r][u]);
  }
  gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(rows, unknowns);
  double chi2;
  assert_int_equal(gsl_multifit_wlinear(design, w, y, x, covariance, &chi2, work), 0);
  pick_deviations(j, eb_belief_counted(j->belief), pick);
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
  for (int k = 0; k < j->layout.adjuster_count; k++) {
    double gain, spread;
    size_t at = (size_t)gain_of(j, k);
    eb_belief_gain(j->belief, k, &gain, &spread);
    assert_near(gain, gsl_vector_get(x, at), 1e-9);
    assert_near(spread, sqrt(gsl_matrix_get(covariance, at, at)), 1e-9);
  }
  gsl_multifit_linear_free(work);
  gsl_matrix_free(design);
  gsl_matrix_free(covariance);
  gsl_matrix_free(pick);
  gsl_matrix_free(half);
  gsl_matrix_free(wanted);
  gsl_vector_free(y);
  gsl_vector_free(w);
  gsl_vector_free(x);
}

static void read_pass(job *j, uint64_t *seed, double level)
{
  int n = j->layout.bore_count;
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
  for (int i = 0; i < j->layout.bore_count; i++)
    j->truth[i] = 0.06 * stream_normal(&seed);
  read_pass(j, &seed, 2.2);
  compare(j);
  for (int stop = 0; stop < 3; stop++) {
    move(j, stop % j->layout.adjuster_count, 0.03 * (stop - 1.5));
    move(j, j->layout.adjuster_count - 1, 0.03);
    start_again(j);
    read_pass(j, &seed, 1.5 + stop);
    read_bore(j, 1, 1.2, 1.5 + stop + j->truth[1], 3e-4);
    compare(j);
  }
  eb_belief_leave_out(j->belief, 0);
  compare(j);
  eb_belief_destroy(j->belief);
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
