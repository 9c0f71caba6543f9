/* The built-in procedures, each played whole by its session's messages: on an even engine and on uneven and faulty
 * ones, straight through, and with a pause, a resume and a take-back at every prompt. */
#include "job_rig.h"

/* Each disturbance replays the job so far; the sanitizers' build takes some prompts of the worst engine only. */
#ifdef __SANITIZE_ADDRESS__
enum { STRIDE = 9, DISTURBED_FROM = 1 };
#else
enum { STRIDE = 1, DISTURBED_FROM = 0 };
#endif

static const struct {
  const char *procedure, *options;
} played[] = {
    {"cold-baseline", "bores=3 numbering=odd-left"},
    {"inline-four", NULL},
    {"inline-six", "numbering=rear-to-front"},
    {"stop-screws", "bores=5 numbering=front-to-rear pitch_mm=0.8 lever_mm=25"},
    {"twin-bank", "cylinders=6 numbering=odd-left"},
    {"twin-link", NULL},
    {"twin-screw", NULL},
    {"v12-coupled", "numbering=right-first"},
    {"v8-coupled", NULL},
};
enum { PLAYED = sizeof played / sizeof played[0] };

/* Invented deviations, as readings on a gauge; a smaller engine has the first of them. */
#define EVEN                                                                                                           \
  {                                                                                                                    \
    0, 5.52, 5.49, 5.51, 5.50, 5.48, 5.50, 5.53, 5.49, 5.51, 5.50, 5.47, 5.50                                          \
  }
#define UNEVEN                                                                                                         \
  {                                                                                                                    \
    0, 6.31, 5.12, 6.05, 5.27, 5.43, 5.02, 5.71, 5.33, 5.60, 4.95, 6.10, 5.40                                          \
  }
static const struct {
  const char *name;
  engine engine;
} engines[] = {
    {"even", {.flow = EVEN, .level = 1}},
    {"uneven, all at once",
     {.flow = UNEVEN, .level = 2.3, .coarse = true, .seized = true, .slips = true, .baseline = "edge-travel"}},
    {"uneven", {.flow = UNEVEN, .level = 1}},
    {"uneven, plates known by feeler gap", {.flow = UNEVEN, .level = 1, .baseline = "feeler-gap"}},
    {"uneven, plates known by edge travel", {.flow = UNEVEN, .level = 1, .baseline = "edge-travel"}},
    {"uneven, a part that cannot be moved", {.flow = UNEVEN, .level = 1, .seized = true}},
    {"uneven, slips of the pen", {.flow = UNEVEN, .level = 1, .slips = true}},
    {"uneven, vent wide open", {.flow = UNEVEN, .level = 2.3, .coarse = true}},
    {"uneven, a cylinder that draws nothing", {.flow = UNEVEN, .level = 1, .dead = 2}},
};
enum { ENGINES = sizeof engines / sizeof engines[0], DISTURBED = 2 };

static engine engine_for(int index, const char *options)
{
  engine e = engines[index].engine;
  e.options = options;
  return e;
}

static int bores_of(const job *j)
{
  return eb_json_count(eb_json_get(j->layout, "bores"));
}

/* The greatest deviation from the mean of the bores that count. */
static double true_spread(const engine *e, int bores)
{
  double sum = 0;
  double worst = 0;
  int count = 0;
  for (int i = 1; i <= bores; i++)
    if (i != e->dead) {
      sum += e->flow[i];
      count++;
    }
  for (int i = 1; i <= bores; i++)
    if (i != e->dead)
      worst = fmax(worst, fabs(e->flow[i] / (sum / count) - 1));
  return worst;
}

static double claimed(const job *j)
{
  const char *at = strstr(j->claim, "\"tolerance\":");
  return at == NULL ? 1 : strtod(at + strlen("\"tolerance\":"), NULL);
}

static void every_procedure_is_played_here(void **state)
{
  (void)state;
  size_t count = 0;
  const eb_source *sources = eb_script_builtin_procedures(&count);
  assert_int_equal(count, PLAYED);
  for (size_t i = 0; i < count; i++)
    assert_memory_equal(sources[i].name, played[i].procedure, strlen(played[i].procedure));
}

/* Plays one procedure on every engine; how many claims were better than the truth. */
static int play_on_every_engine(int p)
{
  int prompts = 0;
  int even = 0;
  int untrue = 0;
  for (int k = 0; k < ENGINES; k++) {
    engine e = engine_for(k, played[p].options);
    job j;
    job_play(&j, played[p].procedure, &e, (disturbed){0});
    assert_true(strcmp(j.outcome, "even") == 0 || strcmp(j.outcome, "claimed") == 0);
    /* Two lines of instruction at a prompt, no more. */
    if (j.longest > 160)
      fail_msg("%s: an instruction of %zu characters: %s", played[p].procedure, j.longest, j.longest_text);
    /* What comes off for two plates of one stop comes off once. */
    assert_null(strstr(job_effective(&j), "on.return spring=1\noff.return spring=1\n"));
    prompts += j.prompts;
    even += strcmp(j.outcome, "even") == 0;
    untrue += true_spread(&e, bores_of(&j)) > claimed(&j);
    job_finish(&j);
  }
  print_message("%s: %d prompts on %d engines, %d made even, %d claims untrue\n", played[p].procedure, prompts, ENGINES,
                even, untrue);
  return untrue;
}

static void jobs_come_to_their_end(void **state)
{
  (void)state;
  int untrue = 0;
  for (int p = 0; p < PLAYED; p++)
    untrue += play_on_every_engine(p);
  /* At a risk of 5 % that is what may be wrong. */
  assert_true(untrue * 20 <= PLAYED * ENGINES);
}

/* What one bore gains the whole engine gains: idle is set again, and the reading behind it is the first of its period.
 */
static void a_screw_at_a_running_engine_begins_a_new_running_period(void **state)
{
  (void)state;
  job j;
  engine e = engine_for(2, NULL);
  int moves = 0;
  bool moved = false;
  bool idle = false;
  job_begin(&j, "inline-four", NULL);
  while (job_asks(&j)) {
    const eb_json *ask = eb_session_ask(j.session);
    const char *kind = eb_json_get_string(ask, "kind", "");
    if (strcmp(kind, "adjust") == 0) {
      assert_string_equal(eb_json_get_string(ask, "engine", ""), "running");
      moved = true;
      idle = false;
      moves++;
    }
    idle = idle || strcmp(eb_json_get_string(ask, "key", ""), "idle.now") == 0;
    if (strcmp(kind, "reading") == 0 && moved) {
      assert_true(idle);
      assert_int_equal(eb_json_get_number(ask, "repeat", 0), 1);
      moved = false;
    }
    char typed[64];
    engine_answer(&e, ask, typed, sizeof typed);
    job_answer(&j, typed);
  }
  assert_true(moves > 0);
  job_finish(&j);
}

/* With the plates measured and the screw known, a move is so many turns, to more air where more is wished. */
static void stop_screws_are_turned_by_an_amount(void **state)
{
  (void)state;
  job j;
  engine e = {.flow = UNEVEN, .level = 1, .baseline = "feeler-gap"};
  e.options = "bores=5 numbering=front-to-rear pitch_mm=0.8 lever_mm=25";
  int moves = 0;
  job_begin(&j, "stop-screws", NULL);
  while (job_asks(&j)) {
    const eb_json *ask = eb_session_ask(j.session);
    if (strcmp(eb_json_get_string(ask, "kind", ""), "adjust") == 0) {
      const eb_json *amount = eb_json_get(ask, "amount");
      assert_string_equal(eb_json_get_string(amount, "what", ""), "turns");
      assert_true(eb_json_get_number(amount, "value", 0) * eb_json_get_number(ask, "move", 0) > 0);
      assert_true(fabs(eb_json_get_number(amount, "value", 9)) < 1);
      moves++;
    }
    char typed[64];
    engine_answer(&e, ask, typed, sizeof typed);
    job_answer(&j, typed);
  }
  assert_true(moves > 0);
  job_finish(&j);
}

/* Whoever sees the wrong engine drawn goes back and says it again. */
static void options_are_taken_back_like_any_answer(void **state)
{
  (void)state;
  job j;
  engine e = engine_for(0, "cylinders=6 numbering=odd-left");
  job_begin(&j, "twin-bank", NULL);
  job_answer_own(&j, &e);
  assert_null(j.layout);
  job_answer(&j, "6");
  job_pause_and_resume(&j, &e);
  assert_string_equal(eb_json_get_string(eb_session_ask(j.session), "key", ""), "option.numbering");
  job_answer(&j, "odd-left");
  assert_int_equal(bores_of(&j), 6);
  job_back(&j, &e);
  job_back(&j, &e);
  assert_string_equal(eb_json_get_string(eb_session_ask(j.session), "key", ""), "option.cylinders");
  job_answer(&j, "8");
  job_pause_and_resume(&j, &e);
  job_answer(&j, "right-first");
  assert_int_equal(bores_of(&j), 8);
  job_pause_and_resume(&j, &e);
  assert_string_equal(eb_json_get_string(eb_session_ask(j.session), "key", ""), "engine.stopped");
  same_answers("twin-bank", job_effective(&j), "option.cylinders=8\noption.numbering=right-first\n");
  job_finish(&j);
}

/* The same answers hold in the end, however often the job was left and answers taken back. */
static void disturbances_change_nothing(void **state)
{
  (void)state;
  for (int p = 0; p < PLAYED; p++)
    for (int k = DISTURBED_FROM; k < DISTURBED; k++) {
      engine e = engine_for(k, played[p].options);
      job straight;
      job_play(&straight, played[p].procedure, &e, (disturbed){0});
      char *wanted = job_effective(&straight);
      job_finish(&straight);
      e = engine_for(k, played[p].options);
      job j;
      job_play(&j, played[p].procedure, &e, (disturbed){true, true, STRIDE});
      char what[100];
      snprintf(what, sizeof what, "%s, %s", played[p].procedure, engines[k].name);
      same_answers(what, job_effective(&j), wanted);
      assert_string_equal(j.outcome, straight.outcome);
      job_finish(&j);
    }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_procedure_is_played_here),
      cmocka_unit_test(jobs_come_to_their_end),
      cmocka_unit_test(a_screw_at_a_running_engine_begins_a_new_running_period),
      cmocka_unit_test(stop_screws_are_turned_by_an_amount),
      cmocka_unit_test(options_are_taken_back_like_any_answer),
      cmocka_unit_test(disturbances_change_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
