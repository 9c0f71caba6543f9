#include "outlook.h"

#include <math.h>
#include <string.h>

static void pack_bores(const plan_case *given, const double *mean, const double *covariance, int width, outlook *view)
{
  eb_bores counted = eb_belief_counted(given->belief);
  view->bores = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    if (counted >> i & 1)
      view->bore[view->bores++] = i;
  for (int i = 0; i < view->bores; i++) {
    view->deviation[i] = mean[view->bore[i]];
    for (int j = 0; j < view->bores; j++)
      view->covariance[i][j] = covariance[view->bore[i] * width + view->bore[j]];
  }
}

static void centre(double *values, int count)
{
  double sum = 0;
  for (int i = 0; i < count; i++)
    sum += values[i];
  for (int i = 0; i < count; i++)
    values[i] -= sum / count;
}

static void pack_effects(const plan_case *given, outlook *view)
{
  for (int k = 0; k < view->adjusters; k++) {
    const eb_adjuster *adjuster = &given->layout->adjuster[k];
    view->touched_count[k] = 0;
    for (int i = 0; i < view->bores; i++) {
      bool touched = (adjuster->first | adjuster->second) >> view->bore[i] & 1;
      if (touched)
        view->touched[k][view->touched_count[k]++] = i;
      view->effect[k][i] = view->own_effect[k][i] = eb_adjuster_effect(adjuster, view->bore[i]);
      view->shift[k][i] = touched ? 1 : 0;
    }
    centre(view->effect[k], view->bores);
    centre(view->shift[k], view->bores);
  }
}

static void pack_gains(const plan_case *given, const double *covariance, int width, outlook *view)
{
  int n = given->layout->bore_count;
  for (int k = 0; k < view->adjusters; k++) {
    double spread;
    eb_belief_gain(given->belief, k, &view->gain[k], &spread);
    for (int l = 0; l < view->adjusters; l++)
      view->gain_covariance[k][l] = covariance[(n + k) * width + n + l];
    view->gain_covariance[k][k] = spread * spread;
    for (int i = 0; i < view->bores; i++)
      view->with_gain[k][i] = covariance[(n + k) * width + view->bore[i]];
  }
}

/* The expected square of what is left is quadratic in the moves: its least is where N m = r. */
static void pack_normal(outlook *view)
{
  const eb_priors *p = &view->priors;
  for (int k = 0; k < view->adjusters; k++) {
    double own = 1e-12; /* an adjuster without effect on what counts is not moved */
    view->right[k] = 0;
    for (int i = 0; i < view->bores; i++) {
      double effect = p->move_share * view->effect[k][i], shift = p->shift_share * view->shift[k][i];
      own += effect * effect + shift * shift;
      view->right[k] -= view->effect[k][i] * (view->gain[k] * view->deviation[i] + view->with_gain[k][i]);
    }
    own += (view->bores - view->touched_count[k]) * (1 - 1.0 / view->bores) * p->others_share * p->others_share;
    for (int l = 0; l <= k; l++) {
      double common = 0;
      for (int i = 0; i < view->bores; i++)
        common += view->effect[k][i] * view->effect[l][i];
      view->normal[k][l] = common * (view->gain[k] * view->gain[l] + view->gain_covariance[k][l]);
    }
    view->normal[k][k] += own;
  }
}

void outlook_take(const plan_case *given, double *joint, outlook *view)
{
  int width = given->layout->bore_count + given->layout->adjuster_count;
  double mean[EB_BELIEF_STATES_MAX];
  eb_belief_joint(given->belief, mean, joint);
  view->adjusters = given->layout->adjuster_count;
  view->usable = ~given->options->without;
  view->low = log1p(-given->verdict->tolerance);
  view->high = log1p(given->verdict->tolerance);
  view->priors = *eb_belief_priors(given->belief);
  pack_bores(given, mean, joint, width, view);
}

void outlook_prepare(const plan_case *given, const double *joint, outlook *view)
{
  int width = given->layout->bore_count + given->layout->adjuster_count;
  view->shown_variance = plan_reading_variance(given, given->options->reads_max);
  view->shown_up_to = plan_even_up_to(given, sqrt(view->shown_variance), given->options->reads_max);
  if (view->shown_up_to <= 0) {
    view->shown_variance = 0;
    view->shown_up_to = view->high;
  }
  pack_effects(given, view);
  pack_gains(given, joint, width, view);
  pack_normal(view);
  for (int k = 0; k < view->adjusters; k++)
    view->effort_min[k] = given->layout->adjuster[k].effort_min;
  rest_take(given, view);
}

/* What a set of moves adds to the covariance, before it is referred to the mean. */
typedef struct added {
  double covariance[EB_BORES_MAX][EB_BORES_MAX]; /* half of what is symmetric: it is added with its mirror image */
  double scatter[EB_BORES_MAX];
} added;

/* What the gains' doubt does: the sum over k of J_k m_k g_k, which goes together with the deviations; and what the
 * move itself misses by.  Only the rows of bores that the adjuster touches change. */
static void add_move(const outlook *view, const move_set *moves, int at, added *more)
{
  int k = moves->adjuster[at];
  double move = moves->move[at], along[EB_BORES_MAX];
  double least = view->priors.move_least, scatter = view->priors.scatter;
  double miss = view->priors.move_share * move, shift = view->priors.shift_share * move;
  double others = hypot(view->priors.others_share * move, view->priors.others_least);
  for (int i = 0; i < view->bores; i++)
    along[i] = move * view->with_gain[k][i] + 0.5 * (miss * miss + least * least) * view->own_effect[k][i];
  for (int b = 0; b < moves->count; b++) {
    int l = moves->adjuster[b];
    double share = 0.5 * move * moves->move[b] * view->gain_covariance[k][l];
    if (share < 0 || share > 0)
      for (int i = 0; i < view->bores; i++)
        along[i] += share * view->own_effect[l][i];
  }
  for (int i = 0; i < view->bores; i++)
    more->scatter[i] += others * others;
  for (int t = 0; t < view->touched_count[k]; t++) {
    int i = view->touched[k][t];
    more->scatter[i] += scatter * scatter - others * others;
    for (int j = 0; j < view->bores; j++)
      more->covariance[i][j] += view->own_effect[k][i] * along[j];
    for (int u = 0; u < view->touched_count[k]; u++)
      more->covariance[i][view->touched[k][u]] += 0.5 * shift * shift;
  }
}

/* Adds to the covariance what is left of the moves' part when the bores' mean is taken out of it. */
static void add_centred(const outlook *view, added *more, forecast *after)
{
  int n = view->bores;
  double row[EB_BORES_MAX], all = 0;
  for (int i = 0; i < n; i++) {
    double sum = more->scatter[i];
    for (int j = 0; j < n; j++)
      sum += more->covariance[i][j] + more->covariance[j][i];
    row[i] = sum / n;
    all += row[i] / n;
  }
  for (int i = 0; i < n; i++) {
    for (int j = 0; j < n; j++)
      after->covariance[i][j] =
          view->covariance[i][j] + more->covariance[i][j] + more->covariance[j][i] - row[i] - row[j] + all;
    after->covariance[i][i] += more->scatter[i];
  }
}

void outlook_forecast(const outlook *view, const move_set *moves, forecast *after)
{
  added more;
  for (int i = 0; i < view->bores; i++) {
    memset(more.covariance[i], 0, (size_t)view->bores * sizeof **more.covariance);
    more.scatter[i] = 0;
    after->deviation[i] = view->deviation[i];
  }
  for (int a = 0; a < moves->count; a++) {
    int k = moves->adjuster[a];
    add_move(view, moves, a, &more);
    for (int i = 0; i < view->bores; i++)
      after->deviation[i] += view->effect[k][i] * moves->move[a] * view->gain[k];
  }
  add_centred(view, &more, after);
}

void outlook_solve(double matrix[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX], double *right, int count)
{
  for (int j = 0; j < count; j++) {
    for (int l = 0; l < j; l++)
      matrix[j][j] -= matrix[j][l] * matrix[j][l];
    matrix[j][j] = sqrt(matrix[j][j]);
    for (int i = j + 1; i < count; i++) {
      for (int l = 0; l < j; l++)
        matrix[i][j] -= matrix[i][l] * matrix[j][l];
      matrix[i][j] /= matrix[j][j];
    }
    for (int l = 0; l < j; l++)
      right[j] -= matrix[j][l] * right[l];
    right[j] /= matrix[j][j];
  }
  for (int j = count - 1; j >= 0; j--) {
    for (int l = j + 1; l < count; l++)
      right[j] -= matrix[l][j] * right[l];
    right[j] /= matrix[j][j]; /* NOLINT(clang-analyzer-core.uninitialized.Assign): callers fill `count` of it */
  }
}

void outlook_moves(const outlook *view, move_set *moves)
{
  double matrix[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX];
  for (int a = 0; a < moves->count; a++) {
    int k = moves->adjuster[a];
    moves->move[a] = view->right[k];
    for (int b = 0; b <= a; b++) {
      int l = moves->adjuster[b];
      matrix[a][b] = l <= k ? view->normal[k][l] : view->normal[l][k];
    }
  }
  outlook_solve(matrix, moves->move, moves->count);
}

bool outlook_try(const outlook *view, double least_move, move_set *moves, forecast *after)
{
  outlook_moves(view, moves);
  for (int a = 0; a < moves->count; a++)
    if (fabs(moves->move[a]) < least_move)
      return false;
  outlook_forecast(view, moves, after);
  return true;
}

double outlook_spread(const double *deviation, int bores)
{
  double spread = 0;
  for (int i = 0; i < bores; i++)
    spread = fmax(spread, fabs(expm1(deviation[i])));
  return spread;
}
