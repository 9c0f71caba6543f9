/* The command `rehearse`: a procedure tried on simulated engines before a customer's engine sees it. */
#include "rehearse.h"

#include "call_sites.h"
#include "given.h"
#include "view.h"

#include "evenbore/format.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { ENGINES = 200, ENGINES_MAX = 100000, JOBS_MAX = 64 };

eb_status eb_rehearse_faults(const char *text, eb_rehearsal *r, eb_error *error)
{
  eb_fault fault = EB_FAULTS;
  eb_error met;
  if (text == NULL || strcmp(text, "none") == 0)
    return EB_OK;
  if (strcmp(text, "each") == 0)
    return EB_OK;
  if (strcmp(text, "all") == 0) {
    for (int f = 0; f < EB_FAULTS; f++)
      r->fault[f] = 1;
    r->one_fault = true;
    return EB_OK;
  }
  eb_status status = eb_fault_read(text, &fault, &met);
  if (status != EB_OK)
    return eb_fail(error, status, "--faults", "%s; all, each, none or one fault's name is wanted", met.message);
  r->fault[fault] = 1;
  return EB_OK;
}

/* One of "even=95". */
static eb_status read_bar(const char *word, size_t size, eb_bars *bars, eb_error *error)
{
  const struct {
    const char *name;
    double *bar;
  } known[] = {{"even", &bars->even}, {"wrong", &bars->wrong}, {"stuck", &bars->stuck}, {"failed", &bars->failed}};
  const char *equals = memchr(word, '=', size);
  size_t name_size = equals == NULL ? size : (size_t)(equals - word);
  for (size_t i = 0; equals != NULL && i < sizeof known / sizeof known[0]; i++) {
    char digits[16];
    uint64_t percent = 0;
    if (strlen(known[i].name) != name_size || memcmp(known[i].name, word, name_size) != 0)
      continue;
    if (*known[i].bar >= 0)
      return eb_fail(error, EB_BAD_VALUE, "--require", "%s stands there twice; write it once", known[i].name);
    if (size - name_size > sizeof digits)
      break;
    snprintf(digits, sizeof digits, "%.*s", (int)(size - name_size - 1), equals + 1);
    eb_status status = eb_options_count("--require", digits, 0, 100, &percent, error);
    *known[i].bar = status == EB_OK ? (double)percent : -1;
    return status;
  }
  return eb_fail(error, EB_BAD_VALUE, "--require",
                 "\"%.*s\" is no bar; even, wrong, stuck or failed is wanted, such as even=95,wrong=2",
                 size > 40 ? 40 : (int)size, word);
}

static eb_status read_bars(const char *text, eb_bars *bars, eb_error *error)
{
  eb_status status = EB_OK;
  *bars = (eb_bars){-1, -1, -1, -1};
  while (status == EB_OK && text != NULL) {
    size_t size = strcspn(text, ",");
    status = read_bar(text, size, bars, error);
    text = text[size] == ',' ? text + size + 1 : NULL;
  }
  return status;
}

static bool is_each(const eb_run *run)
{
  return run->options.faults != NULL && strcmp(run->options.faults, "each") == 0;
}

static eb_status read_options(const eb_run *run, eb_rehearse *o, eb_rehearsal *r, eb_error *error)
{
  long processors = sysconf(_SC_NPROCESSORS_ONLN);
  uint64_t engines = ENGINES, jobs = processors < 1 ? 1 : processors > JOBS_MAX ? JOBS_MAX : (uint64_t)processors;
  *o = (eb_rehearse){.run = run, .seed = 1};
  *r = (eb_rehearsal){.host = run->host, .runner = &run->runner};
  eb_status status = eb_options_count("--engines", run->options.engines, 1, ENGINES_MAX, &engines, error);
  if (status == EB_OK)
    status = eb_options_count("--seed", run->options.seed, 0, EB_SEED_MAX - (engines - 1), &o->seed, error);
  if (status == EB_OK)
    status = eb_options_count("--jobs", run->options.jobs, 1, JOBS_MAX, &jobs, error);
  if (status == EB_OK)
    status = eb_rehearse_faults(run->options.faults, r, error);
  if (status == EB_OK)
    status = read_bars(run->options.require, &o->bars, error);
  if (status == EB_OK && run->options.show && engines != 1)
    status = eb_fail(error, EB_BAD_VALUE, "--show", "goes with --engines 1 only: it prints a whole conversation");
  if (status == EB_OK && run->options.show && is_each(run))
    status = eb_fail(error, EB_BAD_VALUE, "--show", "goes with one fault, not with each of them");
  if (status == EB_OK && run->options.show && run->options.json)
    status = eb_fail(error, EB_BAD_VALUE, "--show", "goes without --json: it is for reading");
  o->engines = (int)engines;
  o->jobs = (int)jobs;
  return status;
}

const char *eb_bars_missed(const eb_bars *bars, const eb_tally *t)
{
  double all = t->engines, claims = t->claims > 0 ? t->claims : 1;
  if (bars->even >= 0 && 100 * t->ended[EB_REHEARSAL_EVEN] < bars->even * all)
    return "even";
  if (bars->wrong >= 0 && 100 * t->wrong > bars->wrong * claims)
    return "wrong";
  if (bars->stuck >= 0 && 100 * t->ended[EB_REHEARSAL_STUCK] > bars->stuck * all)
    return "stuck";
  if (bars->failed >= 0 && 100 * t->ended[EB_REHEARSAL_FAILED] > bars->failed * all)
    return "failed";
  return NULL;
}

/* A conversation as the terminal has it, each answer behind its prompt. */
typedef struct showing {
  eb_view view;
  bool failed;
} showing;

static void show(void *context, const eb_json *message, const char *answer)
{
  showing *s = context;
  eb_json *line = NULL;
  char words[256] = "";
  s->failed = !eb_view_show(&s->view, message) || s->failed;
  if (answer == NULL || eb_json_parse(answer, strlen(answer), &line, NULL) != EB_OK)
    return;
  const eb_json *value = eb_json_get(line, "value");
  eb_format_value(value, eb_json_get_string(message, "unit", ""), words, sizeof words);
  eb_page_paragraph(&s->view.page, EB_STRONG, "> ", "  ",
                    value == NULL ? eb_json_get_string(line, "why", "stop") : words);
  eb_json_destroy(line);
}

static int print_result(const eb_rehearse *o)
{
  int printed = o->run->options.json ? eb_rehearse_print_json(o) : eb_rehearse_print(o);
  bool none_ended = o->tally->ended[EB_REHEARSAL_EVEN] + o->tally->ended[EB_REHEARSAL_CLAIMED] == 0;
  const char *missed = eb_bars_missed(&o->bars, o->tally);
  return printed != EB_EXIT_DONE || none_ended || missed != NULL ? EB_EXIT_FAILED : EB_EXIT_DONE;
}

/* Where a Ctrl-C stopped it, what it came to so far is told all the same, but is good enough for no bar. */
static eb_status play_crowd(const eb_rehearse *o, const eb_rehearsal *r, eb_rehearsed *results, int *played,
                            eb_error *error)
{
  char remark[80];
  eb_status status = eb_rehearsal_crowd(r, o->seed, o->engines, o->jobs, o->run->options.quiet, results, played, error);
  if (status != EB_OK || *played == o->engines)
    return status;
  if (*played == 0)
    return eb_fail(error, EB_ENDED, "", "stopped before an engine came to its end");
  snprintf(remark, sizeof remark, "stopped after %d of %d engines", *played, o->engines);
  eb_run_remark(o->run, remark);
  return EB_OK;
}

/* Plays them all; where it is shown, the conversation is printed as far as it came. *written: nothing of it was lost.
 */
static eb_status play(const eb_rehearse *o, const eb_rehearsal *r, eb_rehearsed *results, int *played, bool *written,
                      eb_error *error)
{
  *written = true;
  *played = o->engines;
  showing s = {.failed = false};
  if (!o->run->options.show)
    return play_crowd(o, r, results, played, error);
  eb_view_init(&s.view, o->run->host, o->run->columns, o->run->utf8, o->run->styled);
  eb_rehearsal shown = *r;
  shown.look_on = show;
  shown.context = &s;
  eb_status status = eb_rehearsal_play(&shown, o->seed, results, error);
  eb_page_blank(&s.view.page);
  if (status == EB_OK && s.failed)
    status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  if (status == EB_OK)
    *written = eb_run_print(o->run, &s.view.page) == EB_EXIT_DONE;
  eb_view_clear(&s.view);
  return status;
}

/* A bar is missed where one of the rows misses it. */
static int print_each(const eb_rehearse *o, const eb_tally *rows, int count)
{
  int printed =
      o->run->options.json ? eb_rehearse_print_each_json(o, rows, count) : eb_rehearse_print_each(o, rows, count);
  for (int row = 0; row < count; row++) {
    const char *missed = rows[row].engines > 0 ? eb_bars_missed(&o->bars, &rows[row]) : NULL;
    if (missed == NULL)
      continue;
    char remark[120];
    snprintf(remark, sizeof remark, "not good enough with the fault \"%s\": the bar of \"%s\" is missed",
             row == 0 ? "none" : eb_fault_word((eb_fault)(row - 1)), missed);
    eb_run_remark(o->run, remark);
    printed = EB_EXIT_FAILED;
  }
  return printed;
}

/* Every fault by itself, and none.  An engine that cannot have a fault is no failure: its row stays empty.  Where a
 * Ctrl-C stopped it, the rows that are whole are told. */
static eb_status play_each(const eb_rehearse *o, const eb_rehearsal *r, eb_rehearsed *results, double *scratch,
                           int *exit_status, eb_error *error)
{
  eb_tally rows[1 + EB_FAULTS] = {{.engines = 0}};
  int whole = 0, played = o->engines;
  for (int row = 0; row <= EB_FAULTS; row++) {
    eb_rehearsal one = *r;
    if (row > 0)
      one.fault[row - 1] = 1;
    eb_status status = play_crowd(o, &one, results, &played, error);
    if (status != EB_OK && ((status != EB_REFUSED && status != EB_ENDED) || row == 0))
      return status;
    if (status == EB_ENDED)
      eb_run_complain(o->run, error);
    if (played < o->engines)
      break;
    if (status == EB_OK)
      eb_tally_make(results, o->engines, scratch, &rows[row]);
    whole = row + 1;
  }
  *exit_status = print_each(o, rows, whole);
  if (played < o->engines)
    *exit_status = EB_EXIT_FAILED;
  return EB_OK;
}

static eb_status play_one(const eb_rehearse *o, const eb_rehearsal *r, eb_rehearsed *results, double *scratch,
                          int *exit_status, eb_error *error)
{
  eb_tally tally;
  eb_rehearse told = *o;
  bool written;
  int played;
  eb_status status = play(o, r, results, &played, &written, error);
  if (status != EB_OK || !written)
    return status;
  eb_tally_make(results, played, scratch, &tally);
  told.engines = played;
  told.tally = &tally;
  *exit_status = print_result(&told);
  if (played < o->engines)
    *exit_status = EB_EXIT_FAILED;
  return EB_OK;
}

static int rehearse(const eb_rehearse *o, eb_rehearsal *r)
{
  const eb_host *host = o->run->host;
  size_t count = (size_t)o->engines;
  eb_error error;
  int exit_status = EB_EXIT_FAILED;
  r->lines = eb_line_count(r->loaded->source.text, r->loaded->source.size) + 1;
  eb_rehearsed *results = host->allocate(host->context, NULL, count * sizeof *results);
  double *scratch = host->allocate(host->context, NULL, count * sizeof *scratch);
  r->asked = host->allocate(host->context, NULL, r->lines * sizeof *r->asked);
  eb_status status = EB_OK;
  if (results == NULL || scratch == NULL || r->asked == NULL)
    status = eb_fail(&error, EB_OUT_OF_MEMORY, "", "out of memory");
  for (size_t i = 0; status == EB_OK && i < r->lines; i++)
    atomic_init(&r->asked[i], 0);
  if (status == EB_OK)
    status = is_each(o->run) ? play_each(o, r, results, scratch, &exit_status, &error)
                             : play_one(o, r, results, scratch, &exit_status, &error);
  if (status != EB_OK)
    eb_run_complain(o->run, &error);
  host->allocate(host->context, results, 0);
  host->allocate(host->context, scratch, 0);
  host->allocate(host->context, r->asked, 0);
  return exit_status;
}

/* As for tune, but for the shop's habits: a rehearsal is the same in any shop. */
static eb_status take_given(const eb_run *run, const eb_given *given, const eb_json *declare, eb_rehearsal *r,
                            eb_gauge *gauge, eb_error *error)
{
  eb_session_options options = {.tolerance = 0};
  eb_status status = eb_given_options(run, given, declare, r->loaded->source.name, &options, gauge, error);
  r->gauge = options.gauge;
  r->tolerance = options.tolerance;
  r->risk = options.risk;
  return status;
}

static int rehearse_loaded(eb_rehearse *o, const eb_given *given, eb_rehearsal *r)
{
  eb_json *declare = NULL;
  eb_error error;
  eb_gauge gauge;
  const eb_loaded *l = r->loaded;
  int exit_status = EB_EXIT_FAILED;
  if (eb_load_declare(o->run->host, r->runner, &l->source, l->library, l->library_count, &declare, &error) != EB_OK) {
    eb_run_complain(o->run, &error);
    return EB_EXIT_FAILED;
  }
  const eb_json *procedure = eb_json_get(declare, "procedure");
  o->id = eb_json_get_string(procedure, "id", "?");
  o->title = eb_json_get_string(procedure, "title", "?");
  o->version = eb_json_get_string(procedure, "version", "?");
  o->rehearsal = r;
  if (take_given(o->run, given, declare, r, &gauge, &error) == EB_OK)
    exit_status = rehearse(o, r);
  else {
    eb_run_complain(o->run, &error);
    exit_status = eb_run_status(error.status);
  }
  eb_json_destroy(declare);
  return exit_status;
}

int eb_run_rehearse(const eb_run *run)
{
  eb_rehearse o;
  eb_rehearsal r;
  eb_given given;
  eb_loaded loaded;
  eb_error error;
  int exit_status = EB_EXIT_FAILED;
  eb_status status = read_options(run, &o, &r, &error);
  if (status == EB_OK)
    status = eb_load(run->host, run->options.data, run->options.argument, &loaded, &error);
  if (status != EB_OK) {
    eb_run_complain(run, &error);
    return eb_run_status(status);
  }
  r.loaded = &loaded;
  r.cells = loaded.borrows ? NULL : run->child;
  if (eb_given_read(run, &given, &exit_status, &error) == EB_OK) {
    given.habits = (eb_habits){0};
    exit_status = rehearse_loaded(&o, &given, &r);
    eb_given_clear(&given);
  } else
    eb_run_complain(run, &error);
  eb_load_clear(&loaded);
  return exit_status;
}
