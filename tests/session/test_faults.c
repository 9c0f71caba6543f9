/* One job of twenty answers and a take-back, over and over: each time another call fails, once or from there on, is
 * short, or is the last one.  Whatever happens, the answers that hold are those that were acknowledged, and at most the
 * one that was in flight; and the job goes on to the same end.  The counts of what was tried are printed. */
#include "line_runner.h"

#include "evenbore/journal.h"

#include "journal/faulty_host.h"
#include "journal/memory_disk.h"
#include "journal/place.h"

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

enum { HELD_MAX = 40, BACK_AFTER = 12, TRIES = 4 };

#define VERDICT "{\"op\":\"tell\",\"kind\":\"verdict\",\"text\":\"So far:\"}\n"

static const char path[] = "d/s";
static const char job[] = DECLARE ASK("confirm", "c1", "") NUMBER("n1")
    NUMBER("n2") "{\"op\":\"tell\",\"kind\":\"note\",\"text\":\"Cold checks done.\"}\n" STOPPED ASK("confirm", "c2", "")
        NUMBER("n3") RUNNING READING("1") READING("2") "{\"op\":\"verdict\"}\n" VERDICT VERDICT READING("1")
            READING("2") NUMBER("n4")
                ASK("choose", "o1", ",\"options\":[{\"id\":\"a\",\"text\":\"A\"},{\"id\":\"b\",\"text\":\"B\"}]")
                    ASK("text", "t1", ",\"limit\":40") NUMBER("n5") NUMBER("n6") ASK("confirm", "c3", "") NUMBER("n7")
                        STOPPED ASK("confirm", "c4", "") END;

typedef enum in_flight { NOTHING, AN_ANSWER, A_TAKE_BACK } in_flight;

/* What the person at the keys knows: the keys of the answers that hold, the core's own asks left out. */
typedef struct ledger {
  char held[HELD_MAX][16];
  int count;
  in_flight flight;
  char flying[16];
  bool started, taken_back, over;
} ledger;

typedef struct trial {
  memory_disk disk;
  eb_host inner;
  faulty fault;
  ledger ledger;
  line_log log;
} trial;

static bool is_own(const char *key)
{
  return strncmp(key, "resume.", 7) == 0 || strncmp(key, "safety.", 7) == 0;
}

static void hold(ledger *l, const char *key)
{
  if (is_own(key))
    return;
  assert_true(l->count < HELD_MAX);
  snprintf(l->held[l->count++], sizeof l->held[0], "%s", key);
}

/* The answers that hold by the journal's records; false where there is no journal. */
static bool read_held(const eb_host *host, const char *file, ledger *met)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  eb_status status = eb_journal_read(host, file, &journal, &recovery, &error);
  if (status == EB_NOT_FOUND)
    return false;
  if (status != EB_OK || recovery.damaged_record != 0)
    fail_msg("the journal cannot be read: %s", status == EB_OK ? recovery.damage : error.message);
  int n[HELD_MAX * 2];
  *met = (ledger){.count = 0};
  for (size_t i = 0; i < eb_journal_count(journal); i++) {
    const eb_json *record = eb_journal_record(journal, i);
    const char *kind = eb_json_get_string(record, "kind", "");
    while (strcmp(kind, "withdraw") == 0 && met->count > 0 &&
           n[met->count - 1] >= (int)eb_json_get_number(record, "to", 0))
      met->count--;
    const char *key = eb_json_get_string(eb_json_get(record, "ask"), "key", "");
    if (strcmp(kind, "answer") != 0 || is_own(key))
      continue;
    n[met->count] = (int)eb_json_get_number(record, "n", 0);
    hold(met, key);
  }
  eb_journal_close(journal);
  return true;
}

static bool begins_alike(const ledger *a, const ledger *b, int count)
{
  for (int i = 0; i < count; i++)
    if (strcmp(a->held[i], b->held[i]) != 0)
      return false;
  return a->count >= count && b->count >= count;
}

/* Whether the journal's answers are those acknowledged, perhaps with the one in flight. */
static bool agrees(const ledger *known, const ledger *met)
{
  if (known->count == met->count)
    return begins_alike(known, met, met->count);
  if (known->flight == AN_ANSWER && met->count == known->count + 1)
    return begins_alike(known, met, known->count) && strcmp(met->held[known->count], known->flying) == 0;
  return known->flight == A_TAKE_BACK && met->count < known->count && begins_alike(known, met, met->count);
}

static void explain(const trial *t, const char *what)
{
  fail_msg("%s: call kind %d number %d %s, way %d, last call %d; %d answers known, %d taken back, last ask %s", what,
           (int)t->fault.call, t->fault.at, t->fault.onwards ? "and on" : "once", (int)t->fault.way, t->fault.last,
           t->ledger.count, t->ledger.taken_back, t->ledger.flying);
}

/* Looks at what is there without the fault, and takes over whether what was in flight has landed. */
static void settle(trial *t)
{
  faulty *kept = faulty_json;
  faulty_json = NULL;
  ledger met;
  if (read_held(&t->inner, path, &met)) {
    if (!agrees(&t->ledger, &met))
      explain(t, "the answers that hold are not those acknowledged");
    t->ledger.taken_back = t->ledger.taken_back || met.count < t->ledger.count;
    memcpy(t->ledger.held, met.held, sizeof met.held);
    t->ledger.count = met.count;
    t->ledger.started = true;
  } else if (t->ledger.count > 0) {
    explain(t, "the journal is gone");
  }
  t->ledger.flight = NOTHING;
  faulty_json = kept;
}

/* A power cut may take what no sync covered, notes and tells; an answer was synced before it was acknowledged. */
static void settle_after_cut(trial *t)
{
  ledger met;
  if (!read_held(&t->inner, path, &met))
    t->ledger.started = false;
  settle(t);
}

static eb_status open_session(trial *t, const eb_host *host, const char *file, eb_session **session)
{
  eb_runner runner = line_runner(&t->log);
  eb_source main = {.name = "two.lines", .text = job, .size = sizeof job - 1};
  eb_session_options options = {.id = "s", .path = file, .program = "test", .runner = &runner, .main = &main};
  eb_recovery recovery;
  eb_error error;
  eb_status status = t->ledger.started ? EB_EXISTS : eb_session_start(host, &options, session, &error);
  if (status == EB_EXISTS)
    status = eb_session_resume(host, file, "test", &runner, session, &recovery, &error);
  return status;
}

static const char *typed_for(const eb_json *ask)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  if (strcmp(kind, "caution") == 0)
    return eb_json_get_string(ask, "code", "");
  if (strcmp(kind, "number") == 0)
    return "42";
  if (strcmp(kind, "reading") == 0)
    return "6 1/2";
  return strcmp(kind, "text") == 0 ? "as found" : "1";
}

/* Whether the last command was refused; all messages are read. */
static bool was_refused(eb_session *session)
{
  bool refused = false;
  const eb_json *message;
  while ((message = eb_session_next(session)) != NULL)
    refused = refused || strcmp(eb_json_get_string(message, "type", ""), "refused") == 0;
  return refused;
}

/* The answer of the ask that is open again is gone, and all behind it. */
static void take_back_to(ledger *l, const char *key)
{
  while (l->count > 0 && strcmp(l->held[l->count - 1], key) != 0)
    l->count--;
  l->count -= l->count > 0;
}

/* One command; false where it failed: the ask may be open as before. */
static bool step(trial *t, eb_session *session, bool *refused)
{
  ledger *l = &t->ledger;
  const eb_json *ask = eb_session_ask(session);
  bool back = l->count == BACK_AFTER && !l->taken_back && !is_own(eb_json_get_string(ask, "key", ""));
  snprintf(l->flying, sizeof l->flying, "%s", eb_json_get_string(ask, "key", ""));
  l->flight = back ? A_TAKE_BACK : is_own(l->flying) ? NOTHING : AN_ANSWER;
  char typed[16];
  snprintf(typed, sizeof typed, "%s", typed_for(ask));
  eb_status status = back ? eb_session_back(session, NULL) : eb_session_type(session, typed, strlen(typed), NULL);
  *refused = was_refused(session);
  if (status != EB_OK || t->fault.dead) /* nobody hears what a process says behind its death */
    return false;
  l->flight = NOTHING;
  if (*refused)
    return true;
  if (!back)
    hold(l, l->flying);
  else if (eb_session_ask(session) != NULL && !is_own(eb_json_get_string(eb_session_ask(session), "key", "")))
    take_back_to(l, eb_json_get_string(eb_session_ask(session), "key", ""));
  else
    l->flight = A_TAKE_BACK; /* which answer it was is seen when the core's own questions are over */
  l->taken_back = l->taken_back || back;
  return true;
}

/* From ask to ask; a command that is not taken, or fails, is given a few times more as long as an ask is open. */
static void lead(trial *t, eb_session *session)
{
  was_refused(session);
  int refusals = 0;
  while (eb_session_where(session) == EB_SESSION_ASKS && refusals < TRIES) {
    bool refused = false;
    bool failed = !step(t, session, &refused);
    if (t->fault.dead)
      break;
    refusals = refused || failed ? refusals + 1 : 0;
    if (failed || t->ledger.flight == A_TAKE_BACK)
      settle(t);
  }
  t->ledger.over = eb_session_where(session) == EB_SESSION_ENDED;
}

/* Opens and leads, a few times over, as somebody would who is told that something failed. */
static void play(trial *t, const eb_host *host)
{
  for (int i = 0; i < TRIES && !t->ledger.over; i++) {
    eb_session *session = NULL;
    if (open_session(t, host, path, &session) == EB_OK) {
      lead(t, session);
      eb_session_destroy(session);
    }
    memory_end_process(&t->disk);
    settle(t);
  }
}

static void begin(trial *t, faulty fault)
{
  memory_clear(&t->disk);
  t->inner = memory_host(&t->disk);
  t->fault = fault;
  t->fault.inner = &t->inner;
  t->fault.lose = memory_lose;
  t->ledger = (ledger){.count = 0};
}

static void run(trial *t, faulty fault)
{
  begin(t, fault);
  eb_host host = faulty_host(&t->fault);
  faulty_json_begin(&t->fault);
  play(t, &host);
  faulty_json_end();
}

static ledger undisturbed;

/* With nothing in the way any more the job comes to the end that it would have come to. */
static void finish(trial *t)
{
  t->fault.dead = false;
  play(t, &t->inner);
  ledger met;
  assert_true(read_held(&t->inner, path, &met));
  if (met.count != undisturbed.count || !begins_alike(&met, &undisturbed, met.count))
    explain(t, "the job does not come to the same end");
}

static void nothing_fails(void **state)
{
  (void)state;
  trial *t = calloc(1, sizeof *t);
  run(t, (faulty){.at = 0});
  assert_true(t->ledger.over);
  assert_true(t->ledger.taken_back);
  assert_in_range(t->ledger.count, 19, 22);
  undisturbed = t->ledger;
  print_message("%d answers hold at the end\n", t->ledger.count);
  memory_clear(&t->disk);
  free(t);
}

static int fail_each(faulty fault, int stride)
{
  trial *t = calloc(1, sizeof *t);
  int runs = 0;
  for (fault.at = 1;; fault.at += stride, runs++) {
    run(t, fault);
    if (t->fault.made[fault.call] < fault.at)
      break;
    finish(t);
  }
  memory_clear(&t->disk);
  free(t);
  return runs;
}

static const char *const call_name[FAULTY_CALLS] = {"allocate", "JSON allocate", "open",     "read",   "write",
                                                    "seek",     "sync",          "truncate", "rename", "remove",
                                                    "lock",     "other",         "look"};

static void every_file_call_fails(void **state)
{
  (void)state;
  for (faulty_call call = FAULTY_OPEN; call < FAULTY_KIND; call++) {
    int failures[2] = {EIO, call == FAULTY_WRITE || call == FAULTY_OPEN ? ENOSPC : EACCES};
    int runs = 0;
    for (int onwards = 0; onwards < 2; onwards++)
      for (int i = 0; i < 2; i++)
        runs += fail_each((faulty){.call = call, .onwards = onwards, .failure = failures[i]}, 1);
    print_message("%-14s %5d runs\n", call_name[call], runs);
  }
}

static void every_write_is_short_or_torn(void **state)
{
  (void)state;
  int runs = 0;
  for (int onwards = 0; onwards < 2; onwards++) {
    runs += fail_each((faulty){.call = FAULTY_WRITE, .onwards = onwards, .failure = ENOSPC, .way = FAULTY_SHORT}, 1);
    runs += fail_each((faulty){.call = FAULTY_WRITE, .onwards = onwards, .failure = ENOSPC, .way = FAULTY_TORN}, 1);
    runs += fail_each((faulty){.call = FAULTY_READ, .onwards = onwards, .way = FAULTY_SHORT}, 1);
  }
  print_message("short and torn %5d runs\n", runs);
}

static void every_allocation_fails(void **state)
{
  (void)state;
  for (int onwards = 0; onwards < 2; onwards++)
    print_message("%-14s %5d runs\n", call_name[FAULTY_ALLOCATE],
                  fail_each((faulty){.call = FAULTY_ALLOCATE, .onwards = onwards, .failure = ENOMEM}, 1));
}

static void every_allocation_of_a_tree_fails(void **state)
{
  (void)state;
  /* Every eleventh, since there are 8 000 of them; with FAULTS=all in the environment every one. */
  const char *wanted = getenv("FAULTS");
  int stride = wanted != NULL && strcmp(wanted, "all") == 0 ? 1 : 11;
  for (int onwards = 0; onwards < 2; onwards++)
    print_message("%-14s %5d runs, of each %d\n", call_name[FAULTY_JSON],
                  fail_each((faulty){.call = FAULTY_JSON, .onwards = onwards, .failure = ENOMEM}, stride), stride);
}

/* The process is gone behind its call number `last`, and the power with it: what is left is gone on with. */
static void power_is_cut_anywhere(void **state)
{
  (void)state;
  trial *t = calloc(1, sizeof *t);
  int runs = 0;
  for (int variant = 0; variant < MEMORY_CUTS * MEMORY_NAME_CUTS; variant++)
    for (int last = 1;; last++, runs++) {
      begin(t, (faulty){.last = last});
      eb_host host = faulty_host(&t->fault);
      eb_session *session = NULL;
      if (open_session(t, &host, path, &session) == EB_OK) {
        t->ledger.started = true;
        lead(t, session);
      }
      if (!t->fault.dead) {
        eb_session_destroy(session);
        break;
      }
      eb_session_destroy(session);
      memory_power_cut(&t->disk, (memory_cut)(variant % MEMORY_CUTS), (memory_name_cut)(variant / MEMORY_CUTS));
      settle_after_cut(t);
      finish(t);
    }
  print_message("power cuts     %5d runs\n", runs);
  memory_clear(&t->disk);
  free(t);
}

/* A session that was cut off in the middle of a line. */
static void begin_torn(trial *t, int last)
{
  begin(t, (faulty){.last = last});
  eb_host host = faulty_host(&t->fault);
  eb_session *session = NULL;
  if (open_session(t, &host, path, &session) == EB_OK)
    lead(t, session);
  eb_session_destroy(session);
  memory_end_process(&t->disk);
  settle(t);
  memory_file *file = &t->disk.file[memory_find(&t->disk, path)->file];
  static const char torn[] = "{\"kind\":\"answer\",\"n\":";
  size_t size = file->size;
  memory_resize(&file->live, &file->size, size + sizeof torn - 1);
  memcpy(file->live + size, torn, sizeof torn - 1);
  memory_write_back(file);
}

enum { TORN_AT = 40 }; /* calls: some ten answers */

/* Every call of a recovery fails, once and from there on, while it cuts the torn end and goes on. */
static void every_call_of_a_recovery_fails(void **state)
{
  (void)state;
  trial *t = calloc(1, sizeof *t);
  int runs = 0;
  for (faulty_call call = FAULTY_ALLOCATE; call < FAULTY_KIND; call++)
    for (int onwards = 0; onwards < 2; onwards++)
      for (int at = 1;; at += call == FAULTY_JSON ? 50 : 1, runs++) {
        begin_torn(t, TORN_AT);
        t->fault = (faulty){.inner = &t->inner,
                            .lose = memory_lose,
                            .call = call,
                            .at = at,
                            .onwards = onwards,
                            .failure = call <= FAULTY_JSON ? ENOMEM : EIO};
        eb_host host = faulty_host(&t->fault);
        faulty_json_begin(&t->fault);
        play(t, &host);
        faulty_json_end();
        finish(t);
        if (t->fault.made[call] < at)
          break;
      }
  print_message("recoveries     %5d runs\n", runs);
  memory_clear(&t->disk);
  free(t);
}

/* Takes up a copy of the whole session with some of its bytes changed. */
static eb_status resume_bytes(trial *t, const char *bytes, size_t size, ledger *met)
{
  begin(t, (faulty){.at = 0});
  memory_put(&t->disk, path, bytes, size);
  t->ledger.started = true;
  eb_session *session = NULL;
  eb_status status = open_session(t, &t->inner, path, &session);
  if (status == EB_OK) {
    eb_session_destroy(session);
    memory_end_process(&t->disk);
    assert_true(read_held(&t->inner, path, met));
  }
  return status;
}

/* Bytes of the session before its end was recorded; owned by the caller. */
static char *whole_session(trial *t, size_t *size)
{
  begin(t, (faulty){.at = 0});
  play(t, &t->inner);
  const memory_file *file = memory_get(&t->disk, path);
  size_t end = file->size - 1;
  while (file->live[end - 1] != '\n') /* the record of the end */
    end--;
  char *bytes = malloc(end);
  memcpy(bytes, file->live, end);
  *size = end;
  return bytes;
}

/* Each byte is a resume; the sanitizers' build looks at every fifth, the end among them. */
#ifdef __SANITIZE_ADDRESS__
enum { STRIDE = 5 };
#else
enum { STRIDE = 1 };
#endif

/* Cut anywhere, it is no journal yet, or goes on from the answers of its whole lines. */
static void every_byte_cut(void **state)
{
  (void)state;
  trial *t = calloc(1, sizeof *t);
  size_t size = 0;
  char *bytes = whole_session(t, &size);
  int most = 0;
  int resumed = 0;
  int cuts = 0;
  for (size_t at = size % STRIDE; at <= size; at += STRIDE) {
    ledger met;
    cuts++;
    eb_status status = resume_bytes(t, bytes, at, &met);
    if (status == EB_OK) {
      resumed++;
      if (!begins_alike(&met, &undisturbed, met.count))
        fail_msg("cut at byte %zu it has other answers", at);
      most = met.count > most ? met.count : most;
    } else if (status != EB_NOT_JOURNAL && status != EB_NOT_FOUND) {
      fail_msg("cut at byte %zu: %s", at, eb_status_word(status));
    }
  }
  print_message("bytes cut      %5d, %d of them resumed, with up to %d answers\n", cuts, resumed, most);
  assert_int_equal(most, undisturbed.count);
  memory_clear(&t->disk);
  free(bytes);
  free(t);
}

/* No flipped bit goes unnoticed: it is named as damage, or the file as no journal, or its last line as torn. */
static void every_bit_flipped(void **state)
{
  (void)state;
  trial *t = calloc(1, sizeof *t);
  size_t size = 0;
  char *bytes = whole_session(t, &size);
  int seen[EB_UNSOLVABLE + 1] = {0};
  for (size_t at = 0; at < size; at += STRIDE) {
    ledger met;
    char was = bytes[at];
    bytes[at] = (char)(was ^ (1 << at % 8));
    eb_status status = resume_bytes(t, bytes, size, &met);
    bytes[at] = was;
    seen[status]++;
    bool last = memchr(bytes + at, '\n', size - at) == bytes + size - 1;
    if (status == EB_OK && !(last && met.count >= undisturbed.count - 1))
      fail_msg("byte %zu: a flipped bit went unnoticed", at);
    if (status != EB_OK && status != EB_DAMAGED && status != EB_NOT_JOURNAL && status != EB_TOO_NEW)
      fail_msg("byte %zu: %s", at, eb_status_word(status));
  }
  print_message("bits flipped   %5zu: %d damaged, %d no journal, %d of a later format, %d torn\n",
                (size + STRIDE - 1) / STRIDE, seen[EB_DAMAGED], seen[EB_NOT_JOURNAL], seen[EB_TOO_NEW], seen[EB_OK]);
  memory_clear(&t->disk);
  free(bytes);
  free(t);
}

static int no_sync(void *context, int file)
{
  (void)context;
  (void)file;
  return 0;
}

/* Plays on the real disk until it is killed behind a call; tells its parent what was acknowledged. */
static _Noreturn void live_and_die(trial *t, const char *file, int last, int says)
{
  eb_host inner = *eb_host_system();
  inner.files.sync = no_sync; /* a killed process takes nothing of what it wrote with it */
  t->fault = (faulty){.inner = &inner, .last = last, .kill = true};
  eb_host host = faulty_host(&t->fault);
  eb_session *session = NULL;
  t->ledger = (ledger){.count = 0};
  if (open_session(t, &host, file, &session) != EB_OK)
    _exit(2);
  was_refused(session);
  bool refused = false;
  bool going = true;
  while (going && eb_session_where(session) == EB_SESSION_ASKS) {
    snprintf(t->ledger.flying, sizeof t->ledger.flying, "%s", eb_json_get_string(eb_session_ask(session), "key", ""));
    t->ledger.flight = AN_ANSWER;
    if (write(says, &t->ledger, sizeof t->ledger) != sizeof t->ledger)
      _exit(3);
    going = step(t, session, &refused);
  }
  eb_session_destroy(session);
  _exit(going ? 0 : 4);
}

static void kill_anywhere(void **state)
{
  (void)state;
  trial *t = calloc(1, sizeof *t);
  place where;
  assert_true(place_make(&where));
  int runs = 0;
  for (int last = 1;; last++, runs++) {
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0)
      live_and_die(t, where.path, last, ends[1]);
    close(ends[1]);
    ledger known = {.count = 0};
    ledger told;
    while (read(ends[0], &told, sizeof told) == sizeof told)
      known = told;
    close(ends[0]);
    int how = 0;
    assert_int_equal(waitpid(child, &how, 0), child);
    ledger met = {.count = 0};
    bool there = read_held(eb_host_system(), where.path, &met);
    if (there)
      known.flight = known.count == BACK_AFTER && met.count < known.count ? A_TAKE_BACK : known.flight;
    if (!agrees(&known, &met))
      fail_msg("killed behind call %d: %d answers known, %d there", last, known.count, met.count);
    place_empty(&where);
    if (WIFEXITED(how)) {
      assert_int_equal(WEXITSTATUS(how), 0);
      break;
    }
  }
  print_message("kills          %5d runs\n", runs);
  place_remove(&where);
  free(t);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_fails),
      cmocka_unit_test(every_file_call_fails),
      cmocka_unit_test(every_write_is_short_or_torn),
      cmocka_unit_test(every_allocation_fails),
      cmocka_unit_test(every_allocation_of_a_tree_fails),
      cmocka_unit_test(power_is_cut_anywhere),
      cmocka_unit_test(every_call_of_a_recovery_fails),
      cmocka_unit_test(every_byte_cut),
      cmocka_unit_test(every_bit_flipped),
      cmocka_unit_test(kill_anywhere),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
