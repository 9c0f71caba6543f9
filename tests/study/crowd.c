#include "crowd.h"

#include "evenbore/statistics.h"

#include <assert.h>
#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>

enum { JOBS_MAX = 64 };

typedef struct crowd {
  routine *run;
  const task *given;
  int engines;
  outcome *results;
  atomic_int next;
} crowd;

static void *work(void *argument)
{
  crowd *c = argument;
  for (int i = atomic_fetch_add(&c->next, 1); i < c->engines; i = atomic_fetch_add(&c->next, 1)) {
    task one = *c->given;
    one.seed += (uint64_t)i;
    c->results[i] = c->run(&one);
  }
  return NULL;
}

void crowd_run(routine *run, const task *given, int engines, int jobs, outcome *results)
{
  crowd c = {.run = run, .given = given, .engines = engines, .results = results};
  pthread_t thread[JOBS_MAX];
  int started = 0;
  atomic_init(&c.next, 0);
  while (started < jobs - 1 && started < JOBS_MAX && pthread_create(&thread[started], NULL, work, &c) == 0)
    started++;
  work(&c);
  for (int j = 0; j < started; j++)
    pthread_join(thread[j], NULL);
}

static int ascending(const void *a, const void *b)
{
  double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Least value that at least `part` of all do not exceed. */
static double quantile(double *values, int count, double part)
{
  qsort(values, (size_t)count, sizeof *values, ascending);
  int at = (int)ceil(part * count) - 1;
  return values[at < 0 ? 0 : at];
}

#define MEMBER(name)                                                                                                   \
  static double name##_of(const outcome *o)                                                                            \
  {                                                                                                                    \
    return o->name;                                                                                                    \
  }
MEMBER(stops)
MEMBER(readings)
MEMBER(plates)
MEMBER(moves)
MEMBER(minutes)
MEMBER(claim)
MEMBER(truth)
MEMBER(begin)

typedef double member(const outcome *o);

static double quantile_of(member *of, const outcome *results, int engines, double part)
{
  double *values = malloc((size_t)engines * sizeof *values);
  assert(values != NULL);
  for (int i = 0; i < engines; i++)
    values[i] = of(&results[i]);
  double found = quantile(values, engines, part);
  free(values);
  return found;
}

static double mean_of(member *of, const outcome *results, int engines)
{
  double sum = 0;
  for (int i = 0; i < engines; i++)
    sum += of(&results[i]);
  return sum / engines;
}

static void count(const task *given, const outcome *results, int engines, tally *sums)
{
  double misses = 0;
  for (int i = 0; i < engines; i++) {
    const outcome *o = &results[i];
    bool claims = o->claim > 0;
    sums->failed += o->failed;
    sums->claims += claims;
    sums->claims_true += claims && o->truth <= o->claim;
    sums->even += o->says_even;
    sums->even_true += o->says_even && o->truth <= given->tolerance;
    sums->within += o->truth <= given->tolerance;
    misses += o->misses;
  }
  sums->miss = sqrt(misses / engines / given->layout->bore_count);
}

tally crowd_tally(const task *given, const outcome *results, int engines)
{
  tally sums = {.engines = engines,
                .stops_median = quantile_of(stops_of, results, engines, 0.5),
                .stops_high = quantile_of(stops_of, results, engines, 0.9),
                .readings_median = quantile_of(readings_of, results, engines, 0.5),
                .readings_high = quantile_of(readings_of, results, engines, 0.9),
                .plates_mean = mean_of(plates_of, results, engines),
                .moves_mean = mean_of(moves_of, results, engines),
                .minutes_median = quantile_of(minutes_of, results, engines, 0.5),
                .minutes_mean = mean_of(minutes_of, results, engines),
                .claim_median = quantile_of(claim_of, results, engines, 0.5),
                .truth_median = quantile_of(truth_of, results, engines, 0.5),
                .begin_median = quantile_of(begin_of, results, engines, 0.5)};
  count(given, results, engines, &sums);
  return sums;
}

share share_of(int hits, int trials)
{
  if (trials == 0)
    return (share){0, 0, 1};
  share s = {(double)hits / trials, 0, 1};
  double k = hits, n = trials;
  if (hits > 0) {
    double f = eb_f_quantile(0.975, 2 * (n - k + 1), 2 * k);
    s.low = k / (k + (n - k + 1) * f);
  }
  if (hits < trials) {
    double f = eb_f_quantile(0.975, 2 * (k + 1), 2 * (n - k));
    s.high = (k + 1) * f / (n - k + (k + 1) * f);
  }
  return s;
}

bool too_few(int hits, int trials, double wanted)
{
  double below = 0;
  for (int k = 0; k <= hits; k++)
    below += exp(lgamma(trials + 1.0) - lgamma(k + 1.0) - lgamma(trials - k + 1.0) + k * log(wanted) +
                 (trials - k) * log1p(-wanted));
  return hits < trials && below < 0.01;
}
