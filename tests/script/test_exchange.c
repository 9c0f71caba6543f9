#include "rig.h"

static void a_run_is_declared_then_asked_then_ended(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(rig_start(&rig, "local p = procedure {\n"
                                   "  id = 'v8', run = function()\n"
                                   "    local a = ask { 'one' }\n"
                                   "    ask { a + 1 }\n"
                                   "  end }\n"
                                   "return p"),
                   EB_OK);
  assert_string_equal(rig.request, "{\"at\":\"v8.lua:1\",\"id\":\"v8\",\"op\":\"declare\"}");
  assert_int_equal(rig_next(&rig, "{}"), EB_OK);
  assert_string_equal(rig.request, "{\"at\":\"v8.lua:3\",\"by\":\"lib/api.lua:5\",\"op\":\"ask\",\"value\":[\"one\"]}");
  assert_int_equal(rig_next(&rig, "{\"value\":41}"), EB_OK);
  assert_string_equal(rig.request, "{\"at\":\"v8.lua:4\",\"by\":\"lib/api.lua:5\",\"op\":\"ask\",\"value\":[42]}");
  assert_int_equal(rig_next(&rig, "{}"), EB_OK);
  assert_string_equal(rig.request, "{\"op\":\"end\"}");
  rig_end(&rig);
}

static void a_refused_request_is_raised_at_the_authors_line(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(rig_run(&rig, NULL,
                           "local ok, text = pcall(ask, { 1 })\n"
                           "ask { text }\n"
                           "ask { 2 }"),
                   EB_OK);
  assert_int_equal(rig_next(&rig, "{\"error\":\"no such bore\"}"), EB_OK);
  assert_non_null(strstr(rig.request, "\"value\":[\"v8.lua:2: no such bore\"]"));
  assert_int_equal(rig_next(&rig, "{\"error\":\"nor that\"}"), EB_SCRIPT);
  assert_string_equal(rig.error.place, "v8.lua:3");
  assert_string_equal(rig.error.message, "nor that");
  rig_end(&rig);
}

static void a_tail_call_keeps_the_authors_line(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(rig_start(&rig, "\nreturn procedure { run = function()\n  return ask { 1 }\nend }"), EB_OK);
  assert_non_null(strstr(rig.request, "\"at\":\"v8.lua:2\""));
  assert_int_equal(rig_next(&rig, "{}"), EB_OK);
  assert_non_null(strstr(rig.request, "\"at\":\"v8.lua:3\""));
  rig_end(&rig);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_run_is_declared_then_asked_then_ended),
      cmocka_unit_test(a_refused_request_is_raised_at_the_authors_line),
      cmocka_unit_test(a_tail_call_keeps_the_authors_line),
  };
  int failed = cmocka_run_group_tests_name("in this thread", tests, NULL, NULL);
  return failed + cmocka_run_group_tests_name("in a process of its own", tests, rig_to_child, NULL);
}
