#include "evenbore/statistics.h"

#include <assert.h>
#include <float.h>
#include <math.h>

static const double least_nu = 0.1;

#define TWO_PI 6.28318530717958647693
#define ROOT_HALF 0.70710678118654752440

double eb_normal_below(double z)
{
  return 0.5 * erfc(-z * ROOT_HALF);
}

/* What Stirling's formula leaves over: ln n! - (n + 1/2) ln n + n - ln(2 pi)/2, for any n > 0.  The series
 * [Abramowitz and Stegun 6.1.41] from 16 up; from below one climbs there by the recurrence of n!. */
static double stirling_rest(double n)
{
  double rest = 0;
  while (n < 16) {
    rest += (n + 0.5) * log1p(1 / n) - 1;
    n += 1;
  }
  double s = 1 / (n * n);
  return rest + (1.0 / 12 - s * (1.0 / 360 - s * (1.0 / 1260 - s * (1.0 / 1680 - s * (1.0 / 1188))))) / n;
}

/* x ln(x/m) + m - x without the cancellation near x = m. */
static double deviance(double x, double m)
{
  double v = (x - m) / (x + m);
  if (fabs(v) >= 0.1)
    return x * log(x / m) + m - x;
  double sum = (x - m) * v;
  double power = 2 * x * v;
  for (int j = 1; j < 100; j++) {
    power *= v * v;
    double more = sum + power / (2 * j + 1);
    if (more == sum)
      break;
    sum = more;
  }
  return sum;
}

/* What of x^a y^b / B(a, b) has no part in x and y. */
typedef struct beta_shape {
  double a, b, rest, scale;
} beta_shape;

static beta_shape shape_of(double a, double b)
{
  double n = a + b;
  return (beta_shape){a, b, stirling_rest(n) - stirling_rest(a) - stirling_rest(b), sqrt(a / n * b / TWO_PI)};
}

/* x^a y^b / B(a, b), with y = 1 - x.  The saddle-point form of the binomial probability keeps its digits
 * where the logarithms of the gamma functions are large [Loader, "Fast and accurate computation of binomial
 * probabilities", 2000]. */
static double beta_front(const beta_shape *shape, double x, double y)
{
  double n = shape->a + shape->b;
  return exp(shape->rest - deviance(shape->a, n * x) - deviance(shape->b, n * y)) * shape->scale;
}

/* The continued fraction of the incomplete beta function [Abramowitz and Stegun 26.5.8], from the front by Wallis's
 * recurrence of its convergents' numerators and denominators [Abramowitz and Stegun 3.10.1], two a round, made smaller
 * together so that the last denominator is 1.  About sqrt(max(a, b)) rounds. */
static double beta_fraction(double a, double b, double x)
{
  enum { ROUNDS_MAX = 1000000 };
  double fraction = 1 / (1 - (a + b) * x / (a + 1)), over_before = fraction, under_before = fraction;
  for (int m = 1; m < ROUNDS_MAX; m++) {
    double p = a + 2 * m - 1, q = p + 1, r = q + 1, scale = x / (p * q * r);
    double even = m * (b - m) * r * scale, odd = -(a + m) * (a + b + m) * p * scale;
    double over = fraction + even * over_before, under = 1 + even * under_before;
    double last = fraction, shrink = 1 / (under + odd);
    fraction = (over + odd * last) * shrink;
    over_before = over * shrink;
    under_before = under * shrink;
    if (fabs(fraction - last) <= 2 * DBL_EPSILON * fabs(fraction))
      break;
  }
  return fraction;
}

/* I_x(a, b), with y = 1 - x given apart so that neither is lost near an end; `turned` is the shape of b and a. */
static double shaped_below(const beta_shape *shape, const beta_shape *turned, double x, double y)
{
  double a = shape->a, b = shape->b;
  if (x <= 0)
    return 0;
  if (y <= 0)
    return 1;
  if (x <= (a + 1) / (a + b + 2))
    return beta_front(shape, x, y) * beta_fraction(a, b, x) / a;
  return 1 - beta_front(turned, y, x) * beta_fraction(b, a, y) / b;
}

static double beta_below(double a, double b, double x, double y)
{
  beta_shape shape = shape_of(a, b), turned = shape_of(b, a);
  return shaped_below(&shape, &turned, x, y);
}

/* F below f is I_x(nu1/2, nu2/2) at x = nu1 f / (nu1 f + nu2) [Abramowitz and Stegun 26.6.2]. */
typedef struct beta_point {
  double a, b, x, y;
} beta_point;

static beta_point point_of(double f, double nu1, double nu2)
{
  (void)least_nu; /* read by asserts alone */
  assert(f >= 0 && nu1 >= least_nu && nu2 >= least_nu && isfinite(nu1) && isfinite(nu2));
  double odds = f * (nu1 / nu2);
  return (beta_point){nu1 / 2, nu2 / 2, isinf(odds) ? 1 : odds / (1 + odds), 1 / (1 + odds)};
}

double eb_f_below(double f, double nu1, double nu2)
{
  beta_point at = point_of(f, nu1, nu2);
  return beta_below(at.a, at.b, at.x, at.y);
}

double eb_f_above(double f, double nu1, double nu2)
{
  beta_point at = point_of(f, nu1, nu2);
  return beta_below(at.b, at.a, at.y, at.x);
}

/* T^2 is F with 1 and nu degrees of freedom. */
eb_student eb_student_of(double nu)
{
  assert(nu >= least_nu);
  if (isinf(nu))
    return (eb_student){.nu = nu};
  double a = nu / 2, b = 0.5, n = a + b;
  double all = stirling_rest(n), of_a = stirling_rest(a), of_b = stirling_rest(b);
  return (eb_student){.nu = nu,
                      .rest = {all - of_a - of_b, all - of_b - of_a},
                      .scale = {sqrt(a / n * b / TWO_PI), sqrt(b / n * a / TWO_PI)}};
}

double eb_student_below(const eb_student *student, double t)
{
  if (isinf(student->nu))
    return eb_normal_below(t);
  beta_point at = point_of(t * t, 1, student->nu);
  beta_shape shape = {at.b, at.a, student->rest[0], student->scale[0]};
  beta_shape turned = {at.a, at.b, student->rest[1], student->scale[1]};
  double tail = shaped_below(&shape, &turned, at.y, at.x) / 2;
  return t > 0 ? 1 - tail : tail;
}

double eb_t_below(double t, double nu)
{
  eb_student student = eb_student_of(nu);
  return eb_student_below(&student, t);
}

/* The F with `tail` above it (or below it): Newton's steps on the logarithm of the tail against ln f, where both tails
 * are concave, so that from the second step on they close in from one side. */
static double f_with_tail(double tail, bool above, double nu1, double nu2)
{
  double wanted = log(tail);
  double u = 0;
  double step = 0;
  beta_shape shape = shape_of(nu1 / 2, nu2 / 2), turned = shape_of(nu2 / 2, nu1 / 2);
  for (int i = 0; i < 200; i++) {
    beta_point at = point_of(exp(u), nu1, nu2);
    double part = above ? shaped_below(&turned, &shape, at.y, at.x) : shaped_below(&shape, &turned, at.x, at.y);
    if (part <= 0) { /* the step went where the tail is nothing: half of it back */
      step /= 2;
      u -= step;
      continue;
    }
    double slope = beta_front(&shape, at.x, at.y) / part;
    step = (wanted - log(part)) / (above ? -slope : slope);
    u += step;
    if (fabs(step) < 1e-11) /* the next would be of the order of its square */
      break;
  }
  return exp(u);
}

double eb_f_quantile(double p, double nu1, double nu2)
{
  assert(p > 0 && p < 1);
  return p > 0.5 ? f_with_tail(1 - p, true, nu1, nu2) : f_with_tail(p, false, nu1, nu2);
}

double eb_t_quantile(double p, double nu)
{
  assert(p > 0 && p < 1);
  if (isinf(nu))
    return eb_normal_quantile(p);
  double tail = p > 0.5 ? 1 - p : p;
  double middle = 2 * (0.5 - tail);
  if (middle <= 0)
    return 0;
  double f = middle < 0.5 ? f_with_tail(middle, false, 1, nu) : f_with_tail(2 * tail, true, 1, nu);
  return p > 0.5 ? sqrt(f) : -sqrt(f);
}
