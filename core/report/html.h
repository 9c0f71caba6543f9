/* HTML: text that cannot become markup, and the elements that a page is made of. */
#ifndef EB_REPORT_HTML_H
#define EB_REPORT_HTML_H

#include "evenbore/text.h"

/* What a journal says, as text of an element or of a quoted attribute: the five characters of markup as references,
 * what does not print or changes the direction written out. */
void html_text(eb_text *page, const char *string);
void html_printf(eb_text *page, const char *format, ...) __attribute__((format(printf, 2, 3)));

void html_cell(eb_text *page, const char *string);   /* <td>, escaped */
void html_number(eb_text *page, const char *string); /* the same, set to the right */
void html_record(eb_text *page, size_t record);      /* a cell with a record's number */
/* Opens a table: its caption and the heads of its columns, ended by NULL; a head that begins with ">" is of numbers. */
void html_table(eb_text *page, const char *caption, const char *const *heads);
void html_table_end(eb_text *page);

#endif
