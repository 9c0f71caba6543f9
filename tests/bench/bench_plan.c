/* What a decision costs, against GLPK's integer optimum of the same instances in the same run.
 *
 * An instance is a simulated engine after its first pass.
 * least effort: the exact set of adjusters that brings all bores within the bound if everything answers as wished
 * (eb_plan_least_effort), against glp_intopt alone; both optima must be the same, else the program fails.
 * whole plan: the decision with its doubt that a procedure gets (eb_evidence_plan: belief, verdict, search, reason),
 * against the same glp_intopt.
 *
 *   bench_plan            the table
 *   bench_plan settings   how fast GLPK is with each of its settings: those of `best_settings` come from it */
#include "evenbore/evidence.h"
#include "evenbore/simulate.h"
#include "reference/mixed_integer.h"
#include "study/layouts.h"
#include "turns.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { ENGINES = 50, LAYOUTS = 3, BOUNDS = 2, SETTINGS = 16 * 3 * 3 };
static const char *const layouts[LAYOUTS] = {"v8-coupled", "v12-coupled", "w16"};
static const double bounds[BOUNDS] = {0.05, 0.025};
static const double TOLERANCE = 0.05, RISK = 0.05;

static void die(const char *what, const eb_error *error)
{
  fprintf(stderr, "bench_plan: %s: %s\n", what, error->message);
  exit(1);
}

/* Round a warm, idling engine, and the first bore again at the end. */
static eb_status read_round(eb_engine *engine, int bores, eb_evidence *evidence, eb_closure *closure, eb_error *error)
{
  eb_status status = eb_evidence_pass(evidence, error);
  for (int i = 0; status == EB_OK && i <= bores; i++) {
    double value = 0;
    status = eb_engine_read(engine, i % bores, &value, error);
    if (status == EB_OK && value <= 0)
      status = eb_fail(error, EB_OUT_OF_RANGE, "", "a bore reads nothing");
    if (status == EB_OK)
      status = eb_evidence_reading(evidence, i % bores, value, error);
  }
  eb_evidence_close(evidence, closure);
  return status;
}

/* A round that drifted too far is read again, as a procedure does. */
static eb_status read_pass(eb_engine *engine, int bores, eb_evidence *evidence, eb_error *error)
{
  enum { TRIES = 5 };
  eb_closure closure = {.accepted = false};
  eb_status status = EB_OK;
  for (int i = 0; i < TRIES && status == EB_OK && !closure.accepted; i++)
    status = read_round(engine, bores, evidence, &closure, error);
  if (status == EB_OK && !closure.accepted)
    status = eb_fail(error, EB_OUT_OF_RANGE, "", "each of %d passes drifts too far", TRIES);
  return status;
}

static eb_status start_warm(eb_engine *engine, eb_evidence *evidence, eb_error *error)
{
  eb_status status = eb_engine_start(engine, error);
  eb_engine_wait(engine, 60);
  if (status == EB_OK)
    status = eb_engine_set_idle(engine, error);
  return status == EB_OK ? eb_evidence_period(evidence, error) : status;
}

static eb_evidence *meet_engine(const eb_layout *layout, int seed)
{
  eb_gauge gauge = eb_gauge_usual();
  eb_engine *engine = NULL;
  eb_evidence *evidence = NULL;
  eb_error error;
  char name[32];
  snprintf(name, sizeof name, "engine %d", seed);
  if (eb_engine_create(eb_host_system(), layout, (uint64_t)seed, NULL, &engine, &error) != EB_OK ||
      eb_evidence_create(eb_host_system(), layout, &gauge, &evidence, &error) != EB_OK ||
      start_warm(engine, evidence, &error) != EB_OK || read_pass(engine, layout->bore_count, evidence, &error) != EB_OK)
    die(name, &error);
  eb_engine_destroy(engine);
  return evidence;
}

/* What the evidence says is taken for what is so.  A large move takes away at most what the bores are apart, and a
 * small one may have to give back what a large one did to its bore: twice that is enough, and were it not, the optimum
 * would come out dearer than ours. */
static instance as_it_reads(const eb_layout *layout, const eb_evidence *evidence, double bound)
{
  eb_verdict verdict;
  eb_error error;
  if (eb_evidence_verdict(evidence, TOLERANCE, RISK, &verdict, &error) != EB_OK)
    die("verdict", &error);
  instance made = {.layout = *layout,
                   .counted = eb_layout_bores(layout),
                   .bound = log1p(bound),
                   .least_move = eb_plan_options_usual().least_move};
  double low = INFINITY, high = -INFINITY;
  for (int i = 0; i < layout->bore_count; i++) {
    made.deviation[i] = verdict.bore[i].deviation;
    low = fmin(low, made.deviation[i]);
    high = fmax(high, made.deviation[i]);
  }
  made.most_move = 2 * (high - low + 2 * made.bound);
  return made;
}

/* The quickest over the three layouts, as `bench_plan settings` finds them. */
static glp_iocp best_settings(void)
{
  glp_iocp how = mixed_integer_settings();
  how.br_tech = GLP_BR_DTH;
  how.bt_tech = GLP_BT_BPH;
  return how;
}

static double mixed_s(const instance *given, const glp_iocp *how, double *effort_min)
{
  glp_prob *mip = mixed_integer_make(given);
  double begun = work_seconds_now();
  bool solved = mixed_integer_solve(mip, how, effort_min);
  double taken = work_seconds_now() - begun;
  glp_delete_prob(mip);
  if (!solved) {
    fprintf(stderr, "bench_plan: GLPK fails\n");
    exit(1);
  }
  return taken;
}

static double least_effort_s(const instance *given, double *effort_min, int *moves)
{
  eb_move move[EB_ADJUSTERS_MAX];
  eb_error error;
  *effort_min = -1;
  *moves = 0;
  double begun = work_seconds_now();
  eb_status status = eb_plan_least_effort(eb_host_system(), &given->layout, given->counted, given->deviation,
                                          given->bound, given->least_move, move, moves, effort_min, &error);
  double taken = work_seconds_now() - begun;
  if (status != EB_OK && status != EB_UNSOLVABLE)
    die("least effort", &error);
  return taken;
}

static double plan_s(eb_evidence *evidence)
{
  eb_plan_options options = eb_plan_options_usual();
  eb_plan plan;
  eb_error error;
  eb_gauge gauge = eb_gauge_usual();
  eb_evidence_set_gauge(evidence, &gauge); /* so that nothing is known from the time before */
  double begun = work_seconds_now();
  eb_status status = eb_evidence_plan(evidence, TOLERANCE, RISK, &options, &plan, &error);
  double taken = work_seconds_now() - begun;
  if (status != EB_OK)
    die("plan", &error);
  return taken;
}

/* One value an engine, each the median of its rounds. */
typedef struct column {
  double least_s[ENGINES], plan_s[ENGINES], mixed_s[ENGINES];
  double least_share[ENGINES], plan_share[ENGINES]; /* of what GLPK takes */
  int moves;
} column;

static void measure_engine(const char *name, const instance *given, eb_evidence *evidence, int engine, column *c)
{
  glp_iocp how = best_settings();
  pair least, plan;
  int moves = 0;
  for (int i = 0; i < ROUNDS; i++) {
    double wanted, found;
    double mixed = mixed_s(given, &how, &wanted);
    note(&least, i, least_effort_s(given, &found, &moves), mixed);
    note(&plan, i, plan_s(evidence), mixed);
    if (!(fabs(wanted - found) <= 1e-6)) {
      fprintf(stderr, "bench_plan: %s, engine %d, %g %%: the least effort is %g by GLPK and %g by evenbore\n", name,
              engine + 1, 100 * expm1(given->bound), wanted, found);
      exit(1);
    }
  }
  c->moves += moves;
  c->least_s[engine] = median(least.ours);
  c->plan_s[engine] = median(plan.ours);
  c->mixed_s[engine] = median(least.bare);
  c->least_share[engine] = median(least.ratio);
  c->plan_share[engine] = median(plan.ratio);
}

static void print_column(const char *name, const eb_layout *layout, double bound, column *c)
{
  const int last = ENGINES - 1;
  double least = median_of(c->least_s, ENGINES) * 1e6, mixed = median_of(c->mixed_s, ENGINES) * 1e6;
  double plan = median_of(c->plan_s, ENGINES) * 1e3;
  double least_share = median_of(c->least_share, ENGINES), plan_share = median_of(c->plan_share, ENGINES);
  printf("%-12s %3d %5.1f %% %5.1f %9.0f %9.1f %8.1f %7.1f %7.1f %9.3f %8.3f %7.2f\n", name, layout->adjuster_count,
         100 * bound, (double)c->moves / ENGINES, mixed, least, c->least_s[last] * 1e6, 1 / least_share,
         1 / c->least_share[last], plan, c->plan_s[last] * 1e3, 1 / plan_share);
  fflush(stdout);
}

static void measure_layout(const char *name, const eb_layout *layout)
{
  for (int b = 0; b < BOUNDS; b++) {
    column c = {.moves = 0};
    for (int engine = 0; engine < ENGINES; engine++) {
      eb_evidence *evidence = meet_engine(layout, engine + 1);
      instance given = as_it_reads(layout, evidence, bounds[b]);
      measure_engine(name, &given, evidence, engine, &c);
      eb_evidence_destroy(evidence);
    }
    print_column(name, layout, bounds[b], &c);
  }
}

static void print_head(void)
{
  printf("%d simulated engines of each layout after one pass; every value is the median of %d rounds in turns.\n"
         "GLPK %s: presolve, no cuts, branching by Driebeck and Tomlin, backtracking by best projection.\n"
         "K: adjusters; bound: of the least effort (the whole plan: 5 %% at a risk of 5 %%); moves: mean;\n"
         "times: median and longest engine; GLPK/: how many times longer GLPK takes, median and least\n\n",
         ENGINES, ROUNDS, glp_version());
  printf("%-12s %3s %7s %5s %9s %9s %8s %7s %7s %9s %8s %7s\n", "", "K", "bound", "moves", "GLPK us", "effort us",
         "longest", "GLPK/", "least", "plan ms", "longest", "GLPK/");
}

/* Median over the first engines; of each the least of a few times. */
static double settings_s(const eb_layout *layout, const glp_iocp *how)
{
  enum { FEW = 11, TIMES = 3 };
  double taken[FEW], effort_min;
  for (int engine = 0; engine < FEW; engine++) {
    eb_evidence *evidence = meet_engine(layout, engine + 1);
    instance given = as_it_reads(layout, evidence, bounds[0]);
    taken[engine] = INFINITY;
    for (int i = 0; i < TIMES; i++)
      taken[engine] = fmin(taken[engine], mixed_s(&given, how, &effort_min));
    eb_evidence_destroy(evidence);
  }
  return median_of(taken, FEW);
}

static glp_iocp settings_of(int number)
{
  static const int branching[] = {GLP_BR_DTH, GLP_BR_MFV, GLP_BR_PCH};
  static const int backtracking[] = {GLP_BT_BLB, GLP_BT_BPH, GLP_BT_DFS};
  glp_iocp how = mixed_integer_settings();
  how.gmi_cuts = number & 1 ? GLP_ON : GLP_OFF;
  how.mir_cuts = number & 2 ? GLP_ON : GLP_OFF;
  how.cov_cuts = number & 4 ? GLP_ON : GLP_OFF;
  how.clq_cuts = number & 8 ? GLP_ON : GLP_OFF;
  how.br_tech = branching[number / 16 % 3];
  how.bt_tech = backtracking[number / 48];
  return how;
}

/* Prints each setting that is quicker than all before it by the geometric mean of the layouts: the last is best. */
static void try_settings(const eb_layout layout[LAYOUTS])
{
  double best = INFINITY;
  for (int number = 0; number < SETTINGS; number++) {
    glp_iocp how = settings_of(number);
    double each[LAYOUTS], mean = 1;
    for (int l = 0; l < LAYOUTS; l++) {
      each[l] = settings_s(&layout[l], &how);
      mean *= pow(each[l], 1.0 / LAYOUTS);
    }
    if (mean >= best)
      continue;
    best = mean;
    printf("gmi %d mir %d cov %d clq %d br_tech %d bt_tech %d: %.0f us (", number & 1, number >> 1 & 1, number >> 2 & 1,
           number >> 3 & 1, how.br_tech, how.bt_tech, mean * 1e6);
    for (int l = 0; l < LAYOUTS; l++)
      printf("%s %.0f%s", layouts[l], each[l] * 1e6, l < LAYOUTS - 1 ? ", " : ")\n");
    fflush(stdout);
  }
}

int main(int argc, char **argv)
{
  static eb_layout layout[LAYOUTS];
  bool settings = argc == 2 && strcmp(argv[1], "settings") == 0;
  if (argc > 1 && !settings) {
    fprintf(stderr, "usage: bench_plan [settings]\n");
    return 2;
  }
  for (int l = 0; l < LAYOUTS; l++) {
    eb_error error;
    if (study_layout_read(layouts[l], &layout[l], &error) != EB_OK)
      die(layouts[l], &error);
  }
  glp_term_out(GLP_OFF); /* some cuts speak however low the level of messages is */
  if (settings) {
    try_settings(layout);
    return 0;
  }
  print_head();
  for (int l = 0; l < LAYOUTS; l++)
    measure_layout(layouts[l], &layout[l]);
  return 0;
}
