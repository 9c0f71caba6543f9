/* The spelling of texts that travel: written, read back, and nothing else read. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/host.h"
#include "evenbore/json.h"

static eb_text written(const char *json)
{
  eb_json *value = NULL;
  eb_text text;
  assert_int_equal(eb_json_parse(json, strlen(json), &value, NULL), EB_OK);
  eb_text_init(&text, eb_host_system());
  eb_json_write_mail(&text, value);
  assert_false(text.failed);
  eb_json *again = NULL;
  assert_int_equal(eb_json_parse_mail(eb_host_system(), "t", text.bytes, text.size, &again, NULL), EB_OK);
  assert_true(eb_json_equal(again, value));
  eb_json_destroy(again);
  eb_json_destroy(value);
  return text;
}

static void a_member_a_line(void **state)
{
  (void)state;
  static const struct {
    const char *json, *text;
  } known[] = {
      {"1", "1\n"},
      {"[]", "[]\n"},
      {"{}", "{}\n"},
      {"\"a b\"", "\"a b\"\n"},
      {"{\"a\": [1, true, null, 0.5], \"b\": {\"c\": \"d\"}}",
       "{\n\"a\":[\n1,\ntrue,\nnull,\n0.5\n],\n\"b\":{\n\"c\":\"d\"\n}\n}\n"},
      {"[\"\\u00e4\\ud83d\\ude00\\t\\\"\\\\/\\b\\u007f\\r\"]",
       "[\n\"\\u00e4\\ud83d\\ude00\\t\\\"\\\\/\\u0008\\u007f\\r\"\n]\n"},
      {"[\"a\\n\"]", "[\n\"a\\n\"\n]\n"},
      {"[\"a\\nb\"]", "[\n{\n\"lines\":[\n\"a\\n\",\n\"b\"\n]\n}\n]\n"},
      {"[\"\\n\\n\"]", "[\n{\n\"lines\":[\n\"\\n\",\n\"\\n\"\n]\n}\n]\n"},
      {"[\"123456789 123456789 123456789 123456789 123456789 123456\"]",
       "[\n\"123456789 123456789 123456789 123456789 123456789 123456\"\n]\n"},
      {"[\"123456789 123456789 123456789 123456789 123456789 123456789 12345678\\u00e4\"]",
       "[\n{\n\"lines\":[\n\"123456789 123456789 123456789 123456789 123456789 123456789 "
       "12345678\",\n\"\\u00e4\"\n]\n}\n]\n"},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    eb_text text = written(known[i].json);
    assert_string_equal(text.bytes, known[i].text);
    eb_text_clear(&text);
  }
}

static void no_other_spelling_is_read(void **state)
{
  (void)state;
  static const struct {
    const char *text, *place;
  } wrong[] = {
      {"{\n\"a\": 1\n}\n", "t:2"},
      {"{\"a\":1}", "t:1"},
      {" 1\n", "t:1"},
      {"1 \n", "t:1"},
      {"\n1\n", "t:1"},
      {"1\r", NULL},
      {"1\n\r\n\n", NULL},
      {"{\r\n\"a\":1\r\n}", NULL},
      {"{\n\r\"a\":1\n}\n", "t:2"},
      {"{\r\"a\":1\n}\n", "t:1"},
      {"[\n1.0\n]\n", "t:2"},
      {"[\n1e3\n]\n", "t:2"},
      {"[\n\"\\u0061\"\n]\n", "t:2"},
      {"[\n\"\\/\"\n]\n", "t:2"},
      {"[\n\"\\u00E4\"\n]\n", "t:2"},
      {"[\n\"\xC3\xA4\"\n]\n", "t:2"},
      {"[\n{\n\"lines\":[\n\"a\"\n]\n}\n]\n", "t:2"},
      {"[\n{\n\"lines\":[\n\"a\",\n\"\\nb\"\n]\n}\n]\n", "t:4"},
      {"[\n{\n\"lines\":[\n\"\",\n\"a\\n\",\n\"b\"\n]\n}\n]\n", "t:4"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_json *value = NULL;
    eb_error error = {.place = ""};
    eb_status status = eb_json_parse_mail(eb_host_system(), "t", wrong[i].text, strlen(wrong[i].text), &value, &error);
    if (status != (wrong[i].place == NULL ? EB_OK : EB_BAD_VALUE) ||
        (wrong[i].place != NULL && strcmp(error.place, wrong[i].place) != 0))
      fail_msg("%s: %s, %s", wrong[i].text, eb_status_word(status), error.place);
    eb_json_destroy(value);
  }
  eb_json *value = NULL;
  eb_error error;
  static const char *const none[] = {"", "\n", "{", "1\n2\n", "{\n\"a\":1,\n\"a\":1\n}\n", "[\n1\n]\nx\n"};
  for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
    assert_int_equal(eb_json_parse_mail(eb_host_system(), "t", none[i], strlen(none[i]), &value, &error), EB_BAD_VALUE);
}

static void what_is_no_text_fails(void **state)
{
  (void)state;
  eb_json *value = eb_json_from_string("a\xFF");
  eb_text text;
  eb_text_init(&text, eb_host_system());
  eb_json_write_mail(&text, value);
  assert_true(text.failed);
  eb_text_clear(&text);
  eb_json_destroy(value);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_member_a_line),
      cmocka_unit_test(no_other_spelling_is_read),
      cmocka_unit_test(what_is_no_text_fails),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
