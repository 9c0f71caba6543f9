#include "evenbore/evidence.h"
#include "evenbore/statistics.h"

#include "evidence.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* A pass whose first bore has changed by more than this between its two readings is not one engine condition. */
static const double CLOSURE_LIMIT = 0.08;

/* Whether anything is known of an adjuster's gain. */
static bool teach(eb_layout *layout)
{
  bool taught = false;
  for (int k = 0; k < layout->adjuster_count; k++) {
    eb_adjuster *adjuster = &layout->adjuster[k];
    if (adjuster->known_spread <= 0)
      continue;
    adjuster->gain = adjuster->known_gain;
    adjuster->gain_spread = adjuster->known_spread;
    taught = true;
  }
  return taught;
}

eb_status eb_evidence_create(const eb_host *host, const eb_layout *layout, const eb_gauge *gauge,
                             eb_evidence **evidence, eb_error *error)
{
  assert(gauge->repeatability_weight > 0);
  eb_evidence *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for an engine's evidence");
  *made = (eb_evidence){.host = host, .layout = *layout, .taught = *layout, .gauge = *gauge};
  made->was_taught = teach(&made->taught);
  eb_status status = notes_create(host, &made->notes, error);
  if (status == EB_OK)
    *evidence = made;
  else
    host->allocate(host->context, made, 0);
  return status;
}

void eb_evidence_destroy(eb_evidence *evidence)
{
  if (evidence == NULL)
    return;
  const eb_host *host = evidence->host;
  notes_destroy(evidence->notes, host);
  host->allocate(host->context, evidence->event, 0);
  host->allocate(host->context, evidence, 0);
}

void eb_evidence_set_gauge(eb_evidence *evidence, const eb_gauge *gauge)
{
  assert(gauge->repeatability_weight > 0);
  evidence->gauge = *gauge;
  notes_forget(evidence);
}

static eb_status add_event(eb_evidence *evidence, event added, eb_error *error)
{
  const eb_host *host = evidence->host;
  if (evidence->events == evidence->room) {
    size_t room = evidence->room == 0 ? 64 : 2 * evidence->room;
    event *grown = host->allocate(host->context, evidence->event, room * sizeof *grown);
    if (grown == NULL)
      return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for another reading");
    evidence->event = grown;
    evidence->room = room;
  }
  evidence->event[evidence->events++] = added;
  return EB_OK;
}

eb_status eb_evidence_period(eb_evidence *evidence, eb_error *error)
{
  return add_event(evidence, (event){.kind = EVENT_PERIOD}, error);
}

eb_status eb_evidence_pass(eb_evidence *evidence, eb_error *error)
{
  eb_status status = add_event(evidence, (event){.kind = EVENT_PASS}, error);
  if (status == EB_OK)
    evidence->open_pass = evidence->events;
  return status;
}

static event reading_of(const eb_evidence *evidence, int bore, double value)
{
  assert(bore >= 0 && bore < evidence->layout.bore_count && value > 0 && isfinite(value));
  return (event){.kind = EVENT_READING,
                 .index = bore,
                 .value = value,
                 .log_value = log(value),
                 .prior = evidence->gauge.repeatability,
                 .step_variance = eb_gauge_variance(&evidence->gauge, 0, value)};
}

eb_status eb_evidence_reading(eb_evidence *evidence, int bore, double value, eb_error *error)
{
  return add_event(evidence, reading_of(evidence, bore, value), error);
}

eb_status eb_evidence_pushed(eb_evidence *evidence, int bore, double value, bool open, eb_error *error)
{
  event read = reading_of(evidence, bore, value);
  read.kind = open ? EVENT_OPENED : EVENT_READING;
  read.pushed = true;
  return add_event(evidence, read, error);
}

eb_status eb_evidence_move(eb_evidence *evidence, int adjuster, double move, eb_error *error)
{
  assert(adjuster >= 0 && adjuster < evidence->layout.adjuster_count && isfinite(move));
  return add_event(evidence, (event){.kind = EVENT_MOVE, .index = adjuster, .value = move}, error);
}

eb_status eb_evidence_snap(eb_evidence *evidence, eb_error *error)
{
  return add_event(evidence, (event){.kind = EVENT_SNAP}, error);
}

eb_status eb_evidence_no_air(eb_evidence *evidence, int bore, eb_error *error)
{
  assert(bore >= 0 && bore < evidence->layout.bore_count);
  return add_event(evidence, (event){.kind = EVENT_NO_AIR, .index = bore}, error);
}

void eb_evidence_strike(eb_evidence *evidence, eb_bores bores, eb_since since)
{
  size_t from = evidence->events;
  event_kind edge = since == EB_SINCE_PASS ? EVENT_PASS : since == EB_SINCE_SNAP ? EVENT_SNAP : EVENT_PERIOD;
  while (from > 0 && (since == EB_SINCE_EVER || evidence->event[from - 1].kind != edge))
    from--;
  for (size_t e = from; e < evidence->events; e++)
    if ((evidence->event[e].kind == EVENT_READING || evidence->event[e].kind == EVENT_OPENED) &&
        bores >> evidence->event[e].index & 1)
      evidence->event[e].rejected = evidence->event[e].struck = true;
  notes_forget(evidence);
}

/* The first reading of each: a bore that closes the pass, or is read again, was read at another time. */
void eb_evidence_strike_pass(eb_evidence *evidence, eb_bores bores, int pass)
{
  size_t e = 0;
  for (int begun = 0; e < evidence->events && begun < pass; e++)
    begun += evidence->event[e].kind == EVENT_PASS;
  for (; e < evidence->events && evidence->event[e].kind == EVENT_READING; e++) {
    event *met = &evidence->event[e];
    if ((bores >> met->index & 1) != 0)
      met->rejected = met->struck = true;
    bores &= ~((eb_bores)1 << met->index);
  }
  notes_forget(evidence);
}

void eb_evidence_leave_out(eb_evidence *evidence, int bore)
{
  assert(bore >= 0 && bore < evidence->layout.bore_count);
  evidence->left_out |= (eb_bores)1 << bore;
  notes_forget(evidence);
}

void eb_evidence_still(eb_evidence *evidence)
{
  evidence->still = true;
  notes_forget(evidence);
}

/* Low on a coarse scale the least change that can be seen is larger than the limit; it proves no drift. */
static double one_graduation(const event *first, const event *last)
{
  double share = sqrt(12 * fmax(first->step_variance, last->step_variance));
  return log1p(share * (1 + 1e-9));
}

static void reject(eb_evidence *evidence, size_t from)
{
  for (size_t e = from; e < evidence->events; e++)
    evidence->event[e].rejected = true;
  notes_forget(evidence);
}

void eb_evidence_close(eb_evidence *evidence, eb_closure *closure)
{
  const event *first = NULL, *last = NULL;
  bool one_period = true;
  size_t from = evidence->open_pass;
  *closure = (eb_closure){.accepted = true, .limit = log1p(CLOSURE_LIMIT)};
  evidence->open_pass = 0;
  if (from == 0)
    return;
  for (size_t e = from; e < evidence->events; e++) {
    const event *met = &evidence->event[e];
    one_period = one_period && met->kind != EVENT_PERIOD && met->kind != EVENT_MOVE;
    if (met->kind == EVENT_READING && first == NULL)
      first = met;
    else if (met->kind == EVENT_READING)
      last = met;
  }
  if (last == NULL || last->index != first->index || !one_period)
    return;
  closure->comparable = true;
  closure->change = log(last->value / first->value);
  closure->limit = fmax(closure->limit, one_graduation(first, last));
  closure->accepted = fabs(closure->change) <= closure->limit;
  if (!closure->accepted)
    reject(evidence, from);
}

/* Where the running period began: behind its event. */
static size_t period_start(const eb_evidence *evidence)
{
  size_t e = evidence->events;
  while (e > 0 && evidence->event[e - 1].kind != EVENT_PERIOD)
    e--;
  return e;
}

int eb_evidence_count(const eb_evidence *evidence, int bore, double *last)
{
  int count = 0;
  *last = 0;
  for (size_t e = period_start(evidence); e < evidence->events; e++) {
    const event *met = &evidence->event[e];
    if (met->kind != EVENT_READING || met->index != bore || met->rejected)
      continue;
    *last = met->value;
    count++;
  }
  return count;
}

static int row_of(const eb_layout *layout, int bore)
{
  int row = 0;
  while (bore >= layout->row_start[row] + layout->row_size[row])
    row++;
  return row;
}

double eb_evidence_row_median(const eb_evidence *evidence, int bore)
{
  const eb_layout *layout = &evidence->layout;
  int row = row_of(layout, bore), count = 0;
  double sorted[EB_BORES_MAX];
  for (int i = layout->row_start[row]; i < layout->row_start[row] + layout->row_size[row]; i++) {
    double last;
    if (evidence->left_out >> i & 1 || eb_evidence_count(evidence, i, &last) == 0)
      continue;
    int at = count++;
    for (; at > 0 && sorted[at - 1] > last; at--)
      sorted[at] = sorted[at - 1];
    sorted[at] = last;
  }
  if (count == 0)
    return 0;
  return 0.5 * (sorted[(count - 1) / 2] + sorted[count / 2]);
}

/* Readings of this running period since the last move in it. */
static void fill_readings(const eb_evidence *evidence, eb_verdict *verdict)
{
  size_t from = period_start(evidence);
  for (size_t e = from; e < evidence->events; e++)
    if (evidence->event[e].kind == EVENT_MOVE)
      from = e;
  for (size_t e = from; e < evidence->events; e++) {
    const event *met = &evidence->event[e];
    if (met->kind != EVENT_READING || met->rejected)
      continue;
    eb_bore_verdict *bore = &verdict->bore[met->index];
    bore->reading += met->value;
    bore->readings++;
  }
  for (int i = 0; i < evidence->layout.bore_count; i++)
    if (verdict->bore[i].readings > 0)
      verdict->bore[i].reading /= verdict->bore[i].readings;
}

/* The readable step is known for what it is, the repeatability is estimated. */
static double effective_degrees(const eb_evidence *evidence, const noise *found)
{
  double step_variance = 0;
  int count = 0;
  for (size_t e = period_start(evidence); e < evidence->events; e++)
    if (evidence->event[e].kind == EVENT_READING && !evidence->event[e].rejected) {
      step_variance += evidence->event[e].step_variance;
      count++;
    }
  eb_component parts[] = {{1, {found->repeatability, found->degrees_of_freedom}},
                          {1, {sqrt(step_variance / (count > 0 ? count : 1)), INFINITY}}};
  return eb_uncertainty_combine(parts, 2).degrees_of_freedom;
}

static eb_status check_solvable(const eb_evidence *evidence, eb_error *error)
{
  int counting = 0, read = 0;
  for (int i = 0; i < evidence->layout.bore_count; i++) {
    double last;
    if (evidence->left_out >> i & 1)
      continue;
    counting++;
    read += eb_evidence_count(evidence, i, &last);
  }
  if (counting < 2)
    return eb_fail(error, EB_UNSOLVABLE, "", "%d bores count; evenness is about two or more", counting);
  if (read == 0)
    return eb_fail(error, EB_UNSOLVABLE, "", "no bore was read in this running period; a pass must come first");
  return EB_OK;
}

/* A claim is about the engine as it is used: each time the throttle falls shut its plates come to rest a hair
 * elsewhere, each by itself.  Standard deviation, ln; this project's own. */
static void add_next_closing(const eb_evidence *evidence, eb_bores counted, double *covariance)
{
  static const double CLOSING = 0.005;
  int bores = evidence->layout.bore_count, count = 0;
  for (int i = 0; i < bores; i++)
    count += (int)(counted >> i & 1);
  for (int i = 0; !evidence->still && i < bores; i++)
    for (int j = 0; j < bores; j++)
      if ((counted >> i & 1) != 0 && (counted >> j & 1) != 0)
        covariance[i * bores + j] += CLOSING * CLOSING * ((i == j) - 1.0 / count);
}

static eb_status judge(const eb_evidence *evidence, double tolerance, double risk, eb_verdict *verdict, eb_error *error)
{
  double deviation[EB_BORES_MAX], covariance[EB_BORES_MAX * EB_BORES_MAX];
  const eb_belief *belief = NULL;
  noise found = evidence_noise(evidence);
  eb_status status = evidence_belief(evidence, &found, evidence->events, &belief, error);
  if (status != EB_OK)
    return status;
  eb_belief_deviations(belief, deviation, covariance);
  add_next_closing(evidence, eb_belief_counted(belief), covariance);
  eb_verdict_make(&evidence->layout, eb_belief_counted(belief), deviation, covariance,
                  effective_degrees(evidence, &found), tolerance, risk, verdict);
  verdict->repeatability = found.repeatability;
  fill_readings(evidence, verdict);
  return EB_OK;
}

eb_status eb_evidence_verdict(const eb_evidence *evidence, double tolerance, double risk, eb_verdict *verdict,
                              eb_error *error)
{
  eb_verdict made;
  const eb_verdict *known = evidence_verdict_known(evidence, tolerance, risk);
  eb_status status = check_solvable(evidence, error);
  if (status == EB_OK && known == NULL) {
    status = judge(evidence, tolerance, risk, &made, error);
    if (status == EB_OK)
      evidence_verdict_keep(evidence, &made);
    known = &made;
  }
  if (status == EB_OK)
    *verdict = *known;
  return status;
}

/* Those that no reading follows say nothing yet. */
static int count_moves(const eb_evidence *evidence, int adjuster)
{
  int moves = 0, waiting = 0;
  for (size_t e = 0; e < evidence->events; e++) {
    const event *met = &evidence->event[e];
    waiting += met->kind == EVENT_MOVE && met->index == adjuster;
    if (!evidence_counts(evidence, met))
      continue;
    moves += waiting;
    waiting = 0;
  }
  return moves;
}

eb_status eb_evidence_gains(const eb_evidence *evidence, eb_gain *gains, eb_error *error)
{
  const eb_belief *belief = NULL;
  noise found = evidence_noise(evidence);
  eb_status status = evidence_belief(evidence, &found, evidence->events, &belief, error);
  if (status != EB_OK)
    return status;
  for (int k = 0; k < evidence->layout.adjuster_count; k++) {
    eb_belief_gain(belief, k, &gains[k].mean, &gains[k].spread);
    gains[k].moves = count_moves(evidence, k);
  }
  return EB_OK;
}

eb_gain eb_gain_later(eb_gain gain)
{
  static const double CHANGE_SHARE = 0.2;
  gain.spread = hypot(gain.spread, CHANGE_SHARE * gain.mean);
  return gain;
}

/* Moves between two readings were made in one stop. */
static int count_attempts(const eb_evidence *evidence)
{
  int attempts = 0;
  bool moving = false;
  for (size_t e = 0; e < evidence->events; e++) {
    event_kind kind = evidence->event[e].kind;
    attempts += kind == EVENT_MOVE && !moving;
    moving = kind == EVENT_MOVE || (moving && kind != EVENT_READING);
  }
  return attempts;
}

eb_status eb_evidence_plan(const eb_evidence *evidence, double tolerance, double risk, const eb_plan_options *options,
                           eb_plan *plan, eb_error *error)
{
  const eb_belief *belief = NULL;
  eb_verdict verdict;
  noise found = evidence_noise(evidence);
  eb_status status = eb_evidence_verdict(evidence, tolerance, risk, &verdict, error);
  if (status == EB_OK)
    status = evidence_belief(evidence, &found, evidence->events, &belief, error);
  if (status != EB_OK)
    return status;
  plan_case given = {.host = evidence->host,
                     .layout = &evidence->layout,
                     .belief = belief,
                     .verdict = &verdict,
                     .options = options,
                     .repeat_variance = found.repeatability * found.repeatability,
                     .step_variance = found.step_variance,
                     .attempts = count_attempts(evidence)};
  return plan_make(&given, plan, error);
}
