#include "contrast.h"

#include <math.h>
#include <string.h>

/* All that is found is a linear function of the deviations: `left` is the
 * matrix that takes out of them what larger adjusters explain, so that each
 * contrast's doubt follows from the covariance. */
typedef struct nest {
  const eb_layout *layout;
  eb_bores counted;
  const double *covariance;
  double left[EB_BORES_MAX][EB_BORES_MAX];
} nest;

/* Adjusters that touch equally many bores; their contrasts are found together. */
typedef struct group {
  int count;
  int adjuster[EB_ADJUSTERS_MAX];
  double weights[EB_ADJUSTERS_MAX]
                [EB_BORES_MAX]; /* first side's mean minus second's; later solved for what each one explains */
  double system[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX]; /* what one unit of each does to each contrast */
} group;

static int touched_count(const nest *nested, int adjuster)
{
  const eb_adjuster *a = &nested->layout->adjuster[adjuster];
  int count = 0;
  for (eb_bores set = (a->first | a->second) & nested->counted; set != 0; set &= set - 1)
    count++;
  return count;
}

static void weigh_side(const nest *nested, eb_bores side, double sign, double weights[EB_BORES_MAX])
{
  int n = nested->layout->bore_count;
  double total = 0;
  side &= nested->counted;
  for (int i = 0; i < n; i++)
    if (side >> i & 1)
      total += 1 / nested->covariance[i * n + i];
  for (int i = 0; i < n; i++)
    if (side >> i & 1)
      weights[i] += sign / nested->covariance[i * n + i] / total;
}

static double dot(const double *a, const double *b, int count)
{
  double sum = 0;
  for (int i = 0; i < count; i++)
    sum += a[i] * b[i];
  return sum;
}

static void set_up(const nest *nested, group *g)
{
  int n = nested->layout->bore_count;
  memset(g->weights, 0, (size_t)g->count * sizeof *g->weights);
  for (int k = 0; k < g->count; k++) {
    const eb_adjuster *a = &nested->layout->adjuster[g->adjuster[k]];
    weigh_side(nested, a->first, 1, g->weights[k]);
    weigh_side(nested, a->second, -1, g->weights[k]);
  }
  for (int l = 0; l < g->count; l++) {
    double effect[EB_BORES_MAX];
    for (int i = 0; i < n; i++)
      effect[i] = eb_adjuster_effect(&nested->layout->adjuster[g->adjuster[l]], i);
    for (int k = 0; k < g->count; k++)
      g->system[k][l] = dot(g->weights[k], effect, n);
  }
}

/* Takes multiples of row `pivot` from all others, so that column `pivot` is left in it alone. */
static void clear_column(group *g, int pivot, int bores)
{
  for (int k = 0; k < g->count; k++) {
    if (k == pivot)
      continue;
    double share = g->system[k][pivot] / g->system[pivot][pivot];
    for (int l = 0; l < g->count; l++)
      g->system[k][l] -= share * g->system[pivot][l];
    for (int i = 0; i < bores; i++)
      g->weights[k][i] -= share * g->weights[pivot][i];
  }
}

/* Adjusters that share bores explain the same deviations: solved together.  One
 * that only repeats what others do (three screws in a ring) explains nothing more. */
static void solve(group *g, int bores)
{
  bool done[EB_ADJUSTERS_MAX] = {false};
  for (;;) {
    int pivot = -1;
    for (int k = 0; k < g->count; k++)
      if (!done[k] && (pivot < 0 || fabs(g->system[k][k]) > fabs(g->system[pivot][pivot])))
        pivot = k;
    if (pivot < 0 || fabs(g->system[pivot][pivot]) < 1e-9)
      break;
    done[pivot] = true;
    clear_column(g, pivot, bores);
  }
  for (int k = 0; k < g->count; k++)
    for (int i = 0; i < bores; i++)
      g->weights[k][i] = done[k] ? g->weights[k][i] / g->system[k][k] : 0;
}

/* Replaces the group's weights on what is left by weights on the deviations themselves. */
static void refer_to_deviations(const nest *nested, group *g)
{
  int n = nested->layout->bore_count;
  for (int k = 0; k < g->count; k++) {
    double weights[EB_BORES_MAX] = {0};
    for (int i = 0; i < n; i++)
      for (int j = 0; j < n; j++)
        weights[j] += g->weights[k][i] * nested->left[i][j];
    memcpy(g->weights[k], weights, sizeof weights);
  }
}

static void take_out(nest *nested, const group *g)
{
  int n = nested->layout->bore_count;
  for (int k = 0; k < g->count; k++)
    for (int i = 0; i < n; i++) {
      double effect = eb_adjuster_effect(&nested->layout->adjuster[g->adjuster[k]], i);
      for (int j = 0; j < n; j++)
        nested->left[i][j] -= effect * g->weights[k][j];
    }
}

static eb_contrast measure(const nest *nested, int adjuster, const double *weights, const double *deviation)
{
  int n = nested->layout->bore_count;
  double variance = 0;
  for (int i = 0; i < n; i++)
    variance += weights[i] * dot(nested->covariance + i * n, weights, n);
  return (eb_contrast){.adjuster = adjuster,
                       .level = eb_adjuster_level(nested->layout, &nested->layout->adjuster[adjuster]),
                       .value = dot(weights, deviation, n),
                       .doubt = sqrt(fmax(variance, 0))};
}

int contrasts_find(const eb_layout *layout, eb_bores counted, const double *deviation, const double *covariance,
                   eb_contrast contrast[EB_ADJUSTERS_MAX])
{
  int count = 0;
  nest nested = {.layout = layout, .counted = counted, .covariance = covariance};
  for (int i = 0; i < layout->bore_count; i++)
    nested.left[i][i] = 1;
  for (int size = layout->bore_count; size >= 1; size--) {
    group g;
    g.count = 0;
    for (int k = 0; k < layout->adjuster_count; k++)
      if (touched_count(&nested, k) == size)
        g.adjuster[g.count++] = k;
    if (g.count == 0)
      continue;
    set_up(&nested, &g);
    solve(&g, layout->bore_count);
    refer_to_deviations(&nested, &g);
    take_out(&nested, &g);
    for (int k = 0; k < g.count; k++)
      contrast[count++] = measure(&nested, g.adjuster[k], g.weights[k], deviation);
  }
  return count;
}
