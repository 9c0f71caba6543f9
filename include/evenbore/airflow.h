/* Airflow: gas through an opening, and the air that an engine breathes.
 *
 * Gauge units are left to quantity.h: everything here is in the units that end
 * the names, absolute pressures and absolute temperatures. */
#ifndef EVENBORE_AIRFLOW_H
#define EVENBORE_AIRFLOW_H

#include "evenbore/status.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_gas {
  double heat_ratio;      /* of specific heats, > 1 */
  double constant_j_kg_k; /* specific gas constant, > 0 */
} eb_gas;

/* Dry air: 1.4 and 287.05287 J/(kg K) [ISO 2533]. */
eb_gas eb_gas_air(void);

/* The pressure ratio (downstream over upstream) below which flow through an
 * opening is choked: it then depends on the area and on what is upstream, not on the
 * pressure behind.  (2/(k+1))^(k/(k-1)), 0.5283 for air [NACA Report 1135]. */
double eb_gas_critical_ratio(const eb_gas *gas);

/* Flow function of St. Venant and Wantzel: mass flow times sqrt(R T0) over (cd A p0),
 * dimensionless, for a pressure ratio from 0 to 1; 0.6847 for air when
 * choked, 0 at ratio 1 [NACA Report 1135; Heywood, Internal Combustion Engine
 * Fundamentals, appendix C].  A ratio outside 0 to 1 is a caller's mistake. */
double eb_gas_flow_function(const eb_gas *gas, double pressure_ratio);

/* An opening with what stands before and behind it. */
typedef struct eb_orifice {
  double area_mm2;      /* geometric, >= 0 */
  double discharge;     /* discharge coefficient cd, above 0 to 1 */
  double upstream_pa;   /* stagnation pressure, > 0 */
  double upstream_k;    /* stagnation temperature, > 0 */
  double downstream_pa; /* 0 to upstream_pa */
} eb_orifice;

typedef struct eb_mass_flow {
  double kg_h;
  bool choked;
} eb_mass_flow;

/* cd A p0 / sqrt(R T0) times the flow function.  EB_OUT_OF_RANGE names the member
 * and its range. No discharge coefficient is assumed: for a throttle plate at
 * idle there is no published value that this project could check. */
eb_status eb_gas_mass_flow(const eb_gas *gas, const eb_orifice *orifice, eb_mass_flow *flow, eb_error *error);

typedef struct eb_atmosphere {
  double temperature_k;
  double pressure_pa;
  double density_kg_m3; /* dry */
} eb_atmosphere;

/* The standard atmosphere at a geopotential altitude from -2000 to 20000 m [ISO 2533:1975, the same as
 * US Standard Atmosphere 1976 there].  An altitude above sea level as maps have it differs from it by less than
 * 0.05 % up to 3000 m.  EB_OUT_OF_RANGE. */
eb_status eb_atmosphere_at(double altitude_m, eb_atmosphere *atmosphere, eb_error *error);

/* Density of moist air, kg/m3: an ideal mixture, (p - 0.378 e)/(R T), with the saturation pressure of CIPM-2007 [Picard
 * and others, Metrologia 45, 2008, appendix A1.1]; within 0.1 % of the full CIPM-2007 formula.
 * temperature_k 233.15 to 333.15 (-40 to 60 degC), humidity (relative) 0 to 1, pressure_pa from
 * 5000, above the vapour's, to 200000.  EB_OUT_OF_RANGE. */
eb_status eb_air_density(double pressure_pa, double temperature_k, double humidity, double *density_kg_m3,
                         eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
