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
    for (int i = 0; i < view->bores; i++) {
      view->touched[k][i] = (adjuster->first | adjuster->second) >> view->bore[i] & 1;
      view->effect[k][i] = eb_adjuster_effect(adjuster, view->bore[i]);
      view->shift[k][i] = view->touched[k][i] ? 1 : 0;
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

void outlook_take(const plan_case *given, double *work, outlook *view)
{
  double mean[EB_BELIEF_STATES_MAX];
  int width = given->layout->bore_count + given->layout->adjuster_count;
  eb_belief_joint(given->belief, mean, work);
  view->adjusters = given->layout->adjuster_count;
  view->low = log1p(-given->verdict->tolerance);
  view->high = log1p(given->verdict->tolerance);
  view->priors = *eb_belief_priors(given->belief);
  pack_bores(given, mean, work, width, view);
  pack_effects(given, view);
  pack_gains(given, work, width, view);
}

/* A normal variable along `direction`, of the given variance, and what it has in common with the deviations. */
static void add_product(double covariance[EB_BORES_MAX][EB_BORES_MAX], const double *a, const double *b, double share,
                        int bores)
{
  for (int i = 0; i < bores; i++) {
    double left = share * a[i];
    for (int j = 0; j < bores; j++)
      covariance[i][j] += left * b[j];
  }
}

static void add_scatter(const double *scatter, double covariance[EB_BORES_MAX][EB_BORES_MAX], int bores)
{
  double sum = 0;
  for (int i = 0; i < bores; i++)
    sum += scatter[i];
  for (int i = 0; i < bores; i++) {
    for (int j = 0; j < bores; j++)
      covariance[i][j] += sum / bores / bores - (scatter[i] + scatter[j]) / bores;
    covariance[i][i] += scatter[i];
  }
}

/* What the gains' doubt does: sum over k of J_k m_k g_k, which goes together with the deviations. */
static void add_gains(const outlook *view, const move_set *moves, forecast *after)
{
  for (int a = 0; a < moves->count; a++) {
    int k = moves->adjuster[a];
    double together[EB_BORES_MAX];
    for (int i = 0; i < view->bores; i++) {
      double sum = 0;
      for (int b = 0; b < moves->count; b++)
        sum += view->gain_covariance[k][moves->adjuster[b]] * moves->move[b] * view->effect[moves->adjuster[b]][i];
      together[i] = sum + view->with_gain[k][i];
    }
    add_product(after->covariance, view->effect[k], together, moves->move[a], view->bores);
    add_product(after->covariance, view->with_gain[k], view->effect[k], moves->move[a], view->bores);
  }
}

void outlook_forecast(const outlook *view, const move_set *moves, bool fixed, forecast *after)
{
  int n = view->bores;
  double scatter[EB_BORES_MAX] = {0};
  memcpy(after->deviation, view->deviation, sizeof after->deviation);
  memcpy(after->covariance, view->covariance, sizeof after->covariance);
  add_gains(view, moves, after);
  for (int a = 0; a < moves->count; a++) {
    int k = moves->adjuster[a];
    double move = moves->move[a];
    double least = fixed ? view->priors.move_least : 0;
    double miss = view->priors.move_share * move, shift = view->priors.shift_share * move;
    for (int i = 0; i < n; i++) {
      after->deviation[i] += view->effect[k][i] * move * view->gain[k];
      if (fixed && view->touched[k][i])
        scatter[i] += view->priors.scatter * view->priors.scatter;
    }
    add_product(after->covariance, view->effect[k], view->effect[k], miss * miss + least * least, n);
    add_product(after->covariance, view->shift[k], view->shift[k], shift * shift, n);
  }
  add_scatter(scatter, after->covariance, n);
}

/* Solves the symmetric positive definite system in place by Cholesky's method. */
static void solve(double matrix[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX], double *right, int count)
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
    right[j] /= matrix[j][j];
  }
}

/* The expected square of what is left is quadratic in the moves.  With one
 * adjuster and nothing else in doubt its least is at m = -e g / (g^2 + v): a
 * gain that is not known damps the move by itself. */
void outlook_moves(const outlook *view, const double *weights, move_set *moves)
{
  double matrix[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX];
  const eb_priors *p = &view->priors;
  for (int a = 0; a < moves->count; a++) {
    int k = moves->adjuster[a];
    double own = 1e-12, right = 0; /* an adjuster without effect on what counts is not moved */
    for (int i = 0; i < view->bores; i++) {
      double w = weights == NULL ? 1 : weights[i], effect = view->effect[k][i], shift = view->shift[k][i];
      right -= w * (effect * view->gain[k] * view->deviation[i] + view->with_gain[k][i] * effect);
      own += w * (p->move_share * p->move_share * effect * effect + p->shift_share * p->shift_share * shift * shift);
    }
    moves->move[a] = right;
    for (int b = 0; b <= a; b++) {
      int l = moves->adjuster[b];
      double common = 0;
      for (int i = 0; i < view->bores; i++)
        common += (weights == NULL ? 1 : weights[i]) * view->effect[k][i] * view->effect[l][i];
      matrix[a][b] = common * (view->gain[k] * view->gain[l] + view->gain_covariance[k][l]);
    }
    matrix[a][a] += own;
  }
  solve(matrix, moves->move, moves->count);
}

double outlook_spread(const double *deviation, int bores)
{
  double spread = 0;
  for (int i = 0; i < bores; i++)
    spread = fmax(spread, fabs(expm1(deviation[i])));
  return spread;
}
