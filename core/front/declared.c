#include "declared.h"

#include <string.h>

static bool has_layout(const eb_manifest *m, const eb_json *declared)
{
  eb_layout layout;
  bool found = declared == NULL || eb_layout_read(declared, "", &layout, NULL) != EB_OK;
  eb_json *json = found ? NULL : eb_layout_json(&layout);
  for (int i = 0; !found && i < m->layout_count; i++) {
    eb_json *other = eb_layout_json(&m->layouts[i]);
    found = eb_json_equal(json, other);
    eb_json_destroy(other);
  }
  eb_json_destroy(json);
  return found;
}

static bool has_hazards(const eb_manifest *m, const eb_json *declared)
{
  for (const eb_json *text = eb_json_first(declared); text != NULL; text = eb_json_next(text)) {
    bool found = false;
    for (int i = 0; i < m->hazard_count; i++)
      found = found || strcmp(m->hazards[i], eb_json_as_string(text, "")) == 0;
    if (!found)
      return false;
  }
  return true;
}

const char *eb_declared_otherwise(const eb_manifest *m, const eb_json *declare, size_t *at)
{
  const eb_json *p = eb_json_get(declare, "procedure");
  const struct {
    bool same;
    const char *what;
  } parts[] = {{strcmp(m->id, eb_json_get_string(p, "id", "")) == 0, "id"},
               {strcmp(m->version, eb_json_get_string(p, "version", "")) == 0, "version"},
               {strcmp(m->title, eb_json_get_string(p, "title", "")) == 0, "title"},
               {m->api == eb_json_get_int(p, "api", 0), "api"},
               {has_layout(m, eb_json_get(declare, "layout")), "layout"},
               {has_hazards(m, eb_json_get(declare, "cautions")), "hazards"}};
  while (*at < sizeof parts / sizeof parts[0])
    if (!parts[(*at)++].same)
      return parts[*at - 1].what;
  return NULL;
}
