/* What the simulated engines must share with real ones. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/airflow.h"

#include "bench_engine.h"
#include "reference/table.h"

enum { BORES = 8 };

/* Open areas as measured out by projection (reference/data/throttle_area.csv). */
static void plates_open_the_area_that_geometry_says(void **state)
{
  (void)state;
  table areas = table_read("throttle_area.csv");
  int checked = 0;
  for (int row = 0; row < areas.rows; row++) {
    double closed_deg = table_number(&areas, row, "closed_deg"), open_deg = table_number(&areas, row, "open_deg");
    eb_engine_options o = plain_options();
    o.plate = (eb_plate){table_number(&areas, row, "bore_mm"), table_number(&areas, row, "shaft_mm"), closed_deg};
    o.leak_mm2 = 0;
    if (open_deg - closed_deg > 20)
      continue;
    eb_engine *engine = engine_of("v8-coupled", 1, &o);
    eb_engine_set_stop(engine, open_deg - closed_deg);
    eb_engine_truth truth = engine_look(engine);
    for (int i = 0; i < BORES; i++) {
      assert_near("angle", truth.angle_deg[i], open_deg, 1e-12);
      assert_near("area", truth.area_mm2[i], table_number(&areas, row, "area_mm2"), 1e-8);
    }
    eb_engine_destroy(engine);
    checked++;
  }
  table_clear(&areas);
  assert_true(checked >= 10);
}

/* Choked air at 101325 Pa and 288.15 K, with a discharge coefficient of 1: 0.868458628 kg/h through each mm2
 * (reference/data/mass_flow.csv; the formula is that of Heywood, Internal Combustion Engine Fundamentals, app. C). */
static void choked_air_follows_the_area(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  o.discharge = 1;
  o.ambient_k = 288.15;
  o.plate_spread = 0.05;
  eb_engine *engine = engine_of("v8-coupled", 5, &o);
  eb_engine_truth truth = engine_look(engine);
  for (int i = 0; i < BORES; i++) {
    assert_true(truth.behind_pa[i] < 0.5283 * 101325); /* critical ratio [NACA Report 1135] */
    assert_near("flow over area", truth.flow_kg_h[i] / truth.area_mm2[i], 0.868458628124, 1e-9);
  }
  assert_true(truth.spread > 0.02);
  eb_engine_destroy(engine);
}

/* Far open, the pressure behind the plates rises until they choke no more: then less air passes than choked plates
 * would let through, just what they pass at that pressure, and just what the cylinders take
 * (density times volume swept, 0.8 of it [Heywood, section 2.10]). */
static void an_open_throttle_is_not_choked(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  eb_engine *engine = engine_of("v8-coupled", 5, &o);
  eb_engine_set_stop(engine, 30);
  eb_engine_truth truth = engine_look(engine);
  eb_gas air = eb_gas_air();
  eb_orifice hole = {truth.area_mm2[0], o.discharge, o.ambient_pa, o.ambient_k, truth.behind_pa[0]};
  eb_mass_flow flow;
  assert_int_equal(eb_gas_mass_flow(&air, &hole, &flow, NULL), EB_OK);
  assert_false(flow.choked);
  assert_near("air by pressure", truth.flow_kg_h[0], flow.kg_h, 1e-6);
  double density = truth.behind_pa[0] / (287.05287 * 330);
  double taken_kg_h = 0.8 * density * 500e-6 * truth.speed_rpm / 2 * 60;
  assert_near("air by volume", truth.flow_kg_h[0], taken_kg_h, 1e-6);
  hole.downstream_pa = 0;
  assert_int_equal(eb_gas_mass_flow(&air, &hole, &flow, NULL), EB_OK);
  assert_true(truth.flow_kg_h[0] < 0.95 * flow.kg_h);
  eb_engine_destroy(engine);
}

/* More air, more speed; and the speed of a light load on little air is that of an idling engine: a litre swept
 * takes some 4 to 9 kg/h at 900 rpm (common practice, no source). */
static void air_sets_the_idle_speed(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  eb_engine *engine = engine_of("v8-coupled", 5, &o);
  eb_engine_truth before = engine_look(engine);
  double air = sum_of(before.flow_kg_h, BORES);
  assert_near("idle speed", before.speed_rpm, 900, 1e-6);
  assert_true(air > 4 * 4 && air < 9 * 4);
  double last = before.speed_rpm;
  for (int step = 1; step <= 5; step++) {
    eb_engine_set_stop(engine, before.stop_deg * (1 + 0.05 * step));
    eb_engine_truth now = engine_look(engine);
    assert_true(now.speed_rpm > last * 1.01);
    last = now.speed_rpm;
  }
  engine_start(engine);
  assert_int_equal(eb_engine_set_idle(engine, NULL), EB_OK);
  eb_engine_truth again = engine_look(engine);
  assert_near("idle speed, set by ear", again.speed_rpm, 900, 0.04);
  assert_near("air, set by ear", sum_of(again.flow_kg_h, BORES), air, 0.05);
  eb_engine_destroy(engine);
}

/* A kilowatt more needs 1000 / (0.3 x 44e6 / 14.6) = 1.106e-3 kg/s, 3.98 kg/h more air at an indicated efficiency
 * of 0.3 (heating value and mixture: Heywood, appendix D, from memory), less what the higher pressure behind the plates
 * spares in pumping: up to a fifth. */
static void load_costs_air(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  eb_engine *light = engine_of("v8-coupled", 5, &o);
  o.accessories_w += 1000;
  eb_engine *loaded = engine_of("v8-coupled", 5, &o);
  eb_engine_truth before = engine_look(light), after = engine_look(loaded);
  assert_near("same speed", after.speed_rpm, before.speed_rpm, 1e-6);
  double more_kg_h = sum_of(after.flow_kg_h, BORES) - sum_of(before.flow_kg_h, BORES);
  assert_true(more_kg_h < 3.98 && more_kg_h > 0.8 * 3.98);
  eb_engine_destroy(light);
  eb_engine_destroy(loaded);
}

/* The table of Serway and Vuille, College Physics, 9th edition (read in a reproduction): aluminium 24e-6, steel 11e-6
 * per kelvin; alloys differ by a tenth. */
static void metals_expand_as_a_published_table_has_it(void **state)
{
  (void)state;
  eb_growth growth = eb_growth_aluminium_and_steel();
  assert_near("aluminium", growth.manifold_per_k, 24e-6, 0.1);
  assert_near("steel", growth.link_per_k, 11e-6, 0.1);
}

/* Aluminium 23e-6 and plain steel 12e-6 per kelvin: over 250 mm the difference is 2.75 um for
 * each kelvin, which an arm of 30 mm turns into 2.75e-3 / 30 rad. */
static void a_cooling_manifold_turns_the_far_bank(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  eb_engine *engine = engine_of("v8-coupled", 5, &o);
  eb_engine_truth warm = engine_look(engine);
  assert_near("warm", warm.manifold_k, 358.15, 1e-9);
  assert_near("banks alike when warm", warm.angle_deg[4], warm.angle_deg[0], 1e-12);
  eb_engine_wait(engine, 15);
  eb_engine_truth now = engine_look(engine);
  double fell_k = warm.manifold_k - now.manifold_k;
  assert_true(fell_k > 2 && fell_k < 20);
  double wanted_deg = 2.75e-3 / 30 * fell_k * 180 / 3.14159265358979;
  for (int i = 0; i < 4; i++) {
    assert_near("near bank", now.angle_deg[i], warm.angle_deg[i], 1e-12);
    assert_near("far bank", now.angle_deg[i] - now.angle_deg[4 + i], wanted_deg, 1e-9);
  }
  assert_true(now.spread > 0.0015 * fell_k); /* why a cold balance does not hold */
  eb_engine_destroy(engine);
}

/* Brass 19e-6 in aluminium 23e-6 per kelvin: a 45 mm bore grows away from its plate by 0.09 um a kelvin all round. */
static void a_warming_bore_lets_more_past(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  eb_engine *engine = engine_of(ENGINE_SINGLE, 5, &o);
  eb_engine_truth warm = engine_look(engine);
  eb_engine_wait(engine, 30);
  eb_engine_truth cool = engine_look(engine);
  double fell_k = warm.manifold_k - cool.manifold_k;
  /* A gap all round of a 45 mm bore: pi/2 x 45 mm2 for each mm, some less for the shaft. */
  double ring_mm2 = 3.14159265 / 2 * 45 * 0.09e-3 * fell_k;
  assert_near("area lost", warm.area_mm2[0] - cool.area_mm2[0], ring_mm2, 0.02);
  eb_engine_destroy(engine);
}

static void adjusters_turn_what_they_hold(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  eb_engine *engine = engine_of("v8-coupled", 5, &o);
  engine_move(engine, 1, 0.06); /* coupler of bores 1, 3 against 5, 7 */
  eb_engine_truth t = engine_look(engine);
  double first = log(t.flow_kg_h[0] / t.flow_kg_h[2]);
  assert_near("coupler", first, 0.06, 0.05);
  assert_near("on one shaft", t.flow_kg_h[0], t.flow_kg_h[1], 1e-12);
  assert_near("the other bank", t.flow_kg_h[4], t.flow_kg_h[7], 1e-12);
  engine_move(engine, 3, -0.05); /* plate of bore 1 */
  eb_engine_truth now = engine_look(engine);
  assert_near("plate", log(now.flow_kg_h[0] / t.flow_kg_h[0]), -0.05, 0.05);
  assert_near("beside it", now.flow_kg_h[1], t.flow_kg_h[1], 1e-12);
  eb_engine_destroy(engine);
}

static void a_bleed_lets_air_past_its_plate(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  eb_engine *engine = engine_of(ENGINE_BLEEDS, 5, &o);
  eb_engine_truth before = engine_look(engine);
  engine_move(engine, 1, 0.08);
  eb_engine_truth after = engine_look(engine);
  assert_near("angle", after.angle_deg[1], before.angle_deg[1], 1e-12);
  assert_true(after.flow_kg_h[1] > 1.06 * before.flow_kg_h[1] && after.flow_kg_h[1] < 1.1 * before.flow_kg_h[1]);
  assert_near("its neighbour", after.flow_kg_h[2], before.flow_kg_h[2], 1e-12);
  eb_engine_destroy(engine);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(plates_open_the_area_that_geometry_says),
      cmocka_unit_test(choked_air_follows_the_area),
      cmocka_unit_test(an_open_throttle_is_not_choked),
      cmocka_unit_test(air_sets_the_idle_speed),
      cmocka_unit_test(load_costs_air),
      cmocka_unit_test(metals_expand_as_a_published_table_has_it),
      cmocka_unit_test(a_cooling_manifold_turns_the_far_bank),
      cmocka_unit_test(a_warming_bore_lets_more_past),
      cmocka_unit_test(adjusters_turn_what_they_hold),
      cmocka_unit_test(a_bleed_lets_air_past_its_plate),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
