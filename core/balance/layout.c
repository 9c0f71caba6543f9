/* The room balance: what is known of an engine's airflow, and what to do about it.
 *
 * layout: what an engine's bores and adjusters are.  belief: what the readings
 * say about the bores, with doubt.  verdict: how even that is.  plan: the next
 * step.  finding: what is wrong in another way.  evidence: the readings and moves
 * themselves, from which all of it follows.  Used by sessions and by the simulated engines. */
#include "evenbore/layout.h"

#include <string.h>

int eb_layout_bore(const eb_layout *layout, const char *name)
{
  for (int i = 0; i < layout->bore_count; i++)
    if (strcmp(layout->bore[i], name) == 0)
      return i;
  return -1;
}

int eb_layout_adjuster(const eb_layout *layout, const char *id)
{
  for (int k = 0; k < layout->adjuster_count; k++)
    if (strcmp(layout->adjuster[k].id, id) == 0)
      return k;
  return -1;
}

double eb_adjuster_effect(const eb_adjuster *adjuster, int bore)
{
  eb_bores bit = (eb_bores)1 << bore;
  double share = adjuster->second == 0 ? 1 : 0.5;
  if (adjuster->first & bit)
    return share;
  return (adjuster->second & bit) != 0 ? -share : 0;
}

eb_bores eb_layout_row(const eb_layout *layout, int row)
{
  return (((eb_bores)1 << layout->row_size[row]) - 1) << layout->row_start[row];
}

/* EB_BORES_MAX leaves room in the type. */
eb_bores eb_layout_bores(const eb_layout *layout)
{
  return ((eb_bores)1 << layout->bore_count) - 1;
}

eb_json *eb_layout_names(const eb_layout *layout, eb_bores bores)
{
  eb_json *names = eb_json_array();
  bool ok = names != NULL;
  for (int i = 0; ok && i < layout->bore_count; i++)
    if (bores >> i & 1)
      ok = eb_json_add_string(names, layout->bore[i]);
  if (ok)
    return names;
  eb_json_destroy(names);
  return NULL;
}

static eb_json *sides_json(const eb_layout *layout, const eb_adjuster *adjuster)
{
  eb_json *sides = eb_json_array();
  if (eb_json_add(sides, eb_layout_names(layout, adjuster->first)) &&
      (adjuster->second == 0 || eb_json_add(sides, eb_layout_names(layout, adjuster->second))))
    return sides;
  eb_json_destroy(sides);
  return NULL;
}

static eb_json *adjuster_json(const eb_layout *layout, const eb_adjuster *adjuster)
{
  eb_json *json = eb_json_object();
  if (eb_json_set_string(json, "id", adjuster->id) && eb_json_set_string(json, "kind", adjuster->kind) &&
      eb_json_set_string(json, "title", adjuster->title) && eb_json_set(json, "sides", sides_json(layout, adjuster)) &&
      eb_json_set_number(json, "effort", adjuster->effort_min) && eb_json_set_bool(json, "stopped", adjuster->stopped))
    return json;
  eb_json_destroy(json);
  return NULL;
}

static eb_json *adjusters_json(const eb_layout *layout)
{
  eb_json *adjusters = eb_json_array();
  bool ok = adjusters != NULL;
  for (int k = 0; ok && k < layout->adjuster_count; k++)
    ok = eb_json_add(adjusters, adjuster_json(layout, &layout->adjuster[k]));
  if (ok)
    return adjusters;
  eb_json_destroy(adjusters);
  return NULL;
}

static bool add_rows(const eb_layout *layout, eb_json *rows, eb_json *titles)
{
  for (int r = 0; r < layout->row_count; r++)
    if (!eb_json_add(rows, eb_layout_names(layout, eb_layout_row(layout, r))) ||
        !eb_json_add_string(titles, layout->row_title[r]))
      return false;
  return true;
}

eb_json *eb_layout_json(const eb_layout *layout)
{
  eb_json *json = eb_json_object();
  if (eb_json_set(json, "bores", eb_layout_names(layout, eb_layout_bores(layout))) &&
      eb_json_set(json, "rows", eb_json_array()) && eb_json_set(json, "row_titles", eb_json_array()) &&
      add_rows(layout, eb_json_member(json, "rows"), eb_json_member(json, "row_titles")) &&
      eb_json_set(json, "adjusters", adjusters_json(layout)))
    return json;
  eb_json_destroy(json);
  return NULL;
}
