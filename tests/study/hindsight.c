/* What could not be done with less: everything is known and every adjuster answers as wished. */
#include "evenbore/plan.h"

#include "tuner.h"

#include <math.h>
#include <string.h>

outcome study_hindsight(const task *given)
{
  tuner t;
  outcome result;
  eb_engine_truth truth;
  eb_move move[EB_ADJUSTERS_MAX];
  double deviation[EB_BORES_MAX], effort_min = 0;
  int count = 0, bores = given->layout->bore_count;
  eb_plan_options options = eb_plan_options_usual();
  study_begin(&t, given);
  eb_engine_look(t.engine, &truth);
  for (int i = 0; i < bores; i++)
    deviation[i] = log1p(truth.deviation[i]);
  eb_status status = eb_plan_least_effort(eb_host_system(), given->layout, eb_layout_bores(given->layout), deviation,
                                          given->tolerance, options.least_move, move, &count, &effort_min, NULL);
  t.so_far.failed = status != EB_OK; /* no set of its adjusters does it */
  bool stops = false;
  for (int m = 0; m < count; m++) {
    const eb_adjuster *moved = &given->layout->adjuster[move[m].adjuster];
    stops = stops || moved->stopped;
    t.so_far.plates += strcmp(moved->kind, "plate") == 0;
  }
  t.so_far.moves = count;
  t.so_far.stops = stops;
  t.so_far.minutes = effort_min + (stops ? STUDY_STOP_MIN : 0);
  study_end(&t, &result);
  return result;
}
