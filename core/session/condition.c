/* What is measured, and by what: air at a running engine by the gauge, or cold
 * a length at each plate of a stopped one by a feeler set or the like.
 *
 * Of a cold condition the evidence holds feeler gaps in millimetres, however
 * they were measured: a plate's open area, and with it the air of a nearly
 * closed one, goes with the gap, whatever its closed angle (airflow.h, throttle.h), and
 * with an edge's travel only by way of that angle.  Evidence takes a level that
 * is common to all bores for unknown; that is right here too, since an even
 * engine has no one right gap but equal ones.  A drift there is not: metal that
 * stands still does not wander. */
#include "private.h"

#include "evenbore/quantity.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const length_words[] = {"", "feeler gap", "edge travel"};

const char *length_word(length_kind kind)
{
  return length_words[kind];
}

condition *condition_find(eb_session *s, const char *name)
{
  for (int i = 0; i < s->job.condition_count; i++)
    if (strcmp(s->job.conditions[i].name, name) == 0)
      return &s->job.conditions[i];
  return NULL;
}

const condition *condition_current(const eb_session *s)
{
  return s->job.condition_count == 0 ? NULL : &s->job.conditions[s->job.current];
}

const eb_gauge *condition_gauge(const eb_session *s)
{
  const condition *c = condition_current(s);
  return c != NULL && c->cold ? &c->gauge : &s->job.gauge;
}

int condition_passes(const eb_session *s)
{
  const condition *c = condition_current(s);
  return c->cold ? c->passes : s->job.pass;
}

engine_state condition_engine(const condition *c)
{
  return c != NULL && c->cold ? ENGINE_STOPPED : ENGINE_RUNNING;
}

/* How far apart plates stand before anybody has set them by a length, ln; this project's own. */
static const double COLD_SPREAD = 0.3;

static eb_status create_evidence(const eb_session *s, bool cold, eb_evidence **evidence, eb_error *error)
{
  if (!cold)
    return eb_evidence_create(s->host, &s->job.layout, &s->job.gauge, evidence, error);
  eb_layout layout = s->job.layout;
  layout.plate_spread = COLD_SPREAD;
  eb_status status = eb_evidence_create(s->host, &layout, &s->job.gauge, evidence, error);
  if (status == EB_OK)
    eb_evidence_still(*evidence);
  return status;
}

static eb_status add_condition(eb_session *s, const char *name, bool cold, condition **added, eb_error *error)
{
  if (name[0] == '\0' || s->job.condition_count == CONDITIONS_MAX || strlen(name) >= sizeof s->job.conditions[0].name)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "\"%.40s\" is one condition too many, or its name too long; at most %d",
                   name, (int)CONDITIONS_MAX);
  condition *new = &s->job.conditions[s->job.condition_count];
  *new = (condition){.cold = cold};
  eb_status status = create_evidence(s, cold, &new->evidence, error);
  if (status != EB_OK)
    return status;
  snprintf(new->name, sizeof new->name, "%s", name);
  s->job.condition_count++;
  for (int i = 0; i < s->job.layout.bore_count; i++)
    if (s->job.left_out >> i & 1)
      eb_evidence_leave_out(new->evidence, i);
  *added = new;
  /* Readings in another condition share nothing with those before, the gauge's level included. */
  return eb_evidence_period(new->evidence, error);
}

static eb_status read_length(const eb_json *request, length_kind *kind, eb_error *error)
{
  const char *word = eb_json_get_string(request, "length", "");
  for (*kind = LENGTH_GAP; *kind <= LENGTH_TRAVEL; (*kind)++)
    if (strcmp(word, length_words[*kind]) == 0)
      return EB_OK;
  return eb_fail(error, EB_BAD_VALUE, "",
                 "a cold condition measures a \"feeler gap\" or an \"edge travel\", two different lengths; length is "
                 "to be one of them");
}

/* A gauge of lengths is read as one of air is, but for its unit. */
static eb_status read_cold_gauge(const eb_json *json, eb_gauge *gauge, eb_error *error)
{
  if (!eb_json_is_object(json))
    return eb_fail(error, EB_BAD_VALUE, "gauge",
                   "a cold condition needs a gauge of its own, such as {\"low\":0.03,\"high\":1,\"step\":0.01,"
                   "\"best\":[0.03,1],\"unit\":\"mm\"}");
  const char *unit = eb_json_get_string(json, "unit", "mm");
  const char *symbol = NULL;
  eb_status status = eb_unit_symbol(EB_LENGTH, unit, &symbol, error);
  if (status != EB_OK)
    return status;
  eb_json *marks = eb_json_copy(json);
  if (marks == NULL)
    return out_of_memory(error);
  eb_json_remove(marks, "unit");
  status = eb_gauge_read(marks, "gauge", gauge, error);
  eb_json_destroy(marks);
  if (status == EB_OK && !(gauge->low > 0))
    return eb_fail(error, EB_OUT_OF_RANGE, "gauge", "low is the least length that it can show, above 0");
  snprintf(gauge->unit, sizeof gauge->unit, "%s", symbol);
  return status;
}

static eb_status read_tolerance(const eb_json *request, double *tolerance, eb_error *error)
{
  *tolerance = eb_json_get_number(request, "tolerance", *tolerance);
  return *tolerance >= 0.001 && *tolerance <= 0.5
             ? EB_OK
             : eb_fail(error, EB_OUT_OF_RANGE, "", "tolerance is a number from 0.001 to 0.5, such as 0.15 for 15 %%");
}

static eb_status check_plate(const eb_session *s, length_kind kind, eb_error *error)
{
  const eb_throttle *known = &s->job.geometry.common;
  if (kind != LENGTH_TRAVEL || (known->plate.bore_mm > 0 && known->closed_known))
    return EB_OK;
  return eb_fail(error, EB_NOT_FOUND, "",
                 "what an edge travel gives in air depends on the plate; tell bore_mm and closed_deg by job:throttle "
                 "first");
}

eb_status condition_declare(eb_session *s, const eb_json *request, eb_error *error)
{
  const char *name = eb_json_get_string(request, "name", "");
  if (strcmp(eb_json_get_string(request, "engine", ""), "stopped") != 0 ||
      strcmp(eb_json_get_string(request, "quantity", ""), "length") != 0)
    return eb_fail(error, EB_SCRIPT, "",
                   "a condition of its own is one of a stopped engine and of lengths: engine = \"stopped\", quantity = "
                   "\"length\"; what is measured running needs none");
  condition made = {.cold = true, .gauge = eb_gauge_usual(), .tolerance = s->job.tolerance};
  eb_status status = read_length(request, &made.length, error);
  if (status == EB_OK)
    status = read_cold_gauge(eb_json_get(request, "gauge"), &made.gauge, error);
  if (status == EB_OK)
    status = read_tolerance(request, &made.tolerance, error);
  if (status == EB_OK)
    status = check_plate(s, made.length, error);
  if (status != EB_OK)
    return status;
  condition *c = condition_find(s, name);
  if (c != NULL && (!c->cold || c->length != made.length))
    return eb_fail(error, EB_REFUSED, "", "\"%.40s\" is a condition already, and measures %s; name this one otherwise",
                   name, c->cold ? length_word(c->length) : "air");
  if (c == NULL)
    status = add_condition(s, name, true, &c, error);
  if (status != EB_OK)
    return status;
  c->length = made.length;
  c->gauge = made.gauge;
  c->tolerance = made.tolerance;
  c->plate = s->job.geometry.common.plate;
  return EB_OK;
}

/* The feeler gap that a length in the gauge's unit stands for; false: this plate cannot stand so. */
static bool gap_of(const condition *c, double length, double *gap_mm)
{
  double mm = 0;
  eb_opening opening;
  if (eb_unit_convert(EB_LENGTH, length, c->gauge.unit, "mm", &mm, NULL) != EB_OK)
    return false;
  if (c->length == LENGTH_TRAVEL) {
    if (eb_opening_at_travel(&c->plate, (eb_edge_travel){mm}, &opening, NULL) != EB_OK)
      return false;
    mm = opening.gap.mm;
  }
  *gap_mm = mm;
  return mm > 0;
}

/* And back, in `unit`. */
static double length_of(const condition *c, double gap_mm, const char *unit)
{
  double mm = gap_mm;
  eb_opening opening;
  if (c->length == LENGTH_TRAVEL && eb_opening_at_gap(&c->plate, (eb_feeler_gap){gap_mm}, &opening, NULL) == EB_OK)
    mm = opening.travel.mm;
  eb_unit_convert(EB_LENGTH, mm, "mm", unit, &mm, NULL);
  return mm;
}

double condition_last(const condition *c, int bore)
{
  double last = 0;
  if (eb_evidence_count(c->evidence, bore, &last) == 0)
    return 0;
  return c->cold ? length_of(c, last, c->gauge.unit) : last;
}

/* What the gauge resolves where it was read, as a gap. */
static eb_gauge gauge_at(const condition *c, double length, double gap_mm)
{
  eb_gauge gauge = c->gauge;
  double half = fmin(c->gauge.step / 2, length / 2);
  double below_mm = 0, above_mm = 0;
  if (!gap_of(c, length - half, &below_mm) || !gap_of(c, length + half, &above_mm))
    return gauge;
  double slope = (above_mm - below_mm) / (2 * half);
  gauge.step = slope * c->gauge.step;
  gauge.repeatability *= slope * length / gap_mm;
  return gauge;
}

bool condition_shut(const eb_session *s, int bore, double value, bool confirmed)
{
  const condition *c = condition_current(s);
  double gap_mm = 0;
  if (value < c->gauge.low || !gap_of(c, value, &gap_mm))
    return true;
  return confirmed && gap_mm < eb_evidence_row_median(c->evidence, bore) / 3;
}

eb_status condition_reading(eb_session *s, int bore, double value, eb_error *error)
{
  condition *c = &s->job.conditions[s->job.current];
  double gap_mm = 0;
  c->read = true;
  if (!c->cold)
    return eb_evidence_reading(c->evidence, bore, value, error);
  if (!gap_of(c, value, &gap_mm))
    return EB_OK;
  eb_gauge gauge = gauge_at(c, value, gap_mm);
  eb_evidence_set_gauge(c->evidence, &gauge);
  return eb_evidence_reading(c->evidence, bore, gap_mm, error);
}

eb_slip condition_slip(const eb_session *s, int bore, double value)
{
  const condition *c = condition_current(s);
  double last = 0;
  eb_evidence_count(c->evidence, bore, &last);
  double row = eb_evidence_row_median(c->evidence, bore);
  if (!c->cold)
    return eb_gauge_slip(&s->job.gauge, value, last, row);
  eb_slip slip = eb_gauge_slip(&c->gauge, value, 0, 0);
  double gap_mm = 0;
  if (slip != EB_SLIP_NONE || !gap_of(c, value, &gap_mm))
    return slip == EB_SLIP_NONE ? EB_SLIP_OFF_SCALE : slip;
  eb_gauge any = c->gauge;
  any.low = 0;
  any.high = INFINITY;
  return eb_gauge_slip(&any, gap_mm, last, row);
}

static void forget_all(condition *c)
{
  eb_evidence_strike(c->evidence, (eb_bores)-1, EB_SINCE_EVER);
  c->claims = c->stale = false;
}

void condition_forget(eb_session *s, eb_bores bores, bool cold_only)
{
  for (int k = 0; k < s->job.condition_count; k++) {
    condition *c = &s->job.conditions[k];
    c->claims = c->claims && !c->cold;
    if (c->cold || !cold_only)
      eb_evidence_strike(c->evidence, bores, EB_SINCE_EVER);
  }
}

eb_status condition_pass(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  const char *name = eb_json_get_string(request, "condition", "idle");
  condition *c = condition_find(s, name);
  if (s->job.engine != condition_engine(c))
    return eb_fail(error, EB_REFUSED, "", "a pass needs a %s engine and it is %s; %s it with job:%s_engine",
                   engine_word(condition_engine(c)),
                   s->job.engine == ENGINE_UNKNOWN ? (c != NULL && c->cold ? "not known to stand" : "not known to run")
                                                   : engine_word(s->job.engine),
                   c != NULL && c->cold ? "stop" : "start", c != NULL && c->cold ? "stop" : "start");
  if (s->job.in_pass)
    return eb_fail(error, EB_REFUSED, "", "pass %d is still open; close it before the next", condition_passes(s));
  eb_status status = c == NULL ? add_condition(s, name, false, &c, error) : EB_OK;
  if (status != EB_OK)
    return status;
  if (c->stale)
    forget_all(c);
  s->job.current = (int)(c - s->job.conditions);
  status = eb_evidence_pass(c->evidence, error);
  if (status != EB_OK)
    return status;
  s->job.in_pass = true;
  if (c->cold)
    c->passes++;
  else
    s->job.pass++;
  *reply = eb_json_object();
  return eb_json_set_number(*reply, "pass", condition_passes(s)) ? EB_OK : out_of_memory(error);
}

eb_status condition_close(eb_session *s, eb_json **reply, eb_error *error)
{
  if (!s->job.in_pass)
    return eb_fail(error, EB_REFUSED, "", "no pass is open");
  eb_closure closure;
  eb_evidence_close(job_evidence(s), &closure);
  s->job.in_pass = false;
  eb_json *r = eb_json_object();
  *reply = r;
  bool made =
      eb_json_set_bool(r, "accepted", closure.accepted) && eb_json_set_bool(r, "comparable", closure.comparable) &&
      eb_json_set_number(r, "change", expm1(closure.change)) && eb_json_set_number(r, "limit", expm1(closure.limit));
  return made ? EB_OK : out_of_memory(error);
}

const char *condition_unit(const eb_session *s, const condition *c)
{
  return eb_habits_unit(&s->job.habits, EB_LENGTH, c->gauge.unit, c->gauge.high);
}

/* The middle one of the gaps that count: one plate that stands far off does not move it, as it would a mean. */
static double middle_gap(const eb_verdict *verdict, int bores)
{
  double sorted[EB_BORES_MAX];
  int count = 0;
  for (int i = 0; i < bores; i++) {
    if (verdict->bore[i].word == EB_LEFT_OUT || verdict->bore[i].readings == 0)
      continue;
    int at = count++;
    for (; at > 0 && sorted[at - 1] > verdict->bore[i].reading; at--)
      sorted[at] = sorted[at - 1];
    sorted[at] = verdict->bore[i].reading;
  }
  return count == 0 ? 0 : sqrt(sorted[(count - 1) / 2] * sorted[count / 2]);
}

eb_status condition_judge(eb_session *s, const eb_verdict *verdict, eb_json *told, eb_error *error)
{
  condition *c = &s->job.conditions[s->job.current];
  c->claims = true;
  c->claim = verdict->claim;
  if (!c->cold)
    return EB_OK;
  const char *unit = condition_unit(s, c);
  bool made = true;
  c->target_mm = middle_gap(verdict, s->job.layout.bore_count);
  for (int i = 0; made && i < s->job.layout.bore_count; i++) {
    const eb_bore_verdict *bore = &verdict->bore[i];
    c->gap_mm[i] = bore->readings == 0 ? 0 : bore->reading;
    eb_json *value = eb_json_member(eb_json_member(told, "bores"), s->job.layout.bore[i]);
    if (bore->readings > 0)
      made = eb_json_set_number(value, "value", length_of(c, bore->reading, unit)) &&
             eb_json_set_number(value, "apart", bore->reading / c->target_mm - 1);
  }
  made = made && eb_json_set_string(told, "length", length_word(c->length)) && eb_json_set_string(told, "unit", unit) &&
         eb_json_set_number(told, "target", length_of(c, c->target_mm, unit));
  return made ? EB_OK : out_of_memory(error);
}

static eb_json *cold_claim(const condition *c)
{
  eb_json *claim = eb_json_object();
  if (eb_json_set_string(claim, "condition", c->name) && eb_json_set_string(claim, "length", length_word(c->length)) &&
      eb_json_set_number(claim, "tolerance", c->claim) && eb_json_set_number(claim, "wanted", c->tolerance))
    return claim;
  eb_json_destroy(claim);
  return NULL;
}

bool condition_add_claims(const eb_session *s, eb_json *end)
{
  eb_json *list = eb_json_array();
  bool made = list != NULL;
  for (int i = 0; made && i < s->job.condition_count; i++)
    if (s->job.conditions[i].cold && s->job.conditions[i].claims)
      made = eb_json_add(list, cold_claim(&s->job.conditions[i]));
  if (made && eb_json_count(list) > 0)
    return eb_json_set(end, "cold", list);
  eb_json_destroy(list);
  return made;
}

double condition_tolerance(const eb_session *s)
{
  const condition *c = condition_current(s);
  return c != NULL && c->cold ? c->tolerance : s->job.tolerance;
}

static int only_bore(eb_bores side)
{
  for (int i = 0; i < EB_BORES_MAX; i++)
    if (side == (eb_bores)1 << i)
      return i;
  return -1;
}

static eb_json *target_json(const eb_session *s, const condition *c)
{
  const char *unit = condition_unit(s, c);
  double half_mm = 0;
  eb_unit_convert(EB_LENGTH, c->gauge.step / 2, c->gauge.unit, unit, &half_mm, NULL);
  double value = length_of(c, c->target_mm, unit);
  eb_json *made = eb_json_object();
  if (eb_json_set_string(made, "what", length_word(c->length)) && eb_json_set_bool(made, "to", true) &&
      eb_json_set_number(made, "value", value) && eb_json_set_number(made, "low", value - half_mm) &&
      eb_json_set_number(made, "high", value + half_mm) && eb_json_set_string(made, "unit", unit))
    return made;
  eb_json_destroy(made);
  return NULL;
}

eb_status condition_adjust(eb_session *s, const char *name, const eb_adjuster *adjuster, eb_json *ask, double *move,
                           eb_error *error)
{
  const condition *c = condition_find(s, name);
  int bore = only_bore(adjuster->first);
  if (c == NULL || !c->cold)
    return eb_fail(error, EB_NOT_FOUND, "", "\"%.40s\" is no condition of a stopped engine; declare it first", name);
  if (s->job.engine != ENGINE_STOPPED)
    return eb_fail(error, EB_REFUSED, "", "a %s is set on a stopped engine only; stop it with job:stop_engine",
                   length_word(c->length));
  if (adjuster->second != 0 || bore < 0)
    return eb_fail(error, EB_REFUSED, "", "%s moves more than one plate: there is no one length to set it to",
                   adjuster->title);
  if (!(c->target_mm > 0))
    return eb_fail(error, EB_REFUSED, "", "there is no verdict in \"%.40s\" yet to set a plate by", name);
  /* A plate that is shut has no gap to start from. */
  double wished = c->gap_mm[bore] > 0 ? log(c->target_mm / c->gap_mm[bore]) : 1;
  *move = fmin(fmax(wished, -1), 1);
  return eb_json_set_string(ask, "condition", c->name) && eb_json_set(ask, "amount", target_json(s, c))
             ? EB_OK
             : out_of_memory(error);
}
