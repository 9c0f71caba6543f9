/* Engines played in a cell: rehearsal, session and procedure in one locked-in process. */
#include "rehearsal.h"

#include "evenbore/text.h"

#include <math.h>
#include <string.h>

enum {
  MEMORY = 64 << 20, /* some two hundred times what a job of 300 prompts takes */
  LINES_MAX = EB_PROCEDURE_SOURCE_MAX + 2,
  MUCH = 1000000000 /* more than any job's minutes, prompts or shares can come to */
};

/* What a cell answers; it was made where a stranger's procedure ran. */
typedef struct played {
  eb_status status;
  eb_rehearsed result;
  unsigned char asked[LINES_MAX / 8 + 1]; /* a bit a line */
} played;

/* What every engine begins with, in the cell's memory. */
typedef struct beginning {
  eb_rehearsal rehearsal;
  eb_rehearsal_begun *begun;
} beginning;

/* NULL: no engine can be played here. */
static void *begin(void *context, const eb_host *host, const eb_runner *runner)
{
  const eb_rehearsal *given = context;
  beginning *b = host->allocate(host->context, NULL, sizeof *b);
  atomic_uchar *asked = host->allocate(host->context, NULL, (given->lines + 1) * sizeof *asked);
  if (b == NULL || asked == NULL)
    return NULL;
  *b = (beginning){.rehearsal = *given};
  b->rehearsal.host = host;
  b->rehearsal.runner = runner;
  b->rehearsal.asked = asked;
  for (size_t i = 0; i < given->lines; i++)
    atomic_init(&asked[i], 0);
  return eb_rehearsal_begin(&b->rehearsal, &b->begun, NULL) == EB_OK ? b : NULL;
}

static void answer(void *begun, const eb_host *host, const eb_runner *runner, const void *question, void *told)
{
  (void)host, (void)runner;
  played *p = told;
  beginning *b = begun;
  uint64_t seed;
  memcpy(&seed, question, sizeof seed);
  p->status = b == NULL ? EB_OUT_OF_MEMORY : eb_rehearsal_finish(b->begun, seed, &p->result, NULL);
  for (size_t i = 0; b != NULL && i < b->rehearsal.lines; i++)
    if (atomic_load(&b->rehearsal.asked[i]) != 0)
      p->asked[i / 8] |= (unsigned char)(1U << i % 8);
}

static bool is_text(const char *text, size_t room)
{
  size_t size = strnlen(text, room), length;
  for (size_t at = 0; at < size; at += length) {
    uint32_t c;
    length = eb_utf8_decode(text + at, size - at, &c);
    if (length == 0 || eb_char_unprintable(c))
      return false;
  }
  return size < room;
}

static bool are_numbers(const double *numbers, size_t count)
{
  for (size_t i = 0; i < count; i++)
    if (!(fabs(numbers[i]) <= MUCH))
      return false;
  return true;
}

static bool are_counts(const int *counts, size_t count)
{
  for (size_t i = 0; i < count; i++)
    if (counts[i] < 0 || counts[i] > MUCH)
      return false;
  return true;
}

/* A byte that is neither 0 nor 1 is no bool, and must not be read as one. */
static bool is_bool(const bool *flag)
{
  unsigned char byte;
  memcpy(&byte, flag, 1);
  return byte <= 1;
}

bool eb_rehearsed_is_whole(const eb_rehearsed *r)
{
  const eb_bay_work *w = &r->work;
  const double numbers[] = {r->tolerance, r->claim, r->spread, r->began, r->all, w->minutes};
  const int counts[] = {w->prompts, w->readings, w->stops, w->moves, w->plates, w->slips, w->forgotten, w->refused};
  return r->end < EB_REHEARSAL_ENDS && is_text(r->place, sizeof r->place) && is_text(r->why, sizeof r->why) &&
         is_bool(&r->claims) && is_bool(&r->measured) && is_bool(&r->named) &&
         are_numbers(numbers, sizeof numbers / sizeof numbers[0]) && are_numbers(w->minutes_of, EB_BAY_MINUTES) &&
         are_counts(counts, sizeof counts / sizeof counts[0]);
}

static bool open_cell(eb_rehearsal_cell *in)
{
  eb_script_cell_work work = {.name = in->rehearsal.loaded->source.name,
                              .memory = MEMORY,
                              .question_size = sizeof(uint64_t),
                              .answer_size = sizeof(played),
                              .begin = begin,
                              .answer = answer,
                              .context = &in->rehearsal};
  if (in->cell == NULL && eb_script_cell_open(in->rehearsal.cells, &work, &in->cell, NULL) != EB_OK)
    in->rehearsal.cells = NULL; /* nor will the next one open */
  return in->cell != NULL;
}

void eb_rehearsal_cell_close(eb_rehearsal_cell *in)
{
  eb_script_cell_close(in->cell);
  in->cell = NULL;
}

bool eb_rehearsal_in_cell(eb_rehearsal_cell *in, uint64_t seed, eb_rehearsed *result)
{
  played p;
  const eb_rehearsal *r = &in->rehearsal;
  if (r->cells == NULL || r->look_on != NULL || r->answer != NULL || r->lines > LINES_MAX || !open_cell(in))
    return false;
  if (eb_script_cell_ask(in->cell, &seed, &p, NULL) != EB_OK) {
    eb_rehearsal_cell_close(in);
    return false;
  }
  if (p.status != EB_OK || p.result.seed != seed || !eb_rehearsed_is_whole(&p.result))
    return false;
  for (size_t i = 0; i < r->lines && r->asked != NULL; i++)
    if ((p.asked[i / 8] >> i % 8 & 1) != 0)
      atomic_store(&r->asked[i], 1);
  *result = p.result;
  return true;
}
