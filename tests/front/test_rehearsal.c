/* Crowds of rehearsals: the same from one process and from several, and what they come to. */
#include <math.h>
#include <signal.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "evenbore/script.h"

#include "tally.h"

enum { ENGINES = 6, LINES = 200 };

static eb_script_child *child; /* its cells play; NULL: none does */

static eb_status play_with(const char *procedure, int jobs, void (*answer)(void *, const eb_json *, char *, size_t),
                           eb_rehearsed *results, atomic_uchar *asked, eb_error *error)
{
  int played = 0;
  eb_loaded loaded;
  pid_t own = getpid();
  eb_runner runner = eb_script_runner(NULL);
  assert_int_equal(eb_load(eb_host_system(), "/nowhere", procedure, &loaded, error), EB_OK);
  eb_rehearsal r = {.host = eb_host_system(),
                    .runner = &runner,
                    .loaded = &loaded,
                    .cells = child,
                    .one_fault = true,
                    .answer = answer,
                    .context = &own,
                    .asked = asked,
                    .lines = LINES};
  for (int f = 0; f < EB_FAULTS; f++)
    r.fault[f] = 1;
  eb_status status = eb_rehearsal_crowd(&r, 5, ENGINES, jobs, true, results, &played, error);
  assert_int_equal(played, ENGINES);
  eb_load_clear(&loaded);
  return status;
}

static void play(const char *procedure, int jobs, eb_rehearsed *results, atomic_uchar *asked)
{
  eb_error error = {0};
  if (play_with(procedure, jobs, NULL, results, asked, &error) != EB_OK)
    fail_msg("%s", error.message);
}

static void die_elsewhere(void *context, const eb_json *ask, char *line, size_t size)
{
  (void)ask, (void)line, (void)size;
  if (*(const pid_t *)context != getpid())
    raise(SIGKILL);
}

static void a_process_that_is_killed_is_no_result(void **state)
{
  (void)state;
  eb_rehearsed results[ENGINES];
  static atomic_uchar asked[LINES];
  eb_error error = {0};
  assert_int_equal(play_with("twin-screw", 3, die_elsewhere, results, asked, &error), EB_IO);
  assert_non_null(strstr(error.message, "ended from outside"));
}

static void compare(const char *procedure, eb_script_child *one_child, eb_script_child *three_child)
{
  static eb_rehearsed one[ENGINES], three[ENGINES];
  static atomic_uchar asked_by_one[LINES], asked_by_three[LINES];
  child = one_child;
  play(procedure, 1, one, asked_by_one);
  child = three_child;
  play(procedure, 3, three, asked_by_three);
  child = NULL;
  for (int i = 0; i < ENGINES; i++) {
    assert_true(one[i].seed == 5 + (uint64_t)i && one[i].work.prompts > 20);
    assert_memory_equal(&one[i].work, &three[i].work, sizeof one[i].work);
    assert_memory_equal(&one[i].claim, &three[i].claim, sizeof one[i].claim);
    assert_memory_equal(&one[i].spread, &three[i].spread, sizeof one[i].spread);
    assert_int_equal(one[i].end, three[i].end);
  }
  int lines = 0;
  for (int i = 0; i < LINES; i++) {
    assert_int_equal(atomic_load(&asked_by_one[i]), atomic_load(&asked_by_three[i]));
    lines += atomic_load(&asked_by_one[i]);
  }
  assert_true(lines >= 3); /* prepare, balance, finish */
}

static void processes_change_nothing(void **state)
{
  (void)state;
  compare("twin-screw", NULL, NULL);
}

static void cells_change_nothing(void **state)
{
  compare("twin-screw", NULL, *state);
  compare("twin-link", *state, NULL);
}

/* A cell that does not play an engine is no failure, only slow: so that is looked at here. */
static void every_procedure_is_played_in_a_cell(void **state)
{
  size_t count;
  eb_error error = {0};
  eb_runner runner = eb_script_runner(NULL);
  const eb_source *procedures = eb_script_builtin_procedures(&count);
  for (size_t i = 0; i < count; i++) {
    char id[64];
    eb_loaded loaded;
    static eb_rehearsed apart, inside; /* zero where padding is */
    snprintf(id, sizeof id, "%.*s", (int)strcspn(procedures[i].name, "."), procedures[i].name);
    assert_int_equal(eb_load(eb_host_system(), "/nowhere", id, &loaded, &error), EB_OK);
    eb_rehearsal_cell cell = {
        .rehearsal = {.host = eb_host_system(), .runner = &runner, .loaded = &loaded, .cells = *state}};
    assert_int_equal(eb_rehearsal_play(&cell.rehearsal, 11, &apart, &error), EB_OK);
    assert_true(eb_rehearsal_in_cell(&cell, 11, &inside));
    assert_memory_equal(&apart.work, &inside.work, sizeof apart.work);
    assert_memory_equal(&apart.spread, &inside.spread, sizeof apart.spread);
    assert_int_equal(apart.end, inside.end);
    eb_rehearsal_cell_close(&cell);
    eb_load_clear(&loaded);
  }
}

/* What a cell that was taken over might tell. */
static void what_cannot_be_is_no_result(void **state)
{
  (void)state;
  enum { EVIL = 10 };
  static const eb_rehearsed good = {.end = EB_REHEARSAL_STUCK, .claims = true, .claim = 0.05, .why = "asks for ever"};
  eb_rehearsed evil[EVIL];
  assert_true(eb_rehearsed_is_whole(&good));
  for (int i = 0; i < EVIL; i++)
    evil[i] = good;
  evil[0].end = EB_REHEARSAL_ENDS;
  evil[1].claim = NAN;
  evil[2].spread = -INFINITY;
  evil[3].work.minutes_of[EB_BAY_READING] = 1e10;
  evil[4].work.stops = -1;
  memset(&evil[5].claims, 7, 1);
  memset(evil[6].why, 'x', sizeof evil[6].why);
  strcpy(evil[7].place, "\x1B[2J");
  strcpy(evil[8].why, "\xC3\x28");
  strcpy(evil[9].why, "left \xE2\x80\xAE right");
  for (int i = 0; i < EVIL; i++)
    assert_false(eb_rehearsed_is_whole(&evil[i]));
}

static eb_rehearsed ended(uint64_t seed, eb_rehearsal_end end, double claim, double spread, double minutes)
{
  return (eb_rehearsed){.seed = seed,
                        .end = end,
                        .claims = claim > 0,
                        .claim = claim,
                        .spread = spread,
                        .began = 0.2,
                        .all = spread,
                        .measured = true,
                        .work = {.minutes = minutes}};
}

static void a_tally_counts_and_names_the_worst(void **state)
{
  (void)state;
  double scratch[6];
  eb_tally t;
  eb_rehearsed results[] = {
      ended(1, EB_REHEARSAL_EVEN, 0.05, 0.03, 10),   ended(2, EB_REHEARSAL_EVEN, 0.05, 0.06, 20),
      ended(3, EB_REHEARSAL_CLAIMED, 0.08, 0.1, 30), ended(4, EB_REHEARSAL_CLAIMED, 0.09, 0.02, 40),
      ended(5, EB_REHEARSAL_STUCK, 0, 0.3, 50),      ended(6, EB_REHEARSAL_FAILED, 0, 0.1, 100)};
  strcpy(results[4].why, "asks for ever");
  strcpy(results[5].why, "an error");
  eb_tally_make(results, 6, scratch, &t);
  assert_int_equal(t.ended[EB_REHEARSAL_EVEN], 2);
  assert_int_equal(t.claims, 4);
  assert_int_equal(t.wrong, 2);
  assert_int_equal(t.worse, 1);
  assert_true(t.figures[EB_MINUTES].median > 29 && t.figures[EB_MINUTES].median < 31);
  assert_true(t.figures[EB_MINUTES].high > 99 && t.figures[EB_MINUTES].least < 11);
  assert_int_equal(t.figures[EB_MINUTES].bin[EB_TALLY_BINS - 1], 1);
  assert_int_equal(t.findings, 3); /* the error, the loop, the engine that got worse */
  static const uint64_t worst[] = {6, 5, 3, 2, 4};
  assert_int_equal(t.worst_count, 5);
  for (int i = 0; i < t.worst_count; i++)
    assert_true(t.worst[i]->seed == worst[i]);
}

static int make_child(void **state)
{
  return eb_script_child_create(eb_host_system(), &(eb_script_child_options){0}, (eb_script_child **)state, NULL) !=
         EB_OK;
}

static int end_child(void **state)
{
  eb_script_child_destroy(*state);
  return 0;
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(processes_change_nothing),
      cmocka_unit_test(cells_change_nothing),
      cmocka_unit_test(every_procedure_is_played_in_a_cell),
      cmocka_unit_test(what_cannot_be_is_no_result),
      cmocka_unit_test(a_process_that_is_killed_is_no_result),
      cmocka_unit_test(a_tally_counts_and_names_the_worst),
  };
  return cmocka_run_group_tests(tests, make_child, end_child);
}
