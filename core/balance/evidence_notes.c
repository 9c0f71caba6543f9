/* What was worked out from the events so far, so that it is not worked out again for each question.  It holds as long
 * as no event before its end changes what it comes to; notes_forget, or notes_forget_from, is called where one does. */
#include "evidence.h"

#include <math.h>
#include <string.h>

/* The first one is for the gauge's noise as it is said to be, which no reading changes: it walks through a whole job.
 */
enum { WALK_TOLD, WALKS = 3 };

typedef struct walks {
  walk start; /* where new ones begin: without any event, or where notes_begin_at has said */
  walk walk[WALKS];
} walks;

struct notes {
  walks usual, taught;         /* with the layout's own gains, and with those from earlier jobs */
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

static void forget_walk(walk *w)
{
  eb_belief_destroy(w->belief);
  *w = (walk){0};
}

static void forget_walks(walks *w)
{
  forget_walk(&w->start);
  for (int i = 0; i < WALKS; i++)
    forget_walk(&w->walk[i]);
}

static void forget_walks_from(walks *w, size_t from)
{
  for (int i = 0; i < WALKS; i++)
    if (w->walk[i].to > from)
      forget_walk(&w->walk[i]);
}

static void forget(notes *n)
{
  forget_walks(&n->usual);
  forget_walks(&n->taught);
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

void notes_forget_from(eb_evidence *evidence, size_t from)
{
  notes *n = evidence->notes;
  forget_walks_from(&n->usual, from);
  forget_walks_from(&n->taught, from);
  n->noise_to = n->verdict_to = SIZE_MAX;
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
static walk *choose(walks *all, double factor, size_t to)
{
  walk *found = NULL, *oldest = &all->walk[WALK_TOLD + 1];
  for (int i = 0; i < WALKS; i++) {
    walk *w = &all->walk[i];
    if (can_go_on(w, factor, to) && (found == NULL || w->to > found->to))
      found = w;
    if (i != WALK_TOLD && w->to < oldest->to)
      oldest = w;
  }
  if (found == NULL)
    found = same(factor, 1) ? &all->walk[WALK_TOLD] : oldest;
  return found;
}

static eb_status start(const eb_evidence *evidence, const eb_layout *layout, walk *w, eb_error *error)
{
  return w->belief == NULL ? walk_begin(evidence, layout, 0, w, error) : EB_OK;
}

static eb_status start_at(const eb_evidence *evidence, const eb_layout *layout, walk *w, const noise *found, size_t at,
                          eb_error *error)
{
  eb_status status = start(evidence, layout, w, error);
  if (status == EB_OK)
    walk_on(evidence, found, at, w);
  return status;
}

eb_status notes_begin_at(eb_evidence *evidence, const noise *found, size_t at, eb_error *error)
{
  notes *n = evidence->notes;
  eb_status status = start_at(evidence, &evidence->layout, &n->usual.start, found, at, error);
  if (status == EB_OK && evidence->was_taught)
    status = start_at(evidence, &evidence->taught, &n->taught.start, found, at, error);
  return status;
}

static eb_status begin(const eb_evidence *evidence, const eb_layout *layout, double factor, walks *all, walk *w,
                       eb_error *error)
{
  eb_belief *copy = NULL;
  eb_status status = start(evidence, layout, &all->start, error);
  if (status == EB_OK)
    status = eb_belief_copy(all->start.belief, &copy, error);
  if (status != EB_OK)
    return status;
  eb_belief_destroy(w->belief);
  *w = all->start;
  w->belief = copy;
  w->factor = factor;
  return EB_OK;
}

static eb_status follow(const eb_evidence *evidence, const eb_layout *layout, walks *all, const noise *found, size_t to,
                        const eb_belief **belief, eb_error *error)
{
  walk *w = choose(all, found->factor, to);
  eb_status status = can_go_on(w, found->factor, to) ? EB_OK : begin(evidence, layout, found->factor, all, w, error);
  if (status != EB_OK)
    return status;
  walk_on(evidence, found, to, w);
  *belief = w->belief;
  return EB_OK;
}

/* What earlier jobs taught may be wrong by now, or not be this engine's at all: readings decide between it and the
 * layout's own gains, by the odds beforehand.  This project's own. */
static bool fits(const eb_belief *taught, const eb_belief *usual)
{
  static const double ODDS = 9;
  return eb_belief_likelihood(taught) - eb_belief_likelihood(usual) >= -log(ODDS);
}

static eb_status decide(const eb_evidence *evidence, const noise *found, size_t to, const eb_belief **belief,
                        bool *stands, eb_error *error)
{
  const eb_belief *taught = NULL;
  notes *n = evidence->notes;
  eb_status status = follow(evidence, &evidence->layout, &n->usual, found, to, belief, error);
  *stands = true;
  if (status == EB_OK && evidence->was_taught)
    status = follow(evidence, &evidence->taught, &n->taught, found, to, &taught, error);
  if (status != EB_OK || taught == NULL)
    return status;
  *stands = fits(taught, *belief);
  if (*stands)
    *belief = taught;
  return EB_OK;
}

eb_status evidence_belief(const eb_evidence *evidence, const noise *found, size_t to, const eb_belief **belief,
                          eb_error *error)
{
  bool stands;
  return decide(evidence, found, to, belief, &stands, error);
}

eb_status eb_evidence_known_stands(const eb_evidence *evidence, bool *stands, eb_error *error)
{
  const eb_belief *belief = NULL;
  noise found = evidence_noise(evidence);
  return decide(evidence, &found, evidence->events, &belief, stands, error);
}
