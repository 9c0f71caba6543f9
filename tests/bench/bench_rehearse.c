/* What a rehearsed session costs, and where its time goes.
 *
 * sessions a second and core: of the program, by the processor time of all its processes, against a bare baseline in
 * the same run: the study's routine on the same engines, that is simulation and decisions called straight from C,
 * without session, journal, messages, Lua or process; and against the same rehearsal with the procedure in a process of
 * its own, as another shop's has it. shares: the same in this thread, interrupted by the processor's clock; a moment
 * counts for the innermost room on the stack.  In a thread each engine's run loads the library, which in a cell or a
 * process is there: those moments are left out. growth: of processor time and peak memory with the number of
 * engines; and how much sooner two processes are through. */
#include "evenbore/script.h"
#include "study/tuner.h"
#include "study/layouts.h"
#include "rehearsal.h"
#include "turns.h"

#include <dlfcn.h>
#include <execinfo.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <unistd.h>

enum { ENGINES = 100, SHARED_ENGINES = 300, FRAMES = 64, SAMPLES = 20000 };

static void die(const char *what, const char *why)
{
  fprintf(stderr, "bench_rehearse: %s: %s\n", what, why);
  exit(1);
}

typedef struct spent {
  double processor_s, wall_s;
  long peak_kib;
} spent;

static double seconds_of(struct timeval time)
{
  return (double)time.tv_sec + (double)time.tv_usec * 1e-6;
}

/* The program on so many engines, its children with it. */
static spent run_program(const char *program, int engines, int jobs)
{
  char count[16], processes[16];
  snprintf(count, sizeof count, "%d", engines);
  snprintf(processes, sizeof processes, "%d", jobs);
  double begun = seconds_now();
  pid_t child = fork();
  if (child == 0) {
    int nothing = open("/dev/null", O_WRONLY);
    dup2(nothing, 1);
    execl(program, program, "rehearse", "v8-coupled", "--engines", count, "--jobs", processes, "--quiet", (char *)NULL);
    _exit(127);
  }
  int status = 0;
  struct rusage used;
  if (wait4(child, &status, 0, &used) != child || status != 0)
    die(program, "it did not end well");
  return (spent){seconds_of(used.ru_utime) + seconds_of(used.ru_stime), seconds_now() - begun, used.ru_maxrss};
}

/* The first of several engines' seeds is 1, as the program's. */
static double bare_engines_s(const eb_layout *layout, int engines)
{
  eb_engine_options usual = eb_engine_options_usual();
  task given = {.layout = layout, .engine = &usual, .told = usual.gauge, .tolerance = 0.05, .risk = 0.05};
  double begun = work_seconds_now();
  for (int i = 0; i < engines; i++) {
    given.seed = (uint64_t)i + 1;
    outcome met = study_planned(&given);
    if (met.failed)
      die("study", "an engine could not be read");
  }
  return work_seconds_now() - begun;
}

/* Where the processor was found. */
static struct {
  void *frame[SAMPLES][FRAMES];
  int frames[SAMPLES];
  volatile sig_atomic_t count;
} samples;

static void take_sample(int signal)
{
  (void)signal;
  int at = samples.count;
  if (at == SAMPLES)
    return;
  samples.frames[at] = backtrace(samples.frame[at], FRAMES);
  samples.count = at + 1;
}

/* A room by what is known of its doors: the beginnings of names, and its library. */
typedef struct room {
  const char *name, *library;
  const char *begins[10];
} room;

static const room rooms[] = {
    {"JSON: trees and texts of messages, records, replies", "libcjson", {"eb_json_"}},
    {"Lua: procedure and library, loaded and run", "liblua", {"eb_script_"}},
    {"digests", "libsodium", {"eb_digest"}},
    {"belief, verdict, plan, findings",
     NULL,
     {"eb_evidence_", "eb_verdict_", "eb_plan_", "eb_belief_", "eb_finding", "eb_claim", "eb_conformity", "eb_t_",
      "eb_student_", "plan_"}},
    {"simulation: engine, gauge, tuner", NULL, {"eb_bay_", "eb_engine_", "breath_", "engine_"}},
    {"journal", NULL, {"eb_journal_", "eb_line_", "eb_scratch_"}},
    {"session", NULL, {"eb_session_", "session_", "job_", "request_", "ask_", "answer_"}},
    {"rehearsal itself", NULL, {"eb_rehearsal_"}},
};
enum { ROOMS = sizeof rooms / sizeof rooms[0] };

static bool is_of(const room *r, const Dl_info *where)
{
  if (r->library != NULL && strstr(where->dli_fname, r->library) != NULL)
    return true;
  for (size_t i = 0; where->dli_sname != NULL && i < 10 && r->begins[i] != NULL; i++)
    if (strncmp(where->dli_sname, r->begins[i], strlen(r->begins[i])) == 0)
      return true;
  return false;
}

static bool loads_library(int sample)
{
  for (int f = 0; f < samples.frames[sample]; f++) {
    Dl_info where;
    if (dladdr(samples.frame[sample][f], &where) != 0 && where.dli_sname != NULL &&
        strcmp(where.dli_sname, "source_push_library") == 0)
      return true;
  }
  return false;
}

/* ROOMS: it was in none. */
static int room_of(int sample)
{
  for (int f = 0; f < samples.frames[sample]; f++) {
    Dl_info where;
    if (dladdr(samples.frame[sample][f], &where) == 0)
      continue;
    for (int r = 0; r < ROOMS; r++)
      if (is_of(&rooms[r], &where))
        return r;
  }
  return ROOMS;
}

/* This process's, with that of its children that have ended. */
static double processor_s_now(void)
{
  struct rusage own, children;
  getrusage(RUSAGE_SELF, &own);
  getrusage(RUSAGE_CHILDREN, &children);
  return seconds_of(own.ru_utime) + seconds_of(own.ru_stime) + seconds_of(children.ru_utime) +
         seconds_of(children.ru_stime);
}

/* With the procedure in this thread, or in a process of its own. */
static double play_here_s(int engines, const eb_runner *runner)
{
  enum { LINES = 1000 };
  static atomic_uchar asked[LINES];
  eb_loaded loaded;
  eb_error error = {.message = ""};
  eb_rehearsed result;
  if (eb_load(eb_host_system(), "/nowhere", "v8-coupled", &loaded, &error) != EB_OK)
    die("v8-coupled", error.message);
  eb_rehearsal r = {.host = eb_host_system(), .runner = runner, .loaded = &loaded, .asked = asked, .lines = LINES};
  double begun = processor_s_now();
  for (int i = 0; i < engines; i++)
    if (eb_rehearsal_play(&r, (uint64_t)i + 1, &result, &error) != EB_OK)
      die("rehearsal", error.message);
  double taken = processor_s_now() - begun;
  eb_load_clear(&loaded);
  return taken;
}

static void tell_shares(void)
{
  struct sigaction action = {.sa_handler = take_sample, .sa_flags = SA_RESTART};
  struct itimerval often = {{0, 1000}, {0, 1000}}, never = {{0, 0}, {0, 0}};
  void *first[FRAMES];
  backtrace(first, FRAMES); /* loads what it needs before it is called by a signal */
  sigaction(SIGPROF, &action, NULL);
  setitimer(ITIMER_PROF, &often, NULL);
  eb_runner here = eb_script_runner(NULL);
  play_here_s(SHARED_ENGINES, &here);
  setitimer(ITIMER_PROF, &never, NULL);
  int found[ROOMS + 1] = {0}, counted = 0;
  for (int i = 0; i < samples.count; i++)
    if (!loads_library(i)) {
      found[room_of(i)]++;
      counted++;
    }
  printf("shares, the procedure in this thread, %d moments\n", counted);
  for (int r = 0; r <= ROOMS; r++)
    printf("  %-52s %5.1f %%\n", r < ROOMS ? rooms[r].name : "elsewhere", 100.0 * found[r] / counted);
}

static void tell_growth(const char *program)
{
  double first = 0;
  for (int times = 1; times <= 4; times *= 2) {
    spent met = run_program(program, ENGINES * times, 1);
    double each = met.processor_s / (ENGINES * times);
    first = times == 1 ? each : first;
    printf("growth              %4d engines %7.2f ms each, ratio %.2f   peak %.1f MiB\n", ENGINES * times, each * 1e3,
           each / first, (double)met.peak_kib / 1024);
  }
}

static void tell_jobs(const char *program)
{
  pair turns;
  for (int i = 0; i < ROUNDS; i++)
    note(&turns, i, run_program(program, ENGINES, 1).wall_s, run_program(program, ENGINES, 2).wall_s);
  printf("--jobs 2            %8.2f s    --jobs 1 %8.2f s   speed-up %.2f\n", median(turns.bare), median(turns.ours),
         median(turns.ratio));
}

int main(int argc, char **argv)
{
  const char *program = argc > 1 ? argv[1] : EB_PROGRAM;
  eb_layout layout;
  eb_error error;
  pair session, process;
  eb_script_child *child = NULL;
  if (eb_script_child_create(eb_host_system(), &(eb_script_child_options){0}, &child, &error) != EB_OK)
    die("process", error.message);
  eb_runner apart = eb_script_child_runner(child);
  if (study_layout_read("v8-coupled", &layout, &error) != EB_OK)
    die("layout", error.message);
  for (int i = 0; i < ROUNDS; i++) {
    double whole = run_program(program, ENGINES, 1).processor_s;
    note(&session, i, whole / ENGINES, bare_engines_s(&layout, ENGINES) / ENGINES);
    note(&process, i, play_here_s(ENGINES, &apart) / ENGINES, whole / ENGINES);
  }
  printf("a session of a V8   %8.2f ms   bare decisions %6.2f ms   ratio %5.1f   %.0f a second and core\n",
         median(session.ours) * 1e3, median(session.bare) * 1e3, median(session.ratio), 1 / median(session.ours));
  printf("  in two processes  %8.2f ms   in one         %6.2f ms   ratio %5.2f\n", median(process.ours) * 1e3,
         median(process.bare) * 1e3, median(process.ratio));
  tell_shares();
  tell_growth(program);
  tell_jobs(program);
  eb_script_child_destroy(child);
  return 0;
}
