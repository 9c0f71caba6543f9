/* What a procedure can ask of the core about faults: what is found, where to look again, and what is not to count. */
#include "private.h"

#include "evenbore/finding.h"

#include <string.h>

static eb_status give_findings(eb_session *s, eb_json **reply, eb_error *error)
{
  eb_findings found = {0};
  eb_status status = eb_evidence_findings(job_evidence(s), &found, error);
  if (status != EB_OK)
    return status;
  eb_json_destroy(s->job.findings);
  s->job.findings = eb_findings_json(&found, &s->job.layout);
  *reply = eb_json_object();
  bool made = eb_json_set(*reply, "findings", s->job.findings == NULL ? NULL : eb_json_copy(s->job.findings));
  return made ? EB_OK : out_of_memory(error);
}

static eb_status give_snap_bores(eb_session *s, eb_json **reply, eb_error *error)
{
  eb_bores bores = 0;
  eb_status status = eb_evidence_snap_bores(job_evidence(s), &bores, error);
  if (status != EB_OK)
    return status;
  eb_json *list = eb_json_array();
  bool made = list != NULL;
  for (int i = 0; made && i < s->job.layout.bore_count; i++)
    if (bores >> i & 1)
      made = eb_json_add_string(list, s->job.layout.bore[i]);
  *reply = eb_json_object();
  return eb_json_set(*reply, "bores", list) && made ? EB_OK : out_of_memory(error);
}

static eb_status read_bores(const eb_session *s, const eb_json *request, eb_bores *bores, eb_error *error)
{
  *bores = 0;
  for (const eb_json *one = eb_json_first(eb_json_get(request, "bores")); one != NULL; one = eb_json_next(one)) {
    int bore = eb_layout_bore(&s->job.layout, eb_json_as_string(one, ""));
    if (bore < 0)
      return eb_fail(error, EB_NOT_FOUND, "", "there is no bore \"%.20s\" in this layout", eb_json_as_string(one, ""));
    *bores |= (eb_bores)1 << bore;
  }
  return EB_OK;
}

/* Without bores: all of them. */
static eb_status strike(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  static const char *const words[] = {"pass", "snap", "start", "ever"};
  const char *word = eb_json_get_string(request, "since", "");
  size_t since = 0;
  while (since < sizeof words / sizeof words[0] && strcmp(word, words[since]) != 0)
    since++;
  if (since == sizeof words / sizeof words[0])
    return eb_fail(error, EB_SCRIPT, "", "since is to be \"pass\", \"snap\", \"start\" or \"ever\"");
  eb_bores bores = ((eb_bores)1 << s->job.layout.bore_count) - 1;
  eb_status status = EB_OK;
  if (eb_json_get(request, "bores") != NULL)
    status = read_bores(s, request, &bores, error);
  if (status != EB_OK)
    return status;
  eb_evidence_strike(job_evidence(s), bores, (eb_since)since);
  s->job.claims = false;
  *reply = eb_json_object();
  return EB_OK;
}

eb_status request_more(eb_session *s, const char *op, const eb_json *request, eb_json **reply, bool *known,
                       eb_error *error)
{
  if (strcmp(op, "findings") == 0)
    return give_findings(s, reply, error);
  if (strcmp(op, "snap_bores") == 0)
    return give_snap_bores(s, reply, error);
  if (strcmp(op, "strike") == 0)
    return strike(s, request, reply, error);
  *known = false;
  return EB_OK;
}
