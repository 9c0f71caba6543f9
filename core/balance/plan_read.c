#include "evenbore/statistics.h"

#include "planning.h"

#include <math.h>

/* The greatest deviation at which a bore with this doubt still counts as even; negative: none does. */
static double even_up_to(const plan_case *given, double doubt, double degrees, int counting)
{
  double low = log1p(-given->verdict->tolerance), high = log1p(given->verdict->tolerance);
  double wanted = 1 - given->verdict->risk / counting;
  if (eb_conformity(low, high, 0, doubt, degrees) < wanted)
    return -1;
  double even = 0, not_even = high;
  while (not_even - even > 1e-6) {
    double middle = 0.5 * (even + not_even);
    if (eb_conformity(low, high, middle, doubt, degrees) >= wanted)
      even = middle;
    else
      not_even = middle;
  }
  return even;
}

/* Probability that a bore counts as even once it was read `more` times: its
 * doubt falls from u to u', and its deviation moves by what the readings take away, normal with u^2 - u'^2. */
static double settles(const plan_case *given, const eb_bore_verdict *bore, int more, double degrees, int counting)
{
  double variance = bore->doubt * bore->doubt;
  double reading = given->repeat_variance / more + given->step_variance;
  double later = variance * reading / (variance + reading);
  double limit = even_up_to(given, sqrt(later), degrees, counting);
  if (limit < 0 || later >= variance)
    return 0;
  return eb_conformity(-limit, limit, bore->deviation, sqrt(variance - later), INFINITY);
}

static int count_counting(const plan_case *given)
{
  int count = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    count += given->verdict->bore[i].word != EB_LEFT_OUT;
  return count;
}

/* Bores that count and have no reading: what was true before the last move or start is not assumed. */
static eb_bores find_missing(const plan_case *given)
{
  eb_bores missing = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    if (given->verdict->bore[i].word != EB_LEFT_OUT && given->verdict->bore[i].readings == 0)
      missing |= (eb_bores)1 << i;
  return missing;
}

static int count_more(const plan_case *given, eb_bores *bores)
{
  int more = 0;
  *bores = 0;
  for (int i = 0; i < given->layout->bore_count; i++) {
    const eb_bore_verdict *bore = &given->verdict->bore[i];
    int left = given->options->reads_max - bore->readings;
    if (bore->word != EB_UNSURE || left <= 0)
      continue;
    *bores |= (eb_bores)1 << i;
    more += left;
  }
  return more;
}

read_choice plan_read(const plan_case *given)
{
  read_choice choice = {.bores = find_missing(given), .probability = 1};
  choice.missing = choice.bores != 0;
  if (choice.missing)
    return choice;
  int more = count_more(given, &choice.bores), counting = count_counting(given);
  choice.effort_min = more * given->options->read_effort_min;
  for (int i = 0; i < given->layout->bore_count; i++) {
    const eb_bore_verdict *bore = &given->verdict->bore[i];
    if (bore->word == EB_UNSURE && choice.bores >> i & 1)
      choice.probability *= settles(given, bore, given->options->reads_max - bore->readings,
                                    given->verdict->degrees_of_freedom + more, counting);
    else if (bore->word == EB_UNSURE || bore->word == EB_UNEVEN)
      choice.probability = 0;
  }
  return choice;
}
