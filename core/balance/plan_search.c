#include "outlook.h"

#include <math.h>
#include <string.h>

/* Bores that read the same make sets that are equally good but for rounding: the first one met is kept, so that
 * the plan does not hang on how a machine rounds. */
static const double TIE = 1e-9;

double plan_base_effort(const plan_case *given, bool stopped)
{
  int bores = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    bores += given->verdict->bore[i].word != EB_LEFT_OUT;
  double measuring = bores * given->options->read_effort_min;
  return stopped ? given->options->stop_effort_min : fmin(measuring, given->options->stop_effort_min);
}

static double set_effort(const plan_case *given, const move_set *set)
{
  bool stopped = false;
  double effort = 0;
  for (int a = 0; a < set->count; a++) {
    effort += given->layout->adjuster[set->adjuster[a]].effort_min;
    stopped = stopped || given->layout->adjuster[set->adjuster[a]].stopped;
  }
  return effort + plan_base_effort(given, stopped);
}

/* What a set of adjusters leaves to do, at least. */
typedef struct known {
  uint64_t adjusters; /* 0: nothing is known at this place */
  double left_min;
} known;
enum { KNOWN_BITS = 10, KNOWN = 1 << KNOWN_BITS };

/* One search: the least of effort_share * effort + what is left, and the best set so far. */
typedef struct hunt {
  const plan_case *given;
  const outlook *view;
  double effort_share, least;
  move_choice *choice;
  known *known; /* sets that were looked at, each at a place of its own; what is lost there is looked at again */
} hunt;

static known *known_of(const hunt *h, const move_set *set)
{
  uint64_t adjusters = 0;
  for (int a = 0; a < set->count; a++)
    adjusters |= (uint64_t)1 << set->adjuster[a];
  known *place = &h->known[adjusters * 0x9E3779B97F4A7C15ULL >> (64 - KNOWN_BITS)];
  if (place->adjusters != adjusters)
    *place = (known){adjusters, -INFINITY};
  return place;
}

/* Sets the moves too. */
static void look_at(hunt *h, move_set *set)
{
  forecast after;
  double effort = set_effort(h->given, set);
  if (set->count == 0 || h->effort_share * effort >= h->least)
    return;
  double least = h->least * (1 - TIE) - h->effort_share * effort;
  known *before = known_of(h, set);
  if (before->left_min >= least)
    return;
  if (!outlook_try(h->view, h->given->options->least_move, set, &after)) {
    before->left_min = INFINITY;
    return;
  }
  double left = outlook_rest(h->view, set, &after, least);
  before->left_min = fmin(left, least);
  if (!(left < least))
    return;
  h->least = h->effort_share * effort + left;
  h->choice->found = true;
  h->choice->left_min = left;
  h->choice->effort_min = effort;
  *h->choice->moves = *set;
  *h->choice->after = after;
}

static void change(move_set *set, int adjuster)
{
  int at = 0;
  while (at < set->count && set->adjuster[at] != adjuster)
    at++;
  if (at == set->count) {
    set->adjuster[set->count++] = adjuster;
    return;
  }
  set->count--;
  memmove(set->adjuster + at, set->adjuster + at + 1, (size_t)(set->count - at) * sizeof *set->adjuster);
}

/* Whether one adjuster more or less lowers the cost. */
static void try_one(hunt *h, const move_set *set)
{
  for (int k = 0; k < h->view->adjusters; k++) {
    if (!(h->view->usable >> k & 1))
      continue;
    move_set tried = *set;
    change(&tried, k);
    look_at(h, &tried);
  }
}

/* Or another one in the place of one. */
static void try_other(hunt *h, const move_set *set)
{
  for (int a = 0; a < set->count; a++) {
    move_set without = *set;
    change(&without, set->adjuster[a]);
    try_one(h, &without);
  }
}

/* From a set, each time one adjuster is added, taken away or exchanged, whichever lowers the cost most, until none
 * does. */
static void climb(hunt *h, move_set set)
{
  h->least = INFINITY;
  h->choice->found = false;
  look_at(h, &set);
  for (double before = INFINITY;; before = h->least) {
    try_one(h, &set);
    if (h->choice->found && h->least >= before)
      try_other(h, &set);
    if (!h->choice->found || h->least >= before)
      return;
    set = *h->choice->moves;
  }
}

/* All adjusters that have something to do. */
static move_set everything(const outlook *view, double least_move)
{
  move_set set = {0};
  for (int k = 0; k < view->adjusters; k++)
    if (view->usable >> k & 1)
      set.adjuster[set.count++] = k;
  for (;;) {
    int least = -1;
    outlook_moves(view, &set);
    for (int a = 0; a < set.count; a++)
      if (fabs(set.move[a]) < least_move && (least < 0 || fabs(set.move[a]) < fabs(set.move[least])))
        least = a;
    if (least < 0)
      return set;
    change(&set, set.adjuster[least]);
  }
}

/* The better one of a climb from nothing and a climb from everything.  They may miss the best set; on a V8 trying all
 * sets instead saved a study's engines no work. */
void plan_search(const plan_case *given, const outlook *view, double effort_share, move_choice *choice)
{
  move_set moves;
  forecast after;
  move_choice other = {.moves = &moves, .after = &after};
  known table[KNOWN] = {{0}};
  hunt up = {.given = given, .view = view, .effort_share = effort_share, .choice = choice, .known = table};
  hunt down = {.given = given, .view = view, .effort_share = effort_share, .choice = &other, .known = table};
  climb(&up, (move_set){0});
  climb(&down, everything(view, given->options->least_move));
  if (other.found && down.least < up.least * (1 - TIE)) {
    choice->found = true;
    choice->left_min = other.left_min;
    choice->effort_min = other.effort_min;
    *choice->moves = moves;
    *choice->after = after;
  }
  if (choice->found)
    outlook_probability(view, choice->after);
}
