#include "child.h"

#include "lock.h"
#include "prepared.h"
#include "runner.h"

#include "evenbore/json.h"

#include <errno.h>
#include <stdbool.h>
#include <string.h>
#include <unistd.h>

/* The JSON library's allocator has no context. Set after the fork, in a process that has one use for trees. */
static arena *memory_of_all;

static void *allocate_tree(size_t size)
{
  return arena_allocate(memory_of_all, NULL, size == 0 ? 1 : size);
}

static void release_tree(void *block)
{
  arena_allocate(memory_of_all, block, 0);
}

void child_plant(arena *a)
{
  memory_of_all = a;
  eb_json_allocate_with(allocate_tree, release_tree);
}

bool child_send(int socket, const void *bytes, size_t size)
{
  while (size > 0) {
    ssize_t done = write(socket, bytes, size);
    if (done <= 0)
      return false;
    bytes = (const char *)bytes + done;
    size -= (size_t)done;
  }
  return true;
}

bool child_receive(int socket, frame *f)
{
  size_t got = 0;
  while (got < sizeof f->head || got < frame_whole(f)) {
    ssize_t done = read(socket, (char *)f + got, sizeof *f - got);
    if (done <= 0)
      return false;
    got += (size_t)done;
    if (got >= sizeof f->head && f->head.size > EB_PROCEDURE_REQUEST_MAX)
      return false;
  }
  return true;
}

_Noreturn void child_give_up(int socket, const eb_error *error)
{
  frame_head head = {.kind = FRAME_FAILURE, .size = sizeof *error};
  if (child_send(socket, &head, sizeof head))
    child_send(socket, error, sizeof *error);
  _exit(0);
}

/* From reply to request until the run fails or nobody listens any more. */
static void lead(const child_order *order, const eb_procedure *procedure, frame *f, eb_error *error)
{
  eb_json *reply = NULL;
  for (;;) {
    eb_json *request = NULL;
    eb_status status = procedure->exchange(procedure->self, reply, &request, error);
    eb_json_destroy(reply);
    if (status == EB_OK && !frame_write(f, FRAME_REQUEST, request))
      status = eb_fail(error, EB_BUDGET, order->main->name, "a request of more than %d bytes",
                       (int)EB_PROCEDURE_REQUEST_MAX);
    eb_json_destroy(request);
    if (status != EB_OK)
      child_give_up(order->socket, error);
    if (!child_send(order->socket, f, frame_whole(f)) || !child_receive(order->socket, f))
      return;
    if (eb_json_parse(f->bytes, f->head.size, &reply, error) != EB_OK)
      child_give_up(order->socket, error);
  }
}

_Noreturn void child_give_up_unlocked(const child_order *order, const char *what)
{
  eb_error error;
  eb_fail(&error, EB_IO, order->main->name, "%s (error %d of the system)", what, errno);
  child_give_up(order->socket, &error);
}

/* The run that was prepared in this process's copy of the memory, or one from its beginning. */
static eb_status begin(const child_order *order, prepared *own, eb_procedure *procedure, eb_error *error)
{
  if (own->machine != NULL)
    return runner_begin(own->machine, order->main, order->library, order->library_count, procedure, error);
  eb_runner runner = eb_script_runner(&order->limits);
  return runner.start(runner.context, &own->host, order->main, order->library, order->library_count, procedure, error);
}

void child_live(const child_order *order)
{
  prepared fresh = {0};
  prepared *own = order->prepared != NULL ? (prepared *)order->prepared : &fresh; /* this process's copy of it */
  eb_error error;
  eb_procedure procedure;
  if (own == &fresh && !prepared_take(&fresh, &order->limits))
    child_give_up_unlocked(order, "there is no memory to run a procedure");
  if (!lock_in(order->socket, order->parent, order->first_thread, order->processor_s, order->rules))
    child_give_up_unlocked(order, "a procedure cannot be locked in here");
  child_plant(&own->memory);
  frame *f = arena_allocate(&own->memory, NULL, sizeof *f);
  if (f == NULL)
    child_give_up_unlocked(order, "there is no memory to run a procedure");
  if (begin(order, own, &procedure, &error) != EB_OK)
    child_give_up(order->socket, &error);
  lead(order, &procedure, f, &error);
  _exit(0);
}
