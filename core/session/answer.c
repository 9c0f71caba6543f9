/* What is answered: a value of the protocol, checked and brought into the asked unit. */
#include "private.h"

#include "evenbore/quantity.h"
#include "evenbore/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static eb_status wrong(const eb_json *ask, const char *met, eb_error *error)
{
  char wanted[200];
  return eb_fail(error, EB_BAD_VALUE, "", "%s; %s", met, answer_wanted(ask, wanted, sizeof wanted));
}

/* What is counted goes in whole steps. */
static bool is_count(const eb_json *ask)
{
  return strcmp(eb_json_get_string(ask, "quantity", ""), "count") == 0;
}

static const char *count_wanted(const eb_json *ask, char *buffer, size_t size)
{
  double step = eb_json_get_number(ask, "step", 1);
  int used = snprintf(buffer, size, "a whole number from %g to %g is wanted", eb_json_get_number(ask, "low", 0),
                      eb_json_get_number(ask, "high", 0));
  if (step > 1)
    snprintf(buffer + used, size - (size_t)used, ", in steps of %g", step);
  return buffer;
}

static bool on_step(const eb_json *ask, double number)
{
  double steps = (number - eb_json_get_number(ask, "low", 0)) / eb_json_get_number(ask, "step", 1);
  return fabs(steps - round(steps)) < 1e-9;
}

const char *answer_wanted(const eb_json *ask, char *buffer, size_t size)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  const char *unit = eb_json_get_string(ask, "unit", "");
  if (is_count(ask))
    return count_wanted(ask, buffer, size);
  if (strcmp(kind, "number") == 0 || strcmp(kind, "reading") == 0)
    snprintf(buffer, size, "a number from %g to %g%s%s is wanted", eb_json_get_number(ask, "low", 0),
             eb_json_get_number(ask, "high", 0), unit[0] == '\0' ? "" : " ", unit);
  else if (strcmp(kind, "choose") == 0)
    snprintf(buffer, size, "one of the %d options is wanted", eb_json_count(eb_json_get(ask, "options")));
  else if (strcmp(kind, "text") == 0)
    snprintf(buffer, size, "a line of at most %g characters is wanted", eb_json_get_number(ask, "limit", 0));
  else if (strcmp(kind, "adjust") == 0)
    snprintf(buffer, size, "done or not done is wanted, and why not");
  else if (strcmp(kind, "confirm") == 0)
    snprintf(buffer, size, "yes or no is wanted");
  else if (strcmp(kind, "caution") == 0)
    snprintf(buffer, size, "the code %s is wanted once all is read", eb_json_get_string(ask, "code", ""));
  else
    snprintf(buffer, size, "yes is wanted once it is so; pause or stop otherwise");
  return buffer;
}

const char *answer_unit(const eb_json *ask)
{
  const char *shown = eb_json_get_string(ask, "unit", NULL);
  return eb_json_get_string(eb_json_get(ask, "asked"), "unit", shown);
}

/* A number as it was given, and what it is in the unit that the procedure gets. */
typedef struct given_number {
  double given;
  const char *unit; /* of it, borrowed */
  bool named;       /* the answer says its unit */
  double value;
} given_number;

static eb_status read_number(const eb_json *ask, const eb_json *raw, given_number *read, eb_error *error)
{
  const eb_json *value = eb_json_is_object(raw) ? eb_json_get(raw, "value") : raw;
  if (!eb_json_is_number(value))
    return wrong(ask, "that is no number", error);
  const char *shown = eb_json_get_string(ask, "unit", "");
  const char *named = eb_json_is_object(raw) ? eb_json_get_string(raw, "unit", NULL) : NULL;
  *read = (given_number){
      .given = eb_json_as_number(value, 0), .unit = named == NULL ? shown : named, .named = named != NULL};
  eb_quantity quantity = EB_FLOW;
  eb_status status = EB_OK;
  if (eb_json_get(ask, "quantity") != NULL)
    status = eb_quantity_read(eb_json_get_string(ask, "quantity", ""), &quantity, error);
  if (status == EB_OK)
    status = eb_unit_convert(quantity, read->given, read->unit, answer_unit(ask), &read->value, error);
  return status;
}

/* Where the procedure gets another number than was given, the journal keeps that too. */
static eb_status keep_given(const eb_json *ask, const given_number *read, eb_json **given, eb_error *error)
{
  if (!read->named && eb_json_get(ask, "asked") == NULL)
    return EB_OK;
  eb_json *made = eb_json_object();
  if (eb_json_set_number(made, "value", read->given) && eb_json_set_string(made, "unit", read->unit)) {
    *given = made;
    return EB_OK;
  }
  eb_json_destroy(made);
  return out_of_memory(error);
}

static eb_status out_of_range(const eb_json *ask, const given_number *read, eb_error *error)
{
  const char *shown = eb_json_get_string(ask, "unit", "");
  bool other = strcmp(read->unit, shown) != 0;
  char wanted[200];
  return eb_fail(error, EB_OUT_OF_RANGE, "", "%g%s%s is out of range; %s", read->given, other ? " " : "",
                 other ? read->unit : "", answer_wanted(ask, wanted, sizeof wanted));
}

static eb_status check_number(const eb_json *ask, const eb_json *raw, eb_json **value, eb_json **given, eb_error *error)
{
  given_number read = {.unit = ""};
  eb_status status = read_number(ask, raw, &read, error);
  if (status != EB_OK)
    return status;
  const eb_json *asked = eb_json_get(ask, "asked");
  double low = eb_json_get_number(asked == NULL ? ask : asked, "low", 0);
  double high = eb_json_get_number(asked == NULL ? ask : asked, "high", 0);
  /* What is inside as it is shown is inside: a conversion's rounding does not put it out. */
  bool inside = asked != NULL && strcmp(read.unit, eb_json_get_string(ask, "unit", "")) == 0 &&
                read.given >= eb_json_get_number(ask, "low", 0) && read.given <= eb_json_get_number(ask, "high", 0);
  double number = inside ? fmin(fmax(read.value, low), high) : read.value;
  if (!(number >= low && number <= high))
    return out_of_range(ask, &read, error);
  if (is_count(ask) && !on_step(ask, number)) {
    char wanted[200];
    return eb_fail(error, EB_OUT_OF_RANGE, "", "%g does not fit; %s", number,
                   answer_wanted(ask, wanted, sizeof wanted));
  }
  *value = eb_json_from_number(number);
  return keep_given(ask, &read, given, error);
}

static eb_status check_plain(const eb_json *ask, const char *text, size_t limit, eb_error *error)
{
  size_t size = strlen(text);
  size_t count = 0;
  for (size_t at = 0; at < size; count++) {
    uint32_t c = 0;
    at += eb_utf8_decode(text + at, size - at, &c);
    if (eb_char_unprintable(c))
      return wrong(ask, "that holds a control character", error);
  }
  if (count > limit)
    return eb_fail(error, EB_BAD_TEXT, "", "that has %zu characters; at most %zu are taken", count, limit);
  return EB_OK;
}

static eb_status check_reading(const eb_json *ask, const eb_json *raw, eb_json **value, eb_json **given,
                               eb_error *error)
{
  const eb_json *unreadable = eb_json_get(raw, "unreadable");
  if (unreadable != NULL) {
    if (!eb_json_is_string(unreadable))
      return wrong(ask, "\"unreadable\" wants a text that says why", error);
    *value = eb_json_copy(raw);
    return check_plain(ask, eb_json_as_string(unreadable, ""), ITEM_MAX, error);
  }
  given_number read = {.unit = ""};
  eb_status status = read_number(ask, raw, &read, error);
  if (status != EB_OK)
    return status;
  /* Beyond the scale is a slip to be looked at twice; what no gauge can show is none. */
  double high = eb_json_get_number(ask, "high", 0);
  const eb_json *asked = eb_json_get(ask, "asked");
  if (!(read.value >= 0 && read.value <= 100 * eb_json_get_number(asked, "high", high)))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "%g is no reading of this gauge; its scale goes from %g to %g %s",
                   read.given, eb_json_get_number(ask, "low", 0), high, eb_json_get_string(ask, "unit", ""));
  *value = eb_json_from_number(read.value);
  return keep_given(ask, &read, given, error);
}

static eb_status check_choice(const eb_json *ask, const eb_json *raw, eb_json **value, eb_error *error)
{
  const char *id = eb_json_as_string(raw, NULL);
  const eb_json *option = eb_json_first(eb_json_get(ask, "options"));
  for (; id != NULL && option != NULL; option = eb_json_next(option))
    if (strcmp(eb_json_get_string(option, "id", ""), id) == 0) {
      *value = eb_json_from_string(id);
      return EB_OK;
    }
  return wrong(ask, "that is none of the options", error);
}

/* The amount that was moved, in the unit in which it was asked for. */
static eb_status convert_amount(const eb_json *ask, const eb_json *raw, eb_json **value, eb_json **given,
                                eb_error *error)
{
  eb_quantity quantity;
  const eb_json *amount = eb_json_get(raw, "amount");
  const char *unit = eb_json_get_string(eb_json_get(ask, "amount"), "unit", NULL);
  const char *from = eb_json_get_string(amount, "unit", "");
  eb_json *made = eb_json_copy(raw);
  *value = made;
  if (made == NULL || amount == NULL || unit == NULL || strcmp(unit, from) == 0)
    return made == NULL ? out_of_memory(error) : EB_OK;
  double converted = 0;
  if (!amount_quantity(unit, &quantity))
    return eb_fail(error, EB_BAD_UNIT, "", "the amount is asked in %s; give what was done in that unit", unit);
  eb_status status = eb_unit_convert(quantity, eb_json_get_number(amount, "value", 0), from, unit, &converted, error);
  if (status != EB_OK)
    return status;
  *given = eb_json_copy(amount);
  eb_json *in_asked = eb_json_member(made, "amount");
  bool set = eb_json_set_number(in_asked, "value", converted) && eb_json_set_string(in_asked, "unit", unit);
  return set && *given != NULL ? EB_OK : out_of_memory(error);
}

static eb_status check_adjust(const eb_json *ask, const eb_json *raw, eb_json **value, eb_json **given, eb_error *error)
{
  const eb_json *done = eb_json_get(raw, "done");
  const eb_json *amount = eb_json_get(raw, "amount");
  const char *why = eb_json_get_string(raw, "why", "");
  if (!eb_json_is_bool(done))
    return wrong(ask, "that does not say whether it is done", error);
  if (amount != NULL &&
      (!eb_json_is_number(eb_json_get(amount, "value")) || !eb_json_is_string(eb_json_get(amount, "unit"))))
    return wrong(ask, "an amount is a value with its unit", error);
  if (!eb_json_as_bool(done, false) && why[0] == '\0')
    return wrong(ask, "not done, but no reason", error);
  eb_status status = check_plain(ask, why, ITEM_MAX, error);
  return status == EB_OK ? convert_amount(ask, raw, value, given, error) : status;
}

/* The code and nothing else: a yes would be given by habit. */
static eb_status check_caution(const eb_json *ask, const eb_json *raw, eb_json **value, eb_error *error)
{
  if (strcmp(eb_json_as_string(raw, ""), eb_json_get_string(ask, "code", "?")) != 0)
    return wrong(ask, "that is not the code of this caution", error);
  *value = eb_json_copy(raw);
  return EB_OK;
}

static eb_status check_kind(const eb_json *ask, const eb_json *raw, eb_json **value, eb_json **given, eb_error *error)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  if (strcmp(kind, "number") == 0)
    return check_number(ask, raw, value, given, error);
  if (strcmp(kind, "reading") == 0)
    return check_reading(ask, raw, value, given, error);
  if (strcmp(kind, "choose") == 0)
    return check_choice(ask, raw, value, error);
  if (strcmp(kind, "adjust") == 0)
    return check_adjust(ask, raw, value, given, error);
  if (strcmp(kind, "caution") == 0)
    return check_caution(ask, raw, value, error);
  if (strcmp(kind, "text") == 0) {
    if (!eb_json_is_string(raw))
      return wrong(ask, "that is no text", error);
    *value = eb_json_copy(raw);
    return check_plain(ask, eb_json_as_string(raw, ""), (size_t)eb_json_get_int(ask, "limit", 200), error);
  }
  if (!eb_json_is_bool(raw) || (strcmp(kind, "confirm") != 0 && !eb_json_as_bool(raw, false)))
    return wrong(ask, strcmp(kind, "confirm") == 0 ? "that is neither yes nor no" : "that does not say yes", error);
  *value = eb_json_copy(raw);
  return EB_OK;
}

eb_status answer_check(const eb_json *ask, const eb_json *raw, eb_json **value, eb_json **given, eb_error *error)
{
  eb_json *made = NULL;
  eb_json *in_unit = NULL;
  eb_status status = check_kind(ask, raw, &made, &in_unit, error);
  if (status == EB_OK && made == NULL)
    status = out_of_memory(error);
  if (status != EB_OK) {
    eb_json_destroy(made);
    eb_json_destroy(in_unit);
    return status;
  }
  *value = made;
  *given = in_unit;
  return EB_OK;
}

eb_slip answer_slip(const eb_session *s, const eb_json *ask, const eb_json *value)
{
  if (strcmp(eb_json_get_string(ask, "kind", ""), "reading") != 0 || !eb_json_is_number(value))
    return EB_SLIP_NONE;
  const eb_json *again = eb_json_get(ask, "again");
  double number = eb_json_as_number(value, 0);
  if (again != NULL && fabs(number - eb_json_get_number(again, "value", 0)) < condition_gauge(s)->step / 2)
    return EB_SLIP_NONE;
  int bore = eb_layout_bore(&s->job.layout, eb_json_get_string(ask, "bore", ""));
  if (bore < 0)
    return EB_SLIP_NONE;
  return condition_slip(s, bore, number);
}

bool answer_no_air(const eb_session *s, const eb_json *ask, const eb_json *value)
{
  double number = eb_json_as_number(value, 0);
  int bore = eb_layout_bore(&s->job.layout, eb_json_get_string(ask, "bore", ""));
  if (!eb_json_is_number(value) || bore < 0)
    return false;
  bool confirmed = eb_json_get(ask, "again") != NULL;
  if (condition_current(s)->cold)
    return condition_shut(s, bore, number, confirmed);
  double row_median = eb_evidence_row_median(job_evidence(s), bore);
  return number <= 0 || (confirmed && (number < s->job.gauge.low || number < row_median / 3));
}
