/* Tally: what many rehearsals come to. */
#ifndef EVENBORE_TALLY_H
#define EVENBORE_TALLY_H

#include "rehearsal.h"

enum { EB_TALLY_BINS = 12, EB_TALLY_FINDINGS = 8, EB_TALLY_WORST = 5 };

/* One thing that is counted, over all engines. */
typedef struct eb_figures {
  const char *word;                 /* "stops" */
  double median, high, least, most; /* high: nine in ten have no more */
  int bin[EB_TALLY_BINS];           /* engines, in equal parts from least to most */
} eb_figures;
enum { EB_STOPS, EB_READINGS, EB_MINUTES, EB_PLATES, EB_FIGURES };

/* The same trouble of several engines. */
typedef struct eb_finding {
  int engines;
  uint64_t seed; /* of the first of them */
  char text[820];
} eb_finding;

typedef struct eb_tally {
  int engines;
  int ended[EB_REHEARSAL_ENDS];
  int safe, named;                   /* as rehearsal.h has them */
  int claims, wrong;                 /* claims made, and those of them that do not hold */
  int worse;                         /* engines that are clearly less even than before work */
  double minutes_of[EB_BAY_MINUTES]; /* mean */
  eb_figures figures[EB_FIGURES];
  int findings;
  eb_finding finding[EB_TALLY_FINDINGS]; /* most engines first */
  int unlisted;                          /* troubles beyond those, one for each engine that has one */
  int worst_count;
  const eb_rehearsed *worst[EB_TALLY_WORST]; /* borrowed; nothing that went well is among them */
} eb_tally;

bool eb_rehearsed_wrong(const eb_rehearsed *result);
bool eb_rehearsed_safe(const eb_rehearsed *result);

/* `scratch` has room for `count` numbers. */
void eb_tally_make(const eb_rehearsed *results, int count, double *scratch, eb_tally *tally);

const char *eb_rehearsal_end_word(eb_rehearsal_end end); /* "even", "claimed", "stuck", "failed"; static */

/* Adds what a tally says, for `rehearse --json` and the study's alike:
 *   even, claimed, stuck, failed        engines that ended so
 *   claims, wrong, worse                claims made, those that do not hold, engines less even than before work
 *   stops, readings, minutes, plates    {median, nine_in_ten, least, most, histogram: engines, in equal parts from
 *                                       least to most}
 *   found                               [{engines, first_seed, what}]
 *   unlisted                            troubles beyond those of found
 * False: out of memory. */
bool eb_tally_add_json(const eb_tally *tally, eb_json *object);

#endif
