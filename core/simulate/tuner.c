/* The tuner's hands: what is read at a bore, measured at a plate and moved at an adjuster. */
#include "engine.h"
#include "tuner.h"

#include <assert.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static void must(eb_status status)
{
  assert(status == EB_OK);
  (void)status;
}

int tuner_bore(const eb_bay *b, const eb_json *ask)
{
  const char *named = eb_json_get_string(ask, "bore", NULL);
  const char *key = eb_json_get_string(ask, "key", "");
  const char *dot = strrchr(key, '.');
  if (named == NULL)
    named = dot == NULL ? key : dot + 1;
  return b->engine == NULL ? -1 : eb_layout_bore(&b->layout, named);
}

/* "part throttle, 2000 rpm" is held at 2000; where no speed is named, at what is usual. */
static double speed_in(const char *condition)
{
  static const double USUAL_RPM = 2000;
  for (const char *c = condition; *c != '\0'; c++)
    if (*c >= '1' && *c <= '9') {
      double number = (double)strtol(c, NULL, 10);
      return number >= 300 ? number : USUAL_RPM;
    }
  return USUAL_RPM;
}

/* The throttle as the reading's condition wants it. */
static void come_to(eb_bay *b, const char *condition)
{
  bool idles = strcmp(condition, "idle") == 0 || condition[0] == '\0';
  if (idles && b->condition[0] == '\0')
    return;
  if (!idles && strcmp(condition, b->condition) == 0)
    return;
  tuner_spend(b, EB_BAY_WAITING, 1);
  if (idles || eb_engine_hold(b->engine, speed_in(condition), NULL) != EB_OK)
    eb_engine_release(b->engine);
  b->condition[0] = '\0';
  strncat(b->condition, idles ? "" : condition, sizeof b->condition - 1);
}

static double look_at_gauge(eb_bay *b, int bore)
{
  double value = 0;
  must(eb_engine_read(b->engine, bore, &value, NULL));
  b->sight.dial = EB_DIAL_GAUGE;
  b->sight.bore = bore;
  b->sight.step = b->options.engine.gauge.step;
  eb_engine_swing(b->engine, &b->sight.least, &b->sight.most);
  b->work.readings++;
  b->work.minutes += b->options.engine.read_min; /* has passed for the engine */
  b->work.minutes_of[EB_BAY_READING] += b->options.engine.read_min;
  return value;
}

/* What is pressed on and covered by hand does not leak meanwhile. */
static double look_pressed(eb_bay *b, int bore)
{
  defect *leak = &b->engine->defect[EB_FAULT_LEAK];
  double strength = leak->strength;
  leak->strength = 0;
  double value = look_at_gauge(b, bore);
  leak->strength = strength;
  return value;
}

/* With a finger on the shaft, where the ask wants one there. */
static double look_at(eb_bay *b, const eb_json *ask, int bore)
{
  const char *pushed = eb_json_get_string(ask, "pushed", "");
  if (pushed[0] != '\0')
    eb_engine_push(b->engine, bore, strcmp(pushed, "open") == 0);
  return eb_json_get_bool(ask, "pressed", false) ? look_pressed(b, bore) : look_at_gauge(b, bore);
}

double tuner_look(eb_bay *b, const eb_json *ask, int bore)
{
  come_to(b, eb_json_get_string(ask, "condition", "idle"));
  return look_at(b, ask, bore);
}

/* Two neighbours in one go, and typed the wrong way round. */
static double read_at(eb_bay *b, const eb_json *ask, int bore)
{
  double kept = b->swapped;
  b->swapped = 0;
  if (eb_json_get_bool(ask, "pressed", false) || eb_json_get(ask, "pushed") != NULL)
    return look_at(b, ask, bore);
  if (kept > 0 && bore == b->swap_bore + 1) {
    b->swap_pass = 0;
    return kept;
  }
  bool now = b->swap_pass > 0 && bore == b->swap_bore && eb_json_get(ask, "again") == NULL;
  if (!now || eb_json_get_int(ask, "pass", 0) < b->swap_pass)
    return look_at_gauge(b, bore);
  b->swapped = look_at_gauge(b, bore);
  return look_at_gauge(b, bore + 1);
}

/* 55 for 5.5: the point is not pressed hard enough. */
static double without_point(double value)
{
  while (fabs(value - nearbyint(value)) > 1e-9 && value < 1e6)
    value *= 10;
  return value;
}

static double type(eb_bay *b, const eb_json *ask, int bore)
{
  bool repeats = b->last[bore] > 0 && eb_json_get_number(ask, "repeat", 1) > 1;
  if (repeats && stream_chance(&b->draws, b->options.skill.forgets)) {
    b->work.forgotten++;
    return b->last[bore];
  }
  double value = read_at(b, ask, bore);
  b->last[bore] = value;
  if (!stream_chance(&b->draws, b->options.skill.slips) || eb_json_get(ask, "again") != NULL)
    return value;
  double typed = without_point(value);
  b->work.slips += typed > value;
  return typed;
}

static eb_json *unreadable(const char *why)
{
  eb_json *value = eb_json_object();
  if (eb_json_set_string(value, "unreadable", why))
    return value;
  eb_json_destroy(value);
  return NULL;
}

bool tuner_wants_plate(const eb_json *ask)
{
  return strcmp(eb_json_get_string(ask, "quantity", "flow"), "length") == 0 ||
         strcmp(eb_json_get_string(ask, "condition", ""), "cold") == 0;
}

eb_json *tuner_reading(eb_bay *b, const eb_json *ask)
{
  int bore = tuner_bore(b, ask);
  double mm = 0;
  if (bore < 0)
    return unreadable("there is no such bore");
  if (tuner_wants_plate(ask))
    return tuner_measure_plate(b, ask, &mm) ? tuner_in_unit(ask, EB_LENGTH, mm, "mm", 0)
                                            : unreadable("the engine runs");
  if (!b->running)
    return unreadable("the engine stands");
  come_to(b, eb_json_get_string(ask, "condition", "idle"));
  return eb_json_from_number(type(b, ask, bore));
}

bool tuner_measure_plate(eb_bay *b, const eb_json *ask, double *mm)
{
  eb_feeler_gap gap = {0};
  eb_edge_travel travel = {0};
  int bore = tuner_bore(b, ask);
  bool travels = strstr(eb_json_get_string(ask, "key", ""), "travel") != NULL ||
                 strstr(eb_json_get_string(ask, "title", ""), "ravel") != NULL ||
                 strstr(eb_json_get_string(ask, "what", ""), "travel") != NULL;
  if (bore < 0 || b->running)
    return false;
  tuner_spend(b, EB_BAY_READING, 1);
  if (travels)
    must(eb_engine_travel(b->engine, bore, &travel, NULL));
  else
    must(eb_engine_gap(b->engine, bore, &gap, NULL));
  *mm = travels ? travel.mm : gap.mm;
  b->sight.dial = travels ? EB_DIAL_TRAVEL : EB_DIAL_LEAF;
  b->sight.bore = bore;
  return true;
}

static eb_json *done(const char *why_not)
{
  eb_json *value = eb_json_object();
  bool made = eb_json_set_bool(value, "done", why_not == NULL);
  if (made && why_not != NULL)
    made = eb_json_set_string(value, "why", why_not);
  if (made)
    return value;
  eb_json_destroy(value);
  return NULL;
}

void tuner_move(eb_bay *b, int adjuster, double move)
{
  const eb_adjuster *moved = &b->layout.adjuster[adjuster];
  must(eb_engine_move(b->engine, adjuster, move, NULL));
  tuner_spend(b, EB_BAY_ADJUSTING, moved->effort_min);
  if (b->running)
    eb_engine_blip(b->engine);
  b->work.moves++;
  b->work.plates += strcmp(moved->kind, "plate") == 0;
}

/* With the feeler in hand a plate is moved on until it shows what is wanted, or was moved often enough. */
static void set_to_length(eb_bay *b, int adjuster, int bore, const eb_json *amount)
{
  enum { TRIES = 6 };
  bool travels = strcmp(eb_json_get_string(amount, "what", ""), "edge travel") == 0;
  double wanted_mm = 0;
  if (eb_unit_convert(EB_LENGTH, eb_json_get_number(amount, "value", 0), eb_json_get_string(amount, "unit", "mm"), "mm",
                      &wanted_mm, NULL) != EB_OK)
    return;
  for (int i = 0; i < TRIES; i++) {
    eb_feeler_gap gap = {0};
    eb_edge_travel travel = {0};
    must(travels ? eb_engine_travel(b->engine, bore, &travel, NULL) : eb_engine_gap(b->engine, bore, &gap, NULL));
    double mm = travels ? travel.mm : gap.mm;
    if (fabs(mm - wanted_mm) <= b->options.engine.feeler_step_mm)
      return;
    double move = mm > 0 ? log(wanted_mm / mm) : 1;
    must(eb_engine_move(b->engine, adjuster, fmin(fmax(move, -0.4), 0.4), NULL));
  }
}

static int only_bore(eb_bores side)
{
  int bore = 0;
  while (bore < EB_BORES_MAX && side != (eb_bores)1 << bore)
    bore++;
  return bore < EB_BORES_MAX ? bore : -1;
}

eb_json *tuner_adjust(eb_bay *b, const eb_json *ask)
{
  int adjuster = b->engine == NULL ? -1 : eb_layout_adjuster(&b->layout, eb_json_get_string(ask, "adjuster", ""));
  if (adjuster < 0)
    return done("there is no such adjuster");
  if (b->layout.adjuster[adjuster].stopped && b->running)
    return done("the engine runs");
  const eb_json *amount = eb_json_get(ask, "amount");
  int bore = only_bore(b->layout.adjuster[adjuster].first);
  bool to = eb_json_get_bool(amount, "to", false) && b->layout.adjuster[adjuster].second == 0 && bore >= 0;
  tuner_move(b, adjuster, to ? 0 : eb_json_get_number(ask, "move", 0) * b->options.skill.hand);
  if (to && !b->running)
    set_to_length(b, adjuster, bore, amount);
  return done(NULL);
}
