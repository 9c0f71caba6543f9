/* Script: runs procedures written in Lua 5.4, contained. */
#ifndef EVENBORE_SCRIPT_H
#define EVENBORE_SCRIPT_H

#include "evenbore/procedure.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Budgets of one procedure.  A script cannot raise them, nor catch their end with
 * pcall; reaching one ends the run with EB_BUDGET, not the session. */
typedef struct eb_script_limits {
  long instructions; /* Lua VM instructions between two answers, library work charged: 5 000 000 */
  long processor_ms; /* processor time of its own between two answers, a backstop: 1 500 */
  size_t memory;     /* bytes of all Lua memory: 16 MiB */
  size_t string;     /* bytes of one string: 64 KiB */
  size_t block;      /* bytes of any other block: 1 MiB */
  bool tells_use;    /* each request then has `used` {"instructions" since the last reply, "memory" at most so far} */
} eb_script_limits;
eb_script_limits eb_script_limits_usual(void);

/* The runner of Lua procedures. `limits` NULL: the usual ones; else borrowed, it must outlive the runner.
 *
 * The first exchange makes a fresh Lua state, runs lib/api.lua, then the procedure's file, which must
 * return what procedure { ... } made, and gives its `declare`.  The second begins
 * its `run`; when that returns, the request is {"op": "end"}.  Sources are UTF-8 text, at most 64 KiB each; a byte
 * order mark and Windows line ends are taken, compiled Lua is not.  A procedure's name has no folder, a library file's
 * is "lib/NAME.lua"; both have at most 59 bytes.  An error's place is the line of the file that it happened in; where
 * that is a library file, the message names the author's line too.  Runs in different threads do not meet; one run
 * is used by one thread at a time.  JSON trees, the reply's and the request's while it is
 * made, are not part of `memory`; EB_PROCEDURE_REQUEST_MAX bounds them. */
eb_runner eb_script_runner(const eb_script_limits *limits);

/* The same runner, each run in a process of its own, locked in before the procedure is read: no file, no socket but the
 * one to this process, no privilege, no memory but what it was given, no system call but to read, write, tell the time
 * and end.  What it sends is taken as hostile; whatever ends it (its error, its budget, a signal, silence) fails the
 * exchange with one line, and this process stays whole.
 *
 * A run costs a fork.  In a program with threads too: until it is locked in, the child calls only what is safe there,
 * and from then on it has memory of its own, no lock and no thread; it does not use malloc.  Runs in different
 * threads do not meet.  The child is waited for by its number: a program that waits for any child, or ignores
 * SIGCHLD, takes from the message why it died, no more.  It dies with this process. */
typedef struct eb_script_child eb_script_child;

typedef struct eb_script_child_options {
  const eb_script_limits *limits; /* NULL: the usual ones; copied */
  long answer_ms;                 /* the longest between two requests by a clock on the wall; 0: 60 000 */
  bool trusts;                    /* other sources than built-in ones run also where there is no filter */
} eb_script_child_options;

/* `host` must outlive it.  EB_OUT_OF_MEMORY; EB_IO where no file descriptor is left. */
eb_status eb_script_child_create(const eb_host *host, const eb_script_child_options *options, eb_script_child **child,
                                 eb_error *error);
void eb_script_child_destroy(eb_script_child *child); /* after the last run has ended; NULL is allowed */

/* Whether this kernel filters system calls (seccomp).  Where it does not, a child has lost its files, privileges and
 * limits all the same, but could call for others: then `start` refuses what is not built in, byte by byte, with
 * EB_REFUSED, unless the options trust it. */
bool eb_script_child_is_filtered(const eb_script_child *child);

/* Names in a source that nothing gives a value to: what is met only where that line comes to be run.  Calls `each` with
 * the line and the message that running it would raise.  Text that Lua cannot read ends it. */
void eb_script_unknown_names(const eb_source *source, void (*each)(void *context, int line, const char *message),
                             void *context);

/* Borrows `child`.  `start` also fails with EB_IO or EB_OUT_OF_MEMORY where no process can be made; so does an exchange
 * (EB_IO) where the kernel does not let it be locked in. */
eb_runner eb_script_child_runner(const eb_script_child *child);

/* A cell: a process that is locked in as a run's own, where work of the caller's and the runs that it leads live
 * together, so that a message between them costs no change of processes.  For play without a person and an engine: what
 * broke out of Lua there could forge what the work answers, and nothing beyond.  Where that matters, as for what
 * another shop sent, each run is to have a process of its own. */
typedef struct eb_script_cell eb_script_cell;

typedef struct eb_script_cell_work {
  const char *name;                  /* of what is played, for messages */
  size_t memory;                     /* bytes that `host` has to give: from 1 KiB to 16 GiB */
  size_t question_size, answer_size; /* bytes: at most EB_PROCEDURE_REQUEST_MAX */
  /* Both are called in the cell, where no system call is left but those of a run: no malloc, no file, no thread. All
   * memory comes from `host`, trees too.  `runner` starts one run at a time, from the built-in library only (EB_REFUSED
   * else); it is the usual one in all that it does.  context, and whatever it leads to, is as it was when the cell was
   * opened.
   *
   * begin: once, before the first answer; NULL: there is nothing to begin with.  What it returns (else context) is
   * handed to each answer, which finds the host's memory, and a run that begin may have started, as begin left them,
   * whatever the answers before did: what an answer takes need not be given back.  Question and answer are aligned
   * to 8 bytes, the answer is zero at first. */
  void *(*begin)(void *context, const eb_host *host, const eb_runner *runner);
  void (*answer)(void *begun, const eb_host *host, const eb_runner *runner, const void *question, void *answer);
  void *context;
} eb_script_cell_work;

/* Copies *work but for its name and context, which are borrowed for the call; memory that is shared between processes
 * and not marked MADV_DONTFORK is open to the cell.  EB_REFUSED where this kernel has no filter; EB_OUT_OF_MEMORY,
 * EB_IO. `child` must outlive the cell, which dies with this process. */
eb_status eb_script_cell_open(const eb_script_child *child, const eb_script_cell_work *work, eb_script_cell **cell,
                              eb_error *error);

/* One question, one answer, each of its size; what stands in the answer is to be taken as hostile.  Fails as an
 * exchange does (procedure.h), also where no answer comes within the child's answer_ms, or where all that the cell was
 * asked so far has taken more than 120 s of processor time: then it can only be closed. */
eb_status eb_script_cell_ask(eb_script_cell *cell, const void *question, void *answer, eb_error *error);
void eb_script_cell_close(eb_script_cell *cell); /* NULL is allowed */

/* A procedure or library file that is built into the program.  Static. */
const eb_source *eb_script_builtin_procedure(const char *id); /* "v8-coupled"; NULL: none */
const eb_source *eb_script_builtin_procedures(size_t *count); /* sorted by name */
const eb_source *eb_script_builtin_library(size_t *count);    /* procedures/lib, sorted by name */

#ifdef __cplusplus
}
#endif
#endif
