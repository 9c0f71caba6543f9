/* Differences of deviations against the textbook's form with a pseudo-inverse, by the GNU Scientific Library's singular
 * value decomposition, and its distributions. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenbore/difference.h"
#include "balance/readings.h"

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
    assert_true(fabs(all.degrees_of_freedom - 9) < 1e-12);
  }
  gsl_rng_free(rng);
}

static void one_bore_is_held_against_student(void **state)
{
  (void)state;
  eb_doubted first = {0.01, 0.008, 5}, second = {0.05, 0.012, 30};
  eb_difference d = eb_difference_of(first, second, 4, 0.05);
  double v = 0.008 * 0.008, w = 0.012 * 0.012;
  assert_true(fabs(d.doubt - sqrt(v + w)) < 1e-12);
  assert_true(fabs(d.degrees_of_freedom - 5) < 1e-12); /* the lesser */
  assert_true(fabs(d.p - 2 * gsl_cdf_tdist_Q(0.04 / sqrt(v + w), 5)) < 1e-12);
  assert_int_equal(d.beyond, 4 * d.p <= 0.05);
}

/* Where nothing differs and the variances are known, one in twenty is called different. */
static void false_alarms_are_as_many_as_the_risk_says(void **state)
{
  (void)state;
  enum { PAIRS = 5000 };
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

/* Two jobs on an engine that did not change in between, as evidence has them: gauges that are read to a step and whose
 * scatter their figure tells roughly, passes, moves whose answer is not what was wished, a new level at each start. */
typedef struct shop {
  const char *name;
  double figure[2]; /* what each gauge is said to repeat to */
  bool roughly;     /* it scatters as four degrees of freedom leave open; else as its figure says */
  int passes[2];
  bool moves; /* side and couplers are moved in the first job */
} shop;

static double draw_scatter(gsl_rng *rng, const shop *s, int job)
{
  double figure = s->figure[job];
  return s->roughly ? figure / sqrt(gsl_ran_chisq(rng, 4) / 4) : figure;
}

static bool read_pass(gsl_rng *rng, const eb_layout *layout, eb_evidence *evidence, const double *ln_readings,
                      double scatter)
{
  eb_closure closure;
  assert_int_equal(eb_evidence_pass(evidence, NULL), EB_OK);
  for (int i = 0; i <= layout->bore_count; i++) {
    int bore = i % layout->bore_count;
    double value = exp(ln_readings[bore] + gsl_ran_gaussian(rng, scatter));
    value = fmax(rint(value / 0.25), 1) * 0.25;
    assert_int_equal(eb_evidence_reading(evidence, bore, value, NULL), EB_OK);
  }
  eb_evidence_close(evidence, &closure);
  return closure.accepted;
}

/* One that is rejected is done again. */
static void read_passes(gsl_rng *rng, const eb_layout *layout, eb_evidence *evidence, const double *flow,
                        double scatter, int passes)
{
  double ln_readings[EB_BORES_MAX], level = log(6 + 3 * gsl_rng_uniform(rng));
  for (int i = 0; i < layout->bore_count; i++)
    ln_readings[i] = level + flow[i];
  assert_int_equal(eb_evidence_period(evidence, NULL), EB_OK);
  for (int done = 0; done < passes;)
    done += read_pass(rng, layout, evidence, ln_readings, scatter);
}

static void say(const eb_evidence *evidence, const eb_layout *layout, eb_verdict *verdict, eb_doubted *said)
{
  assert_int_equal(eb_evidence_verdict(evidence, 0.05, 0.05, verdict, NULL), EB_OK);
  for (int i = 0; i < layout->bore_count; i++)
    said[i] = (eb_doubted){verdict->bore[i].deviation, verdict->bore[i].doubt, verdict->degrees_of_freedom};
}

static void correct(gsl_rng *rng, const eb_layout *layout, eb_evidence *evidence, const eb_verdict *verdict,
                    double *flow)
{
  for (int c = 0; c < verdict->contrast_count; c++) {
    int k = verdict->contrast[c].adjuster;
    double wished = -verdict->contrast[c].value, did = wished * exp(gsl_ran_gaussian(rng, 0.3));
    if (verdict->contrast[c].level == EB_LEVEL_BORE)
      continue;
    assert_int_equal(eb_evidence_move(evidence, k, wished, NULL), EB_OK);
    for (int i = 0; i < layout->bore_count; i++)
      flow[i] += did * eb_adjuster_effect(&layout->adjuster[k], i);
  }
}

static void work(gsl_rng *rng, const shop *s, int job, const eb_layout *layout, double *flow, eb_doubted *said)
{
  eb_gauge gauge = eb_gauge_usual();
  eb_verdict verdict;
  double scatter = draw_scatter(rng, s, job);
  gauge.repeatability = s->figure[job];
  eb_evidence *evidence = gather(layout, &gauge);
  read_passes(rng, layout, evidence, flow, scatter, s->passes[job]);
  say(evidence, layout, &verdict, said);
  if (s->moves && job == 0) {
    correct(rng, layout, evidence, &verdict, flow);
    read_passes(rng, layout, evidence, flow, scatter, s->passes[job]);
    say(evidence, layout, &verdict, said);
  }
  eb_evidence_destroy(evidence);
}

static bool alarms(gsl_rng *rng, const shop *s, const eb_layout *layout, bool *any)
{
  double flow[EB_BORES_MAX];
  eb_doubted said[2][EB_BORES_MAX];
  eb_difference each[EB_BORES_MAX];
  for (int i = 0; i < layout->bore_count; i++)
    flow[i] = gsl_ran_gaussian(rng, layout->plate_spread);
  for (int k = 0; k < 3; k++) {
    double off = gsl_ran_gaussian(rng, layout->adjuster[k].spread);
    for (int i = 0; i < layout->bore_count; i++)
      flow[i] += off * eb_adjuster_effect(&layout->adjuster[k], i);
  }
  work(rng, s, 0, layout, flow, said[0]);
  work(rng, s, 1, layout, flow, said[1]);
  bool beyond = eb_difference_of_all(said[0], said[1], layout->bore_count, 0.05, each).beyond;
  for (int i = 0; i < layout->bore_count; i++)
    *any = *any || each[i].beyond;
  return beyond;
}

/* No more than the risk, whatever the gauges, within three standard deviations of a binomial count. */
static void false_alarms_of_whole_jobs_keep_to_the_risk(void **state)
{
  (void)state;
  static const shop shops[] = {
      {.name = "one gauge, one pass", .figure = {0.02, 0.02}, .passes = {1, 1}},
      {.name = "one gauge, three passes", .figure = {0.02, 0.02}, .passes = {3, 3}},
      {.name = "unequal gauges", .figure = {0.01, 0.04}, .passes = {2, 2}},
      {.name = "unequal passes", .figure = {0.02, 0.02}, .passes = {1, 4}},
      {.name = "roughly known, one pass", .figure = {0.02, 0.02}, .roughly = true, .passes = {1, 1}},
      {.name = "roughly known, unequal", .figure = {0.01, 0.03}, .roughly = true, .passes = {1, 3}},
      {.name = "moved", .figure = {0.02, 0.02}, .passes = {1, 1}, .moves = true},
      {.name = "moved, roughly known", .figure = {0.02, 0.02}, .roughly = true, .passes = {2, 1}, .moves = true},
  };
  enum { SHOPS = sizeof shops / sizeof shops[0], PAIRS = 500 };
  eb_layout layout;
  assert_int_equal(engine_read(ENGINE_V8, &layout, NULL), EB_OK);
  gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
  for (int s = 0; s < SHOPS; s++) {
    int all = 0, one = 0;
    for (int pair = 0; pair < PAIRS; pair++) {
      bool any = false;
      all += alarms(rng, &shops[s], &layout, &any);
      one += any;
    }
    if (fmax(all, one) > PAIRS / 20 + 3 * sqrt(PAIRS * 0.05 * 0.95))
      fail_msg("%s: all bores together %d, one of them %d of %d", shops[s].name, all, one, PAIRS);
  }
  gsl_rng_free(rng);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(all_bores_together_agree_with_the_pseudo_inverse),
                                     cmocka_unit_test(one_bore_is_held_against_student),
                                     cmocka_unit_test(false_alarms_are_as_many_as_the_risk_says),
                                     cmocka_unit_test(false_alarms_of_whole_jobs_keep_to_the_risk)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
