/* What moves are likely to do. */
#ifndef EVENBORE_BALANCE_OUTLOOK_H
#define EVENBORE_BALANCE_OUTLOOK_H

#include "planning.h"

/* The counted bores' deviations and the adjusters' gains, ready for many what-ifs.  Bores are packed: 0 to
 * bores - 1 are those that count, bore[] are their indices in the layout.  Everything is about the deviations
 * from their mean. */
typedef struct outlook {
  int bores, adjusters;
  int bore[EB_BORES_MAX];
  double low, high; /* ln of the tolerance's ends */
  double deviation[EB_BORES_MAX];
  double covariance[EB_BORES_MAX][EB_BORES_MAX];
  double gain[EB_ADJUSTERS_MAX];                       /* inside its bounds */
  double gain_covariance[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX]; /* with the least spread kept */
  double with_gain[EB_ADJUSTERS_MAX][EB_BORES_MAX];    /* covariance of gain and deviation */
  double effect[EB_ADJUSTERS_MAX][EB_BORES_MAX];       /* of one unit of a move */
  double shift[EB_ADJUSTERS_MAX][EB_BORES_MAX];        /* of one unit of the common shift of what it touches */
  bool touched[EB_ADJUSTERS_MAX][EB_BORES_MAX];
  eb_priors priors;
} outlook;

/* A set of adjusters with moves. */
typedef struct move_set {
  int count;
  int adjuster[EB_ADJUSTERS_MAX];
  double move[EB_ADJUSTERS_MAX];
} move_set;

/* Deviations after a set of moves. */
typedef struct forecast {
  double deviation[EB_BORES_MAX];
  double covariance[EB_BORES_MAX][EB_BORES_MAX];
  double probability; /* that all are within the tolerance */
} forecast;

void outlook_take(const plan_case *given, double *work, outlook *view); /* work: (bores + adjusters)^2 elements */

/* Deviation and covariance after the moves. `fixed` false: without the parts of a move's doubt that do not shrink with it. */
void outlook_forecast(const outlook *view, const move_set *moves, bool fixed, forecast *after);
void outlook_probability(const outlook *view, forecast *after); /* sets after->probability */

/* Moves of the set's adjusters that leave the least expected square of the weighted deviations; weights NULL: 1. */
void outlook_moves(const outlook *view, const double *weights, move_set *moves);

double outlook_spread(const double *deviation, int bores); /* greatest |exp(deviation) - 1| */

#endif
