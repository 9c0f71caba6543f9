/* The whole job of v8-coupled, led by its real procedure on an engine of a few
 * lines: straight through, with a resume at every prompt, with a take-back at
 * every prompt. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/script.h"
#include "evenbore/session.h"

#include <math.h>
#include <unistd.h>

/* Invented: what each bore reads at level 1, and what a move on an adjuster answers. */
typedef struct engine {
  double flow[9]; /* by cylinder number */
  double level;
  int readings;
} engine;

static engine fresh_engine(void)
{
  return (engine){.flow = {0, 6.31, 5.12, 6.05, 5.27, 5.43, 5.02, 5.71, 5.33}, .level = 1};
}

/* Wanders by up to two per cent in a way that repeats from run to run. */
static double wander(int index)
{
  static const double by[] = {0.012, -0.017, 0.004, -0.008, 0.019, -0.003, 0.009, -0.014, 0.001, 0.015, -0.011};
  return by[index % 11];
}

static void move(engine *e, const eb_json *ask)
{
  const eb_json *share = eb_json_get(ask, "share");
  for (const eb_json *bore = eb_json_first(share); bore != NULL; bore = eb_json_next(bore))
    e->flow[atoi(eb_json_key(bore))] *= 1 + 0.85 * eb_json_as_number(bore, 0);
}

/* The answer that a tuner at this engine would type. */
static void answer_for(engine *e, const eb_json *ask, char *typed, size_t size)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  const char *key = eb_json_get_string(ask, "key", "");
  if (strcmp(kind, "caution") == 0)
    snprintf(typed, size, "%s", eb_json_get_string(ask, "code", ""));
  else if (strcmp(kind, "reading") == 0) {
    double value = e->flow[atoi(eb_json_get_string(ask, "bore", "0"))] * e->level * (1 + wander(e->readings++));
    snprintf(typed, size, "%.2f", round(value * 8) / 8);
  } else if (strcmp(kind, "number") == 0)
    snprintf(typed, size, "%s", strstr(key, "temperature") != NULL ? "88" : "900");
  else if (strcmp(kind, "choose") == 0)
    snprintf(typed, size, "%s", strcmp(key, "cold.baseline") == 0 ? "on-paper" : "1");
  else if (strcmp(kind, "confirm") == 0)
    snprintf(typed, size, "%s", strcmp(key, "gauge.vent.change") == 0 ? "0" : "1");
  else if (strcmp(kind, "text") == 0)
    snprintf(typed, size, "lean by a hair");
  else {
    snprintf(typed, size, "1");
    if (strcmp(kind, "adjust") == 0)
      move(e, ask);
    else if (strcmp(key, "engine.running") == 0)
      e->level *= 1.03;
  }
}

static int sync_nothing(void *context, int file)
{
  (void)context;
  (void)file;
  return 0;
}

typedef struct job {
  eb_host host;
  char path[64];
  eb_runner runner;
  eb_session *session;
  char outcome[16];
  int cautions, starts, stops; /* met on the way */
} job;

static void drain(job *j)
{
  const eb_json *message;
  while ((message = eb_session_next(j->session)) != NULL) {
    const char *type = eb_json_get_string(message, "type", "");
    if (strcmp(type, "refused") == 0)
      fail_msg("refused: %s", eb_json_get_string(message, "why", ""));
    if (strcmp(type, "end") == 0)
      snprintf(j->outcome, sizeof j->outcome, "%s", eb_json_get_string(message, "outcome", ""));
  }
}

static void begin(job *j)
{
  *j = (job){.host = *eb_host_system(), .runner = eb_script_runner(NULL)};
  j->host.files.sync = sync_nothing;
  snprintf(j->path, sizeof j->path, "/tmp/eb-job-%d.jsonl", (int)getpid());
  unlink(j->path);
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_session_options options = {.id = "job",
                                .path = j->path,
                                .program = "test",
                                .runner = &j->runner,
                                .main = eb_script_builtin_procedure("v8-coupled"),
                                .library = library,
                                .library_count = count};
  eb_error error;
  if (eb_session_start(&j->host, &options, &j->session, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  drain(j);
}

static void resume(job *j)
{
  eb_session_destroy(j->session);
  eb_recovery recovery;
  eb_error error;
  if (eb_session_resume(&j->host, j->path, "test", &j->runner, &j->session, &recovery, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  drain(j);
}

static void answer(job *j, const char *typed)
{
  eb_error error;
  if (eb_session_type(j->session, typed, strlen(typed), &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  drain(j);
}

/* What the core asks by itself: its cautions, and how things stand when somebody comes back. */
static bool is_own(const eb_json *ask)
{
  const char *key = eb_json_get_string(ask, "key", "");
  return strncmp(key, "resume.", 7) == 0 || strncmp(key, "safety.", 7) == 0;
}

static void answer_own_asks(job *j, engine *e)
{
  while (eb_session_where(j->session) == EB_SESSION_ASKS && is_own(eb_session_ask(j->session))) {
    char typed[64];
    const eb_json *ask = eb_session_ask(j->session);
    j->cautions += strcmp(eb_json_get_string(ask, "kind", ""), "caution") == 0;
    answer_for(e, ask, typed, sizeof typed);
    answer(j, typed);
  }
}

/* Every answer that holds, without times, numbers and what the core asked by itself: "key=typed" lines. */
static char *effective(const job *j)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  assert_int_equal(eb_journal_read(&j->host, j->path, &journal, &recovery, NULL), EB_OK);
  static char lines[2][1 << 16];
  static int turn;
  char *text = lines[turn++ % 2];
  size_t ends[4096];
  int count = 0;
  int numbers[4096];
  size_t used = 0;
  text[0] = '\0';
  for (size_t i = 0; i < eb_journal_count(journal); i++) {
    const eb_json *record = eb_journal_record(journal, i);
    const char *kind = eb_json_get_string(record, "kind", "");
    if (strcmp(kind, "withdraw") == 0) {
      while (count > 0 && numbers[count - 1] >= (int)eb_json_get_number(record, "to", 0))
        count--;
      used = count == 0 ? 0 : ends[count - 1];
      text[used] = '\0';
    }
    if (strcmp(kind, "answer") != 0)
      continue;
    if (!is_own(eb_json_get(record, "ask")))
      used += (size_t)snprintf(text + used, sizeof lines[0] - used, "%s=%s\n",
                               eb_json_get_string(eb_json_get(record, "ask"), "key", ""),
                               eb_json_get_string(record, "typed", ""));
    numbers[count] = (int)eb_json_get_number(record, "n", 0);
    ends[count++] = used;
  }
  eb_journal_close(journal);
  return text;
}

static void finish(job *j)
{
  eb_session_destroy(j->session);
  unlink(j->path);
  char lock[80];
  snprintf(lock, sizeof lock, "%s.lock", j->path);
  unlink(lock);
}

/* Each of these replays the whole job so far; the sanitizers' build looks at every fourth prompt. */
#ifdef __SANITIZE_ADDRESS__
enum { STRIDE = 4 };
#else
enum { STRIDE = 1 };
#endif

static int run(job *j, bool resumes, bool takes_back)
{
  engine e = fresh_engine();
  begin(j);
  int prompts = 0;
  while (eb_session_where(j->session) == EB_SESSION_ASKS) {
    if (resumes && prompts % STRIDE == 0)
      resume(j);
    answer_own_asks(j, &e);
    const eb_json *ask = eb_session_ask(j->session);
    j->starts += strcmp(eb_json_get_string(ask, "state", ""), "running") == 0;
    j->stops += strcmp(eb_json_get_string(ask, "state", ""), "stopped") == 0;
    char typed[64];
    answer_for(&e, ask, typed, sizeof typed);
    answer(j, typed);
    if (takes_back && prompts % STRIDE == 0 && eb_session_where(j->session) == EB_SESSION_ASKS) {
      eb_error error;
      assert_int_equal(eb_session_back(j->session, &error), EB_OK);
      drain(j);
      answer_own_asks(j, &e);
      answer(j, typed);
    }
    assert_true(++prompts < 500);
  }
  assert_int_equal(eb_session_where(j->session), EB_SESSION_ENDED);
  return prompts;
}

static void the_job_comes_to_its_end(void **state)
{
  (void)state;
  job j;
  int prompts = run(&j, false, false);
  print_message("%d prompts, %d cautions at %d starts and %d stops, %s\n", prompts + j.cautions, j.cautions, j.starts,
                j.stops, j.outcome);
  assert_true(prompts > 40);
  /* The place, the running engine, each start, and hands in each stop but the last; no more, no less. */
  assert_int_equal(j.cautions, 2 + j.starts + j.stops - 1);
  assert_true(strcmp(j.outcome, "even") == 0 || strcmp(j.outcome, "claimed") == 0);
  finish(&j);
}

/* The same answers hold in the end, however often the job was left or an answer taken back. */
static void changes_nothing(bool resumes, bool takes_back)
{
  job straight;
  run(&straight, false, false);
  char *wanted = effective(&straight);
  finish(&straight);
  job j;
  run(&j, resumes, takes_back);
  assert_string_equal(effective(&j), wanted);
  assert_string_equal(j.outcome, straight.outcome);
  finish(&j);
}

static void a_resume_at_every_prompt_changes_nothing(void **state)
{
  (void)state;
  changes_nothing(true, false);
}

static void a_take_back_at_every_prompt_changes_nothing(void **state)
{
  (void)state;
  changes_nothing(false, true);
}

static void both_at_every_prompt_change_nothing(void **state)
{
  (void)state;
  changes_nothing(true, true);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_job_comes_to_its_end),
      cmocka_unit_test(a_resume_at_every_prompt_changes_nothing),
      cmocka_unit_test(a_take_back_at_every_prompt_changes_nothing),
      cmocka_unit_test(both_at_every_prompt_change_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
