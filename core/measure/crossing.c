#include "evenbore/crossing.h"

#include <math.h>
#include <stdbool.h>

static double straight(eb_crossing_end here, eb_crossing_end other)
{
  return here.f / (here.f - other.f);
}

/* Share of the way from `here` to `other` where the parabola through both and the end before them crosses zero; half
 * where that one is too bent. */
static double next_share(eb_crossing_end here, eb_crossing_end other, eb_crossing_end before)
{
  double xi = (here.x - other.x) / (before.x - other.x), phi = (here.f - other.f) / (before.f - other.f);
  if (!(phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi))
    return 0.5;
  return here.f / (other.f - here.f) * before.f / (other.f - before.f) +
         (before.x - here.x) / (other.x - here.x) * here.f / (before.f - here.f) * other.f / (before.f - other.f);
}

/* Brings the ends to at most `width` apart, the crossing still between them. */
static void narrow(eb_falling *f, const void *given, double width, eb_crossing *between)
{
  eb_crossing_end here = between->above, other = between->below;
  double share = straight(here, other);
  while (fabs(other.x - here.x) > width) {
    double least = 0.4 * width / fabs(other.x - here.x);
    double x = here.x + fmin(fmax(share, least), 1 - least) * (other.x - here.x);
    eb_crossing_end next = {x, f(given, x)}, before = here;
    if ((next.f > 0) != (here.f > 0)) {
      before = other;
      other = here;
    }
    here = next;
    share = next_share(here, other, before);
  }
  *between = here.f > 0 ? (eb_crossing){here, other} : (eb_crossing){other, here};
}

double eb_crossing_step(eb_falling *f, const void *given, double step, eb_crossing between)
{
  narrow(f, given, step / 4, &between);
  double k = floor(between.above.x / step) + 1;
  return k * step < between.below.x && f(given, k * step) > 0 ? k + 1 : k;
}

/* Halving from `low` to `high`, of which `first` and `last` are the numbers on its finest grid. */
typedef struct halving {
  eb_falling *f;
  const void *given;
  double low, high;
  double first, last;
} halving;

static double middle_of(const halving *h)
{
  return 0.5 * (h->low + h->high);
}

static void go_on(halving *h, bool above)
{
  double x = middle_of(h), number = 0.5 * (h->first + h->last);
  *(above ? &h->low : &h->high) = x;
  *(above ? &h->first : &h->last) = number;
}

/* The place of a number on the grid that `given` is about. */
static double at_number(const void *given, double number)
{
  const halving *h = given;
  return h->f(h->given, h->low + (number - h->first) / (h->last - h->first) * (h->high - h->low));
}

double eb_crossing_find(eb_falling *f, const void *given, double low, double high, int halvings)
{
  enum { FIRST = 4 };
  halving h = {f, given, low, high, 0, ldexp(1, halvings)};
  double at_low = NAN, at_high = NAN;
  for (int i = 0; h.last - h.first > 1 && (i < FIRST || isnan(at_low) || isnan(at_high)); i++) {
    double met = f(given, middle_of(&h));
    *(met > 0 ? &at_low : &at_high) = met;
    go_on(&h, met > 0);
  }
  if (h.last - h.first > 1) {
    eb_crossing between = {{h.first, at_low}, {h.last, at_high}};
    double found = eb_crossing_step(at_number, &h, 1, between);
    while (h.last - h.first > 1)
      go_on(&h, 0.5 * (h.first + h.last) < found);
  }
  return middle_of(&h);
}
