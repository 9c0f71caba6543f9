#include "job.h"

#include "earlier.h"
#include "given.h"
#include "load.h"
#include "origin.h"
#include "sessions.h"

#include <stdio.h>
#include <string.h>

static const char program[] = "evenbore " EB_VERSION;

int eb_job_end(const eb_job *job, const eb_json *end)
{
  const char *outcome = eb_json_get_string(end, "outcome", "");
  const char *summary = eb_json_get_string(end, "summary", "the procedure failed");
  const char *safe = job->company == NULL ? NULL : strstr(summary, EB_SESSION_SAFE); /* a practice is not resumed */
  char why[1024];
  snprintf(why, sizeof why, "%.*s", (int)(safe == NULL ? strlen(summary) : (size_t)(safe - summary)), summary);
  if (strcmp(outcome, "failed") == 0)
    eb_run_remark(job->run, why);
  return strcmp(outcome, "even") == 0 || strcmp(outcome, "claimed") == 0 ? EB_EXIT_DONE : EB_EXIT_FAILED;
}

const char *eb_job_resume_words(const eb_job *job, char *text, size_t size)
{
  char data[256];
  snprintf(text, size, "evenbore resume %s%s", job->id, eb_run_data(job->run, data, sizeof data));
  return text;
}

static int lead(const eb_job *job, const char *path)
{
  eb_error error;
  int exit_status = job->run->options.lines ? eb_lines_run(job) : eb_terminal_run(job);
  eb_given_learn(job->run, job->session);
  eb_status status = eb_origin_check(job->run, job->session, path, &error);
  if (status == EB_OK)
    return exit_status;
  eb_run_complain(job->run, &error);
  return eb_run_status(status);
}

/* Another job may take the same name between the look and the making. */
static eb_status start_named(const eb_run *run, const char *folder, const char *procedure, eb_session_options *options,
                             char id[EB_SESSION_ID_SIZE], char path[EB_SESSION_PATH_SIZE], eb_session **session,
                             eb_error *error)
{
  for (int number = 1;; number++) {
    eb_status status = eb_sessions_new_id(run->host, folder, procedure, &number, id, error);
    if (status == EB_OK)
      status = eb_sessions_path(folder, id, path, error);
    if (status != EB_OK)
      return status;
    options->id = id;
    options->path = path;
    status = eb_session_start(run->host, options, session, error);
    if (status != EB_EXISTS && status != EB_HELD)
      return status;
  }
}

/* A file's name goes into the session's: only what can be typed anywhere. */
static void procedure_word(const eb_json *declare, char word[64])
{
  static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_";
  const char *id = eb_json_get_string(eb_json_get(declare, "procedure"), "id", "");
  snprintf(word, 64, "%s", id[0] == '\0' ? "procedure" : id);
  for (char *c = word; *c != '\0'; c++)
    if (strchr(plain, *c) == NULL)
      *c = '-';
}

static eb_status make_inputs(const eb_run *run, const eb_given *given, const eb_loaded *loaded, const eb_json *declare,
                             eb_json **inputs, eb_error *error)
{
  eb_json *origin = NULL;
  eb_status status = eb_origin_make(run, loaded, declare, &origin, error);
  if (status != EB_OK)
    return status;
  eb_json *made = eb_given_inputs(run, given);
  bool whole = made != NULL && (origin == NULL || eb_json_set(made, "origin", origin));
  if (whole) {
    *inputs = made;
    return EB_OK;
  }
  if (made == NULL)
    eb_json_destroy(origin);
  eb_json_destroy(made);
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

static eb_status start(const eb_run *run, const eb_given *given, const eb_loaded *loaded, const eb_json *declare,
                       char id[EB_SESSION_ID_SIZE], char path[EB_SESSION_PATH_SIZE], eb_session **session,
                       eb_error *error)
{
  char folder[EB_SESSION_PATH_SIZE];
  char word[64];
  eb_gauge gauge;
  eb_session_options options = {.program = program,
                                .runner = &run->runner,
                                .main = &loaded->source,
                                .library = loaded->library,
                                .library_count = loaded->library_count};
  eb_status status = eb_sessions_folder(run->options.data, folder, error);
  if (status == EB_OK)
    status = eb_given_options(run, given, declare, loaded->source.name, &options, &gauge, error);
  if (status == EB_OK)
    status = eb_sessions_make_folder(run->host, folder, error);
  if (status != EB_OK)
    return status;
  eb_json *inputs = NULL;
  eb_json *known = NULL;
  status = make_inputs(run, given, loaded, declare, &inputs, error);
  if (status != EB_OK)
    return status;
  status = eb_earlier_known(run, given, &known, error);
  options.inputs = inputs;
  options.known = known;
  procedure_word(declare, word);
  if (status == EB_OK)
    status = start_named(run, folder, word, &options, id, path, session, error);
  eb_json_destroy(known);
  eb_json_destroy(inputs);
  return status;
}

static int refuse(const eb_run *run, const eb_error *error)
{
  eb_run_complain(run, error);
  return eb_run_status(error->status);
}

/* What a procedure's text does wrong is no mistake in the command line; a refusal has a status of its own. */
static int refuse_procedure(const eb_run *run, const eb_error *error)
{
  int exit_status = refuse(run, error);
  return exit_status == EB_EXIT_USAGE ? EB_EXIT_FAILED : exit_status;
}

static int tune(const eb_run *run, const eb_given *given, const eb_loaded *loaded)
{
  eb_error error;
  eb_json *declare = NULL;
  eb_session *session = NULL;
  char id[EB_SESSION_ID_SIZE];
  char path[EB_SESSION_PATH_SIZE];
  int exit_status;
  if (eb_load_declare(run->host, &run->runner, &loaded->source, loaded->library, loaded->library_count, &declare,
                      &error) != EB_OK) {
    exit_status = refuse_procedure(run, &error);
  } else if (start(run, given, loaded, declare, id, path, &session, &error) != EB_OK) {
    bool option = strncmp(error.place, "--", 2) == 0;
    exit_status = option ? refuse(run, &error) : refuse_procedure(run, &error);
  } else {
    eb_job job = {.run = run, .host = run->host, .session = session, .id = id};
    exit_status = lead(&job, path);
  }
  eb_session_destroy(session);
  eb_json_destroy(declare);
  return exit_status;
}

int eb_run_tune(const eb_run *run)
{
  eb_error error;
  eb_loaded loaded;
  eb_given given;
  const char *procedure = NULL;
  int exit_status = EB_EXIT_FAILED;
  if (eb_given_read(run, &given, &exit_status, &error) != EB_OK) {
    eb_run_complain(run, &error);
    return exit_status;
  }
  eb_status status = eb_given_procedure(run, &given, &procedure, &error);
  if (status == EB_OK)
    status = eb_load(run->host, run->options.data, procedure, &loaded, &error);
  if (status == EB_OK) {
    exit_status = tune(run, &given, &loaded);
    eb_load_clear(&loaded);
  } else {
    exit_status = refuse(run, &error);
  }
  eb_given_clear(&given);
  return exit_status;
}

/* The session's own name, which a file's name need not be. */
static const char *id_of(const char *path, char id[EB_SESSION_ID_SIZE])
{
  const char *slash = strrchr(path, '/');
  snprintf(id, EB_SESSION_ID_SIZE, "%.255s", slash == NULL ? path : slash + 1);
  size_t size = strlen(id);
  if (size > 6 && strcmp(id + size - 6, ".jsonl") == 0)
    id[size - 6] = '\0';
  return id;
}

static eb_status find(const eb_run *run, char path[EB_SESSION_PATH_SIZE], eb_error *error)
{
  char folder[EB_SESSION_PATH_SIZE];
  eb_status status = eb_sessions_folder(run->options.data, folder, error);
  if (status != EB_OK)
    return status;
  if (run->options.argument == NULL)
    return eb_sessions_latest(run->host, folder, path, error);
  return eb_sessions_find(run->host, folder, run->options.argument, path, error);
}

/* The engine of a practice is gone with the program that simulated it. */
static eb_status take_up(const eb_run *run, const char *path, eb_session **session, eb_recovery *recovery,
                         eb_error *error)
{
  eb_status status = eb_session_resume(run->host, path, program, &run->runner, session, recovery, error);
  if (status != EB_OK)
    return status;
  const eb_json *practice = eb_json_get(eb_json_get(eb_session_opening(*session), "inputs"), "practice");
  if (practice == NULL)
    return EB_OK;
  double seed = eb_json_get_number(practice, "seed", 0);
  eb_session_destroy(*session);
  return eb_fail(
      error, EB_REFUSED, path,
      "a practice cannot be taken up again, its engine is gone; evenbore practice --seed %.0f begins it anew, "
      "evenbore show tells what was done",
      seed);
}

int eb_run_resume(const eb_run *run)
{
  char path[EB_SESSION_PATH_SIZE];
  eb_error error;
  if (find(run, path, &error) != EB_OK)
    return refuse(run, &error);
  eb_session *session = NULL;
  eb_recovery recovery;
  eb_status status = take_up(run, path, &session, &recovery, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    return status == EB_NOT_FOUND ? EB_EXIT_USAGE : EB_EXIT_FAILED;
  }
  eb_origin_remark(run, session);
  char id[EB_SESSION_ID_SIZE];
  bool is_file = run->options.argument != NULL && strchr(run->options.argument, '/') != NULL;
  eb_job job = {.run = run,
                .host = run->host,
                .session = session,
                .recovery = &recovery,
                .id = is_file ? run->options.argument : id_of(path, id)};
  int exit_status = lead(&job, path);
  eb_session_destroy(session);
  return exit_status;
}
