/* Practice: a person at the real prompts, with a simulated engine, gauge and wrench. */
#ifndef EVENBORE_PRACTICE_H
#define EVENBORE_PRACTICE_H

#include "job.h"
#include "load.h"

#include "evenbore/person.h"
#include "evenbore/scratch.h"

typedef struct eb_practice {
  const eb_run *run;
  const eb_loaded *loaded;
  const eb_gauge *gauge;  /* NULL: what the procedure declares, or usual */
  double tolerance, risk; /* 0: the same */
  uint64_t seed;
  double fault[EB_FAULTS];
  bool any; /* of those faults, without telling which */
  eb_scratch *scratch;
  eb_bay *bay;
  eb_session *session;
  eb_json *layout, *ask, *verdict, *end; /* the last ones heard; NULL: none. Owned */
  bool idles;                            /* the last reading was asked at idle: a verdict is about that */
  bool stale;                            /* something was moved since that verdict */
  eb_engine_truth began;                 /* before any work */
  eb_sight sight;                        /* for the open ask, */
  bool looked;                           /* where it was looked at */
  bool explained;                        /* how a needle is read */
  bool by_feel;                          /* the move was said in words: */
  double felt_move;                      /* that, ln */
  double before_stop;                    /* the true spread when the engine was stopped last */
  int stops_for_worse;                   /* stops after which it was less even than before */
  bool moved;                            /* in this stop */
  char line[EB_BAY_LINE_SIZE];
} eb_practice;

/* What the terminal does through a practice: it watches where its own tuner is to work. */
eb_company eb_practice_company(eb_practice *practice);

/* Makes a practice's verdicts and the truth meet. `page` is the terminal's. */
void eb_practice_say_truth(const eb_practice *practice, eb_page *page);

#endif
