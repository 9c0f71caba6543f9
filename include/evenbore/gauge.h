/* Gauge: the airflow gauge, the doubt of one reading, and readings that look like a slip.
 *
 * A gauge gives a ratio scale inside its band: reading = level x flow, where
 * the level is common to all bores of one running period. */
#ifndef EVENBORE_GAUGE_H
#define EVENBORE_GAUGE_H

#include "evenbore/json.h"
#include "evenbore/status.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_gauge {
  double low, high;            /* the scale's ends, in `unit`; 0 < low < high or low = 0 */
  double step;                 /* smallest difference that can be read, in `unit`; > 0 */
  double best_low, best_high;  /* band of best resolution, inside the scale */
  double repeatability;        /* relative standard deviation of one reading: prior s0, 0.02 by default */
  double repeatability_weight; /* degrees of freedom of that prior: nu0, 4 by default */
  char unit[16];               /* "div" for bare graduations, "kg/h" */
  char vent[32];               /* the vent setting in the shop's words; may be empty */
} eb_gauge;

/* The gauge that a session has unless told otherwise: graduated 1 to 30, read to 0.25, best from 1 to 10
 * (common practice, no source), repeatability 2 %. */
eb_gauge eb_gauge_usual(void);

/* Reads {"low","high","step","best":[low,high],"repeatability","repeatability_weight"?,"unit"?,"vent"?} over *gauge: a
 * missing key leaves its member as it is; an unknown one is refused.  The unit is one of EB_FLOW.
 * EB_OUT_OF_RANGE, EB_BAD_VALUE, EB_BAD_UNIT or EB_BAD_TEXT with what would be right. */
eb_status eb_gauge_read(const eb_json *json, const char *place, eb_gauge *gauge, eb_error *error);
eb_json *eb_gauge_json(const eb_gauge *gauge); /* owned by the caller; NULL when memory runs out */

/* A gauge as eb_gauge_json writes it, in words: "1 to 30 div, read to 0.25, best from 1 to 10, repeats to 2 %, vent 3".
 * What a journal of another hand leaves out is 0 there.  Returns `text`, cut to `size`. */
const char *eb_gauge_describe(const eb_json *gauge, char *text, size_t size);

/* Why a value is not taken at once. */
typedef enum eb_slip {
  EB_SLIP_NONE,
  EB_SLIP_OFF_SCALE, /* below or above the scale, or 0: a ratio scale has none */
  EB_SLIP_LAST,      /* more than 3 times or less than a third of the bore's last value */
  EB_SLIP_ROW        /* the same against the median of its row in this running period */
} eb_slip;

/* `last` and `row_median` are 0 where there is none. The factor 3 is this project's own. */
eb_slip eb_gauge_slip(const eb_gauge *gauge, double value, double last, double row_median);

/* Relative variance of one reading (the variance of its logarithm): repeatability squared plus the
 * readable step as a rectangle of half-width step/2 [JCGM 100:2008, 4.3.7], combined by 5.1.2. */
double eb_gauge_variance(const eb_gauge *gauge, double repeatability, double value);

#ifdef __cplusplus
}
#endif
#endif
