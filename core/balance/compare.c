#include "evenbore/compare.h"
#include "evenbore/statistics.h"

#include "contrast.h"
#include "evidence.h"
#include "finding_search.h"

#include <math.h>

/* What the last readings of one condition say by themselves. */
typedef struct side {
  eb_bores read;
  double degrees;
  double deviation[EB_BORES_MAX];
  double covariance[EB_BORES_MAX * EB_BORES_MAX];
} side;

static eb_status find_block(const eb_evidence *evidence, size_t *from, size_t *to, eb_error *error)
{
  size_t last = evidence->events;
  while (last > 0 && !evidence_counts(evidence, &evidence->event[last - 1]))
    last--;
  if (last == 0)
    return eb_fail(error, EB_UNSOLVABLE, "", "no bore was read in one of the two conditions");
  for (size_t e = last; e < evidence->events; e++)
    if (evidence->event[e].kind == EVENT_MOVE)
      return eb_fail(error, EB_UNSOLVABLE, "", "an adjuster was moved since the last pass; go round once more first");
  *from = evidence_block(evidence, last);
  *to = last;
  return EB_OK;
}

/* A prior as wide as this is none. */
static eb_layout without_priors(const eb_layout *layout)
{
  static const double WIDE = 10;
  eb_layout wide = *layout;
  wide.adjuster_count = 0;
  wide.plate_spread = WIDE;
  return wide;
}

static eb_status read_side(const eb_evidence *evidence, eb_bores compared, side *made, eb_error *error)
{
  size_t from = 0, to = 0;
  walk alone;
  eb_layout wide = without_priors(&evidence->layout);
  eb_status status = find_block(evidence, &from, &to, error);
  if (status != EB_OK)
    return status;
  made->read = 0;
  for (size_t e = from; e < to; e++)
    if (evidence_counts(evidence, &evidence->event[e]))
      made->read |= (eb_bores)1 << evidence->event[e].index;
  if (compared == 0)
    return EB_OK; /* only what was read is wanted yet */
  noise found = evidence_noise(evidence);
  made->degrees = found.degrees_of_freedom;
  status = walk_begin(evidence, &wide, from, &alone, error);
  if (status != EB_OK)
    return status;
  walk_on(evidence, &found, to, &alone);
  for (int i = 0; i < evidence->layout.bore_count; i++)
    if (!(compared >> i & 1))
      eb_belief_leave_out(alone.belief, i);
  eb_belief_deviations(alone.belief, made->deviation, made->covariance);
  eb_belief_destroy(alone.belief);
  return EB_OK;
}

/* Adjusters of two sides stand for the linkage between them; each bore has a lever of its own besides. */
static eb_layout linkage_of(const eb_layout *layout, int adjuster[EB_ADJUSTERS_MAX])
{
  eb_layout linkage = *layout;
  linkage.adjuster_count = 0;
  for (int k = 0; k < layout->adjuster_count; k++) {
    if (layout->adjuster[k].second == 0)
      continue;
    adjuster[linkage.adjuster_count] = k;
    linkage.adjuster[linkage.adjuster_count++] = layout->adjuster[k];
  }
  for (int i = 0; i < layout->bore_count && linkage.adjuster_count < EB_ADJUSTERS_MAX; i++) {
    adjuster[linkage.adjuster_count] = -1;
    linkage.adjuster[linkage.adjuster_count++] = (eb_adjuster){.first = (eb_bores)1 << i};
  }
  return linkage;
}

static eb_bores row_of(const eb_layout *layout, eb_bores bore)
{
  for (int r = 0; r < layout->row_count; r++) {
    eb_bores row = eb_layout_row(layout, r);
    if ((row & bore) != 0)
      return row;
  }
  return bore;
}

/* What a bore's own lever is held against. */
static eb_bores others_of(const eb_layout *layout, eb_bores bore)
{
  int index = 0;
  while (!(bore >> index & 1))
    index++;
  eb_bores shaft = shaft_of(layout, index) & ~bore;
  return shaft != 0 ? shaft : row_of(layout, bore) & ~bore;
}

static void add_parts(const eb_layout *layout, const side *both, double degrees, double tolerance, double risk,
                      eb_comparison *made)
{
  int adjuster[EB_ADJUSTERS_MAX];
  eb_layout linkage = linkage_of(layout, adjuster);
  eb_contrast contrast[EB_ADJUSTERS_MAX];
  int count = contrasts_find(&linkage, made->compared, both->deviation, both->covariance, contrast);
  for (int c = 0; c < count; c++) {
    const eb_contrast *met = &contrast[c];
    if (met->doubt < 1e-9)
      continue; /* explained by others already */
    eb_bores first = linkage.adjuster[met->adjuster].first, second = linkage.adjuster[met->adjuster].second;
    made->part[made->count++] = (eb_part){.adjuster = adjuster[met->adjuster],
                                          .first = first,
                                          .second = second != 0 ? second : others_of(layout, first),
                                          .level = met->level,
                                          .value = met->value,
                                          .doubt = met->doubt};
  }
  for (int p = 0; p < made->count; p++) {
    eb_part *part = &made->part[p];
    part->probability = fmin(2 * made->count * eb_t_below(-fabs(part->value) / part->doubt, degrees), 1);
    part->differs = part->probability < risk && fabs(part->value) >= tolerance / 2;
  }
}

static eb_status check_bores(eb_bores compared, eb_error *error)
{
  if ((compared & (compared - 1)) != 0)
    return EB_OK;
  return eb_fail(error, EB_UNSOLVABLE, "", "fewer than two bores were read in both conditions");
}

eb_status eb_evidence_compare(const eb_evidence *first, const eb_evidence *second, double tolerance, double risk,
                              eb_comparison *comparison, eb_error *error)
{
  const eb_layout *layout = &first->layout;
  eb_comparison made = {0};
  side one = {0}, other = {0};
  eb_status status = read_side(first, 0, &one, error);
  if (status == EB_OK)
    status = read_side(second, 0, &other, error);
  if (status == EB_OK)
    status = check_bores(one.read & other.read, error);
  if (status != EB_OK)
    return status;
  made.compared = one.read & other.read;
  status = read_side(first, made.compared, &one, error);
  if (status == EB_OK)
    status = read_side(second, made.compared, &other, error);
  if (status != EB_OK)
    return status;
  for (int i = 0; i < layout->bore_count; i++)
    other.deviation[i] -= one.deviation[i];
  for (int i = 0; i < layout->bore_count * layout->bore_count; i++)
    other.covariance[i] += one.covariance[i];
  for (int i = 0; i < layout->bore_count; i++)
    if (made.compared >> i & 1) {
      made.difference[i] = other.deviation[i];
      made.doubt[i] = sqrt(other.covariance[i * layout->bore_count + i]);
    }
  add_parts(layout, &other, fmin(one.degrees, other.degrees), tolerance, risk, &made);
  *comparison = made;
  return EB_OK;
}

static eb_json *part_json(const eb_part *part, const eb_layout *layout)
{
  eb_json *json = eb_json_object();
  bool more = part->value > 0;
  bool made = eb_json_set_string(json, "level", part->adjuster < 0 ? "bore" : eb_level_text(part->level)) &&
              eb_json_set(json, "more", eb_layout_names(layout, more ? part->first : part->second)) &&
              eb_json_set(json, "less", eb_layout_names(layout, more ? part->second : part->first)) &&
              eb_json_set_number(json, "value", expm1(fabs(part->value))) &&
              eb_json_set_number(json, "doubt", expm1(part->doubt)) &&
              eb_json_set_number(json, "probability", part->probability) &&
              eb_json_set_bool(json, "differs", part->differs);
  if (made && part->adjuster >= 0)
    made = eb_json_set_string(json, "adjuster", layout->adjuster[part->adjuster].id);
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

static eb_json *bore_json(const eb_comparison *comparison, int bore)
{
  eb_json *json = eb_json_object();
  if (eb_json_set_number(json, "difference", expm1(comparison->difference[bore])) &&
      eb_json_set_number(json, "doubt", expm1(comparison->doubt[bore])))
    return json;
  eb_json_destroy(json);
  return NULL;
}

eb_json *eb_comparison_json(const eb_comparison *comparison, const eb_layout *layout)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set(json, "bores", eb_json_object()) && eb_json_set(json, "parts", eb_json_array());
  for (int i = 0; made && i < layout->bore_count; i++)
    if (comparison->compared >> i & 1)
      made = eb_json_set(eb_json_member(json, "bores"), layout->bore[i], bore_json(comparison, i));
  for (int p = 0; made && p < comparison->count; p++)
    made = eb_json_add(eb_json_member(json, "parts"), part_json(&comparison->part[p], layout));
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}
