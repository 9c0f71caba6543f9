#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "evenbore/front.h"

enum { WORDS_MAX = 12 };

/* The machine, but memory runs out at one allocation, and stays out. */
typedef struct scarce {
  eb_host host;
  long left; /* allocations that succeed; below 0: all */
  long made;
} scarce;

static void *scarce_allocate(void *context, void *block, size_t size)
{
  scarce *s = context;
  if (size == 0) {
    free(block);
    return NULL;
  }
  if (s->left >= 0 && s->made >= s->left)
    return NULL;
  s->made++;
  return realloc(block, size);
}

static scarce scarce_new(long left)
{
  scarce s = {.host = *eb_host_system(), .left = left};
  s.host.allocate = scarce_allocate;
  return s;
}

/* Every command line is run in a process of its own, since it takes signals over; its exit status, 100 where it
 * crashed. */
static int run(const char *line, long left, long *made)
{
  char copy[512];
  char *argv[WORDS_MAX + 2] = {(char[]){"evenbore"}};
  int argc = 1;
  int count[2];
  snprintf(copy, sizeof copy, "%s", line);
  for (char *word = strtok(copy, " "); word != NULL; word = strtok(NULL, " "))
    argv[argc++] = word;
  assert_int_equal(pipe(count), 0);
  pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    int nothing = open("/dev/null", O_RDWR);
    for (int file = 0; file <= 2; file++)
      dup2(nothing, file);
    scarce s = scarce_new(left);
    s.host.context = &s;
    int status = eb_front_run(argc, argv, &s.host);
    ssize_t written = write(count[1], &s.made, sizeof s.made);
    exit(written == sizeof s.made ? status : 99); /* with a look for leaks, where that is built in */
  }
  close(count[1]);
  bool told = read(count[0], made, sizeof *made) == sizeof *made;
  close(count[0]);
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  return told && WIFEXITED(status) ? WEXITSTATUS(status) : 100;
}

static char folder[64];

static int setup(void **state)
{
  (void)state;
  long made = 0;
  char line[200];
  snprintf(folder, sizeof folder, "%s/evenbore-XXXXXX", access("/dev/shm", W_OK) == 0 ? "/dev/shm" : "/tmp");
  assert_non_null(mkdtemp(folder));
  static const char *const lines[] = {"habits temperature=F length=thou",
                                      "engine red procedure=v8-coupled idle_rpm=870",
                                      "gauge bench scale=1..30 step=0.25", "tune --engine red --gauge bench"};
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
    snprintf(line, sizeof line, "%s --data %s/kept", lines[i], folder);
    if (run(line, -1, &made) != 0)
      return -1;
  }
  return 0;
}

static int teardown(void **state)
{
  (void)state;
  char command[100];
  snprintf(command, sizeof command, "rm -rf %s", folder);
  return system(command);
}

/* Runs a command with room for 0, 1, 2, ... allocations, in ever longer steps, until it has enough. */
static void survive(const char *words, long step_every)
{
  char line[400];
  long made = 0;
  int runs = 0;
  snprintf(line, sizeof line, "%s --data %s/kept", words, folder);
  assert_int_equal(run(line, -1, &made), 0);
  long wanted = made;
  for (long left = 0; left < wanted; left += 1 + left / step_every, runs++) {
    int status = run(line, left, &made);
    if (status != 0 && status != 1)
      fail_msg("%s with %ld allocations of %ld: status %d", words, left, wanted, status);
  }
  print_message("%s: %d runs out of memory, of up to %ld allocations\n", words, runs, wanted);
}

static void memory_may_run_out_anywhere(void **state)
{
  (void)state;
  survive("sessions", 40);
  survive("show 1", 40);
  survive("procedures", 20);
  survive("resume 1", 20);
  survive("help engine", 40);
  survive("engines", 20);
  survive("engine red", 20);
  survive("gauges", 20);
  survive("habits", 20);
}

/* What could not be written is as it was, or as it was to be. */
static void what_is_changed_without_memory_is_whole(void **state)
{
  (void)state;
  long made = 0;
  survive("engine red warm_c=80 bores.7=new", 20);
  survive("gauge bench vent=3", 20);
  survive("habits pressure=inHg", 20);
  char line[400];
  snprintf(line, sizeof line, "tune --engine red --gauge bench --data %s/kept", folder);
  assert_int_equal(run(line, -1, &made), 0);
}

/* A job that could not be begun leaves no half of one, and none that is begun is harmed. */
static void what_is_begun_without_memory_is_whole(void **state)
{
  (void)state;
  long made = 0;
  char line[400];
  snprintf(line, sizeof line, "tune --engine %s/kept/engines/red.json --gauge %s/kept/gauges/bench.json --data %s/new",
           folder, folder, folder);
  assert_int_equal(run(line, -1, &made), 0);
  long wanted = made;
  for (long left = 0; left < wanted; left += 1 + left / 20)
    assert_in_range(run(line, left, &made), 0, 1);
  snprintf(line, sizeof line, "sessions --data %s/new", folder);
  assert_int_equal(run(line, -1, &made), 0);
  snprintf(line, sizeof line, "resume --data %s/new", folder);
  assert_int_equal(run(line, -1, &made), 0);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(memory_may_run_out_anywhere),
      cmocka_unit_test(what_is_changed_without_memory_is_whole),
      cmocka_unit_test(what_is_begun_without_memory_is_whole),
  };
  return cmocka_run_group_tests(tests, setup, teardown);
}
