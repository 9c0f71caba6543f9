#include "evenbore/statistics.h"

#include <assert.h>
#include <float.h>
#include <math.h>
#include <string.h>

/* The weighted system on its way to triangular form: rows x columns, row after
 * row, with the observed values beside it. */
typedef struct linear {
  const eb_host *host;
  size_t rows, columns;
  double *a;
  double *b;
  double *length; /* of each column as it came */
  double *solution;
} linear;

static void clear_linear(linear *l)
{
  void *const blocks[] = {l->a, l->b, l->length, l->solution};
  for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++)
    l->host->allocate(l->host->context, blocks[i], 0);
}

static bool init_linear(linear *l, const eb_host *host, size_t rows, size_t columns)
{
  *l = (linear){.host = host, .rows = rows, .columns = columns};
  l->a = host->allocate(host->context, NULL, rows * columns * sizeof *l->a);
  l->b = host->allocate(host->context, NULL, rows * sizeof *l->b);
  l->length = host->allocate(host->context, NULL, columns * sizeof *l->length);
  l->solution = host->allocate(host->context, NULL, columns * sizeof *l->solution);
  if (l->a != NULL && l->b != NULL && l->length != NULL && l->solution != NULL)
    return true;
  clear_linear(l);
  return false;
}

static double *at(linear *l, size_t row, size_t column)
{
  return &l->a[row * l->columns + column];
}

/* Length of a column from `row` down. */
static double length_below(linear *l, size_t row, size_t column)
{
  double sum = 0;
  for (size_t i = row; i < l->rows; i++)
    sum += *at(l, i, column) * *at(l, i, column);
  return sqrt(sum);
}

static void load(linear *l, const double *design, const double *observed, const double *weights)
{
  for (size_t i = 0; i < l->rows; i++) {
    assert(weights == NULL || weights[i] > 0);
    double root = weights == NULL ? 1 : sqrt(weights[i]);
    l->b[i] = root * observed[i];
    for (size_t j = 0; j < l->columns; j++)
      *at(l, i, j) = root * design[i * l->columns + j];
  }
  for (size_t j = 0; j < l->columns; j++)
    l->length[j] = length_below(l, 0, j);
}

/* Reflects column `step` onto its diagonal, and with it all that stands to the
 * right; its own place below the diagonal holds the reflecting vector, whose first element is `head`. */
static void reflect(linear *l, size_t step)
{
  double length = length_below(l, step, step);
  if (length <= 0)
    return;
  double diagonal = *at(l, step, step);
  double target = diagonal > 0 ? -length : length; /* the sign that does not cancel in the next line */
  double head = diagonal - target;
  double half = -target * head; /* half of the vector's squared length */
  for (size_t j = step + 1; j <= l->columns; j++) {
    bool last = j == l->columns;
    double sum = head * (last ? l->b[step] : *at(l, step, j));
    for (size_t i = step + 1; i < l->rows; i++)
      sum += *at(l, i, step) * (last ? l->b[i] : *at(l, i, j));
    double share = sum / half;
    *(last ? &l->b[step] : at(l, step, j)) -= share * head;
    for (size_t i = step + 1; i < l->rows; i++)
      *(last ? &l->b[i] : at(l, i, j)) -= share * *at(l, i, step);
  }
  *at(l, step, step) = target;
}

/* False where what a column adds to those before it is no more than the rounding of its length. */
static bool triangulate(linear *l)
{
  for (size_t step = 0; step < l->columns; step++) {
    reflect(l, step);
    if (!(fabs(*at(l, step, step)) > l->length[step] * (double)l->rows * DBL_EPSILON))
      return false;
  }
  return true;
}

static void solve(linear *l)
{
  for (size_t j = l->columns; j-- > 0;) {
    double sum = l->b[j];
    for (size_t k = j + 1; k < l->columns; k++)
      sum -= *at(l, j, k) * l->solution[k];
    l->solution[j] = sum / *at(l, j, j);
  }
}

/* Turns the triangle R into its inverse, in place. */
static void invert(linear *l)
{
  for (size_t j = l->columns; j-- > 0;) {
    double inverse = 1 / *at(l, j, j);
    for (size_t k = l->columns; k-- > j + 1;) {
      double sum = 0;
      for (size_t m = j + 1; m <= k; m++)
        sum += *at(l, j, m) * *at(l, m, k);
      *at(l, j, k) = -inverse * sum;
    }
    *at(l, j, j) = inverse;
  }
}

/* (A'WA)^-1 = R^-1 R^-T */
static void take_cofactor(linear *l, double *cofactor)
{
  invert(l);
  for (size_t i = 0; i < l->columns; i++)
    for (size_t j = i; j < l->columns; j++) {
      double sum = 0;
      for (size_t k = j; k < l->columns; k++)
        sum += *at(l, i, k) * *at(l, j, k);
      cofactor[i * l->columns + j] = sum;
      cofactor[j * l->columns + i] = sum;
    }
}

eb_status eb_least_squares(const eb_host *host, const double *design, const double *observed, const double *weights,
                           size_t rows, size_t columns, double *coefficients, double *cofactor, eb_fit *fit,
                           eb_error *error)
{
  assert(columns >= 1 && rows >= columns);
  linear l;
  if (!init_linear(&l, host, rows, columns))
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for least squares of %zu by %zu", rows, columns);
  load(&l, design, observed, weights);
  if (!triangulate(&l)) {
    clear_linear(&l);
    return eb_fail(error, EB_UNSOLVABLE, "", "the %zu columns of the least squares problem depend on one another",
                   columns);
  }
  solve(&l);
  memcpy(coefficients, l.solution, columns * sizeof *coefficients);
  *fit = (eb_fit){.degrees_of_freedom = (int)(rows - columns)};
  for (size_t i = columns; i < rows; i++)
    fit->sum_squares += l.b[i] * l.b[i];
  if (fit->degrees_of_freedom > 0)
    fit->deviation = sqrt(fit->sum_squares / fit->degrees_of_freedom);
  if (cofactor != NULL)
    take_cofactor(&l, cofactor);
  clear_linear(&l);
  return EB_OK;
}
