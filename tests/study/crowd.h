/* Many engines at once: the same routine on each, and what came of it. */
#ifndef EVENBORE_STUDY_CROWD_H
#define EVENBORE_STUDY_CROWD_H

#include "tuner.h"

typedef outcome routine(const task *given);

/* Engine i of a crowd has the seed `seed + i`.  The results do not depend on the number of threads. */
void crowd_run(routine *run, const task *given, int engines, int jobs, outcome *results);

/* What a crowd's outcomes come to. */
typedef struct tally {
  int engines, claims, even, claims_true, even_true, within, failed;
  double stops_median, stops_high; /* high: nine in ten need no more */
  double readings_median, readings_high;
  double plates_mean, moves_mean;
  double minutes_median, minutes_mean;
  double claim_median, truth_median, begin_median;
  double miss; /* root mean square of (true deviation - estimate) / doubt */
} tally;
tally crowd_tally(const task *given, const outcome *results, int engines);

/* Share of `hits` in `trials` with the ends of its 95 % interval [Clopper and Pearson, Biometrika 26 (1934)]. */
typedef struct share {
  double value, low, high;
} share;
share share_of(int hits, int trials);

/* Whether so few hits speak against a true share of `wanted` or more: less likely than one in a hundred. */
bool too_few(int hits, int trials, double wanted);

#endif
