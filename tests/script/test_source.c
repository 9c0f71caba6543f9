#include "rig.h"

#include <stdbool.h>
#include <time.h>

static double now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static char text[EB_PROCEDURE_SOURCE_MAX + 16];

/* head, then unit as often as it fits, then tail */
static size_t fill(const char *head, const char *unit, const char *tail)
{
  size_t size = (size_t)snprintf(text, sizeof text, "%s", head);
  while (size + strlen(unit) + strlen(tail) <= EB_PROCEDURE_SOURCE_MAX) {
    memcpy(text + size, unit, strlen(unit));
    size += strlen(unit);
  }
  memcpy(text + size, tail, strlen(tail));
  return size + strlen(tail);
}

static eb_status load(script_rig *rig, size_t size)
{
  eb_source api = rig_source("lib/api.lua", rig_api);
  eb_status status = rig_start_sized(rig, NULL, text, size, &api, 1);
  rig_end(rig);
  return status;
}

/* Every pattern fills a whole source. Each is refused, or harmless and ends without a procedure. */
static void no_source_takes_long_to_read(void **state)
{
  (void)state;
  static const struct {
    const char *head, *unit, *tail, *message;
  } patterns[] = {
      {"local x\nlocal y = x", " and x", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local x\nlocal y = x", " or x", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local x\nlocal y = not (x", " and x == x", ")",
       "more than 400 operators, members and calls in one expression; split it"},
      {"local x\nif x", "\nand x", " then end",
       "more than 400 operators, members and calls in one expression; split it"},
      {"local a = {} a.a = a\nlocal y = a", ".a", ".b.c",
       "more than 400 operators, members and calls in one expression; split it"},
      {"local a = {}\nlocal y = a", "[a]", "",
       "more than 400 operators, members and calls in one expression; split it"},
      {"local a\nlocal y = a", ":a()", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local a\na", "()", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local a\na", "{}", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local a\na", "''", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local a\na", ".a--[[\n]]", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local a\na", ".a--[=[ ]] ' \n]=]", "",
       "more than 400 operators, members and calls in one expression; split it"},
      {"local a = 1\nlocal y = a", "+a", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local a = 1\nlocal y = a", "..a", "", "more than 400 operators, members and calls in one expression; split it"},
      {"local a = 1\nlocal y = ", "- ", "a", "more than 400 operators, members and calls in one expression; split it"},
      {"local y = ", "(", "1", "more than 180 brackets inside one another"},
      {"local y = ", "{", "", "more than 180 brackets inside one another"},
      {"local y = a", "[a", "", "more than 180 brackets inside one another"},
      {"", "do ", "", "blocks or expressions are too deep inside one another"},
      {"", "local f = function() ", "", "blocks or expressions are too deep inside one another"},
      {"", "repeat ", "", "blocks or expressions are too deep inside one another"},
      {"local a\na", ",a", "= 1", "blocks or expressions are too deep inside one another"},
      {"", "::a::", "", NULL},
      {"", " goto a", " ::a::", NULL},
      {"local x if x then ", "elseif x then ", "end", NULL},
      {"while false do ", "if x then break end ", "end", NULL},
      {"local y = ", "9", "", NULL},
      {"local y = 0x", "f", "p1", NULL},
      {"local y = 0.", "9", "e-5", NULL},
      {"local y = \"", "\\u{7FFFFFFF}", "\"", NULL},
      {"x=[[", "]=", "", NULL},
      {"x=[", "=", "", NULL},
      {"", "]", "", NULL},
      {"", "\n", "", "the file returns nothing; end it with: return procedure { ... }"},
      {"", ";", "", "the file returns nothing; end it with: return procedure { ... }"},
      {"local t = {", "1,", "}", "the file returns nothing; end it with: return procedure { ... }"},
      {"", "local f = function() end ", "", NULL},
      {"", "do local f = function() end end ", "", "the file returns nothing; end it with: return procedure { ... }"},
  };
  for (size_t i = 0; i < sizeof patterns / sizeof patterns[0]; i++) {
    script_rig rig;
    size_t size = fill(patterns[i].head, patterns[i].unit, patterns[i].tail);
    double begun_s = now_s();
    eb_status status = load(&rig, size);
    double used_s = now_s() - begun_s;
    print_message("%-24.24s %.3f s  %s: %.60s\n", patterns[i].unit, used_s, rig.error.place, rig.error.message);
    assert_int_equal(status, EB_SCRIPT);
    assert_memory_equal(rig.error.place, "v8.lua", 6);
    if (patterns[i].message != NULL)
      assert_string_equal(rig.error.message, patterns[i].message);
    assert_true(used_s < 2);
  }
}

static void the_limits_leave_room(void **state)
{
  (void)state;
  script_rig rig;
  char chain[4000] = "local a = {} a.a = a local y = a";
  for (int i = 0; i < 390; i++)
    strcat(chain, ".a");
  strcat(chain, "\nlocal z = a.a.a.b.c");
  assert_int_equal(rig_run(&rig, NULL, chain), EB_SCRIPT);
  assert_string_equal(rig.error.place, "v8.lua:3");
  assert_string_equal(rig.error.message, "attempt to index a nil value (field 'b')");
  rig_end(&rig);
  size_t size = fill("local t = {\n", "{ 'a', b = { 1 + 2, \"x\" .. 'y' } },\n", "}");
  assert_int_equal(load(&rig, size), EB_SCRIPT);
  assert_string_equal(rig.error.message, "the file returns nothing; end it with: return procedure { ... }");
}

static void a_source_is_plain_text(void **state)
{
  (void)state;
  static const struct {
    const char *bytes;
    size_t size; /* 0: to the first NUL */
    const char *place, *message;
  } cases[] = {
      {"\x1BLua\x54", 0, "v8.lua:1", "compiled Lua; a procedure is text"},
      {"#!/usr/bin/lua\nreturn 1", 0, "v8.lua:1",
       "a procedure is not run by a shell; take the line that begins with # out"},
      {"local a\n\n = \"\0\"", 14, "v8.lua:3", "a NUL character; a procedure is text"},
      {"\n-- caf\xE9\n", 0, "v8.lua:2", "the file is not UTF-8 here; save it as UTF-8"},
      {"\n\n-- a\xE2\x80\xAE"
       "b",
       0, "v8.lua:3", "U+202E hides or reorders text; in a string write it as \\u{202E}"},
      {"local a = 1\nlocal _ENV = {}", 0, "v8.lua:2", "_ENV has no meaning in a procedure"},
      {"local a = 1\nlocal function f(_ENV) return a end", 0, "v8.lua:2", "_ENV has no meaning in a procedure"},
      {"", 0, "v8.lua", "the file returns nothing; end it with: return procedure { ... }"},
      {"return {}", 0, "v8.lua", "the file returns something else; end it with: return procedure { ... }"},
      {"local a = {\n  b = 1\n", 0, "v8.lua:3",
       "'}' expected (to close '{' at line 1) near <eof>; the } that closes it is missing"},
      {"local a = {\r\n  b = 1\r\n", 0, "v8.lua:3",
       "'}' expected (to close '{' at line 1) near <eof>; the } that closes it is missing"},
      {"local a = [[\n", 0, "v8.lua:2", "unfinished long string (starting at line 1) near <eof>; close it with ]]"},
      {"local a = 'x\n", 0, "v8.lua:1",
       "unfinished string near ''x'; close it with the same quote before its line ends"},
      {"local a = 3x", 0, "v8.lua:1",
       "malformed number near '3x'; a name begins with a letter, and a text stands in quotes"},
      {"\nlocal s = 'a\\\r\nb' .. _ENV", 0, "v8.lua:3", "_ENV has no meaning in a procedure"},
      {"local s = 'a\\z  \n  b' .. _ENV", 0, "v8.lua:2", "_ENV has no meaning in a procedure"},
      {"local s = [==[ ]=] ' ]==] .. _ENV", 0, "v8.lua:1", "_ENV has no meaning in a procedure"},
      {"--[==[ ]=] ' ]==] x = _ENV", 0, "v8.lua:1", "_ENV has no meaning in a procedure"},
      {"--[=x _ENV\nx = _ENV", 0, "v8.lua:2", "_ENV has no meaning in a procedure"},
      {"x = 0x.p-1 .. 1e+5 .. 3..2 .. _ENV", 0, "v8.lua:1", "_ENV has no meaning in a procedure"},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    script_rig rig;
    size_t size = cases[i].size > 0 ? cases[i].size : strlen(cases[i].bytes);
    memcpy(text, cases[i].bytes, size);
    assert_int_equal(load(&rig, size), EB_SCRIPT);
    assert_string_equal(rig.error.message, cases[i].message);
    assert_string_equal(rig.error.place, cases[i].place);
  }
}

/* A byte order mark and Windows line ends are what editors write; neither changes a line's number. */
static void marks_and_line_ends_of_editors_are_taken(void **state)
{
  (void)state;
  script_rig rig;
  static const char windows[] =
      "\xEF\xBB\xBF-- caf\xC3\xA9\r\nlocal p = procedure {\r\n run = function()\r\n ask { '\xC3\xA4' } end }\r\n"
      "return p\r\n";
  assert_int_equal(rig_start(&rig, windows), EB_OK);
  assert_int_equal(rig_next(&rig, "{}"), EB_OK);
  assert_non_null(strstr(rig.request, "\"at\":\"v8.lua:4\""));
  assert_non_null(strstr(rig.request, "[\"\xC3\xA4\"]"));
  rig_end(&rig);
}

static void sizes_and_names_are_checked_before_anything_runs(void **state)
{
  (void)state;
  eb_runner runner = eb_script_runner(NULL);
  eb_procedure procedure = {0};
  eb_error error;
  memset(text, '\n', sizeof text);
  eb_source sources[] = {
      {.name = "v8.lua", .text = text, .size = EB_PROCEDURE_SOURCE_MAX + 1},
      {.name = "lib/v8.lua", .text = text, .size = 1},
      {.name = "folder/v8.lua", .text = text, .size = 1},
      {.name = "", .text = text, .size = 1},
      {.name = "a-name-that-is-longer-than-what-lua-shows-of-it-in-messages.lua", .text = text, .size = 1},
  };
  for (size_t i = 0; i < sizeof sources / sizeof sources[0]; i++)
    assert_int_equal(runner.start(runner.context, eb_host_system(), &sources[i], NULL, 0, &procedure, &error),
                     EB_SCRIPT);
  eb_source good = rig_source("v8.lua", "return 1");
  eb_source outside = rig_source("api.lua", "return 1");
  assert_int_equal(runner.start(runner.context, eb_host_system(), &good, &outside, 1, &procedure, &error), EB_SCRIPT);
  assert_string_equal(error.place, "api.lua");
  assert_int_equal(runner.start(runner.context, eb_host_system(), &good, &outside, 17, &procedure, &error), EB_SCRIPT);
  assert_null(procedure.destroy);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_source_takes_long_to_read),
      cmocka_unit_test(the_limits_leave_room),
      cmocka_unit_test(a_source_is_plain_text),
      cmocka_unit_test(marks_and_line_ends_of_editors_are_taken),
      cmocka_unit_test(sizes_and_names_are_checked_before_anything_runs),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
