/* Unit factors against NIST SP 811, appendix B.8 (read). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenbore/quantity.h"
#include "table.h"

static double convert(eb_quantity quantity, double value, const char *from, const char *to)
{
  double converted = NAN;
  eb_error error = {0};
  if (eb_unit_convert(quantity, value, from, to, &converted, &error) != EB_OK)
    fail_msg("%s", error.message);
  return converted;
}

static const struct {
  const char *row; /* of the table */
  eb_quantity quantity;
  const char *unit, *si;
  double si_factor; /* of `si` in the table's SI unit */
} known[] = {
    {"inch", EB_LENGTH, "in", "m", 1},
    {"mil (thou)", EB_LENGTH, "thou", "m", 1},
    {"psi", EB_PRESSURE, "psi", "Pa", 1},
    {"inch of mercury (conventional)", EB_PRESSURE, "inHg", "Pa", 1},
    {"millimetre of mercury (conventional)", EB_PRESSURE, "mmHg", "Pa", 1},
    {"standard atmosphere", EB_PRESSURE, "atm", "Pa", 1},
    {"bar", EB_PRESSURE, "bar", "Pa", 1},
    {"hectopascal", EB_PRESSURE, "hPa", "Pa", 1},
    {"pound per hour", EB_FLOW, "lb/h", "g/s", 1e-3},
    {"degree (angle)", EB_ANGLE, "deg", "rad", 1},
};

static int row_of(const table *t, const char *unit)
{
  for (int i = 0; i < t->rows; i++)
    if (strcmp(table_text(t, i, "unit"), unit) == 0)
      return i;
  fail_msg("the table has no %s", unit);
  return -1;
}

static void factors_to_si(void **state)
{
  (void)state;
  table t = table_read("units.csv");
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    int row = row_of(&t, known[i].row);
    double factor = known[i].si_factor * convert(known[i].quantity, 1, known[i].unit, known[i].si);
    assert_near(known[i].row, factor, table_number(&t, row, "factor"), 1e-15);
    assert_near(known[i].row, factor, table_number(&t, row, "sp811"), 5e-7);
    double back = convert(known[i].quantity, 1, known[i].si, known[i].unit) / known[i].si_factor;
    assert_near(known[i].row, 1 / back, table_number(&t, row, "factor"), 1e-15);
  }
  table_clear(&t);
}

/* NIST SP 811, B.8: degF and K by their defining equations; the further figures stand in the table's head. */
static void fixed_points(void **state)
{
  (void)state;
  assert_near("68 F", convert(EB_TEMPERATURE, 68, "F", "C"), 20, 0);
  assert_near("-40 F", convert(EB_TEMPERATURE, -40, "F", "C"), -40, 0);
  assert_near("20 C", convert(EB_TEMPERATURE, 20, "C", "K"), 293.15, 0);
  assert_near("293.15 K", convert(EB_TEMPERATURE, 293.15, "K", "F"), 68, 1e-14);
  assert_near("212 F", convert(EB_TEMPERATURE, 212, "F", "K"), 373.15, 1e-15);
  assert_near("29.92 inHg", convert(EB_PRESSURE, 29.92, "inHg", "Pa"), 101320.748119, 1e-11);
  assert_near("1 kg/h", convert(EB_FLOW, 1, "kg/h", "lb/h"), 2.20462262185, 1e-11);
  assert_near("1 in", convert(EB_LENGTH, 1, "in", "mm"), 25.4, 0);
  assert_near("1000 thou", convert(EB_LENGTH, 1000, "thou", "in"), 1, 0);
  assert_near("1 turn", convert(EB_ANGLE, 1, "turn", "rad"), 2 * 3.141592653589793, 1e-15);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(factors_to_si), cmocka_unit_test(fixed_points)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
