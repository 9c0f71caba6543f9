#include "engine.h"

#include <math.h>
#include <string.h>

/* A bleed as it comes: this share of the bore's idle air goes through it. This project's own figure. */
static const double BLED_SHARE = 0.15;
/* Nobody leaves an engine further off than this many spreads. */
static const double FURTHEST = 3;

static part_kind kind_of(const char *word)
{
  static const struct {
    const char *word;
    part_kind kind;
  } kinds[] = {{"link", PART_LINK}, {"coupler", PART_COUPLER}, {"bleed", PART_BLEED}, {"plate", PART_PLATE}};
  for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
    if (strcmp(word, kinds[i].word) == 0)
      return kinds[i].kind;
  return PART_SCREW;
}

static double draw_within(stream *draws, double spread)
{
  return fmin(fmax(stream_normal(draws, spread), -FURTHEST * spread), FURTHEST * spread);
}

/* A plate's own place is drawn with its bore. */
static double spread_of(const eb_engine_options *options, part_kind kind)
{
  switch (kind) {
  case PART_LINK: return options->link_spread;
  case PART_COUPLER: return options->coupler_spread;
  case PART_SCREW: return options->screw_spread;
  case PART_BLEED: return options->bleed_spread;
  case PART_PLATE: break;
  }
  return 0;
}

static part draw_part(const eb_engine *e, const eb_adjuster *nominal, stream *draws)
{
  const eb_engine_options *o = &e->options;
  part p = {.kind = kind_of(nominal->kind)};
  double off = draw_within(draws, spread_of(o, p.kind));
  p.setting = p.kind == PART_BLEED ? fmax(BLED_SHARE + off, 0) * e->idle_mm2 : off / e->per_deg;
  p.share = 0.5 + stream_uniform(draws, -1, 1) * o->share_spread;
  p.answer = fmin(fmax(exp(stream_normal(draws, o->answer_spread)), o->answer_least), o->answer_most);
  p.facing = stream_chance(draws, 0.5) ? 1 : -1;
  return p;
}

void engine_draw(eb_engine *e, stream *draws)
{
  const eb_engine_options *o = &e->options;
  for (int k = 0; k < e->layout.adjuster_count; k++)
    e->part[k] = draw_part(e, &e->layout.adjuster[k], draws);
  for (int i = 0; i < e->layout.bore_count; i++) {
    double closed_deg = o->plate.closed_deg + draw_within(draws, o->closed_spread_deg);
    e->throat[i] = (throat){.closed_deg = fmax(closed_deg, 0),
                            .seat_deg = draw_within(draws, o->plate_spread) / e->per_deg,
                            .discharge = fmin(o->discharge * exp(draw_within(draws, o->edge_spread)), 1)};
  }
  e->vent *= exp(draw_within(draws, o->needle_spread));
}

void engine_draw_again(eb_engine *e, stream *draws, double changed)
{
  const eb_engine_options *o = &e->options;
  for (int k = 0; k < e->layout.adjuster_count; k++) {
    part *p = &e->part[k];
    part fresh = draw_part(e, &e->layout.adjuster[k], draws);
    p->setting = fresh.setting;
    p->held = p->seating = 0;
    p->answer = fmin(fmax(p->answer * exp(stream_normal(draws, changed)), o->answer_least), o->answer_most);
  }
  for (int i = 0; i < e->layout.bore_count; i++)
    e->throat[i].seat_deg = draw_within(draws, o->plate_spread) / e->per_deg;
}

/* By row, since a row hangs on one arm, and by bore.  A stream of their own: idle has nothing of them. */
void engine_draw_levers(eb_engine *e)
{
  stream draws = stream_open(e->seed, LEVERS);
  for (int row = 0; row < e->layout.row_count; row++) {
    double arm = draw_within(&draws, e->options.lever_spread);
    for (int i = 0; i < e->layout.row_size[row]; i++)
      e->throat[e->layout.row_start[row] + i].lever = 1 + arm + draw_within(&draws, e->options.lever_spread / 2);
  }
}
