/* Whether a system of ranges has a solution: low <= x <= high for variables and for sums of them. */
#ifndef EVENBORE_BALANCE_RANGES_H
#define EVENBORE_BALANCE_RANGES_H

#include "evenbore/layout.h"

enum {
  RANGES_COLUMNS_MAX = EB_ADJUSTERS_MAX + 1,
  RANGES_ROWS_MAX = EB_BORES_MAX,
  RANGES_VARIABLES_MAX = RANGES_COLUMNS_MAX + RANGES_ROWS_MAX
};

/* Variables 0 to columns - 1 are free to choose, columns + r is the sum of row r. */
typedef struct ranges {
  int rows, columns;
  double start[RANGES_ROWS_MAX][RANGES_COLUMNS_MAX]; /* the sums as they were given */
  double low[RANGES_VARIABLES_MAX], high[RANGES_VARIABLES_MAX];
  /* Each basic variable as a sum of the others, as it stands after some exchanges. */
  double table[RANGES_ROWS_MAX][RANGES_COLUMNS_MAX];
  int basic[RANGES_ROWS_MAX], other[RANGES_COLUMNS_MAX];
  double value[RANGES_VARIABLES_MAX];
  int exchanges;
  int contradiction; /* the row that cannot come into its range, where a solve found no solution */
} ranges;

/* Fill rows, columns and start, then begin; low and high may be set at any time before a solve. */
void ranges_begin(ranges *r);

/* True: value[] of the columns is a solution.  False: there is none, and in_conflict tells the columns whose
 * ranges, together with the rows', contradict one another: none without one of them being widened. */
bool ranges_solve(ranges *r, bool in_conflict[RANGES_COLUMNS_MAX]);

/* After a solve without a solution: how much farther each sum's range must reach at both its ends, at least, for there
 * to be one; INFINITY: that does not help. */
double ranges_short_by(const ranges *r);

#endif
