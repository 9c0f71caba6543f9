/* What one reading costs the belief, against the arithmetic that any such filter needs at least: the symmetric
 * update of rank one of a dense matrix as large as the state, in plain C, in the same run.
 *
 * The state is as full as it gets: every adjuster was moved, and a second running period is being read, round by round
 * with a drift.  whole verdict: what a person waits for after a reading, all events worked in again and judged. */
#include "evenbore/belief.h"
#include "evenbore/evidence.h"
#include "study/layouts.h"
#include "turns.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { LAYOUTS = 3, READINGS = 10000, STATES_MAX = EB_BELIEF_STATES_MAX + 2 };
static const char *const layouts[LAYOUTS] = {"v8-coupled", "v12-coupled", "w16"};
static const double VARIANCE = 0.0005; /* of one reading, ln: about 2.2 % */

static void die(const char *what, const eb_error *error)
{
  fprintf(stderr, "bench_belief: %s: %s\n", what, error->message);
  exit(1);
}

/* That looks at what was computed, so that none of it can be left out. */
static void must_be_finite(const char *what, double value)
{
  if (isfinite(value))
    return;
  fprintf(stderr, "bench_belief: %s is not finite after %d updates\n", what, READINGS);
  exit(1);
}

/* What a made-up engine shows, ln: bores a few per cent apart, on a level of its own. */
static double shown(int reading)
{
  return 2 + 0.04 * sin(1.7 * reading);
}

static void read_rounds(eb_belief *belief, int bores, int readings)
{
  for (int i = 0; i < readings; i++)
    eb_belief_reading(belief, i % bores, (double)i / bores, shown(i), VARIANCE);
}

static eb_belief *fill_belief(const eb_layout *layout)
{
  eb_belief *belief = NULL;
  eb_error error;
  if (eb_belief_create(eb_host_system(), layout, NULL, &belief, &error) != EB_OK)
    die("belief", &error);
  read_rounds(belief, layout->bore_count, 2 * layout->bore_count);
  for (int k = 0; k < layout->adjuster_count; k++)
    eb_belief_move(belief, k, 0.03);
  eb_belief_period(belief);
  read_rounds(belief, layout->bore_count, layout->bore_count);
  return belief;
}

static double reading_s(const eb_layout *layout)
{
  eb_belief *belief = fill_belief(layout);
  double mean[EB_BORES_MAX];
  double begun = work_seconds_now();
  read_rounds(belief, layout->bore_count, READINGS);
  double taken = (work_seconds_now() - begun) / READINGS;
  eb_belief_deviations(belief, mean, NULL);
  eb_belief_destroy(belief);
  must_be_finite("the belief", mean[0]);
  return taken;
}

static void update(double *restrict matrix, const double *restrict along, int states)
{
  for (int i = 0; i < states; i++)
    for (int j = 0; j < states; j++)
      matrix[i * states + j] -= along[i] * along[j];
}

static double bare_update_s(int states)
{
  double matrix[STATES_MAX * STATES_MAX] = {0}, along[STATES_MAX];
  for (int i = 0; i < states * states; i++)
    matrix[i] = shown(i);
  double begun = work_seconds_now();
  for (int r = 0; r < READINGS; r++) {
    for (int i = 0; i < states; i++)
      along[i] = 0.001 * matrix[i * states + r % states];
    update(matrix, along, states);
  }
  double taken = (work_seconds_now() - begun) / READINGS;
  must_be_finite("the bare matrix", matrix[states]);
  return taken;
}

/* The same engine as evidence; the time of its verdict. */
static double verdict_s(const eb_layout *layout, int rounds)
{
  enum { TIMES = 20 };
  eb_gauge gauge = eb_gauge_usual();
  eb_evidence *evidence = NULL;
  eb_verdict verdict;
  eb_error error;
  eb_status status = eb_evidence_create(eb_host_system(), layout, &gauge, &evidence, &error);
  if (status == EB_OK)
    status = eb_evidence_period(evidence, &error);
  for (int i = 0; status == EB_OK && i < rounds * layout->bore_count; i++)
    status = eb_evidence_reading(evidence, i % layout->bore_count, exp(shown(i)), &error);
  double begun = work_seconds_now();
  for (int i = 0; status == EB_OK && i < TIMES; i++) {
    eb_evidence_set_gauge(evidence, &gauge); /* so that nothing is known from the time before */
    status = eb_evidence_verdict(evidence, 0.05, 0.05, &verdict, &error);
  }
  double taken = (work_seconds_now() - begun) / TIMES;
  eb_evidence_destroy(evidence);
  if (status != EB_OK)
    die("verdict", &error);
  return taken;
}

static void measure(const char *name)
{
  eb_layout layout;
  eb_error error;
  pair reading;
  double first[ROUNDS], sixth[ROUNDS];
  if (study_layout_read(name, &layout, &error) != EB_OK)
    die(name, &error);
  int states = 2 + layout.bore_count + layout.adjuster_count;
  for (int i = 0; i < ROUNDS; i++) {
    note(&reading, i, reading_s(&layout), bare_update_s(states));
    first[i] = verdict_s(&layout, 1);
    sixth[i] = verdict_s(&layout, 6);
  }
  printf("%-12s %6d %12.3f us %12.3f us %7.2f %16.0f us %12.0f us\n", name, states, median(reading.ours) * 1e6,
         median(reading.bare) * 1e6, median(reading.ratio), median(first) * 1e6, median(sixth) * 1e6);
}

int main(void)
{
  printf("Median of %d rounds in turns of %d updates.\n\n", ROUNDS, READINGS);
  printf("%-12s %6s %15s %15s %7s %19s %15s\n", "", "states", "one reading", "bare update", "ratio",
         "verdict, 1 reading", "6 readings each");
  for (int l = 0; l < LAYOUTS; l++)
    measure(layouts[l]);
  return 0;
}
