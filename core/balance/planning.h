/* What a plan is made from, and the parts that make it. */
#ifndef EVENBORE_BALANCE_PLANNING_H
#define EVENBORE_BALANCE_PLANNING_H

#include "evenbore/belief.h"
#include "evenbore/host.h"
#include "evenbore/plan.h"

typedef struct plan_case {
  const eb_host *host;
  const eb_layout *layout;
  const eb_belief *belief;
  const eb_verdict *verdict; /* tolerance, risk and readings too */
  const eb_plan_options *options;
  double repeat_variance; /* variance of a reading's logarithm without the readable step */
  double step_variance;   /* and of the step's part */
  int attempts;           /* engine stops with moves so far */
} plan_case;

/* EB_OUT_OF_MEMORY. */
eb_status plan_make(const plan_case *given, eb_plan *plan, eb_error *error);

typedef struct outlook outlook;
typedef struct move_set move_set;
typedef struct forecast forecast;

/* Reading again: the bores that are worth it, and what it can bring. */
typedef struct read_choice {
  eb_bores bores;     /* none: nothing is to be gained */
  bool missing;       /* they were not read at all since the engine's start or the last move */
  bool before_move;   /* moves were chosen that one more reading may spare */
  double effort_min;  /* of reading them as often as will do if they stay as they are believed to be */
  double probability; /* that the claim meets the tolerance when they are read as often as is allowed */
} read_choice;
read_choice plan_read(const plan_case *given);

/* Bores that were read once only and that a move is for which may be no more than noise. */
read_choice plan_read_before(const plan_case *given, const move_set *moves);

/* The variance of the readable step's part that repeats do not average away. */
double plan_step_kept(double repeat_variance, double step_variance);

/* Variance of the mean of `readings` readings of a bore, ln. */
double plan_reading_variance(const plan_case *given, int readings);

/* The greatest deviation (ln) at which a bore with this doubt counts as even, when each bore that counts was read
 * `more` times more; negative: none does. */
double plan_even_up_to(const plan_case *given, double doubt, int more);

/* A set of moves, what it costs and what it leaves. */
typedef struct move_choice {
  bool found;
  double effort_min; /* the stop included */
  double left_min;   /* least effort: the work that is likely to be left after it, weighed */
  int level;         /* trade order: eb_level of the adjuster; else -1 */
  struct move_set *moves;
  struct forecast *after;
} move_choice;

/* Whether one of the moves is larger than any adjuster is asked to make. */
bool plan_too_far(const move_choice *moving);

double plan_base_effort(const plan_case *given, bool stopped); /* of stopping and measuring, or of measuring alone */

/* The set of moves with the least of effort_share * effort + what it leaves to do. */
void plan_search(const plan_case *given, const outlook *view, double effort_share, move_choice *choice);
void plan_trade(const plan_case *given, const outlook *view, move_choice *choice);

/* Writes plan->reason for the step that the plan holds; false when memory runs out. */
bool plan_reason(const plan_case *given, const read_choice *reading, const move_choice *moving, eb_plan *plan);

#endif
