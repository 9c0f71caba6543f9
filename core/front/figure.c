#include "figure.h"

#include "figure_entry.h"

#include "evenbore/format.h"
#include "evenbore/airflow.h"
#include "evenbore/quantity.h"
#include "evenbore/text.h"
#include "evenbore/throttle.h"

#include <math.h>
#include <string.h>

static const char help[] =
    "What does a feeler gap or an edge travel open?\n"
    "  evenbore figure opening --bore 48mm --shaft 8mm --closed 5deg --gap 0.05mm\n"
    "  evenbore figure opening --bore 48mm --closed 5deg --travel 2thou --as thou\n"
    "How far to move for a relative change of one bore's air?\n"
    "  evenbore figure move --bore 48mm --closed 5deg --idle-gap 0.05mm --change 6% --as thou\n"
    "  evenbore figure move --bore 48mm --closed 5deg --idle-gap 0.05mm --change -6% --doubt 1% --thread M5 --lever "
    "20mm\n"
    "What does a turn of the stop or balance screw do?\n"
    "  evenbore figure turn --turns 1/4 --thread 10-32 --lever 0.8in --bore 48mm --closed 5deg --idle-gap 0.05mm\n"
    "How far do the arms drift apart as the manifold warms and grows away from a steel link?\n"
    "  evenbore figure growth --length 250mm --arm 30mm --cold 20C --warm 90C\n"
    "How dense is the air here, and below what manifold pressure is an idle choked?\n"
    "  evenbore figure air --altitude 1500m --temperature 25C --humidity 60%\n"
    "One unit in another?\n"
    "  evenbore figure unit 0.05mm --as thou\n"
    "\n"
    "A feeler gap is radial: what fits between plate and bore at the widest point, 90 degrees from the shaft.\n"
    "Edge travel is how far that point of the plate moves along the bore. A thousandth of one is not one of the "
    "other.\n"
    "Angles count from the plane across the bore; --closed is where the plate touches the bore.\n"
    "An opening at idle may be said as --idle-gap, --idle-travel, --idle-angle or --idle-area, once.\n"
    "A screw is --thread (M5x0.8, 10-32, ...) or --pitch; --lever is from the shaft's axis to the screw.\n"
    "--one-half: one half of the plate is bent alone. --doubt: one standard deviation of the change.\n"
    "What is not said is not assumed: an answer that needs it says so. Numbers: 6.5, 6,5, 1/2, with a unit behind.\n";

enum { SAID_SIZE = 3 * EB_FORMAT_SIZE };

/* Three digits that count, four where the first is a one. */
static const char *number(double value, char text[EB_FORMAT_SIZE])
{
  double size = fabs(value);
  int decimals = 0;
  for (double at = 200; decimals < 6 && size > 0 && size < at; at /= 10)
    decimals++;
  return eb_format_fixed(value, decimals, text);
}

/* A length in the unit that was asked for, else in millimetres and thousandths of an inch. */
static eb_status say_length(const figure_entry *entry, double mm, char said[SAID_SIZE], eb_error *error)
{
  char text[EB_FORMAT_SIZE];
  char thou_text[EB_FORMAT_SIZE];
  double value = 0;
  const char *unit = entry->as;
  eb_status status = eb_unit_convert(EB_LENGTH, mm, "mm", unit == NULL ? "thou" : unit, &value, error);
  if (status == EB_OK && unit != NULL)
    status = eb_unit_symbol(EB_LENGTH, unit, &unit, error);
  if (status != EB_OK)
    return eb_fail(error, status, "--as", "%s", error->message);
  if (unit == NULL)
    snprintf(said, SAID_SIZE, "%s mm (%s thou)", number(mm, text), number(value, thou_text));
  else
    snprintf(said, SAID_SIZE, "%s %s", number(value, text), unit);
  return EB_OK;
}

static eb_throttle throttle_of(const figure_entry *entry)
{
  const double *value = entry->value;
  eb_idle_kind kind = entry->given[FIGURE_GAP]      ? EB_IDLE_GAP
                      : entry->given[FIGURE_TRAVEL] ? EB_IDLE_TRAVEL
                      : entry->given[FIGURE_ANGLE]  ? EB_IDLE_ANGLE
                      : entry->given[FIGURE_AREA]   ? EB_IDLE_AREA
                                                    : EB_IDLE_UNKNOWN;
  return (eb_throttle){.plate = {value[FIGURE_BORE], value[FIGURE_SHAFT], value[FIGURE_CLOSED]},
                       .closed_known = entry->given[FIGURE_CLOSED],
                       .idle_kind = kind,
                       .idle = {.angle_deg = value[FIGURE_ANGLE],
                                .gap = {value[FIGURE_GAP]},
                                .travel = {value[FIGURE_TRAVEL]},
                                .area_mm2 = value[FIGURE_AREA]},
                       .screw = {value[FIGURE_PITCH], value[FIGURE_LEVER]}};
}

static eb_status opening_of(const eb_throttle *throttle, eb_opening *opening, eb_error *error)
{
  const eb_plate *plate = &throttle->plate;
  switch (throttle->idle_kind) {
  case EB_IDLE_GAP: return eb_opening_at_gap(plate, throttle->idle.gap, opening, error);
  case EB_IDLE_TRAVEL: return eb_opening_at_travel(plate, throttle->idle.travel, opening, error);
  case EB_IDLE_ANGLE: return eb_opening_at_angle(plate, throttle->idle.angle_deg, opening, error);
  default: return eb_opening_at_area(plate, throttle->idle.area_mm2, opening, error);
  }
}

static eb_status answer_opening(const figure_entry *entry, eb_text *out, eb_error *error)
{
  eb_throttle throttle = throttle_of(entry);
  eb_opening opening;
  char gap[SAID_SIZE], travel[SAID_SIZE], angle[EB_FORMAT_SIZE], turned[EB_FORMAT_SIZE], area[EB_FORMAT_SIZE];
  eb_status status = figure_entry_need(entry, FIGURE_BORE, error);
  if (status == EB_OK)
    status = figure_entry_need(entry, FIGURE_CLOSED, error);
  if (status == EB_OK && throttle.idle_kind == EB_IDLE_UNKNOWN)
    status = eb_fail(error, EB_NOT_FOUND, "", "the opening is missing; write --gap, --travel, --angle or --area");
  if (status == EB_OK)
    status = opening_of(&throttle, &opening, error);
  if (status == EB_OK)
    status = say_length(entry, opening.gap.mm, gap, error);
  if (status == EB_OK)
    status = say_length(entry, opening.travel.mm, travel, error);
  if (status != EB_OK)
    return status;
  eb_text_printf(out, "feeler gap   %s, radial, at the widest point, 90 degrees from the shaft\n", gap);
  eb_text_printf(out, "edge travel  %s, along the bore, from closed\n", travel);
  eb_text_printf(out, "plate angle  %s deg, %s deg from closed\n", number(opening.angle_deg, angle),
                 number(opening.angle_deg - throttle.plate.closed_deg, turned));
  eb_text_printf(out, "open area    %s mm2\n", number(opening.area_mm2, area));
  eb_text_add(
      out, "Geometry alone: both halves open evenly; friction in so thin a gap and the plate's bevel are left out.\n");
  return EB_OK;
}

/* An amount with its doubt, in words. `say` puts one number of the amount into words. */
typedef struct span {
  double low, nominal, high;
} span;
typedef eb_status say_function(const figure_entry *entry, double value, char said[SAID_SIZE], eb_error *error);

static eb_status print_span(const figure_entry *entry, const char *what, const char *where, span amount,
                            say_function *say, eb_text *out, eb_error *error)
{
  char low[SAID_SIZE], nominal[SAID_SIZE], high[SAID_SIZE];
  bool closing = amount.nominal < 0;
  double least = closing ? -amount.high : amount.low;
  double most = closing ? -amount.low : amount.high;
  eb_status status = say(entry, fabs(least), low, error);
  if (status == EB_OK)
    status = say(entry, fabs(amount.nominal), nominal, error);
  if (status == EB_OK)
    status = say(entry, fabs(most), high, error);
  if (status != EB_OK)
    return status;
  eb_text_printf(out, "%s: %s by %s", what, closing ? "close" : "open", nominal);
  if (least < 0)
    eb_text_printf(out, "; at 95 %% anything from %s by %s to %s by %s", closing ? "open" : "close", low,
                   closing ? "close" : "open", high);
  else if (amount.low < amount.high)
    eb_text_printf(out, ", %s to %s at 95 %%", low, high);
  eb_text_printf(out, "%s\n", where);
  return EB_OK;
}

static eb_status say_turns(const figure_entry *entry, double turns, char said[SAID_SIZE], eb_error *error)
{
  (void)entry;
  (void)error;
  char text[EB_FORMAT_SIZE], degrees[EB_FORMAT_SIZE];
  snprintf(said, SAID_SIZE, "%s turn (%s deg)", number(turns, text), eb_format_fixed(turns * 360, 0, degrees));
  return EB_OK;
}

/* What is unknown is said in the amount's place; all else that is wrong ends the answer. */
static eb_status print_amount(const figure_entry *entry, const char *what, const char *where, eb_status status,
                              span amount, say_function *say, eb_text *out, eb_error *error)
{
  if (status == EB_OK)
    return print_span(entry, what, where, amount, say, out, error);
  if (status != EB_NOT_FOUND)
    return status;
  eb_text_printf(out, "%s: no amount, %s\n", what, error->message);
  return EB_OK;
}

static eb_status print_moves(const figure_entry *entry, const eb_throttle *throttle, eb_change change, eb_text *out,
                             eb_error *error)
{
  eb_halves halves = entry->given[FIGURE_HALF] ? EB_ONE_HALF : EB_BOTH_HALVES;
  const char *half = halves == EB_ONE_HALF ? ", the bent half alone" : "";
  eb_gap_change gap = {{0}, {0}, {0}};
  eb_travel_change travel = {{0}, {0}, {0}};
  eb_turns_change turns = {0, 0, 0};
  eb_status status = eb_throttle_gap_change(throttle, change, halves, &gap, error);
  status = print_amount(entry, "feeler gap at the widest point", half, status,
                        (span){gap.low.mm, gap.nominal.mm, gap.high.mm}, say_length, out, error);
  if (status != EB_OK)
    return status;
  status = eb_throttle_travel_change(throttle, change, halves, &travel, error);
  status = print_amount(entry, "edge travel along the bore", half, status,
                        (span){travel.low.mm, travel.nominal.mm, travel.high.mm}, say_length, out, error);
  if (status != EB_OK || halves == EB_ONE_HALF)
    return status;
  status = eb_throttle_turns_change(throttle, change, &turns, error);
  return print_amount(entry, "stop or balance screw", "", status,
                      (span){turns.low_turns, turns.nominal_turns, turns.high_turns}, say_turns, out, error);
}

static eb_status answer_move(const figure_entry *entry, eb_text *out, eb_error *error)
{
  eb_throttle throttle = throttle_of(entry);
  eb_change change = {entry->value[FIGURE_CHANGE], entry->value[FIGURE_DOUBT]};
  eb_status status = figure_entry_need(entry, FIGURE_CHANGE, error);
  if (status == EB_OK && throttle.idle_kind == EB_IDLE_UNKNOWN)
    status = figure_entry_need(entry, FIGURE_GAP, error);
  if (status == EB_OK)
    status = print_moves(entry, &throttle, change, out, error);
  if (status != EB_OK)
    return status;
  eb_text_add(out, "Assumes that all of the bore's air passes this plate, choked, so that air follows the open area. "
                   "It is the size of\n"
                   "a first move: friction in so thin a gap changes it, and what is measured afterwards takes over.\n");
  return EB_OK;
}

/* What a turn of the plate away from its idle opening does, where the plate is known. `condition`: if what. */
static eb_status print_change(const figure_entry *entry, const char *condition, double turned_deg, eb_text *out,
                              eb_error *error)
{
  eb_throttle throttle = throttle_of(entry);
  eb_opening idle, after;
  char gap[SAID_SIZE], travel[SAID_SIZE], percent[EB_FORMAT_SIZE];
  if (!entry->given[FIGURE_BORE] || !throttle.closed_known || throttle.idle_kind == EB_IDLE_UNKNOWN) {
    eb_text_add(
        out, "What that does to the air is not known without --bore, --closed and the opening at idle (--idle-gap).\n");
    return EB_OK;
  }
  eb_status status = opening_of(&throttle, &idle, error);
  if (status == EB_OK)
    status = eb_opening_at_angle(&throttle.plate, idle.angle_deg + turned_deg, &after, error);
  if (status == EB_OK)
    status = say_length(entry, fabs(after.gap.mm - idle.gap.mm), gap, error);
  if (status == EB_OK)
    status = say_length(entry, fabs(after.travel.mm - idle.travel.mm), travel, error);
  if (status != EB_OK)
    return status;
  if (!(idle.area_mm2 > 0))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "the plate is closed at idle; no change is relative to no opening");
  const char *way = turned_deg < 0 ? "less" : "more";
  eb_text_printf(out, "%s:\nfeeler gap %s %s at the widest point, edge travel %s %s along the bore\n", condition, gap,
                 way, travel, way);
  eb_text_printf(out, "air %s, if it is choked and all of it passes this plate\n",
                 eb_format_percent(after.area_mm2 / idle.area_mm2 - 1, true, percent));
  return EB_OK;
}

static eb_status answer_turn(const figure_entry *entry, eb_text *out, eb_error *error)
{
  double turns = entry->given[FIGURE_TURNS] ? entry->value[FIGURE_TURNS] : 1;
  eb_screw screw = {entry->value[FIGURE_PITCH], entry->value[FIGURE_LEVER]};
  double turned_deg = 0;
  char how_many[EB_FORMAT_SIZE], push[SAID_SIZE], angle[EB_FORMAT_SIZE];
  eb_status status = figure_entry_need(entry, FIGURE_PITCH, error);
  if (status == EB_OK)
    status = figure_entry_need(entry, FIGURE_LEVER, error);
  if (status == EB_OK)
    status = eb_screw_angle(&screw, turns, &turned_deg, error);
  if (status == EB_OK)
    status = say_length(entry, fabs(screw.pitch_mm * turns), push, error);
  if (status != EB_OK)
    return status;
  eb_text_printf(out, "%s turn %s: the screw goes %s, the plate turns by %s deg\n", number(fabs(turns), how_many),
                 turns < 0 ? "out" : "in", push, number(fabs(turned_deg), angle));
  return print_change(entry, "if in opens the plate", turned_deg, out, error);
}

static eb_status answer_growth(const figure_entry *entry, eb_text *out, eb_error *error)
{
  eb_growth growth = eb_growth_aluminium_and_steel();
  static const figure_slot needed[] = {FIGURE_LENGTH, FIGURE_ARM, FIGURE_COLD, FIGURE_WARM};
  double turned_deg = 0;
  char longer[SAID_SIZE], angle[EB_FORMAT_SIZE];
  eb_status status = EB_OK;
  for (size_t i = 0; i < sizeof needed / sizeof needed[0] && status == EB_OK; i++)
    status = figure_entry_need(entry, needed[i], error);
  growth.length_mm = entry->value[FIGURE_LENGTH];
  growth.arm_mm = entry->value[FIGURE_ARM];
  growth.rise_k = entry->value[FIGURE_WARM] - entry->value[FIGURE_COLD];
  if (status == EB_OK)
    status = eb_growth_angle(&growth, &turned_deg, error);
  double longer_mm = (growth.manifold_per_k - growth.link_per_k) * growth.length_mm * growth.rise_k;
  if (status == EB_OK)
    status = say_length(entry, fabs(longer_mm), longer, error);
  if (status != EB_OK)
    return status;
  eb_text_printf(out, "the manifold %s %s more than the link: the arms turn %s deg against one another\n",
                 growth.rise_k < 0 ? "shrinks" : "grows", longer, number(fabs(turned_deg), angle));
  eb_text_add(out, "Assumes an aluminium manifold (23e-6 per kelvin) and a steel link (12e-6). Balance it warm.\n");
  if (!entry->given[FIGURE_BORE])
    return EB_OK;
  return print_change(entry, "if all of that opens the plates at one end", fabs(turned_deg), out, error);
}

static eb_status find_air(const figure_entry *entry, eb_atmosphere *here, eb_error *error)
{
  eb_status status = eb_atmosphere_at(entry->value[FIGURE_ALTITUDE], here, error);
  if (status != EB_OK)
    return status;
  if (entry->given[FIGURE_PRESSURE])
    here->pressure_pa = entry->value[FIGURE_PRESSURE];
  if (entry->given[FIGURE_TEMPERATURE])
    here->temperature_k = entry->value[FIGURE_TEMPERATURE] + 273.15;
  return eb_air_density(here->pressure_pa, here->temperature_k, entry->value[FIGURE_HUMIDITY], &here->density_kg_m3,
                        error);
}

static eb_status say_pressure(const char *unit, double pressure_pa, char said[SAID_SIZE], eb_error *error)
{
  double value = 0;
  const char *symbol = NULL;
  char text[EB_FORMAT_SIZE];
  eb_status status = eb_unit_convert(EB_PRESSURE, pressure_pa, "Pa", unit, &value, error);
  if (status == EB_OK)
    status = eb_unit_symbol(EB_PRESSURE, unit, &symbol, error);
  if (status != EB_OK)
    return eb_fail(error, status, "--as", "%s", error->message);
  snprintf(said, SAID_SIZE, "%s %s", number(value, text), symbol);
  return EB_OK;
}

static eb_status answer_air(const figure_entry *entry, eb_text *out, eb_error *error)
{
  eb_gas air = eb_gas_air();
  eb_atmosphere here = {0, 0, 0}, sea = {0, 0, 0};
  const char *unit = entry->as == NULL ? "hPa" : entry->as;
  char outside[SAID_SIZE], choked[SAID_SIZE], vacuum[SAID_SIZE], texts[3][EB_FORMAT_SIZE];
  eb_status status = eb_atmosphere_at(0, &sea, error);
  if (status == EB_OK)
    status = find_air(entry, &here, error);
  double choked_pa = here.pressure_pa * eb_gas_critical_ratio(&air);
  if (status == EB_OK)
    status = say_pressure(unit, here.pressure_pa, outside, error);
  if (status == EB_OK)
    status = say_pressure(unit, choked_pa, choked, error);
  if (status == EB_OK)
    status = say_pressure("inHg", here.pressure_pa - choked_pa, vacuum, error);
  if (status != EB_OK)
    return status;
  eb_text_printf(out, "pressure %s, temperature %s C, density %s kg/m3: %s %% of the standard day at sea level\n",
                 outside, eb_format_fixed(here.temperature_k - 273.15, 1, texts[0]),
                 eb_format_fixed(here.density_kg_m3, 3, texts[1]),
                 eb_format_fixed(here.density_kg_m3 / sea.density_kg_m3 * 100, 1, texts[2]));
  eb_text_printf(out, "flow past a plate is choked while the manifold is below %s absolute: a vacuum gauge above %s\n",
                 choked, vacuum);
  return EB_OK;
}

/* The quantity is the one that both units belong to. */
static eb_status answer_unit(const figure_entry *entry, eb_text *out, eb_error *error)
{
  if (entry->number == NULL)
    return eb_fail(error, EB_NOT_FOUND, "", "the number is missing; write one with its unit, such as 0.05mm");
  if (entry->as == NULL)
    return figure_entry_need(entry, FIGURE_AS, error);
  eb_error wrong_unit;
  eb_error_clear(&wrong_unit);
  for (int quantity = 0; quantity < EB_QUANTITIES; quantity++) {
    const char *unit = NULL;
    eb_entry number_typed;
    char from[EB_FORMAT_SIZE], to[EB_FORMAT_SIZE];
    if (eb_unit_symbol((eb_quantity)quantity, entry->as, &unit, NULL) != EB_OK)
      continue;
    if (eb_entry_read(entry->number, strlen(entry->number), (eb_quantity)quantity, unit, &number_typed, &wrong_unit) !=
        EB_OK)
      continue;
    eb_text_printf(out, "%s %s = %s %s\n", eb_format_plain(number_typed.given, from), number_typed.unit,
                   eb_format_plain(number_typed.value, to), unit);
    return EB_OK;
  }
  if (wrong_unit.status != EB_OK)
    return eb_fail(error, wrong_unit.status, "", "%s", wrong_unit.message);
  const char *none = NULL;
  eb_unit_symbol(EB_LENGTH, entry->as, &none, error);
  return eb_fail(error, EB_BAD_UNIT, "--as", "%s", error->message);
}

static eb_status answer(const figure_entry *entry, eb_text *out, eb_error *error)
{
  switch (entry->verb) {
  case FIGURE_OPENING: return answer_opening(entry, out, error);
  case FIGURE_MOVE: return answer_move(entry, out, error);
  case FIGURE_TURN: return answer_turn(entry, out, error);
  case FIGURE_GROWTH: return answer_growth(entry, out, error);
  case FIGURE_AIR: return answer_air(entry, out, error);
  default: return answer_unit(entry, out, error);
  }
}

static int complain(const figure_entry *entry, bool verb_known, const eb_error *error, FILE *err)
{
  fprintf(err, "evenbore figure%s%s: %s%s%s\n", verb_known ? " " : "", verb_known ? figure_verb_word(entry->verb) : "",
          error->place, error->place[0] == '\0' ? "" : ": ", error->message);
  return error->status == EB_OUT_OF_MEMORY ? 1 : 2;
}

/* An answer is put together first: what goes wrong half-way leaves nothing half-said. */
int eb_figure_run(int argc, char **argv, FILE *out, FILE *err)
{
  figure_entry entry = {.help = false};
  eb_error error;
  eb_error_clear(&error);
  eb_text text;
  eb_text_init(&text, eb_host_system());
  if (figure_entry_read(argc, argv, &entry, &error) != EB_OK)
    return complain(&entry, false, &error, err);
  if (entry.help)
    eb_text_add(&text, help);
  else if (answer(&entry, &text, &error) == EB_OK)
    eb_error_clear(&error);
  int result = 0;
  if (error.status != EB_OK)
    result = complain(&entry, true, &error, err);
  else if (text.failed || fputs(eb_text_string(&text), out) == EOF || fflush(out) == EOF) {
    fputs("evenbore figure: the answer could not be written\n", err);
    result = 1;
  }
  eb_text_clear(&text);
  return result;
}
