/* The room airflow: what physics and geometry say about the air through a
 * throttle.  Simulated engines take their flow from it; sessions and the
 * command line turn a wished relative change into thousandths and screw turns. */
#include "evenbore/airflow.h"

#include <assert.h>
#include <math.h>

eb_gas eb_gas_air(void)
{
  return (eb_gas){.heat_ratio = 1.4, .constant_j_kg_k = 287.05287};
}

double eb_gas_critical_ratio(const eb_gas *gas)
{
  double k = gas->heat_ratio;
  assert(k > 1);
  return pow(2 / (k + 1), k / (k - 1));
}

static double flow_function(const eb_gas *gas, double pressure_ratio, bool choked)
{
  double k = gas->heat_ratio;
  assert(k > 1 && pressure_ratio >= 0 && pressure_ratio <= 1);
  if (choked)
    return sqrt(k) * pow(2 / (k + 1), (k + 1) / (2 * (k - 1)));
  /* 1 - r^((k-1)/k) without the loss of digits near r = 1. */
  double drop = -expm1((k - 1) / k * log(pressure_ratio));
  return pow(pressure_ratio, 1 / k) * sqrt(2 * k / (k - 1) * drop);
}

double eb_gas_flow_function(const eb_gas *gas, double pressure_ratio)
{
  return flow_function(gas, pressure_ratio, pressure_ratio <= eb_gas_critical_ratio(gas));
}

static eb_status check_gas(const eb_gas *gas, eb_error *error)
{
  if (!(gas->heat_ratio > 1) || !isfinite(gas->heat_ratio))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "ratio of specific heats %g; it must be above 1", gas->heat_ratio);
  if (!(gas->constant_j_kg_k > 0) || !isfinite(gas->constant_j_kg_k))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "gas constant %g J/(kg K); it must be above 0", gas->constant_j_kg_k);
  return EB_OK;
}

static eb_status check_orifice(const eb_orifice *orifice, eb_error *error)
{
  if (!(orifice->area_mm2 >= 0) || !isfinite(orifice->area_mm2))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "area %g mm2; it must be 0 or more", orifice->area_mm2);
  if (!(orifice->discharge > 0 && orifice->discharge <= 1))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "discharge coefficient %g; it must be above 0 and at most 1",
                   orifice->discharge);
  if (!(orifice->upstream_pa > 0) || !isfinite(orifice->upstream_pa))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "upstream pressure %g Pa; it must be above 0", orifice->upstream_pa);
  if (!(orifice->upstream_k > 0) || !isfinite(orifice->upstream_k))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "upstream temperature %g K; it must be above 0", orifice->upstream_k);
  if (!(orifice->downstream_pa >= 0 && orifice->downstream_pa <= orifice->upstream_pa))
    return eb_fail(error, EB_OUT_OF_RANGE, "",
                   "downstream pressure %g Pa; it must be 0 to the upstream pressure, %g Pa", orifice->downstream_pa,
                   orifice->upstream_pa);
  return EB_OK;
}

eb_status eb_gas_mass_flow(const eb_gas *gas, const eb_orifice *orifice, eb_mass_flow *flow, eb_error *error)
{
  eb_status status = check_gas(gas, error);
  if (status == EB_OK)
    status = check_orifice(orifice, error);
  if (status != EB_OK)
    return status;
  double ratio = orifice->downstream_pa / orifice->upstream_pa;
  bool choked = ratio <= eb_gas_critical_ratio(gas);
  double kg_s = orifice->discharge * orifice->area_mm2 * 1e-6 * orifice->upstream_pa /
                sqrt(gas->constant_j_kg_k * orifice->upstream_k) * flow_function(gas, ratio, choked);
  *flow = (eb_mass_flow){.kg_h = kg_s * 3600, .choked = choked};
  return EB_OK;
}
