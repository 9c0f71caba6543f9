/* Difference: whether two verdicts differ by more than what readings leave open.
 *
 * Deviations are those from the mean of the bores that count, so that they add up to nothing and go together: with
 * readings of variance w_i behind bore i of n, that of its deviation is w_i (1 - 2/n) + sum w / n^2, from which the w_i
 * follow.  All bores at once are judged by generalised least squares about a common level, Q = sum (d_i - m)^2 / w_i,
 * which is d' C^+ d for the covariance C of the differences [Rao, Linear Statistical Inference and Its Applications,
 * 1973, 4a; from memory]; Q / (n - 1) is held against F with n - 1 and nu degrees of freedom, where nu is the lesser of
 * both verdicts' own: what is known of a gauge beforehand stands behind both, so that they do not add up as those of
 * independent estimates would; simulated jobs have it so (tests/reference/test_difference.c).  One bore, or what one
 * adjuster contributes, is held against Student's t with the same nu, each at an n-th of the risk [Bonferroni]. */
#ifndef EVENBORE_DIFFERENCE_H
#define EVENBORE_DIFFERENCE_H

#include "evenbore/layout.h"

#ifdef __cplusplus
extern "C" {
#endif

/* A value with what it is doubted by, ln. */
typedef struct eb_doubted {
  double value, doubt;       /* doubt > 0 */
  double degrees_of_freedom; /* behind the doubt, 0.1 or more */
} eb_doubted;

typedef struct eb_difference {
  double value, doubt; /* second less first, ln; of all bores: Q / (n - 1), and 0 */
  double degrees_of_freedom;
  double p;    /* how likely as much or more is where nothing differs; of one of several not yet times their number */
  bool beyond; /* more than doubt explains, at the risk */
} eb_difference;

/* One of `several` that are looked at together. */
eb_difference eb_difference_of(eb_doubted first, eb_doubted second, int several, double risk);

/* `count` bores, 2 or more, that count in both verdicts; `bores` gets as many.  The differences are about the mean of
 * these. */
eb_difference eb_difference_of_all(const eb_doubted *first, const eb_doubted *second, int count, double risk,
                                   eb_difference *bores);

#ifdef __cplusplus
}
#endif
#endif
