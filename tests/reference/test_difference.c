/* Differences of deviations against the textbook's form with a pseudo-inverse, by the GNU Scientific Library's singular
 * value decomposition, and its distributions. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenbore/difference.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdlib.h>

enum { BORES_MOST = 12, ENGINES = 200 };

typedef struct bores {
  int count;
  double variance[BORES_MOST]; /* of the readings behind each */
  eb_doubted said[BORES_MOST];
} bores;

/* Deviations as a verdict gives them: readings less their mean, each with the root of its own variance alone. */
static void draw(gsl_rng *rng, int count, double degrees, bores *made)
{
  double reading[BORES_MOST], mean = 0, sum = 0;
  made->count = count;
  for (int i = 0; i < count; i++) {
    made->variance[i] = pow(0.01 * (0.5 + gsl_rng_uniform(rng)), 2);
    reading[i] = gsl_ran_gaussian(rng, sqrt(made->variance[i]));
    mean += reading[i] / count;
    sum += made->variance[i];
  }
  for (int i = 0; i < count; i++) {
    double own = made->variance[i] * (1 - 2.0 / count) + sum / count / count;
    made->said[i] = (eb_doubted){reading[i] - mean, sqrt(own), degrees};
  }
}

/* d' C^+ d with C = P W P, P taking the mean out. */
static double by_pseudo_inverse(const bores *a, const bores *b)
{
  int n = a->count;
  gsl_matrix *c = gsl_matrix_alloc((size_t)n, (size_t)n), *v = gsl_matrix_alloc((size_t)n, (size_t)n);
  gsl_vector *s = gsl_vector_alloc((size_t)n), *work = gsl_vector_alloc((size_t)n);
  for (int i = 0; i < n; i++)
    for (int j = 0; j < n; j++) {
      double sum = 0;
      for (int k = 0; k < n; k++)
        sum += ((i == k) - 1.0 / n) * (a->variance[k] + b->variance[k]) * ((j == k) - 1.0 / n);
      gsl_matrix_set(c, (size_t)i, (size_t)j, sum);
    }
  gsl_linalg_SV_decomp(c, v, s, work);
  double squares = 0;
  for (int k = 0; k + 1 < n; k++) { /* the least singular value is that of the mean, nothing */
    double along_u = 0, along_v = 0;
    for (int i = 0; i < n; i++) {
      double d = b->said[i].value - a->said[i].value;
      along_u += gsl_matrix_get(c, (size_t)i, (size_t)k) * d;
      along_v += gsl_matrix_get(v, (size_t)i, (size_t)k) * d;
    }
    squares += along_u * along_v / gsl_vector_get(s, (size_t)k);
  }
  gsl_matrix_free(c);
  gsl_matrix_free(v);
  gsl_vector_free(s);
  gsl_vector_free(work);
  return squares;
}

static void all_bores_together_agree_with_the_pseudo_inverse(void **state)
{
  (void)state;
  gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
  for (int engine = 0; engine < ENGINES; engine++) {
    int n = 2 + engine % (BORES_MOST - 1);
    bores a, b;
    eb_difference each[BORES_MOST];
    draw(rng, n, 9, &a);
    draw(rng, n, 9, &b);
    if (n == 2) /* two deviations are one: their variances cannot be told apart, and need not be */
      a.variance[0] = a.variance[1] = (a.variance[0] + a.variance[1]) / 2,
      b.variance[0] = b.variance[1] = (b.variance[0] + b.variance[1]) / 2;
    eb_difference all = eb_difference_of_all(a.said, b.said, n, 0.05, each);
    double wanted = by_pseudo_inverse(&a, &b) / (n - 1);
    assert_true(fabs(all.value - wanted) < 1e-9 * (1 + wanted));
    assert_true(fabs(all.p - gsl_cdf_fdist_Q(wanted, n - 1, all.degrees_of_freedom)) < 1e-9);
    assert_true(all.degrees_of_freedom >= 9 && all.degrees_of_freedom <= 18 + 1e-9);
  }
  gsl_rng_free(rng);
}

static void one_bore_agrees_with_welch(void **state)
{
  (void)state;
  eb_doubted first = {0.01, 0.008, 5}, second = {0.05, 0.012, 30};
  eb_difference d = eb_difference_of(first, second, 4, 0.05);
  /* JCGM 100:2008, G.2b, written out. */
  double v = 0.008 * 0.008, w = 0.012 * 0.012, nu = pow(v + w, 2) / (v * v / 5 + w * w / 30);
  assert_true(fabs(d.doubt - sqrt(v + w)) < 1e-12);
  assert_true(fabs(d.degrees_of_freedom - nu) < 1e-9);
  assert_true(fabs(d.p - 2 * gsl_cdf_tdist_Q(0.04 / sqrt(v + w), nu)) < 1e-12);
  assert_int_equal(d.beyond, 4 * d.p <= 0.05);
}

/* Where nothing differs and the variances are known, one in twenty is called different. */
static void false_alarms_are_as_many_as_the_risk_says(void **state)
{
  (void)state;
  enum { PAIRS = 4000 };
  gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
  int all_beyond = 0, any_beyond = 0;
  for (int i = 0; i < PAIRS; i++) {
    bores a, b;
    eb_difference each[BORES_MOST];
    draw(rng, 8, 1e4, &a);
    draw(rng, 8, 1e4, &b);
    all_beyond += eb_difference_of_all(a.said, b.said, 8, 0.05, each).beyond;
    bool any = false;
    for (int k = 0; k < 8; k++)
      any = any || each[k].beyond;
    any_beyond += any;
  }
  gsl_rng_free(rng);
  /* Within four standard deviations of a binomial count. */
  assert_true(abs(all_beyond - PAIRS / 20) < 4 * sqrt(PAIRS * 0.05 * 0.95));
  assert_true(any_beyond < PAIRS / 20 + 4 * sqrt(PAIRS * 0.05 * 0.95));
  assert_true(any_beyond > PAIRS / 40);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(all_bores_together_agree_with_the_pseudo_inverse),
                                     cmocka_unit_test(one_bore_agrees_with_welch),
                                     cmocka_unit_test(false_alarms_are_as_many_as_the_risk_says)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
