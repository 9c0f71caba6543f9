#include "evenbore/text.h"

#include "outlook.h"

#include <math.h>
#include <string.h>

/* "6.2 %", "12 %"; by whole numbers, so that no locale changes the point. */
static void add_percent(eb_text *text, double share)
{
  long tenths = lround(1000 * fabs(share));
  if (tenths >= 100 || tenths % 10 == 0)
    eb_text_printf(text, "%ld %%", (tenths + 5) / 10);
  else
    eb_text_printf(text, "%ld.%ld %%", tenths / 10, tenths % 10);
}

/* A chance is never told as certain. */
static void add_chance(eb_text *text, double probability)
{
  long percent = lround(100 * probability);
  if (percent < 1)
    eb_text_add(text, "under 1 %");
  else if (percent > 99)
    eb_text_add(text, "over 99 %");
  else
    eb_text_printf(text, "%ld %%", percent);
}

static int count_bits(eb_bores set)
{
  int count = 0;
  for (; set != 0; set &= set - 1)
    count++;
  return count;
}

enum { NAMES_MAX = 12, NAMES_SIZE = 48 };

/* "1-3-5-7"; a list that would fill the line is cut: "a-b-c and 5 more". */
static void add_bores(eb_text *text, const eb_layout *layout, eb_bores set, const char *between)
{
  int listed = 0, count = count_bits(set);
  size_t size = 0;
  for (int i = 0; i < layout->bore_count; i++)
    if (set >> i & 1)
      size += strlen(layout->bore[i]) + strlen(between);
  int most = count <= NAMES_MAX && size <= NAMES_SIZE ? count : 3;
  for (int i = 0; i < layout->bore_count && listed < most; i++)
    if (set >> i & 1)
      eb_text_printf(text, "%s%s", listed++ == 0 ? "" : between, layout->bore[i]);
  if (listed < count)
    eb_text_printf(text, " and %d more", count - listed);
}

static const char *group_word(const eb_layout *layout, const eb_adjuster *adjuster, eb_bores side, bool capital)
{
  if (count_bits(side) == 1)
    return capital ? "Bore " : "bore ";
  if (eb_adjuster_level(layout, adjuster) == EB_LEVEL_SIDE)
    return capital ? "Side " : "side ";
  return capital ? "Bores " : "bores ";
}

/* "Side 1-3-5-7 breathes 6 % less than side 2-4-6-8 (doubt 1 %)". */
static void add_contrast(eb_text *text, const eb_layout *layout, const eb_contrast *contrast)
{
  const eb_adjuster *adjuster = &layout->adjuster[contrast->adjuster];
  bool side = eb_adjuster_level(layout, adjuster) == EB_LEVEL_SIDE;
  eb_text_add(text, group_word(layout, adjuster, adjuster->first, true));
  add_bores(text, layout, adjuster->first, "-");
  eb_text_add(text, side || count_bits(adjuster->first) == 1 ? " breathes " : " breathe ");
  add_percent(text, expm1(contrast->value));
  eb_text_add(text, contrast->value < 0 ? " less than " : " more than ");
  if (adjuster->second != 0) {
    eb_text_add(text, group_word(layout, adjuster, adjuster->second, false));
    add_bores(text, layout, adjuster->second, "-");
  } else {
    eb_text_add(text, "the mean");
  }
  eb_text_add(text, " (doubt ");
  add_percent(text, expm1(contrast->doubt));
  eb_text_add(text, ")");
}

/* "Bore 5 is 6.2 % low (doubt 1.4 %)". */
static void add_bore(eb_text *text, const plan_case *given, int bore, bool capital)
{
  const eb_bore_verdict *verdict = &given->verdict->bore[bore];
  eb_text_printf(text, "%s %s is ", capital ? "Bore" : "bore", given->layout->bore[bore]);
  add_percent(text, expm1(verdict->deviation));
  eb_text_add(text, verdict->deviation < 0 ? " low (doubt " : " high (doubt ");
  add_percent(text, expm1(verdict->doubt));
  eb_text_add(text, ")");
}

static const eb_contrast *contrast_of(const eb_verdict *verdict, int adjuster)
{
  for (int k = 0; k < verdict->contrast_count; k++)
    if (verdict->contrast[k].adjuster == adjuster)
      return &verdict->contrast[k];
  return NULL;
}

/* What the moves are against: the widest contrast among those that the moved adjusters are for. */
static void add_uneven(eb_text *text, const plan_case *given, const eb_plan *plan)
{
  const eb_contrast *widest = NULL;
  for (int m = 0; m < plan->move_count; m++) {
    const eb_contrast *contrast = contrast_of(given->verdict, plan->move[m].adjuster);
    if (contrast != NULL && (widest == NULL || fabs(contrast->value) > fabs(widest->value)))
      widest = contrast;
  }
  if (widest == NULL || (widest->level == EB_LEVEL_BORE))
    add_bore(text, given, given->verdict->worst, true);
  else
    add_contrast(text, given->layout, widest);
}

enum { TITLES_MAX = 4 };

/* "the cross link, the left coupler and the plate of bore 3". */
static void add_titles(eb_text *text, const plan_case *given, const eb_move *moves, int count)
{
  int listed = count <= TITLES_MAX ? count : TITLES_MAX - 1;
  for (int m = 0; m < listed; m++) {
    const char *between = m == 0 ? "" : m == count - 1 ? " and " : ", ";
    eb_text_printf(text, "%sthe %s", between, given->layout->adjuster[moves[m].adjuster].title);
  }
  if (listed < count)
    eb_text_printf(text, " and %d more", count - listed);
}

static double moves_effort(const plan_case *given, const eb_plan *plan)
{
  double effort = 0;
  for (int m = 0; m < plan->move_count; m++)
    effort += given->layout->adjuster[plan->move[m].adjuster].effort_min;
  return effort;
}

/* The least effort if every adjuster that may be used answered as wished. */
static eb_status find_least(const plan_case *given, const double *deviation, eb_move *moves, int *count, double *effort)
{
  eb_layout usable = *given->layout;
  int at[EB_ADJUSTERS_MAX] = {0};
  usable.adjuster_count = 0;
  for (int k = 0; k < given->layout->adjuster_count; k++) {
    if (given->options->without >> k & 1)
      continue;
    at[usable.adjuster_count] = k;
    usable.adjuster[usable.adjuster_count++] = given->layout->adjuster[k];
  }
  eb_status status =
      eb_plan_least_effort(given->host, &usable, eb_belief_counted(given->belief), deviation,
                           log1p(given->verdict->tolerance), given->options->least_move, moves, count, effort, NULL);
  for (int m = 0; status == EB_OK && m < *count; m++)
    moves[m].adjuster = at[moves[m].adjuster];
  return status;
}

/* Why these and nothing cheaper: compared with the least effort that would do if every adjuster answered as wished. */
static void add_why(eb_text *text, const plan_case *given, const eb_plan *plan)
{
  double deviation[EB_BORES_MAX], effort = 0;
  eb_move moves[EB_ADJUSTERS_MAX];
  int count = 0;
  for (int i = 0; i < given->layout->bore_count; i++)
    deviation[i] = given->verdict->bore[i].deviation;
  eb_status status = find_least(given, deviation, moves, &count, &effort);
  if (status == EB_OUT_OF_MEMORY)
    text->failed = true;
  if (status == EB_OK && count > 0 && effort < moves_effort(given, plan)) {
    eb_text_add(text, "; ");
    add_titles(text, given, moves, count);
    eb_text_add(text, count == 1 ? " alone would be less work but less sure" : " would be less work but less sure");
  } else if (status == EB_OK && count > 0 && plan->expected_spread <= given->verdict->tolerance) {
    eb_text_add(text, ", nothing cheaper would do");
  } else if (plan->expected_spread > given->verdict->tolerance) {
    eb_text_add(text, ", the most evenness for the work");
  }
}

static void add_forecast(eb_text *text, const plan_case *given, const eb_plan *plan)
{
  eb_text_add(text, "; afterwards the worst bore should be within ");
  add_percent(text, plan->expected_spread);
  eb_text_add(text, " of the mean, and all within ");
  add_percent(text, given->verdict->tolerance);
  eb_text_add(text, " with a chance of ");
  add_chance(text, plan->probability_after);
}

static void tell_move(eb_text *text, const plan_case *given, const move_choice *moving, const eb_plan *plan)
{
  static const char *const by_hand[] = {", sides come first", ", pairs come before single bores",
                                        ", sides and pairs are near enough"};
  add_uneven(text, given, plan);
  eb_text_add(text, ": move ");
  add_titles(text, given, plan->move, plan->move_count);
  if (moving->level >= 0)
    eb_text_add(text, by_hand[moving->level]);
  else if (given->options->one_at_a_time)
    eb_text_add(text, " first, one at a time");
  else
    add_why(text, given, plan);
  add_forecast(text, given, plan);
}

static int doubtful(const plan_case *given, eb_bores set)
{
  int found = -1;
  for (int i = 0; i < given->layout->bore_count; i++)
    if ((set >> i & 1) && (found < 0 || given->verdict->bore[i].probability < given->verdict->bore[found].probability))
      found = i;
  return found;
}

static void add_reading(eb_text *text, const plan_case *given, eb_bores set)
{
  eb_text_add(text, count_bits(set) == 1 ? "bore " : "bores ");
  add_bores(text, given->layout, set, ", ");
}

static void tell_read(eb_text *text, const plan_case *given, const read_choice *reading, const move_choice *moving)
{
  if (reading->missing) {
    eb_text_add(text, "Read ");
    add_reading(text, given, reading->bores);
    eb_text_add(text, ": nothing was read there since the last move or start of the engine");
    return;
  }
  int bore = doubtful(given, reading->bores);
  if (fabs(given->verdict->bore[bore].deviation) < 0.0005) {
    eb_text_printf(text, "Bore %s is right on the mean, though in doubt by ", given->layout->bore[bore]);
    add_percent(text, expm1(given->verdict->bore[bore].doubt));
  } else {
    add_bore(text, given, bore, true);
  }
  if (reading->before_move) {
    eb_text_add(text, ", by one reading: read ");
    add_reading(text, given, reading->bores);
    eb_text_printf(text, " again before %s%s is moved", moving->moves->count == 1 ? "the " : "",
                   moving->moves->count == 1 ? given->layout->adjuster[moving->moves->adjuster[0]].title : "anything");
    return;
  }
  eb_text_add(text, ", which leaves open whether it is within ");
  add_percent(text, given->verdict->tolerance);
  eb_text_add(text, ": read ");
  add_reading(text, given, reading->bores);
  eb_text_add(text, " again; that costs less than a move and settles it with a chance of ");
  add_chance(text, reading->probability);
}

static void add_claim(eb_text *text, const plan_case *given)
{
  eb_text_add(text, "even within ");
  add_percent(text, ceil(1000 * given->verdict->claim) / 1000);
  eb_text_add(text, " at ");
  add_chance(text, 1 - given->verdict->risk);
}

static void tell_done(eb_text *text, const plan_case *given)
{
  eb_bores counted = eb_belief_counted(given->belief);
  eb_bores all = eb_layout_bores(given->layout);
  eb_text_add(text, "All bores");
  if (counted != all) {
    eb_text_add(text, " but ");
    add_bores(text, given->layout, all & ~counted, ", ");
  }
  eb_text_add(text, " are ");
  add_claim(text, given);
  eb_text_add(text, ", which meets the ");
  add_percent(text, given->verdict->tolerance);
  eb_text_add(text, " that was asked for: nothing needs to be moved");
}

static void tell_stop(eb_text *text, const plan_case *given, const move_choice *moving, const eb_plan *plan)
{
  add_bore(text, given, given->verdict->worst, true);
  if (given->attempts >= given->options->attempts_max) {
    eb_text_printf(text, ", and the agreed %d stops with adjustments are used up", given->options->attempts_max);
  } else if (plan_too_far(moving)) {
    eb_text_add(text, ", more than adjusters are for: look for a plate that is shut, a leak, or a cylinder that does "
                      "not fire");
  } else if (!moving->found) {
    eb_text_add(text, ", and no move that is worth making would help");
  } else {
    eb_text_add(text, ", and no moves add enough to the chance that all bores are within ");
    add_percent(text, given->verdict->tolerance);
    eb_text_add(text, " (now ");
    add_chance(text, plan->probability_before);
    eb_text_add(text, ", at best ");
    add_chance(text, moving->after->probability);
    eb_text_add(text, ")");
  }
  if (given->verdict->claim < 1) {
    eb_text_add(text, ": end here, ");
    add_claim(text, given);
  } else {
    eb_text_add(text, ": end here, nothing can be claimed");
  }
}

bool plan_reason(const plan_case *given, const read_choice *reading, const move_choice *moving, eb_plan *plan)
{
  eb_text text;
  eb_text_init(&text, given->host);
  switch (plan->step) {
  case EB_STEP_DONE: tell_done(&text, given); break;
  case EB_STEP_READ: tell_read(&text, given, reading, moving); break;
  case EB_STEP_MOVE: tell_move(&text, given, moving, plan); break;
  case EB_STEP_STOP: tell_stop(&text, given, moving, plan); break;
  }
  eb_text_add(&text, ".");
  bool told = !text.failed;
  size_t size = told ? text.size : 0;
  while (size >= sizeof plan->reason || (size < text.size && (text.bytes[size] & 0xC0) == 0x80))
    size--;
  if (size > 0)
    memcpy(plan->reason, text.bytes, size);
  plan->reason[size] = '\0';
  eb_text_clear(&text);
  return told;
}
