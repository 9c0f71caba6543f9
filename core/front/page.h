/* Page: text made ready for a screen of fixed-width cells.
 *
 * Whatever is put on a page is made safe first, spelled in ASCII where the screen knows no better,
 * and wrapped by the columns that it takes.  A page holds what was put on it until it is cleared. */
#ifndef EVENBORE_PAGE_H
#define EVENBORE_PAGE_H

#include "evenbore/text.h"

enum { EB_PAGE_COLUMNS_MIN = 40, EB_PAGE_COLUMNS_MAX = 80 };

typedef struct eb_page {
  eb_text text;
  int columns; /* EB_PAGE_COLUMNS_MIN to EB_PAGE_COLUMNS_MAX */
  bool utf8;   /* else everything is spelled in ASCII */
  bool styled; /* escape codes are allowed */
  bool blank;  /* the last line was empty, or there is none yet */
  int column;  /* where the line that is being put together stands */
} eb_page;

/* Nothing is said by style alone. */
typedef enum eb_style { EB_PLAIN, EB_STRONG, EB_ALARM, EB_GOOD } eb_style;

void eb_page_init(eb_page *page, const eb_host *host, int columns, bool utf8, bool styled);
void eb_page_clear(eb_page *page);            /* frees */
void eb_page_fit(eb_page *page, int columns); /* from the next line on; any number, brought into the page's limits */

/* Paragraphs, one a line of `text`: the first line begins with `first`, every other with `rest`, both trusted ASCII. */
void eb_page_paragraph(eb_page *page, eb_style style, const char *first, const char *rest, const char *text);
void eb_page_say(eb_page *page, const char *text); /* a plain paragraph without indent */
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
void
eb_page_sayf(eb_page *page, const char *format, ...);

/* A line put together from pieces, and its end. */
void eb_page_put(eb_page *page, eb_style style, const char *text);
void eb_page_to(eb_page *page, int column); /* fills with spaces; nothing where the line is there already */
/* Exactly `width` columns: cut or filled; a negative width stands to the right. */
void eb_page_cell(eb_page *page, eb_style style, const char *text, int width);
void eb_page_end(eb_page *page);   /* ends the line, without spaces at its end */
void eb_page_blank(eb_page *page); /* an empty line, unless the last one was */

/* Columns that the text takes on this page. */
int eb_page_columns(const eb_page *page, const char *text);

#endif
