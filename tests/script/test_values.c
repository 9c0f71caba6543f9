#include "rig.h"

static void expect(const char *expression, const char *json)
{
  script_rig rig;
  const char *value = rig_value(&rig, expression);
  if (strcmp(value, json) != 0)
    fail_msg("%s sends %s instead of %s", expression, value, json);
}

static void expect_refusal(const char *expression, const char *message)
{
  script_rig rig;
  char lines[2000];
  snprintf(lines, sizeof lines, "\nask { %s }", expression);
  assert_int_equal(rig_run(&rig, NULL, lines), EB_SCRIPT);
  assert_string_equal(rig.error.place, "v8.lua:3");
  assert_string_equal(rig.error.message, message);
  rig_end(&rig);
}

static void lua_values_are_sent_as_json(void **state)
{
  (void)state;
  expect("1, 2.5, 'a', true, false", "[1,2.5,\"a\",true,false]");
  expect("{}, {{}}, {a = {}}", "[{},[{}],{\"a\":{}}]");
  expect("{b = 1, a = 2, ['']=3, B = 4, ['\xC3\xA4'] = 5}", "[{\"\":3,\"B\":4,\"a\":2,\"b\":1,\"\xC3\xA4\":5}]");
  expect("{1, 2, 3, [4] = 4}", "[[1,2,3,4]]");
  expect("'\\n\"\\\\\\t'", "[\"\\n\\\"\\\\\\t\"]");
  expect("999999999999999, -999999999999999, 1e300, -0.5, 2.0", "[999999999999999,-999999999999999,1e+300,-0.5,2]");
  expect("{{{{{{{{{{{{{ 1 }}}}}}}}}}}}}", "[[[[[[[[[[[[[[1]]]]]]]]]]]]]]");
}

/* The digits of a float beyond the 15th are lost at the first sending, and nothing after that. */
static void numbers_that_came_back_are_sent_as_they_were(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(
      rig_run(&rig, NULL, "local x = ask { 0.1 + 0.2, 1 / 3, 5e-324, 1e308, 123456789.123456789 }\nask(x)"), EB_OK);
  char first[300];
  char reply[400];
  snprintf(first, sizeof first, "%s", strstr(rig.request, "\"value\":"));
  snprintf(reply, sizeof reply, "{%s", first);
  assert_int_equal(rig_next(&rig, reply), EB_OK);
  assert_string_equal(strstr(rig.request, "\"value\":"), first);
  rig_end(&rig);
}

static void what_json_cannot_say_is_refused_at_the_authors_line(void **state)
{
  (void)state;
  expect_refusal("{ a = function() end }", "value[1].a: a function cannot be sent");
  expect_refusal("0/0", "value[1]: not a number (0/0)");
  expect_refusal("{ x = { 1, -1/0 } }", "value[1].x[2]: an infinite number");
  expect_refusal("1000000000000000", "value[1]: a whole number of more than 15 digits is not exact");
  expect_refusal("'\\xff'", "value[1]: the text is not UTF-8");
  expect_refusal("'\\u{D800}'", "value[1]: the text is not UTF-8");
  expect_refusal("'a\\0b'", "value[1]: a text with a NUL character cannot be shown");
  expect_refusal("{ ['\\xff'] = 1 }", "value[1]: the text is not UTF-8");
  expect_refusal("{ 1, nil, 3 }", "value[1][1]: the table has names and numbers among its keys, or numbers with holes");
  expect_refusal("{ 1, a = 2 }", "value[1][1]: the table has names and numbers among its keys, or numbers with holes");
  expect_refusal("{ [1.5] = 2 }", "value[1][1]: the table has names and numbers among its keys, or numbers with holes");
  expect_refusal("{ [0] = 2 }", "value[1][1]: the table has names and numbers among its keys, or numbers with holes");
  expect_refusal("{ [true] = 2 }", "value[1]: a table's keys must be names, or 1, 2, 3, ...");
  expect_refusal("{ a = ('x'):rep(60000), b = ('x'):rep(60000) }",
                 "value[1].b: too much at once; one request has at most 64 KiB");
  expect_refusal("('\\n'):rep(40000)", "value[1]: too much at once; one request has at most 64 KiB");
}

static void replies_become_lua_values(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(
      rig_run(&rig, NULL,
              "local r = ask { 1 }\n"
              "ask { r.a, math.type(r.a), math.type(r.b), math.type(r.c), r.d == nil, #r.list, r.list[2], r.text,"
              " r.empty, r.list[3] ~= nil, tostring(r.list[3]), r.none, r.yes }\n"
              "table.insert(r.empty, 'x')\nask { r.empty, r.list }"),
      EB_OK);
  assert_int_equal(
      rig_next(&rig,
               "{\"value\":{\"a\":4.0,\"b\":4.5,\"c\":1e300,\"d\":null,\"list\":[1,2,null],\"text\":\"\\u00e4\\n\","
               "\"empty\":[],\"none\":{},\"yes\":true}}"),
      EB_OK);
  assert_non_null(strstr(
      rig.request, "\"value\":[4,\"integer\",\"float\",\"float\",true,3,2,\"\xC3\xA4\\n\",[],true,\"null\",{},true]"));
  assert_int_equal(rig_next(&rig, "{}"), EB_OK);
  assert_non_null(strstr(rig.request, "\"value\":[[\"x\"],[1,2,null]]"));
  rig_end(&rig);
}

static void a_reply_that_is_not_json_ends_the_run(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(rig_run(&rig, NULL, "ask { 1 }"), EB_OK);
  assert_int_equal(rig_next(&rig, "{\"value\":"), EB_BAD_VALUE);
  rig_end(&rig);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(lua_values_are_sent_as_json),
      cmocka_unit_test(numbers_that_came_back_are_sent_as_they_were),
      cmocka_unit_test(what_json_cannot_say_is_refused_at_the_authors_line),
      cmocka_unit_test(replies_become_lua_values),
      cmocka_unit_test(a_reply_that_is_not_json_ends_the_run),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
