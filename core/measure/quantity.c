/* The room measure: what a number means.  Units and typed numbers, the airflow
 * gauge, and the statistics of repeated readings.  Session and script read
 * entries with it; balance takes its distributions, pooling and least squares. */
#include "evenbore/quantity.h"

#include "shown.h"

#include "evenbore/text.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>

static const char *const words[EB_QUANTITIES] = {
    [EB_TEMPERATURE] = "temperature",
    [EB_PRESSURE] = "pressure",
    [EB_ENGINE_SPEED] = "engine-speed",
    [EB_LENGTH] = "length",
    [EB_ANGLE] = "angle",
    [EB_TIME] = "time",
    [EB_RATIO] = "ratio",
    [EB_VOLTAGE] = "voltage",
    [EB_COUNT] = "count",
    [EB_FLOW] = "flow",
};

typedef struct unit_row {
  eb_quantity quantity;
  const char *symbol;
  const char *also[8];
  double up, down; /* one of it is up / down of the quantity's first unit */
  double zero;     /* what it reads where the first unit reads 0 */
  bool alone;      /* bare graduations: no factor leads to another unit */
} unit_row;

#define DEGREE "\xC2\xB0"
#define PI 3.14159265358979323846

/* Factors as quotients of numbers that double precision holds exactly, so that an inch is 25.4 mm to the last
 * digit.  NIST SP 811, appendix B: inch 25.4 mm, pound 0.45359237 kg, standard gravity 9.80665 m/s2 (a psi is
 * 4.4482216152605 N over 0.00064516 m2), conventional mercury 13595.1 kg/m3. */
static const unit_row units[] = {
    {EB_TEMPERATURE, "C", {DEGREE "C", "degC", "deg C", "Celsius"}, 1, 1, 0, false},
    {EB_TEMPERATURE, "F", {DEGREE "F", "degF", "deg F", "Fahrenheit"}, 5, 9, 32, false},
    {EB_TEMPERATURE, "K", {"kelvin"}, 1, 1, 273.15, false},
    {EB_PRESSURE, "Pa", {NULL}, 1, 1, 0, false},
    {EB_PRESSURE, "hPa", {NULL}, 100, 1, 0, false},
    {EB_PRESSURE, "kPa", {NULL}, 1000, 1, 0, false},
    {EB_PRESSURE, "mbar", {"millibar"}, 100, 1, 0, false},
    {EB_PRESSURE, "bar", {NULL}, 100000, 1, 0, false},
    {EB_PRESSURE, "psi", {"lb/in2", "lbf/in2"}, 44482216152605, 6451600000, 0, false},
    {EB_PRESSURE, "inHg", {"in Hg", "\"Hg"}, 3386388640341, 1000000000, 0, false},
    {EB_PRESSURE, "mmHg", {"mm Hg"}, 133322387415, 1000000000, 0, false},
    {EB_PRESSURE, "atm", {NULL}, 101325, 1, 0, false},
    {EB_ENGINE_SPEED, "rpm", {"1/min", "/min", "r/min", "rev/min", "min-1"}, 1, 1, 0, false},
    {EB_LENGTH, "mm", {NULL}, 1, 1, 0, false},
    {EB_LENGTH, "um", {"\xC2\xB5m", "\xCE\xBCm", "micron", "microns"}, 1, 1000, 0, false},
    {EB_LENGTH, "cm", {NULL}, 10, 1, 0, false},
    {EB_LENGTH, "m", {NULL}, 1000, 1, 0, false},
    {EB_LENGTH, "in", {"inch", "inches", "\"", "\xE2\x80\xB3"}, 127, 5, 0, false},
    {EB_LENGTH, "thou", {"mil", "mils"}, 127, 5000, 0, false},
    {EB_ANGLE, "deg", {DEGREE, "degree", "degrees"}, 1, 1, 0, false},
    {EB_ANGLE, "rad", {"radian", "radians"}, 180, PI, 0, false},
    {EB_ANGLE, "turn", {"turns"}, 360, 1, 0, false},
    {EB_TIME, "s", {"sec", "second", "seconds"}, 1, 1, 0, false},
    {EB_TIME, "min", {"minute", "minutes"}, 60, 1, 0, false},
    {EB_TIME, "h", {"hr", "hour", "hours"}, 3600, 1, 0, false},
    {EB_RATIO, "", {"ratio"}, 1, 1, 0, false},
    {EB_RATIO, "%", {"percent"}, 1, 100, 0, false},
    {EB_VOLTAGE, "V", {"volt", "volts"}, 1, 1, 0, false},
    {EB_VOLTAGE, "mV", {"millivolt", "millivolts"}, 1, 1000, 0, false},
    {EB_COUNT, "", {NULL}, 1, 1, 0, false},
    {EB_FLOW, "div", {"division", "divisions"}, 1, 1, 0, true},
    {EB_FLOW, "kg/h", {NULL}, 1, 1, 0, false},
    {EB_FLOW, "g/s", {NULL}, 18, 5, 0, false},
    {EB_FLOW, "lb/h", {"lbs/h"}, 45359237, 100000000, 0, false},
};
enum { UNITS = sizeof units / sizeof units[0] };

const char *eb_quantity_word(eb_quantity quantity)
{
  assert(quantity >= 0 && quantity < EB_QUANTITIES);
  return words[quantity];
}

eb_status eb_quantity_read(const char *word, eb_quantity *quantity, eb_error *error)
{
  for (int i = 0; i < EB_QUANTITIES; i++)
    if (strcmp(word, words[i]) == 0) {
      *quantity = (eb_quantity)i;
      return EB_OK;
    }
  char list[160];
  size_t used = 0;
  for (int i = 0; i < EB_QUANTITIES; i++)
    used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : ", ", words[i]);
  char shown[SHOWN_SIZE];
  return eb_fail(error, EB_BAD_VALUE, "", "\"%s\" is no quantity; it is one of: %s",
                 measure_shown(word, strlen(word), shown), list);
}

/* ASCII alone: tolower() answers to the locale. */
static char lower(char c)
{
  return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static bool same(const char *a, const char *b, bool any_case)
{
  if (!any_case)
    return strcmp(a, b) == 0;
  while (*a != '\0' && lower(*a) == lower(*b)) {
    a++;
    b++;
  }
  return lower(*a) == lower(*b);
}

static bool known_as(const unit_row *u, const char *name, bool any_case)
{
  if (same(u->symbol, name, any_case))
    return true;
  for (size_t i = 0; i < sizeof u->also / sizeof u->also[0] && u->also[i] != NULL; i++)
    if (same(u->also[i], name, any_case))
      return true;
  return false;
}

static const unit_row *find(eb_quantity quantity, const char *name)
{
  for (int any_case = 0; any_case < 2; any_case++)
    for (size_t i = 0; i < UNITS; i++)
      if (units[i].quantity == quantity && known_as(&units[i], name, any_case != 0))
        return &units[i];
  return NULL;
}

/* "C, F or K" */
static void list_units(eb_quantity quantity, char *list, size_t room)
{
  size_t last = 0;
  size_t first = UNITS;
  for (size_t i = 0; i < UNITS; i++)
    if (units[i].quantity == quantity) {
      first = first == UNITS ? i : first;
      last = i;
    }
  size_t used = 0;
  for (size_t i = first; i <= last; i++) {
    const char *between = i == last ? " or " : ", ";
    const char *symbol = units[i].symbol[0] == '\0' ? "no unit" : units[i].symbol;
    used += (size_t)snprintf(list + used, room - used, "%s%s", i == first ? "" : between, symbol);
  }
}

static eb_status unknown_unit(eb_quantity quantity, const char *name, eb_error *error)
{
  char list[160];
  list_units(quantity, list, sizeof list);
  char shown[SHOWN_SIZE];
  measure_shown(name, strlen(name), shown);
  if (name[0] == '\0')
    return eb_fail(error, EB_BAD_UNIT, "", "a unit of %s is missing; write %s", words[quantity], list);
  for (int i = 0; i < EB_QUANTITIES; i++)
    if (find((eb_quantity)i, name) != NULL)
      return eb_fail(error, EB_BAD_UNIT, "", "\"%s\" is a unit of %s; for %s write %s", shown, words[i],
                     words[quantity], list);
  return eb_fail(error, EB_BAD_UNIT, "", "\"%s\" is no unit that is known here; for %s write %s", shown,
                 words[quantity], list);
}

eb_status eb_unit_symbol(eb_quantity quantity, const char *unit, const char **symbol, eb_error *error)
{
  assert(quantity >= 0 && quantity < EB_QUANTITIES);
  const unit_row *row = find(quantity, unit);
  if (row == NULL)
    return unknown_unit(quantity, unit, error);
  *symbol = row->symbol;
  return EB_OK;
}

eb_status eb_unit_convert(eb_quantity quantity, double value, const char *from, const char *to, double *converted,
                          eb_error *error)
{
  assert(quantity >= 0 && quantity < EB_QUANTITIES);
  const unit_row *a = find(quantity, from);
  const unit_row *b = find(quantity, to);
  if (a == NULL || b == NULL)
    return unknown_unit(quantity, a == NULL ? from : to, error);
  double result = value;
  if (a != b) {
    if (a->alone || b->alone)
      return eb_fail(error, EB_BAD_UNIT, "", "%s cannot be turned into %s: a division is worth what the gauge says",
                     a->symbol, b->symbol);
    result = (value - a->zero) * (a->up * b->down) / (a->down * b->up) + b->zero;
  }
  if (!isfinite(result))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "%g %s is too much to be told in %s", value, a->symbol, b->symbol);
  *converted = result;
  return EB_OK;
}
