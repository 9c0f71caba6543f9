/* What a tuner looks up, answers and chooses. */
#include "engine.h"
#include "tuner.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

static double low_of(const eb_json *ask)
{
  return eb_json_get_number(ask, "low", 0);
}

static double high_of(const eb_json *ask)
{
  return eb_json_get_number(ask, "high", 1);
}

static eb_json *within(const eb_json *ask, double value)
{
  return eb_json_from_number(fmin(fmax(value, low_of(ask)), high_of(ask)));
}

/* To 12 digits, so that a conversion leaves no dust. step 0: as it comes. */
eb_json *tuner_in_unit(const eb_json *ask, eb_quantity quantity, double value, const char *unit, double step)
{
  double converted = 0;
  if (eb_unit_convert(quantity, value, unit, eb_json_get_string(ask, "unit", ""), &converted, NULL) != EB_OK)
    converted = value;
  double grain = step > 0 ? step : 1e-6;
  return within(ask, grain * nearbyint(converted / grain));
}

/* Whoever was refused lets more time pass. */
static void wait_for_warmth(eb_bay *b)
{
  static const double LONG_MIN = 40; /* no sound engine takes that to get warm */
  if (b->running)
    tuner_spend(b, EB_BAY_WAITING, 5);
  else if (b->refusals > 0)
    tuner_spend(b, EB_BAY_WAITING, 30);
  if (b->work.minutes_of[EB_BAY_WAITING] >= LONG_MIN)
    tuner_find(b, EB_FAULT_WARMING);
}

static eb_json *temperature(eb_bay *b, const eb_json *ask)
{
  static const double PORTS_FROM_C = 250;
  double high_c = 0, kelvin = 0;
  int bore = tuner_bore(b, ask);
  if (eb_unit_convert(EB_TEMPERATURE, high_of(ask), eb_json_get_string(ask, "unit", "C"), "C", &high_c, NULL) != EB_OK)
    high_c = high_of(ask);
  b->sight.step = 1;
  if (bore >= 0 && high_c > PORTS_FROM_C && eb_engine_port(b->engine, bore, &kelvin, NULL) == EB_OK) {
    b->sight.dial = EB_DIAL_PROBE;
    b->sight.bore = bore;
    return tuner_in_unit(ask, EB_TEMPERATURE, kelvin, "K", 1);
  }
  b->sight.dial = EB_DIAL_THERMOMETER;
  if (strcmp(eb_json_get_string(ask, "key", ""), "warm.still") != 0)
    wait_for_warmth(b);
  double at_k = b->engine == NULL ? b->options.engine.ambient_k : b->engine->manifold_k;
  return tuner_in_unit(ask, EB_TEMPERATURE, at_k, "K", 1);
}

/* The middle of what is to hold, where the ask says that, in rpm; else the engine's own idle. */
static double wanted_rpm(const eb_bay *b, const eb_json *ask)
{
  const eb_json *holds = eb_json_get(ask, "holds");
  double middle = 0.5 * (eb_json_as_number(eb_json_at(holds, 0), 0) + eb_json_as_number(eb_json_at(holds, 1), 0));
  double rpm = b->options.engine.idle_rpm;
  if (eb_json_is_array(holds))
    eb_unit_convert(EB_ENGINE_SPEED, middle, eb_json_get_string(ask, "unit", "rpm"), "rpm", &rpm, NULL);
  return rpm;
}

static eb_json *speed(eb_bay *b, const eb_json *ask)
{
  static const double OFF_IDLE = 1.4; /* times the idle: nobody reaches that with an idle stop */
  double rpm = wanted_rpm(b, ask);
  if (!b->running || b->engine == NULL)
    return tuner_in_unit(ask, EB_ENGINE_SPEED, rpm, "rpm", 1);
  tuner_spend(b, EB_BAY_TALKING, 1);
  if (rpm > OFF_IDLE * b->options.engine.idle_rpm)
    eb_engine_hold(b->engine, rpm, NULL);
  else {
    eb_engine_release(b->engine);
    b->condition[0] = '\0';
    eb_engine_set_speed(b->engine, rpm, NULL);
    eb_engine_speed(b->engine, &b->idle_rpm, NULL);
  }
  eb_engine_speed(b->engine, &rpm, NULL);
  b->sight.dial = EB_DIAL_TACHOMETER;
  return tuner_in_unit(ask, EB_ENGINE_SPEED, rpm, "rpm", 1);
}

/* A bore's plate, where a bore is named; else the one dimension of the engine that lies within the limits. */
static eb_json *length(eb_bay *b, const eb_json *ask)
{
  const eb_engine_options *o = &b->options.engine;
  const double known_mm[] = {o->plate.bore_mm, o->plate.shaft_mm, o->arm_mm, o->link_mm};
  double mm = 0, asked = 0;
  if (tuner_measure_plate(b, ask, &mm))
    return tuner_in_unit(ask, EB_LENGTH, mm, "mm", 0);
  for (size_t i = 0; i < sizeof known_mm / sizeof known_mm[0]; i++)
    if (eb_unit_convert(EB_LENGTH, known_mm[i], "mm", eb_json_get_string(ask, "unit", "mm"), &asked, NULL) == EB_OK &&
        asked >= low_of(ask) && asked <= high_of(ask))
      return tuner_in_unit(ask, EB_LENGTH, known_mm[i], "mm", 0);
  return within(ask, 0.5 * (low_of(ask) + high_of(ask)));
}

static bool ends_with(const char *text, const char *end)
{
  size_t size = strlen(text), tail = strlen(end);
  return size >= tail && strcmp(text + size - tail, end) == 0;
}

/* The marks of the gauge at hand: no quantity says which mark is meant. */
static double mark(const eb_bay *b, const eb_json *ask)
{
  const char *key = eb_json_get_string(ask, "key", "");
  const eb_gauge *gauge = &b->options.engine.gauge;
  if (ends_with(key, "best.low"))
    return gauge->best_low;
  if (ends_with(key, "best.high"))
    return gauge->best_high;
  if (ends_with(key, "step"))
    return gauge->step;
  return ends_with(key, "low") ? gauge->low : gauge->high;
}

/* What a mixture sensor stands behind: the row that the last part of the key names, by title or number, else all. */
static eb_bores sensed_bores(const eb_bay *b, const eb_json *ask)
{
  const char *key = eb_json_get_string(ask, "key", "");
  const char *dot = strrchr(key, '.');
  long number = dot == NULL ? 0 : strtol(dot + 1, NULL, 10);
  for (int row = 0; row < b->layout.row_count; row++)
    if (number == row + 1 || (b->layout.row_title[row][0] != '\0' && ends_with(key, b->layout.row_title[row])))
      return eb_layout_row(&b->layout, row);
  return eb_layout_bores(&b->layout);
}

/* Lambda where the limits lie about 1, the gauge's repeatability where its key says so, else the middle. */
static eb_json *ratio(eb_bay *b, const eb_json *ask)
{
  double lambda = 0;
  if (ends_with(eb_json_get_string(ask, "key", ""), "repeats"))
    return tuner_in_unit(ask, EB_RATIO, b->options.engine.gauge.repeatability, "", 0);
  bool about_one = low_of(ask) >= 0.3 && low_of(ask) < 1 && high_of(ask) > 1 && high_of(ask) <= 5;
  if (about_one && b->engine != NULL && eb_engine_mixture(b->engine, sensed_bores(b, ask), &lambda, NULL) == EB_OK) {
    b->sight.dial = EB_DIAL_MIXTURE;
    return tuner_in_unit(ask, EB_RATIO, lambda, "", 0.01);
  }
  return within(ask, 0.5 * (low_of(ask) + high_of(ask)));
}

static eb_json *pressure(const eb_bay *b, const eb_json *ask)
{
  return tuner_in_unit(ask, EB_PRESSURE, b->options.engine.ambient_pa, "Pa", 0);
}

/* In whole steps from the lowest; before the engine is there it is drawn: the engine will be what is said. */
static eb_json *count(eb_bay *b, const eb_json *ask)
{
  double step = eb_json_get_number(ask, "step", 1);
  double steps = floor((high_of(ask) - low_of(ask)) / step + 1e-9);
  double taken = b->engine == NULL ? floor(stream_uniform(&b->draws, 0, steps + 1)) : floor(0.5 * steps);
  return within(ask, low_of(ask) + step * taken);
}

static eb_json *number_of(eb_bay *b, const eb_json *ask, eb_quantity quantity)
{
  switch (quantity) {
  case EB_TEMPERATURE: return temperature(b, ask);
  case EB_ENGINE_SPEED: return speed(b, ask);
  case EB_LENGTH: return length(b, ask);
  case EB_FLOW: return within(ask, mark(b, ask));
  case EB_RATIO: return ratio(b, ask);
  case EB_PRESSURE: return pressure(b, ask);
  case EB_ANGLE: return tuner_in_unit(ask, EB_ANGLE, b->options.engine.plate.closed_deg, "deg", 0);
  case EB_COUNT: return count(b, ask);
  case EB_TIME:
  case EB_VOLTAGE:
  case EB_QUANTITIES: break;
  }
  return within(ask, 0.5 * (low_of(ask) + high_of(ask)));
}

eb_json *tuner_number(eb_bay *b, const eb_json *ask)
{
  eb_quantity quantity = EB_COUNT;
  tuner_spend(b, EB_BAY_TALKING, 0.3);
  bool known = eb_quantity_read(eb_json_get_string(ask, "quantity", ""), &quantity, NULL) == EB_OK;
  eb_json *value = known ? number_of(b, ask, quantity) : within(ask, low_of(ask));
  if (b->sight.dial == EB_DIAL_NONE)
    b->sight.dial = EB_DIAL_KNOWN;
  b->sight.least = b->sight.most = eb_json_as_number(value, 0);
  return value;
}

static bool same_gauge(const eb_gauge *a, const eb_gauge *b)
{
  return fabs(a->low - b->low) < 1e-9 && fabs(a->high - b->high) < 1e-9 && fabs(a->step - b->step) < 1e-9 &&
         fabs(a->best_low - b->best_low) < 1e-9 && fabs(a->best_high - b->best_high) < 1e-9;
}

int tuner_usual_bore(const eb_bay *b)
{
  eb_engine_truth truth;
  eb_engine_look(b->engine, &truth);
  for (int i = 0; i < b->layout.bore_count; i++) {
    int more = 0;
    for (int k = 0; k < b->layout.bore_count; k++)
      more += truth.flow_kg_h[k] > truth.flow_kg_h[i];
    if (more == b->layout.bore_count / 2)
      return i;
  }
  return 0;
}

static bool in_band(eb_bay *b)
{
  double value = 0;
  const eb_gauge *gauge = &b->options.engine.gauge;
  tuner_spend(b, EB_BAY_READING, 0.5);
  return eb_engine_read(b->engine, tuner_usual_bore(b), &value, NULL) != EB_OK ||
         (value >= gauge->best_low && value <= gauge->best_high);
}

void tuner_turn_vent(eb_bay *b)
{
  tuner_find(b, EB_FAULT_BAND);
  const eb_gauge *gauge = &b->options.engine.gauge;
  tuner_spend(b, EB_BAY_TALKING, 1);
  eb_engine_set_vent(b->engine, tuner_usual_bore(b), 0.5 * (gauge->best_low + gauge->best_high), NULL);
  tuner_mark_vent(b);
}

/* What a tuner with a screwdriver sets right once it is found; a valve train or a fuel system takes longer. */
static bool can_be_mended(int fault)
{
  return fault != EB_FAULT_DEAD && fault != EB_FAULT_WEAK && fault != EB_FAULT_LEAN;
}

/* What came to light; true where it is there no more. */
static bool set_right(eb_bay *b, int fault)
{
  tuner_find(b, fault);
  if (fault == EB_FAULT_VENT)
    tuner_mark_vent(b);
  if (can_be_mended(fault))
    eb_engine_mend(b->engine, (eb_fault)fault);
  return can_be_mended(fault);
}

void tuner_settle(eb_bay *b)
{
  tuner_find(b, EB_FAULT_WANDER);
  tuner_find(b, EB_FAULT_WARMING);
  if (tuner_vent_is_off(b))
    set_right(b, EB_FAULT_VENT);
  tuner_spend(b, EB_BAY_WAITING, 5);
}

/* The gauge and its vent are the only things that a yes or no is about which the sim knows better; no other member of
 * the ask says so than its key. */
static bool is_so(eb_bay *b, const char *key)
{
  if (strcmp(key, "gauge.right") == 0)
    return !b->gauge_told || same_gauge(&b->told, &b->options.engine.gauge);
  if (b->engine == NULL || !b->running)
    return true;
  if (strcmp(key, "gauge.vent") == 0) {
    bool right = in_band(b);
    if (!right)
      tuner_turn_vent(b); /* and says so when it is asked again */
    return right;
  }
  if (strcmp(key, "gauge.vent.change") == 0)
    tuner_turn_vent(b);
  else if (strcmp(key, "pass.steady") == 0)
    tuner_settle(b);
  else if (strcmp(key, "still") == 0)
    return !tuner_vent_is_off(b) && !tuner_idle_is_off(b);
  return true;
}

eb_json *tuner_confirm(eb_bay *b, const eb_json *ask)
{
  tuner_spend(b, EB_BAY_TALKING, 0.3);
  if (eb_json_get_bool(ask, "snaps", false) && b->engine != NULL && b->running)
    eb_engine_blip(b->engine);
  return eb_json_from_bool(is_so(b, eb_json_get_string(ask, "key", "")));
}

/* Options that leave a bore out of the job, and those after which it counts again. */
static const char *const leaves[] = {"leave-out", "leave", NULL};
static const char *const mends[] = {"again", "mended", "repaired", "fixed", NULL};

/* Whether a word of `id`, letters and hyphens, begins with `word`. */
static bool speaks_of(const char *id, const char *word)
{
  size_t size = strlen(word);
  for (const char *at = strstr(id, word); at != NULL; at = strstr(at + 1, word))
    if (at == id || !isalnum((unsigned char)at[-1]))
      return size > 0;
  return false;
}

static const char *option_with(const eb_json *ask, const char *const *words)
{
  const eb_json *option = eb_json_first(eb_json_get(ask, "options"));
  for (; option != NULL; option = eb_json_next(option)) {
    const char *id = eb_json_get_string(option, "id", "");
    for (size_t w = 0; words[w] != NULL; w++)
      if (speaks_of(id, words[w]))
        return id;
  }
  return NULL;
}

/* A vent is moved when it is: before that, and once it is marked anew, there is nothing to see. */
static bool is_there(const eb_bay *b, const eb_engine_truth *truth, int fault, int bore)
{
  if (fault == EB_FAULT_VENT && !tuner_vent_is_off(b))
    return false;
  return truth->fault[fault] > 0 && (bore < 0 || truth->faulty[fault] == 0 || (truth->faulty[fault] >> bore & 1) != 0);
}

/* The option that names what is wrong at the bore that is asked about, or anywhere. */
static const char *named_fault(eb_bay *b, const eb_json *ask, const eb_engine_truth *truth)
{
  for (int f = 0; f < EB_FAULTS; f++) {
    const char *words[] = {eb_fault_word((eb_fault)f), NULL};
    const char *id = is_there(b, truth, f, tuner_bore(b, ask)) ? option_with(ask, words) : NULL;
    if (id == NULL)
      continue;
    set_right(b, f);
    return id;
  }
  return NULL;
}

enum { VAIN_MAX = 3 };

/* Something is wrong with one bore: it is mended, or the bore is left out.  Where nothing is, it is the vent that makes
 * it look so, if the needle stands outside its band; who has looked in vain a few times leaves the bore out. */
static const char *mended_or_left(eb_bay *b, const eb_json *ask, const eb_engine_truth *truth)
{
  int bore = tuner_bore(b, ask);
  const char *leave = option_with(ask, leaves), *mend = option_with(ask, mends);
  if (bore < 0 || leave == NULL || mend == NULL)
    return NULL;
  bool found = false;
  for (int f = 0; f < EB_FAULTS; f++) {
    if (!is_there(b, truth, f, bore) || truth->faulty[f] == 0)
      continue;
    if (!set_right(b, f))
      return leave;
    found = true;
  }
  if (!found && ++b->vain[bore] > VAIN_MAX)
    return leave;
  if (!found && b->running && !in_band(b))
    tuner_turn_vent(b);
  return mend;
}

bool tuner_asks_of_fault(const eb_json *ask)
{
  const char *words[EB_FAULTS + 1] = {NULL};
  for (int f = 0; f < EB_FAULTS; f++)
    words[f] = eb_fault_word((eb_fault)f);
  return option_with(ask, words) != NULL || (option_with(ask, leaves) != NULL && option_with(ask, mends) != NULL);
}

eb_faults tuner_named_faults(const eb_json *ask)
{
  eb_faults named = 0;
  for (int f = 0; f < EB_FAULTS; f++) {
    const char *words[] = {eb_fault_word((eb_fault)f), NULL};
    if (option_with(ask, words) != NULL)
      named |= 1U << f;
  }
  return named != 0 ? named : (1U << EB_FAULTS) - 1;
}

eb_faults tuner_faults_at(const eb_bay *b, int bore)
{
  eb_engine_truth truth;
  eb_faults there = 0;
  eb_engine_look(b->engine, &truth);
  for (int f = 0; f < EB_FAULTS; f++)
    if (is_there(b, &truth, f, bore) && (bore < 0 || truth.faulty[f] != 0))
      there |= 1U << f;
  return there;
}

static bool id_is_one_of(const char *id, const char *const *words)
{
  for (; *words != NULL; words++)
    if (speaks_of(id, *words))
      return true;
  return false;
}

eb_faults tuner_mend(eb_bay *b, const eb_json *ask, const char *id)
{
  eb_faults there = tuner_faults_at(b, tuner_bore(b, ask)), mended = 0;
  bool mending = id_is_one_of(id, mends), leaving = id_is_one_of(id, leaves);
  for (int f = 0; f < EB_FAULTS; f++) {
    bool named = speaks_of(id, eb_fault_word((eb_fault)f));
    if ((there >> f & 1) == 0 || !(named || mending || leaving))
      continue;
    if (leaving)
      tuner_find(b, f);
    else if (set_right(b, f))
      mended |= 1U << f;
  }
  return mended;
}

static const char *option_named(const eb_json *ask, const char *name)
{
  const eb_json *option = eb_json_first(eb_json_get(ask, "options"));
  while (option != NULL && strcmp(eb_json_get_string(option, "id", ""), name) != 0)
    option = eb_json_next(option);
  return eb_json_get_string(option, "id", NULL);
}

/* What the shop has at hand, and where its sensor stands. */
static const char *instrument(const eb_bay *b, const eb_json *ask)
{
  const char *const both[] = {"both", NULL}, *const probes[] = {"exhaust", NULL};
  const char *const sensors[] = {"mixture", NULL}, *const none[] = {"none", NULL};
  bool about_tools = option_with(ask, probes) != NULL || option_with(ask, sensors) != NULL;
  const char *id = NULL;
  if (!about_tools)
    return b->sensor ? option_named(ask, b->placed) : NULL;
  if (b->probe && b->sensor)
    id = option_with(ask, both);
  if (id == NULL && b->probe)
    id = option_with(ask, probes);
  if (id == NULL && b->sensor)
    id = option_with(ask, sensors);
  return id != NULL ? id : option_with(ask, none);
}

static bool goes_on(const char *id)
{
  static const char *const ends[] = {"stop", "end", "abort", "give-up", "cancel", "quit", "leave"};
  for (size_t w = 0; w < sizeof ends / sizeof ends[0]; w++)
    if (speaks_of(id, ends[w]))
      return false;
  return true;
}

/* The first option that goes on; before the engine is there any of these, drawn: the engine will be what is said. */
static const char *one_that_goes_on(eb_bay *b, const eb_json *ask)
{
  const eb_json *option = eb_json_first(eb_json_get(ask, "options"));
  const char *found = NULL;
  int count = 0;
  for (; option != NULL; option = eb_json_next(option)) {
    const char *id = eb_json_get_string(option, "id", "");
    if (!goes_on(id))
      continue;
    count++;
    if (found == NULL || (b->engine == NULL && stream_chance(&b->draws, 1.0 / count)))
      found = id;
  }
  return found != NULL ? found : eb_json_get_string(eb_json_first(eb_json_get(ask, "options")), "id", "");
}

eb_json *tuner_choose(eb_bay *b, const eb_json *ask)
{
  eb_engine_truth truth;
  const char *id = NULL;
  tuner_spend(b, EB_BAY_TALKING, 0.3);
  if (b->engine != NULL) {
    eb_engine_look(b->engine, &truth);
    id = named_fault(b, ask, &truth);
    if (id == NULL)
      id = mended_or_left(b, ask, &truth);
  }
  if (id == NULL)
    id = instrument(b, ask);
  return eb_json_from_string(id != NULL ? id : one_that_goes_on(b, ask));
}
