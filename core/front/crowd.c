/* Many rehearsals at once, and how far they are. */
#include "rehearsal.h"

#include <errno.h>
#include <pthread.h>
#include <sched.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { JOBS_MAX = 64, BAR = 30 };

/* In memory that the processes share. */
typedef struct crowd {
  size_t size; /* of all this */
  eb_rehearsal rehearsal;
  uint64_t seed;
  int count;
  bool quiet, terminal;
  bool stays;         /* a process plays an engine on one processor */
  cpu_set_t anywhere; /* the processors that there are for us */
  atomic_int next;
  int stopped;          /* how many were begun before that; `count`: it was not */
  pthread_mutex_t lock; /* of what follows */
  int done;
  int failed; /* the first engine that could not be played at all; `count`: none */
  eb_error error;
  eb_rehearsed result[]; /* `count`; behind them the lines that were asked from */
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
  const char *fault = fault_of(&c->rehearsal);
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
    fprintf(stderr, "%d of %d engines%s%s\n", c->done, c->count, fault_of(&c->rehearsal)[0] == '\0' ? "" : ", ",
            fault_of(&c->rehearsal));
}

/* One that was stopped before its end leaves the cursor in its line. */
static void end_bar(const crowd *c)
{
  if (!c->quiet && c->terminal && c->count > 1 && c->done > 0 && c->done < c->count)
    fputs("\n", stderr);
}

static bool can_go_back(void)
{
  const char *terminal = getenv("TERM");
  return isatty(STDERR_FILENO) == 1 && terminal != NULL && strcmp(terminal, "dumb") != 0;
}

static void note_done(crowd *c, int index, eb_status status, const eb_error *error)
{
  if (pthread_mutex_lock(&c->lock) == EOWNERDEAD) /* what it guards is whole between any two lines of it */
    pthread_mutex_consistent(&c->lock);
  c->done++;
  if (status != EB_OK && index < c->failed) {
    c->failed = index;
    c->error = *error;
  }
  tell(c);
  pthread_mutex_unlock(&c->lock);
}

/* Session and procedure take turns, so that two processors serve them no better than one, and each turn would wake the
 * other one: as much work again as the session itself.  The procedure's process begins where this one is and stays
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

/* With more processes than processors some would wait for one while another is idle. */
static void look_for_room(crowd *c, int jobs)
{
  c->stays = sched_getaffinity(0, sizeof c->anywhere, &c->anywhere) == 0 && jobs > 0 && jobs <= CPU_COUNT(&c->anywhere);
}

/* In a process of its own, where a cell did not play it. */
static eb_status play_apart(crowd *c, int index, eb_error *error)
{
  settle(c);
  eb_status status = eb_rehearsal_play(&c->rehearsal, c->seed + (uint64_t)index, &c->result[index], error);
  if (c->stays)
    sched_setaffinity(0, sizeof c->anywhere, &c->anywhere);
  return status;
}

/* Neither a cell nor a procedure's process gets the memory that the crowd shares: what breaks out there must not reach
 * the others by it. */
static void work(crowd *c)
{
  eb_rehearsal_cell cell = {.rehearsal = c->rehearsal};
  bool hidden = madvise(c, c->size, MADV_DONTFORK) == 0;
  for (int i = atomic_fetch_add(&c->next, 1); i < c->count; i = atomic_fetch_add(&c->next, 1)) {
    eb_error error = {.status = EB_OK};
    eb_status status = EB_OK;
    if (!hidden)
      status = eb_fail(&error, EB_IO, "", "memory cannot be kept from the procedure's process (%s)", strerror(errno));
    else if (!eb_rehearsal_in_cell(&cell, c->seed + (uint64_t)i, &c->result[i]))
      status = play_apart(c, i, &error);
    note_done(c, i, status, &error);
  }
  eb_rehearsal_cell_close(&cell);
}

/* A process of its own, and no thread: each forks cells or procedures' processes, and in memory that is in use on two
 * processors every page written after that would have to be told to the other one. */
static pid_t begin_worker(crowd *c)
{
  pid_t parent = getpid(), worker = fork();
  if (worker != 0)
    return worker;
  if (prctl(PR_SET_PDEATHSIG, SIGKILL) == 0 && getppid() == parent)
    work(c);
  _exit(0);
}

/* How many of them are still at work; one that did not come to its own end is told of the engines that it leaves. */
static int take_leave(crowd *c, pid_t *worker, int count)
{
  int left = 0;
  for (int j = 0; j < count; j++) {
    int status;
    pid_t met = worker[j] == 0 ? 0 : waitpid(worker[j], &status, WNOHANG);
    if (met == 0) {
      left += worker[j] != 0;
      continue;
    }
    worker[j] = 0;
    if ((met < 0 || !WIFEXITED(status)) && c->failed == c->count) {
      c->failed = 0;
      eb_fail(&c->error, EB_IO, "", "a process that played one of the engines from here on was ended from outside");
    }
  }
  return left;
}

/* Ctrl-C: engines that are under way come to their end, no other begins. The second one ends all at once. */
static void stop(crowd *c, bool again, const sigset_t *before)
{
  int next = atomic_exchange(&c->next, c->count);
  if (!again) {
    c->stopped = next < c->count ? next : c->count;
    return;
  }
  sigprocmask(SIG_SETMASK, before, NULL);
  raise(SIGINT); /* the others die with this process */
}

/* SIGINT is blocked here and in all that is forked: it is taken where this process waits. */
static void play_all(crowd *c, int jobs)
{
  pid_t worker[JOBS_MAX];
  sigset_t awaited, before;
  struct sigaction interrupt;
  sigemptyset(&awaited);
  sigaddset(&awaited, SIGCHLD);
  if (sigaction(SIGINT, NULL, &interrupt) == 0 && interrupt.sa_handler != SIG_IGN) /* else as nohup wants it */
    sigaddset(&awaited, SIGINT);
  sigprocmask(SIG_BLOCK, &awaited, &before);
  int started = 0;
  while (started < jobs && started < c->count && started < JOBS_MAX && (worker[started] = begin_worker(c)) > 0)
    started++;
  if (started == 0) {
    c->failed = 0;
    eb_fail(&c->error, EB_IO, "", "no process can be started (%s)", strerror(errno));
  }
  bool interrupted = false;
  while (take_leave(c, worker, started) > 0)
    if (sigwaitinfo(&awaited, NULL) == SIGINT) {
      stop(c, interrupted, &before);
      interrupted = true;
    }
  sigprocmask(SIG_SETMASK, &before, NULL);
}

static crowd *share(const eb_rehearsal *rehearsal, size_t size, int count)
{
  crowd *c = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
  if (c == MAP_FAILED)
    return NULL;
  pthread_mutexattr_t attributes;
  bool made = pthread_mutexattr_init(&attributes) == 0;
  made = made && pthread_mutexattr_setpshared(&attributes, PTHREAD_PROCESS_SHARED) == 0 &&
         pthread_mutexattr_setrobust(&attributes, PTHREAD_MUTEX_ROBUST) == 0 &&
         pthread_mutex_init(&c->lock, &attributes) == 0;
  if (!made) {
    munmap(c, size);
    return NULL;
  }
  pthread_mutexattr_destroy(&attributes);
  c->rehearsal = *rehearsal;
  if (rehearsal->asked != NULL)
    c->rehearsal.asked = (atomic_uchar *)&c->result[count];
  return c;
}

static void hand_over(const crowd *c, const eb_rehearsal *rehearsal, eb_rehearsed *results)
{
  memcpy(results, c->result, (size_t)c->count * sizeof *results);
  for (size_t i = 0; rehearsal->asked != NULL && i < rehearsal->lines; i++)
    if (atomic_load(&c->rehearsal.asked[i]) != 0)
      atomic_store(&rehearsal->asked[i], 1);
}

eb_status eb_rehearsal_crowd(const eb_rehearsal *rehearsal, uint64_t seed, int count, int jobs, bool quiet,
                             eb_rehearsed *results, int *played, eb_error *error)
{
  size_t size = sizeof(crowd) + (size_t)count * sizeof *results + rehearsal->lines;
  crowd *c = share(rehearsal, size, count);
  if (c == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "there is no memory to share for %d engines", count);
  c->size = size;
  c->seed = seed;
  c->count = c->failed = c->stopped = count;
  c->quiet = quiet;
  c->terminal = can_go_back();
  look_for_room(c, jobs);
  atomic_init(&c->next, 0);
  play_all(c, jobs);
  end_bar(c);
  eb_status status = EB_OK;
  unsigned long long at = seed + (uint64_t)c->failed;
  if (c->failed < count)
    status = eb_fail(error, c->error.status, c->error.place, "engine of seed %llu: %s", at, c->error.message);
  else
    hand_over(c, rehearsal, results);
  *played = c->stopped;
  pthread_mutex_destroy(&c->lock);
  munmap(c, size);
  return status;
}
