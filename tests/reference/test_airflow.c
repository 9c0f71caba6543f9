/* Gas flow and the air outside against NACA Report 1135, the formulas of NASA
 * Glenn and Heywood, ISO 2533 and CIPM-2007: each table names its source. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "table.h"

#include "evenbore/airflow.h"

static double last_digit(const char *number)
{
  const char *point = strchr(number, '.');
  return pow(10, point == NULL ? 0 : -(double)strlen(point + 1));
}

/* The throat's area over the area of the stream, at a pressure ratio, is the flow function there over its greatest
 * value.  Both columns are rounded, so the table's span must meet the function's. */
static void check_throat(const table *t, int row, const char *ratio_column, const char *area_column)
{
  eb_gas air = eb_gas_air();
  const char *ratio_text = table_text(t, row, ratio_column);
  double ratio = table_number(t, row, ratio_column);
  double area = table_number(t, row, area_column);
  double half = 0.5 * last_digit(ratio_text);
  double half_area = 0.5 * last_digit(table_text(t, row, area_column));
  double greatest = eb_gas_flow_function(&air, 0);
  double most = eb_gas_flow_function(&air, fmax(ratio - half, 0)) / greatest;
  double least = eb_gas_flow_function(&air, fmin(ratio + half, 1)) / greatest;
  if (!(1 / (area + half_area) <= most * (1 + 1e-11) && 1 / (area - half_area) >= least * (1 - 1e-11)))
    fail_msg("%s row %d, %s: 1/%g is not within %.12g to %.12g", t->name, row + 1, ratio_column, area, least, most);
}

static void isentropic_table_of_naca_1135(void **state)
{
  (void)state;
  table t = table_read("isentropic_air.csv");
  int subsonic = 0;
  for (int i = 0; i < t.rows; i++) {
    if (table_number(&t, i, "mach") > 1)
      continue; /* a plain opening does not reach them */
    check_throat(&t, i, "p_pt_published", "a_astar_published");
    check_throat(&t, i, "p_pt", "a_astar");
    subsonic++;
  }
  assert_true(subsonic >= 20);
  table_clear(&t);
}

static void flow_stays_at_its_greatest_beyond_mach_1(void **state)
{
  (void)state;
  eb_gas air = eb_gas_air();
  table t = table_read("isentropic_air.csv");
  for (int i = 0; i < t.rows; i++)
    if (table_number(&t, i, "mach") > 1)
      assert_near("flow below the critical ratio", eb_gas_flow_function(&air, table_number(&t, i, "p_pt")),
                  0.684731456377, 1e-11);
  assert_rounds_to("critical pressure ratio", eb_gas_critical_ratio(&air), "0.5283"); /* NACA Report 1135, table I */
  table_clear(&t);
}

static void choked_constants(void **state)
{
  (void)state;
  table t = table_read("choked_constants.csv");
  int checked = 0;
  for (int i = 0; i < t.rows; i++) {
    const char *name = table_text(&t, i, "name");
    double value = table_number(&t, i, "value");
    double constant = table_number(&t, i, "r_j_per_kg_k");
    eb_gas gas = {table_number(&t, i, "gamma"), isnan(constant) ? 287 : constant};
    eb_orifice hole = {.area_mm2 = 1e6, .discharge = 1, .upstream_pa = 1, .upstream_k = 1};
    eb_mass_flow flow;
    assert_int_equal(eb_gas_mass_flow(&gas, &hole, &flow, NULL), EB_OK);
    checked++;
    if (strcmp(name, "critical_pressure_ratio") == 0)
      assert_near(name, eb_gas_critical_ratio(&gas), value, 1e-11);
    else if (strcmp(name, "mass_flow_parameter") == 0)
      assert_near(name, eb_gas_flow_function(&gas, 0.1), value, 1e-11);
    else if (strcmp(name, "k_factor") == 0)
      assert_near(name, flow.kg_h / 3600, value, 1e-11);
    else
      checked--; /* the critical temperature ratio is not something that the room computes */
  }
  assert_int_equal(checked, t.rows - 1);
  table_clear(&t);
}

static void flow_function(void **state)
{
  (void)state;
  table t = table_read("flow_function.csv");
  for (int i = 0; i < t.rows; i++) {
    eb_gas gas = {table_number(&t, i, "gamma"), 287};
    double ratio = table_number(&t, i, "r");
    assert_near("flow function", eb_gas_flow_function(&gas, ratio), table_number(&t, i, "psi"), 1e-11);
    assert_int_equal(ratio <= eb_gas_critical_ratio(&gas), (int)table_number(&t, i, "choked"));
  }
  table_clear(&t);
}

static void mass_flow(void **state)
{
  (void)state;
  eb_gas air = eb_gas_air();
  table t = table_read("mass_flow.csv");
  for (int i = 0; i < t.rows; i++) {
    eb_orifice hole = {.area_mm2 = table_number(&t, i, "area_mm2"),
                       .discharge = table_number(&t, i, "cd"),
                       .upstream_pa = table_number(&t, i, "p0_pa"),
                       .upstream_k = table_number(&t, i, "t0_k"),
                       .downstream_pa = table_number(&t, i, "p_pa")};
    eb_mass_flow flow;
    assert_int_equal(eb_gas_mass_flow(&air, &hole, &flow, NULL), EB_OK);
    assert_near("mass flow", flow.kg_h, table_number(&t, i, "mdot_kg_h"), 1e-11);
    assert_int_equal(flow.choked, (int)table_number(&t, i, "choked"));
  }
  table_clear(&t);
}

static void standard_atmosphere(void **state)
{
  (void)state;
  table t = table_read("standard_atmosphere.csv");
  for (int i = 0; i < t.rows; i++) {
    eb_atmosphere air;
    assert_int_equal(eb_atmosphere_at(table_number(&t, i, "h_geopotential_m"), &air, NULL), EB_OK);
    assert_near("temperature", air.temperature_k, table_number(&t, i, "t_k_published"), 1e-5);
    assert_near("pressure", air.pressure_pa / 100, table_number(&t, i, "p_hpa_published"), 1e-5);
    assert_near("density", air.density_kg_m3, table_number(&t, i, "rho_published"), 1e-5);
    if (isnan(table_number(&t, i, "p_pa")))
      continue;
    assert_near("temperature", air.temperature_k, table_number(&t, i, "t_k"), 1e-9);
    assert_near("pressure", air.pressure_pa, table_number(&t, i, "p_pa"), 1e-9);
    assert_near("density", air.density_kg_m3, table_number(&t, i, "rho_kg_m3"), 1e-9);
  }
  table_clear(&t);
}

static void density_of_moist_air(void **state)
{
  (void)state;
  table t = table_read("air_density.csv");
  for (int i = 0; i < t.rows; i++) {
    double temperature_k = table_number(&t, i, "t_degc") + 273.15;
    double pressure_pa = table_number(&t, i, "p_pa");
    double density;
    assert_int_equal(eb_air_density(pressure_pa, temperature_k, table_number(&t, i, "rh"), &density, NULL), EB_OK);
    assert_near("moist air", density, table_number(&t, i, "rho_cipm2007"), 1e-3);
    assert_int_equal(eb_air_density(pressure_pa, temperature_k, 0, &density, NULL), EB_OK);
    assert_near("dry air", density, table_number(&t, i, "rho_ideal_dry"), 1e-7);
  }
  table_clear(&t);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(isentropic_table_of_naca_1135),
      cmocka_unit_test(flow_stays_at_its_greatest_beyond_mach_1),
      cmocka_unit_test(choked_constants),
      cmocka_unit_test(flow_function),
      cmocka_unit_test(mass_flow),
      cmocka_unit_test(standard_atmosphere),
      cmocka_unit_test(density_of_moist_air),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
