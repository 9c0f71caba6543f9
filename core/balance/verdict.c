#include "evenbore/crossing.h"
#include "evenbore/verdict.h"

#include "contrast.h"

#include <assert.h>
#include <float.h>
#include <math.h>

const char *eb_word_text(eb_word word)
{
  switch (word) {
  case EB_EVEN: return "even";
  case EB_UNEVEN: return "uneven";
  case EB_UNSURE: return "unsure";
  case EB_LEFT_OUT: return "left out";
  }
  return "";
}

const char *eb_level_text(eb_level level)
{
  switch (level) {
  case EB_LEVEL_SIDE: return "side";
  case EB_LEVEL_PAIR: return "pair";
  case EB_LEVEL_BORE: return "bore";
  }
  return "";
}

static bool holds_row(const eb_layout *layout, eb_bores side)
{
  for (int r = 0; r < layout->row_count; r++) {
    eb_bores row = eb_layout_row(layout, r);
    if (layout->row_size[r] > 1 && (side & row) == row)
      return true;
  }
  return false;
}

eb_level eb_adjuster_level(const eb_layout *layout, const eb_adjuster *adjuster)
{
  eb_bores touched = adjuster->first | adjuster->second;
  eb_bores all = eb_layout_bores(layout);
  if ((touched & (touched - 1)) == 0)
    return EB_LEVEL_BORE;
  if (touched == all || holds_row(layout, adjuster->first) || holds_row(layout, adjuster->second))
    return EB_LEVEL_SIDE;
  return EB_LEVEL_PAIR;
}

/* Probability of a standard variable above x, which keeps its digits in the tail. */
static double above(double x, const eb_student *student)
{
  return eb_student_below(student, -x);
}

double eb_conformity_by(const eb_student *student, double low, double high, double estimate, double doubt)
{
  assert(doubt > 0 && low <= high);
  double a = (low - estimate) / doubt, b = (high - estimate) / doubt;
  double inside = a > 0 ? above(a, student) - above(b, student) : above(-b, student) - above(-a, student);
  return fmin(fmax(inside, 0), 1);
}

double eb_conformity(double low, double high, double estimate, double doubt, double degrees_of_freedom)
{
  eb_student student = eb_student_of(degrees_of_freedom);
  return eb_conformity_by(&student, low, high, estimate, doubt);
}

static double within(const eb_student *student, double tolerance, double deviation, double doubt)
{
  return eb_conformity_by(student, log1p(-tolerance), log1p(tolerance), deviation, doubt);
}

typedef struct judged {
  const eb_student *student;
  const double *deviation, *doubt;
  int count;
  double risk;
} judged;

/* Chances of the bores to be outside, added up: not less than the chance that any is [Bonferroni]. */
static double outside(const judged *of, double tolerance)
{
  double sum = 0;
  for (int i = 0; i < of->count; i++)
    sum += 1 - within(of->student, tolerance, of->deviation[i], of->doubt[i]);
  return sum;
}

/* Falls as the tolerance grows; the logarithm is nearly straight. */
static double above_risk(const void *given, double tolerance)
{
  const judged *of = given;
  return log(fmax(outside(of, tolerance), DBL_MIN) / of->risk);
}

static eb_crossing_end look_at(const judged *of, double tolerance)
{
  return (eb_crossing_end){tolerance, above_risk(of, tolerance)};
}

/* What holds the bores with so many doubts about where they are said to be. */
static double reach(const judged *of, double doubts)
{
  double far = 0;
  for (int i = 0; i < of->count; i++)
    far = fmax(far, fabs(of->deviation[i]) + doubts * of->doubt[i]);
  return fmin(far, 1);
}

/* Starts from where the bores are said to be; false: no tolerance below 1 is enough. */
static bool find_ends(const judged *of, eb_crossing *ends)
{
  static const double FEW = 1, MANY = 3;
  ends->below = look_at(of, reach(of, MANY));
  ends->above = look_at(of, reach(of, FEW));
  while (ends->below.f > 0) {
    if (ends->below.x >= 1)
      return false;
    ends->above = ends->below;
    ends->below = look_at(of, fmin(2 * ends->above.x, 1));
  }
  while (ends->above.f <= 0) {
    ends->below = ends->above;
    ends->above = look_at(of, ends->below.x / 2);
  }
  return true;
}

static double claim_of(const judged *of)
{
  static const double GRID = 0x1p-40;
  eb_crossing ends;
  return find_ends(of, &ends) ? GRID * eb_crossing_step(above_risk, of, GRID, ends) : 1;
}

double eb_claim(const double *deviation, const double *doubt, int count, double degrees_of_freedom, double risk)
{
  eb_student student = eb_student_of(degrees_of_freedom);
  return claim_of(&(judged){&student, deviation, doubt, count, risk});
}

static void judge_bore(const eb_verdict *verdict, int count, eb_bore_verdict *bore)
{
  double p = bore->probability;
  bore->word = p >= 1 - verdict->risk / count ? EB_EVEN : p < verdict->risk ? EB_UNEVEN : EB_UNSURE;
}

static void judge_engine(eb_verdict *verdict, int bores)
{
  bool uneven = false;
  double lacks = 0, greatest = -1;
  for (int i = 0; i < bores; i++) {
    const eb_bore_verdict *bore = &verdict->bore[i];
    if (bore->word == EB_LEFT_OUT)
      continue;
    uneven = uneven || bore->word == EB_UNEVEN;
    lacks += 1 - bore->probability;
    double off = fabs(expm1(bore->deviation));
    if (off > greatest + 1e-12) /* among bores that read the same the first, however they were rounded */
      verdict->worst = i;
    greatest = fmax(greatest, off);
  }
  verdict->spread = greatest;
  verdict->probability = fmax(1 - lacks, 0);
  verdict->word = verdict->claim <= verdict->tolerance ? EB_EVEN : uneven ? EB_UNEVEN : EB_UNSURE;
  for (int i = 0; i < bores && verdict->word == EB_EVEN; i++)
    if (verdict->bore[i].word == EB_UNSURE)
      verdict->bore[i].word = EB_EVEN; /* the others leave it that much of the risk */
}

void eb_verdict_make(const eb_layout *layout, eb_bores counted, const double *deviation, const double *covariance,
                     double degrees_of_freedom, double tolerance, double risk, eb_verdict *verdict)
{
  int n = layout->bore_count, count = 0;
  double deviations[EB_BORES_MAX] = {0}, doubts[EB_BORES_MAX] = {0};
  eb_student student = eb_student_of(degrees_of_freedom);
  assert(counted != 0 && tolerance > 0 && tolerance < 1 && risk > 0 && risk < 1);
  *verdict = (eb_verdict){.tolerance = tolerance, .risk = risk, .degrees_of_freedom = degrees_of_freedom};
  for (int i = 0; i < n; i++) {
    eb_bore_verdict *bore = &verdict->bore[i];
    bore->word = EB_LEFT_OUT;
    if (!(counted >> i & 1))
      continue;
    bore->deviation = deviations[count] = deviation[i];
    bore->doubt = doubts[count++] = sqrt(covariance[i * n + i]);
    bore->probability = within(&student, tolerance, bore->deviation, bore->doubt);
    bore->word = EB_UNSURE;
  }
  for (int i = 0; i < n; i++)
    if (verdict->bore[i].word != EB_LEFT_OUT)
      judge_bore(verdict, count, &verdict->bore[i]);
  verdict->claim = claim_of(&(judged){&student, deviations, doubts, count, risk});
  judge_engine(verdict, n);
  verdict->contrast_count = contrasts_find(layout, counted, deviation, covariance, verdict->contrast);
}

static eb_json *bore_json(const eb_bore_verdict *bore)
{
  eb_json *json = eb_json_object();
  bool counts = bore->word != EB_LEFT_OUT;
  if (eb_json_put(json, "value", bore->readings > 0 ? eb_json_from_number(bore->reading) : eb_json_null()) &&
      eb_json_put_number(json, "readings", bore->readings) &&
      eb_json_put(json, "deviation", counts ? eb_json_from_number(expm1(bore->deviation)) : eb_json_null()) &&
      eb_json_put(json, "doubt", counts ? eb_json_from_number(expm1(bore->doubt)) : eb_json_null()) &&
      eb_json_put(json, "probability", counts ? eb_json_from_number(bore->probability) : eb_json_null()) &&
      eb_json_put_string(json, "word", eb_word_text(bore->word)))
    return json;
  eb_json_destroy(json);
  return NULL;
}

static eb_json *contrast_json(const eb_contrast *contrast, const eb_layout *layout)
{
  eb_json *json = eb_json_object();
  if (eb_json_put_string(json, "adjuster", layout->adjuster[contrast->adjuster].id) &&
      eb_json_put_string(json, "level", eb_level_text(contrast->level)) &&
      eb_json_put_number(json, "value", expm1(contrast->value)) &&
      eb_json_put_number(json, "doubt", expm1(contrast->doubt)))
    return json;
  eb_json_destroy(json);
  return NULL;
}

static bool add_parts(const eb_verdict *verdict, const eb_layout *layout, eb_json *bores, eb_json *contrasts)
{
  bool ok = true;
  for (int i = 0; ok && i < layout->bore_count; i++)
    ok = eb_json_set(bores, layout->bore[i], bore_json(&verdict->bore[i]));
  for (int k = 0; ok && k < verdict->contrast_count; k++)
    ok = eb_json_add(contrasts, contrast_json(&verdict->contrast[k], layout));
  return ok;
}

/* JSON has no infinity; Student's t is the normal here to four digits. */
static const double DEGREES_MOST = 1e4;

eb_json *eb_verdict_json(const eb_verdict *verdict, const eb_layout *layout)
{
  eb_json *json = eb_json_object();
  if (eb_json_put_string(json, "word", eb_word_text(verdict->word)) &&
      eb_json_put_number(json, "tolerance", verdict->tolerance) && eb_json_put_number(json, "risk", verdict->risk) &&
      eb_json_put_number(json, "claim", verdict->claim) && eb_json_put_number(json, "spread", verdict->spread) &&
      eb_json_put_string(json, "worst", layout->bore[verdict->worst]) &&
      eb_json_put_number(json, "probability", verdict->probability) &&
      eb_json_put_number(json, "repeatability", verdict->repeatability) &&
      eb_json_put_number(json, "degrees_of_freedom", fmin(verdict->degrees_of_freedom, DEGREES_MOST)) &&
      eb_json_put(json, "bores", eb_json_object()) && eb_json_put(json, "contrasts", eb_json_array()) &&
      add_parts(verdict, layout, eb_json_member(json, "bores"), eb_json_member(json, "contrasts")))
    return json;
  eb_json_destroy(json);
  return NULL;
}
