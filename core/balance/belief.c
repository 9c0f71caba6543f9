#include "evenbore/belief.h"

#include <assert.h>
#include <math.h>
#include <string.h>

/* The state is ordered level, drift, bores, gains, and is held as R x = z with
 * R upper triangular and unit noise.  In this order forgetting level and drift
 * is dropping the first two rows, and a move, which adds bores' columns to a
 * gain's, leaves R triangular.  A gain joins the state with its adjuster's first
 * move: before, it goes together with nothing. */
enum { LEVEL, DRIFT, BORES };

struct eb_belief {
  const eb_host *host;
  eb_priors priors;
  int bores, adjusters;
  int states;                  /* as many as there are so far */
  int row;                     /* elements of a row: as many as there can be */
  int state[EB_ADJUSTERS_MAX]; /* of an adjuster's gain; 0: not there yet */
  eb_bores counted;
  bool weighs;       /* how likely readings are */
  double likelihood; /* ln, of those so far */
  double *root;      /* rows: R */
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

/* The square root of the sum of squares: neither is large or small enough for the squares to leave the range. */
static double length_of(double a, double b)
{
  return sqrt(a * a + b * b);
}

/* Turns rows `upper` and `lower` so that lower[at] vanishes; both are zero before `at`. */
static void turn(double *restrict upper, double *restrict lower, double *upper_right, double *lower_right, int at,
                 int count)
{
  double length = length_of(upper[at], lower[at]);
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

/* Works one more equation row x = right, of unit noise, into R x = z. `row` is used up; gives what is left of the right
 * side. */
static double absorb(double *root, double *z, int width, int states, double *row, double right)
{
  for (int i = 0; i < states; i++)
    if (row[i] < 0 || row[i] > 0)
      turn(root + i * width, row, z + i, &right, i, states);
  return right;
}

/* x gains `direction`, which is zero before `first` and behind `last`, times a standard normal variable.  That variable
 * is a state in front of the others, which is eliminated again; turning from the
 * last row up keeps R triangular. */
static void add_noise(eb_belief *b, const double *restrict direction, int first, int last)
{
  int n = b->states;
  double *restrict row = b->spare;
  double right = 0, front = 1;
  memset(row, 0, (size_t)n * sizeof *row);
  for (int i = last; i >= 0; i--) {
    double *restrict own = b->root + i * b->row;
    double against = 0;
    for (int j = i < first ? first : i; j <= last; j++)
      against -= own[j] * direction[j];
    if (!(against < 0 || against > 0))
      continue;
    double length = length_of(front, against);
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
      sum -= b->root[i * b->row + j] * x[j - BORES];
    x[i - BORES] = sum / b->root[i * b->row + i];
  }
}

/* Row of the covariance's root that belongs to one bore or gain: R' u = unit vector. Two such rows'
 * product is a covariance. */
static void solve_root(const eb_belief *b, int state, double *u)
{
  int width = b->states - BORES;
  memset(u, 0, (size_t)width * sizeof *u);
  u[state - BORES] = 1;
  for (int i = state - BORES; i < width; i++) {
    const double *row = b->root + (i + BORES) * b->row + BORES;
    u[i] /= row[i];
    for (int j = i + 1; j < width; j++)
      u[j] -= row[j] * u[i];
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
    absorb(root, z, count, count, row, 0);
  }
  for (int i = 0; i < b->bores; i++)
    for (int j = 0; j < b->bores; j++)
      b->root[(BORES + i) * b->row + BORES + j] = root[(b->adjusters + i) * count + b->adjusters + j];
}

static double prior_gain_spread(const eb_belief *b, int adjuster)
{
  return fmax(b->adjuster[adjuster].gain_spread, b->priors.gain_spread_least);
}

static int join(eb_belief *b, int adjuster)
{
  int at = b->states++;
  double spread = prior_gain_spread(b, adjuster);
  b->state[adjuster] = at;
  b->root[at * b->row + at] = 1 / spread;
  b->right[at] = b->adjuster[adjuster].gain / spread;
  return at;
}

void eb_belief_forget_level(eb_belief *b)
{
  memset(b->root, 0, (size_t)(BORES * b->row) * sizeof *b->root);
  b->right[LEVEL] = b->right[DRIFT] = 0;
  b->root[DRIFT * b->row + DRIFT] = 1 / b->priors.drift;
}

void eb_belief_period(eb_belief *belief)
{
  double direction[BORES + EB_BELIEF_STATES_MAX] = {0};
  eb_belief_forget_level(belief);
  for (int k = 0; k < belief->adjusters; k++) {
    eb_bores touched = belief->adjuster[k].first | belief->adjuster[k].second;
    if ((touched & (touched - 1)) == 0)
      continue;
    for (int i = 0; i < belief->bores; i++)
      direction[BORES + i] = belief->priors.start * eb_adjuster_effect(&belief->adjuster[k], i);
    add_noise(belief, direction, BORES, BORES + belief->bores - 1);
  }
}

static size_t belief_size(int row, int adjusters)
{
  return sizeof(eb_belief) + (size_t)(row * (row + 2)) * sizeof(double) + (size_t)adjusters * sizeof(eb_adjuster);
}

static void lay_out(eb_belief *b)
{
  b->root = b->store;
  b->right = b->root + b->row * b->row;
  b->spare = b->right + b->row;
  b->adjuster = (eb_adjuster *)(b->spare + b->row);
}

eb_status eb_belief_create(const eb_host *host, const eb_layout *layout, const eb_priors *priors, eb_belief **belief,
                           eb_error *error)
{
  int row = BORES + layout->bore_count + layout->adjuster_count;
  size_t size = belief_size(row, layout->adjuster_count);
  eb_belief *b = host->allocate(host->context, NULL, size);
  double *work = host->allocate(host->context, NULL, (size_t)(row * (row + 2)) * sizeof *work);
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
  b->states = BORES + layout->bore_count;
  b->row = row;
  b->counted = eb_layout_bores(layout);
  lay_out(b);
  memcpy(b->adjuster, layout->adjuster, (size_t)b->adjusters * sizeof *b->adjuster);
  work_in_bores(b, layout->plate_spread, work);
  eb_belief_forget_level(b);
  host->allocate(host->context, work, 0);
  *belief = b;
  return EB_OK;
}

eb_status eb_belief_copy(const eb_belief *belief, eb_belief **copy, eb_error *error)
{
  size_t size = belief_size(belief->row, belief->adjusters);
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

static void take_diagonal(const eb_belief *b, double *diagonal)
{
  for (int i = 0; i < b->states; i++)
    diagonal[i] = fabs(b->root[i * b->row + i]);
}

/* The logarithm of a reading's density beforehand: what is left of its right side, normally distributed, and how much
 * R's determinant grew [Bierman, chapter VI; from memory]; where R knew nothing, but for a constant. */
static double density_of(const eb_belief *b, const double *before, double left)
{
  double grown = 1;
  for (int i = 0; i < b->states; i++) {
    double after = fabs(b->root[i * b->row + i]);
    if (after > 0)
      grown *= before[i] > 0 ? after / before[i] : after;
  }
  return -log(grown) - 0.5 * left * left;
}

void eb_belief_reading(eb_belief *belief, int bore, double passes, double log_value, double variance)
{
  assert(bore >= 0 && bore < belief->bores && variance >= 1e-100 && isfinite(log_value) && isfinite(passes));
  double *row = belief->spare, before[BORES + EB_BELIEF_STATES_MAX];
  double scale = 1 / sqrt(variance);
  if (belief->weighs)
    take_diagonal(belief, before);
  memset(row, 0, (size_t)belief->states * sizeof *row);
  row[LEVEL] = scale;
  row[DRIFT] = passes * scale;
  row[BORES + bore] = scale;
  double left = absorb(belief->root, belief->right, belief->row, belief->states, row, log_value * scale);
  if (belief->weighs)
    belief->likelihood += density_of(belief, before, left);
}

void eb_belief_weigh(eb_belief *belief)
{
  belief->weighs = true;
}

double eb_belief_likelihood(const eb_belief *belief)
{
  return belief->likelihood;
}

static double gain_mean(const eb_belief *b, int adjuster)
{
  double x[EB_BELIEF_STATES_MAX];
  if (b->state[adjuster] == 0)
    return b->adjuster[adjuster].gain;
  solve_mean(b, x);
  return x[b->state[adjuster] - BORES];
}

static double gain_variance(const eb_belief *b, int adjuster)
{
  double u[EB_BELIEF_STATES_MAX];
  if (b->state[adjuster] == 0)
    return prior_gain_spread(b, adjuster) * prior_gain_spread(b, adjuster);
  solve_root(b, b->state[adjuster], u);
  return dot(u, u, b->states - BORES);
}

static double clamp(double value, double low, double high)
{
  return value < low ? low : value > high ? high : value;
}

/* Before a gain is used it is brought inside its bounds, and its doubt up to the least. */
static void bound_gain(eb_belief *b, int adjuster, double *direction)
{
  int at = b->state[adjuster];
  double mean = gain_mean(b, adjuster);
  double change = clamp(mean, b->priors.gain_low, b->priors.gain_high) - mean;
  for (int i = 0; i <= at; i++)
    b->right[i] += b->root[i * b->row + at] * change;
  double lacks = b->priors.gain_spread_least * b->priors.gain_spread_least - gain_variance(b, adjuster);
  if (lacks <= 0)
    return;
  memset(direction, 0, (size_t)b->states * sizeof *direction);
  direction[at] = sqrt(lacks);
  add_noise(b, direction, at, at);
}

/* What a move misses by, besides its gain: along its effect, all that it touches alike, each of those by itself, and
 * each of the others. */
static void add_miss(eb_belief *b, const eb_adjuster *adjuster, double move, double *direction)
{
  double miss = length_of(b->priors.move_share * move, b->priors.move_least);
  int last = BORES + b->bores - 1;
  eb_bores touched = adjuster->first | adjuster->second;
  memset(direction, 0, (size_t)b->states * sizeof *direction);
  for (int i = 0; i < b->bores; i++)
    direction[BORES + i] = miss * eb_adjuster_effect(adjuster, i);
  add_noise(b, direction, BORES, last);
  for (int i = 0; i < b->bores; i++)
    direction[BORES + i] = touched >> i & 1 ? b->priors.shift_share * fabs(move) : 0;
  add_noise(b, direction, BORES, last);
  double others = length_of(b->priors.others_share * move, b->priors.others_least);
  memset(direction, 0, (size_t)b->states * sizeof *direction);
  for (int i = 0; i < b->bores; i++) {
    direction[BORES + i] = touched >> i & 1 ? b->priors.scatter : others;
    add_noise(b, direction, BORES + i, BORES + i);
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
  int gain = belief->state[adjuster] > 0 ? belief->state[adjuster] : join(belief, adjuster);
  bound_gain(belief, adjuster, direction);
  for (int j = 0; j < belief->bores; j++) {
    double effect = move * eb_adjuster_effect(moved, j);
    for (int i = 0; i <= BORES + j; i++)
      belief->root[i * belief->row + gain] -= effect * belief->root[i * belief->row + BORES + j];
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

/* The bores' mean and the rows of the covariance's root, referred to the mean of those that count; then the gains'. */
static void centred(const eb_belief *b, double *x, double *roots)
{
  int width = b->states - BORES;
  solve_mean(b, x);
  centre(b, x, 1);
  if (roots == NULL)
    return;
  for (int i = 0; i < width; i++)
    solve_root(b, BORES + i, roots + i * width);
  centre(b, roots, width);
}

void eb_belief_deviations(const eb_belief *belief, double *mean, double *covariance)
{
  double x[EB_BELIEF_STATES_MAX], roots[EB_BELIEF_STATES_MAX * EB_BELIEF_STATES_MAX];
  int n = belief->bores, width = belief->states - BORES;
  centred(belief, x, covariance == NULL ? NULL : roots);
  memcpy(mean, x, (size_t)n * sizeof *mean);
  for (int i = 0; covariance != NULL && i < n; i++)
    for (int j = 0; j <= i; j++)
      covariance[i * n + j] = covariance[j * n + i] = dot(roots + i * width, roots + j * width, width);
}

void eb_belief_joint(const eb_belief *belief, double *mean, double *covariance)
{
  double x[EB_BELIEF_STATES_MAX], roots[EB_BELIEF_STATES_MAX * EB_BELIEF_STATES_MAX];
  int n = belief->bores, all = n + belief->adjusters, width = belief->states - BORES, at[EB_BELIEF_STATES_MAX];
  centred(belief, x, roots);
  memset(covariance, 0, (size_t)(all * all) * sizeof *covariance);
  for (int i = 0; i < all; i++) {
    at[i] = i < n ? i : belief->state[i - n] - BORES;
    mean[i] = at[i] >= 0 ? x[at[i]] : belief->adjuster[i - n].gain;
    if (at[i] < 0)
      covariance[i * all + i] = gain_variance(belief, i - n);
    for (int j = 0; at[i] >= 0 && j <= i; j++)
      if (at[j] >= 0)
        covariance[i * all + j] = covariance[j * all + i] = dot(roots + at[i] * width, roots + at[j] * width, width);
  }
}

void eb_belief_gain(const eb_belief *belief, int adjuster, double *mean, double *spread)
{
  assert(adjuster >= 0 && adjuster < belief->adjusters);
  *mean = clamp(gain_mean(belief, adjuster), belief->priors.gain_low, belief->priors.gain_high);
  *spread = fmax(sqrt(gain_variance(belief, adjuster)), belief->priors.gain_spread_least);
}
