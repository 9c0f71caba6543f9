#include "evenbore/plan.h"

#include <math.h>

static eb_json *share_json(const eb_move *move, const eb_layout *layout)
{
  eb_json *share = eb_json_object();
  const eb_adjuster *adjuster = &layout->adjuster[move->adjuster];
  bool ok = share != NULL;
  for (int i = 0; ok && i < layout->bore_count; i++)
    if ((adjuster->first | adjuster->second) >> i & 1)
      ok = eb_json_put_number(share, layout->bore[i], expm1(move->move * eb_adjuster_effect(adjuster, i)));
  if (ok)
    return share;
  eb_json_destroy(share);
  return NULL;
}

static eb_json *move_json(const eb_move *move, const eb_layout *layout)
{
  eb_json *json = eb_json_object();
  if (eb_json_put_string(json, "adjuster", layout->adjuster[move->adjuster].id) &&
      eb_json_put_number(json, "move", move->move) && eb_json_put(json, "share", share_json(move, layout)) &&
      eb_json_put_number(json, "expected", move->expected))
    return json;
  eb_json_destroy(json);
  return NULL;
}

static bool add_parts(const eb_plan *plan, const eb_layout *layout, eb_json *json)
{
  bool ok = true;
  for (int i = 0; ok && i < layout->bore_count; i++) {
    if (plan->read >> i & 1)
      ok = eb_json_add_string(eb_json_member(json, "read"), layout->bore[i]);
    ok = ok && eb_json_set_number(eb_json_member(json, "expected"), layout->bore[i], expm1(plan->expected[i]));
  }
  for (int m = 0; ok && m < plan->move_count; m++)
    ok = eb_json_add(eb_json_member(json, "moves"), move_json(&plan->move[m], layout));
  return ok;
}

eb_json *eb_plan_json(const eb_plan *plan, const eb_layout *layout)
{
  eb_json *json = eb_json_object();
  if (eb_json_put_string(json, "step", eb_step_text(plan->step)) && eb_json_put(json, "read", eb_json_array()) &&
      eb_json_put(json, "moves", eb_json_array()) && eb_json_put_number(json, "effort", plan->effort_min) &&
      eb_json_put(json, "expected", eb_json_object()) && add_parts(plan, layout, json) &&
      eb_json_put_number(json, "expected_spread", plan->expected_spread) &&
      eb_json_put_number(json, "probability_before", plan->probability_before) &&
      eb_json_put_number(json, "probability_after", plan->probability_after) &&
      eb_json_put_string(json, "reason", plan->reason))
    return json;
  eb_json_destroy(json);
  return NULL;
}
