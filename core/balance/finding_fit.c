#include "finding_fit.h"

#include "evenbore/statistics.h"

#include <math.h>
#include <string.h>

/* The common level is unknown at a block's start; a snap may change it a little, and seat each plate a hair elsewhere.
 * Standard deviations, ln; this project's own. */
static const double LEVEL = 5, LEVEL_AFTER_SNAP = 0.02, SEAT_AFTER_SNAP = 0.006;

static void gather(window *w, const eb_evidence *evidence, const noise *found, const window_options *options)
{
  int taken = 0, snaps = 0, passes = 0, readings = 0;
  for (size_t e = options->from; e < options->to; e++)
    readings += evidence->event[e].kind == EVENT_READING;
  for (size_t e = options->from; e < options->to; e++) {
    const event *met = &evidence->event[e];
    snaps += met->kind == EVENT_SNAP;
    passes += met->kind == EVENT_PASS;
    if (met->kind != EVENT_READING)
      continue;
    int i = w->count;
    bool counts = options->all ? evidence_was_read(evidence, met) : evidence_counts(evidence, met);
    if (counts && readings - taken <= WINDOW_MAX) {
      w->event[i] = e;
      w->bore[i] = met->index;
      w->snaps[i] = snaps;
      w->pass[i] = passes;
      w->time[i] = (double)taken / evidence->layout.bore_count;
      w->own[i] = found->factor * met->prior * found->factor * met->prior;
      w->value[i] = met->log_value;
      w->count++;
    }
    taken++;
  }
}

/* Of a reading with itself and with those before it, which have as many snaps behind them or fewer. */
static void fill_row(window *w, const window_options *options, const double *expected, int i)
{
  double drift = options->drift * options->drift * w->time[i];
  for (int j = 0; j <= i; j++) {
    double sum = expected[w->bore[j]] + LEVEL * LEVEL + drift * w->time[j];
    if (w->snaps[j] > 0) {
      sum += LEVEL_AFTER_SNAP * LEVEL_AFTER_SNAP * w->snaps[j];
      if (w->bore[i] == w->bore[j])
        sum += SEAT_AFTER_SNAP * SEAT_AFTER_SNAP * w->snaps[j];
    }
    w->root[j * w->count + i] = sum;
  }
}

enum { AT_ONCE = 4 };

/* Takes multiples of columns that stand side by side out of one, the first of them first. */
static void take_out(double *restrict from, const double *restrict column, int size, const double share[AT_ONCE],
                     int first)
{
  const double *a = column, *b = a + size, *c = b + size, *d = c + size;
  for (int i = first; i < size; i++)
    from[i] = from[i] - a[i] * share[0] - b[i] * share[1] - c[i] * share[2] - d[i] * share[3];
}

static void take_out_one(double *restrict from, const double *restrict column, double share, int first, int end)
{
  for (int i = first; i < end; i++)
    from[i] -= column[i] * share;
}

/* Lower triangle of the root, column by column [Cholesky; Golub and Van Loan, Matrix Computations, 4.2; from memory].
 * The readings' own variances keep every pivot above nothing. */
static void take_root(window *w)
{
  int n = w->count;
  for (int j = 0; j < n; j++) {
    double *own = w->root + j * n;
    int k = 0;
    for (; k + AT_ONCE <= j; k += AT_ONCE) {
      const double *column = w->root + k * n;
      double share[AT_ONCE] = {column[j], column[j + n], column[j + 2 * n], column[j + 3 * n]};
      take_out(own, column, n, share, j);
    }
    for (; k < j; k++)
      take_out_one(own, w->root + k * n, w->root[k * n + j], j, n);
    own[j] = sqrt(fmax(own[j], 1e-12));
    for (int i = j + 1; i < n; i++)
      own[i] /= own[j];
  }
}

/* Makes one element white, and takes it out of those behind it, up to `end`. */
static void settle(const window *w, double *white, int k, int end)
{
  white[k] /= w->root[k * w->count + k];
  take_out_one(white, w->root + k * w->count, white[k], k + 1, end);
}

/* Nothing comes of what is nothing: most columns begin with it. */
static void whiten(const window *w, const double *column, double *white)
{
  int n = w->count, k = 0;
  memcpy(white, column, (size_t)n * sizeof *white);
  while (k < n && !(white[k] < 0 || white[k] > 0))
    k++;
  for (; k + AT_ONCE <= n; k += AT_ONCE) {
    for (int i = k; i < k + AT_ONCE; i++)
      settle(w, white, i, k + AT_ONCE);
    double share[AT_ONCE];
    memcpy(share, white + k, sizeof share);
    take_out(white, w->root + k * n, n, share, k + AT_ONCE);
  }
  for (; k < n; k++)
    settle(w, white, k, n);
}

static double dot(const double *a, const double *b, int count)
{
  double sum = 0;
  for (int i = 0; i < count; i++)
    sum += a[i] * b[i];
  return sum;
}

static void fill(window *w, const eb_evidence *evidence, const window_options *options, const eb_belief *before)
{
  double mean[EB_BORES_MAX], covariance[EB_BORES_MAX * EB_BORES_MAX];
  int bores = evidence->layout.bore_count, n = w->count;
  eb_belief_deviations(before, mean, covariance);
  for (int i = 0; i < n; i++) {
    w->residual[i] = w->value[i] - mean[w->bore[i]];
    fill_row(w, options, covariance + w->bore[i] * bores, i);
    w->root[i * n + i] += w->own[i] + evidence->event[w->event[i]].step_variance;
  }
  take_root(w);
  whiten(w, w->residual, w->white);
  w->squares = dot(w->white, w->white, n);
}

/* As many readings as there can be. */
static size_t count_readings(const eb_evidence *evidence, const window_options *options)
{
  size_t count = 0;
  for (size_t e = options->from; e < options->to && count < WINDOW_MAX; e++)
    count += evidence->event[e].kind == EVENT_READING;
  return count;
}

eb_status window_open(const eb_evidence *evidence, const noise *found, const window_options *options, window **opened,
                      eb_error *error)
{
  size_t room = count_readings(evidence, options);
  const eb_belief *before = NULL;
  *opened = NULL;
  if (room < 2)
    return EB_OK;
  window *w = evidence->host->allocate(evidence->host->context, NULL, sizeof *w + room * room * sizeof *w->root);
  if (w == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory to look at the readings");
  w->host = evidence->host;
  w->from = options->from;
  w->to = options->to;
  w->degrees = found->degrees_of_freedom;
  w->count = 0;
  gather(w, evidence, found, options);
  eb_status status = EB_OK;
  if (w->count >= 2)
    status = evidence_belief(evidence, found, options->from, &before, error);
  if (w->count < 2 || status != EB_OK) {
    window_close(w);
    return status;
  }
  fill(w, evidence, options, before);
  *opened = w;
  return EB_OK;
}

void window_close(window *w)
{
  if (w != NULL)
    w->host->allocate(w->host->context, w, 0);
}

double window_scale(const window *w, double gain)
{
  return sqrt(fmax((w->squares - gain) / fmax(w->count - 2, 1), 1));
}

double window_squares(const window *w, const double *residual)
{
  double white[WINDOW_MAX];
  whiten(w, residual, white);
  return dot(white, white, w->count);
}

/* How far the size's variance rests on the repeatability, which is an estimate, rather than on what is taken as
 * known; the degrees of freedom follow by Welch and Satterthwaite. `weight` are the white column's over its square. */
static void judge(const window *w, const double *weight, window_effect *effect)
{
  static const double DEGREES_MOST = 1e4; /* as good as known */
  double raw[WINDOW_MAX], share = 0;
  for (int i = w->count - 1; i >= 0; i--) {
    const double *own = w->root + i * w->count;
    raw[i] = weight[i];
    for (int k = i + 1; k < w->count; k++)
      raw[i] -= own[k] * raw[k];
    raw[i] /= own[i];
    share += raw[i] * raw[i] * w->own[i];
  }
  share /= effect->doubt * effect->doubt;
  effect->degrees = fmin(w->degrees / (share * share + 1e-12), DEGREES_MOST);
}

double window_chance(const window_effect *effect, double scale)
{
  return 2 * eb_t_below(-fabs(effect->size) / (effect->doubt * scale), effect->degrees);
}

static bool tells(double information)
{
  static const double LEAST = 1 / (0.5 * 0.5); /* a doubt of 0.5 in ln is no measurement */
  return information > LEAST;
}

bool window_effect_of(const window *w, const double *column, window_effect *effect)
{
  double white[WINDOW_MAX] = {0};
  whiten(w, column, white);
  double information = dot(white, white, w->count);
  if (!tells(information))
    return false;
  double along = dot(white, w->white, w->count), size = along / information;
  *effect = (window_effect){.size = size, .doubt = sqrt(1 / information), .gain = along * size};
  return true;
}

void window_judge(const window *w, const double *column, window_effect *effect)
{
  double white[WINDOW_MAX] = {0};
  whiten(w, column, white);
  double information = dot(white, white, w->count);
  for (int i = 0; i < w->count; i++)
    white[i] /= information;
  judge(w, white, effect);
}

/* Two white columns with their products. */
typedef struct pair {
  double a[WINDOW_MAX], b[WINDOW_MAX];
  double aa, bb, ab, left;
} pair;

static void make_pair(const window *w, const double *first, const double *second, pair *p)
{
  int n = w->count;
  whiten(w, first, p->a);
  whiten(w, second, p->b);
  p->aa = dot(p->a, p->a, n);
  p->bb = dot(p->b, p->b, n);
  p->ab = dot(p->a, p->b, n);
  p->left = p->aa * p->bb - p->ab * p->ab;
}

bool window_effects_of(const window *w, const double *first, const double *second, window_effect *one,
                       window_effect *other)
{
  pair p;
  make_pair(w, first, second, &p);
  if (!tells(p.aa) || !tells(p.bb) || p.left < 1e-6 * p.aa * p.bb)
    return false;
  double ay = dot(p.a, w->white, w->count), by = dot(p.b, w->white, w->count);
  *one = (window_effect){.size = (ay * p.bb - by * p.ab) / p.left, .doubt = sqrt(p.bb / p.left)};
  *other = (window_effect){.size = (by * p.aa - ay * p.ab) / p.left, .doubt = sqrt(p.aa / p.left)};
  one->gain = other->gain = one->size * ay + other->size * by;
  return true;
}

void window_judge_both(const window *w, const double *first, const double *second, window_effect *one,
                       window_effect *other)
{
  pair p;
  make_pair(w, first, second, &p);
  for (int i = 0; i < w->count; i++) {
    double from_first = p.a[i];
    p.a[i] = (p.bb * p.a[i] - p.ab * p.b[i]) / p.left;
    p.b[i] = (p.aa * p.b[i] - p.ab * from_first) / p.left;
  }
  judge(w, p.a, one);
  judge(w, p.b, other);
}
