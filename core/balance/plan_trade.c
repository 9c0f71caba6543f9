#include "outlook.h"

#include <math.h>

/* What is off by less than this share of the tolerance is left alone, as by hand. This project's own figure. */
static const double WORTH_SHARE = 0.5;

/* How far off what an adjuster is for is: its contrast, or for a single bore the deviation that the gauge shows. */
static double how_far(const plan_case *given, const eb_contrast *contrast)
{
  const eb_adjuster *adjuster = &given->layout->adjuster[contrast->adjuster];
  if (contrast->level != EB_LEVEL_BORE)
    return contrast->value;
  for (int i = 0; i < given->layout->bore_count; i++)
    if (adjuster->first >> i & 1)
      return given->verdict->bore[i].word == EB_EVEN ? 0 : given->verdict->bore[i].deviation;
  return 0;
}

static const eb_contrast *furthest(const plan_case *given, eb_level level, double *far)
{
  const eb_contrast *found = NULL;
  *far = 0;
  for (int k = 0; k < given->verdict->contrast_count; k++) {
    const eb_contrast *contrast = &given->verdict->contrast[k];
    if (contrast->level != level || given->options->without >> contrast->adjuster & 1)
      continue;
    double distance = how_far(given, contrast);
    if (found != NULL && fabs(distance) <= fabs(*far) + 1e-9) /* among equals the layout's first */
      continue;
    found = contrast;
    *far = distance;
  }
  return found;
}

/* Largest group first: sides, then pairs, then bores, one adjuster a stop, the
 * whole of what is read off, as far as the adjuster answers (common practice, no source). */
void plan_trade(const plan_case *given, const outlook *view, move_choice *choice)
{
  static const eb_level levels[] = {EB_LEVEL_SIDE, EB_LEVEL_PAIR, EB_LEVEL_BORE};
  double least = fmax(WORTH_SHARE * given->verdict->tolerance, given->options->least_move);
  choice->found = false;
  for (int l = 0; l < 3 && !choice->found; l++) {
    double far;
    const eb_contrast *contrast = furthest(given, levels[l], &far);
    if (contrast == NULL || fabs(far) < least)
      continue;
    const eb_adjuster *adjuster = &given->layout->adjuster[contrast->adjuster];
    *choice->moves =
        (move_set){.count = 1, .adjuster = {contrast->adjuster}, .move = {-far / view->gain[contrast->adjuster]}};
    choice->found = true;
    choice->level = (int)levels[l];
    choice->effort_min = plan_base_effort(given, adjuster->stopped) + adjuster->effort_min;
    outlook_forecast(view, choice->moves, choice->after);
    outlook_probability(view, choice->after);
    outlook_shown(view, choice->after, 0);
  }
}
