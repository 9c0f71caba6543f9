/* Least squares against NIST StRD, drift-free comparison designs and GSL. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <gsl/gsl_multifit.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "evenbore/statistics.h"
#include "table.h"

enum { COLUMNS_MAX = 8 };

typedef struct fitted {
  double coefficient[COLUMNS_MAX];
  double cofactor[COLUMNS_MAX * COLUMNS_MAX];
  size_t columns;
  eb_fit fit;
} fitted;

/* Standard deviation of a coefficient. */
static double deviation_of(const fitted *f, size_t j)
{
  return f->fit.deviation * sqrt(f->cofactor[j * f->columns + j]);
}

/* Fits column y of a table by the columns x, x1, x2, ..., with a first column of ones where `constant`. */
static fitted fit_table(const char *name, size_t columns, bool constant)
{
  table t = table_read(name);
  double *y = table_column(&t, "y");
  double *design = malloc((size_t)t.rows * columns * sizeof *design);
  assert_non_null(design);
  for (int i = 0; i < t.rows; i++)
    for (size_t j = 0; j < columns; j++) {
      char column[8];
      snprintf(column, sizeof column, t.columns == 2 ? "x" : "x%zu", j);
      design[(size_t)i * columns + j] = constant && j == 0 ? 1 : table_number(&t, i, column);
    }
  fitted f = {.columns = columns};
  assert_int_equal(eb_least_squares(eb_host_system(), design, y, NULL, (size_t)t.rows, columns, f.coefficient,
                                    f.cofactor, &f.fit, NULL),
                   EB_OK);
  free(design);
  free(y);
  table_clear(&t);
  return f;
}

/* NIST StRD, linear regression, Norris (read). */
static void strd_norris(void **state)
{
  (void)state;
  fitted f = fit_table("strd_reg_Norris.csv", 2, true);
  assert_near("B0", f.coefficient[0], -0.262323073774029, 1e-10);
  assert_near("B1", f.coefficient[1], 1.00211681802045, 1e-10);
  assert_near("sd of B0", deviation_of(&f, 0), 0.232818234301152, 1e-10);
  assert_near("sd of B1", deviation_of(&f, 1), 0.000429796848199937, 1e-10);
  assert_near("residual sd", f.fit.deviation, 0.884796396144373, 1e-10);
  assert_near("residual SS", f.fit.sum_squares, 26.6173985294224, 1e-10);
  assert_int_equal(f.fit.degrees_of_freedom, 34);
}

/* NIST StRD, linear regression through zero, NoInt1 (read). */
static void strd_no_intercept(void **state)
{
  (void)state;
  fitted f = fit_table("strd_reg_NoInt1.csv", 1, false);
  assert_near("B1", f.coefficient[0], 2.07438016528926, 1e-13);
  assert_near("sd of B1", deviation_of(&f, 0), 0.0165289256198347, 1e-10);
  assert_near("residual sd", f.fit.deviation, 3.56753034006338, 1e-10);
  assert_int_equal(f.fit.degrees_of_freedom, 10);
}

/* NIST StRD, multiple regression with nearly dependent columns, Longley (read in the GSL tests). */
static void strd_longley(void **state)
{
  (void)state;
  static const double certified[7][2] = {
      {-3482258.63459582, 890420.383607373},     {15.0618722713733, 84.9149257747669},
      {-0.0358191792925910, 0.0334910077722432}, {-2.02022980381683, 0.488399681651699},
      {-1.03322686717359, 0.214274163161675},    {-0.0511041056535807, 0.226073200069370},
      {1829.15146461355, 455.478499142212},
  };
  fitted f = fit_table("strd_reg_Longley.csv", 7, true);
  for (size_t j = 0; j < 7; j++) {
    assert_near("coefficient", f.coefficient[j], certified[j][0], 1e-7);
    assert_near("its sd", deviation_of(&f, j), certified[j][1], 1e-7);
  }
  assert_near("residual sd", f.fit.deviation, 304.854073561965, 1e-9);
  assert_near("residual SS", f.fit.sum_squares, 836424.055505915, 1e-9);
  assert_int_equal(f.fit.degrees_of_freedom, 9);
}

/* NIST/SEMATECH e-Handbook 2.3.3.1.2 (read): X R R X at equal times, a linear drift taken out.  The readings agree with
 * a drift exactly, so that least squares must give the page's difference and drift. */
static void drift_of_a_closed_comparison(void **state)
{
  (void)state;
  table t = table_read("drift_abba.csv");
  /* X, R, drift; times in half-steps */
  static const double design[] = {1, 0, -3, 0, 1, -1, 0, 1, 1, 1, 0, 3};
  for (int i = 0; i < t.rows; i++) {
    const double y[] = {table_number(&t, i, "y1"), table_number(&t, i, "y2"), table_number(&t, i, "y3"),
                        table_number(&t, i, "y4")};
    double x[3];
    eb_fit fit;
    assert_int_equal(eb_least_squares(eb_host_system(), design, y, NULL, 4, 3, x, NULL, &fit, NULL), EB_OK);
    assert_true(fabs(x[0] - x[1] - table_number(&t, i, "difference")) < 1e-12);
    assert_true(fabs(x[2] - table_number(&t, i, "drift")) < 1e-12);
    assert_true(fit.deviation < 1e-12);
  }
  table_clear(&t);
}

/* NIST/SEMATECH e-Handbook 2.3.4.2.12 (read): eight differences among four items, drift eliminated, items 1 and 2
 * known to sum up to R = 20.  Half of their difference, items 3 and 4 and the drift are sought. */
static void drift_free_design(void **state)
{
  (void)state;
  table t = table_read("drift_design_4.csv");
  double design[8 * 4];
  double y[8];
  static const char *const multipliers[] = {"s1", "s2", "s3", "s4", "sdrift"};
  double page[5] = {10, 10, 10, 10, 0}; /* R/2 and the page's multipliers over 168 */
  assert_int_equal(t.rows, 8);
  for (int i = 0; i < 8; i++) {
    double d1 = table_number(&t, i, "d1");
    double d2 = table_number(&t, i, "d2");
    design[4 * i] = d1 - d2;
    design[4 * i + 1] = table_number(&t, i, "d3");
    design[4 * i + 2] = table_number(&t, i, "d4");
    design[4 * i + 3] = table_number(&t, i, "t");
    double observed = table_number(&t, i, "y");
    y[i] = observed - 10 * (d1 + d2);
    for (int j = 0; j < 5; j++)
      page[j] += table_number(&t, i, multipliers[j]) * observed / 168;
  }
  double x[4];
  double cofactor[16];
  eb_fit fit;
  assert_int_equal(eb_least_squares(eb_host_system(), design, y, NULL, 8, 4, x, cofactor, &fit, NULL), EB_OK);
  const double items[] = {10 + x[0], 10 - x[0], x[1], x[2], x[3]};
  static const double computed[] = {10.10333333, 9.896666667, 10.41333333, 9.596666667, 0.02943452381};
  for (int j = 0; j < 5; j++) {
    assert_near("item", items[j], page[j], 1e-10);
    assert_near("item", items[j], computed[j], 1e-9);
  }
  assert_near("residual sd", fit.deviation, 0.010660829, 1e-7);
  assert_int_equal(fit.degrees_of_freedom, 4);
  assert_rounds_to("factor of items 1 and 2", sqrt(cofactor[0]), "0.3227");
  assert_rounds_to("factor of item 3", sqrt(cofactor[5]), "0.5204");
  assert_rounds_to("factor of item 4", sqrt(cofactor[10]), "0.5204");
  table_clear(&t);
}

static void compare_with_gsl(gsl_rng *random, size_t rows, size_t columns)
{
  double design[40 * COLUMNS_MAX];
  double y[40];
  double w[40];
  gsl_matrix *a = gsl_matrix_alloc(rows, columns);
  gsl_vector *b = gsl_vector_alloc(rows);
  gsl_vector *weights = gsl_vector_alloc(rows);
  for (size_t i = 0; i < rows; i++) {
    for (size_t j = 0; j < columns; j++) {
      design[i * columns + j] = gsl_ran_gaussian(random, 1) * pow(10, (double)j - 3);
      gsl_matrix_set(a, i, j, design[i * columns + j]);
    }
    y[i] = gsl_ran_gaussian(random, 1);
    w[i] = exp(gsl_ran_gaussian(random, 1));
    gsl_vector_set(b, i, y[i]);
    gsl_vector_set(weights, i, w[i]);
  }
  gsl_vector *x = gsl_vector_alloc(columns);
  gsl_matrix *covariance = gsl_matrix_alloc(columns, columns);
  gsl_multifit_linear_workspace *space = gsl_multifit_linear_alloc(rows, columns);
  double squares = 0;
  gsl_multifit_wlinear(a, weights, b, x, covariance, &squares, space);

  fitted f = {.columns = columns};
  assert_int_equal(
      eb_least_squares(eb_host_system(), design, y, w, rows, columns, f.coefficient, f.cofactor, &f.fit, NULL), EB_OK);
  for (size_t j = 0; j < columns; j++) {
    double doubt = sqrt(gsl_matrix_get(covariance, j, j));
    assert_true(fabs(f.coefficient[j] - gsl_vector_get(x, j)) < 1e-10 * doubt);
    for (size_t k = 0; k < columns; k++)
      assert_true(fabs(f.cofactor[j * columns + k] - gsl_matrix_get(covariance, j, k)) <
                  1e-10 * doubt * sqrt(gsl_matrix_get(covariance, k, k)));
  }
  if (rows > columns)
    assert_near("sum of squares", f.fit.sum_squares, squares, 1e-10);
  gsl_multifit_linear_free(space);
  gsl_matrix_free(covariance);
  gsl_vector_free(x);
  gsl_vector_free(weights);
  gsl_vector_free(b);
  gsl_matrix_free(a);
}

/* GSL is the oracle: 200 weighted problems from one seed, up to 40 by 8, columns of very different size. */
static void weighted_problems_agree_with_gsl(void **state)
{
  (void)state;
  gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
  gsl_rng_set(random, 20240607);
  for (int i = 0; i < 200; i++) {
    size_t columns = 1 + gsl_rng_uniform_int(random, COLUMNS_MAX);
    compare_with_gsl(random, columns + 1 + gsl_rng_uniform_int(random, 40 - columns), columns);
  }
  gsl_rng_free(random);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(strd_norris),       cmocka_unit_test(strd_no_intercept),
      cmocka_unit_test(strd_longley),      cmocka_unit_test(drift_of_a_closed_comparison),
      cmocka_unit_test(drift_free_design), cmocka_unit_test(weighted_problems_agree_with_gsl),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
