#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/airflow.h"

static void flow_does_not_jump_where_it_chokes(void **state)
{
  (void)state;
  eb_gas air = eb_gas_air();
  double critical = eb_gas_critical_ratio(&air);
  double choked = eb_gas_flow_function(&air, critical);
  assert_true(fabs(eb_gas_flow_function(&air, critical + 1e-9) - choked) < 1e-12);
  assert_true(eb_gas_flow_function(&air, 0) == choked);
  assert_true(eb_gas_flow_function(&air, 1) == 0);
  double last = choked;
  for (int i = 1; i <= 50; i++) {
    double now = eb_gas_flow_function(&air, critical + (1 - critical) * i / 50.0);
    assert_true(now < last);
    last = now;
  }
}

static void a_small_pressure_drop_flows_as_water_would(void **state)
{
  (void)state;
  /* Bernoulli: m = A sqrt(2 rho dp) where dp is small against p. */
  eb_gas air = eb_gas_air();
  eb_orifice hole = {
      .area_mm2 = 1e6, .discharge = 1, .upstream_pa = 1e5, .upstream_k = 300, .downstream_pa = 1e5 - 0.1};
  eb_mass_flow flow;
  assert_int_equal(eb_gas_mass_flow(&air, &hole, &flow, NULL), EB_OK);
  double density = 1e5 / (287.05287 * 300);
  assert_true(fabs(flow.kg_h / 3600 / sqrt(2 * density * 0.1) - 1) < 2e-6);
  assert_false(flow.choked);
}

static void choked_flow_forgets_the_pressure_behind(void **state)
{
  (void)state;
  eb_gas air = eb_gas_air();
  eb_orifice hole = {.area_mm2 = 3, .discharge = 0.7, .upstream_pa = 1e5, .upstream_k = 300, .downstream_pa = 2e4};
  eb_mass_flow low, high;
  assert_int_equal(eb_gas_mass_flow(&air, &hole, &low, NULL), EB_OK);
  hole.downstream_pa = 5.2e4;
  assert_int_equal(eb_gas_mass_flow(&air, &hole, &high, NULL), EB_OK);
  assert_true(low.choked && high.choked);
  assert_true(low.kg_h == high.kg_h);
}

static void flow_refuses_what_cannot_be(void **state)
{
  (void)state;
  const eb_orifice right = {
      .area_mm2 = 3, .discharge = 0.7, .upstream_pa = 1e5, .upstream_k = 300, .downstream_pa = 2e4};
  eb_orifice wrong[8];
  for (size_t i = 0; i < 8; i++)
    wrong[i] = right;
  wrong[0].area_mm2 = -1;
  wrong[1].discharge = 0;
  wrong[2].discharge = 1.01;
  wrong[3].upstream_pa = 0;
  wrong[4].upstream_k = NAN;
  wrong[5].downstream_pa = 1.1e5;
  wrong[6].downstream_pa = -1;
  wrong[7].area_mm2 = INFINITY;
  eb_gas air = eb_gas_air();
  for (size_t i = 0; i < 8; i++) {
    eb_mass_flow flow = {.kg_h = 7};
    eb_error error;
    eb_error_clear(&error);
    assert_int_equal(eb_gas_mass_flow(&air, &wrong[i], &flow, &error), EB_OUT_OF_RANGE);
    assert_non_null(strstr(error.message, " must be "));
    assert_true(flow.kg_h == 7);
  }
  eb_mass_flow flow;
  assert_int_equal(eb_gas_mass_flow(&(eb_gas){1, 287}, &right, &flow, NULL), EB_OUT_OF_RANGE);
  assert_int_equal(eb_gas_mass_flow(&(eb_gas){1.4, 0}, &right, &flow, NULL), EB_OUT_OF_RANGE);
}

static void the_atmosphere_is_whole_at_its_seam_and_ends_where_it_says(void **state)
{
  (void)state;
  eb_atmosphere below, above;
  assert_int_equal(eb_atmosphere_at(11000 - 1e-6, &below, NULL), EB_OK);
  assert_int_equal(eb_atmosphere_at(11000 + 1e-6, &above, NULL), EB_OK);
  assert_true(fabs(below.pressure_pa - above.pressure_pa) < 1e-4);
  assert_true(fabs(below.temperature_k - above.temperature_k) < 1e-7);
  assert_int_equal(eb_atmosphere_at(-2000, &below, NULL), EB_OK);
  assert_int_equal(eb_atmosphere_at(20000, &above, NULL), EB_OK);
  eb_error error;
  eb_atmosphere kept = below;
  assert_int_equal(eb_atmosphere_at(20000.1, &below, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_atmosphere_at(-2000.1, &below, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_atmosphere_at(NAN, &below, &error), EB_OUT_OF_RANGE);
  assert_true(below.pressure_pa == kept.pressure_pa);
}

static void moist_air_is_lighter_and_its_limits_hold(void **state)
{
  (void)state;
  double dry, moist, kept = 5;
  assert_int_equal(eb_air_density(101325, 303.15, 0, &dry, NULL), EB_OK);
  assert_int_equal(eb_air_density(101325, 303.15, 1, &moist, NULL), EB_OK);
  assert_true(moist < dry);
  assert_int_equal(eb_air_density(101325, 303.15, 1.01, &kept, NULL), EB_OUT_OF_RANGE);
  assert_int_equal(eb_air_density(101325, 303.15, -0.01, &kept, NULL), EB_OUT_OF_RANGE);
  assert_int_equal(eb_air_density(101325, 333.2, 0, &kept, NULL), EB_OUT_OF_RANGE);
  assert_int_equal(eb_air_density(101325, 233.1, 0, &kept, NULL), EB_OUT_OF_RANGE);
  assert_int_equal(eb_air_density(4999, 300, 0, &kept, NULL), EB_OUT_OF_RANGE);
  assert_int_equal(eb_air_density(NAN, 300, 0, &kept, NULL), EB_OUT_OF_RANGE);
  assert_int_equal(eb_air_density(15000, 333.15, 1, &kept, NULL), EB_OUT_OF_RANGE);
  assert_true(kept == 5);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(flow_does_not_jump_where_it_chokes),
      cmocka_unit_test(a_small_pressure_drop_flows_as_water_would),
      cmocka_unit_test(choked_flow_forgets_the_pressure_behind),
      cmocka_unit_test(flow_refuses_what_cannot_be),
      cmocka_unit_test(the_atmosphere_is_whole_at_its_seam_and_ends_where_it_says),
      cmocka_unit_test(moist_air_is_lighter_and_its_limits_hold),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
