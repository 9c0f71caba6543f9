#include "evenbore/crossing.h"
#include "evenbore/statistics.h"

#include "outlook.h"

#include <float.h>
#include <math.h>

static int count_counting(const plan_case *given)
{
  int count = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    count += given->verdict->bore[i].word != EB_LEFT_OUT;
  return count;
}

/* A bore with this doubt when each bore that counts was read so many times more. */
typedef struct prospect {
  eb_student student;
  double doubt;
  double low, high; /* ln of the tolerance's ends */
  double risk;      /* as if it alone were in doubt, which in the end it nearly is */
} prospect;

static prospect prospect_of(const plan_case *given, double doubt, int more)
{
  double degrees = given->verdict->degrees_of_freedom + (double)more * count_counting(given);
  return (prospect){.student = eb_student_of(degrees),
                    .doubt = doubt,
                    .low = log1p(-given->verdict->tolerance),
                    .high = log1p(given->verdict->tolerance),
                    .risk = given->verdict->risk};
}

/* Falls as the deviation grows; the logarithm is nearly straight. */
static double room(const void *given, double deviation)
{
  const prospect *p = given;
  double outside = 1 - eb_conformity_by(&p->student, p->low, p->high, deviation, p->doubt);
  return log(p->risk / fmax(outside, DBL_MIN));
}

static double step_of(const prospect *p)
{
  return ldexp(p->high, -16);
}

static eb_crossing_end look_at(const prospect *p, double deviation)
{
  return (eb_crossing_end){deviation, room(p, deviation)};
}

double plan_even_up_to(const plan_case *given, double doubt, int more)
{
  static const double FEW = 1, MANY = 3; /* doubts that there is usually room for up to the tolerance, and never */
  prospect p = prospect_of(given, doubt, more);
  double step = step_of(&p);
  eb_crossing ends = {look_at(&p, fmax(p.high - MANY * doubt, 0)), look_at(&p, fmax(p.high - FEW * doubt, 0))};
  if (ends.above.f <= 0 && ends.above.x > 0)
    ends.above = look_at(&p, 0);
  if (ends.above.f < 0)
    return -1;
  if (ends.below.f > 0)
    ends.below = look_at(&p, p.high);
  return step * (eb_crossing_step(room, &p, step, ends) - 1);
}

/* The mean of many readings that scatter by sigma and are rounded to a step q is still off by a wave over where the
 * truth lies between two graduations, whose n-th harmonic is q/(pi n) exp(-2 pi^2 n^2 sigma^2/q^2) high [Widrow and
 * Kollar, Quantization Noise, 2008; from memory].  Half of a harmonic's square is its variance, and without scatter
 * they add up to q^2/12, of which BEYOND is beyond the last one and is kept whole. */
double plan_step_kept(double repeat_variance, double step_variance)
{
  static const double BEYOND = 0.00125081527272591875; /* 1/12 less the sum of 1/(2 pi^2 n^2) over the harmonics */
  static const double POWER_LEAST = -50;               /* what is behind it is lost beside BEYOND */
  enum { HARMONICS = 40 };
  double q2 = 12 * step_variance, sum = 0, power = -1;
  for (int n = 1; n <= HARMONICS && step_variance > 0 && power > POWER_LEAST; n++) {
    power = -4 * M_PI * M_PI * n * n * repeat_variance / q2;
    sum += exp(power) / (n * n);
  }
  return q2 * (BEYOND + sum / (2 * M_PI * M_PI));
}

double plan_reading_variance(const plan_case *given, int readings)
{
  double kept = plan_step_kept(given->repeat_variance, given->step_variance);
  return kept + (given->repeat_variance + given->step_variance - kept) / readings;
}

static double variance_after(const plan_case *given, const eb_bore_verdict *bore, int more)
{
  double variance = bore->doubt * bore->doubt, reading = plan_reading_variance(given, more);
  return variance * reading / (variance + reading);
}

static double even_up_to_after(const plan_case *given, const eb_bore_verdict *bore, int more)
{
  return plan_even_up_to(given, sqrt(variance_after(given, bore, more)), more);
}

/* Probability that a bore counts as even once it was read `more` times: its
 * doubt falls from u to u', and its deviation moves by what the readings take away, normal with u^2 - u'^2. */
static double settles(const plan_case *given, const eb_bore_verdict *bore, int more)
{
  double limit = even_up_to_after(given, bore, more);
  if (limit < 0)
    return 0;
  double moves = sqrt(bore->doubt * bore->doubt - variance_after(given, bore, more));
  return eb_conformity(-limit, limit, bore->deviation, moves, INFINITY);
}

/* Whether the deviation is at most what plan_even_up_to finds. */
static bool counts_as_even(const prospect *p, double deviation)
{
  return room(p, step_of(p) * ceil(deviation / step_of(p))) > 0;
}

/* How many readings settle it, should they show what is believed of it now. */
static int readings_needed(const plan_case *given, const eb_bore_verdict *bore, int left)
{
  int too_few = 0, enough = left;
  while (enough - too_few > 1) {
    int more = (too_few + enough) / 2;
    prospect p = prospect_of(given, sqrt(variance_after(given, bore, more)), more);
    if (counts_as_even(&p, fabs(bore->deviation)))
      enough = more;
    else
      too_few = more;
  }
  return enough;
}

/* Bores that count and have no reading: what was true before the last move or start is not assumed. */
static eb_bores find_missing(const plan_case *given)
{
  eb_bores missing = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    if (given->verdict->bore[i].word != EB_LEFT_OUT && given->verdict->bore[i].readings == 0)
      missing |= (eb_bores)1 << i;
  return missing;
}

static int count_more(const plan_case *given, eb_bores *bores)
{
  int more = 0;
  *bores = 0;
  for (int i = 0; i < given->layout->bore_count; i++) {
    const eb_bore_verdict *bore = &given->verdict->bore[i];
    int left = given->options->reads_max - bore->readings;
    if (bore->word != EB_UNSURE || left <= 0)
      continue;
    *bores |= (eb_bores)1 << i;
    more += readings_needed(given, bore, left);
  }
  return more;
}

read_choice plan_read(const plan_case *given)
{
  read_choice choice = {.bores = find_missing(given), .probability = 1};
  choice.missing = choice.bores != 0;
  if (choice.missing)
    return choice;
  int more = count_more(given, &choice.bores);
  choice.effort_min = more * given->options->read_effort_min;
  for (int i = 0; i < given->layout->bore_count; i++) {
    const eb_bore_verdict *bore = &given->verdict->bore[i];
    if (bore->word == EB_UNSURE && choice.bores >> i & 1)
      choice.probability *= settles(given, bore, given->options->reads_max - bore->readings);
    else if (bore->word == EB_UNSURE || bore->word == EB_UNEVEN)
      choice.probability = 0;
  }
  return choice;
}

/* A move of less than this many doubts of what it is against may be against noise; a reading costs a fraction of a
 * minute and a plate a quarter of an hour. This project's own figures, from simulated engines. */
static const double CLEAR = 2.5;
enum { READINGS_BEFORE = 2 };

static bool may_be_noise(const plan_case *given, int adjuster, double move)
{
  for (int c = 0; c < given->verdict->contrast_count; c++)
    if (given->verdict->contrast[c].adjuster == adjuster)
      return fabs(move) < CLEAR * given->verdict->contrast[c].doubt;
  return false;
}

read_choice plan_read_before(const plan_case *given, const move_set *moves)
{
  read_choice choice = {.before_move = true};
  for (int a = 0; a < moves->count; a++) {
    const eb_adjuster *adjuster = &given->layout->adjuster[moves->adjuster[a]];
    if (may_be_noise(given, moves->adjuster[a], moves->move[a]))
      choice.bores |= adjuster->first | adjuster->second;
  }
  int most = given->options->reads_max < READINGS_BEFORE ? given->options->reads_max : READINGS_BEFORE;
  for (int i = 0; i < given->layout->bore_count; i++) {
    const eb_bore_verdict *bore = &given->verdict->bore[i];
    if (bore->word != EB_UNSURE || bore->readings >= most)
      choice.bores &= ~((eb_bores)1 << i);
    else if (choice.bores >> i & 1)
      choice.effort_min += given->options->read_effort_min;
  }
  return choice;
}
