/* What the files of the session room share. */
#ifndef EVENBORE_SESSION_PRIVATE_H
#define EVENBORE_SESSION_PRIVATE_H

#include "evenbore/evidence.h"
#include "evenbore/habits.h"
#include "evenbore/session.h"
#include "evenbore/text.h"
#include "evenbore/throttle.h"

enum {
  KEY_MAX = 64,
  TITLE_MAX = 120,
  PROMPT_MAX = 2000, /* characters of a text, a why, a note */
  ITEM_MAX = 200,    /* characters of a hazard, an option, a part's name */
  ITEMS_MAX = 24,
  PARTS_MAX = 64,
  SHOP_HAZARDS_MAX = 12, /* that a procedure adds to the core's own */
  TELLS_MAX = 200,       /* between two asks */
  EFFORT_MAX = 1000      /* of a procedure's other requests between two asks; a verdict or a plan counts 20 */
};

typedef enum engine_state { ENGINE_UNKNOWN, ENGINE_STOPPED, ENGINE_RUNNING } engine_state;

/* A growing array of records' indices, or of borrowed pointers. */
typedef struct records {
  size_t *index;
  size_t count, room;
} records;

/* Which length a cold condition measures; they are never put together. */
typedef enum length_kind { LENGTH_NONE, LENGTH_GAP, LENGTH_TRAVEL } length_kind;

/* Readings at idle and at a held speed are evidence about different things:
 * stops and plates the one, linkage geometry the other; and lengths at a stopped engine about a third. */
typedef struct condition {
  char name[ITEM_MAX];
  eb_evidence *evidence; /* of a cold one: feeler gaps in mm */
  bool read;             /* a reading was taken in it */
  bool claims;           /* a verdict stands: nothing was moved since */
  double claim;
  /* What follows is of a cold one: */
  bool cold; /* lengths, the engine stopped */
  length_kind length;
  eb_gauge gauge; /* its own, in a unit of length */
  eb_plate plate;
  double tolerance;
  int passes;                  /* those at the running engine count by themselves */
  bool stale;                  /* the engine ran since: a new pass stands alone */
  double gap_mm[EB_BORES_MAX]; /* of the last verdict; 0: none */
  double target_mm;            /* the gap that a plate is set to; 0: none */
} condition;
enum { CONDITIONS_MAX = 8 };

/* What was worked out last and can be told: the first tell takes it into its record, where it stays. */
typedef struct tellable {
  const eb_json *value; /* NULL: none */
  eb_json *own;         /* the same until it is told */
} tellable;

/* What is known of the throttles, and how amounts are to be said. */
typedef struct geometry {
  eb_throttle common;            /* bore, shaft, closed angle, screw */
  eb_opening idle[EB_BORES_MAX]; /* each bore's own opening at idle */
  eb_idle_kind idle_kind[EB_BORES_MAX];
  char unit[8]; /* of lengths: "mm" or "thou"; empty: by habit */
} geometry;

/* Which of the core's own cautions hold. */
typedef struct safety {
  bool origin;  /* seen since the session began */
  bool place;   /* seen since the session began */
  bool start;   /* for the start that comes next */
  bool started; /* since the person came: later starts have the short list */
  bool running; /* since the person came */
  bool hands;   /* in this stopped period */
} safety;

/* Whose ask is open. */
typedef enum asked_by { BY_PROCEDURE, BY_SAFETY, BY_RESUME } asked_by;

/* What follows from the answers so far; made anew by every replay. */
typedef struct job_state {
  bool declared, has_layout;
  eb_layout layout;
  eb_gauge gauge;
  geometry geometry;
  eb_habits habits;
  double tolerance, risk;
  condition conditions[CONDITIONS_MAX];
  int condition_count;
  int current;         /* index of the condition that is measured */
  engine_state engine; /* as it is known to be */
  engine_state wanted; /* as the procedure has asked for last */
  eb_json *open_parts; /* array of strings */
  int pass;
  bool in_pass;
  int attempts; /* moves done */
  int prompts;
  int tells;              /* since the last ask */
  bool set_aside;         /* it was told that readings speak against what was known of the adjusters */
  int effort;             /* what else was wanted of the core since then */
  tellable verdict, plan; /* the last ones, as JSON */
  eb_json *more;          /* object of the last findings, comparison, crosscheck and explanation; NULL: none */
  eb_verdict air;         /* the last one at idle, while its claim stands */
  eb_bores left_out;      /* and not in a claim */
  safety safety;
  eb_json *shop_hazards;    /* array of texts that the procedure adds to the place's; NULL: none */
  eb_json *origin_cautions; /* array of texts about where the procedure comes from; NULL: none */
  eb_json *cautions;        /* the procedure's critical cautions acknowledged, by key */
  eb_json *perishable;      /* asks answered in this running period that do not keep, by key */
} job_state;

struct eb_session {
  const eb_host *host;
  eb_runner runner;
  eb_journal *journal;
  const char *program;
  char *program_copy;
  eb_session_options options; /* only while starting */
  bool resumed, greeted, told_known;
  int prompts_max;

  eb_procedure procedure;
  bool runs;      /* procedure is to be destroyed */
  eb_json *reply; /* for the next exchange; NULL: none */

  job_state job;
  records effective; /* told and answer records that hold */
  records hidden;    /* answer records that were taken back */
  eb_json *unsaved;  /* told records that the disk has not taken yet: they go before the next one */
  size_t at;         /* next of `effective` to be replayed */
  bool away;         /* the person has just come to this session, and has not acknowledged its cautions yet */
  bool resume_asks;  /* the questions of a resume are to be asked before the next ask */
  int resume_step;   /* how many of them were */

  eb_session_state state;
  eb_json *script_ask; /* the ask that the procedure waits on; NULL once it is open itself */
  eb_json *answer;     /* record of an answer to the open ask, up to that; the journal's once it is given */
  const eb_json *ask; /* the open ask as it is journaled, in `answer`: script_ask, a second look at it, or the core's */
  eb_json *shown;     /* the same as sent to the front; the queue's, then `current`, and owned here once `passed` */
  bool passed;        /* the front has had `shown` and gone on to what comes after it */
  asked_by by;
  int n;      /* number of the open ask: answers that hold, and one */
  int wire_n; /* counts up on the wire, also after a take-back */

  eb_json *queue; /* array of messages */
  eb_json *current;
};

/* state.c */
eb_status job_init(eb_session *s, eb_error *error);
void job_clear(job_state *job);
eb_evidence *job_evidence(const eb_session *s);
eb_status job_set_layout(eb_session *s, const eb_json *layout, const char *place, eb_error *error);
void job_give(tellable *what, eb_json *value); /* takes over value, which may be NULL */
/* What an answered ask changes: engine, parts, readings, moves. */
eb_status job_apply(eb_session *s, const eb_json *ask, const eb_json *value, eb_error *error);
eb_status job_new_period(eb_session *s, eb_error *error);
const char *engine_word(engine_state state);
bool json_array_has(const eb_json *array, const char *text);

/* parts.c */
eb_status parts_apply(eb_session *s, const eb_json *ask, eb_error *error); /* with yes */
/* What is off, also where the answer that says so was taken back. Owned by the caller; NULL: out of memory. */
eb_json *parts_off(const eb_session *s);
bool parts_are_off(const eb_session *s); /* true where memory runs out */
/* The core's own question whether they are on again, before a start. Owned by the caller; NULL: out of memory. */
eb_json *parts_ask(const eb_session *s, const char *key);

/* condition.c */
const char *length_word(length_kind kind);                           /* "feeler gap" */
condition *condition_find(eb_session *s, const char *name);          /* NULL: none */
const condition *condition_current(const eb_session *s);             /* NULL: there is no layout yet */
const eb_gauge *condition_gauge(const eb_session *s);                /* of the current one */
int condition_passes(const eb_session *s);                           /* number of the current one's last pass */
engine_state condition_engine(const condition *c);                   /* what it wants; NULL is one that is made new */
double condition_tolerance(const eb_session *s);                     /* of the current one */
double condition_last(const condition *c, int bore);                 /* last reading in its gauge's unit; 0: none */
const char *condition_unit(const eb_session *s, const condition *c); /* in which a cold one's lengths are shown */
/* Whether a cold value is a plate that is shut, or nearly: no length to be compared with the others. */
bool condition_shut(const eb_session *s, int bore, double value, bool confirmed);
eb_status condition_reading(eb_session *s, int bore, double value, eb_error *error);
eb_slip condition_slip(const eb_session *s, int bore, double value);
/* What was measured at these bores no longer counts: in cold conditions, or in all. No cold claim stands. */
void condition_forget(eb_session *s, eb_bores bores, bool cold_only);
eb_status condition_declare(eb_session *s, const eb_json *request, eb_error *error);
eb_status condition_pass(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error);
eb_status condition_close(eb_session *s, eb_json **reply, eb_error *error);
/* Keeps what follows from a verdict of the current one; a cold one's is completed: length, unit, target. */
eb_status condition_judge(eb_session *s, const eb_verdict *verdict, eb_json *told, eb_error *error);
/* Adds "cold": what was measured at the stopped engine and still stands; nothing where there is none. */
bool condition_add_claims(const eb_session *s, eb_json *end);
/* Completes the ask to set a plate to the length that the others have; *move is the wished change of its opening, ln.
 */
eb_status condition_adjust(eb_session *s, const char *name, const eb_adjuster *adjuster, eb_json *ask, double *move,
                           eb_error *error);

/* ask.c: makes the ask that a request wants, checked and completed, out of the request's own members; EB_SCRIPT or
 * EB_REFUSED is the author's. */
eb_status ask_make(eb_session *s, eb_json *request, eb_json **ask, eb_error *error);
/* The same reading asked again because `value` looks like a slip. Owned by the caller; NULL: out of memory. */
eb_json *ask_again(const eb_json *ask, const eb_json *value, eb_slip slip);
/* Moves a text member after checking that it can be shown. */
eb_status move_text(eb_json *from, eb_json *to, const char *key, size_t limit, bool required, bool newlines,
                    eb_error *error);
/* The same check of what is to be a list of texts. */
eb_status check_texts(const eb_json *list, const char *key, eb_error *error);

/* answer.c: checks a value for an ask and brings it into the asked unit. *value is owned by the caller;
 * *given is what was given in another unit, or NULL. */
eb_status answer_check(const eb_json *ask, const eb_json *raw, eb_json **value, eb_json **given, eb_error *error);
/* The unit of an answer as the procedure gets it; NULL where an answer has none. */
const char *answer_unit(const eb_json *ask);
/* Whether an amount's unit is one of length or of angle, so that it may be given in another one. */
bool amount_quantity(const char *unit, eb_quantity *quantity);
/* What a person typed, as the value that the protocol would carry. */
eb_status answer_typed(const eb_json *ask, const char *typed, size_t size, eb_json **raw, eb_error *error);
const char *answer_wanted(const eb_json *ask, char *buffer, size_t size);
/* Why a reading is to be looked at twice; EB_SLIP_NONE: it is taken. */
eb_slip answer_slip(const eb_session *s, const eb_json *ask, const eb_json *value);
/* Whether a reading says, nothing or twice the same, that the bore draws nearly no air: a dead cylinder, a stuck valve,
 * an open leak. That is a fault and no imbalance, and does not count as evidence of one. */
bool answer_no_air(const eb_session *s, const eb_json *ask, const eb_json *value);

/* request.c: answers every request but ask, tell and end. *reply is owned by the caller. */
eb_status request_answer(eb_session *s, const char *op, const eb_json *request, eb_json **reply, eb_error *error);
/* request_more.c: those about faults and their causes. *known is false, and nothing else is done, for another op. */
eb_status request_more(eb_session *s, const char *op, const eb_json *request, eb_json **reply, bool *known,
                       eb_error *error);
eb_status request_declare(eb_session *s, const eb_json *request, eb_error *error);
eb_status request_tell(eb_session *s, eb_json *request, eb_json **message, eb_error *error);
/* What was to be told stands in this message, which is equal and lives as long as the session. */
void request_told(eb_session *s, const eb_json *message);
void request_untold(eb_session *s); /* It stands nowhere: the message that had taken it is gone. */
/* {"tolerance", "risk"} of the verdict at idle that stands, or null. */
eb_json *claim_json(const eb_session *s);

/* options.c: checks the options that a procedure declares, and what the engine file among `inputs` (may be NULL)
 * says of them: EB_SCRIPT is the author's, EB_BAD_VALUE the file's, which is then the error's place. */
eb_status options_check(eb_session *s, const eb_json *declare, const eb_json *inputs, eb_error *error);

/* amount.c */
/* Reads what a procedure knows of the throttles; what is not named stays unknown. */
eb_status amount_read(eb_session *s, const eb_json *throttle, eb_error *error);
/* Gives every move of a plan its "amount": {what, value, low, high, unit}, or null where geometry is missing. */
eb_status amount_add(eb_session *s, eb_json *plan, eb_error *error);

/* records.c */
bool record_is(const eb_json *record, const char *kind);
eb_status records_add(eb_session *s, records *list, size_t index, eb_error *error);
eb_status records_collect(eb_session *s, eb_error *error); /* effective and hidden, from the journal */
const eb_json *records_next(const eb_session *s);          /* the one that the replay has to meet; NULL: it is over */
bool records_answers_left(const eb_session *s);            /* from there on */
/* The answer that a take-back takes back, or NULL: the last one to an ask of the procedure; of a reading that was asked
 * again, the first of its answers. */
const eb_json *records_last_answer(const eb_session *s);

/* replay.c */
/* Starts the procedure from its beginning and runs it to the first ask without an answer, or its end. */
eb_status session_run(eb_session *s, eb_error *error);
/* Goes on from an ask that was answered by `value`; both stand in the journal. */
eb_status session_go_on(eb_session *s, const eb_json *ask, asked_by by, const eb_json *value, eb_error *error);

/* open.c: starts the procedure from the options or from the journal; creates the journal once it has declared itself.
 */
eb_status session_start_procedure(eb_session *s, eb_error *error);
eb_status session_declared(eb_session *s, const eb_json *declare, eb_error *error);

/* resume.c: the next question of a resume that is still to be asked, or NULL. Owned by the caller. */
eb_status resume_next_ask(eb_session *s, eb_json **ask, eb_error *error);

/* known.c: what the engine's adjusters answered in earlier jobs. */
eb_status known_apply(const eb_session *s, eb_layout *layout, eb_error *error); /* becomes what is believed at first */
eb_status known_tell(eb_session *s, eb_error *error); /* once, when the front and the layout are there */
/* Once, where readings speak against it: *tell is a note for the record, owned by the caller; else NULL. */
eb_status known_set_aside(eb_session *s, eb_json **tell, eb_error *error);
bool known_add_answers(const eb_session *s, eb_json *end); /* "answered" and "repeats", for the next job */

/* safety.c: the core's own caution that must come before an ask, or NULL. Owned by the caller. */
eb_status safety_next_ask(const eb_session *s, const eb_json *before, eb_json **ask, eb_error *error);
eb_json *safety_start_ask(const eb_session *s); /* before a start that a resume asks for; NULL: out of memory */
bool safety_is_start(const eb_json *ask);
bool safety_is_own(const eb_json *ask);
void safety_apply(eb_session *s, const eb_json *ask);         /* one of these was acknowledged */
void safety_engine(eb_session *s, bool runs, bool of_resume); /* the engine was started or stopped */
bool safety_add_again(const eb_session *s, eb_json *hazards); /* what holds for who comes back */
void safety_shown_again(eb_session *s);                       /* and was acknowledged */
void safety_taken_back(eb_session *s);                        /* a step on metal was */
/* The code of a caution that is shown now: two different digits, other ones than were acknowledged last. */
void safety_code(const eb_session *s, const eb_json *ask, char code[3]);

/* session.c */
eb_status out_of_memory(eb_error *error);
/* After EB_OK the record is the journal's, after a failure still the caller's. Told records that wait go first. */
eb_status session_save(eb_session *s, eb_json *record, bool sync, eb_error *error);
/* The same for a record that is of no use after a failure: takes it over; NULL is memory that ran out. */
eb_status session_append(eb_session *s, eb_json *record, bool sync, eb_error *error);
/* Takes over record; keeps it for later where the disk does not take it now. */
eb_status session_record_told(eb_session *s, eb_json *record, eb_error *error);
eb_status session_queue(eb_session *s, eb_json *message, eb_error *error); /* takes over message */
/* A message that stands in a record, which lives as long as the session does. */
eb_status session_queue_told(eb_session *s, const eb_json *message, eb_error *error);
/* Ends the run with an `end` of outcome failed, where `status` is a failure; returns it. `error` is not NULL. */
eb_status session_fail(eb_session *s, eb_status status, eb_error *error);
/* What to do where a journal does not fit what this program would ask; returns `text`. */
const char *session_way_on(const eb_session *s, char *text, size_t size);
void session_pause(eb_session *s);
/* Adds what a person must not walk away from: a running engine, parts still off. */
void session_add_left_open(const eb_session *s, eb_text *summary);
bool session_tell_note(eb_session *s, const char *text);
eb_json *record_new(eb_session *s, const char *kind); /* with kind and time */
eb_status session_queue_hello(eb_session *s, eb_error *error);
/* Whether the hello, which the front has not taken yet, now has the layout too. */
bool session_complete_hello(eb_session *s);
eb_status session_open_ask(eb_session *s, eb_json *ask, asked_by by, eb_error *error); /* takes over ask */
eb_status session_end(eb_session *s, const char *outcome, const char *summary, const char *why, eb_error *error);

#endif
