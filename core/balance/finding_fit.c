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

/* Lower triangle of the root, row by row [Cholesky; Golub and Van Loan, Matrix Computations, 4.2; from memory].
 * The readings' own variances keep every pivot above nothing. */
static void take_root(window *w)
{
  int n = w->count;
  for (int i = 0; i < n; i++)
    for (int j = 0; j <= i; j++) {
      double sum = w->root[i * n + j];
      for (int k = 0; k < j; k++)
        sum -= w->root[i * n + k] * w->root[j * n + k];
      w->root[i * n + j] = i == j ? sqrt(fmax(sum, 1e-12)) : sum / w->root[j * n + j];
    }
}

static void whiten(const window *w, const double *column, double *white)
{
  for (int i = 0; i < w->count; i++) {
    double sum = column[i];
    for (int k = 0; k < i; k++)
      sum -= w->root[i * w->count + k] * white[k];
    white[i] = sum / w->root[i * w->count + i];
  }
}

static void fill(window *w, const eb_evidence *evidence, const window_options *options, const eb_belief *before)
{
  double mean[EB_BORES_MAX], covariance[EB_BORES_MAX * EB_BORES_MAX];
  int bores = evidence->layout.bore_count, n = w->count;
  eb_belief_deviations(before, mean, covariance);
  for (int i = 0; i < n; i++) {
    w->residual[i] = w->value[i] - mean[w->bore[i]];
    for (int j = 0; j <= i; j++)
      w->root[i * n + j] = covariance_of(w, options, covariance, bores, i, j);
    w->root[i * n + i] += w->own[i] + evidence->event[w->event[i]].step_variance;
  }
  take_root(w);
  whiten(w, w->residual, w->white);
}

eb_status window_open(const eb_evidence *evidence, const noise *found, const window_options *options, window **opened,
                      eb_error *error)
{
  const eb_host *host = evidence->host;
  window *w = host->allocate(host->context, NULL, sizeof *w);
  const eb_belief *before = NULL;
  if (w == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory to look at the readings");
  w->host = host;
  w->degrees = found->degrees_of_freedom;
  w->count = 0;
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

static double dot(const double *a, const double *b, int count)
{
  double sum = 0;
  for (int i = 0; i < count; i++)
    sum += a[i] * b[i];
  return sum;
}

double window_scale(const window *w, double gain)
{
  double squares = dot(w->white, w->white, w->count) - gain;
  return sqrt(fmax(squares / fmax(w->count - 2, 1), 1));
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
    raw[i] = weight[i];
    for (int k = i + 1; k < w->count; k++)
      raw[i] -= w->root[k * w->count + i] * raw[k];
    raw[i] /= w->root[i * w->count + i];
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
  double along = dot(white, w->white, w->count);
  effect->size = along / information;
  effect->doubt = sqrt(1 / information);
  effect->gain = along * effect->size;
  for (int i = 0; i < w->count; i++)
    white[i] /= information;
  judge(w, white, effect);
  return true;
}

bool window_effects_of(const window *w, const double *first, const double *second, window_effect *one,
                       window_effect *other)
{
  double a[WINDOW_MAX] = {0}, b[WINDOW_MAX] = {0};
  int n = w->count;
  whiten(w, first, a);
  whiten(w, second, b);
  double aa = dot(a, a, n), bb = dot(b, b, n), ab = dot(a, b, n);
  double left = aa * bb - ab * ab;
  if (!tells(aa) || !tells(bb) || left < 1e-6 * aa * bb)
    return false;
  double ay = dot(a, w->white, n), by = dot(b, w->white, n);
  one->size = (ay * bb - by * ab) / left;
  other->size = (by * aa - ay * ab) / left;
  one->doubt = sqrt(bb / left);
  other->doubt = sqrt(aa / left);
  one->gain = other->gain = one->size * ay + other->size * by;
  for (int i = 0; i < n; i++) {
    double from_first = a[i];
    a[i] = (bb * a[i] - ab * b[i]) / left;
    b[i] = (aa * b[i] - ab * from_first) / left;
  }
  judge(w, a, one);
  judge(w, b, other);
  return true;
}
