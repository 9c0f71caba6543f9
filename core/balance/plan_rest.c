#include "evenbore/statistics.h"

#include "outlook.h"

#include <math.h>

/* A minute that is still to come weighs so many minutes now: what is forecast of it is too little, because the stops
 * after the next one are not in it.  It trades plates for stops: of simulated V8s nine in ten needed at most 6 stops,
 * and 2.7 plates on average, with 1.5 of it, 4 stops and 3.8 plates with 4; the minutes are about the same. */
static const double URGENCY = 2.5;

/* What is known of an adjuster's gain once it was used, relative. This project's own figure. */
static const double LEARNT = 0.25;

/* What each bore of a group feels of what the group is off by. */
static const double GROUP_SHARE = 0.5;

static bool alone(const eb_adjuster *adjuster)
{
  return adjuster->second == 0 && (adjuster->first & (adjuster->first - 1)) == 0;
}

static void find_own(const eb_layout *layout, outlook *view)
{
  for (int i = 0; i < view->bores; i++) {
    view->own[i] = -1;
    for (int k = 0; k < view->adjusters; k++)
      if (view->usable >> k & 1 && alone(&layout->adjuster[k]) && view->touched_count[k] == 1 &&
          view->touched[k][0] == i && (view->own[i] < 0 || view->effort_min[k] < view->effort_min[view->own[i]]))
        view->own[i] = k;
  }
  view->group_count = 0;
  for (int k = 0; k < view->adjusters; k++)
    if (view->usable >> k & 1 && view->touched_count[k] > 1)
      view->group[view->group_count++] = k;
}

/* Rows of least squares: what each group's adjuster is off by, of the deviations.  The little on the diagonal lets
 * groups overlap. */
static void find_groups(outlook *view)
{
  double matrix[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX], right[EB_ADJUSTERS_MAX];
  for (int i = 0; i < view->bores; i++) {
    for (int a = 0; a < view->group_count; a++) {
      const double *effect = view->effect[view->group[a]];
      right[a] = effect[i];
      for (int b = 0; b <= a; b++) {
        matrix[a][b] = a == b ? 1e-6 : 0;
        for (int j = 0; j < view->bores; j++)
          matrix[a][b] += effect[j] * view->effect[view->group[b]][j];
      }
    }
    outlook_solve(matrix, right, view->group_count);
    for (int a = 0; a < view->group_count; a++)
      view->group_off[a][i] = right[a];
  }
}

/* Chance that a normal variable lies further off than can be shown to be even. */
static double off_chance(const outlook *view, double mean, double variance)
{
  double deviation = sqrt(variance + view->shown_variance);
  return eb_normal_below((-view->shown_up_to - mean) / deviation) +
         eb_normal_below((mean - view->shown_up_to) / deviation);
}

static bool holds(const move_set *moves, int adjuster)
{
  for (int a = 0; a < moves->count; a++)
    if (moves->adjuster[a] == adjuster)
      return true;
  return false;
}

/* Chance that one use of an adjuster for what is off by `size` is not enough for bores that feel `share` of it; less
 * once it was `used`. */
static double again_chance(const outlook *view, int adjuster, bool used, double size, double share)
{
  double gain_spread = sqrt(view->gain_covariance[adjuster][adjuster]) / view->gain[adjuster];
  if (used)
    gain_spread = fmin(gain_spread, LEARNT);
  double missed = hypot(hypot(gain_spread, view->priors.move_share) * size, view->priors.move_least) * share;
  double deviation = sqrt(missed * missed + view->shown_variance);
  return 2 * eb_normal_below(-view->shown_up_to / deviation);
}

void rest_take(const plan_case *given, outlook *view)
{
  find_own(given->layout, view);
  find_groups(view);
  bool any_running = false;
  for (int k = 0; k < view->adjusters; k++)
    any_running = any_running || (view->usable >> k & 1 && !given->layout->adjuster[k].stopped);
  view->round_min = plan_base_effort(given, !any_running);
  for (int k = 0; k < view->adjusters; k++)
    for (int used = 0; used < 2; used++)
      view->again_least[k][used] =
          again_chance(view, k, used != 0, view->shown_up_to, view->touched_count[k] > 1 ? GROUP_SHARE : 1);
  for (int i = 0; i < view->bores; i++)
    for (int j = 0; j < view->bores; j++) {
      view->left[i][j] = i == j;
      for (int a = 0; a < view->group_count; a++)
        view->left[i][j] -= view->effect[view->group[a]][i] * view->group_off[a][j];
    }
}

typedef struct rest {
  double work_min;
  double rounds; /* beyond the next one */
} rest;

/* Adds one adjuster's part: what the row `along` of the deviations comes to, which one unit of its move changes by
 * `share` of what a bore may be off. */
static void add_part(const outlook *view, const move_set *moves, const forecast *after, const double *along,
                     int adjuster, double share, rest *sum)
{
  double mean = 0, variance = 0;
  for (int i = 0; i < view->bores; i++) {
    double row = 0;
    for (int j = 0; j < view->bores; j++)
      row += after->covariance[i][j] * along[j];
    mean += along[i] * after->deviation[i];
    variance += along[i] * row;
  }
  double off = off_chance(view, mean, fmax(variance, 0));
  bool used = holds(moves, adjuster), far = fabs(mean) > view->shown_up_to;
  double again = far ? again_chance(view, adjuster, used, fabs(mean), share) : view->again_least[adjuster][used];
  sum->work_min += off * (1 + again) * view->effort_min[adjuster];
  sum->rounds = fmax(sum->rounds, off * again);
}

/* What the parts so far come to, if all that is left is shown at once. */
static double at_least(const outlook *view, const rest *sum)
{
  return URGENCY * (sum->work_min + sum->rounds * view->round_min);
}

/* What can be shown at least, so that the work that is left stays below `most`; a little less, for what is rounded. */
static double shown_at_least(const outlook *view, const rest *sum, double most)
{
  return 1 + sum->rounds - (most / URGENCY - sum->work_min) / view->round_min - 1e-9;
}

/* Taken apart by level, as a person would: groups that are off, and bores that no group's move brings in.  Where two
 * bores share all their groups, each is left half of their difference, and moving one of them is enough: the share
 * that is left of a bore counts as so much of a bore. */
double outlook_rest(const outlook *view, const move_set *moves, forecast *after, double most)
{
  static const double NONE = 0.01;
  rest sum = {0};
  for (int i = 0; i < view->bores && at_least(view, &sum) < most; i++)
    if (view->own[i] >= 0 && view->left[i][i] > NONE) {
      rest one = {0};
      add_part(view, moves, after, view->left[i], view->own[i], 1, &one);
      sum.work_min += one.work_min * view->left[i][i];
      sum.rounds = fmax(sum.rounds, one.rounds);
    }
  for (int a = 0; a < view->group_count && at_least(view, &sum) < most; a++)
    add_part(view, moves, after, view->group_off[a], view->group[a], GROUP_SHARE, &sum);
  if (at_least(view, &sum) >= most)
    return INFINITY;
  outlook_shown(view, after, shown_at_least(view, &sum, most));
  return URGENCY * (sum.work_min + (1 - after->shown + sum.rounds) * view->round_min);
}
