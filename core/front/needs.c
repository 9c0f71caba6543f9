#include "needs.h"

#include <stdio.h>
#include <string.h>

typedef enum instrument {
  AIRFLOW,
  THERMOMETER,
  HOT,
  SPEED,
  PRESSURE,
  FEELERS,
  EDGE,
  LENGTH,
  ANGLE,
  VOLTAGE,
  MIXTURE,
  INSTRUMENTS
} instrument;

static const char *const words_of[INSTRUMENTS] = {
    [AIRFLOW] = "airflow gauge",
    [THERMOMETER] = "thermometer",
    [HOT] = "thermometer for exhaust ports",
    [SPEED] = "engine speed meter",
    [PRESSURE] = "pressure gauge",
    [FEELERS] = "feeler gauges",
    [EDGE] = "depth gauge for the edges of the plates",
    [LENGTH] = "calliper",
    [ANGLE] = "protractor",
    [VOLTAGE] = "voltmeter",
    [MIXTURE] = "mixture meter",
};

static void need(eb_needs *n, instrument which)
{
  n->instruments |= 1U << which;
}

/* Above this no coolant is measured. */
static const double HOT_C = 250;

static void see_number(eb_needs *n, const eb_json *ask)
{
  const char *quantity = eb_json_get_string(ask, "quantity", ""), *unit = eb_json_get_string(ask, "unit", "");
  static const struct {
    const char *quantity;
    instrument which;
  } known[] = {{"engine-speed", SPEED}, {"pressure", PRESSURE}, {"length", LENGTH},
               {"angle", ANGLE},        {"voltage", VOLTAGE},   {"flow", AIRFLOW}};
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (strcmp(quantity, known[i].quantity) == 0)
      need(n, known[i].which);
  if (strcmp(quantity, "temperature") == 0)
    need(n, eb_json_get_number(ask, "high", 0) > HOT_C ? HOT : THERMOMETER);
  if (strcmp(quantity, "ratio") == 0 && unit[0] == '\0')
    need(n, MIXTURE);
}

static void see_hazard(eb_needs *n, const char *text)
{
  for (int i = 0; i < n->hazard_count; i++)
    if (strcmp(n->hazards[i], text) == 0)
      return;
  if (n->hazard_count == EB_BUNDLE_TEXTS_MAX || strlen(text) > EB_BUNDLE_TEXT_MAX) {
    n->too_much = true;
    return;
  }
  snprintf(n->hazards[n->hazard_count++], sizeof n->hazards[0], "%s", text);
}

static void see_hazards(eb_needs *n, const eb_json *list)
{
  for (const eb_json *text = eb_json_first(list); text != NULL; text = eb_json_next(text))
    see_hazard(n, eb_json_as_string(text, ""));
}

static bool same_layout(const eb_layout *a, const eb_layout *b)
{
  eb_json *first = eb_layout_json(a), *second = eb_layout_json(b);
  bool same = eb_json_equal(first, second);
  eb_json_destroy(first);
  eb_json_destroy(second);
  return same;
}

static void see_layout(eb_needs *n, const eb_json *json)
{
  eb_layout met;
  if (eb_layout_read(json, "", &met, NULL) != EB_OK)
    return; /* the session says what is wrong with it */
  for (int i = 0; i < n->layout_count; i++)
    if (same_layout(&n->layouts[i], &met))
      return;
  if (n->layout_count == EB_BUNDLE_LAYOUTS_MAX)
    n->layouts_left++;
  else
    n->layouts[n->layout_count++] = met;
}

static void see_ask(eb_needs *n, const eb_json *ask)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  if (strcmp(kind, "number") == 0)
    see_number(n, ask);
  else if (strcmp(kind, "caution") == 0)
    see_hazards(n, eb_json_get(ask, "hazards"));
}

void eb_needs_see(void *context, const eb_json *request)
{
  eb_needs *n = context;
  const char *op = eb_json_get_string(request, "op", "");
  if (strcmp(op, "declare") == 0)
    see_hazards(n, eb_json_get(request, "cautions"));
  if ((strcmp(op, "declare") == 0 || strcmp(op, "layout") == 0) && eb_json_get(request, "layout") != NULL)
    see_layout(n, eb_json_get(request, "layout"));
  else if (strcmp(op, "ask") == 0)
    see_ask(n, request);
  else if (strcmp(op, "pass") == 0 && strcmp(eb_json_get_string(request, "condition", "idle"), "cold") != 0)
    need(n, AIRFLOW);
  else if (strcmp(op, "condition") == 0)
    need(n, strcmp(eb_json_get_string(request, "length", ""), "edge travel") == 0 ? EDGE : FEELERS);
}

int eb_needs_instruments(const eb_needs *needs, const char *words[EB_BUNDLE_TEXTS_MAX])
{
  int count = 0;
  for (int i = 0; i < INSTRUMENTS; i++)
    if ((needs->instruments >> i & 1) != 0)
      words[count++] = words_of[i];
  return count;
}
