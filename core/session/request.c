/* What a procedure can ask of the core: the measurement, its verdict and plan. */
#include "private.h"

#include "evenbore/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Which bores the claim says nothing of; no member where it speaks of all. */
static bool add_left_out(const eb_session *s, eb_json *claim)
{
  return s->job.left_out == 0 || eb_json_set(claim, "left_out", eb_layout_names(&s->job.layout, s->job.left_out));
}

eb_json *claim_json(const eb_session *s)
{
  const condition *idle = &s->job.conditions[0];
  if (!idle->claims)
    return eb_json_null();
  eb_json *claim = eb_json_object();
  if (eb_json_set_number(claim, "tolerance", idle->claim) && eb_json_set_number(claim, "risk", s->job.risk) &&
      add_left_out(s, claim))
    return claim;
  eb_json_destroy(claim);
  return NULL;
}

static eb_status read_share(const eb_json *from, const char *key, double *share, eb_error *error)
{
  const eb_json *value = eb_json_get(from, key);
  if (value == NULL)
    return EB_OK;
  double number = eb_json_as_number(value, NAN);
  if (!(number >= 0.001 && number <= 0.5))
    return eb_fail(error, EB_OUT_OF_RANGE, eb_json_get_string(from, "at", ""),
                   "%s is a number from 0.001 to 0.5, such as 0.05 for 5 %%", key);
  *share = number;
  return EB_OK;
}

/* What else the session was given. */
static const eb_json *inputs_of(const eb_session *s)
{
  return s->journal == NULL ? s->options.inputs : eb_json_get(eb_journal_record(s->journal, 0), "inputs");
}

/* What was given at the start, or stands in the journal, comes before what the procedure declares. */
static eb_status take_given(eb_session *s, eb_error *error)
{
  const eb_json *habits = eb_json_get(inputs_of(s), "habits");
  eb_status status = habits == NULL ? EB_OK : eb_habits_read(habits, "habits", &s->job.habits, error);
  if (status != EB_OK)
    return status;
  if (s->journal == NULL) {
    if (s->options.gauge != NULL)
      s->job.gauge = *s->options.gauge;
    if (s->options.tolerance > 0)
      s->job.tolerance = s->options.tolerance;
    if (s->options.risk > 0)
      s->job.risk = s->options.risk;
    return EB_OK;
  }
  const eb_json *open = eb_journal_record(s->journal, 0);
  s->job.tolerance = eb_json_get_number(open, "tolerance", s->job.tolerance);
  s->job.risk = eb_json_get_number(open, "risk", s->job.risk);
  return eb_gauge_read(eb_json_get(open, "gauge"), "record 1", &s->job.gauge, error);
}

static bool can_be_shown(const char *text)
{
  size_t size = strlen(text);
  uint32_t c = 0;
  for (size_t at = 0; at < size; at += eb_utf8_decode(text + at, size - at, &c))
    if (eb_utf8_decode(text + at, size - at, &c) == 0 || eb_char_unprintable(c))
      return false;
  return true;
}

static eb_status check_head(const eb_json *declare, const char *place, eb_error *error)
{
  static const char *const keys[] = {"id", "version", "title"};
  const eb_json *procedure = eb_json_get(declare, "procedure");
  for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
    const char *text = eb_json_get_string(procedure, keys[i], "");
    if (text[0] == '\0' || strlen(text) > TITLE_MAX)
      return eb_fail(error, EB_SCRIPT, place, "the procedure needs %s, a text of at most %d characters", keys[i],
                     (int)TITLE_MAX);
    if (!can_be_shown(text))
      return eb_fail(error, EB_SCRIPT, place, "the procedure's %s holds a character that cannot be shown", keys[i]);
  }
  const char *id = eb_json_get_string(procedure, "id", "");
  if (strspn(id, "abcdefghijklmnopqrstuvwxyz0123456789-") != strlen(id) || strlen(id) >= EB_ID_SIZE)
    return eb_fail(error, EB_SCRIPT, place, "id \"%.40s\" is to be small letters, digits and hyphens, at most %d", id,
                   (int)EB_ID_SIZE - 1);
  double api = eb_json_get_number(procedure, "api", 0);
  if (api < 1)
    return eb_fail(error, EB_SCRIPT, place, "the procedure needs api = %d", (int)EB_API_LEVEL);
  if (api > EB_API_LEVEL)
    return eb_fail(error, EB_TOO_NEW, place,
                   "the procedure needs api level %g and this program knows up to %d; "
                   "a newer evenbore is needed",
                   api, (int)EB_API_LEVEL);
  return EB_OK;
}

/* What is to be known of where the procedure comes from, before anything else (session.h, inputs.origin). */
static eb_status read_origin(eb_session *s, eb_error *error)
{
  const eb_json *list = eb_json_get(eb_json_get(inputs_of(s), "origin"), "cautions");
  if (list == NULL)
    return EB_OK;
  eb_error met = {.status = EB_OK};
  if (check_texts(list, "cautions", &met) != EB_OK)
    return eb_fail(error, EB_BAD_VALUE, "inputs.origin", "%s", met.message);
  s->job.origin_cautions = eb_json_copy(list);
  return s->job.origin_cautions == NULL ? out_of_memory(error) : EB_OK;
}

/* Hazards that a shop adds to the core's own; there is no way to take one of those away. */
static eb_status read_cautions(eb_session *s, const eb_json *request, const char *place, eb_error *error)
{
  const eb_json *list = eb_json_get(request, "cautions");
  if (list == NULL)
    return EB_OK;
  if (eb_json_count(list) > SHOP_HAZARDS_MAX)
    return eb_fail(error, EB_SCRIPT, place, "cautions is to be a list of 1 to %d texts", (int)SHOP_HAZARDS_MAX);
  eb_error met = {.status = EB_OK};
  if (check_texts(list, "cautions", &met) != EB_OK)
    return eb_fail(error, met.status, place, "%s", met.message);
  s->job.shop_hazards = eb_json_copy(list);
  return s->job.shop_hazards == NULL ? out_of_memory(error) : EB_OK;
}

eb_status request_declare(eb_session *s, const eb_json *request, eb_error *error)
{
  const char *place = eb_json_get_string(request, "at", "");
  eb_status status = check_head(request, place, error);
  if (status == EB_OK)
    status = read_share(request, "tolerance", &s->job.tolerance, error);
  if (status == EB_OK)
    status = read_share(request, "risk", &s->job.risk, error);
  if (status == EB_OK)
    status = read_cautions(s, request, place, error);
  if (status == EB_OK)
    status = read_origin(s, error);
  if (status == EB_OK && eb_json_get(request, "gauge") != NULL)
    status = eb_gauge_read(eb_json_get(request, "gauge"), place, &s->job.gauge, error);
  if (status == EB_OK)
    status = take_given(s, error);
  if (status == EB_OK && eb_json_get(request, "layout") != NULL)
    status = job_set_layout(s, eb_json_get(request, "layout"), place, error);
  return status == EB_OK ? options_check(s, request, inputs_of(s), error) : status;
}

static eb_status needs_layout(const eb_session *s, eb_error *error)
{
  return s->job.has_layout ? EB_OK : eb_fail(error, EB_REFUSED, "", "the layout is not fixed yet; fix it first");
}

static eb_status set_gauge(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  eb_gauge gauge = s->job.gauge;
  eb_status status = eb_gauge_read(eb_json_get(request, "gauge"), "gauge", &gauge, error);
  if (status != EB_OK)
    return status;
  s->job.gauge = gauge;
  for (int i = 0; i < s->job.condition_count; i++)
    if (!s->job.conditions[i].cold)
      eb_evidence_set_gauge(s->job.conditions[i].evidence, &gauge);
  *reply = eb_gauge_json(&gauge);
  return EB_OK;
}

static eb_status leave_out(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  int bore = eb_layout_bore(&s->job.layout, eb_json_get_string(request, "bore", ""));
  if (bore < 0)
    return eb_fail(error, EB_NOT_FOUND, "", "there is no bore \"%.20s\" in this layout",
                   eb_json_get_string(request, "bore", ""));
  for (int i = 0; i < s->job.condition_count; i++) {
    eb_evidence_leave_out(s->job.conditions[i].evidence, bore);
    s->job.conditions[i].claims = false;
  }
  s->job.left_out |= (eb_bores)1 << bore;
  *reply = eb_json_object();
  return EB_OK;
}

/* What a verdict says of the whole engine, and which bores it leaves out. */
static eb_json *brief_verdict(const eb_json *verdict)
{
  static const char *const kept[] = {"word", "tolerance", "risk", "claim"};
  eb_json *brief = eb_json_object(), *out = eb_json_object();
  bool made = true;
  for (size_t i = 0; made && i < sizeof kept / sizeof kept[0]; i++)
    made = eb_json_set(brief, kept[i], eb_json_copy(eb_json_get(verdict, kept[i])));
  const eb_json *bore = eb_json_first(eb_json_get(verdict, "bores"));
  for (; made && bore != NULL; bore = eb_json_next(bore))
    if (strcmp(eb_json_get_string(bore, "word", ""), eb_word_text(EB_LEFT_OUT)) == 0)
      made = eb_json_set(out, eb_json_key(bore), eb_json_copy(bore));
  if (eb_json_set(brief, "bores", out) && made)
    return brief;
  eb_json_destroy(brief);
  return NULL;
}

static eb_status give_verdict(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  const condition *c = condition_current(s);
  if (c->cold && s->job.engine != ENGINE_STOPPED)
    return eb_fail(error, EB_REFUSED, "", "a verdict in \"%.40s\" is about a stopped engine, and it is %s", c->name,
                   engine_word(s->job.engine));
  eb_verdict verdict;
  eb_status status = eb_evidence_verdict(job_evidence(s), condition_tolerance(s), s->job.risk, &verdict, error);
  if (status != EB_OK)
    return status;
  eb_json *made = eb_verdict_json(&verdict, &s->job.layout);
  status =
      eb_json_set_string(made, "condition", c->name) ? condition_judge(s, &verdict, made, error) : out_of_memory(error);
  if (status != EB_OK) {
    eb_json_destroy(made);
    return status;
  }
  job_give(&s->job.verdict, made);
  if (s->job.current == 0)
    s->job.air = verdict;
  *reply = eb_json_get_bool(request, "brief", false) ? brief_verdict(made) : eb_json_copy(made);
  return EB_OK;
}

static eb_status no_adjuster(const eb_layout *layout, const char *id, eb_error *error)
{
  const char *ids[EB_ADJUSTERS_MAX];
  for (int k = 0; k < layout->adjuster_count; k++)
    ids[k] = layout->adjuster[k].id;
  const char *near = eb_nearest(id, ids, (size_t)layout->adjuster_count);
  return eb_fail(error, EB_NOT_FOUND, "", "there is no adjuster \"%.40s\" to plan without%s%s", id,
                 near == NULL ? "" : "; the nearest is ", near == NULL ? "" : near);
}

/* {"without": ["coupler-left", ...]} */
static eb_status read_without(const eb_json *request, const eb_layout *layout, eb_plan_options *options,
                              eb_error *error)
{
  const eb_json *without = eb_json_get(request, "without");
  if (without != NULL && !eb_json_is_array(without))
    return eb_fail(error, EB_BAD_VALUE, "", "a plan's option without is a list of adjusters' ids");
  for (int i = 0; i < eb_json_count(without); i++) {
    const char *id = eb_json_as_string(eb_json_at(without, i), "");
    int adjuster = eb_layout_adjuster(layout, id);
    if (adjuster < 0)
      return no_adjuster(layout, id, error);
    options->without |= (uint64_t)1 << adjuster;
  }
  return EB_OK;
}

static eb_status read_options(const eb_json *request, eb_plan_options *options, eb_error *error)
{
  const char *method = eb_json_get_string(request, "method", NULL);
  eb_status status = method == NULL ? EB_OK : eb_method_read(method, &options->method, error);
  options->one_at_a_time = eb_json_get_bool(request, "one_at_a_time", options->one_at_a_time);
  options->least_move = eb_json_get_number(request, "least_move", options->least_move);
  options->stop_effort_min = eb_json_get_number(request, "stop_effort", options->stop_effort_min);
  double reads = eb_json_get_number(request, "reads_max", options->reads_max);
  double attempts = eb_json_get_number(request, "attempts_max", options->attempts_max);
  if (status == EB_OK && !(options->least_move > 0 && options->least_move < 1 && options->stop_effort_min >= 0 &&
                           reads >= 1 && reads <= 100 && attempts >= 0 && attempts <= 1000))
    status = eb_fail(error, EB_OUT_OF_RANGE, "",
                     "a plan's option is out of range: least_move 0 to 1, stop_effort "
                     "from 0, reads_max 1 to 100, attempts_max 0 to 1000");
  options->reads_max = (int)reads;
  options->attempts_max = (int)attempts;
  return status;
}

static eb_status give_plan(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  eb_plan_options options = eb_plan_options_usual();
  eb_status status = read_options(request, &options, error);
  if (status == EB_OK)
    status = read_without(request, &s->job.layout, &options, error);
  if (status != EB_OK)
    return status;
  eb_plan plan;
  status = eb_evidence_plan(s->job.conditions[0].evidence, s->job.tolerance, s->job.risk, &options, &plan, error);
  if (status != EB_OK)
    return status;
  eb_json *made = eb_plan_json(&plan, &s->job.layout);
  status = made == NULL ? out_of_memory(error) : amount_add(s, made, error);
  job_give(&s->job.plan, made);
  *reply = status == EB_OK ? eb_json_copy(made) : NULL;
  return status;
}

static eb_json *last_readings(const eb_session *s)
{
  eb_json *readings = eb_json_object();
  bool made = readings != NULL;
  for (int i = 0; made && i < s->job.layout.bore_count; i++) {
    double last = condition_last(condition_current(s), i);
    if (last > 0)
      made = eb_json_set_number(readings, s->job.layout.bore[i], last);
  }
  if (made)
    return readings;
  eb_json_destroy(readings);
  return NULL;
}

static eb_json *state_inputs(const eb_session *s)
{
  const eb_json *inputs = inputs_of(s);
  eb_json *known = inputs == NULL ? eb_json_object() : eb_json_copy(inputs);
  eb_json_remove(known, "practice"); /* a procedure does the same at a simulated engine as at a real one */
  return known;
}

static eb_json *state_engine(const eb_session *s)
{
  return eb_json_from_string(engine_word(s->job.engine));
}

static eb_json *state_open(const eb_session *s)
{
  return eb_json_copy(s->job.open_parts);
}

static eb_json *state_pass(const eb_session *s)
{
  return eb_json_from_number(s->job.pass);
}

static eb_json *state_attempts(const eb_session *s)
{
  return eb_json_from_number(s->job.attempts);
}

static eb_json *state_layout(const eb_session *s)
{
  return s->job.has_layout ? eb_layout_json(&s->job.layout) : eb_json_null();
}

static eb_json *state_gauge(const eb_session *s)
{
  return eb_gauge_json(&s->job.gauge);
}

static eb_json *state_tolerance(const eb_session *s)
{
  return eb_json_from_number(s->job.tolerance);
}

static eb_json *state_risk(const eb_session *s)
{
  return eb_json_from_number(s->job.risk);
}

static eb_json *state_readings(const eb_session *s)
{
  return s->job.has_layout ? last_readings(s) : eb_json_null();
}

/* With `only` that member alone. */
static eb_status give_state(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  static const struct {
    const char *name;
    eb_json *(*make)(const eb_session *s);
  } members[] = {{"inputs", state_inputs},    {"engine", state_engine},       {"open", state_open},
                 {"pass", state_pass},        {"attempts", state_attempts},   {"layout", state_layout},
                 {"gauge", state_gauge},      {"tolerance", state_tolerance}, {"risk", state_risk},
                 {"readings", state_readings}};
  const char *only = eb_json_get_string(request, "only", NULL);
  bool made = true;
  *reply = eb_json_object();
  for (size_t i = 0; made && i < sizeof members / sizeof members[0]; i++)
    if (only == NULL || strcmp(only, members[i].name) == 0)
      made = eb_json_set(*reply, members[i].name, members[i].make(s));
  if (made && eb_json_first(*reply) == NULL)
    return eb_fail(error, EB_SCRIPT, "", "state has no \"%.40s\"", only);
  return made ? EB_OK : out_of_memory(error);
}

static eb_status give_shown(const eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  eb_quantity quantity;
  char text[EB_SHOWN_SIZE];
  const eb_json *value = eb_json_get(request, "value");
  eb_status status = eb_quantity_read(eb_json_get_string(request, "quantity", ""), &quantity, error);
  if (status == EB_OK && !eb_json_is_number(value))
    status = eb_fail(error, EB_SCRIPT, "", "value is to be a number");
  if (status == EB_OK)
    status =
        eb_habits_text(&s->job.habits, quantity, eb_json_as_number(value, 0), eb_json_get_string(request, "unit", ""),
                       eb_json_get_bool(request, "change", false), text, error);
  if (status != EB_OK)
    return status;
  *reply = eb_json_object();
  return eb_json_set_string(*reply, "text", text) ? EB_OK : out_of_memory(error);
}

static eb_status answer(eb_session *s, const char *op, const eb_json *request, eb_json **reply, eb_error *error)
{
  static const char *const ops[] = {"ask",        "tell",    "end",      "layout",     "gauge",  "throttle",
                                    "state",      "shown",   "pass",     "close",      "period", "leave_out",
                                    "verdict",    "plan",    "findings", "snap_bores", "strike", "compare",
                                    "crosscheck", "explain", "condition"};
  if (strcmp(op, "gauge") == 0)
    return set_gauge(s, request, reply, error);
  if (strcmp(op, "state") == 0)
    return give_state(s, request, reply, error);
  if (strcmp(op, "shown") == 0)
    return give_shown(s, request, reply, error);
  eb_status status = needs_layout(s, error);
  if (status != EB_OK)
    return status;
  if (strcmp(op, "throttle") == 0) {
    *reply = eb_json_object();
    return amount_read(s, eb_json_get(request, "throttle"), error);
  }
  if (strcmp(op, "condition") == 0) {
    *reply = eb_json_object();
    return condition_declare(s, request, error);
  }
  if (strcmp(op, "pass") == 0)
    return condition_pass(s, request, reply, error);
  if (strcmp(op, "close") == 0)
    return condition_close(s, reply, error);
  if (strcmp(op, "leave_out") == 0)
    return leave_out(s, request, reply, error);
  if (strcmp(op, "verdict") == 0)
    return give_verdict(s, request, reply, error);
  if (strcmp(op, "plan") == 0)
    return give_plan(s, request, reply, error);
  if (strcmp(op, "period") == 0) {
    *reply = eb_json_object();
    return job_new_period(s, error);
  }
  bool known = true;
  status = request_more(s, op, request, reply, &known, error);
  if (known)
    return status;
  const char *near = eb_nearest(op, ops, sizeof ops / sizeof ops[0]);
  return eb_fail(error, EB_SCRIPT, "", "there is no request \"%.40s\"%s%s", op, near == NULL ? "" : "; the nearest is ",
                 near == NULL ? "" : near);
}

eb_status request_answer(eb_session *s, const char *op, const eb_json *request, eb_json **reply, eb_error *error)
{
  eb_json *made = NULL;
  eb_status status = answer(s, op, request, &made, error);
  if (status == EB_OK && made == NULL)
    status = out_of_memory(error);
  if (status == EB_OK)
    *reply = made;
  else
    eb_json_destroy(made);
  return status;
}

static eb_status add_member(eb_json *message, const char *key, const eb_json *data, eb_error *error)
{
  if (data == NULL)
    return eb_fail(error, EB_REFUSED, "", "there is no %s to tell yet", key);
  return eb_json_set(message, key, eb_json_copy(data)) ? EB_OK : out_of_memory(error);
}

static eb_status add_given(eb_json *message, const char *key, tellable *what, eb_error *error)
{
  if (what->own == NULL)
    return add_member(message, key, what->value, error);
  eb_json *data = what->own;
  what->own = NULL;
  if (eb_json_set(message, key, data))
    return EB_OK;
  what->value = NULL;
  return out_of_memory(error);
}

void request_told(eb_session *s, const eb_json *message)
{
  const eb_json *verdict = eb_json_get(message, "verdict"), *plan = eb_json_get(message, "plan");
  if (verdict != NULL)
    s->job.verdict.value = verdict;
  if (plan != NULL)
    s->job.plan.value = plan;
}

void request_untold(eb_session *s)
{
  if (s->job.verdict.own == NULL)
    s->job.verdict.value = NULL;
  if (s->job.plan.own == NULL)
    s->job.plan.value = NULL;
}

static eb_status add_layout(const eb_session *s, eb_json *message, eb_error *error)
{
  eb_status status = needs_layout(s, error);
  if (status != EB_OK)
    return status;
  return eb_json_set(message, "layout", eb_layout_json(&s->job.layout)) ? EB_OK : out_of_memory(error);
}

/* The data of a tell are the core's own, so that every number on a screen goes back to readings. */
static eb_status add_data(eb_session *s, const char *kind, eb_json *message, eb_error *error)
{
  if (strcmp(kind, "note") == 0 || strcmp(kind, "caution") == 0)
    return EB_OK;
  if (strcmp(kind, "verdict") == 0 || strcmp(kind, "chart") == 0)
    return add_given(message, "verdict", &s->job.verdict, error);
  if (strcmp(kind, "plan") == 0)
    return add_given(message, "plan", &s->job.plan, error);
  if (strcmp(kind, "layout") == 0)
    return add_layout(s, message, error);
  if (strcmp(kind, "finding") == 0)
    return add_member(message, "findings", eb_json_get(s->job.more, "findings"), error);
  if (strcmp(kind, "comparison") == 0 || strcmp(kind, "crosscheck") == 0 || strcmp(kind, "explanation") == 0)
    return add_member(message, kind, eb_json_get(s->job.more, kind), error);
  return eb_fail(error, EB_SCRIPT, "",
                 "there is no tell of kind \"%.40s\"; it is one of note, caution, layout, chart, "
                 "verdict, plan, finding, comparison, crosscheck, explanation",
                 kind);
}

eb_status request_tell(eb_session *s, eb_json *request, eb_json **message, eb_error *error)
{
  const char *kind = eb_json_get_string(request, "kind", "");
  eb_json *made = eb_json_object();
  eb_status status =
      eb_json_set_string(made, "type", "tell") && eb_json_set_string(made, "kind", kind) ? EB_OK : out_of_memory(error);
  if (status == EB_OK)
    status = move_text(request, made, "text", PROMPT_MAX, true, true, error);
  if (status == EB_OK)
    status = move_text(request, made, "stage", TITLE_MAX, false, false, error);
  if (status == EB_OK)
    status = move_text(request, made, "at", ITEM_MAX, false, false, error);
  if (status == EB_OK)
    status = add_data(s, kind, made, error);
  if (status == EB_OK)
    *message = made;
  else
    eb_json_destroy(made);
  return status;
}
