/* What a shop keeps in files of its own: the formats of engines, gauges and habits. */
#include "evenbore/shop.h"

#include "formats.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Ranges of what a procedure asks for are those of its prompts; sizes are those of throttle.h's reader. */
static const eb_field engine_fields[] = {
    {.key = "name",
     .group = "",
     .kind = EB_FIELD_TEXT,
     .high = 60,
     .required = true,
     .what = "what it is called in records"},
    {.key = "procedure",
     .group = "",
     .kind = EB_FIELD_TEXT,
     .high = 200,
     .what = "the procedure that balances it, by its id or a path"},
    {.key = "tolerance",
     .group = "",
     .kind = EB_FIELD_SHARE,
     .low = 0.001,
     .high = 0.5,
     .quantity = EB_RATIO,
     .unit = "",
     .what = "how even it is to be"},
    {.key = "risk",
     .group = "",
     .kind = EB_FIELD_SHARE,
     .low = 0.001,
     .high = 0.5,
     .quantity = EB_RATIO,
     .unit = "",
     .what = "how likely the claim may be wrong"},
    {.key = "idle_rpm",
     .group = "",
     .kind = EB_FIELD_NUMBER,
     .low = 300,
     .high = 3000,
     .quantity = EB_ENGINE_SPEED,
     .unit = "rpm",
     .what = "its idle speed"},
    {.key = "held_rpm",
     .group = "",
     .kind = EB_FIELD_NUMBER,
     .low = 500,
     .high = 8000,
     .quantity = EB_ENGINE_SPEED,
     .unit = "rpm",
     .what = "the speed that is held for the part-throttle pass"},
    {.key = "warm_c",
     .group = "",
     .kind = EB_FIELD_NUMBER,
     .low = 20,
     .high = 150,
     .quantity = EB_TEMPERATURE,
     .unit = "C",
     .what = "from when on it counts as warm"},
    {.key = "layout",
     .group = "",
     .kind = EB_FIELD_VALUES,
     .high = 100,
     .example = "{\"cylinders\": 6}",
     .what = "answers to what its procedure asks of the layout, layout.cylinders=6"},
    {.key = "throttle", .group = "", .kind = EB_FIELD_GROUP},
    {.key = "bore_mm",
     .group = "throttle",
     .kind = EB_FIELD_NUMBER,
     .low = 5,
     .high = 500,
     .quantity = EB_LENGTH,
     .unit = "mm",
     .what = "inner diameter of the throttles"},
    {.key = "shaft_mm",
     .group = "throttle",
     .kind = EB_FIELD_NUMBER,
     .low = 0,
     .high = 100,
     .quantity = EB_LENGTH,
     .unit = "mm",
     .what = "diameter of the shaft in the bore"},
    {.key = "closed_deg",
     .group = "throttle",
     .kind = EB_FIELD_NUMBER,
     .low = 0,
     .high = 45,
     .quantity = EB_ANGLE,
     .unit = "deg",
     .what = "angle of a closed plate against the plane across the bore"},
    {.key = "pitch_mm",
     .group = "throttle",
     .kind = EB_FIELD_NUMBER,
     .low = 0.1,
     .high = 10,
     .quantity = EB_LENGTH,
     .unit = "mm",
     .what = "pitch of the stop or balance screws"},
    {.key = "lever_mm",
     .group = "throttle",
     .kind = EB_FIELD_NUMBER,
     .low = 1,
     .high = 500,
     .quantity = EB_LENGTH,
     .unit = "mm",
     .what = "from the shaft's axis to where the screw pushes"},
    {.key = "unit",
     .group = "throttle",
     .kind = EB_FIELD_UNIT,
     .quantity = EB_LENGTH,
     .unit = "mm|thou",
     .what = "in which amounts are told, whatever the habits are"},
    {.key = "bores",
     .group = "",
     .kind = EB_FIELD_TEXTS,
     .high = 200,
     .example = "{\"7\": \"shaft seal renewed\"}",
     .what = "notes on single bores, bores.7=\"shaft seal renewed\""},
    {.key = "notes", .group = "", .kind = EB_FIELD_TEXT, .high = 1000, .what = "whatever else is worth knowing"},
};

static const eb_field gauge_fields[] = {
    {.key = "name",
     .group = "",
     .kind = EB_FIELD_TEXT,
     .high = 60,
     .required = true,
     .what = "what it is called in records"},
    {.key = "scale",
     .group = "",
     .kind = EB_FIELD_PAIR,
     .low = 0,
     .high = 1e6,
     .required = true,
     .example = "[1, 30]",
     .what = "its two ends, scale=1..30"},
    {.key = "step",
     .group = "",
     .kind = EB_FIELD_NUMBER,
     .low = 1e-3,
     .high = 1e6,
     .quantity = EB_COUNT,
     .unit = "",
     .required = true,
     .what = "the smallest step that you can read"},
    {.key = "best",
     .group = "",
     .kind = EB_FIELD_PAIR,
     .low = 0,
     .high = 1e6,
     .example = "[1, 10]",
     .what = "the band of best resolution, best=1..10"},
    {.key = "unit",
     .group = "",
     .kind = EB_FIELD_UNIT,
     .quantity = EB_FLOW,
     .unit = "div|kg/h|g/s|lb/h",
     .what = "its unit"},
    {.key = "vent", .group = "", .kind = EB_FIELD_TEXT, .high = 31, .what = "its vent setting, in your words"},
    {.key = "repeatability",
     .group = "",
     .kind = EB_FIELD_SHARE,
     .low = 0.0001,
     .high = 0.5,
     .quantity = EB_RATIO,
     .unit = "",
     .what = "how well one reading repeats"},
    {.key = "learned", .group = "", .kind = EB_FIELD_GROUP, .own = true},
    {.key = "repeatability",
     .group = "learned",
     .kind = EB_FIELD_SHARE,
     .low = 0,
     .high = 10,
     .quantity = EB_RATIO,
     .unit = "",
     .required = true,
     .own = true},
    {.key = "degrees_of_freedom",
     .group = "learned",
     .kind = EB_FIELD_NUMBER,
     .low = 1,
     .high = 1e9,
     .quantity = EB_COUNT,
     .unit = "",
     .required = true,
     .own = true},
    {.key = "sessions",
     .group = "learned",
     .kind = EB_FIELD_COUNT,
     .low = 1,
     .high = 1e9,
     .quantity = EB_COUNT,
     .unit = "",
     .required = true,
     .own = true},
    {.key = "from",
     .group = "learned",
     .kind = EB_FIELD_LIST,
     .high = EB_GAUGE_SESSIONS_KEPT,
     .required = true,
     .own = true},
    {.key = "session", .group = "from", .kind = EB_FIELD_TEXT, .high = 255, .required = true, .own = true},
    {.key = "digest", .group = "from", .kind = EB_FIELD_TEXT, .high = 64, .required = true, .own = true},
    {.key = "repeatability",
     .group = "from",
     .kind = EB_FIELD_SHARE,
     .low = 0,
     .high = 10,
     .quantity = EB_RATIO,
     .unit = "",
     .required = true,
     .own = true},
    {.key = "degrees_of_freedom",
     .group = "from",
     .kind = EB_FIELD_NUMBER,
     .low = 1,
     .high = 1e9,
     .quantity = EB_COUNT,
     .unit = "",
     .required = true,
     .own = true},
    {.key = "notes", .group = "", .kind = EB_FIELD_TEXT, .high = 1000, .what = "whatever else is worth knowing"},
};

static const eb_field habits_fields[] = {
    {.key = "temperature",
     .group = "",
     .kind = EB_FIELD_UNIT,
     .quantity = EB_TEMPERATURE,
     .unit = "C|F|K",
     .what = "temperatures"},
    {.key = "length",
     .group = "",
     .kind = EB_FIELD_UNIT,
     .quantity = EB_LENGTH,
     .unit = "mm|um|cm|in|thou",
     .what = "lengths, and amounts of moves"},
    {.key = "pressure",
     .group = "",
     .kind = EB_FIELD_UNIT,
     .quantity = EB_PRESSURE,
     .unit = "kPa|hPa|mbar|bar|psi|inHg|mmHg",
     .what = "pressures"},
    {.key = "flow",
     .group = "",
     .kind = EB_FIELD_UNIT,
     .quantity = EB_FLOW,
     .unit = "div|kg/h|g/s|lb/h",
     .what = "what a new gauge shows; a gauge that has a unit keeps it"},
    {.key = "engine-speed",
     .group = "",
     .kind = EB_FIELD_UNIT,
     .quantity = EB_ENGINE_SPEED,
     .unit = "rpm",
     .what = "engine speeds"},
};

const eb_format eb_format_engine = {"evenbore-engine", "an engine", engine_fields,
                                    sizeof engine_fields / sizeof engine_fields[0]};
const eb_format eb_format_gauge = {"evenbore-gauge", "a gauge", gauge_fields,
                                   sizeof gauge_fields / sizeof gauge_fields[0]};
const eb_format eb_format_habits = {"evenbore-habits", "a list of habits", habits_fields,
                                    sizeof habits_fields / sizeof habits_fields[0]};

static double end_of(const eb_json *file, const char *key, int which)
{
  return eb_json_as_number(eb_json_at(eb_json_get(file, key), which), 0);
}

static eb_status check_throttle(const eb_looked_at *at, const eb_json *file, eb_error *error)
{
  const eb_json *throttle = eb_json_get(file, "throttle");
  double bore_mm = eb_json_get_number(throttle, "bore_mm", INFINITY);
  double shaft_mm = eb_json_get_number(throttle, "shaft_mm", 0);
  if (shaft_mm < bore_mm)
    return EB_OK;
  return eb_fields_refuse(error, EB_OUT_OF_RANGE, at, "/throttle/shaft_mm",
                          "the shaft is %g mm thick and the bore %g mm wide; a shaft is thinner than its bore",
                          shaft_mm, bore_mm);
}

static eb_status check_marks(const eb_looked_at *at, const eb_json *file, eb_error *error)
{
  double low = end_of(file, "scale", 0);
  double high = end_of(file, "scale", 1);
  double step = eb_json_get_number(file, "step", 0);
  if (step > (high - low) / 2)
    return eb_fields_refuse(error, EB_OUT_OF_RANGE, at, "/step",
                            "the step is %g; on a scale from %g to %g it is at most %g", step, low, high,
                            (high - low) / 2);
  if (eb_json_get(file, "best") != NULL && !(end_of(file, "best", 0) >= low && end_of(file, "best", 1) <= high))
    return eb_fields_refuse(error, EB_OUT_OF_RANGE, at, "/best", "the best band lies inside the scale, %g to %g", low,
                            high);
  if (strlen(eb_json_get_string(file, "vent", "")) > 31)
    return eb_fields_refuse(error, EB_OUT_OF_RANGE, at, "/vent", "the vent's words are longer than 31 bytes");
  return EB_OK;
}

eb_status eb_format_check(const eb_format *format, const eb_looked_at *at, const eb_json *file, eb_error *error)
{
  eb_status status = eb_fields_check(format, at, file, error);
  if (status == EB_OK && format == &eb_format_engine)
    status = check_throttle(at, file, error);
  if (status == EB_OK && format == &eb_format_gauge)
    status = check_marks(at, file, error);
  return status;
}

static eb_status read_as(const eb_format *format, const char *name, const char *text, size_t size, eb_json **made,
                         eb_error *error)
{
  char place[EB_PLACE_SIZE];
  eb_looked_at at = {name, text, size};
  eb_json *file = NULL;
  eb_json_place(name, 0, place);
  if (size > EB_SHOP_FILE_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, place, "larger than %d KiB; a shop's file is a short text",
                   (int)EB_SHOP_FILE_MAX / 1024);
  eb_status status = eb_json_parse_lines(name, text, size, &file, error);
  if (status == EB_OK)
    status = eb_format_check(format, &at, file, error);
  if (status == EB_OK)
    *made = file;
  else
    eb_json_destroy(file);
  return status;
}

eb_status eb_engine_file_read(const char *name, const char *text, size_t size, eb_json **made, eb_error *error)
{
  return read_as(&eb_format_engine, name, text, size, made, error);
}

eb_status eb_gauge_file_read(const char *name, const char *text, size_t size, eb_json **made, eb_error *error)
{
  return read_as(&eb_format_gauge, name, text, size, made, error);
}

eb_status eb_habits_file_read(const char *name, const char *text, size_t size, eb_json **made, eb_error *error)
{
  return read_as(&eb_format_habits, name, text, size, made, error);
}

eb_habits eb_habits_file_habits(const eb_json *file)
{
  eb_habits habits = {0};
  for (size_t i = 0; i < eb_format_habits.count; i++) {
    const char *key = habits_fields[i].key;
    eb_habits_set(&habits, key, eb_json_get_string(file, key, ""), NULL);
  }
  return habits;
}

static eb_spread learned_of(const eb_json *file)
{
  const eb_json *learned = eb_json_get(file, "learned");
  return (eb_spread){eb_json_get_number(learned, "repeatability", 0),
                     eb_json_get_number(learned, "degrees_of_freedom", 0)};
}

eb_gauge eb_gauge_file_gauge(const eb_json *file)
{
  eb_gauge gauge = eb_gauge_usual();
  gauge.low = gauge.best_low = end_of(file, "scale", 0);
  gauge.high = gauge.best_high = end_of(file, "scale", 1);
  gauge.step = eb_json_get_number(file, "step", gauge.step);
  if (eb_json_get(file, "best") != NULL) {
    gauge.best_low = end_of(file, "best", 0);
    gauge.best_high = end_of(file, "best", 1);
  }
  snprintf(gauge.unit, sizeof gauge.unit, "%s", eb_json_get_string(file, "unit", "div"));
  snprintf(gauge.vent, sizeof gauge.vent, "%s", eb_json_get_string(file, "vent", ""));
  double stated = eb_json_get_number(file, "repeatability", gauge.repeatability);
  eb_spread parts[] = {{stated, gauge.repeatability_weight}, learned_of(file)};
  eb_spread known = eb_spread_pool(parts, 2);
  /* What gauge.h takes. */
  gauge.repeatability = fmin(fmax(known.deviation, 1e-4), 0.5);
  gauge.repeatability_weight = fmin(known.degrees_of_freedom, EB_GAUGE_WEIGHT_MAX);
  return gauge;
}

bool eb_gauge_file_same(const eb_json *file, const eb_json *other)
{
  eb_gauge one = eb_gauge_file_gauge(file);
  eb_gauge two = eb_gauge_file_gauge(other);
  const double marks[][2] = {{one.low, two.low},
                             {one.high, two.high},
                             {one.step, two.step},
                             {one.best_low, two.best_low},
                             {one.best_high, two.best_high}};
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (marks[i][0] < marks[i][1] || marks[i][0] > marks[i][1])
      return false;
  return strcmp(one.unit, two.unit) == 0;
}

bool eb_gauge_file_knows(const eb_json *file, const char *digest)
{
  const eb_json *one = eb_json_first(eb_json_get(eb_json_get(file, "learned"), "from"));
  for (; one != NULL; one = eb_json_next(one))
    if (strcmp(eb_json_get_string(one, "digest", ""), digest) == 0)
      return true;
  return false;
}

static bool add_session(eb_json *from, const char *session, const char *digest, eb_spread repeats)
{
  while (eb_json_count(from) >= EB_GAUGE_SESSIONS_KEPT)
    eb_json_destroy(eb_json_take_first(from));
  eb_json *one = eb_json_object();
  bool made = eb_json_set_string(one, "session", session) && eb_json_set_string(one, "digest", digest) &&
              eb_json_set_number(one, "repeatability", repeats.deviation) &&
              eb_json_set_number(one, "degrees_of_freedom", repeats.degrees_of_freedom);
  return eb_json_add(from, one) && made;
}

bool eb_gauge_file_learn(eb_json *file, const char *session, const char *digest, eb_spread repeats)
{
  eb_spread parts[] = {learned_of(file), repeats};
  eb_spread pooled = eb_spread_pool(parts, 2);
  if (eb_json_get(file, "learned") == NULL && !eb_json_set(file, "learned", eb_json_object()))
    return false;
  eb_json *learned = eb_json_member(file, "learned");
  if (eb_json_get(learned, "from") == NULL && !eb_json_set(learned, "from", eb_json_array()))
    return false;
  return eb_json_set_number(learned, "repeatability", pooled.deviation) &&
         eb_json_set_number(learned, "degrees_of_freedom", pooled.degrees_of_freedom) &&
         eb_json_set_number(learned, "sessions", eb_json_get_number(learned, "sessions", 0) + 1) &&
         add_session(eb_json_member(learned, "from"), session, digest, repeats);
}
