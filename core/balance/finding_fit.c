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
      w->value[i] = log(met->value);
      w->count++;
    }
    taken++;
  }
}

static double covariance_of(const window *w, const window_options *options, const double *expected, int bores, int i,
                            int j)
{
  int snaps = w->snaps[i] < w->snaps[j] ? w->snaps[i] : w->snaps[j];
  double sum = expected[w->bore[i] * bores + w->bore[j]] + LEVEL * LEVEL;
  sum += options->drift * options->drift * w->time[i] * w->time[j];
  sum += LEVEL_AFTER_SNAP * LEVEL_AFTER_SNAP * snaps;
  if (w->bore[i] == w->bore[j])
    sum += SEAT_AFTER_SNAP * SEAT_AFTER_SNAP * snaps;
  return sum;
}

/* Takes a column's multiples out of all columns behind it, of the root or of what is made white. */
static void take_out(double *restrict from, const double *restrict column, double share, int first, int count)
{
  for (int i = first; i < count; i++)
    from[i] -= column[i] * share;
}

/* Lower triangle of the root, column by column [Cholesky; Golub and Van Loan, Matrix Computations, 4.2; from memory].
 * The readings' own variances keep every pivot above nothing. */
static void take_root(window *w)
{
  int n = w->count;
  for (int k = 0; k < n; k++) {
    double *own = w->root + k * n;
    own[k] = sqrt(fmax(own[k], 1e-12));
    for (int i = k + 1; i < n; i++)
      own[i] /= own[k];
    for (int j = k + 1; j < n; j++)
      take_out(w->root + j * n, own, own[j], j, n);
  }
}

/* Nothing comes of what is nothing: most columns begin with it. */
static void whiten(const window *w, const double *column, double *white)
{
  int n = w->count;
  memcpy(white, column, (size_t)n * sizeof *white);
  for (int k = 0; k < n; k++) {
    if (!(white[k] < 0 || white[k] > 0))
      continue;
    white[k] /= w->root[k * n + k];
    take_out(white, w->root + k * n, white[k], k + 1, n);
  }
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
    for (int j = 0; j <= i; j++)
      w->root[j * n + i] = covariance_of(w, options, covariance, bores, i, j);
    w->root[i * n + i] += w->own[i] + evidence->event[w->event[i]].step_variance;
  }
  take_root(w);
  whiten(w, w->residual, w->white);
  w->squares = dot(w->white, w->white, n);
}

/* A window for as many readings as there can be in it. */
static window *make(const eb_evidence *evidence, const window_options *options)
{
  size_t count = 0;
  for (size_t e = options->from; e < options->to; e++)
    count += evidence->event[e].kind == EVENT_READING;
  count = count < WINDOW_MAX ? count : WINDOW_MAX;
  window *w = evidence->host->allocate(evidence->host->context, NULL, sizeof *w + count * count * sizeof *w->root);
  if (w == NULL)
    return NULL;
  w->host = evidence->host;
  w->from = options->from;
  w->to = options->to;
  w->count = 0;
  return w;
}

eb_status window_open(const eb_evidence *evidence, const noise *found, const window_options *options, window **opened,
                      eb_error *error)
{
  window *w = make(evidence, options);
  const eb_belief *before = NULL;
  if (w == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory to look at the readings");
  w->degrees = found->degrees_of_freedom;
  gather(w, evidence, found, options);
  *opened = NULL;
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
