#include "evenbore/airflow.h"

#include <math.h>

/* ISO 2533:1975, clause 2: at sea level, and in the layer up to 11 km. */
static const double sea_level_k = 288.15;
static const double sea_level_pa = 101325;
static const double gravity_m_s2 = 9.80665;
static const double lapse_k_m = 0.0065;
static const double tropopause_m = 11000;

static double pressure_below_tropopause(double altitude_m, double constant_j_kg_k)
{
  double temperature_k = sea_level_k - lapse_k_m * altitude_m;
  return sea_level_pa * pow(temperature_k / sea_level_k, gravity_m_s2 / (lapse_k_m * constant_j_kg_k));
}

eb_status eb_atmosphere_at(double altitude_m, eb_atmosphere *atmosphere, eb_error *error)
{
  if (!(altitude_m >= -2000 && altitude_m <= 20000))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "altitude %g m; the standard atmosphere is known from -2000 to 20000 m",
                   altitude_m);
  double constant = eb_gas_air().constant_j_kg_k;
  double layer_m = fmin(altitude_m, tropopause_m);
  double temperature_k = sea_level_k - lapse_k_m * layer_m;
  double pressure_pa = pressure_below_tropopause(layer_m, constant);
  if (altitude_m > tropopause_m)
    pressure_pa *= exp(-gravity_m_s2 * (altitude_m - tropopause_m) / (constant * temperature_k));
  *atmosphere = (eb_atmosphere){.temperature_k = temperature_k,
                                .pressure_pa = pressure_pa,
                                .density_kg_m3 = pressure_pa / (constant * temperature_k)};
  return EB_OK;
}

/* Saturation pressure of water vapour, CIPM-2007, equation A1.1. */
static double saturation_pa(double temperature_k)
{
  return exp(1.2378847e-5 * temperature_k * temperature_k - 1.9121316e-2 * temperature_k + 33.93711047 -
             6.3431645e3 / temperature_k);
}

eb_status eb_air_density(double pressure_pa, double temperature_k, double humidity, double *density_kg_m3,
                         eb_error *error)
{
  if (!(temperature_k >= 233.15 && temperature_k <= 333.15))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "air temperature %g degC; -40 to 60 degC would be right",
                   temperature_k - 273.15);
  if (!(humidity >= 0 && humidity <= 1))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "relative humidity %g %%; 0 to 100 %% would be right", humidity * 100);
  if (!(pressure_pa >= 5000 && pressure_pa <= 200000))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "air pressure %g Pa; 5000 to 200000 Pa would be right", pressure_pa);
  double vapour_pa = humidity * saturation_pa(temperature_k);
  if (vapour_pa > pressure_pa)
    return eb_fail(error, EB_OUT_OF_RANGE, "",
                   "water vapour of %g Pa in air of %g Pa; it cannot be more than the whole", vapour_pa, pressure_pa);
  /* 0.378 is 1 less the ratio of the molar masses of water and dry air. */
  *density_kg_m3 = (pressure_pa - 0.378 * vapour_pa) / (eb_gas_air().constant_j_kg_k * temperature_k);
  return EB_OK;
}
