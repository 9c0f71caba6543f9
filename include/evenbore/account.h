/* Account: a session's journal read for showing, with what was taken back told from what holds. */
#ifndef EVENBORE_ACCOUNT_H
#define EVENBORE_ACCOUNT_H

#include "evenbore/journal.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_account {
  const eb_host *host;
  eb_journal *journal;
  eb_recovery recovery;
  size_t count;
  size_t *taken_back_by; /* for each record the number (from 1) of the record that took it back; 0: it holds */
} eb_account;

/* The statuses of eb_journal_read; a damaged journal is EB_OK with what stands before the damage. */
eb_status eb_account_read(const eb_host *host, const char *path, eb_account *account, eb_error *error);
void eb_account_clear(eb_account *account);

const eb_json *eb_account_record(const eb_account *account, size_t index);
bool eb_account_is(const eb_account *account, size_t index, const char *kind);

/* The layout in force at the end, as declared or as told last, in the form of the line protocol; NULL: none, or memory
 * ran out. Owned by the caller. */
eb_json *eb_account_layout(const eb_account *account);

/* The last reading of every bore since the engine was last started, by bore, for eb_chart_layout.
 * Owned by the caller; NULL when memory runs out. */
eb_json *eb_account_readings(const eb_account *account);

/* What was chosen, as an option of a `choose` ask reads; the value itself where it is no
 * option's id. Borrowed. */
const char *eb_account_option(const eb_json *ask, const eb_json *value);

/* What the first record of a practice says: the engine was a simulated one, so that it is no record of any.  Its words
 * in `text`, else NULL. */
enum { EB_ACCOUNT_PRACTICE_SIZE = 96 };
const char *eb_account_practice(const eb_json *open, char text[EB_ACCOUNT_PRACTICE_SIZE]);

/* The `end` record; NULL while the session is not over. */
const eb_json *eb_account_end(const eb_account *account);

#ifdef __cplusplus
}
#endif
#endif
