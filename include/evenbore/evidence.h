/* Evidence: all that was measured and done on one engine, in order, and what follows from it.
 *
 * It holds events and no conclusions: verdict and plan follow from all of them,
 * so the same events give the same answers.  What was worked out for one
 * question is kept for the next one, out of sight; one thread at a time asks. */
#ifndef EVENBORE_EVIDENCE_H
#define EVENBORE_EVIDENCE_H

#include "evenbore/gauge.h"
#include "evenbore/host.h"
#include "evenbore/plan.h"
#include "evenbore/statistics.h"
#include "evenbore/verdict.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_evidence eb_evidence;

/* Layout and gauge are copied; `host` must outlive the evidence. */
eb_status eb_evidence_create(const eb_host *host, const eb_layout *layout, const eb_gauge *gauge,
                             eb_evidence **evidence, eb_error *error);
void eb_evidence_destroy(eb_evidence *evidence); /* NULL is allowed */

/* A new gauge setting holds for the readings that follow. */
void eb_evidence_set_gauge(eb_evidence *evidence, const eb_gauge *gauge);

/* A new running period: engine start, idle reset, vent change. The common level is unknown from here. */
eb_status eb_evidence_period(eb_evidence *evidence, eb_error *error);

/* Begins a pass; readings that follow belong to it until it is closed. Readings outside a pass are repeats. */
eb_status eb_evidence_pass(eb_evidence *evidence, eb_error *error);

/* One reading, in the gauge's unit, > 0. Readings of one running period are taken as equally far apart in time,
 * whether they count or not; as many as there are bores are one pass long. */
eb_status eb_evidence_reading(eb_evidence *evidence, int bore, double value, eb_error *error);

/* One reading with a finger on the bore's shaft, which pushes it lightly open, or shut.  The second counts as any other
 * reading; the first is held against it alone, and is taken right before it, the gauge not lifted. */
eb_status eb_evidence_pushed(eb_evidence *evidence, int bore, double value, bool open, eb_error *error);

typedef struct eb_closure {
  bool comparable; /* the pass began and ended at the same bore in one running period, without a move */
  bool accepted;   /* true where it is not comparable: nothing speaks against it */
  double change;   /* ln(last / first reading of the first bore); 0 where not comparable */
  double limit;    /* what is accepted, as ln: 8 %, or one readable step where that is more */
} eb_closure;

/* Ends the pass.  A pass whose closure is beyond the limit is rejected: its readings do not count
 * (still warming, idle hunting). */
void eb_evidence_close(eb_evidence *evidence, eb_closure *closure);

/* A move that was done. */
eb_status eb_evidence_move(eb_evidence *evidence, int adjuster, double move, eb_error *error);

/* The throttle was opened and let go: what sticks comes free or sticks elsewhere.  Readings before and after are still
 * of one running period. */
eb_status eb_evidence_snap(eb_evidence *evidence, eb_error *error);

/* The bore drew nearly no air, confirmed. */
eb_status eb_evidence_no_air(eb_evidence *evidence, int bore, eb_error *error);

/* Readings of these bores do not count any more, back to the beginning of the last pass, the last snap, the start of
 * the running period, or all of them: a fault was found in them.  They stay in the record. */
typedef enum eb_since { EB_SINCE_PASS, EB_SINCE_SNAP, EB_SINCE_START, EB_SINCE_EVER } eb_since;
void eb_evidence_strike(eb_evidence *evidence, eb_bores bores, eb_since since);

/* The same of what these bores read on the way round in one pass, counted from 1; nothing where there was none. */
void eb_evidence_strike_pass(eb_evidence *evidence, eb_bores bores, int pass);

/* A bore that is not balanced by its throttle any more (dead cylinder, open leak): it does not count
 * for the mean, the verdict or the plan. */
void eb_evidence_leave_out(eb_evidence *evidence, int bore);

/* What is measured stands still, such as lengths at a stopped engine: no drift is taken for possible. */
void eb_evidence_still(eb_evidence *evidence);

/* Readings of a bore in this running period that count; and its last value there, 0 where there is none. */
int eb_evidence_count(const eb_evidence *evidence, int bore, double *last);
double eb_evidence_row_median(const eb_evidence *evidence, int bore); /* of the bore's row; 0: none */

/* What the repeats alone say of one reading's relative standard deviation, without the gauge's prior (see the verdict
 * below for what counts as a repeat). Degrees of freedom 0: there are none. */
eb_spread eb_evidence_repeats(const eb_evidence *evidence);

/* What an adjuster answers over what was wished, as all readings and moves have it. */
typedef struct eb_gain {
  double mean;
  double spread; /* standard deviation */
  int moves;     /* that were done, and followed by readings that count; 0: it is the layout's own */
} eb_gain;

/* One for each adjuster, adjuster_count elements. EB_OUT_OF_MEMORY. */
eb_status eb_evidence_gains(const eb_evidence *evidence, eb_gain *gains, eb_error *error);

/* What is left of it for the engine's next job: the mean, with a spread that allows for what may have changed since, a
 * fifth of the mean (this project's own; `scripts/study --again` measures it). */
eb_gain eb_gain_later(eb_gain gain);

/* Whether what earlier jobs taught of the adjusters (known_gain of the layout) is still believed: until the readings
 * are nine times as likely without it, as if in one job of ten something was changed since [Bayes' theorem].  True
 * where nothing was known.  EB_OUT_OF_MEMORY. */
eb_status eb_evidence_known_stands(const eb_evidence *evidence, bool *stands, eb_error *error);

/* EB_UNSOLVABLE where no bore was read in this running period or fewer than two bores count. The doubt of a reading is
 * the gauge's prior pooled with the repeats of all running periods (repeats of one bore without a move between them,
 * their common slope taken out where three degrees of freedom or more allow it) and the readable step, which averages
 * away over repeats as far as they scatter over the graduations.  Moves without a reading between them are one engine
 * stop. */
eb_status eb_evidence_verdict(const eb_evidence *evidence, double tolerance, double risk, eb_verdict *verdict,
                              eb_error *error);
eb_status eb_evidence_plan(const eb_evidence *evidence, double tolerance, double risk, const eb_plan_options *options,
                           eb_plan *plan, eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
