/* Air, heat and mixture: what is fuel or spark is never taken for air, and one outlier hides neither itself nor others.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "engines.h"

#include "evenbore/crosscheck.h"
#include "evenbore/explain.h"

#include "readings.h"

typedef struct rig {
  eb_layout layout;
  eb_verdict air;
  eb_crosscheck check;
  eb_crossing found[EB_CROSSINGS_MAX];
  int count;
} rig;

/* Ports of an idling engine, within what a probe does from port to port. */
static const double usual_k[] = {652, 645, 658, 649, 655, 647, 651, 660};

static void begin(rig *r)
{
  *r = (rig){.air = {.tolerance = 0.05, .risk = 0.05, .word = EB_EVEN}};
  assert_int_equal(engine_read(ENGINE_V8, &r->layout, NULL), EB_OK);
  for (int i = 0; i < 8; i++)
    r->air.bore[i] = (eb_bore_verdict){.deviation = 0.01 * (i % 3 - 1), .doubt = 0.01, .word = EB_EVEN};
  r->check =
      (eb_crosscheck){.layout = &r->layout, .air = &r->air, .ports = 0xFF, .heat_doubt_k = 10, .mixture_doubt = 0.01};
  memcpy(r->check.heat_k, usual_k, sizeof usual_k);
}

static void set_air(rig *r, int bore, double deviation)
{
  r->air.bore[bore] = (eb_bore_verdict){.deviation = deviation, .doubt = 0.01, .word = EB_UNEVEN};
  r->air.word = EB_UNEVEN;
}

static void judge(rig *r)
{
  r->count = eb_crosscheck_judge(&r->check, r->found);
}

static void only(rig *r, eb_cross word, eb_bores bores)
{
  judge(r);
  if (r->count != 1 || r->found[0].word != word)
    fail_msg("%d found, first %s; wanted %s", r->count, eb_cross_text(r->found[0].word), eb_cross_text(word));
  assert_int_equal(r->found[0].bores, bores);
}

static void even_air_and_even_heat_agree(void **state)
{
  (void)state;
  rig r;
  begin(&r);
  only(&r, EB_CROSS_AGREE, 0);
  assert_false(eb_cross_is_fuel(EB_CROSS_AGREE));
}

static void a_cold_or_hot_bore_with_its_air_is_fuel_or_spark(void **state)
{
  (void)state;
  rig r;
  begin(&r);
  r.check.heat_k[5] -= 250;
  only(&r, EB_CROSS_COLD_BORE, 1 << 5);
  assert_true(eb_cross_is_fuel(r.found[0].word) && r.found[0].size < -200 && r.found[0].score < -3.5);
  begin(&r);
  r.check.heat_k[5] += 90;
  only(&r, EB_CROSS_HOT_BORE, 1 << 5);
}

/* With a mean and a standard deviation two cold ones of eight would hide: no z-score of eight values goes beyond
 * 7/sqrt(8) = 2.47 [Shiffler, Am. Stat. 42 (1988); from memory]. */
static void two_cold_bores_hide_neither(void **state)
{
  (void)state;
  rig r;
  begin(&r);
  r.check.heat_k[1] -= 200;
  r.check.heat_k[6] -= 220;
  judge(&r);
  assert_int_equal(r.count, 2);
  assert_int_equal(r.found[0].bores | r.found[1].bores, 1 << 1 | 1 << 6);
}

static void a_cold_side_hides_no_cold_bore_and_is_named_itself(void **state)
{
  (void)state;
  rig r;
  begin(&r);
  for (int i = 4; i < 8; i++)
    r.check.heat_k[i] -= 80;
  only(&r, EB_CROSS_COLD_SIDE, 0xF0);
  r.check.heat_k[6] -= 200;
  judge(&r);
  assert_int_equal(r.count, 2);
  assert_true(eb_cross_is_fuel(r.found[0].word) && eb_cross_is_fuel(r.found[1].word));
}

static void heat_that_follows_the_air_is_air(void **state)
{
  (void)state;
  rig r;
  begin(&r);
  r.check.heat_k[2] -= 120;
  set_air(&r, 2, -0.2);
  only(&r, EB_CROSS_AIR_EXPLAINS, 1 << 2);
  assert_false(eb_cross_is_fuel(EB_CROSS_AIR_EXPLAINS));
  set_air(&r, 2, 0.2); /* more air and yet cold */
  only(&r, EB_CROSS_COLD_BORE, 1 << 2);
}

static void uneven_air_with_even_heat_stands_alone(void **state)
{
  (void)state;
  rig r;
  begin(&r);
  set_air(&r, 3, -0.12);
  only(&r, EB_CROSS_AIR_ALONE, 1 << 3);
}

static void one_lean_side_is_fuel_unless_its_air_explains_it(void **state)
{
  (void)state;
  rig r;
  begin(&r);
  r.check.sensors = 2;
  r.check.sensor[0] = (eb_sensor){0x0F, 1.00};
  r.check.sensor[1] = (eb_sensor){0xF0, 1.12};
  only(&r, EB_CROSS_LEAN_SIDE, 0xF0);
  for (int i = 4; i < 8; i++)
    set_air(&r, i, 0.11);
  for (int i = 0; i < 4; i++)
    r.air.bore[i].deviation = 0;
  r.check.ports = 0;
  only(&r, EB_CROSS_AIR_EXPLAINS, 0xF0);
  r.check.sensor[1].mixture = 1.3; /* more than the air does */
  only(&r, EB_CROSS_LEAN_SIDE, 0xF0);
}

static void one_sensor_speaks_for_both_once_they_are_even(void **state)
{
  (void)state;
  rig r;
  begin(&r);
  r.check.ports = 0;
  r.check.sensors = 1;
  r.check.sensor[0] = (eb_sensor){0x0F, 1.05};
  only(&r, EB_CROSS_ONE_SENSOR, 0x0F);
  r.air.word = EB_UNSURE;
  only(&r, EB_CROSS_ONE_SENSOR_WAITS, 0x0F);
}

/* Side +-a, pair +-b, bore +-c: the squares are in the ratio of a^2, b^2 and c^2. */
static void shares_of_the_spread_are_those_put_in(void **state)
{
  (void)state;
  eb_layout layout;
  eb_gauge gauge = gauge_fine();
  eb_closure closure;
  eb_verdict verdict;
  eb_explanation found;
  static const double a = 0.06, b = 0.03, c = 0.02;
  assert_int_equal(engine_read(ENGINE_V8, &layout, NULL), EB_OK);
  eb_evidence *evidence = gather(&layout, &gauge);
  assert_int_equal(eb_evidence_period(evidence, NULL), EB_OK);
  assert_int_equal(eb_evidence_pass(evidence, NULL), EB_OK);
  double total = a * a + b * b + c * c;
  eb_verdict exact = {0};
  for (int k = 0; k < 24; k++) {
    int i = k % 8;
    exact.bore[i].deviation = (i < 4 ? a : -a) + (i / 2 % 2 == 0 ? b : -b) + (i % 2 == 0 ? c : -c);
    assert_int_equal(eb_evidence_reading(evidence, i, 6 * exp(exact.bore[i].deviation + 0.001 * (k % 3)), NULL), EB_OK);
  }
  eb_evidence_close(evidence, &closure);
  assert_int_equal(eb_evidence_explain(evidence, &exact, &found, NULL), EB_OK);
  assert_near(found.level[EB_LEVEL_SIDE].share, a * a / total, 1e-12);
  assert_near(found.level[EB_LEVEL_PAIR].share, b * b / total, 1e-12);
  assert_near(found.level[EB_LEVEL_BORE].share, c * c / total, 1e-12);
  assert_int_equal(found.most, EB_LEVEL_SIDE);
  assert_int_equal(found.repeats, 16);
  /* Balanced: F of the sides is 2 degrees of the pairs' 2 b^2 under 4 a^2 of the sides' one. */
  assert_true(found.level[EB_LEVEL_SIDE].tested);
  assert_near(found.level[EB_LEVEL_SIDE].f, 2 * a * a / (b * b), 0.05);
  assert_true(found.level[EB_LEVEL_BORE].p < 1e-6);
  assert_int_equal(eb_evidence_verdict(evidence, 0.05, 0.05, &verdict, NULL), EB_OK);
  assert_int_equal(eb_evidence_explain(evidence, &verdict, &found, NULL), EB_OK);
  eb_json *json = eb_explanation_json(&found);
  assert_string_equal(eb_json_get_string(json, "most", ""), "side");
  eb_json_destroy(json);
  eb_evidence_destroy(evidence);
}

static void a_layout_without_sides_has_no_share_for_them(void **state)
{
  (void)state;
  eb_layout layout;
  eb_gauge gauge = gauge_fine();
  eb_explanation found;
  eb_verdict exact = {0};
  assert_int_equal(engine_read(ENGINE_ONE_SIDED, &layout, NULL), EB_OK);
  eb_evidence *evidence = gather(&layout, &gauge);
  assert_int_equal(eb_evidence_explain(evidence, &exact, &found, NULL), EB_UNSOLVABLE);
  exact.bore[2].deviation = 0.1;
  assert_int_equal(eb_evidence_explain(evidence, &exact, &found, NULL), EB_OK);
  assert_false(found.level[EB_LEVEL_SIDE].present);
  assert_false(found.level[EB_LEVEL_PAIR].present);
  assert_near(found.level[EB_LEVEL_BORE].share, 1, 1e-12);
  eb_evidence_destroy(evidence);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(even_air_and_even_heat_agree),
      cmocka_unit_test(a_cold_or_hot_bore_with_its_air_is_fuel_or_spark),
      cmocka_unit_test(two_cold_bores_hide_neither),
      cmocka_unit_test(a_cold_side_hides_no_cold_bore_and_is_named_itself),
      cmocka_unit_test(heat_that_follows_the_air_is_air),
      cmocka_unit_test(uneven_air_with_even_heat_stands_alone),
      cmocka_unit_test(one_lean_side_is_fuel_unless_its_air_explains_it),
      cmocka_unit_test(one_sensor_speaks_for_both_once_they_are_even),
      cmocka_unit_test(shares_of_the_spread_are_those_put_in),
      cmocka_unit_test(a_layout_without_sides_has_no_share_for_them),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
