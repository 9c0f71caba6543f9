/* One scripted session over and over, each time with another call that fails, once or from there on, or behind which
 * the power is cut.  The counts of what was tried are printed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "faulty_host.h"
#include "memory_disk.h"
#include "sample.h"

static const char session[] = "d/s";
static const char *const call_name[FAULTY_CALLS] = {"allocate", "JSON allocate", "open",     "read",   "write",
                                                    "seek",     "sync",          "truncate", "rename", "remove",
                                                    "lock",     "other",         "look"};

typedef struct trial {
  memory_disk disk;
  eb_host inner;
  faulty fault;
  sample_ledger ledger;
} trial;

static void tear(void *argument)
{
  trial *t = argument;
  if (t->fault.dead)
    return;
  memory_file *file = &t->disk.file[memory_find(&t->disk, session)->file];
  size_t size = file->size;
  memory_resize(&file->live, &file->size, size + sizeof sample_torn - 1);
  memcpy(file->live + size, sample_torn, sizeof sample_torn - 1);
  memory_write_back(file);
  t->ledger.torn = true;
}

static void run(trial *t, faulty fault)
{
  memory_clear(&t->disk);
  t->inner = memory_host(&t->disk);
  t->fault = fault;
  t->fault.inner = &t->inner;
  t->fault.lose = memory_lose;
  t->ledger = (sample_ledger){0};
  eb_host host = faulty_host(&t->fault);
  faulty_json_begin(&t->fault);
  sample_run(&host, session, tear, t, &t->ledger);
  faulty_json_end();
  memory_end_process(&t->disk);
}

static void explain(const trial *t, const char *what, int met)
{
  fail_msg("%s: %d records are there, %d were acknowledged, %d safe, %s in flight; %s number %d %s, way %d, errno %d, "
           "last call %d",
           what, met, t->ledger.acknowledged, t->ledger.safe, t->ledger.in_flight ? "one" : "none",
           call_name[t->fault.call], t->fault.at, t->fault.onwards ? "and on" : "once", (int)t->fault.way,
           t->fault.failure, t->fault.last);
}

/* Files beside the session whose names begin so; *kept is set where one of them holds the torn end. */
static int beside(trial *t, const char *beginning, bool *kept)
{
  int count = 0;
  for (int i = 0; i < t->disk.names.count; i++) {
    const memory_name *name = &t->disk.names.name[i];
    const memory_file *file = &t->disk.file[name->file];
    if (strncmp(name->path, beginning, strlen(beginning)) != 0)
      continue;
    count++;
    *kept |= file->size == sizeof sample_torn - 1 && memcmp(file->live, sample_torn, file->size) == 0;
  }
  return count;
}

static bool torn_is_kept(trial *t)
{
  bool kept = false;
  beside(t, "d/s.torn-", &kept);
  return kept;
}

/* At least `least` of the records, and not more than were acknowledged and the one in flight. */
static void check_records(const trial *t, const eb_journal *journal, int least)
{
  int recovered;
  int met = sample_count(journal, &recovered);
  if (met < least || met > t->ledger.acknowledged + (t->ledger.in_flight ? 1 : 0))
    explain(t, "wrong records", met);
}

/* What another process reads, without touching it. */
static void check_read(trial *t)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  eb_status status = eb_journal_read(&t->inner, session, &journal, &recovery, &error);
  if (status == EB_NOT_FOUND && t->ledger.acknowledged == 0)
    return;
  if (status != EB_OK || recovery.damaged_record != 0)
    explain(t, status == EB_OK ? recovery.damage : error.message, -1);
  check_records(t, journal, t->ledger.acknowledged);
  eb_journal_close(journal);
}

/* What a process resumes with; it can append, and what it appended is there. */
static void check_resume(trial *t, int least)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  eb_status status = eb_journal_open(&t->inner, session, &journal, &recovery, &error);
  if (status == EB_NOT_FOUND && least == 0)
    return;
  if (status != EB_OK)
    explain(t, error.message, -1);
  check_records(t, journal, least);
  int recovered;
  int met = sample_count(journal, &recovered);
  if (t->ledger.torn && (recovered == 0 || !torn_is_kept(t)))
    explain(t, "the torn end is not kept or not recorded", met);
  sample_ledger more = {.acknowledged = met};
  assert_true(sample_append(journal, met, met, &more));
  eb_journal_close(journal);
  assert_int_equal(eb_journal_open(&t->inner, session, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(sample_count(journal, &recovered), met + 1);
  eb_journal_close(journal);
}

/* Both readings of "afterwards": the process ended, and then the power went as well. */
static void check_both(trial *t)
{
  check_read(t);
  memory_power_cut(&t->disk, MEMORY_CUT_NONE, MEMORY_NAMES_NONE);
  check_resume(t, t->ledger.safe);
}

/* A failure that passes: the session goes on to its end at the next try, and leaves nothing lying about. */
static void check_gone_on(trial *t)
{
  bool kept = false;
  if (t->ledger.acknowledged != SAMPLE_RECORDS + 1)
    explain(t, "the session did not go on", t->ledger.acknowledged);
  if (t->fault.call != FAULTY_REMOVE && (beside(t, "d/s.torn-", &kept) != 1 || beside(t, "d/s.new-", &kept) != 0))
    explain(t, "files were left behind", t->ledger.acknowledged);
}

/* Fails call 1, 2, 3, ... of a kind until the session has no call of that number; returns how many there were. */
static int fail_each(trial *t, faulty fault)
{
  for (fault.at = 1;; fault.at++) {
    run(t, fault);
    if (t->fault.made[fault.call] < fault.at)
      return fault.at - 1;
    if (t->ledger.misnamed)
      explain(t, "a sound journal was called damaged", t->ledger.acknowledged);
    if (!fault.onwards)
      check_gone_on(t);
    check_both(t);
  }
}

static void nothing_fails(void **state)
{
  trial *t = *state;
  run(t, (faulty){0});
  assert_int_equal(t->ledger.acknowledged, SAMPLE_RECORDS + 1);
  check_read(t);
  int recovered;
  eb_journal *journal = NULL;
  eb_recovery recovery;
  assert_int_equal(eb_journal_open(&t->inner, session, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(sample_count(journal, &recovered), SAMPLE_RECORDS + 1);
  assert_int_equal(recovered, 1);
  assert_true(torn_is_kept(t));
  eb_journal_close(journal);
  print_message("a session of %d records makes %d file calls, %d allocations, %d for JSON\n", SAMPLE_RECORDS,
                t->fault.files_made, t->fault.made[FAULTY_ALLOCATE], t->fault.made[FAULTY_JSON]);
}

static void every_call_fails(void **state)
{
  trial *t = *state;
  int trials = 0;
  for (faulty_call call = FAULTY_ALLOCATE; call < FAULTY_KIND; call++) {
    int count = 0;
    for (int onwards = 0; onwards < 2; onwards++)
      count = fail_each(t, (faulty){.call = call, .onwards = onwards == 1, .failure = EIO});
    print_message("%s: %d calls failed, each once and from there on\n", call_name[call], count);
    trials += 2 * count;
    if (call != FAULTY_REMOVE) /* nothing is removed where nothing fails */
      assert_true(count > 0);
  }
  print_message("%d sessions\n", trials);
}

static void every_write_is_short(void **state)
{
  trial *t = *state;
  int torn = 0;
  for (int onwards = 0; onwards < 2; onwards++)
    torn = fail_each(t, (faulty){.call = FAULTY_WRITE, .onwards = onwards == 1, .way = FAULTY_TORN, .failure = ENOSPC});
  print_message("%d writes stopped at half by a full disk, each once and from there on\n", torn);
  for (faulty_call call = FAULTY_READ; call <= FAULTY_WRITE; call++) {
    int count = 0;
    for (int onwards = 0; onwards < 2; onwards++)
      count = fail_each(t, (faulty){.call = call, .onwards = onwards == 1, .way = FAULTY_SHORT});
    assert_int_equal(t->ledger.acknowledged, SAMPLE_RECORDS + 1);
    print_message("%s: %d calls taken in halves, each once and from there on\n", call_name[call], count);
    for (int at = 1; at <= count; at++) {
      run(t, (faulty){.call = call, .at = at, .failure = EINTR});
      assert_int_equal(t->ledger.refused, 0);
      check_both(t);
    }
    print_message("%s: %d calls interrupted\n", call_name[call], count);
  }
}

/* A call that fails while another failure is being mended: every sync fails from the n-th on, or every write is torn,
 * and the truncation that should cut it, or the rename that should replace it, fails too. */
static void mending_fails_as_well(void **state)
{
  trial *t = *state;
  int trials = 0;
  const faulty_call first[] = {FAULTY_SYNC, FAULTY_WRITE};
  const faulty_call second[] = {FAULTY_TRUNCATE, FAULTY_RENAME, FAULTY_OPEN, FAULTY_REMOVE};
  for (int a = 0; a < 2; a++)
    for (int b = 0; b < 4; b++)
      for (int at = 1; at <= 40; at++) {
        run(t, (faulty){
                   .call = first[a], .at = at, .way = FAULTY_TORN, .failure = EIO, .second = true, .also = second[b]});
        /* Only a session that could not be taken back after its creation failed has no other way. */
        bool another_way = second[b] == FAULTY_TRUNCATE || (second[b] == FAULTY_REMOVE && t->ledger.acknowledged > 0);
        if (another_way)
          assert_int_equal(t->ledger.acknowledged, SAMPLE_RECORDS + 1);
        check_both(t);
        trials++;
      }
  print_message("%d sessions with a second failure while the first is mended\n", trials);
}

static void power_is_cut_anywhere(void **state)
{
  trial *t = *state;
  int trials = 0, calls = 0;
  for (int variant = 0; variant < MEMORY_NAME_CUTS * MEMORY_CUTS; variant++)
    for (calls = 1;; calls++) {
      run(t, (faulty){.last = calls});
      if (!t->fault.dead)
        break;
      memory_power_cut(&t->disk, (memory_cut)(variant / MEMORY_NAME_CUTS),
                       (memory_name_cut)(variant % MEMORY_NAME_CUTS));
      check_resume(t, t->ledger.safe);
      trials++;
    }
  print_message("power cut behind each of %d file calls, %d ways: %d sessions\n", calls - 1,
                MEMORY_NAME_CUTS * MEMORY_CUTS, trials);
}

/* The same where a sync failed before. */
static void power_is_cut_after_a_failed_sync(void **state)
{
  trial *t = *state;
  int trials = 0;
  for (int at = 1;; at++) {
    for (int last = 1;; last++) {
      run(t, (faulty){.call = FAULTY_SYNC, .at = at, .failure = EIO, .last = last});
      if (!t->fault.dead)
        break;
      memory_power_cut(&t->disk, MEMORY_CUT_NONE, MEMORY_NAMES_NONE);
      check_resume(t, t->ledger.safe);
      trials++;
    }
    if (!t->fault.failed)
      break;
  }
  print_message("power cut behind each file call, after each sync failed once: %d sessions\n", trials);
}

/* A process is killed; the next reads what is there, and acts upon it; then the power goes. */
static void what_was_read_survives(void **state)
{
  trial *t = *state;
  int last = 1;
  for (;; last++) {
    run(t, (faulty){.last = last});
    if (!t->fault.dead)
      break;
    eb_journal *journal = NULL;
    eb_recovery recovery;
    if (eb_journal_open(&t->inner, session, &journal, &recovery, NULL) != EB_OK)
      continue;
    int recovered;
    int met = sample_count(journal, &recovered);
    eb_journal_close(journal);
    memory_power_cut(&t->disk, MEMORY_CUT_NONE, MEMORY_NAMES_NONE);
    check_resume(t, met);
  }
  print_message("power cut behind the opening that follows each of %d file calls\n", last - 1);
}

/* A record that was refused is not in the file either, and another one may take its place. */
static void a_refused_record_is_nowhere(void **state)
{
  trial *t = *state;
  memory_clear(&t->disk);
  t->inner = memory_host(&t->disk);
  t->fault = (faulty){.inner = &t->inner};
  eb_host host = faulty_host(&t->fault);
  eb_journal *journal = NULL;
  sample_ledger ledger = {0};
  assert_true(sample_create(&host, session, &ledger, &journal));
  for (int way = 0; way < 4; way++) {
    const faulty faults[] = {{.call = FAULTY_WRITE, .way = FAULTY_TORN},
                             {.call = FAULTY_SYNC},
                             {.call = FAULTY_RENAME, .second = true, .failed = true, .also = FAULTY_SYNC},
                             {.call = FAULTY_OPEN}};
    t->fault = faults[way];
    t->fault.inner = &t->inner;
    t->fault.at = 1;
    t->fault.onwards = true;
    t->fault.failure = ENOSPC;
    eb_json *other = sample_record(99);
    eb_error error = {0};
    assert_int_equal(eb_journal_append(journal, other, true, &error), EB_NO_SPACE);
    assert_non_null(strstr(error.message, "make room on the disk"));
    eb_json_destroy(other);
    t->ledger = ledger;
    check_read(t);
    t->fault = (faulty){.inner = &t->inner};
    assert_true(sample_append(journal, ledger.acknowledged, ledger.acknowledged, &ledger));
    assert_int_equal(ledger.refused, 0);
    t->ledger = ledger;
    check_read(t);
  }
  eb_journal_close(journal);
}

/* Where there is no room for a journal, nothing lies there afterwards, a lock file neither. */
static void a_full_disk_is_left_as_it_was(void **state)
{
  trial *t = *state;
  memory_clear(&t->disk);
  t->inner = memory_host(&t->disk);
  static const faulty_call full[] = {FAULTY_WRITE, FAULTY_SYNC, FAULTY_OPEN};
  for (size_t i = 0; i < sizeof full / sizeof full[0]; i++) {
    t->fault =
        (faulty){.inner = &t->inner, .call = full[i], .at = 1, .onwards = true, .way = FAULTY_TORN, .failure = ENOSPC};
    eb_host host = faulty_host(&t->fault);
    eb_journal *journal = NULL;
    sample_ledger ledger = {0};
    assert_false(sample_create(&host, session, &ledger, &journal));
    assert_int_equal(t->disk.names.count, 0);
  }
}

static int begin(void **state)
{
  *state = calloc(1, sizeof(trial));
  return *state == NULL;
}

static int end(void **state)
{
  trial *t = *state;
  memory_clear(&t->disk);
  free(t);
  return 0;
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(nothing_fails, begin, end),
      cmocka_unit_test_setup_teardown(every_call_fails, begin, end),
      cmocka_unit_test_setup_teardown(every_write_is_short, begin, end),
      cmocka_unit_test_setup_teardown(mending_fails_as_well, begin, end),
      cmocka_unit_test_setup_teardown(a_refused_record_is_nowhere, begin, end),
      cmocka_unit_test_setup_teardown(a_full_disk_is_left_as_it_was, begin, end),
      cmocka_unit_test_setup_teardown(what_was_read_survives, begin, end),
      cmocka_unit_test_setup_teardown(power_is_cut_anywhere, begin, end),
      cmocka_unit_test_setup_teardown(power_is_cut_after_a_failed_sync, begin, end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
