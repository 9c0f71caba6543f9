/* The hands of the study: starts, warms, reads and moves a simulated engine, and counts what that costs. */
#ifndef EVENBORE_STUDY_TUNER_H
#define EVENBORE_STUDY_TUNER_H

#include "evenbore/simulate.h"

/* What is asked of a routine. */
typedef struct task {
  const eb_layout *layout;
  const eb_engine_options *engine;
  eb_gauge told; /* what the routine is told of the gauge */
  double tolerance, risk;
  uint64_t seed;
  int average;    /* by hand: readings that make one value */
  double bound;   /* by hand: what they are held against */
  bool shown;     /* each step is printed */
  bool known;     /* of another day: the routine starts from what adjusters answered on the first */
  double taught;  /* what it says they answered, without any doubt; 0: the truth of it */
  double changed; /* spread of the ln by which their answers changed since */
} task;

/* How it went. */
typedef struct outcome {
  int stops, readings, plates, moves;
  double minutes;
  bool says_even; /* it says that all bores are within the tolerance */
  double claim;   /* tolerance that it claims; 0: it claims nothing */
  double truth;   /* greatest true deviation in the end */
  double begin;   /* and before work */
  double misses;  /* sum over bores of ((true deviation - its estimate) / its doubt)^2; planned alone */
  int stopped_by; /* eb_step of the last plan; planned alone */
  bool failed;    /* it met what it cannot handle, such as a bore that reads nothing */
} outcome;

typedef struct tuner {
  const task *given;
  eb_engine *engine;
  outcome so_far;
} tuner;

void study_begin(tuner *t, const task *given);
void study_end(tuner *t, outcome *result); /* fills truth too */

/* The engine was stopped, and is off again; what it costs is counted from here. */
void study_next_day(tuner *t);

void study_start(tuner *t); /* starts the engine, lets it get warm and steady, sets its idle */
void study_stop(tuner *t);
double study_read(tuner *t, int bore);
void study_move(tuner *t, int adjuster, double move);

/* A stop and start of the engine without the measuring, minutes. The study's own figure. */
static const double STUDY_STOP_MIN = 10;

/* The program's own decisions, step by step as a session takes them. */
outcome study_planned(const task *given);

/* The same on another day, on an engine that went through it before and is as far off as it was once. */
outcome study_again(const task *given);

/* By hand: largest group first, one adjuster a stop, until one pass reads within the bound. */
outcome study_by_hand(const task *given);

/* The least work that brings the engine within the tolerance where everything is known: no readings, no claim. */
outcome study_hindsight(const task *given);

#endif
