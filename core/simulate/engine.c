/* The room simulate: engines for rehearsal, practice and studies.
 *
 * linkage: from parts to angles and areas.  breath: from areas to air, pressure
 * and idle speed.  work: what adjusters do when they are used.  draw: what an
 * engine is before anyone touches it.  fault: what else is wrong with it.
 * exhaust, instruments: what can be measured beside the air.  Here: its life, and its gauge. */
#include "engine.h"

#include <assert.h>
#include <math.h>
#include <string.h>

eb_engine_options eb_engine_options_usual(void)
{
  return (eb_engine_options){
      .plate = {.bore_mm = 45, .shaft_mm = 8, .closed_deg = 7},
      .discharge = 0.75,
      .leak_mm2 = 0.1,
      .swept_cm3 = 500,
      .idle_rpm = 900,
      .accessories_w = 500,
      .ambient_pa = 101325,
      .ambient_k = 298.15,
      .manifold_k = 358.15,
      .link_mm = 250,
      .arm_mm = 30,
      .warming_min = 5,
      .cooling_min = 120,
      .warm_spread_k = 1,
      .link_spread = 0.10,
      .coupler_spread = 0.08,
      .screw_spread = 0.08,
      .bleed_spread = 0.05,
      .plate_spread = 0.04,
      .edge_spread = 0.02,
      .closed_spread_deg = 0.2,
      .answer_spread = 0.5,
      .answer_least = 1.0 / 3,
      .answer_most = 3,
      .answer_again = 0.15,
      .share_spread = 0.2,
      .touched_spread = 0.005,
      .neighbour_share = 0.03,
      .neighbour_spread = 0.002,
      .seat_spread = 0.008,
      .lash = 0.004,
      .stick_chance = 0.15,
      .closing_spread = 0.002,
      .gauge = eb_gauge_usual(),
      .needle = 7,
      .needle_spread = 0.1,
      .wander = 0.005,
      .read_min = 0.25,
      .lever_spread = 0.015,
      .port_spread_k = 4,
      .mixture_spread = 0.005,
      .feeler_step_mm = 0.01,
  };
}

typedef struct range {
  const char *name;
  double value, low, high;
} range;

/* Written so that a number that is none fails too. */
static eb_status check_options(const eb_engine_options *o, eb_error *error)
{
  const range ranges[] = {
      {"plate.bore_mm", o->plate.bore_mm, 5, 500},
      {"plate.shaft_mm", o->plate.shaft_mm, 0, 0.9 * o->plate.bore_mm},
      {"plate.closed_deg", o->plate.closed_deg, 0, 60},
      {"discharge", o->discharge, 0.1, 1},
      {"leak_mm2", o->leak_mm2, 0, 100},
      {"swept_cm3", o->swept_cm3, 10, 10000},
      {"idle_rpm", o->idle_rpm, 200, 5000},
      {"accessories_w", o->accessories_w, 0, 1e6},
      {"ambient_pa", o->ambient_pa, 2e4, 2e5},
      {"ambient_k", o->ambient_k, 200, 350},
      {"manifold_k", o->manifold_k, 200, 500},
      {"link_mm", o->link_mm, 1, 5000},
      {"arm_mm", o->arm_mm, 1, 500},
      {"warming_min", o->warming_min, 0.01, 1000},
      {"cooling_min", o->cooling_min, 0.01, 10000},
      {"warm_spread_k", o->warm_spread_k, 0, 50},
      {"answer_least", o->answer_least, 0.01, 1},
      {"answer_most", o->answer_most, 1, 100},
      {"share_spread", o->share_spread, 0, 0.5},
      {"stick_chance", o->stick_chance, 0, 1},
      {"needle", o->needle, 1e-3, 1e6},
      {"read_min", o->read_min, 0, 60},
      {"port_spread_k", o->port_spread_k, 0, 100},
      {"feeler_step_mm", o->feeler_step_mm, 1e-6, 1},
      {"gauge.step", o->gauge.step, 1e-9, 1e6},
      {"gauge.high", o->gauge.high, 1e-3, 1e6},
  };
  const double spreads[] = {
      o->link_spread, o->coupler_spread,      o->screw_spread,   o->bleed_spread,      o->plate_spread,
      o->edge_spread, o->answer_spread,       o->answer_again,   o->touched_spread,    o->neighbour_share,
      o->seat_spread, o->neighbour_spread,    o->closing_spread, o->closed_spread_deg, o->needle_spread,
      o->wander,      o->gauge.repeatability, o->lash,           o->lever_spread,      o->mixture_spread};
  for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++)
    if (!(ranges[i].value >= ranges[i].low && ranges[i].value <= ranges[i].high))
      return eb_fail(error, EB_OUT_OF_RANGE, "", "a simulated engine's %s is %g; %g to %g would be right",
                     ranges[i].name, ranges[i].value, ranges[i].low, ranges[i].high);
  for (size_t i = 0; i < sizeof spreads / sizeof spreads[0]; i++)
    if (!(spreads[i] >= 0 && spreads[i] <= 2))
      return eb_fail(error, EB_OUT_OF_RANGE, "", "a spread of a simulated engine is %g; 0 to 2 would be right",
                     spreads[i]);
  return EB_OK;
}

/* All throttles alike and all adjusters at nothing, which is what "nominal" means. */
static void set_nominal(eb_engine *e)
{
  const eb_engine_options *o = &e->options;
  e->manifold_k = e->settles_k = o->manifold_k;
  for (int i = 0; i < e->layout.bore_count; i++)
    e->throat[i] = (throat){.closed_deg = o->plate.closed_deg, .discharge = o->discharge, .lever = 1};
  e->breathing = breath_of(e->layout.bore_count, o->ambient_pa, o->ambient_k, o->swept_cm3 * 1e-6, o->accessories_w);
}

static double nominal_kg_h(const eb_engine *e)
{
  eb_engine_truth truth;
  eb_engine_look(e, &truth);
  return truth.flow_kg_h[0];
}

eb_status eb_engine_create(const eb_host *host, const eb_layout *layout, uint64_t seed,
                           const eb_engine_options *options, eb_engine **engine, eb_error *error)
{
  eb_engine_options usual = eb_engine_options_usual();
  eb_status status = check_options(options == NULL ? &usual : options, error);
  if (status != EB_OK)
    return status;
  eb_engine *e = host->allocate(host->context, NULL, sizeof *e);
  if (e == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for a simulated engine");
  *e = (eb_engine){.host = host,
                   .options = options == NULL ? usual : *options,
                   .layout = *layout,
                   .seed = seed,
                   .eye = stream_open(seed, EYE),
                   .work = stream_open(seed, WORK),
                   .needle = stream_open(seed, NEEDLE),
                   .pushed = -1,
                   .read = -1};
  set_nominal(e);
  if (!engine_find_nominal(e)) {
    double idle_rpm = e->options.idle_rpm;
    eb_engine_destroy(e);
    return eb_fail(error, EB_OUT_OF_RANGE, "", "an engine of these dimensions does not idle at %g rpm", idle_rpm);
  }
  stream draws = stream_open(seed, DRAWS);
  e->vent = e->options.needle / nominal_kg_h(e);
  engine_draw(e, &draws);
  engine_draw_levers(e);
  engine_turn_stop(e, e->options.idle_rpm);
  *engine = e;
  return EB_OK;
}

eb_status eb_engine_disturb(eb_engine *e, uint64_t seed, double changed, eb_error *error)
{
  if (e->running)
    return eb_fail(error, EB_REFUSED, "", "the engine runs; what is to be another day begins with it stopped");
  stream draws = stream_open(seed, DRAWS);
  engine_draw_again(e, &draws, changed);
  engine_turn_stop(e, e->options.idle_rpm);
  return EB_OK;
}

void eb_engine_destroy(eb_engine *engine)
{
  if (engine != NULL)
    engine->host->allocate(engine->host->context, engine, 0);
}

eb_status eb_engine_start(eb_engine *e, eb_error *error)
{
  if (e->running)
    return eb_fail(error, EB_REFUSED, "", "the engine runs already");
  e->running = true;
  e->settles_k = e->options.manifold_k + stream_normal(&e->work, e->options.warm_spread_k);
  eb_engine_blip(e);
  return EB_OK;
}

eb_status eb_engine_stop(eb_engine *e, eb_error *error)
{
  if (!e->running)
    return eb_fail(error, EB_REFUSED, "", "the engine stands still already");
  e->running = false;
  e->held_deg = 0;
  return EB_OK;
}

void eb_engine_wait(eb_engine *e, double minutes)
{
  assert(minutes >= 0);
  e->clock_min += minutes;
  double end_k = e->running ? e->settles_k : e->options.ambient_k;
  double constant_min = e->running ? e->options.warming_min : e->options.cooling_min;
  e->manifold_k = end_k + (e->manifold_k - end_k) * exp(-minutes / constant_min);
}

eb_status eb_engine_set_speed(eb_engine *e, double speed_rpm, eb_error *error)
{
  static const double HEARD = 0.01;
  if (!e->running)
    return eb_fail(error, EB_REFUSED, "", "the engine stands still; its idle is set while it runs");
  e->held_deg = 0;
  engine_turn_stop(e, speed_rpm * exp(stream_normal(&e->work, HEARD)));
  return EB_OK;
}

eb_status eb_engine_set_idle(eb_engine *e, eb_error *error)
{
  return eb_engine_set_speed(e, e->options.idle_rpm, error);
}

void eb_engine_set_stop(eb_engine *e, double opening_deg)
{
  assert(opening_deg >= 0);
  e->stop_deg = opening_deg;
}

/* The needle flutters with every intake and the eye takes the middle of some
 * swings; how the gauge sits on the stack is new each time.  Each makes half of the repeatability's square. */
static double flutter(eb_engine *e, int bore)
{
  enum { SWINGS = 8 };
  double spread = e->options.gauge.repeatability * M_SQRT1_2, sum = 0, least = 1, most = -1;
  double reach = spread * sqrt(3.0 * SWINGS);
  for (int i = 0; i < SWINGS; i++) {
    double swing = stream_uniform(&e->needle, -1, 1);
    least = fmin(least, swing);
    most = fmax(most, swing);
    sum += swing;
  }
  double seat = stream_normal(&e->needle, spread);
  if (e->pushed == bore && e->read == bore)
    seat = e->seat; /* both hands were busy: it was not lifted */
  e->seat = seat;
  e->read = bore;
  e->pushed = -1;
  e->swung[0] = reach * least + seat;
  e->swung[1] = reach * most + seat;
  return spread * sum * sqrt(3.0 / SWINGS) + seat;
}

eb_status eb_engine_read(eb_engine *e, int bore, double *value, eb_error *error)
{
  static const double WANDER_KEPT = 0.7; /* from one reading to the next; this project's own figure */
  const eb_gauge *gauge = &e->options.gauge;
  assert(bore >= 0 && bore < e->layout.bore_count);
  if (!e->running)
    return eb_fail(error, EB_REFUSED, "", "the engine stands still; there is no air to read");
  eb_engine_wait(e, e->options.read_min);
  e->wandered =
      WANDER_KEPT * e->wandered + stream_normal(&e->needle, e->options.wander * sqrt(1 - WANDER_KEPT * WANDER_KEPT));
  double flow_kg_h = engine_flow_kg_h(e, bore);
  double off = flutter(e, bore);
  double level = e->vent * flow_kg_h * fault_seen(e, bore);
  for (int i = 0; i < 2; i++)
    e->swung[i] = fmin(level * exp(e->wandered + e->swung[i]), gauge->high);
  double needle = level * exp(e->wandered + off);
  *value = fmin(gauge->step * nearbyint(needle / gauge->step), gauge->high);
  return EB_OK;
}

void eb_engine_swing(const eb_engine *e, double *least, double *most)
{
  *least = e->swung[0];
  *most = e->swung[1];
}

static double speed_with(const eb_engine *e, double *effective_mm2)
{
  double angle_deg[EB_BORES_MAX], area_mm2[EB_BORES_MAX];
  engine_throats(e, angle_deg, area_mm2);
  engine_openings(e, area_mm2, effective_mm2);
  return breath_speed_rpm(&e->breathing, effective_mm2);
}

double engine_speed_rpm(const eb_engine *e)
{
  double effective_mm2[EB_BORES_MAX];
  return speed_with(e, effective_mm2);
}

double engine_flow_kg_h(const eb_engine *e, int bore)
{
  double effective_mm2[EB_BORES_MAX], speed_rpm = speed_with(e, effective_mm2);
  return breath_draw(&e->breathing, bore, effective_mm2[bore], speed_rpm).kg_s * 3600;
}

void eb_engine_look(const eb_engine *e, eb_engine_truth *truth)
{
  int bores = e->layout.bore_count;
  double effective_mm2[EB_BORES_MAX], sum = 0;
  *truth = (eb_engine_truth){.stop_deg = e->stop_deg, .manifold_k = e->manifold_k};
  engine_throats(e, truth->angle_deg, truth->area_mm2);
  engine_openings(e, truth->area_mm2, effective_mm2);
  truth->speed_rpm = breath_speed_rpm(&e->breathing, effective_mm2);
  for (int i = 0; i < bores; i++) {
    draught drawn = breath_draw(&e->breathing, i, effective_mm2[i], truth->speed_rpm);
    truth->flow_kg_h[i] = drawn.kg_s * 3600;
    truth->behind_pa[i] = drawn.behind_pa;
    sum += truth->flow_kg_h[i];
  }
  for (int i = 0; i < bores; i++) {
    truth->deviation[i] = truth->flow_kg_h[i] * bores / sum - 1;
    truth->spread = fmax(truth->spread, fabs(truth->deviation[i]));
  }
  exhaust_look(e, truth);
  for (int f = 0; f < EB_FAULTS; f++) {
    truth->fault[f] = e->defect[f].strength;
    truth->faulty[f] = e->defect[f].where;
  }
}
