/* A whole job whose every text is hostile: what a journal says in any field stays text in every form. */
#include "report/simulated.h"

#include "report/markup.h"

/* What tells kinds and things apart stays; all else that is a text is spoilt. */
static bool stays(const char *key)
{
  static const char *const keys[] = {"kind",     "type",      "op",   "h",     "state", "step",
                                     "level",    "condition", "rows", "sides", "first", "second",
                                     "adjuster", "bore",      "id",   "worst", "bores"};
  for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
    if (strcmp(key, keys[i]) == 0)
      return true;
  return false;
}

static int spoil(eb_json *json, const char *words)
{
  int spoilt = 0;
  for (int i = 0; eb_json_is_array(json) && i < eb_json_count(json); i++)
    spoilt += spoil(eb_json_element(json, i), words);
  if (!eb_json_is_object(json))
    return spoilt;
  for (const eb_json *member = eb_json_first(json); member != NULL; member = eb_json_next(member)) {
    char key[64];
    snprintf(key, sizeof key, "%s", eb_json_key(member));
    if (eb_json_is_object(member) || eb_json_is_array(member)) {
      spoilt += spoil(eb_json_member(json, key), words);
    } else if (eb_json_as_string(member, NULL) != NULL && !stays(key)) {
      assert_true(eb_json_set_string(json, key, words));
      member = eb_json_get(json, key);
      spoilt++;
    }
  }
  return spoilt;
}

/* The job's records, spoilt, as a journal of their own. */
static int write_spoilt(const eb_account *account, job *j, const char *words)
{
  int spoilt = 0;
  eb_error error;
  *j = (job){.words = words};
  assert_int_equal(eb_scratch_create(eb_host_system(), &j->scratch, &error), EB_OK);
  j->host = eb_scratch_host(j->scratch);
  for (size_t i = 0; i < account->count; i++) {
    eb_json *record = eb_json_copy(eb_account_record(account, i));
    assert_non_null(record);
    eb_json_remove(record, "h");
    eb_json_remove(record, "library");
    spoilt += spoil(record, words);
    if (i == 0) {
      eb_json_remove(record, "kind");
      eb_json_remove(record, "format");
      assert_int_equal(eb_journal_create(j->host, "job", record, &j->journal, &error), EB_OK);
      eb_json_destroy(record);
    } else {
      assert_int_equal(eb_journal_append(j->journal, record, false, &error), EB_OK);
    }
  }
  return spoilt;
}

static void check_forms(job *j)
{
  eb_text text;
  for (int form = EB_REPORT_PAGE; form <= EB_REPORT_JSON; form++) {
    job_write(j, (eb_report_form)form, false, &text);
    if (form == EB_REPORT_PAGE)
      markup_is_ours(text.bytes);
    if (form == EB_REPORT_JSON) {
      eb_json *json = NULL;
      assert_int_equal(eb_json_parse(text.bytes, text.size - 1, &json, NULL), EB_OK);
      eb_json_destroy(json);
    }
    if (form != EB_REPORT_PAGE)
      text_is_printable(text.bytes, text.size);
    eb_text_clear(&text);
  }
}

static void no_field_of_a_whole_job_becomes_more_than_text(void **state)
{
  (void)state;
  static const simulated whole = {.procedure = "v8-coupled", .seed = 17};
  play p;
  job j;
  eb_account account;
  eb_error error;
  simulated_play(&p, &whole);
  assert_int_equal(eb_account_read(eb_scratch_host(p.scratch), "play.jsonl", &account, &error), EB_OK);
  assert_true(write_spoilt(&account, &j, job_hostile) > 1000);
  check_forms(&j);
  job_end(&j);
  eb_account_clear(&account);
  play_end(&p);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(no_field_of_a_whole_job_becomes_more_than_text)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
