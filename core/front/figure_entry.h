/* What was typed behind `evenbore figure`. */
#ifndef EVENBORE_FIGURE_ENTRY_H
#define EVENBORE_FIGURE_ENTRY_H

#include "evenbore/status.h"

#include <stdbool.h>

typedef enum figure_verb {
  FIGURE_OPENING,
  FIGURE_MOVE,
  FIGURE_TURN,
  FIGURE_GROWTH,
  FIGURE_AIR,
  FIGURE_UNIT,
  FIGURE_VERBS
} figure_verb;

/* What can be typed once, by whichever option. */
typedef enum figure_slot {
  FIGURE_BORE,        /* mm */
  FIGURE_SHAFT,       /* mm */
  FIGURE_CLOSED,      /* deg */
  FIGURE_GAP,         /* mm; this and the next three: the opening */
  FIGURE_TRAVEL,      /* mm */
  FIGURE_ANGLE,       /* deg */
  FIGURE_AREA,        /* mm2 */
  FIGURE_CHANGE,      /* relative */
  FIGURE_DOUBT,       /* relative, a standard deviation */
  FIGURE_PITCH,       /* mm */
  FIGURE_LEVER,       /* mm */
  FIGURE_TURNS,       /* turns */
  FIGURE_LENGTH,      /* mm */
  FIGURE_ARM,         /* mm */
  FIGURE_COLD,        /* degC */
  FIGURE_WARM,        /* degC */
  FIGURE_ALTITUDE,    /* m */
  FIGURE_PRESSURE,    /* Pa */
  FIGURE_TEMPERATURE, /* degC */
  FIGURE_HUMIDITY,    /* relative */
  FIGURE_HALF,        /* a flag */
  FIGURE_AS,          /* a unit, in `as` */
  FIGURE_SLOTS
} figure_slot;

typedef struct figure_entry {
  figure_verb verb;
  bool help;
  bool given[FIGURE_SLOTS];
  double value[FIGURE_SLOTS];
  const char *as;     /* the unit for the answer; borrowed from argv */
  const char *number; /* FIGURE_UNIT: what is to be converted; borrowed from argv */
} figure_entry;

const char *figure_verb_word(figure_verb verb);

/* Reads argv[1] onwards; nothing there is a wish for help.  The error's place is
 * the option; EB_NOT_FOUND: an unknown or missing one. */
eb_status figure_entry_read(int argc, char **argv, figure_entry *entry, eb_error *error);

/* EB_NOT_FOUND where the slot was not typed, with how to write it. */
eb_status figure_entry_need(const figure_entry *entry, figure_slot slot, eb_error *error);

#endif
