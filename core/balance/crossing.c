#include "crossing.h"

#include <math.h>
#include <stdbool.h>

static double straight(crossing_end here, crossing_end other)
{
  return here.f / (here.f - other.f);
}

/* Share of the way from `here` to `other` where the parabola through both and the end before them crosses zero; half
 * where that one is too bent [Chandrupatla, Advances in Engineering Software 28 (1997) 145-149; from memory]. */
static double next_share(crossing_end here, crossing_end other, crossing_end before)
{
  double xi = (here.x - other.x) / (before.x - other.x), phi = (here.f - other.f) / (before.f - other.f);
  if (!(phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi))
    return 0.5;
  return here.f / (other.f - here.f) * before.f / (other.f - before.f) +
         (before.x - here.x) / (other.x - here.x) * here.f / (before.f - here.f) * other.f / (before.f - other.f);
}

/* Brings the ends to at most `width` apart, the crossing still between them. */
static void narrow(falling *f, const void *given, double width, crossing *between)
{
  crossing_end here = between->above, other = between->below;
  double share = straight(here, other);
  while (fabs(other.x - here.x) > width) {
    double least = 0.4 * width / fabs(other.x - here.x);
    double x = here.x + fmin(fmax(share, least), 1 - least) * (other.x - here.x);
    crossing_end next = {x, f(given, x)}, before = here;
    if ((next.f > 0) != (here.f > 0)) {
      before = other;
      other = here;
    }
    here = next;
    share = next_share(here, other, before);
  }
  *between = here.f > 0 ? (crossing){here, other} : (crossing){other, here};
}

double crossing_step(falling *f, const void *given, double step, crossing between)
{
  narrow(f, given, step / 4, &between);
  double k = floor(between.above.x / step) + 1;
  return k * step < between.below.x && f(given, k * step) > 0 ? k + 1 : k;
}
