#include "needle.h"

#include "evenbore/format.h"

#include <math.h>
#include <string.h>

enum { INDENT = 2, BETWEEN_MIN = 6, BETWEEN_MAX = 20, MARKS_MIN = 3 };

/* A piece of the scale: marks number `first` to `first + between`, each `mark` further. */
typedef struct piece {
  double mark, first;
  int between; /* spaces between marks */
  int columns; /* of each */
} piece;

/* 1, 2 or 5 times a power of ten, and not less. */
static double round_number(double least)
{
  double power = pow(10, floor(log10(least)));
  const double steps[] = {1, 2, 5};
  for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++)
    if (steps[i] * power >= least * (1 - 1e-9))
      return steps[i] * power;
  return 10 * power;
}

/* With some scale on either side, so that the needle is not always in the middle of what is drawn. */
static piece cut(double least, double most, double mark)
{
  static const double BESIDE = 0.3; /* of a mark at least */
  double first = floor(least / mark - BESIDE), last = ceil(most / mark + BESIDE);
  if (least >= 0)
    first = fmax(first, 0);
  for (bool up = true; last - first < MARKS_MIN; up = !up || first <= 0)
    if (up)
      last++;
    else
      first--;
  return (piece){.mark = mark, .first = first, .between = last - first < 1000 ? (int)(last - first) : 1000};
}

static piece fit(double least, double most, double step, int columns)
{
  double mark = round_number(4 * step);
  piece p = cut(least, most, mark);
  for (; p.between > MARKS_MIN && p.between * BETWEEN_MIN > columns; p = cut(least, most, mark))
    mark = round_number(1.5 * mark);
  p.columns = columns / p.between;
  if (p.columns > BETWEEN_MAX)
    p.columns = BETWEEN_MAX;
  return p;
}

static int column_of(const piece *p, double value)
{
  double place = (value / p->mark - p->first) * p->columns;
  return (int)lround(fmin(fmax(place, 0), (double)p->between * p->columns));
}

static void draw_fan(eb_page *page, int from, int to)
{
  const char *left = page->utf8 ? "\u2572" : "\\", *right = page->utf8 ? "\u2571" : "/";
  eb_page_to(page, INDENT + from);
  if (from == to)
    eb_page_put(page, EB_STRONG, page->utf8 ? "\u2502" : "|");
  else
    eb_page_put(page, EB_STRONG, left);
  for (int c = from + 1; c < to; c++)
    eb_page_put(page, EB_STRONG, page->utf8 ? "\u2591" : ":");
  if (from < to)
    eb_page_put(page, EB_STRONG, right);
  eb_page_end(page);
}

static void draw_marks(eb_page *page, const piece *p)
{
  eb_page_to(page, INDENT);
  for (int i = 0; i <= p->between; i++) {
    char number[EB_FORMAT_SIZE];
    int place = INDENT + i * p->columns;
    while (page->column < place)
      eb_page_put(page, EB_PLAIN, page->utf8 ? "\u2500" : "_");
    eb_format_plain((p->first + i) * p->mark, number);
    bool fits = i < p->between ? (int)strlen(number) < p->columns : place + (int)strlen(number) <= page->columns;
    if (page->column == place)
      eb_page_put(page, EB_PLAIN, fits ? number : "'");
  }
  eb_page_end(page);
}

void eb_needle_draw(eb_page *page, double least, double most, double step)
{
  enum { LAST_NUMBER = 6 };
  piece p = fit(least, most, step, page->columns - INDENT - LAST_NUMBER);
  draw_fan(page, column_of(&p, least), column_of(&p, most));
  draw_marks(page, &p);
}

void eb_needle_explain(eb_page *page)
{
  eb_page_say(page, page->utf8 ? "The needle flutters from \u2572 to \u2571; a number's first digit stands at its mark."
                               : "The needle flutters from \\ to /; a number's first digit stands at its mark.");
}
