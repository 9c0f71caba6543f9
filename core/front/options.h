/* Options: the command line, read whole before anything is done. */
#ifndef EVENBORE_OPTIONS_H
#define EVENBORE_OPTIONS_H

#include "evenbore/gauge.h"
#include "evenbore/status.h"

#include <stdbool.h>
#include <stdint.h>

typedef enum eb_command {
  EB_COMMAND_HELP,
  EB_COMMAND_VERSION,
  EB_COMMAND_TUNE,
  EB_COMMAND_RESUME,
  EB_COMMAND_SESSIONS,
  EB_COMMAND_SHOW,
  EB_COMMAND_REPORT,
  EB_COMMAND_PROCEDURES,
  EB_COMMAND_REHEARSE,
  EB_COMMAND_PRACTICE,
  EB_COMMAND_FIGURE,
  EB_COMMAND_ENGINES,
  EB_COMMAND_ENGINE,
  EB_COMMAND_GAUGES,
  EB_COMMAND_GAUGE,
  EB_COMMAND_HABITS,
  EB_COMMAND_NEW,
  EB_COMMAND_CHECK,
  EB_COMMAND_MANUAL,
  EB_COMMAND_MAKER,
  EB_COMMAND_MAKERS,
  EB_COMMAND_TRUST,
  EB_COMMAND_DISTRUST,
  EB_COMMAND_ADD,
  EB_COMMAND_REMOVE,
  EB_COMMAND_SHELF,
  EB_COMMAND_PACK,
  EB_COMMAND_INSPECT,
  EB_COMMAND_HISTORY,
  EB_COMMAND_COMPARE,
  EB_COMMAND_COMPLETE, /* for shells; front.c hands it on before options are read */
  EB_COMMANDS
} eb_command;

const char *eb_command_word(eb_command command); /* "tune"; static */

/* The options one after the other, from index 0; false behind the last. *name is NULL where it is none of the
 * command's.
 */
bool eb_option_at(int index, eb_command command, const char **name, bool *takes_value);

enum { EB_VALUES_MAX = 256 };

/* All texts are borrowed from argv. */
typedef struct eb_options {
  eb_command command;
  const char *argument; /* a procedure, a session, an engine, a gauge, a file or, for help, a command; NULL: none */
  const char *values[EB_VALUES_MAX]; /* KEY=VALUE, for engine, gauge and habits; files, for check; words, for maker */
  int value_count;
  const char *data, *gauge, *engine, *habits, *as, *output;
  const char *engines, *seed, *jobs, *faults, *require; /* of a rehearsal, and seed of practice */
  const char *keep;                                     /* of practice: a file */
  const char *fault[EB_VALUES_MAX];                     /* and of it too; each may be a list with commas */
  int fault_count;
  const char *rows, *parts, *numbering, *title;         /* of a new procedure */
  const char *passphrase_file, *by;                     /* of a maker's keys */
  const char *maker, *licence, *revision, *instruments; /* of a bundle to be packed */
  const char *against, *take_apart;                     /* of a bundle to be inspected */
  double tolerance, risk;                               /* relative; 0 where not given */
  bool strict, budget;                                  /* of a check */
  bool rehearse, no_rehearsal, source;                  /* of inspect, pack, inspect */
  bool whole, fresh, lines, semicolon, json, quiet, show, watch, fast, ascii, no_color, trust_file, no_passphrase;
} eb_options;

/* Every failure is a mistake in the command line. */
eb_status eb_options_read(int argc, char **argv, eb_options *options, eb_error *error);

/* How many words of the line an option for all commands takes at this place: its own, and its value's behind it.  0:
 * none stands there. */
int eb_options_general(int argc, char **argv, int at);

/* The greatest seed of an engine: as many digits as a number in JSON keeps (json.h). */
#define EB_SEED_MAX UINT64_C(999999999999999)

/* A whole number of plain digits that was given for an option; text NULL: *count stays. EB_BAD_VALUE. */
eb_status eb_options_count(const char *name, const char *text, uint64_t low, uint64_t high, uint64_t *count,
                           eb_error *error);

/* Reads a gauge's words, "scale 1..30 step 0.25 best 1..10 repeat 2% unit kg/h vent 3", over *gauge: what is not named
 * stays.  EB_BAD_VALUE and EB_OUT_OF_RANGE point at the word. */
eb_status eb_options_gauge(const char *text, eb_gauge *gauge, eb_error *error);

#endif
