/* Plate geometry against areas and positions that were found without its
 * formulas, threads against ISO 261 and ASME B1.1, and what a shop says about
 * the size of a first correction. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "table.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>

#include "evenbore/airflow.h"
#include "evenbore/throttle.h"

static void area_table(void **state)
{
  (void)state;
  table t = table_read("throttle_area.csv");
  for (int i = 0; i < t.rows; i++) {
    eb_plate plate = {table_number(&t, i, "bore_mm"), table_number(&t, i, "shaft_mm"),
                      table_number(&t, i, "closed_deg")};
    double wanted = table_number(&t, i, "area_mm2");
    eb_opening opening;
    assert_int_equal(eb_opening_at_angle(&plate, table_number(&t, i, "open_deg"), &opening, NULL), EB_OK);
    if (!(fabs(opening.area_mm2 - wanted) <= fmax(1e-9 * wanted, 1e-9)))
      fail_msg("row %d: area %.15g, not %.15g", i + 1, opening.area_mm2, wanted);
  }
  table_clear(&t);
}

/* What a ray along the bore meets: the plate is a flat ellipse, tilted about the
 * shaft, cut so that it fits the bore at the closed angle; the shaft is a round bar. */
typedef struct projection {
  double radius, shaft_radius, closed, angle;
} projection;

/* Open length of the strip at `turn` along the shaft (x = radius sin(turn)), times dx/dturn. */
static double open_strip(double turn, void *parameter)
{
  const projection *p = parameter;
  double bore_half = p->radius * cos(turn);
  double plate_half_on_plate = bore_half / cos(p->closed); /* along the plate, from the shaft's axis to its rim */
  double plate_half = plate_half_on_plate * cos(p->angle);
  double hidden = fmin(fmax(plate_half, p->shaft_radius), bore_half);
  return 2 * (bore_half - hidden) * p->radius * cos(turn);
}

static double projected_area(const eb_plate *plate, double angle_deg)
{
  projection p = {plate->bore_mm / 2, plate->shaft_mm / 2, plate->closed_deg * M_PI / 180, angle_deg * M_PI / 180};
  double k = cos(p.angle) / cos(p.closed);
  double share = plate->shaft_mm / plate->bore_mm;
  /* The strip's length has kinks where the shaft comes out from behind the plate, and where it meets the bore. */
  double points[] = {0, share < k ? acos(share / k) : 0, acos(share), M_PI_2};
  gsl_function function = {open_strip, &p};
  gsl_integration_workspace *space = gsl_integration_workspace_alloc(2000);
  assert_non_null(space);
  double area = 0;
  for (int i = 0; i < 3; i++) {
    double part = 0, error = 0;
    if (points[i + 1] - points[i] > 1e-12)
      assert_int_equal(
          gsl_integration_qags(&function, points[i], points[i + 1], 1e-11, 1e-11, 2000, space, &part, &error),
          GSL_SUCCESS);
    area += part;
  }
  gsl_integration_workspace_free(space);
  return 2 * area;
}

static void area_by_measuring_out_the_projection(void **state)
{
  (void)state;
  static const double bores[] = {26, 38, 48, 60};
  static const double shares[] = {0, 0.08, 0.17, 0.25, 0.4};
  static const double closed[] = {0, 3, 6, 12, 20};
  static const double opened[] = {0.05, 0.3, 1, 4, 15, 40, 60, 69};
  gsl_set_error_handler_off();
  for (size_t b = 0; b < 4; b++)
    for (size_t s = 0; s < 5; s++)
      for (size_t c = 0; c < 5; c++)
        for (size_t o = 0; o < 8; o++) {
          eb_plate plate = {bores[b], bores[b] * shares[s], closed[c]};
          double angle_deg = closed[c] + opened[o];
          eb_opening opening;
          assert_int_equal(eb_opening_at_angle(&plate, angle_deg, &opening, NULL), EB_OK);
          double wanted = projected_area(&plate, angle_deg);
          if (!(fabs(opening.area_mm2 - wanted) <= 1e-9 * wanted + 1e-9))
            fail_msg("bore %g, shaft %g, closed %g, open %g: area %.12g, measured out %.12g", plate.bore_mm,
                     plate.shaft_mm, plate.closed_deg, angle_deg, opening.area_mm2, wanted);
        }
}

/* The gap and the travel of the rim's point at 90 degrees from the shaft, by turning that point about the shaft. */
static void gap_and_travel_by_turning_a_point(void **state)
{
  (void)state;
  static const double closed[] = {0, 4, 10, 25};
  for (size_t c = 0; c < 4; c++)
    for (int i = 0; i < 9; i++) {
      double opened = 0.5 + 7.0 * i;
      eb_plate plate = {44, 8, closed[c]};
      double reach = 22 / cos(closed[c] * M_PI / 180);
      double angle = (closed[c] + opened) * M_PI / 180;
      eb_opening opening;
      assert_int_equal(eb_opening_at_angle(&plate, closed[c] + opened, &opening, NULL), EB_OK);
      assert_near("gap", opening.gap.mm, 22 - reach * cos(angle), 1e-11);
      assert_near("travel", opening.travel.mm, reach * sin(angle) - reach * sin(closed[c] * M_PI / 180), 1e-11);
    }
}

static void gap_table(void **state)
{
  (void)state;
  table t = table_read("throttle_gap.csv");
  for (int i = 0; i < t.rows; i++) {
    eb_plate plate = {table_number(&t, i, "bore_mm"), 0, table_number(&t, i, "closed_deg")};
    eb_feeler_gap gap = {table_number(&t, i, "feeler_gap_mm")};
    eb_opening at;
    assert_int_equal(eb_opening_at_gap(&plate, gap, &at, NULL), EB_OK);
    assert_near("area", at.area_mm2, table_number(&t, i, "area_mm2"), 1e-9);
    assert_near("angle", at.angle_deg, table_number(&t, i, "open_deg"), 1e-9);
    assert_near("travel", at.travel.mm, table_number(&t, i, "edge_travel_mm"), 1e-9);
    assert_true(at.area_mm2 > table_number(&t, i, "area_first_order_mm2"));
    assert_int_equal(eb_opening_at_travel(&plate, (eb_edge_travel){table_number(&t, i, "edge_travel_mm")}, &at, NULL),
                     EB_OK);
    assert_near("gap from travel", at.gap.mm, gap.mm, 1e-9);
    assert_int_equal(eb_opening_at_area(&plate, table_number(&t, i, "area_mm2"), &at, NULL), EB_OK);
    assert_near("gap from area", at.gap.mm, gap.mm, 1e-9);
  }
  table_clear(&t);
}

static void thread_table(void **state)
{
  (void)state;
  table t = table_read("threads.csv");
  for (int i = 0; i < t.rows; i++) {
    const eb_thread *thread = NULL;
    assert_int_equal(eb_thread_find(table_text(&t, i, "name"), &thread, NULL), EB_OK);
    assert_near("pitch", thread->pitch_mm, table_number(&t, i, "pitch_mm"), 1e-9);
    assert_near("thousandths", thread->pitch_mm / 0.0254, table_number(&t, i, "thou_per_turn"), 1e-9);
    assert_string_equal(thread->standard, thread->name[0] == 'M' ? "ISO 261" : "ASME B1.1");
  }
  table_clear(&t);
}

/* ISO 261, coarse pitches, and ASME B1.1's threads per inch, from memory: those that the table does not have. */
static void further_threads(void **state)
{
  (void)state;
  static const struct {
    const char *name;
    double pitch_mm;
  } known[] = {{"M3", 0.5}, {"M4", 0.7}, {"M5", 0.8}, {"M6", 1}, {"M8", 1.25}, {"1/4-28", 0.907142857142857}};
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    const eb_thread *thread = NULL;
    assert_int_equal(eb_thread_find(known[i].name, &thread, NULL), EB_OK);
    assert_near(known[i].name, thread->pitch_mm, known[i].pitch_mm, 1e-12);
  }
}

/* The name of a standard thread carries its pitch: millimetres behind the x, threads per inch behind the dash. */
static void every_thread_keeps_what_its_name_says(void **state)
{
  (void)state;
  size_t count = 0;
  const eb_thread *all = eb_threads(&count);
  for (size_t i = 0; i < count; i++) {
    const char *x = strchr(all[i].name, 'x');
    const char *dash = strchr(all[i].name, '-');
    assert_true((x != NULL) != (dash != NULL));
    assert_near(all[i].name, all[i].pitch_mm, x != NULL ? strtod(x + 1, NULL) : 25.4 / strtod(dash + 1, NULL), 1e-15);
  }
}

static double thou(double mm)
{
  return mm / 0.0254;
}

/* Common practice, no source: two thousandths are about right for a first correction of a single plate.  As edge travel
 * they are, over usual plates, for a bore that lacks a sixth of its air; as a feeler gap they are 4 to 10 times too
 * much. */
static void two_thousandths_are_edge_travel(void **state)
{
  (void)state;
  table t = table_read("trade_first_move.csv");
  eb_gas air = eb_gas_air();
  int two_fit = 0;
  for (int i = 0; i < t.rows; i++) {
    eb_orifice unit = {
        .area_mm2 = 1, .discharge = table_number(&t, i, "cd"), .upstream_pa = 101325, .upstream_k = 298.15};
    eb_mass_flow flow;
    assert_int_equal(eb_gas_mass_flow(&air, &unit, &flow, NULL), EB_OK);
    double area_mm2 = table_number(&t, i, "idle_kg_h_per_bore") / flow.kg_h;
    assert_rounds_to("area", area_mm2, table_text(&t, i, "open_area_mm2"));
    eb_throttle throttle = {.plate = {table_number(&t, i, "bore_mm"), 0, table_number(&t, i, "closed_deg")},
                            .closed_known = true,
                            .idle_kind = EB_IDLE_AREA,
                            .idle = {.area_mm2 = area_mm2 * 5 / 6}};
    eb_change lack = {0.2, 0};
    eb_gap_change gap;
    eb_travel_change travel, half;
    assert_int_equal(eb_throttle_gap_change(&throttle, lack, EB_BOTH_HALVES, &gap, NULL), EB_OK);
    assert_int_equal(eb_throttle_travel_change(&throttle, lack, EB_BOTH_HALVES, &travel, NULL), EB_OK);
    assert_int_equal(eb_throttle_travel_change(&throttle, lack, EB_ONE_HALF, &half, NULL), EB_OK);
    assert_rounds_to("feeler gap", thou(gap.nominal.mm), table_text(&t, i, "sixth_as_feeler_thou"));
    if (!(thou(travel.nominal.mm) > 0.85 && thou(travel.nominal.mm) < 4.45))
      fail_msg("row %d: %g thousandths of travel", i + 1, thou(travel.nominal.mm));
    double two = 2 / thou(gap.nominal.mm);
    assert_true(two > 3.5 && two < 10.5);
    double ratio = half.nominal.mm / travel.nominal.mm;
    assert_true(ratio > 1.7 && ratio < 2);
    two_fit += thou(travel.nominal.mm) > 1 && thou(travel.nominal.mm) < 4;
  }
  assert_true(two_fit > t.rows * 8 / 10);
  table_clear(&t);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(area_table),
      cmocka_unit_test(area_by_measuring_out_the_projection),
      cmocka_unit_test(gap_and_travel_by_turning_a_point),
      cmocka_unit_test(gap_table),
      cmocka_unit_test(thread_table),
      cmocka_unit_test(further_threads),
      cmocka_unit_test(every_thread_keeps_what_its_name_says),
      cmocka_unit_test(two_thousandths_are_edge_travel),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
