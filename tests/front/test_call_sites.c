/* Where a procedure's text asks: calls, and nothing that only looks like one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "call_sites.h"

/* All sites as "LINE NAME;". */
static const char *sites(const char *text)
{
  static char found[512];
  size_t at = 0, used = 0;
  unsigned line = 1;
  const char *call = NULL;
  found[0] = '\0';
  while (eb_call_site_next(text, strlen(text), &at, &line, &call))
    used += (size_t)snprintf(found + used, sizeof found - used, "%u %s;", line, call);
  return found;
}

static void calls_are_found_with_their_lines(void **state)
{
  (void)state;
  assert_string_equal(sites("job:confirm { key = 1 }\n\nif job:choose{} == x then job:must({}) end"),
                      "1 confirm;3 choose;3 must;");
  assert_string_equal(sites("local n = job\n  :number {\n text = job:line {} }"), "2 number;3 line;");
}

static void other_methods_are_none(void **state)
{
  (void)state;
  assert_string_equal(sites("job:start_engine() job:confirmed() job:reader() s:format() ::line:: a.line {}"), "");
}

static void words_are_passed_over(void **state)
{
  (void)state;
  assert_string_equal(sites("-- job:confirm {}\n--[[ job:confirm {}\n job:must {} ]]\njob:pass()"), "4 pass;");
  assert_string_equal(sites("--[==[ ]] job:read() ]==] job:read()"), "1 read;");
  assert_string_equal(sites("x = \"job:line \\\" job:line\" .. 'job:must' .. [[\njob:must]] job:must {}"), "2 must;");
  assert_string_equal(sites("a[1] = job:read(2)"), "1 read;");
}

static void a_definition_is_no_call(void **state)
{
  (void)state;
  assert_string_equal(sites("function job:confirm(x)\n  return self:line(x)\nend"), "2 line;");
  assert_string_equal(sites("f(function(job) job:confirm {} end)"), "1 confirm;");
}

static void torn_texts_end(void **state)
{
  (void)state;
  static const char *const torn[] = {"", ":", "job:confirm", "--[[ x", "\"abc", "[==[", "'\\", "function", "job:read"};
  for (size_t i = 0; i < sizeof torn / sizeof torn[0]; i++)
    sites(torn[i]);
  assert_int_equal(eb_line_count("a\nb\n", 4), 3);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(calls_are_found_with_their_lines),
      cmocka_unit_test(other_methods_are_none),
      cmocka_unit_test(words_are_passed_over),
      cmocka_unit_test(a_definition_is_no_call),
      cmocka_unit_test(torn_texts_end),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
