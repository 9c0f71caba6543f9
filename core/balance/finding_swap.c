/* Two neighbours that were typed for one another, in any pass so far. */
#include "finding_search.h"

#include <math.h>
#include <string.h>

/* Of the sum of squares, twice a logarithm of likelihoods; this project's own.  From the first both bores are read once
 * more, which costs two readings; beyond the second it is said. */
static const double MAYBE = 5, SURE = 11;

typedef struct exchange {
  size_t one, other; /* events */
  int pass;          /* counted from 1 */
  double gain;       /* 0: none found */
} exchange;

typedef enum apart { APART_UNKNOWN, APART_NO, APART_YES } apart;

typedef struct swap_search {
  const search *s;
  eb_evidence *other; /* the same with two readings exchanged; NULL until it is needed */
  exchange best;
  apart apart[EB_BORES_MAX][EB_BORES_MAX]; /* whether two bores stand otherwise to one another by now */
} swap_search;

static int place_of(const window *w, size_t at)
{
  for (int i = 0; i < w->count; i++)
    if (w->event[i] == at)
      return i;
  return -1;
}

/* An exchange in the present block changes nothing before it. */
static double gain_here(const window *w, size_t one, size_t other)
{
  int i = place_of(w, one), j = place_of(w, other);
  double residual[WINDOW_MAX];
  if (i < 0 || j < 0)
    return 0;
  memcpy(residual, w->residual, sizeof residual);
  residual[i] += w->value[j] - w->value[i];
  residual[j] += w->value[i] - w->value[j];
  return w->squares - window_squares(w, residual);
}

/* Whether it explains anything that they stand otherwise to one another now than all before lets expect. */
static bool stand_apart(swap_search *found, int one, int other)
{
  const window *w = found->s->kept;
  apart *known = &found->apart[one][other];
  double column[WINDOW_MAX];
  window_effect met;
  if (*known != APART_UNKNOWN)
    return *known == APART_YES;
  for (int i = 0; i < w->count; i++)
    column[i] = w->bore[i] == one ? 1 : w->bore[i] == other ? -1 : 0;
  *known = window_effect_of(w, column, &met) && met.gain > MAYBE ? APART_YES : APART_NO;
  return *known == APART_YES;
}

/* What all readings from `from` on, block by block, come to less in the weighted sum of squares with two of them
 * exchanged; where it is less than `least`, some number that is. */
static eb_status gain_from(swap_search *found, size_t from, double least, double *gain, eb_error *error)
{
  const search *s = found->s;
  double as_typed = 0, exchanged = 0;
  eb_status status = EB_OK;
  int first = s->block_count;
  while (first > 0 && s->blocks[first - 1]->from >= from)
    first--;
  for (int i = first; i < s->block_count; i++)
    as_typed += s->blocks[i]->squares;
  for (int i = first; status == EB_OK && i < s->block_count && as_typed - exchanged >= least; i++) {
    window_options options = {.from = s->blocks[i]->from, .to = s->blocks[i]->to, .drift = eb_priors_usual().drift};
    window *w = NULL;
    status = window_open(found->other, &s->found, &options, &w, error);
    if (w != NULL)
      exchanged += w->squares;
    window_close(w);
  }
  *gain = as_typed - exchanged;
  return status;
}

static void drop_copy(swap_search *found)
{
  const eb_host *host = found->s->evidence->host;
  if (found->other == NULL)
    return;
  notes_destroy(found->other->notes, host);
  host->allocate(host->context, found->other->event, 0);
  host->allocate(host->context, found->other, 0);
  found->other = NULL;
}

static eb_status copy_evidence(swap_search *found, eb_error *error)
{
  const eb_evidence *evidence = found->s->evidence;
  const eb_host *host = evidence->host;
  size_t size = evidence->events * sizeof *evidence->event;
  eb_evidence *copy = found->other = host->allocate(host->context, NULL, sizeof *copy);
  if (copy != NULL) {
    *copy = *evidence;
    copy->notes = NULL;
    copy->event = host->allocate(host->context, NULL, size);
  }
  if (copy == NULL || copy->event == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory to look at the readings");
  memcpy(copy->event, evidence->event, size);
  return notes_create(host, &copy->notes, error);
}

static void exchange_values(eb_evidence *evidence, size_t one, size_t other)
{
  event *a = &evidence->event[one], *b = &evidence->event[other], kept = *a;
  a->value = b->value;
  a->log_value = b->log_value;
  a->step_variance = b->step_variance;
  b->value = kept.value;
  b->log_value = kept.log_value;
  b->step_variance = kept.step_variance;
  notes_forget_from(evidence, one);
}

/* In an earlier block: all that follows from it is worked out anew, as far as it may still be the best and be told. */
static eb_status gain_before(swap_search *found, size_t one, size_t other, double *gain, eb_error *error)
{
  size_t from = evidence_block(found->s->evidence, one);
  eb_status status = found->other == NULL ? copy_evidence(found, error) : EB_OK;
  if (status == EB_OK)
    status = notes_begin_at(found->other, &found->s->found, from, error);
  if (status != EB_OK)
    return status;
  exchange_values(found->other, one, other);
  status = gain_from(found, from, fmax(found->best.gain, MAYBE), gain, error);
  exchange_values(found->other, one, other);
  return status;
}

static bool reads_the_same(const event *a, const event *b)
{
  return !(a->value < b->value) && !(a->value > b->value) && !(a->step_variance < b->step_variance) &&
         !(a->step_variance > b->step_variance);
}

static eb_status weigh(swap_search *found, size_t one, size_t other, int pass, eb_error *error)
{
  const search *s = found->s;
  const event *a = &s->evidence->event[one], *b = &s->evidence->event[other];
  double gain = 0;
  eb_status status = EB_OK;
  if (!evidence_counts(s->evidence, a) || !evidence_counts(s->evidence, b) || reads_the_same(a, b))
    return EB_OK;
  if (one >= s->block)
    gain = gain_here(s->kept, one, other);
  else if (stand_apart(found, a->index, b->index))
    status = gain_before(found, one, other, &gain, error);
  if (gain > found->best.gain)
    found->best = (exchange){one, other, pass, gain};
  return status;
}

/* Neighbours on the way round; a bore that was read already is read again, and the way is over. */
static eb_status weigh_all(swap_search *found, eb_error *error)
{
  const eb_evidence *evidence = found->s->evidence;
  eb_bores read = 0;
  bool inside = false;
  int pass = 0;
  eb_status status = EB_OK;
  for (size_t e = 0; status == EB_OK && e < evidence->events; e++) {
    const event *met = &evidence->event[e];
    if (met->kind == EVENT_PASS) {
      pass++;
      read = 0;
      inside = true;
      continue;
    }
    inside = inside && met->kind == EVENT_READING && (read >> met->index & 1) == 0;
    if (!inside)
      continue;
    if (read != 0)
      status = weigh(found, e - 1, e, pass, error);
    read |= (eb_bores)1 << met->index;
  }
  return status;
}

static void report(search *s, const exchange *best)
{
  const window *w = s->kept;
  const event *a = &s->evidence->event[best->one], *b = &s->evidence->event[best->other];
  double scale = window_scale(w, best->gain), gain = best->gain / (scale * scale);
  if (gain < MAYBE)
    return;
  search_add(s, (eb_finding){.kind = EB_FINDING_SWAPPED,
                             .bores = (eb_bores)1 << a->index | (eb_bores)1 << b->index,
                             .adjuster = -1,
                             .size = log(a->value / b->value),
                             .doubt = s->found.factor * hypot(a->prior, b->prior),
                             .probability = exp(-0.5 * gain),
                             .test = "likelihood ratio",
                             .sure = gain > SURE && best->gain > part_gain(w, &s->evidence->layout),
                             .pass = best->pass,
                             .after = -1,
                             .before = -1});
}

/* Two fixed hypotheses are weighed by their likelihood ratio; it reaches K by chance with 1/K at most
 * [Wald, Sequential Analysis, 1947, 3.2; from memory].  That one part stands differently is the simpler story. */
eb_status search_swapped(search *s, eb_error *error)
{
  swap_search found = {.s = s};
  if (s->kept == NULL || search_snap_shows(s))
    return EB_OK;
  eb_status status = weigh_all(&found, error);
  drop_copy(&found);
  if (status == EB_OK && found.best.gain > 0)
    report(s, &found.best);
  return status;
}
