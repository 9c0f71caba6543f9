/* Story: what a report tells, picked out of a journal's records once for all forms. Everything in it is borrowed. */
#ifndef EB_REPORT_STORY_H
#define EB_REPORT_STORY_H

#include "evenbore/format.h"
#include "evenbore/layout.h"
#include "evenbore/report.h"

/* A verdict that holds. */
typedef struct story_verdict {
  size_t record; /* number, from 1 */
  const eb_json *verdict;
  const char *condition;
  double spread, claim;
  size_t moves_before;
} story_verdict;

/* An answer to an `adjust` that holds. */
typedef struct story_move {
  size_t record;
  const eb_json *ask, *value;
  const eb_json *plan;         /* that asked for it; NULL: the procedure's own decision */
  const story_verdict *before; /* the last main one before it; NULL: none */
  const story_verdict *after;  /* the first main one behind its stop; NULL: none */
} story_move;

typedef enum story_state { STORY_OPEN, STORY_ENDED, STORY_STOPPED, STORY_FAILED, STORY_DAMAGED } story_state;

typedef struct story {
  const eb_account *account;
  const char *reader;        /* the program that makes the report; NULL: unknown */
  const eb_json *open, *end; /* end NULL: not over */
  story_state state;
  const char *condition; /* the main one: idle; where the job never came to idle, that of its first verdict */
  bool has_layout;
  eb_layout layout;
  story_verdict *verdict;
  size_t verdict_count;
  story_move *move;
  size_t move_count, done_count;
} story;

/* EB_OUT_OF_MEMORY. The account is borrowed until story_clear. */
eb_status story_read(const eb_account *account, const char *reader, story *s, eb_error *error);
void story_clear(story *s);

/* A verdict in the main condition. */
bool story_is_main(const story *s, const story_verdict *verdict);
/* The first and the last of them; NULL: none. */
const story_verdict *story_first(const story *s);
const story_verdict *story_last(const story *s);

/* The tightest tolerance that was proven, and whether there is a claim at all. */
bool story_claim(const story *s, double *tolerance, double *risk);

/* ln(first side / second side) of the bores' deviations, or of a lone side; false where a bore of it has none.
 * `doubt`: of that, the bores taken as independent. */
bool story_contrast(const story *s, const eb_json *bores, const eb_adjuster *adjuster, double *value, double *doubt);
/* The same of a plan's expected deviations. */
bool story_expected(const story *s, const eb_json *plan, const eb_adjuster *adjuster, double *value);

/* The unit of a verdict's values: a length that was measured cold has one of its own. */
const char *story_unit(const story *s, const story_verdict *verdict);
/* A mean of readings, to hundredths, below 1 to thousandths: finer than any step that is read. */
const char *story_value(const eb_json *value, char text[EB_FORMAT_SIZE]);

/* An answer in words. Returns `text`, of at least EB_FORMAT_SIZE. */
const char *story_answer(const story *s, size_t index, char *text, size_t size);

/* "record 54", or "records 54 and 60" where there are two. Returns `text`. */
const char *story_records(const story_verdict *first, const story_verdict *last, char text[EB_FORMAT_SIZE]);

/* What a reader has to know of the record before all else: that it is torn, or of another program. */
typedef void (*story_sayer)(eb_text *to, const char *line);
void story_warnings(const story *s, story_sayer say, eb_text *to);

/* The way of the job for who has never heard of it: what it is about, how far off it was and is. */
void story_plain(const story *s, eb_text *text);

/* Who made the procedure and how well known that was, as the record has it from the bundle that it came in. */
void story_maker(const story *s, char *text, size_t size);

/* The one sentence, without its full stop; what it leaves out is named. */
void story_sentence(const story *s, eb_text *text);
/* Where it started from what was known of the engine's adjusters: a line; nothing where it did not. */
void story_known(const story *s, eb_text *text);
const char *story_state_words(const story *s);

#endif
