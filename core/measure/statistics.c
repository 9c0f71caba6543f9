#include "evenbore/statistics.h"

#include <assert.h>
#include <math.h>

/* The mean of the differences from a first mean puts right what that one's sum lost. */
static double mean_of(const double *values, size_t count)
{
  double sum = 0;
  for (size_t i = 0; i < count; i++)
    sum += values[i];
  double first = sum / (double)count;
  double rest = 0;
  for (size_t i = 0; i < count; i++)
    rest += values[i] - first;
  return first + rest / (double)count;
}

eb_sample eb_sample_describe(const double *values, size_t count)
{
  assert(count >= 1);
  eb_sample sample = {.mean = mean_of(values, count)};
  assert(isfinite(sample.mean));
  double sum = 0;
  double squares = 0;
  double products = 0;
  for (size_t i = 0; i < count; i++) {
    double d = values[i] - sample.mean;
    sum += d;
    squares += d * d;
    if (i > 0)
      products += d * (values[i - 1] - sample.mean);
  }
  double n = (double)count;
  squares -= sum * sum / n;
  if (count > 1 && squares > 0) {
    sample.deviation = sqrt(squares / (n - 1));
    sample.uncertainty = sample.deviation / sqrt(n);
    sample.autocorrelation = products / squares;
  }
  return sample;
}

eb_spread eb_spread_pool(const eb_spread *parts, size_t count)
{
  eb_spread pooled = {0};
  double squares = 0;
  for (size_t i = 0; i < count; i++) {
    assert(parts[i].degrees_of_freedom >= 0 && isfinite(parts[i].degrees_of_freedom));
    squares += parts[i].degrees_of_freedom * parts[i].deviation * parts[i].deviation;
    pooled.degrees_of_freedom += parts[i].degrees_of_freedom;
  }
  if (pooled.degrees_of_freedom > 0)
    pooled.deviation = sqrt(squares / pooled.degrees_of_freedom);
  return pooled;
}

double eb_uncertainty_rectangle(double half_width)
{
  assert(half_width >= 0);
  return half_width / sqrt(3);
}

eb_spread eb_uncertainty_combine(const eb_component *components, size_t count)
{
  double squares = 0;
  for (size_t i = 0; i < count; i++) {
    double part = components[i].sensitivity * components[i].spread.deviation;
    squares += part * part;
  }
  double doubt = 0; /* sum of (part / combined)^4 / nu */
  for (size_t i = 0; i < count && squares > 0; i++) {
    double part = components[i].sensitivity * components[i].spread.deviation;
    double share = part * part / squares;
    if (share > 0)
      doubt += share * share / components[i].spread.degrees_of_freedom;
  }
  return (eb_spread){.deviation = sqrt(squares), .degrees_of_freedom = doubt > 0 ? 1 / doubt : INFINITY};
}
