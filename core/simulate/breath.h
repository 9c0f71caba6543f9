/* How an engine breathes through its throttles: air, pressure behind them, idle speed. */
#ifndef EVENBORE_SIMULATE_BREATH_H
#define EVENBORE_SIMULATE_BREATH_H

#include "evenbore/layout.h"

typedef struct breath {
  int bores;
  double upstream_pa, upstream_k;
  double swept_m3; /* of one cylinder */
  double accessories_w;
  double critical_pa;         /* below it a plate is choked */
  double choked_kg_s_mm2;     /* air through each square millimetre then */
  double takes[EB_BORES_MAX]; /* share of its air that a cylinder is able to draw; 1 */
  double burns[EB_BORES_MAX]; /* and share of the heat that comes of it; 1 */
} breath;

breath breath_of(int bores, double upstream_pa, double upstream_k, double swept_m3, double accessories_w);

typedef struct draught {
  double kg_s;
  double behind_pa; /* mean pressure behind the plate */
} draught;

/* Air through one bore at an engine speed. effective_mm2: open area times discharge coefficient. */
draught breath_draw(const breath *b, int bore, double effective_mm2, double speed_rpm);

/* What the mixture's heat brings above what the engine needs at this speed, W. */
double breath_surplus_w(const breath *b, const double *effective_mm2, double speed_rpm);

/* What it lacks instead: of the right sign, and exact where it is close to none. */
double breath_lacks_w(const breath *b, const double *effective_mm2, double speed_rpm);

/* Heat of the fuel that a kilogram of air burns, J. */
extern const double BREATH_HEAT_J_KG;

/* Where the two are equal. */
double breath_speed_rpm(const breath *b, const double *effective_mm2);

#endif
