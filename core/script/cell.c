#include "cell.h"

#include "lock.h"
#include "prepared.h"
#include "runner.h"

#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

/* What a cell has besides the prepared run: all of it taken before the lock closes. */
typedef struct cell {
  prepared *own;     /* this process's copy */
  arena_copy begins; /* as it was before the first run */
  bool runs;         /* a run is under way */
  arena memory;      /* of the work */
  eb_host host;      /* which allocates in there */
  frame question, answer;
} cell;

/* A run's `destroy` knows its machine only. Set after the fork, in a process that is one cell. */
static cell *this_cell;

static void end_run(void *machine)
{
  eb_json_destroy(((script_machine *)machine)->sent);
  this_cell->runs = false; /* the next one begins where this one began: nothing is to be given back */
}

static eb_status start_run(void *context, const eb_host *host, const eb_source *main, const eb_source *library,
                           size_t library_count, eb_procedure *procedure, eb_error *error)
{
  (void)host;
  cell *c = context;
  if (c->runs || !prepared_fits(c->own, library, library_count))
    return eb_fail(error, EB_REFUSED, main->name, "only one procedure, upon the built-in library, can run here");
  arena_copy_restore(&c->begins, &c->own->memory);
  eb_status status = runner_begin(c->own->machine, main, library, library_count, procedure, error);
  if (status != EB_OK)
    return status;
  procedure->destroy = end_run;
  c->runs = true;
  return EB_OK;
}

static void *allocate(void *context, void *block, size_t size)
{
  return arena_allocate(context, block, size);
}

static void *take_pages(size_t size)
{
  void *pages = mmap(NULL, size, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS | MAP_NORESERVE, -1, 0);
  return pages == MAP_FAILED ? NULL : pages;
}

/* NULL: there is no memory.  *pages is the work's. */
static cell *cell_new(const child_order *order, void **pages)
{
  prepared *own = (prepared *)order->prepared;
  cell *made = take_pages(sizeof *made);
  void *copy = take_pages(arena_copy_size(&own->memory));
  *pages = take_pages(order->work->memory);
  if (made == NULL || copy == NULL || *pages == NULL)
    return NULL;
  made->own = own;
  made->host = *eb_host_system();
  made->host.context = &made->memory;
  made->host.allocate = allocate;
  made->host.files = (eb_files){0};
  arena_copy_make(&own->memory, copy, &made->begins);
  return made;
}

/* Each answer begins with empty memory. */
static void answer(cell *c, const eb_script_cell_work *work, void *pages)
{
  eb_runner runner = {.context = c, .name = eb_script_runner(NULL).name, .start = start_run};
  arena_init(&c->memory, pages, work->memory);
  c->runs = false;
  memset(c->answer.bytes, 0, work->answer_size);
  work->answer(work->context, &c->host, &runner, c->question.bytes, c->answer.bytes);
  c->answer.head = (frame_head){.kind = FRAME_REQUEST, .size = (uint32_t)work->answer_size};
}

void cell_live(const child_order *order)
{
  void *pages;
  const eb_script_cell_work *work = order->work;
  this_cell = cell_new(order, &pages);
  if (this_cell == NULL)
    child_give_up_unlocked(order, "there is no memory to run a procedure");
  if (!lock_in(order->socket, order->parent, order->first_thread, order->processor_s, order->rules))
    child_give_up_unlocked(order, "a procedure cannot be locked in here");
  child_plant(&this_cell->memory);
  while (child_receive(order->socket, &this_cell->question)) {
    answer(this_cell, work, pages);
    if (!child_send(order->socket, &this_cell->answer, frame_whole(&this_cell->answer)))
      break;
  }
  _exit(0);
}
