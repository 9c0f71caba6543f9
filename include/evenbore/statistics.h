/* Statistics: what repeated readings say, and how sure that is.
 *
 * Arrays hold finite numbers, borrowed for the call.  A probability handed in
 * lies strictly between 0 and 1; a distribution's degrees of freedom are 0.1
 * or more and need not be whole.  Anything else is the caller's mistake. */
#ifndef EVENBORE_STATISTICS_H
#define EVENBORE_STATISTICS_H

#include "evenbore/host.h"
#include "evenbore/status.h"

#include <stdbool.h>
#include <stddef.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct eb_sample {
  double mean;
  double deviation;       /* standard deviation, divisor n - 1; 0 for one value */
  double uncertainty;     /* of the mean, Type A: deviation / sqrt(n) [JCGM 100:2008, 4.2.3] */
  double autocorrelation; /* lag 1, in the order given; 0 where all values are equal */
} eb_sample;

/* `count` >= 1.  Centred sums in two passes, the second corrected for the rounding of the first's mean
 * [Chan, Golub, LeVeque, "Algorithms for computing the sample variance", 1983]. */
eb_sample eb_sample_describe(const double *values, size_t count);

/* A standard deviation or uncertainty and the degrees of freedom behind it. */
typedef struct eb_spread {
  double deviation;          /* >= 0 */
  double degrees_of_freedom; /* >= 0; INFINITY for one that is known */
} eb_spread;

/* The pooled standard deviation, sqrt(sum nu s^2 / sum nu).  A prior belief is one more part: its s0 with weight nu0.
 * Finite degrees of freedom; a part with 0 counts for nothing; deviation 0 where all have 0. */
eb_spread eb_spread_pool(const eb_spread *parts, size_t count);

/* Standard uncertainty of a value known to lie within +-half_width and nothing else,
 * half_width / sqrt(3) [JCGM 100:2008, 4.3.7]; a readable step has half of it for its half_width. */
double eb_uncertainty_rectangle(double half_width);

/* Combined standard uncertainty of uncorrelated inputs [JCGM 100:2008, 5.1.2], each |sensitivity| times its standard
 * uncertainty, and the effective degrees of freedom [Welch-Satterthwaite; JCGM 100:2008, G.4.1].
 * INFINITY where no input with finite degrees of freedom adds anything. */
typedef struct eb_component {
  double sensitivity;
  eb_spread spread;
} eb_component;
eb_spread eb_uncertainty_combine(const eb_component *components, size_t count);

enum { EB_ANOVA_LEVELS_MAX = 3 };

typedef struct eb_anova_line {
  int degrees_of_freedom;
  double sum_squares;
  double mean_square; /* 0 without degrees of freedom */
  bool tested;        /* there is something to compare it with */
  double f;           /* against the next line below that has degrees of freedom; INFINITY where that one is 0 */
  double p;           /* upper tail probability of f; 1 where not tested */
  double component;   /* variance component, balanced tables only, else 0; a negative one is none to be seen */
} eb_anova_line;

/* One line a level, coarsest first, then the residual: line[levels]. */
typedef struct eb_anova {
  int levels;
  bool balanced; /* every cell of a level has as many parts and readings as any other */
  double mean;
  double r2; /* share of the spread that the levels explain; 0 where there is no spread */
  eb_anova_line line[EB_ANOVA_LEVELS_MAX + 1];
} eb_anova;

/* Nested analysis of variance of `count` readings, cells of any size: sums of squares in sequence, each level within
 * the one above.  One level is the one-way analysis.  groups[i * levels + k] is the group of
 * reading i at level k; equal numbers under different parents are different groups.
 * F is against the line below (levels as random effects): exact for a balanced table, an approximation else.
 * 1 <= levels <= EB_ANOVA_LEVELS_MAX, count >= 2.  EB_OUT_OF_MEMORY. */
eb_status eb_anova_nested(const eb_host *host, const double *values, const int *groups, size_t count, int levels,
                          eb_anova *anova, eb_error *error);

typedef struct eb_fit {
  double sum_squares;     /* of the weighted residuals */
  int degrees_of_freedom; /* rows - columns */
  double deviation;       /* residual standard deviation; 0 without degrees of freedom */
} eb_fit;

/* Coefficients x that minimise the sum of w (y - A x)^2, by Householder reflections
 * [Golub, "Numerical methods for solving linear least squares problems", Numerische Mathematik 7 (1965)].  `design` is
 * A, row after row; rows >= columns >= 1; `weights` (> 0: inverse variances) may be NULL for 1. `cofactor`, where not
 * NULL, gets the columns x columns matrix (A'WA)^-1: the covariance of the coefficients once multiplied by the variance
 * of unit weight. EB_UNSOLVABLE where the columns are dependent to working precision; EB_OUT_OF_MEMORY. */
eb_status eb_least_squares(const eb_host *host, const double *design, const double *observed, const double *weights,
                           size_t rows, size_t columns, double *coefficients, double *cofactor, eb_fit *fit,
                           eb_error *error);

/* Probability that the variable is below the value, and the value below which it is with probability p.
 * For an upper tail: eb_normal_below(-z), eb_t_below(-t, nu), eb_f_above.  Student's nu may be INFINITY: the normal. */
double eb_normal_below(double z);
double eb_normal_quantile(double p); /* relative error below 1e-15 [AS 241: Wichura, Applied Statistics 37 (1988)] */
double eb_t_below(double t, double nu);
double eb_t_quantile(double p, double nu);

/* Student's t of one nu (0.1 or more, or INFINITY), asked about many values: what has no part in the value is worked
 * out once.  The same doubles as eb_t_below. */
typedef struct eb_student {
  double nu, rest[2], scale[2]; /* all but nu are its own affair */
} eb_student;
eb_student eb_student_of(double nu);
double eb_student_below(const eb_student *student, double t);

double eb_f_below(double f, double nu1, double nu2); /* f >= 0 */
double eb_f_above(double f, double nu1, double nu2); /* f >= 0, INFINITY allowed */
double eb_f_quantile(double p, double nu1, double nu2);

#ifdef __cplusplus
}
#endif
#endif
