#include "engine.h"

#include "evenbore/crossing.h"

#include <assert.h>
#include <math.h>

enum { HALVINGS = 48 };
static const double STOP_MOST_DEG = 10; /* an idle stop goes no further */

/* Coefficients of linear expansion: brass plate in an aluminium bore (round values, from memory; Serway and Vuille,
 * College Physics, 9th edition: 19e-6 and 24e-6, read in a reproduction). */
static const double PLATE_PER_K = 19e-6, BORE_PER_K = 23e-6;

/* The manifold between the banks has grown by more than the link: the second side opens. */
static double growth_deg(const eb_engine *e)
{
  eb_growth growth = eb_growth_aluminium_and_steel();
  double angle_deg = 0;
  growth.length_mm = e->options.link_mm;
  growth.arm_mm = e->options.arm_mm;
  growth.rise_k = e->manifold_k - e->options.manifold_k;
  eb_status status = eb_growth_angle(&growth, &angle_deg, NULL);
  assert(status == EB_OK);
  (void)status;
  return angle_deg;
}

/* What one adjuster turns one bore's plate by. */
static double turned_deg(const eb_engine *e, int adjuster, int bore)
{
  const eb_adjuster *nominal = &e->layout.adjuster[adjuster];
  const part *p = &e->part[adjuster];
  if (p->kind == PART_BLEED || !((nominal->first | nominal->second) >> bore & 1))
    return 0;
  double felt = p->setting - p->held + p->seating + fault_setting_deg(e, adjuster);
  if (nominal->first >> bore & 1)
    return nominal->second == 0 ? felt : p->share * felt;
  return (p->share - 1) * felt + (p->kind == PART_LINK ? growth_deg(e) : 0);
}

static double bled_mm2(const eb_engine *e, int bore)
{
  double area_mm2 = 0;
  for (int k = 0; k < e->layout.adjuster_count; k++)
    if (e->part[k].kind == PART_BLEED && e->layout.adjuster[k].first >> bore & 1)
      area_mm2 += fmax(e->part[k].setting, 0);
  return area_mm2;
}

/* A plate as it stands. */
typedef struct place {
  eb_plate plate;
  double angle_deg;
  eb_feeler_gap gap;
} place;

/* The bore grows away from its plate by a radial gap, which is there at any angle. */
static place opened(const eb_engine *e, int bore, double opening_deg)
{
  place p = {.plate = e->options.plate};
  eb_feeler_gap at_rest = {0};
  p.plate.closed_deg = e->throat[bore].closed_deg;
  p.angle_deg = fmin(p.plate.closed_deg + fmax(opening_deg, 0), 90);
  eb_status status = eb_gap_at_angle(&p.plate, p.angle_deg, &at_rest, NULL);
  double grown_mm = (BORE_PER_K - PLATE_PER_K) * p.plate.bore_mm / 2 * (e->manifold_k - e->options.manifold_k);
  p.gap.mm = fmin(fmax(at_rest.mm + grown_mm, 0), p.plate.bore_mm / 2);
  assert(status == EB_OK);
  (void)status;
  return p;
}

static place place_of(const eb_engine *e, int bore)
{
  double opening_deg = e->stop_deg + e->throat[bore].seat_deg;
  for (int k = 0; k < e->layout.adjuster_count; k++)
    opening_deg += turned_deg(e, k, bore);
  opening_deg += fault_opening_deg(e, bore) + e->held_deg * e->throat[bore].lever;
  return opened(e, bore, opening_deg);
}

eb_opening engine_opening(const eb_engine *e, int bore)
{
  place p = place_of(e, bore);
  eb_opening warm;
  eb_status status = eb_opening_at_gap(&p.plate, p.gap, &warm, NULL);
  assert(status == EB_OK);
  (void)status;
  warm.angle_deg = p.angle_deg;
  return warm;
}

void engine_throats(const eb_engine *e, double *angle_deg, double *area_mm2)
{
  for (int i = 0; i < e->layout.bore_count; i++) {
    place p = place_of(e, i);
    double open_mm2 = 0;
    eb_status status = eb_area_at_gap(&p.plate, p.gap, &open_mm2, NULL);
    assert(status == EB_OK);
    (void)status;
    angle_deg[i] = p.angle_deg;
    area_mm2[i] = open_mm2 + e->options.leak_mm2 + bled_mm2(e, i);
  }
}

void engine_openings(const eb_engine *e, const double *area_mm2, double *effective_mm2)
{
  for (int i = 0; i < e->layout.bore_count; i++)
    effective_mm2[i] = area_mm2[i] * e->throat[i].discharge;
}

typedef struct turning {
  eb_engine *engine;
  double *opening_deg; /* one of the engine's */
  double speed_rpm;
} turning;

static double lacks_w(const void *given, double opening_deg)
{
  const turning *t = given;
  double angle_deg[EB_BORES_MAX], area_mm2[EB_BORES_MAX], effective_mm2[EB_BORES_MAX];
  *t->opening_deg = opening_deg;
  engine_throats(t->engine, angle_deg, area_mm2);
  engine_openings(t->engine, area_mm2, effective_mm2);
  return breath_lacks_w(&t->engine->breathing, effective_mm2, t->speed_rpm);
}

/* Opens by the least that keeps it at this speed; `opening_deg` is one of the engine's. */
static void open_until(eb_engine *e, double *opening_deg, double most_deg, double speed_rpm)
{
  turning t = {e, opening_deg, speed_rpm};
  *opening_deg = eb_crossing_find(lacks_w, &t, 0, most_deg, HALVINGS);
}

void engine_turn_stop(eb_engine *e, double speed_rpm)
{
  open_until(e, &e->stop_deg, STOP_MOST_DEG, speed_rpm);
}

bool engine_hold(eb_engine *e, double speed_rpm)
{
  static const double FLOOR_DEG = 80; /* of travel */
  open_until(e, &e->held_deg, FLOOR_DEG, speed_rpm);
  return e->held_deg < FLOOR_DEG - 0.01;
}

bool engine_find_nominal(eb_engine *e)
{
  static const double STEP_DEG = 0.01;
  double angle_deg[EB_BORES_MAX], less_mm2[EB_BORES_MAX] = {0};
  double area_mm2[EB_BORES_MAX] = {0}, more_mm2[EB_BORES_MAX] = {0};
  engine_turn_stop(e, e->options.idle_rpm);
  double found = e->stop_deg;
  if (found < 2 * STEP_DEG || found > STOP_MOST_DEG - 2 * STEP_DEG)
    return false;
  engine_throats(e, angle_deg, area_mm2);
  e->stop_deg = found - STEP_DEG;
  engine_throats(e, angle_deg, less_mm2);
  e->stop_deg = found + STEP_DEG;
  engine_throats(e, angle_deg, more_mm2);
  e->stop_deg = found;
  e->idle_mm2 = area_mm2[0];
  e->per_deg = log(more_mm2[0] / less_mm2[0]) / (2 * STEP_DEG);
  return true;
}
