/* Run: one command being carried out: what it was given, the screen it writes to, and its last word. */
#ifndef EVENBORE_RUN_H
#define EVENBORE_RUN_H

#include "options.h"
#include "page.h"

#include "evenbore/journal.h"
#include "evenbore/json.h"
#include "evenbore/script.h"

/* From EB_EXIT_REFUSED on, one for each reason why something from another shop is not taken, in the order of status.h:
 * 10 not-a-bundle, 11 form, 12 payload, 13 manifest, 14 purpose, 15 signer, 16 signature, 17 untrusted, 18 rollback,
 * 19 revoked, 20 shadows, 21 look-alike, 22 other-maker, 23 version-taken, 24 handed-over, 25 stranger, 26 fingerprint,
 * 27 key-open, 28 passphrase. */
enum { EB_EXIT_DONE = 0, EB_EXIT_FAILED = 1, EB_EXIT_USAGE = 2, EB_EXIT_REFUSED = 10 };

typedef struct eb_run {
  const eb_host *host;
  eb_options options;
  int columns; /* of standard output, from EB_PAGE_COLUMNS_MIN */
  bool utf8, styled;
  eb_runner runner;             /* for the commands that run procedures */
  const eb_script_child *child; /* that it is of */
} eb_run;

/* Looks at standard output and the environment. */
void eb_run_look(eb_run *run);

int eb_run_columns(void); /* of standard output, as it is now */

/* One line on standard error: "evenbore: PLACE: what was met; what would be right"; for what came from another shop and
 * is not taken, "evenbore: PLACE: refused (WORD): why", with the status's word. */
void eb_run_complain(const eb_run *run, const eb_error *error);
void eb_run_remark(const eb_run *run, const char *text); /* "evenbore: text" */

/* Writes a page to standard output and clears it. EB_EXIT_FAILED where that fails or memory ran out. */
int eb_run_print(const eb_run *run, eb_page *page);

/* The value as one line of JSON for a person or a program, and its end; NULL: memory ran out.  As for a text below. */
int eb_run_print_json(const eb_run *run, eb_json *value);

/* Writes text or data to standard output as it is, not laid out for a terminal. A pipe that was closed is no failure.
 */
int eb_run_write(const eb_run *run, const eb_text *text);

/* The exit status for a failure: EB_EXIT_USAGE where what was named is not there; a refusal's own. */
int eb_run_status(eb_status status);

/* Done; EB_EXIT_FAILED with a word where the journal at `path` is damaged and what was shown of it ends before that. */
int eb_run_account_status(const eb_run *run, const char *path, const eb_recovery *recovery);

/* " --data DIR", where it was given, for a command that is shown to be typed; else "". */
const char *eb_run_data(const eb_run *run, char *text, size_t size);

/* The commands. Each returns the exit status. */
int eb_run_help(const eb_run *run);
int eb_run_version(const eb_run *run);
int eb_run_tune(const eb_run *run);
int eb_run_resume(const eb_run *run);
int eb_run_sessions(const eb_run *run);
int eb_run_show(const eb_run *run);
int eb_run_report(const eb_run *run);
int eb_run_history(const eb_run *run);
int eb_run_compare(const eb_run *run);
int eb_run_procedures(const eb_run *run);
int eb_run_engines(const eb_run *run);
int eb_run_engine(const eb_run *run);
int eb_run_gauges(const eb_run *run);
int eb_run_gauge(const eb_run *run);
int eb_run_habits(const eb_run *run);
int eb_run_maker(const eb_run *run);
int eb_run_makers(const eb_run *run);
int eb_run_trust(const eb_run *run);
int eb_run_distrust(const eb_run *run);
int eb_run_add(const eb_run *run);
int eb_run_remove(const eb_run *run);
int eb_run_shelf(const eb_run *run);
int eb_run_rehearse(const eb_run *run);
int eb_run_practice(const eb_run *run);
int eb_run_new(const eb_run *run);
int eb_run_check(const eb_run *run);
int eb_run_manual(const eb_run *run);
int eb_run_pack(const eb_run *run);
int eb_run_inspect(const eb_run *run);

#endif
