/* Plot: values over sessions in their order, as inline SVG in the manner of the report's own figures. */
#ifndef EB_REPORT_PLOT_H
#define EB_REPORT_PLOT_H

#include "evenbore/text.h"

#include <stddef.h>

/* A mark tells a series apart on paper without colour too. */
typedef enum plot_mark { PLOT_RING, PLOT_DOT, PLOT_SQUARE } plot_mark;

typedef struct plot_series {
  const char *name;
  plot_mark mark;
  const double *value; /* shares, one a session; NAN: none */
} plot_series;

/* `id` makes ids, `title` and `description` are for whoever does not see it. */
void plot_write(eb_text *page, const char *id, const char *title, const char *description, const plot_series *series,
                size_t series_count, size_t count);

/* A lane for each name: before (ring) and after (dot), shares, with the zero line and the wanted band. `before` and
 * `after` have `count` values for each lane. */
typedef struct plot_lanes {
  const char *const *name;
  size_t lanes, count;
  const double *before, *after;
  double wanted;
} plot_lanes;
void plot_write_lanes(eb_text *page, const char *id, const char *title, const char *description,
                      const plot_lanes *plot);

#endif
