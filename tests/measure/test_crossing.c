#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>

#include "evenbore/crossing.h"

typedef struct curve {
  int shape;
  double at; /* where it crosses */
  int *looks;
} curve;
enum { SHAPES = 8 };

static double curve_at(const void *given, double x)
{
  const curve *c = given;
  double off = c->at - x;
  (*c->looks)++;
  switch (c->shape) {
  case 0: return off;
  case 1: return off * off * off;
  case 2: return expm1(20 * off);
  case 3: return -expm1(-20 * off);
  case 4: return off > 0 ? 1 : -1e-9; /* a step */
  case 5: return off > 0 ? 0.1 + off : off / 7;
  case 6: return tanh(1e4 * off);
  default: return off * (1 + 0.9 * sin(40 * x)); /* neither falling nor rising, but for its sign */
  }
}

static double halved(const curve *c, double low, double high, int halvings)
{
  for (int i = 0; i < halvings; i++) {
    double middle = 0.5 * (low + high);
    if (curve_at(c, middle) > 0)
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

/* Crossings inside, on the grid, and outside on either side. */
static void what_is_found_is_what_halving_finds(void **state)
{
  (void)state;
  static const double places[] = {-3.7, -1, -0.999999, 0, 1.0 / 3, 0.7071, 1.9999, 2.5, 6.99, 7, 8.1};
  for (int shape = 0; shape < SHAPES; shape++)
    for (size_t p = 0; p < sizeof places / sizeof places[0]; p++)
      for (int halvings = 1; halvings <= 48; halvings += 47) {
        int looks = 0, halving_looks = 0;
        curve c = {shape, places[p], &looks}, plain = {shape, places[p], &halving_looks};
        assert_true(eb_crossing_find(curve_at, &c, -1, 7, halvings) == halved(&plain, -1, 7, halvings));
        bool inside = places[p] > -1 && places[p] < 7, smooth = shape == 0 || shape == 2 || shape == 3;
        assert_in_range(looks, 1, smooth && inside ? 27 : halvings == 1 ? 1 : 60);
      }
}

static void a_step_is_the_least(void **state)
{
  (void)state;
  int looks = 0;
  for (int shape = 0; shape < SHAPES; shape++)
    for (double at = 0.013; at < 1; at += 0.0371) {
      curve c = {shape, at, &looks};
      eb_crossing ends = {{0, curve_at(&c, 0)}, {1, curve_at(&c, 1)}};
      double k = eb_crossing_step(curve_at, &c, 0x1p-30, ends);
      assert_true(k * 0x1p-30 >= at && (k - 1) * 0x1p-30 < at);
    }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_is_found_is_what_halving_finds),
      cmocka_unit_test(a_step_is_the_least),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
