/* The runner whose runs are processes, and cells: which of them may begin, and with what limits. */
#include "cell.h"
#include "prepared.h"
#include "process.h"
#include "source.h"

#include <pthread.h>
#include <string.h>
#include <time.h>

enum {
  ANSWER_MS = 60000, /* forty times the processor time that a run has itself: for a machine that is busy */
  PROCESSOR_S = 120  /* 2 000 prompts of 5 million instructions each take about that */
};

struct eb_script_child {
  const eb_host *host;
  eb_script_limits limits;
  long answer_ms;
  bool trusts;
  bool filtered;
  filter rules;
  pthread_mutex_t lock; /* of what follows, until it is made; from then on it does not change */
  prepared prepared;    /* by the first run that fits it; no pages: there was none */
};

eb_status eb_script_child_create(const eb_host *host, const eb_script_child_options *options, eb_script_child **child,
                                 eb_error *error)
{
  eb_script_child *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "there is no memory to lock procedures in");
  *made = (eb_script_child){.host = host,
                            .limits = options->limits == NULL ? eb_script_limits_usual() : *options->limits,
                            .answer_ms = options->answer_ms == 0 ? ANSWER_MS : options->answer_ms,
                            .trusts = options->trusts,
                            .filtered = filter_is_possible()};
  if (pthread_mutex_init(&made->lock, NULL) != 0) {
    host->allocate(host->context, made, 0);
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "there is no memory to lock procedures in");
  }
  eb_status status = made->filtered ? filter_make(&made->rules, error) : EB_OK;
  if (status != EB_OK) {
    eb_script_child_destroy(made);
    return status;
  }
  *child = made;
  return EB_OK;
}

void eb_script_child_destroy(eb_script_child *child)
{
  if (child == NULL)
    return;
  prepared_clear(&child->prepared);
  pthread_mutex_destroy(&child->lock);
  child->host->allocate(child->host->context, child, 0);
}

bool eb_script_child_is_filtered(const eb_script_child *child)
{
  return child->filtered;
}

static bool same(const eb_source *a, const eb_source *b)
{
  return b != NULL && strcmp(a->name, b->name) == 0 && a->size == b->size && memcmp(a->text, b->text, a->size) == 0;
}

static const eb_source *builtin_named(const eb_source *sources, size_t count, const char *name)
{
  for (size_t i = 0; i < count; i++)
    if (strcmp(sources[i].name, name) == 0)
      return &sources[i];
  return NULL;
}

/* By content: a session brings its sources along, whoever wrote them. */
static bool is_builtin(const eb_source *main, const eb_source *library, size_t library_count)
{
  size_t count;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  if (!same(main, builtin_named(sources, count, main->name)))
    return false;
  sources = eb_script_builtin_library(&count);
  for (size_t i = 0; i < library_count; i++)
    if (!same(&library[i], builtin_named(sources, count, library[i].name)))
      return false;
  return true;
}

static eb_status prepare(eb_script_child *child, eb_error *error)
{
  eb_status status = EB_OK;
  pthread_mutex_lock(&child->lock);
  if (child->prepared.pages == NULL)
    status = prepared_make(&child->prepared, &child->limits, error);
  pthread_mutex_unlock(&child->lock);
  return status;
}

static eb_status start(void *context, const eb_host *host, const eb_source *main, const eb_source *library,
                       size_t library_count, eb_procedure *procedure, eb_error *error)
{
  eb_script_child *child = context;
  eb_status status = source_check(main, library, library_count, error);
  if (status == EB_OK)
    status = prepare(child, error);
  if (status != EB_OK)
    return status;
  if (!child->filtered && !child->trusts && !is_builtin(main, library, library_count))
    return eb_fail(error, EB_REFUSED, main->name,
                   "this machine cannot lock a procedure in (no seccomp filters), so it runs none but its own");
  child_order order = {.rules = child->filtered ? &child->rules : NULL,
                       .processor_s = PROCESSOR_S,
                       .limits = child->limits,
                       .main = main,
                       .library = library,
                       .library_count = library_count,
                       .prepared = prepared_fits(&child->prepared, library, library_count) ? &child->prepared : NULL};
  return process_begin(host, &order, child_live, child->answer_ms, procedure, error);
}

eb_runner eb_script_child_runner(const eb_script_child *child)
{
  return (eb_runner){.context = (void *)child, .name = "lua 5.4", .start = start};
}

struct eb_script_cell {
  const eb_host *host;
  eb_script_cell_work work;
  process *process;
};

eb_status eb_script_cell_open(const eb_script_child *child, const eb_script_cell_work *work, eb_script_cell **cell,
                              eb_error *error)
{
  const eb_host *host = child->host;
  if (!child->filtered)
    return eb_fail(error, EB_REFUSED, work->name, "this machine cannot lock a procedure in (no seccomp filters)");
  eb_status status = prepare((eb_script_child *)child, error);
  if (status != EB_OK)
    return status;
  eb_script_cell *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, work->name, "there is no memory to run a procedure");
  *made = (eb_script_cell){.host = host, .work = *work};
  eb_source name = {.name = work->name, .text = ""};
  child_order order = {.rules = &child->rules,
                       .processor_s = PROCESSOR_S,
                       .limits = child->limits,
                       .main = &name,
                       .prepared = &child->prepared,
                       .work = work};
  tzset(); /* a date is written without a look at the file of the time zone from here on */
  status = process_open(host, &order, cell_live, child->answer_ms, &made->process, error);
  if (status == EB_OK)
    *cell = made;
  else
    host->allocate(host->context, made, 0);
  return status;
}

eb_status eb_script_cell_ask(eb_script_cell *cell, const void *question, void *answer, eb_error *error)
{
  frame *f = process_frame(cell->process);
  f->head = (frame_head){.kind = FRAME_REPLY, .size = (uint32_t)cell->work.question_size};
  memcpy(f->bytes, question, cell->work.question_size);
  eb_status status = process_exchange(cell->process, true, error);
  if (status != EB_OK)
    return status;
  if (f->head.size != cell->work.answer_size)
    return eb_fail(error, EB_SCRIPT, "", "a cell answers with %u bytes; %zu are wanted", (unsigned)f->head.size,
                   cell->work.answer_size);
  memcpy(answer, f->bytes, f->head.size);
  return EB_OK;
}

void eb_script_cell_close(eb_script_cell *cell)
{
  if (cell == NULL)
    return;
  process_close(cell->process);
  cell->host->allocate(cell->host->context, cell, 0);
}
