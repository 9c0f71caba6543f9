/* Drawing: rows of bores and what joins them, in words on a command line. */
#ifndef EVENBORE_DRAWING_H
#define EVENBORE_DRAWING_H

#include "evenbore/layout.h"
#include "evenbore/text.h"

typedef struct eb_drawn_part {
  char id[EB_ID_SIZE], kind[EB_ID_SIZE];
  eb_bores first, second; /* by the drawing's bores; second 0: none */
} eb_drawn_part;

typedef struct eb_drawing {
  int bore_count;
  char bore[EB_BORES_MAX][EB_ID_SIZE];
  int row_count, row_start[EB_ROWS_MAX], row_size[EB_ROWS_MAX];
  char row_title[EB_ROWS_MAX][EB_ID_SIZE]; /* "" where none was given */
  int part_count;
  eb_drawn_part part[EB_ADJUSTERS_MAX];
} eb_drawing;

/* "left 1 3 5 7 / right 2 4 6 8".  A word without a digit in front of a row is its name.  An error's message points at
 * the character: it counts characters from 1 and has <here> in front of it in the text. EB_BAD_VALUE. */
eb_status eb_drawing_rows(const char *text, eb_drawing *drawing, eb_error *error);

/* "4 + 4" or "6": how many bores in each row, to be numbered. *counts has EB_ROWS_MAX elements; false where the text is
 * no such thing. */
bool eb_drawing_counts(const char *text, int *counts, int *rows);

/* "link left | right; coupler 1 3 | 5 7; plate each", behind the rows; `each` becomes a part for every bore, and all
 * parts have ids of their own. EB_BAD_VALUE as above. */
eb_status eb_drawing_parts(const char *text, eb_drawing *drawing, eb_error *error);

/* The whole procedure. */
void eb_drawing_write(const eb_drawing *drawing, const char *id, const char *title, const char *numbering,
                      eb_text *text);

#endif
