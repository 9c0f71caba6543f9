#include "evenbore/belief.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* The state is ordered level, drift, bores, gains, and is held as R x = z with
 * R upper triangular and unit noise.  In this order forgetting level and drift
 * is dropping the first two rows, and a move, which adds bores' columns to a
 * gain's, leaves R triangular. */
enum { LEVEL, DRIFT, BORES };

struct eb_belief {
  const eb_host *host;
  eb_priors priors;
  int bores, adjusters, states;
  eb_bores counted;
  double likelihood; /* ln, of the readings so far */
  double *root;      /* states rows of states: R */
  double *right;     /* z */
  double *spare;     /* one row, for what is worked in */
  eb_adjuster *adjuster;
  double store[];
};

eb_priors eb_priors_usual(void)
{
  return (eb_priors){.drift = 0.015,
                     .move_share = 0.15,
                     .move_least = 0.008,
                     .shift_share = 0.12,
                     .scatter = 0.006,
                     .others_share = 0.015,
                     .others_least = 0.001,
                     .start = 0.004,
                     .gain_low = 0.25,
                     .gain_high = 4,
                     .gain_spread_least = 0.12};
}

/* Turns rows `upper` and `lower` so that lower[at] vanishes; both are zero before `at`. */
static void turn(double *upper, double *lower, double *upper_right, double *lower_right, int at, int count)
{
  double length = hypot(upper[at], lower[at]);
  if (length <= 0)
    return;
  double c = upper[at] / length, s = lower[at] / length;
  for (int j = at; j < count; j++) {
    double u = upper[j], l = lower[j];
    upper[j] = c * u + s * l;
    lower[j] = c * l - s * u;
  }
  lower[at] = 0;
  double u = *upper_right, l = *lower_right;
  *upper_right = c * u + s * l;
  *lower_right = c * l - s * u;
}

/* Works one more equation row x = right, of unit noise, into R x = z. `row` is used up.  Gives the logarithm of the
 * equation's density beforehand: what is left of its right side, normally distributed, and how much R's determinant
 * grew [Bierman, chapter VI; from memory]; where R knew nothing, but for a constant. */
static double absorb(double *root, double *z, int states, double *row, double right)
{
  double grown = 1;
  for (int i = 0; i < states; i++)
    if (row[i] < 0 || row[i] > 0) {
      double before = fabs(root[i * states + i]);
      turn(root + i * states, row, z + i, &right, i, states);
      grown *= before > 0 ? root[i * states + i] / before : root[i * states + i];
    }
  return -log(grown) - 0.5 * right * right;
}

/* x gains `direction` times a standard normal variable.  That variable is a
 * state in front of the others, which is eliminated again; turning from the
 * last row up keeps R triangular. */
static void add_noise(eb_belief *b, const double *direction)
{
  int n = b->states;
  double *row = b->spare;
  double right = 0, front = 1;
  memset(row, 0, (size_t)n * sizeof *row);
  for (int i = n - 1; i >= 0; i--) {
    double *own = b->root + i * n;
    double against = 0;
    for (int j = i; j < n; j++)
      against -= own[j] * direction[j];
    double length = hypot(front, against);
    double c = front / length, s = against / length;
    for (int j = i; j < n; j++) {
      double f = row[j], o = own[j];
      row[j] = c * f + s * o;
      own[j] = c * o - s * f;
    }
    double f = right;
    right = c * f + s * b->right[i];
    b->right[i] = c * b->right[i] - s * f;
    front = length;
  }
}

/* Solves the triangle of bores and gains for their mean. */
static void solve_mean(const eb_belief *b, double *x)
{
  int n = b->states;
  for (int i = n - 1; i >= BORES; i--) {
    double sum = b->right[i];
    for (int j = i + 1; j < n; j++)
      sum -= b->root[i * n + j] * x[j - BORES];
    x[i - BORES] = sum / b->root[i * n + i];
  }
}

/* Row of the covariance's root that belongs to one bore or gain: R' u = unit vector. Two such rows'
 * product is a covariance. */
static void solve_root(const eb_belief *b, int state, double *u)
{
  int n = b->states;
  memset(u, 0, (size_t)(n - BORES) * sizeof *u);
  for (int i = state; i < n; i++) {
    double sum = i == state ? 1 : 0;
    for (int j = state; j < i; j++)
      sum -= b->root[j * n + i] * u[j - BORES];
    u[i - BORES] = sum / b->root[i * n + i];
  }
}

static double dot(const double *a, const double *b, int count)
{
  double sum = 0;
  for (int i = 0; i < count; i++)
    sum += a[i] * b[i];
  return sum;
}

/* The bores' prior: y_i minus the sum of J_ik a_k is plate_spread wide, a_k is as wide as its adjuster is likely
 * off.  Worked in as equations on (a, y), whose lower corner is then the marginal of y. */
static void work_in_bores(eb_belief *b, double plate_spread, double *work)
{
  int count = b->adjusters + b->bores;
  double *root = work, *row = work + count * count, *z = row + count;
  memset(work, 0, (size_t)(count * (count + 2)) * sizeof *work);
  for (int k = 0; k < b->adjusters; k++)
    root[k * count + k] = 1 / b->adjuster[k].spread;
  for (int i = 0; i < b->bores; i++) {
    memset(row, 0, (size_t)count * sizeof *row);
    for (int k = 0; k < b->adjusters; k++)
      row[k] = -eb_adjuster_effect(&b->adjuster[k], i) / plate_spread;
    row[b->adjusters + i] = 1 / plate_spread;
    absorb(root, z, count, row, 0);
  }
  for (int i = 0; i < b->bores; i++)
    for (int j = 0; j < b->bores; j++)
      b->root[(BORES + i) * b->states + BORES + j] = root[(b->adjusters + i) * count + b->adjusters + j];
}

static void work_in_gains(eb_belief *b)
{
  for (int k = 0; k < b->adjusters; k++) {
    int at = BORES + b->bores + k;
    double spread = fmax(b->adjuster[k].gain_spread, b->priors.gain_spread_least);
    b->root[at * b->states + at] = 1 / spread;
    b->right[at] = b->adjuster[k].gain / spread;
  }
}

static void forget_level(eb_belief *b)
{
  memset(b->root, 0, (size_t)(BORES * b->states) * sizeof *b->root);
  b->right[LEVEL] = b->right[DRIFT] = 0;
  b->root[DRIFT * b->states + DRIFT] = 1 / b->priors.drift;
}

void eb_belief_period(eb_belief *belief)
{
  double direction[BORES + EB_BELIEF_STATES_MAX] = {0};
  for (int k = 0; k < belief->adjusters; k++) {
    eb_bores touched = belief->adjuster[k].first | belief->adjuster[k].second;
    if ((touched & (touched - 1)) == 0)
      continue;
    for (int i = 0; i < belief->bores; i++)
      direction[BORES + i] = belief->priors.start * eb_adjuster_effect(&belief->adjuster[k], i);
    add_noise(belief, direction);
  }
  forget_level(belief);
}

static size_t belief_size(int states, int adjusters)
{
  return sizeof(eb_belief) + (size_t)(states * (states + 2)) * sizeof(double) + (size_t)adjusters * sizeof(eb_adjuster);
}

static void lay_out(eb_belief *b)
{
  b->root = b->store;
  b->right = b->root + b->states * b->states;
  b->spare = b->right + b->states;
  b->adjuster = (eb_adjuster *)(b->spare + b->states);
}

eb_status eb_belief_create(const eb_host *host, const eb_layout *layout, const eb_priors *priors, eb_belief **belief,
                           eb_error *error)
{
  int states = BORES + layout->bore_count + layout->adjuster_count;
  size_t size = belief_size(states, layout->adjuster_count);
  eb_belief *b = host->allocate(host->context, NULL, size);
  double *work = host->allocate(host->context, NULL, (size_t)(states * (states + 2)) * sizeof *work);
  if (b == NULL || work == NULL) {
    host->allocate(host->context, b, 0);
    host->allocate(host->context, work, 0);
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for what is known of %d bores", layout->bore_count);
  }
  memset(b, 0, size);
  b->host = host;
  b->priors = priors == NULL ? eb_priors_usual() : *priors;
  b->bores = layout->bore_count;
  b->adjusters = layout->adjuster_count;
  b->states = states;
  b->counted = eb_layout_bores(layout);
  lay_out(b);
  memcpy(b->adjuster, layout->adjuster, (size_t)b->adjusters * sizeof *b->adjuster);
  work_in_bores(b, layout->plate_spread, work);
  work_in_gains(b);
  forget_level(b);
  host->allocate(host->context, work, 0);
  *belief = b;
  return EB_OK;
}

eb_status eb_belief_copy(const eb_belief *belief, eb_belief **copy, eb_error *error)
{
  size_t size = belief_size(belief->states, belief->adjusters);
  eb_belief *made = belief->host->allocate(belief->host->context, NULL, size);
  if (made == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for a copy of what is known");
  memcpy(made, belief, size);
  lay_out(made);
  *copy = made;
  return EB_OK;
}

void eb_belief_destroy(eb_belief *belief)
{
  if (belief != NULL)
    belief->host->allocate(belief->host->context, belief, 0);
}

void eb_belief_reading(eb_belief *belief, int bore, double passes, double log_value, double variance)
{
  assert(bore >= 0 && bore < belief->bores && variance > 0 && isfinite(log_value) && isfinite(passes));
  double *row = belief->spare;
  double scale = 1 / sqrt(variance);
  memset(row, 0, (size_t)belief->states * sizeof *row);
  row[LEVEL] = scale;
  row[DRIFT] = passes * scale;
  row[BORES + bore] = scale;
  belief->likelihood += absorb(belief->root, belief->right, belief->states, row, log_value * scale);
}

double eb_belief_likelihood(const eb_belief *belief)
{
  return belief->likelihood;
}

static double gain_mean(const eb_belief *b, int adjuster)
{
  double x[EB_BELIEF_STATES_MAX];
  solve_mean(b, x);
  return x[b->bores + adjuster];
}

static double gain_variance(const eb_belief *b, int adjuster)
{
  double u[EB_BELIEF_STATES_MAX];
  solve_root(b, BORES + b->bores + adjuster, u);
  return dot(u, u, b->states - BORES);
}

static double clamp(double value, double low, double high)
{
  return value < low ? low : value > high ? high : value;
}

/* Before a gain is used it is brought inside its bounds, and its doubt up to the least. */
static void bound_gain(eb_belief *b, int adjuster, double *direction)
{
  int n = b->states, at = BORES + b->bores + adjuster;
  double mean = gain_mean(b, adjuster);
  double change = clamp(mean, b->priors.gain_low, b->priors.gain_high) - mean;
  for (int i = 0; i <= at; i++)
    b->right[i] += b->root[i * n + at] * change;
  double lacks = b->priors.gain_spread_least * b->priors.gain_spread_least - gain_variance(b, adjuster);
  if (lacks <= 0)
    return;
  memset(direction, 0, (size_t)n * sizeof *direction);
  direction[at] = sqrt(lacks);
  add_noise(b, direction);
}

/* What a move misses by, besides its gain: along its effect, all that it touches alike, each of those by itself, and
 * each of the others. */
static void add_miss(eb_belief *b, const eb_adjuster *adjuster, double move, double *direction)
{
  double miss = hypot(b->priors.move_share * move, b->priors.move_least);
  eb_bores touched = adjuster->first | adjuster->second;
  memset(direction, 0, (size_t)b->states * sizeof *direction);
  for (int i = 0; i < b->bores; i++)
    direction[BORES + i] = miss * eb_adjuster_effect(adjuster, i);
  add_noise(b, direction);
  for (int i = 0; i < b->bores; i++)
    direction[BORES + i] = touched >> i & 1 ? b->priors.shift_share * fabs(move) : 0;
  add_noise(b, direction);
  double others = hypot(b->priors.others_share * move, b->priors.others_least);
  memset(direction, 0, (size_t)b->states * sizeof *direction);
  for (int i = 0; i < b->bores; i++) {
    direction[BORES + i] = touched >> i & 1 ? b->priors.scatter : others;
    add_noise(b, direction);
    direction[BORES + i] = 0;
  }
}

const eb_priors *eb_belief_priors(const eb_belief *belief)
{
  return &belief->priors;
}

void eb_belief_move(eb_belief *belief, int adjuster, double move)
{
  assert(adjuster >= 0 && adjuster < belief->adjusters && isfinite(move));
  const eb_adjuster *moved = &belief->adjuster[adjuster];
  double direction[BORES + EB_BELIEF_STATES_MAX];
  int n = belief->states, gain = BORES + belief->bores + adjuster;
  bound_gain(belief, adjuster, direction);
  for (int j = 0; j < belief->bores; j++) {
    double effect = move * eb_adjuster_effect(moved, j);
    for (int i = 0; i <= BORES + j; i++)
      belief->root[i * n + gain] -= effect * belief->root[i * n + BORES + j];
  }
  add_miss(belief, moved, move, direction);
}

void eb_belief_leave_out(eb_belief *belief, int bore)
{
  assert(bore >= 0 && bore < belief->bores);
  belief->counted &= ~((eb_bores)1 << bore);
}

eb_bores eb_belief_counted(const eb_belief *belief)
{
  return belief->counted;
}

/* Subtracts the counted bores' mean from all bores' rows of `width` elements. */
static void centre(const eb_belief *b, double *rows, int width)
{
  int count = 0;
  double mean[EB_BELIEF_STATES_MAX] = {0};
  for (int i = 0; i < b->bores; i++) {
    if (!(b->counted >> i & 1))
      continue;
    count++;
    for (int j = 0; j < width; j++)
      mean[j] += rows[i * width + j]; /* NOLINT(clang-analyzer-core.uninitialized.Assign): callers fill all rows */
  }
  assert(count > 0);
  for (int i = 0; i < b->bores; i++)
    for (int j = 0; j < width; j++)
      rows[i * width + j] -= mean[j] / count;
}

/* Mean and covariance of the first `count` of deviations and gains. */
static void moments(const eb_belief *b, int count, double *mean, double *covariance)
{
  double x[EB_BELIEF_STATES_MAX];
  int width = b->states - BORES;
  solve_mean(b, x);
  centre(b, x, 1);
  memcpy(mean, x, (size_t)count * sizeof *mean);
  if (covariance == NULL)
    return;
  double roots[EB_BELIEF_STATES_MAX * EB_BELIEF_STATES_MAX];
  for (int i = 0; i < count; i++)
    solve_root(b, BORES + i, roots + i * width);
  centre(b, roots, width);
  for (int i = 0; i < count; i++)
    for (int j = 0; j <= i; j++)
      covariance[i * count + j] = covariance[j * count + i] = dot(roots + i * width, roots + j * width, width);
}

void eb_belief_deviations(const eb_belief *belief, double *mean, double *covariance)
{
  moments(belief, belief->bores, mean, covariance);
}

void eb_belief_joint(const eb_belief *belief, double *mean, double *covariance)
{
  moments(belief, belief->bores + belief->adjusters, mean, covariance);
}

void eb_belief_gain(const eb_belief *belief, int adjuster, double *mean, double *spread)
{
  assert(adjuster >= 0 && adjuster < belief->adjusters);
  *mean = clamp(gain_mean(belief, adjuster), belief->priors.gain_low, belief->priors.gain_high);
  *spread = fmax(sqrt(gain_variance(belief, adjuster)), belief->priors.gain_spread_least);
}
