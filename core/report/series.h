/* Series: the sessions of one engine in their order, and what lies between each two. */
#ifndef EB_REPORT_SERIES_H
#define EB_REPORT_SERIES_H

#include "past.h"

#include "evenbore/history.h"

typedef struct series_left_out {
  char name[PAST_NAME_SIZE], why[PAST_WORDS_SIZE];
} series_left_out;

struct eb_history {
  const eb_host *host;
  char engine[PAST_NAME_SIZE];
  past *past; /* as added; `order` has their order in time */
  size_t *order;
  size_t count, room;
  series_left_out *left_out;
  size_t left_out_count, left_out_room;
};

/* From the last verdict of one session to the first of the next that has one. */
typedef struct series_gap {
  const past *from, *to;
  bool same_bores;
  int count; /* of the bores that count in both; below 2: nothing is compared */
  int bore[EB_BORES_MAX];
  eb_difference differs[EB_BORES_MAX], all;
  int adjusters;                                           /* that both have, of the same kind between the same bores */
  int adjuster[EB_ADJUSTERS_MAX], there[EB_ADJUSTERS_MAX]; /* index in `from` and in `to` */
  eb_difference contrast[EB_ADJUSTERS_MAX];
} series_gap;

const past *series_at(const eb_history *h, size_t place);
/* The gap that ends at a place; false where no session before it has a verdict, or it has none. */
bool series_gap_before(const eb_history *h, size_t place, series_gap *gap);
void series_gap_of(const past *from, const past *to, series_gap *gap);

/* How far an adjuster went back of what its job had moved it by; false where that is not to be said: it was not moved,
 * went on, or the difference is within doubt. */
bool series_goes_back(const series_gap *gap, int index, double *share);

void history_page(const eb_history *h, eb_text *page);
void history_text(const eb_history *h, eb_text *text);
void history_csv(const eb_history *h, bool semicolon, eb_text *text);
void history_json(const eb_history *h, eb_text *text);

/* JSON of one session, of a difference, and of all bores of a gap together; NULL when memory runs out. */
eb_json *series_session_json(const past *p);
eb_json *series_all_json(const series_gap *gap);
eb_json *series_difference_json(const eb_difference *d);
eb_json *series_bores_json(const past *p, const int *bore, const eb_difference *differs, int count);

/* One sentence on all bores of a gap, without its full stop. */
void series_sentence(const series_gap *gap, char *text, size_t size);

#endif
