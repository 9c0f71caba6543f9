#include "tally.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool eb_rehearsed_wrong(const eb_rehearsed *r)
{
  return r->claims && r->spread > r->claim;
}

bool eb_rehearsed_safe(const eb_rehearsed *r)
{
  return (r->end == EB_REHEARSAL_EVEN || r->end == EB_REHEARSAL_CLAIMED) && !eb_rehearsed_wrong(r);
}

static bool got_worse(const eb_rehearsed *r)
{
  static const double CLEARLY = 0.01;
  return r->all > r->began + CLEARLY;
}

static double counted(const eb_rehearsed *r, int what)
{
  switch (what) {
  case EB_STOPS: return r->work.stops;
  case EB_READINGS: return r->work.readings;
  case EB_MINUTES: return round(r->work.minutes);
  default: return r->work.plates;
  }
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* The least value that at least `part` of all do not exceed. */
static double quantile(const double *sorted, int count, double part)
{
  int at = (int)ceil(part * count) - 1;
  return sorted[at < 0 ? 0 : at];
}

static eb_figures figures_of(const eb_rehearsed *results, int count, int what, double *scratch)
{
  static const char *const words[EB_FIGURES] = {"stops", "readings", "minutes", "plates"};
  eb_figures f = {.word = words[what]};
  for (int i = 0; i < count; i++)
    scratch[i] = counted(&results[i], what);
  qsort(scratch, (size_t)count, sizeof *scratch, ascending);
  f.median = quantile(scratch, count, 0.5);
  f.high = quantile(scratch, count, 0.9);
  f.least = scratch[0];
  f.most = scratch[count - 1];
  for (int i = 0; i < count; i++) {
    double part = f.most > f.least ? (scratch[i] - f.least) / (f.most - f.least) : 0;
    int bin = (int)(part * EB_TALLY_BINS);
    f.bin[bin < EB_TALLY_BINS ? bin : EB_TALLY_BINS - 1]++;
  }
  return f;
}

static void add_finding(eb_tally *t, const eb_rehearsed *r, const char *text)
{
  for (int i = 0; i < t->findings; i++)
    if (strcmp(t->finding[i].text, text) == 0) {
      t->finding[i].engines++;
      return;
    }
  if (t->findings == EB_TALLY_FINDINGS) {
    t->unlisted++;
    return;
  }
  eb_finding *new = &t->finding[t->findings++];
  *new = (eb_finding){.engines = 1, .seed = r->seed};
  snprintf(new->text, sizeof new->text, "%s", text);
}

static void find_trouble(eb_tally *t, const eb_rehearsed *r)
{
  char text[820];
  if (r->end == EB_REHEARSAL_STUCK || r->end == EB_REHEARSAL_FAILED) {
    snprintf(text, sizeof text, "%s%s%s", r->place, r->place[0] == '\0' ? "" : ": ", r->why);
    add_finding(t, r, text);
  } else if (!r->measured)
    add_finding(t, r, "comes to its end without one reading");
  else if (!r->claims)
    add_finding(t, r, "comes to its end without a claim: there is no verdict at idle since the last move");
  if (got_worse(r))
    add_finding(t, r, "the engine is less even in the end than before: a move goes the wrong way, or too far");
}

static int by_engines(const void *a, const void *b)
{
  const eb_finding *x = a, *y = b;
  if (x->engines != y->engines)
    return x->engines < y->engines ? 1 : -1;
  return (x->seed > y->seed) - (x->seed < y->seed);
}

/* How bad an end is: by kind first, then by how far off. 0: it went well. */
static double badness(const eb_rehearsed *r)
{
  if (r->end == EB_REHEARSAL_FAILED)
    return 4e6;
  if (r->end == EB_REHEARSAL_STUCK)
    return 3e6;
  if (eb_rehearsed_wrong(r))
    return 2e6 + (r->spread - r->claim);
  if (r->end == EB_REHEARSAL_CLAIMED)
    return r->claims ? 1e3 * (1 + r->claim) : 1e6;
  return 0;
}

static void find_worst(eb_tally *t, const eb_rehearsed *results, int count)
{
  for (int i = 0; i < count; i++) {
    const eb_rehearsed *r = &results[i];
    int at = t->worst_count;
    while (at > 0 && badness(r) > badness(t->worst[at - 1]))
      at--;
    if (at == EB_TALLY_WORST || !(badness(r) > 0))
      continue;
    int last = t->worst_count < EB_TALLY_WORST ? t->worst_count++ : EB_TALLY_WORST - 1;
    for (int k = last; k > at; k--)
      t->worst[k] = t->worst[k - 1];
    t->worst[at] = r;
  }
}

void eb_tally_make(const eb_rehearsed *results, int count, double *scratch, eb_tally *tally)
{
  eb_tally t = {.engines = count};
  for (int i = 0; i < count; i++) {
    const eb_rehearsed *r = &results[i];
    t.ended[r->end]++;
    t.safe += eb_rehearsed_safe(r);
    t.named += r->named;
    t.claims += r->claims;
    t.wrong += eb_rehearsed_wrong(r);
    t.worse += got_worse(r);
    for (int k = 0; k < EB_BAY_MINUTES; k++)
      t.minutes_of[k] += r->work.minutes_of[k] / count;
    find_trouble(&t, r);
  }
  qsort(t.finding, (size_t)t.findings, sizeof t.finding[0], by_engines);
  for (int what = 0; what < EB_FIGURES; what++)
    t.figures[what] = figures_of(results, count, what, scratch);
  find_worst(&t, results, count);
  *tally = t;
}
