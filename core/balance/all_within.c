#include "outlook.h"

#include "evenbore/statistics.h"

#include <math.h>
#include <string.h>

static double density(double x)
{
  return isfinite(x) ? exp(-0.5 * x * x) * 0.39894228040143267794 : 0;
}

/* Below this share of its first variance a bore follows from those before it. */
static const double SETTLED = 1e-9;

typedef struct part {
  double inside;        /* probability of being within */
  double shift, narrow; /* mean and variance of the standardised variable, given that it is */
} part;

static part standard_part(double a, double b)
{
  double inside = a > 0 ? eb_normal_below(-a) - eb_normal_below(-b) : eb_normal_below(b) - eb_normal_below(a);
  if (inside < 1e-12) /* so far off that the nearer end is where it is */
    return (part){1e-12, a > 0 ? a : b, 0};
  double at_a = density(a), at_b = density(b);
  double shift = (at_a - at_b) / inside;
  double narrow = 1 + (a * at_a - b * at_b) / inside - shift * shift;
  return (part){inside, shift, fmin(fmax(narrow, 0), 1)};
}

/* Bores that are still to come, given that those before them are within. */
typedef struct rest {
  int bores;
  bool done[EB_BORES_MAX];
  double mean[EB_BORES_MAX], first_variance[EB_BORES_MAX];
  double covariance[EB_BORES_MAX][EB_BORES_MAX];
} rest;

/* Bores that read the same have the same room but for rounding; the order must not hang on that. */
static const double TIE = 1e-7;

/* The bore with the least room to one of the ends, in standard deviations; -1: none is left that does not follow
 * from the others. */
static int least_likely(const rest *r, double low, double high)
{
  int found = -1;
  double least = INFINITY;
  for (int i = 0; i < r->bores; i++) {
    if (r->done[i] || r->covariance[i][i] <= SETTLED * r->first_variance[i])
      continue;
    double room = fmin(high - r->mean[i], r->mean[i] - low) / sqrt(r->covariance[i][i]);
    if (found < 0 || room < least - TIE) {
      least = room;
      found = i;
    }
  }
  return found;
}

static double take_bore(rest *r, int bore, double low, double high)
{
  double sd = sqrt(r->covariance[bore][bore]), along[EB_BORES_MAX];
  part p = standard_part((low - r->mean[bore]) / sd, (high - r->mean[bore]) / sd);
  r->done[bore] = true;
  for (int i = 0; i < r->bores; i++)
    along[i] = r->covariance[i][bore] / sd;
  for (int i = 0; i < r->bores; i++) {
    if (r->done[i])
      continue;
    r->mean[i] += along[i] * p.shift;
    for (int j = 0; j < r->bores; j++)
      r->covariance[i][j] -= along[i] * along[j] * (1 - p.narrow);
  }
  return p.inside;
}

/* One bore after the other, each given that those before it are within, and
 * the rest taken as normal again with the mean and covariance that follow
 * [Mendell and Elston, Biometrics 30 (1974); from memory].  The least likely
 * comes first, which errs least.  Exact where the bores are independent.  What is less than `least` need not be known
 * any better. */
static double all_within(const outlook *view, const forecast *after, double more_variance, double low, double high,
                         double least)
{
  rest r;
  double probability = 1;
  r.bores = view->bores;
  for (int i = 0; i < r.bores; i++) {
    r.done[i] = false;
    r.mean[i] = after->deviation[i];
    memcpy(r.covariance[i], after->covariance[i], (size_t)r.bores * sizeof **r.covariance);
    r.first_variance[i] = r.covariance[i][i] += more_variance;
  }
  for (int next = least_likely(&r, low, high); next >= 0 && !(probability < least); next = least_likely(&r, low, high))
    probability *= take_bore(&r, next, low, high);
  return probability;
}

void outlook_probability(const outlook *view, forecast *after)
{
  after->probability = all_within(view, after, 0, view->low, view->high, 0);
}

void outlook_shown(const outlook *view, forecast *after, double least)
{
  after->shown = all_within(view, after, view->shown_variance, -view->shown_up_to, view->shown_up_to, least);
}
