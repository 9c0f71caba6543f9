/* The bay, by playing the real procedure: what comes of it is judged by what no gauge shows. */
#include "play.h"

#include "evenbore/digest.h"

#include <math.h>
#include <pthread.h>

static play played(const eb_bay_options *options)
{
  play p = {0};
  play_begin(&p, eb_script_builtin_procedure("v8-coupled"), options);
  play_on(&p);
  return p;
}

static bool ended_well(const play *p)
{
  return strcmp(p->outcome, "even") == 0 || strcmp(p->outcome, "claimed") == 0;
}

/* The risk of a claim is 5 %: five or more wrong ones of twenty-four have a chance below one in a hundred (binomial).
 */
static void claims_hold_on_simulated_engines(void **state)
{
  (void)state;
  int even = 0, wrong = 0;
  for (uint64_t seed = 1; seed <= 16; seed++) {
    eb_bay_options o = eb_bay_options_usual();
    o.seed = seed;
    play p = played(&o);
    eb_bay_work work;
    eb_bay_account(p.bay, &work);
    assert_true(ended_well(&p) && p.claims);
    assert_true(work.refused == 0 && work.readings >= 9 && work.prompts > 40 && work.minutes > 40);
    double sum = 0;
    for (int k = 0; k < EB_BAY_MINUTES; k++)
      sum += work.minutes_of[k];
    assert_true(fabs(sum - work.minutes) < 1e-6);
    even += strcmp(p.outcome, "even") == 0;
    wrong += p.spread > p.claim;
    play_end(&p);
  }
  assert_true(even >= 5);
  assert_true(wrong < 5);
}

static void every_fault_comes_to_an_end(void **state)
{
  (void)state;
  for (int f = 0; f < EB_FAULTS; f++) {
    eb_bay_options o = eb_bay_options_usual();
    o.fault[f] = 1;
    play p = played(&o);
    if (!ended_well(&p))
      fail_msg("%s: %s", eb_fault_word((eb_fault)f), p.summary);
    play_end(&p);
  }
}

/* Everything that was said, both ways. */
typedef struct telling {
  uint64_t seed;
  char digest[EB_DIGEST_SIZE];
  int messages;
} telling;

static void add_message(void *context, const eb_json *message)
{
  telling *t = context;
  char *text = eb_json_text(message);
  char all[EB_DIGEST_SIZE];
  char chain[2 * EB_DIGEST_SIZE];
  assert_non_null(text);
  eb_digest(text, strlen(text), all);
  int size = snprintf(chain, sizeof chain, "%s%s", t->digest, all);
  eb_digest(chain, (size_t)size, t->digest);
  eb_json_text_free(text);
  t->messages++;
}

static void *tell(void *argument)
{
  telling *t = argument;
  eb_bay_options o = eb_bay_options_usual();
  o.seed = t->seed;
  for (int f = 0; f < EB_FAULTS; f++)
    o.fault[f] = 1;
  o.one_fault = true;
  play p = {.each = add_message, .context = t};
  play_begin(&p, eb_script_builtin_procedure("v8-coupled"), &o);
  play_on(&p);
  play_end(&p);
  return NULL;
}

static void same_seed_same_words_on_any_number_of_threads(void **state)
{
  (void)state;
  enum { THREADS = 4 };
  telling alone[THREADS] = {0}, together[THREADS] = {0};
  pthread_t thread[THREADS];
  for (int t = 0; t < THREADS; t++) {
    alone[t].seed = together[t].seed = 40 + (uint64_t)t / 2;
    tell(&alone[t]);
  }
  for (int t = 0; t < THREADS; t++)
    assert_int_equal(pthread_create(&thread[t], NULL, tell, &together[t]), 0);
  for (int t = 0; t < THREADS; t++)
    assert_int_equal(pthread_join(thread[t], NULL), 0);
  for (int t = 0; t < THREADS; t++) {
    assert_true(alone[t].messages > 60);
    assert_string_equal(alone[t].digest, together[t].digest);
  }
  assert_string_equal(alone[0].digest, alone[1].digest);
  assert_string_not_equal(alone[0].digest, alone[2].digest);
}

static void a_tuner_who_gives_up_stops_the_job(void **state)
{
  (void)state;
  eb_bay_options o = eb_bay_options_usual();
  o.skill.gives_up_after = 30;
  play p = played(&o);
  assert_string_equal(p.outcome, "stopped");
  assert_int_equal(eb_session_where(p.session), EB_SESSION_ENDED);
  play_end(&p);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(claims_hold_on_simulated_engines),
      cmocka_unit_test(every_fault_comes_to_an_end),
      cmocka_unit_test(same_seed_same_words_on_any_number_of_threads),
      cmocka_unit_test(a_tuner_who_gives_up_stops_the_job),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
