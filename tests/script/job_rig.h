/* Rig: a whole job, led by a built-in procedure on an engine of a few lines, with its journal on a disk that does not
 * wait. */
#ifndef EB_TESTS_SCRIPT_JOB_RIG_H
#define EB_TESTS_SCRIPT_JOB_RIG_H

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

enum { ENGINE_BORES = 24 };

/* Invented: what each bore reads at level 1, and how its tuner meets the prompts. */
typedef struct engine {
  double flow[ENGINE_BORES + 1]; /* by cylinder number */
  double level;
  int readings;
  const char *baseline; /* how the plates are known, NULL: on paper */
  int dead;             /* a cylinder that draws nearly nothing; 0: none */
  bool seized;          /* the first part that is to be moved cannot be */
  bool slips;           /* every seventh reading is typed without its decimal point */
  bool coarse;          /* the gauge's vent stands wrong at first */
  const char *options;  /* "cylinders=6 numbering=odd-left": answers to options; NULL: none are asked */
} engine;

/* Wanders by up to two per cent in a way that repeats from run to run. */
static inline double engine_wander(int index)
{
  static const double by[] = {0.012, -0.017, 0.004, -0.008, 0.019, -0.003, 0.009, -0.014, 0.001, 0.015, -0.011};
  return by[index % 11];
}

static inline void engine_move(engine *e, const eb_json *ask)
{
  const eb_json *share = eb_json_get(ask, "share");
  for (const eb_json *bore = eb_json_first(share); bore != NULL; bore = eb_json_next(bore))
    e->flow[atoi(eb_json_key(bore))] *= 1 + 0.85 * eb_json_as_number(bore, 0);
}

static inline void type_reading(engine *e, const eb_json *ask, char *typed, size_t size)
{
  if (strcmp(eb_json_get_string(ask, "quantity", ""), "length") == 0) {
    snprintf(typed, size, "0.1"); /* cold, all plates stand alike */
    return;
  }
  int bore = atoi(eb_json_get_string(ask, "bore", "0"));
  if (strncmp(eb_json_get_string(ask, "key", ""), "cold.plate.", 11) == 0) {
    snprintf(typed, size, "0.1");
    return;
  }
  int index = e->readings++;
  double value = round(e->flow[bore] * e->level * (1 + engine_wander(index)) * 8) / 8;
  if (e->slips && index % 7 == 3 && eb_json_get(ask, "again") == NULL)
    snprintf(typed, size, "%.0f", value * 100);
  else
    snprintf(typed, size, "%.3f", bore == e->dead ? 0.25 : value);
}

static inline void type_option(const engine *e, const char *id, char *typed, size_t size)
{
  char word[40];
  snprintf(word, sizeof word, "%s=", id);
  const char *found = e->options == NULL ? NULL : strstr(e->options, word);
  if (found == NULL)
    fail_msg("the engine does not say \"%s\"", id);
  else
    snprintf(typed, size, "%.*s", (int)strcspn(found + strlen(word), " \n"), found + strlen(word));
}

static inline void type_number(const char *key, char *typed, size_t size)
{
  static const char *const numbers[][2] = {
      {"warm.", "88"}, {"idle.", "900"}, {"plate.bore", "45"}, {"plate.closed", "6"}};
  if (strncmp(key, "resume.", 7) == 0)
    key += 7;
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
    if (strncmp(key, numbers[i][0], strlen(numbers[i][0])) == 0) {
      snprintf(typed, size, "%s", numbers[i][1]);
      return;
    }
  fail_msg("a number is asked for that this test does not know: %s", key);
}

static inline const char *choice(const engine *e, const eb_json *ask)
{
  const char *key = eb_json_get_string(ask, "key", "");
  bool on_paper = eb_json_count(eb_json_get(ask, "options")) == 3;
  if (strcmp(key, "cold.baseline") == 0)
    return e->baseline != NULL ? e->baseline : on_paper ? "on-paper" : "feeler-gap";
  return strncmp(key, "fault.", 6) == 0 ? "leave-out" : "1";
}

static inline const char *yes_or_no(engine *e, const char *key)
{
  if (strcmp(key, "gauge.vent.change") != 0)
    return "1";
  bool wrong = e->coarse;
  e->level = wrong ? e->level / 2 : e->level;
  e->coarse = false;
  return wrong ? "1" : "0";
}

/* The answer that a tuner at this engine would type. */
static inline void engine_answer(engine *e, const eb_json *ask, char *typed, size_t size)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  const char *key = eb_json_get_string(ask, "key", "");
  if (strncmp(key, "option.", 7) == 0) {
    type_option(e, key + 7, typed, size);
  } else if (strcmp(kind, "caution") == 0) {
    snprintf(typed, size, "%s", eb_json_get_string(ask, "code", ""));
  } else if (strcmp(kind, "reading") == 0) {
    type_reading(e, ask, typed, size);
  } else if (strcmp(kind, "number") == 0) {
    type_number(key, typed, size);
  } else if (strcmp(kind, "choose") == 0) {
    snprintf(typed, size, "%s", choice(e, ask));
  } else if (strcmp(kind, "confirm") == 0) {
    snprintf(typed, size, "%s", yes_or_no(e, key));
  } else if (strcmp(kind, "text") == 0) {
    snprintf(typed, size, "lean by a hair");
  } else if (strcmp(kind, "adjust") == 0 && e->seized) {
    e->seized = false;
    snprintf(typed, size, "0 seized");
  } else {
    snprintf(typed, size, "1");
    if (strcmp(kind, "adjust") == 0)
      engine_move(e, ask);
    else if (strcmp(key, "engine.running") == 0)
      e->level *= 1.03;
  }
}

static inline int job_sync_nothing(void *context, int file)
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
  eb_json *layout; /* the last one that the front was told; owned */
  size_t longest;  /* bytes of the longest instruction */
  char longest_text[400];
  int prompts;                 /* answered in a straight run */
  int cautions, starts, stops; /* met on the way */
  char outcome[16];
  char claim[200]; /* JSON */
} job;

static inline void job_look_at(job *j, const eb_json *message)
{
  const char *type = eb_json_get_string(message, "type", "");
  if (strcmp(type, "refused") == 0)
    fail_msg("refused: %s", eb_json_get_string(message, "why", ""));
  if (strcmp(type, "end") == 0) {
    char *claim = eb_json_text(eb_json_get(message, "claim"));
    snprintf(j->claim, sizeof j->claim, "%s", claim);
    eb_json_text_free(claim);
    snprintf(j->outcome, sizeof j->outcome, "%s", eb_json_get_string(message, "outcome", ""));
  }
  const char *text = strcmp(type, "ask") == 0 ? eb_json_get_string(message, "text", "") : "";
  if (strlen(text) > j->longest) {
    j->longest = strlen(text);
    snprintf(j->longest_text, sizeof j->longest_text, "%s", text);
  }
  if (eb_json_is_object(eb_json_get(message, "layout"))) {
    eb_json_destroy(j->layout);
    j->layout = eb_json_copy(eb_json_get(message, "layout"));
  }
}

static inline void job_drain(job *j)
{
  const eb_json *message;
  while ((message = eb_session_next(j->session)) != NULL)
    job_look_at(j, message);
}

/* What stands in an engine file is not asked; NULL: no engine file. */
static inline eb_status job_try(job *j, const char *procedure, const eb_json *inputs, eb_error *error)
{
  *j = (job){.host = *eb_host_system(), .runner = eb_script_runner(NULL)};
  j->host.files.sync = job_sync_nothing;
  snprintf(j->path, sizeof j->path, "/tmp/eb-job-%d.jsonl", (int)getpid());
  unlink(j->path);
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_session_options options = {.id = "job",
                                .path = j->path,
                                .program = "test",
                                .runner = &j->runner,
                                .main = eb_script_builtin_procedure(procedure),
                                .library = library,
                                .library_count = count,
                                .inputs = inputs};
  return eb_session_start(&j->host, &options, &j->session, error);
}

static inline void job_begin(job *j, const char *procedure, const eb_json *inputs)
{
  eb_error error;
  if (job_try(j, procedure, inputs, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  job_drain(j);
}

static inline bool job_asks(const job *j)
{
  return eb_session_where(j->session) == EB_SESSION_ASKS;
}

static inline void job_resume(job *j)
{
  eb_session_destroy(j->session);
  eb_recovery recovery;
  eb_error error;
  if (eb_session_resume(&j->host, j->path, "test", &j->runner, &j->session, &recovery, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  job_drain(j);
}

static inline void job_answer(job *j, const char *typed)
{
  eb_error error;
  if (eb_session_type(j->session, typed, strlen(typed), &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  job_drain(j);
}

/* What the core asks by itself: its cautions, and how things stand when somebody comes back. */
static inline bool is_own(const eb_json *ask)
{
  const char *key = eb_json_get_string(ask, "key", "");
  return strncmp(key, "resume.", 7) == 0 || strncmp(key, "safety.", 7) == 0;
}

static inline void job_answer_own(job *j, engine *e)
{
  while (job_asks(j) && is_own(eb_session_ask(j->session))) {
    char typed[64];
    const eb_json *ask = eb_session_ask(j->session);
    j->cautions += strcmp(eb_json_get_string(ask, "kind", ""), "caution") == 0;
    engine_answer(e, ask, typed, sizeof typed);
    job_answer(j, typed);
  }
}

static inline void job_pause_and_resume(job *j, engine *e)
{
  assert_int_equal(eb_session_pause(j->session, NULL), EB_OK);
  assert_int_equal(eb_session_where(j->session), EB_SESSION_PAUSED);
  job_resume(j);
  job_answer_own(j, e);
}

static inline void job_back(job *j, engine *e)
{
  eb_error error;
  assert_int_equal(eb_session_back(j->session, &error), EB_OK);
  job_drain(j);
  job_answer_own(j, e);
}

/* Every answer that holds, without times, numbers and what the core asked by itself: "key=typed" lines. */
static inline char *job_effective(const job *j)
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

/* Fails at the first line in which two lists of answers differ. */
static inline void same_answers(const char *what, const char *met, const char *wanted)
{
  const char *line = met;
  size_t i = 0;
  for (; met[i] == wanted[i] && met[i] != '\0'; i++)
    if (met[i] == '\n')
      line = met + i + 1;
  if (met[i] != wanted[i])
    fail_msg("%s: the answers differ at \"%.*s\" instead of \"%.*s\"", what, (int)strcspn(line, "\n"), line,
             (int)strcspn(wanted + (line - met), "\n"), wanted + (line - met));
}

static inline void job_finish(job *j)
{
  eb_session_destroy(j->session);
  eb_json_destroy(j->layout);
  unlink(j->path);
  char lock[80];
  snprintf(lock, sizeof lock, "%s.lock", j->path);
  unlink(lock);
}

/* How a job is disturbed, at every `stride`th prompt. */
typedef struct disturbed {
  bool resumes, takes_back;
  int stride;
} disturbed;

/* Plays a procedure to its end; *e is left as the job leaves the engine. */
static inline void job_play(job *j, const char *procedure, engine *e, disturbed how)
{
  char slip[64] = ""; /* what the reading before it was typed as, where one is asked again */
  job_begin(j, procedure, NULL);
  while (job_asks(j)) {
    job_answer_own(j, e);
    bool now = how.stride > 0 && j->prompts % how.stride == 0;
    if (now && how.resumes)
      job_pause_and_resume(j, e);
    char typed[64];
    const eb_json *ask = eb_session_ask(j->session);
    bool again = eb_json_get(ask, "again") != NULL;
    j->starts += strcmp(eb_json_get_string(ask, "state", ""), "running") == 0;
    j->stops += strcmp(eb_json_get_string(ask, "state", ""), "stopped") == 0;
    engine_answer(e, ask, typed, sizeof typed);
    job_answer(j, typed);
    if (now && how.takes_back && job_asks(j)) {
      job_back(j, e);
      if (again)
        job_answer(j, slip);
      job_answer(j, typed);
    }
    snprintf(slip, sizeof slip, "%s", typed);
    assert_true(++j->prompts < 900);
  }
  if (eb_session_where(j->session) != EB_SESSION_ENDED)
    fail_msg("%s: not ended but %s", procedure, j->outcome);
}

#endif
