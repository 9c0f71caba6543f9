#include "cell.h"

#include "lock.h"
#include "prepared.h"
#include "runner.h"

#include <string.h>
#include <unistd.h>

/* What a cell has besides the prepared run: all of it taken before the lock closes. */
typedef struct cell {
  prepared *own;     /* this process's copy */
  arena_copy unused; /* that, before the first run */
  arena memory;      /* of the work */
  eb_host host;      /* which allocates in there */
  eb_runner runner;
  bool runs;     /* a run is under way */
  void *room[3]; /* for copies: what they take is not known before the lock closes */
  void *begun;   /* what the work began with, and how all was then */
  arena_copy own_then, memory_then;
  bool runs_then;
  _Alignas(8) frame question; /* so are the bytes behind their heads */
  _Alignas(8) frame answer;
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
  arena_copy_restore(&c->unused, &c->own->memory);
  eb_status status = runner_begin(c->own->machine, main, library, library_count, procedure, error);
  if (status != EB_OK)
    return status;
  procedure->destroy = end_run;
  c->runs = true;
  return EB_OK;
}

/* NULL: there is no memory. */
static cell *cell_new(const child_order *order)
{
  prepared *own = (prepared *)order->prepared;
  const size_t sizes[] = {arena_copy_size(&own->memory), own->size, order->work->memory};
  cell *made = prepared_pages(sizeof *made);
  void *memory = prepared_pages(order->work->memory);
  bool taken = made != NULL && memory != NULL;
  for (int i = 0; taken && i < 3; i++)
    taken = (made->room[i] = prepared_pages(sizes[i])) != NULL;
  if (!taken)
    return NULL;
  made->own = own;
  made->host = prepared_host(&made->memory);
  made->runner = (eb_runner){.context = made, .name = eb_script_runner(NULL).name, .start = start_run};
  arena_init(&made->memory, memory, order->work->memory);
  arena_copy_make(&own->memory, made->room[0], &made->unused);
  return made;
}

static void begin(cell *c, const eb_script_cell_work *work)
{
  c->begun = work->begin == NULL ? work->context : work->begin(work->context, &c->host, &c->runner);
  c->runs_then = c->runs;
  arena_copy_make(&c->own->memory, c->room[1], &c->own_then);
  arena_copy_make(&c->memory, c->room[2], &c->memory_then);
}

static void answer(cell *c, const eb_script_cell_work *work)
{
  arena_copy_restore(&c->own_then, &c->own->memory);
  arena_copy_restore(&c->memory_then, &c->memory);
  c->runs = c->runs_then;
  memset(c->answer.bytes, 0, work->answer_size);
  work->answer(c->begun, &c->host, &c->runner, c->question.bytes, c->answer.bytes);
  c->answer.head = (frame_head){.kind = FRAME_REQUEST, .size = (uint32_t)work->answer_size};
}

void cell_live(const child_order *order)
{
  const eb_script_cell_work *work = order->work;
  this_cell = cell_new(order);
  if (this_cell == NULL)
    child_give_up_unlocked(order, "there is no memory to run a procedure");
  if (!lock_in(order->socket, order->parent, order->first_thread, order->processor_s, order->rules))
    child_give_up_unlocked(order, "a procedure cannot be locked in here");
  child_plant(&this_cell->memory);
  begin(this_cell, work);
  while (child_receive(order->socket, &this_cell->question)) {
    answer(this_cell, work);
    if (!child_send(order->socket, &this_cell->answer, frame_whole(&this_cell->answer)))
      break;
  }
  _exit(0);
}
