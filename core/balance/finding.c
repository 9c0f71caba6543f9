#include "evenbore/finding.h"

#include "finding_search.h"

#include <math.h>

const char *eb_finding_text(eb_finding_kind kind)
{
  switch (kind) {
  case EB_FINDING_LEAK: return "leak";
  case EB_FINDING_NO_AIR: return "no-air";
  case EB_FINDING_STICKING: return "sticking";
  case EB_FINDING_LOOSE: return "loose";
  case EB_FINDING_LASH: return "lash";
  case EB_FINDING_WANDER: return "wander";
  case EB_FINDING_WARMING: return "warming";
  case EB_FINDING_BAND: return "band";
  case EB_FINDING_VENT: return "vent";
  case EB_FINDING_SWAPPED: return "swapped";
  }
  return "";
}

/* Sorted by kind; findings beyond the room are of no use to anyone. */
void search_add(search *s, eb_finding finding)
{
  eb_findings *result = s->result;
  if (result->count == EB_FINDINGS_MAX)
    return;
  int at = result->count++;
  for (; at > 0 && result->finding[at - 1].kind > finding.kind; at--)
    result->finding[at] = result->finding[at - 1];
  result->finding[at] = finding;
}

static void search_no_air(search *s)
{
  const eb_evidence *evidence = s->evidence;
  eb_bores bores = 0;
  for (size_t e = s->block; e < evidence->events; e++)
    if (evidence->event[e].kind == EVENT_NO_AIR)
      bores |= (eb_bores)1 << evidence->event[e].index;
  if (bores != 0)
    search_add(s, (eb_finding){.kind = EB_FINDING_NO_AIR,
                               .bores = bores,
                               .adjuster = -1,
                               .test = "nearly nothing, read twice",
                               .sure = true,
                               .after = -1,
                               .before = -1});
}

/* Outside its best band a gauge's step is a large one; more than half of a pass there is worth a change of the vent
 * (common practice, no source). */
static void search_band(search *s)
{
  const eb_evidence *evidence = s->evidence;
  const eb_gauge *gauge = &evidence->gauge;
  eb_bores read = 0, outside = 0;
  int readings = 0, out = 0;
  for (size_t e = s->pass; e < evidence->events; e++) {
    const event *met = &evidence->event[e];
    if (met->kind != EVENT_READING || met->struck || read >> met->index & 1)
      continue;
    read |= (eb_bores)1 << met->index;
    readings++;
    if (met->value >= gauge->best_low && met->value <= gauge->best_high)
      continue;
    out++;
    outside |= (eb_bores)1 << met->index;
  }
  if (2 * out > readings)
    search_add(s, (eb_finding){.kind = EB_FINDING_BAND,
                               .bores = outside,
                               .adjuster = -1,
                               .size = (double)out / readings,
                               .test = "count",
                               .sure = true,
                               .after = -1,
                               .before = -1});
}

static size_t last_pass(const eb_evidence *evidence, size_t block)
{
  size_t e = evidence->events;
  while (e > block && evidence->event[e - 1].kind != EVENT_PASS)
    e--;
  return e > block ? e : evidence->events;
}

static size_t block_end(const eb_evidence *evidence, size_t from)
{
  while (from < evidence->events && evidence->event[from].kind != EVENT_PERIOD &&
         evidence->event[from].kind != EVENT_MOVE)
    from++;
  return from;
}

/* From the first one on, so that one belief serves them all. */
static eb_status open_blocks(search *s, eb_error *error)
{
  const eb_evidence *evidence = s->evidence;
  const eb_host *host = evidence->host;
  window_options options = {.drift = eb_priors_usual().drift};
  size_t ends = 0;
  eb_status status = EB_OK;
  for (size_t from = 0; from <= evidence->events; from = block_end(evidence, from) + 1)
    ends++;
  s->blocks = host->allocate(host->context, NULL, ends * sizeof(window *));
  if (s->blocks == NULL)
    return eb_fail(error, EB_OUT_OF_MEMORY, "", "no memory to look at the readings");
  for (; status == EB_OK && options.from <= evidence->events; options.from = options.to + 1) {
    window *w = NULL;
    options.to = block_end(evidence, options.from);
    status = window_open(evidence, &s->found, &options, &w, error);
    if (w != NULL)
      s->blocks[s->block_count++] = w;
  }
  s->kept = search_block(s, s->block);
  return status;
}

const window *search_block(const search *s, size_t from)
{
  for (int i = s->block_count - 1; i >= 0; i--)
    if (s->blocks[i]->from == from)
      return s->blocks[i];
  return NULL;
}

static void close_windows(search *s)
{
  const eb_host *host = s->evidence->host;
  for (int i = 0; i < s->block_count; i++)
    window_close(s->blocks[i]);
  host->allocate(host->context, s->blocks, 0);
  window_close(s->all);
}

static eb_status look(search *s, eb_error *error)
{
  window_options all = {.from = s->block, .to = s->evidence->events, .drift = eb_priors_usual().drift, .all = true};
  eb_status status = open_blocks(s, error);
  if (status == EB_OK)
    status = window_open(s->evidence, &s->told, &all, &s->all, error);
  if (status != EB_OK)
    return status;
  search_no_air(s);
  search_band(s);
  search_snaps(s);
  search_pushes(s);
  search_leak(s);
  search_vent(s);
  status = search_swapped(s, error);
  if (status == EB_OK)
    status = search_warming(s, error);
  search_wander(s);
  if (status == EB_OK)
    search_starts(s);
  return status;
}

static int counting(const eb_evidence *evidence)
{
  int count = 0;
  for (int i = 0; i < evidence->layout.bore_count; i++)
    count += !(evidence->left_out >> i & 1);
  return count;
}

eb_status eb_evidence_findings(const eb_evidence *evidence, eb_findings *found, eb_error *error)
{
  eb_findings made = {0};
  size_t block = evidence_block(evidence, evidence->events);
  search s = {.evidence = evidence,
              .found = evidence_noise_within_snaps(evidence, SIZE_MAX),
              .block = block,
              .pass = last_pass(evidence, block),
              .result = &made};
  s.told = s.found;
  s.told.factor = 1;
  eb_status status = counting(evidence) >= 2 ? look(&s, error) : EB_OK;
  close_windows(&s);
  if (status == EB_OK)
    *found = made;
  return status;
}

static bool is_logarithm(const eb_finding *finding)
{
  return finding->doubt > 0;
}

static eb_json *finding_json(const eb_finding *f, const eb_layout *layout)
{
  eb_json *json = eb_json_object();
  bool made = eb_json_set_string(json, "kind", eb_finding_text(f->kind)) &&
              eb_json_set(json, "bores", eb_layout_names(layout, f->bores)) &&
              eb_json_set_number(json, "size", is_logarithm(f) ? expm1(f->size) : f->size) &&
              eb_json_set_number(json, "doubt", expm1(f->doubt)) &&
              eb_json_set_number(json, "probability", f->probability) && eb_json_set_string(json, "test", f->test) &&
              eb_json_set_bool(json, "sure", f->sure);
  if (made && f->adjuster >= 0)
    made = eb_json_set_string(json, "adjuster", layout->adjuster[f->adjuster].id);
  if (made && f->stayed)
    made = eb_json_set_bool(json, "stayed", true);
  if (made && f->pushed)
    made = eb_json_set_bool(json, "pushed", true);
  if (made && f->pass > 0)
    made = eb_json_set_number(json, "pass", f->pass);
  if (made && f->after >= 0)
    made = eb_json_set_string(json, "after", layout->bore[f->after]) &&
           eb_json_set_string(json, "before", layout->bore[f->before]);
  if (made)
    return json;
  eb_json_destroy(json);
  return NULL;
}

eb_json *eb_findings_json(const eb_findings *found, const eb_layout *layout)
{
  eb_json *list = eb_json_array();
  bool made = list != NULL;
  for (int i = 0; made && i < found->count; i++)
    made = eb_json_add(list, finding_json(&found->finding[i], layout));
  if (made)
    return list;
  eb_json_destroy(list);
  return NULL;
}
