/* How an engine breathes through its throttles: air, pressure behind them, idle speed. */
#ifndef EVENBORE_SIMULATE_BREATH_H
#define EVENBORE_SIMULATE_BREATH_H

typedef struct breath {
  int bores;
  double upstream_pa, upstream_k;
  double swept_m3; /* of one cylinder */
  double accessories_w;
  double critical_pa;     /* below it a plate is choked */
  double choked_kg_s_mm2; /* air through each square millimetre then */
} breath;

breath breath_of(int bores, double upstream_pa, double upstream_k, double swept_m3, double accessories_w);

typedef struct draught {
  double kg_s;
  double behind_pa; /* mean pressure behind the plate */
} draught;

/* Air through one bore at an engine speed. effective_mm2: open area times discharge coefficient. */
draught breath_draw(const breath *b, double effective_mm2, double speed_rpm);

/* What the mixture's heat brings above what the engine needs at this speed, W. */
double breath_surplus_w(const breath *b, const double *effective_mm2, double speed_rpm);

/* Where the two are equal. */
double breath_speed_rpm(const breath *b, const double *effective_mm2);

#endif
