#include "figure_entry.h"

#include "evenbore/quantity.h"
#include "evenbore/text.h"
#include "evenbore/throttle.h"

#include <assert.h>
#include <stdio.h>
#include <string.h>

static const char *const verbs[FIGURE_VERBS] = {"opening", "move", "turn", "growth", "air", "unit"};

enum {
  OPENING = 1 << FIGURE_OPENING,
  MOVE = 1 << FIGURE_MOVE,
  TURN = 1 << FIGURE_TURN,
  GROWTH = 1 << FIGURE_GROWTH,
  AIR = 1 << FIGURE_AIR,
  UNIT = 1 << FIGURE_UNIT,
  PLATE = OPENING | MOVE | TURN | GROWTH,
  IDLE = MOVE | TURN | GROWTH
};

typedef enum kind { NUMBER, AREA, THREAD, FLAG, WORD } kind;

typedef struct option {
  const char *name;
  const char *example; /* of its value */
  figure_slot slot;
  unsigned verbs; /* those that take it */
  kind kind;
  eb_quantity quantity; /* of a NUMBER */
  const char *unit;     /* of its slot */
} option;

/* A slot's first option is the one that a message recommends. */
static const option options[] = {
    {"--bore", "48mm", FIGURE_BORE, PLATE, NUMBER, EB_LENGTH, "mm"},
    {"--shaft", "8mm", FIGURE_SHAFT, PLATE, NUMBER, EB_LENGTH, "mm"},
    {"--closed", "5deg", FIGURE_CLOSED, PLATE, NUMBER, EB_ANGLE, "deg"},
    {"--gap", "0.05mm", FIGURE_GAP, OPENING, NUMBER, EB_LENGTH, "mm"},
    {"--travel", "0.4mm", FIGURE_TRAVEL, OPENING, NUMBER, EB_LENGTH, "mm"},
    {"--angle", "6deg", FIGURE_ANGLE, OPENING, NUMBER, EB_ANGLE, "deg"},
    {"--area", "3.5mm2", FIGURE_AREA, OPENING, AREA, EB_RATIO, ""},
    {"--idle-gap", "0.05mm", FIGURE_GAP, IDLE, NUMBER, EB_LENGTH, "mm"},
    {"--idle-travel", "0.4mm", FIGURE_TRAVEL, IDLE, NUMBER, EB_LENGTH, "mm"},
    {"--idle-angle", "6deg", FIGURE_ANGLE, IDLE, NUMBER, EB_ANGLE, "deg"},
    {"--idle-area", "3.5mm2", FIGURE_AREA, IDLE, AREA, EB_RATIO, ""},
    {"--change", "6%", FIGURE_CHANGE, MOVE, NUMBER, EB_RATIO, "%"},
    {"--doubt", "1%", FIGURE_DOUBT, MOVE, NUMBER, EB_RATIO, "%"},
    {"--one-half", NULL, FIGURE_HALF, MOVE, FLAG, EB_COUNT, ""},
    {"--thread", "M5x0.8", FIGURE_PITCH, MOVE | TURN, THREAD, EB_LENGTH, "mm"},
    {"--pitch", "0.8mm", FIGURE_PITCH, MOVE | TURN, NUMBER, EB_LENGTH, "mm"},
    {"--lever", "20mm", FIGURE_LEVER, MOVE | TURN, NUMBER, EB_LENGTH, "mm"},
    {"--turns", "1/4", FIGURE_TURNS, TURN, NUMBER, EB_ANGLE, "turn"},
    {"--length", "250mm", FIGURE_LENGTH, GROWTH, NUMBER, EB_LENGTH, "mm"},
    {"--arm", "30mm", FIGURE_ARM, GROWTH, NUMBER, EB_LENGTH, "mm"},
    {"--cold", "20C", FIGURE_COLD, GROWTH, NUMBER, EB_TEMPERATURE, "C"},
    {"--warm", "90C", FIGURE_WARM, GROWTH, NUMBER, EB_TEMPERATURE, "C"},
    {"--altitude", "1500m", FIGURE_ALTITUDE, AIR, NUMBER, EB_LENGTH, "m"},
    {"--pressure", "950hPa", FIGURE_PRESSURE, AIR, NUMBER, EB_PRESSURE, "hPa"},
    {"--temperature", "25C", FIGURE_TEMPERATURE, AIR, NUMBER, EB_TEMPERATURE, "C"},
    {"--humidity", "60%", FIGURE_HUMIDITY, AIR, NUMBER, EB_RATIO, "%"},
    {"--as", "thou", FIGURE_AS, OPENING | MOVE | TURN | GROWTH | AIR | UNIT, WORD, EB_COUNT, ""},
};
enum { OPTIONS = sizeof options / sizeof options[0], TYPED_MAX = 40, SHOWN_SIZE = 6 * TYPED_MAX + 1 };

const char *figure_verb_word(figure_verb verb)
{
  return verbs[verb];
}

/* At most so much of a typed word that a line stays a line.  One byte becomes six at most: \u{1B}. */
static const char *shown(const char *typed, char text[SHOWN_SIZE])
{
  eb_text safe;
  eb_text_init(&safe, eb_host_system());
  eb_text_add_safe(&safe, typed, strnlen(typed, TYPED_MAX), false);
  snprintf(text, SHOWN_SIZE, "%s", eb_text_string(&safe));
  eb_text_clear(&safe);
  return text;
}

static eb_status read_verb(const char *word, figure_verb *verb, eb_error *error)
{
  for (int i = 0; i < FIGURE_VERBS; i++)
    if (strcmp(word, verbs[i]) == 0) {
      *verb = (figure_verb)i;
      return EB_OK;
    }
  char text[SHOWN_SIZE];
  const char *nearest = eb_nearest(word, verbs, FIGURE_VERBS);
  if (nearest != NULL)
    return eb_fail(error, EB_NOT_FOUND, "", "there is no \"%s\"; \"%s\" is near it", shown(word, text), nearest);
  return eb_fail(error, EB_NOT_FOUND, "", "there is no \"%s\"; it is one of opening, move, turn, growth, air, unit",
                 shown(word, text));
}

/* `size`: the option's name may be followed by = and its value. */
static const option *find_option(const char *word, size_t size, figure_verb verb)
{
  for (size_t i = 0; i < OPTIONS; i++)
    if (strlen(options[i].name) == size && strncmp(word, options[i].name, size) == 0 &&
        (options[i].verbs & 1U << verb) != 0)
      return &options[i];
  return NULL;
}

static eb_status unknown_option(const char *word, size_t size, figure_verb verb, eb_error *error)
{
  const char *names[OPTIONS];
  size_t count = 0;
  for (size_t i = 0; i < OPTIONS; i++)
    if ((options[i].verbs & 1U << verb) != 0)
      names[count++] = options[i].name;
  char name[TYPED_MAX];
  char text[SHOWN_SIZE];
  snprintf(name, sizeof name, "%.*s", (int)(size < sizeof name ? size : sizeof name), word);
  shown(name, text);
  const char *nearest = eb_nearest(name, names, count);
  if (nearest != NULL)
    return eb_fail(error, EB_NOT_FOUND, "", "there is no \"%s\"; \"%s\" is near it", text, nearest);
  char list[400] = "";
  size_t used = 0;
  for (size_t i = 0; i < count && used < sizeof list; i++)
    used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", i == 0 ? "" : " ", names[i]);
  return eb_fail(error, EB_NOT_FOUND, "", "there is no \"%s\"; it takes %s", text, list);
}

/* An area has no unit of its own in the library: mm2 is what it is. */
static size_t without_area_unit(const char *typed)
{
  static const char *const units[] = {"mm2", "mm\xC2\xB2", "mm^2"};
  size_t size = strlen(typed);
  for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
    size_t length = strlen(units[i]);
    if (size > length && strcmp(typed + size - length, units[i]) == 0)
      return size - length;
  }
  return size;
}

static eb_status read_value(const option *met, const char *typed, double *value, eb_error *error)
{
  eb_entry number = {.value = 0};
  const eb_thread *thread = NULL;
  eb_error why;
  eb_error_clear(&why);
  if (met->kind == THREAD)
    eb_thread_find(typed, &thread, &why);
  else
    eb_entry_read(typed, met->kind == AREA ? without_area_unit(typed) : strlen(typed), met->quantity, met->unit,
                  &number, &why);
  if (why.status != EB_OK)
    return eb_fail(error, why.status, met->name, "%s", why.message);
  *value = thread != NULL ? thread->pitch_mm : number.value;
  if (strcmp(met->unit, "%") == 0)
    *value /= 100;
  else if (met->slot == FIGURE_PRESSURE)
    *value *= 100;
  bool zero_is_unknown = met->slot == FIGURE_BORE || met->slot == FIGURE_PITCH || met->slot == FIGURE_LEVER;
  if (zero_is_unknown && !(*value > 0))
    return eb_fail(error, EB_OUT_OF_RANGE, met->name, "it must be above 0, such as %s", met->example);
  return EB_OK;
}

static eb_status take_option(const option *met, const char *typed, figure_entry *entry, eb_error *error)
{
  if (entry->given[met->slot])
    return eb_fail(error, EB_BAD_VALUE, met->name, "this was said before; say it once");
  if (met->kind == WORD)
    entry->as = typed;
  eb_status status = EB_OK;
  if (met->kind != WORD && met->kind != FLAG)
    status = read_value(met, typed, &entry->value[met->slot], error);
  entry->given[met->slot] = status == EB_OK;
  return status;
}

/* One argument and, where it is an option without "=", its value: *at is left at the last one used. */
static eb_status read_argument(int argc, char **argv, int *at, figure_entry *entry, eb_error *error)
{
  const char *word = argv[*at];
  char text[SHOWN_SIZE];
  if (strcmp(word, "--help") == 0 || strcmp(word, "-h") == 0) {
    entry->help = true;
    return EB_OK;
  }
  if (strncmp(word, "--", 2) != 0) {
    if (entry->verb != FIGURE_UNIT || entry->number != NULL)
      return eb_fail(error, EB_BAD_VALUE, "", "\"%s\" stands behind no option", shown(word, text));
    entry->number = word;
    return EB_OK;
  }
  const char *equals = strchr(word, '=');
  size_t size = equals != NULL ? (size_t)(equals - word) : strlen(word);
  const option *met = find_option(word, size, entry->verb);
  if (met == NULL)
    return unknown_option(word, size, entry->verb, error);
  if (met->kind == FLAG)
    return equals == NULL ? take_option(met, NULL, entry, error)
                          : eb_fail(error, EB_BAD_VALUE, met->name, "it takes no value");
  if (equals == NULL && *at + 1 >= argc)
    return eb_fail(error, EB_BAD_VALUE, met->name, "its value is missing; write %s %s", met->name, met->example);
  return take_option(met, equals != NULL ? equals + 1 : argv[++*at], entry, error);
}

static eb_status check_opening(const figure_entry *entry, eb_error *error)
{
  int ways = 0;
  for (figure_slot slot = FIGURE_GAP; slot <= FIGURE_AREA; slot++)
    ways += entry->given[slot];
  if (ways > 1)
    return eb_fail(error, EB_BAD_VALUE, "", "the opening is said in %d ways; say it in one", ways);
  return EB_OK;
}

eb_status figure_entry_read(int argc, char **argv, figure_entry *entry, eb_error *error)
{
  figure_entry read = {.help = argc < 2 || strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0};
  eb_status status = EB_OK;
  if (!read.help)
    status = read_verb(argv[1], &read.verb, error);
  for (int at = 2; at < argc && status == EB_OK && !read.help; at++)
    status = read_argument(argc, argv, &at, &read, error);
  if (status == EB_OK)
    status = check_opening(&read, error);
  if (status == EB_OK)
    *entry = read;
  return status;
}

eb_status figure_entry_need(const figure_entry *entry, figure_slot slot, eb_error *error)
{
  if (entry->given[slot])
    return EB_OK;
  size_t i = 0;
  while (i < OPTIONS && (options[i].slot != slot || (options[i].verbs & 1U << entry->verb) == 0))
    i++;
  assert(i < OPTIONS);
  return eb_fail(error, EB_NOT_FOUND, options[i].name, "it is missing; write %s %s", options[i].name,
                 options[i].example);
}
