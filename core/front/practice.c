/* The command `practice`. */
#include "practice.h"

#include "given.h"

#include "evenbore/file.h"

#include <stdio.h>
#include <string.h>

/* One name of a list; `any` puts one of all in, but for what a person types in the wrong place by himself. */
static eb_status read_fault(const char *word, size_t size, eb_practice *p, eb_error *error)
{
  char name[64];
  eb_fault fault = EB_FAULTS;
  eb_error met;
  snprintf(name, sizeof name, "%.*s", size < sizeof name ? (int)size : (int)sizeof name - 1, word);
  if (strcmp(name, "any") == 0) {
    p->any = true;
    return EB_OK;
  }
  eb_status status = eb_fault_read(name, &fault, &met);
  if (status != EB_OK)
    return eb_fail(error, status, "--fault", "%s; any or a fault's name is wanted", met.message);
  if (fault == EB_FAULT_SWAP && !p->run->options.watch)
    return eb_fail(error, EB_BAD_VALUE, "--fault", "swap is a slip of the simulated tuner; it goes with --watch");
  p->fault[fault] = 1;
  return EB_OK;
}

static eb_status read_faults(eb_practice *p, eb_error *error)
{
  eb_status status = EB_OK;
  bool named = false;
  for (int i = 0; i < p->run->options.fault_count; i++)
    for (const char *word = p->run->options.fault[i]; status == EB_OK && word != NULL;) {
      size_t size = strcspn(word, ",");
      status = read_fault(word, size, p, error);
      word = word[size] == ',' ? word + size + 1 : NULL;
    }
  for (int f = 0; f < EB_FAULTS; f++)
    named = named || p->fault[f] > 0;
  if (status == EB_OK && p->any && named)
    return eb_fail(error, EB_BAD_VALUE, "--fault", "any stands alone: it draws one of all without telling which");
  for (int f = 0; p->any && f < EB_FAULTS; f++)
    p->fault[f] = f == EB_FAULT_SWAP ? 0 : 1;
  return status;
}

/* Another engine each time, by a number that is short to type. */
static uint64_t draw_seed(const eb_host *host)
{
  return (uint64_t)host->now(host->context).unix_ms % 9000 + 1000;
}

/* Tried before the job, which may take an hour, and not at its end. */
static eb_status try_keep(const eb_host *host, const char *path, eb_error *error)
{
  eb_error met;
  if (host->files.kind(host->context, path) != EB_PATH_NOTHING)
    return eb_fail(error, EB_BAD_VALUE, "--keep", "there is something called %s already; choose another name", path);
  eb_status status = eb_file_create(host, path, "", 0, 0600, &met);
  if (status != EB_OK)
    return eb_fail(error, status, "--keep", "%s: %s; choose another place", met.place, met.message);
  host->files.remove(host->context, path);
  return EB_OK;
}

static eb_status read_options(eb_practice *p, eb_error *error)
{
  const eb_options *o = &p->run->options;
  p->seed = draw_seed(p->run->host);
  if (o->fast && !o->watch)
    return eb_fail(error, EB_BAD_VALUE, "--fast", "goes with --watch: it leaves the waits between answers out");
  eb_status status = eb_options_count("--seed", o->seed, 0, EB_SEED_MAX, &p->seed, error);
  if (status == EB_OK)
    status = read_faults(p, error);
  return status == EB_OK && o->keep != NULL ? try_keep(p->run->host, o->keep, error) : status;
}

static int greet(const eb_practice *p)
{
  eb_page page;
  const eb_run *run = p->run;
  eb_page_init(&page, run->host, run->columns, run->utf8, run->styled);
  eb_page_paragraph(&page, EB_ALARM, "", "",
                    run->options.keep == NULL
                        ? "Practice: a simulated engine. Nothing runs, and nothing is kept."
                        : "Practice: a simulated engine. Nothing runs; the record is kept, marked as practice.");
  eb_page_sayf(&page, "Seed %llu; --seed %llu brings the same engine again.%s", (unsigned long long)p->seed,
               (unsigned long long)p->seed,
               run->options.watch ? " The program's own tuner works on it; Ctrl-C leaves."
                                  : " Leaving ends it: it cannot be taken up again.");
  eb_page_blank(&page);
  return eb_run_print(run, &page);
}

static const char journal[] = "practice.jsonl"; /* in the scratch */

static eb_status start(eb_practice *p, const eb_json *inputs, eb_error *error)
{
  eb_bay_options o = eb_bay_options_usual();
  o.seed = p->seed;
  o.one_fault = p->any;
  memcpy(o.fault, p->fault, sizeof o.fault);
  eb_status status = eb_scratch_create(p->run->host, &p->scratch, error);
  if (status == EB_OK)
    status = eb_bay_create(p->run->host, &o, &p->bay, error);
  if (status != EB_OK)
    return status;
  eb_session_options options = {.id = "practice",
                                .path = journal,
                                .program = "evenbore " EB_VERSION,
                                .runner = &p->run->runner,
                                .main = &p->loaded->source,
                                .library = p->loaded->library,
                                .library_count = p->loaded->library_count,
                                .gauge = p->gauge,
                                .tolerance = p->tolerance,
                                .risk = p->risk,
                                .inputs = inputs};
  return eb_session_start(eb_scratch_host(p->scratch), &options, &p->session, error);
}

/* The record as it stands, whole or not at all, where it was asked for. */
static eb_status keep(const eb_practice *p, eb_error *error)
{
  enum { MOST = 256 << 20 };
  const char *path = p->run->options.keep;
  const eb_host *host = p->run->host, *scratch = eb_scratch_host(p->scratch);
  char *bytes = NULL;
  size_t size = 0;
  eb_status status = eb_file_read(scratch, journal, MOST, EB_FILE_NAMED, &bytes, &size, error);
  if (status != EB_OK)
    return status;
  status = eb_file_create(host, path, bytes, size, 0600, error);
  scratch->allocate(scratch->context, bytes, 0);
  if (status != EB_OK)
    return status;
  char line[EB_PATH_SIZE + 64];
  snprintf(line, sizeof line, "kept, marked as practice: evenbore show %s%s", strchr(path, '/') == NULL ? "./" : "",
           path);
  eb_run_remark(p->run, line);
  return EB_OK;
}

static int lead(eb_practice *p, const eb_json *inputs)
{
  eb_error error;
  int exit_status = EB_EXIT_FAILED;
  if (start(p, inputs, &error) == EB_OK) {
    eb_company company = eb_practice_company(p);
    eb_job job = {.run = p->run,
                  .host = eb_scratch_host(p->scratch),
                  .session = p->session,
                  .id = "practice",
                  .company = &company};
    exit_status = greet(p);
    if (exit_status == EB_EXIT_DONE)
      exit_status = eb_terminal_run(&job);
  } else
    eb_run_complain(p->run, &error);
  bool begun = p->session != NULL;
  eb_session_destroy(p->session);
  if (begun && p->run->options.keep != NULL && keep(p, &error) != EB_OK) {
    eb_run_complain(p->run, &error);
    exit_status = EB_EXIT_FAILED;
  }
  eb_bay_destroy(p->bay);
  eb_scratch_destroy(p->scratch);
  eb_json_destroy(p->layout);
  eb_json_destroy(p->ask);
  eb_json_destroy(p->verdict);
  eb_json_destroy(p->end);
  return exit_status;
}

/* As for tune. */
static eb_status take_given(eb_practice *p, const eb_given *given, eb_gauge *gauge, eb_error *error)
{
  const eb_run *run = p->run;
  const eb_loaded *l = p->loaded;
  eb_json *declare = NULL;
  eb_session_options options = {.tolerance = 0};
  eb_status status =
      eb_load_declare(run->host, &run->runner, &l->source, l->library, l->library_count, &declare, error);
  if (status != EB_OK)
    return status;
  status = eb_given_options(run, given, declare, l->source.name, &options, gauge, error);
  eb_json_destroy(declare);
  p->gauge = options.gauge;
  p->tolerance = options.tolerance;
  p->risk = options.risk;
  return status;
}

/* In the first record, so that it never passes for an engine's. False: out of memory. */
static bool mark(eb_json *inputs, uint64_t seed)
{
  eb_json *practice = eb_json_object();
  if (eb_json_set_number(practice, "seed", (double)seed))
    return eb_json_set(inputs, "practice", practice);
  eb_json_destroy(practice);
  return false;
}

static int practise(eb_practice *p, const eb_given *given)
{
  eb_error error;
  eb_gauge gauge;
  if (take_given(p, given, &gauge, &error) != EB_OK) {
    eb_run_complain(p->run, &error);
    return strncmp(error.place, "--", 2) == 0 ? EB_EXIT_USAGE : EB_EXIT_FAILED;
  }
  eb_json *inputs = eb_given_inputs(p->run, given);
  if (!mark(inputs, p->seed)) {
    eb_json_destroy(inputs);
    eb_run_remark(p->run, "out of memory");
    return EB_EXIT_FAILED;
  }
  int exit_status = lead(p, inputs);
  eb_json_destroy(inputs);
  return exit_status;
}

int eb_run_practice(const eb_run *run)
{
  static const char usual[] = "v8-coupled";
  eb_practice p = {.run = run, .idles = true};
  eb_error error;
  eb_loaded loaded;
  eb_given given;
  int exit_status = EB_EXIT_FAILED;
  const char *procedure = run->options.argument == NULL ? usual : run->options.argument;
  eb_status status = read_options(&p, &error);
  if (status == EB_OK)
    status = eb_load(run->host, run->options.data, procedure, &loaded, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    return eb_run_status(status);
  }
  p.loaded = &loaded;
  if (eb_given_read(run, &given, &exit_status, &error) == EB_OK) {
    exit_status = practise(&p, &given);
    eb_given_clear(&given);
  } else
    eb_run_complain(run, &error);
  eb_load_clear(&loaded);
  return exit_status;
}
