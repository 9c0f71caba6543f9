/* Crossing: where a falling function of one variable passes through zero. */
#ifndef EVENBORE_CROSSING_H
#define EVENBORE_CROSSING_H

#ifdef __cplusplus
extern "C" {
#endif

typedef double eb_falling(const void *given, double x);

typedef struct eb_crossing_end {
  double x, f;
} eb_crossing_end;

/* The function is above zero at the first end, which is the lower one, and not above at the second. */
typedef struct eb_crossing {
  eb_crossing_end above, below;
} eb_crossing;

/* The least k at which the function is not above zero at k * step, step > 0: on such a grid the way to a crossing does
 * not show in its last digits.  `given` is passed on.  By the hybrid of parabolas and halvings [Chandrupatla, Advances
 * in Engineering Software 28 (1997) 145-149; from memory]. */
double eb_crossing_step(eb_falling *f, const void *given, double step, eb_crossing between);

/* What so many halvings from `low` to `high` find, the middle of the last interval, by fewer looks at the function: it
 * need not have a crossing nor fall everywhere; the first halvings are made, and more until they have met both signs.
 */
double eb_crossing_find(eb_falling *f, const void *given, double low, double high, int halvings);

#ifdef __cplusplus
}
#endif
#endif
