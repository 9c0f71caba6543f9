/* Finding: what in the readings does not look like an imbalance.
 *
 * Nothing is corrected here and no reading is dropped: a finding says what was
 * seen, how large, how unlikely by chance, and by which test.  What is asked of
 * the tuner, and what becomes of the readings, is the procedure's.
 *
 * Readings that nothing but snaps of the throttle part (no start, no move) are
 * held against what all earlier readings and moves let expect, with its doubt, by
 * generalised least squares: a candidate fault is one more column, its size the
 * coefficient, its test Student's t with the degrees of freedom that
 * Welch and Satterthwaite give [JCGM 100:2008, G.4.1], its probability that of a t at least as large times the number
 * of candidates that were tried [Bonferroni].  The limits on probability and size are this project's own, set so that
 * a sound engine hardly ever has a finding; the file of each search (core/balance/finding_*.c) lists its own. */
#ifndef EVENBORE_FINDING_H
#define EVENBORE_FINDING_H

#include "evenbore/evidence.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum eb_finding_kind {
  EB_FINDING_LEAK, /* one bore alone reads far lower than its pair, side and past let expect: false air at its clamp? */
  EB_FINDING_NO_AIR,   /* a bore drew nearly no air, confirmed: dead cylinder, stuck valve, open leak */
  EB_FINDING_STICKING, /* one bore reads differently after a snap */
  EB_FINDING_LOOSE,    /* the two shafts of a pair part after a snap; or an adjuster's answers to its moves scatter */
  EB_FINDING_LASH,     /* a whole side reads differently after a snap */
  EB_FINDING_WANDER,   /* repeats scatter beyond the gauge's repeatability, without direction */
  EB_FINDING_WARMING,  /* readings of one running period drift one way: common level, or side against side */
  EB_FINDING_BAND,     /* most readings of the last pass lie outside the gauge's best band */
  EB_FINDING_VENT,     /* from one reading since the last start or move on all are off by one factor */
  EB_FINDING_SWAPPED   /* two neighbours' readings of one pass were typed for one another's bore */
} eb_finding_kind;
const char *eb_finding_text(eb_finding_kind kind); /* "leak", "no-air", "sticking", "loose", "lash", ... */

typedef struct eb_finding {
  eb_finding_kind kind;
  eb_bores bores;     /* that it is about; 0: all alike */
  int adjuster;       /* that it is about; -1: none */
  double size;        /* ln: shift of the bores, of first against second side, drift per pass. Of answers and of wander:
                         scatter over what was to be expected; of the band: share of the readings outside */
  double doubt;       /* standard deviation of a size in ln; 0 where it has none */
  double probability; /* of as much by chance; 0 where the finding is a count */
  const char *test;   /* name of the test; static */
  bool sure;          /* false: seen after one snap alone, and a second one settles it; or swapped, and both read once
                         more do */
  bool stayed;        /* seen after one snap and as it was after the next: it came free, and stays so */
  bool pushed;        /* seen between shafts pushed open and pushed shut; not sure: the bores to push once more */
  int pass;           /* EB_FINDING_SWAPPED: the pass that it was in, counted from 1; else 0 */
  int after, before;  /* EB_FINDING_VENT: it lies between the readings of these bores; else -1 */
} eb_finding;

enum { EB_FINDINGS_MAX = 16 };
typedef struct eb_findings {
  int count;
  eb_finding finding[EB_FINDINGS_MAX];
} eb_findings;

/* What the evidence shows now, in the order of eb_finding_kind; nothing where there are no readings.  EB_OUT_OF_MEMORY.
 */
eb_status eb_evidence_findings(const eb_evidence *evidence, eb_findings *found, eb_error *error);

/* The bores to read again after a snap: one on each shaft, the one that is furthest off, two to four in all; those of
 * an engine of up to four bores.  0 before the first reading. EB_OUT_OF_MEMORY. */
eb_status eb_evidence_snap_bores(const eb_evidence *evidence, eb_bores *bores, eb_error *error);

/* [{"kind","bores":["3"],"adjuster"?,"size","doubt","probability","test","sure","stayed"?,"pushed"?,"pass"?,"after"?,
 * "before"?}], size and doubt relative (exp(x)-1) where they are ln.  Owned by the caller; NULL when memory runs
 * out. */
eb_json *eb_findings_json(const eb_findings *found, const eb_layout *layout);

#ifdef __cplusplus
}
#endif
#endif
