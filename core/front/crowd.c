/* Many rehearsals at once, and how far they are. */
#include "rehearsal.h"

#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { JOBS_MAX = 64, BAR = 30 };

typedef struct crowd {
  const eb_rehearsal *rehearsal;
  uint64_t seed;
  int count;
  eb_rehearsed *results;
  bool quiet, terminal;
  atomic_int next;
  pthread_mutex_t lock; /* of what follows */
  int done;
  int failed; /* the first engine that could not be played at all; `count`: none */
  eb_error error;
} crowd;

static void tell_bar(const crowd *c)
{
  char bar[BAR + 1];
  int full = (int)((long)BAR * c->done / c->count);
  memset(bar, '.', BAR);
  memset(bar, '#', (size_t)full);
  bar[BAR] = '\0';
  fprintf(stderr, "\r[%s] %d of %d engines%s", bar, c->done, c->count, c->done == c->count ? "\n" : "");
}

/* Elsewhere than on a terminal a line for each tenth. */
static void tell(const crowd *c)
{
  if (c->quiet || c->count < 2)
    return;
  if (c->terminal)
    tell_bar(c);
  else if ((long)c->done * 10 / c->count != (long)(c->done - 1) * 10 / c->count)
    fprintf(stderr, "%d of %d engines\n", c->done, c->count);
}

static void note_done(crowd *c, int index, eb_status status, const eb_error *error)
{
  pthread_mutex_lock(&c->lock);
  c->done++;
  if (status != EB_OK && index < c->failed) {
    c->failed = index;
    c->error = *error;
  }
  tell(c);
  pthread_mutex_unlock(&c->lock);
}

static void *work(void *argument)
{
  crowd *c = argument;
  for (int i = atomic_fetch_add(&c->next, 1); i < c->count; i = atomic_fetch_add(&c->next, 1)) {
    eb_error error = {.status = EB_OK};
    eb_status status = eb_rehearsal_play(c->rehearsal, c->seed + (uint64_t)i, &c->results[i], &error);
    note_done(c, i, status, &error);
  }
  return NULL;
}

eb_status eb_rehearsal_crowd(const eb_rehearsal *rehearsal, uint64_t seed, int count, int jobs, bool quiet,
                             eb_rehearsed *results, eb_error *error)
{
  crowd c = {.rehearsal = rehearsal,
             .seed = seed,
             .count = count,
             .results = results,
             .quiet = quiet,
             .terminal = isatty(STDERR_FILENO) == 1,
             .failed = count};
  pthread_t thread[JOBS_MAX];
  int started = 0;
  atomic_init(&c.next, 0);
  if (pthread_mutex_init(&c.lock, NULL) != 0)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  while (started < jobs - 1 && started < JOBS_MAX && pthread_create(&thread[started], NULL, work, &c) == 0)
    started++;
  work(&c);
  for (int j = 0; j < started; j++)
    pthread_join(thread[j], NULL);
  pthread_mutex_destroy(&c.lock);
  if (c.failed == count)
    return EB_OK;
  unsigned long long at = seed + (uint64_t)c.failed;
  return eb_fail(error, c.error.status, c.error.place, "engine of seed %llu: %s", at, c.error.message);
}
