/* The built-in procedures, played by a simulated tuner at engines of metal and air: sound ones, and ones with a fault
 * that no adjuster mends.  Options are answered by chance. */
#include "play.h"

enum { SOUND = 3, FAULTY = 3 };

typedef struct tally {
  int plays, even, wrong, moves;
  double minutes;
} tally;

static void play_one(const eb_source *procedure, uint64_t seed, bool faulty, tally *t)
{
  eb_bay_options o = eb_bay_options_usual();
  o.seed = seed;
  o.one_fault = faulty;
  for (int f = 0; f < EB_FAULTS && faulty; f++)
    o.fault[f] = 1;
  play p = {0};
  play_begin(&p, procedure, &o);
  play_on(&p);
  if (strcmp(p.outcome, "even") != 0 && strcmp(p.outcome, "claimed") != 0)
    fail_msg("%s, seed %d: %s: %s", procedure->name, (int)seed, p.outcome, p.summary);
  eb_bay_work work;
  eb_bay_account(p.bay, &work);
  assert_int_equal(work.refused, 0);
  t->plays++;
  t->even += strcmp(p.outcome, "even") == 0;
  t->wrong += p.claims && p.spread > p.claim;
  t->moves += work.moves;
  t->minutes += work.minutes;
  play_end(&p);
}

static void say(const char *name, const char *kind, const tally *t)
{
  print_message("%s, %s: %d of %d even, %d claims wrong, %.1f moves, %.0f min\n", name, kind, t->even, t->plays,
                t->wrong, (double)t->moves / t->plays, t->minutes / t->plays);
}

/* At a risk of 5 % five or more wrong claims of 24 have a chance of six in a thousand (binomial). */
static void sound_engines_are_claimed_truly(void **state)
{
  (void)state;
  size_t count = 0;
  int wrong = 0;
  const eb_source *procedures = eb_script_builtin_procedures(&count);
  for (size_t i = 0; i < count; i++) {
    tally t = {0};
    for (int k = 0; k < SOUND; k++)
      play_one(&procedures[i], 100 * i + (uint64_t)k, false, &t);
    say(procedures[i].name, "sound", &t);
    wrong += t.wrong;
  }
  assert_true(wrong < 5);
}

static void faulty_engines_come_to_an_end(void **state)
{
  (void)state;
  size_t count = 0;
  const eb_source *procedures = eb_script_builtin_procedures(&count);
  for (size_t i = 0; i < count; i++) {
    tally t = {0};
    for (int k = 0; k < FAULTY; k++)
      play_one(&procedures[i], 100 * i + 50 + (uint64_t)k, true, &t);
    say(procedures[i].name, "faulty", &t);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(sound_engines_are_claimed_truly),
      cmocka_unit_test(faulty_engines_come_to_an_end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
