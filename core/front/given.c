#include "given.h"

#include "shop_file.h"

#include "evenbore/format.h"
#include "evenbore/shop.h"
#include "evenbore/text.h"

#include <stdio.h>
#include <string.h>

/* Words for the record, or of a gauge. */
static bool is_words(const char *typed)
{
  return strpbrk(typed, " \t") != NULL && !eb_data_is_path(typed);
}

/* One word of --gauge's own is no name. */
static bool is_gauge_words(const char *typed)
{
  static const char *const words[] = {"scale", "step", "best", "repeat", "unit", "vent"};
  for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
    if (strcmp(typed, words[i]) == 0)
      return true;
  return is_words(typed);
}

eb_status eb_given_file(const eb_run *run, const eb_format *format, const char *path, eb_json **made, eb_error *error)
{
  eb_shop_file file;
  eb_status status = eb_shop_file_read(run->host, path, &file, error);
  if (status != EB_OK)
    return status;
  eb_looked_at at = {path, file.text, file.size};
  status = eb_format_check(format, &at, file.json, error);
  if (status == EB_OK) {
    *made = file.json;
    file.json = NULL;
  }
  eb_shop_file_clear(&file);
  return status;
}

/* A name that no file has: with the nearest that one has. */
static eb_status not_found(const eb_run *run, const char *kind, const char *folder, const char *typed, eb_error *error)
{
  char path[EB_DATA_PATH_SIZE];
  eb_shop_names names;
  const char *words[256];
  size_t count = 0;
  if (strchr(typed, '.') != NULL)
    return eb_fail(error, EB_NOT_FOUND, typed, "no such file");
  if (eb_data_path(run->options.data, folder, path, NULL) != EB_OK ||
      eb_shop_names_list(run->host, path, &names, NULL) != EB_OK)
    return eb_fail(error, EB_NOT_FOUND, typed, "no such %s; evenbore %s lists them", kind, folder);
  for (; count < names.count && count < sizeof words / sizeof words[0]; count++)
    words[count] = names.names[count];
  const char *near = eb_nearest(typed, words, count);
  if (near != NULL)
    eb_fail(error, EB_NOT_FOUND, typed, "no such %s; the nearest is %s", kind, near);
  else
    eb_fail(error, EB_NOT_FOUND, typed, "no such %s; make it with evenbore %s %s KEY=VALUE... (evenbore help %s)", kind,
            kind, typed, kind);
  eb_shop_names_clear(&names);
  return EB_NOT_FOUND;
}

eb_status eb_given_named(const eb_run *run, const eb_format *format, const char *kind, const char *folder,
                         const char *typed, char path[EB_DATA_PATH_SIZE], eb_json **made, int *exit_status,
                         eb_error *error)
{
  *exit_status = EB_EXIT_USAGE;
  eb_status status = eb_data_file(run->options.data, kind, folder, typed, path, error);
  if (status != EB_OK)
    return status;
  status = eb_given_file(run, format, path, made, error);
  if (status == EB_NOT_FOUND)
    return not_found(run, kind, folder, typed, error);
  *exit_status = EB_EXIT_FAILED;
  return status;
}

eb_status eb_given_habits(const eb_run *run, eb_habits *habits, eb_error *error)
{
  char path[EB_DATA_PATH_SIZE];
  eb_json *file = NULL;
  *habits = (eb_habits){0};
  eb_status status = eb_data_path(run->options.data, "habits.json", path, error);
  if (status != EB_OK)
    return status;
  status = eb_given_file(run, &eb_format_habits, path, &file, error);
  if (status == EB_OK)
    *habits = eb_habits_file_habits(file);
  eb_json_destroy(file);
  return status == EB_NOT_FOUND ? EB_OK : status;
}

/* "length=thou temperature=F" over the shop's own. */
static eb_status read_words(const char *words, eb_habits *habits, eb_error *error)
{
  while (words[strspn(words, " \t,")] != '\0') {
    char word[64];
    words += strspn(words, " \t,");
    size_t size = strcspn(words, " \t,");
    snprintf(word, sizeof word, "%.*s", (int)(size < sizeof word ? size : sizeof word - 1), words);
    words += size;
    char *equals = strchr(word, '=');
    if (equals == NULL)
      return eb_fail(error, EB_BAD_VALUE, "--habits", "\"%s\" has no unit; write it as temperature=F", word);
    *equals = '\0';
    eb_error why;
    eb_status status = eb_habits_set(habits, word, equals + 1, &why);
    if (status != EB_OK)
      return eb_fail(error, status, "--habits", "%s", why.message);
  }
  return EB_OK;
}

eb_status eb_given_read(const eb_run *run, eb_given *given, int *exit_status, eb_error *error)
{
  char path[EB_DATA_PATH_SIZE];
  const eb_options *options = &run->options;
  eb_given read = {.engine = NULL};
  *exit_status = EB_EXIT_FAILED;
  eb_status status = eb_given_habits(run, &read.habits, error);
  if (status == EB_OK && options->habits != NULL) {
    *exit_status = EB_EXIT_USAGE;
    status = read_words(options->habits, &read.habits, error);
  }
  if (status == EB_OK && options->engine != NULL && !is_words(options->engine))
    status = eb_given_named(run, &eb_format_engine, "engine", "engines", options->engine, read.engine_path,
                            &read.engine, exit_status, error);
  if (status == EB_OK && options->gauge != NULL && !is_gauge_words(options->gauge))
    status =
        eb_given_named(run, &eb_format_gauge, "gauge", "gauges", options->gauge, path, &read.gauge, exit_status, error);
  if (status == EB_OK)
    *given = read;
  else
    eb_given_clear(&read);
  return status;
}

void eb_given_clear(eb_given *given)
{
  eb_json_destroy(given->engine);
  eb_json_destroy(given->gauge);
  *given = (eb_given){.engine = NULL};
}

eb_status eb_given_procedure(const eb_run *run, const eb_given *given, const char **name, eb_error *error)
{
  *name = run->options.argument != NULL ? run->options.argument : eb_json_get_string(given->engine, "procedure", NULL);
  if (*name != NULL)
    return EB_OK;
  if (given->engine == NULL)
    return eb_fail(error, EB_NOT_FOUND, "tune", "a procedure is missing; evenbore procedures lists them");
  return eb_fail(error, EB_NOT_FOUND, given->engine_path,
                 "this engine names no procedure; add one with evenbore engine %s procedure=ID, or type it behind tune",
                 run->options.engine);
}

/* The file's content, with the name that it lay under. */
static bool add_file(eb_json *inputs, const char *key, const eb_json *file, const char *typed)
{
  const char *slash = strrchr(typed, '/');
  eb_json *copy = eb_json_copy(file);
  if (eb_json_set_string(copy, "file", slash == NULL ? typed : slash + 1))
    return eb_json_set(inputs, key, copy);
  eb_json_destroy(copy);
  return false;
}

static bool any_habit(const eb_habits *habits)
{
  for (int i = 0; i < EB_QUANTITIES; i++)
    if (habits->unit[i][0] != '\0')
      return true;
  return false;
}

eb_json *eb_given_inputs(const eb_run *run, const eb_given *given)
{
  const eb_options *options = &run->options;
  eb_json *inputs = eb_json_object();
  bool made = inputs != NULL;
  if (made && options->engine != NULL)
    made = eb_json_set_string(inputs, "engine", eb_json_get_string(given->engine, "name", options->engine));
  if (made && options->engine != NULL && given->engine != NULL)
    made = add_file(inputs, "engine_file", given->engine, options->engine);
  if (made && options->gauge != NULL && given->gauge != NULL)
    made = eb_json_set_string(inputs, "gauge", options->gauge) &&
           add_file(inputs, "gauge_file", given->gauge, options->gauge);
  if (made && any_habit(&given->habits))
    made = eb_json_set(inputs, "habits", eb_habits_json(&given->habits));
  if (made)
    return inputs;
  eb_json_destroy(inputs);
  return NULL;
}

/* What is given on the command line is laid over what the procedure declares. */
static eb_status choose_gauge(const eb_run *run, const eb_given *given, const eb_json *declare, const char *name,
                              eb_gauge *gauge, eb_error *error)
{
  const char *flow = given->habits.unit[EB_FLOW];
  const eb_json *declared = eb_json_get(declare, "gauge");
  *gauge = eb_gauge_usual();
  if (flow[0] != '\0')
    snprintf(gauge->unit, sizeof gauge->unit, "%s", flow);
  eb_status status = declared == NULL ? EB_OK : eb_gauge_read(declared, name, gauge, error);
  return status == EB_OK ? eb_options_gauge(run->options.gauge, gauge, error) : status;
}

eb_status eb_given_options(const eb_run *run, const eb_given *given, const eb_json *declare, const char *name,
                           eb_session_options *options, eb_gauge *gauge, eb_error *error)
{
  options->tolerance = run->options.tolerance;
  options->risk = run->options.risk;
  if (!(options->tolerance > 0))
    options->tolerance = eb_json_get_number(given->engine, "tolerance", 0);
  if (!(options->risk > 0))
    options->risk = eb_json_get_number(given->engine, "risk", 0);
  if (given->gauge != NULL)
    *gauge = eb_gauge_file_gauge(given->gauge);
  else if (run->options.gauge == NULL)
    return EB_OK;
  options->gauge = gauge;
  return given->gauge != NULL ? EB_OK : choose_gauge(run, given, declare, name, gauge, error);
}

/* Other marks may have been typed while the job went on: its readings are then another gauge's. */
static bool kept_its_gauge(const eb_session *session, const eb_json *opening)
{
  eb_gauge begun = eb_gauge_usual();
  const eb_gauge *now = eb_session_gauge(session);
  if (eb_gauge_read(eb_json_get(opening, "gauge"), "", &begun, NULL) != EB_OK)
    return false;
  const double marks[][2] = {{begun.low, now->low}, {begun.high, now->high}, {begun.step, now->step}};
  for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
    if (marks[i][0] < marks[i][1] || marks[i][0] > marks[i][1])
      return false;
  return strcmp(begun.unit, now->unit) == 0;
}

static eb_status learn(const eb_run *run, const char *path, const eb_json *opening, eb_spread repeats, bool *learned,
                       eb_spread *known, eb_error *error)
{
  eb_json *file = NULL;
  const char *digest = eb_json_get_string(opening, "h", "");
  eb_status status = eb_given_file(run, &eb_format_gauge, path, &file, error);
  if (status != EB_OK)
    return status;
  if (!eb_gauge_file_same(file, eb_json_get(eb_json_get(opening, "inputs"), "gauge_file"))) {
    status = eb_fail(error, EB_MISMATCH, path, "the gauge's marks were changed since this session began");
  } else if (!eb_gauge_file_knows(file, digest)) {
    *learned = true;
    if (!eb_gauge_file_learn(file, eb_json_get_string(opening, "session", "?"), digest, repeats))
      status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
    if (status == EB_OK)
      status = eb_shop_file_write(run->host, path, file, error);
  }
  const eb_json *now = eb_json_get(file, "learned");
  *known = (eb_spread){eb_json_get_number(now, "repeatability", 0), eb_json_get_number(now, "degrees_of_freedom", 0)};
  eb_json_destroy(file);
  return status;
}

static void say_learned(const eb_run *run, const char *gauge, eb_spread repeats, eb_spread known)
{
  char text[400];
  char number[4][EB_FORMAT_SIZE];
  snprintf(text, sizeof text,
           "gauge %.100s: repeats to %s %% in this session (%s degrees of freedom), to %s %% over all (%s)", gauge,
           eb_format_fixed(repeats.deviation * 100, 2, number[0]),
           eb_format_plain(repeats.degrees_of_freedom, number[1]), eb_format_fixed(known.deviation * 100, 2, number[2]),
           eb_format_plain(known.degrees_of_freedom, number[3]));
  eb_run_remark(run, text);
}

static void say_not_learned(const eb_run *run, const char *gauge, const eb_error *why)
{
  eb_error error;
  char place[EB_PLACE_SIZE];
  snprintf(place, sizeof place, "%s", why->place[0] == '\0' ? gauge : why->place);
  eb_fail(&error, why->status, place, "%s; the gauge's file is left as it is", why->message);
  eb_run_complain(run, &error);
}

void eb_given_learn(const eb_run *run, const eb_session *session)
{
  const eb_json *opening = eb_session_opening(session);
  const char *gauge = eb_json_get_string(eb_json_get(opening, "inputs"), "gauge", NULL);
  eb_spread repeats = eb_session_repeats(session);
  eb_spread known = {0, 0};
  char path[EB_DATA_PATH_SIZE];
  eb_error error;
  int held = -1;
  bool learned = false;
  if (eb_json_get(eb_json_get(opening, "inputs"), "practice") != NULL)
    return; /* a simulated gauge says nothing of the shop's */
  if (gauge == NULL || eb_session_where(session) != EB_SESSION_ENDED || !(repeats.degrees_of_freedom > 0))
    return;
  eb_status status = EB_OK;
  if (!kept_its_gauge(session, opening))
    status = eb_fail(&error, EB_MISMATCH, gauge, "other marks than the gauge's were typed in this session");
  if (status == EB_OK)
    status = eb_data_file(run->options.data, "gauge", "gauges", gauge, path, &error);
  if (status == EB_OK)
    status = eb_shop_file_hold(run->host, path, &held, &error);
  if (status == EB_OK) {
    status = learn(run, path, opening, repeats, &learned, &known, &error);
    eb_shop_file_release(run->host, held);
  }
  if (status != EB_OK)
    say_not_learned(run, gauge, &error);
  else if (learned)
    say_learned(run, gauge, repeats, known);
}
