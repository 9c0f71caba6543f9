/* Sameness, wear, the gauge, and what an engine refuses. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <pthread.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/statistics.h"

#include "bench_engine.h"

enum { BORES = 8, ROUNDS = 12, READINGS = ROUNDS * BORES, THREADS = 8 };

static double read_bore(eb_engine *engine, int bore)
{
  double value = -1;
  assert_int_equal(eb_engine_read(engine, bore, &value, NULL), EB_OK);
  return value;
}

/* A working life: every reading of it and the truth at its end. */
typedef struct life {
  uint64_t seed;
  double reading[READINGS];
  eb_engine_truth truth;
} life;

static void *live(void *argument)
{
  life *l = argument;
  eb_engine *engine = engine_of("v8-coupled", l->seed, NULL);
  for (int round = 0; round < ROUNDS; round++) {
    engine_start(engine);
    eb_engine_wait(engine, 10);
    assert_int_equal(eb_engine_set_idle(engine, NULL), EB_OK);
    for (int i = 0; i < BORES; i++)
      l->reading[round * BORES + i] = read_bore(engine, i);
    assert_int_equal(eb_engine_stop(engine, NULL), EB_OK);
    engine_move(engine, round % 11, round % 2 == 0 ? 0.04 : -0.03);
  }
  eb_engine_look(engine, &l->truth);
  eb_engine_destroy(engine);
  return NULL;
}

static void same_seed_same_bytes_on_any_number_of_threads(void **state)
{
  (void)state;
  static life alone[THREADS], together[THREADS];
  pthread_t thread[THREADS];
  for (int t = 0; t < THREADS; t++) {
    alone[t].seed = together[t].seed = 100 + (uint64_t)t / 2;
    live(&alone[t]);
  }
  for (int t = 0; t < THREADS; t++)
    assert_int_equal(pthread_create(&thread[t], NULL, live, &together[t]), 0);
  for (int t = 0; t < THREADS; t++)
    assert_int_equal(pthread_join(thread[t], NULL), 0);
  assert_memory_equal(alone, together, sizeof alone);
  assert_memory_equal(alone[0].reading, alone[1].reading, sizeof alone[0].reading);
  assert_memory_not_equal(alone[0].reading, alone[2].reading, sizeof alone[0].reading);
}

/* Recorded once: another compiler or machine must read the same.  A change of the model changes them. */
static void readings_are_the_recorded_ones(void **state)
{
  (void)state;
  static const double recorded[BORES] = {7.25, 7.25, 7, 7.75, 7.75, 7.75, 5.5, 6.25};
  life l = {.seed = 2026};
  live(&l);
  for (int i = 0; i < BORES; i++)
    if (fabs(l.reading[READINGS - BORES + i] - recorded[i]) > 1e-9)
      fail_msg("reading %d of the last pass is %g, not %g", i + 1, l.reading[READINGS - BORES + i], recorded[i]);
}

/* Two tuners on one engine, of whom one reads more, meet the same work. */
static void reading_more_changes_no_later_move(void **state)
{
  (void)state;
  eb_engine_options o = eb_engine_options_usual();
  o.read_min = 0;
  eb_engine *few = engine_of("v8-coupled", 9, &o), *many = engine_of("v8-coupled", 9, &o);
  engine_start(few);
  engine_start(many);
  read_bore(few, 0);
  for (int i = 0; i < 40; i++)
    read_bore(many, i % BORES);
  assert_int_equal(eb_engine_stop(few, NULL), EB_OK);
  assert_int_equal(eb_engine_stop(many, NULL), EB_OK);
  engine_move(few, 0, 0.05);
  engine_move(many, 0, 0.05);
  eb_engine_truth a = engine_look(few), b = engine_look(many);
  assert_memory_equal(&a, &b, sizeof a);
  eb_engine_destroy(few);
  eb_engine_destroy(many);
}

static double off(const eb_engine_truth *t, int bore, int other)
{
  return log(t->flow_kg_h[bore] / t->flow_kg_h[other]);
}

/* The spreads are this project's own; that they come out as asked is checked, within five standard errors. */
static void engines_are_off_as_asked(void **state)
{
  (void)state;
  enum { ENGINES = 400 };
  eb_engine_options linked = plain_options(), plated = plain_options();
  double link = 0, plates = 0;
  linked.link_spread = 0.1;
  plated.plate_spread = 0.04;
  for (int e = 0; e < ENGINES; e++) {
    eb_engine *a = engine_of("v8-coupled", (uint64_t)e, &linked), *b = engine_of("v8-coupled", (uint64_t)e, &plated);
    eb_engine_truth of_a = engine_look(a), of_b = engine_look(b);
    link += pow(off(&of_a, 0, 4), 2) / ENGINES;
    for (int i = 1; i < BORES; i++)
      plates += pow(off(&of_b, i, 0), 2) / 2 / ENGINES / (BORES - 1);
    eb_engine_destroy(a);
    eb_engine_destroy(b);
  }
  assert_true(fabs(sqrt(link) - 0.1) < 0.018);
  assert_true(fabs(sqrt(plates) - 0.04) < 0.0072);
}

/* What the link does to the first bores of both banks, over what is wished. */
static double answer_of(eb_engine *engine, double wished)
{
  eb_engine_truth before = engine_look(engine);
  engine_move(engine, 0, wished);
  eb_engine_truth after = engine_look(engine);
  return (off(&after, 0, 4) - off(&before, 0, 4)) / wished;
}

/* A tenth more or less than a third and three: air over angle is a curve. */
static void adjusters_answer_between_a_third_and_three_never_twice_alike(void **state)
{
  (void)state;
  eb_engine_options o = plain_options(), usual = eb_engine_options_usual();
  int weak = 0, strong = 0, differ = 0;
  o.answer_spread = usual.answer_spread;
  o.answer_again = usual.answer_again;
  for (int e = 0; e < 200; e++) {
    eb_engine *engine = engine_of("v8-coupled", (uint64_t)e, &o);
    double once = answer_of(engine, 0.01), twice = answer_of(engine, 0.01);
    assert_true(once > 0.3 && once < 3.3 && twice > 0.3 && twice < 3.3);
    assert_true(fabs(log(once / twice)) < 6 * sqrt(2) * usual.answer_again);
    differ += fabs(log(once / twice)) > 0.01;
    weak += once < 0.7;
    strong += once > 1.4;
    eb_engine_destroy(engine);
  }
  assert_true(weak > 20 && strong > 20 && differ > 180);
}

static void a_pulled_plate_comes_back_elsewhere(void **state)
{
  (void)state;
  enum { ENGINES = 300 };
  eb_engine_options o = plain_options();
  double own = 0, mate = 0;
  o.seat_spread = 0.008;
  for (int e = 0; e < ENGINES; e++) {
    eb_engine *engine = engine_of("v8-coupled", (uint64_t)e, &o);
    engine_move(engine, 3, 0.03); /* plate of bore 1 */
    engine_move(engine, 3, -0.03);
    eb_engine_truth t = engine_look(engine);
    own += pow(off(&t, 0, 4), 2) / ENGINES;
    mate += pow(off(&t, 1, 4), 2) / ENGINES; /* bore 3, on the same shaft */
    assert_true(fabs(off(&t, 2, 4)) < 1e-12);
    eb_engine_destroy(engine);
  }
  assert_true(sqrt(own) > 0.008 && sqrt(own) < 0.016);
  assert_true(sqrt(mate) > 0.004 && sqrt(mate) < 0.008);
}

static void what_sticks_comes_free_by_a_blip(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  o.stick_chance = 1;
  eb_engine *engine = engine_of("v8-coupled", 4, &o);
  double felt = answer_of(engine, 0.05);
  assert_true(felt > 0.35 && felt < 0.85);
  for (int i = 0; i < 30; i++)
    eb_engine_blip(engine);
  eb_engine_truth t = engine_look(engine);
  assert_true(fabs(off(&t, 0, 4) - 0.05) < 0.003);
  eb_engine_destroy(engine);
}

static void slack_is_lost_where_an_adjuster_turns_back(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  o.lash = 0.01;
  eb_engine *engine = engine_of("v8-coupled", 4, &o);
  answer_of(engine, 0.05);
  double further = answer_of(engine, 0.05), back = answer_of(engine, -0.05);
  assert_true(fabs(further - 1) < 0.06);
  assert_true(fabs(back - 0.8) < 0.06);
  eb_engine_destroy(engine);
}

static void neighbours_feel_a_move(void **state)
{
  (void)state;
  eb_engine_options o = plain_options();
  o.neighbour_share = 0.03;
  eb_engine *engine = engine_of("v8-coupled", 4, &o);
  eb_engine_truth before = engine_look(engine);
  engine_move(engine, 3, 0.1); /* plate of bore 1: bore 3 is behind it, bore 2 across, bore 7 far */
  eb_engine_truth after = engine_look(engine);
  double behind = fabs(after.angle_deg[1] - before.angle_deg[1]);
  double across = fabs(after.angle_deg[4] - before.angle_deg[4]);
  double far = fabs(after.angle_deg[3] - before.angle_deg[3]);
  assert_true(behind > 0 && across > 0 && far <= 0);
  eb_engine_destroy(engine);
}

static void the_gauge_repeats_as_it_is_said_to(void **state)
{
  (void)state;
  enum { REPEATS = 4000 };
  static double values[REPEATS];
  eb_engine_options o = plain_options();
  o.gauge.repeatability = 0.02;
  eb_engine *engine = engine_of("v8-coupled", 6, &o);
  engine_start(engine);
  for (int i = 0; i < REPEATS; i++)
    values[i] = log(read_bore(engine, 0) / 7);
  eb_sample s = eb_sample_describe(values, REPEATS);
  assert_true(fabs(s.mean) < 5 * 0.02 / sqrt(REPEATS));
  assert_true(fabs(s.deviation - 0.02) < 5 * 0.02 / sqrt(2.0 * REPEATS));
  assert_true(fabs(s.autocorrelation) < 5 / sqrt(REPEATS));
  eb_engine_destroy(engine);
}

static void the_gauge_is_read_to_its_step_and_its_end(void **state)
{
  (void)state;
  eb_engine *engine = engine_of("v8-coupled", 6, NULL);
  engine_start(engine);
  for (int i = 0; i < 200; i++) {
    double value = read_bore(engine, i % BORES);
    assert_true(value > 3 && value < 14);
    assert_true(fabs(value * 4 - nearbyint(value * 4)) < 1e-9);
  }
  eb_engine_set_stop(engine, 20);
  assert_true(fabs(read_bore(engine, 0) - 30) < 1e-9);
  eb_engine_destroy(engine);
}

static void engines_refuse_what_hands_must_not_do(void **state)
{
  (void)state;
  eb_error error;
  eb_engine *engine = engine_of("v8-coupled", 6, NULL);
  double value = 42;
  assert_int_equal(eb_engine_read(engine, 0, &value, &error), EB_REFUSED);
  assert_true(value > 41 && value < 43);
  assert_int_equal(eb_engine_set_idle(engine, &error), EB_REFUSED);
  assert_int_equal(eb_engine_stop(engine, &error), EB_REFUSED);
  engine_start(engine);
  assert_int_equal(eb_engine_start(engine, &error), EB_REFUSED);
  eb_engine_truth before = engine_look(engine);
  assert_int_equal(eb_engine_move(engine, 0, 0.1, &error), EB_REFUSED);
  assert_non_null(strstr(error.message, "cross link"));
  eb_engine_truth after = engine_look(engine);
  assert_memory_equal(&before, &after, sizeof before);
  eb_engine_destroy(engine);
  engine = engine_of(ENGINE_BLEEDS, 6, NULL);
  engine_start(engine);
  engine_move(engine, 0, 0.05); /* a bleed is turned while it runs */
  eb_engine_destroy(engine);
}

static void *no_memory(void *context, void *block, size_t size)
{
  (void)context;
  (void)block;
  (void)size;
  return NULL;
}

static void engines_that_cannot_be_are_refused(void **state)
{
  (void)state;
  eb_error error;
  eb_layout layout = layout_of("v8-coupled");
  eb_engine *engine = NULL;
  eb_host host = *eb_host_system();
  eb_engine_options o = eb_engine_options_usual();
  o.plate.shaft_mm = 60;
  assert_int_equal(eb_engine_create(&host, &layout, 1, &o, &engine, &error), EB_OUT_OF_RANGE);
  assert_non_null(strstr(error.message, "shaft_mm is 60"));
  o = eb_engine_options_usual();
  o.link_spread = NAN;
  assert_int_equal(eb_engine_create(&host, &layout, 1, &o, &engine, &error), EB_OUT_OF_RANGE);
  o = eb_engine_options_usual();
  o.leak_mm2 = 50; /* closed plates let more past than it idles on */
  assert_int_equal(eb_engine_create(&host, &layout, 1, &o, &engine, &error), EB_OUT_OF_RANGE);
  assert_non_null(strstr(error.message, "does not idle"));
  host.allocate = no_memory;
  assert_int_equal(eb_engine_create(&host, &layout, 1, NULL, &engine, &error), EB_OUT_OF_MEMORY);
  assert_null(engine);
  eb_engine_destroy(NULL);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(same_seed_same_bytes_on_any_number_of_threads),
      cmocka_unit_test(readings_are_the_recorded_ones),
      cmocka_unit_test(reading_more_changes_no_later_move),
      cmocka_unit_test(engines_are_off_as_asked),
      cmocka_unit_test(adjusters_answer_between_a_third_and_three_never_twice_alike),
      cmocka_unit_test(a_pulled_plate_comes_back_elsewhere),
      cmocka_unit_test(what_sticks_comes_free_by_a_blip),
      cmocka_unit_test(slack_is_lost_where_an_adjuster_turns_back),
      cmocka_unit_test(neighbours_feel_a_move),
      cmocka_unit_test(the_gauge_repeats_as_it_is_said_to),
      cmocka_unit_test(the_gauge_is_read_to_its_step_and_its_end),
      cmocka_unit_test(engines_refuse_what_hands_must_not_do),
      cmocka_unit_test(engines_that_cannot_be_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
