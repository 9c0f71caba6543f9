#include "outlook.h"

#include <math.h>
#include <string.h>

enum {
  ROUNDS = 3,       /* of weighing, from least squares towards least spread */
  TRIES_MAX = 30000 /* sets that are looked at before the search is cut short */
};

/* What a set can reach with others beside it is found by the same weighing and
 * not as a true maximum; this margin on it keeps the search from passing over
 * the best set.  The tests compare with trying all sets. */
static const double MARGIN = 1.1;

typedef struct plan_hunt {
  const plan_case *given;
  const outlook *view;
  int order[EB_ADJUSTERS_MAX]; /* the adjusters, those with most to do first */
  double least_effort[EB_ADJUSTERS_MAX + 1]; /* cheapest of those from here on */
  bool any_running;            /* some adjuster is used with the engine running */
  int tries;
  double best_cost;
  move_choice *choice;
} plan_hunt;

static bool worth_making(const move_set *moves, double least_move)
{
  for (int a = 0; a < moves->count; a++)
    if (fabs(moves->move[a]) < least_move)
      return false;
  return true;
}

/* The likeliest of a few ways to move the set: least squares first, then with
 * more weight on the bores that stay furthest off [Lawson's weighing for the
 * least maximum; from memory].  `least_move` < 0: moves may be of any size and the fixed part of their doubt does not
 * count, which tells what any part of the set could reach. */
static double try_set(const outlook *view, double least_move, move_set *moves, forecast *after)
{
  double weights[EB_BORES_MAX], best = -1;
  forecast tried;
  move_set moved = *moves;
  for (int i = 0; i < view->bores; i++)
    weights[i] = 1;
  for (int round = 0; round < ROUNDS; round++) {
    double sum = 0;
    outlook_moves(view, weights, &moved);
    outlook_forecast(view, &moved, least_move >= 0, &tried);
    outlook_probability(view, &tried);
    if (tried.probability > best && worth_making(&moved, least_move)) {
      best = tried.probability;
      *moves = moved;
      *after = tried;
    }
    for (int i = 0; i < view->bores; i++) {
      weights[i] *= tried.deviation[i] * tried.deviation[i] + tried.covariance[i][i];
      sum += weights[i];
    }
    for (int i = 0; i < view->bores; i++)
      weights[i] *= view->bores / sum;
  }
  return best;
}

double plan_base_effort(const plan_case *given, bool stopped)
{
  int bores = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    bores += given->verdict->bore[i].word != EB_LEFT_OUT;
  double measuring = bores * given->options->read_effort_min;
  return stopped ? given->options->stop_effort_min : fmin(measuring, given->options->stop_effort_min);
}

static double set_effort(const plan_case *given, const move_set *set, bool *stopped)
{
  double effort = 0;
  *stopped = false;
  for (int a = 0; a < set->count; a++) {
    effort += given->layout->adjuster[set->adjuster[a]].effort_min;
    *stopped = *stopped || given->layout->adjuster[set->adjuster[a]].stopped;
  }
  return effort;
}

static void look_at(plan_hunt *h, move_set *set)
{
  bool stopped;
  forecast after;
  double effort = set_effort(h->given, set, &stopped) + plan_base_effort(h->given, stopped);
  if (effort >= h->best_cost)
    return;
  h->tries++;
  double probability = try_set(h->view, h->given->options->least_move, set, &after);
  if (probability <= 0 || effort / probability >= h->best_cost)
    return;
  h->best_cost = effort / probability;
  h->choice->found = true;
  h->choice->effort_min = effort;
  *h->choice->moves = *set;
  *h->choice->after = after;
}

/* What `set` with all adjusters from `from` on could reach at most. */
static double could_reach(plan_hunt *h, const move_set *set, int from)
{
  forecast after;
  move_set all = *set;
  for (int p = from; p < h->view->adjusters; p++)
    all.adjuster[all.count++] = h->order[p];
  h->tries++;
  return fmin(1, MARGIN * try_set(h->view, -1, &all, &after));
}

/* All sets that hold `set` and otherwise adjusters from `from` on; `reach` is what the best of them could reach. */
static void visit(plan_hunt *h, const move_set *set, int from, double reach)
{
  bool stopped;
  double effort = set_effort(h->given, set, &stopped);
  double base = plan_base_effort(h->given, stopped || !h->any_running);
  for (int p = from; p < h->view->adjusters; p++) {
    if (h->tries >= TRIES_MAX) {
      h->choice->complete = false;
      return;
    }
    if (p > from)
      reach = could_reach(h, set, p);
    if (base + effort + h->least_effort[p] >= h->best_cost * reach)
      return;
    if (base + effort + h->given->layout->adjuster[h->order[p]].effort_min >= h->best_cost * reach)
      continue;
    move_set more = *set;
    more.adjuster[more.count++] = h->order[p];
    look_at(h, &more);
    visit(h, &more, p + 1, reach);
  }
}

/* Adjusters with most to do first: a good set is then met early, and leaving one of them out soon shows. */
static double set_order(plan_hunt *h)
{
  forecast after;
  move_set all = {0};
  double size[EB_ADJUSTERS_MAX];
  for (int k = 0; k < h->view->adjusters; k++)
    h->order[k] = k;
  double reach = could_reach(h, &all, 0);
  all.count = h->view->adjusters;
  memcpy(all.adjuster, h->order, sizeof all.adjuster);
  try_set(h->view, -1, &all, &after);
  for (int k = 0; k < h->view->adjusters; k++) {
    double squares = 0;
    for (int i = 0; i < h->view->bores; i++)
      squares += h->view->effect[k][i] * h->view->effect[k][i];
    size[k] = fabs(all.move[k]) * sqrt(squares);
  }
  for (int p = 1; p < h->view->adjusters; p++) {
    int k = h->order[p], at = p;
    for (; at > 0 && size[h->order[at - 1]] < size[k]; at--)
      h->order[at] = h->order[at - 1];
    h->order[at] = k;
  }
  return reach;
}

void plan_search(const plan_case *given, const outlook *view, move_choice *choice)
{
  plan_hunt h = {.given = given, .view = view, .best_cost = INFINITY, .choice = choice};
  const eb_adjuster *adjuster = given->layout->adjuster;
  choice->found = false;
  choice->complete = true;
  if (view->adjusters == 0)
    return;
  double reach = set_order(&h);
  h.least_effort[view->adjusters] = INFINITY;
  for (int p = view->adjusters - 1; p >= 0; p--) {
    h.least_effort[p] = fmin(h.least_effort[p + 1], adjuster[h.order[p]].effort_min);
    h.any_running = h.any_running || !adjuster[h.order[p]].stopped;
  }
  move_set none = {0};
  visit(&h, &none, 0, reach);
}
