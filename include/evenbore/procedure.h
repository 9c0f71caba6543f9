/* Procedure: the narrow interface between a session and the script that leads it.
 *
 * A session does not know what runs a procedure.  It hands one JSON value over
 * and gets the next one back; nothing else passes between the two, so that the
 * runner may live in this thread or in a process of its own, which gets and
 * sends their texts.  The session treats what it gets as hostile: every field is
 * checked on its side.
 *
 * One exchange
 * ------------
 * The first request comes without a reply.  Every request is an object with
 * `op`; every reply answers the request before it.  A request that the session
 * refuses is answered by {"error": "..."}; the runner raises it at the author's line.
 * `at` is where the author asked: "v8-coupled.lua:31".
 *
 *   op         keys                                                    reply
 *   declare    procedure {id, version, title, api}, layout?, gauge?,
 *              tolerance?, risk?, cautions?, options?                  {}
 *   layout     layout, text?, stage?, at                               {}
 *   gauge      gauge (gauge.h)                                         the gauge as it holds now
 *   throttle   throttle {bore_mm?, shaft_mm?, closed_deg?, pitch_mm?,
 *              lever_mm?, unit?, idle? {bore: {gap_mm} or {travel_mm}}}  {}
 *   ask        kind, key, title, text, why, at, the kind's keys        {value}; of a reading also outside_best,
 *                                                                        no_air
 *   tell       kind, text, at, the kind's data                         {}
 *   condition  name, engine "stopped", quantity "length", length, gauge,
 *              tolerance?, at                                          {}
 *   pass       condition, at                                           {pass}
 *   close      at                                                      {accepted, comparable, change, limit}
 *   period     why, at                                                 {}
 *   leave_out  bore, why, at                                           {}
 *   verdict    brief?, at                                              the verdict (verdict.h); brief: word, claim,
 *                                                                        tolerance, risk, bores that it leaves out
 *   plan       at, and the options of plan.h by name                   the plan (plan.h), moves with amounts
 *   findings   at                                                      {findings: what does not look like an imbalance
 *                                                                        (finding.h)}
 *   snap_bores at                                                      {bores: to read again after a snap}
 *   strike     bores? (none: all), since (pass, snap, start, ever),
 *              pass? (number: what was read on its way round), why, at {}: their readings since then do not count
 *   compare    first? (idle), second, at                               {comparison} of two conditions (compare.h)
 *   crosscheck heat? {bore: degrees}, heat_doubt?, mixture? [{bores,
 *              value}], mixture_doubt?, at                             {crosscheck: [{word, bores, size, score, fuel}]}
 *                                                                        against the last verdict at idle
 *   explain    at                                                      {explanation} of the spread at idle (explain.h)
 *   shown      quantity, value, unit, change?                          {text}: as the shop shows it, "167 F"
 *   state      only? (one of the names beside), at                     {engine, open, pass, attempts, layout,
 *                                                                        gauge, tolerance, risk, inputs, readings?}
 *   end        summary?, at                                            none: the exchange is over
 *
 * A procedure that asks before its layout is fixed declares no layout but `options`: a list of the asks that it will
 * make for it, of the kinds `choose` and `number`, each with an `id`.  What state's inputs.engine_file says of them, in
 * its `layout` or its `throttle`, {id: value}, is checked at once (EB_BAD_VALUE, the place is the engine file); the
 * procedure leaves out the asks that are answered there, then fixes the layout, which the session tells the front. A
 * layout that is no layout ends the run.
 *
 * An `ask` of the kind `reading` may carry `pressed`: the stack is pressed on and its clamp covered by hand meanwhile;
 * and `pushed`, "open" or "shut": a finger on its shaft takes it to that end of its play; with `running` it is refused
 * where the engine stands, in a condition of a stopped engine too.
 * One of the kind `confirm` may carry `snaps`: answered with true, the throttle was opened and let go; a tell of the
 * kind `finding` comes with the findings given last, those of the kinds `comparison`, `crosscheck` and `explanation`
 * with these.
 *
 * An `ask` of the kind `confirm` may carry `takes_off` or
 * `refits` (arrays of part names): answered with true, the parts go on or off
 * the open-parts list.  An `ask` may carry `perishable` (its answer is asked
 * again after a resume while the engine was running; with `holds` [low, high]
 * only a number in there is taken then), `hands` (hands go to the throttles
 * for it: the engine must be known to run or to stand) and a `caution`
 * `critical` (shown again after a resume).
 *
 * A condition that was not declared is one of air at a running engine, named by its first pass; "idle" is there from
 * the start.  `condition` declares one of lengths at the plates of a stopped engine: `length` is "feeler gap" or "edge
 * travel" and stays what it is (edge travel: the plate's bore_mm and closed_deg were told by `throttle`); the gauge is
 * one of gauge.h with a unit of length, such as a feeler set's least and greatest leaf and step; tolerance is relative,
 * of the gaps.  Pass, reading and verdict of it demand a stopped engine, those of all others a running one.  Its
 * evenness is that of the feeler gaps, as air goes with these while a plate is nearly closed, dA/ds = pi D/2; a
 * travel is turned into its gap by the plate (throttle.h).  The level that is common to all bores is free there as
 * everywhere: a verdict is relative to the mean. Drift is not.  A reading is not compared where the plate is shut, or
 * twice the same less than a third of its row (no_air); after the engine ran a new pass stands alone.
 * The verdict says also `length`, `unit`, `target` (the middle one of the lengths) and of each bore `apart` (its gap
 * over the middle one, less 1); its values are in the shop's unit.  An `ask` of the kind `adjust` with `condition`
 * sets one plate to that: move and amount (what, value, low, high, unit, `to` true) are then the core's, and once it
 * is done all that was read of that bore before, in any condition, no longer counts.
 *
 * `cautions` of a declare are hazards that a shop adds to the core's own (session.h has these): 1 to 12 texts of at
 * most 200 characters, no control characters.  None of the core's can be taken away, and keys that begin with "safety."
 * or "resume." are the core's. */
#ifndef EVENBORE_PROCEDURE_H
#define EVENBORE_PROCEDURE_H

#include "evenbore/host.h"
#include "evenbore/json.h"
#include "evenbore/status.h"

#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  EB_PROCEDURE_SOURCE_MAX = 64 * 1024,  /* bytes of one source file */
  EB_PROCEDURE_REQUEST_MAX = 64 * 1024, /* bytes of one request's or reply's text (eb_json_text) */
  EB_PROCEDURE_FILES_MAX = 32           /* library files that one procedure may require */
};

/* A source text by name. All borrowed. */
typedef struct eb_source {
  const char *name; /* base name, "v8-coupled.lua"; for a library file "lib/routine.lua", for a shop's own
                        "./lib/ours.lua": that sees what the procedure sees */
  const char *text;
  size_t size;
  const char *digest; /* the text's, as eb_digest makes it; believed.  NULL: it is made where it is wanted */
} eb_source;

/* A procedure that runs.  Made by an eb_runner, ended by `destroy`. */
typedef struct eb_procedure {
  void *self;
  /* Hands over `reply` (NULL at the first call; borrowed for the call) and waits for the next request.  *request is
   * owned by the caller; its text would have at most EB_PROCEDURE_REQUEST_MAX bytes and be taken by eb_json_parse.
   * EB_SCRIPT: the procedure has an error, which `error` describes with its line; EB_BUDGET: it used up a budget;
   * EB_OUT_OF_MEMORY; EB_IO: the system refuses what the runner needs.  After any failure only `destroy` may be called.
   */
  eb_status (*exchange)(void *self, const eb_json *reply, eb_json **request, eb_error *error);
  void (*destroy)(void *self);
} eb_procedure;

/* What starts procedures: the Lua room, or a test's own. */
typedef struct eb_runner {
  void *context;
  const char *name; /* for the journal: "lua 5.4"; static */
  /* Starts `main` from its beginning with the library files given (a copy of what it needs is
   * taken; `host` must outlive the procedure). Failures as those of exchange; EB_REFUSED: the runner does not trust
   * it. */
  eb_status (*start)(void *context, const eb_host *host, const eb_source *main, const eb_source *library,
                     size_t library_count, eb_procedure *procedure, eb_error *error);
} eb_runner;

#ifdef __cplusplus
}
#endif
#endif
