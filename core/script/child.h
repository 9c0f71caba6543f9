/* Child: the locked-in process of one run. */
#ifndef EB_SCRIPT_CHILD_H
#define EB_SCRIPT_CHILD_H

#include "arena.h"
#include "filter.h"
#include "frame.h"

#include "evenbore/script.h"

#include <sys/types.h>

struct prepared;

/* What it is to do, made before the fork. All borrowed. */
typedef struct child_order {
  int socket; /* its end */
  pid_t parent;
  bool first_thread;   /* whether the parent forks in the thread that lives as long as it does */
  const filter *rules; /* NULL: the kernel takes no filter */
  long processor_s;    /* of all its life */
  eb_script_limits limits;
  const eb_source *main;
  const eb_source *library;
  size_t library_count;
  const struct prepared *prepared; /* fits that library; NULL: the run begins from nothing */
  const eb_script_cell_work *work; /* of a cell, which has no library of its own; NULL: a run */
} child_order;

/* The child's part of a fork: runs the procedure to its end. Does not return. */
void child_live(const child_order *order);

/* What lives in a child is made of. */

/* All JSON trees come from this arena from here on: in there is no malloc. */
void child_plant(arena *a);
/* False where the other end is gone. */
bool child_send(int socket, const void *bytes, size_t size);
bool child_receive(int socket, frame *f);
_Noreturn void child_give_up(int socket, const eb_error *error);
_Noreturn void child_give_up_unlocked(const child_order *order, const char *what);

#endif
