/* What is asked: a request of the procedure, checked and completed by what the core knows. */
#include "private.h"

#include "evenbore/quantity.h"
#include "evenbore/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static size_t characters(const char *text, size_t size)
{
  size_t count = 0;
  for (size_t i = 0; i < size; i++)
    count += ((unsigned char)text[i] & 0xC0U) != 0x80U;
  return count;
}

static eb_status check_shown(const char *text, const char *key, size_t limit, bool newlines, eb_error *error)
{
  size_t size = strlen(text);
  size_t count = characters(text, size);
  if (count > limit)
    return eb_fail(error, EB_SCRIPT, "", "%s has %zu characters; at most %zu", key, count, limit);
  for (size_t at = 0; at < size;) {
    if (text[at] >= ' ' && text[at] <= '~') { /* as nearly all are */
      at++;
      continue;
    }
    uint32_t c = 0;
    at += eb_utf8_decode(text + at, size - at, &c);
    if (eb_char_unprintable(c) && !(newlines && c == '\n'))
      return eb_fail(error, EB_SCRIPT, "", "%s holds the control character U+%04X; only plain text can be shown", key,
                     (unsigned)c);
  }
  return EB_OK;
}

eb_status move_text(eb_json *from, eb_json *to, const char *key, size_t limit, bool required, bool newlines,
                    eb_error *error)
{
  const eb_json *value = eb_json_get(from, key);
  if (value == NULL && !required)
    return EB_OK;
  const char *text = eb_json_as_string(value, NULL);
  if (text == NULL || (required && text[0] == '\0'))
    return eb_fail(error, EB_SCRIPT, "", "%s is missing or no text", key);
  eb_status status = check_shown(text, key, limit, newlines, error);
  if (status != EB_OK)
    return status;
  return eb_json_move(from, value, to) ? EB_OK : out_of_memory(error);
}

eb_status check_texts(const eb_json *list, const char *key, eb_error *error)
{
  int count = eb_json_count(list);
  if (!eb_json_is_array(list) || count < 1 || count > ITEMS_MAX)
    return eb_fail(error, EB_SCRIPT, "", "%s is to be a list of 1 to %d texts", key, (int)ITEMS_MAX);
  for (const eb_json *item = eb_json_first(list); item != NULL; item = eb_json_next(item)) {
    const char *text = eb_json_as_string(item, "");
    if (text[0] == '\0')
      return eb_fail(error, EB_SCRIPT, "", "%s holds something that is no text, or empty", key);
    eb_status status = check_shown(text, key, ITEM_MAX, false, error);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

static eb_status move_texts(eb_json *from, eb_json *to, const char *key, bool required, eb_error *error)
{
  const eb_json *list = eb_json_get(from, key);
  if (list == NULL && !required)
    return EB_OK;
  eb_status status = check_texts(list, key, error);
  return status != EB_OK || eb_json_move(from, list, to) ? status : out_of_memory(error);
}

static eb_status move_flag(eb_json *from, eb_json *to, const char *key, eb_error *error)
{
  const eb_json *value = eb_json_get(from, key);
  if (value == NULL)
    return EB_OK;
  if (!eb_json_is_bool(value))
    return eb_fail(error, EB_SCRIPT, "", "%s is to be true or false", key);
  return eb_json_move(from, value, to) ? EB_OK : out_of_memory(error);
}

static eb_status make_caution(eb_json *request, eb_json *ask, eb_error *error)
{
  eb_status status = move_texts(request, ask, "hazards", true, error);
  if (status == EB_OK)
    status = move_flag(request, ask, "critical", error);
  if (status == EB_OK)
    status = move_text(request, ask, "applies", KEY_MAX, false, false, error);
  const char *when = eb_json_get_string(ask, "applies", "running");
  if (status == EB_OK && strcmp(when, "running") != 0 && strcmp(when, "stopped") != 0)
    return eb_fail(error, EB_SCRIPT, "", "applies is to be \"running\" or \"stopped\", the engine; or absent");
  return status;
}

/* With it Enter alone, or a held key, would say that a part is on. */
static eb_status refuse_default(const eb_json *ask, eb_error *error)
{
  bool done = eb_json_get(ask, "takes_off") != NULL || eb_json_get(ask, "refits") != NULL ||
              eb_json_get_bool(ask, "snaps", false);
  if (!done || eb_json_get(ask, "default") == NULL)
    return EB_OK;
  return eb_fail(error, EB_SCRIPT, "", "what was done to the engine has no default: the person says yes or no");
}

static eb_status make_confirm(eb_session *s, eb_json *request, eb_json *ask, eb_error *error)
{
  eb_status status = move_flag(request, ask, "default", error);
  if (status == EB_OK)
    status = move_texts(request, ask, "takes_off", false, error);
  if (status == EB_OK)
    status = move_texts(request, ask, "refits", false, error);
  if (status == EB_OK)
    status = move_flag(request, ask, "snaps", error);
  if (status == EB_OK)
    status = refuse_default(ask, error);
  if (status == EB_OK && eb_json_get_bool(ask, "snaps", false) &&
      (!s->job.has_layout || s->job.engine != ENGINE_RUNNING))
    return eb_fail(error, EB_REFUSED, "",
                   "a snap of the throttle needs a running engine; start it with job:start_engine");
  if (status != EB_OK || eb_json_get(ask, "takes_off") == NULL)
    return status;
  if (s->job.engine != ENGINE_STOPPED)
    return eb_fail(error, EB_REFUSED, "",
                   "parts come off a stopped engine only, and it is %s; stop it with "
                   "job:stop_engine",
                   s->job.engine == ENGINE_RUNNING ? "running" : "not known to be stopped");
  if (eb_json_count(s->job.open_parts) + eb_json_count(eb_json_get(ask, "takes_off")) > PARTS_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "more than %d parts would be off at once; refit some first",
                   (int)PARTS_MAX);
  return EB_OK;
}

static eb_status make_choose(eb_json *request, eb_json *ask, eb_error *error)
{
  eb_json *options = eb_json_member(request, "options");
  int count = eb_json_count(options);
  if (!eb_json_is_array(options) || count < 2 || count > ITEMS_MAX)
    return eb_fail(error, EB_SCRIPT, "", "options is to be a list of 2 to %d, each with id and text", (int)ITEMS_MAX);
  eb_json *made = eb_json_array();
  eb_status status = made == NULL ? out_of_memory(error) : EB_OK;
  for (int i = 0; status == EB_OK && i < count; i++) {
    eb_json *option = eb_json_element(options, i);
    eb_json *one = eb_json_object();
    status = move_text(option, one, "id", KEY_MAX, true, false, error);
    if (status == EB_OK)
      status = move_text(option, one, "text", ITEM_MAX, true, false, error);
    if (!eb_json_add(made, one) && status == EB_OK)
      status = out_of_memory(error);
  }
  if (status != EB_OK) {
    eb_json_destroy(made);
    return status;
  }
  return eb_json_set(ask, "options", made) ? EB_OK : out_of_memory(error);
}

static eb_json *band(double low, double high)
{
  eb_json *pair = eb_json_array();
  if (eb_json_add_number(pair, low) && eb_json_add_number(pair, high))
    return pair;
  eb_json_destroy(pair);
  return NULL;
}

/* [low, high] inside which the fact still holds when it is asked again after a resume. */
static eb_status move_holds(eb_json *request, eb_json *ask, eb_error *error)
{
  const eb_json *holds = eb_json_get(request, "holds");
  if (holds == NULL)
    return EB_OK;
  double low = eb_json_as_number(eb_json_at(holds, 0), NAN);
  double high = eb_json_as_number(eb_json_at(holds, 1), NAN);
  if (eb_json_count(holds) != 2 || !(low < high))
    return eb_fail(error, EB_SCRIPT, "", "holds is to be { low, high }, two numbers, low below high");
  return eb_json_move(request, holds, ask) ? EB_OK : out_of_memory(error);
}

/* A number that is shown in the shop's unit: what the procedure asked for goes into `asked`, and beside it stands
 * what is shown, with limits rounded inward. */
static eb_status in_shop_unit(eb_quantity quantity, const char *unit, eb_json *ask, eb_error *error)
{
  static const char *const keys[] = {"unit", "low", "high", "holds"};
  eb_json *asked = eb_json_object();
  bool made = asked != NULL;
  for (size_t i = 0; made && i < sizeof keys / sizeof keys[0]; i++)
    if (eb_json_get(ask, keys[i]) != NULL)
      made = eb_json_set(asked, keys[i], eb_json_copy(eb_json_get(ask, keys[i])));
  const char *from = eb_json_get_string(asked, "unit", "");
  const eb_json *holds = eb_json_get(asked, "holds");
  double low = 0, high = 0, holds_low = 0, holds_high = 0;
  eb_status status = made ? EB_OK : out_of_memory(error);
  if (status == EB_OK)
    status = eb_limits_inward(quantity, eb_json_get_number(asked, "low", 0), eb_json_get_number(asked, "high", 0), from,
                              unit, &low, &high, error);
  if (status == EB_OK && holds != NULL)
    status = eb_limits_inward(quantity, eb_json_as_number(eb_json_at(holds, 0), 0),
                              eb_json_as_number(eb_json_at(holds, 1), 0), from, unit, &holds_low, &holds_high, error);
  if (status != EB_OK) {
    eb_json_destroy(asked);
    return status;
  }
  eb_json_remove(ask, "step");
  made = eb_json_set_string(ask, "unit", unit) && eb_json_set_number(ask, "low", low) &&
         eb_json_set_number(ask, "high", high) &&
         (holds == NULL || eb_json_set(ask, "holds", band(holds_low, holds_high)));
  return eb_json_set(ask, "asked", asked) && made ? EB_OK : out_of_memory(error);
}

static eb_status make_number(const eb_session *s, eb_json *request, eb_json *ask, eb_error *error)
{
  eb_quantity quantity;
  const char *word = eb_json_get_string(request, "quantity", "");
  const char *unit = eb_json_get_string(request, "unit", "");
  eb_status status = eb_quantity_read(word, &quantity, error);
  double same = 0;
  if (status == EB_OK)
    status = eb_unit_convert(quantity, 1, unit, unit, &same, error);
  if (status != EB_OK)
    return status;
  double low = eb_json_get_number(request, "low", NAN);
  double high = eb_json_get_number(request, "high", NAN);
  if (!(low < high))
    return eb_fail(error, EB_SCRIPT, "", "low and high are to be numbers, low below high");
  bool made = eb_json_put_string(ask, "quantity", word) && eb_json_put_string(ask, "unit", unit) &&
              eb_json_put_number(ask, "low", low) && eb_json_put_number(ask, "high", high);
  double step = eb_json_get_number(request, "step", 0);
  if (made && step > 0)
    made = eb_json_put_number(ask, "step", step);
  status = made ? move_holds(request, ask, error) : out_of_memory(error);
  const char *asked = NULL;
  const char *shown = NULL;
  const char *wanted = eb_habits_unit(&s->job.habits, quantity, unit, fmax(fabs(low), fabs(high)));
  if (status == EB_OK)
    status = eb_unit_symbol(quantity, unit, &asked, error);
  if (status == EB_OK)
    status = eb_unit_symbol(quantity, wanted, &shown, error);
  return status == EB_OK && strcmp(asked, shown) != 0 ? in_shop_unit(quantity, shown, ask, error) : status;
}

static eb_status make_text(eb_json *request, eb_json *ask, eb_error *error)
{
  double limit = eb_json_get_number(request, "limit", 200);
  if (!(limit >= 1 && limit <= PROMPT_MAX))
    return eb_fail(error, EB_SCRIPT, "", "limit is to be from 1 to %d characters", (int)PROMPT_MAX);
  return eb_json_set_number(ask, "limit", floor(limit)) ? EB_OK : out_of_memory(error);
}

/* What is read cold is shown in the shop's unit of length. */
static eb_status complete_cold(const eb_session *s, const condition *c, eb_json *ask, eb_error *error)
{
  const char *unit = condition_unit(s, c);
  if (!eb_json_set_string(ask, "length", length_word(c->length)))
    return out_of_memory(error);
  if (strcmp(unit, c->gauge.unit) == 0)
    return EB_OK;
  double low = 0, high = 0;
  eb_status status =
      eb_limits_inward(EB_LENGTH, c->gauge.best_low, c->gauge.best_high, c->gauge.unit, unit, &low, &high, error);
  if (status == EB_OK && !eb_json_set(ask, "best", band(low, high)))
    status = out_of_memory(error);
  return status == EB_OK ? in_shop_unit(EB_LENGTH, unit, ask, error) : status;
}

static eb_status check_engine_for(const eb_session *s, const condition *c, eb_error *error)
{
  if (s->job.engine == condition_engine(c))
    return EB_OK;
  if (c->cold)
    return eb_fail(error, EB_REFUSED, "",
                   "a reading in \"%.40s\" needs a stopped engine and it is %s; begin a pass in another condition, or "
                   "stop it with job:stop_engine",
                   c->name, s->job.engine == ENGINE_RUNNING ? "running" : "not known to stand");
  return eb_fail(error, EB_REFUSED, "",
                 "a reading needs a running engine and it is %s; start it with "
                 "job:start_engine",
                 s->job.engine == ENGINE_STOPPED ? "stopped" : "not known to run");
}

/* Which way the shaft is pushed, where it is. */
static eb_status move_pushed(eb_json *request, eb_json *ask, eb_error *error)
{
  const eb_json *given = eb_json_get(request, "pushed");
  const char *way = eb_json_as_string(given, "");
  if (given == NULL)
    return EB_OK;
  if (strcmp(way, "open") != 0 && strcmp(way, "shut") != 0)
    return eb_fail(error, EB_SCRIPT, "", "pushed is to be \"open\" or \"shut\"");
  return eb_json_move(request, given, ask) ? EB_OK : out_of_memory(error);
}

static eb_status make_reading(eb_session *s, eb_json *request, eb_json *ask, eb_error *error)
{
  const char *name = eb_json_get_string(request, "bore", "");
  if (!s->job.has_layout)
    return eb_fail(error, EB_REFUSED, "", "the layout is not fixed yet; fix it before a reading");
  const condition *c = condition_current(s);
  if (s->job.engine == ENGINE_STOPPED && eb_json_get_bool(request, "running", false))
    return eb_fail(error, EB_REFUSED, "",
                   "a reading needs a running engine, and this one stands; start it with job:start_engine");
  eb_status status = check_engine_for(s, c, error);
  if (status != EB_OK)
    return status;
  int bore = eb_layout_bore(&s->job.layout, name);
  if (bore < 0)
    return eb_fail(error, EB_NOT_FOUND, "", "there is no bore \"%.20s\" in this layout", name);
  double last = 0;
  const eb_gauge *gauge = condition_gauge(s);
  bool made = eb_json_put_string(ask, "bore", name) && eb_json_put_number(ask, "pass", condition_passes(s)) &&
              eb_json_put_number(ask, "repeat", eb_evidence_count(c->evidence, bore, &last) + 1) &&
              eb_json_put_string(ask, "condition", c->name) &&
              eb_json_put_string(ask, "quantity", c->cold ? "length" : "flow") &&
              eb_json_put_string(ask, "unit", gauge->unit) && eb_json_put_number(ask, "low", gauge->low) &&
              eb_json_put_number(ask, "high", gauge->high) && eb_json_put_number(ask, "step", gauge->step) &&
              eb_json_put(ask, "best", band(gauge->best_low, gauge->best_high));
  if (!made)
    return out_of_memory(error);
  if (c->cold)
    return complete_cold(s, c, ask, error);
  status = move_flag(request, ask, "pressed", error);
  return status == EB_OK ? move_pushed(request, ask, error) : status;
}

static eb_json *share_json(const eb_layout *layout, const eb_adjuster *adjuster, double move)
{
  eb_json *share = eb_json_object();
  bool made = share != NULL;
  for (int i = 0; made && i < layout->bore_count; i++) {
    double effect = eb_adjuster_effect(adjuster, i);
    if (fabs(effect) > 0)
      made = eb_json_put_number(share, layout->bore[i], expm1(effect * move));
  }
  if (made)
    return share;
  eb_json_destroy(share);
  return NULL;
}

static eb_status make_amount(eb_json *request, eb_json *ask, eb_error *error)
{
  eb_json *amount = eb_json_member(request, "amount");
  if (amount == NULL || eb_json_is_null(amount))
    return eb_json_set(ask, "amount", eb_json_null()) ? EB_OK : out_of_memory(error);
  double value = eb_json_get_number(amount, "value", NAN);
  double low = eb_json_get_number(amount, "low", value);
  double high = eb_json_get_number(amount, "high", value);
  if (!isfinite(value) || !(low <= value && value <= high))
    return eb_fail(error, EB_SCRIPT, "",
                   "amount is to be {value =, unit =, what =, low =, high =}, value a number "
                   "between low and high; or absent");
  eb_json *made = eb_json_object();
  eb_status status = move_text(amount, made, "what", KEY_MAX, false, false, error);
  if (status == EB_OK)
    status = move_text(amount, made, "unit", KEY_MAX, true, false, error);
  bool done = eb_json_set_number(made, "value", value) && eb_json_set_number(made, "low", low) &&
              eb_json_set_number(made, "high", high);
  if (!eb_json_set(ask, "amount", made) || !done)
    return out_of_memory(error);
  return status;
}

static eb_status make_adjust(eb_session *s, eb_json *request, eb_json *ask, eb_error *error)
{
  const char *id = eb_json_get_string(request, "adjuster", "");
  int found = s->job.has_layout ? eb_layout_adjuster(&s->job.layout, id) : -1;
  if (found < 0)
    return eb_fail(error, EB_NOT_FOUND, "", "there is no adjuster \"%.40s\" in this layout", id);
  const eb_adjuster *adjuster = &s->job.layout.adjuster[found];
  const char *cold = eb_json_get_string(request, "condition", NULL);
  double move = eb_json_get_number(request, "move", NAN);
  if (cold == NULL && !(fabs(move) <= EB_MOVE_MAX))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "move is to be a number from -%g to %g, a wished change of a logarithm",
                   EB_MOVE_MAX, EB_MOVE_MAX);
  if (s->job.engine == ENGINE_UNKNOWN)
    return eb_fail(error, EB_REFUSED, "",
                   "%s is moved on an engine that is known to run or to stand; ask for it first with job:start_engine "
                   "or job:stop_engine",
                   adjuster->title);
  if (adjuster->stopped && s->job.engine != ENGINE_STOPPED)
    return eb_fail(error, EB_REFUSED, "", "%s is moved on a stopped engine only; stop it with job:stop_engine",
                   adjuster->title);
  eb_status status =
      cold == NULL ? make_amount(request, ask, error) : condition_adjust(s, cold, adjuster, ask, &move, error);
  if (status != EB_OK)
    return status;
  bool made = eb_json_put_string(ask, "adjuster", id) && eb_json_put_number(ask, "move", move) &&
              eb_json_put(ask, "share", share_json(&s->job.layout, adjuster, move)) &&
              eb_json_put_string(ask, "engine", engine_word(s->job.engine)) &&
              eb_json_put_number(ask, "attempt", s->job.attempts + 1);
  return made ? EB_OK : out_of_memory(error);
}

static bool shuts_throttle(const char *part)
{
  return strcasestr(part, "spring") != NULL || strcasestr(part, "stop") != NULL;
}

/* Every part that is still off by its name, spring and stop first: without them the throttle does not shut. */
static eb_status refuse_start(const eb_session *s, eb_error *error)
{
  eb_text parts;
  eb_text_init(&parts, s->host);
  bool races = false;
  for (int round = 0; round < 2; round++)
    for (const eb_json *part = eb_json_first(s->job.open_parts); part != NULL; part = eb_json_next(part)) {
      const char *name = eb_json_as_string(part, "");
      if (shuts_throttle(name) != (round == 0))
        continue;
      races = races || round == 0;
      eb_text_printf(&parts, "%s\"%.100s\"", parts.size == 0 ? "" : ", ", name);
    }
  eb_status status =
      parts.failed
          ? out_of_memory(error)
          : eb_fail(error, EB_REFUSED, "", "the engine may not be started while a part is off%s: %s; refit first",
                    races ? ", least of all what shuts the throttle" : "", eb_text_string(&parts));
  eb_text_clear(&parts);
  return status;
}

static eb_status make_engine(eb_session *s, eb_json *request, eb_json *ask, eb_error *error)
{
  const char *state = eb_json_get_string(request, "state", "");
  bool runs = strcmp(state, "running") == 0;
  if (!runs && strcmp(state, "stopped") != 0)
    return eb_fail(error, EB_SCRIPT, "", "state is to be \"running\" or \"stopped\"");
  if (runs && eb_json_count(s->job.open_parts) > 0)
    return refuse_start(s, error);
  bool made = eb_json_put_string(ask, "state", state) && eb_json_put(ask, "open", eb_json_copy(s->job.open_parts));
  return made ? EB_OK : out_of_memory(error);
}

static eb_status make_kind(eb_session *s, const char *kind, eb_json *request, eb_json *ask, eb_error *error)
{
  static const char *const kinds[] = {"caution", "confirm", "choose", "number", "text", "reading", "adjust", "engine"};
  if (strcmp(kind, "caution") == 0)
    return make_caution(request, ask, error);
  if (strcmp(kind, "confirm") == 0)
    return make_confirm(s, request, ask, error);
  if (strcmp(kind, "choose") == 0)
    return make_choose(request, ask, error);
  if (strcmp(kind, "number") == 0)
    return make_number(s, request, ask, error);
  if (strcmp(kind, "text") == 0)
    return make_text(request, ask, error);
  if (strcmp(kind, "reading") == 0)
    return make_reading(s, request, ask, error);
  if (strcmp(kind, "adjust") == 0)
    return make_adjust(s, request, ask, error);
  if (strcmp(kind, "engine") == 0)
    return make_engine(s, request, ask, error);
  const char *near = eb_nearest(kind, kinds, sizeof kinds / sizeof kinds[0]);
  return eb_fail(error, EB_SCRIPT, "", "there is no ask of kind \"%.40s\"%s%s", kind,
                 near == NULL ? "" : "; the nearest is ", near == NULL ? "" : near);
}

static eb_status make_common(eb_json *request, eb_json *ask, eb_error *error)
{
  eb_status status = move_text(request, ask, "kind", KEY_MAX, true, false, error);
  if (status == EB_OK)
    status = move_text(request, ask, "key", KEY_MAX, true, false, error);
  if (status == EB_OK)
    status = move_text(request, ask, "title", TITLE_MAX, true, false, error);
  if (status == EB_OK)
    status = move_text(request, ask, "text", PROMPT_MAX, true, true, error);
  if (status == EB_OK)
    status = move_text(request, ask, "why", PROMPT_MAX, false, true, error);
  if (status == EB_OK)
    status = move_text(request, ask, "stage", TITLE_MAX, false, false, error);
  if (status == EB_OK)
    status = move_flag(request, ask, "perishable", error);
  if (status == EB_OK)
    status = move_flag(request, ask, "hands", error);
  if (status == EB_OK)
    status = move_text(request, ask, "at", ITEM_MAX, false, false, error);
  if (status == EB_OK)
    status = move_text(request, ask, "by", ITEM_MAX, false, false, error);
  return status;
}

static eb_status check_key(const char *key, eb_error *error)
{
  static const char *const own[] = {"resume.", "safety."};
  for (size_t i = 0; i < sizeof own / sizeof own[0]; i++)
    if (strncmp(key, own[i], strlen(own[i])) == 0)
      return eb_fail(error, EB_SCRIPT, "", "a key that begins with \"%s\" is the core's own; name it otherwise",
                     own[i]);
  return EB_OK;
}

eb_status ask_make(eb_session *s, eb_json *request, eb_json **ask, eb_error *error)
{
  eb_json *made = eb_json_object();
  const char *kind = eb_json_get_string(request, "kind", "");
  const char *key = eb_json_get_string(request, "key", "");
  eb_status status = made == NULL ? out_of_memory(error) : make_common(request, made, error);
  if (status == EB_OK)
    status = check_key(key, error);
  if (status == EB_OK && eb_json_get_bool(made, "hands", false) && s->job.engine == ENGINE_UNKNOWN)
    status =
        eb_fail(error, EB_REFUSED, "",
                "hands go to an engine that is known to run or to stand; ask for it first with job:start_engine or "
                "job:stop_engine");
  if (status == EB_OK)
    status = make_kind(s, kind, request, made, error);
  if (status == EB_OK)
    *ask = made;
  else
    eb_json_destroy(made);
  return status;
}

eb_json *ask_again(const eb_json *ask, const eb_json *value, eb_slip slip)
{
  static const char *const words[] = {"", "off-scale", "last", "row"};
  static const char *const reasons[] = {
      "",
      "it lies outside the gauge's scale",
      "it is more than three times, or less than a third of, this bore's last value",
      "it is more than three times, or less than a third of, the usual value in its row",
  };
  eb_json *made = eb_json_copy(ask);
  eb_json *again = eb_json_object();
  bool done = eb_json_set(again, "value", eb_json_copy(value)) && eb_json_set_string(again, "slip", words[slip]) &&
              eb_json_set_string(again, "why", reasons[slip]);
  if (eb_json_set(made, "again", again) && done)
    return made;
  eb_json_destroy(made);
  return NULL;
}
