#include "evenbore/statistics.h"

#include <assert.h>
#include <limits.h>
#include <math.h>

/* A reading as its difference from the mean of all: sums of squares of these
 * lose no digits to a large common level. */
typedef struct reading {
  double value;
  int cell; /* index into the cells of the level at hand */
} reading;

typedef struct cell {
  int parent; /* index into the cells of the level above */
  int group;
  int count;
  double mean;
} cell;

typedef struct work {
  const eb_host *host;
  reading *readings;
  int count;
  cell *cells; /* of the level at hand */
  cell *above; /* of the level before it */
  int cell_count;
} work;

static void clear_work(work *w)
{
  w->host->allocate(w->host->context, w->readings, 0);
  w->host->allocate(w->host->context, w->cells, 0);
  w->host->allocate(w->host->context, w->above, 0);
}

static bool init_work(work *w, const eb_host *host, const double *values, size_t count, double mean)
{
  *w = (work){.host = host, .count = (int)count};
  w->readings = host->allocate(host->context, NULL, count * sizeof *w->readings);
  w->cells = host->allocate(host->context, NULL, count * sizeof *w->cells);
  w->above = host->allocate(host->context, NULL, count * sizeof *w->above);
  if (w->readings == NULL || w->cells == NULL || w->above == NULL) {
    clear_work(w);
    return false;
  }
  for (size_t i = 0; i < count; i++)
    w->readings[i] = (reading){.value = values[i] - mean};
  return true;
}

/* The mean of each cell, kept right as it grows. */
static void take_means(work *w)
{
  for (int i = 0; i < w->count; i++) {
    cell *c = &w->cells[w->readings[i].cell];
    c->count++;
    c->mean += (w->readings[i].value - c->mean) / c->count;
  }
}

/* The whole as one cell, from which the levels branch. */
static void begin(work *w)
{
  w->cells[0] = (cell){0};
  w->cell_count = 1;
  take_means(w);
}

/* The cell of a group under its parent; a new one where there is none yet. */
static int cell_of(work *w, int parent, int group)
{
  for (int i = 0; i < w->cell_count; i++)
    if (w->cells[i].parent == parent && w->cells[i].group == group)
      return i;
  w->cells[w->cell_count] = (cell){.parent = parent, .group = group};
  return w->cell_count++;
}

/* Goes down one level; `groups` holds this level's groups, one every `stride`. */
static void descend(work *w, const int *groups, int stride)
{
  cell *spare = w->above;
  w->above = w->cells;
  w->cells = spare;
  w->cell_count = 0;
  for (int i = 0; i < w->count; i++)
    w->readings[i].cell = cell_of(w, w->readings[i].cell, groups[(size_t)i * (size_t)stride]);
  take_means(w);
}

static double squares_between(const work *w)
{
  double sum = 0;
  for (int i = 0; i < w->cell_count; i++) {
    double d = w->cells[i].mean - w->above[w->cells[i].parent].mean;
    sum += w->cells[i].count * d * d;
  }
  return sum;
}

static double squares_within(const work *w)
{
  double sum = 0;
  for (int i = 0; i < w->count; i++) {
    double d = w->readings[i].value - w->cells[w->readings[i].cell].mean;
    sum += d * d;
  }
  return sum;
}

static bool equal_cells(const work *w)
{
  for (int i = 1; i < w->cell_count; i++)
    if (w->cells[i].count != w->cells[0].count)
      return false;
  return true;
}

static void test_line(eb_anova_line *line, const eb_anova_line *end)
{
  line->p = 1;
  const eb_anova_line *below = line + 1;
  while (below < end && below->degrees_of_freedom == 0)
    below++;
  if (below >= end || line->degrees_of_freedom == 0)
    return;
  line->tested = true;
  if (line->mean_square > 0)
    line->f = below->mean_square > 0 ? line->mean_square / below->mean_square : INFINITY;
  line->p = eb_f_above(line->f, line->degrees_of_freedom, below->degrees_of_freedom);
  line->component = line->mean_square - below->mean_square;
}

/* `sizes`: readings in a cell of each level, where the table is balanced. */
static void fill_lines(eb_anova *made, const int *sizes)
{
  double explained = 0;
  double total = 0;
  eb_anova_line *end = made->line + made->levels + 1;
  for (eb_anova_line *line = made->line; line < end; line++) {
    if (line->degrees_of_freedom > 0)
      line->mean_square = line->sum_squares / line->degrees_of_freedom;
    explained = total;
    total += line->sum_squares;
  }
  made->r2 = total > 0 ? explained / total : 0;
  for (int k = 0; k <= made->levels; k++) {
    eb_anova_line *line = &made->line[k];
    test_line(line, end);
    if (k == made->levels)
      line->component = line->mean_square;
    else
      line->component /= sizes[k];
    if (!made->balanced)
      line->component = 0;
  }
}

eb_status eb_anova_nested(const eb_host *host, const double *values, const int *groups, size_t count, int levels,
                          eb_anova *anova, eb_error *error)
{
  assert(count >= 2 && count <= INT_MAX && levels >= 1 && levels <= EB_ANOVA_LEVELS_MAX);
  eb_anova made = {.levels = levels, .balanced = true, .mean = eb_sample_describe(values, count).mean};
  work w;
  if (!init_work(&w, host, values, count, made.mean))
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory for an analysis of %zu readings", count);
  int sizes[EB_ANOVA_LEVELS_MAX];
  begin(&w);
  for (int k = 0; k < levels; k++) {
    int parents = w.cell_count;
    descend(&w, groups + k, levels);
    made.line[k].degrees_of_freedom = w.cell_count - parents;
    made.line[k].sum_squares = squares_between(&w);
    made.balanced = made.balanced && equal_cells(&w);
    sizes[k] = w.cells[0].count;
  }
  made.line[levels].degrees_of_freedom = w.count - w.cell_count;
  made.line[levels].sum_squares = squares_within(&w);
  clear_work(&w);
  fill_lines(&made, sizes);
  *anova = made;
  return EB_OK;
}
