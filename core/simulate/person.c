/* A person in the tuner's place: eyes and hands without the tuner's head. */
#include "tuner.h"

#include "engine.h"

#include <math.h>
#include <string.h>

void tuner_close_eyes(eb_bay *b)
{
  b->sight = (eb_sight){.dial = EB_DIAL_NONE, .bore = -1};
}

void tuner_find(eb_bay *b, int fault)
{
  if (b->engine != NULL && b->engine->defect[fault].strength > 0)
    b->found |= 1U << fault;
}

bool tuner_vent_is_off(const eb_bay *b)
{
  static const double SEEN = 0.03; /* ln of a reading; this project's own */
  return b->engine != NULL && fabs(log(b->engine->vent / b->vent_mark)) > SEEN;
}

void tuner_mark_vent(eb_bay *b)
{
  b->vent_mark = b->engine->vent;
}

bool tuner_idle_is_off(const eb_bay *b)
{
  static const double SAME = 0.03; /* as the procedures ask it */
  double rpm = 0;
  if (b->engine == NULL || !(b->idle_rpm > 0) || eb_engine_speed(b->engine, &rpm, NULL) != EB_OK)
    return false;
  return fabs(rpm / b->idle_rpm - 1) > SAME;
}

static bool is_kind(const eb_json *ask, const char *kind)
{
  return strcmp(eb_json_get_string(ask, "kind", ""), kind) == 0;
}

/* Whoever took answers back may stand before an engine in another state than the ask speaks of. */
static void bring_to(eb_bay *b, bool runs)
{
  if (b->engine == NULL || b->running == runs)
    return;
  tuner_switch(b, runs);
  b->sight.started = runs;
  b->sight.stopped = !runs;
}

static eb_status look_at_number(eb_bay *b, const eb_json *ask, eb_error *error)
{
  eb_json *value = tuner_number(b, ask);
  if (value == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  eb_json_destroy(value);
  return EB_OK;
}

static void look_at_plate(eb_bay *b, const eb_json *ask)
{
  double mm = 0, seen = 0;
  bring_to(b, false);
  if (!tuner_measure_plate(b, ask, &mm))
    return;
  if (eb_unit_convert(EB_LENGTH, mm, "mm", eb_json_get_string(ask, "unit", "mm"), &seen, NULL) != EB_OK)
    seen = mm;
  b->sight.least = b->sight.most = seen;
}

static void look_at_reading(eb_bay *b, const eb_json *ask)
{
  int bore = tuner_bore(b, ask);
  if (bore < 0)
    return;
  if (tuner_wants_plate(ask)) {
    look_at_plate(b, ask);
    return;
  }
  bring_to(b, true);
  tuner_look(b, ask, bore);
}

/* What each cold check would show; by its key, since nothing else says what is looked at. */
static eb_faults checked_by(const char *key)
{
  static const struct {
    const char *key;
    eb_faults faults;
  } checks[] = {{"cold.free", 1U << EB_FAULT_STICK | 1U << EB_FAULT_LOOSE_COUPLER},
                {"cold.ends", 1U << EB_FAULT_LASH},
                {"cold.sealed", 1U << EB_FAULT_LEAK}};
  for (size_t i = 0; i < sizeof checks / sizeof checks[0]; i++)
    if (strcmp(checks[i].key, key) == 0)
      return checks[i].faults;
  return 0;
}

/* The first bore, unless it draws so little that nobody would set a vent by it. */
static int vent_bore(const eb_bay *b)
{
  eb_engine_truth truth;
  int usual = tuner_usual_bore(b);
  eb_engine_look(b->engine, &truth);
  return truth.flow_kg_h[0] < truth.flow_kg_h[usual] / 3 ? usual : 0;
}

/* The gauge held on one bore, before any pass. */
static void look_at_vent(eb_bay *b)
{
  static const double HOLD_MIN = 0.5;
  double value = 0;
  bring_to(b, true);
  tuner_spend(b, EB_BAY_READING, HOLD_MIN);
  int bore = vent_bore(b);
  if (eb_engine_read(b->engine, bore, &value, NULL) != EB_OK)
    return;
  b->sight.dial = EB_DIAL_GAUGE;
  b->sight.bore = bore;
  b->sight.step = b->options.engine.gauge.step;
  eb_engine_swing(b->engine, &b->sight.least, &b->sight.most);
}

/* The tachometer, and the vent's mark. */
static void look_at_settings(eb_bay *b)
{
  double rpm = 0;
  if (eb_engine_speed(b->engine, &rpm, NULL) != EB_OK)
    return;
  b->sight.dial = EB_DIAL_TACHOMETER;
  b->sight.least = b->sight.most = rpm;
  b->sight.checks = 1U << EB_FAULT_VENT;
  b->sight.finds = tuner_vent_is_off(b) ? b->sight.checks : 0;
}

static void look_at_question(eb_bay *b, const eb_json *ask)
{
  const char *key = eb_json_get_string(ask, "key", "");
  if (strcmp(key, "still") == 0) {
    look_at_settings(b);
    return;
  }
  if (strcmp(key, "gauge.vent") == 0)
    look_at_vent(b);
  b->sight.checks = checked_by(key);
  b->sight.finds = b->sight.checks & tuner_faults_at(b, -1);
}

static void look_for_fault(eb_bay *b, const eb_json *ask)
{
  if (!tuner_asks_of_fault(ask))
    return;
  b->sight.bore = tuner_bore(b, ask);
  b->sight.checks = tuner_named_faults(ask);
  b->sight.finds = tuner_faults_at(b, b->sight.bore) & b->sight.checks;
}

/* A line of words about the mixture is asked where a number would be one sensor's. */
static void look_at_mixture(eb_bay *b, const eb_json *ask)
{
  if (!b->running || strstr(eb_json_get_string(ask, "key", ""), "mixture") == NULL)
    return;
  b->sight.rows = b->layout.row_count;
  for (int row = 0; row < b->layout.row_count; row++)
    eb_engine_mixture(b->engine, eb_layout_row(&b->layout, row), &b->sight.lambda[row], NULL);
}

eb_status eb_bay_look(eb_bay *b, const eb_json *ask, eb_sight *sight, eb_error *error)
{
  double waited_min = b->work.minutes_of[EB_BAY_WAITING];
  eb_status status = EB_OK;
  tuner_close_eyes(b);
  if (is_kind(ask, "number"))
    status = look_at_number(b, ask, error);
  if (b->engine != NULL && is_kind(ask, "reading"))
    look_at_reading(b, ask);
  else if (b->engine != NULL && is_kind(ask, "confirm"))
    look_at_question(b, ask);
  else if (b->engine != NULL && is_kind(ask, "choose"))
    look_for_fault(b, ask);
  else if (b->engine != NULL && is_kind(ask, "text"))
    look_at_mixture(b, ask);
  b->sight.waited_min = b->work.minutes_of[EB_BAY_WAITING] - waited_min;
  if (status == EB_OK)
    *sight = b->sight;
  return status;
}

static void act_on_engine(eb_bay *b, const eb_json *ask, eb_felt *felt)
{
  bool runs = strcmp(eb_json_get_string(ask, "state", ""), "running") == 0;
  bool ran = b->running;
  tuner_switch(b, runs);
  felt->fired = runs && !ran && b->engine != NULL;
  felt->stands = !runs && ran;
  if (felt->fired)
    felt->speed_rpm = engine_speed_rpm(b->engine);
}

static void mend_checked(eb_bay *b, eb_faults finds, eb_felt *felt)
{
  for (int f = 0; f < EB_FAULTS; f++)
    if (finds >> f & 1) {
      tuner_find(b, f);
      eb_engine_mend(b->engine, (eb_fault)f);
    }
  felt->mended = finds;
}

/* Vent and cold checks: "no" is what one does something about. */
static void act_on_question(eb_bay *b, const eb_json *ask, bool yes, eb_felt *felt)
{
  const char *key = eb_json_get_string(ask, "key", "");
  eb_faults finds = checked_by(key) & tuner_faults_at(b, -1);
  if (finds != 0 && !yes)
    mend_checked(b, finds, felt);
  felt->vent =
      b->running && ((strcmp(key, "gauge.vent") == 0 && !yes) || (strcmp(key, "gauge.vent.change") == 0 && yes));
  if (felt->vent)
    tuner_turn_vent(b);
  if (strcmp(key, "pass.steady") == 0)
    tuner_settle(b);
  if (yes && b->running && eb_json_get_bool(ask, "snaps", false))
    eb_engine_blip(b->engine);
}

static void act_on_adjuster(eb_bay *b, const eb_json *ask, double move, eb_felt *felt)
{
  int adjuster = eb_layout_adjuster(&b->layout, eb_json_get_string(ask, "adjuster", ""));
  if (adjuster < 0 || !(fabs(move) > 0))
    return;
  const part *p = &b->engine->part[adjuster];
  int facing = p->facing;
  if (b->layout.adjuster[adjuster].stopped)
    bring_to(b, false);
  tuner_move(b, adjuster, move);
  felt->moved = true;
  felt->slack = p->facing != facing && b->options.engine.lash > 0;
  felt->hangs = fabs(p->held) > 0;
}

void eb_bay_act(eb_bay *b, const eb_json *ask, const eb_json *value, double move, eb_felt *felt)
{
  static const double READ_MIN = 0.5, ANSWER_MIN = 0.3;
  double waited_min = b->work.minutes_of[EB_BAY_WAITING];
  *felt = (eb_felt){.fired = false};
  b->work.prompts++;
  if (is_kind(ask, "caution") || is_kind(ask, "text"))
    tuner_spend(b, EB_BAY_TALKING, READ_MIN);
  else if (is_kind(ask, "confirm") || is_kind(ask, "choose"))
    tuner_spend(b, EB_BAY_TALKING, ANSWER_MIN);
  if (is_kind(ask, "engine"))
    act_on_engine(b, ask, felt);
  else if (b->engine != NULL && is_kind(ask, "confirm"))
    act_on_question(b, ask, eb_json_as_bool(value, true), felt);
  else if (b->engine != NULL && is_kind(ask, "choose") && tuner_asks_of_fault(ask))
    felt->mended = tuner_mend(b, ask, eb_json_as_string(value, ""));
  else if (b->engine != NULL && is_kind(ask, "adjust") && eb_json_get_bool(value, "done", false))
    act_on_adjuster(b, ask, move, felt);
  felt->waited_min = b->work.minutes_of[EB_BAY_WAITING] - waited_min;
}

void eb_bay_seen(const eb_bay *b, eb_sight *sight)
{
  *sight = b->sight;
}

eb_faults eb_bay_found(const eb_bay *b)
{
  return b->found;
}
