/* Quantity: units, and what a person types for a number. */
#ifndef EVENBORE_QUANTITY_H
#define EVENBORE_QUANTITY_H

#include "evenbore/status.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

/* EB_FLOW is what an airflow gauge shows: bare divisions or a mass flow. */
typedef enum eb_quantity {
  EB_TEMPERATURE,
  EB_PRESSURE,
  EB_ENGINE_SPEED,
  EB_LENGTH,
  EB_ANGLE,
  EB_TIME,
  EB_RATIO,
  EB_VOLTAGE,
  EB_COUNT,
  EB_FLOW,
  EB_QUANTITIES
} eb_quantity;

/* The word of the line protocol ("engine-speed"); EB_BAD_VALUE for an unknown one. */
const char *eb_quantity_word(eb_quantity quantity);
eb_status eb_quantity_read(const char *word, eb_quantity *quantity, eb_error *error);

/* The symbol under which a unit is known: "C" for "°C", "degC" or "c"; static.  Capitals count only where the
 * unit as written is not known.  Empty is the plain ratio and the count.
 * EB_BAD_UNIT names the units that would be right. */
eb_status eb_unit_symbol(eb_quantity quantity, const char *unit, const char **symbol, eb_error *error);

/* Converts between two units of the same quantity by exact factors [NIST SP 811]; temperatures with their offsets.
 * Units are known by symbol and by the words of the trade ("C", "°C", "F", "mm", "in", "thou", "rpm", "inHg", "deg",
 * "%", "min", ...). EB_BAD_UNIT names the units that would be right. "div" converts to no other unit of flow.
 * EB_OUT_OF_RANGE where the result is no finite number. */
eb_status eb_unit_convert(eb_quantity quantity, double value, const char *from, const char *to, double *converted,
                          eb_error *error);

/* A number as it was typed. */
typedef struct eb_entry {
  double value;  /* in the unit that was asked for */
  double given;  /* as typed */
  char unit[16]; /* the typed unit's symbol; that asked for where none was typed */
} eb_entry;

/* Reads `6`, `6.5`, `6,5`, `.5`, `6 1/2`, `6½`, `1/2`, `-3`, each with an optional unit of
 * `quantity` behind it (`92 C`, `0.05mm`), into `unit`.  White space around is ignored.
 * At most 64 bytes and 15 digits.
 * A comma is a decimal comma; `1,234` (three digits behind one comma) is refused
 * as ambiguous unless the digits before it are a single zero.  No exponents, no hexadecimal, no "nan" or "inf".
 * Reads the same in every locale.  EB_BAD_TEXT, EB_BAD_VALUE, EB_BAD_UNIT, each
 * with what would be right; `text` is shown back at most 40 characters long and made safe. */
eb_status eb_entry_read(const char *text, size_t size, eb_quantity quantity, const char *unit, eb_entry *entry,
                        eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
