/* Reads the tables of published values in tests/reference/data: lines that
 * start with '#' tell the source, then one row of column names, then rows of
 * cells between commas.  A table that cannot be read fails the test. */
#ifndef REFERENCE_TABLE_H
#define REFERENCE_TABLE_H

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TABLE_COLUMNS_MAX = 32 };

typedef struct table {
  const char *name;
  char *text;
  int columns;
  int rows;
  char *title[TABLE_COLUMNS_MAX];
  char **cell; /* rows x columns */
} table;

/* Cuts a line at its commas. */
static inline int table_cut(char *line, char *cells[TABLE_COLUMNS_MAX])
{
  int count = 0;
  char *next = line;
  while (next != NULL && count < TABLE_COLUMNS_MAX) {
    cells[count++] = next;
    next = strchr(next, ',');
    if (next != NULL)
      *next++ = '\0';
  }
  return count;
}

static inline void table_add_row(table *t, char *line)
{
  char *cells[TABLE_COLUMNS_MAX];
  int count = table_cut(line, cells);
  if (t->columns == 0) {
    t->columns = count;
    memcpy(t->title, cells, sizeof cells);
    return;
  }
  if (count != t->columns)
    fail_msg("%s: row %d has %d cells, not %d", t->name, t->rows + 1, count, t->columns);
  size_t columns = (size_t)t->columns;
  t->cell = realloc(t->cell, ((size_t)t->rows + 1) * columns * sizeof *t->cell);
  assert_non_null(t->cell);
  memcpy(t->cell + (size_t)t->rows * columns, cells, columns * sizeof *cells);
  t->rows++;
}

static inline table table_read(const char *name)
{
  table t = {.name = name};
  char path[1024];
  snprintf(path, sizeof path, "%s/reference/data/%s", EB_TESTS_FOLDER, name);
  FILE *file = fopen(path, "rb");
  if (file == NULL)
    fail_msg("%s cannot be read", path);
  enum { SIZE_MAX_HERE = 1 << 20 };
  t.text = calloc(1, SIZE_MAX_HERE);
  assert_non_null(t.text);
  size_t size = fread(t.text, 1, SIZE_MAX_HERE - 1, file);
  fclose(file);
  assert_true(size > 0 && size < SIZE_MAX_HERE - 1);
  for (char *line = t.text; line != NULL && *line != '\0';) {
    char *next = strchr(line, '\n');
    if (next != NULL)
      *next++ = '\0';
    if (line[0] != '#' && line[0] != '\0')
      table_add_row(&t, line);
    line = next;
  }
  assert_true(t.rows > 0);
  return t;
}

static inline void table_clear(table *t)
{
  free(t->cell);
  free(t->text);
}

static inline const char *table_text(const table *t, int row, const char *column)
{
  for (int i = 0; i < t->columns; i++)
    if (strcmp(t->title[i], column) == 0 && row >= 0 && row < t->rows)
      return t->cell[row * t->columns + i];
  fail_msg("%s has no cell in row %d, column %s", t->name, row + 1, column);
  return "";
}

/* "inf" is infinity; an empty cell is NAN. */
static inline double table_number(const table *t, int row, const char *column)
{
  const char *text = table_text(t, row, column);
  if (*text == '\0')
    return NAN;
  char *end = NULL;
  double number = strtod(text, &end);
  if (*end != '\0')
    fail_msg("%s: row %d, column %s: \"%s\" is no number", t->name, row + 1, column, text);
  return number;
}

/* A column as an array of t->rows numbers, ended with free(). */
static inline double *table_column(const table *t, const char *column)
{
  double *numbers = malloc((size_t)t->rows * sizeof *numbers);
  assert_non_null(numbers);
  for (int i = 0; i < t->rows; i++)
    numbers[i] = table_number(t, i, column);
  return numbers;
}

/* Fails unless `got` is within `relative` of `want`; where `want` is 0, within `relative` itself. */
static inline void assert_near(const char *what, double got, double want, double relative)
{
  double scale = want < 0 ? -want : want;
  if (!(fabs(got - want) <= relative * (scale > 0 ? scale : 1)))
    fail_msg("%s is %.17g, not %.17g: off by %.2g, allowed %.2g", what, got, want,
             fabs(got - want) / (scale > 0 ? scale : 1), relative);
}

/* Fails unless `got` rounds to the published text: half a unit of its last place. */
static inline void assert_rounds_to(const char *what, double got, const char *published)
{
  const char *point = strchr(published, '.');
  double unit = pow(10, point == NULL ? 0 : -(double)strlen(point + 1));
  double want = strtod(published, NULL);
  if (!(fabs(got - want) <= 0.5 * unit * (1 + 1e-9)))
    fail_msg("%s is %.17g; published %s", what, got, published);
}

/* Fails unless at least `digits` significant digits agree with a certified value, as NIST StRD counts them. */
static inline void assert_digits(const char *what, double got, double want, double digits)
{
  double error = fabs(got - want) / fabs(want);
  double right = error > 0 ? -log10(error) : 16;
  if (!(right >= digits))
    fail_msg("%s is %.17g, certified %.17g: %.1f digits, wanted %.1f", what, got, want, right, digits);
}

#endif
