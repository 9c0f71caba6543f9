/* Bay: a simulated workshop bay that answers a session: an engine, a gauge, a wrench and a tuner.
 *
 * It hears every message of a session and answers its asks as lines of the
 * protocol, by what an ask means (kind, quantity, condition, bore, options)
 * and by its key only where nothing else tells, so that any procedure can be
 * played: a shop's own too.  Minutes are virtual and pass for the engine as
 * well.  What takes how long, and what a tuner does, is this project's own.
 *
 *   ask                what the tuner does
 *   caution            reads it and gives its code
 *   confirm            yes; about the gauge, its vent's mark and the idle what is seen
 *   choose             the option that names what is wrong, and mends it where that can be done at the engine; else
 *                      the first that goes on; before the layout is known one drawn
 *   number             looks: waits five minutes and reads the thermometer, sets the idle (or holds the throttle) and
 *                      reads the speed, measures the plate, port or mixture; else something from low to high
 *   reading            gauge at that bore, at idle or held as its condition says, its stack pressed on or its shaft
 * pushed where the ask says so; a feeler leaf where it is a length adjust, engine     does it
 *
 * A number or reading about one bore names it by `bore`, or by the last part of its key ("cold.plate.3").  A
 * temperature that may go beyond 250 C is that of an exhaust port.  Whoever needs more than that, asks by a quantity.
 */
#ifndef EVENBORE_BAY_H
#define EVENBORE_BAY_H

#include "evenbore/json.h"
#include "evenbore/simulate.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_bay eb_bay;

/* Shares are from 0 to 1. */
typedef struct eb_skill {
  double hand;        /* what becomes of a wished move: 1 as wished, 1.5 a heavy hand */
  double slips;       /* share of readings typed without their decimal point (55 for 5.5), 0.01 */
  double forgets;     /* share of repeated readings typed from memory, not read, 0 */
  int gives_up_after; /* prompts, after which the job is stopped; 0: never */
} eb_skill;
eb_skill eb_skill_usual(void);

typedef struct eb_bay_options {
  uint64_t seed; /* fixes everything */
  eb_engine_options engine;
  bool has_gauge;          /* engine.gauge is the one at hand; false: the one that the session is told of */
  double fault[EB_FAULTS]; /* strength of each; 0: none */
  bool one_fault;          /* of those with a strength one, drawn from the seed, that the engine can have */
  eb_skill skill;
} eb_bay_options;
eb_bay_options eb_bay_options_usual(void); /* no fault */

/* A bay whose engine stands cold.  It is made when the session names its layout.  options are copied; NULL: the usual
 * ones. `host` must outlive the bay.  EB_OUT_OF_RANGE: a share or strength that cannot be; EB_OUT_OF_MEMORY. */
eb_status eb_bay_create(const eb_host *host, const eb_bay_options *options, eb_bay **bay, eb_error *error);
void eb_bay_destroy(eb_bay *bay); /* NULL is allowed */

/* Takes in a message of the session: hello, tell, ask, refused or end.  The first layout that is named makes the
 * engine. EB_BAD_LAYOUT, EB_OUT_OF_RANGE (an engine that cannot be), EB_REFUSED (a fault that it cannot have),
 * EB_OUT_OF_MEMORY. */
eb_status eb_bay_hear(eb_bay *bay, const eb_json *message, eb_error *error);

enum { EB_BAY_LINE_SIZE = 512 };

/* Answers an ask: one line of the protocol without its newline, at least EB_BAY_LINE_SIZE bytes of room.  A tuner who
 * gives up, or whose answers were refused twenty times in a row, answers {"do":"stop"}.  EB_OUT_OF_MEMORY. */
eb_status eb_bay_answer(eb_bay *bay, const eb_json *ask, char *line, size_t size, eb_error *error);

/* What a minute was spent on. */
typedef enum eb_bay_minutes {
  EB_BAY_TALKING, /* cautions, questions, numbers */
  EB_BAY_WAITING, /* for warmth and for steadiness */
  EB_BAY_READING,
  EB_BAY_ADJUSTING,
  EB_BAY_STARTING, /* and stopping */
  EB_BAY_MINUTES
} eb_bay_minutes;
const char *eb_bay_minutes_word(eb_bay_minutes kind); /* "waiting"; static */

typedef struct eb_bay_work {
  int prompts, readings, stops, moves, plates;
  int slips, forgotten, refused;
  double minutes; /* all together */
  double minutes_of[EB_BAY_MINUTES];
} eb_bay_work;
void eb_bay_account(const eb_bay *bay, eb_bay_work *work);

/* The engine, borrowed for as long as the bay lives; NULL until the layout is known. */
eb_engine *eb_bay_engine(eb_bay *bay);

/* What no gauge shows, at idle. EB_NOT_FOUND: the layout is not known yet. */
eb_status eb_bay_truth(const eb_bay *bay, eb_engine_truth *truth, eb_error *error);

/* The greatest true deviation, without its sign, of the bores that a claim speaks of from their mean: the claim
 * {"tolerance", "left_out"?} of an `end` holds where that is not above its tolerance.  NULL: of all bores.
 * 0 where the layout is not known. */
double eb_bay_spread(const eb_bay *bay, const eb_json *claim);

#ifdef __cplusplus
}
#endif
#endif
