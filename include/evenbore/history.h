/* History: several sessions side by side: all of an engine over time, or two of them.
 *
 * Made from journals alone, like a report: text is never markup, the same journals give the same bytes. Gauges' scales
 * differ, and a reading's level with every start; what compares are deviations from the mean, relative, each with its
 * doubt. difference.h says when two differ by more than doubt explains. */
#ifndef EVENBORE_HISTORY_H
#define EVENBORE_HISTORY_H

#include "evenbore/account.h"
#include "evenbore/report.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_history eb_history;

/* `engine`: its name, for people; copied.  `host` must outlive the history. EB_OUT_OF_MEMORY. */
eb_status eb_history_create(const eb_host *host, const char *engine, eb_history **history, eb_error *error);
void eb_history_destroy(eb_history *history); /* NULL is allowed */

/* Adds a session by its name, in any order; nothing of the account is kept.  One that is not over, was stopped, or ends
 * in an unfinished record takes part and is marked; a damaged one is left out.  EB_OUT_OF_MEMORY. */
eb_status eb_history_add(eb_history *history, const char *name, const eb_account *account, eb_error *error);

/* A session that takes no part, and why, in words. EB_OUT_OF_MEMORY. */
eb_status eb_history_leave_out(eb_history *history, const char *name, const char *why, eb_error *error);

/* Writes it in one of the forms of report.h: every session's deviation before and after, its claim, how well the gauge
 * repeated; between each two that follow each other whether the engine, and which adjuster, went off by more than
 * doubt; every bore's course; what was left out.
 *
 * CSV columns: session, begun, state, kind (session, bore, adjuster), name, before_percent, before_doubt_percent,
 * after_percent, after_doubt_percent, since_percent, since_doubt_percent (from the end of the session before to the
 * begin of this one), p, word (beyond doubt, within doubt).  A session's before and after are its greatest deviation;
 * its p is of all bores since the session before.
 *
 * JSON is described by history.schema.json beside this header (JSON Schema, draft 2020-12): format "evenbore history",
 * version 1; sessions, what lies between each two that follow each other, what was left out and why.  As in a report a
 * member's name ends in its unit: _share is relative (0.05 is 5 %), _ln a natural logarithm. */
eb_status eb_history_write(const eb_history *history, const eb_report_options *options, eb_text *text, eb_error *error);

/* Writes two sessions side by side, the one begun first before the other: before and after of each bore, spread, claim,
 * gauge, conditions, adjustments; and whether the engine was off by more than doubt between the end of the first and
 * the begin of the second, and between their ends. EB_MISMATCH where they are not about the same bores, or one has no
 * verdict at idle: the error says which.
 *
 * CSV columns: kind (session, bore), name, first_before_percent, first_before_doubt_percent, and so on for first_after,
 * second_before, second_after, between_percent, between_doubt_percent, between_p, between_word, ends_percent,
 * ends_doubt_percent, ends_p, ends_word.
 * JSON is described by history.schema.json too: format "evenbore comparison", version 1. */
eb_status eb_compare_write(const char *first_name, const eb_account *first, const char *second_name,
                           const eb_account *second, const eb_report_options *options, eb_text *text, eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
