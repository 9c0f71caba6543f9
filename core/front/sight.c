#include "sight.h"

#include "needle.h"

#include "evenbore/format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *bore_name(const eb_json *layout, int bore)
{
  return eb_json_as_string(eb_json_at(eb_json_get(layout, "bores"), bore), "?");
}

const char *eb_sight_fault(eb_fault fault, eb_bores where, const eb_json *layout, char *text, size_t size)
{
  int used = snprintf(text, size, "%s%s", eb_fault_word(fault), where == 0 ? "" : " at bore");
  for (int i = 0; i < eb_json_count(eb_json_get(layout, "bores")) && used >= 0 && (size_t)used < size; i++)
    if (where >> i & 1)
      used += snprintf(text + used, size - (size_t)used, " %s", bore_name(layout, i));
  return text;
}

/* What eyes, ears and fingers find, and what they find where it is not there. */
static const char *found_words(int fault)
{
  switch (fault) {
  case EB_FAULT_LEAK: return "A clamp slit hisses and its clamp turns by hand";
  case EB_FAULT_DEAD: return "The cylinder stays cold and hardly draws: that is in its valves";
  case EB_FAULT_WEAK: return "It draws, and does not fire: spark, not air";
  case EB_FAULT_LEAN: return "It spits and runs lean: fuel, not air";
  case EB_FAULT_STICK: return "A plate hangs a moment before it shuts, and not at the same place each time";
  case EB_FAULT_LOOSE_COUPLER: return "There is play where the linkage takes hold";
  case EB_FAULT_LASH: return "One side comes to its stop now sooner, now later than the other";
  case EB_FAULT_WANDER: return "The idle rises and falls by itself";
  case EB_FAULT_VENT: return "The gauge's vent is not where it was set";
  default: break;
  }
  return "";
}

static const char *sound_words(eb_faults checks)
{
  if (checks == (1U << EB_FAULTS) - 1)
    return "You look all over it: nothing to be found.";
  if (checks >> EB_FAULT_STICK & 1)
    return "It moves without a catch and snaps shut.";
  if (checks >> EB_FAULT_WANDER & 1)
    return "The idle stands still.";
  if (checks >> EB_FAULT_VENT & 1)
    return "Vent, hose and idle stop are where they were.";
  if (checks >> EB_FAULT_LASH & 1)
    return "Both ends are reached together.";
  return "Every clamp sits tight, nothing hisses.";
}

static void say_found(eb_page *page, const eb_sight *sight, const eb_json *layout, const eb_engine *engine)
{
  eb_engine_truth truth;
  bool any = false;
  if (sight->checks == 0 || engine == NULL)
    return;
  eb_engine_look(engine, &truth);
  for (int f = 0; f < EB_FAULTS; f++) {
    char where[160];
    if ((sight->finds >> f & 1) == 0 || found_words(f)[0] == '\0')
      continue;
    any = true;
    eb_sight_fault((eb_fault)f, truth.faulty[f], layout, where, sizeof where);
    const char *at = strstr(where, " at ");
    eb_page_sayf(page, "%s%s.", found_words(f), at == NULL || sight->bore >= 0 ? "" : at);
  }
  if (!any)
    eb_page_say(page, sound_words(sight->checks));
}

static void say_time(eb_page *page, double minutes)
{
  if (minutes >= 1)
    eb_page_sayf(page, "%.0f minutes pass.", minutes);
}

/* A length that is engraved on a leaf. */
static void say_leaf(eb_page *page, const eb_sight *sight, const char *unit)
{
  char least[EB_FORMAT_SIZE], next[EB_FORMAT_SIZE];
  double step = strcmp(unit, "mm") == 0 ? 0.01 : strcmp(unit, "thou") == 0 ? 0.5 : 0;
  double leaf = step > 0 ? step * round(sight->least / step) : sight->least;
  if (!(leaf > 0))
    eb_page_say(page, "Not even the thinnest leaf goes in: 0.");
  else if (step > 0)
    eb_page_sayf(page, "The %s %s leaf goes in with a light drag, the %s does not.", eb_format_plain(leaf, least), unit,
                 eb_format_plain(leaf + step, next));
  else
    eb_page_sayf(page, "A leaf of %s %s goes in with a light drag.", eb_format_plain(leaf, least), unit);
}

static void say_mixture(eb_page *page, const eb_sight *sight, const eb_json *layout)
{
  const eb_json *titles = eb_json_get(layout, "row_titles");
  for (int row = 0; row < sight->rows; row++) {
    char lambda[EB_FORMAT_SIZE], name[40];
    snprintf(name, sizeof name, "row %d", row + 1);
    const char *title = eb_json_as_string(eb_json_at(titles, row), "");
    eb_page_sayf(page, "The sensor behind %.40s shows lambda %s.", title[0] == '\0' ? name : title,
                 eb_format_fixed(sight->lambda[row], 2, lambda));
  }
}

static double step_of(const eb_sight *sight)
{
  if (sight->dial == EB_DIAL_TACHOMETER)
    return fmax(round(sight->least / 100), 1e-3); /* 10 rpm of 900 */
  if (sight->dial == EB_DIAL_TRAVEL)
    return fmax(sight->least / 20, 1e-3);
  return sight->step > 0 ? sight->step : fmax(fabs(sight->least) / 50, 1e-3);
}

static void say_dial(eb_page *page, const eb_sight *sight, const eb_json *ask, const eb_json *layout)
{
  static const char *const names[] = {[EB_DIAL_THERMOMETER] = "The thermometer:",
                                      [EB_DIAL_PROBE] = "The probe at the port:",
                                      [EB_DIAL_TACHOMETER] = "The rev counter:",
                                      [EB_DIAL_TRAVEL] = "The edge's travel:"};
  char value[EB_FORMAT_SIZE];
  const char *unit = eb_json_get_string(ask, "unit", "");
  switch (sight->dial) {
  case EB_DIAL_NONE: return;
  case EB_DIAL_LEAF: say_leaf(page, sight, unit); return;
  case EB_DIAL_MIXTURE: eb_page_sayf(page, "The sensor shows %s.", eb_format_fixed(sight->least, 2, value)); return;
  case EB_DIAL_KNOWN:
    eb_page_sayf(page, "What is known here: %s %.20s", eb_format_plain(sight->least, value), unit);
    return;
  case EB_DIAL_GAUGE:
    if (eb_json_get(ask, "bore") == NULL)
      eb_page_sayf(page, "%sThe gauge on bore %.40s:", sight->bore == 0 ? "" : "The first one hardly moves it. ",
                   bore_name(layout, sight->bore));
    break;
  case EB_DIAL_THERMOMETER:
  case EB_DIAL_PROBE:
  case EB_DIAL_TACHOMETER:
  case EB_DIAL_TRAVEL: eb_page_say(page, names[sight->dial]); break;
  }
  eb_needle_draw(page, sight->least, sight->most, step_of(sight));
}

void eb_sight_show(eb_page *page, const eb_sight *sight, const eb_json *ask, const eb_json *layout,
                   const eb_engine *engine)
{
  if (sight->started)
    eb_page_say(page, "It stood still; you start it again.");
  if (sight->stopped)
    eb_page_say(page, "It still ran; you switch it off.");
  say_time(page, sight->waited_min);
  say_found(page, sight, layout, engine);
  say_mixture(page, sight, layout);
  say_dial(page, sight, ask, layout);
}

static const char *turned(const eb_felt *felt)
{
  if (felt->slack && felt->hangs)
    return "Some slack first; then it moves in jerks, and something hangs.";
  if (felt->slack)
    return "Some slack first, then it takes hold.";
  return felt->hangs ? "It moves in jerks, and something hangs." : "It moves evenly, and stays.";
}

void eb_sight_felt(eb_page *page, const eb_felt *felt, const eb_json *ask)
{
  static const double DIES_RPM = 300;
  if (felt->fired && felt->speed_rpm < DIES_RPM)
    eb_page_say(page, "It fires and all but dies: the idle stop has to hold it up.");
  else if (felt->fired)
    eb_page_sayf(page, "It fires and settles near %.0f rpm.", 50 * round(felt->speed_rpm / 50));
  if (felt->stands)
    eb_page_say(page, "It runs out and stands.");
  if (felt->moved)
    eb_page_say(page, turned(felt));
  else if (strcmp(eb_json_get_string(ask, "kind", ""), "adjust") == 0)
    eb_page_say(page, "It stays as it stood.");
  if (felt->mended != 0)
    eb_page_say(page, "You set that right.");
  if (felt->vent)
    eb_page_say(page, "You turn the vent until the needle stands in the best band.");
  say_time(page, felt->waited_min);
}
