#include "claims.h"

#include "rehearse.h"
#include "tally.h"

#include "evenbore/format.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { ENGINES = 200, ENGINES_MAX = 100000, JOBS_MAX = 64 };

typedef struct plays {
  eb_rehearsal rehearsal;
  uint64_t engines, seed, jobs;
  const char *faults;
} plays;

static eb_status read_options(const eb_run *run, const eb_bundle_figures *usual, plays *p, eb_error *error)
{
  const eb_options *o = &run->options;
  long processors = sysconf(_SC_NPROCESSORS_ONLN);
  *p = (plays){.engines = usual == NULL ? ENGINES : (uint64_t)usual->engines,
               .seed = usual == NULL ? 1 : (uint64_t)usual->seed,
               .jobs = processors < 1          ? 1
                       : processors > JOBS_MAX ? JOBS_MAX
                                               : (uint64_t)processors,
               .faults = o->faults != NULL ? o->faults
                         : usual == NULL   ? "none"
                                           : usual->faults};
  eb_status status = eb_options_count("--engines", o->engines, 1, ENGINES_MAX, &p->engines, error);
  if (status == EB_OK)
    status = eb_options_count("--seed", o->seed, 0, INT32_MAX, &p->seed, error);
  if (status == EB_OK)
    status = eb_options_count("--jobs", o->jobs, 1, JOBS_MAX, &p->jobs, error);
  if (status == EB_OK)
    status = eb_rehearse_faults(p->faults, &p->rehearsal, error);
  return status;
}

static eb_bundle_figures figures_of(const plays *p, const eb_json *declare, const eb_tally *t)
{
  return (eb_bundle_figures){.program = "evenbore " EB_VERSION,
                             .engines = t->engines,
                             .seed = (int)p->seed,
                             .faults = p->faults,
                             .tolerance = eb_json_get_number(declare, "tolerance", 0.05),
                             .risk = eb_json_get_number(declare, "risk", 0.05),
                             .even = t->ended[EB_REHEARSAL_EVEN],
                             .claimed = t->ended[EB_REHEARSAL_CLAIMED],
                             .stuck = t->ended[EB_REHEARSAL_STUCK],
                             .failed = t->ended[EB_REHEARSAL_FAILED],
                             .claims = t->claims,
                             .wrong = t->wrong,
                             .stops = (int)lround(t->figures[EB_STOPS].median),
                             .readings = (int)lround(t->figures[EB_READINGS].median),
                             .minutes = (int)lround(t->figures[EB_MINUTES].median)};
}

eb_status eb_claims_make(const eb_run *run, const eb_loaded *loaded, const eb_json *declare,
                         const eb_bundle_figures *usual, eb_bundle_figures *figures, eb_error *error)
{
  plays p;
  int played = 0;
  eb_tally tally;
  const eb_host *host = run->host;
  eb_status status = read_options(run, usual, &p, error);
  if (status != EB_OK)
    return status;
  p.rehearsal.host = host;
  p.rehearsal.runner = &run->runner;
  p.rehearsal.loaded = loaded;
  p.rehearsal.cells = loaded->borrows ? NULL : run->child;
  eb_rehearsed *results = host->allocate(host->context, NULL, p.engines * sizeof *results);
  double *scratch = host->allocate(host->context, NULL, p.engines * sizeof *scratch);
  if (results == NULL || scratch == NULL)
    status = eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
  else
    status = eb_rehearsal_crowd(&p.rehearsal, p.seed, (int)p.engines, (int)p.jobs, run->options.quiet, results, &played,
                                error);
  if (status == EB_OK && played < (int)p.engines)
    status = eb_fail(error, EB_ENDED, "", "stopped after %d of %d engines: nothing is claimed of so few", played,
                     (int)p.engines);
  if (status == EB_OK) {
    eb_tally_make(results, (int)p.engines, scratch, &tally);
    *figures = figures_of(&p, declare, &tally);
  }
  host->allocate(host->context, results, 0);
  host->allocate(host->context, scratch, 0);
  return status;
}

enum { WORDS = 30, COLUMN = 18 };

static void say_row(eb_page *page, const char *what, const char *first, const char *second)
{
  bool differ = second != NULL && what[0] != '\0' && strcmp(first, second) != 0;
  eb_page_put(page, EB_PLAIN, differ ? "! " : "  ");
  eb_page_cell(page, EB_PLAIN, what, WORDS);
  eb_page_cell(page, EB_PLAIN, first, -COLUMN);
  if (second != NULL)
    eb_page_cell(page, EB_PLAIN, second, -COLUMN);
  eb_page_end(page);
}

static void say_count(eb_page *page, const char *what, int first, const int *second)
{
  char texts[2][16];
  snprintf(texts[0], sizeof texts[0], "%d", first);
  if (second != NULL)
    snprintf(texts[1], sizeof texts[1], "%d", *second);
  say_row(page, what, texts[0], second == NULL ? NULL : texts[1]);
}

void eb_claims_say(eb_page *page, const char *head, const eb_bundle_figures *f, const char *other_head,
                   const eb_bundle_figures *other)
{
  const struct {
    const char *what;
    size_t offset;
  } rows[] = {{"engines", offsetof(eb_bundle_figures, engines)},
              {"ended even", offsetof(eb_bundle_figures, even)},
              {"ended with a wider claim", offsetof(eb_bundle_figures, claimed)},
              {"stuck", offsetof(eb_bundle_figures, stuck)},
              {"failed", offsetof(eb_bundle_figures, failed)},
              {"claims made", offsetof(eb_bundle_figures, claims)},
              {"claims that do not hold", offsetof(eb_bundle_figures, wrong)},
              {"stops of a job, median", offsetof(eb_bundle_figures, stops)},
              {"readings, median", offsetof(eb_bundle_figures, readings)},
              {"minutes, median", offsetof(eb_bundle_figures, minutes)}};
  char tolerance[EB_FORMAT_SIZE], risk[EB_FORMAT_SIZE];
  eb_page_sayf(page, "Wanted: even within %s at a risk of %s; faults: %s; first engine: %d.",
               eb_format_percent(f->tolerance, false, tolerance), eb_format_percent(f->risk, false, risk), f->faults,
               f->seed);
  say_row(page, "", head, other == NULL ? NULL : other_head);
  say_row(page, "program", f->program, other == NULL ? NULL : other->program);
  for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
    const int *first = (const int *)((const char *)f + rows[i].offset);
    say_count(page, rows[i].what, *first, other == NULL ? NULL : (const int *)((const char *)other + rows[i].offset));
  }
}
