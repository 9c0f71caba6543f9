#include "evenbore/plan.h"

#include "outlook.h"

#include <math.h>
#include <string.h>

/* What makes a step worth it. This project's own figures. */
static const double WORTH_PROBABILITY = 0.05;  /* moves add at least this much */
static const double SETTLE_PROBABILITY = 0.05; /* reading again ends the job at least so likely */

const char *eb_step_text(eb_step step)
{
  switch (step) {
  case EB_STEP_DONE: return "done";
  case EB_STEP_READ: return "read";
  case EB_STEP_MOVE: return "move";
  case EB_STEP_STOP: return "stop";
  }
  return "";
}

eb_status eb_method_read(const char *word, eb_method *method, eb_error *error)
{
  if (strcmp(word, "least-effort") == 0)
    *method = EB_METHOD_LEAST_EFFORT;
  else if (strcmp(word, "trade-order") == 0)
    *method = EB_METHOD_TRADE_ORDER;
  else
    return eb_fail(error, EB_BAD_VALUE, "", "the method must be \"least-effort\" or \"trade-order\"");
  return EB_OK;
}

eb_plan_options eb_plan_options_usual(void)
{
  return (eb_plan_options){.method = EB_METHOD_LEAST_EFFORT,
                           .one_at_a_time = false,
                           .least_move = 0.02,
                           .stop_effort_min = 12,
                           .reads_max = 16,
                           .attempts_max = 12,
                           .read_effort_min = 0.25};
}

static int touched_count(const eb_adjuster *adjuster)
{
  int count = 0;
  for (eb_bores set = adjuster->first | adjuster->second; set != 0; set &= set - 1)
    count++;
  return count;
}

/* Adjusters that touch more bores first, in the layout's order among equals. */
static void sort_moves(const eb_layout *layout, move_set *moves)
{
  for (int a = 1; a < moves->count; a++) {
    int k = moves->adjuster[a], at = a;
    double move = moves->move[a];
    int size = touched_count(&layout->adjuster[k]);
    for (; at > 0; at--) {
      int other = moves->adjuster[at - 1], other_size = touched_count(&layout->adjuster[other]);
      if (other_size > size || (other_size == size && other < k))
        break;
      moves->adjuster[at] = other;
      moves->move[at] = moves->move[at - 1];
    }
    moves->adjuster[at] = k;
    moves->move[at] = move;
  }
}

/* The first move of a set, by itself. */
static void keep_first(const plan_case *given, const outlook *view, move_choice *choice)
{
  const eb_adjuster *adjuster = &given->layout->adjuster[choice->moves->adjuster[0]];
  choice->moves->count = 1;
  choice->effort_min = plan_base_effort(given, adjuster->stopped) + adjuster->effort_min;
  outlook_forecast(view, choice->moves, choice->after);
  outlook_probability(view, choice->after);
  outlook_shown(view, choice->after, 0);
}

static void expect(const outlook *view, const double *deviation, eb_plan *plan)
{
  memset(plan->expected, 0, sizeof plan->expected);
  for (int i = 0; i < view->bores; i++)
    plan->expected[view->bore[i]] = deviation[i];
  plan->expected_spread = outlook_spread(deviation, view->bores);
}

static void put_moves(const outlook *view, const move_choice *moving, eb_plan *plan)
{
  plan->step = EB_STEP_MOVE;
  plan->move_count = moving->moves->count;
  for (int a = 0; a < moving->moves->count; a++) {
    int k = moving->moves->adjuster[a];
    double move = moving->moves->move[a];
    plan->move[a] = (eb_move){.adjuster = k, .move = move, .expected = move * view->gain[k]};
  }
  plan->effort_min = moving->effort_min;
  plan->probability_after = moving->after->probability;
  expect(view, moving->after->deviation, plan);
}

static void put_reading(const read_choice *reading, eb_plan *plan)
{
  plan->step = EB_STEP_READ;
  plan->read = reading->bores;
  plan->effort_min = reading->effort_min;
  plan->probability_after = reading->missing || reading->before_move ? plan->probability_before : reading->probability;
}

/* Whether moves are worth a stop: they leave less to do, or add to the chance that all bores are shown to be within. */
static bool worth_moving(const plan_case *given, const outlook *view, const move_choice *moving, double before)
{
  static const move_set none = {0};
  forecast now;
  if (!moving->found || given->attempts >= given->options->attempts_max)
    return false;
  outlook_forecast(view, &none, &now);
  return moving->left_min < outlook_rest(view, &none, &now, INFINITY) ||
         moving->after->shown >= before + WORTH_PROBABILITY;
}

/* Whether reading again comes first: where it ends the job it spares the moves and all that would follow. */
static bool read_first(const read_choice *reading, const move_choice *moving, bool moves_worth)
{
  if (reading->bores == 0 || reading->probability < SETTLE_PROBABILITY)
    return false;
  return !moves_worth || reading->effort_min < reading->probability * (moving->effort_min + moving->left_min);
}

/* Whether it comes first before anything that could be moved, which need not be searched for then. */
static bool read_first_anyhow(const plan_case *given, const outlook *view, const read_choice *reading)
{
  if (given->options->method == EB_METHOD_TRADE_ORDER)
    return false;
  move_choice cheapest = {.effort_min = INFINITY};
  for (int k = 0; k < view->adjusters; k++) {
    const eb_adjuster *adjuster = &given->layout->adjuster[k];
    if (view->usable >> k & 1)
      cheapest.effort_min =
          fmin(cheapest.effort_min, plan_base_effort(given, adjuster->stopped) + adjuster->effort_min);
  }
  return read_first(reading, &cheapest, true);
}

/* By hand: what is only unsure is read again, what is uneven is moved. */
static bool read_first_by_hand(const plan_case *given, const read_choice *reading, bool moves_worth)
{
  return reading->bores != 0 && reading->probability >= SETTLE_PROBABILITY &&
         (given->verdict->word == EB_UNSURE || !moves_worth);
}

/* The least effort with what is likely to be left; where that is only little work that leads nowhere, what leaves the
 * least at any effort. */
static bool search(const plan_case *given, const outlook *view, double before, move_choice *moving)
{
  static const double ANY_EFFORT = 0.01; /* of sets that leave the same the cheaper one */
  plan_search(given, view, 1, moving);
  if (!worth_moving(given, view, moving, before))
    plan_search(given, view, ANY_EFFORT, moving);
  return worth_moving(given, view, moving, before);
}

bool plan_too_far(const move_choice *moving)
{
  bool far = false;
  for (int a = 0; moving->found && a < moving->moves->count; a++)
    far = far || fabs(moving->moves->move[a]) > EB_MOVE_MAX;
  return far;
}

static void decide(const plan_case *given, const outlook *view, read_choice *reading, move_choice *moving,
                   eb_plan *plan)
{
  bool by_hand = given->options->method == EB_METHOD_TRADE_ORDER;
  if (by_hand)
    plan_trade(given, view, moving);
  bool worth = by_hand ? moving->found && given->attempts < given->options->attempts_max
                       : search(given, view, reading->probability, moving);
  if (by_hand ? read_first_by_hand(given, reading, worth) : read_first(reading, moving, worth)) {
    put_reading(reading, plan);
    return;
  }
  if (!worth || plan_too_far(moving))
    return;
  sort_moves(given->layout, moving->moves);
  read_choice before = plan_read_before(given, moving->moves);
  if (!by_hand && before.bores != 0) {
    *reading = before;
    put_reading(reading, plan);
    return;
  }
  if (given->options->one_at_a_time && moving->moves->count > 1)
    keep_first(given, view, moving);
  put_moves(view, moving, plan);
}

typedef struct desk {
  outlook view;
  forecast now, after;
  move_set moves;
  double joint[EB_BELIEF_STATES_MAX * EB_BELIEF_STATES_MAX];
} desk;

static bool fill_plan(const plan_case *given, desk *d, eb_plan *plan)
{
  move_set none = {0};
  read_choice reading = plan_read(given);
  move_choice moving = {.moves = &d->moves, .after = &d->after, .level = -1};
  outlook_take(given, d->joint, &d->view);
  outlook_forecast(&d->view, &none, &d->now);
  outlook_probability(&d->view, &d->now);
  *plan = (eb_plan){.step = EB_STEP_STOP};
  plan->probability_before = plan->probability_after = d->now.probability;
  expect(&d->view, d->view.deviation, plan);
  if (given->verdict->word == EB_EVEN)
    plan->step = EB_STEP_DONE;
  else if (reading.missing || read_first_anyhow(given, &d->view, &reading))
    put_reading(&reading, plan);
  else {
    outlook_prepare(given, d->joint, &d->view);
    decide(given, &d->view, &reading, &moving, plan);
  }
  return plan_reason(given, &reading, &moving, plan);
}

eb_status plan_make(const plan_case *given, eb_plan *plan, eb_error *error)
{
  desk *d = given->host->allocate(given->host->context, NULL, sizeof *d);
  eb_plan made;
  bool filled = d != NULL && fill_plan(given, d, &made);
  given->host->allocate(given->host->context, d, 0);
  if (!filled)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for a plan");
  *plan = made;
  return EB_OK;
}
