#include "origin.h"

#include "declared.h"
#include "shop_shelf.h"

#include "evenbore/account.h"

#include <stdio.h>
#include <string.h>

enum { CAUTION_SIZE = 201 };

static eb_status out_of_memory(eb_error *error)
{
  return eb_fail(error, EB_OUT_OF_MEMORY, "", "out of memory");
}

/* What whoever stands at the engine is told before anything else. */
static eb_json *cautions(const eb_manifest *m)
{
  char text[3][CAUTION_SIZE];
  snprintf(text[0], CAUTION_SIZE,
           "It says that it is by %s. Nobody here has made sure of that: the key is not trusted.", m->maker);
  snprintf(text[1], CAUTION_SIZE,
           "What it has people do to an engine nobody here has checked. To read it first, leave "
           "with // and look at it: evenbore inspect");
  snprintf(text[2], CAUTION_SIZE,
           "This is asked before each job, until the maker's fingerprint is typed: evenbore trust");
  eb_json *list = eb_json_array();
  if (eb_json_add_string(list, text[0]) && eb_json_add_string(list, text[1]) && eb_json_add_string(list, text[2]))
    return list;
  eb_json_destroy(list);
  return NULL;
}

static eb_json *describe(const eb_bundle *bundle, eb_standing standing)
{
  const eb_manifest *m = &bundle->manifest;
  char fingerprint[EB_FINGERPRINT_SIZE];
  eb_fingerprint(&m->key, fingerprint);
  eb_json *made = eb_json_object();
  bool set = eb_json_set_string(made, "id", m->id) && eb_json_set_string(made, "version", m->version) &&
             eb_json_set_number(made, "revision", m->revision) && eb_json_set_string(made, "digest", bundle->digest) &&
             eb_json_set_string(made, "maker", m->maker) && eb_json_set_string(made, "key", m->key.text) &&
             eb_json_set_string(made, "fingerprint", fingerprint) &&
             eb_json_set_string(made, "standing", standing == EB_TRUSTED_MAKER ? "trusted" : "not trusted");
  if (set && standing != EB_TRUSTED_MAKER)
    set = eb_json_set(made, "cautions", cautions(m));
  if (set)
    return made;
  eb_json_destroy(made);
  return NULL;
}

/* What a bundle says of its procedure is read by people; what the procedure declares is what runs. */
static eb_status check_declared(const eb_manifest *m, const eb_json *declare, eb_error *error)
{
  size_t at = 0;
  const char *part = eb_declared_otherwise(m, declare, &at);
  return part == NULL ? EB_OK
                      : eb_fail(error, EB_BAD_MANIFEST, m->id,
                                "the procedure itself has another %s than its bundle tells; no job is begun with it. "
                                "Ask the maker for one where the two agree",
                                part);
}

eb_status eb_origin_make(const eb_run *run, const eb_loaded *loaded, const eb_json *declare, eb_json **origin,
                         eb_error *error)
{
  eb_shop_shelf shop;
  eb_known_maker known;
  const eb_manifest *m = &loaded->bundle.manifest;
  *origin = NULL;
  if (loaded->bundle.source_count == 0)
    return EB_OK;
  eb_status status = check_declared(m, declare, error);
  if (status == EB_OK)
    status = eb_shop_shelf_open(run->host, run->options.data, false, &shop, error);
  if (status != EB_OK)
    return status;
  eb_shelf_know(shop.shelf, &m->key, &known);
  eb_shop_shelf_close(&shop);
  if (known.standing == EB_REVOKED_MAKER)
    return eb_fail(
        error, EB_REVOKED, m->id,
        "the key of %s that signed it is revoked (%s); no job is begun with it. Ask the maker for one that is "
        "signed anew",
        known.maker.name, eb_revoked_word(known.reason));
  *origin = describe(&loaded->bundle, known.standing);
  return *origin == NULL ? out_of_memory(error) : EB_OK;
}

static const eb_json *origin_of(const eb_session *session)
{
  return eb_json_get(eb_json_get(eb_session_opening(session), "inputs"), "origin");
}

/* The core asks it first of all, so that any answer at all says that it was acknowledged. */
static bool any_answer(const eb_account *account)
{
  for (size_t i = 0; i < account->count; i++)
    if (eb_account_is(account, i, "answer"))
      return true;
  return false;
}

eb_status eb_origin_check(const eb_run *run, const eb_session *session, const char *path, eb_error *error)
{
  eb_account account;
  const eb_json *origin = origin_of(session);
  if (eb_json_get(origin, "cautions") == NULL)
    return EB_OK;
  eb_status status = eb_account_read(run->host, path, &account, error);
  if (status != EB_OK)
    return status;
  if (!any_answer(&account))
    status = eb_fail(error, EB_UNTRUSTED, eb_json_get_string(origin, "id", ""),
                     "nobody acknowledged where this procedure comes from; nothing of it was done");
  eb_account_clear(&account);
  return status;
}

const char *eb_origin_words(const eb_json *inputs, char *text, size_t size)
{
  const eb_json *origin = eb_json_get(inputs, "origin");
  text[0] = '\0';
  if (origin != NULL)
    snprintf(text, size, "%.80s, %.64s@%.40s revision %d, %.20s", eb_json_get_string(origin, "maker", "?"),
             eb_json_get_string(origin, "id", "?"), eb_json_get_string(origin, "version", "?"),
             eb_json_get_int(origin, "revision", 0), eb_json_get_string(origin, "standing", "?"));
  return text;
}

static void remark_of_bundle(const eb_run *run, const eb_shelf *shelf, const eb_json *origin)
{
  char spec[EB_SHELF_SPEC_SIZE], line[400];
  eb_bundle bundle;
  snprintf(spec, sizeof spec, "%.64s@%.40s", eb_json_get_string(origin, "id", ""),
           eb_json_get_string(origin, "version", ""));
  eb_status status = eb_shelf_find(shelf, spec, &bundle, NULL, NULL);
  bool same = status == EB_OK && strcmp(bundle.digest, eb_json_get_string(origin, "digest", "")) == 0;
  if (status == EB_OK)
    eb_bundle_clear(&bundle);
  if (same)
    return;
  snprintf(line, sizeof line, "%s %s; this job goes on with the one in its record, as it was begun", spec,
           status == EB_OK ? "on the shelf is another one by now" : "is not on the shelf here");
  eb_run_remark(run, line);
}

static void remark_of_maker(const eb_run *run, const eb_shelf *shelf, const eb_json *origin)
{
  char line[400];
  eb_public_key key;
  eb_known_maker known = {.standing = EB_UNKNOWN_MAKER};
  if (eb_public_key_read(eb_json_get_string(origin, "key", ""), &key, NULL) == EB_OK)
    eb_shelf_know(shelf, &key, &known);
  if (known.standing == EB_REVOKED_MAKER)
    snprintf(
        line, sizeof line,
        "the key of %s that signed this job's procedure is revoked (%s); bring the engine into order, and begin no "
        "other job with it",
        known.maker.name, eb_revoked_word(known.reason));
  else if (known.standing != EB_TRUSTED_MAKER && eb_json_get(origin, "cautions") == NULL)
    snprintf(
        line, sizeof line,
        "this job's procedure is told to be by %.80s, whose key was trusted where the job began and is not trusted "
        "here now; go by it only if you have reason to",
        eb_json_get_string(origin, "maker", "?"));
  else
    return;
  eb_run_remark(run, line);
}

void eb_origin_remark(const eb_run *run, const eb_session *session)
{
  eb_shop_shelf shop;
  eb_error error;
  const eb_json *origin = origin_of(session);
  if (origin == NULL)
    return;
  if (eb_shop_shelf_open(run->host, run->options.data, false, &shop, &error) != EB_OK) {
    eb_run_complain(run, &error);
    return;
  }
  remark_of_bundle(run, shop.shelf, origin);
  remark_of_maker(run, shop.shelf, origin);
  eb_shop_shelf_close(&shop);
}
