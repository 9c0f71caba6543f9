/* An engine's readings and moves as one linear system for the GNU Scientific Library: every prior is an observation of
 * its own, and the levels are free. */
#ifndef EVENBORE_TESTS_ENGINE_ROWS_H
#define EVENBORE_TESTS_ENGINE_ROWS_H

#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit.h>

#include "balance/engines.h"

enum { UNKNOWNS_MAX = 300, ROWS_MAX = 600 };

/* Unknowns: bores before work, gains, and for each period its level and drift, for each move its misses.  `now` is
 * what the bores are by now as sums of the unknowns. */
typedef struct engine_rows {
  eb_layout layout;
  int unknowns, rows, level, drift;
  double now[EB_BORES_MAX][UNKNOWNS_MAX];
  double row[ROWS_MAX][UNKNOWNS_MAX], observed[ROWS_MAX], weight[ROWS_MAX];
} engine_rows;

static inline int rows_gain(const engine_rows *e, int adjuster)
{
  return e->layout.bore_count + adjuster;
}

static inline double *rows_observe(engine_rows *e, double observed, double variance)
{
  assert_true(e->rows < ROWS_MAX);
  e->observed[e->rows] = observed;
  e->weight[e->rows] = 1 / variance;
  return e->row[e->rows++];
}

/* An unknown about nothing, of that variance. */
static inline int rows_unknown(engine_rows *e, double variance)
{
  assert_true(e->unknowns < UNKNOWNS_MAX);
  rows_observe(e, 0, variance)[e->unknowns] = 1;
  return e->unknowns++;
}

/* The bores' prior covariance, written out, and made rows of unit variance by Cholesky. */
static inline void rows_prior(engine_rows *e)
{
  int n = e->layout.bore_count;
  gsl_matrix *covariance = gsl_matrix_calloc((size_t)n, (size_t)n);
  for (int a = 0; a < n; a++)
    for (int b = 0; b < n; b++) {
      double sum = a == b ? e->layout.plate_spread * e->layout.plate_spread : 0;
      for (int k = 0; k < e->layout.adjuster_count; k++) {
        const eb_adjuster *adjuster = &e->layout.adjuster[k];
        sum += eb_adjuster_effect(adjuster, a) * eb_adjuster_effect(adjuster, b) * adjuster->spread * adjuster->spread;
      }
      gsl_matrix_set(covariance, (size_t)a, (size_t)b, sum);
    }
  gsl_linalg_cholesky_decomp1(covariance);
  gsl_linalg_tri_lower_invert(covariance);
  for (int a = 0; a < n; a++) {
    double *row = rows_observe(e, 0, 1);
    for (int b = 0; b <= a; b++)
      row[b] = gsl_matrix_get(covariance, (size_t)a, (size_t)b);
  }
  gsl_matrix_free(covariance);
}

static inline void rows_period(engine_rows *e)
{
  e->level = e->unknowns++;
  e->drift = rows_unknown(e, 0.015 * 0.015);
}

static inline void rows_begin(engine_rows *e, const char *text)
{
  memset(e, 0, sizeof *e);
  assert_int_equal(engine_read(text, &e->layout, NULL), EB_OK);
  e->unknowns = e->layout.bore_count + e->layout.adjuster_count;
  for (int i = 0; i < e->layout.bore_count; i++)
    e->now[i][i] = 1;
  rows_prior(e);
  for (int k = 0; k < e->layout.adjuster_count; k++)
    rows_observe(e, e->layout.adjuster[k].gain,
                 e->layout.adjuster[k].gain_spread * e->layout.adjuster[k].gain_spread)[rows_gain(e, k)] = 1;
  rows_period(e);
}

static inline void rows_reading(engine_rows *e, int bore, double passes, double value, double variance)
{
  double *row = rows_observe(e, value, variance);
  memcpy(row, e->now[bore], sizeof e->now[bore]);
  row[e->level] += 1;
  row[e->drift] += passes;
}

/* Another start: all adjusters of several bores close a hair differently. */
static inline void rows_start_again(engine_rows *e)
{
  rows_period(e);
  for (int k = 0; k < e->layout.adjuster_count; k++) {
    const eb_adjuster *adjuster = &e->layout.adjuster[k];
    eb_bores touched = adjuster->first | adjuster->second;
    if ((touched & (touched - 1)) == 0)
      continue;
    int closes = rows_unknown(e, 1);
    for (int i = 0; i < e->layout.bore_count; i++)
      e->now[i][closes] += 0.004 * eb_adjuster_effect(adjuster, i);
  }
}

static inline void rows_move(engine_rows *e, int adjuster, double size)
{
  const eb_adjuster *moved = &e->layout.adjuster[adjuster];
  int along = rows_unknown(e, 1), alike = rows_unknown(e, 1);
  for (int i = 0; i < e->layout.bore_count; i++) {
    double effect = eb_adjuster_effect(moved, i);
    e->now[i][rows_gain(e, adjuster)] += effect * size;
    e->now[i][along] += effect * sqrt(0.15 * 0.15 * size * size + 0.008 * 0.008);
    bool touched = (moved->first | moved->second) >> i & 1;
    if (touched)
      e->now[i][alike] += 0.12 * fabs(size);
    e->now[i][rows_unknown(e, 1)] += touched ? 0.006 : sqrt(0.015 * 0.015 * size * size + 0.001 * 0.001);
  }
}

/* Least squares: the unknowns and their covariance, of `unknowns` elements and as many rows of as many, and the
 * weighted sum of squares that is left. */
static inline double rows_fit(const engine_rows *e, gsl_vector *x, gsl_matrix *covariance)
{
  size_t rows = (size_t)e->rows, unknowns = (size_t)e->unknowns;
  gsl_matrix *design = gsl_matrix_alloc(rows, unknowns);
  gsl_vector_const_view y = gsl_vector_const_view_array(e->observed, rows);
  gsl_vector_const_view w = gsl_vector_const_view_array(e->weight, rows);
  gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(rows, unknowns);
  double chi2;
  for (size_t r = 0; r < rows; r++)
    for (size_t u = 0; u < unknowns; u++)
      gsl_matrix_set(design, r, u, e->row[r][u]);
  assert_int_equal(gsl_multifit_wlinear(design, &w.vector, &y.vector, x, covariance, &chi2, work), 0);
  gsl_multifit_linear_free(work);
  gsl_matrix_free(design);
  return chi2;
}

#endif
