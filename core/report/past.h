/* Past: what is left of a session once its journal is put away, for those that look at several. */
#ifndef EB_REPORT_PAST_H
#define EB_REPORT_PAST_H

#include "story.h"

#include "evenbore/difference.h"
#include "evenbore/statistics.h"

enum { PAST_NAME_SIZE = 256, PAST_WORDS_SIZE = 400 };

typedef struct past_bore {
  bool counts;     /* it was read, and not left out */
  eb_doubted from; /* ln of its flow over the mean */
} past_bore;

typedef struct past_contrast {
  bool known;
  eb_doubted from; /* what the adjuster contributes, ln */
} past_contrast;

/* A verdict at idle. */
typedef struct past_verdict {
  bool there;
  size_t record;
  double spread, claim;
  past_bore bore[EB_BORES_MAX];
  past_contrast contrast[EB_ADJUSTERS_MAX];
} past_verdict;

typedef struct past {
  char name[PAST_NAME_SIZE];
  char time[40]; /* of its begin, RFC 3339 */
  int64_t begun_ms;
  char procedure[80], gauge[PAST_WORDS_SIZE], conditions[PAST_WORDS_SIZE];
  char digest[EB_DIGEST_SIZE];
  size_t records;
  story_state state;
  bool torn; /* an unfinished record stands at its end */
  bool has_layout;
  eb_layout layout;
  past_verdict first, last; /* the last one is the first where there is but one */
  bool claims;
  double claim, claim_risk, tolerance, risk;
  int moves;                    /* done */
  bool moved[EB_ADJUSTERS_MAX]; /* by adjuster */
  eb_spread repeats;            /* of one reading, relative; deviation 0: unknown */
  bool repeats_own;             /* from its own repeats alone; else with what was known of the gauge before */
} past;

/* EB_OUT_OF_MEMORY. Nothing of the account is kept. */
eb_status past_read(const eb_account *account, const char *name, past *made, eb_error *error);

/* "even", "claimed", "stopped", "open", ... with what else is to be known of how it stands. Static. */
const char *past_state(const past *p);

/* By when they were begun; names decide where that is the same. */
bool past_is_before(const past *a, const past *b);

/* Whether they are about the same bores in the same rows; and whether their gauges have the same marks. */
bool past_same_bores(const past *a, const past *b);
bool past_same_gauge(const past *a, const past *b);
/* Index in `b` of an adjuster of `a` that is the same part; -1: none. */
int past_same_adjuster(const past *a, int adjuster, const past *b);

/* The bores that count in both: `bores` gets their indices, `all` and `differs` what eb_difference_of_all says. The
 * number of them; below 2 nothing is said. */
int past_differ(const past_verdict *before, const past_verdict *after, int bore_count, double risk, int *bores,
                eb_difference *differs, eb_difference *all);

/* "+3.1 ±1.0 %" of a value in ln; a dash where it is not known. `text` has EB_FORMAT_SIZE * 2. */
const char *past_say(bool known, double value, double doubt, char *text);
/* "p = 0.031", "p < 0.001" */
const char *past_say_p(double p, char text[EB_FORMAT_SIZE]);
const char *past_say_percent(bool known, double share, char text[EB_FORMAT_SIZE]);

#endif
