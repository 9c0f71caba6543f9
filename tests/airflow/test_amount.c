#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/throttle.h"

static void assert_near(double met, double wanted, double tolerance)
{
  if (!(fabs(met - wanted) <= tolerance))
    fail_msg("%.17g is not within %g of %.17g", met, tolerance, wanted);
}

static const eb_throttle whole = {.plate = {46, 8, 6},
                                  .closed_known = true,
                                  .idle_kind = EB_IDLE_GAP,
                                  .idle = {.gap = {0.05}},
                                  .screw = {.pitch_mm = 0.8, .lever_mm = 20}};

/* Made, the moves must change the area by what was asked: an amount is checked through the position it leads to. */
static void every_amount_gives_the_change_that_was_asked(void **state)
{
  (void)state;
  static const double wanted[] = {-0.9, -0.2, -0.01, 0, 0.06, 0.5, 3};
  eb_opening idle, after;
  assert_int_equal(eb_opening_at_gap(&whole.plate, whole.idle.gap, &idle, NULL), EB_OK);
  for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
    eb_change change = {wanted[i], 0};
    eb_gap_change gap;
    eb_travel_change travel;
    eb_turns_change turns;
    assert_int_equal(eb_throttle_gap_change(&whole, change, EB_BOTH_HALVES, &gap, NULL), EB_OK);
    assert_int_equal(eb_opening_at_gap(&whole.plate, (eb_feeler_gap){idle.gap.mm + gap.nominal.mm}, &after, NULL),
                     EB_OK);
    assert_near(after.area_mm2 / idle.area_mm2, 1 + wanted[i], 1e-10);
    assert_int_equal(eb_throttle_travel_change(&whole, change, EB_BOTH_HALVES, &travel, NULL), EB_OK);
    eb_edge_travel to = {idle.travel.mm + travel.nominal.mm};
    assert_int_equal(eb_opening_at_travel(&whole.plate, to, &after, NULL), EB_OK);
    assert_near(after.area_mm2 / idle.area_mm2, 1 + wanted[i], 1e-10);
    assert_int_equal(eb_throttle_turns_change(&whole, change, &turns, NULL), EB_OK);
    double turned_deg;
    assert_int_equal(eb_screw_angle(&whole.screw, turns.nominal_turns, &turned_deg, NULL), EB_OK);
    assert_int_equal(eb_opening_at_angle(&whole.plate, idle.angle_deg + turned_deg, &after, NULL), EB_OK);
    assert_near(after.area_mm2 / idle.area_mm2, 1 + wanted[i], 1e-10);
    assert_true(gap.low.mm == gap.nominal.mm && gap.high.mm == gap.nominal.mm);
  }
}

static void doubt_spreads_the_amount(void **state)
{
  (void)state;
  eb_gap_change gap, low, high;
  assert_int_equal(eb_throttle_gap_change(&whole, (eb_change){0.06, 0.01}, EB_BOTH_HALVES, &gap, NULL), EB_OK);
  assert_int_equal(eb_throttle_gap_change(&whole, (eb_change){0.04, 0}, EB_BOTH_HALVES, &low, NULL), EB_OK);
  assert_int_equal(eb_throttle_gap_change(&whole, (eb_change){0.08, 0}, EB_BOTH_HALVES, &high, NULL), EB_OK);
  assert_near(gap.low.mm, low.nominal.mm, 1e-15);
  assert_near(gap.high.mm, high.nominal.mm, 1e-15);
  /* However great the doubt, the plate stays between closed and open. */
  eb_turns_change turns;
  assert_int_equal(eb_throttle_gap_change(&whole, (eb_change){-0.5, 1}, EB_BOTH_HALVES, &gap, NULL), EB_OK);
  assert_near(gap.low.mm, -0.05, 1e-15);
  assert_int_equal(eb_throttle_turns_change(&whole, (eb_change){0.1, 1e6}, &turns, NULL), EB_OK);
  assert_true(isfinite(turns.high_turns));
  assert_true(turns.low_turns < 0 && turns.high_turns > 0);
}

static void one_half_alone_must_move_farther(void **state)
{
  (void)state;
  eb_gap_change both, one;
  eb_travel_change travel_both, travel_one;
  eb_change change = {0.06, 0};
  assert_int_equal(eb_throttle_gap_change(&whole, change, EB_BOTH_HALVES, &both, NULL), EB_OK);
  assert_int_equal(eb_throttle_gap_change(&whole, change, EB_ONE_HALF, &one, NULL), EB_OK);
  assert_near(one.nominal.mm / both.nominal.mm, 2, 1e-4);
  assert_int_equal(eb_throttle_travel_change(&whole, change, EB_BOTH_HALVES, &travel_both, NULL), EB_OK);
  assert_int_equal(eb_throttle_travel_change(&whole, change, EB_ONE_HALF, &travel_one, NULL), EB_OK);
  assert_true(travel_one.nominal.mm > 1.9 * travel_both.nominal.mm);
  assert_int_equal(eb_throttle_gap_change(&whole, (eb_change){-0.51, 0}, EB_ONE_HALF, &one, NULL), EB_OUT_OF_RANGE);
  assert_int_equal(eb_throttle_gap_change(&whole, (eb_change){-0.5, 0.1}, EB_ONE_HALF, &one, NULL), EB_OK);
  assert_near(one.nominal.mm, -0.05, 1e-15);
}

static void a_known_gap_is_enough_for_a_gap(void **state)
{
  (void)state;
  const eb_throttle known = {.idle_kind = EB_IDLE_GAP, .idle = {.gap = {0.05}}};
  eb_gap_change gap, with_bore;
  assert_int_equal(eb_throttle_gap_change(&known, (eb_change){0.1, 0.02}, EB_BOTH_HALVES, &gap, NULL), EB_OK);
  assert_near(gap.low.mm, 0.003, 1e-15);
  assert_near(gap.nominal.mm, 0.005, 1e-15);
  assert_near(gap.high.mm, 0.007, 1e-15);
  assert_int_equal(eb_throttle_gap_change(&whole, (eb_change){0.1, 0.02}, EB_BOTH_HALVES, &with_bore, NULL), EB_OK);
  assert_near(gap.nominal.mm, with_bore.nominal.mm, 1e-5 * gap.nominal.mm);
  assert_int_equal(eb_throttle_gap_change(&known, (eb_change){-0.6, 0}, EB_ONE_HALF, &gap, NULL), EB_OUT_OF_RANGE);
}

/* Which geometry each answer needs, and that it says which one is missing. */
static void unknown_geometry_gives_no_amount(void **state)
{
  (void)state;
  const eb_change change = {0.06, 0.01};
  eb_throttle part = whole;
  eb_gap_change gap = {.nominal = {7}};
  eb_travel_change travel = {.nominal = {7}};
  eb_turns_change turns = {.nominal_turns = 7};
  eb_error error;

  part.idle_kind = EB_IDLE_UNKNOWN;
  assert_int_equal(eb_throttle_gap_change(&part, change, EB_BOTH_HALVES, &gap, &error), EB_NOT_FOUND);
  assert_int_equal(eb_throttle_travel_change(&part, change, EB_BOTH_HALVES, &travel, &error), EB_NOT_FOUND);
  assert_int_equal(eb_throttle_turns_change(&part, change, &turns, &error), EB_NOT_FOUND);
  assert_non_null(strstr(error.message, "opening at idle"));

  part = whole;
  part.plate.bore_mm = 0;
  assert_int_equal(eb_throttle_travel_change(&part, change, EB_BOTH_HALVES, &travel, &error), EB_NOT_FOUND);
  assert_non_null(strstr(error.message, "bore's diameter"));
  part.idle_kind = EB_IDLE_AREA;
  part.idle.area_mm2 = 3;
  assert_int_equal(eb_throttle_gap_change(&part, change, EB_BOTH_HALVES, &gap, &error), EB_NOT_FOUND);

  part = whole;
  part.closed_known = false;
  assert_int_equal(eb_throttle_travel_change(&part, change, EB_BOTH_HALVES, &travel, &error), EB_NOT_FOUND);
  assert_int_equal(eb_throttle_turns_change(&part, change, &turns, &error), EB_NOT_FOUND);
  assert_non_null(strstr(error.message, "closed angle"));
  part.idle_kind = EB_IDLE_TRAVEL;
  part.idle.travel.mm = 0.3;
  assert_int_equal(eb_throttle_gap_change(&part, change, EB_BOTH_HALVES, &gap, &error), EB_NOT_FOUND);

  part = whole;
  part.screw.lever_mm = 0;
  assert_int_equal(eb_throttle_turns_change(&part, change, &turns, &error), EB_NOT_FOUND);
  assert_non_null(strstr(error.message, "lever"));
  part.screw = (eb_screw){.lever_mm = 20};
  assert_int_equal(eb_throttle_turns_change(&part, change, &turns, &error), EB_NOT_FOUND);
  assert_true(gap.nominal.mm == 7 && travel.nominal.mm == 7 && turns.nominal_turns == 7);
}

static void the_closed_angle_is_not_asked_for_where_it_does_not_matter(void **state)
{
  (void)state;
  eb_throttle part = whole;
  part.idle_kind = EB_IDLE_AREA;
  part.idle.area_mm2 = 3.6;
  eb_gap_change known, unknown;
  assert_int_equal(eb_throttle_gap_change(&part, (eb_change){0.06, 0}, EB_BOTH_HALVES, &known, NULL), EB_OK);
  part.closed_known = false;
  part.plate.closed_deg = 1234;
  assert_int_equal(eb_throttle_gap_change(&part, (eb_change){0.06, 0}, EB_BOTH_HALVES, &unknown, NULL), EB_OK);
  assert_near(known.nominal.mm, unknown.nominal.mm, 1e-15);
}

static void impossible_changes_are_refused(void **state)
{
  (void)state;
  static const eb_change wrong[] = {{-1, 0}, {-1.5, 0}, {NAN, 0}, {INFINITY, 0}, {0.1, -0.1}, {0.1, NAN}, {1000, 0}};
  eb_gap_change gap = {.nominal = {7}};
  eb_error error;
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
    assert_int_equal(eb_throttle_gap_change(&whole, wrong[i], EB_BOTH_HALVES, &gap, &error), EB_OUT_OF_RANGE);
  eb_throttle closed = whole;
  closed.idle.gap.mm = 0;
  assert_int_equal(eb_throttle_gap_change(&closed, (eb_change){0.1, 0}, EB_BOTH_HALVES, &gap, &error), EB_OUT_OF_RANGE);
  closed.plate.bore_mm = 0;
  assert_int_equal(eb_throttle_gap_change(&closed, (eb_change){0.1, 0}, EB_BOTH_HALVES, &gap, &error), EB_OUT_OF_RANGE);
  eb_throttle bad = whole;
  bad.plate.shaft_mm = 50;
  assert_int_equal(eb_throttle_gap_change(&bad, (eb_change){0.1, 0}, EB_BOTH_HALVES, &gap, &error), EB_OUT_OF_RANGE);
  assert_true(gap.nominal.mm == 7);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_amount_gives_the_change_that_was_asked),
      cmocka_unit_test(doubt_spreads_the_amount),
      cmocka_unit_test(one_half_alone_must_move_farther),
      cmocka_unit_test(a_known_gap_is_enough_for_a_gap),
      cmocka_unit_test(unknown_geometry_gives_no_amount),
      cmocka_unit_test(the_closed_angle_is_not_asked_for_where_it_does_not_matter),
      cmocka_unit_test(impossible_changes_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
