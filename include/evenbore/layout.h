/* Layout: rows of bores and the adjusters that act on them.
 *
 * A layout is a plain value; bores are numbered by index from 0 in the order
 * of the rows (first row front to rear, then the next), and named by their
 * cylinder's number.  Sides are bit masks over those indices. */
#ifndef EVENBORE_LAYOUT_H
#define EVENBORE_LAYOUT_H

#include "evenbore/json.h"
#include "evenbore/status.h"

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

enum {
  EB_BORES_MAX = 24,
  EB_ROWS_MAX = 8,
  EB_ADJUSTERS_MAX = 64,
  EB_ID_SIZE = 32 /* of a bore's name, an adjuster's id or kind, with the NUL */
};

typedef uint32_t eb_bores; /* a set of bores: bit i is bore i */

typedef struct eb_adjuster {
  char id[EB_ID_SIZE];
  char kind[EB_ID_SIZE]; /* "link", "coupler", "screw", "bleed", "plate", or a shop's own word */
  char title[64];        /* words for people: "left coupler"; never empty */
  eb_bores first;        /* the bores that it raises; never empty */
  eb_bores second;       /* the bores that it lowers; empty for a one-sided adjuster */
  double effort_min;     /* minutes of work for one use, the engine's stop not counted */
  bool stopped;          /* the engine must be stopped for it */
  double gain;           /* prior of what it answers over what was wished; 1 unless the shop knows better */
  double gain_spread;    /* standard deviation of that prior; 0.5 by default */
  double known_gain;     /* the same from earlier jobs on this engine, as long as readings do not speak against it */
  double known_spread;   /* and its standard deviation; 0: nothing is known of it */
  double spread;         /* sigma_k: standard deviation of its misadjustment before work, ln; 0.08 by default */
} eb_adjuster;

typedef struct eb_layout {
  int bore_count; /* 1 to EB_BORES_MAX */
  char bore[EB_BORES_MAX][EB_ID_SIZE];
  int row_count;
  int row_size[EB_ROWS_MAX];
  int row_start[EB_ROWS_MAX];              /* index of the row's front bore; its others follow */
  char row_title[EB_ROWS_MAX][EB_ID_SIZE]; /* "left", "right", ...; may be empty */
  int adjuster_count;                      /* 0 to EB_ADJUSTERS_MAX */
  eb_adjuster adjuster[EB_ADJUSTERS_MAX];
  double plate_spread; /* sigma_plate: standard deviation of a bore's own deviation, ln; 0.05 by default */
} eb_layout;

/* Reads a layout as a procedure declares it:
 *   {"rows": [["1","3"],["2","4"]], "row_titles"?: ["left","right"],
 *    "adjusters": [{"id", "kind", "title"?, "sides": [["1","3"],["2","4"]?], "effort"?, "stopped"?,
 *                   "gain"?, "gain_spread"?, "spread"?, "at"?}], "plate_spread"?, "at"?}
 * Bores are strings or whole numbers.  `at` ("v8.lua:14") becomes the error's
 * place for that adjuster, or for all else in the layout; `place` is it without one.
 * EB_BAD_LAYOUT says what was met and what would be right: a bore twice, an
 * empty row or side, a bore that is not there, a bore on both sides, an id
 * twice, a number out of range, too many of anything, an unknown key. */
eb_status eb_layout_read(const eb_json *json, const char *place, eb_layout *layout, eb_error *error);

/* The layout as the line protocol shows it: {"bores", "rows", "row_titles", "adjusters"
 * [{"id","kind","title","sides","effort","stopped"}]}. Owned by the caller; NULL when memory runs out. */
eb_json *eb_layout_json(const eb_layout *layout);

/* Index of a bore or adjuster by name; -1 where there is none. */
int eb_layout_bore(const eb_layout *layout, const char *name);
int eb_layout_adjuster(const eb_layout *layout, const char *id);

/* The bores of one row, 0 to row_count - 1; and those of the whole layout. */
eb_bores eb_layout_row(const eb_layout *layout, int row);
eb_bores eb_layout_bores(const eb_layout *layout);

/* The names of some bores, in the order of the layout: ["1", "3"]. Owned by the caller; NULL when memory runs out. */
eb_json *eb_layout_names(const eb_layout *layout, eb_bores bores);

/* Nominal effect of one unit of an adjuster's move on a bore's ln flow: +1/2
 * on the first side and -1/2 on the second; +1 where there is one side; 0 elsewhere. */
double eb_adjuster_effect(const eb_adjuster *adjuster, int bore);

#ifdef __cplusplus
}
#endif
#endif
