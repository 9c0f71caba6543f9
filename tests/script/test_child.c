/* Runs in a process of its own: what comes from there is hostile, and whatever ends it costs one line. */
#include "rig.h"

#include "frame.h"
#include "process.h"

#include "evenbore/text.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/seccomp.h>
#include <malloc.h>
#include <pthread.h>
#include <seccomp.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/ioctl.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

static void say(int socket, const void *bytes, size_t size)
{
  if (write(socket, bytes, size) != (ssize_t)size)
    _exit(9);
}

static void say_head(int socket, uint32_t kind, uint32_t size)
{
  frame_head head = {.kind = kind, .size = size};
  say(socket, &head, sizeof head);
}

static void say_request(int socket, const char *text, size_t size)
{
  say_head(socket, FRAME_REQUEST, (uint32_t)size);
  say(socket, text, size);
}

static void wait_for_ever(void)
{
  for (;;)
    pause();
}

/* What a child that has been taken over might do in place of its work. */
static void speak_rubbish(const child_order *order)
{
  say(order->socket, "GET / HTTP/1.1\r\n\r\n", 18);
  wait_for_ever();
}
static void announce_too_much(const child_order *order)
{
  say_head(order->socket, FRAME_REQUEST, UINT32_MAX);
  wait_for_ever();
}
static void announce_one_too_many(const child_order *order)
{
  say_head(order->socket, FRAME_REQUEST, EB_PROCEDURE_REQUEST_MAX + 1);
  wait_for_ever();
}
static void announce_nothing(const child_order *order)
{
  say_head(order->socket, FRAME_REQUEST, 0);
  wait_for_ever();
}
static void send_a_reply(const child_order *order)
{
  say_head(order->socket, FRAME_REPLY, 2);
  say(order->socket, "{}", 2);
  wait_for_ever();
}
static void stop_within_a_head(const child_order *order)
{
  say(order->socket, "\1\0", 2);
  wait_for_ever();
}
static void stop_within_a_text(const child_order *order)
{
  say_head(order->socket, FRAME_REQUEST, 100);
  say(order->socket, "{\"op\":", 6);
  wait_for_ever();
}
static void say_nothing(const child_order *order)
{
  (void)order;
  wait_for_ever();
}
static void drip(const child_order *order)
{
  say_head(order->socket, FRAME_REQUEST, EB_PROCEDURE_REQUEST_MAX);
  for (;;) {
    say(order->socket, " ", 1);
    usleep(20000);
  }
}
static void say_two_at_once(const child_order *order)
{
  static const char two[] = "\1\0\0\0\2\0\0\0{}\1\0\0\0\2\0\0\0{}";
  say(order->socket, two, sizeof two - 1);
  wait_for_ever();
}
static void die_within_a_text(const child_order *order)
{
  say_head(order->socket, FRAME_REQUEST, 100);
  say(order->socket, "{\"op\":", 6);
}
static void send_no_utf8(const child_order *order)
{
  say_request(order->socket, "{\"op\":\"\xC3\x28\"}", 11);
  wait_for_ever();
}
static void send_nul(const child_order *order)
{
  say_request(order->socket, "{\"op\":\"\0\"}", 10);
  wait_for_ever();
}
static void fail_in_part(const child_order *order)
{
  say_head(order->socket, FRAME_FAILURE, 10);
  say(order->socket, "0123456789", 10);
  wait_for_ever();
}
static void fail_with_everything_wrong(const child_order *order)
{
  eb_error error;
  memset(&error, 0x1B, sizeof error); /* no end of text anywhere, escapes only, no status that there is */
  say_head(order->socket, FRAME_FAILURE, sizeof error);
  say(order->socket, &error, sizeof error);
  wait_for_ever();
}
static void fail_as_if_it_were_well(const child_order *order)
{
  eb_error error = {.status = EB_OK, .message = "all is well\n\xE2\x80\xAE"};
  say_head(order->socket, FRAME_FAILURE, sizeof error);
  say(order->socket, &error, sizeof error);
}
static void leave(const child_order *order)
{
  (void)order;
  _exit(0);
}
static void leave_with_a_number(const child_order *order)
{
  (void)order;
  _exit(77);
}
static void die_by(int signal_number)
{
  signal(signal_number, SIG_DFL);
  sigset_t none;
  sigemptyset(&none);
  sigprocmask(SIG_SETMASK, &none, NULL);
  raise(signal_number);
}
static void die_by_segv(const child_order *order)
{
  (void)order;
  die_by(SIGSEGV);
}
static void die_by_abort(const child_order *order)
{
  (void)order;
  die_by(SIGABRT);
}
static void die_by_kill(const child_order *order)
{
  (void)order;
  die_by(SIGKILL);
}
static void die_by_sys(const child_order *order)
{
  (void)order;
  die_by(SIGSYS);
}
static void close_and_live_on(const child_order *order)
{
  close(order->socket);
  wait_for_ever();
}

typedef struct hostile {
  const char *name;
  void (*live)(const child_order *order);
  eb_status status;
  const char *message;
} hostile;

/* Starts `live` where a run would be. */
static eb_status begin(void (*live)(const child_order *order), long answer_ms, eb_procedure *procedure)
{
  eb_source main = rig_source("v8.lua", "");
  child_order order = {.main = &main, .processor_s = 10};
  eb_error error;
  return process_begin(eb_host_system(), &order, live, answer_ms, procedure, &error);
}

static bool holds(const hostile *h)
{
  eb_procedure procedure;
  assert_int_equal(begin(h->live, 300, &procedure), EB_OK);
  static request_text request = {.text = "as it was"};
  eb_error error;
  eb_status status = text_exchange(&procedure, NULL, &request, &error);
  procedure.destroy(procedure.self);
  print_message("%-28s %s: %s\n", h->name, error.place, error.message);
  bool good = status == h->status && error.status == h->status && strstr(error.message, h->message) != NULL &&
              strcmp(request.text, "as it was") == 0 && eb_utf8_valid(error.message, strlen(error.message), NULL);
  for (const char *c = error.message; *c != '\0'; c++)
    good = good && (unsigned char)*c >= ' ';
  if (!good)
    print_error("%s: %s\n", h->name, eb_status_word(status));
  return good;
}

static void whatever_a_child_sends_costs_one_line(void **state)
{
  (void)state;
  static const hostile all[] = {
      {"speaks rubbish", speak_rubbish, EB_SCRIPT, "no request"},
      {"announces 4 GiB", announce_too_much, EB_SCRIPT, "no request"},
      {"announces a byte too many", announce_one_too_many, EB_SCRIPT, "no request"},
      {"announces nothing", announce_nothing, EB_SCRIPT, "no request"},
      {"sends a reply", send_a_reply, EB_SCRIPT, "no request"},
      {"stops within a head", stop_within_a_head, EB_BUDGET, "no word from the procedure for 300 ms"},
      {"stops within a text", stop_within_a_text, EB_BUDGET, "no word from the procedure for 300 ms"},
      {"says nothing", say_nothing, EB_BUDGET, "no word from the procedure for 300 ms"},
      {"drips", drip, EB_BUDGET, "no word from the procedure for 300 ms"},
      {"says two at once", say_two_at_once, EB_SCRIPT, "no request"},
      {"dies within a text", die_within_a_text, EB_SCRIPT, "ended without a word"},
      {"sends no UTF-8", send_no_utf8, EB_SCRIPT, "no request"},
      {"sends a NUL", send_nul, EB_SCRIPT, "no request"},
      {"fails in part", fail_in_part, EB_SCRIPT, "no request"},
      {"fails with all wrong", fail_with_everything_wrong, EB_SCRIPT, "\\u{1B}"},
      {"fails as if all were well", fail_as_if_it_were_well, EB_SCRIPT, "all is well\\u{A}\\u{202E}"},
      {"leaves", leave, EB_SCRIPT, "ended without a word"},
      {"leaves with a number", leave_with_a_number, EB_SCRIPT, "ended without a word"},
      {"dies by SEGV", die_by_segv, EB_SCRIPT, "broke down (signal 11, SEGV)"},
      {"dies by ABRT", die_by_abort, EB_SCRIPT, "broke down (signal 6, ABRT)"},
      {"dies by KILL", die_by_kill, EB_BUDGET, "was killed: more than 10 s of work in all, or the machine's memory"},
      {"dies by SYS", die_by_sys, EB_SCRIPT, "reached for the machine"},
      {"closes and lives on", close_and_live_on, EB_BUDGET, "was killed"},
  };
  int broken = 0;
  for (size_t i = 0; i < sizeof all / sizeof all[0]; i++)
    broken += !holds(&all[i]);
  assert_int_equal(broken, 0);
  assert_int_equal(waitpid(-1, NULL, WNOHANG), -1); /* none is left */
  assert_int_equal(errno, ECHILD);
}

/* A request for each reply that has come, and none of them is read. */
static void never_listen(const child_order *order)
{
  int replies = 0;
  for (;;) {
    int waiting = 0;
    if (ioctl(order->socket, FIONREAD, &waiting) != 0)
      _exit(1);
    if (waiting < replies * (int)(sizeof(frame_head) + EB_PROCEDURE_REQUEST_MAX)) {
      usleep(1000);
      continue;
    }
    say_request(order->socket, "{\"op\":\"tell\"}", 13);
    replies++;
  }
}

static void a_child_that_does_not_listen_is_ended(void **state)
{
  (void)state;
  eb_procedure procedure;
  assert_int_equal(begin(never_listen, 300, &procedure), EB_OK);
  static char reply[EB_PROCEDURE_REQUEST_MAX + 1];
  snprintf(reply, sizeof reply, "\"%0*d\"", EB_PROCEDURE_REQUEST_MAX - 2, 0);
  static request_text request;
  eb_error error;
  eb_status status = text_exchange(&procedure, NULL, &request, &error);
  int rounds = 0;
  for (; status == EB_OK && rounds < 1000; rounds++)
    status = text_exchange(&procedure, reply, &request, &error);
  procedure.destroy(procedure.self);
  assert_int_equal(status, EB_BUDGET);
  assert_in_range(rounds, 1, 100);
}

/* A run that computes without end, in a process that is killed. */
static void no_child_outlives_its_parent(void **state)
{
  (void)state;
  assert_int_equal(prctl(PR_SET_CHILD_SUBREAPER, 1), 0); /* orphans come here */
  static const char *const lines[] = {"while true do end", "ask { 1 }"};
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
    pid_t parent = fork();
    if (parent == 0) {
      eb_script_limits limits = eb_script_limits_usual();
      limits.instructions = 1000000000000;
      limits.processor_ms = 60000;
      rig_in_child = true;
      script_rig rig;
      rig_run(&rig, &limits, lines[i]);
      wait_for_ever();
    }
    usleep(200000);
    kill(parent, SIGKILL);
    assert_int_equal(waitpid(parent, NULL, 0), parent);
    int how = 0;
    pid_t orphan = 0;
    for (int waited_ms = 0; orphan == 0 && waited_ms < 5000; waited_ms += 10) {
      usleep(10000);
      orphan = waitpid(-1, &how, WNOHANG);
    }
    assert_true(orphan > 0);
  }
}

/* A kernel without seccomp, as far as a process can tell: the calls that would set a filter do not know how. */
static void take_filters_away(void)
{
  scmp_filter_ctx context = seccomp_init(SCMP_ACT_ALLOW);
  assert_int_equal(
      seccomp_rule_add(context, SCMP_ACT_ERRNO(EINVAL), SCMP_SYS(prctl), 1, SCMP_A0(SCMP_CMP_EQ, PR_SET_SECCOMP, 0)),
      0);
  assert_int_equal(seccomp_rule_add(context, SCMP_ACT_ERRNO(ENOSYS), SCMP_SYS(seccomp), 0), 0);
  assert_int_equal(seccomp_load(context), 0);
  seccomp_release(context);
}

static eb_status first_request(const eb_script_child *child, const eb_source *main, eb_error *error)
{
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_runner runner = eb_script_child_runner(child);
  eb_procedure procedure;
  static request_text request;
  eb_status status = runner.start(runner.context, eb_host_system(), main, library, count, &procedure, error);
  if (status != EB_OK)
    return status;
  status = text_exchange(&procedure, NULL, &request, error);
  procedure.destroy(procedure.self);
  return status;
}

static int judge_without_filters(void)
{
  take_filters_away();
  eb_error error;
  eb_script_child *child = NULL;
  eb_script_child_options options = {.trusts = false};
  const eb_source *builtin = eb_script_builtin_procedure("v8-coupled");
  eb_source changed = *builtin;
  char text[EB_PROCEDURE_SOURCE_MAX];
  memcpy(text, builtin->text, builtin->size);
  text[0] = ' ';
  changed.text = text;
  if (eb_script_child_create(eb_host_system(), &options, &child, &error) != EB_OK || eb_script_child_is_filtered(child))
    return 1;
  if (first_request(child, builtin, &error) != EB_OK)
    return 2;
  eb_script_cell *cell = NULL;
  eb_script_cell_work work = {.name = "v8.lua", .memory = 1024};
  if (eb_script_cell_open(child, &work, &cell, &error) != EB_REFUSED)
    return 6;
  if (first_request(child, &changed, &error) != EB_REFUSED || strstr(error.message, "seccomp") == NULL)
    return 3;
  eb_script_child_destroy(child);
  options.trusts = true;
  if (eb_script_child_create(eb_host_system(), &options, &child, &error) != EB_OK)
    return 4;
  text[0] = '-';
  if (first_request(child, &changed, &error) != EB_OK)
    return 5;
  eb_script_child_destroy(child);
  return 0;
}

static void without_filters_only_what_is_trusted_runs(void **state)
{
  (void)state;
  pid_t id = fork();
  if (id == 0)
    _exit(judge_without_filters());
  int how = 0;
  assert_int_equal(waitpid(id, &how, 0), id);
  assert_true(WIFEXITED(how));
  assert_int_equal(WEXITSTATUS(how), 0);
}

/* A kernel that says that it takes filters, and then takes none. */
static void a_lock_that_does_not_close_ends_the_run(void **state)
{
  (void)state;
  filter none = {.count = 0}; /* an empty program is refused */
  eb_source main = rig_source("v8.lua", "return 1");
  child_order order = {.main = &main, .processor_s = 10, .rules = &none, .limits = eb_script_limits_usual()};
  eb_procedure procedure;
  eb_error error;
  assert_int_equal(process_begin(eb_host_system(), &order, child_live, 1000, &procedure, &error), EB_OK);
  static request_text request;
  assert_int_equal(text_exchange(&procedure, NULL, &request, &error), EB_IO);
  assert_non_null(strstr(error.message, "cannot be locked in"));
  procedure.destroy(procedure.self);
}

/* Threads that hold malloc's and stdio's locks most of the time, while others fork. */
static volatile bool busy;

static void *keep_busy(void *unused)
{
  (void)unused;
  char text[64];
  while (busy) {
    void *block = malloc(100000);
    snprintf(text, sizeof text, "%p", block);
    free(block);
    malloc_trim(0);
  }
  return NULL;
}

static void *run_some(void *child)
{
  const eb_source *builtin = eb_script_builtin_procedure("v8-coupled");
  eb_error error;
  for (int i = 0; i < 20; i++)
    if (first_request(child, builtin, &error) != EB_OK)
      return child;
  return NULL;
}

static void threads_start_runs_at_once(void **state)
{
  (void)state;
  eb_error error;
  eb_script_child *child = NULL;
  assert_int_equal(eb_script_child_create(eb_host_system(), &(eb_script_child_options){0}, &child, &error), EB_OK);
  busy = true;
  pthread_t noise[2];
  pthread_t runs[4];
  for (int i = 0; i < 2; i++)
    assert_int_equal(pthread_create(&noise[i], NULL, keep_busy, NULL), 0);
  for (int i = 0; i < 4; i++)
    assert_int_equal(pthread_create(&runs[i], NULL, run_some, child), 0);
  void *failed = NULL;
  for (int i = 0; i < 4; i++) {
    assert_int_equal(pthread_join(runs[i], &failed), 0);
    assert_null(failed);
  }
  busy = false;
  for (int i = 0; i < 2; i++)
    assert_int_equal(pthread_join(noise[i], NULL), 0);
  eb_script_child_destroy(child);
}

/* A run that was started by a thread goes on when that thread has ended. */
static void *start_one(void *rig)
{
  rig_in_child = true;
  rig_run(rig, NULL, "ask { 1 }\nask { 2 }");
  return NULL;
}

static void a_run_outlives_the_thread_that_started_it(void **state)
{
  (void)state;
  script_rig rig;
  pthread_t thread;
  assert_int_equal(pthread_create(&thread, NULL, start_one, &rig), 0);
  assert_int_equal(pthread_join(thread, NULL), 0);
  usleep(20000);
  assert_int_equal(rig_next(&rig, "{\"value\":1}"), EB_OK);
  assert_non_null(strstr(rig.request, "[2]"));
  rig_end(&rig);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(whatever_a_child_sends_costs_one_line),
      cmocka_unit_test(a_child_that_does_not_listen_is_ended),
      cmocka_unit_test(no_child_outlives_its_parent),
      cmocka_unit_test(without_filters_only_what_is_trusted_runs),
      cmocka_unit_test(a_lock_that_does_not_close_ends_the_run),
      cmocka_unit_test(threads_start_runs_at_once),
      cmocka_unit_test(a_run_outlives_the_thread_that_started_it),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
