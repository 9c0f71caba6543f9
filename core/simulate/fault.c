/* What else is wrong with an engine: faults of metal, fuel and gauge, which no adjuster sets right. */
#include "engine.h"

#include "evenbore/text.h"

#include <math.h>
#include <string.h>

/* Effective openings of a gauge with its vent, and of a clamp slit at strength 1. Both see the same drop of pressure,
 * of about a thousandth of the outside's, so that air divides by area. This project's own figures. */
static const double GAUGE_MM2 = 60, SLIT_MM2 = 15;

static const char *const words[EB_FAULTS] = {"leak", "dead",   "weak",    "lean", "stick", "loose-coupler",
                                             "lash", "wander", "warming", "band", "vent",  "swap"};

const char *eb_fault_word(eb_fault fault)
{
  return words[fault];
}

eb_status eb_fault_read(const char *word, eb_fault *fault, eb_error *error)
{
  for (int f = 0; f < EB_FAULTS; f++)
    if (strcmp(words[f], word) == 0) {
      *fault = (eb_fault)f;
      return EB_OK;
    }
  const char *near = eb_nearest(word, words, EB_FAULTS);
  return eb_fail(error, EB_NOT_FOUND, "", "there is no fault \"%.40s\"; %s%s", word,
                 near == NULL ? "the first of them is " : "the nearest is ", near == NULL ? words[0] : near);
}

static eb_bores draw_bore(const eb_layout *layout, stream *draws)
{
  return (eb_bores)1 << (int)stream_uniform(draws, 0, layout->bore_count);
}

static eb_bores draw_row(const eb_layout *layout, stream *draws)
{
  return eb_layout_row(layout, (int)stream_uniform(draws, 0, layout->row_count));
}

/* A row; the first side of something where there is one row. */
static eb_bores draw_side(const eb_layout *layout, stream *draws)
{
  if (layout->row_count > 1)
    return draw_row(layout, draws);
  for (int k = 0; k < layout->adjuster_count; k++)
    if (layout->adjuster[k].second != 0)
      return layout->adjuster[k].first;
  return eb_layout_row(layout, 0);
}

/* What joins two sides: couplers before links before what else there is. */
static int looseness(const eb_engine *e, int adjuster, eb_bores where)
{
  const eb_adjuster *nominal = &e->layout.adjuster[adjuster];
  if (nominal->second == 0 || (where & ~(nominal->first | nominal->second)) != 0)
    return 0;
  switch (e->part[adjuster].kind) {
  case PART_COUPLER: return 3;
  case PART_LINK: return 2;
  case PART_SCREW: return 1;
  case PART_BLEED:
  case PART_PLATE: break;
  }
  return 0;
}

/* -1: none could be loose. */
static int draw_linkage(const eb_engine *e, eb_bores where, stream *draws)
{
  int found[EB_ADJUSTERS_MAX], count = 0, most = 1;
  for (int k = 0; k < e->layout.adjuster_count; k++) {
    int how = looseness(e, k, where);
    if (how > most) {
      most = how;
      count = 0;
    }
    if (how == most)
      found[count++] = k;
  }
  return count == 0 ? -1 : found[(int)stream_uniform(draws, 0, count)];
}

static bool is_local(eb_fault fault)
{
  return fault != EB_FAULT_WANDER && fault != EB_FAULT_WARMING && fault != EB_FAULT_BAND && fault != EB_FAULT_VENT;
}

static eb_bores draw_where(const eb_engine *e, eb_fault fault, stream *draws)
{
  const eb_layout *layout = &e->layout;
  if (!is_local(fault))
    return 0;
  if (fault == EB_FAULT_LASH)
    return draw_side(layout, draws);
  if (fault == EB_FAULT_LEAN && layout->row_count > 1 && stream_chance(draws, 0.5))
    return draw_row(layout, draws);
  return draw_bore(layout, draws);
}

static eb_status check(const eb_engine *e, eb_fault fault, double strength, eb_bores where, eb_error *error)
{
  if (!(strength > 0 && strength <= EB_FAULT_STRENGTH_MAX))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "a fault's strength is %g; above 0 up to %d would be right", strength,
                   (int)EB_FAULT_STRENGTH_MAX);
  if (where >> e->layout.bore_count != 0 || (where != 0 && !is_local(fault)))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "the fault \"%s\" cannot lie at these bores", words[fault]);
  if (fault == EB_FAULT_SWAP)
    return eb_fail(error, EB_REFUSED, "", "\"swap\" is a fault of the tuner, not of an engine");
  if (e->defect[fault].strength > 0)
    return eb_fail(error, EB_REFUSED, "", "the engine has the fault \"%s\" already", words[fault]);
  if ((fault == EB_FAULT_DEAD || fault == EB_FAULT_WEAK) && e->layout.bore_count < 2)
    return eb_fail(error, EB_REFUSED, "", "an engine of one cylinder does not run on none");
  return EB_OK;
}

static bool lies_at(const defect *d, int bore)
{
  return d->strength > 0 && (d->where >> bore & 1) != 0;
}

double fault_fuel(const eb_engine *e, int bore)
{
  const defect *lean = &e->defect[EB_FAULT_LEAN];
  return lies_at(lean, bore) ? 1 - 0.15 * lean->strength : 1;
}

double fault_fires(const eb_engine *e, int bore)
{
  const defect *weak = &e->defect[EB_FAULT_WEAK];
  if (lies_at(&e->defect[EB_FAULT_DEAD], bore))
    return 0;
  return lies_at(weak, bore) ? 1 - fmin(weak->strength, 1) : 1;
}

static void set_breathing(eb_engine *e)
{
  const defect *dead = &e->defect[EB_FAULT_DEAD];
  for (int i = 0; i < e->layout.bore_count; i++) {
    e->breathing.takes[i] = lies_at(dead, i) ? 1 - 0.98 * fmin(dead->strength, 1) : 1;
    e->breathing.burns[i] = fault_fires(e, i) * fault_fuel(e, i);
  }
}

/* The needle at the nominal idle, above the best band or below it. */
static double outside_band(const eb_gauge *gauge, defect *d)
{
  double by = 1 + 0.5 * d->strength;
  return stream_chance(&d->draws, 0.5) ? gauge->best_high * by : fmax(gauge->best_low, gauge->step) / by;
}

static void begin(eb_engine *e, eb_fault fault, defect *d)
{
  if (fault == EB_FAULT_WANDER) {
    d->phase = stream_uniform(&d->draws, 0, 2 * M_PI);
    d->period_min = stream_uniform(&d->draws, 3, 7);
  } else if (fault == EB_FAULT_WARMING) {
    e->options.warming_min *= 1 + 5 * d->strength;
    e->manifold_k = e->options.ambient_k;
  } else if (fault == EB_FAULT_BAND)
    e->vent *= outside_band(&e->options.gauge, d) / e->options.needle;
  else if (fault == EB_FAULT_VENT)
    d->readings_left = (int)stream_uniform(&d->draws, 2, 2.0 * (e->layout.bore_count + 1));
}

eb_status eb_engine_inject(eb_engine *e, eb_fault fault, double strength, eb_bores where, eb_error *error)
{
  eb_status status = check(e, fault, strength, where, error);
  if (status != EB_OK)
    return status;
  defect d = {.strength = strength, .draws = stream_open(e->seed, FAULT_DRAWS + (uint64_t)fault)};
  if (fault == EB_FAULT_LOOSE_COUPLER) {
    d.adjuster = draw_linkage(e, where, &d.draws);
    if (d.adjuster < 0)
      return eb_fail(error, EB_REFUSED, "", "there is no linkage that could be loose");
    d.where = e->layout.adjuster[d.adjuster].first | e->layout.adjuster[d.adjuster].second;
  } else
    d.where = where != 0 ? where : draw_where(e, fault, &d.draws);
  begin(e, fault, &d);
  e->defect[fault] = d;
  set_breathing(e);
  fault_closing(e);
  engine_turn_stop(e, e->options.idle_rpm);
  return EB_OK;
}

void eb_engine_mend(eb_engine *e, eb_fault fault)
{
  if (fault == EB_FAULT_WARMING || fault == EB_FAULT_BAND || fault == EB_FAULT_VENT)
    return;
  e->defect[fault] = (defect){0};
  set_breathing(e);
}

/* Hunting opens and shuts all plates together, as a stop would that breathes. */
static double hunting_deg(const eb_engine *e)
{
  const defect *d = &e->defect[EB_FAULT_WANDER];
  if (!(d->strength > 0))
    return 0;
  return 0.05 * d->strength / e->per_deg * sin(d->phase + 2 * M_PI * e->clock_min / d->period_min);
}

double fault_opening_deg(const eb_engine *e, int bore)
{
  double opening_deg = hunting_deg(e);
  if (lies_at(&e->defect[EB_FAULT_STICK], bore))
    opening_deg += e->defect[EB_FAULT_STICK].now_deg;
  if (lies_at(&e->defect[EB_FAULT_LASH], bore))
    opening_deg += e->defect[EB_FAULT_LASH].now_deg;
  return opening_deg;
}

double fault_setting_deg(const eb_engine *e, int adjuster)
{
  const defect *d = &e->defect[EB_FAULT_LOOSE_COUPLER];
  return d->strength > 0 && d->adjuster == adjuster ? d->now_deg : 0;
}

double fault_answer(eb_engine *e, int adjuster)
{
  defect *d = &e->defect[EB_FAULT_LOOSE_COUPLER];
  if (!(d->strength > 0) || d->adjuster != adjuster)
    return 1;
  return exp(stream_normal(&d->draws, 0.7 * d->strength));
}

void fault_closing(eb_engine *e)
{
  defect *stick = &e->defect[EB_FAULT_STICK], *loose = &e->defect[EB_FAULT_LOOSE_COUPLER];
  defect *lash = &e->defect[EB_FAULT_LASH];
  if (stick->strength > 0)
    stick->now_deg = stream_uniform(&stick->draws, 0, 0.08 * stick->strength) / e->per_deg;
  if (loose->strength > 0)
    loose->now_deg = stream_normal(&loose->draws, 0.03 * loose->strength) / e->per_deg;
  if (lash->strength > 0)
    lash->now_deg = (stream_chance(&lash->draws, 0.5) ? 0.02 : -0.02) * lash->strength / e->per_deg;
}

/* Friction holds a sticking plate wherever it is put, up to where its spring is stronger; lash has two ends; and what
 * comes to rest anywhere in its play, with a spread of s, has that much times the root of 3 to either side. */
void fault_push(eb_engine *e, int bore, bool open)
{
  defect *stick = &e->defect[EB_FAULT_STICK], *loose = &e->defect[EB_FAULT_LOOSE_COUPLER];
  defect *lash = &e->defect[EB_FAULT_LASH];
  if (lies_at(stick, bore))
    stick->now_deg = open ? 0.08 * stick->strength / e->per_deg : 0;
  if (lies_at(lash, bore))
    lash->now_deg = (open ? 0.02 : -0.02) * lash->strength / e->per_deg;
  if (lies_at(loose, bore)) {
    bool first = (e->layout.adjuster[loose->adjuster].first >> bore & 1) != 0;
    loose->now_deg = (open == first ? 0.03 : -0.03) * sqrt(3) * loose->strength / e->per_deg;
  }
}

double fault_seen(eb_engine *e, int bore)
{
  const defect *leak = &e->defect[EB_FAULT_LEAK];
  defect *vent = &e->defect[EB_FAULT_VENT];
  if (vent->readings_left > 0 && --vent->readings_left == 0)
    e->vent *= exp((stream_chance(&vent->draws, 0.5) ? 0.1 : -0.1) * vent->strength);
  return lies_at(leak, bore) ? GAUGE_MM2 / (GAUGE_MM2 + SLIT_MM2 * leak->strength) : 1;
}
