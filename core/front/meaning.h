/* Meaning: what a procedure's text asks of people and does to the engine, found by reading it; nothing is run.
 *
 * What stands in the text is found: calls of the job with the words in them, adjusters, cautions.  What a procedure
 * puts together while it runs is not; the text itself has it. */
#ifndef EVENBORE_MEANING_H
#define EVENBORE_MEANING_H

#include "evenbore/procedure.h"
#include "evenbore/text.h"

typedef enum eb_meaning_kind {
  EB_MEANS_CAUTION, /* a hazard that it adds */
  EB_MEANS_STEP,    /* a step of the routine, or a measurement: job:prepare() */
  EB_MEANS_PROMPT,  /* it asks */
  EB_MEANS_TELL,    /* it says something */
  EB_MEANS_PART     /* an adjuster: what it moves, and how */
} eb_meaning_kind;

/* Texts are offsets into the pool of the list; eb_meaning_text gives them. */
typedef struct eb_meaning {
  eb_meaning_kind kind;
  size_t call;      /* "confirm" */
  size_t key;       /* of a prompt or a part, where it is written as a plain text; else "" */
  size_t words;     /* for a person: the texts in it */
  size_t whole;     /* all that stands in the call, without white space: two that are equal do the same */
  const char *file; /* the source's name; borrowed */
  unsigned line;
} eb_meaning;

typedef struct eb_meanings {
  const eb_host *host;
  eb_meaning *found; /* in the order of the text */
  size_t count, room;
  eb_text pool;
  bool failed; /* memory ran out */
} eb_meanings;

/* The sources are borrowed for as long as the list is used. */
void eb_meanings_read(const eb_host *host, const eb_source *sources, size_t count, eb_meanings *meanings);
void eb_meanings_clear(eb_meanings *meanings);
const char *eb_meaning_text(const eb_meanings *meanings, size_t offset);

#endif
