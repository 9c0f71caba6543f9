#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>

#include <cmocka.h>

#include "stream.h"

enum { DRAWS = 200000 };

/* First numbers from the state {1, 2, 3, 4}, as the generator's authors' reference program gives them
 * (published with several libraries' tests). */
static void numbers_are_those_of_the_published_generator(void **state)
{
  (void)state;
  static const uint64_t published[] = {11520U,
                                       0U,
                                       1509978240U,
                                       1215971899390074240U,
                                       1216172134540287360U,
                                       607988272756665600U,
                                       UINT64_C(16172922978634559625),
                                       8476171486693032832U,
                                       UINT64_C(10595114339597558777),
                                       2904607092377533576U};
  stream s = {{1, 2, 3, 4}};
  for (size_t i = 0; i < sizeof published / sizeof published[0]; i++)
    assert_true(stream_next(&s) == published[i]);
}

/* Seeds 0 and 42 through splitmix64, from the same places. */
static void seeding_is_the_published_one(void **state)
{
  (void)state;
  static const uint64_t words[] = {UINT64_C(0xE220A8397B1DCDAF), UINT64_C(0x6E789E6AA1B965F4),
                                   UINT64_C(0x06C45D188009454F), UINT64_C(0xF88BB8A8724C81EC)};
  static const uint64_t numbers[] = {UINT64_C(1546998764402558742), UINT64_C(6990951692964543102),
                                     UINT64_C(12544586762248559009), UINT64_C(17057574109182124193)};
  stream zero = stream_open(0, 0), other = stream_open(42, 0);
  for (int i = 0; i < 4; i++) {
    assert_true(zero.word[i] == words[i]);
    assert_true(stream_next(&other) == numbers[i]);
  }
}

static void streams_of_a_seed_differ(void **state)
{
  (void)state;
  stream a = stream_open(7, 0), b = stream_open(7, 1), c = stream_open(8, 0);
  int same = 0;
  for (int i = 0; i < 1000; i++) {
    uint64_t x = stream_next(&a), y = stream_next(&b), z = stream_next(&c);
    same += x == y || y == z || x == z;
  }
  assert_int_equal(same, 0);
}

/* Shares of a normal variable within one and two standard deviations and beyond three: 0.682689, 0.954500, 0.002700
 * [any table of the normal distribution].  The allowance is five standard errors. */
static void normal_numbers_are_normal(void **state)
{
  (void)state;
  static const double within[] = {1, 2, 3}, share[] = {0.682689, 0.954500, 0.997300};
  stream s = stream_open(3, 0);
  double sum = 0;
  int count[3] = {0};
  for (int i = 0; i < DRAWS; i++) {
    double x = stream_normal(&s, 2.5);
    sum += x;
    for (int w = 0; w < 3; w++)
      count[w] += fabs(x) < 2.5 * within[w];
  }
  assert_true(fabs(sum / DRAWS) < 5 * 2.5 / sqrt(DRAWS));
  for (int w = 0; w < 3; w++)
    assert_true(fabs((double)count[w] / DRAWS - share[w]) < 5 * sqrt(share[w] * (1 - share[w]) / DRAWS));
}

static void uniform_numbers_stay_inside_and_fill(void **state)
{
  (void)state;
  stream s = stream_open(4, 0);
  int tenth[10] = {0};
  for (int i = 0; i < DRAWS; i++) {
    double x = stream_uniform(&s, -2, 3);
    assert_true(x > -2 && x < 3);
    tenth[(int)((x + 2) * 2)]++;
  }
  for (int t = 0; t < 10; t++)
    assert_true(fabs(tenth[t] - DRAWS / 10.0) < 5 * sqrt(DRAWS * 0.09));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(numbers_are_those_of_the_published_generator),
      cmocka_unit_test(seeding_is_the_published_one),
      cmocka_unit_test(streams_of_a_seed_differ),
      cmocka_unit_test(normal_numbers_are_normal),
      cmocka_unit_test(uniform_numbers_stay_inside_and_fill),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
