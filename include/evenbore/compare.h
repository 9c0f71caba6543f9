/* Compare: one engine in two conditions, idle and a held speed.
 *
 * At idle stops and plates decide, off idle the linkage does: levers, link angles, couplers.  What differs between the
 * two is therefore linkage, and which part of it shows by the same contrasts that tell what is uneven at idle. */
#ifndef EVENBORE_COMPARE_H
#define EVENBORE_COMPARE_H

#include "evenbore/evidence.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A part of the linkage: the link or coupler between two sides, or one bore's own lever. */
typedef struct eb_part {
  int adjuster;    /* whose sides it parts; -1: one bore's lever */
  eb_bores first;  /* that get more where `value` is above 0 */
  eb_bores second; /* and less; for one bore the others of its shaft, or of its row */
  eb_level level;
  double value;       /* ln of first over second, in the second condition over that in the first */
  double doubt;       /* standard deviation of it */
  double probability; /* of as much by chance: t, times the number of parts [Bonferroni] */
  bool differs;       /* that is below the risk, and the value at least half of the tolerance */
} eb_part;

typedef struct eb_comparison {
  eb_bores compared;               /* bores that count and were read in both */
  double difference[EB_BORES_MAX]; /* ln(second / first) from the mean of the compared */
  double doubt[EB_BORES_MAX];
  int count;
  eb_part part[EB_ADJUSTERS_MAX + EB_BORES_MAX]; /* those that touch more bores first */
} eb_comparison;

/* Weighted least squares on the readings after the last start, idle reset and move in each condition, without priors:
 * the same prior in both would pull the difference to nothing.  EB_UNSOLVABLE: fewer than two bores were read in both,
 * or an adjuster was moved since. Both are of one layout.  EB_OUT_OF_MEMORY. */
eb_status eb_evidence_compare(const eb_evidence *first, const eb_evidence *second, double tolerance, double risk,
                              eb_comparison *comparison, eb_error *error);

/* {"bores":{"1":{"difference","doubt"}},"parts":[{"adjuster"?,"level","more":[..],"less":[..],"value","doubt",
 * "probability","differs"}]}; more and less are the sides as the value has them, value above 0; relative.
 * Owned by the caller; NULL when memory runs out. */
eb_json *eb_comparison_json(const eb_comparison *comparison, const eb_layout *layout);

#ifdef __cplusplus
}
#endif
#endif
