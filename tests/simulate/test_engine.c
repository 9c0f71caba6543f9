#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/airflow.h"
#include "evenbore/simulate.h"

#include <math.h>
#include <pthread.h>

static eb_layout four(void)
{
  static const char text[] =
      "{\"rows\":[[1,2,3,4]],\"adjusters\":["
      "{\"id\":\"middle\",\"kind\":\"screw\",\"sides\":[[1,2],[3,4]],\"effort\":2,\"stopped\":false},"
      "{\"id\":\"front\",\"kind\":\"screw\",\"sides\":[[1],[2]],\"effort\":2,\"stopped\":false},"
      "{\"id\":\"plate-4\",\"kind\":\"plate\",\"sides\":[[4]],\"effort\":15,\"stopped\":true}]}";
  eb_json *json = NULL;
  eb_layout layout;
  assert_int_equal(eb_json_parse(text, strlen(text), &json, NULL), EB_OK);
  assert_int_equal(eb_layout_read(json, "four", &layout, NULL), EB_OK);
  eb_json_destroy(json);
  return layout;
}

static eb_engine *engine_of(uint64_t seed)
{
  eb_layout layout = four();
  eb_engine *engine = NULL;
  eb_error error;
  if (eb_engine_create(eb_host_system(), &layout, seed, NULL, &engine, &error) != EB_OK)
    fail_msg("%s", error.message);
  return engine;
}

enum { READINGS = 12 };

/* A start, three rounds of readings, a move in between. */
static void play(uint64_t seed, double readings[READINGS])
{
  eb_engine *engine = engine_of(seed);
  assert_int_equal(eb_engine_start(engine, NULL), EB_OK);
  for (int i = 0; i < READINGS; i++) {
    assert_int_equal(eb_engine_read(engine, i % 4, &readings[i], NULL), EB_OK);
    if (i == 5)
      assert_int_equal(eb_engine_move(engine, 0, 0.05, NULL), EB_OK);
  }
  eb_engine_destroy(engine);
}

static void the_same_seed_is_the_same_engine(void **state)
{
  (void)state;
  double a[READINGS];
  double b[READINGS];
  double c[READINGS];
  play(7, a);
  play(7, b);
  play(8, c);
  assert_memory_equal(a, b, sizeof a);
  assert_memory_not_equal(a, c, sizeof a);
}

static void *play_in_thread(void *readings)
{
  play(7, readings);
  return NULL;
}

static void threads_do_not_matter(void **state)
{
  (void)state;
  double alone[READINGS];
  double beside[2][READINGS];
  pthread_t threads[2];
  play(7, alone);
  for (int i = 0; i < 2; i++)
    assert_int_equal(pthread_create(&threads[i], NULL, play_in_thread, beside[i]), 0);
  for (int i = 0; i < 2; i++)
    pthread_join(threads[i], NULL);
  assert_memory_equal(alone, beside[0], sizeof alone);
  assert_memory_equal(alone, beside[1], sizeof alone);
}

static void what_cannot_be_is_refused(void **state)
{
  (void)state;
  eb_engine *engine = engine_of(1);
  double value = -1;
  assert_int_equal(eb_engine_read(engine, 0, &value, NULL), EB_REFUSED);
  assert_true(value == -1);
  assert_int_equal(eb_engine_stop(engine, NULL), EB_REFUSED);
  assert_int_equal(eb_engine_start(engine, NULL), EB_OK);
  assert_int_equal(eb_engine_start(engine, NULL), EB_REFUSED);
  assert_int_equal(eb_engine_move(engine, 2, 0.05, NULL), EB_REFUSED);
  eb_engine_destroy(engine);
}

/* Choked flow follows area alone [NACA Report 1135: below the critical pressure ratio]: where all bores are choked, the
 * shares of the air are the shares of the open area, one leak and one coefficient being common to all. */
static void air_follows_area_where_it_is_choked(void **state)
{
  (void)state;
  int choked = 0;
  for (uint64_t seed = 1; seed <= 20; seed++) {
    eb_engine *engine = engine_of(seed);
    eb_engine_truth truth;
    assert_int_equal(eb_engine_start(engine, NULL), EB_OK);
    assert_int_equal(eb_engine_set_idle(engine, NULL), EB_OK);
    eb_engine_look(engine, &truth);
    double mean = 0;
    for (int i = 0; i < 4; i++) {
      mean += truth.deviation[i] / 4;
      if (truth.behind_pa[0] < 0.5283 * 101325 && truth.behind_pa[i] < 0.5283 * 101325) {
        choked++;
        double air = truth.flow_kg_h[i] / truth.flow_kg_h[0];
        double area = truth.area_mm2[i] / truth.area_mm2[0];
        /* What a bevelled edge lets pass differs from plate to plate, and is not in the area. */
        assert_true(fabs(log(air / area)) < 0.15);
      }
    }
    assert_true(fabs(mean) < 1e-9);
    /* The idle stop is set by ear, to one per cent, and settles there. */
    assert_true(fabs(truth.speed_rpm / 900 - 1) < 0.06);
    eb_engine_destroy(engine);
  }
  print_message("%d of 80 bores were choked\n", choked);
  assert_true(choked > 40);
}

static void more_opening_is_more_air_and_more_speed(void **state)
{
  (void)state;
  eb_engine *engine = engine_of(3);
  eb_engine_truth before;
  eb_engine_truth after;
  assert_int_equal(eb_engine_start(engine, NULL), EB_OK);
  eb_engine_look(engine, &before);
  eb_engine_set_stop(engine, before.stop_deg * 1.2 + 0.1);
  eb_engine_look(engine, &after);
  assert_true(after.speed_rpm > before.speed_rpm);
  for (int i = 0; i < 4; i++)
    assert_true(after.flow_kg_h[i] > before.flow_kg_h[i]);
  eb_engine_destroy(engine);
}

/* A move changes its own two sides against each other, by a third to three times of what was wished. */
static void an_adjuster_answers_in_its_own_way(void **state)
{
  (void)state;
  int right_way = 0;
  for (uint64_t seed = 1; seed <= 40; seed++) {
    eb_engine *engine = engine_of(seed);
    eb_engine_truth before;
    eb_engine_truth after;
    assert_int_equal(eb_engine_start(engine, NULL), EB_OK);
    eb_engine_look(engine, &before);
    assert_int_equal(eb_engine_move(engine, 1, 0.06, NULL), EB_OK);
    eb_engine_look(engine, &after);
    double was = log1p(before.deviation[0]) - log1p(before.deviation[1]);
    double is = log1p(after.deviation[0]) - log1p(after.deviation[1]);
    assert_true(fabs(is - was) < 0.06 * 3 * 2);
    right_way += is > was;
    eb_engine_destroy(engine);
  }
  assert_true(right_way >= 36);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(the_same_seed_is_the_same_engine),
      cmocka_unit_test(threads_do_not_matter),
      cmocka_unit_test(what_cannot_be_is_refused),
      cmocka_unit_test(air_follows_area_where_it_is_choked),
      cmocka_unit_test(more_opening_is_more_air_and_more_speed),
      cmocka_unit_test(an_adjuster_answers_in_its_own_way),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
