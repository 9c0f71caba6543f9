/* Faults that show from start to start: what never answers, or never stands, twice alike. */
#include "finding_search.h"

#include "evenbore/statistics.h"

#include <math.h>
#include <string.h>

/* Limit of probability, this project's own. */
static const double STARTS_CHANCE = 2e-5;

/* How each candidate stood differently from what all before let expect, moves and their doubt included: sum of t^2
 * over the blocks of readings after the first. */
typedef struct answers {
  candidate list[CANDIDATES_MAX];
  int count;
  double squares[CANDIDATES_MAX];
  double largest[CANDIDATES_MAX]; /* of them */
  int blocks[CANDIDATES_MAX];
} answers;

/* Bores that work was done on by an adjuster of theirs alone, and those that share a shaft with them. */
static eb_bores worked_on(const eb_layout *layout, const bool *moved)
{
  eb_bores bores = 0;
  for (int k = 0; k < layout->adjuster_count; k++) {
    const eb_adjuster *a = &layout->adjuster[k];
    for (int i = 0; moved[k] && a->second == 0 && i < layout->bore_count; i++)
      if (a->first >> i & 1)
        bores |= shaft_of(layout, i);
  }
  return bores;
}

static void take_answer(const window *w, const eb_layout *layout, int index, answers *sums)
{
  double column[WINDOW_MAX];
  window_effect met;
  for (int i = 0; i < w->count; i++)
    column[i] = candidate_effect(layout, &sums->list[index], w->bore[i]);
  if (!window_effect_of(w, column, &met))
    return;
  double scale = window_scale(w, met.gain), square = met.gain / (scale * scale);
  sums->squares[index] += square;
  sums->largest[index] = fmax(sums->largest[index], square);
  sums->blocks[index]++;
}

/* Readings of the block that begins at `from`, after the moves in `moved`. */
static void take_block(const search *s, size_t from, const bool *moved, answers *sums)
{
  const eb_layout *layout = &s->evidence->layout;
  eb_bores worked = worked_on(layout, moved);
  const window *w = search_block(s, from);
  for (int i = 0; w != NULL && i < sums->count; i++)
    if (sums->list[i].adjuster >= 0 || (sums->list[i].bores & worked) == 0)
      take_answer(w, layout, i, sums);
}

static void take_answers(const search *s, answers *sums)
{
  const eb_evidence *evidence = s->evidence;
  bool moved[EB_ADJUSTERS_MAX] = {false}, before = false, read = false;
  size_t from = 0;
  for (size_t e = 0; e <= evidence->events; e++) {
    const event *met = e == evidence->events ? NULL : &evidence->event[e];
    bool ends = met == NULL || met->kind == EVENT_PERIOD || met->kind == EVENT_MOVE;
    read = read || (met != NULL && evidence_counts(evidence, met));
    if (!ends)
      continue;
    if (read && before)
      take_block(s, from, moved, sums);
    if (read)
      memset(moved, 0, sizeof moved);
    before = before || read;
    read = false;
    from = e + 1;
    if (met != NULL && met->kind == EVENT_MOVE)
      moved[met->index] = true;
  }
}

/* Chi-squared, as the F whose denominator is known.  Once is no pattern: without its largest square it is still to be
 * unlikely. */
static double chance_of(const answers *sums, int index)
{
  static const double DEGREES_KNOWN = 1e4, ONCE_MORE = 0.05;
  int blocks = sums->blocks[index];
  if (blocks < 2)
    return 1;
  double others = (sums->squares[index] - sums->largest[index]) / (blocks - 1);
  if (others <= 1) /* as is to be expected */
    return 1;
  if (eb_f_above(others, blocks - 1, DEGREES_KNOWN) > ONCE_MORE)
    return 1;
  return eb_f_above(sums->squares[index] / blocks, blocks, DEGREES_KNOWN);
}

static bool has_finding_of(const search *s, const candidate *c)
{
  for (int i = 0; i < s->result->count; i++) {
    const eb_finding *f = &s->result->finding[i];
    if (f->kind == c->kind && (f->bores & c->bores) != 0)
      return true;
  }
  return false;
}

void search_starts(search *s)
{
  answers sums = {0};
  sums.count = candidates_list(&s->evidence->layout, sums.list);
  take_answers(s, &sums);
  int best = -1;
  double least = STARTS_CHANCE;
  for (int i = 0; i < sums.count; i++) {
    double chance = chance_of(&sums, i);
    if (chance >= least)
      continue;
    least = chance;
    best = i;
  }
  if (best >= 0 && !has_finding_of(s, &sums.list[best]))
    search_add(s, (eb_finding){.kind = sums.list[best].kind,
                               .bores = sums.list[best].bores,
                               .adjuster = sums.list[best].adjuster,
                               .size = sqrt(sums.squares[best] / sums.blocks[best]),
                               .probability = least,
                               .test = "chi-squared over the starts",
                               .sure = true,
                               .after = -1,
                               .before = -1});
}
