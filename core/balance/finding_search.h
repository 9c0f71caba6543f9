/* The looks for single faults. */
#ifndef EVENBORE_BALANCE_FINDING_SEARCH_H
#define EVENBORE_BALANCE_FINDING_SEARCH_H

#include "evenbore/finding.h"

#include "finding_fit.h"

typedef struct search {
  const eb_evidence *evidence;
  noise found;        /* from repeats that no snap parts */
  noise told;         /* the same as the gauge is said to have it: a step or a drift is no noise */
  size_t block, pass; /* where the present block and the last pass in it begin; pass is `events` where there is none */
  window **blocks;    /* readings that count, block by block; owned, as they are */
  int block_count;
  const window *kept; /* that of the present block; NULL: too few readings */
  window *all;        /* the same with those of rejected passes; NULL: too few */
  eb_findings *result;
} search;

void search_add(search *s, eb_finding finding);
const window *search_block(const search *s, size_t from); /* of the block that begins there; NULL: too few readings */

/* What may have come to read differently by itself: one bore, the bores of a shaft, or one side against the other. */
typedef struct candidate {
  eb_finding_kind kind;
  int adjuster;   /* -1: bores alone */
  eb_bores bores; /* that it is about */
} candidate;
enum { CANDIDATES_MAX = EB_ADJUSTERS_MAX + 2 * EB_BORES_MAX };

int candidates_list(const eb_layout *layout, candidate list[CANDIDATES_MAX]);
double candidate_effect(const eb_layout *layout, const candidate *c, int bore);
eb_bores shaft_of(const eb_layout *layout, int bore); /* the bores that turn with this one, itself included */

/* finding_shift.c: within passes. */
void search_leak(search *s);
void search_vent(search *s);
double part_gain(const window *w, const eb_layout *layout); /* what one part that stands differently explains at most */

/* finding_swap.c: over passes. */
eb_status search_swapped(search *s, eb_error *error);

/* finding_time.c: over passes. */
void search_wander(search *s);
eb_status search_warming(search *s, eb_error *error);
double drift_gain(const window *w, const eb_layout *layout); /* what slopes of all and of the sides explain */
double shift_gain(const window *w);                          /* what a step at any one place explains */

/* finding_push.c: between a shaft pushed open and the same pushed shut. */
void search_pushes(search *s);

/* finding_snap.c and finding_start.c: over snaps; over starts and moves. */
void search_snaps(search *s);
bool search_snap_shows(const search *s); /* whether something was found after a snap; it moves readings too */
void search_starts(search *s);

#endif
