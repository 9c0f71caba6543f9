/* A session of twenty records as a program would write it, over any host, and the ledger of what was promised. */
#ifndef EB_TESTS_JOURNAL_SAMPLE_H
#define EB_TESTS_JOURNAL_SAMPLE_H

#include "evenbore/journal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SAMPLE_RECORDS = 20, SAMPLE_TRIES = 3 };

/* What the journal said EB_OK to, in order; records are known by their member "n". */
typedef struct sample_ledger {
  int acknowledged; /* records 0 .. acknowledged - 1 */
  int safe;         /* as many of them are covered by a sync */
  bool in_flight;   /* the one behind them was tried and not acknowledged */
  int refused;      /* tries that failed */
  bool misnamed;    /* a sound journal was called damaged, or none */
  bool torn;        /* sample_torn was put behind the last record as by a crash */
  /* Tells a process outside of every acknowledged record; may be NULL. */
  void (*tell)(struct sample_ledger *ledger);
  int told;
} sample_ledger;

static const char sample_torn[] = "{\"kind\":\"answer\",\"n\":99,\"te";

static inline eb_json *sample_record(int n)
{
  eb_json *record = eb_json_object();
  if (!eb_json_set_string(record, "kind",
                          n == 0    ? "open"
                          : n == 12 ? "withdraw"
                                    : "answer") ||
      !eb_json_set_number(record, "n", n) || !eb_json_set_string(record, "text", n % 3 == 0 ? "6,5" : "\xC3\xA9\n")) {
    eb_json_destroy(record);
    return NULL;
  }
  return record;
}

/* Notes need no sync of their own. */
static inline bool sample_synced(int n)
{
  return n != 3 && n != 4 && n != 13 && n != 20;
}

static inline void sample_acknowledge(sample_ledger *ledger, bool synced)
{
  ledger->acknowledged++;
  ledger->in_flight = false;
  if (synced)
    ledger->safe = ledger->acknowledged;
  if (ledger->tell != NULL)
    ledger->tell(ledger);
}

static inline bool sample_create(const eb_host *host, const char *path, sample_ledger *ledger, eb_journal **journal)
{
  ledger->in_flight = true;
  for (int i = 0; i < SAMPLE_TRIES; i++) {
    eb_json *record = sample_record(0);
    eb_status status = record == NULL ? EB_OUT_OF_MEMORY : eb_journal_create(host, path, record, journal, NULL);
    eb_json_destroy(record);
    if (status == EB_OK) {
      sample_acknowledge(ledger, true);
      return true;
    }
    ledger->refused++;
  }
  return false;
}

static inline bool sample_append(eb_journal *journal, int first, int last, sample_ledger *ledger)
{
  for (int n = first; n <= last; n++) {
    eb_status status = EB_IO;
    ledger->in_flight = true;
    for (int i = 0; i < SAMPLE_TRIES && status != EB_OK; i++) {
      eb_json *record = sample_record(n);
      status = record == NULL ? EB_OUT_OF_MEMORY : eb_journal_append(journal, record, sample_synced(n), NULL);
      if (status != EB_OK)
        eb_json_destroy(record);
      ledger->refused += status != EB_OK;
    }
    if (status != EB_OK)
      return false;
    sample_acknowledge(ledger, sample_synced(n));
  }
  return true;
}

static inline bool sample_open(const eb_host *host, const char *path, sample_ledger *ledger, eb_journal **journal)
{
  for (int i = 0; i < SAMPLE_TRIES; i++) {
    eb_recovery recovery;
    eb_status status = eb_journal_open(host, path, journal, &recovery, NULL);
    if (status == EB_OK)
      return true;
    ledger->refused++;
    ledger->misnamed |= status == EB_DAMAGED || status == EB_NOT_JOURNAL || status == EB_TOO_NEW;
  }
  return false;
}

/* Opens it again, so that what was there becomes safe, and goes on. */
static inline bool sample_go_on(const eb_host *host, const char *path, int first, int last, sample_ledger *ledger)
{
  eb_journal *journal = NULL;
  if (!sample_open(host, path, ledger, &journal))
    return false;
  ledger->safe = ledger->acknowledged;
  bool whole = sample_append(journal, first, last, ledger);
  eb_journal_close(journal);
  return whole;
}

/* Three processes: the second takes the session up, the third after a crash that left a torn end. */
static inline void sample_run(const eb_host *host, const char *path, void (*tear)(void *argument), void *argument,
                              sample_ledger *ledger)
{
  eb_journal *journal = NULL;
  if (!sample_create(host, path, ledger, &journal))
    return;
  bool whole = sample_append(journal, 1, 8, ledger);
  eb_journal_close(journal);
  if (!whole || !sample_go_on(host, path, 9, 14, ledger))
    return;
  tear(argument);
  sample_go_on(host, path, 15, SAMPLE_RECORDS, ledger);
}

/* How many of the records 0, 1, 2, ... the journal holds, in order and nothing else but "recovered"; -1: not so. */
static inline int sample_count(const eb_journal *journal, int *recovered)
{
  int n = 0;
  *recovered = 0;
  for (size_t i = 0; i < eb_journal_count(journal); i++) {
    const eb_json *record = eb_journal_record(journal, i);
    if (strcmp(eb_json_get_string(record, "kind", ""), "recovered") == 0)
      ++*recovered;
    else if (eb_json_get_number(record, "n", -1) == n)
      n++;
    else
      return -1;
  }
  return n;
}

#endif
