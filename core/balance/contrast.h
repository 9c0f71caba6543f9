/* Nested contrasts of a set of deviations. */
#ifndef EVENBORE_BALANCE_CONTRAST_H
#define EVENBORE_BALANCE_CONTRAST_H

#include "evenbore/verdict.h"

/* Fills contrast[0..] of the adjusters that touch a counted bore, those that touch more bores first, in the
 * layout's order among equals; returns how many. */
int contrasts_find(const eb_layout *layout, eb_bores counted, const double *deviation, const double *covariance,
                   eb_contrast contrast[EB_ADJUSTERS_MAX]);

#endif
