/* Analysis of variance against NIST StRD, the NIST/SEMATECH e-Handbook and textbooks. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenbore/statistics.h"
#include "table.h"

/* A number for each different text of a column, in the order of appearance. */
static int group_of(const table *t, int row, const char *column)
{
  int first = 0;
  while (strcmp(table_text(t, first, column), table_text(t, row, column)) != 0)
    first++;
  return first;
}

static eb_anova analyse_table(const table *t, const char *values, int levels, const char *const *columns)
{
  double *y = table_column(t, values);
  int *groups = malloc((size_t)t->rows * (size_t)levels * sizeof *groups);
  assert_non_null(groups);
  for (int i = 0; i < t->rows; i++)
    for (int k = 0; k < levels; k++)
      groups[i * levels + k] = group_of(t, i, columns[k]);
  eb_anova anova = {0};
  assert_int_equal(eb_anova_nested(eb_host_system(), y, groups, (size_t)t->rows, levels, &anova, NULL), EB_OK);
  free(groups);
  free(y);
  return anova;
}

static eb_anova analyse(const char *name, const char *values, int levels, const char *const *columns)
{
  table t = table_read(name);
  eb_anova anova = analyse_table(&t, values, levels, columns);
  table_clear(&t);
  return anova;
}

static void check_certified(const table *certified, int row, const eb_anova *got)
{
  const char *name = table_text(certified, row, "dataset");
  double digits = table_number(certified, row, "digits");
  assert_int_equal(got->line[0].degrees_of_freedom, (int)table_number(certified, row, "df_between"));
  assert_int_equal(got->line[1].degrees_of_freedom, (int)table_number(certified, row, "df_within"));
  assert_digits(name, got->line[0].sum_squares, table_number(certified, row, "ss_between"), digits);
  assert_digits(name, got->line[0].mean_square, table_number(certified, row, "ms_between"), digits);
  assert_digits(name, got->line[1].sum_squares, table_number(certified, row, "ss_within"), digits);
  assert_digits(name, got->line[1].mean_square, table_number(certified, row, "ms_within"), digits);
  assert_digits(name, got->line[0].f, table_number(certified, row, "f"), digits);
  assert_digits(name, got->r2, table_number(certified, row, "r2"), digits);
  assert_digits(name, sqrt(got->line[1].mean_square), table_number(certified, row, "residual_sd"), digits);
}

static int row_of(const table *t, const char *dataset)
{
  for (int i = 0; i < t->rows; i++)
    if (strcmp(table_text(t, i, "dataset"), dataset) == 0)
      return i;
  fail_msg("%s has no row %s", t->name, dataset);
  return -1;
}

/* NIST StRD, one-way analysis of variance (read).  The digits asked for are those that double precision leaves in the
 * data: the Simon-Lesage sets 04 and 05 stand on a level of 1e6. */
static void strd_one_way(void **state)
{
  (void)state;
  static const char *const sets[] = {"SiRstv", "SmLs01", "SmLs04", "SmLs05"};
  table certified = table_read("strd_anova_certified.csv");
  for (size_t i = 0; i < sizeof sets / sizeof sets[0]; i++) {
    char name[64];
    snprintf(name, sizeof name, "strd_anova_%s.csv", sets[i]);
    eb_anova got = analyse(name, "y", 1, (const char *const[]){"treatment"});
    check_certified(&certified, row_of(&certified, sets[i]), &got);
  }
  table_clear(&certified);
}

/* The Simon-Lesage sets by NIST's rule: nine treatments at a level c, replicates 0.1 above and below their mean. */
static eb_anova simon_lesage(double c, int replicates)
{
  static double y[9 * 201];
  static int groups[9 * 201];
  int count = 0;
  for (int treatment = 1; treatment <= 9; treatment++) {
    double tenths = treatment == 1 ? 4 : treatment % 2 == 0 ? 3 : 5;
    for (int j = 0; j < replicates; j++, count++) {
      y[count] = c + (tenths + (j == 0 ? 0 : j % 2 == 1 ? -1 : 1)) / 10;
      groups[count] = treatment;
    }
  }
  eb_anova anova = {0};
  assert_int_equal(eb_anova_nested(eb_host_system(), y, groups, (size_t)count, 1, &anova, NULL), EB_OK);
  return anova;
}

/* NIST StRD (certified values and rule read): SmLs08 stands on a level of 1e12, where double precision leaves
 * three digits. */
static void strd_one_way_by_rule(void **state)
{
  (void)state;
  table certified = table_read("strd_anova_certified.csv");
  eb_anova easy = simon_lesage(1, 201);
  check_certified(&certified, row_of(&certified, "SmLs02"), &easy);
  eb_anova average = simon_lesage(1e6, 201);
  check_certified(&certified, row_of(&certified, "SmLs05"), &average);
  eb_anova hard = simon_lesage(1e12, 201);
  check_certified(&certified, row_of(&certified, "SmLs08"), &hard);
  table_clear(&certified);
}

/* NIST/SEMATECH e-Handbook 7.4.2.3 (sums and F read: SST 27.897, MST 13.949, F 9.59; the data from memory, which
 * give them). */
static void one_way_by_hand(void **state)
{
  (void)state;
  eb_anova got = analyse("oneway_nist_prc.csv", "y", 1, (const char *const[]){"level"});
  assert_rounds_to("SST", got.line[0].sum_squares, "27.897");
  assert_rounds_to("MST", got.line[0].mean_square, "13.949");
  assert_rounds_to("F", got.line[0].f, "9.59");
  assert_near("SSE", got.line[1].sum_squares, 17.452, 1e-10);
  assert_near("F", got.line[0].f, 9.59110703644, 1e-10);
  assert_near("p", got.line[0].p, 0.00324822260086, 1e-10);
}

/* NIST/SEMATECH e-Handbook 1.3.5.4 (data read, F 2.2969 from memory, p computed). */
static void one_way_gear(void **state)
{
  (void)state;
  eb_anova got = analyse("oneway_nist_gear.csv", "diameter_in", 1, (const char *const[]){"batch"});
  assert_rounds_to("F", got.line[0].f, "2.2969");
  assert_near("F", got.line[0].f, 2.29691241336, 1e-9);
  assert_near("p", got.line[0].p, 0.0226608192786, 1e-9);
}

/* Davies 1947 (data read; variances 1764 and 2451 published with them, from memory; the rest computed). */
static void one_way_random(void **state)
{
  (void)state;
  eb_anova got = analyse("oneway_random_dyestuff.csv", "y", 1, (const char *const[]){"batch"});
  assert_near("mean", got.mean, 1527.5, 1e-14);
  assert_near("SS batch", got.line[0].sum_squares, 56357.5, 1e-10);
  assert_near("SS residual", got.line[1].sum_squares, 58830, 1e-10);
  assert_near("F", got.line[0].f, 4.59826619072, 1e-10);
  assert_true(got.balanced);
  assert_near("batch variance", got.line[0].component, 1764.05, 1e-10);
  assert_near("residual variance", got.line[1].component, 2451.25, 1e-10);
  assert_rounds_to("batch variance", got.line[0].component, "1764");
  assert_rounds_to("residual variance", got.line[1].component, "2451");
}

typedef struct expected_line {
  int df;
  double sum_squares, f, p, component;
} expected_line;

static void check_lines(const char *name, const eb_anova *got, const expected_line *want)
{
  for (int k = 0; k <= got->levels; k++) {
    const eb_anova_line *line = &got->line[k];
    assert_int_equal(line->degrees_of_freedom, want[k].df);
    assert_near(name, line->sum_squares, want[k].sum_squares, 1e-10);
    assert_int_equal(line->tested, k < got->levels);
    if (k < got->levels && want[k].f > 0) {
      assert_near(name, line->f, want[k].f, 1e-10);
      assert_near(name, line->p, want[k].p, 1e-8);
    }
    if (got->balanced)
      assert_near(name, line->component, want[k].component, 1e-9);
  }
}

/* Doncaster and Davey 2007, model 2.2 (data and table read; more digits computed with R aov): the shape of side, pair
 * and bore with two readings each. */
static void nested_three_levels(void **state)
{
  (void)state;
  eb_anova got = analyse("nested3_balanced_dd22.csv", "y", 3, (const char *const[]){"a", "b", "c"});
  static const expected_line want[] = {
      {2, 745.36030629083, 4.02146005731, 0.141597630657, 35.0009132515},
      {3, 278.01854140125, 5.24145979758, 0.0410125582079, 18.7480287279},
      {6, 106.08439333250, 2.86343165749, 0.0571286507154, 5.75303343875},
      {12, 74.09598413500, 0, 1, 6.17466534458},
  };
  assert_true(got.balanced);
  check_lines("nested3_balanced_dd22", &got, want);
  static const char *const published[][4] = {{"745.36", "372.68", "4.02", "0.142"},
                                             {"278.02", "92.67", "5.24", "0.041"},
                                             {"106.08", "17.68", "2.86", "0.057"}};
  for (int k = 0; k < 3; k++) {
    assert_rounds_to("SS", got.line[k].sum_squares, published[k][0]);
    assert_rounds_to("MS", got.line[k].mean_square, published[k][1]);
    assert_rounds_to("F", got.line[k].f, published[k][2]);
    assert_rounds_to("p", got.line[k].p, published[k][3]);
  }
  assert_rounds_to("residual SS", got.line[3].sum_squares, "74.10");
}

/* Rows of the same without four of them; sequential sums of squares computed with R aov, nothing published. */
static void nested_unequal_cells(void **state)
{
  (void)state;
  eb_anova got = analyse("nested3_unbalanced.csv", "y", 3, (const char *const[]){"a", "b", "c"});
  assert_false(got.balanced);
  static const expected_line want[] = {
      {2, 430.769296836929, 0, 1, 0},
      {3, 185.220125945238, 0, 1, 0},
      {5, 93.2316559583333, 0, 1, 0},
      {9, 57.5537499050, 0, 1, 0},
  };
  check_lines("nested3_unbalanced", &got, want);
  for (int k = 0; k <= 3; k++)
    assert_true(fabs(got.line[k].component) <= 0);
}

/* NIST/SEMATECH e-Handbook 3.2.3.3 (data read; table from memory, its unrounded values computed with R aov): two
 * levels, the lower with a variance component below 0. */
static void nested_machine_operator(void **state)
{
  (void)state;
  eb_anova got = analyse("nested2_nist_machine_operator.csv", "y", 2, (const char *const[]){"machine", "operator"});
  static const expected_line want[] = {
      {4, 3.0332e-04, 20.3844086022, 0.00269263023, 7.211e-06},
      {5, 1.8600e-05, 0.430057803468, 0.824930377648, -9.86e-07},
      {40, 3.4600e-04, 0, 1, 8.65e-06},
  };
  check_lines("nested2_nist_machine_operator", &got, want);
}

/* NIST/SEMATECH e-Handbook 3.5.2 (data read; analysed as a hierarchy, computed with R aov). */
static void nested_machine_day_time(void **state)
{
  (void)state;
  eb_anova got = analyse("nested3_nist_machine.csv", "y", 3, (const char *const[]){"machine", "day", "time"});
  static const expected_line want[] = {
      {2, 1.10754777777777e-04, 48.3012550274, 0.00019997688301, 9.03848148148e-07},
      {6, 6.87900000000e-06, 1.78892163662, 0.207715123346, 2.52805555556e-08},
      {9, 5.76800000000e-06, 0.330677062432, 0.963803234819, -1.29722222222e-07},
      {162, 3.13974000000e-04, 0, 1, 1.93811111111e-06},
  };
  check_lines("nested3_nist_machine", &got, want);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(strd_one_way),
      cmocka_unit_test(strd_one_way_by_rule),
      cmocka_unit_test(one_way_by_hand),
      cmocka_unit_test(one_way_gear),
      cmocka_unit_test(one_way_random),
      cmocka_unit_test(nested_three_levels),
      cmocka_unit_test(nested_unequal_cells),
      cmocka_unit_test(nested_machine_operator),
      cmocka_unit_test(nested_machine_day_time),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
