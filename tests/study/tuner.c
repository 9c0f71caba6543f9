#include "tuner.h"

#include <assert.h>
#include <math.h>
#include <string.h>

static const double READ_MIN = 0.25; /* minutes for one reading; the study's own figure */

static void must(eb_status status)
{
  assert(status == EB_OK);
  (void)status;
}

void study_begin(tuner *t, const task *given)
{
  eb_engine_truth truth;
  *t = (tuner){.given = given};
  must(eb_engine_create(eb_host_system(), given->layout, given->seed, given->engine, &t->engine, NULL));
  eb_engine_look(t->engine, &truth);
  t->so_far.begin = truth.spread;
}

void study_next_day(tuner *t)
{
  eb_engine_truth truth;
  must(eb_engine_stop(t->engine, NULL));
  eb_engine_wait(t->engine, 24 * 60);
  must(eb_engine_disturb(t->engine, t->given->seed + 4000000000, t->given->changed, NULL));
  eb_engine_look(t->engine, &truth);
  t->so_far = (outcome){.begin = truth.spread};
}

void study_end(tuner *t, outcome *result)
{
  eb_engine_truth truth;
  eb_engine_look(t->engine, &truth);
  t->so_far.truth = truth.spread;
  eb_engine_destroy(t->engine);
  *result = t->so_far;
}

/* Steady is: a thermometer, read twice five minutes apart, shows less than a kelvin between. */
void study_start(tuner *t)
{
  eb_engine_truth before, now;
  must(eb_engine_start(t->engine, NULL));
  eb_engine_look(t->engine, &now);
  for (int look = 0; look < 12; look++) {
    before = now;
    eb_engine_wait(t->engine, 5);
    eb_engine_look(t->engine, &now);
    if (fabs(now.manifold_k - before.manifold_k) < 1)
      break;
  }
  must(eb_engine_set_idle(t->engine, NULL));
}

void study_stop(tuner *t)
{
  must(eb_engine_stop(t->engine, NULL));
  t->so_far.stops++;
  t->so_far.minutes += STUDY_STOP_MIN;
  eb_engine_wait(t->engine, STUDY_STOP_MIN);
}

double study_read(tuner *t, int bore)
{
  double value = 0;
  must(eb_engine_read(t->engine, bore, &value, NULL));
  t->so_far.readings++;
  t->so_far.minutes += READ_MIN;
  return value;
}

void study_move(tuner *t, int adjuster, double move)
{
  const eb_adjuster *moved = &t->given->layout->adjuster[adjuster];
  must(eb_engine_move(t->engine, adjuster, move, NULL));
  t->so_far.moves++;
  t->so_far.plates += strcmp(moved->kind, "plate") == 0;
  t->so_far.minutes += moved->effort_min;
  if (!moved->stopped)
    eb_engine_blip(t->engine);
  eb_engine_wait(t->engine, moved->effort_min);
}
