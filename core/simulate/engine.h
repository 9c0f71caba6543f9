/* What an engine consists of. Angles are degrees of plate; a setting is what an adjuster has turned. */
#ifndef EVENBORE_SIMULATE_ENGINE_H
#define EVENBORE_SIMULATE_ENGINE_H

#include "evenbore/simulate.h"

#include "breath.h"
#include "stream.h"

typedef enum part_kind { PART_LINK, PART_COUPLER, PART_SCREW, PART_BLEED, PART_PLATE } part_kind;

/* An adjuster as metal. */
typedef struct part {
  part_kind kind;
  double setting; /* deg; of a bleed mm2, and of each bore */
  double held;    /* part of it that sticks in the linkage: not felt yet */
  double seating; /* deg; how differently its shafts closed this time */
  double share;   /* of its first side in the setting; its second side turns the other way by what is left */
  double answer;  /* what it does for what is wished */
  int facing;     /* which way its thread lies: 1 or -1 */
} part;

typedef struct throat {
  double closed_deg;
  double seat_deg; /* how the plate sits on its shaft */
  double discharge;
} throat;

struct eb_engine {
  const eb_host *host;
  eb_engine_options options;
  eb_layout layout;
  breath breathing;
  stream work, needle;
  double per_deg;  /* ln of air for a degree at the nominal idle */
  double idle_mm2; /* nominal open area there */
  part part[EB_ADJUSTERS_MAX];
  throat throat[EB_BORES_MAX];
  bool running;
  double stop_deg; /* the idle stop: opening that all plates share */
  double manifold_k;
  double settles_k; /* where it warms to since the last start */
  double vent;      /* the gauge's reading for a flow of 1 kg/h */
  double wandered;  /* ln of the common level now */
};

/* Draws all that is fixed or starts somewhere.  The nominal idle must be known. */
void engine_draw(eb_engine *engine, stream *draws);

/* The stop at which an engine of nominal throttles idles as drawn; false where none does. */
bool engine_find_nominal(eb_engine *engine);

/* Angles and areas of all bores as the parts stand. */
void engine_throats(const eb_engine *engine, double *angle_deg, double *area_mm2);

/* Open areas times discharge coefficients, as breath.h wants them. */
void engine_openings(const eb_engine *engine, double *effective_mm2);

/* Turns the idle stop until the engine idles at this speed, as far as the stop goes. */
void engine_turn_stop(eb_engine *engine, double speed_rpm);

#endif
