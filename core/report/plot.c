#include "plot.h"

#include "html.h"

#include "evenbore/format.h"

#include <math.h>

enum {
  WIDTH = 720,
  HEIGHT = 250,
  LEFT = 64,
  RIGHT = 16,
  TOP = 34,
  BOTTOM = 46,
  LANE = 44,
  LABELS_MAX = 18,
  LEGEND_STEP = 190
};

static int x_of(size_t place, size_t count)
{
  return LEFT + (int)lround((WIDTH - LEFT - RIGHT) * ((double)place + 0.5) / (double)count);
}

static void open_figure(eb_text *page, const char *id, const char *title, const char *description, int height)
{
  eb_text_printf(page,
                 "<svg role=\"img\" aria-labelledby=\"%s-title %s-desc\" viewBox=\"0 0 %d %d\" "
                 "xmlns=\"http://www.w3.org/2000/svg\"><title id=\"%s-title\">",
                 id, id, (int)WIDTH, height, id);
  html_text(page, title);
  eb_text_printf(page, "</title><desc id=\"%s-desc\">", id);
  html_text(page, description);
  eb_text_add(page, "</desc>\n");
}

static void draw_mark(eb_text *page, plot_mark mark, int x, int y)
{
  switch (mark) {
  case PLOT_RING: eb_text_printf(page, "<circle class=\"unsure\" cx=\"%d\" cy=\"%d\" r=\"5\"/>", x, y); break;
  case PLOT_DOT: eb_text_printf(page, "<circle class=\"at\" cx=\"%d\" cy=\"%d\" r=\"4\"/>", x, y); break;
  case PLOT_SQUARE:
    eb_text_printf(page, "<rect class=\"claimed\" x=\"%d\" y=\"%d\" width=\"7\" height=\"7\"/>", x - 3, y - 3);
    break;
  }
}

/* The numbers of the sessions, as many as there is room for. */
static void draw_numbers(eb_text *page, size_t count, int y)
{
  size_t step = (count + LABELS_MAX - 1) / LABELS_MAX;
  for (size_t i = 0; i < count; i += step)
    eb_text_printf(page, "<text class=\"mid\" x=\"%d\" y=\"%d\">%zu</text>", x_of(i, count), y, i + 1);
  eb_text_printf(page, "<text class=\"mid\" x=\"%d\" y=\"%d\">sessions, by number</text>\n",
                 LEFT + (WIDTH - LEFT - RIGHT) / 2, y + 20);
}

static double find_top(const plot_series *series, size_t series_count, size_t count)
{
  static const double tops[] = {0.02, 0.04, 0.1, 0.2, 0.4}; /* a quarter of each is a round number of percent */
  double most = 0;
  for (size_t s = 0; s < series_count; s++)
    for (size_t i = 0; i < count; i++)
      most = fmax(most, series[s].value[i]);
  for (size_t i = 0; i < sizeof tops / sizeof tops[0]; i++)
    if (most <= tops[i])
      return tops[i];
  return 1;
}

static int y_of(double share, double top)
{
  return HEIGHT - BOTTOM - (int)lround((HEIGHT - TOP - BOTTOM) * fmin(fmax(share / top, 0), 1));
}

static void draw_scale(eb_text *page, double top)
{
  for (int i = 0; i <= 4; i++) {
    char number[EB_FORMAT_SIZE];
    double share = top * i / 4;
    int y = y_of(share, top);
    eb_text_printf(page, "<path class=\"grid\" d=\"M%d %dH%d\"/><text class=\"end\" x=\"%d\" y=\"%d\">%s</text>",
                   (int)LEFT, y, WIDTH - RIGHT, LEFT - 6, y + 4, eb_format_percent(share, false, number));
  }
}

static void draw_series(eb_text *page, const plot_series *series, size_t count, double top)
{
  bool begun = false;
  eb_text_add(page, "<path class=\"grid\" d=\"");
  for (size_t i = 0; i < count; i++) {
    if (isnan(series->value[i]))
      continue;
    eb_text_printf(page, "%c%d %d", begun ? 'L' : 'M', x_of(i, count), y_of(series->value[i], top));
    begun = true;
  }
  eb_text_add(page, begun ? "\"/>\n" : "M0 0\"/>\n");
  for (size_t i = 0; i < count; i++)
    if (!isnan(series->value[i]))
      draw_mark(page, series->mark, x_of(i, count), y_of(series->value[i], top));
}

void plot_write(eb_text *page, const char *id, const char *title, const char *description, const plot_series *series,
                size_t series_count, size_t count)
{
  double top = find_top(series, series_count, count);
  open_figure(page, id, title, description, HEIGHT);
  draw_scale(page, top);
  for (size_t s = 0; s < series_count; s++) {
    draw_series(page, &series[s], count, top);
    int x = LEFT + 6 + (int)s * LEGEND_STEP;
    draw_mark(page, series[s].mark, x, 14);
    eb_text_printf(page, "<text x=\"%d\" y=\"18\">", x + 12);
    html_text(page, series[s].name);
    eb_text_add(page, "</text>\n");
  }
  draw_numbers(page, count, HEIGHT - BOTTOM + 18);
  eb_text_add(page, "</svg>\n");
}

static double widest(const plot_lanes *plot)
{
  double most = plot->wanted;
  for (size_t i = 0; i < plot->lanes * plot->count; i++)
    most = fmax(most, fmax(fabs(plot->before[i]), fabs(plot->after[i])));
  return most;
}

static void draw_lane(eb_text *page, const plot_lanes *plot, size_t lane, double most)
{
  int middle = TOP + LANE / 2 + (int)lane * LANE;
  double scale = (LANE / 2.0 - 5) / most;
  int band = (int)lround(plot->wanted * scale);
  eb_text_printf(page, "<rect class=\"band\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>", (int)LEFT, middle - band,
                 WIDTH - LEFT - RIGHT, 2 * band);
  eb_text_printf(page, "<path class=\"lane\" d=\"M%d %dH%d\"/><text class=\"end\" x=\"%d\" y=\"%d\">", (int)LEFT,
                 middle, WIDTH - RIGHT, LEFT - 6, middle + 4);
  html_text(page, plot->name[lane]);
  eb_text_add(page, "</text>\n");
  for (size_t i = 0; i < plot->count; i++) {
    double before = plot->before[lane * plot->count + i], after = plot->after[lane * plot->count + i];
    int x = x_of(i, plot->count);
    if (!isnan(before))
      draw_mark(page, PLOT_RING, x - 3, middle - (int)lround(before * scale));
    if (!isnan(after))
      draw_mark(page, PLOT_DOT, x + 3, middle - (int)lround(after * scale));
  }
}

void plot_write_lanes(eb_text *page, const char *id, const char *title, const char *description, const plot_lanes *plot)
{
  char number[EB_FORMAT_SIZE];
  int bottom = TOP + LANE * (int)plot->lanes;
  double most = widest(plot);
  open_figure(page, id, title, description, bottom + BOTTOM);
  for (size_t lane = 0; lane < plot->lanes; lane++)
    draw_lane(page, plot, lane, most);
  draw_mark(page, PLOT_RING, LEFT + 6, 14);
  eb_text_printf(page, "<text x=\"%d\" y=\"18\">before</text>", LEFT + 18);
  draw_mark(page, PLOT_DOT, LEFT + 106, 14);
  eb_text_printf(
      page,
      "<text x=\"%d\" y=\"18\">after</text><text x=\"%d\" y=\"18\">band: wanted; more air stands higher; half a "
      "lane is %s</text>\n",
      LEFT + 118, LEFT + 186, eb_format_percent(most, false, number));
  draw_numbers(page, plot->count, bottom + 18);
  eb_text_add(page, "</svg>\n");
}
