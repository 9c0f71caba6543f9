/* Belief: what the readings and moves so far say about the bores, with doubt.
 *
 * One linear-Gaussian state: y_i, the ln airflow of each bore; g_k, what each
 * adjuster answers over what was wished; and, inside a running period, its
 * common level c and its drift d per pass.  A reading of bore i at time t (in
 * passes since the period's start) is z = ln(reading) = y_i + c + d t + error.
 * The model is this project's own; the arithmetic is that of a square-root
 * information filter [Bierman, Factorization Methods for Discrete Sequential
 * Estimation, 1977, chapters V and VI; from memory], so that covariances are
 * symmetric and positive definite by construction and the level can be
 * wholly unknown instead of "very doubtful". */
#ifndef EVENBORE_BELIEF_H
#define EVENBORE_BELIEF_H

#include "evenbore/host.h"
#include "evenbore/layout.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_belief eb_belief;

enum { EB_BELIEF_STATES_MAX = EB_BORES_MAX + EB_ADJUSTERS_MAX };

/* What is assumed before anything was measured, besides the layout's own figures (this project's own). */
typedef struct eb_priors {
  double drift;        /* standard deviation of d, ln per pass: 0.015 */
  double move_share;   /* what a move misses by, as a share of it: 0.15 */
  double move_least;   /* and at least, ln: 0.008 */
  double shift_share;  /* common shift of the bores that a move touches, as a share of it: 0.12 */
  double scatter;      /* scatter on each of them, ln: 0.006 */
  double others_share; /* what each of the other bores is disturbed by, as a share of it: 0.015 */
  double others_least; /* and at least, ln: 0.001 */
  double start; /* how differently what an adjuster of several bores moves closes after a start, as a move, ln: 0.004 */
  double gain_low; /* a gain's mean is kept inside 0.25 to 4 */
  double gain_high;
  double gain_spread_least; /* and its standard deviation above 0.12: nothing answers twice alike */
} eb_priors;
eb_priors eb_priors_usual(void);

/* Before anything was read: y = sum of J_k a_k + own part, a_k of the adjuster's `spread`, own part of the
 * layout's `plate_spread`.  A running period has begun.  The layout is copied as far as it is needed;
 * `priors` NULL: the usual ones; `host` must outlive the belief.  EB_OUT_OF_MEMORY. */
eb_status eb_belief_create(const eb_host *host, const eb_layout *layout, const eb_priors *priors, eb_belief **belief,
                           eb_error *error);
eb_status eb_belief_copy(const eb_belief *belief, eb_belief **copy, eb_error *error); /* EB_OUT_OF_MEMORY */
void eb_belief_destroy(eb_belief *belief);                                            /* NULL is allowed */

/* A new running period: level and drift are forgotten, and what several bores share may have closed a hair
 * differently.  Where no reading comes before the next period they can be forgotten earlier, which spares work. */
void eb_belief_period(eb_belief *belief);
void eb_belief_forget_level(eb_belief *belief);

/* A reading of a bore: its logarithm, the time in passes since the period's start, and the variance of
 * the logarithm (1e-100 to 1e100). */
void eb_belief_reading(eb_belief *belief, int bore, double passes, double log_value, double variance);

/* A move that was done: y += J m g, with what a move is known to miss by. */
void eb_belief_move(eb_belief *belief, int adjuster, double move);

/* The bore does not count for the mean any more. */
void eb_belief_leave_out(eb_belief *belief, int bore);
eb_bores eb_belief_counted(const eb_belief *belief);

/* Deviations from the mean of the bores that count, ln: `mean` of bore_count elements and, where not NULL,
 * `covariance` of bore_count rows of bore_count.  At least one bore must count. */
void eb_belief_deviations(const eb_belief *belief, double *mean, double *covariance);

/* An adjuster's gain, inside its bounds, and its standard deviation, above its least. */
void eb_belief_gain(const eb_belief *belief, int adjuster, double *mean, double *spread);

/* Deviations first, then gains as they stand in the state (without bounds): bore_count + adjuster_count elements,
 * and that many rows of that many. For a planner, which needs how they go together. */
void eb_belief_joint(const eb_belief *belief, double *mean, double *covariance);

/* The logarithm of how likely the readings since eb_belief_weigh were beforehand, but for a constant that is the same
 * for all beliefs that were given the same readings: the difference of two says which prior fits them better. */
void eb_belief_weigh(eb_belief *belief);
double eb_belief_likelihood(const eb_belief *belief);

const eb_priors *eb_belief_priors(const eb_belief *belief); /* borrowed until the belief is destroyed */

#ifdef __cplusplus
}
#endif
#endif
