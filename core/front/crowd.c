/* Many rehearsals at once, and how far they are. */
#include "rehearsal.h"

#include <pthread.h>
#include <sched.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

enum { JOBS_MAX = 64, BAR = 30 };

typedef struct crowd {
  const eb_rehearsal *rehearsal;
  uint64_t seed;
  int count;
  eb_rehearsed *results;
  bool quiet, terminal;
  bool stays;         /* a thread plays an engine on one processor */
  cpu_set_t anywhere; /* the processors that there are for us */
  atomic_int next;
  pthread_mutex_t lock; /* of what follows */
  int done;
  int failed; /* the first engine that could not be played at all; `count`: none */
  eb_error error;
} crowd;

/* What is put in by name, where it is one fault. */
static const char *fault_of(const eb_rehearsal *r)
{
  for (int f = 0; f < EB_FAULTS && !r->one_fault; f++)
    if (r->fault[f] > 0)
      return eb_fault_word((eb_fault)f);
  return "";
}

/* Shorter where the terminal is narrow: a line that it breaks is not written over. */
static void tell_bar(const crowd *c)
{
  char bar[BAR + 1], words[80];
  struct winsize size;
  const char *fault = fault_of(c->rehearsal);
  int digits = snprintf(NULL, 0, "%d", c->count);
  int used = snprintf(words, sizeof words, "%*d of %d engines%s%s", digits, c->done, c->count,
                      fault[0] == '\0' ? "" : ", ", fault);
  int columns = ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0 ? size.ws_col : 80;
  int room = columns - used - 4;
  int width = room < 1 ? 1 : room > BAR ? BAR : room;
  memset(bar, '.', (size_t)width);
  memset(bar, '#', (size_t)((long)width * c->done / c->count));
  bar[width] = '\0';
  fprintf(stderr, "\r[%s] %s%s", bar, words, c->done == c->count ? "\n" : "");
}

/* Elsewhere than on a terminal a line for each tenth. */
static void tell(const crowd *c)
{
  if (c->quiet || c->count < 2)
    return;
  if (c->terminal)
    tell_bar(c);
  else if ((long)c->done * 10 / c->count != (long)(c->done - 1) * 10 / c->count)
    fprintf(stderr, "%d of %d engines%s%s\n", c->done, c->count, fault_of(c->rehearsal)[0] == '\0' ? "" : ", ",
            fault_of(c->rehearsal));
}

static bool can_go_back(void)
{
  const char *terminal = getenv("TERM");
  return isatty(STDERR_FILENO) == 1 && terminal != NULL && strcmp(terminal, "dumb") != 0;
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

/* Session and procedure take turns, so that two processors serve them no better than one, and each turn would wake the
 * other one: as much work again as the session itself.  The procedure's process begins where its thread is and stays
 * there with it.  A moment's sleep before that lets the system choose a processor that is idle.  Where it refuses, they
 * go on as they are. */
static void settle(const crowd *c)
{
  cpu_set_t here;
  if (!c->stays)
    return;
  sched_setaffinity(0, sizeof c->anywhere, &c->anywhere);
  nanosleep(&(struct timespec){.tv_nsec = 1}, NULL);
  int processor = sched_getcpu();
  if (processor < 0)
    return;
  CPU_ZERO(&here);
  CPU_SET((unsigned)processor, &here);
  sched_setaffinity(0, sizeof here, &here);
}

/* With more threads than processors some would wait for one while another is idle. */
static void look_for_room(crowd *c, int jobs)
{
  c->stays = sched_getaffinity(0, sizeof c->anywhere, &c->anywhere) == 0 && jobs > 0 && jobs <= CPU_COUNT(&c->anywhere);
}

static void *work(void *argument)
{
  crowd *c = argument;
  for (int i = atomic_fetch_add(&c->next, 1); i < c->count; i = atomic_fetch_add(&c->next, 1)) {
    eb_error error = {.status = EB_OK};
    settle(c);
    eb_status status = eb_rehearsal_play(c->rehearsal, c->seed + (uint64_t)i, &c->results[i], &error);
    note_done(c, i, status, &error);
  }
  if (c->stays)
    sched_setaffinity(0, sizeof c->anywhere, &c->anywhere);
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
             .terminal = can_go_back(),
             .failed = count};
  pthread_t thread[JOBS_MAX];
  int started = 0;
  look_for_room(&c, jobs);
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
