/* What is kept of what was worked out is what would be worked out anew. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/finding.h"
#include "readings.h"

typedef enum act_kind {
  ACT_PERIOD,
  ACT_PASS,
  ACT_AGAIN, /* the first bore of a pass, after which it is closed */
  ACT_CLOSE,
  ACT_PUSHED,
  ACT_MOVE,
  ACT_SNAP,
  ACT_NO_AIR,
  ACT_STRIKE,
  ACT_LEAVE_OUT,
  ACT_GAUGE,
  ACT_STILL,
  ACT_READING /* and all above */
} act_kind;

typedef struct act {
  act_kind kind;
  int index, choice;
  double value;
} act;

static void do_act(eb_evidence *evidence, const act *a)
{
  eb_status status = EB_OK;
  eb_closure closure;
  eb_gauge gauge = gauge_fine();
  switch (a->kind) {
  case ACT_PERIOD: status = eb_evidence_period(evidence, NULL); break;
  case ACT_PASS:
    assert_int_equal(eb_evidence_pass(evidence, NULL), EB_OK);
    status = eb_evidence_reading(evidence, 0, 9, NULL);
    break;
  case ACT_AGAIN: status = eb_evidence_reading(evidence, 0, a->choice % 2 == 0 ? 9.1 : 11, NULL); break;
  case ACT_CLOSE: eb_evidence_close(evidence, &closure); break;
  case ACT_PUSHED:
    status = eb_evidence_pushed(evidence, a->index, a->value * 1.03, true, NULL);
    assert_int_equal(status, EB_OK);
    status = eb_evidence_pushed(evidence, a->index, a->value, false, NULL);
    break;
  case ACT_MOVE: status = eb_evidence_move(evidence, a->choice, log(a->value / 9), NULL); break;
  case ACT_SNAP: status = eb_evidence_snap(evidence, NULL); break;
  case ACT_NO_AIR: status = eb_evidence_no_air(evidence, a->index, NULL); break;
  case ACT_STRIKE: eb_evidence_strike(evidence, (eb_bores)1 << a->index, (eb_since)(a->choice % 4)); break;
  case ACT_LEAVE_OUT: eb_evidence_leave_out(evidence, a->index); break;
  case ACT_GAUGE:
    gauge.repeatability = 0.01 * (1 + a->choice % 3);
    gauge.repeatability_weight = 2 + a->choice;
    eb_evidence_set_gauge(evidence, &gauge);
    break;
  case ACT_STILL: eb_evidence_still(evidence); break;
  case ACT_READING: status = eb_evidence_reading(evidence, a->index, a->value, NULL); break;
  }
  assert_int_equal(status, EB_OK);
}

static int pick(uint64_t *seed, int count)
{
  return (int)(stream_next(seed) % (uint64_t)count);
}

/* Mostly readings; the rarest acts once or twice in a sequence. */
static act next_act(const eb_layout *layout, const double *y, act_kind last, uint64_t *seed)
{
  static const act_kind kinds[] = {ACT_PERIOD, ACT_PASS,   ACT_PASS, ACT_AGAIN,  ACT_AGAIN,  ACT_AGAIN,
                                   ACT_PUSHED, ACT_MOVE,   ACT_MOVE, ACT_PUSHED, ACT_NO_AIR, ACT_LEAVE_OUT,
                                   ACT_GAUGE,  ACT_STRIKE, ACT_SNAP, ACT_SNAP,   ACT_STRIKE, ACT_STILL};
  enum { KINDS = sizeof kinds / sizeof kinds[0] };
  act made = {.index = pick(seed, layout->bore_count), .choice = pick(seed, layout->adjuster_count)};
  int kind = pick(seed, 4 * KINDS);
  made.kind = last == ACT_AGAIN ? ACT_CLOSE : kind < KINDS ? kinds[kind] : ACT_READING;
  made.value = 9 * exp(y[made.index] + 0.03 * stream_normal(seed));
  return made;
}

static void assert_same_verdict(const eb_evidence *asked, const eb_evidence *fresh, double tolerance)
{
  eb_verdict a = {.claim = 0}, b = {.claim = 0};
  assert_int_equal(eb_evidence_verdict(asked, tolerance, 0.05, &a, NULL),
                   eb_evidence_verdict(fresh, tolerance, 0.05, &b, NULL));
  assert_memory_equal(&a.claim, &b.claim, sizeof a.claim);
  assert_memory_equal(&a.probability, &b.probability, sizeof a.probability);
  assert_memory_equal(&a.repeatability, &b.repeatability, sizeof a.repeatability);
  assert_memory_equal(&a.degrees_of_freedom, &b.degrees_of_freedom, sizeof a.degrees_of_freedom);
  for (int i = 0; i < EB_BORES_MAX; i++) {
    assert_memory_equal(&a.bore[i].deviation, &b.bore[i].deviation, sizeof(double));
    assert_memory_equal(&a.bore[i].doubt, &b.bore[i].doubt, sizeof(double));
    assert_memory_equal(&a.bore[i].reading, &b.bore[i].reading, sizeof(double));
    assert_int_equal(a.bore[i].word, b.bore[i].word);
  }
}

static void assert_same_plan(const eb_evidence *asked, const eb_evidence *fresh)
{
  eb_plan_options usual = eb_plan_options_usual();
  eb_plan a = {.move_count = 0}, b = {.move_count = 0};
  assert_int_equal(eb_evidence_plan(asked, 0.05, 0.05, &usual, &a, NULL),
                   eb_evidence_plan(fresh, 0.05, 0.05, &usual, &b, NULL));
  assert_int_equal(a.step, b.step);
  assert_int_equal(a.read, b.read);
  assert_int_equal(a.move_count, b.move_count);
  assert_string_equal(a.reason, b.reason);
  for (int m = 0; m < a.move_count; m++)
    assert_memory_equal(&a.move[m].move, &b.move[m].move, sizeof(double));
}

static void assert_same_findings(const eb_evidence *asked, const eb_evidence *fresh)
{
  eb_findings a, b;
  assert_int_equal(eb_evidence_findings(asked, &a, NULL), EB_OK);
  assert_int_equal(eb_evidence_findings(fresh, &b, NULL), EB_OK);
  assert_int_equal(a.count, b.count);
  for (int f = 0; f < a.count; f++) {
    assert_int_equal(a.finding[f].kind, b.finding[f].kind);
    assert_memory_equal(&a.finding[f].size, &b.finding[f].size, sizeof(double));
    assert_memory_equal(&a.finding[f].probability, &b.finding[f].probability, sizeof(double));
  }
}

static void assert_same_gains(const eb_evidence *asked, const eb_evidence *fresh, int adjusters)
{
  eb_gain a[EB_ADJUSTERS_MAX], b[EB_ADJUSTERS_MAX];
  eb_bores first, second;
  assert_int_equal(eb_evidence_gains(asked, a, NULL), EB_OK);
  assert_int_equal(eb_evidence_gains(fresh, b, NULL), EB_OK);
  for (int k = 0; k < adjusters; k++) {
    assert_memory_equal(&a[k].mean, &b[k].mean, sizeof(double));
    assert_memory_equal(&a[k].spread, &b[k].spread, sizeof(double));
  }
  assert_int_equal(eb_evidence_snap_bores(asked, &first, NULL), EB_OK);
  assert_int_equal(eb_evidence_snap_bores(fresh, &second, NULL), EB_OK);
  assert_int_equal(first, second);
}

enum { ACTS = 120, QUESTIONS = 5 };

/* `fresh` is asked for the first time. */
static void assert_same(const eb_evidence *asked, const eb_evidence *fresh, int adjusters, int question)
{
  switch (question) {
  case 0: assert_same_verdict(asked, fresh, 0.05); break;
  case 1: assert_same_verdict(asked, fresh, 0.03); break;
  case 2: assert_same_plan(asked, fresh); break;
  case 3: assert_same_findings(asked, fresh); break;
  default: assert_same_gains(asked, fresh, adjusters); break;
  }
}

static void play(const char *text, uint64_t seed)
{
  eb_layout layout;
  assert_int_equal(engine_read(text, &layout, NULL), EB_OK);
  for (int k = 0; seed % 2 == 1 && k < layout.adjuster_count; k++) {
    layout.adjuster[k].known_gain = 0.6;
    layout.adjuster[k].known_spread = 0.15;
  }
  eb_gauge gauge = gauge_fine();
  eb_evidence *asked = gather(&layout, &gauge);
  double y[EB_BORES_MAX];
  act acts[ACTS];
  for (int i = 0; i < layout.bore_count; i++)
    y[i] = 0.06 * stream_normal(&seed);
  for (int done = 0; done < ACTS; done++) {
    acts[done] = next_act(&layout, y, done == 0 ? ACT_PERIOD : acts[done - 1].kind, &seed);
    do_act(asked, &acts[done]);
    if (pick(&seed, 2) == 0)
      continue;
    eb_evidence *fresh = gather(&layout, &gauge);
    for (int a = 0; a <= done; a++)
      do_act(fresh, &acts[a]);
    assert_same(asked, fresh, layout.adjuster_count, pick(&seed, QUESTIONS));
    eb_evidence_destroy(fresh);
  }
  eb_evidence_destroy(asked);
}

static void what_is_kept_is_what_comes_out_anew(void **state)
{
  (void)state;
  static const char *const engines[] = {ENGINE_V8, ENGINE_INLINE_FOUR, ENGINE_CHAIN};
  for (uint64_t seed = 1; seed <= 24; seed++)
    play(engines[seed % 3], seed);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_kept_is_what_comes_out_anew),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
