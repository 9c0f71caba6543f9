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
  double lever; /* degrees for each that the throttle is held open by */
} throat;

/* A fault as it stands. Unused members are 0. */
typedef struct defect {
  double strength; /* 0: it is not there */
  eb_bores where;
  int adjuster; /* of a loose linkage */
  stream draws;
  double now_deg;           /* what it opens its bores by since the last closing */
  double phase, period_min; /* of hunting */
  int readings_left;        /* until somebody moves the vent */
} defect;

struct eb_engine {
  const eb_host *host;
  eb_engine_options options;
  eb_layout layout;
  breath breathing;
  uint64_t seed;
  stream work, needle, eye; /* eye: all instruments but the gauge */
  double per_deg;           /* ln of air for a degree at the nominal idle */
  double idle_mm2;          /* nominal open area there */
  part part[EB_ADJUSTERS_MAX];
  throat throat[EB_BORES_MAX];
  defect defect[EB_FAULTS];
  bool running;
  double clock_min; /* since it was made */
  double stop_deg;  /* the idle stop: opening that all plates share */
  double held_deg;  /* opening that a person holds beyond it */
  double manifold_k;
  double settles_k; /* where it warms to since the last start */
  double vent;      /* the gauge's reading for a flow of 1 kg/h */
  double wandered;  /* ln of the common level now */
  int pushed;       /* bore that was pushed at since the last reading; -1: none */
  int read;         /* bore that was read last; -1: none */
  double seat;      /* ln; how the gauge sat there */
  double swung[2];  /* ends of the needle's flutter at the last reading; at first ln, about its place */
};

enum { DRAWS, WORK, NEEDLE, LEVERS, EYE, FAULT_DRAWS = 16 }; /* streams of one seed; the last: one for each fault */

/* Draws all that is fixed or starts somewhere.  The nominal idle must be known. */
void engine_draw(eb_engine *engine, stream *draws);
void engine_draw_again(eb_engine *engine, stream *draws, double changed); /* for another day */
void engine_draw_levers(eb_engine *engine);

/* The stop at which an engine of nominal throttles idles as drawn; false where none does. */
bool engine_find_nominal(eb_engine *engine);

/* Angles and areas of all bores as the parts stand. */
void engine_throats(const eb_engine *engine, double *angle_deg, double *area_mm2);

/* Open areas times discharge coefficients, as breath.h wants them. */
void engine_openings(const eb_engine *engine, const double *area_mm2, double *effective_mm2);

/* Of what eb_engine_look tells the one thing alone. */
double engine_speed_rpm(const eb_engine *engine);
double engine_flow_kg_h(const eb_engine *engine, int bore);

/* Turns the idle stop until the engine idles at this speed, as far as the stop goes. */
void engine_turn_stop(eb_engine *engine, double speed_rpm);

/* Opens the throttle until it runs at this speed; false where it never does. */
bool engine_hold(eb_engine *engine, double speed_rpm);

/* A plate's place as the parts stand. */
eb_opening engine_opening(const eb_engine *engine, int bore);

/* fault.c: what faults do to a plate's opening and a linkage's setting, */
double fault_opening_deg(const eb_engine *engine, int bore);
double fault_setting_deg(const eb_engine *engine, int adjuster);
double fault_answer(eb_engine *engine, int adjuster); /* to what an adjuster does, a factor */
void fault_closing(eb_engine *engine);                /* when the throttle falls shut */
void fault_push(eb_engine *engine, int bore, bool open);
double fault_seen(eb_engine *engine, int bore); /* to what the gauge sees at one reading, a factor */

double fault_fuel(const eb_engine *engine, int bore);  /* share of the fuel that a cylinder is to have */
double fault_fires(const eb_engine *engine, int bore); /* share of its strokes that fire */

/* exhaust.c: temperature at each port, and the mixture that each bore gets, for these flows. */
void exhaust_look(const eb_engine *engine, eb_engine_truth *truth);

#endif
