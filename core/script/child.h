/* Child: the locked-in process of one run. */
#ifndef EB_SCRIPT_CHILD_H
#define EB_SCRIPT_CHILD_H

#include "filter.h"

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
} child_order;

/* The child's part of a fork: runs the procedure to its end. Does not return. */
void child_live(const child_order *order);

#endif
