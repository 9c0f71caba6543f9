/* Two conditions of one engine: which part of the linkage differs, and only beyond doubt. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "readings.h"

#include "evenbore/compare.h"

typedef struct pair {
  eb_layout layout;
  eb_evidence *idle, *held;
  double y[EB_BORES_MAX], off[EB_BORES_MAX]; /* at idle, and what is added when held */
  uint64_t seed;
} pair;

static void begin(pair *p, const char *engine, uint64_t seed, double noise)
{
  eb_gauge gauge = gauge_fine();
  gauge.repeatability = noise;
  *p = (pair){.seed = seed};
  assert_int_equal(engine_read(engine, &p->layout, NULL), EB_OK);
  p->idle = gather(&p->layout, &gauge);
  p->held = gather(&p->layout, &gauge);
  assert_int_equal(eb_evidence_period(p->idle, NULL), EB_OK);
  assert_int_equal(eb_evidence_period(p->held, NULL), EB_OK);
  for (int i = 0; i < p->layout.bore_count; i++)
    p->y[i] = 0.02 * stream_normal(&p->seed);
}

static void measure(pair *p, double noise)
{
  double held[EB_BORES_MAX];
  for (int i = 0; i < p->layout.bore_count; i++)
    held[i] = p->y[i] + p->off[i] + 0.9; /* more air altogether */
  while (!pass(p->idle, &p->layout, p->y, noise, &p->seed).accepted)
    continue;
  while (!pass(p->held, &p->layout, held, noise, &p->seed).accepted)
    continue;
}

static eb_comparison compare(const pair *p)
{
  eb_comparison found;
  eb_error error;
  if (eb_evidence_compare(p->idle, p->held, 0.05, 0.05, &found, &error) != EB_OK)
    fail_msg("%s", error.message);
  return found;
}

static void end(pair *p)
{
  eb_evidence_destroy(p->idle);
  eb_evidence_destroy(p->held);
}

static int count_differing(const eb_comparison *found, const eb_part **first)
{
  int count = 0;
  for (int i = 0; i < found->count; i++)
    if (found->part[i].differs && count++ == 0)
      *first = &found->part[i];
  return count;
}

/* An exact gauge: the differences are those that were put in, from their mean. */
static void differences_are_those_of_the_readings(void **state)
{
  (void)state;
  pair p;
  begin(&p, ENGINE_V8, 1, 0.0005);
  double mean = 0;
  for (int i = 0; i < 8; i++) {
    p.off[i] = 0.01 * (i * i % 5);
    mean += p.off[i] / 8;
  }
  measure(&p, 0);
  eb_comparison found = compare(&p);
  assert_int_equal(found.compared, 0xFF);
  for (int i = 0; i < 8; i++)
    assert_near(found.difference[i], p.off[i] - mean, 1e-3);
  end(&p);
}

static void what_is_alike_is_not_said_to_differ(void **state)
{
  (void)state;
  int alarms = 0;
  for (uint64_t seed = 1; seed <= 200; seed++) {
    pair p;
    const eb_part *part = NULL;
    begin(&p, seed % 2 == 0 ? ENGINE_V8 : ENGINE_INLINE_FOUR, seed, 0.02);
    measure(&p, 0.02);
    eb_comparison found = compare(&p);
    alarms += count_differing(&found, &part) > 0;
    end(&p);
  }
  print_message("%d of 200\n", alarms);
  assert_true(alarms <= 10); /* the risk is 5 % */
}

typedef struct expectation {
  int adjuster; /* whose sides part; -1: one bore's lever */
  eb_bores more, less;
} expectation;

static void the_part_that_differs_is_named(void **state)
{
  (void)state;
  static const expectation cases[] = {{0, 0x0F, 0xF0}, {1, 0x03, 0x0C}, {2, 0x30, 0xC0}};
  for (int c = 0; c < 3; c++) {
    pair p;
    const eb_part *part = NULL;
    begin(&p, ENGINE_V8, 20 + (uint64_t)c, 0.01);
    for (int i = 0; i < 8; i++)
      p.off[i] = 0.15 * eb_adjuster_effect(&p.layout.adjuster[cases[c].adjuster], i);
    measure(&p, 0.01);
    eb_comparison found = compare(&p);
    assert_int_equal(count_differing(&found, &part), 1);
    assert_int_equal(part->adjuster, cases[c].adjuster);
    assert_int_equal(part->value > 0 ? part->first : part->second, cases[c].more);
    assert_int_equal(part->value > 0 ? part->second : part->first, cases[c].less);
    assert_near(part->value, 0.15, 3 * part->doubt);
    end(&p);
  }
}

/* A lever of one bore: it and the other on its shaft part, and no adjuster of idle is named for it. */
static void one_lever_is_told_by_its_bore(void **state)
{
  (void)state;
  pair p;
  const eb_part *part = NULL;
  begin(&p, ENGINE_V8, 30, 0.01);
  p.off[5] = 0.2;
  measure(&p, 0.01);
  eb_comparison found = compare(&p);
  assert_true(count_differing(&found, &part) >= 1);
  bool named = false;
  for (int i = 0; i < found.count; i++)
    named = named || (found.part[i].differs && found.part[i].adjuster < 0 && found.part[i].first == 1 << 5);
  assert_true(named);
  for (int i = 0; i < found.count; i++)
    assert_true(found.part[i].adjuster < 3); /* plates are never named */
  end(&p);
}

static void what_cannot_be_compared_is_refused(void **state)
{
  (void)state;
  pair p;
  eb_comparison found;
  eb_error error;
  begin(&p, ENGINE_V8, 40, 0.01);
  assert_int_equal(eb_evidence_compare(p.idle, p.held, 0.05, 0.05, &found, &error), EB_UNSOLVABLE);
  measure(&p, 0.01);
  assert_int_equal(eb_evidence_move(p.idle, 0, 0.05, NULL), EB_OK);
  assert_int_equal(eb_evidence_compare(p.idle, p.held, 0.05, 0.05, &found, &error), EB_UNSOLVABLE);
  end(&p);
}

/* A start after the last idle pass takes nothing from it; a bore that is left out is not compared. */
static void the_last_pass_of_each_is_taken(void **state)
{
  (void)state;
  pair p;
  begin(&p, ENGINE_V8, 41, 0.01);
  measure(&p, 0.01);
  assert_int_equal(eb_evidence_period(p.idle, NULL), EB_OK);
  eb_evidence_leave_out(p.idle, 3);
  eb_comparison found = compare(&p);
  assert_int_equal(found.compared, 0xFF & ~(1 << 3));
  eb_json *json = eb_comparison_json(&found, &p.layout);
  assert_null(eb_json_get(eb_json_get(json, "bores"), p.layout.bore[3]));
  assert_int_equal(eb_json_count(eb_json_get(json, "bores")), 7);
  eb_json_destroy(json);
  end(&p);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(differences_are_those_of_the_readings), cmocka_unit_test(what_is_alike_is_not_said_to_differ),
      cmocka_unit_test(the_part_that_differs_is_named),        cmocka_unit_test(one_lever_is_told_by_its_bore),
      cmocka_unit_test(what_cannot_be_compared_is_refused),    cmocka_unit_test(the_last_pass_of_each_is_taken),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
