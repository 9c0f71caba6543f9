/* Faults that show over time: an idle that wanders, an engine that still grows. */
#include "finding_search.h"

#include "evenbore/statistics.h"

#include <math.h>

/* Limits of probability and least sizes, this project's own. */
static const double WANDER_CHANCE = 0.05, WANDER_LEAST = 1.5;
static const double WARMING_CHANCE = 0.002, WARMING_LEAST = 0.03; /* ln per pass */

/* A step or a drift makes repeats scatter too. */
static bool has_cause(const search *s)
{
  for (int i = 0; i < s->result->count; i++)
    if (s->result->finding[i].kind == EB_FINDING_VENT || s->result->finding[i].kind == EB_FINDING_WARMING)
      return true;
  return false;
}

/* With rejected passes of this block too. */
static noise noise_of_all(const search *s)
{
  for (size_t e = s->block; e < s->evidence->events; e++)
    if (s->evidence->event[e].rejected)
      return evidence_noise_within_snaps(s->evidence, s->block);
  return s->found;
}

/* F of the repeats' scatter, in rejected passes of this block too, against the gauge's own figure, whose weight are its
 * degrees of freedom.  A common slope is out of the repeats already, so that what is left has no direction. */
void search_wander(search *s)
{
  const eb_gauge *gauge = &s->evidence->gauge;
  if (gauge->repeatability <= 0 || has_cause(s))
    return;
  noise found = noise_of_all(s);
  double weight = gauge->repeatability_weight, degrees = found.degrees_of_freedom - weight;
  if (degrees < 3)
    return;
  double pooled = found.factor * found.factor * found.degrees_of_freedom;
  double repeats = fmax(pooled - weight, 0) / degrees;
  double expected = 1 + found.step_variance / (gauge->repeatability * gauge->repeatability);
  if (!(repeats > WANDER_LEAST * WANDER_LEAST * expected))
    return;
  double chance = eb_f_above(repeats / expected, degrees, weight);
  if (chance < WANDER_CHANCE)
    search_add(s, (eb_finding){.kind = EB_FINDING_WANDER,
                               .adjuster = -1,
                               .size = sqrt(repeats / expected),
                               .probability = chance,
                               .test = "F of repeats against the gauge",
                               .sure = true,
                               .after = -1,
                               .before = -1});
}

static void mark_drift(const window *w, const eb_adjuster *side, double *column)
{
  for (int i = 0; i < w->count; i++)
    column[i] = w->time[i] * (side == NULL ? 1 : eb_adjuster_effect(side, w->bore[i]));
}

static bool parts_sides(const eb_layout *layout, const eb_adjuster *adjuster)
{
  return adjuster->second != 0 && eb_adjuster_level(layout, adjuster) == EB_LEVEL_SIDE;
}

double drift_gain(const window *w, const eb_layout *layout)
{
  double column[WINDOW_MAX], most = 0;
  window_effect met, other;
  if (window_effect_of(w, w->time, &met))
    most = met.gain;
  for (int k = 0; k < layout->adjuster_count; k++) {
    if (!parts_sides(layout, &layout->adjuster[k]))
      continue;
    mark_drift(w, &layout->adjuster[k], column);
    if (window_effects_of(w, w->time, column, &met, &other))
      most = fmax(most, met.gain);
  }
  return most;
}

/* The strongest slope, of all bores alike or of one side against the other.  `adjuster` is -1 for the first. */
static window_effect find_drift(const window *w, const eb_layout *layout, int *adjuster, int *tried)
{
  double column[WINDOW_MAX];
  window_effect best = {.gain = 0}, met;
  for (int k = -1; k < layout->adjuster_count; k++) {
    const eb_adjuster *side = k < 0 ? NULL : &layout->adjuster[k];
    if (side != NULL && !parts_sides(layout, side))
      continue;
    mark_drift(w, side, column);
    if (!window_effect_of(w, column, &met))
      continue;
    (*tried)++;
    if (met.gain <= best.gain)
      continue;
    best = met;
    *adjuster = k;
  }
  return best;
}

/* Whether it is likely, large, and clearly more than a step explains; in the order of what it costs to tell. */
static bool is_warming(const window *w, const eb_layout *layout, int adjuster, int tried, window_effect *slope,
                       double *chance)
{
  static const double BETTER = 2;
  double column[WINDOW_MAX];
  if (!(slope->gain > 0) || fabs(slope->size) <= WARMING_LEAST) /* readings that are all alike show no slope */
    return false;
  mark_drift(w, adjuster < 0 ? NULL : &layout->adjuster[adjuster], column);
  window_judge(w, column, slope);
  *chance = tried * window_chance(slope, window_scale(w, slope->gain));
  return *chance < WARMING_CHANCE && slope->gain > shift_gain(w) + BETTER;
}

/* The belief takes a small drift for granted; here none is, so that it shows.  One pass cannot tell a drift from a
 * step: what a step explains as well is left to the pass's closure. */
eb_status search_warming(search *s, eb_error *error)
{
  window_options options = {.from = s->block, .to = s->evidence->events, .all = true};
  window *w = NULL;
  int adjuster = -1, tried = 0;
  double chance = 1;
  if (s->all == NULL || search_snap_shows(s))
    return EB_OK;
  eb_status status = window_open(s->evidence, &s->told, &options, &w, error);
  if (status != EB_OK)
    return status;
  window_effect slope = find_drift(w, &s->evidence->layout, &adjuster, &tried);
  bool shows = is_warming(w, &s->evidence->layout, adjuster, tried, &slope, &chance);
  window_close(w);
  if (shows)
    search_add(s, (eb_finding){.kind = EB_FINDING_WARMING,
                               .adjuster = adjuster,
                               .size = slope.size,
                               .doubt = slope.doubt,
                               .probability = chance,
                               .test = "t of the slope",
                               .sure = true,
                               .after = -1,
                               .before = -1});
  return EB_OK;
}
