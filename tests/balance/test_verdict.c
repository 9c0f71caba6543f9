#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "engines.h"
#include "evenbore/verdict.h"

static eb_layout engine(const char *text)
{
  eb_layout layout;
  assert_int_equal(engine_read(text, &layout, NULL), EB_OK);
  return layout;
}

/* Deviations about their mean, all with the same doubt and otherwise independent. */
static eb_verdict judge_within(const eb_layout *layout, const double *pattern, double doubt, double degrees,
                               double tolerance)
{
  int n = layout->bore_count;
  double mean = 0, deviation[EB_BORES_MAX], covariance[EB_BORES_MAX * EB_BORES_MAX];
  for (int i = 0; i < n; i++)
    mean += pattern[i] / n;
  for (int i = 0; i < n; i++) {
    deviation[i] = pattern[i] - mean;
    for (int j = 0; j < n; j++)
      covariance[i * n + j] = doubt * doubt * ((i == j) - 1.0 / n);
  }
  eb_verdict verdict;
  eb_verdict_make(layout, eb_layout_bores(layout), deviation, covariance, degrees, tolerance, 0.05, &verdict);
  return verdict;
}

static eb_verdict judge(const eb_layout *layout, const double *pattern, double doubt, double degrees)
{
  return judge_within(layout, pattern, doubt, degrees, 0.05);
}

static void words_follow_the_probability(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  static const double even[8] = {0}, one[8] = {0.14}, near[8] = {0.05, -0.05};
  eb_verdict verdict = judge(&v8, even, 0.01, INFINITY);
  assert_int_equal(verdict.word, EB_EVEN);
  for (int i = 0; i < 8; i++)
    assert_int_equal(verdict.bore[i].word, EB_EVEN);
  assert_true(verdict.claim <= 0.05 && verdict.probability > 0.95);
  verdict = judge(&v8, one, 0.01, INFINITY);
  assert_int_equal(verdict.word, EB_UNEVEN);
  assert_int_equal(verdict.bore[0].word, EB_UNEVEN);
  assert_int_equal(verdict.worst, 0);
  assert_near(verdict.spread, expm1(0.14 * 7 / 8), 1e-12);
  verdict = judge(&v8, near, 0.01, INFINITY);
  assert_int_equal(verdict.word, EB_UNSURE);
  assert_int_equal(verdict.bore[0].word, EB_UNSURE);
  assert_int_equal(verdict.bore[4].word, EB_EVEN);
  verdict = judge(&v8, even, 0.03, INFINITY);
  assert_int_equal(verdict.word, EB_UNSURE);
  assert_string_equal(eb_word_text(EB_LEFT_OUT), "left out");
}

/* The engine is even exactly when every bore is. */
static void engine_and_bores_agree(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  uint64_t seed = 5;
  int evens = 0;
  for (int r = 0; r < 300; r++) {
    double pattern[8];
    bool all = true;
    for (int i = 0; i < 8; i++)
      pattern[i] = 0.02 * stream_normal(&seed);
    eb_verdict verdict = judge(&v8, pattern, 0.002 + 0.02 * stream_uniform(&seed), 4 + 20 * stream_uniform(&seed));
    for (int i = 0; i < 8; i++)
      all = all && verdict.bore[i].word == EB_EVEN;
    assert_int_equal(verdict.word == EB_EVEN, all);
    evens += all;
  }
  assert_in_range(evens, 20, 280);
}

static double chances_outside(const double *deviation, const double *doubt, int count, double degrees, double tolerance)
{
  double sum = 0;
  for (int i = 0; i < count; i++)
    sum += 1 - eb_conformity(log1p(-tolerance), log1p(tolerance), deviation[i], doubt[i], degrees);
  return sum;
}

/* From doubts that prove nothing to such that prove all but everything. */
static void a_claim_is_the_least(void **state)
{
  (void)state;
  uint64_t seed = 7;
  for (int r = 0; r < 300; r++) {
    double deviation[4], doubt[4], degrees = 1 + 40 * stream_uniform(&seed), risk = 0.9 * stream_uniform(&seed) + 1e-4;
    double scale = pow(10, -5 * stream_uniform(&seed));
    for (int i = 0; i < 4; i++) {
      deviation[i] = 0.2 * stream_normal(&seed);
      doubt[i] = scale * (0.2 + stream_uniform(&seed));
    }
    double claim = eb_claim(deviation, doubt, 4, degrees, risk);
    assert_true(claim == 1 || chances_outside(deviation, doubt, 4, degrees, claim) <= risk);
    assert_true(chances_outside(deviation, doubt, 4, degrees, claim - 1e-12) > risk);
  }
}

static void more_doubt_makes_no_better_claim(void **state)
{
  (void)state;
  uint64_t seed = 6;
  for (int r = 0; r < 200; r++) {
    double deviation[6], doubt[6], degrees = 2 + 30 * stream_uniform(&seed);
    for (int i = 0; i < 6; i++) {
      deviation[i] = 0.05 * fabs(stream_normal(&seed));
      doubt[i] = 0.002 + 0.03 * stream_uniform(&seed);
    }
    double claim = eb_claim(deviation, doubt, 6, degrees, 0.05);
    assert_true(claim > 0 && claim <= 1);
    assert_true(eb_claim(deviation, doubt, 6, degrees, 0.01) >= claim);
    assert_true(eb_claim(deviation, doubt, 6, degrees * 2, 0.05) <= claim + 1e-9);
    int changed = (int)(stream_uniform(&seed) * 6);
    doubt[changed] *= 1.5;
    double later = eb_claim(deviation, doubt, 6, degrees, 0.05);
    assert_true(later >= claim - 1e-9);
    for (int i = 0; i < 6; i++)
      deviation[i] *= 1.3;
    assert_true(eb_claim(deviation, doubt, 6, degrees, 0.05) >= later - 1e-9);
  }
}

static void without_any_proof_the_claim_is_one(void **state)
{
  (void)state;
  double deviation[2] = {0, 0}, doubt[2] = {5, 0.01};
  assert_true(eb_claim(deviation, doubt, 2, 5, 0.05) == 1);
}

static const eb_contrast *contrast_of(const eb_verdict *verdict, const eb_layout *layout, const char *id)
{
  for (int k = 0; k < verdict->contrast_count; k++)
    if (verdict->contrast[k].adjuster == eb_layout_adjuster(layout, id))
      return &verdict->contrast[k];
  fail_msg("no contrast of %s", id);
  return NULL;
}

/* A pattern put together from known parts is taken apart into them. */
/* "Even" begins at the claim and nowhere before it. */
static void even_is_what_the_claim_proves(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  uint64_t seed = 12;
  for (int r = 0; r < 200; r++) {
    double pattern[8], doubt = 0.002 + 0.01 * stream_uniform(&seed), degrees = 3 + 40 * stream_uniform(&seed);
    for (int i = 0; i < 8; i++)
      pattern[i] = 0.02 * stream_normal(&seed);
    double claim = judge(&v8, pattern, doubt, degrees).claim;
    assert_int_equal(judge_within(&v8, pattern, doubt, degrees, claim * 1.00001).word, EB_EVEN);
    assert_int_not_equal(judge_within(&v8, pattern, doubt, degrees, claim * 0.99999).word, EB_EVEN);
  }
}

static void contrasts_are_taken_apart(void **state)
{
  (void)state;
  eb_layout v8 = engine(ENGINE_V8);
  double pattern[8] = {0};
  static const double link = -0.06, left = 0.05, right = -0.03;
  for (int i = 0; i < 8; i++)
    pattern[i] = link * eb_adjuster_effect(&v8.adjuster[0], i) + left * eb_adjuster_effect(&v8.adjuster[1], i) +
                 right * eb_adjuster_effect(&v8.adjuster[2], i);
  pattern[4] += 0.02; /* bores 2 and 4 lie apart by 0.04 within their pair */
  pattern[5] -= 0.02;
  eb_verdict verdict = judge(&v8, pattern, 0.01, INFINITY);
  assert_int_equal(verdict.contrast_count, 11);
  assert_int_equal(verdict.contrast[0].adjuster, 0);
  assert_int_equal(verdict.contrast[0].level, EB_LEVEL_SIDE);
  assert_int_equal(verdict.contrast[1].level, EB_LEVEL_PAIR);
  assert_int_equal(verdict.contrast[10].level, EB_LEVEL_BORE);
  assert_near(contrast_of(&verdict, &v8, "link")->value, link, 1e-12);
  assert_near(contrast_of(&verdict, &v8, "coupler-left")->value, left, 1e-12);
  assert_near(contrast_of(&verdict, &v8, "coupler-right")->value, right, 1e-12);
  assert_near(contrast_of(&verdict, &v8, "plate-2")->value, 0.02, 1e-12);
  assert_near(contrast_of(&verdict, &v8, "plate-4")->value, -0.02, 1e-12);
  assert_near(contrast_of(&verdict, &v8, "plate-1")->value, 0, 1e-12);
  /* Two means of four, and of two, readings of the same doubt. */
  assert_near(contrast_of(&verdict, &v8, "link")->doubt, 0.01 * sqrt(2.0 / 4), 1e-12);
  assert_near(contrast_of(&verdict, &v8, "coupler-left")->doubt, 0.01 * sqrt(2.0 / 2), 1e-12);
}

/* Screws that share bores: what each explains is found with the others, and a ring's third screw explains nothing more.
 */
static void contrasts_that_overlap_are_solved_together(void **state)
{
  (void)state;
  eb_layout chain = engine(ENGINE_CHAIN);
  chain.adjuster_count = 5; /* the screws alone */
  double pattern[6] = {0};
  static const double screw[5] = {0.04, -0.02, 0.03, 0.01, -0.05};
  for (int i = 0; i < 6; i++)
    for (int k = 0; k < 5; k++)
      pattern[i] += screw[k] * eb_adjuster_effect(&chain.adjuster[k], i);
  eb_verdict verdict = judge(&chain, pattern, 0.01, INFINITY);
  for (int k = 0; k < 5; k++)
    assert_near(verdict.contrast[k].value, screw[k], 1e-12);
  eb_layout ring = engine(
      "{\"rows\":[[1,2,3]],\"adjusters\":["
      "{\"id\":\"a\",\"kind\":\"screw\",\"sides\":[[1],[2]]},{\"id\":\"b\",\"kind\":\"screw\",\"sides\":[[2],[3]]},"
      "{\"id\":\"c\",\"kind\":\"screw\",\"sides\":[[3],[1]]}]}");
  double left[3] = {0.05, 0, -0.05};
  verdict = judge(&ring, left, 0.01, INFINITY);
  for (int k = 0; k < 3; k++)
    for (int i = 0; i < 3; i++)
      left[i] -= verdict.contrast[k].value * eb_adjuster_effect(&ring.adjuster[verdict.contrast[k].adjuster], i);
  for (int i = 0; i < 3; i++)
    assert_near(left[i], 0, 1e-12);
}

static void levels_follow_the_bores_touched(void **state)
{
  (void)state;
  eb_layout w16 = engine(ENGINE_W16), four = engine(ENGINE_INLINE_FOUR), twin = engine(ENGINE_TWIN);
  assert_int_equal(eb_adjuster_level(&w16, &w16.adjuster[0]), EB_LEVEL_SIDE);
  assert_int_equal(eb_adjuster_level(&w16, &w16.adjuster[1]), EB_LEVEL_SIDE);
  assert_int_equal(eb_adjuster_level(&w16, &w16.adjuster[3]), EB_LEVEL_PAIR);
  assert_int_equal(eb_adjuster_level(&w16, &w16.adjuster[5]), EB_LEVEL_BORE);
  assert_int_equal(eb_adjuster_level(&four, &four.adjuster[0]), EB_LEVEL_SIDE);
  assert_int_equal(eb_adjuster_level(&four, &four.adjuster[1]), EB_LEVEL_PAIR);
  assert_int_equal(eb_adjuster_level(&twin, &twin.adjuster[0]), EB_LEVEL_SIDE);
  assert_string_equal(eb_level_text(EB_LEVEL_PAIR), "pair");
}

static void a_bore_left_out_has_no_verdict(void **state)
{
  (void)state;
  eb_layout twin = engine(ENGINE_INLINE_FOUR);
  double deviation[4] = {-2, 0.01, 0.01, -0.02}, covariance[16] = {0};
  for (int i = 0; i < 4; i++)
    covariance[i * 5] = 1e-4;
  eb_verdict verdict;
  eb_verdict_make(&twin, 0xE, deviation, covariance, INFINITY, 0.05, 0.05, &verdict);
  assert_int_equal(verdict.bore[0].word, EB_LEFT_OUT);
  assert_int_equal(verdict.word, EB_EVEN);
  assert_int_equal(verdict.worst, 3);
  eb_json *json = eb_verdict_json(&verdict, &twin);
  const eb_json *bores = eb_json_get(json, "bores");
  assert_true(eb_json_is_null(eb_json_get(eb_json_get(bores, "1"), "deviation")));
  assert_string_equal(eb_json_get_string(eb_json_get(bores, "1"), "word", ""), "left out");
  assert_near(eb_json_get_number(eb_json_get(bores, "4"), "deviation", 0), expm1(-0.02), 1e-15);
  assert_string_equal(eb_json_get_string(json, "worst", ""), "4");
  assert_true(eb_json_is_null(eb_json_get(eb_json_get(bores, "4"), "value")));
  assert_int_equal(eb_json_count(eb_json_get(json, "contrasts")), 3);
  eb_json_destroy(json);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(words_follow_the_probability),
      cmocka_unit_test(engine_and_bores_agree),
      cmocka_unit_test(a_claim_is_the_least),
      cmocka_unit_test(more_doubt_makes_no_better_claim),
      cmocka_unit_test(without_any_proof_the_claim_is_one),
      cmocka_unit_test(even_is_what_the_claim_proves),
      cmocka_unit_test(contrasts_are_taken_apart),
      cmocka_unit_test(contrasts_that_overlap_are_solved_together),
      cmocka_unit_test(levels_follow_the_bores_touched),
      cmocka_unit_test(a_bore_left_out_has_no_verdict),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
