/* Report: what is left of a job: a page for the customer, figures for anyone.
 *
 * Made from a session's journal alone: no procedure is run or needed, and what
 * a journal says is text, never markup.  The same journal gives the same
 * bytes.  Every number names the record that it comes from. */
#ifndef EVENBORE_REPORT_H
#define EVENBORE_REPORT_H

#include "evenbore/account.h"
#include "evenbore/text.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum eb_report_form {
  EB_REPORT_PAGE, /* HTML5 with inline SVG in one file: no script, nothing from outside */
  EB_REPORT_TEXT, /* UTF-8, lines of 80 columns at most where words allow */
  EB_REPORT_CSV,  /* RFC 4180: CRLF, a header line; one line a reading, move, fact, verdict of a bore */
  EB_REPORT_JSON  /* RFC 8259, by report.schema.json */
} eb_report_form;
eb_status eb_report_form_read(const char *word, eb_report_form *form, eb_error *error); /* page, text, csv, json */

typedef struct eb_report_options {
  eb_report_form form;
  /* CSV with semicolons between fields and a comma in numbers, as spreadsheets in many countries want. */
  bool semicolon;
  const char *program; /* that makes the report; a journal of another one is told to be that.  NULL: not told */
} eb_report_options;

/* Writes the report of a session, whatever its state: finished, open, stopped, with a torn tail, or damaged from some
 * record on (what stands before it); it says which.
 *
 * CSV columns: record, time (RFC 3339 with offset), kind (reading, move, verdict, fact), condition, pass, bore,
 * adjuster, value, unit (of the value), deviation_percent (of a move: the wished change), doubt_percent (standard
 * uncertainty), word (of a bore; of a move "done" or why not; of a fact what was asked), state (holds, taken back).
 * A field that begins with one of = + - @ and is no number gets an apostrophe in front, so that no spreadsheet takes it
 * for a formula; control characters are written out.
 *
 * JSON is described by report.schema.json beside this header (JSON Schema, draft 2020-12): format "evenbore report",
 * version 1.  A member's name ends in its unit: _share is relative (0.05 is 5 %), _ln a natural logarithm; a value
 * whose unit is the gauge's or the shop's has `unit` beside it.  Times are RFC 3339 with offset.
 *
 * EB_OUT_OF_MEMORY: *text is then empty.  `text` is the caller's, initialised. */
eb_status eb_report_write(const eb_account *account, const eb_report_options *options, eb_text *text, eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
