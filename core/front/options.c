#include "options.h"

#include "evenbore/quantity.h"
#include "evenbore/text.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

static const char *const commands[EB_COMMANDS] = {
    "help",     "version",  "tune",   "resume",  "sessions", "show",    "report",   "procedures",
    "rehearse", "practice", "figure", "engines", "engine",   "gauges",  "gauge",    "habits",
    "new",      "check",    "manual", "maker",   "makers",   "trust",   "distrust", "add",
    "remove",   "shelf",    "pack",   "inspect", "history",  "compare", "complete"};

typedef enum option_kind { FLAG, WORDS, PERCENT, EACH } option_kind; /* EACH: may be given several times */

typedef struct option {
  const char *name;
  option_kind kind;
  unsigned commands; /* that it is for */
  size_t offset;     /* of its member in eb_options */
  const char *example;
} option;

enum {
  TUNE = 1U << EB_COMMAND_TUNE,
  RESUME = 1U << EB_COMMAND_RESUME,
  REPORT = 1U << EB_COMMAND_REPORT,
  WRITES = REPORT | 1U << EB_COMMAND_HISTORY | 1U << EB_COMMAND_COMPARE,
  REHEARSE = 1U << EB_COMMAND_REHEARSE,
  PRACTICE = 1U << EB_COMMAND_PRACTICE,
  NEW = 1U << EB_COMMAND_NEW,
  CHECK = 1U << EB_COMMAND_CHECK,
  MANUAL = 1U << EB_COMMAND_MANUAL,
  MAKER = 1U << EB_COMMAND_MAKER,
  PACK = 1U << EB_COMMAND_PACK,
  INSPECT = 1U << EB_COMMAND_INSPECT,
  ANY = (1U << EB_COMMANDS) - 1
};

static const option known[] = {
    {"--lines", FLAG, TUNE | RESUME, offsetof(eb_options, lines), ""},
    {"--data", WORDS, ANY, offsetof(eb_options, data), "--data ~/bench"},
    {"--gauge", WORDS, TUNE | REHEARSE | PRACTICE, offsetof(eb_options, gauge), "--gauge \"scale 1..30 step 0.25\""},
    {"--engine", WORDS, TUNE, offsetof(eb_options, engine), "--engine \"V8, red car\""},
    {"--habits", WORDS, TUNE | PRACTICE, offsetof(eb_options, habits), "--habits \"temperature=F length=thou\""},
    {"--fresh", FLAG, TUNE, offsetof(eb_options, fresh), ""},
    {"--tolerance", PERCENT, TUNE | REHEARSE | PRACTICE, offsetof(eb_options, tolerance), "--tolerance 5%"},
    {"--risk", PERCENT, TUNE | REHEARSE | PRACTICE, offsetof(eb_options, risk), "--risk 5%"},
    {"--as", WORDS, WRITES | MANUAL, offsetof(eb_options, as), "--as csv"},
    {"--output", WORDS, WRITES | MAKER | PACK, offsetof(eb_options, output), "--output red-v8.html"},
    {"--passphrase-file", WORDS, MAKER | PACK, offsetof(eb_options, passphrase_file), "--passphrase-file /dev/fd/3"},
    {"--no-passphrase", FLAG, MAKER, offsetof(eb_options, no_passphrase), ""},
    {"--by", WORDS, MAKER, offsetof(eb_options, by), "--by new-key"},
    {"--semicolon", FLAG, WRITES, offsetof(eb_options, semicolon), ""},
    {"--trust-file", FLAG, TUNE | RESUME | REHEARSE | PRACTICE | CHECK | NEW | PACK | INSPECT,
     offsetof(eb_options, trust_file), ""},
    {"--engines", WORDS, REHEARSE | PACK | INSPECT, offsetof(eb_options, engines), "--engines 200"},
    {"--seed", WORDS, REHEARSE | PRACTICE | PACK | INSPECT, offsetof(eb_options, seed), "--seed 1"},
    {"--jobs", WORDS, REHEARSE | PACK | INSPECT, offsetof(eb_options, jobs), "--jobs 4"},
    {"--faults", WORDS, REHEARSE | PACK | INSPECT, offsetof(eb_options, faults), "--faults all"},
    {"--require", WORDS, REHEARSE, offsetof(eb_options, require), "--require even=95,wrong=5"},
    {"--rows", WORDS, NEW, offsetof(eb_options, rows), "--rows \"1 3 5 7 / 2 4 6 8\""},
    {"--parts", WORDS, NEW, offsetof(eb_options, parts), "--parts \"link 1 2 | 3 4; plate each\""},
    {"--numbering", WORDS, NEW, offsetof(eb_options, numbering), "--numbering odd-left"},
    {"--title", WORDS, NEW, offsetof(eb_options, title), "--title \"Flat four, two links\""},
    {"--whole", FLAG, 1U << EB_COMMAND_SESSIONS, offsetof(eb_options, whole), ""},
    {"--strict", FLAG, CHECK | PACK, offsetof(eb_options, strict), ""},
    {"--budget", FLAG, CHECK, offsetof(eb_options, budget), ""},
    {"--json", FLAG, REHEARSE | CHECK, offsetof(eb_options, json), ""},
    {"--quiet", FLAG, REHEARSE | PACK | INSPECT, offsetof(eb_options, quiet), ""},
    {"--show", FLAG, REHEARSE, offsetof(eb_options, show), ""},
    {"--maker", WORDS, PACK, offsetof(eb_options, maker), "--maker bench-nine"},
    {"--licence", WORDS, PACK, offsetof(eb_options, licence), "--licence CC0-1.0"},
    {"--revision", WORDS, PACK, offsetof(eb_options, revision), "--revision 3"},
    {"--instruments", WORDS, PACK, offsetof(eb_options, instruments), "--instruments \"depth gauge; mirror\""},
    {"--no-rehearsal", FLAG, PACK, offsetof(eb_options, no_rehearsal), ""},
    {"--against", WORDS, INSPECT, offsetof(eb_options, against), "--against w-nine-2.evenbore"},
    {"--take-apart", WORDS, INSPECT, offsetof(eb_options, take_apart), "--take-apart FOLDER"},
    {"--rehearse", FLAG, INSPECT, offsetof(eb_options, rehearse), ""},
    {"--source", FLAG, INSPECT, offsetof(eb_options, source), ""},
    {"--fault", EACH, PRACTICE, offsetof(eb_options, fault), "--fault leak"},
    {"--keep", WORDS, PRACTICE, offsetof(eb_options, keep), "--keep first.jsonl"},
    {"--watch", FLAG, PRACTICE, offsetof(eb_options, watch), ""},
    {"--fast", FLAG, PRACTICE, offsetof(eb_options, fast), ""},
    {"--ascii", FLAG, ANY, offsetof(eb_options, ascii), ""},
    {"--no-color", FLAG, ANY, offsetof(eb_options, no_color), ""},
};
enum { KNOWN = sizeof known / sizeof known[0] };

const char *eb_command_word(eb_command command)
{
  return commands[command];
}

bool eb_option_at(int index, eb_command command, const char **name, bool *takes_value)
{
  if (index >= KNOWN)
    return false;
  *name = (known[index].commands >> command & 1) == 0 ? NULL : known[index].name;
  *takes_value = known[index].kind != FLAG;
  return true;
}

static eb_status nearest(const char *what, const char *word, const char *const *words, size_t count, eb_error *error)
{
  const char *near = eb_nearest(word, words, count);
  if (near != NULL)
    return eb_fail(error, EB_NOT_FOUND, word, "no such %s; the nearest is %s", what, near);
  return eb_fail(error, EB_NOT_FOUND, word, "no such %s; evenbore --help lists them", what);
}

static eb_status read_percent(const option *met, const char *text, double *relative, eb_error *error)
{
  eb_entry entry;
  eb_error detail;
  if (eb_entry_read(text, strlen(text), EB_RATIO, "%", &entry, &detail) != EB_OK)
    return eb_fail(error, detail.status, met->name, "%s; a percentage is wanted, such as %s", detail.message,
                   met->example);
  if (!(entry.value >= 0.1 && entry.value <= 50))
    return eb_fail(error, EB_OUT_OF_RANGE, met->name, "%g %% is out of range; 0.1 %% to 50 %% is wanted, such as %s",
                   entry.value, met->example);
  *relative = entry.value / 100;
  return EB_OK;
}

static eb_status add_fault(eb_options *options, const option *met, const char *value, eb_error *error)
{
  if (options->fault_count == EB_VALUES_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, met->name, "given more than %d times; a list with commas does as well",
                   (int)EB_VALUES_MAX);
  options->fault[options->fault_count++] = value;
  return EB_OK;
}

static eb_status set_option(eb_options *options, const option *met, const char *value, eb_error *error)
{
  void *member = (char *)options + met->offset;
  if (met->kind == FLAG) {
    if (value != NULL)
      return eb_fail(error, EB_BAD_VALUE, met->name, "this option takes no value; write it alone");
    *(bool *)member = true;
    return EB_OK;
  }
  if (value == NULL || value[0] == '\0')
    return eb_fail(error, EB_BAD_VALUE, met->name, "a value is missing; for example %s", met->example);
  if (!eb_utf8_valid(value, strlen(value), NULL))
    return eb_fail(error, EB_BAD_TEXT, met->name, "the value is not UTF-8; for example %s", met->example);
  if (met->kind == PERCENT)
    return read_percent(met, value, (double *)member, error);
  if (met->kind == EACH)
    return add_fault(options, met, value, error);
  *(const char **)member = value;
  return EB_OK;
}

eb_status eb_options_count(const char *name, const char *text, uint64_t low, uint64_t high, uint64_t *count,
                           eb_error *error)
{
  uint64_t number = 0;
  const char *c = text;
  if (text == NULL)
    return EB_OK;
  for (; isdigit((unsigned char)*c) && number <= high / 10; c++)
    number = number * 10 + (uint64_t)(*c - '0');
  if (*c != '\0' || c == text || number < low || number > high)
    return eb_fail(error, EB_BAD_VALUE, name, "\"%.40s\" is not taken; a whole number from %llu to %llu is wanted",
                   text, (unsigned long long)low, (unsigned long long)high);
  *count = number;
  return EB_OK;
}

static const option *find_option(const char *name, size_t size)
{
  for (size_t i = 0; i < KNOWN; i++)
    if (strlen(known[i].name) == size && memcmp(known[i].name, name, size) == 0)
      return &known[i];
  return NULL;
}

int eb_options_general(int argc, char **argv, int at)
{
  size_t size = strcspn(argv[at], "=");
  const option *met = find_option(argv[at], size);
  if (met == NULL || met->commands != ANY)
    return 0;
  if (met->kind == FLAG)
    return argv[at][size] == '\0' ? 1 : 0;
  if (argv[at][size] == '=')
    return argv[at][size + 1] == '\0' ? 0 : 1;
  return at + 1 < argc ? 2 : 0;
}

static eb_status unknown_option(const char *name, size_t size, eb_error *error)
{
  const char *names[KNOWN + 2] = {"--help", "--version"};
  char word[64];
  for (size_t i = 0; i < KNOWN; i++)
    names[i + 2] = known[i].name;
  snprintf(word, sizeof word, "%.*s", (int)size, name);
  return nearest("option", word, names, KNOWN + 2, error);
}

enum { WORDS_MAX = 2 + EB_VALUES_MAX };

/* Options and what else there is, told apart in one walk. */
typedef struct reading {
  eb_options options;
  const char *words[WORDS_MAX];
  int word_count;
  const option *met[KNOWN]; /* options given */
  int met_count;
  bool help, version;
} reading;

static eb_status add_option(reading *r, int argc, char **argv, int *at, eb_error *error)
{
  const char *name = argv[*at];
  if (strcmp(name, "-o") == 0)
    name = "--output";
  size_t size = strcspn(name, "=");
  const char *value = name[size] == '=' ? name + size + 1 : NULL;
  const option *met = find_option(name, size);
  if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0)
    r->help = true;
  else if (strcmp(name, "--version") == 0)
    r->version = true;
  else if (met == NULL)
    return unknown_option(name, size, error);
  if (met == NULL)
    return EB_OK;
  bool again = false;
  for (int i = 0; i < r->met_count; i++)
    again = again || r->met[i] == met;
  if (again && met->kind != EACH)
    return eb_fail(error, EB_BAD_VALUE, met->name, "this option is given twice; once is enough");
  if (met->kind != FLAG && value == NULL && *at + 1 < argc)
    value = argv[++*at];
  if (!again)
    r->met[r->met_count++] = met;
  return set_option(&r->options, met, value, error);
}

static eb_status split(reading *r, int argc, char **argv, eb_error *error)
{
  bool options_end = false;
  for (int i = 1; i < argc; i++) {
    eb_status status = EB_OK;
    if (!options_end && strcmp(argv[i], "--") == 0)
      options_end = true;
    else if (!options_end && argv[i][0] == '-' && argv[i][1] != '\0')
      status = add_option(r, argc, argv, &i, error);
    else if (r->word_count < WORDS_MAX)
      r->words[r->word_count++] = argv[i];
    else
      status =
          eb_fail(error, EB_OUT_OF_RANGE, argv[i], "more than %d words; give them in several goes", (int)WORDS_MAX);
    if (status != EB_OK)
      return status;
  }
  return EB_OK;
}

static eb_status find_command(reading *r, eb_error *error)
{
  if (r->word_count == 0) {
    r->options.command = r->version ? EB_COMMAND_VERSION : EB_COMMAND_HELP;
    if (r->help || r->version)
      return EB_OK;
    return eb_fail(error, EB_NOT_FOUND, "", "no command was given; evenbore --help shows what there is");
  }
  for (int i = 0; i < EB_COMMANDS; i++)
    if (strcmp(r->words[0], commands[i]) == 0) {
      r->options.command = (eb_command)i;
      r->options.argument = r->words[1];
      return EB_OK;
    }
  return nearest("command", r->words[0], commands, EB_COMMANDS, error);
}

/* How many words a command takes, itself included. */
static int most_words(eb_command command)
{
  switch (command) {
  case EB_COMMAND_SESSIONS:
  case EB_COMMAND_PROCEDURES:
  case EB_COMMAND_VERSION:
  case EB_COMMAND_ENGINES:
  case EB_COMMAND_MAKERS:
  case EB_COMMAND_GAUGES: return 1;
  case EB_COMMAND_ENGINE:
  case EB_COMMAND_GAUGE: return 2 + EB_VALUES_MAX;
  case EB_COMMAND_HABITS:
  case EB_COMMAND_CHECK: return 1 + EB_VALUES_MAX;
  case EB_COMMAND_COMPARE:
  case EB_COMMAND_MANUAL: return 3;
  case EB_COMMAND_MAKER: return 5;
  case EB_COMMAND_HELP:
  case EB_COMMAND_TUNE:
  case EB_COMMAND_RESUME:
  case EB_COMMAND_SHOW:
  case EB_COMMAND_REPORT:
  case EB_COMMAND_HISTORY:
  case EB_COMMAND_COMPLETE:
  case EB_COMMAND_REHEARSE:
  case EB_COMMAND_PRACTICE:
  case EB_COMMAND_FIGURE:
  case EB_COMMAND_NEW:
  case EB_COMMAND_TRUST:
  case EB_COMMAND_DISTRUST:
  case EB_COMMAND_ADD:
  case EB_COMMAND_REMOVE:
  case EB_COMMAND_SHELF:
  case EB_COMMAND_PACK:
  case EB_COMMAND_INSPECT:
  case EB_COMMANDS: break;
  }
  return 2;
}

static void take_values(reading *r)
{
  bool at_once = r->options.command == EB_COMMAND_HABITS || r->options.command == EB_COMMAND_CHECK;
  int first = at_once ? 1 : 2;
  for (int i = first; i < r->word_count; i++)
    r->options.values[r->options.value_count++] = r->words[i];
}

/* What comes from other shops, and goes to them. */
static eb_status check_shared(const reading *r, eb_error *error)
{
  const char *word = commands[r->options.command];
  if (r->word_count >= 2)
    return EB_OK;
  switch (r->options.command) {
  case EB_COMMAND_ADD:
    return eb_fail(error, EB_BAD_VALUE, word, "a file is missing; for example evenbore add twin-nine.evenbore");
  case EB_COMMAND_REMOVE:
    return eb_fail(error, EB_BAD_VALUE, word, "a procedure is missing; evenbore procedures lists them");
  case EB_COMMAND_SHELF:
    return eb_fail(error, EB_BAD_VALUE, word, "a folder is missing; for example evenbore shelf /media/stick");
  case EB_COMMAND_TRUST:
  case EB_COMMAND_DISTRUST: return eb_fail(error, EB_BAD_VALUE, word, "a maker is missing; evenbore makers lists them");
  default: return EB_OK;
  }
}

static eb_status check_words(const reading *r, eb_error *error)
{
  eb_command command = r->options.command;
  const char *word = commands[command];
  if ((command == EB_COMMAND_ENGINE || command == EB_COMMAND_GAUGE) && r->word_count < 2)
    return eb_fail(error, EB_BAD_VALUE, word, "a name is missing; evenbore %ss lists them", word);
  bool needs = command == EB_COMMAND_REHEARSE || (command == EB_COMMAND_TUNE && r->options.engine == NULL);
  if (needs && r->word_count < 2)
    return eb_fail(error, EB_BAD_VALUE, word, "a procedure is missing; evenbore procedures lists them");
  if ((command == EB_COMMAND_SHOW || command == EB_COMMAND_REPORT) && r->word_count < 2)
    return eb_fail(error, EB_BAD_VALUE, word, "a session is missing; evenbore sessions lists them");
  if (command == EB_COMMAND_HISTORY && r->word_count < 2)
    return eb_fail(error, EB_BAD_VALUE, word, "an engine is missing; evenbore engines lists those that you keep");
  if (command == EB_COMMAND_COMPARE && r->word_count < 3)
    return eb_fail(error, EB_BAD_VALUE, word, "two sessions are wanted; evenbore sessions lists them");
  if (command == EB_COMMAND_INSPECT && r->word_count < 2)
    return eb_fail(error, EB_BAD_VALUE, word, "a bundle is missing; for example evenbore inspect w-nine-1.evenbore");
  if ((command == EB_COMMAND_NEW || command == EB_COMMAND_CHECK || command == EB_COMMAND_PACK) && r->word_count < 2)
    return eb_fail(error, EB_BAD_VALUE, word, "a file is missing; for example evenbore %s my-manifold.lua", word);
  if (command == EB_COMMAND_MANUAL && r->word_count < 2)
    return eb_fail(error, EB_BAD_VALUE, word, "what about is missing; there is evenbore manual api");
  eb_status status = check_shared(r, error);
  if (status != EB_OK)
    return status;
  int most = most_words(command);
  if (r->word_count > most)
    return eb_fail(error, EB_BAD_VALUE, r->words[most], "one word too many; see evenbore help %s", word);
  for (int i = 0; i < r->met_count; i++)
    if ((r->met[i]->commands >> command & 1) == 0)
      return eb_fail(error, EB_BAD_VALUE, r->met[i]->name,
                     command == EB_COMMAND_RESUME ? "a session keeps what it began with; see evenbore help %s"
                                                  : "not an option of %s; see evenbore help %s",
                     word, word);
  return EB_OK;
}

eb_status eb_options_read(int argc, char **argv, eb_options *options, eb_error *error)
{
  reading r = {.options = {.command = EB_COMMAND_HELP}};
  eb_status status = split(&r, argc, argv, error);
  if (status == EB_OK)
    status = find_command(&r, error);
  if (status == EB_OK && r.help && r.word_count > 0 && r.options.command != EB_COMMAND_HELP) {
    r.options.argument = r.words[0];
    r.options.command = EB_COMMAND_HELP;
  } else if (status == EB_OK) {
    status = check_words(&r, error);
    if (status == EB_OK && most_words(r.options.command) > 2)
      take_values(&r);
  }
  if (status == EB_OK)
    *options = r.options;
  return status;
}
