/* The routine meets faults in a simulated bay: what it says of them, and that a sound engine is left in peace. */
#include "play.h"

/* The findings that were told, by kind, and what was asked for them. */
typedef struct seen {
  int tells, snaps, pressed, readings;
  int crosschecks, fuel, after; /* jobs' last words: whether one of them is fuel, and moves asked for after that */
  int ports, comparisons, differing, without_air;
  char kinds[256];
} seen;

static void look(void *context, const eb_json *message)
{
  seen *s = context;
  s->snaps += eb_json_get_bool(message, "snaps", false);
  s->pressed += eb_json_get_bool(message, "pressed", false) && eb_json_get(message, "pushed") == NULL;
  const char *told = eb_json_get_string(message, "kind", "");
  s->ports += strncmp(eb_json_get_string(message, "key", ""), "cross.heat.", 11) == 0;
  s->without_air += strncmp(eb_json_get_string(message, "key", ""), "fault.", 6) == 0;
  s->after += s->fuel > 0 && strcmp(told, "adjust") == 0;
  if (strcmp(told, "crosscheck") == 0) {
    s->crosschecks++;
    for (const eb_json *c = eb_json_first(eb_json_get(message, "crosscheck")); c != NULL; c = eb_json_next(c))
      s->fuel += eb_json_get_bool(c, "fuel", false);
  }
  if (strcmp(told, "comparison") == 0) {
    s->comparisons++;
    const eb_json *part = eb_json_first(eb_json_get(eb_json_get(message, "comparison"), "parts"));
    for (; part != NULL; part = eb_json_next(part))
      s->differing += eb_json_get_bool(part, "differs", false);
  }
  if (strcmp(told, "finding") != 0)
    return;
  s->tells++;
  const eb_json *one = eb_json_first(eb_json_get(message, "findings"));
  for (; one != NULL; one = eb_json_next(one)) {
    const char *kind = eb_json_get_string(one, "kind", "");
    assert_true(eb_json_is_number(eb_json_get(one, "probability")));
    assert_true(eb_json_get_string(one, "test", "")[0] != '\0');
    if (eb_json_get_bool(one, "sure", false) && strstr(s->kinds, kind) == NULL)
      snprintf(s->kinds + strlen(s->kinds), sizeof s->kinds - strlen(s->kinds), "%s ", kind);
  }
}

static seen play_with(uint64_t seed, int fault, double strength)
{
  seen s = {0};
  eb_bay_options o = eb_bay_options_usual();
  o.seed = seed;
  o.skill.slips = 0;
  if (fault >= 0)
    o.fault[fault] = strength;
  play p = {.each = look, .context = &s};
  play_begin(&p, eb_script_builtin_procedure("v8-coupled"), &o);
  play_on(&p);
  eb_bay_work work;
  eb_bay_account(p.bay, &work);
  s.readings = work.readings;
  if (strcmp(p.outcome, "even") != 0 && strcmp(p.outcome, "claimed") != 0)
    fail_msg("seed %d: %s: %s", (int)seed, p.outcome, p.summary);
  play_end(&p);
  return s;
}

/* Jobs of `jobs` in which the fault was called by its name. */
static int jobs_with(eb_fault fault, double strength, const char *kind, int jobs)
{
  int found = 0;
  for (int seed = 1; seed <= jobs; seed++) {
    seen s = play_with((uint64_t)seed, (int)fault, strength);
    found += strstr(s.kinds, kind) != NULL;
  }
  print_message("%s %g: %s in %d of %d\n", eb_fault_word(fault), strength, kind, found, jobs);
  return found;
}

static void a_sound_engine_is_snapped_first_and_last_and_left_in_peace(void **state)
{
  (void)state;
  int alarms = 0;
  for (uint64_t seed = 1; seed <= 12; seed++) {
    seen s = play_with(seed, -1, 0);
    assert_true(s.snaps == 2 || s.snaps == 3);
    alarms += s.tells > 0;
  }
  assert_true(alarms <= 1);
}

/* A third less than is there; the stack is pressed on, the reading rises, and what was read before does not count. */
static void a_leak_is_pressed_on_and_sealed(void **state)
{
  (void)state;
  assert_true(jobs_with(EB_FAULT_LEAK, 2, "leak", 6) >= 4);
  seen s = play_with(2, EB_FAULT_LEAK, 2);
  assert_true(s.pressed >= 2); /* on, off, and on again */
}

static void a_hunting_idle_is_named(void **state)
{
  (void)state;
  assert_true(jobs_with(EB_FAULT_WANDER, 3, "wander", 6) >= 4);
}

static bool is_asked(const play *p, const char *key)
{
  return strcmp(eb_json_get_string(eb_session_ask(p->session), "key", ""), key) == 0;
}

/* Before the job ends it has grown warmer: warm and steady again, and all bores once more, before it may end. */
static void what_was_read_at_another_temperature_is_void(void **state)
{
  (void)state;
  eb_bay_options o = eb_bay_options_usual();
  play p = {.each = NULL};
  char line[80];
  o.seed = 1;
  o.skill.slips = 0;
  play_begin(&p, eb_script_builtin_procedure("v8-coupled"), &o);
  while (eb_session_where(p.session) == EB_SESSION_ASKS && !is_asked(&p, "warm.still"))
    play_step(&p);
  assert_true(is_asked(&p, "warm.still"));
  snprintf(line, sizeof line, "{\"n\":%d,\"value\":99}", eb_json_get_int(eb_session_ask(p.session), "n", 0));
  assert_int_equal(eb_session_take(p.session, line, strlen(line), NULL), EB_OK);
  play_hear(&p);
  assert_true(is_asked(&p, "warm.temperature"));
  int readings = 0;
  while (eb_session_where(p.session) == EB_SESSION_ASKS && !is_asked(&p, "warm.still")) {
    readings += strcmp(eb_json_get_string(eb_session_ask(p.session), "kind", ""), "reading") == 0;
    play_step(&p);
  }
  assert_true(is_asked(&p, "warm.still") && readings >= 9);
  play_on(&p);
  assert_string_equal(p.outcome, "even");
  play_end(&p);
}

/* Lash that the tuner cannot mend now: the job comes to its end, and claims nothing. */
static void play_that_is_left_claims_nothing(void **state)
{
  (void)state;
  int left = 0;
  for (uint64_t seed = 1; seed <= 3; seed++) {
    eb_bay_options o = eb_bay_options_usual();
    play p = {.each = NULL};
    o.seed = seed;
    o.fault[EB_FAULT_LASH] = 3;
    play_begin(&p, eb_script_builtin_procedure("v8-coupled"), &o);
    while (eb_session_where(p.session) == EB_SESSION_ASKS) {
      const eb_json *ask = eb_session_ask(p.session);
      char line[80];
      if (strcmp(eb_json_get_string(ask, "key", ""), "fault.lash") != 0) {
        play_step(&p);
        continue;
      }
      snprintf(line, sizeof line, "{\"n\":%d,\"value\":\"leave\"}", eb_json_get_int(ask, "n", 0));
      assert_int_equal(eb_session_take(p.session, line, strlen(line), NULL), EB_OK);
      play_hear(&p);
      left++;
    }
    assert_string_equal(p.outcome, "claimed");
    assert_false(p.claims);
    play_end(&p);
  }
  assert_true(left >= 3);
}

static void looseness_and_lash_are_found_over_starts_and_snaps(void **state)
{
  (void)state;
  assert_true(jobs_with(EB_FAULT_LOOSE_COUPLER, 3, "loose", 8) + jobs_with(EB_FAULT_LASH, 3, "lash", 8) >= 3);
}

/* A snap that a plate does not come back from, and a vent that is knocked while the gauge goes round. */
static void what_changes_between_readings_is_named(void **state)
{
  (void)state;
  assert_true(jobs_with(EB_FAULT_STICK, 3, "sticking", 6) >= 2);
  assert_true(jobs_with(EB_FAULT_VENT, 3, "vent", 6) >= 3);
}

static void a_bore_without_air_is_asked_about(void **state)
{
  (void)state;
  for (uint64_t seed = 1; seed <= 3; seed++)
    assert_true(play_with(seed, EB_FAULT_DEAD, 1).without_air > 0);
  assert_int_equal(play_with(1, -1, 0).without_air, 0);
}

/* A cylinder that does not fire draws its air: even air, one cold port.  No adjuster is asked for after that. */
static void a_fuel_fault_is_never_balanced(void **state)
{
  (void)state;
  int checked = 0, called = 0, wrong = 0, sound = 0;
  for (uint64_t seed = 1; seed <= 10; seed++) {
    seen weak = play_with(seed, EB_FAULT_WEAK, 1), healthy = play_with(seed, -1, 0);
    assert_int_equal(weak.after, 0);
    checked += weak.ports > 0; /* one mixture sensor for all cannot tell */
    called += weak.ports > 0 && weak.fuel > 0;
    sound += healthy.crosschecks > 0;
    wrong += healthy.fuel > 0;
  }
  print_message("fuel called in %d of %d, and in %d of %d sound ones\n", called, checked, wrong, sound);
  assert_true(checked >= 3 && called == checked);
  assert_true(wrong <= 1);
}

static void off_idle_the_linkage_is_compared(void **state)
{
  (void)state;
  int compared = 0;
  for (uint64_t seed = 1; seed <= 4; seed++)
    compared += play_with(seed, -1, 0).comparisons > 0;
  assert_true(compared >= 3);
}

/* Whatever is found, and whether it is mended or not, the job comes to its end. */
static void every_strength_comes_to_an_end(void **state)
{
  (void)state;
  for (int fault = 0; fault < EB_FAULTS; fault++)
    play_with(40 + (uint64_t)fault, fault, 3);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_was_read_at_another_temperature_is_void),
      cmocka_unit_test(a_sound_engine_is_snapped_first_and_last_and_left_in_peace),
      cmocka_unit_test(a_leak_is_pressed_on_and_sealed),
      cmocka_unit_test(a_hunting_idle_is_named),
      cmocka_unit_test(play_that_is_left_claims_nothing),
      cmocka_unit_test(looseness_and_lash_are_found_over_starts_and_snaps),
      cmocka_unit_test(what_changes_between_readings_is_named),
      cmocka_unit_test(a_bore_without_air_is_asked_about),
      cmocka_unit_test(a_fuel_fault_is_never_balanced),
      cmocka_unit_test(off_idle_the_linkage_is_compared),
      cmocka_unit_test(every_strength_comes_to_an_end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
