#include "evenbore/throttle.h"

#include <math.h>

/* One number says how far a plate is open: `lift`, 1 less k, where k = cos(angle)/cos(closed) is the
 * width of the plate's projection along the bore over the bore's diameter.  A plate that touches a
 * round bore at the closed angle is an ellipse whose projection is the bore's circle; opened,
 * the projection is an ellipse of half-axes R (along the shaft) and k R.
 *
 * What stays open is the circle less the union of that ellipse and the strip of
 * the shaft, of half-width a R.  Beside the strip, the circle has 2 R^2 (pi/2 - asin a - a sqrt(1-a^2)) and
 * the ellipse 2 R^2 k (pi/2 - asin b - b sqrt(1-b^2)), b = a/k; the difference is the area.  Once k <= a
 * the plate lies behind the shaft and only the first remains.  (Sums of these arcsines with other
 * signs are in print; they do not agree with a projection that is measured out.) */
static double area_mm2(const eb_plate *plate, double lift)
{
  double a = plate->shaft_mm / plate->bore_mm;
  double k = 1 - lift;
  double half_square = plate->bore_mm * plate->bore_mm / 2;
  if (a > 0 && k <= a)
    return half_square * (M_PI_2 - asin(a) - a * sqrt(1 - a * a));
  double open = M_PI_2 * lift;
  if (a > 0) {
    double b = a / k;
    open += k * asin(b) - asin(a) + a * (sqrt(1 - b * b) - sqrt(1 - a * a));
  }
  return half_square * open;
}

static double lift_max(const eb_plate *plate)
{
  return 1 - plate->shaft_mm / plate->bore_mm;
}

/* d(area)/d(lift): positive, and falling as the plate opens. */
static double area_slope(const eb_plate *plate, double lift)
{
  double b = plate->shaft_mm / plate->bore_mm / (1 - lift);
  if (plate->shaft_mm <= 0)
    b = 0;
  else if (b >= 1)
    return 0;
  return plate->bore_mm * plate->bore_mm / 2 * (acos(b) + b * sqrt(1 - b * b));
}

/* Newton's rule from the closed plate: the area's curve bends down, so every
 * step falls short and the steps climb to the lift without passing it. */
static double lift_of_area(const eb_plate *plate, double wanted_mm2)
{
  double lift = 0;
  for (int i = 0; i < 100; i++) {
    double slope = area_slope(plate, lift);
    double missing = wanted_mm2 - area_mm2(plate, lift);
    if (slope <= 0 || missing <= 0)
      break;
    lift = fmin(lift + missing / slope, lift_max(plate));
  }
  return lift;
}

/* sin^2(angle) = sin^2(closed) + cos^2(closed) lift (2 - lift): differences of
 * near angles without the loss of digits that subtracting their sines would bring. */
static eb_opening opening_at(const eb_plate *plate, double lift)
{
  double closed = plate->closed_deg * M_PI / 180;
  double risen = cos(closed) * cos(closed) * lift * (2 - lift);
  double sine = sqrt(sin(closed) * sin(closed) + risen);
  double sines = sine + sin(closed);
  double axial = sines > 0 ? risen / sines / cos(closed) : 0;
  return (eb_opening){.angle_deg = atan2(sine, cos(closed) * (1 - lift)) * 180 / M_PI,
                      .gap = {plate->bore_mm / 2 * lift},
                      .travel = {plate->bore_mm / 2 * axial},
                      .area_mm2 = area_mm2(plate, lift)};
}

static eb_status check_plate(const eb_plate *plate, eb_error *error)
{
  if (!(plate->bore_mm > 0) || !isfinite(plate->bore_mm))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "bore diameter %g mm; it must be above 0", plate->bore_mm);
  if (!(plate->shaft_mm >= 0 && plate->shaft_mm < plate->bore_mm))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "shaft diameter %g mm; 0 to below the bore's %g mm would be right",
                   plate->shaft_mm, plate->bore_mm);
  if (!(plate->closed_deg >= 0 && plate->closed_deg < 90))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "closed angle %g deg; 0 to below 90 deg would be right",
                   plate->closed_deg);
  return EB_OK;
}

static eb_status lift_at_angle(const eb_plate *plate, double angle_deg, double *lift, eb_error *error)
{
  eb_status status = check_plate(plate, error);
  if (status != EB_OK)
    return status;
  if (!(angle_deg >= plate->closed_deg && angle_deg <= 90))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "plate angle %g deg; this plate turns from %g deg (closed) to 90 deg",
                   angle_deg, plate->closed_deg);
  double angle = angle_deg * M_PI / 180;
  double closed = plate->closed_deg * M_PI / 180;
  *lift = 2 * sin((angle + closed) / 2) * sin((angle - closed) / 2) / cos(closed);
  return EB_OK;
}

static eb_status lift_at_gap(const eb_plate *plate, eb_feeler_gap gap, double *lift, eb_error *error)
{
  eb_status status = check_plate(plate, error);
  if (status != EB_OK)
    return status;
  if (!(gap.mm >= 0 && gap.mm <= plate->bore_mm / 2))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "feeler gap %g mm; 0 to %g mm, half the bore, would be right", gap.mm,
                   plate->bore_mm / 2);
  *lift = 2 * gap.mm / plate->bore_mm;
  return EB_OK;
}

static eb_feeler_gap gap_of(const eb_plate *plate, double lift)
{
  return (eb_feeler_gap){plate->bore_mm / 2 * lift};
}

eb_status eb_opening_at_angle(const eb_plate *plate, double angle_deg, eb_opening *opening, eb_error *error)
{
  double lift = 0;
  eb_status status = lift_at_angle(plate, angle_deg, &lift, error);
  if (status == EB_OK)
    *opening = opening_at(plate, lift);
  return status;
}

eb_status eb_gap_at_angle(const eb_plate *plate, double angle_deg, eb_feeler_gap *gap, eb_error *error)
{
  double lift = 0;
  eb_status status = lift_at_angle(plate, angle_deg, &lift, error);
  if (status == EB_OK)
    *gap = gap_of(plate, lift);
  return status;
}

eb_status eb_opening_at_gap(const eb_plate *plate, eb_feeler_gap gap, eb_opening *opening, eb_error *error)
{
  double lift = 0;
  eb_status status = lift_at_gap(plate, gap, &lift, error);
  if (status == EB_OK)
    *opening = opening_at(plate, lift);
  return status;
}

eb_status eb_area_at_gap(const eb_plate *plate, eb_feeler_gap gap, double *area, eb_error *error)
{
  double lift = 0;
  eb_status status = lift_at_gap(plate, gap, &lift, error);
  if (status == EB_OK)
    *area = area_mm2(plate, lift);
  return status;
}

eb_status eb_opening_at_travel(const eb_plate *plate, eb_edge_travel travel, eb_opening *opening, eb_error *error)
{
  eb_status status = check_plate(plate, error);
  if (status != EB_OK)
    return status;
  eb_opening wide = opening_at(plate, 1);
  if (!(travel.mm >= 0 && travel.mm <= wide.travel.mm))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "edge travel %g mm; this plate's edge goes from 0 to %g mm", travel.mm,
                   wide.travel.mm);
  double part = 2 * travel.mm / plate->bore_mm;
  double risen = part * (2 * tan(plate->closed_deg * M_PI / 180) + part);
  *opening = opening_at(plate, risen / (1 + sqrt(fmax(0, 1 - risen))));
  return EB_OK;
}

eb_status eb_opening_at_area(const eb_plate *plate, double wanted_mm2, eb_opening *opening, eb_error *error)
{
  eb_status status = check_plate(plate, error);
  if (status != EB_OK)
    return status;
  double widest = area_mm2(plate, lift_max(plate));
  if (!(wanted_mm2 >= 0 && wanted_mm2 <= widest))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "open area %g mm2; this plate opens from 0 to %g mm2", wanted_mm2,
                   widest);
  *opening = opening_at(plate, lift_of_area(plate, wanted_mm2));
  return EB_OK;
}
