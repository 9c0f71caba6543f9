#include "evenbore/difference.h"
#include "evenbore/statistics.h"

#include <assert.h>
#include <math.h>

/* No bore's readings are surer than a thousandth of the mean variance: what a doubt from elsewhere can seem to say. */
static const double LEAST_SHARE = 1e-3;

/* What is known of a gauge beforehand stands behind both doubts, and is no surer for being used twice. */
static double lesser(eb_doubted first, eb_doubted second)
{
  return fmax(fmin(first.degrees_of_freedom, second.degrees_of_freedom), 0.1);
}

static void judge(eb_difference *made, int several, double risk)
{
  made->p = fmin(2 * eb_t_below(-fabs(made->value) / made->doubt, made->degrees_of_freedom), 1);
  made->beyond = made->p * several <= risk;
}

eb_difference eb_difference_of(eb_doubted first, eb_doubted second, int several, double risk)
{
  assert(first.doubt > 0 && second.doubt > 0);
  eb_difference made = {.value = second.value - first.value, .doubt = hypot(first.doubt, second.doubt)};
  made.degrees_of_freedom = lesser(first, second);
  judge(&made, several, risk);
  return made;
}

/* The variances of the readings behind deviations from their common mean. */
static void uncentre(const eb_doubted *bores, int n, double *variances)
{
  double sum = 0;
  for (int i = 0; i < n; i++)
    sum += bores[i].doubt * bores[i].doubt;
  double all = sum * n / (n - 1);
  for (int i = 0; i < n; i++) {
    double own = bores[i].doubt * bores[i].doubt;
    double found = n == 2 ? all / 2 : (own - all / n / n) / (1 - 2.0 / n);
    variances[i] = fmax(found, LEAST_SHARE * all / n);
  }
}

static double mean_of(const eb_doubted *bores, int n)
{
  double mean = 0;
  for (int i = 0; i < n; i++)
    mean += bores[i].value / n;
  return mean;
}

static double weighted_squares(const eb_difference *bores, const double *variances, int n)
{
  double weights = 0, level = 0, squares = 0;
  for (int i = 0; i < n; i++)
    weights += 1 / variances[i];
  for (int i = 0; i < n; i++)
    level += bores[i].value / variances[i] / weights;
  for (int i = 0; i < n; i++)
    squares += (bores[i].value - level) * (bores[i].value - level) / variances[i];
  return squares;
}

eb_difference eb_difference_of_all(const eb_doubted *first, const eb_doubted *second, int count, double risk,
                                   eb_difference *bores)
{
  assert(count >= 2 && count <= EB_BORES_MAX);
  double before[EB_BORES_MAX], after[EB_BORES_MAX], both[EB_BORES_MAX], sum = 0;
  uncentre(first, count, before);
  uncentre(second, count, after);
  for (int i = 0; i < count; i++)
    sum += both[i] = before[i] + after[i];
  double apart = mean_of(second, count) - mean_of(first, count);
  for (int i = 0; i < count; i++) {
    bores[i] = eb_difference_of(first[i], second[i], count, risk);
    bores[i].value -= apart;
    bores[i].doubt = sqrt(fmax(both[i] * (1 - 2.0 / count), 0) + sum / count / count);
    judge(&bores[i], count, risk);
  }
  eb_difference all = {.value = weighted_squares(bores, both, count) / (count - 1),
                       .degrees_of_freedom = lesser(first[0], second[0])};
  all.p = eb_f_above(all.value, count - 1, all.degrees_of_freedom);
  all.beyond = all.p <= risk;
  return all;
}
