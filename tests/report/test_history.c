#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "report/job.h"

#include "evenbore/history.h"

static const char twin[] = "{\"rows\":[[\"1\",\"2\"]],\"adjusters\":[{\"id\":\"screw\",\"kind\":\"screw\",\"title\":"
                           "\"balance screw\",\"sides\":[[\"1\"],[\"2\"]]}]}";
static const char triplet[] = "{\"rows\":[[\"1\",\"2\",\"3\"]],\"adjusters\":[]}";
static char bores[3][32] = {"1", "2", "3"};

static const char hostile[] = "</title></style><script>alert(1)</script>\" onload='x' <img src=x onerror=1>&lt;"
                              "\xe2\x80\xae\x1b[31m\x07";

/* A job that found so much and left so much. */
static void play(job *j, const char *words, const char *layout, int count, double found, double left, bool over)
{
  job_begin(j, words, layout);
  job_verdict(j, bores, count, 6.25, found, "uneven");
  job_verdict(j, bores, count, 6, left, "even");
  if (over)
    job_add(j, "{\"kind\":\"end\",\"time\":\"W\",\"outcome\":\"even\",\"claim\":{\"tolerance\":0.0412,\"risk\":0.05},"
               "\"summary\":\"W\",\"repeats\":{\"repeatability\":0.012,\"degrees_of_freedom\":7}}");
}

static void read_job(const job *j, eb_account *account)
{
  eb_error error;
  assert_int_equal(eb_account_read(j->host, "job", account, &error), EB_OK);
}

static void write_history(const char *words, eb_report_form form, eb_text *text)
{
  eb_history *history = NULL;
  eb_error error;
  eb_report_options options = {.form = form};
  assert_int_equal(eb_history_create(eb_host_system(), words, &history, &error), EB_OK);
  for (int i = 0; i < 3; i++) {
    job j;
    eb_account account;
    play(&j, words, i < 2 ? twin : triplet, i < 2 ? 2 : 3, 0.2, 0.01, i != 1);
    read_job(&j, &account);
    assert_int_equal(eb_history_add(history, words, &account, &error), EB_OK);
    eb_account_clear(&account);
    job_end(&j);
  }
  assert_int_equal(eb_history_leave_out(history, words, words, &error), EB_OK);
  eb_text_init(text, eb_host_system());
  assert_int_equal(eb_history_write(history, &options, text, &error), EB_OK);
  eb_history_destroy(history);
}

static void write_comparison(const char *words, double found, eb_report_form form, eb_text *text)
{
  job a, b;
  eb_account first, second;
  eb_error error;
  eb_report_options options = {.form = form};
  play(&a, words, twin, 2, 0.2, 0.01, true);
  play(&b, words, twin, 2, found, 0.012, true);
  read_job(&a, &first);
  read_job(&b, &second);
  eb_text_init(text, eb_host_system());
  assert_int_equal(eb_compare_write(words, &first, words, &second, &options, text, &error), EB_OK);
  eb_account_clear(&first);
  eb_account_clear(&second);
  job_end(&a);
  job_end(&b);
}

static void check_page(const eb_text *page)
{
  const char *text = eb_text_string(page);
  assert_null(strstr(text, "<script"));
  assert_null(strstr(text, "<img"));
  assert_null(strstr(text, "onload='"));
  assert_null(strstr(text, "\xe2\x80\xae"));
  assert_null(strchr(text, '\x1b'));
  assert_non_null(strstr(text, "&lt;script&gt;alert(1)&lt;/script&gt;"));
}

static void no_text_becomes_markup(void **state)
{
  (void)state;
  eb_text page;
  write_history(hostile, EB_REPORT_PAGE, &page);
  check_page(&page);
  for (const char *at = eb_text_string(&page); (at = strstr(at, "<svg")) != NULL; at++) {
    const char *end = strstr(at, "</svg>");
    const char *title = strstr(at, "<title"), *description = strstr(at, "<desc");
    assert_true(title != NULL && title < end && description != NULL && description < end);
  }
  eb_text_clear(&page);
  write_comparison(hostile, 0.2, EB_REPORT_PAGE, &page);
  check_page(&page);
  eb_text_clear(&page);
}

static void no_text_becomes_a_formula_or_a_control_code(void **state)
{
  (void)state;
  static const eb_report_form forms[] = {EB_REPORT_TEXT, EB_REPORT_CSV};
  for (size_t i = 0; i < 2; i++) {
    eb_text text;
    write_history("=1+1\x1b[31m", forms[i], &text);
    assert_null(strchr(eb_text_string(&text), '\x1b'));
    assert_null(strstr(eb_text_string(&text), "\n=1+1"));
    eb_text_clear(&text);
    write_comparison("=1+1\x1b[31m", 0.2, forms[i], &text);
    assert_null(strchr(eb_text_string(&text), '\x1b'));
    assert_null(strstr(eb_text_string(&text), "\n=1+1"));
    eb_text_clear(&text);
  }
}

static void a_history_says_how_each_stands_and_what_differs(void **state)
{
  (void)state;
  eb_text text;
  write_history("red", EB_REPORT_TEXT, &text);
  assert_non_null(strstr(eb_text_string(&text), "3 sessions"));
  assert_non_null(strstr(eb_text_string(&text), "not over"));
  assert_non_null(strstr(eb_text_string(&text), "The bores differ by more than the doubt"));
  assert_non_null(strstr(eb_text_string(&text), "The bores are not the same, so nothing is compared"));
  assert_non_null(strstr(eb_text_string(&text), "Left out\n  red: red"));
  eb_text_clear(&text);
  eb_json *json = NULL;
  write_history("red", EB_REPORT_JSON, &text);
  assert_int_equal(eb_json_parse(text.bytes, text.size, &json, NULL), EB_OK);
  assert_int_equal(eb_json_count(eb_json_get(json, "sessions")), 3);
  assert_int_equal(eb_json_count(eb_json_get(json, "between")), 2);
  const eb_json *first = eb_json_at(eb_json_get(json, "between"), 0);
  assert_true(eb_json_get_bool(eb_json_get(first, "all"), "beyond", false));
  assert_true(eb_json_is_null(eb_json_get(eb_json_at(eb_json_get(json, "between"), 1), "all")));
  eb_json_destroy(json);
  eb_text_clear(&text);
}

static void the_same_journals_give_the_same_bytes(void **state)
{
  (void)state;
  for (int form = EB_REPORT_PAGE; form <= EB_REPORT_JSON; form++) {
    eb_text one, other;
    write_history("red", (eb_report_form)form, &one);
    write_history("red", (eb_report_form)form, &other);
    assert_string_equal(eb_text_string(&one), eb_text_string(&other));
    eb_text_clear(&one);
    eb_text_clear(&other);
  }
}

static void a_comparison_says_whether_it_is_more_than_doubt(void **state)
{
  (void)state;
  eb_text text;
  write_comparison("red", 0.2, EB_REPORT_TEXT, &text);
  assert_non_null(strstr(eb_text_string(&text), "The bores differ by more than the doubt"));
  assert_non_null(strstr(eb_text_string(&text), "The bores differ by no more than the doubt")); /* from end to end */
  eb_text_clear(&text);
  write_comparison("red", 0.013, EB_REPORT_TEXT, &text);
  assert_null(strstr(eb_text_string(&text), "The bores differ by more than the doubt"));
  eb_text_clear(&text);
}

static void refuses(const job *a, const job *b, const char *part)
{
  eb_account first, second;
  eb_error error;
  eb_text text;
  eb_report_options options = {.form = EB_REPORT_TEXT};
  eb_text_init(&text, eb_host_system());
  read_job(a, &first);
  read_job(b, &second);
  assert_int_equal(eb_compare_write("a", &first, "b", &second, &options, &text, &error), EB_MISMATCH);
  assert_non_null(strstr(error.message, part));
  eb_account_clear(&first);
  eb_account_clear(&second);
  eb_text_clear(&text);
}

static void what_does_not_compare_is_refused(void **state)
{
  (void)state;
  job two, three, nothing;
  play(&two, "red", twin, 2, 0.2, 0.01, true);
  play(&three, "red", triplet, 3, 0.2, 0.01, true);
  job_begin(&nothing, "red", twin);
  refuses(&two, &three, "only sessions about the same bores");
  refuses(&two, &nothing, "no verdict at idle");
  refuses(&two, &two, "the same session twice");
  job_end(&two);
  job_end(&three);
  job_end(&nothing);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(no_text_becomes_markup),
                                     cmocka_unit_test(no_text_becomes_a_formula_or_a_control_code),
                                     cmocka_unit_test(a_history_says_how_each_stands_and_what_differs),
                                     cmocka_unit_test(the_same_journals_give_the_same_bytes),
                                     cmocka_unit_test(a_comparison_says_whether_it_is_more_than_doubt),
                                     cmocka_unit_test(what_does_not_compare_is_refused)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
