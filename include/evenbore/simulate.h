/* Simulate: engines made of metal and air, for rehearsal, practice and studies.
 *
 * They follow physics and not the belief's model: plates stand at angles that
 * shafts, couplers, links and seats give them, an opening passes air as a nozzle
 * does, the air sets the idle speed, warmth moves the link, a gauge flutters,
 * and adjusters answer by a factor of their own.  What is taken for granted
 * about wear, hands and habits is this project's own; handbook values are named.
 *
 * An engine is used by one thread at a time; two engines share nothing. */
#ifndef EVENBORE_SIMULATE_H
#define EVENBORE_SIMULATE_H

#include "evenbore/gauge.h"
#include "evenbore/host.h"
#include "evenbore/layout.h"
#include "evenbore/throttle.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_engine eb_engine;

/* A spread is the standard deviation of what it names; where it is about air it is in ln, at the nominal idle. */
typedef struct eb_engine_options {
  /* The engine as drawn. */
  eb_plate plate;       /* 45 mm bore, 8 mm shaft, closed at 7 deg */
  double discharge;     /* coefficient of an idle gap, 0.75 (assumed: there is no published value) */
  double leak_mm2;      /* of a closed plate, 0.1 */
  double swept_cm3;     /* of one cylinder, 500 */
  double idle_rpm;      /* 900 */
  double accessories_w; /* what the idling engine drives, 500 */
  double ambient_pa;    /* 101325 */
  double ambient_k;     /* 298.15 */
  double manifold_k;    /* of the warm manifold, 358.15 */
  double link_mm;       /* that a cross link spans, 250 */
  double arm_mm;        /* of the throttle arms, 30 */
  double warming_min;   /* time constant towards warm, the engine running, 5 */
  double cooling_min;   /* and towards ambient, stopped, 120 */
  double warm_spread_k; /* of where "warm" settles after each start, 1 */
  /* How far it is off before work; by an adjuster's kind, others as a screw. */
  double link_spread;       /* 0.10 */
  double coupler_spread;    /* 0.08 */
  double screw_spread;      /* 0.08 */
  double bleed_spread;      /* 0.05 */
  double plate_spread;      /* of where a plate sits on its shaft, 0.04 */
  double edge_spread;       /* of what its bevelled edge lets pass, 0.02 */
  double closed_spread_deg; /* of the angle at which it touches, 0.2 */
  /* What adjusters do with what is wished. */
  double answer_spread;                     /* of the ln of an adjuster's own factor, 0.5 */
  double answer_least, answer_most;         /* which stays within 1/3 to 3 */
  double answer_again;                      /* of the ln of what each use adds to it, 0.15 */
  double share_spread;                      /* a first side takes 1/2 of the move plus or minus this at most, 0.2 */
  double touched_spread;                    /* of what each use does to each bore that it touches, 0.005 */
  double neighbour_share, neighbour_spread; /* and to the bores next to those: share of the move 0.03, and 0.002 */
  double seat_spread;    /* of where a pulled plate comes back, 0.008; half of that for the others on its shaft */
  double lash;           /* lost where an adjuster turns back, 0.004 */
  double stick_chance;   /* that 20 to 60 % of a move stays in the linkage for now, 0.15 */
  double closing_spread; /* of where an adjuster's shafts close after a start or blip, 0.002 */
  /* The gauge and the eye. */
  eb_gauge gauge;       /* eb_gauge_usual(); its repeatability is the true one here */
  double needle;        /* what the nominal idle flow shows, in its unit, 7 */
  double needle_spread; /* of the ln of that between engines, 0.1 */
  double wander;        /* of the ln of the common level while the engine idles, 0.005 */
  double read_min;      /* one reading takes, 0.25 */
  /* Off idle, and what else is measured. */
  double lever_spread;   /* of a row's throttle levers among rows, relative; half of that among a row's bores: 0.015 */
  double port_spread_k;  /* of one look at an exhaust port's temperature, 4 */
  double mixture_spread; /* of one look at a mixture sensor, relative, 0.005 */
  double feeler_step_mm; /* of feeler leaves and of the gauge for edge travel, 0.01 */
} eb_engine_options;
eb_engine_options eb_engine_options_usual(void);

/* An engine that is off by what `seed` draws: warm, stopped, its idle set.  The same seed gives the same engine; layout
 * and options are copied (NULL: the usual ones), `host` must outlive the engine.
 * Random numbers are those of xoshiro256** seeded by splitmix64 [Blackman and Vigna, "Scrambled linear
 * pseudorandom number generators", 2018], the same on every machine; engine, work and readings draw from a stream each,
 * so that a further reading changes no later move.
 * EB_OUT_OF_RANGE: an engine that cannot be, or cannot idle; EB_OUT_OF_MEMORY. */
eb_status eb_engine_create(const eb_host *host, const eb_layout *layout, uint64_t seed,
                           const eb_engine_options *options, eb_engine **engine, eb_error *error);
void eb_engine_destroy(eb_engine *engine); /* NULL is allowed */

/* EB_REFUSED where it runs, or stands still, already. */
eb_status eb_engine_start(eb_engine *engine, eb_error *error);
eb_status eb_engine_stop(eb_engine *engine, eb_error *error);

/* Time passes: the manifold warms or cools. minutes >= 0. */
void eb_engine_wait(eb_engine *engine, double minutes);

/* Long use and other hands: where adjusters stand and plates sit is drawn anew from `seed`, and the idle is set again.
 * What an adjuster answers stays its own, times a factor whose ln has the spread `changed`.  EB_REFUSED: it runs. */
eb_status eb_engine_disturb(eb_engine *engine, uint64_t seed, double changed, eb_error *error);

/* The throttle is opened and let go: what sticks mostly comes free, and shafts close a hair differently. */
void eb_engine_blip(eb_engine *engine);

/* A finger pushes a bore's shaft lightly open or shut: as far as there is play in it, and no further.  It stays there
 * until the throttle falls shut anew.  Nothing moves where nothing is loose; a gauge at the bore stays on it. */
void eb_engine_push(eb_engine *engine, int bore, bool open);

/* The idle stop, turned until the engine idles at its speed as well as one hears that: 1 %.  EB_REFUSED: it does not
 * run. */
eb_status eb_engine_set_idle(eb_engine *engine, eb_error *error);

/* The idle stop to an opening beyond closed, 0 or more: another idle, or a held part throttle. */
void eb_engine_set_stop(eb_engine *engine, double opening_deg);

/* One reading, in the gauge's unit, rounded to its step and inside 0 to its high end.  EB_REFUSED: it does not run. */
eb_status eb_engine_read(eb_engine *engine, int bore, double *value, eb_error *error);

/* Between what the needle fluttered at the last reading, not rounded, inside 0 to its high end; 0 before any. */
void eb_engine_swing(const eb_engine *engine, double *least, double *most);

/* The adjuster is used for a wished move (ln, as eb_move has it).  EB_REFUSED: it wants the engine stopped. */
eb_status eb_engine_move(eb_engine *engine, int adjuster, double wished, eb_error *error);

/* What can be wrong beside what adjusters set right.  None of it follows the belief's model.  Figures at strength 1,
 * this project's own; they grow with the strength. */
typedef enum eb_fault {
  EB_FAULT_LEAK,  /* a stack's clamp slit lets air in between gauge and plate: the gauge sees a fifth less of it */
  EB_FAULT_DEAD,  /* a cylinder that draws a fiftieth of its air and burns none */
  EB_FAULT_WEAK,  /* a cylinder that draws its air and does not fire */
  EB_FAULT_LEAN,  /* a row or a bore that gets 15 % too little fuel for its air */
  EB_FAULT_STICK, /* a plate stays open by up to 8 % of air, differently after each closing */
  EB_FAULT_LOOSE_COUPLER, /* a coupler, or another linkage, answers as it likes, and moves by 3 % at each closing */
  EB_FAULT_LASH,          /* a row closes on one or the other end of its lash, 4 % apart */
  EB_FAULT_WANDER,        /* the idle hunts: all bores up and down by 5 % in some minutes */
  EB_FAULT_WARMING,       /* begins cold and takes six times as long to get warm */
  EB_FAULT_BAND,          /* the vent is set so that the needle leaves the gauge's best band by half of its end */
  EB_FAULT_VENT,          /* the vent is moved by 10 % in the middle of one of the first two passes */
  EB_FAULT_SWAP,          /* the tuner's: two neighbouring bores' readings are typed in swapped order (bay.h) */
  EB_FAULTS
} eb_fault;

/* "leak", "dead", "weak", "lean", "stick", "loose-coupler", "lash", "wander", "warming", "band", "vent", "swap";
 * static. EB_NOT_FOUND names the nearest. */
const char *eb_fault_word(eb_fault fault);
eb_status eb_fault_read(const char *word, eb_fault *fault, eb_error *error);

enum { EB_FAULT_STRENGTH_MAX = 3 };

/* Puts a fault in and sets the idle again, as whoever drove it so would have.  `where` are the bores that it lies at;
 * 0: drawn from the engine's seed, for each kind by itself. Faults of the whole engine and of the gauge take 0 alone.
 * EB_OUT_OF_RANGE: a strength not above 0 up to the most, or bores that are not there; EB_REFUSED: this engine cannot
 * have it (no linkage, a single bore), has it already, or it is the tuner's. */
eb_status eb_engine_inject(eb_engine *engine, eb_fault fault, double strength, eb_bores where, eb_error *error);

/* Sets right what can be at the engine: not the vent, nor that it still warms.  Does nothing where it is not there. */
void eb_engine_mend(eb_engine *engine, eb_fault fault);

/* A person holds the throttle so that it runs at this speed, within 1 %: the levers' geometry is felt, the stops are
 * not. EB_REFUSED: it does not run; EB_OUT_OF_RANGE: it idles faster than that, or never comes to it. */
eb_status eb_engine_hold(eb_engine *engine, double speed_rpm, eb_error *error);
void eb_engine_release(eb_engine *engine); /* and lets it go, as a blip does; nothing where it is not held */

/* The idle stop set to another speed, by ear as above. EB_REFUSED. */
eb_status eb_engine_set_speed(eb_engine *engine, double speed_rpm, eb_error *error);

/* The gauge's vent, turned until the needle at this bore stands near `value`, within a tenth.  EB_REFUSED: no air. */
eb_status eb_engine_set_vent(eb_engine *engine, int bore, double value, eb_error *error);

/* Tachometer, to 10 rpm. EB_REFUSED: it does not run. */
eb_status eb_engine_speed(eb_engine *engine, double *speed_rpm, eb_error *error);

/* Exhaust gas at a port, K, and the mixture (lambda, 1 where all oxygen burns) that a sensor shows behind some bores:
 * all of them, or one row's.  Each bore's fuel is the mean air's, so that a bore with more air runs leaner. EB_REFUSED:
 * it does not run. */
eb_status eb_engine_port(eb_engine *engine, int bore, double *port_k, eb_error *error);
eb_status eb_engine_mixture(eb_engine *engine, eb_bores behind, double *lambda, eb_error *error);

/* A plate's place as it stands on its stop, by feeler leaf or as edge travel, to the step. EB_REFUSED: it runs. */
eb_status eb_engine_gap(eb_engine *engine, int bore, eb_feeler_gap *gap, eb_error *error);
eb_status eb_engine_travel(eb_engine *engine, int bore, eb_edge_travel *travel, eb_error *error);

/* What no gauge shows. As it is, or would be if it ran with this idle stop. */
typedef struct eb_engine_truth {
  double deviation[EB_BORES_MAX]; /* airflow over the mean of all, less 1 */
  double spread;                  /* the greatest of them, without its sign */
  double angle_deg[EB_BORES_MAX];
  double area_mm2[EB_BORES_MAX];
  double flow_kg_h[EB_BORES_MAX];
  double behind_pa[EB_BORES_MAX]; /* mean pressure behind the plate */
  double speed_rpm;
  double stop_deg; /* opening of the idle stop */
  double manifold_k;
  double port_k[EB_BORES_MAX]; /* exhaust gas at the port */
  double lambda[EB_BORES_MAX]; /* mixture that the cylinder is given */
  double fault[EB_FAULTS];     /* strength of each; 0: it is not there */
  eb_bores faulty[EB_FAULTS];  /* the bores that it lies at; 0 where it lies at none in particular */
} eb_engine_truth;
void eb_engine_look(const eb_engine *engine, eb_engine_truth *truth);

#ifdef __cplusplus
}
#endif
#endif
