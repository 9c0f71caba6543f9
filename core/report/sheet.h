/* Sheet: lines of separated values that a spreadsheet reads. */
#ifndef EB_REPORT_SHEET_H
#define EB_REPORT_SHEET_H

#include "evenbore/text.h"

/* RFC 4180; or, with semicolons, what spreadsheets in many countries want: a comma in numbers. */
typedef struct sheet {
  eb_text *text;
  bool semicolon;
  int fields; /* of the line so far */
} sheet;

/* Quoted where RFC 4180 wants it; guarded where a spreadsheet would take it for a formula; control characters, which it
 * has no room for, written out. */
void sheet_field(sheet *out, const char *string);
/* Plain digits with a point.  Never guarded: its sign is not the begin of a formula. */
void sheet_number(sheet *out, const char *number);
void sheet_percent(sheet *out, bool known, double share); /* with two decimals; empty where it is not known */
void sheet_end(sheet *out);                               /* of the line */

#endif
