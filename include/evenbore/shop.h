/* Shop: what a shop keeps in files of its own: its engines, its gauges, and its habits.
 *
 * All three are JSON texts (RFC 8259, UTF-8) of at most EB_SHOP_FILE_MAX bytes that a person can read and write.  Each
 * begins with a word that says what it is, and the version of its format.  A key that is not known, stands twice or has
 * the wrong type, and a number out of its range, are refused with file and line; nothing is passed over.
 * `evenbore help engine` and `evenbore help gauge` list every key with its range.
 *
 * An engine: what a job on it need not ask.  `layout` answers the options of its procedure by their ids; `throttle` is
 * what a procedure knows of throttles (procedure.h); sizes are in the units that end their keys, whatever the shop's
 * habits are.
 *
 *   {
 *     "format": "evenbore-engine",
 *     "version": 1,
 *     "name": "Red V8",
 *     "procedure": "v8-coupled",
 *     "tolerance": 0.04,
 *     "risk": 0.05,
 *     "idle_rpm": 870,
 *     "held_rpm": 2000,
 *     "warm_c": 80,
 *     "layout": {},
 *     "throttle": {
 *       "bore_mm": 48,
 *       "shaft_mm": 8,
 *       "closed_deg": 5,
 *       "pitch_mm": 0.8,
 *       "lever_mm": 20,
 *       "unit": "thou"
 *     },
 *     "bores": {
 *       "7": "shaft seal renewed"
 *     },
 *     "notes": "Link of the second kind."
 *   }
 *
 * A gauge: its marks, and what its own repeats have taught.  `learned` is the program's part: the pooled relative
 * standard deviation of one reading over the sessions that it was used in, with its degrees of freedom
 * [JCGM 100:2008, 4.2.4, a pooled estimate; from memory], and under `from` the latest of these sessions, each known by
 * the digest of its first record, so that none counts twice.
 *
 *   {
 *     "format": "evenbore-gauge",
 *     "version": 1,
 *     "name": "Bench gauge",
 *     "scale": [1, 30],
 *     "step": 0.25,
 *     "best": [1, 10],
 *     "unit": "div",
 *     "vent": "two turns out",
 *     "repeatability": 0.02,
 *     "learned": {
 *       "repeatability": 0.0131,
 *       "degrees_of_freedom": 11,
 *       "sessions": 1,
 *       "from": [
 *         {
 *           "session": "20261104-v8-coupled-1",
 *           "digest": "5d0f4a1c6d3c3c0f5a4a6a8f0e1d2c3b4a5968778695a4b3c2d1e0f00f1e2d3c",
 *           "repeatability": 0.0131,
 *           "degrees_of_freedom": 11
 *         }
 *       ]
 *     },
 *     "notes": "Needle bent back once."
 *   }
 *
 * Habits: the units of habits.h by their quantities.
 *
 *   {
 *     "format": "evenbore-habits",
 *     "version": 1,
 *     "temperature": "F",
 *     "length": "thou"
 *   } */
#ifndef EVENBORE_SHOP_H
#define EVENBORE_SHOP_H

#include "evenbore/gauge.h"
#include "evenbore/habits.h"
#include "evenbore/json.h"
#include "evenbore/statistics.h"
#include "evenbore/status.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
  EB_SHOP_FILE_MAX = 16 * 1024,
  EB_SHOP_VERSION = 1,
  EB_GAUGE_SESSIONS_KEPT = 40, /* sessions that `from` names; all count in the sums */
  /* Degrees of freedom that a session believes of what was known before it, at most.  At 30 Student's t is within 5 %
   * of the normal's at 95 % [NIST TN 1297, table B.1: 2.04], so that more would buy next to nothing, while a gauge that
   * got worse could not be noticed from the repeats of one job. */
  EB_GAUGE_WEIGHT_MAX = 30
};

/* Read and check a text; `name` is the file's, for messages: error->place is NAME:LINE.  *made is owned by the caller.
 * EB_BAD_TEXT, EB_BAD_VALUE, EB_OUT_OF_RANGE, EB_BAD_UNIT, EB_TOO_NEW (a later version), EB_OUT_OF_MEMORY. */
eb_status eb_engine_file_read(const char *name, const char *text, size_t size, eb_json **made, eb_error *error);
eb_status eb_gauge_file_read(const char *name, const char *text, size_t size, eb_json **made, eb_error *error);
eb_status eb_habits_file_read(const char *name, const char *text, size_t size, eb_json **made, eb_error *error);

/* The gauge that a session begins with, from a file that was read.  Its repeatability is what the file states (2 %
 * where it does not) with weight 4, pooled with what it has learned; the weight is their degrees of freedom, up to
 * EB_GAUGE_WEIGHT_MAX. */
eb_gauge eb_gauge_file_gauge(const eb_json *file);

/* The habits of a file that was read. */
eb_habits eb_habits_file_habits(const eb_json *file);

/* Whether two files that were read describe the same instrument: scale, step, best band and unit. */
bool eb_gauge_file_same(const eb_json *file, const eb_json *other);

/* Whether a session counts in the file already; `digest` is "h" of its first record. */
bool eb_gauge_file_knows(const eb_json *file, const char *digest);

/* Adds a session's own repeats to what the file has learned; degrees of freedom above 0.  False when memory runs out:
 * *file is then not to be used. */
bool eb_gauge_file_learn(eb_json *file, const char *session, const char *digest, eb_spread repeats);

#ifdef __cplusplus
}
#endif
#endif
