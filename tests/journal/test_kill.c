/* A process that is killed, behind every single call that it makes to the disk, and what the next one finds. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "faulty_host.h"
#include "place.h"
#include "sample.h"

#include <sys/wait.h>

static int says;

static void say_progress(sample_ledger *ledger)
{
  ledger->told = write(says, "a", 1) == 1 ? ledger->told + 1 : -1;
}

static void tear(void *argument)
{
  const place *p = argument;
  place_write(p->path, "ab", sample_torn, sizeof sample_torn - 1);
}

/* A killed process takes nothing from what it wrote with it, synced or not; without real syncs the loop is quick. */
static int no_sync(void *context, int file)
{
  (void)context;
  (void)file;
  return 0;
}

static _Noreturn void live_and_die(place *p, int last)
{
  eb_host inner = *eb_host_system();
  inner.files.sync = no_sync;
  faulty fault = {.inner = &inner, .last = last, .kill = true};
  eb_host host = faulty_host(&fault);
  sample_ledger ledger = {.tell = say_progress};
  sample_run(&host, p->path, tear, p, &ledger);
  _exit(ledger.acknowledged == SAMPLE_RECORDS + 1 ? 0 : 1);
}

/* Runs a session that is killed behind its call number `last`; returns how many records it was told are saved. */
static int run(place *p, int last, bool *killed)
{
  int ends[2];
  assert_int_equal(pipe(ends), 0);
  pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    close(ends[0]);
    says = ends[1];
    live_and_die(p, last);
  }
  close(ends[1]);
  int acknowledged = 0;
  for (char told; read(ends[0], &told, 1) == 1;)
    acknowledged++;
  close(ends[0]);
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  *killed = WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL;
  if (!*killed)
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
  return acknowledged;
}

static void check(const place *p, int last, int acknowledged)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  eb_status status = eb_journal_open(eb_host_system(), p->path, &journal, &recovery, &error);
  if (status == EB_NOT_FOUND && acknowledged == 0)
    return;
  if (status != EB_OK)
    fail_msg("killed behind call %d: %s", last, error.message);
  int recovered;
  int met = sample_count(journal, &recovered);
  if (met != acknowledged && met != acknowledged + 1)
    fail_msg("killed behind call %d: %d records are there, %d were acknowledged", last, met, acknowledged);
  sample_ledger more = {.acknowledged = met};
  assert_true(sample_append(journal, met, met, &more));
  eb_journal_close(journal);
}

static void killed_behind_every_call(void **state)
{
  place *p = *state;
  bool killed = true;
  int last = 0;
  while (killed) {
    place_empty(p);
    int acknowledged = run(p, ++last, &killed);
    check(p, last, acknowledged);
  }
  print_message("killed behind each of %d file calls\n", last - 1);
  assert_true(last > 100);
}

static void the_holder_is_named_and_its_death_frees(void **state)
{
  place *p = *state;
  int ends[2];
  assert_int_equal(pipe(ends), 0);
  pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    alarm(30); /* not for ever, if the parent should fail */
    sample_ledger ledger = {0};
    eb_journal *held = NULL;
    if (!sample_create(eb_host_system(), p->path, &ledger, &held) || write(ends[1], "a", 1) != 1)
      _exit(1);
    for (;;)
      pause();
  }
  char told;
  assert_int_equal(read(ends[0], &told, 1), 1);
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  assert_int_equal(eb_journal_open(eb_host_system(), p->path, &journal, &recovery, &error), EB_HELD);
  char machine[256] = "", wanted[400];
  gethostname(machine, sizeof machine - 1);
  snprintf(wanted, sizeof wanted, "held by process %ld on %s since 2", (long)child, machine);
  assert_memory_equal(error.message, wanted, strlen(wanted));
  assert_non_null(strstr(error.message, "; close that one first"));
  print_message("%s: %s\n", error.place, error.message);

  /* Reading needs no lock; and a deleted lock file lets nobody in. */
  assert_int_equal(eb_journal_read(eb_host_system(), p->path, &journal, &recovery, NULL), EB_OK);
  eb_journal_close(journal);
  assert_int_equal(unlink(place_beside(p, ".lock")), 0);
  assert_int_equal(eb_journal_open(eb_host_system(), p->path, &journal, &recovery, &error), EB_HELD);

  assert_int_equal(kill(child, SIGKILL), 0);
  assert_int_equal(waitpid(child, NULL, 0), child);
  assert_int_equal(eb_journal_open(eb_host_system(), p->path, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(eb_journal_count(journal), 1);
  eb_journal_close(journal);
  close(ends[0]);
  close(ends[1]);
}

/* Of many processes that want the same journal at once, each appends only while it holds it. */
static void many_take_turns(void **state)
{
  enum { PROCESSES = 6, EACH = 5 };
  place *p = *state;
  sample_ledger ledger = {0};
  eb_journal *journal = NULL;
  assert_true(sample_create(eb_host_system(), p->path, &ledger, &journal));
  eb_journal_close(journal);
  pid_t children[PROCESSES];
  for (int i = 0; i < PROCESSES; i++) {
    children[i] = fork();
    assert_true(children[i] >= 0);
    if (children[i] != 0)
      continue;
    alarm(30);
    for (int done = 0; done < EACH;) {
      eb_recovery recovery;
      eb_status status = eb_journal_open(eb_host_system(), p->path, &journal, &recovery, NULL);
      if (status != EB_OK && status != EB_HELD)
        _exit(1);
      if (status == EB_HELD)
        continue;
      sample_ledger mine = {.acknowledged = (int)eb_journal_count(journal)};
      if (!sample_append(journal, mine.acknowledged, mine.acknowledged, &mine))
        _exit(1);
      eb_journal_close(journal);
      done++;
    }
    _exit(0);
  }
  for (int i = 0; i < PROCESSES; i++) {
    int status = 0;
    assert_int_equal(waitpid(children[i], &status, 0), children[i]);
    assert_int_equal(status, 0);
  }
  eb_recovery recovery;
  assert_int_equal(eb_journal_read(eb_host_system(), p->path, &journal, &recovery, NULL), EB_OK);
  int recovered;
  assert_int_equal(sample_count(journal, &recovered), 1 + PROCESSES * EACH);
  assert_int_equal(recovered, 0);
  eb_journal_close(journal);
}

static int begin(void **state)
{
  static place p;
  *state = &p;
  return place_make(&p) ? 0 : 1;
}

static int end(void **state)
{
  place_remove(*state);
  return 0;
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(killed_behind_every_call, begin, end),
      cmocka_unit_test_setup_teardown(the_holder_is_named_and_its_death_frees, begin, end),
      cmocka_unit_test_setup_teardown(many_take_turns, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
