#include "evenbore/statistics.h"

#include "evidence.h"

#include <math.h>
#include <string.h>

/* As good as none, and small enough to leave the arithmetic its digits. */
static const double NO_DRIFT = 1e-6;

/* A reading counts unless its pass was rejected or its bore is left out; a dead
 * cylinder's readings would drag the bores that share its adjusters with it. */
bool evidence_counts(const eb_evidence *evidence, const event *reading)
{
  return reading->kind == EVENT_READING && !reading->rejected && !(evidence->left_out >> reading->index & 1);
}

bool evidence_was_read(const eb_evidence *evidence, const event *reading)
{
  return reading->kind == EVENT_READING && !reading->struck && !(evidence->left_out >> reading->index & 1);
}

/* Centred sums over the repeats of one running period: each bore's readings
 * between two moves about their own mean, in units of the gauge's repeatability. */
typedef struct repeats {
  double xx, xy, yy; /* x: time in readings, y: ln(reading) / prior */
  int degrees;
} repeats;

/* Readings between two moves. */
typedef struct stretch {
  size_t from, to, all_from;
} stretch;

static bool repeats_count(const eb_evidence *evidence, const stretch *s, size_t e)
{
  const event *met = &evidence->event[e];
  bool counts = e >= s->all_from ? evidence_was_read(evidence, met) : evidence_counts(evidence, met);
  return counts && met->prior > 0;
}

static void add_repeats(const eb_evidence *evidence, const stretch *s, int bore, repeats *sums)
{
  double x_mean = 0, y_mean = 0;
  int count = 0;
  for (int round = 0; round < 2; round++) {
    double x = 0;
    for (size_t e = s->from; e < s->to; e++) {
      const event *met = &evidence->event[e];
      x += met->kind == EVENT_READING;
      if (met->index != bore || !repeats_count(evidence, s, e))
        continue;
      double y = met->log_value / met->prior;
      if (round == 0) {
        count++;
        x_mean += (x - x_mean) / count;
        y_mean += (y - y_mean) / count;
      } else {
        sums->xx += (x - x_mean) * (x - x_mean);
        sums->xy += (x - x_mean) * (y - y_mean);
        sums->yy += (y - y_mean) * (y - y_mean);
      }
    }
  }
  sums->degrees += count - 1;
}

/* What was read once has no repeats. */
static void add_stretch(const eb_evidence *evidence, const stretch *s, repeats *sums)
{
  eb_bores once = 0, again = 0;
  for (size_t e = s->from; e < s->to; e++)
    if (repeats_count(evidence, s, e)) {
      eb_bores bore = (eb_bores)1 << evidence->event[e].index;
      again |= once & bore;
      once |= bore;
    }
  for (int i = 0; again >> i != 0; i++)
    if (again >> i & 1)
      add_repeats(evidence, s, i, sums);
}

/* A common slope is taken out where the repeats can spare a degree of freedom
 * for it; fewer of them keep the drift in, which makes the doubt larger and not smaller. */
static eb_spread close_period(const repeats *sums)
{
  double squares = sums->yy;
  int degrees = sums->degrees;
  if (degrees >= 3 && sums->xx > 0) {
    squares = fmax(squares - sums->xy * sums->xy / sums->xx, 0);
    degrees--;
  }
  if (degrees == 0)
    return (eb_spread){0, 0};
  return (eb_spread){sqrt(squares / degrees), degrees};
}

/* Pools the repeats of all running periods, in units of the gauge's repeatability.  Their scatter holds the readable
 * step's part too, so that the doubt comes out a little large where the step is coarse. */
static eb_spread pool_repeats(const eb_evidence *evidence, bool over_snaps, size_t all_from)
{
  eb_spread pooled = {0, 0};
  repeats sums = {0};
  stretch between = {.all_from = all_from};
  for (size_t e = 0; e <= evidence->events; e++) {
    bool end = e == evidence->events;
    event_kind kind = end ? EVENT_PERIOD : evidence->event[e].kind;
    if (kind != EVENT_PERIOD && kind != EVENT_MOVE && (kind != EVENT_SNAP || over_snaps))
      continue;
    between.to = e;
    add_stretch(evidence, &between, &sums);
    between.from = e + 1;
    if (kind != EVENT_PERIOD)
      continue;
    eb_spread parts[] = {pooled, close_period(&sums)};
    pooled = eb_spread_pool(parts, 2);
    sums = (repeats){0};
  }
  return pooled;
}

static noise noise_of(const eb_evidence *evidence, bool over_snaps, size_t all_from)
{
  eb_spread parts[] = {{1, evidence->gauge.repeatability_weight}, pool_repeats(evidence, over_snaps, all_from)};
  eb_spread pooled = eb_spread_pool(parts, 2);
  double step_variance = 0;
  int readings = 0;
  for (size_t e = 0; e < evidence->events; e++)
    if (evidence->event[e].kind == EVENT_READING) {
      step_variance += evidence->event[e].step_variance;
      readings++;
    }
  return (noise){.factor = pooled.deviation,
                 .repeatability = pooled.deviation * evidence->gauge.repeatability,
                 .degrees_of_freedom = pooled.degrees_of_freedom,
                 .step_variance = readings > 0 ? step_variance / readings : 0};
}

noise evidence_noise_anew(const eb_evidence *evidence)
{
  return noise_of(evidence, true, SIZE_MAX);
}

noise evidence_noise_within_snaps(const eb_evidence *evidence, size_t all_from)
{
  return noise_of(evidence, false, all_from);
}

eb_spread eb_evidence_repeats(const eb_evidence *evidence)
{
  eb_spread pooled = pool_repeats(evidence, true, SIZE_MAX);
  pooled.deviation *= evidence->gauge.repeatability;
  return pooled;
}

/* k repeats have the variance w / k + kept, where `kept` is what does not average away.  The k-th therefore brings the
 * difference of the information k / (w + k kept) and that of k - 1. */
static double reading_variance(double repeat_variance, double step_variance, int before)
{
  double kept = plan_step_kept(repeat_variance, step_variance);
  double w = repeat_variance + step_variance - kept, k = before + 1;
  if (before == 0)
    return w + kept;
  return (w + k * kept) * (w + (k - 1) * kept) / w;
}

static void take_reading(const event *reading, double factor, int bores, walk *walked)
{
  double repeatability = factor * reading->prior, passes = (double)walked->taken / bores;
  int before = walked->before[reading->index]++;
  if (before > 0 && repeatability <= 0)
    return; /* a gauge without scatter tells nothing new */
  eb_belief_reading(walked->belief, reading->index, passes, reading->log_value,
                    reading_variance(repeatability * repeatability, reading->step_variance, before));
}

eb_status walk_begin(const eb_evidence *evidence, const eb_layout *layout, size_t from, walk *made, eb_error *error)
{
  eb_priors priors = eb_priors_usual();
  if (evidence->still)
    priors.drift = NO_DRIFT;
  *made = (walk){.to = from};
  eb_status status = eb_belief_create(evidence->host, layout, &priors, &made->belief, error);
  for (int i = 0; status == EB_OK && i < layout->bore_count; i++)
    if (evidence->left_out >> i & 1)
      eb_belief_leave_out(made->belief, i);
  if (status == EB_OK && evidence->was_taught)
    eb_belief_weigh(made->belief);
  return status;
}

/* Whether a running period begins before anything is read. */
static bool starts_unread(const eb_evidence *evidence, size_t from)
{
  while (from < evidence->events && evidence->event[from].kind != EVENT_PERIOD)
    if (evidence->event[from++].kind == EVENT_READING)
      return false;
  return from < evidence->events;
}

void walk_on(const eb_evidence *evidence, const noise *found, size_t to, walk *walked)
{
  for (; walked->to < to; walked->to++) {
    const event *met = &evidence->event[walked->to];
    if (met->kind == EVENT_PERIOD || met->kind == EVENT_MOVE)
      memset(walked->before, 0, sizeof walked->before);
    if (met->kind == EVENT_PERIOD) {
      eb_belief_period(walked->belief);
      walked->taken = 0;
    } else if (met->kind == EVENT_MOVE) {
      if (starts_unread(evidence, walked->to))
        eb_belief_forget_level(walked->belief);
      eb_belief_move(walked->belief, met->index, met->value);
    } else if (met->kind == EVENT_READING) {
      if (evidence_counts(evidence, met))
        take_reading(met, found->factor, evidence->layout.bore_count, walked);
      walked->taken++;
    }
  }
}

size_t evidence_block(const eb_evidence *evidence, size_t to)
{
  while (to > 0 && evidence->event[to - 1].kind != EVENT_PERIOD && evidence->event[to - 1].kind != EVENT_MOVE)
    to--;
  return to;
}
