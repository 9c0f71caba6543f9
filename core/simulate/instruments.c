/* Instruments and hands: a held throttle, the gauge's vent, tachometer, feeler leaves and edge travel. */
#include "engine.h"

#include <math.h>

static eb_status stands(const eb_engine *e, const char *what, eb_error *error)
{
  if (e->running)
    return EB_OK;
  return eb_fail(error, EB_REFUSED, "", "the engine stands still; %s", what);
}

eb_status eb_engine_hold(eb_engine *e, double speed_rpm, eb_error *error)
{
  static const double STEADY = 0.01; /* of a hand or a stop */
  eb_status status = stands(e, "no speed can be held", error);
  if (status != EB_OK)
    return status;
  double before_deg = e->held_deg;
  e->held_deg = 0;
  double idle_rpm = engine_speed_rpm(e);
  double wanted_rpm = speed_rpm * exp(stream_normal(&e->eye, STEADY));
  if (wanted_rpm > idle_rpm && engine_hold(e, wanted_rpm))
    return EB_OK;
  e->held_deg = before_deg;
  return eb_fail(error, EB_OUT_OF_RANGE, "", "%g rpm cannot be held; it idles at %.0f rpm", speed_rpm, idle_rpm);
}

void eb_engine_release(eb_engine *e)
{
  if (!(e->held_deg > 0))
    return;
  e->held_deg = 0;
  eb_engine_blip(e);
}

eb_status eb_engine_set_vent(eb_engine *e, int bore, double value, eb_error *error)
{
  static const double NEAR = 0.1;
  eb_status status = stands(e, "there is no air to set a vent by", error);
  if (status != EB_OK)
    return status;
  e->vent = value * exp(stream_uniform(&e->eye, -NEAR, NEAR)) / engine_flow_kg_h(e, bore);
  return EB_OK;
}

eb_status eb_engine_speed(eb_engine *e, double *speed_rpm, eb_error *error)
{
  static const double STEP_RPM = 10;
  eb_status status = stands(e, "it has no speed", error);
  if (status == EB_OK)
    *speed_rpm = STEP_RPM * nearbyint(engine_speed_rpm(e) / STEP_RPM);
  return status;
}

/* A leaf goes in or does not: feel is worth half a step. */
static double felt_mm(eb_engine *e, double mm)
{
  double step = e->options.feeler_step_mm;
  return fmax(step * nearbyint(mm / step + stream_uniform(&e->eye, -0.5, 0.5)), 0);
}

static eb_status is_off(const eb_engine *e, eb_error *error)
{
  if (!e->running)
    return EB_OK;
  return eb_fail(error, EB_REFUSED, "", "the engine runs; a plate is measured with the engine stopped");
}

eb_status eb_engine_gap(eb_engine *e, int bore, eb_feeler_gap *gap, eb_error *error)
{
  eb_status status = is_off(e, error);
  if (status == EB_OK)
    gap->mm = felt_mm(e, engine_opening(e, bore).gap.mm);
  return status;
}

eb_status eb_engine_travel(eb_engine *e, int bore, eb_edge_travel *travel, eb_error *error)
{
  eb_status status = is_off(e, error);
  if (status == EB_OK)
    travel->mm = felt_mm(e, engine_opening(e, bore).travel.mm);
  return status;
}
