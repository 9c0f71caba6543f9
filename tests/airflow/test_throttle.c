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

static void assert_same_opening(const eb_opening *a, const eb_opening *b, double bore_mm)
{
  assert_near(a->angle_deg, b->angle_deg, 1e-8);
  assert_near(a->gap.mm, b->gap.mm, 1e-12 * bore_mm);
  assert_near(a->travel.mm, b->travel.mm, 1e-9 * bore_mm);
  assert_near(a->area_mm2, b->area_mm2, 1e-11 * bore_mm * bore_mm);
}

static void every_way_to_say_a_position_leads_back(void **state)
{
  (void)state;
  static const eb_plate plates[] = {{46, 0, 6}, {46, 8, 6}, {40, 8, 10}, {30, 12, 2}, {52, 10, 0}, {36, 0, 0}};
  static const double opened_deg[] = {0, 0.001, 0.2, 1, 5, 20, 45, 60};
  for (size_t p = 0; p < sizeof plates / sizeof plates[0]; p++)
    for (size_t i = 0; i < sizeof opened_deg / sizeof opened_deg[0]; i++) {
      const eb_plate *plate = &plates[p];
      eb_opening a, b;
      assert_int_equal(eb_opening_at_angle(plate, plate->closed_deg + opened_deg[i], &a, NULL), EB_OK);
      assert_near(a.angle_deg, plate->closed_deg + opened_deg[i], 1e-12);
      assert_int_equal(eb_opening_at_gap(plate, a.gap, &b, NULL), EB_OK);
      assert_same_opening(&a, &b, plate->bore_mm);
      assert_int_equal(eb_opening_at_travel(plate, a.travel, &b, NULL), EB_OK);
      assert_same_opening(&a, &b, plate->bore_mm);
      assert_int_equal(eb_opening_at_area(plate, a.area_mm2, &b, NULL), EB_OK);
      assert_near(b.area_mm2, a.area_mm2, 1e-11 * plate->bore_mm * plate->bore_mm);
      assert_near(b.gap.mm, a.gap.mm, 1e-11 * plate->bore_mm);
    }
}

static void the_one_thing_alone_is_that_of_the_whole_position(void **state)
{
  (void)state;
  const eb_plate plate = {46, 8, 6};
  for (double angle_deg = 6; angle_deg <= 90; angle_deg += 3) {
    eb_opening whole, at_gap;
    eb_feeler_gap gap = {-1};
    double area_mm2 = -1;
    assert_int_equal(eb_opening_at_angle(&plate, angle_deg, &whole, NULL), EB_OK);
    assert_int_equal(eb_gap_at_angle(&plate, angle_deg, &gap, NULL), EB_OK);
    assert_memory_equal(&gap, &whole.gap, sizeof gap);
    assert_int_equal(eb_opening_at_gap(&plate, gap, &at_gap, NULL), EB_OK);
    assert_int_equal(eb_area_at_gap(&plate, gap, &area_mm2, NULL), EB_OK);
    assert_memory_equal(&area_mm2, &at_gap.area_mm2, sizeof area_mm2);
  }
}

static void the_three_regimes_meet_exactly(void **state)
{
  (void)state;
  const eb_plate plate = {46, 8, 6};
  eb_opening at, before, after;
  assert_int_equal(eb_opening_at_angle(&plate, 6, &at, NULL), EB_OK);
  assert_true(at.area_mm2 == 0 && at.gap.mm == 0 && at.travel.mm == 0);
  /* The plate goes into the shaft's shadow where its projection is as wide as the shaft. */
  double hidden_deg = acos(8.0 / 46 * cos(6 * M_PI / 180)) * 180 / M_PI;
  assert_int_equal(eb_opening_at_angle(&plate, hidden_deg - 1e-7, &before, NULL), EB_OK);
  assert_int_equal(eb_opening_at_angle(&plate, hidden_deg + 1e-7, &after, NULL), EB_OK);
  assert_near(before.area_mm2, after.area_mm2, 1e-9);
  eb_opening wide;
  assert_int_equal(eb_opening_at_angle(&plate, 90, &wide, NULL), EB_OK);
  assert_true(wide.area_mm2 == after.area_mm2);
  assert_int_equal(eb_opening_at_area(&plate, wide.area_mm2, &at, NULL), EB_OK);
  assert_near(at.angle_deg, hidden_deg, 1e-3);
  const eb_plate bare = {46, 0, 6};
  assert_int_equal(eb_opening_at_angle(&bare, 90, &wide, NULL), EB_OK);
  assert_near(wide.area_mm2, M_PI * 23 * 23, 1e-9);
  assert_near(wide.gap.mm, 23, 1e-12);
}

static void area_grows_with_angle_and_a_shaft_takes_from_it(void **state)
{
  (void)state;
  const eb_plate plate = {40, 9, 8};
  const eb_plate bare = {40, 0, 8};
  double last = -1;
  for (int i = 0; i < 134; i++) {
    double angle = 8 + i / 2.0;
    eb_opening a, b;
    assert_int_equal(eb_opening_at_angle(&plate, angle, &a, NULL), EB_OK);
    assert_int_equal(eb_opening_at_angle(&bare, angle, &b, NULL), EB_OK);
    assert_true(a.area_mm2 > last);
    assert_true(a.area_mm2 <= b.area_mm2);
    last = a.area_mm2;
  }
}

static void a_plate_refuses_what_it_cannot_be_or_reach(void **state)
{
  (void)state;
  static const eb_plate impossible[] = {{0, 0, 6},   {-1, 0, 6},  {NAN, 0, 6}, {INFINITY, 0, 6}, {46, 46, 6},
                                        {46, -1, 6}, {46, 8, 90}, {46, 8, -1}, {46, 8, NAN}};
  eb_opening kept = {.angle_deg = 3};
  eb_error error;
  for (size_t i = 0; i < sizeof impossible / sizeof impossible[0]; i++) {
    assert_int_equal(eb_opening_at_angle(&impossible[i], 30, &kept, &error), EB_OUT_OF_RANGE);
    assert_int_equal(eb_opening_at_gap(&impossible[i], (eb_feeler_gap){0.1}, &kept, &error), EB_OUT_OF_RANGE);
    assert_int_equal(eb_opening_at_travel(&impossible[i], (eb_edge_travel){0.1}, &kept, &error), EB_OUT_OF_RANGE);
    assert_int_equal(eb_opening_at_area(&impossible[i], 0.1, &kept, &error), EB_OUT_OF_RANGE);
  }
  const eb_plate plate = {46, 8, 6};
  assert_int_equal(eb_opening_at_angle(&plate, 5.9, &kept, &error), EB_OUT_OF_RANGE);
  assert_non_null(strstr(error.message, "from 6 deg (closed) to 90 deg"));
  assert_int_equal(eb_opening_at_angle(&plate, 90.1, &kept, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_opening_at_gap(&plate, (eb_feeler_gap){-0.01}, &kept, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_opening_at_gap(&plate, (eb_feeler_gap){23.1}, &kept, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_area_at_gap(&plate, (eb_feeler_gap){23.1}, &kept.area_mm2, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_gap_at_angle(&plate, 91, &kept.gap, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_opening_at_travel(&plate, (eb_edge_travel){-0.01}, &kept, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_opening_at_travel(&plate, (eb_edge_travel){21}, &kept, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_opening_at_area(&plate, -1, &kept, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_opening_at_area(&plate, 1300, &kept, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_opening_at_area(&plate, NAN, &kept, &error), EB_OUT_OF_RANGE);
  assert_true(kept.angle_deg == 3);
}

static void threads_are_found_as_people_write_them(void **state)
{
  (void)state;
  static const char *const same[][2] = {
      {"M5x0.8", "M5x0.8"}, {"m5", "M5x0.8"},     {"M5X0,8", "M5x0.8"}, {"M5 \xC3\x97 0.8", "M5x0.8"},
      {"M6x1.0", "M6x1"},   {"M 6", "M6x1"},      {"M8", "M8x1.25"},    {"#10-32", "10-32"},
      {"8 - 32", "8-32"},   {"1/4-20", "1/4-20"}, {"M5x0.5", "M5x0.5"},
  };
  for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
    const eb_thread *thread = NULL;
    assert_int_equal(eb_thread_find(same[i][0], &thread, NULL), EB_OK);
    assert_string_equal(thread->name, same[i][1]);
  }
}

static void unknown_threads_name_the_nearest(void **state)
{
  (void)state;
  static const char *const unknown[] = {"", "M", "M5x", "M55", "10", "1/4", "M5x0.8x", "M5x0.80000000000000000000001",
                                        "x"};
  const eb_thread *thread = NULL;
  eb_error error;
  for (size_t i = 0; i < sizeof unknown / sizeof unknown[0]; i++)
    if (eb_thread_find(unknown[i], &thread, &error) != EB_NOT_FOUND)
      fail_msg("taken: \"%s\"", unknown[i]);
  assert_null(thread);
  assert_int_equal(eb_thread_find("10-34", &thread, &error), EB_NOT_FOUND);
  assert_non_null(strstr(error.message, "10-3"));
  assert_non_null(strstr(error.message, "\"10-34\""));
  assert_int_equal(eb_thread_find("M5\x1b[31m\xff", &thread, &error), EB_NOT_FOUND);
  assert_non_null(strstr(error.message, "\"M5?[31m?\""));
  size_t count = 0;
  const eb_thread *all = eb_threads(&count);
  for (size_t i = 0; i < count; i++) {
    assert_int_equal(eb_thread_find(all[i].name, &thread, &error), EB_OK);
    assert_ptr_equal(thread, &all[i]);
  }
}

static void a_screw_turns_the_plate_both_ways(void **state)
{
  (void)state;
  /* One turn of 0.8 mm at 45.8366 mm is one degree: 0.8 / tan(1 deg), to the angle's third power. */
  const eb_screw screw = {.pitch_mm = 0.8, .lever_mm = 45.8366};
  double angle, turns;
  assert_int_equal(eb_screw_angle(&screw, 1, &angle, NULL), EB_OK);
  assert_near(angle, 1, 1e-5);
  assert_int_equal(eb_screw_turns(&screw, angle * -2.5, &turns, NULL), EB_OK);
  assert_near(turns, -2.5, 1e-12);
  eb_error error;
  angle = 77;
  assert_int_equal(eb_screw_angle(&(eb_screw){0, 20}, 1, &angle, &error), EB_NOT_FOUND);
  assert_non_null(strstr(error.message, "pitch"));
  assert_int_equal(eb_screw_angle(&(eb_screw){0.8, 0}, 1, &angle, &error), EB_NOT_FOUND);
  assert_non_null(strstr(error.message, "lever"));
  assert_int_equal(eb_screw_angle(&(eb_screw){-0.8, 20}, 1, &angle, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_screw_angle(&(eb_screw){0.8, NAN}, 1, &angle, &error), EB_OUT_OF_RANGE);
  assert_int_equal(eb_screw_angle(&screw, INFINITY, &angle, &error), EB_OUT_OF_RANGE);
  assert_true(angle == 77);
}

static void growth_turns_the_arms_apart(void **state)
{
  (void)state;
  /* 250 mm, 70 K and 11e-6 per kelvin of difference are 0.1925 mm; at 30 mm that is 0.36765 degrees. */
  eb_growth growth = eb_growth_aluminium_and_steel();
  growth.length_mm = 250;
  growth.arm_mm = 30;
  growth.rise_k = 70;
  double angle;
  assert_int_equal(eb_growth_angle(&growth, &angle, NULL), EB_OK);
  assert_near(angle, 0.36765, 5e-6);
  growth.rise_k = -70;
  assert_int_equal(eb_growth_angle(&growth, &angle, NULL), EB_OK);
  assert_near(angle, -0.36765, 5e-6);
  eb_growth wrong = growth;
  wrong.arm_mm = 0;
  assert_int_equal(eb_growth_angle(&wrong, &angle, NULL), EB_OUT_OF_RANGE);
  wrong = growth;
  wrong.length_mm = -1;
  assert_int_equal(eb_growth_angle(&wrong, &angle, NULL), EB_OUT_OF_RANGE);
  wrong = growth;
  wrong.rise_k = NAN;
  assert_int_equal(eb_growth_angle(&wrong, &angle, NULL), EB_OUT_OF_RANGE);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_way_to_say_a_position_leads_back),
      cmocka_unit_test(the_one_thing_alone_is_that_of_the_whole_position),
      cmocka_unit_test(the_three_regimes_meet_exactly),
      cmocka_unit_test(area_grows_with_angle_and_a_shaft_takes_from_it),
      cmocka_unit_test(a_plate_refuses_what_it_cannot_be_or_reach),
      cmocka_unit_test(threads_are_found_as_people_write_them),
      cmocka_unit_test(unknown_threads_name_the_nearest),
      cmocka_unit_test(a_screw_turns_the_plate_both_ways),
      cmocka_unit_test(growth_turns_the_arms_apart),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
