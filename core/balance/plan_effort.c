#include "evenbore/plan.h"

#include "ranges.h"

#include <assert.h>
#include <math.h>
#include <string.h>

enum { VISITS_MAX = 200000 };

typedef uint64_t adjuster_set; /* bit k is adjuster k */

typedef struct effort_search {
  const eb_layout *layout;
  eb_bores counted;
  const double *deviation;
  double least_move;
  int visits;
  bool found;
  double best_effort;
  adjuster_set best;
  double best_bound;              /* that the best set's moves leave */
  double value[EB_ADJUSTERS_MAX]; /* and these moves */
  ranges system;                  /* columns: the moves, then the common level */
} effort_search;

static bool has(adjuster_set set, int adjuster)
{
  return set >> adjuster & 1;
}

static adjuster_set with(adjuster_set set, int adjuster)
{
  return set | (adjuster_set)1 << adjuster;
}

static void set_bound(effort_search *s, double bound)
{
  int row = 0;
  for (int i = 0; i < s->layout->bore_count; i++) {
    if (!(s->counted >> i & 1))
      continue;
    int sum = s->system.columns + row++;
    s->system.low[sum] = -bound - s->deviation[i];
    s->system.high[sum] = bound - s->deviation[i];
  }
}

static void set_up(effort_search *s)
{
  ranges *r = &s->system;
  int adjusters = s->layout->adjuster_count;
  r->rows = 0;
  r->columns = adjusters + 1;
  for (int i = 0; i < s->layout->bore_count; i++) {
    if (!(s->counted >> i & 1))
      continue;
    for (int k = 0; k < adjusters; k++)
      r->start[r->rows][k] = eb_adjuster_effect(&s->layout->adjuster[k], i);
    r->start[r->rows++][adjusters] = -1;
  }
  r->low[adjusters] = -INFINITY;
  r->high[adjusters] = INFINITY;
  ranges_begin(r);
}

static void free_moves(effort_search *s, adjuster_set set)
{
  for (int k = 0; k < s->layout->adjuster_count; k++) {
    s->system.high[k] = has(set, k) ? INFINITY : 0;
    s->system.low[k] = -s->system.high[k];
  }
}

/* A move of the set that came out smaller than is worth making; negative: none. */
static int too_small(const effort_search *s, adjuster_set set)
{
  for (int k = 0; k < s->layout->adjuster_count; k++)
    if (has(set, k) && fabs(s->system.value[k]) < s->least_move - 1e-9)
      return k;
  return -1;
}

/* Whether all moves of the set can be of least size at once: a move that came out smaller is tried up and down. */
static bool solve_sizes(effort_search *s, adjuster_set set)
{
  bool conflict[RANGES_COLUMNS_MAX];
  ranges *r = &s->system;
  if (!ranges_solve(r, conflict))
    return false;
  int small = too_small(s, set);
  if (small < 0)
    return true;
  r->low[small] = s->least_move;
  bool solved = solve_sizes(s, set);
  if (!solved) {
    r->low[small] = -INFINITY;
    r->high[small] = -s->least_move;
    solved = solve_sizes(s, set);
  }
  r->low[small] = -INFINITY;
  r->high[small] = INFINITY;
  return solved;
}

/* The adjusters that might be added of which at least one is needed; empty: the set is enough as far as moves of any
 * size go. */
static adjuster_set needed(effort_search *s, adjuster_set in, bool *enough)
{
  bool conflict[RANGES_COLUMNS_MAX];
  adjuster_set found = 0;
  free_moves(s, in);
  *enough = ranges_solve(&s->system, conflict);
  for (int k = 0; !*enough && k < s->layout->adjuster_count; k++)
    if (conflict[k])
      found = with(found, k);
  return found;
}

static int cheapest(const eb_layout *layout, adjuster_set set)
{
  int found = -1;
  for (int k = 0; k < layout->adjuster_count; k++)
    if (has(set, k) && (found < 0 || layout->adjuster[k].effort_min < layout->adjuster[found].effort_min))
      found = k;
  return found;
}

/* What any set that is enough costs at least beyond `in`: one adjuster of each of
 * several disjoint choices, each still needed with all of the earlier ones free.  INFINITY: none is enough. */
static double least_more(effort_search *s, adjuster_set in, adjuster_set out, adjuster_set first)
{
  double more = 0;
  adjuster_set choice = first & ~out;
  bool enough = false;
  while (!enough) {
    int least = cheapest(s->layout, choice);
    if (least < 0)
      return INFINITY;
    more += s->layout->adjuster[least].effort_min;
    in |= choice;
    choice = needed(s, in, &enough) & ~out & ~in;
  }
  return more;
}

static adjuster_set all_adjusters(const eb_layout *layout)
{
  return layout->adjuster_count == 64 ? ~(adjuster_set)0 : ((adjuster_set)1 << layout->adjuster_count) - 1;
}

static void keep_moves(effort_search *s)
{
  memcpy(s->value, s->system.value, sizeof s->value);
}

static void visit(effort_search *s, adjuster_set in, adjuster_set out, double effort)
{
  bool enough;
  if (s->visits++ >= VISITS_MAX || (s->found && effort >= s->best_effort))
    return;
  adjuster_set choice = needed(s, in, &enough);
  if (enough && solve_sizes(s, in)) {
    s->found = true;
    s->best_effort = effort;
    s->best = in;
    keep_moves(s);
    return;
  }
  if (enough) /* but not with moves that are worth making: any other may change that */
    choice = all_adjusters(s->layout) & ~in;
  else if (effort + least_more(s, in, out, choice) >= (s->found ? s->best_effort : INFINITY))
    return;
  choice &= ~out;
  for (int k = cheapest(s->layout, choice); k >= 0; k = cheapest(s->layout, choice)) {
    visit(s, with(in, k), out, effort + s->layout->adjuster[k].effort_min);
    out = with(out, k);
    choice &= ~with(0, k);
  }
}

/* Raises the bound to the least that the system allows; false: that is above the best one so far. */
static bool find_bound(effort_search *s, double *bound)
{
  bool conflict[RANGES_COLUMNS_MAX];
  for (;;) {
    set_bound(s, *bound);
    if (ranges_solve(&s->system, conflict))
      return true;
    *bound += ranges_short_by(&s->system);
    if (*bound > s->best_bound)
      return false;
  }
}

/* The moves that leave the least bound, at least `bound`; one that came out too small is tried up and down. */
static void even_out(effort_search *s, double bound)
{
  ranges *r = &s->system;
  if (!find_bound(s, &bound))
    return;
  int small = too_small(s, s->best);
  if (small < 0) {
    s->best_bound = bound;
    keep_moves(s);
    return;
  }
  r->low[small] = s->least_move;
  even_out(s, bound);
  r->low[small] = -INFINITY;
  r->high[small] = -s->least_move;
  even_out(s, bound);
  r->high[small] = INFINITY;
}

static eb_status search(effort_search *s, double bound, eb_error *error)
{
  set_up(s);
  set_bound(s, bound);
  visit(s, 0, 0, 0);
  if (s->visits > VISITS_MAX)
    return eb_fail(error, EB_BUDGET, "", "too many sets of adjusters to try; the least effort is not known");
  if (!s->found)
    return eb_fail(error, EB_UNSOLVABLE, "",
                   "no set of adjusters brings all bores within %.1f %% of one another's level", 100 * expm1(bound));
  return EB_OK;
}

eb_status eb_plan_least_effort(const eb_host *host, const eb_layout *layout, eb_bores counted, const double *deviation,
                               double bound, double least_move, eb_move *move, int *count, double *effort_min,
                               eb_error *error)
{
  assert(counted != 0 && bound >= 0 && least_move >= 0);
  effort_search *s = host->allocate(host->context, NULL, sizeof *s);
  if (s == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for a plan");
  memset(s, 0, sizeof *s);
  s->layout = layout;
  s->counted = counted;
  s->deviation = deviation;
  s->least_move = least_move;
  s->best_bound = bound;
  eb_status status = search(s, bound, error);
  if (status == EB_OK) {
    free_moves(s, s->best);
    even_out(s, 0);
    *count = 0;
    *effort_min = s->best_effort;
    for (int k = 0; k < layout->adjuster_count; k++)
      if (has(s->best, k))
        move[(*count)++] = (eb_move){.adjuster = k, .move = s->value[k], .expected = s->value[k]};
  }
  host->allocate(host->context, s, 0);
  return status;
}
