#include "evenbore/gauge.h"

#include "shown.h"

#include "evenbore/format.h"
#include "evenbore/quantity.h"
#include "evenbore/statistics.h"
#include "evenbore/text.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const double slip_factor = 3;

eb_gauge eb_gauge_usual(void)
{
  return (eb_gauge){
      .low = 1,
      .high = 30,
      .step = 0.25,
      .best_low = 1,
      .best_high = 10,
      .repeatability = 0.02,
      .repeatability_weight = 4,
      .unit = "div",
  };
}

static eb_status check_keys(const eb_json *json, const char *place, eb_error *error)
{
  static const char *const known[] = {"low",  "high", "step", "best", "repeatability", "repeatability_weight",
                                      "unit", "vent"};
  enum { KNOWN = sizeof known / sizeof known[0] };
  if (!eb_json_is_object(json))
    return eb_fail(error, EB_BAD_VALUE, place,
                   "a gauge is a table such as {\"low\":1,\"high\":30,\"step\":0.25,\"best\":[1,10]}");
  for (const eb_json *member = eb_json_first(json); member != NULL; member = eb_json_next(member)) {
    const char *key = eb_json_key(member);
    bool found = false;
    for (size_t i = 0; i < KNOWN && !found; i++)
      found = strcmp(key, known[i]) == 0;
    if (found)
      continue;
    char shown[SHOWN_SIZE];
    measure_shown(key, strlen(key), shown);
    const char *near = eb_nearest(key, known, KNOWN);
    if (near != NULL)
      return eb_fail(error, EB_BAD_VALUE, place, "a gauge has no \"%s\"; did you mean \"%s\"?", shown, near);
    return eb_fail(
        error, EB_BAD_VALUE, place,
        "a gauge has no \"%s\"; it has low, high, step, best, repeatability, repeatability_weight, unit, vent", shown);
  }
  return EB_OK;
}

static eb_status read_number(const eb_json *json, const char *key, const char *place, double *number, eb_error *error)
{
  const eb_json *value = eb_json_get(json, key);
  if (value == NULL)
    return EB_OK;
  if (!eb_json_is_number(value))
    return eb_fail(error, EB_BAD_VALUE, place, "the gauge's %s is a number", key);
  *number = eb_json_as_number(value, 0);
  return EB_OK;
}

static eb_status read_best(const eb_json *json, const char *place, eb_gauge *gauge, eb_error *error)
{
  const eb_json *best = eb_json_get(json, "best");
  if (best == NULL)
    return EB_OK;
  if (!eb_json_is_array(best) || eb_json_count(best) != 2 || !eb_json_is_number(eb_json_at(best, 0)) ||
      !eb_json_is_number(eb_json_at(best, 1)))
    return eb_fail(error, EB_BAD_VALUE, place, "the gauge's best is a list of two numbers such as [1, 10]");
  gauge->best_low = eb_json_as_number(eb_json_at(best, 0), 0);
  gauge->best_high = eb_json_as_number(eb_json_at(best, 1), 0);
  return EB_OK;
}

static eb_status read_unit(const eb_json *json, const char *place, eb_gauge *gauge, eb_error *error)
{
  const eb_json *unit = eb_json_get(json, "unit");
  if (unit == NULL)
    return EB_OK;
  if (!eb_json_is_string(unit))
    return eb_fail(error, EB_BAD_VALUE, place, "the gauge's unit is text such as \"div\" or \"kg/h\"");
  const char *symbol = NULL;
  eb_error why;
  eb_status status = eb_unit_symbol(EB_FLOW, eb_json_as_string(unit, ""), &symbol, &why);
  if (status != EB_OK)
    return eb_fail(error, status, place, "the gauge's unit: %s", why.message);
  snprintf(gauge->unit, sizeof gauge->unit, "%s", symbol);
  return EB_OK;
}

static bool printable(const char *text)
{
  size_t size = strlen(text);
  for (size_t at = 0; at < size;) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(text + at, size - at, &c);
    if (length == 0 || eb_char_unprintable(c))
      return false;
    at += length;
  }
  return true;
}

static eb_status read_vent(const eb_json *json, const char *place, eb_gauge *gauge, eb_error *error)
{
  const eb_json *vent = eb_json_get(json, "vent");
  if (vent == NULL)
    return EB_OK;
  if (!eb_json_is_string(vent))
    return eb_fail(error, EB_BAD_VALUE, place, "the gauge's vent is text such as \"two turns out\"");
  const char *words = eb_json_as_string(vent, "");
  if (strlen(words) >= sizeof gauge->vent || !printable(words))
    return eb_fail(error, EB_BAD_TEXT, place, "the gauge's vent is printable text of at most %zu bytes",
                   sizeof gauge->vent - 1);
  snprintf(gauge->vent, sizeof gauge->vent, "%s", words);
  return EB_OK;
}

/* Written so that a number that is none fails too. */
static eb_status check_ranges(const eb_gauge *g, const char *place, eb_error *error)
{
  if (!(g->low >= 0 && g->low < g->high && g->high <= 1e6))
    return eb_fail(error, EB_OUT_OF_RANGE, place,
                   "the gauge's scale goes from %g to %g; low is 0 or more, high is above it and at most 1000000",
                   g->low, g->high);
  if (!(g->step > 0 && g->step <= (g->high - g->low) / 2))
    return eb_fail(error, EB_OUT_OF_RANGE, place,
                   "the gauge's step is %g; it lies above 0 and up to %g, half of the scale", g->step,
                   (g->high - g->low) / 2);
  if (!(g->low <= g->best_low && g->best_low < g->best_high && g->best_high <= g->high))
    return eb_fail(error, EB_OUT_OF_RANGE, place,
                   "the gauge's best band goes from %g to %g; it rises and lies inside the scale, %g to %g",
                   g->best_low, g->best_high, g->low, g->high);
  if (!(g->repeatability >= 1e-4 && g->repeatability <= 0.5))
    return eb_fail(error, EB_OUT_OF_RANGE, place,
                   "the gauge's repeatability is %g; it lies between 0.0001 and 0.5 (0.02 is 2 %% of a reading)",
                   g->repeatability);
  if (!(g->repeatability_weight >= 0.1 && g->repeatability_weight <= 1000))
    return eb_fail(error, EB_OUT_OF_RANGE, place,
                   "the gauge's repeatability_weight is %g; it lies between 0.1 and 1000 degrees of freedom",
                   g->repeatability_weight);
  return EB_OK;
}

eb_status eb_gauge_read(const eb_json *json, const char *place, eb_gauge *gauge, eb_error *error)
{
  eb_gauge made = *gauge;
  const struct {
    const char *key;
    double *number;
  } numbers[] = {
      {"low", &made.low},
      {"high", &made.high},
      {"step", &made.step},
      {"repeatability", &made.repeatability},
      {"repeatability_weight", &made.repeatability_weight},
  };
  eb_status status = check_keys(json, place, error);
  for (size_t i = 0; i < sizeof numbers / sizeof numbers[0] && status == EB_OK; i++)
    status = read_number(json, numbers[i].key, place, numbers[i].number, error);
  if (status == EB_OK)
    status = read_best(json, place, &made, error);
  if (status == EB_OK)
    status = read_unit(json, place, &made, error);
  if (status == EB_OK)
    status = read_vent(json, place, &made, error);
  if (status == EB_OK)
    status = check_ranges(&made, place, error);
  if (status == EB_OK)
    *gauge = made;
  return status;
}

eb_json *eb_gauge_json(const eb_gauge *gauge)
{
  eb_json *json = eb_json_object();
  if (eb_json_set_number(json, "low", gauge->low) && eb_json_set_number(json, "high", gauge->high) &&
      eb_json_set_number(json, "step", gauge->step) && eb_json_set(json, "best", eb_json_array()) &&
      eb_json_add_number(eb_json_member(json, "best"), gauge->best_low) &&
      eb_json_add_number(eb_json_member(json, "best"), gauge->best_high) &&
      eb_json_set_number(json, "repeatability", gauge->repeatability) &&
      eb_json_set_number(json, "repeatability_weight", gauge->repeatability_weight) &&
      eb_json_set_string(json, "unit", gauge->unit) && eb_json_set_string(json, "vent", gauge->vent))
    return json;
  eb_json_destroy(json);
  return NULL;
}

static bool far_from(double value, double other)
{
  return other > 0 && (value > slip_factor * other || slip_factor * value < other);
}

eb_slip eb_gauge_slip(const eb_gauge *gauge, double value, double last, double row_median)
{
  assert(isfinite(value) && last >= 0 && row_median >= 0);
  if (value <= 0 || value < gauge->low || value > gauge->high)
    return EB_SLIP_OFF_SCALE;
  if (far_from(value, last))
    return EB_SLIP_LAST;
  return far_from(value, row_median) ? EB_SLIP_ROW : EB_SLIP_NONE;
}

double eb_gauge_variance(const eb_gauge *gauge, double repeatability, double value)
{
  assert(value > 0 && repeatability >= 0);
  double step = eb_uncertainty_rectangle(gauge->step / 2) / value;
  return repeatability * repeatability + step * step;
}

const char *eb_gauge_describe(const eb_json *gauge, char *text, size_t size)
{
  char low[EB_FORMAT_SIZE], high[EB_FORMAT_SIZE], step[EB_FORMAT_SIZE];
  char from[EB_FORMAT_SIZE], to[EB_FORMAT_SIZE], repeats[EB_FORMAT_SIZE];
  const eb_json *best = eb_json_get(gauge, "best");
  const char *vent = eb_json_get_string(gauge, "vent", "");
  snprintf(text, size, "%s to %s %.20s, read to %s, best from %s to %s, repeats to %s%s%.40s",
           eb_format_plain(eb_json_get_number(gauge, "low", 0), low),
           eb_format_plain(eb_json_get_number(gauge, "high", 0), high), eb_json_get_string(gauge, "unit", ""),
           eb_format_plain(eb_json_get_number(gauge, "step", 0), step),
           eb_format_plain(eb_json_as_number(eb_json_at(best, 0), 0), from),
           eb_format_plain(eb_json_as_number(eb_json_at(best, 1), 0), to),
           eb_format_percent(eb_json_get_number(gauge, "repeatability", 0), false, repeats),
           vent[0] == '\0' ? "" : ", vent ", vent);
  return text;
}
