/* Faults inside a pass: a bore that leaks, a vent that was moved. */
#include "finding_search.h"

#include <math.h>

/* Limits of probability and least sizes (ln), this project's own: a sound engine is to be left in peace. */
static const double LEAK_CHANCE = 0.03, LEAK_LEAST = 0.15;
static const double VENT_CHANCE = 0.002, VENT_LEAST = 0.03;

/* A bore whose own adjuster was moved may answer to it in any way; that is no leak. */
static eb_bores moved_alone(const eb_evidence *evidence)
{
  eb_bores moved = 0;
  for (size_t e = 0; e < evidence->events; e++) {
    if (evidence->event[e].kind != EVENT_MOVE)
      continue;
    const eb_adjuster *a = &evidence->layout.adjuster[evidence->event[e].index];
    if (a->second == 0 && (a->first & (a->first - 1)) == 0)
      moved |= a->first;
  }
  return moved;
}

static void mark_candidate(const window *w, const eb_layout *layout, const candidate *c, double *column)
{
  for (int i = 0; i < w->count; i++)
    column[i] = candidate_effect(layout, c, w->bore[i]);
}

/* The most that one part explains that has come to stand differently since what was known before. */
double part_gain(const window *w, const eb_layout *layout)
{
  candidate list[CANDIDATES_MAX];
  double column[WINDOW_MAX], most = 0;
  window_effect met;
  int count = candidates_list(layout, list);
  for (int i = 0; i < count; i++) {
    mark_candidate(w, layout, &list[i], column);
    if (window_effect_of(w, column, &met))
      most = fmax(most, met.gain);
  }
  return most;
}

void search_leak(search *s)
{
  const window *w = s->kept;
  double column[WINDOW_MAX];
  window_effect best = {0}, met;
  int low = -1, tried = 0;
  if (w == NULL)
    return;
  for (int i = 0; i < s->evidence->layout.bore_count; i++) {
    candidate bore = {EB_FINDING_LEAK, -1, (eb_bores)1 << i};
    mark_candidate(w, &s->evidence->layout, &bore, column);
    if (!window_effect_of(w, column, &met))
      continue;
    tried++;
    if (met.gain <= best.gain)
      continue;
    best = met;
    low = i;
  }
  if (low < 0 || best.size > -LEAK_LEAST || moved_alone(s->evidence) >> low & 1)
    return;
  candidate bore = {EB_FINDING_LEAK, -1, (eb_bores)1 << low};
  mark_candidate(w, &s->evidence->layout, &bore, column);
  window_judge(w, column, &best);
  double chance = tried * window_chance(&best, window_scale(w, best.gain));
  if (chance < LEAK_CHANCE)
    search_add(s, (eb_finding){.kind = EB_FINDING_LEAK,
                               .bores = (eb_bores)1 << low,
                               .adjuster = -1,
                               .size = best.size,
                               .doubt = best.doubt,
                               .probability = chance,
                               .test = "t of a deleted residual", /* [Cook and Weisberg, Residuals and Influence in
                                                                     Regression, 1982, 2.2; from memory] */
                               .sure = true,
                               .after = -1,
                               .before = -1});
}

typedef struct shift {
  window_effect best;
  int from;               /* the reading from which on it is */
  int tried, first, last; /* readings from which on it may be: those that fit nearly as well as the best */
} shift;

static void mark_from(const window *w, int from, double *column)
{
  for (int i = 0; i < w->count; i++)
    column[i] = i >= from;
}

static shift find_shift(const window *w)
{
  static const double AS_GOOD = 4; /* of the sum of squares: e^2 in likelihood */
  double column[WINDOW_MAX], gain[WINDOW_MAX] = {0};
  shift found = {.first = -1};
  window_effect met;
  for (int i = 1; i < w->count; i++) {
    mark_from(w, i, column);
    if (w->snaps[i] != w->snaps[i - 1] || !window_effect_of(w, column, &met))
      continue;
    gain[i] = met.gain;
    found.tried++;
    if (met.gain > found.best.gain) {
      found.best = met;
      found.from = i;
    }
  }
  for (int i = 1; i < w->count; i++) {
    if (gain[i] <= 0 || gain[i] < found.best.gain - AS_GOOD)
      continue;
    if (found.first < 0)
      found.first = i;
    found.last = i;
  }
  return found;
}

double shift_gain(const window *w)
{
  return find_shift(w).best.gain;
}

static bool was_rejected(const search *s, const shift *found)
{
  for (int i = found->first; i <= found->last; i++)
    if (!s->evidence->event[s->all->event[i]].rejected)
      return false;
  return true;
}

/* A step at an unknown place, by the largest of the likelihood ratios over all places [Quandt, "Tests of the
 * hypothesis that a linear regression system obeys two separate regimes", J. Am. Stat. Assoc. 55 (1960); from memory].
 * It is to explain clearly more than linear drifts, or one part that stands differently. */
void search_vent(search *s)
{
  static const double BETTER = 6; /* 20 to 1 in likelihood */
  const window *w = s->all;
  if (w == NULL || search_snap_shows(s))
    return;
  shift found = find_shift(w);
  if (found.first < 0 || fabs(found.best.size) < VENT_LEAST)
    return;
  double column[WINDOW_MAX];
  mark_from(w, found.from, column);
  window_judge(w, column, &found.best);
  double chance = fmin(found.tried * window_chance(&found.best, window_scale(w, found.best.gain)), 1);
  if (chance >= VENT_CHANCE)
    return;
  double rival = fmax(drift_gain(w, &s->evidence->layout), part_gain(w, &s->evidence->layout));
  if (found.best.gain < rival + BETTER)
    return;
  search_add(s, (eb_finding){.kind = EB_FINDING_VENT,
                             .adjuster = -1,
                             .size = found.best.size,
                             .doubt = found.best.doubt,
                             .probability = chance,
                             .test = "likelihood ratio of a step against a drift",
                             .sure = true,
                             .stayed = was_rejected(s, &found),
                             .after = w->bore[found.first - 1],
                             .before = w->bore[found.last]});
}
