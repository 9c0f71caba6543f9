/* From a wished change of air to an amount of metal, where the throttles'
 * geometry is known.  Where it is not there is no amount, and the tuner is
 * spoken to in relative terms. */
#include "private.h"

#include "evenbore/quantity.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static eb_status read_size(const eb_json *from, const char *key, double high, double *size, eb_error *error)
{
  const eb_json *value = eb_json_get(from, key);
  if (value == NULL)
    return EB_OK;
  double number = eb_json_as_number(value, NAN);
  if (!(number >= 0 && number <= high))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "throttle: %s is to be a number from 0 to %g", key, high);
  *size = number;
  return EB_OK;
}

static eb_status read_idle(eb_session *s, const eb_json *idle, eb_error *error)
{
  for (const eb_json *one = eb_json_first(idle); one != NULL; one = eb_json_next(one)) {
    int bore = eb_layout_bore(&s->job.layout, eb_json_key(one));
    if (bore < 0)
      return eb_fail(error, EB_NOT_FOUND, "", "throttle: idle names bore \"%.20s\", which this layout does not have",
                     eb_json_key(one));
    eb_opening opening = {0};
    bool gap = eb_json_get(one, "gap_mm") != NULL;
    eb_status status =
        read_size(one, gap ? "gap_mm" : "travel_mm", 50, gap ? &opening.gap.mm : &opening.travel.mm, error);
    if (status != EB_OK)
      return status;
    s->job.geometry.idle[bore] = opening;
    s->job.geometry.idle_kind[bore] = gap ? EB_IDLE_GAP : EB_IDLE_TRAVEL;
  }
  return EB_OK;
}

eb_status amount_read(eb_session *s, const eb_json *throttle, eb_error *error)
{
  geometry *g = &s->job.geometry;
  const char *unit = eb_json_get_string(throttle, "unit", g->unit);
  if (unit[0] != '\0' && strcmp(unit, "mm") != 0 && strcmp(unit, "thou") != 0)
    return eb_fail(error, EB_BAD_UNIT, "", "throttle: unit is to be \"mm\" or \"thou\" (thousandths of an inch)");
  eb_status status = read_size(throttle, "bore_mm", 500, &g->common.plate.bore_mm, error);
  if (status == EB_OK)
    status = read_size(throttle, "shaft_mm", 100, &g->common.plate.shaft_mm, error);
  if (status == EB_OK)
    status = read_size(throttle, "closed_deg", 45, &g->common.plate.closed_deg, error);
  if (status == EB_OK)
    status = read_size(throttle, "pitch_mm", 10, &g->common.screw.pitch_mm, error);
  if (status == EB_OK)
    status = read_size(throttle, "lever_mm", 500, &g->common.screw.lever_mm, error);
  if (status == EB_OK)
    status = read_idle(s, eb_json_get(throttle, "idle"), error);
  if (status != EB_OK)
    return status;
  g->common.closed_known = g->common.closed_known || eb_json_get(throttle, "closed_deg") != NULL;
  if (unit != g->unit)
    snprintf(g->unit, sizeof g->unit, "%s", unit);
  return EB_OK;
}

typedef struct amount {
  const char *what, *unit;
  double value, low, high;
} amount;

/* The unit that the throttles are spoken of in, else the shop's. */
static const char *unit_of(const job_state *job)
{
  return job->geometry.unit[0] != '\0' ? job->geometry.unit : eb_habits_unit(&job->habits, EB_LENGTH, "mm", 0);
}

bool amount_quantity(const char *unit, eb_quantity *quantity)
{
  const char *symbol = NULL;
  bool length = eb_unit_symbol(EB_LENGTH, unit, &symbol, NULL) == EB_OK;
  *quantity = length ? EB_LENGTH : EB_ANGLE;
  return length || eb_unit_symbol(EB_ANGLE, unit, &symbol, NULL) == EB_OK;
}

static bool turns_of(const eb_throttle *throttle, eb_change change, amount *a)
{
  eb_turns_change turns;
  if (eb_throttle_turns_change(throttle, change, &turns, NULL) != EB_OK)
    return false;
  *a = (amount){"turns", "turns", turns.nominal_turns, turns.low_turns, turns.high_turns};
  return true;
}

/* A plate's amount is said in the length in which its opening was measured. */
static bool plate_of(const char *unit, const eb_throttle *throttle, eb_change change, amount *a)
{
  eb_gap_change gap;
  eb_travel_change travel;
  if (throttle->idle_kind == EB_IDLE_GAP &&
      eb_throttle_gap_change(throttle, change, EB_BOTH_HALVES, &gap, NULL) == EB_OK)
    *a = (amount){"feeler gap", unit, gap.nominal.mm, gap.low.mm, gap.high.mm};
  else if (throttle->idle_kind == EB_IDLE_TRAVEL &&
           eb_throttle_travel_change(throttle, change, EB_BOTH_HALVES, &travel, NULL) == EB_OK)
    *a = (amount){"edge travel", unit, travel.nominal.mm, travel.low.mm, travel.high.mm};
  else
    return false;
  double *const lengths[] = {&a->value, &a->low, &a->high};
  for (size_t i = 0; i < sizeof lengths / sizeof lengths[0]; i++)
    eb_unit_convert(EB_LENGTH, *lengths[i], "mm", unit, lengths[i], NULL);
  return true;
}

/* The change that a move means for a side, and the side's throttle: bores on one shaft share both, so that the first
 * stands for all.  The opening is the mean of those known; false where one bore's is not. */
static bool side_of(const eb_session *s, const eb_json *move, eb_bores side, eb_change *change, eb_throttle *throttle)
{
  const geometry *g = &s->job.geometry;
  int count = 0;
  *throttle = g->common;
  throttle->idle = (eb_opening){0};
  for (int i = 0; i < s->job.layout.bore_count; i++) {
    if ((side >> i & 1) == 0)
      continue;
    const char *name = s->job.layout.bore[i];
    if (count++ == 0) {
      throttle->idle_kind = g->idle_kind[i];
      change->relative = eb_json_get_number(eb_json_get(move, "share"), name, 0);
      change->doubt = eb_json_get_number(eb_json_get(eb_json_get(s->job.verdict.value, "bores"), name), "doubt", 0);
    }
    if (g->idle_kind[i] != throttle->idle_kind)
      return false;
    throttle->idle.gap.mm += g->idle[i].gap.mm;
    throttle->idle.travel.mm += g->idle[i].travel.mm;
  }
  throttle->idle.gap.mm /= count > 0 ? count : 1;
  throttle->idle.travel.mm /= count > 0 ? count : 1;
  return count > 0;
}

/* A balance screw turns one shaft against the other: what the first side opens and the second closes is one angle. */
static bool turns_between(const eb_throttle throttle[2], const eb_change change[2], amount *a)
{
  eb_turns_change first, second;
  if (eb_throttle_turns_change(&throttle[0], change[0], &first, NULL) != EB_OK ||
      eb_throttle_turns_change(&throttle[1], change[1], &second, NULL) != EB_OK)
    return false;
  *a = (amount){"turns", "turns", first.nominal_turns - second.nominal_turns, first.low_turns - second.high_turns,
                first.high_turns - second.low_turns};
  return true;
}

/* Screws have a pitch and a lever.  How a link or a coupler is threaded is not asked for, so these have no amount. */
static bool amount_of(const eb_session *s, const eb_json *move, amount *a)
{
  int index = eb_layout_adjuster(&s->job.layout, eb_json_get_string(move, "adjuster", ""));
  if (index < 0)
    return false;
  const eb_adjuster *adjuster = &s->job.layout.adjuster[index];
  bool screw = strcmp(adjuster->kind, "screw") == 0;
  eb_throttle throttle[2];
  eb_change change[2];
  if (!side_of(s, move, adjuster->first, &change[0], &throttle[0]))
    return false;
  if (adjuster->second != 0)
    return screw && side_of(s, move, adjuster->second, &change[1], &throttle[1]) && turns_between(throttle, change, a);
  if (strcmp(adjuster->kind, "plate") == 0)
    return plate_of(unit_of(&s->job), &throttle[0], change[0], a);
  return screw && turns_of(&throttle[0], change[0], a);
}

static eb_json *amount_json(const amount *a)
{
  eb_json *made = eb_json_object();
  if (eb_json_set_string(made, "what", a->what) && eb_json_set_number(made, "value", a->value) &&
      eb_json_set_number(made, "low", fmin(a->low, a->high)) &&
      eb_json_set_number(made, "high", fmax(a->low, a->high)) && eb_json_set_string(made, "unit", a->unit))
    return made;
  eb_json_destroy(made);
  return NULL;
}

eb_status amount_add(eb_session *s, eb_json *plan, eb_error *error)
{
  eb_json *moves = eb_json_member(plan, "moves");
  for (int i = 0; i < eb_json_count(moves); i++) {
    eb_json *move = eb_json_element(moves, i);
    amount a;
    if (!eb_json_set(move, "amount", amount_of(s, move, &a) ? amount_json(&a) : eb_json_null()))
      return out_of_memory(error);
  }
  return EB_OK;
}
