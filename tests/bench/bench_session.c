/* What a prompt costs, against the bare calls below it in the same run.
 *
 * step, not synced: one ask and its answer through session, journal and the procedure's process, against one bare
 * lua_resume round trip; step, in process: the same with the procedure in this thread.
 * start of a run: a process up to its first request, and its end, against the same in this thread.
 * step, synced: the same with fdatasync, against a bare append of the same bytes and fdatasync.
 * replay: a session of 1 000 and of 10 000 answers taken up again.
 * start to prompt: from the program's start to its first prompt, against lua5.4 -e "".
 * peak memory: of the program at its first prompt, and after that replay. */
#include "evenbore/script.h"
#include "evenbore/session.h"
#include "turns.h"

#include <fcntl.h>
#include <lauxlib.h>
#include <lua.h>
#include <lualib.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static const char procedure_text[] =
    "return procedure { id = 'bench', version = '1', api = 1, title = 'Bench',\n"
    "  layout = { rows = { { 1, 2 } }, adjusters = { screw { 'screw', { 1 }, { 2 } } } },\n"
    "  run = function(job) while true do job:number { key = 'n', title = 'A number', text = 'Any.',\n"
    "    quantity = 'count', unit = '', low = 0, high = 100 } end end }\n";

static void die(const char *what, const eb_error *error)
{
  fprintf(stderr, "bench_session: %s: %s %s\n", what, error == NULL ? "" : error->place,
          error == NULL ? strerror(0) : error->message);
  exit(1);
}

static int sync_nothing(void *context, int file)
{
  (void)context;
  (void)file;
  return 0;
}

static void drain(eb_session *session)
{
  while (eb_session_next(session) != NULL)
    ;
}

static eb_session *start(const eb_host *host, const char *path, const eb_runner *runner)
{
  eb_source main_source = {.name = "bench.lua", .text = procedure_text, .size = sizeof procedure_text - 1};
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_session_options options = {.id = "bench",
                                .path = path,
                                .program = "bench",
                                .runner = runner,
                                .main = &main_source,
                                .library = library,
                                .library_count = count,
                                .prompts_max = 20000};
  eb_session *session = NULL;
  eb_error error;
  unlink(path);
  if (eb_session_start(host, &options, &session, &error) != EB_OK)
    die("start", &error);
  drain(session);
  /* The core's caution before the first ask is no part of what is measured. */
  char code[3];
  snprintf(code, sizeof code, "%s", eb_json_get_string(eb_session_ask(session), "code", ""));
  if (eb_session_type(session, code, 2, &error) != EB_OK)
    die("caution", &error);
  drain(session);
  return session;
}

static void answer(eb_session *session, int count)
{
  eb_error error;
  for (int i = 0; i < count; i++) {
    if (eb_session_type(session, "42", 2, &error) != EB_OK)
      die("answer", &error);
    drain(session);
  }
}

static double step_once_s(const eb_host *host, const char *path, const eb_runner *runner, int count)
{
  eb_session *session = start(host, path, runner);
  answer(session, 10);
  double begun = seconds_now();
  answer(session, count);
  double taken = (seconds_now() - begun) / count;
  eb_session_destroy(session);
  return taken;
}

static double bare_resume_once_s(int count)
{
  lua_State *state = luaL_newstate();
  luaL_openlibs(state);
  lua_State *routine = lua_newthread(state);
  luaL_loadstring(routine, "local yield = coroutine.yield while true do yield(42) end");
  int results = 0;
  lua_resume(routine, NULL, 0, &results);
  double begun = seconds_now();
  for (int j = 0; j < count; j++) {
    lua_pop(routine, results);
    lua_pushinteger(routine, j);
    lua_resume(routine, NULL, 1, &results);
  }
  double taken = (seconds_now() - begun) / count;
  lua_close(state);
  return taken;
}

static double bare_sync_once_s(const char *path, size_t size, int count)
{
  char *bytes = malloc(size);
  memset(bytes, 'x', size);
  unlink(path);
  int file = open(path, O_CREAT | O_WRONLY | O_APPEND, 0600);
  double begun = seconds_now();
  for (int j = 0; j < count; j++)
    if (write(file, bytes, size) != (ssize_t)size || fdatasync(file) != 0)
      die("bare append", NULL);
  double taken = (seconds_now() - begun) / count;
  close(file);
  free(bytes);
  unlink(path);
  return taken;
}

static size_t bytes_per_step(const char *path, const eb_runner *runner)
{
  struct stat before;
  struct stat after;
  eb_session *session = start(eb_host_system(), path, runner);
  answer(session, 10);
  stat(path, &before);
  answer(session, 100);
  stat(path, &after);
  eb_session_destroy(session);
  return (size_t)(after.st_size - before.st_size) / 100;
}

static double replay_s(const char *path, const eb_host *quick, const eb_runner *runner, int count)
{
  eb_session *session = start(quick, path, runner);
  answer(session, count);
  eb_session_destroy(session);
  eb_recovery recovery;
  eb_error error;
  double begun = seconds_now();
  if (eb_session_resume(quick, path, "bench", runner, &session, &recovery, &error) != EB_OK)
    die("resume", &error);
  double taken = seconds_now() - begun;
  eb_session_destroy(session);
  return taken;
}

static double start_once_s(const eb_runner *runner, int count)
{
  size_t library_count = 0;
  const eb_source *library = eb_script_builtin_library(&library_count);
  eb_source main_source = {.name = "bench.lua", .text = procedure_text, .size = sizeof procedure_text - 1};
  eb_error error;
  double begun = seconds_now();
  for (int i = 0; i < count; i++) {
    eb_procedure run;
    eb_json *request = NULL;
    if (runner->start(runner->context, eb_host_system(), &main_source, library, library_count, &run, &error) != EB_OK ||
        run.exchange(run.self, NULL, &request, &error) != EB_OK)
      die("run", &error);
    eb_json_destroy(request);
    run.destroy(run.self);
  }
  return (seconds_now() - begun) / count;
}

/* Runs a program with its input closed and its output thrown away. */
static double run_s(char *const arguments[], long *peak_kib)
{
  double begun = seconds_now();
  pid_t child = fork();
  if (child == 0) {
    int nothing = open("/dev/null", O_RDWR);
    dup2(nothing, 0);
    dup2(nothing, 1);
    dup2(nothing, 2);
    execvp(arguments[0], arguments);
    _exit(127);
  }
  int status = 0;
  struct rusage used;
  if (wait4(child, &status, 0, &used) != child || status != 0)
    die(arguments[0], NULL);
  *peak_kib = used.ru_maxrss;
  return seconds_now() - begun;
}

int main(int argc, char **argv)
{
  const char *folder = getenv("TMPDIR") == NULL ? "/tmp" : getenv("TMPDIR");
  char path[512];
  char data[512];
  snprintf(path, sizeof path, "%s/evenbore-bench-%d.jsonl", folder, (int)getpid());
  snprintf(data, sizeof data, "%s/evenbore-bench-%d", folder, (int)getpid());
  eb_runner here = eb_script_runner(NULL);
  eb_script_child *child = NULL;
  eb_error error;
  if (eb_script_child_create(eb_host_system(), &(eb_script_child_options){0}, &child, &error) != EB_OK)
    die("child", &error);
  eb_runner runner = eb_script_child_runner(child);
  eb_host quick = *eb_host_system();
  quick.files.sync = sync_nothing;

  pair step;
  pair inside;
  pair synced;
  pair run;
  size_t size = bytes_per_step(path, &runner);
  for (int i = 0; i < ROUNDS; i++) {
    note(&step, i, step_once_s(&quick, path, &runner, 1000), bare_resume_once_s(100000));
    note(&inside, i, step_once_s(&quick, path, &here, 1000), bare_resume_once_s(100000));
    note(&run, i, start_once_s(&runner, 50), start_once_s(&here, 50));
    note(&synced, i, step_once_s(eb_host_system(), path, &runner, 200), bare_sync_once_s(path, size, 200));
  }
  printf("step, not synced    %8.2f us   lua_resume %8.3f us   ratio %7.1f\n", median(step.ours) * 1e6,
         median(step.bare) * 1e6, median(step.ratio));
  printf("step, in process    %8.2f us   lua_resume %8.3f us   ratio %7.1f\n", median(inside.ours) * 1e6,
         median(inside.bare) * 1e6, median(inside.ratio));
  printf("start of a run      %8.0f us   in process %8.0f us   ratio %7.2f   filtered: %s\n", median(run.ours) * 1e6,
         median(run.bare) * 1e6, median(run.ratio), eb_script_child_is_filtered(child) ? "yes" : "no");
  printf("step, synced        %8.2f us   append+sync %7.2f us   ratio %7.2f   (%zu bytes)\n", median(synced.ours) * 1e6,
         median(synced.bare) * 1e6, median(synced.ratio), size);

  double thousand = replay_s(path, &quick, &runner, 1000);
  double ten = replay_s(path, &quick, &runner, 10000);
  printf("replay              1 000 answers %7.1f ms   10 000 answers %7.1f ms   ratio %5.1f\n", thousand * 1e3,
         ten * 1e3, ten / thousand);
  double ten_inside = replay_s(path, &quick, &here, 10000);
  printf("  in process                                 10 000 answers %7.1f ms\n", ten_inside * 1e3);
  struct rusage used;
  getrusage(RUSAGE_SELF, &used);
  printf("peak memory         after the replay of 10 000 answers %.1f MiB\n", (double)used.ru_maxrss / 1024);

  const char *program = argc > 1 ? argv[1] : EB_PROGRAM;
  long peak = 0;
  long lua_peak = 0;
  char *lua[] = {"lua5.4", "-e", "", NULL};
  char *tune[] = {(char *)program, "tune", "v8-coupled", "--lines", "--data", data, NULL};
  pair begin;
  for (int i = 0; i < ROUNDS; i++)
    note(&begin, i, run_s(tune, &peak), run_s(lua, &lua_peak));
  printf("start to prompt     %8.2f ms   lua5.4 -e \"\" %6.2f ms   ratio %7.2f   peak %.1f MiB : %.1f MiB\n",
         median(begin.ours) * 1e3, median(begin.bare) * 1e3, median(begin.ratio), (double)peak / 1024,
         (double)lua_peak / 1024);
  eb_script_child_destroy(child);
  unlink(path);
  char lock[600];
  snprintf(lock, sizeof lock, "%s.lock", path);
  unlink(lock);
  char remove[600];
  snprintf(remove, sizeof remove, "rm -rf '%s'", data);
  return system(remove) == 0 ? 0 : 1;
}
