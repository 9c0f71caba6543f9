/* Faults that a finger shows: what has play reads more with its shaft pushed open than with it pushed shut. */
#include "finding_search.h"

#include "evenbore/statistics.h"

#include <math.h>

/* Limits of probability and sizes (ln), this project's own.  An alarm costs the tuner one look.  What was pushed is
 * cleared where as much play as matters is unlikely; less of it for several bores at once, which all tell, and on a
 * small engine, where a bore is a good part of the mean.  On an engine of few bores a side is told by few pushes, and
 * another costs little: it is cleared with more care there, a bore by itself with less. */
static const double SURE_CHANCE = 0.01, PLAY_LEAST = 0.015, LEAK_LEAST = 0.05;
static const double SEVERAL_MOST = 0.04, SINGLE_MOST = 0.07;
static const double CLEARED_CHANCE = 0.05, SIDE_OF_FEW_CHANCE = 0.02, BORE_OF_FEW_CHANCE = 0.1;
enum { SMALL_ENGINE = 4, FEW_BORES = 6, PUSHES_MAX = 512 };
enum { GROUPS_MAX = EB_BORES_MAX + EB_ROWS_MAX + 3 * EB_ADJUSTERS_MAX };

typedef struct pushes {
  int count;
  int bore[PUSHES_MAX];
  double apart[PUSHES_MAX]; /* ln(open / shut) */
  double variance;          /* of one, by the gauge: their mean */
  double squares;
  double degrees; /* of what they scatter, pooled with what the gauge is said to */
  eb_bores bores;
  double side_doubts, bore_doubts; /* by so many doubts a play may be larger than it is read, of a side and of a bore */
} pushes;

typedef struct play {
  eb_bores bores;
  double size, doubt, gain;
} play;

static void gather(const search *s, pushes *p)
{
  const eb_evidence *evidence = s->evidence;
  for (size_t e = s->block; e + 1 < evidence->events && p->count < PUSHES_MAX; e++) {
    const event *open = &evidence->event[e], *shut = open + 1;
    bool pair = open->kind == EVENT_OPENED && shut->kind == EVENT_READING && shut->pushed && shut->index == open->index;
    if (!pair || open->struck || shut->struck || evidence->left_out >> open->index & 1)
      continue;
    double apart = log(open->value / shut->value);
    double variance = open->prior * open->prior + shut->prior * shut->prior + open->step_variance + shut->step_variance;
    p->bore[p->count] = open->index;
    p->apart[p->count++] = apart;
    p->variance += (variance - p->variance) / p->count;
    p->squares += apart * apart;
    p->bores |= (eb_bores)1 << open->index;
  }
  p->degrees = evidence->gauge.repeatability_weight + p->count - 1;
}

static int add_group(eb_bores *group, int count, eb_bores bores)
{
  if (bores == 0)
    return count;
  for (int i = 0; i < count; i++)
    if (group[i] == bores)
      return count;
  group[count] = bores;
  return count + 1;
}

/* What may have play together: a bore, the bores of a row or of a side, those of both sides. */
static int list_groups(const eb_layout *layout, eb_bores pushed, eb_bores group[GROUPS_MAX])
{
  int count = 0;
  for (int i = 0; i < layout->bore_count; i++)
    count = add_group(group, count, (eb_bores)1 << i & pushed);
  for (int row = 0; row < layout->row_count; row++)
    count = add_group(group, count, (((eb_bores)1 << layout->row_size[row]) - 1) << layout->row_start[row] & pushed);
  for (int k = 0; k < layout->adjuster_count; k++) {
    const eb_adjuster *a = &layout->adjuster[k];
    count = add_group(group, count, a->first & pushed);
    count = add_group(group, count, a->second & pushed);
    count = add_group(group, count, (a->first | a->second) & pushed);
  }
  return count;
}

/* Their mean against no play anywhere else, by what the pushes scatter pooled with what the gauge is said to. */
static play weigh(const search *s, const pushes *p, eb_bores bores)
{
  play met = {.bores = bores};
  double weight = s->evidence->gauge.repeatability_weight;
  int told = 0;
  for (int i = 0; i < p->count; i++)
    if (bores >> p->bore[i] & 1) {
      told++;
      met.size += (p->apart[i] - met.size) / told;
    }
  met.gain = told * met.size * met.size;
  double pooled = (weight * p->variance + fmax(p->squares - met.gain, 0)) / p->degrees;
  met.doubt = sqrt(pooled / told);
  return met;
}

/* Of as much play by chance. */
static double chance_of(const play *met, const pushes *p)
{
  return eb_t_below(-met->size / met->doubt, p->degrees);
}

static int count_of(eb_bores bores)
{
  int count = 0;
  for (; bores != 0; bores &= bores - 1)
    count++;
  return count;
}

static void set_doubts(pushes *p)
{
  bool few = count_of(p->bores) <= FEW_BORES;
  p->side_doubts = eb_t_quantile(1 - (few ? SIDE_OF_FEW_CHANCE : CLEARED_CHANCE), p->degrees);
  p->bore_doubts = few ? eb_t_quantile(1 - BORE_OF_FEW_CHANCE, p->degrees) : p->side_doubts;
}

static bool is_cleared(const play *met, const pushes *p)
{
  int bores = count_of(p->bores);
  bool side = count_of(met->bores) > 1 || bores == 2;
  double most = met->size + (side ? p->side_doubts : p->bore_doubts) * met->doubt;
  return most < (side || bores <= SMALL_ENGINE ? SEVERAL_MOST : SINGLE_MOST);
}

static int joining(const eb_layout *layout, eb_bores bores)
{
  for (int k = 0; k < layout->adjuster_count; k++) {
    const eb_adjuster *a = &layout->adjuster[k];
    if (a->second != 0 && (a->first == bores || a->second == bores || (a->first | a->second) == bores))
      return k;
  }
  return -1;
}

static void report(search *s, const play *met, double chance, bool sure)
{
  const eb_layout *layout = &s->evidence->layout;
  eb_bores one = met->bores & (~met->bores + 1);
  int bore = count_of(one - 1), adjuster = -1;
  bool together = shaft_of(layout, bore) == met->bores || one == met->bores;
  eb_finding_kind kind = met->size < 0 ? EB_FINDING_LEAK : together ? EB_FINDING_STICKING : EB_FINDING_LASH;
  if (!together)
    adjuster = joining(layout, met->bores);
  search_add(s, (eb_finding){.kind = kind,
                             .bores = met->bores,
                             .adjuster = adjuster,
                             .size = met->size,
                             .doubt = met->doubt,
                             .probability = chance,
                             .test = "t of pushes open and shut",
                             .sure = sure,
                             .pushed = true,
                             .after = -1,
                             .before = -1});
}

/* The bore that reads more with its stack pressed on, as it was at the second push of each.  Beside such a one nothing
 * else can be told. */
static bool report_leak(search *s, const pushes *p)
{
  play best = {.gain = 0};
  for (int i = 0; i < s->evidence->layout.bore_count; i++) {
    play met = {.gain = 0};
    if (p->bores >> i & 1)
      met = weigh(s, p, (eb_bores)1 << i);
    if (met.size < 0 && met.gain > best.gain)
      best = met;
  }
  if (best.size >= -LEAK_LEAST)
    return false;
  double chance = fmin((1 - chance_of(&best, p)) * count_of(p->bores), 1);
  if (chance >= SURE_CHANCE)
    return false;
  report(s, &best, chance, true);
  return true;
}

void search_pushes(search *s)
{
  pushes p = {.count = 0};
  eb_bores group[GROUPS_MAX];
  play best = {.gain = 0}, open = {.gain = 0};
  gather(s, &p);
  if (p.count == 0 || report_leak(s, &p))
    return;
  int count = list_groups(&s->evidence->layout, p.bores, group);
  set_doubts(&p);
  for (int i = 0; i < count; i++) {
    play met = weigh(s, &p, group[i]);
    if (met.size > 0 && met.gain > best.gain)
      best = met;
    if (!is_cleared(&met, &p) && met.gain >= open.gain)
      open = met;
  }
  double chance = best.size > PLAY_LEAST ? fmin(chance_of(&best, &p) * count, 1) : 1;
  if (chance < SURE_CHANCE)
    report(s, &best, chance, true);
  else if (open.bores != 0)
    report(s, &open, fmin(chance_of(&open, &p) * count, 1), false);
}
