#include "evenbore/evidence.h"

#include "tuner.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>

enum { PASSES_MAX = 5, STEPS_MAX = 200 };

static void must(eb_status status)
{
  assert(status == EB_OK);
  (void)status;
}

static bool take(tuner *t, eb_evidence *evidence, int bore)
{
  double value = study_read(t, bore);
  if (value <= 0)
    return false;
  must(eb_evidence_reading(evidence, bore, value, NULL));
  return true;
}

/* A pass that drifted too far is done again a while later. */
static bool take_pass(tuner *t, eb_evidence *evidence)
{
  eb_closure closure = {0};
  for (int pass = 0; pass < PASSES_MAX && !closure.accepted; pass++) {
    must(eb_evidence_pass(evidence, NULL));
    for (int i = 0; i < t->given->layout->bore_count; i++)
      if (!take(t, evidence, i))
        return false;
    if (!take(t, evidence, 0))
      return false;
    eb_evidence_close(evidence, &closure);
    if (!closure.accepted)
      eb_engine_wait(t->engine, 5);
  }
  return closure.accepted;
}

static bool take_again(tuner *t, eb_evidence *evidence, eb_bores bores)
{
  for (int i = 0; i < t->given->layout->bore_count; i++)
    if (bores >> i & 1 && !take(t, evidence, i))
      return false;
  return true;
}

static bool needs_stop(const task *given, const eb_plan *plan)
{
  for (int m = 0; m < plan->move_count; m++)
    if (given->layout->adjuster[plan->move[m].adjuster].stopped)
      return true;
  return false;
}

static void make_moves(tuner *t, eb_evidence *evidence, const eb_plan *plan)
{
  bool stops = needs_stop(t->given, plan);
  if (stops)
    study_stop(t);
  for (int m = 0; m < plan->move_count; m++) {
    study_move(t, plan->move[m].adjuster, plan->move[m].move);
    must(eb_evidence_move(evidence, plan->move[m].adjuster, plan->move[m].move, NULL));
  }
  if (stops) {
    study_start(t);
    must(eb_evidence_period(evidence, NULL));
  }
}

static void show(const tuner *t, const eb_verdict *verdict, const eb_plan *plan)
{
  eb_engine_truth truth;
  eb_engine_look(t->engine, &truth);
  printf("%-5s claim %5.2f %%  true spread %5.2f %%  p %.2f -> %.2f  %.1f min  %s\n", eb_step_text(plan->step),
         100 * verdict->claim, 100 * truth.spread, plan->probability_before, plan->probability_after, plan->effort_min,
         plan->reason);
  for (int i = 0; i < t->given->layout->bore_count; i++)
    printf("      %-4s %+6.2f %% doubt %.2f  true %+6.2f %%  read %dx  %s\n", t->given->layout->bore[i],
           100 * expm1(verdict->bore[i].deviation), 100 * verdict->bore[i].doubt, 100 * truth.deviation[i],
           verdict->bore[i].readings, eb_word_text(verdict->bore[i].word));
  for (int m = 0; m < plan->move_count; m++)
    printf("      move %s by %+.3f\n", t->given->layout->adjuster[plan->move[m].adjuster].id, plan->move[m].move);
}

static void conclude(tuner *t, const eb_verdict *verdict, eb_step last)
{
  eb_engine_truth truth;
  eb_engine_look(t->engine, &truth);
  t->so_far.says_even = verdict->word == EB_EVEN;
  t->so_far.claim = verdict->claim;
  t->so_far.stopped_by = (int)last;
  for (int i = 0; i < t->given->layout->bore_count; i++) {
    double miss = (log1p(truth.deviation[i]) - verdict->bore[i].deviation) / verdict->bore[i].doubt;
    t->so_far.misses += miss * miss;
  }
}

static bool step_on(tuner *t, eb_evidence *evidence, bool *more)
{
  const task *given = t->given;
  eb_plan_options options = eb_plan_options_usual();
  eb_verdict verdict;
  eb_plan plan;
  must(eb_evidence_verdict(evidence, given->tolerance, given->risk, &verdict, NULL));
  must(eb_evidence_plan(evidence, given->tolerance, given->risk, &options, &plan, NULL));
  if (given->shown)
    show(t, &verdict, &plan);
  *more = plan.step == EB_STEP_READ || plan.step == EB_STEP_MOVE;
  if (plan.step == EB_STEP_READ)
    return take_again(t, evidence, plan.read);
  if (plan.step == EB_STEP_MOVE) {
    make_moves(t, evidence, &plan);
    return take_pass(t, evidence);
  }
  conclude(t, &verdict, plan.step);
  return true;
}

static void lead(tuner *t, const eb_layout *layout, eb_gain *gains)
{
  eb_evidence *evidence = NULL;
  must(eb_evidence_create(eb_host_system(), layout, &t->given->told, &evidence, NULL));
  study_start(t);
  must(eb_evidence_period(evidence, NULL));
  bool more = true, well = take_pass(t, evidence);
  for (int step = 0; well && more && step < STEPS_MAX; step++)
    well = step_on(t, evidence, &more);
  t->so_far.failed = !well || more;
  if (gains != NULL)
    must(eb_evidence_gains(evidence, gains, NULL));
  eb_evidence_destroy(evidence);
}

outcome study_planned(const task *given)
{
  tuner t;
  outcome result;
  study_begin(&t, given);
  lead(&t, given->layout, NULL);
  study_end(&t, &result);
  return result;
}

outcome study_again(const task *given)
{
  tuner t;
  outcome result;
  eb_gain gains[EB_ADJUSTERS_MAX];
  eb_layout layout = *given->layout;
  study_begin(&t, given);
  lead(&t, &layout, gains);
  for (int k = 0; given->known && k < layout.adjuster_count; k++) {
    eb_gain gain = eb_gain_later(given->taught > 0 ? (eb_gain){.mean = given->taught, .moves = 1} : gains[k]);
    if (gain.moves == 0)
      continue;
    layout.adjuster[k].known_gain = gain.mean;
    layout.adjuster[k].known_spread = fmin(gain.spread, layout.adjuster[k].gain_spread);
  }
  study_next_day(&t);
  lead(&t, &layout, NULL);
  study_end(&t, &result);
  return result;
}
