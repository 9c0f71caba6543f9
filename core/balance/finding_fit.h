/* A window of readings held against what was to be expected of them, by generalised least squares. */
#ifndef EVENBORE_BALANCE_FINDING_FIT_H
#define EVENBORE_BALANCE_FINDING_FIT_H

#include "evidence.h"

enum { WINDOW_MAX = 96 };

/* The readings of one block.  Residuals are ln(reading) minus what was expected; root is the lower
 * triangle of their covariance's root, column by column, white = root^-1 residual. */
typedef struct window {
  const eb_host *host;
  size_t from, to; /* events, from the first to before the last */
  double degrees;  /* of the repeatability */
  double squares;  /* of white, added up */
  int count;
  size_t event[WINDOW_MAX];
  int bore[WINDOW_MAX];
  int snaps[WINDOW_MAX];   /* before it, in this block */
  int pass[WINDOW_MAX];    /* passes begun in this block when it was read */
  double time[WINDOW_MAX]; /* passes since the block's start */
  double own[WINDOW_MAX];  /* variance by repeatability */
  double value[WINDOW_MAX];
  double residual[WINDOW_MAX];
  double white[WINDOW_MAX];
  double root[];
} window;

typedef struct window_options {
  size_t from, to; /* a block's events; the belief before it is that of the events before `from` */
  bool all;        /* rejected passes too; struck readings never */
  double drift;    /* standard deviation of a drift that is taken for granted, ln per pass */
} window_options;

/* One more column: its coefficient, that one's standard deviation, how far it brings the sum of squares down, and,
 * once it was judged, the degrees of freedom of the deviation. */
typedef struct window_effect {
  double size, doubt, gain, degrees;
} window_effect;

/* `opened` is owned by the caller; NULL where the window has fewer than two readings. */
eb_status window_open(const eb_evidence *evidence, const noise *found, const window_options *options, window **opened,
                      eb_error *error);
void window_close(window *w); /* NULL is allowed */

/* False where the readings cannot tell: the column is all but the common level. */
bool window_effect_of(const window *w, const double *column, window_effect *effect);

/* The same of two columns together: both sizes, and the gain of both. */
bool window_effects_of(const window *w, const double *first, const double *second, window_effect *one,
                       window_effect *other);

/* Sets the degrees of freedom, of one that is worth it: what they cost is more than all else of it. */
void window_judge(const window *w, const double *column, window_effect *effect);
void window_judge_both(const window *w, const double *first, const double *second, window_effect *one,
                       window_effect *other);

/* How likely as much is by chance where doubts are larger by a factor (two-sided t; not yet times the candidates).  It
 * was judged. */
double window_chance(const window_effect *effect, double scale);

/* How much wider than expected the readings scatter about what is left of them once `gain` is explained; at least 1. */
double window_scale(const window *w, double gain);

double window_squares(const window *w, const double *residual); /* weighted sum of squares of other residuals */

#endif
