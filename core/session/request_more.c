/* What a procedure can ask of the core about faults and causes: what is found, where to look again, what is not to
 * count, how two conditions and three instruments compare, what the spread consists of. */
#include "private.h"

#include "evenbore/compare.h"
#include "evenbore/crosscheck.h"
#include "evenbore/explain.h"
#include "evenbore/finding.h"

#include <math.h>
#include <string.h>

/* Gives what was made, and keeps it for a tell; takes over `made`. */
static eb_status give(eb_session *s, const char *key, eb_json *made, eb_json **reply, eb_error *error)
{
  if (s->job.more == NULL)
    s->job.more = eb_json_object();
  *reply = eb_json_object();
  bool given = eb_json_set(*reply, key, made == NULL ? NULL : eb_json_copy(made));
  return eb_json_set(s->job.more, key, made) && given ? EB_OK : out_of_memory(error);
}

static eb_status give_findings(eb_session *s, eb_json **reply, eb_error *error)
{
  eb_findings found = {0};
  eb_status status = eb_evidence_findings(job_evidence(s), &found, error);
  if (status != EB_OK)
    return status;
  return give(s, "findings", eb_findings_json(&found, &s->job.layout), reply, error);
}

static eb_status give_snap_bores(eb_session *s, eb_json **reply, eb_error *error)
{
  eb_bores bores = 0;
  eb_status status = eb_evidence_snap_bores(job_evidence(s), &bores, error);
  if (status != EB_OK)
    return status;
  *reply = eb_json_object();
  return eb_json_set(*reply, "bores", eb_layout_names(&s->job.layout, bores)) ? EB_OK : out_of_memory(error);
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
  eb_bores bores = eb_layout_bores(&s->job.layout);
  eb_status status = EB_OK;
  if (eb_json_get(request, "bores") != NULL)
    status = read_bores(s, request, &bores, error);
  if (status != EB_OK)
    return status;
  int pass = eb_json_get_int(request, "pass", 0);
  if (pass > 0)
    eb_evidence_strike_pass(job_evidence(s), bores, pass);
  else
    eb_evidence_strike(job_evidence(s), bores, (eb_since)since);
  s->job.conditions[0].claims = s->job.conditions[s->job.current].claims = false;
  *reply = eb_json_object();
  return EB_OK;
}

/* Of the air alone. */
static const eb_evidence *find_evidence(const eb_session *s, const char *name)
{
  for (int i = 0; i < s->job.condition_count; i++)
    if (!s->job.conditions[i].cold && strcmp(s->job.conditions[i].name, name) == 0)
      return s->job.conditions[i].evidence;
  return NULL;
}

static eb_status compare(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  const char *name = eb_json_get_string(request, "second", "");
  const eb_evidence *first = find_evidence(s, eb_json_get_string(request, "first", "idle"));
  const eb_evidence *second = find_evidence(s, name);
  if (first == NULL || second == NULL || first == second)
    return eb_fail(error, EB_NOT_FOUND, "", "compare needs two conditions that were measured; \"%.40s\" is none", name);
  eb_comparison found;
  eb_status status = eb_evidence_compare(first, second, s->job.tolerance, s->job.risk, &found, error);
  if (status != EB_OK)
    return status;
  return give(s, "comparison", eb_comparison_json(&found, &s->job.layout), reply, error);
}

static eb_status read_ports(const eb_session *s, const eb_json *request, eb_crosscheck *check, eb_error *error)
{
  static const double HEAT_DOUBT_K = 10; /* of a probe held to a port by hand; this project's own */
  for (const eb_json *one = eb_json_first(eb_json_get(request, "heat")); one != NULL; one = eb_json_next(one)) {
    int bore = eb_layout_bore(&s->job.layout, eb_json_key(one));
    if (bore < 0 || !eb_json_is_number(one))
      return eb_fail(error, EB_NOT_FOUND, "", "heat is {bore = degrees, ...}; \"%.20s\" is no bore with a number",
                     eb_json_key(one));
    check->ports |= (eb_bores)1 << bore;
    check->heat_k[bore] = eb_json_as_number(one, 0); /* only differences count */
  }
  check->heat_doubt_k = eb_json_get_number(request, "heat_doubt", HEAT_DOUBT_K);
  if (!(check->heat_doubt_k > 0))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "heat_doubt is to be above 0 degrees");
  return EB_OK;
}

static eb_status read_sensors(const eb_session *s, const eb_json *request, eb_crosscheck *check, eb_error *error)
{
  static const double MIXTURE_DOUBT = 0.01; /* of one look at a sensor, relative; this project's own */
  const eb_json *list = eb_json_get(request, "mixture");
  if (eb_json_count(list) > EB_ROWS_MAX)
    return eb_fail(error, EB_OUT_OF_RANGE, "", "mixture is a list of at most %d sensors", (int)EB_ROWS_MAX);
  for (const eb_json *one = eb_json_first(list); one != NULL; one = eb_json_next(one)) {
    eb_sensor sensor = {.mixture = eb_json_get_number(one, "value", 0)};
    eb_status status = read_bores(s, one, &sensor.behind, error);
    if (status != EB_OK)
      return status;
    if (sensor.behind == 0 || !(sensor.mixture > 0))
      return eb_fail(error, EB_OUT_OF_RANGE, "", "a sensor is {bores = {...}, value = lambda}, both given");
    check->sensor[check->sensors++] = sensor;
  }
  check->mixture_doubt = eb_json_get_number(request, "mixture_doubt", MIXTURE_DOUBT);
  if (!(check->mixture_doubt > 0))
    return eb_fail(error, EB_OUT_OF_RANGE, "", "mixture_doubt is to be above 0");
  return EB_OK;
}

static eb_json *crossings_json(const eb_layout *layout, const eb_crossing *found, int count)
{
  eb_json *list = eb_json_array();
  bool made = list != NULL;
  for (int i = 0; made && i < count; i++) {
    eb_json *one = eb_json_object();
    made = eb_json_add(list, one) && eb_json_set_string(one, "word", eb_cross_text(found[i].word)) &&
           eb_json_set(one, "bores", eb_layout_names(layout, found[i].bores)) &&
           eb_json_set_number(one, "size", found[i].size) && eb_json_set_number(one, "score", found[i].score) &&
           eb_json_set_bool(one, "fuel", eb_cross_is_fuel(found[i].word));
  }
  if (made)
    return list;
  eb_json_destroy(list);
  return NULL;
}

static eb_status crosscheck(eb_session *s, const eb_json *request, eb_json **reply, eb_error *error)
{
  eb_crosscheck check = {.layout = &s->job.layout, .air = &s->job.air};
  eb_crossing found[EB_CROSSINGS_MAX];
  eb_status status = read_ports(s, request, &check, error);
  if (status == EB_OK)
    status = read_sensors(s, request, &check, error);
  if (status == EB_OK && !s->job.conditions[0].claims)
    status = eb_fail(error, EB_REFUSED, "", "heat and mixture are held against the air; a verdict at idle comes first");
  if (status != EB_OK)
    return status;
  int count = eb_crosscheck_judge(&check, found);
  return give(s, "crosscheck", crossings_json(&s->job.layout, found, count), reply, error);
}

static eb_status explain(eb_session *s, eb_json **reply, eb_error *error)
{
  eb_verdict verdict;
  eb_explanation found;
  const eb_evidence *evidence = s->job.conditions[0].evidence;
  eb_status status = eb_evidence_verdict(evidence, s->job.tolerance, s->job.risk, &verdict, error);
  if (status == EB_OK)
    status = eb_evidence_explain(evidence, &verdict, &found, error);
  return status == EB_OK ? give(s, "explanation", eb_explanation_json(&found), reply, error) : status;
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
  if (strcmp(op, "compare") == 0)
    return compare(s, request, reply, error);
  if (strcmp(op, "crosscheck") == 0)
    return crosscheck(s, request, reply, error);
  if (strcmp(op, "explain") == 0)
    return explain(s, reply, error);
  *known = false;
  return EB_OK;
}
