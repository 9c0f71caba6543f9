#include "options.h"

#include "evenbore/quantity.h"
#include "evenbore/text.h"

#include <stdio.h>
#include <string.h>

enum { WORD_SIZE = 64 };

static const char *const keys[] = {"scale", "step", "best", "repeat", "unit", "vent"};
enum { KEYS = sizeof keys / sizeof keys[0] };
static const char example[] = "such as \"scale 1..30 step 0.25 best 1..10 repeat 2% unit kg/h vent 3\"";

/* The text as it is read, with where its words stand. */
typedef struct words {
  const char *rest;
  int number; /* of the word taken last, from 1 */
  char word[WORD_SIZE];
  bool given[KEYS];
} words;

/* False at the end. A word that is too long is cut, which makes it unknown. */
static bool take(words *w)
{
  w->rest += strspn(w->rest, " \t");
  size_t size = strcspn(w->rest, " \t");
  if (size == 0)
    return false;
  snprintf(w->word, sizeof w->word, "%.*s", size < WORD_SIZE ? (int)size : WORD_SIZE - 1, w->rest);
  w->rest += size;
  w->number++;
  return true;
}

static eb_status wrong(const words *w, const char *wanted, eb_error *error)
{
  char place[WORD_SIZE * 2];
  snprintf(place, sizeof place, "--gauge, word %d \"%s\"", w->number, w->word);
  return eb_fail(error, EB_BAD_VALUE, place, "%s", wanted);
}

static eb_status read_number(const words *w, const char *text, const char *wanted, double *number, eb_error *error)
{
  eb_entry entry;
  if (eb_entry_read(text, strlen(text), EB_FLOW, "div", &entry, NULL) != EB_OK)
    return wrong(w, wanted, error);
  *number = entry.value;
  return EB_OK;
}

static eb_status read_pair(const words *w, const char *wanted, double *low, double *high, eb_error *error)
{
  char first[WORD_SIZE];
  snprintf(first, sizeof first, "%s", w->word);
  char *dots = strstr(first, "..");
  if (dots == NULL)
    return wrong(w, wanted, error);
  *dots = '\0';
  double numbers[2] = {0};
  eb_status status = read_number(w, first, wanted, &numbers[0], error);
  if (status == EB_OK)
    status = read_number(w, dots + 2, wanted, &numbers[1], error);
  if (status != EB_OK)
    return status;
  if (!(numbers[0] < numbers[1]))
    return wrong(w, wanted, error);
  *low = numbers[0];
  *high = numbers[1];
  return EB_OK;
}

static eb_status read_percent(const words *w, double *relative, eb_error *error)
{
  eb_entry entry;
  if (eb_entry_read(w->word, strlen(w->word), EB_RATIO, "%", &entry, NULL) != EB_OK)
    return wrong(w, "repeat wants how well a reading repeats, in percent: repeat 2%", error);
  *relative = entry.value / 100;
  return EB_OK;
}

static eb_status read_unit(const words *w, eb_gauge *gauge, eb_error *error)
{
  const char *symbol = NULL;
  eb_error detail;
  if (eb_unit_symbol(EB_FLOW, w->word, &symbol, &detail) != EB_OK || strlen(symbol) >= sizeof gauge->unit)
    return wrong(w, detail.message, error);
  snprintf(gauge->unit, sizeof gauge->unit, "%s", symbol);
  return EB_OK;
}

static bool is_key(const char *word)
{
  for (size_t i = 0; i < KEYS; i++)
    if (strcmp(word, keys[i]) == 0)
      return true;
  return false;
}

/* A vent is named in the shop's words: all up to the next key. */
static eb_status read_vent(words *w, eb_gauge *gauge, eb_error *error)
{
  char vent[sizeof gauge->vent];
  size_t used = (size_t)snprintf(vent, sizeof vent, "%s", w->word);
  for (;;) {
    words ahead = *w;
    if (used >= sizeof vent)
      return wrong(w, "vent wants at most 31 characters: vent 3", error);
    if (!take(&ahead) || is_key(ahead.word))
      break;
    *w = ahead;
    used += (size_t)snprintf(vent + used, sizeof vent - used, " %s", w->word);
  }
  memcpy(gauge->vent, vent, sizeof vent);
  return EB_OK;
}

static eb_status read_value(words *w, size_t key, eb_gauge *gauge, eb_error *error)
{
  switch (key) {
  case 0:
    return read_pair(w, "scale wants its two ends, the lower first: scale 1..30", &gauge->low, &gauge->high, error);
  case 1:
    return read_number(w, w->word, "step wants the smallest step that can be read: step 0.25", &gauge->step, error);
  case 2:
    return read_pair(w, "best wants the band of best resolution: best 1..10", &gauge->best_low, &gauge->best_high,
                     error);
  case 3: return read_percent(w, &gauge->repeatability, error);
  case 4: return read_unit(w, gauge, error);
  default: return read_vent(w, gauge, error);
  }
}

static eb_status find_key(words *w, size_t *key, eb_error *error)
{
  for (*key = 0; *key < KEYS; (*key)++) {
    if (strcmp(w->word, keys[*key]) != 0)
      continue;
    if (w->given[*key])
      return wrong(w, "given twice; once is enough", error);
    w->given[*key] = true;
    return EB_OK;
  }
  char wanted[200];
  const char *near = eb_nearest(w->word, keys, KEYS);
  if (near != NULL)
    snprintf(wanted, sizeof wanted, "no such word; the nearest is %s", near);
  else
    snprintf(wanted, sizeof wanted, "no such word; it is one of scale, step, best, repeat, unit, vent");
  return wrong(w, wanted, error);
}

/* What the words leave alone may not fit them any more: a narrower scale takes the usual band with it. */
static void fit_band(const words *w, eb_gauge *gauge)
{
  if (w->given[2])
    return;
  if (gauge->best_low < gauge->low || gauge->best_low >= gauge->high)
    gauge->best_low = gauge->low;
  if (gauge->best_high > gauge->high || gauge->best_high <= gauge->best_low)
    gauge->best_high = gauge->high;
}

/* The gauge's own reader knows what makes a gauge. */
static eb_status check(eb_gauge *gauge, eb_error *error)
{
  eb_json *json = eb_gauge_json(gauge);
  if (json == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  eb_status status = eb_gauge_read(json, "--gauge", gauge, error);
  eb_json_destroy(json);
  return status;
}

eb_status eb_options_gauge(const char *text, eb_gauge *gauge, eb_error *error)
{
  words w = {.rest = text};
  eb_gauge made = *gauge;
  eb_status status = EB_OK;
  while (status == EB_OK && take(&w)) {
    size_t key = 0;
    status = find_key(&w, &key, error);
    if (status == EB_OK && !take(&w))
      status = eb_fail(error, EB_BAD_VALUE, "--gauge", "a value is missing behind %s; %s", keys[key], example);
    else if (status == EB_OK)
      status = read_value(&w, key, &made, error);
  }
  if (status == EB_OK && w.number == 0)
    status = eb_fail(error, EB_BAD_VALUE, "--gauge", "no words; %s", example);
  fit_band(&w, &made);
  if (status == EB_OK)
    status = check(&made, error);
  if (status == EB_OK)
    *gauge = made;
  return status;
}
