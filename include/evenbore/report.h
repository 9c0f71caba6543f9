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
  EB_REPORT_CSV,  /* RFC 4180: CRLF, a header line; one line a reading, move, verdict of a bore */
  EB_REPORT_JSON  /* RFC 8259; the members are listed below */
} eb_report_form;
eb_status eb_report_form_read(const char *word, eb_report_form *form, eb_error *error); /* page, text, csv, json */

typedef struct eb_report_options {
  eb_report_form form;
  bool
      semicolon; /* CSV with semicolons between fields and a comma in numbers, as spreadsheets in many countries want */
} eb_report_options;

/* Writes the report of a session, whatever its state: finished, open, stopped, with a torn tail, or damaged from some
 * record on (what stands before it); it says which.
 *
 * CSV columns: record, time, kind (reading, move, verdict), condition, pass, bore, adjuster, value, unit,
 * deviation_percent, doubt_percent, word, state (holds, taken back).  A field that begins with one of = + - @ tab
 * or carriage return and is no number gets an apostrophe in front, so that no spreadsheet takes it for a formula.
 *
 * JSON members: format "evenbore report", version 1, session {name, begun, ended, state, program, digest, records},
 * procedure {id, version, title, digest}, engine, gauge, tolerance, risk, layout, claim {tolerance, risk, record} or
 * null, outcome, summary, passes [{record, condition, moves_before, spread, claim, bores {name: {value, deviation,
 * doubt, word}}}], moves [{record, adjuster, title, wished, done, amount, contrast_before, contrast_expected,
 * contrast_after, contrast_doubt}], readings [{record, time, bore, pass, condition, value, unit, taken_back}], facts
 * [{record, title, value, unit}], cautions [{record, title, times}], notes [{record, text}].  Relative figures are
 * shares (0.05 is 5 %), contrasts are natural logarithms, times are RFC 3339 with offset.
 *
 * EB_OUT_OF_MEMORY: *text is then empty.  `text` is the caller's, initialised. */
eb_status eb_report_write(const eb_account *account, const eb_report_options *options, eb_text *text, eb_error *error);

#ifdef __cplusplus
}
#endif
#endif
