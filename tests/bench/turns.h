/* Two things timed in turns, so that what else the machine does falls on both. */
#ifndef EVENBORE_BENCH_TURNS_H
#define EVENBORE_BENCH_TURNS_H

#include <stdlib.h>
#include <time.h>

static inline double clock_s(clockid_t clock)
{
  struct timespec now;
  clock_gettime(clock, &now);
  return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static inline double seconds_now(void)
{
  return clock_s(CLOCK_MONOTONIC);
}

/* Of this thread alone: for what only computes, so that waiting for a busy machine does not count. */
static inline double work_seconds_now(void)
{
  return clock_s(CLOCK_THREAD_CPUTIME_ID);
}

static inline int compare_numbers(const void *a, const void *b)
{
  double x = *(const double *)a;
  double y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Sorts the values. */
static inline double median_of(double *values, int count)
{
  qsort(values, (size_t)count, sizeof *values, compare_numbers);
  return 0.5 * (values[(count - 1) / 2] + values[count / 2]);
}

enum { ROUNDS = 9 };

static inline double median(double values[ROUNDS])
{
  return median_of(values, ROUNDS);
}

/* The ratio is the median of the rounds' own. */
typedef struct pair {
  double ours[ROUNDS], bare[ROUNDS], ratio[ROUNDS];
} pair;

static inline void note(pair *p, int round, double ours, double bare)
{
  p->ours[round] = ours;
  p->bare[round] = bare;
  p->ratio[round] = ours / bare;
}

#endif
