#include "process.h"

#include "frame.h"

#include "evenbore/text.h"

#include <assert.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum {
  DYING_MS = 1000 /* from the end of its words to its death */
};

struct process {
  const eb_host *host;
  pid_t id; /* 0: it has ended, and been waited for */
  int socket;
  long answer_ms;
  long processor_s;
  int64_t until_ms;
  char name[64];
  frame frame; /* to and fro */
};

static int64_t now_ms(const process *p)
{
  return p->host->monotonic_ns(p->host->context) / 1000000;
}

/* Waits for the process to die, by itself or by force; *how is what waitpid says, -1 where another has taken it. */
static void bury(process *p, bool by_force, int *how)
{
  *how = -1;
  for (int waited_ms = 0; p->id != 0; waited_ms++) {
    if (by_force || waited_ms == DYING_MS)
      kill(p->id, SIGKILL);
    pid_t met = waitpid(p->id, how, by_force ? 0 : WNOHANG);
    if (met < 0 && errno == EINTR)
      continue;
    if (met != 0)
      p->id = 0;
    else
      nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL);
    by_force = by_force || waited_ms >= DYING_MS;
  }
}

static eb_status fail_killed(const process *p, int by, eb_error *error)
{
  if (by == SIGSYS)
    return eb_fail(error, EB_SCRIPT, p->name, "the procedure reached for the machine that it runs on, and was stopped");
  if (by == SIGKILL || by == SIGXCPU)
    return eb_fail(
        error, EB_BUDGET, p->name,
        "the procedure's process was killed: more than %ld s of work in all, or the machine's memory ran out",
        p->processor_s);
  const char *name = sigabbrev_np(by);
  return eb_fail(error, EB_SCRIPT, p->name, "the procedure's process broke down (signal %d, %s)", by,
                 name == NULL ? "of no name" : name);
}

/* The process says nothing more: why. */
static eb_status fail_ended(process *p, eb_error *error)
{
  int how;
  bury(p, false, &how);
  if (how != -1 && WIFSIGNALED(how))
    return fail_killed(p, WTERMSIG(how), error);
  return eb_fail(error, EB_SCRIPT, p->name, "the procedure's process ended without a word");
}

static eb_status fail_late(process *p, eb_error *error)
{
  int how;
  bury(p, true, &how);
  return eb_fail(error, EB_BUDGET, p->name, "no word from the procedure for %ld ms; it was ended", p->answer_ms);
}

static eb_status fail_garbled(process *p, eb_error *error)
{
  int how;
  bury(p, true, &how);
  return eb_fail(error, EB_SCRIPT, p->name, "the procedure's process sends what is no request; it was ended");
}

/* Whether a failed call only came to the socket's own time limit, or was interrupted. */
static bool is_too_early(ssize_t done)
{
  return done < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR);
}

/* What a call on the socket did: some bytes, or too early (0 in *done). */
static eb_status judge_call(process *p, ssize_t *done, eb_error *error)
{
  if (is_too_early(*done))
    *done = 0;
  else if (*done <= 0)
    return fail_ended(p, error);
  return EB_OK;
}

/* Some of the bytes have gone: whether there is time for the others. */
static eb_status check_time(process *p, eb_error *error)
{
  return p->until_ms <= now_ms(p) ? fail_late(p, error) : EB_OK;
}

static eb_status send_all(process *p, const void *bytes, size_t size, eb_error *error)
{
  for (;;) {
    ssize_t done = send(p->socket, bytes, size, MSG_NOSIGNAL);
    eb_status status = judge_call(p, &done, error);
    if (status != EB_OK || (size_t)done == size)
      return status;
    bytes = (const char *)bytes + done;
    size -= (size_t)done;
    status = check_time(p, error);
    if (status != EB_OK)
      return status;
  }
}

/* One frame, all of it and nothing behind it. */
static eb_status receive_frame(process *p, eb_error *error)
{
  frame *f = &p->frame;
  for (size_t got = 0;;) {
    ssize_t done = recv(p->socket, (char *)f + got, sizeof *f - 1 - got, 0);
    eb_status status = judge_call(p, &done, error);
    if (status != EB_OK)
      return status;
    got += (size_t)done;
    bool has_head = got >= sizeof f->head;
    if (has_head && (f->head.size > EB_PROCEDURE_REQUEST_MAX || got > frame_whole(f)))
      return fail_garbled(p, error);
    if (has_head && got == frame_whole(f))
      return EB_OK;
    status = check_time(p, error);
    if (status != EB_OK)
      return status;
  }
}

static bool is_of_a_run(eb_status status)
{
  return status == EB_SCRIPT || status == EB_BUDGET || status == EB_OUT_OF_MEMORY || status == EB_ENDED ||
         status == EB_IO || status == EB_BAD_VALUE || status == EB_BAD_TEXT;
}

/* Also a run that has been broken into writes no control characters on a screen. */
static void add_told(const process *p, const char *told, size_t size, eb_text *text)
{
  eb_text_init(text, p->host);
  eb_text_add_safe(text, told, strnlen(told, size), false);
}

static eb_status fail_as_told(process *p, const eb_error *told, eb_error *error)
{
  eb_text place;
  eb_text message;
  add_told(p, told->place, sizeof told->place, &place);
  add_told(p, told->message, sizeof told->message, &message);
  eb_status status = place.failed || message.failed ? EB_OUT_OF_MEMORY : told->status;
  if (!is_of_a_run(status))
    status = EB_SCRIPT;
  eb_fail(error, status, eb_text_string(&place), "%s", eb_text_string(&message));
  eb_text_clear(&place);
  eb_text_clear(&message);
  return status;
}

frame *process_frame(process *p)
{
  return &p->frame;
}

eb_status process_exchange(process *p, bool sends, eb_error *error)
{
  frame *f = &p->frame;
  p->until_ms = now_ms(p) + p->answer_ms;
  eb_status status = sends ? send_all(p, f, frame_whole(f), error) : EB_OK;
  if (status == EB_OK)
    status = receive_frame(p, error);
  if (status != EB_OK)
    return status;
  eb_error told;
  if (f->head.kind == FRAME_FAILURE && f->head.size == sizeof told) {
    memcpy(&told, f->bytes, sizeof told);
    return fail_as_told(p, &told, error);
  }
  return f->head.kind == FRAME_REQUEST ? EB_OK : fail_garbled(p, error);
}

static eb_status exchange(void *self, const eb_json *reply, eb_json **request, eb_error *error)
{
  process *p = self;
  if (reply != NULL && !frame_write(&p->frame, FRAME_REPLY, reply))
    return eb_fail(error, EB_BUDGET, p->name, "a reply of more than %d bytes to the procedure",
                   (int)EB_PROCEDURE_REQUEST_MAX);
  eb_status status = process_exchange(p, reply != NULL, error);
  if (status != EB_OK)
    return status;
  status = eb_json_parse(p->frame.bytes, p->frame.head.size, request, error);
  return status == EB_OK || status == EB_OUT_OF_MEMORY ? status : fail_garbled(p, error);
}

void process_close(process *p)
{
  int how;
  if (p->socket >= 0)
    close(p->socket);
  bury(p, true, &how);
  p->host->allocate(p->host->context, p, 0);
}

static void destroy(void *self)
{
  process_close(self);
}

/* All signals are held back until the child holds them back itself: no handler of this program runs in it. */
static pid_t fork_to(const child_order *order, void (*live)(const child_order *order))
{
  sigset_t all;
  sigset_t before;
  sigfillset(&all);
  pthread_sigmask(SIG_SETMASK, &all, &before);
  pid_t id = fork();
  if (id == 0) {
    live(order);
    _exit(0);
  }
  int failure = errno;
  pthread_sigmask(SIG_SETMASK, &before, NULL);
  errno = failure;
  return id;
}

/* No call on it takes longer than a second, or than the run has for its answer. */
static bool limit_calls(int socket, long answer_ms)
{
  long ms = answer_ms < 1000 ? answer_ms : 1000;
  struct timeval most = {.tv_sec = ms / 1000, .tv_usec = ms % 1000 * 1000};
  return setsockopt(socket, SOL_SOCKET, SO_RCVTIMEO, &most, sizeof most) == 0 &&
         setsockopt(socket, SOL_SOCKET, SO_SNDTIMEO, &most, sizeof most) == 0;
}

static eb_status give_life(process *p, const child_order *order, void (*live)(const child_order *order),
                           eb_error *error)
{
  int ends[2];
  if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends) != 0)
    return eb_fail(error, EB_IO, p->name, "no process can be started for the procedure (%s)", strerror(errno));
  p->socket = ends[0];
  if (!limit_calls(p->socket, p->answer_ms)) {
    close(ends[1]);
    return eb_fail(error, EB_IO, p->name, "no process can be started for the procedure (%s)", strerror(errno));
  }
  child_order whole = *order;
  whole.socket = ends[1];
  whole.parent = getpid();
  whole.first_thread = syscall(SYS_gettid) == getpid();
  pid_t id = fork_to(&whole, live);
  int failure = errno;
  close(ends[1]);
  if (id < 0)
    return eb_fail(error, failure == ENOMEM ? EB_OUT_OF_MEMORY : EB_IO, p->name,
                   "no process can be started for the procedure (%s)", strerror(failure));
  p->id = id;
  return EB_OK;
}

eb_status process_open(const eb_host *host, const child_order *order, void (*live)(const child_order *order),
                       long answer_ms, process **opened, eb_error *error)
{
  process *made = host->allocate(host->context, NULL, sizeof *made);
  if (made == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, order->main->name, "there is no memory to run a procedure");
  *made = (process){.host = host, .socket = -1, .answer_ms = answer_ms, .processor_s = order->processor_s};
  snprintf(made->name, sizeof made->name, "%s", order->main->name);
  eb_status status = give_life(made, order, live, error);
  if (status != EB_OK) {
    process_close(made);
    return status;
  }
  *opened = made;
  return EB_OK;
}

eb_status process_begin(const eb_host *host, const child_order *order, void (*live)(const child_order *order),
                        long answer_ms, eb_procedure *procedure, eb_error *error)
{
  process *made = NULL;
  eb_status status = process_open(host, order, live, answer_ms, &made, error);
  if (status == EB_OK)
    *procedure = (eb_procedure){.self = made, .exchange = exchange, .destroy = destroy};
  return status;
}
