/* Verdict: how even the engine is, and how sure that is.
 *
 * Deviations are natural logarithms of a bore's airflow over the mean of the
 * bores that count; a doubt is a standard deviation of one.  There is no
 * verdict without them. */
#ifndef EVENBORE_VERDICT_H
#define EVENBORE_VERDICT_H

#include "evenbore/layout.h"
#include "evenbore/statistics.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum eb_word { EB_EVEN, EB_UNEVEN, EB_UNSURE, EB_LEFT_OUT } eb_word;
const char *eb_word_text(eb_word word); /* "even", "uneven", "unsure", "left out" */

typedef enum eb_level { EB_LEVEL_SIDE, EB_LEVEL_PAIR, EB_LEVEL_BORE } eb_level;
const char *eb_level_text(eb_level level); /* "side", "pair", "bore" */

/* The contrast that an adjuster can correct: mean deviation of its first side minus that
 * of its second (of the first alone where there is one), with the contrasts of the adjusters that
 * touch more bores taken out of it. */
typedef struct eb_contrast {
  int adjuster;
  eb_level level;
  double value; /* ln */
  double doubt; /* standard deviation of value */
} eb_contrast;

typedef struct eb_bore_verdict {
  double reading;     /* mean of its readings in this running period since the last move in it, gauge's unit; 0: none */
  int readings;       /* how many those are */
  double deviation;   /* ln(flow / mean) */
  double doubt;       /* standard deviation of it */
  double probability; /* that it is within the tolerance */
  eb_word word; /* even where probability >= 1 - risk/n or the engine is even; uneven below the risk; else unsure */
} eb_bore_verdict;

typedef struct eb_verdict {
  double tolerance; /* relative, 0.05 */
  double risk;      /* 0.05 */
  eb_bore_verdict bore[EB_BORES_MAX];
  double spread;        /* greatest |exp(deviation) - 1| of the bores that count */
  int worst;            /* that bore */
  double claim;         /* least tolerance at which the sum of 1 - P_i is the risk at most [Bonferroni; JCGM 106:2012:
                           acceptance by guard band, consumer's risk]; 1 where none below 1 holds */
  eb_word word;         /* of the engine: even where claim <= tolerance; uneven where any bore is; else unsure */
  double probability;   /* that all bores are within: lower bound 1 - sum (1 - P_i), not below 0 [Bonferroni] */
  double repeatability; /* pooled relative standard deviation of one reading */
  double degrees_of_freedom; /* of it, by Welch-Satterthwaite [JCGM 100:2008, G.4] */
  int contrast_count;
  eb_contrast contrast[EB_ADJUSTERS_MAX];
} eb_verdict;

/* Probability that a quantity lies from `low` to `high` (either may be infinite), given its estimate and
 * standard uncertainty `doubt` > 0: normal, or Student's t where `degrees_of_freedom` (>= 1) is finite
 * [JCGM 106:2012, clause 7]. */
double eb_conformity(double low, double high, double estimate, double doubt, double degrees_of_freedom);
/* The same for many quantities of equal degrees of freedom. */
double eb_conformity_by(const eb_student *student, double low, double high, double estimate, double doubt);

/* Least relative tolerance at which the chances of the `count` deviations (ln) to be outside add up to `risk` at most:
 * then all are within with a chance of 1 - risk or more [Bonferroni].  1 where none below 1 holds.  It gets no smaller
 * as a doubt or the greatest deviation grows. */
double eb_claim(const double *deviation, const double *doubt, int count, double degrees_of_freedom, double risk);

/* The verdict that follows from deviations from the mean of `counted` (bore_count elements) and their covariance
 * (as many rows of as many).  Readings and repeatability are left 0: they are the evidence's. */
void eb_verdict_make(const eb_layout *layout, eb_bores counted, const double *deviation, const double *covariance,
                     double degrees_of_freedom, double tolerance, double risk, eb_verdict *verdict);

/* Whether an adjuster is for a side, a pair or one bore: one bore only; else all bores or a whole row of several
 * is a side; all others pairs. */
eb_level eb_adjuster_level(const eb_layout *layout, const eb_adjuster *adjuster);

/* As the line protocol and the journal have it:
 * {"word","tolerance","risk","claim","spread","worst","probability","repeatability","degrees_of_freedom",
 *  "bores":{"1":{"value","readings","deviation","doubt","probability","word"},...},
 *  "contrasts":[{"adjuster","level","value","doubt"}]}.
 * value: the reading in the gauge's unit, null without one; deviation and doubt: relative (exp(x)-1), 0.031 for
 * 3.1 %; they and probability are null for a bore that is left out.  degrees_of_freedom: at most 10 000.
 * Owned by the caller; NULL when memory runs out. */
eb_json *eb_verdict_json(const eb_verdict *verdict, const eb_layout *layout);

#ifdef __cplusplus
}
#endif
#endif
