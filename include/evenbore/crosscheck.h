/* Cross-check: air against heat and mixture, so that a fuel or spark fault is never mended with an air screw.
 *
 * How it tells them apart: a cylinder's heat in the exhaust and its mixture follow from air and fuel together.
 * Where the air is even, a port that is colder or hotter than the others has another cause than air.  Where the air is
 * not even, heat and mixture that go the same way (less air, less heat, richer: the fuel of all is alike) are explained
 * by it.
 *
 * An outlier must not hide itself: ports are held against the median and the median absolute deviation, by the modified
 * z-score 0.6745 (x - median) / MAD, an outlier beyond 3.5 [Iglewicz and Hoaglin, How to Detect and Handle
 * Outliers, 1993; NIST/SEMATECH e-Handbook, 1.3.5.17].  A port that is off by less than 40 K, or a mixture by less than
 * 3 %, is taken for even (common practice, no source). */
#ifndef EVENBORE_CROSSCHECK_H
#define EVENBORE_CROSSCHECK_H

#include "evenbore/verdict.h"

#ifdef __cplusplus
extern "C" {
#endif

typedef enum eb_cross {
  EB_CROSS_AGREE,        /* nothing speaks against the air */
  EB_CROSS_COLD_BORE,    /* fuel or spark: cold, and its air is not low */
  EB_CROSS_HOT_BORE,     /* fuel or spark: hot, and its air is not high */
  EB_CROSS_COLD_SIDE,    /* fuel or spark: a row's ports are colder than the others' and its air is not lower */
  EB_CROSS_LEAN_SIDE,    /* fuel: one sensor shows leaner than the air explains */
  EB_CROSS_AIR_EXPLAINS, /* off in heat or mixture as its air is: even the air, look again */
  EB_CROSS_AIR_ALONE,  /* uneven air and even heat: the fuel was trimmed to it, or the gauge saw what the engine did not
                        */
  EB_CROSS_ONE_SENSOR, /* one sensor, even air: it speaks for all bores */
  EB_CROSS_ONE_SENSOR_WAITS /* one sensor, air not even: it speaks for its own bores alone */
} eb_cross;
const char *eb_cross_text(eb_cross word); /* "agree", "cold-bore", ... */
bool eb_cross_is_fuel(eb_cross word);     /* no adjuster of air is to be turned for it */

typedef struct eb_sensor {
  eb_bores behind; /* the bores whose exhaust it is in; never empty */
  double mixture;  /* lambda, or air over fuel: all sensors alike; > 0 */
} eb_sensor;

typedef struct eb_crosscheck {
  const eb_layout *layout;
  const eb_verdict *air; /* at idle */
  eb_bores ports;        /* that were measured */
  double heat_k[EB_BORES_MAX];
  double heat_doubt_k; /* of one measured port; > 0 */
  int sensors;
  eb_sensor sensor[EB_ROWS_MAX];
  double mixture_doubt; /* of one sensor, relative; > 0 */
} eb_crosscheck;

typedef struct eb_crossing {
  eb_cross word;
  eb_bores bores;
  double size;  /* K of heat, from the others; ln of mixture, above 0 for leaner; ln of air; 0 where it has none */
  double score; /* the modified z-score, or the size over its doubt */
} eb_crossing;

enum { EB_CROSSINGS_MAX = EB_BORES_MAX + EB_ROWS_MAX + 2 };

/* What there is to say, fuel first; at least one.  Fewer than three ports say nothing.  Returns how many. */
int eb_crosscheck_judge(const eb_crosscheck *given, eb_crossing found[EB_CROSSINGS_MAX]);

#ifdef __cplusplus
}
#endif
#endif
