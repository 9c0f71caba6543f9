#include "engine.h"

#include <math.h>

static const double FREED_CHANCE = 0.8; /* a blip frees what sticks so often; this project's own figure */

static eb_bores touched_by(const eb_adjuster *adjuster)
{
  return adjuster->first | adjuster->second;
}

static int count(eb_bores set)
{
  int bores = 0;
  for (; set != 0; set &= set - 1)
    bores++;
  return bores;
}

/* Bores before, behind and beside a bore. */
static eb_bores next_to(const eb_layout *layout, int bore)
{
  eb_bores found = 0;
  int row = 0;
  while (bore >= layout->row_start[row] + layout->row_size[row])
    row++;
  int station = bore - layout->row_start[row];
  if (station > 0)
    found |= ((eb_bores)1 << bore) >> 1;
  if (station + 1 < layout->row_size[row])
    found |= (eb_bores)1 << (bore + 1);
  for (int r = row - 1; r <= row + 1; r += 2)
    if (r >= 0 && r < layout->row_count && station < layout->row_size[r])
      found |= (eb_bores)1 << (layout->row_start[r] + station);
  return found;
}

static eb_bores neighbours_of(const eb_layout *layout, eb_bores touched)
{
  eb_bores found = 0;
  for (int i = 0; i < layout->bore_count; i++)
    if (touched >> i & 1)
      found |= next_to(layout, i);
  return found & ~touched;
}

/* The other bores of the shortest shaft that this bore's plate is on: the smallest side of several that holds it. */
static eb_bores shaft_of(const eb_layout *layout, int bore)
{
  eb_bores shaft = 0;
  for (int k = 0; k < layout->adjuster_count; k++) {
    const eb_bores sides[] = {layout->adjuster[k].first, layout->adjuster[k].second};
    for (int s = 0; s < 2; s++)
      if (sides[s] >> bore & 1 && count(sides[s]) > 1 && (shaft == 0 || count(sides[s]) < count(shaft)))
        shaft = sides[s];
  }
  return shaft & ~((eb_bores)1 << bore);
}

static void scatter(eb_engine *e, eb_bores bores, double spread)
{
  for (int i = 0; i < e->layout.bore_count; i++)
    if (bores >> i & 1)
      e->throat[i].seat_deg += stream_normal(&e->work, spread) / e->per_deg;
}

/* What comes of a wish, ln: the adjuster's own factor, this use's, and the slack where it turns back. */
static double done_of(eb_engine *e, int adjuster, double wished)
{
  const eb_engine_options *o = &e->options;
  part *p = &e->part[adjuster];
  double factor = p->answer * exp(stream_normal(&e->work, o->answer_again)) * fault_answer(e, adjuster);
  double done = wished * fmin(fmax(factor, o->answer_least), o->answer_most);
  int facing = done < 0 ? -1 : 1;
  if (facing != p->facing)
    done -= facing * fmin(o->lash, fabs(done));
  p->facing = facing;
  return done;
}

/* A plate is moved on its shaft: its spring and stack come off, and all of it comes back a hair elsewhere. */
static void pull_plate(eb_engine *e, int adjuster, double done)
{
  const eb_adjuster *nominal = &e->layout.adjuster[adjuster];
  for (int i = 0; i < e->layout.bore_count; i++) {
    if (!(nominal->first >> i & 1))
      continue;
    e->throat[i].seat_deg += done / e->per_deg;
    scatter(e, shaft_of(&e->layout, i), e->options.seat_spread / 2);
  }
  scatter(e, nominal->first, e->options.seat_spread);
}

static void turn_part(eb_engine *e, int adjuster, double done)
{
  part *p = &e->part[adjuster];
  double turned = p->kind == PART_BLEED ? done * e->idle_mm2 : done / e->per_deg;
  p->held = 0; /* turning it frees it */
  p->setting += turned;
  if (p->kind != PART_BLEED && stream_chance(&e->work, e->options.stick_chance))
    p->held = turned * stream_uniform(&e->work, 0.2, 0.6);
}

eb_status eb_engine_move(eb_engine *e, int adjuster, double wished, eb_error *error)
{
  const eb_adjuster *nominal = &e->layout.adjuster[adjuster];
  if (nominal->stopped && e->running)
    return eb_fail(error, EB_REFUSED, "", "the engine runs; %s is moved with the engine stopped", nominal->title);
  double done = done_of(e, adjuster, wished);
  if (e->part[adjuster].kind == PART_PLATE)
    pull_plate(e, adjuster, done);
  else
    turn_part(e, adjuster, done);
  scatter(e, touched_by(nominal), e->options.touched_spread);
  scatter(e, neighbours_of(&e->layout, touched_by(nominal)),
          e->options.neighbour_spread + e->options.neighbour_share * fabs(done));
  return EB_OK;
}

void eb_engine_push(eb_engine *e, int bore, bool open)
{
  e->pushed = bore;
  fault_push(e, bore, open);
}

void eb_engine_blip(eb_engine *e)
{
  for (int k = 0; k < e->layout.adjuster_count; k++) {
    part *p = &e->part[k];
    bool freed = stream_chance(&e->work, FREED_CHANCE);
    double seating = stream_normal(&e->work, e->options.closing_spread) / e->per_deg;
    if (freed)
      p->held = 0;
    if (p->kind == PART_LINK || p->kind == PART_COUPLER)
      p->seating = seating;
  }
  fault_closing(e);
}
