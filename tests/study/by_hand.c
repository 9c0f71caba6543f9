/* The routine by hand (common practice, no source): one pass, believed as it
 * reads; what is furthest off among the largest groups is corrected first, one
 * adjuster at a time; the next correction of the same adjuster goes by what the last one did. */
#include "evenbore/verdict.h"

#include "tuner.h"

#include <math.h>
#include <stdio.h>

enum { USES_MAX = 40 };

typedef struct hand {
  tuner t;
  double deviation[EB_BORES_MAX]; /* as read */
  double spread;
  double answer[EB_ADJUSTERS_MAX]; /* what each did last time, over what was wished */
} hand;

static bool take_pass(hand *h)
{
  int bores = h->t.given->layout->bore_count;
  double sum = 0;
  for (int i = 0; i < bores; i++) {
    h->deviation[i] = 0;
    for (int k = 0; k < h->t.given->average; k++)
      h->deviation[i] += study_read(&h->t, i) / h->t.given->average;
    if (h->deviation[i] <= 0)
      return false;
    sum += h->deviation[i];
  }
  h->spread = 0;
  for (int i = 0; i < bores; i++) {
    h->deviation[i] = h->deviation[i] * bores / sum - 1;
    h->spread = fmax(h->spread, fabs(h->deviation[i]));
  }
  return true;
}

static double mean_of(const hand *h, eb_bores side)
{
  double sum = 0;
  int count = 0;
  for (int i = 0; i < h->t.given->layout->bore_count; i++)
    if (side >> i & 1) {
      sum += h->deviation[i];
      count++;
    }
  return count > 0 ? sum / count : 0;
}

static double off_by(const hand *h, const eb_adjuster *adjuster)
{
  return mean_of(h, adjuster->first) - mean_of(h, adjuster->second);
}

/* The adjuster that is furthest off within the largest groups; sides and pairs that are off by less than most of the
 * bound are left alone. -1: none is left.  Of the shares of the bound that were tried, this one serves the routine
 * best: a smaller one runs after noise. */
static int choose(const hand *h)
{
  static const double GROUP_SHARE = 0.8;
  const eb_layout *layout = h->t.given->layout;
  for (int level = EB_LEVEL_SIDE; level <= EB_LEVEL_BORE; level++) {
    int found = -1;
    double furthest = (level == EB_LEVEL_BORE ? 1 : GROUP_SHARE) * h->t.given->bound;
    for (int k = 0; k < layout->adjuster_count; k++) {
      double off = fabs(off_by(h, &layout->adjuster[k]));
      if ((int)eb_adjuster_level(layout, &layout->adjuster[k]) == level && off > furthest) {
        furthest = off;
        found = k;
      }
    }
    if (found >= 0)
      return found;
  }
  return -1;
}

/* No group is off by enough for its threshold, and yet a bore is: whatever is furthest off. */
static int choose_any(const hand *h)
{
  const eb_layout *layout = h->t.given->layout;
  int found = 0;
  for (int k = 1; k < layout->adjuster_count; k++)
    if (fabs(off_by(h, &layout->adjuster[k])) > fabs(off_by(h, &layout->adjuster[found])))
      found = k;
  return found;
}

static bool correct(hand *h, int k)
{
  static const double LEARNS_FROM = 0.03; /* a smaller move tells nothing in one reading */
  const eb_adjuster *adjuster = &h->t.given->layout->adjuster[k];
  double before = off_by(h, adjuster), move = -before / h->answer[k];
  if (h->t.given->shown)
    printf("hand  spread %5.2f %%  move %s by %+.3f\n", 100 * h->spread, adjuster->id, move);
  if (adjuster->stopped)
    study_stop(&h->t);
  study_move(&h->t, k, move);
  if (adjuster->stopped)
    study_start(&h->t);
  if (!take_pass(h))
    return false;
  if (fabs(move) >= LEARNS_FROM)
    h->answer[k] = fmin(fmax((off_by(h, adjuster) - before) / move, 1.0 / 3), 3);
  return true;
}

outcome study_by_hand(const task *given)
{
  hand h = {.spread = 0};
  outcome result;
  study_begin(&h.t, given);
  for (int k = 0; k < given->layout->adjuster_count; k++)
    h.answer[k] = 1;
  study_start(&h.t);
  bool well = take_pass(&h);
  for (int use = 0; well && h.spread > given->bound && use < USES_MAX; use++) {
    int k = choose(&h);
    well = correct(&h, k >= 0 ? k : choose_any(&h));
  }
  h.t.so_far.failed = !well;
  h.t.so_far.says_even = well && h.spread <= given->bound;
  h.t.so_far.claim = h.t.so_far.says_even ? given->tolerance : 0;
  study_end(&h.t, &result);
  return result;
}
