/* The events behind an eb_evidence, and what is computed from them. */
#ifndef EVENBORE_BALANCE_EVIDENCE_H
#define EVENBORE_BALANCE_EVIDENCE_H

#include "evenbore/belief.h"
#include "evenbore/evidence.h"

#include "planning.h"

typedef enum event_kind { EVENT_PERIOD, EVENT_PASS, EVENT_READING, EVENT_MOVE } event_kind;

typedef struct event {
  event_kind kind;
  int index;            /* bore or adjuster */
  double value;         /* reading in the gauge's unit, or move in ln */
  double prior;         /* reading: the gauge's repeatability, relative */
  double step_variance; /* reading: relative variance of the readable step */
  bool rejected;        /* belongs to a pass that was rejected */
} event;

struct eb_evidence {
  const eb_host *host;
  eb_layout layout;
  eb_gauge gauge;
  eb_bores left_out;
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

bool evidence_counts(const eb_evidence *evidence, const event *reading);
noise evidence_noise(const eb_evidence *evidence);
eb_status evidence_belief(const eb_evidence *evidence, const noise *found, eb_belief **belief, eb_error *error);

#endif
