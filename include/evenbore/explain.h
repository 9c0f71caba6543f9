/* Explain: what the spread of an uneven engine consists of. */
#ifndef EVENBORE_EXPLAIN_H
#define EVENBORE_EXPLAIN_H

#include "evenbore/evidence.h"
#include "evenbore/statistics.h"

#ifdef __cplusplus
extern "C" {
#endif

/* Sides, pairs and bores nest as the layout's two-sided adjusters part them; a level that parts nothing has no share.
 */
typedef struct eb_level_share {
  bool present;
  double share; /* of the sum of squares of the bores' deviations; all shares add up to 1 */
  bool tested;  /* by the nested analysis of variance of the readings */
  double f, p;  /* against the level below; of a bore against the repeats */
} eb_level_share;

typedef struct eb_explanation {
  eb_level_share level[3]; /* by eb_level */
  eb_level most;           /* that with the greatest share */
  int repeats;             /* degrees of freedom of the repeats */
} eb_explanation;

/* The shares are of the verdict's deviations, a bore a value; F and p of the nested analysis of variance (statistics.h)
 * over the readings since the last start and move.  EB_UNSOLVABLE as for a verdict, or where nothing is spread;
 * EB_OUT_OF_MEMORY. */
eb_status eb_evidence_explain(const eb_evidence *evidence, const eb_verdict *verdict, eb_explanation *explanation,
                              eb_error *error);

/* {"most":"side","shares":{"side":0.7,...},"tests":{"side":{"f","p"},...},"repeats"}. Owned by the caller; NULL when
 * memory runs out. */
eb_json *eb_explanation_json(const eb_explanation *explanation);

#ifdef __cplusplus
}
#endif
#endif
