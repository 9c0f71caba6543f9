#include "evenbore/habits.h"

#include "shown.h"

#include "evenbore/text.h"

#include <assert.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { EXPONENT_LEAST = -290 }; /* of a power of ten that double precision still holds well */

static const double inch_mm = 25.4;
static const double metre_mm = 1000;

bool eb_habits_has(eb_quantity quantity)
{
  return quantity == EB_TEMPERATURE || quantity == EB_PRESSURE || quantity == EB_LENGTH || quantity == EB_FLOW ||
         quantity == EB_ENGINE_SPEED;
}

static eb_status find_quantity(const char *word, eb_quantity *quantity, eb_error *error)
{
  const char *known[EB_QUANTITIES];
  size_t count = 0;
  for (int i = 0; i < EB_QUANTITIES; i++) {
    if (!eb_habits_has((eb_quantity)i))
      continue;
    known[count++] = eb_quantity_word((eb_quantity)i);
    if (strcmp(word, eb_quantity_word((eb_quantity)i)) == 0) {
      *quantity = (eb_quantity)i;
      return EB_OK;
    }
  }
  char shown[SHOWN_SIZE];
  measure_shown(word, strlen(word), shown);
  const char *near = eb_nearest(word, known, count);
  if (near != NULL)
    return eb_fail(error, EB_BAD_VALUE, "", "there is no habit for \"%s\"; did you mean %s?", shown, near);
  return eb_fail(error, EB_BAD_VALUE, "",
                 "there is no habit for \"%s\"; there are temperature, pressure, length, flow and engine-speed", shown);
}

eb_status eb_habits_set(eb_habits *habits, const char *quantity, const char *unit, eb_error *error)
{
  eb_quantity found;
  const char *symbol = "";
  eb_status status = find_quantity(quantity, &found, error);
  if (status == EB_OK && unit[0] != '\0')
    status = eb_unit_symbol(found, unit, &symbol, error);
  if (status == EB_OK)
    snprintf(habits->unit[found], sizeof habits->unit[found], "%s", symbol);
  return status;
}

eb_status eb_habits_read(const eb_json *json, const char *place, eb_habits *habits, eb_error *error)
{
  eb_habits read = *habits;
  if (!eb_json_is_object(json))
    return eb_fail(error, EB_BAD_VALUE, place,
                   "habits are a table such as {\"temperature\":\"F\",\"length\":\"thou\"}");
  for (const eb_json *member = eb_json_first(json); member != NULL; member = eb_json_next(member)) {
    eb_error why;
    if (!eb_json_is_string(member))
      return eb_fail(error, EB_BAD_VALUE, place, "the habit for %.40s is a unit in quotes, such as \"F\"",
                     eb_json_key(member));
    eb_status status = eb_habits_set(&read, eb_json_key(member), eb_json_as_string(member, ""), &why);
    if (status != EB_OK)
      return eb_fail(error, status, place, "%s", why.message);
  }
  *habits = read;
  return EB_OK;
}

eb_json *eb_habits_json(const eb_habits *habits)
{
  eb_json *json = eb_json_object();
  bool made = json != NULL;
  for (int i = 0; made && i < EB_QUANTITIES; i++)
    if (habits->unit[i][0] != '\0')
      made = eb_json_set_string(json, eb_quantity_word((eb_quantity)i), habits->unit[i]);
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

const char *eb_habits_unit(const eb_habits *habits, eb_quantity quantity, const char *unit, double largest)
{
  assert(quantity >= 0 && quantity < EB_QUANTITIES);
  const char *habit = habits->unit[quantity];
  if (habit[0] == '\0' || quantity == EB_FLOW)
    return unit;
  double mm = 0;
  if (quantity != EB_LENGTH || eb_unit_convert(EB_LENGTH, fabs(largest), unit, "mm", &mm, NULL) != EB_OK)
    return habit;
  if (mm >= metre_mm)
    return unit;
  return mm >= inch_mm && strcmp(habit, "thou") == 0 ? "in" : habit;
}

/* The power of ten at or below, as a whole number of steps or of parts: a decimal fraction comes out as its double. */
static double to_step(double value, int exponent, double (*round_to)(double))
{
  double scale = pow(10, abs(exponent));
  /* What a conversion leaves off a whole step by its rounding is that step. */
  double steps = exponent < 0 ? value * scale : value / scale;
  double whole = fabs(steps - round(steps)) < 1e-9 ? round(steps) : round_to(steps);
  return exponent < 0 ? whole / scale : whole * scale;
}

eb_status eb_limits_inward(eb_quantity quantity, double low, double high, const char *from, const char *to,
                           double *shown_low, double *shown_high, eb_error *error)
{
  assert(low < high);
  double l = 0;
  double h = 0;
  eb_status status = eb_unit_convert(quantity, low, from, to, &l, error);
  if (status == EB_OK)
    status = eb_unit_convert(quantity, high, from, to, &h, error);
  if (status != EB_OK)
    return status;
  if (!(h - l > 0 && isfinite(h - l)))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "limits from %g to %g %s cannot be told in %s", low, high, from, to);
  int exponent = (int)floor(fmax(log10((h - l) / 1000), EXPONENT_LEAST));
  double inner_low = to_step(l, exponent, ceil);
  double inner_high = to_step(h, exponent, floor);
  bool apart = inner_low < inner_high;
  *shown_low = apart ? inner_low : l;
  *shown_high = apart ? inner_high : h;
  return EB_OK;
}

/* Decimals that a shop's instruments show. */
static int decimals_of(const char *unit)
{
  static const struct {
    const char *unit;
    int decimals;
  } known[] = {
      {"C", 0},    {"F", 0},    {"K", 0},   {"Pa", 0},  {"hPa", 0}, {"kPa", 1}, {"mbar", 0}, {"bar", 3}, {"psi", 1},
      {"inHg", 1}, {"mmHg", 0}, {"atm", 3}, {"rpm", 0}, {"mm", 2},  {"um", 0},  {"cm", 3},   {"m", 2},   {"in", 4},
      {"thou", 1}, {"deg", 1},  {"s", 0},   {"min", 1}, {"h", 1},   {"%", 1},   {"mV", 0},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strcmp(unit, known[i].unit) == 0)
      return known[i].decimals;
  return 2;
}

/* Fixed point without its closing zeros, by whole numbers: the library's own printing answers to the locale. */
static void print_number(double value, int decimals, char *text, size_t room)
{
  int64_t scale = 1;
  for (int i = 0; i < decimals; i++)
    scale *= 10;
  double scaled = round(fabs(value) * (double)scale);
  if (scaled >= 1e15) {
    snprintf(text, room, "%.0e", value);
    return;
  }
  int64_t parts = (int64_t)scaled;
  const char *sign = value < 0 && parts > 0 ? "-" : "";
  while (decimals > 0 && parts % 10 == 0) {
    parts /= 10;
    scale /= 10;
    decimals--;
  }
  if (decimals == 0)
    snprintf(text, room, "%s%lld", sign, (long long)parts);
  else
    snprintf(text, room, "%s%lld.%0*lld", sign, (long long)(parts / scale), decimals, (long long)(parts % scale));
}

eb_status eb_habits_text(const eb_habits *habits, eb_quantity quantity, double value, const char *unit, bool change,
                         char text[EB_SHOWN_SIZE], eb_error *error)
{
  const char *symbol = NULL;
  double shown = 0;
  double zero = 0;
  const char *wanted = eb_habits_unit(habits, quantity, unit, value);
  eb_status status = eb_unit_symbol(quantity, wanted, &symbol, error);
  if (status == EB_OK)
    status = eb_unit_convert(quantity, value, unit, symbol, &shown, error);
  if (status == EB_OK && change)
    status = eb_unit_convert(quantity, 0, unit, symbol, &zero, error);
  if (status != EB_OK)
    return status;
  print_number(shown - zero, decimals_of(symbol) + (change ? 1 : 0), text, EB_SHOWN_SIZE - 16);
  size_t used = strlen(text);
  snprintf(text + used, EB_SHOWN_SIZE - used, "%s%s", symbol[0] == '\0' ? "" : " ", symbol);
  return EB_OK;
}
