#include "rig.h"

#include <stdlib.h>

/* Lists what a procedure's globals hold, tables within tables included. */
static const char walker[] =
    "local function walk(prefix, names, out)\n"
    "  for name, value in pairs(names) do\n"
    "    table.insert(out, prefix .. name)\n"
    "    if type(value) == 'table' then walk(prefix .. name .. '.', value, out) end\n"
    "  end\n"
    "  return out\n"
    "end\n"
    "core.export('names', function() return table.concat(walk('', core.globals, {}), ' ') end)\n";

static const char allowed[] =
    "ask assert error ipairs math math.abs math.ceil math.deg math.floor math.fmod math.huge math.max "
    "math.maxinteger math.min math.mininteger math.modf math.pi math.rad math.sqrt math.tointeger math.type math.ult "
    "names pairs pcall procedure rawequal rawlen require select string string.byte string.char string.find "
    "string.format string.len string.lower string.rep string.split string.sub string.trim string.upper table "
    "table.concat table.insert table.remove table.sort table.unpack tonumber tostring type utf8 utf8.char "
    "utf8.codepoint utf8.codes utf8.len utf8.offset";

static void all_that_a_procedure_reaches_is_on_the_list(void **state)
{
  (void)state;
  script_rig rig;
  eb_source library[] = {rig_source("lib/api.lua", rig_api), rig_source("lib/walker.lua", walker)};
  static const char text[] = "require 'walker'\nreturn procedure { run = function() ask { names() } end }";
  assert_int_equal(rig_start_sized(&rig, NULL, text, sizeof text - 1, library, 2), EB_OK);
  assert_int_equal(rig_next(&rig, "{}"), EB_OK);
  char *names = strstr(rig.last.text, "\"value\":[\"");
  assert_non_null(names);
  names += strlen("\"value\":[\"");
  *strchr(names, '"') = '\0';
  assert_string_equal(names, allowed);
  rig_end(&rig);
}

static void what_is_dangerous_is_absent(void **state)
{
  (void)state;
  static const char *const absent[] = {"_G",
                                       "collectgarbage",
                                       "coroutine",
                                       "core",
                                       "debug",
                                       "dofile",
                                       "getmetatable",
                                       "io",
                                       "load",
                                       "loadfile",
                                       "loadstring",
                                       "math.acos",
                                       "math.asin",
                                       "math.atan",
                                       "math.cos",
                                       "math.exp",
                                       "math.log",
                                       "math.pow",
                                       "math.random",
                                       "math.randomseed",
                                       "math.sin",
                                       "math.tan",
                                       "module",
                                       "next",
                                       "os",
                                       "package",
                                       "print",
                                       "rawget",
                                       "rawset",
                                       "setfenv",
                                       "setmetatable",
                                       "string.dump",
                                       "string.gmatch",
                                       "string.gsub",
                                       "string.match",
                                       "string.pack",
                                       "string.packsize",
                                       "string.reverse",
                                       "string.unpack",
                                       "table.move",
                                       "table.pack",
                                       "unpack",
                                       "utf8.charpattern",
                                       "warn",
                                       "xpcall",
                                       "(''):gsub()",
                                       "(''):match()",
                                       "(''):dump()",
                                       "(''):gmatch()",
                                       "('x').y",
                                       "(''):pack()",
                                       "_VERSION",
                                       "require('io')",
                                       "require('/etc/passwd')",
                                       "require('../lib/api')",
                                       "require('')"};
  script_rig rig;
  for (size_t i = 0; i < sizeof absent / sizeof absent[0]; i++) {
    char expression[200];
    snprintf(expression, sizeof expression, "pcall(function() return %s end)", absent[i]);
    const char *value = rig_value(&rig, expression);
    if (strncmp(value, "[false,\"v8.lua:2: ", 18) != 0)
      fail_msg("%s gave %s", absent[i], value);
  }
}

static void unknown_names_are_errors_with_a_suggestion(void **state)
{
  (void)state;
  static const struct {
    const char *lines, *place, *message;
  } cases[] = {
      {"local x = 1\nlocal y = tostrng(x)", "v8.lua:3", "there is no tostrng here; did you mean tostring?"},
      {"math.flor(2)", "v8.lua:2", "there is no math.flor here; did you mean math.floor?"},
      {"\n\nfrobnicate()", "v8.lua:4", "there is no frobnicate here; a name of your own begins with: local frobnicate"},
      {"\ncount = 1", "v8.lua:3", "count cannot be set here; a name of your own begins with: local count"},
      {"math = nil", "v8.lua:2", "math cannot be set here; a name of your own begins with: local math"},
      {"math.floor = nil", "v8.lua:2", "math.floor cannot be changed"},
      {"string.x = 1", "v8.lua:2", "string.x cannot be changed"},
      {"table.insert(math, 1)", "v8.lua:2", "table.insert: this table cannot be changed"},
      {"print('x')", "v8.lua:2", "there is no print here; job:tell{...} shows a text to the technician"},
      {"local s = 'a'\ns:gsub('a', 'b')", "v8.lua:3",
       "there is no string.gsub here; there are no patterns: use split and table.concat"},
      {"local s = ('a').x", "v8.lua:2", "there is no string.x here"},
      {"local s = ('a')[1]", "v8.lua:2", "string: what is asked for must be a name, not a number"},
      {"function helper() end", "v8.lua:2", "helper cannot be set here; a name of your own begins with: local helper"},
  };
  script_rig rig;
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    assert_int_equal(rig_run(&rig, NULL, cases[i].lines), EB_SCRIPT);
    assert_string_equal(rig.error.message, cases[i].message);
    assert_string_equal(rig.error.place, cases[i].place);
    rig_end(&rig);
  }
}

/* The order in which a table keeps its keys differs between two states; an author must not see that. */
static void pairs_goes_by_numbers_then_by_bytes(void **state)
{
  (void)state;
  script_rig rig;
  assert_string_equal(
      rig_value(
          &rig,
          "(function() local s = '' for k, v in pairs { z = 1, B = 2, a = 3, ['ä'] = 4, ab = 5, [3] = 6, [-1] = 7, "
          "[2.5] = 8, [1] = 9, [''] = 10 } do s = s .. k .. '=' .. v .. ' ' end return s end)()"),
      "[\"-1=7 1=9 2.5=8 3=6 =10 B=2 a=3 ab=5 z=1 ä=4 \"]");
  assert_string_equal(rig_value(&rig, "pcall(pairs, { [true] = 1 })"),
                      "[false,\"pairs: a key is a boolean; only numbers and texts have an order\"]");
  assert_string_equal(rig_value(&rig,
                                "(function() local t, s = { a = 1, b = 2, c = 3 }, '' for k in pairs(t) do s = s .. k "
                                "t.b = nil t.d = 4 end return s end)()"),
                      "[\"ac\"]");
  assert_string_equal(rig_value(&rig, "(function() for k, v in pairs {} do return k end return 'none' end)()"),
                      "[\"none\"]");
  assert_string_equal(rig_value(&rig, "pcall(pairs)"), "[false,\"bad argument #1 to '?' (value expected)\"]");
  assert_string_equal(rig_value(&rig, "pcall(pairs, 1)"), "[false,\"pairs: a table is needed, not a number\"]");
}

static void no_text_shows_an_address(void **state)
{
  (void)state;
  script_rig rig;
  assert_string_equal(
      rig_value(&rig, "tostring({}), tostring(pairs), tostring(function() end), tostring(nil), "
                      "tostring(true), tostring(1), tostring(1.0), tostring(0.1), tostring('x'), "
                      "tostring(0/0), tostring(-(0/0)), tostring(1/0)"),
      "[\"table\",\"function\",\"function\",\"nil\",\"true\",\"1\",\"1.0\",\"0.1\",\"x\",\"nan\",\"nan\",\"inf\"]");
  assert_string_equal(rig_value(&rig, "string.format('%s %s %s|%5s|%-5s|%.1s', {}, nil, 1.5, 'a', 'b', 'cd')"),
                      "[\"table nil 1.5|    a|b    |c\"]");
  assert_string_equal(rig_value(&rig, "pcall(string.format, '%p', {})"),
                      "[false,\"string.format: there is no %p here\"]");
  assert_string_equal(rig_value(&rig, "pcall(string.format, '\\0 %5p', {})"),
                      "[false,\"string.format: there is no %p here\"]");
  assert_string_equal(rig_value(&rig, "pcall(string.format, '%', {})"),
                      "[false,\"invalid conversion '%' to 'format'\"]");
  assert_string_equal(rig_value(&rig, "pcall(error, {})"), "[false,{}]");
  assert_string_equal(rig_value(&rig, "pcall(function() return {} < {} end)"),
                      "[false,\"v8.lua:2: attempt to compare two table values\"]");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(all_that_a_procedure_reaches_is_on_the_list),
      cmocka_unit_test(what_is_dangerous_is_absent),
      cmocka_unit_test(unknown_names_are_errors_with_a_suggestion),
      cmocka_unit_test(pairs_goes_by_numbers_then_by_bytes),
      cmocka_unit_test(no_text_shows_an_address),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
