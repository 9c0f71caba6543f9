/* What comes out of an engine: heat at each port, and what a mixture sensor makes of it. */
#include "engine.h"

#include <math.h>

/* Of the fuel's heat, the share that leaves with the exhaust (a third, as heat balances have it), and the gas's
 * specific heat, J/(kg K): usual figures, from memory. */
static const double EXHAUST_SHARE = 0.35, GAS_J_KG_K = 1150;
static const double AIR_TO_FUEL = 14.6, CHARGE_K = 330;
/* Number of transfer units between valve and probe at the nominal idle; this project's own figure.  With turbulent heat
 * transfer it goes with the flow to the power of -0.2 [Dittus and Boelter; from memory]. */
static const double TRANSFER_UNITS = 0.9;

/* By one signal for all: the mean air of the cylinders that draw any, less what one of them is given too little. */
static double fuel_kg_h(const eb_engine *e, const eb_engine_truth *t, int bore)
{
  double air = 0, drawing = 0;
  for (int i = 0; i < e->layout.bore_count; i++) {
    air += t->flow_kg_h[i] * e->breathing.takes[i];
    drawing += e->breathing.takes[i];
  }
  return fault_fuel(e, bore) * air / drawing / AIR_TO_FUEL;
}

/* Gas leaves hot and comes down towards the walls on its way to the port. */
static double port_k(const eb_engine *e, double air_kg_h, double fuel, double burnt_kg_h)
{
  double gas_kg_h = air_kg_h + fuel;
  double rise_k = EXHAUST_SHARE * BREATH_HEAT_J_KG * burnt_kg_h / (gas_kg_h * GAS_J_KG_K);
  double nominal_kg_h = e->breathing.choked_kg_s_mm2 * 3600 * e->idle_mm2 * e->options.discharge;
  double units = TRANSFER_UNITS * pow(air_kg_h / nominal_kg_h, -0.2);
  return e->manifold_k + (CHARGE_K + rise_k - e->manifold_k) * exp(-units);
}

void exhaust_look(const eb_engine *e, eb_engine_truth *t)
{
  for (int i = 0; i < e->layout.bore_count; i++) {
    double air = t->flow_kg_h[i], fuel = fuel_kg_h(e, t, i);
    t->lambda[i] = air / (fuel * AIR_TO_FUEL);
    t->port_k[i] = port_k(e, air, fuel, fault_fires(e, i) * fmin(air, fuel * AIR_TO_FUEL));
  }
}

/* A sensor sees what oxygen and what fuel is left: those of a cylinder that does not fire are both left, and it takes
 * the oxygen alone for what it is. */
static double sensed(const eb_engine *e, const eb_engine_truth *t, eb_bores behind)
{
  double air = 0, wanted = 0;
  for (int i = 0; i < e->layout.bore_count; i++)
    if (behind >> i & 1) {
      air += t->flow_kg_h[i];
      wanted += fault_fires(e, i) * t->flow_kg_h[i] / t->lambda[i];
    }
  return wanted > 0 ? air / wanted : INFINITY;
}

eb_status eb_engine_port(eb_engine *e, int bore, double *port_k, eb_error *error)
{
  eb_engine_truth truth;
  if (!e->running)
    return eb_fail(error, EB_REFUSED, "", "the engine stands still; its exhaust tells nothing");
  eb_engine_look(e, &truth);
  *port_k = truth.port_k[bore] + stream_normal(&e->eye, e->options.port_spread_k);
  return EB_OK;
}

eb_status eb_engine_mixture(eb_engine *e, eb_bores behind, double *lambda, eb_error *error)
{
  static const double SCALE_END = 3; /* a sensor shows no more */
  eb_engine_truth truth;
  if (!e->running)
    return eb_fail(error, EB_REFUSED, "", "the engine stands still; its exhaust tells nothing");
  eb_engine_look(e, &truth);
  *lambda = fmin(sensed(e, &truth, behind) * exp(stream_normal(&e->eye, e->options.mixture_spread)), SCALE_END);
  return EB_OK;
}
