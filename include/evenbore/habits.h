/* Habits: the units in which a shop likes to see and type its numbers.
 *
 * A habit is a unit for a quantity: temperatures in F, lengths in thou.  A procedure asks in the unit that its author
 * thinks in; who stands at the engine sees and types the shop's, and both mean the same value. */
#ifndef EVENBORE_HABITS_H
#define EVENBORE_HABITS_H

#include "evenbore/json.h"
#include "evenbore/quantity.h"
#include "evenbore/status.h"

#include <stdbool.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Symbols of units (quantity.h); empty: no habit, numbers are shown as they are asked. All zero: no habits at all. */
typedef struct eb_habits {
  char unit[EB_QUANTITIES][8];
} eb_habits;

/* The quantities that a shop has a habit for: temperature, pressure, length, flow and engine-speed. */
bool eb_habits_has(eb_quantity quantity);

/* Sets the habit for a quantity by their words: "temperature" and "F".  An empty unit ends the habit.
 * EB_BAD_VALUE, EB_BAD_UNIT with what would be right. */
eb_status eb_habits_set(eb_habits *habits, const char *quantity, const char *unit, eb_error *error);

/* Reads {"temperature":"F","length":"thou"} over *habits; `place` is for messages.  EB_BAD_VALUE, EB_BAD_UNIT. */
eb_status eb_habits_read(const eb_json *json, const char *place, eb_habits *habits, eb_error *error);
eb_json *eb_habits_json(const eb_habits *habits); /* owned by the caller; NULL when memory runs out */

/* The unit in which a value is shown that was meant in `unit`; `largest` is how large it may get, in `unit`.
 * Static, or borrowed from *habits or `unit`.  Without a habit it is `unit`.  Three things stay out of a habit:
 * what a gauge shows keeps the gauge's own unit, lengths from an inch on are told in inches where the habit is
 * thousandths, and lengths from a metre on stay as they are. */
const char *eb_habits_unit(const eb_habits *habits, eb_quantity quantity, const char *unit, double largest);

/* Limits in another unit, rounded inward to a thousandth of their distance or less, so that whoever types what is
 * shown is inside.  low < high.  EB_BAD_UNIT, EB_OUT_OF_RANGE. */
eb_status eb_limits_inward(eb_quantity quantity, double low, double high, const char *from, const char *to,
                           double *shown_low, double *shown_high, eb_error *error);

/* A value as a text shows it: "167 F", "3.5 thou", rounded to what the unit is read to in a shop.  A `change` is a
 * difference of two values (3 C are 5.4 F), given to one decimal more.  The same in every locale.
 * EB_BAD_UNIT, EB_OUT_OF_RANGE. */
enum { EB_SHOWN_SIZE = 64 };
eb_status eb_habits_text(const eb_habits *habits, eb_quantity quantity, double value, const char *unit, bool change,
                         char text[EB_SHOWN_SIZE], eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
