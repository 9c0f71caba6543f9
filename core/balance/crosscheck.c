#include "evenbore/crosscheck.h"

#include <assert.h>
#include <math.h>

static const double OUTLIER = 3.5, HEAT_LEAST_K = 40, MIXTURE_LEAST = 0.03;

const char *eb_cross_text(eb_cross word)
{
  switch (word) {
  case EB_CROSS_AGREE: return "agree";
  case EB_CROSS_COLD_BORE: return "cold-bore";
  case EB_CROSS_HOT_BORE: return "hot-bore";
  case EB_CROSS_COLD_SIDE: return "cold-side";
  case EB_CROSS_LEAN_SIDE: return "lean-side";
  case EB_CROSS_AIR_EXPLAINS: return "air-explains";
  case EB_CROSS_AIR_ALONE: return "air-alone";
  case EB_CROSS_ONE_SENSOR: return "one-sensor";
  case EB_CROSS_ONE_SENSOR_WAITS: return "one-sensor-waits";
  }
  return "";
}

bool eb_cross_is_fuel(eb_cross word)
{
  return word == EB_CROSS_COLD_BORE || word == EB_CROSS_HOT_BORE || word == EB_CROSS_COLD_SIDE ||
         word == EB_CROSS_LEAN_SIDE;
}

typedef struct judging {
  const eb_crosscheck *given;
  eb_crossing *found;
  int count;
  double usual_k[EB_BORES_MAX]; /* what a port is held against: its row's median, or all ports' */
  double scale_k;               /* as robust as the medians */
} judging;

static void add(judging *j, eb_cross word, eb_bores bores, double size, double score)
{
  if (j->count < EB_CROSSINGS_MAX)
    j->found[j->count++] = (eb_crossing){word, bores, size, score};
}

static double median_of(double *values, int count)
{
  for (int i = 1; i < count; i++)
    for (int k = i; k > 0 && values[k - 1] > values[k]; k--) {
      double kept = values[k];
      values[k] = values[k - 1];
      values[k - 1] = kept;
    }
  return 0.5 * (values[(count - 1) / 2] + values[count / 2]);
}

static int collect(const eb_crosscheck *given, eb_bores bores, double *values)
{
  int count = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    if ((bores & given->ports) >> i & 1)
      values[count++] = given->heat_k[i];
  return count;
}

/* A row of three ports or more has a median of its own, so that a cold side hides no cold bore. */
static void find_usual(judging *j)
{
  const eb_crosscheck *given = j->given;
  const eb_layout *layout = given->layout;
  double values[EB_BORES_MAX] = {0}, away[EB_BORES_MAX] = {0};
  int count = 0;
  double all = median_of(values, collect(given, given->ports, values));
  for (int r = 0; r < layout->row_count; r++) {
    int in_row = collect(given, eb_layout_row(layout, r), values);
    double usual = in_row >= 3 ? median_of(values, in_row) : all;
    for (int i = layout->row_start[r]; i < layout->row_start[r] + layout->row_size[r]; i++) {
      j->usual_k[i] = usual;
      if (given->ports >> i & 1)
        away[count++] = fabs(given->heat_k[i] - usual);
    }
  }
  j->scale_k = fmax(median_of(away, count) / 0.6745, given->heat_doubt_k);
}

/* Whether the bore's air is off in that direction: then heat follows it. */
static bool air_explains(const eb_verdict *air, int bore, double direction)
{
  return air->bore[bore].word == EB_UNEVEN && air->bore[bore].deviation * direction > 0;
}

static void judge_bores(judging *j)
{
  const eb_crosscheck *given = j->given;
  for (int i = 0; i < given->layout->bore_count; i++) {
    if (!(given->ports >> i & 1))
      continue;
    double size = given->heat_k[i] - j->usual_k[i], score = size / j->scale_k;
    if (fabs(size) < HEAT_LEAST_K || fabs(score) < OUTLIER)
      continue;
    eb_cross fault = size < 0 ? EB_CROSS_COLD_BORE : EB_CROSS_HOT_BORE;
    add(j, air_explains(given->air, i, size) ? EB_CROSS_AIR_EXPLAINS : fault, (eb_bores)1 << i, size, score);
  }
}

static double mean_air(const eb_crosscheck *given, eb_bores bores)
{
  double sum = 0;
  int count = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    if (bores >> i & 1 && given->air->bore[i].word != EB_LEFT_OUT) {
      sum += given->air->bore[i].deviation;
      count++;
    }
  return count > 0 ? sum / count : 0;
}

/* How far the mean air of some bores is from that of others; as sure as the worst of them. */
static bool sides_air_differs(const eb_crosscheck *given, eb_bores one, eb_bores other, double direction)
{
  double apart = mean_air(given, one) - mean_air(given, other);
  return apart * direction > 0 && fabs(apart) > given->air->tolerance / 2;
}

/* A median of n has 1.2533 the standard deviation of a mean of n, for normal errors. */
static void judge_rows(judging *j)
{
  const eb_crosscheck *given = j->given;
  const eb_layout *layout = given->layout;
  double values[EB_BORES_MAX];
  for (int r = 0; r < layout->row_count; r++) {
    eb_bores row = eb_layout_row(layout, r), others = given->ports & ~row;
    int in_row = collect(given, row, values);
    double own = in_row >= 3 ? median_of(values, in_row) : 0;
    int beside = collect(given, others, values);
    if (in_row < 3 || beside < 3)
      continue;
    double size = own - median_of(values, beside);
    double score = size / (1.2533 * j->scale_k * sqrt(1.0 / in_row + 1.0 / beside));
    if (size > -HEAT_LEAST_K || score > -OUTLIER)
      continue;
    bool air = sides_air_differs(given, row, others, -1);
    add(j, air ? EB_CROSS_AIR_EXPLAINS : EB_CROSS_COLD_SIDE, row & given->ports, size, score);
  }
}

/* The leanest of several sensors against the middle of the others. The same fuel for more air is leaner by as much. */
static void judge_mixture(judging *j)
{
  const eb_crosscheck *given = j->given;
  int leanest = 0;
  double values[EB_ROWS_MAX];
  int count = 0;
  eb_bores others = 0;
  for (int s = 1; s < given->sensors; s++)
    if (given->sensor[s].mixture > given->sensor[leanest].mixture)
      leanest = s;
  for (int s = 0; s < given->sensors; s++)
    if (s != leanest) {
      values[count++] = log(given->sensor[s].mixture);
      others |= given->sensor[s].behind;
    }
  eb_bores behind = given->sensor[leanest].behind;
  double size = log(given->sensor[leanest].mixture) - median_of(values, count);
  double score = size / (given->mixture_doubt * M_SQRT2);
  if (size < MIXTURE_LEAST || score < OUTLIER)
    return;
  double by_air = mean_air(given, behind) - mean_air(given, others);
  bool air = sides_air_differs(given, behind, others, 1) && size - by_air < MIXTURE_LEAST;
  add(j, air ? EB_CROSS_AIR_EXPLAINS : EB_CROSS_LEAN_SIDE, behind, size, score);
}

static bool has_fuel_or_air(const judging *j)
{
  for (int i = 0; i < j->count; i++)
    if (eb_cross_is_fuel(j->found[i].word) || j->found[i].word == EB_CROSS_AIR_EXPLAINS)
      return true;
  return false;
}

static void judge_air_alone(judging *j)
{
  const eb_verdict *air = j->given->air;
  eb_bores uneven = 0;
  double most = 0;
  for (int i = 0; i < j->given->layout->bore_count; i++) {
    if (air->bore[i].word != EB_UNEVEN)
      continue;
    uneven |= (eb_bores)1 << i;
    if (fabs(air->bore[i].deviation) > fabs(most))
      most = air->bore[i].deviation;
  }
  if (uneven != 0)
    add(j, EB_CROSS_AIR_ALONE, uneven, most, 0);
}

static void put_fuel_first(judging *j)
{
  for (int i = 1; i < j->count; i++)
    for (int k = i; k > 0 && eb_cross_is_fuel(j->found[k].word) && !eb_cross_is_fuel(j->found[k - 1].word); k--) {
      eb_crossing kept = j->found[k];
      j->found[k] = j->found[k - 1];
      j->found[k - 1] = kept;
    }
}

int eb_crosscheck_judge(const eb_crosscheck *given, eb_crossing found[EB_CROSSINGS_MAX])
{
  enum { PORTS_LEAST = 3 };
  judging j = {.given = given, .found = found};
  double values[EB_BORES_MAX];
  bool ports = collect(given, given->ports, values) >= PORTS_LEAST;
  assert(given->sensors <= EB_ROWS_MAX && given->heat_doubt_k > 0 && given->mixture_doubt > 0);
  if (ports) {
    find_usual(&j);
    judge_bores(&j);
    judge_rows(&j);
  }
  if (given->sensors > 1)
    judge_mixture(&j);
  if ((ports || given->sensors > 1) && !has_fuel_or_air(&j))
    judge_air_alone(&j);
  if (given->sensors == 1)
    add(&j, given->air->word == EB_EVEN ? EB_CROSS_ONE_SENSOR : EB_CROSS_ONE_SENSOR_WAITS, given->sensor[0].behind, 0,
        0);
  if (j.count == 0)
    add(&j, EB_CROSS_AGREE, 0, 0, 0);
  put_fuel_first(&j);
  return j.count;
}
