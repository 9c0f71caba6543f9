#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "report/job.h"
#include "report/markup.h"

static void no_text_of_a_journal_becomes_markup(void **state)
{
  (void)state;
  job j;
  eb_text page;
  job_play(&j, job_hostile);
  job_finish(&j);
  job_write(&j, EB_REPORT_PAGE, false, &page);
  markup_is_ours(eb_text_string(&page));
  eb_text_clear(&page);
  job_end(&j);
}

static void nothing_comes_from_outside(void **state)
{
  (void)state;
  job j;
  eb_text page;
  job_play(&j, "plain");
  job_finish(&j);
  job_write(&j, EB_REPORT_PAGE, false, &page);
  const char *text = eb_text_string(&page);
  for (const char *at = strstr(text, "http"); at != NULL; at = strstr(at + 1, "http"))
    assert_memory_equal(at, "http://www.w3.org/2000/svg", 26); /* a name, not an address to fetch */
  static const char *const loads[] = {"src=", "href=", "@import", "url("};
  for (size_t i = 0; i < sizeof loads / sizeof loads[0]; i++)
    assert_null(strstr(text, loads[i]));
  assert_true(page.size < 500 * 1000);
  eb_text_clear(&page);
  job_end(&j);
}

static void the_same_journal_gives_the_same_bytes(void **state)
{
  (void)state;
  job j;
  job_play(&j, job_hostile);
  job_finish(&j);
  for (int form = EB_REPORT_PAGE; form <= EB_REPORT_JSON; form++) {
    eb_text once, twice;
    job_write(&j, (eb_report_form)form, false, &once);
    job_write(&j, (eb_report_form)form, false, &twice);
    assert_int_equal(once.size, twice.size);
    assert_memory_equal(once.bytes, twice.bytes, once.size);
    eb_text_clear(&once);
    eb_text_clear(&twice);
  }
  job_end(&j);
}

/* Reads RFC 4180: fields of the line at `at` into `fields`; returns where the next line begins. */
static const char *read_line(const char *at, char separator, char fields[][4096], int *count)
{
  for (*count = 0;; at++) {
    char *out = fields[(*count)++];
    if (*at == '"') {
      for (at++; *at != '"' || at[1] == '"'; at++) {
        assert_true(*at != '\0');
        at += *at == '"' ? 1 : 0;
        *out++ = *at;
      }
      at++;
    } else {
      while (strchr("\r\n\"", *at) == NULL && *at != separator)
        *out++ = *at++;
    }
    *out = '\0';
    if (*at != separator)
      break;
  }
  assert_memory_equal(at, "\r\n", 2);
  return at + 2;
}

static char fields[32][4096];

static bool is_number(const char *text)
{
  char *end;
  strtod(text, &end);
  return end != text && *end == '\0';
}

static void csv_is_rfc_4180_and_no_field_is_a_formula(void **state)
{
  (void)state;
  static const char *const formulas[] = {"=1+1", "+1", "-x,1", "@SUM(A1)", "\t=1", "a\"b,c;d"};
  for (size_t i = 0; i < sizeof formulas / sizeof formulas[0]; i++) {
    job j;
    eb_text text;
    int count, lines = 0;
    job_play(&j, formulas[i]);
    job_finish(&j);
    job_write(&j, EB_REPORT_CSV, false, &text);
    for (const char *at = eb_text_string(&text); *at != '\0'; lines++) {
      at = read_line(at, ',', fields, &count);
      assert_int_equal(count, 13);
      for (int f = 0; f < count; f++)
        if (strchr("=+-@\t\r", fields[f][0]) != NULL && fields[f][0] != '\0')
          assert_true(is_number(fields[f]));
    }
    assert_int_equal(lines,
                     1 + 2 + 2 + 2 + 2 + 2); /* head, two verdicts of two bores, two readings, two moves, two facts */
    eb_text_clear(&text);
    job_end(&j);
  }
}

static void semicolons_go_with_decimal_commas(void **state)
{
  (void)state;
  job j;
  eb_text text;
  int count;
  job_play(&j, "plain");
  job_write(&j, EB_REPORT_CSV, true, &text);
  const char *at = read_line(eb_text_string(&text), ';', fields, &count);
  assert_int_equal(count, 13);
  do {
    at = read_line(at, ';', fields, &count);
    assert_int_equal(count, 13);
  } while (strcmp(fields[2], "verdict") != 0);
  assert_string_equal(fields[7], "6,25");
  assert_string_equal(fields[9], "8,00");
  assert_string_equal(fields[12], "holds");
  eb_text_clear(&text);
  job_end(&j);
}

static void json_has_what_its_header_lists(void **state)
{
  (void)state;
  job j;
  eb_text text;
  job_play(&j, "plain");
  job_finish(&j);
  job_write(&j, EB_REPORT_JSON, false, &text);
  eb_json *json = NULL;
  assert_int_equal(eb_json_parse(text.bytes, text.size - 1, &json, NULL), EB_OK);
  assert_string_equal(eb_json_get_string(json, "format", ""), "evenbore report");
  assert_string_equal(eb_json_get_string(eb_json_get(json, "session"), "state", ""), "ended");
  assert_string_equal(eb_json_get_string(eb_json_get(json, "session"), "digest", ""), eb_journal_digest(j.journal));
  for (int i = 0; i < 3; i++) {
    static const char *const from[] = {"maker", "fingerprint", "standing"};
    assert_string_equal(eb_json_get_string(eb_json_get(json, "procedure"), from[i], ""), "plain");
  }
  assert_int_equal(eb_json_count(eb_json_get(json, "passes")), 2);
  const eb_json *move = eb_json_at(eb_json_get(json, "moves"), 0);
  /* ln(1.08) - ln(1 / 1.08); what it came to, the same of 1.015. */
  assert_float_equal(eb_json_get_number(move, "contrast_before_ln", 0), 0.153922, 1e-5);
  assert_float_equal(eb_json_get_number(move, "contrast_after_ln", 0), 0.029777, 1e-5);
  assert_float_equal(eb_json_get_number(move, "contrast_expected_ln", 0), 0.020001, 1e-5);
  const eb_json *readings = eb_json_get(json, "readings");
  assert_int_equal(eb_json_count(readings), 2);
  assert_true(eb_json_get_bool(eb_json_at(readings, 1), "taken_back", false));
  assert_float_equal(eb_json_get_number(eb_json_get(json, "claim"), "tolerance_share", 0), 0.0412, 0);
  eb_json_destroy(json);
  eb_text_clear(&text);
  job_end(&j);
}

static void assert_says(job *j, const char *words)
{
  eb_text text;
  for (int form = EB_REPORT_PAGE; form <= EB_REPORT_TEXT; form++) {
    job_write(j, (eb_report_form)form, false, &text);
    char *bytes = text.bytes;
    for (char *c = bytes; *c != '\0'; c++) /* text is wrapped */
      *c = *c == '\n' ? ' ' : *c;
    if (strstr(bytes, words) == NULL)
      fail_msg("not there: %s", words);
    eb_text_clear(&text);
  }
}

static void assert_says_not(job *j, const char *words)
{
  eb_text text;
  for (int form = EB_REPORT_PAGE; form <= EB_REPORT_TEXT; form++) {
    job_write(j, (eb_report_form)form, false, &text);
    assert_null(strstr(text.bytes, words));
    eb_text_clear(&text);
  }
}

static void a_report_says_what_state_the_job_is_in(void **state)
{
  (void)state;
  job j;
  job_play(&j, "plain");
  assert_says(&j, "The job is not over: no claim is made.");
  job_add(&j, "{\"kind\":\"end\",\"time\":\"W\",\"outcome\":\"stopped\",\"claim\":null,\"summary\":\"\"}");
  assert_says(&j, "The job was stopped before its end: no claim is made.");
  job_end(&j);
  job_play(&j, "plain");
  job_finish(&j);
  assert_says(&j, "The airflow of every bore is within 4.2 % of their mean; the risk that this is wrong is 5 %.");
  job_end(&j);
  job_play(&j, "plain");
  job_add(&j, "{\"kind\":\"end\",\"time\":\"W\",\"outcome\":\"claimed\",\"claim\":{\"tolerance\":0.0701,\"risk\":0.05},"
              "\"summary\":\"\"}");
  assert_says(&j, "is within 7.1 % of their mean; the risk that this is wrong is 5 %. Wanted was 5 %.");
  job_end(&j);
}

static void a_damaged_journal_is_reported_up_to_the_damage(void **state)
{
  (void)state;
  job j;
  job_play(&j, "plain");
  job_finish(&j);
  job_damage(&j, 20); /* in the last record's digest */
  assert_says(&j, "The record is damaged: what stands before the damage is shown, and no claim is made.");
  job_end(&j);
}

static void a_torn_journal_and_one_of_another_program_say_so(void **state)
{
  (void)state;
  job j;
  job_play(&j, "plain");
  job_tear(&j, 10);
  assert_says(&j, "The job is not over: no claim is made.");
  assert_says(&j, "plain, plain when the job began; fingerprint plain");
  assert_says(&j, " end is torn: ");
  assert_says(&j, " of an unfinished record behind record 12 are left out.");
  job_end(&j);
  job_play(&j, "evenbore 0.0.0");
  job_finish(&j);
  job_reader = "evenbore 0.0.0";
  assert_says_not(&j, "another program");
  job_reader = "evenbore 1.0.0";
  assert_says(&j, "The record was made by another program, evenbore 0.0.0; this report of it is by evenbore 1.0.0.");
  job_reader = NULL;
  job_end(&j);
}

static void a_form_is_found_by_its_word(void **state)
{
  (void)state;
  eb_report_form form;
  eb_error error;
  assert_int_equal(eb_report_form_read("csv", &form, &error), EB_OK);
  assert_int_equal(form, EB_REPORT_CSV);
  assert_int_equal(eb_report_form_read("xlsx", &form, &error), EB_BAD_VALUE);
  assert_non_null(strstr(error.message, "page, text, csv, json"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_text_of_a_journal_becomes_markup),
      cmocka_unit_test(nothing_comes_from_outside),
      cmocka_unit_test(the_same_journal_gives_the_same_bytes),
      cmocka_unit_test(csv_is_rfc_4180_and_no_field_is_a_formula),
      cmocka_unit_test(semicolons_go_with_decimal_commas),
      cmocka_unit_test(json_has_what_its_header_lists),
      cmocka_unit_test(a_report_says_what_state_the_job_is_in),
      cmocka_unit_test(a_damaged_journal_is_reported_up_to_the_damage),
      cmocka_unit_test(a_torn_journal_and_one_of_another_program_say_so),
      cmocka_unit_test(a_form_is_found_by_its_word),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
