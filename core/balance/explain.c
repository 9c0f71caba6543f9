#include "evenbore/explain.h"

#include "evidence.h"

#include <math.h>

enum { LEVELS = 3, READINGS_MAX = 512 };

/* The group of each bore at each level: bores that no adjuster of that level, or a larger one, parts. */
typedef struct groups {
  int of[LEVELS][EB_BORES_MAX];
  int count[LEVELS];
} groups;

static bool parts(const eb_layout *layout, eb_level level, int a, int b)
{
  for (int k = 0; k < layout->adjuster_count; k++) {
    const eb_adjuster *adjuster = &layout->adjuster[k];
    if (adjuster->second == 0 || eb_adjuster_level(layout, adjuster) > level)
      continue;
    double one = eb_adjuster_effect(adjuster, a), other = eb_adjuster_effect(adjuster, b);
    if (one < other || one > other)
      return true;
  }
  return false;
}

static groups group(const eb_layout *layout, eb_bores counted)
{
  groups made = {0};
  for (int level = 0; level < LEVELS; level++)
    for (int i = 0; i < layout->bore_count; i++) {
      int same = 0;
      bool bores = level == EB_LEVEL_BORE;
      while (same < i && (!(counted >> same & 1) || bores || parts(layout, (eb_level)level, same, i)))
        same++;
      made.of[level][i] = same == i ? i : made.of[level][same];
      made.count[level] += same == i && counted >> i & 1;
    }
  return made;
}

static double mean_of(const eb_verdict *verdict, eb_bores counted, const groups *g, int level, int bore)
{
  double sum = 0;
  int count = 0;
  for (int i = 0; i < EB_BORES_MAX; i++)
    if (counted >> i & 1 && (level < 0 || g->of[level][i] == g->of[level][bore])) {
      sum += verdict->bore[i].deviation;
      count++;
    }
  return sum / count;
}

/* A level that has as many groups as the one above it parts nothing more. */
static bool is_present(const groups *g, int level)
{
  return g->count[level] > (level == 0 ? 1 : g->count[level - 1] > 1 ? g->count[level - 1] : 1);
}

static double share_squares(const eb_verdict *verdict, eb_bores counted, const groups *g, eb_explanation *made)
{
  double total = 0;
  for (int level = 0; level < LEVELS; level++) {
    double squares = 0;
    for (int i = 0; i < EB_BORES_MAX; i++)
      if (counted >> i & 1) {
        double step = mean_of(verdict, counted, g, level, i) - mean_of(verdict, counted, g, level - 1, i);
        squares += step * step;
      }
    made->level[level].present = is_present(g, level);
    made->level[level].share = squares;
    total += squares;
  }
  return total;
}

/* The readings of the present block with their groups at the levels that are there. */
static eb_status analyse(const eb_evidence *evidence, const groups *g, eb_explanation *made, eb_error *error)
{
  double values[READINGS_MAX];
  int members[READINGS_MAX * LEVELS], levels[LEVELS], count = 0, present = 0;
  for (int level = 0; level < LEVELS; level++)
    if (made->level[level].present)
      levels[present++] = level;
  for (size_t e = evidence_block(evidence, evidence->events); e < evidence->events && count < READINGS_MAX; e++) {
    const event *met = &evidence->event[e];
    if (!evidence_counts(evidence, met))
      continue;
    for (int l = 0; l < present; l++)
      members[count * present + l] = g->of[levels[l]][met->index];
    values[count++] = met->log_value;
  }
  if (count < 2 || present == 0)
    return EB_OK;
  eb_anova found;
  eb_status status = eb_anova_nested(evidence->host, values, members, (size_t)count, present, &found, error);
  for (int l = 0; status == EB_OK && l < present; l++) {
    made->level[levels[l]].tested = found.line[l].tested && isfinite(found.line[l].f);
    made->level[levels[l]].f = found.line[l].f;
    made->level[levels[l]].p = found.line[l].p;
  }
  if (status == EB_OK)
    made->repeats = found.line[present].degrees_of_freedom;
  return status;
}

eb_status eb_evidence_explain(const eb_evidence *evidence, const eb_verdict *verdict, eb_explanation *explanation,
                              eb_error *error)
{
  eb_explanation made = {0};
  eb_bores counted = eb_layout_bores(&evidence->layout) & ~evidence->left_out;
  groups g = group(&evidence->layout, counted);
  double total = counted == 0 ? 0 : share_squares(verdict, counted, &g, &made);
  if (total <= 0)
    return eb_fail(error, EB_UNSOLVABLE, "", "nothing is spread");
  for (int level = 0; level < LEVELS; level++) {
    made.level[level].share /= total;
    if (made.level[level].share > made.level[made.most].share)
      made.most = (eb_level)level;
  }
  eb_status status = analyse(evidence, &g, &made, error);
  if (status == EB_OK)
    *explanation = made;
  return status;
}

static eb_json *test_json(const eb_level_share *level)
{
  eb_json *json = eb_json_object();
  if (eb_json_set_number(json, "f", level->f) && eb_json_set_number(json, "p", level->p))
    return json;
  eb_json_destroy(json);
  return NULL;
}

eb_json *eb_explanation_json(const eb_explanation *explanation)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_string(json, "most", eb_level_text(explanation->most)) &&
              eb_json_set_number(json, "repeats", explanation->repeats) &&
              eb_json_set(json, "shares", eb_json_object()) && eb_json_set(json, "tests", eb_json_object());
  for (int level = 0; made && level < LEVELS; level++) {
    const eb_level_share *met = &explanation->level[level];
    const char *name = eb_level_text((eb_level)level);
    if (met->present)
      made = eb_json_set_number(eb_json_member(json, "shares"), name, met->share);
    if (made && met->tested)
      made = eb_json_set(eb_json_member(json, "tests"), name, test_json(met));
  }
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}
