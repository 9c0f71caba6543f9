#include "outlook.h"

#include <math.h>
#include <string.h>

/* Multiplications after which the search is cut short: about 10 ms, enough to
 * end it with a dozen adjusters; with two dozen what is left then is rarely better. */
static const double WORK_MAX = 2e7;

/* What the largest set of a branch comes to, times this, is taken for the most
 * that any set in it can: a larger set's moves are for the least squares and
 * not for the greatest chance, so that one of its parts can do better.  No
 * proof, but room: trying all sets of 44 600 seeded cases found a better one
 * in two of them at 1.5, in one at 2 and in none from 2.5 on. */
static const double MARGIN = 3;

/* Bores that read the same make sets that are equally good but for rounding: the first one met is kept, so that
 * the plan does not hang on how a machine rounds. */
static const double TIE = 1e-9;

typedef struct plan_hunt {
  const plan_case *given;
  const outlook *view;
  bool any_running; /* some adjuster is used with the engine running */
  double work;
  double best_cost;
  move_choice *choice;
} plan_hunt;

/* Sets that hold `in` and otherwise some of `open`, those with most to do first. */
typedef struct branch {
  move_set in, open;
} branch;

double plan_base_effort(const plan_case *given, bool stopped)
{
  int bores = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    bores += given->verdict->bore[i].word != EB_LEFT_OUT;
  double measuring = bores * given->options->read_effort_min;
  return stopped ? given->options->stop_effort_min : fmin(measuring, given->options->stop_effort_min);
}

static double effort_of(const plan_hunt *h, int adjuster)
{
  return h->given->layout->adjuster[adjuster].effort_min;
}

static double set_effort(const plan_hunt *h, const move_set *set, bool *stopped)
{
  double effort = 0;
  *stopped = false;
  for (int a = 0; a < set->count; a++) {
    effort += effort_of(h, set->adjuster[a]);
    *stopped = *stopped || h->given->layout->adjuster[set->adjuster[a]].stopped;
  }
  return effort;
}

/* The least that a set of the branch costs. */
static double least_effort(const plan_hunt *h, const move_set *in)
{
  bool stopped;
  double effort = set_effort(h, in, &stopped);
  return effort + plan_base_effort(h->given, stopped || !h->any_running);
}

static double try_set(plan_hunt *h, double least_move, move_set *set)
{
  double n = h->view->bores, c = set->count;
  h->work += n * c * c / 2 + c * c * c / 6 + n * n * n / 3;
  return outlook_try(h->view, least_move, set);
}

static void look_at(plan_hunt *h, const move_set *in)
{
  bool stopped;
  move_set set = *in;
  double effort = set_effort(h, &set, &stopped) + plan_base_effort(h->given, stopped);
  if (set.count == 0 || effort >= h->best_cost)
    return;
  double shown = try_set(h, h->given->options->least_move, &set);
  if (shown <= 0 || effort / shown >= h->best_cost * (1 - TIE))
    return;
  h->best_cost = effort / shown;
  h->choice->found = true;
  h->choice->effort_min = effort;
  *h->choice->moves = set;
}

static void append(move_set *set, int adjuster)
{
  set->adjuster[set->count++] = adjuster;
}

static void drop(move_set *set, int at)
{
  set->count--;
  memmove(set->adjuster + at, set->adjuster + at + 1, (size_t)(set->count - at) * sizeof *set->adjuster);
}

/* What any set of the branch could reach at most. */
static double could_reach(plan_hunt *h, const branch *b)
{
  move_set all = b->in;
  for (int p = 0; p < b->open.count; p++)
    append(&all, b->open.adjuster[p]);
  return fmin(1, MARGIN * try_set(h, -1, &all));
}

static double cheapest(const plan_hunt *h, const move_set *open)
{
  double least = INFINITY;
  for (int p = 0; p < open->count; p++)
    least = fmin(least, effort_of(h, open->adjuster[p]));
  return least;
}

/* Takes the open adjusters one after the other into the set, each time leaving out those before it. */
static void visit(plan_hunt *h, const branch *from, double reach)
{
  branch b = *from;
  double effort = least_effort(h, &b.in);
  for (bool first = true; b.open.count > 0; first = false) {
    if (h->work >= WORK_MAX) {
      h->choice->complete = false;
      return;
    }
    if (!first)
      reach = could_reach(h, &b);
    if (effort + cheapest(h, &b.open) >= h->best_cost * reach)
      return;
    int next = b.open.adjuster[0];
    drop(&b.open, 0);
    if (effort + effort_of(h, next) >= h->best_cost * reach)
      continue;
    branch with = b;
    append(&with.in, next);
    look_at(h, &with.in);
    visit(h, &with, reach);
  }
}

/* Adjusters with most to do first: leaving one of them out soon shows. */
static void sort_open(const outlook *view, move_set *all)
{
  double size[EB_ADJUSTERS_MAX];
  all->count = 0;
  for (int k = 0; k < view->adjusters; k++)
    append(all, k);
  outlook_try(view, -1, all);
  for (int k = 0; k < view->adjusters; k++) {
    double squares = 0;
    for (int i = 0; i < view->bores; i++)
      squares += view->effect[k][i] * view->effect[k][i];
    size[k] = fabs(all->move[k]) * sqrt(squares);
  }
  for (int p = 1; p < view->adjusters; p++) {
    int k = all->adjuster[p], at = p;
    for (; at > 0 && size[all->adjuster[at - 1]] < size[k] - TIE; at--)
      all->adjuster[at] = all->adjuster[at - 1];
    all->adjuster[at] = k;
  }
}

/* A good set to begin with: from nothing, each time the one adjuster that lowers the cost most, added or taken away. */
static void climb(plan_hunt *h, const move_set *all)
{
  move_set set = {0};
  for (double before = INFINITY;; before = h->best_cost) {
    for (int p = 0; p < all->count; p++) {
      move_set tried = set;
      int at = 0;
      while (at < set.count && set.adjuster[at] != all->adjuster[p])
        at++;
      if (at < set.count)
        drop(&tried, at);
      else
        append(&tried, all->adjuster[p]);
      look_at(h, &tried);
    }
    if (h->best_cost >= before || !h->choice->found)
      return;
    set = *h->choice->moves;
  }
}

void plan_search(const plan_case *given, const outlook *view, move_choice *choice)
{
  plan_hunt h = {.given = given, .view = view, .best_cost = INFINITY, .choice = choice};
  branch all = {0};
  choice->found = false;
  choice->complete = true;
  for (int k = 0; k < view->adjusters; k++)
    h.any_running = h.any_running || !given->layout->adjuster[k].stopped;
  sort_open(view, &all.open);
  climb(&h, &all.open);
  visit(&h, &all, could_reach(&h, &all));
  if (!choice->found)
    return;
  outlook_forecast(view, choice->moves, true, choice->after);
  outlook_probability(view, choice->after);
  outlook_shown(view, choice->after);
}
