#include "evenbore/throttle.h"

#include <math.h>

static eb_status check_change(eb_change change, eb_error *error)
{
  if (!(change.relative > -1) || !isfinite(change.relative))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "change of %g %%; it must be above -100 %%, where no air is left",
                   change.relative * 100);
  if (!(change.doubt >= 0) || !isfinite(change.doubt))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "doubt of %g %%; it must be 0 or more", change.doubt * 100);
  return EB_OK;
}

/* The plate as far as an answer needs it.  Area and gap depend on one another
 * and not on the closed angle, so from one to the other any angle serves. */
static eb_status find_plate(const eb_throttle *throttle, bool angle_needed, eb_plate *plate, eb_error *error)
{
  eb_idle_kind kind = throttle->idle_kind;
  if (kind == EB_IDLE_UNKNOWN)
    return eb_fail(error, EB_NOT_FOUND, "",
                   "the opening at idle is not known; its feeler gap, edge travel, angle or area would be right");
  if (throttle->plate.bore_mm == 0)
    return eb_fail(error, EB_NOT_FOUND, "", "the bore's diameter is not known");
  if (!throttle->closed_known && (angle_needed || kind == EB_IDLE_ANGLE || kind == EB_IDLE_TRAVEL))
    return eb_fail(error, EB_NOT_FOUND, "", "the plate's closed angle is not known");
  *plate = throttle->plate;
  if (!throttle->closed_known)
    plate->closed_deg = 0;
  return EB_OK;
}

static eb_status find_idle(const eb_throttle *throttle, const eb_plate *plate, eb_opening *idle, eb_error *error)
{
  eb_status status = EB_OK;
  switch (throttle->idle_kind) {
  case EB_IDLE_ANGLE: status = eb_opening_at_angle(plate, throttle->idle.angle_deg, idle, error); break;
  case EB_IDLE_GAP: status = eb_opening_at_gap(plate, throttle->idle.gap, idle, error); break;
  case EB_IDLE_TRAVEL: status = eb_opening_at_travel(plate, throttle->idle.travel, idle, error); break;
  default: status = eb_opening_at_area(plate, throttle->idle.area_mm2, idle, error); break;
  }
  if (status == EB_OK && !(idle->area_mm2 > 0))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "the plate is closed at idle; no change is relative to no opening");
  return status;
}

/* One half carries half of the area, so alone it must change by twice as much. */
static double wanted_area_mm2(const eb_opening *idle, double relative, eb_halves halves)
{
  return idle->area_mm2 * (1 + relative * (halves == EB_ONE_HALF ? 2 : 1));
}

/* Where the plate, or its one bent half, stands after the least, the wished and the greatest change. */
typedef struct moved {
  eb_opening idle, low, nominal, high;
} moved;

static eb_status find_moved(const eb_plate *plate, const eb_opening *idle, eb_change change, eb_halves halves,
                            moved *found, eb_error *error)
{
  eb_opening wide;
  eb_status status = eb_opening_at_angle(plate, 90, &wide, error);
  if (status != EB_OK)
    return status;
  double wanted = wanted_area_mm2(idle, change.relative, halves);
  if (wanted < 0 || wanted > wide.area_mm2)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "a change of %g %% of %g mm2 is more than %s can do",
                   change.relative * 100, idle->area_mm2,
                   halves == EB_ONE_HALF ? "one half of this plate" : "this plate");
  double least = fmax(wanted_area_mm2(idle, change.relative - 2 * change.doubt, halves), 0);
  double most = fmin(wanted_area_mm2(idle, change.relative + 2 * change.doubt, halves), wide.area_mm2);
  found->idle = *idle;
  status = eb_opening_at_area(plate, least, &found->low, error);
  if (status == EB_OK)
    status = eb_opening_at_area(plate, wanted, &found->nominal, error);
  if (status == EB_OK)
    status = eb_opening_at_area(plate, most, &found->high, error);
  return status;
}

static eb_status find_move(const eb_throttle *throttle, bool angle_needed, eb_change change, eb_halves halves,
                           moved *found, eb_error *error)
{
  eb_plate plate;
  eb_opening idle;
  eb_status status = check_change(change, error);
  if (status == EB_OK)
    status = find_plate(throttle, angle_needed, &plate, error);
  if (status == EB_OK)
    status = find_idle(throttle, &plate, &idle, error);
  if (status == EB_OK)
    status = find_moved(&plate, &idle, change, halves, found, error);
  return status;
}

/* Without the shaft the area is proportional to the gap, so a known gap is enough for a gap. */
static eb_status gap_alone(eb_feeler_gap gap, eb_change change, eb_halves halves, eb_gap_change *amount,
                           eb_error *error)
{
  eb_status status = check_change(change, error);
  if (status != EB_OK)
    return status;
  if (!(gap.mm > 0) || !isfinite(gap.mm))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "feeler gap %g mm at idle; it must be above 0", gap.mm);
  double share = halves == EB_ONE_HALF ? 2 * gap.mm : gap.mm;
  if (share * change.relative < -gap.mm)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "a change of %g %% is more than one half of a plate can do",
                   change.relative * 100);
  *amount = (eb_gap_change){.low = {fmax(share * (change.relative - 2 * change.doubt), -gap.mm)},
                            .nominal = {share * change.relative},
                            .high = {share * (change.relative + 2 * change.doubt)}};
  return EB_OK;
}

eb_status eb_throttle_gap_change(const eb_throttle *throttle, eb_change change, eb_halves halves, eb_gap_change *amount,
                                 eb_error *error)
{
  if (throttle->idle_kind == EB_IDLE_GAP && throttle->plate.bore_mm == 0)
    return gap_alone(throttle->idle.gap, change, halves, amount, error);
  moved found = {.idle = {.area_mm2 = 0}};
  eb_status status = find_move(throttle, false, change, halves, &found, error);
  if (status != EB_OK)
    return status;
  *amount = (eb_gap_change){.low = {found.low.gap.mm - found.idle.gap.mm},
                            .nominal = {found.nominal.gap.mm - found.idle.gap.mm},
                            .high = {found.high.gap.mm - found.idle.gap.mm}};
  return EB_OK;
}

eb_status eb_throttle_travel_change(const eb_throttle *throttle, eb_change change, eb_halves halves,
                                    eb_travel_change *amount, eb_error *error)
{
  moved found = {.idle = {.area_mm2 = 0}};
  eb_status status = find_move(throttle, true, change, halves, &found, error);
  if (status != EB_OK)
    return status;
  *amount = (eb_travel_change){.low = {found.low.travel.mm - found.idle.travel.mm},
                               .nominal = {found.nominal.travel.mm - found.idle.travel.mm},
                               .high = {found.high.travel.mm - found.idle.travel.mm}};
  return EB_OK;
}

eb_status eb_throttle_turns_change(const eb_throttle *throttle, eb_change change, eb_turns_change *amount,
                                   eb_error *error)
{
  moved found = {.idle = {.area_mm2 = 0}};
  eb_turns_change turns;
  eb_status status = find_move(throttle, true, change, EB_BOTH_HALVES, &found, error);
  if (status == EB_OK)
    status = eb_screw_turns(&throttle->screw, found.low.angle_deg - found.idle.angle_deg, &turns.low_turns, error);
  if (status == EB_OK)
    status =
        eb_screw_turns(&throttle->screw, found.nominal.angle_deg - found.idle.angle_deg, &turns.nominal_turns, error);
  if (status == EB_OK)
    status = eb_screw_turns(&throttle->screw, found.high.angle_deg - found.idle.angle_deg, &turns.high_turns, error);
  if (status == EB_OK)
    *amount = turns;
  return status;
}
