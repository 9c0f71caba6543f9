/* Findings against generalised least squares by the GNU Scientific Library: size, doubt and probability of faults that
 * were planted in seeded readings. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <gsl/gsl_cdf.h>

#include "engine_rows.h"

#include "balance/readings.h"
#include "evenbore/finding.h"

enum { BORES = 8, READINGS_MAX = 40, SEEDS = 5, MOVED = 1 };
static const double MOVE = 0.05, NOISE = 0.01;

typedef struct taken {
  int bore, snaps;
  double log_value;
} taken;

/* An engine that was read once, moved and started, and then read with something planted: as evidence and as rows. */
typedef struct rig {
  engine_rows rows;
  eb_gauge gauge;
  eb_evidence *evidence;
  double y[BORES], before[BORES];
  int count, snaps;
  taken at[READINGS_MAX];
  uint64_t seed;
  double noise;   /* of what is read; the gauge is said to have NOISE */
  double own;     /* variance of a reading by repeatability */
  double degrees; /* of freedom of that */
  int first;      /* row of the first reading after the start */
  double chi2_before, chi2;
} rig;

static double take(rig *r, int bore, double level)
{
  double value = exp(level + r->y[bore] + r->noise * stream_normal(&r->seed));
  assert_int_equal(eb_evidence_reading(r->evidence, bore, value, NULL), EB_OK);
  return log(value);
}

static rig *begin(uint64_t seed)
{
  static rig r;
  memset(&r, 0, sizeof r);
  r.seed = seed;
  r.noise = NOISE;
  r.gauge = gauge_fine();
  r.gauge.step = 0.1;
  r.gauge.repeatability = NOISE;
  assert_int_equal(engine_read(ENGINE_V8, &r.rows.layout, NULL), EB_OK);
  r.evidence = gather(&r.rows.layout, &r.gauge);
  for (int i = 0; i < BORES; i++)
    r.y[i] = 0.04 * stream_normal(&r.seed);
  for (int i = 0; i < BORES; i++)
    r.before[i] = take(&r, i, 1.9);
  assert_int_equal(eb_evidence_move(r.evidence, MOVED, MOVE, NULL), EB_OK);
  for (int i = 0; i < BORES; i++)
    r.y[i] += MOVE * eb_adjuster_effect(&r.rows.layout.adjuster[MOVED], i);
  assert_int_equal(eb_evidence_period(r.evidence, NULL), EB_OK);
  return &r;
}

static void read_bore(rig *r, int bore, double more)
{
  assert_true(r->count < READINGS_MAX);
  r->at[r->count] = (taken){bore, r->snaps, take(r, bore, 1.8 + more)};
  r->count++;
}

/* Each bore and the first again; `step` comes over all readings from the one `from` on, `slope` grows a reading. */
static void go_round(rig *r, int from, double step, double slope)
{
  for (int i = 0; i <= BORES; i++)
    read_bore(r, i % BORES, slope * r->count + (i >= from ? step : 0));
}

static void snap(rig *r, eb_bores bores)
{
  assert_int_equal(eb_evidence_snap(r->evidence, NULL), EB_OK);
  r->snaps++;
  for (int i = 0; i < BORES; i++)
    if (bores >> i & 1)
      read_bore(r, i, 0);
}

/* Scatter of the repeats before any snap about each bore's own level, a common slope taken out where three degrees of
 * freedom or more allow it, with the gauge's own figure of the weight 4. */
static void find_noise(rig *r)
{
  size_t count = 0, bores = BORES;
  while ((int)count < r->count && r->at[count].snaps == 0)
    count++;
  size_t slope = count - bores >= 3, unknowns = bores + slope;
  double chi2;
  gsl_matrix *design = gsl_matrix_calloc(count, unknowns), *covariance = gsl_matrix_alloc(unknowns, unknowns);
  gsl_vector *y = gsl_vector_alloc(count), *x = gsl_vector_alloc(unknowns);
  gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(count, unknowns);
  for (size_t i = 0; i < count; i++) {
    gsl_matrix_set(design, i, (size_t)r->at[i].bore, 1);
    if (slope)
      gsl_matrix_set(design, i, bores, (double)i);
    gsl_vector_set(y, i, r->at[i].log_value);
  }
  assert_int_equal(gsl_multifit_linear(design, y, x, covariance, &chi2, work), 0);
  r->degrees = 4 + (double)(count - unknowns);
  r->own = (4 * NOISE * NOISE + chi2) / r->degrees;
  gsl_multifit_linear_free(work);
  gsl_matrix_free(design);
  gsl_matrix_free(covariance);
  gsl_vector_free(y);
  gsl_vector_free(x);
}

/* The readable step is a rectangle [JCGM 100:2008, 4.3.7]. */
static double reading_variance(const rig *r, double log_value)
{
  double step = r->gauge.step / exp(log_value);
  return r->own + step * step / 12;
}

static double fit_alone(const engine_rows *e)
{
  gsl_vector *x = gsl_vector_alloc((size_t)e->unknowns);
  gsl_matrix *covariance = gsl_matrix_alloc((size_t)e->unknowns, (size_t)e->unknowns);
  double chi2 = rows_fit(e, x, covariance);
  gsl_matrix_free(covariance);
  gsl_vector_free(x);
  return chi2;
}

/* Readings after the start are of a bore's deviation from the mean and a level that may be anything within a factor of
 * e^5; a snap may shift the level by 0.02 and seat each bore 0.006 elsewhere. */
static void read_rows(rig *r, bool drifts)
{
  engine_rows *e = &r->rows;
  rows_observe(e, 0, 25)[e->level] = 1;
  int level[4] = {0}, seat[4][BORES] = {{0}};
  for (int s = 1; s <= r->snaps; s++) {
    level[s] = rows_unknown(e, 0.02 * 0.02);
    for (int i = 0; i < BORES; i++)
      seat[s][i] = rows_unknown(e, 0.006 * 0.006);
  }
  r->chi2_before = fit_alone(e);
  r->first = e->rows;
  for (int t = 0; t < r->count; t++) {
    const taken *met = &r->at[t];
    double *row = rows_observe(e, met->log_value, reading_variance(r, met->log_value));
    for (int u = 0; u < e->unknowns; u++) {
      row[u] = e->now[met->bore][u];
      for (int i = 0; i < BORES; i++)
        row[u] -= e->now[i][u] / BORES;
    }
    row[e->level] = 1;
    row[e->drift] = drifts ? (double)t / BORES : 0;
    for (int s = 1; s <= met->snaps; s++)
      row[level[s]] = row[seat[s][met->bore]] = 1;
  }
  r->chi2 = fit_alone(e);
}

/* `told`: the gauge's own repeatability, as for what makes repeats scatter by itself. */
static void write_rows(rig *r, bool told, bool drifts)
{
  find_noise(r);
  r->own = told ? NOISE * NOISE : r->own;
  rows_begin(&r->rows, ENGINE_V8);
  for (int i = 0; i < BORES; i++)
    rows_reading(&r->rows, i, (double)i / BORES, r->before[i], reading_variance(r, r->before[i]));
  rows_move(&r->rows, MOVED, MOVE);
  rows_start_again(&r->rows);
  read_rows(r, drifts);
}

typedef struct effect {
  double size[2], doubt[2], degrees[2];
  double gain, scale;
} effect;

/* Columns of free size.  Each size is a sum of the readings with weights; the part of its variance that rests on the
 * repeatability has that one's degrees of freedom [Welch and Satterthwaite; JCGM 100:2008, G.4.1]. */
static effect fit(const rig *r, double column[][READINGS_MAX], int columns)
{
  static engine_rows e;
  effect found = {.gain = 0};
  e = r->rows;
  for (int c = 0; c < columns; c++, e.unknowns++)
    for (int t = 0; t < r->count; t++)
      e.row[r->first + t][e.unknowns] = column[c][t];
  size_t unknowns = (size_t)e.unknowns;
  gsl_vector *x = gsl_vector_alloc(unknowns);
  gsl_matrix *covariance = gsl_matrix_alloc(unknowns, unknowns);
  double chi2 = rows_fit(&e, x, covariance);
  found.gain = r->chi2 - chi2;
  found.scale = sqrt(fmax((chi2 - r->chi2_before) / (r->count - 2), 1));
  for (int c = 0; c < columns; c++) {
    size_t at = (size_t)(r->rows.unknowns + c);
    double variance = gsl_matrix_get(covariance, at, at), by_noise = 0;
    for (int t = r->first; t < r->first + r->count; t++) {
      double weight = 0;
      for (size_t u = 0; u < unknowns; u++)
        weight += gsl_matrix_get(covariance, at, u) * e.row[t][u] * e.weight[t];
      by_noise += weight * weight * r->own / variance;
    }
    found.size[c] = gsl_vector_get(x, at);
    found.doubt[c] = sqrt(variance);
    found.degrees[c] = r->degrees / (by_noise * by_noise);
  }
  gsl_matrix_free(covariance);
  gsl_vector_free(x);
  return found;
}

static double chance_of(const effect *e)
{
  return 2 * gsl_cdf_tdist_P(-fabs(e->size[0]) / (e->doubt[0] * e->scale), fmin(e->degrees[0], 1e4));
}

static eb_finding find(const rig *r, eb_finding_kind kind)
{
  eb_findings found;
  assert_int_equal(eb_evidence_findings(r->evidence, &found, NULL), EB_OK);
  for (int i = 0; i < found.count; i++)
    if (found.finding[i].kind == kind)
      return found.finding[i];
  fail_msg("no %s among %d findings", eb_finding_text(kind), found.count);
  return (eb_finding){.kind = kind};
}

static void assert_same(const eb_finding *f, double size, double doubt, double probability)
{
  assert_near(f->size, size, 1e-8);
  assert_near(f->doubt, doubt, 1e-8);
  assert_near(f->probability, probability, 1e-5 * probability);
}

static void a_leak(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= SEEDS; seed++) {
    rig *r = begin(seed);
    effect best = {.gain = 0};
    int low = -1, planted = (int)(seed % BORES);
    r->y[planted] -= 0.4;
    go_round(r, BORES + 1, 0, 0);
    go_round(r, BORES + 1, 0, 0);
    write_rows(r, false, true);
    for (int bore = 0; bore < BORES; bore++) {
      double column[1][READINGS_MAX];
      for (int t = 0; t < r->count; t++)
        column[0][t] = r->at[t].bore == bore;
      effect met = fit(r, column, 1);
      if (met.gain > best.gain) {
        best = met;
        low = bore;
      }
    }
    eb_finding f = find(r, EB_FINDING_LEAK);
    assert_int_equal(low, planted);
    assert_int_equal(f.bores, 1 << planted);
    assert_same(&f, best.size[0], best.doubt[0], BORES * chance_of(&best));
    eb_evidence_destroy(r->evidence);
  }
}

static void a_vent_that_was_moved(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= SEEDS; seed++) {
    rig *r = begin(seed);
    effect best = {.gain = 0};
    go_round(r, BORES + 1, 0, 0);
    go_round(r, 4, seed % 2 == 0 ? 0.2 : -0.2, 0);
    write_rows(r, true, true);
    for (int from = 1; from < r->count; from++) {
      double column[1][READINGS_MAX];
      for (int t = 0; t < r->count; t++)
        column[0][t] = t >= from;
      effect met = fit(r, column, 1);
      if (met.gain > best.gain)
        best = met;
    }
    eb_finding f = find(r, EB_FINDING_VENT);
    assert_same(&f, best.size[0], best.doubt[0], (r->count - 1) * chance_of(&best));
    eb_evidence_destroy(r->evidence);
  }
}

/* Of all bores alike and of one side against the other, the link's, the first explains more.  What scatters more than
 * was expected widens the doubt behind the probability. */
static void what_warms(void **state)
{
  (void)state;
  double widest = 1, narrowest = INFINITY;
  for (uint64_t seed = 1; seed <= SEEDS; seed++) {
    rig *r = begin(seed);
    r->noise = seed == 1 ? NOISE / 2 : 2 * NOISE;
    double column[1][READINGS_MAX];
    go_round(r, BORES + 1, 0, 0.015);
    go_round(r, BORES + 1, 0, 0.015);
    write_rows(r, true, false);
    for (int t = 0; t < r->count; t++)
      column[0][t] = (double)t / BORES;
    effect slope = fit(r, column, 1);
    eb_finding f = find(r, EB_FINDING_WARMING);
    assert_int_equal(f.adjuster, -1);
    assert_same(&f, slope.size[0], slope.doubt[0], 2 * chance_of(&slope));
    widest = fmax(widest, slope.scale);
    narrowest = fmin(narrowest, slope.scale);
    eb_evidence_destroy(r->evidence);
  }
  assert_true(widest > 1.2);
  assert_near(narrowest, 1, 0);
}

/* Read after each snap: bores 0, 2, 4 and 6, one of each shaft.  What may have moved is 1 link, 2 couplers, 4 bores and
 * their 4 shafts.  The two shifts together have the F of two degrees of freedom. */
static void what_two_snaps_show(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= SEEDS; seed++) {
    rig *r = begin(seed);
    double column[2][READINGS_MAX];
    const eb_adjuster *link = &r->rows.layout.adjuster[0];
    go_round(r, BORES + 1, 0, 0);
    for (int s = 0; s < 2; s++) {
      for (int i = 0; i < BORES; i++)
        r->y[i] += (s == 0 ? 0.1 : -0.25) * eb_adjuster_effect(link, i);
      snap(r, 0x55);
    }
    write_rows(r, false, true);
    for (int t = 0; t < r->count; t++)
      for (int s = 0; s < 2; s++)
        column[s][t] = r->at[t].snaps == s + 1 ? eb_adjuster_effect(link, r->at[t].bore) : 0;
    effect shifts = fit(r, column, 2);
    int larger = fabs(shifts.size[1]) > fabs(shifts.size[0]);
    double degrees = fmin(fmin(shifts.degrees[0], shifts.degrees[1]), 1e4);
    double chance = gsl_cdf_fdist_Q(shifts.gain / (2 * shifts.scale * shifts.scale), 2, degrees);
    eb_finding f = find(r, EB_FINDING_LASH);
    assert_int_equal(f.adjuster, 0);
    assert_same(&f, shifts.size[larger], shifts.doubt[larger], 11 * chance);
    eb_evidence_destroy(r->evidence);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_leak),
      cmocka_unit_test(a_vent_that_was_moved),
      cmocka_unit_test(what_warms),
      cmocka_unit_test(what_two_snaps_show),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
