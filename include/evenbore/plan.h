/* Plan: the next thing to do, with its reason. */
#ifndef EVENBORE_PLAN_H
#define EVENBORE_PLAN_H

#include "evenbore/host.h"
#include "evenbore/verdict.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum eb_step {
  EB_STEP_DONE, /* even: the claim meets the tolerance */
  EB_STEP_READ, /* read the bores of `read` again: more readings may settle it */
  EB_STEP_MOVE, /* make the moves, in their order */
  EB_STEP_STOP  /* nothing that can be done is worth it: end with the claim */
} eb_step;
const char *eb_step_text(eb_step step); /* "done", "read", "move", "stop" */

/* How a plan is chosen.  The chance of a step is that of *showing* all bores to be within the tolerance afterwards,
 * once they were read as often as is allowed: being within is not enough for a claim.
 * Least effort takes the set of adjusters with the least effort (of the stop and of the moves) and work that is likely
 * to be left to do after it: groups that are still off, bores that no group's move brings in, another stop.  Each set's
 * moves are those with the least expected square of what is left, damped by what is not known of the adjusters.  The
 * set is looked for by climbing from nothing and from everything: that is no proof that there is none better; of 330
 * seeded cases on four layouts in which all sets were tried none had one.  Only eb_plan_least_effort is exact.
 * Reading again comes first where it costs less than its chance to end the job saves, and where
 * a move may be against noise (less than 2.5 doubts) and one reading more may spare it.  Moves are worth a stop where
 * they leave less to do, or add 0.05 to the chance that reading again has.  Bores without a reading since the last
 * start or move are read before anything is decided. These rules and figures are this project's own. */
typedef enum eb_method {
  EB_METHOD_LEAST_EFFORT, /* the usual: least effort with what is likely to be left to do */
  EB_METHOD_TRADE_ORDER   /* largest group first: side, then pair, then bore, one adjuster a stop (common practice, no
                             source) */
} eb_method;
eb_status eb_method_read(const char *word, eb_method *method, eb_error *error); /* "least-effort", "trade-order" */

typedef struct eb_plan_options {
  eb_method method;
  bool one_at_a_time;     /* one adjuster for each engine stop */
  double least_move;      /* smallest worthwhile move, 0.02 */
  double stop_effort_min; /* effort of stopping, restarting and measuring once, 12 */
  int reads_max;          /* readings of one bore in a running period, 16: minutes beside a stop's quarter of an hour */
  int attempts_max;       /* engine stops with moves before the plan says stop, 12 */
  double read_effort_min; /* effort of reading one bore once, 0.25 */
  uint64_t without;       /* adjusters that are not to be used, seized ones say: bit k is adjuster k; none */
} eb_plan_options;
eb_plan_options eb_plan_options_usual(void);

/* The largest move, ln: a factor of 2.7.  What is off by more is no matter of adjusting; a plan says stop. */
#define EB_MOVE_MAX 1.0

typedef struct eb_move {
  int adjuster;
  double move;     /* wished change of ln(first side / second side); of ln(that side) where there is one */
  double expected; /* what it will change with the damping taken off: gain mean times move */
} eb_move;

typedef struct eb_plan {
  eb_step step;
  eb_bores read;  /* EB_STEP_READ */
  int move_count; /* EB_STEP_MOVE */
  eb_move move[EB_ADJUSTERS_MAX];
  double effort_min;             /* of the moves, the stop included; or of the readings */
  double expected[EB_BORES_MAX]; /* deviations (ln) after the step */
  double expected_spread;        /* greatest |exp(expected) - 1| */
  double probability_before;     /* that all bores are within the tolerance */
  double probability_after;      /* the same after the moves; for EB_STEP_READ that the claim meets the tolerance once
                                    those bores were read as often as is allowed; else as before */
  char reason[512]; /* one sentence: what is uneven, what is done and why that and nothing cheaper, what it should read,
                       how likely */
} eb_plan;

/* The least-effort set of adjusters that brings every counted bore's deviation (ln, bore_count elements) within
 * +-bound of a common level that is free, each move at least least_move in size, with the moves that leave the least
 * spread with that set.  Deterministic: answers as wished.  Exact by branch and bound over the sets; whether a set
 * reaches the bound is found by a simplex method on ranges [Dutertre and de Moura, A fast linear-arithmetic
 * solver for DPLL(T), 2006; from memory].  `move` has room for adjuster_count; *count may be 0.
 * EB_UNSOLVABLE: no set does; EB_BUDGET: too many sets to try; EB_OUT_OF_MEMORY. */
eb_status eb_plan_least_effort(const eb_host *host, const eb_layout *layout, eb_bores counted, const double *deviation,
                               double bound, double least_move, eb_move *move, int *count, double *effort_min,
                               eb_error *error);

/* {"step","read":["3"],"moves":[{"adjuster","move","share":{"1":0.021,...},"expected"}],"effort",
 *  "expected":{"1":0.004,...},"expected_spread","probability_before","probability_after","reason"}.
 * share: relative change of each bore that the move touches. Owned by the caller; NULL when memory runs out. */
eb_json *eb_plan_json(const eb_plan *plan, const eb_layout *layout);

#ifdef __cplusplus
}
#endif
#endif
