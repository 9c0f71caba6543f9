/* What moves are likely to do. */
#ifndef EVENBORE_BALANCE_OUTLOOK_H
#define EVENBORE_BALANCE_OUTLOOK_H

#include "planning.h"

/* The counted bores' deviations and the adjusters' gains, ready for many what-ifs.  Bores are packed: 0 to
 * bores - 1 are those that count, bore[] are their indices in the layout.  Everything is about the deviations
 * from their mean. */
typedef struct outlook {
  int bores, adjusters;
  uint64_t usable; /* bit k: adjuster k may be used */
  int bore[EB_BORES_MAX];
  double low, high;      /* ln of the tolerance's ends */
  double shown_up_to;    /* a measured deviation, ln, up to which a bore can be shown to be within them once it was read
                            as often as is allowed; the tolerance itself where the gauge cannot show that at all */
  double shown_variance; /* variance of such a measured deviation about the true one */
  double deviation[EB_BORES_MAX];
  double covariance[EB_BORES_MAX][EB_BORES_MAX];
  double gain[EB_ADJUSTERS_MAX];                              /* inside its bounds */
  double gain_covariance[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX]; /* with the least spread kept */
  double with_gain[EB_ADJUSTERS_MAX][EB_BORES_MAX];           /* covariance of gain and deviation */
  double own_effect[EB_ADJUSTERS_MAX][EB_BORES_MAX];          /* of one unit of a move on the bores themselves, */
  double effect[EB_ADJUSTERS_MAX][EB_BORES_MAX];              /* and on their deviations */
  double shift[EB_ADJUSTERS_MAX]
              [EB_BORES_MAX]; /* on the deviations, of one unit of the common shift of what it touches */
  int touched_count[EB_ADJUSTERS_MAX], touched[EB_ADJUSTERS_MAX][EB_BORES_MAX];
  double normal[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX], right[EB_ADJUSTERS_MAX]; /* of the least squares; lower half */
  eb_priors priors;
  /* For what is left to do after a plan. */
  double effort_min[EB_ADJUSTERS_MAX], round_min;   /* of an adjuster; of stopping and measuring once more */
  int own[EB_BORES_MAX];                            /* the cheapest adjuster of that bore alone; -1: there is none */
  int group_count, group[EB_ADJUSTERS_MAX];         /* adjusters of several bores */
  double group_off[EB_ADJUSTERS_MAX][EB_BORES_MAX]; /* what each of those is off by, of the deviations */
  double again_least[EB_ADJUSTERS_MAX]
                    [2]; /* chance that it is used again for what can just be shown; once it was used */
  double left[EB_BORES_MAX][EB_BORES_MAX]; /* what no group's move takes away, of the deviations */
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
  double shown;       /* that they can then be shown to be */
} forecast;

/* What is believed now, which is enough for a forecast without moves, and the rest of it.  Sets and then takes
 * `joint`, (bores + adjusters)^2 elements. */
void outlook_take(const plan_case *given, double *joint, outlook *view);
void outlook_prepare(const plan_case *given, const double *joint, outlook *view);

void outlook_forecast(const outlook *view, const move_set *moves, forecast *after); /* deviation and covariance */
void outlook_probability(const outlook *view, forecast *after);                     /* sets after->probability */
/* Sets after->shown; where that is less than `least`, to anything up to `least` that is no less. */
void outlook_shown(const outlook *view, forecast *after, double least);

/* Moves of the set's adjusters that leave the least expected square of the deviations.  With one adjuster and
 * nothing else in doubt that is m = -e g / (g^2 + v): a gain that is not known damps the move by itself. */
void outlook_moves(const outlook *view, move_set *moves);

/* Solves the symmetric positive definite system, of which the lower half is given, in place by Cholesky's method. */
void outlook_solve(double matrix[EB_ADJUSTERS_MAX][EB_ADJUSTERS_MAX], double *right, int count);

/* Fills what outlook_rest needs; the rest of the outlook is taken. */
void rest_take(const plan_case *given, outlook *view);

/* The work that is likely to be left after the moves, minutes, weighed, and after->shown; where the work turns out to
 * be at least `most`, INFINITY without the latter. */
double outlook_rest(const outlook *view, const move_set *moves, forecast *after, double most);

/* Sets those moves with their forecast, deviation and covariance; false where one would be smaller than least_move. */
bool outlook_try(const outlook *view, double least_move, move_set *moves, forecast *after);

double outlook_spread(const double *deviation, int bores); /* greatest |exp(deviation) - 1| */

#endif
