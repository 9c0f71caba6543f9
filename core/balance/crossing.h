/* Where a falling function crosses zero. */
#ifndef EVENBORE_BALANCE_CROSSING_H
#define EVENBORE_BALANCE_CROSSING_H

typedef double falling(const void *given, double x);

typedef struct crossing_end {
  double x, f;
} crossing_end;

/* The function is above zero at the first end, and not above at the second. */
typedef struct crossing {
  crossing_end above, below;
} crossing;

/* The least k at which the function is not above zero at k * step: on such a grid the way to a crossing does not show
 * in its last digits. */
double crossing_step(falling *f, const void *given, double step, crossing between);

#endif
