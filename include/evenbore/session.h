/* Session: one job on one engine, led by a procedure and kept in a journal.
 *
 * A session and its front exchange messages: JSON objects of the line protocol
 * (version EB_PROTOCOL).  The front shows every message that
 * eb_session_next returns until there is none, then hands over one answer or
 * command, and so on until eb_session_state is no longer EB_SESSION_ASKS.  How
 * a message is shown (as a line, on a terminal) is the front's affair.
 *
 *   to the front keys
 *   hello      protocol, engine, session, file, resumed, procedure, layout (null: a `tell` of that kind brings it
 *              once it is fixed), gauge, tolerance, risk
 *   tell       kind (note, caution, layout, chart, verdict, plan, finding, comparison, crosscheck, explanation), text,
 *              the kind's data
 *   ask        n, kind, key, title, text, why, stage?, before?, the kind's keys
 *   refused    n, why, wanted
 *   end        outcome (even, claimed, stopped, failed), claim {tolerance, risk} or null, summary,
 *              cold? [{condition, length, tolerance, wanted}]
 *
 *   kind of ask   own keys                                          value of the answer
 *   caution       hazards, code, critical?                          the code, a text
 *   confirm       default?, takes_off?, refits?, snaps?             true or false
 *   choose        options [{id, text}]                              an option's id
 *   number        quantity, unit, low, high, step?,                 a number, or {value, unit}; a count goes in whole
 *                 asked? {unit, low, high}                           steps from low
 *   text          limit                                             a string
 *   reading       bore, pass, repeat, condition, quantity, unit,    a number, or {value, unit},
 *                 low, high, best, length?, again? {value, why},    or {unreadable: why}
 *                 pressed?, pushed? ("open" or "shut")
 *   adjust        adjuster, title, move, share, amount, engine, attempt  {done: true, amount?} or {done: false, why}
 *   engine        state (running, stopped), open                    true
 *
 * `condition` of a reading: "idle", another one of a running engine, or one of lengths at a stopped one: then `length`
 * is "feeler gap" or "edge travel", two different lengths, and an `adjust` of that condition has an amount {what, to:
 * true, value, unit}, the length that the plate is to be set to. A tell of its verdict has length, unit and target too.
 * `asked` on a number or such a reading: what the procedure asked for, where the shop's habits show it in another unit.
 * A plain number is in `unit`; the procedure gets its value in the unit that it asked for, the journal keeps both.
 * `before` {typed, value} is an answer to the same ask that was taken back.
 * `again` on a reading: the value before looks like a slip, for the reason `why`.
 *
 * `pressed` on a reading: the stack is pressed on and its clamp slit covered by hand meanwhile.  `pushed`: a
 * finger takes the bore's shaft to that end of its play; with it open the reading is of air that nobody balances, and
 * the next one is of the same bore pushed shut, the gauge not lifted.  `snaps` on a
 * confirm: yes says that the throttle was opened and let go.
 *
 * Any ask may carry `hands`: hands go to the throttles for it.
 *
 * The core keeps the interlocks whatever the procedure wants: the engine
 * cannot be asked to run while a part is on the open list, a reading of air
 * cannot be asked while it is stopped, nor one of lengths while it runs, a part cannot be taken off while it runs, an
 * adjuster that needs a stop cannot be moved before it.
 *
 * And it asks the usual cautions by itself, as critical ones, whatever the
 * procedure does (core/session/safety.c has their words):
 *
 *   safety.origin   first of all, where the inputs' origin has cautions
 *   safety.place    before the first ask of all, with the hazards that the procedure adds
 *   safety.start    before every start; in full before the first one and the first after a resume
 *   safety.hands    before the first ask of a stopped period for which hands go in: something is
 *                   taken off, refitted or moved, or `hands` says so
 *   safety.running  before the first of these, or reading, while the engine runs
 *   resume.caution  after a resume: place, and running or hands where they held
 *
 * A part that came off at a step that was taken back is still off. Before the next start, the procedure's or one of a
 * resume, a confirm of the core's own (safety.refit, resume.refit) asks until it is on.
 *
 * A caution is acknowledged by its code, on the line and at a terminal: two
 * different digits from 1 to 9, other ones than were acknowledged last.  A take-back
 * takes an answer back, never that a caution was seen to; where the way
 * forward needs one again it is asked again. */
#ifndef EVENBORE_SESSION_H
#define EVENBORE_SESSION_H

#include "evenbore/gauge.h"
#include "evenbore/host.h"
#include "evenbore/journal.h"
#include "evenbore/procedure.h"
#include "evenbore/statistics.h"

#ifdef __cplusplus
extern "C" {
#endif

/* What stands at the end of the summary of a session that failed; not true of one whose record is not kept. */
#define EB_SESSION_SAFE "; your answers are safe, the session can be resumed"

enum {
  EB_PROTOCOL = 1,
  EB_API_LEVEL = 1,               /* newest `api` that a procedure may declare */
  EB_PROMPTS_MAX = 2000,          /* asks of one session, unless the options say otherwise */
  EB_SESSION_LINE_MAX = 64 * 1024 /* bytes of one line of the protocol */
};

typedef struct eb_session eb_session;

typedef enum eb_session_state {
  EB_SESSION_ASKS,   /* an ask is open */
  EB_SESSION_PAUSED, /* left by command; can be resumed */
  EB_SESSION_ENDED,  /* over: even, claimed or stopped */
  EB_SESSION_FAILED  /* the procedure failed or the replay did not match; answers are safe, it can be resumed */
} eb_session_state;

/* What a session is started with. All borrowed for the call only, but the runner's context. */
typedef struct eb_session_options {
  const char *id;      /* its name, for hello and the journal */
  const char *path;    /* of the journal file to create */
  const char *program; /* "evenbore 0.1.0" */
  const eb_runner *runner;
  const eb_source *main;
  const eb_source *library;
  size_t library_count;
  const eb_gauge *gauge;  /* NULL: what the procedure declares, else the usual one */
  double tolerance, risk; /* 0: what the procedure declares, else 0.05 */
  const eb_json *inputs;  /* what else was given: {"engine": "...", "habits": {as habits.h reads it}, "origin": {where
                           * the procedure comes from; "cautions": 1 to 12 texts of at most 200 characters that have to
                           * be acknowledged before all else, and again after a resume}, "practice": {"seed"}: the
                           * engine is a simulated one, and no procedure is told}; NULL: nothing.  It stands in the
                           * first record: a resume goes by it, wherever it is made */
  const eb_json *known;   /* what the engine's adjusters answered in earlier jobs, as eb_known_make makes it; NULL:
                           * nothing is known. It stands in the first record too, and is told in words */
  int prompts_max;        /* 0: EB_PROMPTS_MAX */
} eb_session_options;

/* Starts a session: loads the procedure, creates the journal, runs to the first ask.
 * A procedure that does not load leaves no journal behind: EB_SCRIPT, EB_BUDGET, EB_BAD_LAYOUT,
 * EB_TOO_NEW (its api level), EB_BAD_VALUE.  Otherwise the journal's statuses.
 * `host` must outlive the session. */
eb_status eb_session_start(const eb_host *host, const eb_session_options *options, eb_session **session,
                           eb_error *error);

/* Takes up the session at `path` by running the procedure in its journal over
 * the recorded answers.  *recovery as eb_journal_open fills it.
 * EB_ENDED where the session is over.  EB_MISMATCH names both prompts with their lines.  The journal's and the runner's
 * statuses. A resume itself appends nothing but what recovery does. */
eb_status eb_session_resume(const eb_host *host, const char *path, const char *program, const eb_runner *runner,
                            eb_session **session, eb_recovery *recovery, eb_error *error);

/* The next message for the front, in order, or NULL: then it is the front's turn.
 * Borrowed until the next call on this session. */
const eb_json *eb_session_next(eb_session *session);
eb_session_state eb_session_where(const eb_session *session);

/* Takes one line of the protocol: {"n", "value"} or {"do": back, note, why, pause, stop}.
 * What cannot be taken is answered by a `refused` message and harms nothing;
 * an answer that could not be saved too.  EB_OUT_OF_MEMORY leaves the ask open, unless the answer is saved by then.
 * EB_ENDED where no ask is open.  Any other failure is the procedure's.  Where the ask is open no more after a failure
 * (eb_session_where), an `end` message with outcome failed is waiting and *error has the details. */
eb_status eb_session_take(eb_session *session, const char *line, size_t size, eb_error *error);

/* Takes what a person typed as the answer to the open ask: `6 1/2`, `1` or
 * `yes`, an option's number or id, a caution's code, `1 2 thou`, `0 seized`.  `00 why` says that a reading cannot be
 * taken. Statuses as above. */
eb_status eb_session_type(eb_session *session, const char *typed, size_t size, eb_error *error);

/* The commands as functions. `text` and `why` are UTF-8, at most 2 000 characters. */
eb_status eb_session_back(eb_session *session, eb_error *error);
eb_status eb_session_note(eb_session *session, const char *text, eb_error *error);
eb_status eb_session_why(eb_session *session, eb_error *error);
eb_status eb_session_pause(eb_session *session, eb_error *error);
eb_status eb_session_stop(eb_session *session, const char *why, eb_error *error);

/* The open ask as it was shown; NULL where none is open. Borrowed until the next call. */
const eb_json *eb_session_ask(const eb_session *session);
/* The last verdict that was worked out, told or not; NULL where there is none. Borrowed until the next call. */
const eb_json *eb_session_verdict(const eb_session *session);

/* The first record of its journal: what it was begun with ("inputs", "gauge", ...). Borrowed until the session is
 * destroyed. */
const eb_json *eb_session_opening(const eb_session *session);
/* The gauge as it holds now. Borrowed until the next call. */
const eb_gauge *eb_session_gauge(const eb_session *session);
/* What the repeats of this session, at idle and at held speeds, say of one reading's relative standard deviation;
 * what the gauge was believed to be plays no part. Degrees of freedom 0: there are none. */
eb_spread eb_session_repeats(const eb_session *session);

void eb_session_destroy(eb_session *session); /* a pause, where an ask was open; NULL is allowed */

#ifdef __cplusplus
}
#endif
#endif
