/* The whole job of v8-coupled, led by its real procedure on an engine of a few
 * lines: straight through, with a resume at every prompt, with a take-back at
 * every prompt. */
#include "job_rig.h"

static const engine v8 = {.flow = {0, 6.31, 5.12, 6.05, 5.27, 5.43, 5.02, 5.71, 5.33}, .level = 1};

/* Each of these replays the whole job so far; the sanitizers' build looks at every fourth prompt. */
#ifdef __SANITIZE_ADDRESS__
enum { STRIDE = 4 };
#else
enum { STRIDE = 1 };
#endif

static void the_job_comes_to_its_end(void **state)
{
  (void)state;
  job j;
  engine e = v8;
  job_play(&j, "v8-coupled", &e, (disturbed){0});
  print_message("%d prompts, %d cautions at %d starts and %d stops, %s\n", j.prompts + j.cautions, j.cautions, j.starts,
                j.stops, j.outcome);
  assert_true(j.prompts > 40);
  /* The place, the running engine, each start, and hands in each stop but the last; no more, no less. */
  assert_int_equal(j.cautions, 2 + j.starts + j.stops - 1);
  assert_true(strcmp(j.outcome, "even") == 0 || strcmp(j.outcome, "claimed") == 0);
  job_finish(&j);
}

/* The same answers hold in the end, however often the job was left or an answer taken back. */
static void changes_nothing(bool resumes, bool takes_back)
{
  job straight;
  engine e = v8;
  job_play(&straight, "v8-coupled", &e, (disturbed){0});
  char *wanted = job_effective(&straight);
  job_finish(&straight);
  job j;
  e = v8;
  job_play(&j, "v8-coupled", &e, (disturbed){resumes, takes_back, STRIDE});
  same_answers("v8-coupled", job_effective(&j), wanted);
  assert_string_equal(j.outcome, straight.outcome);
  job_finish(&j);
}

static void a_resume_at_every_prompt_changes_nothing(void **state)
{
  (void)state;
  changes_nothing(true, false);
}

static void a_take_back_at_every_prompt_changes_nothing(void **state)
{
  (void)state;
  changes_nothing(false, true);
}

static void both_at_every_prompt_change_nothing(void **state)
{
  (void)state;
  changes_nothing(true, true);
}

/* The tuner says once that a part is seized, and to plan with the others: it is not asked for again. */
static void a_seized_part_is_left_alone(void **state)
{
  (void)state;
  job j;
  engine e = v8;
  char seized[64] = "", typed[64], key[64];
  bool left = false;
  int others = 0;
  job_begin(&j, "v8-coupled", NULL);
  while (job_asks(&j)) {
    const eb_json *ask = eb_session_ask(j.session);
    snprintf(key, sizeof key, "%s", eb_json_get_string(ask, "key", ""));
    engine_answer(&e, ask, typed, sizeof typed);
    if (strncmp(key, "adjust.", 7) == 0 && seized[0] == '\0') {
      snprintf(seized, sizeof seized, "%s", key + 7);
      snprintf(typed, sizeof typed, "0 seized");
    } else if (strncmp(key, "adjust.", 7) == 0) {
      assert_string_not_equal(key + 7, seized);
      others++;
    } else if (strncmp(key, "notdone.", 8) == 0) {
      snprintf(typed, sizeof typed, "without");
      left = true;
    }
    job_answer(&j, typed);
  }
  assert_true(left && others > 0);
  job_finish(&j);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_job_comes_to_its_end),
      cmocka_unit_test(a_seized_part_is_left_alone),
      cmocka_unit_test(a_resume_at_every_prompt_changes_nothing),
      cmocka_unit_test(a_take_back_at_every_prompt_changes_nothing),
      cmocka_unit_test(both_at_every_prompt_change_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
