#include "ranges.h"

#include <math.h>
#include <string.h>

static const double SLACK = 1e-10;  /* by which a range may be missed */
static const double NOTHING = 1e-9; /* a coefficient below it has come from rounding */

enum { EXCHANGES_MAX = 400 }; /* after so many the table is made anew, so that rounding does not add up */

void ranges_begin(ranges *r)
{
  memcpy(r->table, r->start, sizeof r->table);
  for (int c = 0; c < r->columns; c++) {
    r->other[c] = c;
    r->value[c] = 0;
  }
  for (int i = 0; i < r->rows; i++)
    r->basic[i] = r->columns + i;
  r->exchanges = 0;
}

static void work_out_values(ranges *r)
{
  for (int c = 0; c < r->columns; c++) {
    int v = r->other[c];
    r->value[v] = fmin(fmax(r->value[v], r->low[v]), r->high[v]);
  }
  for (int i = 0; i < r->rows; i++) {
    double sum = 0;
    for (int c = 0; c < r->columns; c++)
      sum += r->table[i][c] * r->value[r->other[c]];
    r->value[r->basic[i]] = sum;
  }
}

/* Exchanges the basic variable of a row with the other variable of a column. */
static void exchange(ranges *r, int row, int column)
{
  double *own = r->table[row];
  double pivot = own[column];
  for (int c = 0; c < r->columns; c++)
    own[c] = c == column ? 1 / pivot : -own[c] / pivot;
  for (int i = 0; i < r->rows; i++) {
    double share = r->table[i][column];
    if (i == row || !(share < 0 || share > 0))
      continue;
    r->table[i][column] = 0;
    for (int c = 0; c < r->columns; c++)
      r->table[i][c] += share * own[c];
  }
  int leaves = r->basic[row];
  r->basic[row] = r->other[column];
  r->other[column] = leaves;
  r->exchanges++;
}

/* The variable of lowest number that is outside its range [Bland's rule: no cycles]. */
static int find_outside(const ranges *r)
{
  int row = -1;
  for (int i = 0; i < r->rows; i++) {
    int v = r->basic[i];
    bool outside = r->value[v] < r->low[v] - SLACK || r->value[v] > r->high[v] + SLACK;
    if (outside && (row < 0 || v < r->basic[row]))
      row = i;
  }
  return row;
}

/* The variable of lowest number that can move the row's one up (or down). */
static int find_mover(const ranges *r, int row, bool up)
{
  int column = -1;
  for (int c = 0; c < r->columns; c++) {
    int v = r->other[c];
    double share = up ? r->table[row][c] : -r->table[row][c];
    bool moves = (share > NOTHING && r->value[v] < r->high[v]) || (share < -NOTHING && r->value[v] > r->low[v]);
    if (moves && (column < 0 || v < r->other[column]))
      column = c;
  }
  return column;
}

static void tell_conflict(const ranges *r, int row, bool in_conflict[RANGES_COLUMNS_MAX])
{
  memset(in_conflict, 0, (size_t)r->columns * sizeof *in_conflict);
  for (int c = 0; c < r->columns; c++)
    if (fabs(r->table[row][c]) > NOTHING && r->other[c] < r->columns)
      in_conflict[r->other[c]] = true;
  if (r->basic[row] < r->columns)
    in_conflict[r->basic[row]] = true;
}

bool ranges_solve(ranges *r, bool in_conflict[RANGES_COLUMNS_MAX])
{
  if (r->exchanges > EXCHANGES_MAX)
    ranges_begin(r);
  work_out_values(r);
  for (int row = find_outside(r); row >= 0; row = find_outside(r)) {
    int leaves = r->basic[row];
    bool up = r->value[leaves] < r->low[leaves];
    int column = find_mover(r, row, up);
    if (column < 0) {
      r->contradiction = row;
      tell_conflict(r, row, in_conflict);
      return false;
    }
    r->value[leaves] = up ? r->low[leaves] : r->high[leaves];
    exchange(r, row, column);
    /* The variable that has left stands at its end; the one that has come in follows from it. */
    work_out_values(r);
  }
  return true;
}

double ranges_short_by(const ranges *r)
{
  const double *row = r->table[r->contradiction];
  int v = r->basic[r->contradiction];
  double gap = fmax(r->low[v] - r->value[v], r->value[v] - r->high[v]);
  double gain = v >= r->columns;
  for (int c = 0; c < r->columns; c++)
    if (r->other[c] >= r->columns && fabs(row[c]) > NOTHING)
      gain += fabs(row[c]);
  return gain > 0 ? gap / gain : INFINITY;
}
