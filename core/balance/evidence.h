/* The events behind an eb_evidence, and what is computed from them. */
#ifndef EVENBORE_BALANCE_EVIDENCE_H
#define EVENBORE_BALANCE_EVIDENCE_H

#include "evenbore/belief.h"
#include "evenbore/evidence.h"

#include "planning.h"

typedef enum event_kind {
  EVENT_PERIOD,
  EVENT_PASS,
  EVENT_READING,
  EVENT_OPENED, /* a reading with the shaft pushed open: one of air that nobody balances */
  EVENT_MOVE,
  EVENT_SNAP,
  EVENT_NO_AIR
} event_kind;

typedef struct event {
  event_kind kind;
  int index;            /* bore or adjuster */
  double value;         /* reading in the gauge's unit, or move in ln */
  double log_value;     /* reading: its logarithm */
  double prior;         /* reading: the gauge's repeatability, relative */
  double step_variance; /* reading: relative variance of the readable step */
  bool rejected;        /* does not count: its pass was rejected, or it was struck */
  bool pushed;          /* with the shaft pushed open or shut */
  bool struck;          /* by a fault that was found: it says nothing of the engine at all */
} event;

typedef struct notes notes; /* what was worked out from the events so far: evidence_notes.c */

struct eb_evidence {
  const eb_host *host;
  notes *notes;
  eb_layout layout;
  eb_layout taught; /* with the gains that are known from earlier jobs, where there are any */
  bool was_taught;
  eb_gauge gauge;
  eb_bores left_out;
  bool still; /* what is measured does not drift */
  event *event;
  size_t events, room;
  size_t open_pass; /* events up to and with its beginning; 0: none is open */
};

/* What the repeats say about the readings' noise. */
typedef struct noise {
  double factor;             /* repeatability over what the gauge's prior said */
  double repeatability;      /* of the present gauge, relative */
  double degrees_of_freedom; /* of it */
  double step_variance;      /* of a typical reading with the present gauge */
} noise;

bool evidence_was_read(const eb_evidence *evidence, const event *reading); /* counts, or is in a rejected pass */
bool evidence_counts(const eb_evidence *evidence, const event *reading);
noise evidence_noise(const eb_evidence *evidence);
noise evidence_noise_anew(const eb_evidence *evidence); /* without a look into the notes */
/* The same from repeats without a snap between them: what a snap changes is no noise of the gauge.  `all_from`: with
 * those of rejected passes from this event on; SIZE_MAX: without. */
noise evidence_noise_within_snaps(const eb_evidence *evidence, size_t all_from);

/* What follows from the events from `from` to before `to` alone, with the priors of `layout`. */
typedef struct walk {
  eb_belief *belief; /* owned */
  double factor;     /* of the noise */
  size_t to;
  int taken;                /* readings since the running period's start */
  int before[EB_BORES_MAX]; /* of each bore those that count since the last start or move */
} walk;
eb_status walk_begin(const eb_evidence *evidence, const eb_layout *layout, size_t from, walk *made, eb_error *error);
void walk_on(const eb_evidence *evidence, const noise *found, size_t to, walk *walked);

/* The belief after the events before `to`; borrowed until the next question about the evidence. */
eb_status evidence_belief(const eb_evidence *evidence, const noise *found, size_t to, const eb_belief **belief,
                          eb_error *error);

/* The last verdict, where it still holds; NULL: there is none for these figures. */
const eb_verdict *evidence_verdict_known(const eb_evidence *evidence, double tolerance, double risk);
void evidence_verdict_keep(const eb_evidence *evidence, const eb_verdict *verdict);

eb_status notes_create(const eb_host *host, notes **made, eb_error *error);
void notes_destroy(notes *kept, const eb_host *host); /* NULL is allowed */

/* Whatever changes what the events so far come to says so; events that are added at the end do not.  Where what the
 * events before `from` come to stays, it is kept. */
void notes_forget(eb_evidence *evidence);
void notes_forget_from(eb_evidence *evidence, size_t from);

/* From now on no question is about fewer than the events before `at`, and all are with this noise.  EB_OUT_OF_MEMORY.
 */
eb_status notes_begin_at(eb_evidence *evidence, const noise *found, size_t at, eb_error *error);

/* Where the readings begin that nothing but a snap parts: behind the last start and the last move before `to`. */
size_t evidence_block(const eb_evidence *evidence, size_t to);

#endif
