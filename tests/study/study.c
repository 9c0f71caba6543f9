/* The study: how the program's decisions fare on simulated engines, beside the
 * routine by hand and the same routine made as honest.  Prints plain tables; all of it follows from the seed. */
#include "crowd.h"
#include "layouts.h"
#include "tally.h"

#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const usage =
    "study: the program's decisions on simulated engines\n"
    "  --layout NAME     v8-coupled, inline-four, v6-common-shafts, inline-six, v12-coupled, w16, a file, or all "
    "(all)\n"
    "  --gauge PERCENT   its true repeatability; 0: 1, 2 and 3 (0)\n"
    "  --told PERCENT    what the routine is told of it; 0: the truth (0)\n"
    "  --engines N       of each layout and gauge (200)\n"
    "  --seed N          of the first engine (1)\n"
    "  --jobs N          threads; the results do not depend on it (1)\n"
    "  --held SHARE      how unevenly a two-sided adjuster may turn its sides: 0 to 0.5 (0.2)\n"
    "  --again           another day on the same engines: with and without what their adjusters answered before\n"
    "  --changed SHARE   with it: spread by which answers changed since (0.15)\n"
    "  --taught ANSWER   with it: as if the first day had taught this of every adjuster, and surely: 0.25 to 4\n"
    "  --planned         leave out the routines by hand\n"
    "  --check           fail when clearly fewer than 95 % of the claims are true; says no more than that\n"
    "  --json            one object a layout and gauge, with the keys of evenbore rehearse --json; no routine by hand\n"
    "  --show N          one engine of one layout and gauge, step by step\n";

enum { LAYOUTS = 6, ROUTINES = 3, LINES_MAX = 64 };
static const char *const layouts[LAYOUTS] = {"v8-coupled", "inline-four", "v6-common-shafts",
                                             "inline-six", "v12-coupled", "w16"};

typedef struct choices {
  const char *layout;
  double gauge, told, held, changed, taught;
  long engines, seed, jobs, show;
  bool planned, check, again, json;
} choices;

/* One layout with one gauge. */
typedef struct line {
  const char *layout;
  double gauge;
  tally planned;
} line;

typedef struct report {
  choices chosen;
  line line[LINES_MAX];
  int lines;
} report;

static bool read_number(const char *text, double low, double high, double *number)
{
  char *end;
  errno = 0;
  double value = strtod(text, &end);
  if (end == text || *end != '\0' || errno != 0 || !(value >= low && value <= high))
    return false;
  *number = value;
  return true;
}

static bool read_whole(const char *text, double low, double high, long *number)
{
  double value;
  if (!read_number(text, low, high, &value) || value < floor(value) || value > floor(value))
    return false;
  *number = (long)value;
  return true;
}

enum {
  OPTION_LAYOUT = 1,
  OPTION_GAUGE,
  OPTION_TOLD,
  OPTION_ENGINES,
  OPTION_SEED,
  OPTION_JOBS,
  OPTION_HELD,
  OPTION_CHANGED,
  OPTION_TAUGHT,
  OPTION_SHOW
};

static bool take_option(int option, const char *text, choices *c)
{
  switch (option) {
  case OPTION_LAYOUT: c->layout = text; return true;
  case OPTION_GAUGE: return read_number(text, 0, 20, &c->gauge);
  case OPTION_TOLD: return read_number(text, 0, 20, &c->told);
  case OPTION_ENGINES: return read_whole(text, 1, 1e6, &c->engines);
  case OPTION_SEED: return read_whole(text, 0, 1e15, &c->seed);
  case OPTION_JOBS: return read_whole(text, 1, 64, &c->jobs);
  case OPTION_HELD: return read_number(text, 0, 0.5, &c->held);
  case OPTION_CHANGED: return read_number(text, 0, 1, &c->changed);
  case OPTION_TAUGHT: return read_number(text, 0.25, 4, &c->taught);
  case OPTION_SHOW: return read_whole(text, 0, 1e6, &c->show);
  default: return option == 0;
  }
}

static bool read_options(int count, char **words, choices *c)
{
  int planned = 0, check = 0, again = 0, json = 0, index = 0;
  const struct option known[] = {{"layout", required_argument, NULL, OPTION_LAYOUT},
                                 {"gauge", required_argument, NULL, OPTION_GAUGE},
                                 {"told", required_argument, NULL, OPTION_TOLD},
                                 {"engines", required_argument, NULL, OPTION_ENGINES},
                                 {"seed", required_argument, NULL, OPTION_SEED},
                                 {"jobs", required_argument, NULL, OPTION_JOBS},
                                 {"held", required_argument, NULL, OPTION_HELD},
                                 {"show", required_argument, NULL, OPTION_SHOW},
                                 {"changed", required_argument, NULL, OPTION_CHANGED},
                                 {"taught", required_argument, NULL, OPTION_TAUGHT},
                                 {"again", no_argument, &again, 1},
                                 {"planned", no_argument, &planned, 1},
                                 {"check", no_argument, &check, 1},
                                 {"json", no_argument, &json, 1},
                                 {NULL, 0, NULL, 0}};
  for (int option; (option = getopt_long(count, words, "", known, &index)) != -1;)
    if (!take_option(option, optarg, c)) {
      if (option != '?')
        fprintf(stderr, "study: --%s cannot be %s\n", known[index].name, optarg);
      return false;
    }
  c->planned = planned || check;
  c->check = check;
  c->again = again;
  c->json = json;
  return optind == count && !(json && check);
}

static void print_routine(const char *name, const tally *t)
{
  char claims[16] = "-";
  if (t->claims > 0)
    snprintf(claims, sizeof claims, "%.1f", 100.0 * t->claims_true / t->claims);
  printf("  %-16s %5s %6.1f %6.1f %6.0f %4.0f %6.0f %6.0f %6.2f %6.2f %8.0f %6.2f %6.2f\n", name, claims,
         100.0 * t->even / t->engines, 100.0 * t->within / t->engines, t->stops_median, t->stops_high,
         t->readings_median, t->readings_high, t->plates_mean, t->moves_mean, t->minutes_median, 100 * t->claim_median,
         100 * t->truth_median);
  if (t->failed > 0)
    printf("  %-16s %d engines could not be read or never ended\n", "", t->failed);
}

/* By hand, the readings that make a value and the bound are searched on engines of
 * their own: the least work with claims that are true as often as wanted. */
static bool make_honest(const task *given, double wanted, const choices *c, outcome *results, task *honest)
{
  enum { ENGINES_MOST = 60 };
  static const int averages[] = {1, 2, 3, 4, 6};
  int engines = (int)fmin((double)c->engines, ENGINES_MOST);
  double least_minutes = INFINITY;
  for (size_t a = 0; a < sizeof averages / sizeof averages[0]; a++)
    for (int tenths = 50; tenths >= 20; tenths -= 5) {
      task tried = *given;
      tried.average = averages[a];
      tried.bound = tenths / 1000.0; /* tenths of a per cent */
      tried.seed += 1000000000;
      crowd_run(study_by_hand, &tried, engines, (int)c->jobs, results);
      tally t = crowd_tally(&tried, results, engines);
      if (t.even * 2 < engines || t.even_true < wanted * t.even || t.minutes_mean >= least_minutes)
        continue;
      least_minutes = t.minutes_mean;
      *honest = tried;
    }
  honest->seed = given->seed;
  return isfinite(least_minutes);
}

static void study_by_hands(const task *given, const tally *planned, const choices *c, outcome *results)
{
  task hand = *given, honest;
  char name[32];
  tally t;
  hand.average = 1;
  hand.bound = given->tolerance;
  crowd_run(study_by_hand, &hand, (int)c->engines, (int)c->jobs, results);
  t = crowd_tally(&hand, results, (int)c->engines);
  print_routine("by hand", &t);
  double wanted = planned->claims > 0 ? (double)planned->claims_true / planned->claims : 1;
  if (!make_honest(given, wanted, c, results, &honest)) {
    printf("  %-16s no average of up to 6 and no bound down to 2 %% makes it as honest in half of the cases\n",
           "by hand, honest");
    return;
  }
  crowd_run(study_by_hand, &honest, (int)c->engines, (int)c->jobs, results);
  t = crowd_tally(&honest, results, (int)c->engines);
  snprintf(name, sizeof name, "hand %dx, %.1f %%", honest.average, 100 * honest.bound);
  print_routine(name, &t);
}

static void print_hindsight(const task *given, const choices *c, outcome *results)
{
  crowd_run(study_hindsight, given, (int)c->engines, (int)c->jobs, results);
  tally t = crowd_tally(given, results, (int)c->engines);
  printf("  %-16s %5s %6s %6s %6.0f %4.0f %6s %6s %6.2f %6.2f %8.0f\n", "all known", "-", "-", "-", t.stops_median,
         t.stops_high, "-", "-", t.plates_mean, t.moves_mean, t.minutes_median);
  if (t.failed > 0)
    printf("  %-16s %d engines have no set of moves that does it\n", "", t.failed);
}

/* What the tally of rehearsals takes. */
static eb_rehearsed as_rehearsed(const task *given, const outcome *o, int index)
{
  eb_rehearsed made = {.seed = given->seed + (uint64_t)index,
                       .end = o->failed      ? EB_REHEARSAL_FAILED
                              : o->says_even ? EB_REHEARSAL_EVEN
                                             : EB_REHEARSAL_CLAIMED,
                       .tolerance = given->tolerance,
                       .claims = o->claim > 0,
                       .claim = o->claim,
                       .spread = o->truth,
                       .began = o->begin,
                       .all = o->truth,
                       .measured = o->readings > 0,
                       .work = {.stops = o->stops, .readings = o->readings, .minutes = o->minutes}};
  made.work.moves = o->moves;
  made.work.plates = o->plates;
  if (o->failed)
    snprintf(made.why, sizeof made.why, "a bore could not be read, or it never came to an end");
  return made;
}

static bool print_json(const task *given, const line *l, const outcome *results, int engines)
{
  eb_tally t;
  eb_rehearsed *rehearsed = calloc((size_t)engines, sizeof *rehearsed);
  double *scratch = calloc((size_t)engines, sizeof *scratch);
  eb_json *made = eb_json_object();
  char *text = NULL;
  if (rehearsed != NULL && scratch != NULL && made != NULL) {
    for (int i = 0; i < engines; i++)
      rehearsed[i] = as_rehearsed(given, &results[i], i);
    eb_tally_make(rehearsed, engines, scratch, &t);
    bool ok = eb_json_set_string(made, "layout", l->layout) && eb_json_set_number(made, "gauge_share", l->gauge) &&
              eb_json_set_number(made, "engines", engines) && eb_json_set_number(made, "seed", (double)given->seed) &&
              eb_json_set_string(made, "faults", "none") && eb_tally_add_json(&t, made);
    text = ok ? eb_json_text(made) : NULL;
  }
  if (text != NULL)
    puts(text);
  eb_json_text_free(text);
  eb_json_destroy(made);
  free(rehearsed);
  free(scratch);
  return text != NULL;
}

/* Another day, with and without what the first taught; the line that is judged is the one with. */
static void study_another_day(const task *given, const choices *c, outcome *results, tally *known)
{
  task day = *given;
  day.changed = c->changed;
  day.taught = c->taught;
  crowd_run(study_again, &day, (int)c->engines, (int)c->jobs, results);
  tally without = crowd_tally(&day, results, (int)c->engines);
  print_routine("again, afresh", &without);
  day.known = true;
  crowd_run(study_again, &day, (int)c->engines, (int)c->jobs, results);
  *known = crowd_tally(&day, results, (int)c->engines);
  print_routine("again, known", known);
}

static eb_status study_line(report *r, const char *name, double gauge)
{
  const choices *c = &r->chosen;
  eb_layout layout;
  eb_error error;
  eb_engine_options engine = eb_engine_options_usual();
  outcome *results = calloc((size_t)c->engines, sizeof *results);
  eb_status status = study_layout_read(name, &layout, &error);
  if (results == NULL || status != EB_OK) {
    fprintf(stderr, "study: %s\n", results == NULL ? "no memory" : error.message);
    free(results);
    return status != EB_OK ? status : EB_OUT_OF_MEMORY;
  }
  engine.gauge.repeatability = gauge;
  engine.share_spread = c->held;
  task given = {.layout = &layout,
                .engine = &engine,
                .told = engine.gauge,
                .tolerance = 0.05,
                .risk = 0.05,
                .seed = (uint64_t)c->seed};
  if (c->told > 0)
    given.told.repeatability = c->told / 100;
  line *made = &r->line[r->lines++];
  crowd_run(study_planned, &given, (int)c->engines, (int)c->jobs, results);
  *made = (line){name, gauge, crowd_tally(&given, results, (int)c->engines)};
  if (c->json) {
    bool printed = print_json(&given, made, results, (int)c->engines);
    free(results);
    return printed ? EB_OK : EB_OUT_OF_MEMORY;
  }
  printf("%s, gauge %g %%, %ld engines, spread before work %.1f %% (median)\n", name, 100 * gauge, c->engines,
         100 * made->planned.begin_median);
  print_routine("evenbore", &made->planned);
  print_hindsight(&given, c, results);
  if (c->again)
    study_another_day(&given, c, results, &made->planned);
  else if (!c->planned)
    study_by_hands(&given, &made->planned, c, results);
  fflush(stdout);
  free(results);
  return EB_OK;
}

static void print_head(const choices *c)
{
  printf("Seed %ld. Tolerance 5 %%, risk 5 %%.\n", c->seed);
  printf("true: claims that hold, of those made; even: says that all bores are within 5 %%; within: they truly are;\n"
         "stops, readings: median and nine in ten; plates pulled and moves made: mean; minutes: median, 10 a stop and\n"
         "0.25 a reading beside the work; claim, true spread in the end: median, %%\n"
         "all known: the least work if everything were known and every adjuster answered as wished\n");
  printf("  %-16s %5s %6s %6s %6s %4s %6s %6s %6s %6s %8s %6s %6s\n", "", "true", "even", "within", "stops", "90%",
         "reads", "90%", "plates", "moves", "minutes", "claim", "spread");
}

static void print_calibration(const report *r)
{
  printf("\nClaims that hold, with the 95 %% interval of the share; at least 95 %% is promised.\n");
  printf("miss: root mean square of (true deviation - estimate) / doubt, 1 where doubts are right\n");
  printf("  %-18s %6s %8s %8s %15s %10s %15s %6s\n", "", "gauge", "claims", "hold", "interval", "\"even\"",
         "truly within", "miss");
  for (int l = 0; l < r->lines; l++) {
    const tally *t = &r->line[l].planned;
    share claims = share_of(t->claims_true, t->claims);
    printf("  %-18s %4g %% %8d %6.1f %% %5.1f to %5.1f %% %8d %13.1f %% %7.2f\n", r->line[l].layout,
           100 * r->line[l].gauge, t->claims, 100 * claims.value, 100 * claims.low, 100 * claims.high, t->even,
           t->even > 0 ? 100.0 * t->even_true / t->even : 0, t->miss);
  }
}

/* All engines together, and each line by itself. */
static int judge(const report *r)
{
  int hold = 0, claims = 0, bad = 0;
  for (int l = 0; l < r->lines; l++) {
    const tally *t = &r->line[l].planned;
    hold += t->claims_true;
    claims += t->claims;
    bad += t->failed > 0 || too_few(t->claims_true, t->claims, 0.95);
  }
  share all = share_of(hold, claims);
  printf("\n%d of %d claims hold: %.1f %% (95 %% interval %.1f to %.1f %%)\n", hold, claims, 100 * all.value,
         100 * all.low, 100 * all.high);
  if (!r->chosen.check)
    return 0;
  bad += claims == 0 || too_few(hold, claims, 0.95);
  printf("%s\n", bad > 0 ? "fewer than 95 % hold, beyond what chance explains" : "in keeping with 95 %");
  return bad > 0;
}

static int show_one(const choices *c, const char *name, double gauge)
{
  eb_layout layout;
  eb_error error;
  eb_engine_options engine = eb_engine_options_usual();
  if (study_layout_read(name, &layout, &error) != EB_OK) {
    fprintf(stderr, "study: %s\n", error.message);
    return 1;
  }
  engine.gauge.repeatability = gauge;
  engine.share_spread = c->held;
  task given = {.layout = &layout,
                .engine = &engine,
                .told = engine.gauge,
                .tolerance = 0.05,
                .risk = 0.05,
                .seed = (uint64_t)(c->seed + c->show),
                .average = 1,
                .bound = 0.05,
                .shown = true};
  outcome planned = study_planned(&given), hand = study_by_hand(&given);
  printf("evenbore: %d stops, %d readings, claims %.2f %%, truly %.2f %%\n", planned.stops, planned.readings,
         100 * planned.claim, 100 * planned.truth);
  printf("by hand: %d stops, %d readings, truly %.2f %%\n", hand.stops, hand.readings, 100 * hand.truth);
  return 0;
}

static int run(report *r)
{
  const choices *c = &r->chosen;
  bool all = strcmp(c->layout, "all") == 0;
  if (c->show >= 0)
    return show_one(c, all ? layouts[0] : c->layout, c->gauge > 0 ? c->gauge / 100 : 0.02);
  if (!c->json)
    print_head(c);
  for (int l = 0; l < (all ? LAYOUTS : 1); l++)
    for (int g = 1; g <= 3; g++) {
      if (c->gauge > 0 && g > 1)
        break;
      if (study_line(r, all ? layouts[l] : c->layout, c->gauge > 0 ? c->gauge / 100 : g / 100.0) != EB_OK)
        return 1;
    }
  if (c->json)
    return 0;
  print_calibration(r);
  return judge(r);
}

int main(int count, char **words)
{
  report r = {
      .chosen = {.layout = "all", .held = 0.2, .changed = 0.15, .engines = 200, .seed = 1, .jobs = 1, .show = -1}};
  if (!read_options(count, words, &r.chosen)) {
    fputs(usage, stderr);
    return 2;
  }
  return run(&r);
}
