/* Jobs on simulated engines with one fault each, told by the findings alone. The faults are laid over what the engine
 * reads, so that they owe nothing to the model by which they are looked for. */
#ifndef EVENBORE_TESTS_FAULTY_JOBS_H
#define EVENBORE_TESTS_FAULTY_JOBS_H

#include "balance/engines.h"
#include "evenbore/evidence.h"
#include "evenbore/finding.h"
#include "evenbore/simulate.h"

typedef enum fault_kind {
  SOUND,
  LEAK,
  STICKING,
  BINDING,
  LOOSE,
  LASH,
  WANDERS,
  WARMS,
  VENT,
  SWAPS,
  FAULT_KINDS
} fault_kind;

typedef struct fault {
  fault_kind kind;
  double strength; /* ln; of wander its standard deviation, of warming ln a pass */
} fault;

typedef struct job {
  const eb_layout *layout;
  eb_engine *engine;
  eb_evidence *evidence;
  fault fault;
  uint64_t draws;
  eb_bores shaft;
  int bore, pair;      /* that the fault is about */
  int passes, in_pass; /* passes begun; readings in the present one, -1 outside */
  int fault_pass, fault_reading;
  double closed;          /* where what is loose lies since the last start or snap, -1 to 1 */
  double since_start;     /* readings */
  double wandered, level; /* ln */
  double last;            /* what was typed last, ln over its due */
  int readings, stops;
  bool found[EB_FINDING_SWAPPED + 1]; /* sure findings, when there was the first one */
  bool any, suspected, happened, rejected, located;
} job;

static inline void job_must(eb_status status)
{
  if (status != EB_OK)
    fail_msg("%s", eb_status_word(status));
}

/* What is loose lies elsewhere after each start and snap; lash alternates. */
static inline void job_shut(job *j)
{
  double drawn = stream_uniform(&j->draws);
  if (j->fault.kind == LASH)
    j->closed = j->closed > 0 ? -1 : 1;
  else
    j->closed = drawn < 0.5 ? -0.5 - drawn : drawn;
}

static inline double fault_offset(job *j, int bore)
{
  const eb_layout *layout = j->layout;
  double k = j->fault.strength;
  switch (j->fault.kind) {
  case LEAK: return bore == j->bore ? k : 0;
  case STICKING: return bore == j->bore ? k * j->closed : 0;
  case BINDING: return j->shaft >> bore & 1 ? k * j->closed : 0;
  case LOOSE: return k * j->closed * eb_adjuster_effect(&layout->adjuster[j->pair], bore);
  case LASH: return 0.5 * k * j->closed * eb_adjuster_effect(&layout->adjuster[0], bore);
  case WANDERS: return k * stream_normal(&j->draws);
  case WARMS: return k * j->since_start / layout->bore_count * (1 + eb_adjuster_effect(&layout->adjuster[0], bore));
  case VENT: return j->level;
  default: return 0;
  }
}

static inline double job_look(job *j, int bore)
{
  double value = 0;
  job_must(eb_engine_read(j->engine, bore, &value, NULL));
  if (j->fault.kind == VENT && j->passes == j->fault_pass && j->in_pass == j->fault_reading)
    j->level = j->fault.strength;
  value *= exp(fault_offset(j, bore));
  value = fmax(0.25 * nearbyint(value / 0.25), 0.25);
  j->since_start++;
  j->readings++;
  return value;
}

static inline void job_read(job *j, int bore)
{
  job_must(eb_evidence_reading(j->evidence, bore, job_look(j, bore), NULL));
}

/* The first neighbours that differ by as much, once. */
static inline void swap_typed(job *j, double *typed)
{
  for (int i = 0; i + 1 < j->layout->bore_count; i++) {
    if (fabs(log(typed[i] / typed[i + 1])) < j->fault.strength)
      continue;
    double kept = typed[i];
    typed[i] = typed[i + 1];
    typed[i + 1] = kept;
    j->fault_pass = 1000;
    j->happened = true;
    return;
  }
}

/* In pass order; where two are swapped each one's reading is typed for the other. */
static inline bool job_pass(job *j)
{
  int n = j->layout->bore_count;
  double typed[EB_BORES_MAX + 1];
  eb_closure closure;
  j->passes++;
  job_must(eb_evidence_pass(j->evidence, NULL));
  for (j->in_pass = 0; j->in_pass <= n; j->in_pass++)
    typed[j->in_pass] = job_look(j, j->in_pass % n);
  j->in_pass = -1;
  if (j->fault.kind == SWAPS && j->passes >= j->fault_pass)
    swap_typed(j, typed);
  for (int i = 0; i <= n; i++)
    job_must(eb_evidence_reading(j->evidence, i % n, typed[i], NULL));
  eb_evidence_close(j->evidence, &closure);
  return closure.accepted;
}

static inline bool job_findings(job *j)
{
  eb_findings found;
  bool unsure = false, any = false;
  job_must(eb_evidence_findings(j->evidence, &found, NULL));
  for (int i = 0; i < found.count; i++) {
    const eb_finding *f = &found.finding[i];
    bool asks = f->kind != EB_FINDING_BAND && f->sure && !f->stayed;
    if (asks && !j->any)
      j->found[f->kind] = true;
    j->located = j->located || (f->kind == EB_FINDING_VENT && !j->any);
    any = any || asks;
    unsure = unsure || !f->sure;
  }
  j->any = j->any || any;
  return unsure;
}

static inline void job_snap(job *j)
{
  eb_bores bores;
  job_must(eb_evidence_snap_bores(j->evidence, &bores, NULL));
  for (int snap = 0; snap < 2; snap++) {
    eb_engine_blip(j->engine);
    job_shut(j);
    job_must(eb_evidence_snap(j->evidence, NULL));
    for (int i = 0; i < j->layout->bore_count; i++)
      if (bores >> i & 1)
        job_read(j, i);
    if (!job_findings(j))
      break;
    j->suspected = true;
  }
}

static inline void job_start(job *j)
{
  job_must(eb_engine_start(j->engine, NULL));
  eb_engine_wait(j->engine, 20);
  job_must(eb_engine_set_idle(j->engine, NULL));
  job_must(eb_evidence_period(j->evidence, NULL));
  j->since_start = 0;
  j->level = 0;
  job_shut(j);
}

static inline void job_move(job *j, const eb_plan *plan)
{
  bool stops = false;
  for (int m = 0; m < plan->move_count; m++)
    stops = stops || j->layout->adjuster[plan->move[m].adjuster].stopped;
  if (stops)
    job_must(eb_engine_stop(j->engine, NULL));
  for (int m = 0; m < plan->move_count; m++) {
    job_must(eb_engine_move(j->engine, plan->move[m].adjuster, plan->move[m].move, NULL));
    job_must(eb_evidence_move(j->evidence, plan->move[m].adjuster, plan->move[m].move, NULL));
  }
  if (stops)
    job_start(j);
}

/* The routine: a pass, a snap, then what the plan says until it ends.  A pass that is rejected is gone round again. */
static inline void job_run(job *j, int steps_max)
{
  eb_plan_options options = eb_plan_options_usual();
  bool snapped = false, measure = true;
  job_start(j);
  for (int step = 0; step < steps_max && !j->any; step++) {
    eb_plan plan;
    bool accepted = !measure || job_pass(j);
    job_findings(j);
    j->rejected = j->rejected || !accepted;
    measure = !accepted;
    if (!accepted)
      continue;
    if (!snapped)
      job_snap(j);
    snapped = true;
    job_must(eb_evidence_plan(j->evidence, 0.05, 0.05, &options, &plan, NULL));
    if (plan.step == EB_STEP_READ) {
      for (int i = 0; i < j->layout->bore_count; i++)
        if (plan.read >> i & 1)
          job_read(j, i);
      job_findings(j);
    } else if (plan.step == EB_STEP_MOVE) {
      job_move(j, &plan);
      measure = true;
    } else {
      break;
    }
  }
}

static inline void job_on(job *j, const eb_layout *layout, uint64_t seed, double repeatability, fault given)
{
  eb_engine_options options = eb_engine_options_usual();
  options.gauge.repeatability = repeatability;
  *j = (job){.layout = layout, .fault = given, .draws = seed * 7919 + 17, .in_pass = -1, .closed = 1};
  job_must(eb_engine_create(eb_host_system(), layout, seed, &options, &j->engine, NULL));
  job_must(eb_evidence_create(eb_host_system(), layout, &options.gauge, &j->evidence, NULL));
  int n = layout->bore_count;
  j->bore = (int)(stream_uniform(&j->draws) * (given.kind == SWAPS ? n - 1 : n));
  j->pair = 1 + (int)(stream_uniform(&j->draws) * 2);
  j->shaft = stream_uniform(&j->draws) < 0.5 ? layout->adjuster[j->pair].first : layout->adjuster[j->pair].second;
  j->fault_pass = given.kind == SWAPS ? 2 : 1 + (int)(stream_uniform(&j->draws) * 2);
  j->fault_reading = 2 + (int)(stream_uniform(&j->draws) * (n - 2));
  job_run(j, 60);
  eb_evidence_destroy(j->evidence);
  eb_engine_destroy(j->engine);
}

#endif
