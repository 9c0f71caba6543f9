/* The least effort against GLPK's mixed-integer optimum on seeded instances. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "balance/engines.h"
#include "evenbore/plan.h"
#include "mixed_integer.h"

/* No move of any instance needs to be larger. */
static const double MOVE_MAX = 2;

/* The optimum, or -1 where there is none. */
static double solve(const instance *given)
{
  double effort;
  glp_prob *mip = mixed_integer_make(given);
  glp_iocp how = mixed_integer_settings();
  if (!mixed_integer_solve(mip, &how, &effort))
    fail_msg("GLPK failed");
  glp_delete_prob(mip);
  return effort;
}

/* Columns of the least that used adjusters leave: for each its move and whether that is upward, then level and bound.
 */
static void add_used(glp_prob *mip, const instance *given, int move)
{
  int up = move + 1, at[] = {0, move, up};
  double span = given->most_move + given->least_move;
  glp_set_col_bnds(mip, move, GLP_DB, -given->most_move, given->most_move);
  glp_set_col_kind(mip, up, GLP_BV);
  mixed_add_row(mip, 2, at, (double[]){0, 1, -span}, GLP_UP, 0, -given->least_move);
  mixed_add_row(mip, 2, at, (double[]){0, 1, -span}, GLP_LO, -given->most_move, 0);
}

static void add_left(glp_prob *mip, const instance *given, int bore, const eb_move *move, int count)
{
  int at[EB_ADJUSTERS_MAX + 3], level = 2 * count + 1, bound = 2 * count + 2;
  double value[EB_ADJUSTERS_MAX + 3];
  for (int m = 0; m < count; m++) {
    at[m + 1] = 2 * m + 1;
    value[m + 1] = eb_adjuster_effect(&given->layout.adjuster[move[m].adjuster], bore);
  }
  at[count + 1] = level;
  value[count + 1] = -1;
  at[count + 2] = bound;
  value[count + 2] = 1;
  mixed_add_row(mip, count + 2, at, value, GLP_LO, -given->deviation[bore], 0);
  value[count + 2] = -1;
  mixed_add_row(mip, count + 2, at, value, GLP_UP, 0, -given->deviation[bore]);
}

/* How far the worst bore is from the middle after the best moves of these adjusters. */
static double least_left(const instance *given, const eb_move *move, int count)
{
  glp_prob *mip = glp_create_prob();
  glp_set_obj_dir(mip, GLP_MIN);
  glp_add_cols(mip, 2 * count + 2);
  glp_set_col_bnds(mip, 2 * count + 1, GLP_FR, 0, 0);
  glp_set_col_bnds(mip, 2 * count + 2, GLP_LO, 0, 0);
  glp_set_obj_coef(mip, 2 * count + 2, 1);
  for (int m = 0; m < count; m++)
    add_used(mip, given, 2 * m + 1);
  for (int i = 0; i < given->layout.bore_count; i++)
    if (given->counted >> i & 1)
      add_left(mip, given, i, move, count);
  glp_iocp how = mixed_integer_settings();
  double left;
  assert_true(mixed_integer_solve(mip, &how, &left));
  glp_delete_prob(mip);
  return left;
}

/* Whether the moves do what they are said to do, and as evenly as these adjusters can. */
static void check_moves(const instance *given, const eb_move *move, int count, double effort)
{
  double low = INFINITY, high = -INFINITY, sum = 0;
  for (int m = 0; m < count; m++) {
    sum += given->layout.adjuster[move[m].adjuster].effort_min;
    assert_true(fabs(move[m].move) >= given->least_move - 1e-8);
  }
  assert_near(sum, effort, 1e-9);
  for (int i = 0; i < given->layout.bore_count; i++) {
    double left = given->deviation[i];
    if (!(given->counted >> i & 1))
      continue;
    for (int m = 0; m < count; m++)
      left += move[m].move * eb_adjuster_effect(&given->layout.adjuster[move[m].adjuster], i);
    low = fmin(low, left);
    high = fmax(high, left);
  }
  assert_true(high - low <= 2 * given->bound + 1e-8);
  if (count > 0)
    assert_near((high - low) / 2, least_left(given, move, count), 1e-7);
}

static instance draw(const char *text, uint64_t *seed)
{
  instance made = {.most_move = MOVE_MAX};
  assert_int_equal(engine_read(text, &made.layout, NULL), EB_OK);
  made.counted = eb_layout_bores(&made.layout);
  if (made.layout.bore_count > 4 && stream_uniform(seed) < 0.2)
    made.counted &= ~((eb_bores)1 << (int)(stream_uniform(seed) * made.layout.bore_count));
  double size = 0.02 + 0.06 * stream_uniform(seed);
  for (int i = 0; i < made.layout.bore_count; i++)
    made.deviation[i] = size * stream_normal(seed);
  for (int k = 0; k < made.layout.adjuster_count; k++) {
    double together = size * stream_normal(seed);
    made.layout.adjuster[k].effort_min = 1 + floor(12 * stream_uniform(seed)) / 2;
    for (int i = 0; i < made.layout.bore_count; i++)
      made.deviation[i] += together * eb_adjuster_effect(&made.layout.adjuster[k], i);
  }
  made.bound = 0.01 + 0.06 * stream_uniform(seed);
  made.least_move = stream_uniform(seed) < 0.7 ? 0.02 : 0.08 * stream_uniform(seed);
  return made;
}

/* Returns the optimum's number of moves, -1 where there is none. */
static int compare(const instance *given)
{
  eb_move move[EB_ADJUSTERS_MAX];
  int count = -1;
  double effort = -1, wanted = solve(given);
  eb_error error;
  eb_status status = eb_plan_least_effort(eb_host_system(), &given->layout, given->counted, given->deviation,
                                          given->bound, given->least_move, move, &count, &effort, &error);
  if (wanted < 0) {
    assert_int_equal(status, EB_UNSOLVABLE);
    assert_int_equal(count, -1);
    return -1;
  }
  assert_int_equal(status, EB_OK);
  assert_near(effort, wanted, 1e-6);
  check_moves(given, move, count, effort);
  return count;
}

/* Links and couplers only: what single bores are off by stays. */
static const char *const ENGINE_NO_PLATES =
    "{\"rows\":[[1,3,5,7],[2,4,6,8]],\"adjusters\":["
    "{\"id\":\"link\",\"kind\":\"link\",\"sides\":[[1,3,5,7],[2,4,6,8]]},"
    "{\"id\":\"a\",\"kind\":\"coupler\",\"sides\":[[1,3],[5,7]]},{\"id\":\"b\",\"kind\":\"coupler\",\"sides\":[[2,4],["
    "6,8]]},"
    "{\"id\":\"c\",\"kind\":\"screw\",\"sides\":[[1],[3]]},{\"id\":\"d\",\"kind\":\"screw\",\"sides\":[[6],[8]]},"
    "{\"id\":\"e\",\"kind\":\"stop\",\"sides\":[[1,2]]}]}";

static void least_effort_is_the_optimum(void **state)
{
  (void)state;
  static const struct {
    const char *name, *text;
    int instances;
  } engines[] = {
      {"v8", ENGINE_V8, 120},
      {"inline four", ENGINE_INLINE_FOUR, 120},
      {"chain", ENGINE_CHAIN, 120},
      {"one-sided", ENGINE_ONE_SIDED, 80},
      {"no plates", ENGINE_NO_PLATES, 240},
      {"twin", ENGINE_TWIN, 40},
      {"w16", ENGINE_W16, 12},
  };
  int moved = 0, even = 0, unsolvable = 0;
  for (size_t e = 0; e < sizeof engines / sizeof engines[0]; e++) {
    uint64_t seed = 1000 * (e + 1);
    for (int r = 0; r < engines[e].instances; r++) {
      instance given = draw(engines[e].text, &seed);
      int moves = compare(&given);
      moved += moves > 0;
      even += moves == 0;
      unsolvable += moves < 0;
    }
  }
  print_message("%d instances with moves, %d that need none, %d without a solution\n", moved, even, unsolvable);
  assert_true(moved >= 400 && unsolvable >= 50);
}

static void nothing_to_move_costs_nothing(void **state)
{
  (void)state;
  instance given = {.bound = 0.05, .least_move = 0.02, .most_move = MOVE_MAX, .counted = 0xFF};
  assert_int_equal(engine_read(ENGINE_V8, &given.layout, NULL), EB_OK);
  assert_int_equal(compare(&given), 0);
  given.bound = 0;
  assert_int_equal(compare(&given), 0);
  given.layout.adjuster_count = 0;
  given.deviation[0] = 0.3;
  assert_int_equal(compare(&given), -1);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(least_effort_is_the_optimum),
      cmocka_unit_test(nothing_to_move_costs_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
