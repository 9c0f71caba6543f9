/* Faults that a snap of the throttle shows: what sticks, what is loose, what has lash. */
#include "finding_search.h"

#include "evenbore/statistics.h"

#include <math.h>
#include <string.h>

/* Limits of probability, this project's own: after one snap a second one is asked for, which costs a few readings;
 * after two the tuner is asked to look. */
static const double SUSPECT_CHANCE = 0.3, SURE_CHANCE = 0.01, SNAP_LEAST = 0.03;
enum { SNAP_BORES_MAX = 4 };

double candidate_effect(const eb_layout *layout, const candidate *c, int bore)
{
  if (c->adjuster >= 0)
    return eb_adjuster_effect(&layout->adjuster[c->adjuster], bore);
  return c->bores >> bore & 1;
}

static eb_finding_kind kind_of(const eb_layout *layout, const eb_adjuster *adjuster)
{
  return adjuster->second != 0 && eb_adjuster_level(layout, adjuster) == EB_LEVEL_SIDE ? EB_FINDING_LASH
                                                                                       : EB_FINDING_LOOSE;
}

/* Bores and shafts come after the adjusters; a bore that has an adjuster of its own is that adjuster's. */
int candidates_list(const eb_layout *layout, candidate list[CANDIDATES_MAX])
{
  int count = 0;
  for (int k = 0; k < layout->adjuster_count; k++) {
    const eb_adjuster *a = &layout->adjuster[k];
    if (a->second != 0)
      list[count++] = (candidate){kind_of(layout, a), k, a->first | a->second};
  }
  for (int i = 0; i < layout->bore_count; i++) {
    eb_bores own = (eb_bores)1 << i, shaft = shaft_of(layout, i);
    list[count++] = (candidate){EB_FINDING_STICKING, -1, own};
    if (shaft != own && (shaft & (own - 1)) == 0) /* its first bore speaks for it */
      list[count++] = (candidate){EB_FINDING_STICKING, -1, shaft};
  }
  return count;
}

/* One column a snap: what the candidate would do to readings between it and the next. */
static bool mark(const window *w, const eb_layout *layout, const candidate *c, int snap, double *column)
{
  bool first = false, second = false;
  for (int i = 0; i < w->count; i++) {
    column[i] = w->snaps[i] == snap ? candidate_effect(layout, c, w->bore[i]) : 0;
    first = first || column[i] > 0;
    second = second || column[i] < 0;
  }
  return first && (second || c->adjuster < 0);
}

typedef struct seen {
  candidate what;
  window_effect one, other; /* after the last snap but one, and after the last; the same where there was one */
  double gain;
  bool twice; /* it was read after both */
} seen;

static bool weigh(const search *s, const candidate *c, int snaps, seen *found)
{
  const window *w = s->kept;
  const eb_layout *layout = &s->evidence->layout;
  double last[WINDOW_MAX], before[WINDOW_MAX];
  *found = (seen){.what = *c};
  if (!mark(w, layout, c, snaps, last))
    return false;
  found->twice = snaps > 1 && mark(w, layout, c, snaps - 1, before);
  bool told = found->twice ? window_effects_of(w, before, last, &found->one, &found->other)
                           : window_effect_of(w, last, &found->other);
  if (!told)
    return false;
  if (!found->twice)
    found->one = found->other;
  found->gain = found->other.gain;
  return true;
}

/* After one snap a t; after two the F of both shifts together. */
static double chance_of(const search *s, int snaps, seen *found)
{
  const window *w = s->kept;
  const eb_layout *layout = &s->evidence->layout;
  double last[WINDOW_MAX], before[WINDOW_MAX], scale = window_scale(w, found->gain);
  mark(w, layout, &found->what, snaps, last);
  if (!found->twice) {
    window_judge(w, last, &found->other);
    return window_chance(&found->other, scale);
  }
  mark(w, layout, &found->what, snaps - 1, before);
  window_judge_both(w, before, last, &found->one, &found->other);
  return eb_f_above(found->gain / (2 * scale * scale), 2, fmin(found->one.degrees, found->other.degrees));
}

/* Whether it stands where it stood after the snap before: both shifts alike, within their doubts. */
static bool stays(const seen *found)
{
  double apart = fabs(found->other.size - found->one.size);
  return apart < 2.5 * hypot(found->one.doubt, found->other.doubt) && fabs(found->other.size) > SNAP_LEAST;
}

static void report(search *s, seen *found, int snaps, int tried)
{
  const candidate *c = &found->what;
  bool later = fabs(found->other.size) > fabs(found->one.size);
  const window_effect *larger = later ? &found->other : &found->one;
  if (fabs(larger->size) < SNAP_LEAST)
    return;
  double chance = fmin(chance_of(s, snaps, found) * tried, 1);
  if (chance >= (snaps > 1 ? SURE_CHANCE : SUSPECT_CHANCE))
    return;
  search_add(s, (eb_finding){.kind = c->kind,
                             .bores = c->bores,
                             .adjuster = c->adjuster,
                             .size = larger->size,
                             .doubt = larger->doubt,
                             .probability = chance,
                             .test = found->twice ? "F of the shifts after two snaps" : "t of the shift after a snap",
                             .sure = found->twice,
                             .stayed = found->twice && stays(found),
                             .after = -1,
                             .before = -1});
}

void search_snaps(search *s)
{
  const window *w = s->kept;
  candidate list[CANDIDATES_MAX];
  seen best = {0}, met;
  int tried = 0;
  if (w == NULL || w->snaps[w->count - 1] == 0)
    return;
  int snaps = w->snaps[w->count - 1], count = candidates_list(&s->evidence->layout, list);
  for (int i = 0; i < count; i++) {
    if (!weigh(s, &list[i], snaps, &met))
      continue;
    tried++;
    if (met.gain > best.gain)
      best = met;
  }
  if (best.gain > 0)
    report(s, &best, snaps, tried);
}

bool search_snap_shows(const search *s)
{
  for (int i = 0; i < s->result->count; i++) {
    eb_finding_kind kind = s->result->finding[i].kind;
    if (kind == EB_FINDING_STICKING || kind == EB_FINDING_LOOSE || kind == EB_FINDING_LASH)
      return true;
  }
  return false;
}

/* The bores that turn together with this one: the smallest side of several that holds it. */
eb_bores shaft_of(const eb_layout *layout, int bore)
{
  eb_bores shaft = 0;
  for (int k = 0; k < layout->adjuster_count; k++) {
    const eb_bores sides[] = {layout->adjuster[k].first, layout->adjuster[k].second};
    for (int i = 0; i < 2; i++) {
      bool several = (sides[i] & (sides[i] - 1)) != 0;
      if (sides[i] >> bore & 1 && several && (shaft == 0 || (sides[i] & shaft) == sides[i]))
        shaft = sides[i];
    }
  }
  return shaft == 0 ? (eb_bores)1 << bore : shaft;
}

static int furthest(const double *deviation, eb_bores among, int bores)
{
  int found = -1;
  for (int i = 0; i < bores; i++)
    if (among >> i & 1 && (found < 0 || fabs(deviation[i]) > fabs(deviation[found])))
      found = i;
  return found;
}

static eb_bores choose(const eb_evidence *evidence, const double *deviation)
{
  int bores = evidence->layout.bore_count;
  eb_bores all = eb_layout_bores(&evidence->layout), left = all & ~evidence->left_out, chosen = 0;
  if (bores <= SNAP_BORES_MAX)
    return left;
  for (int count = 0; left != 0 && count < SNAP_BORES_MAX; count++) {
    int bore = furthest(deviation, left, bores);
    chosen |= (eb_bores)1 << bore;
    left &= ~shaft_of(&evidence->layout, bore);
  }
  return chosen;
}

eb_status eb_evidence_snap_bores(const eb_evidence *evidence, eb_bores *bores, eb_error *error)
{
  noise found = evidence_noise(evidence);
  double deviation[EB_BORES_MAX], covariance[EB_BORES_MAX * EB_BORES_MAX];
  const eb_belief *belief = NULL;
  bool read = false;
  for (size_t e = evidence_block(evidence, evidence->events); e < evidence->events; e++)
    read = read || evidence_counts(evidence, &evidence->event[e]);
  *bores = 0;
  if (!read)
    return EB_OK;
  eb_status status = evidence_belief(evidence, &found, evidence->events, &belief, error);
  if (status != EB_OK)
    return status;
  eb_belief_deviations(belief, deviation, covariance);
  *bores = choose(evidence, deviation);
  return EB_OK;
}
