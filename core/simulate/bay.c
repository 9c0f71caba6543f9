/* A bay: who hears, who answers, and what came of it. */
#include "tuner.h"

#include "engine.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

enum { TUNER = 6, FAULT_CHOICE = 7, REFUSALS_MAX = 20 }; /* streams of the seed, beside the engine's */

eb_skill eb_skill_usual(void)
{
  return (eb_skill){.hand = 1, .slips = 0.01};
}

eb_bay_options eb_bay_options_usual(void)
{
  return (eb_bay_options){.seed = 1, .engine = eb_engine_options_usual(), .skill = eb_skill_usual()};
}

const char *eb_bay_minutes_word(eb_bay_minutes kind)
{
  static const char *const words[EB_BAY_MINUTES] = {"talking", "waiting", "reading", "adjusting", "starting"};
  return words[kind];
}

static eb_status check(const eb_bay_options *o, eb_error *error)
{
  const double shares[] = {o->skill.slips, o->skill.forgets};
  for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++)
    if (!(shares[i] >= 0 && shares[i] <= 1))
      return eb_fail(error, EB_OUT_OF_RANGE, "", "a share of a tuner's mistakes is %g; 0 to 1 would be right",
                     shares[i]);
  if (!(o->skill.hand > 0 && o->skill.hand <= 5))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "a tuner's hand is %g; above 0 up to 5 would be right", o->skill.hand);
  for (int f = 0; f < EB_FAULTS; f++)
    if (!(o->fault[f] >= 0 && o->fault[f] <= EB_FAULT_STRENGTH_MAX))
      return eb_fail(error, EB_OUT_OF_RANGE, "", "the strength of \"%s\" is %g; 0 to %d would be right",
                     eb_fault_word((eb_fault)f), o->fault[f], (int)EB_FAULT_STRENGTH_MAX);
  return EB_OK;
}

eb_status eb_bay_create(const eb_host *host, const eb_bay_options *options, eb_bay **bay, eb_error *error)
{
  eb_bay_options usual = eb_bay_options_usual();
  const eb_bay_options *chosen = options == NULL ? &usual : options;
  eb_status status = check(chosen, error);
  if (status != EB_OK)
    return status;
  eb_bay *b = host->allocate(host->context, NULL, sizeof *b);
  if (b == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for a simulated bay");
  *b = (eb_bay){.host = host, .options = *chosen, .draws = stream_open(chosen->seed, TUNER)};
  tuner_close_eyes(b);
  static const char *const places[] = {"all", "each", "row-1"};
  b->probe = stream_chance(&b->draws, 0.4);
  b->sensor = stream_chance(&b->draws, 0.4);
  b->placed = places[(int)stream_uniform(&b->draws, 0, 3)];
  *bay = b;
  return EB_OK;
}

void eb_bay_destroy(eb_bay *bay)
{
  if (bay == NULL)
    return;
  eb_engine_destroy(bay->engine);
  bay->host->allocate(bay->host->context, bay, 0);
}

/* The message has the layout as it is shown; who declares one does not list the bores apart. */
static eb_status read_layout(const eb_json *shown, eb_layout *layout, eb_error *error)
{
  eb_json *declared = eb_json_copy(shown);
  if (declared == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  eb_json_remove(declared, "bores");
  eb_status status = eb_layout_read(declared, "layout", layout, error);
  eb_json_destroy(declared);
  return status;
}

static void plan_swap(eb_bay *b)
{
  b->swap_pass = 1 + (int)stream_uniform(&b->draws, 0, 2);
  b->swap_bore = (int)stream_uniform(&b->draws, 0, b->layout.bore_count - 1);
}

static eb_status inject(eb_bay *b, int fault, eb_error *error)
{
  if (fault != EB_FAULT_SWAP)
    return eb_engine_inject(b->engine, (eb_fault)fault, b->options.fault[fault], 0, error);
  if (b->layout.bore_count < 3)
    return eb_fail(error, EB_REFUSED, "", "nobody swaps the readings of two bores");
  plan_swap(b);
  return EB_OK;
}

/* The first in a drawn order that this engine can have. */
static void inject_one(eb_bay *b)
{
  int order[EB_FAULTS], count = 0;
  stream draws = stream_open(b->options.seed, FAULT_CHOICE);
  for (int f = 0; f < EB_FAULTS; f++)
    if (b->options.fault[f] > 0)
      order[count++] = f;
  while (count > 0) {
    int at = (int)stream_uniform(&draws, 0, count);
    if (inject(b, order[at], NULL) == EB_OK)
      return;
    order[at] = order[--count];
  }
}

static eb_status inject_all(eb_bay *b, eb_error *error)
{
  eb_status status = EB_OK;
  if (b->options.one_fault)
    inject_one(b);
  else
    for (int f = 0; status == EB_OK && f < EB_FAULTS; f++)
      if (b->options.fault[f] > 0)
        status = inject(b, f, error);
  return status;
}

/* The needle stands in the middle of the gauge's band where the vent was set with care. */
static void fit_gauge(eb_bay *b, eb_engine_options *o)
{
  if (!b->options.has_gauge && b->gauge_told)
    o->gauge = b->told;
  if (o->needle < o->gauge.best_low || o->needle > o->gauge.best_high)
    o->needle = 0.5 * (o->gauge.best_low + o->gauge.best_high);
}

static eb_status make_engine(eb_bay *b, const eb_json *layout, eb_error *error)
{
  static const double OVERNIGHT_MIN = 1e5;
  eb_engine_options o = b->options.engine;
  eb_status status = read_layout(layout, &b->layout, error);
  fit_gauge(b, &o);
  if (status == EB_OK)
    status = eb_engine_create(b->host, &b->layout, b->options.seed, &o, &b->engine, error);
  if (status != EB_OK)
    return status;
  b->options.engine = o;
  b->idled_k = o.manifold_k;
  status = inject_all(b, error);
  if (status == EB_OK) {
    tuner_mark_vent(b);
    eb_engine_wait(b->engine, OVERNIGHT_MIN);
    return b->running ? eb_engine_start(b->engine, error) : EB_OK; /* it was started before anybody asked what it is */
  }
  eb_engine_destroy(b->engine);
  b->engine = NULL;
  return status;
}

eb_status eb_bay_hear(eb_bay *b, const eb_json *message, eb_error *error)
{
  const char *type = eb_json_get_string(message, "type", "");
  if (strcmp(type, "ask") == 0) {
    b->refusals = 0;
    return EB_OK;
  }
  const eb_json *layout = eb_json_get(message, "layout");
  const eb_json *gauge = eb_json_get(message, "gauge");
  if (strcmp(type, "refused") == 0) {
    b->refusals++;
    b->work.refused++;
  }
  if (strcmp(type, "hello") == 0 && eb_json_is_object(gauge)) {
    eb_gauge told = eb_gauge_usual();
    b->gauge_told = eb_gauge_read(gauge, "hello", &told, NULL) == EB_OK;
    b->told = told;
  }
  return b->engine == NULL && eb_json_is_object(layout) ? make_engine(b, layout, error) : EB_OK;
}

void tuner_spend(eb_bay *b, eb_bay_minutes on, double minutes)
{
  b->work.minutes += minutes;
  b->work.minutes_of[on] += minutes;
  if (b->engine != NULL)
    eb_engine_wait(b->engine, minutes);
}

static void start_or_stop(eb_bay *b, bool runs)
{
  eb_status status = runs ? eb_engine_start(b->engine, NULL) : eb_engine_stop(b->engine, NULL);
  assert(status == EB_OK);
  (void)status;
  b->condition[0] = '\0';
  b->work.stops += !runs;
  if (!runs)
    b->idled_k = b->engine->manifold_k;
}

void tuner_switch(eb_bay *b, bool runs)
{
  static const double SWITCH_MIN = 2;
  tuner_spend(b, EB_BAY_STARTING, SWITCH_MIN);
  if (b->engine != NULL && runs != b->running)
    start_or_stop(b, runs);
  b->running = runs;
}

static eb_json *switch_engine(eb_bay *b, const eb_json *ask)
{
  tuner_switch(b, strcmp(eb_json_get_string(ask, "state", ""), "running") == 0);
  return eb_json_from_bool(true);
}

static eb_json *read_caution(eb_bay *b, const eb_json *ask)
{
  tuner_spend(b, EB_BAY_TALKING, 0.5);
  return eb_json_from_string(eb_json_get_string(ask, "code", ""));
}

static eb_json *write_text(eb_bay *b, const eb_json *ask)
{
  tuner_spend(b, EB_BAY_TALKING, 0.5);
  return eb_json_from_string(eb_json_get_number(ask, "limit", 0) >= 8 ? "as found" : "-");
}

static eb_json *value_of(eb_bay *b, const eb_json *ask)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  if (strcmp(kind, "caution") == 0)
    return read_caution(b, ask);
  if (strcmp(kind, "confirm") == 0)
    return tuner_confirm(b, ask);
  if (strcmp(kind, "choose") == 0)
    return tuner_choose(b, ask);
  if (strcmp(kind, "number") == 0)
    return tuner_number(b, ask);
  if (strcmp(kind, "reading") == 0)
    return tuner_reading(b, ask);
  if (strcmp(kind, "adjust") == 0)
    return tuner_adjust(b, ask);
  if (strcmp(kind, "engine") == 0)
    return switch_engine(b, ask);
  return write_text(b, ask);
}

static eb_status write_line(eb_json *answer, bool made, char *line, size_t size, eb_error *error)
{
  char *text = made ? eb_json_text(answer) : NULL;
  eb_json_destroy(answer);
  if (text == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  assert(strlen(text) < size);
  snprintf(line, size, "%s", text);
  eb_json_text_free(text);
  return EB_OK;
}

static eb_status give_up(const char *why, char *line, size_t size, eb_error *error)
{
  eb_json *command = eb_json_object();
  bool made = eb_json_set_string(command, "do", "stop") && eb_json_set_string(command, "why", why);
  return write_line(command, made, line, size, error);
}

eb_status eb_bay_answer(eb_bay *b, const eb_json *ask, char *line, size_t size, eb_error *error)
{
  assert(size >= EB_BAY_LINE_SIZE);
  int most = b->options.skill.gives_up_after;
  if (most > 0 && b->work.prompts >= most)
    return give_up("the tuner has had enough", line, size, error);
  if (b->refusals >= REFUSALS_MAX)
    return give_up("no answer is taken", line, size, error);
  b->work.prompts += b->refusals == 0;
  double waited_min = b->work.minutes_of[EB_BAY_WAITING];
  tuner_close_eyes(b);
  eb_json *answer = eb_json_object();
  bool made = eb_json_put_number(answer, "n", eb_json_get_number(ask, "n", 0)) &&
              eb_json_put(answer, "value", value_of(b, ask));
  b->sight.waited_min = b->work.minutes_of[EB_BAY_WAITING] - waited_min;
  return write_line(answer, made, line, size, error);
}

void eb_bay_account(const eb_bay *bay, eb_bay_work *work)
{
  *work = bay->work;
}

eb_engine *eb_bay_engine(eb_bay *bay)
{
  return bay->engine;
}

/* The throttle let go, and the engine as warm as it was when it ran: a claim is about that. */
eb_status eb_bay_truth(const eb_bay *b, eb_engine_truth *truth, eb_error *error)
{
  if (b->engine == NULL)
    return eb_fail(error, EB_NOT_FOUND, "", "no layout was named yet, so that there is no engine");
  eb_engine idling = *b->engine;
  idling.held_deg = 0;
  if (!b->running)
    idling.manifold_k = b->idled_k;
  eb_engine_look(&idling, truth);
  return EB_OK;
}

static bool is_left_out(const eb_json *claim, const char *bore)
{
  const eb_json *out = eb_json_first(eb_json_get(claim, "left_out"));
  for (; out != NULL; out = eb_json_next(out))
    if (strcmp(eb_json_as_string(out, ""), bore) == 0)
      return true;
  return false;
}

double eb_bay_spread(const eb_bay *b, const eb_json *claim)
{
  eb_engine_truth truth = {0};
  double sum = 0, spread = 0;
  int count = 0;
  if (eb_bay_truth(b, &truth, NULL) != EB_OK)
    return 0;
  for (int i = 0; i < b->layout.bore_count; i++)
    if (!is_left_out(claim, b->layout.bore[i])) {
      sum += truth.flow_kg_h[i];
      count++;
    }
  for (int i = 0; i < b->layout.bore_count; i++)
    if (!is_left_out(claim, b->layout.bore[i]))
      spread = fmax(spread, fabs(truth.flow_kg_h[i] * count / sum - 1));
  return spread;
}
