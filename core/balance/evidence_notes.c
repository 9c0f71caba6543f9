/* What was worked out from the events so far, so that it is not worked out again for each question.  It holds as long
 * as no event before its end changes what it comes to; notes_forget is called where one does. */
#include "evidence.h"

#include <string.h>

/* The first one is for the gauge's noise as it is said to be, which no reading changes: it walks through a whole job.
 */
enum { WALK_TOLD, WALKS = 3 };

struct notes {
  walk start; /* without any event */
  walk walk[WALKS];
  size_t noise_to, verdict_to; /* events that they come from; SIZE_MAX: there is none */
  noise noise;
  eb_verdict verdict;
};

eb_status notes_create(const eb_host *host, notes **made, eb_error *error)
{
  notes *n = host->allocate(host->context, NULL, sizeof *n);
  if (n == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for an engine's evidence");
  memset(n, 0, sizeof *n);
  n->noise_to = n->verdict_to = SIZE_MAX;
  *made = n;
  return EB_OK;
}

static void forget(notes *n)
{
  eb_belief_destroy(n->start.belief);
  for (int i = 0; i < WALKS; i++)
    eb_belief_destroy(n->walk[i].belief);
  n->start = (walk){.belief = NULL};
  memset(n->walk, 0, sizeof n->walk);
  n->noise_to = n->verdict_to = SIZE_MAX;
}

void notes_destroy(notes *kept, const eb_host *host)
{
  if (kept != NULL)
    forget(kept);
  host->allocate(host->context, kept, 0);
}

void notes_forget(eb_evidence *evidence)
{
  forget(evidence->notes);
}

noise evidence_noise(const eb_evidence *evidence)
{
  notes *n = evidence->notes;
  if (n->noise_to != evidence->events) {
    n->noise = evidence_noise_anew(evidence);
    n->noise_to = evidence->events;
  }
  return n->noise;
}

static bool same(double a, double b)
{
  return !(a < b) && !(a > b);
}

const eb_verdict *evidence_verdict_known(const eb_evidence *evidence, double tolerance, double risk)
{
  const notes *n = evidence->notes;
  bool holds =
      n->verdict_to == evidence->events && same(n->verdict.tolerance, tolerance) && same(n->verdict.risk, risk);
  return holds ? &n->verdict : NULL;
}

void evidence_verdict_keep(const eb_evidence *evidence, const eb_verdict *verdict)
{
  evidence->notes->verdict = *verdict;
  evidence->notes->verdict_to = evidence->events;
}

static bool can_go_on(const walk *w, double factor, size_t to)
{
  return w->belief != NULL && same(w->factor, factor) && w->to <= to;
}

/* A walk that can go on to `to`, the farthest of those; else the one to begin anew. */
static walk *choose(notes *n, double factor, size_t to)
{
  walk *found = NULL, *oldest = &n->walk[WALK_TOLD + 1];
  for (int i = 0; i < WALKS; i++) {
    walk *w = &n->walk[i];
    if (can_go_on(w, factor, to) && (found == NULL || w->to > found->to))
      found = w;
    if (i != WALK_TOLD && w->to < oldest->to)
      oldest = w;
  }
  if (found == NULL)
    found = same(factor, 1) ? &n->walk[WALK_TOLD] : oldest;
  return found;
}

static eb_status begin(const eb_evidence *evidence, double factor, walk *w, eb_error *error)
{
  notes *n = evidence->notes;
  eb_belief *copy = NULL;
  eb_status status = EB_OK;
  if (n->start.belief == NULL)
    status = walk_begin(evidence, &evidence->layout, 0, &n->start, error);
  if (status == EB_OK)
    status = eb_belief_copy(n->start.belief, &copy, error);
  if (status != EB_OK)
    return status;
  eb_belief_destroy(w->belief);
  *w = n->start;
  w->belief = copy;
  w->factor = factor;
  return EB_OK;
}

eb_status evidence_belief(const eb_evidence *evidence, const noise *found, size_t to, const eb_belief **belief,
                          eb_error *error)
{
  walk *w = choose(evidence->notes, found->factor, to);
  eb_status status = can_go_on(w, found->factor, to) ? EB_OK : begin(evidence, found->factor, w, error);
  if (status != EB_OK)
    return status;
  walk_on(evidence, found, to, w);
  *belief = w->belief;
  return EB_OK;
}
