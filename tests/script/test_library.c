#include "rig.h"

/* Runs `lines` inside `run` with a library file of the test's own. */
static eb_status run_with(script_rig *rig, const char *library_text, const char *lines)
{
  char text[4096];
  snprintf(text, sizeof text, "require 'own'\nreturn procedure { run = function()\n%s\nend }", lines);
  eb_source library[] = {rig_source("lib/api.lua", rig_api), rig_source("lib/own.lua", library_text)};
  eb_status status = rig_start_sized(rig, NULL, text, strlen(text), library, 2);
  return status == EB_OK ? rig_next(rig, "{}") : status;
}

static void expect_failure(const char *library_text, const char *lines, const char *place, const char *message)
{
  script_rig rig;
  assert_int_equal(run_with(&rig, library_text, lines), EB_SCRIPT);
  assert_string_equal(rig.error.message, message);
  assert_string_equal(rig.error.place, place);
  rig_end(&rig);
}

static const char class_text[] =
    "local calls = {}\n"
    "function calls.measure(job, what)\n"
    "  return core.request { op = 'ask', value = { what, job.name, core.kind(job), core.where() } }.value\n"
    "end\n"
    "function calls.twice(job, what) job:measure(what) return job:measure(what) end\n"
    "function calls.fault(job) local x = nil\n"
    "  return x.y end\n"
    "local new = core.class('job', calls)\n"
    "core.export('job', new { name = 'first', tolerance = 0.05 })\n"
    "core.export('fail_at', function(place) core.fail('no good', place) end)\n"
    "core.export('where', core.where)\n"
    "core.export('stray', calls.measure)\n";

static void objects_have_calls_and_fields_to_read(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(run_with(&rig, class_text,
                            "local r = job:measure('a')\nask { r, job.tolerance, tostring(job), type(job) }\n"
                            "job:twice(1)"),
                   EB_OK);
  assert_string_equal(
      rig.request,
      "{\"at\":\"v8.lua:3\",\"by\":\"lib/own.lua:3\",\"op\":\"ask\",\"value\":[\"a\",\"first\",\"job\",\"v8.lua:3\"]}");
  assert_int_equal(rig_next(&rig, "{\"value\":7}"), EB_OK);
  assert_non_null(strstr(rig.request, "\"value\":[7,0.05,\"job\",\"userdata\"]"));
  assert_int_equal(rig_next(&rig, "{}"), EB_OK);
  assert_non_null(strstr(rig.request, "\"at\":\"v8.lua:5\",\"by\":\"lib/own.lua:5\""));
  rig_end(&rig);
}

static void misuse_of_an_object_is_shown_at_the_authors_line(void **state)
{
  (void)state;
  expect_failure(class_text, "job:mesure()", "v8.lua:3",
                 "job:mesure: there is no such call; did you mean job:measure?");
  expect_failure(class_text, "\nlocal t = job.tolerence", "v8.lua:4",
                 "job.tolerence: there is no such field; did you mean job.tolerance?");
  expect_failure(class_text, "job:frobnicate()", "v8.lua:3", "job has nothing named frobnicate");
  expect_failure(class_text, "local x = job[1]", "v8.lua:3", "job: what is asked for must be a name, not a number");
  expect_failure(class_text, "job.measure('a')", "v8.lua:3", "job:measure is called with a colon: job:measure(...)");
  expect_failure(class_text, "job.measure()", "v8.lua:3", "job:measure is called with a colon: job:measure(...)");
  expect_failure(class_text, "job.tolerance = 1", "v8.lua:3", "job.tolerance cannot be set");
  expect_failure(class_text, "for k in pairs(job) do end", "v8.lua:3", "pairs: a table is needed, not a job");
  expect_failure(class_text, "ask { job }", "v8.lua:3", "value[1]: a job cannot be sent");
}

static void library_faults_name_both_lines(void **state)
{
  (void)state;
  expect_failure(class_text, "\njob:fault()", "lib/own.lua:7",
                 "attempt to index a nil value (local 'x') (called from v8.lua:4)");
  expect_failure(class_text, "\nfail_at()", "v8.lua:4", "no good");
  expect_failure(class_text, "local here = where()\n\nfail_at(here)", "v8.lua:3", "no good");
  expect_failure("local function f() error('broken') end f()", "", "lib/own.lua:1", "broken (called from v8.lua:1)");
  expect_failure("local t = {", "", "lib/own.lua:1",
                 "unexpected symbol near <eof>; something is missing or too much before it (called from v8.lua:1)");
}

static void a_file_is_required_once(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(
      run_with(&rig, "local n = 0 return { count = function() n = n + 1 return n end }",
               "local a, b = require 'own', require('own')\na.count()\nask { b.count(), a == b, require 'api' }"),
      EB_OK);
  assert_non_null(strstr(rig.request, "\"value\":[2,true,true]"));
  rig_end(&rig);
  expect_failure("require 'own'", "", "lib/own.lua:1",
                 "require: lib/own.lua is needed by a file that it needs itself (called from v8.lua:1)");
  expect_failure("", "require 'owm'", "v8.lua:3",
                 "require: there is no library file lib/owm.lua; did you mean \"own\"?");
  expect_failure("", "require 'lib/own'", "v8.lua:3",
                 "require: there is no library file lib/lib/own.lua, built in or beside the procedure");
  expect_failure("", "require(nil)", "v8.lua:3", "bad argument #1 to 'require' (string expected, got nil)");
  expect_failure("x = 1", "", "lib/own.lua:1",
                 "x cannot be set here; a name of your own begins with: local x (called from v8.lua:1)");
  expect_failure("core.request {}", "", "v8.lua:1",
                 "nothing can be asked or told here; only inside `run`, and not while a table is sorted");
  expect_failure("", "core.request {}", "v8.lua:3",
                 "there is no core here; a name of your own begins with: local core");
  expect_failure("core.export('math', 1)", "", "lib/own.lua:1",
                 "core.export: there is a math already (called from v8.lua:1)");
  expect_failure("core.request = 1", "", "lib/own.lua:1", "core.request cannot be changed (called from v8.lua:1)");
}

static void longer_cycles_and_missing_preludes_are_named(void **state)
{
  (void)state;
  script_rig rig;
  static const char text[] = "return procedure {}";
  eb_source library[] = {rig_source("lib/api.lua", "require 'b'"), rig_source("lib/b.lua", "\nrequire 'api'")};
  assert_int_equal(rig_start_sized(&rig, NULL, text, sizeof text - 1, library, 2), EB_SCRIPT);
  assert_string_equal(rig.error.message, "require: lib/api.lua is needed by a file that it needs itself");
  assert_string_equal(rig.error.place, "lib/b.lua:2");
  rig_end(&rig);
  assert_int_equal(rig_start_sized(&rig, NULL, text, sizeof text - 1, library, 0), EB_SCRIPT);
  assert_string_equal(rig.error.message,
                      "require: there is no library file lib/api.lua, built in or beside the procedure");
  rig_end(&rig);
}

static void helpers_of_libraries(void **state)
{
  (void)state;
  script_rig rig;
  static const char text[] =
      "core.export('look', function()\n"
      "  return { core.nearest('cupler', { 'link', 'coupler' }), core.nearest('x', {}) == nil,\n"
      "    core.kind(1) == nil, core.kind(core.null) == nil, tostring(core.null), core.array {}, {},\n"
      "    core.null, core.globals.look ~= nil }\n"
      "end)";
  assert_int_equal(run_with(&rig, text, "ask(look())"), EB_OK);
  assert_non_null(strstr(rig.request, "\"value\":[\"coupler\",true,true,true,\"null\",[],{},null,true]"));
  rig_end(&rig);
}

/* One answer a value: those that are right in every way, then those of which something has to be said. */
static void shapes_are_those_of_the_rows(void **state)
{
  (void)state;
  script_rig rig;
  static const char text[] =
      "local is, prompt, tell, move, read = core.is, core.shape 'confirm', core.shape 'tell', core.shape 'move',\n"
      "  core.shape 'job:read'\n"
      "local choose = core.shape 'job:choose'\n"
      "local function ask(options) return { key = 'k', title = 't', text = 'x', options = options } end\n"
      "core.export('right', function()\n"
      "  return { is('text', ''), is('whole', 2.0), is('bore', 7), is('bore', 'a'), is('texts', {}), is('pair', {}),\n"
      "    is('text|tell', {}), is('list of move', { {} }), is('rows', { { 1 }, {} }), is('any', 1), is('flag', "
      "false),\n"
      "    prompt { key = 'k', title = 't', text = 'x', hands = true, takes_off = { 'a' }, 7 }, tell { text = 'x' },\n"
      "    move { adjuster = 'a', move = -1, amount = 3 }, read(1), read('1', nil, true, 'open', {}),\n"
      "    choose(ask { { id = 'a', text = 'b' } }) }\n"
      "end)\n"
      "core.export('wrong', function()\n"
      "  return { is('text', 1), is('whole', 2.5), is('whole', 0/0), is('bore', 1.5), is('texts', { 1 }), is('text', "
      "nil),\n"
      "    is('text|tell', 1), is('list of move', { 1 }), is('rows', { 1 }), is('number', '1'), is('function', {}),\n"
      "    prompt {}, prompt { key = 'k', title = 't' }, tell { text = 'x', txt = 'x' }, tell { text = 'x', [true] = 1 "
      "},\n"
      "    tell { text = 1 }, tell { ['text\\0'] = 'x' }, tell { text = 'x', ['kind\\0'] = 'x' }, tell(math),\n"
      "    move { adjuster = 'a', move = 1.1 }, move { adjuster = 'a', move = 0/0 }, read(), read(1.5), read('1', 2),\n"
      "    choose(ask { { id = 'a' } }), choose(ask { 1 }), choose(ask(math)), choose {}, choose 'a' }\n"
      "end)";
  assert_int_equal(run_with(&rig, text, "ask(right())"), EB_OK);
  assert_non_null(strstr(rig.request, "\"value\":[true"));
  assert_null(strstr(rig.request, "false"));
  rig_end(&rig);
  assert_int_equal(run_with(&rig, text, "ask(wrong())"), EB_OK);
  assert_non_null(strstr(rig.request, "\"value\":[false"));
  assert_null(strstr(rig.request, "true"));
  rig_end(&rig);
}

static void a_procedure_is_what_the_library_made(void **state)
{
  (void)state;
  script_rig rig;
  assert_int_equal(rig_start(&rig, "local p = procedure { run = nil }\nreturn p"), EB_OK);
  rig_end(&rig);
  assert_int_equal(rig_start(&rig, "return { run = function() end }"), EB_SCRIPT);
  assert_string_equal(rig.error.message, "the file returns something else; end it with: return procedure { ... }");
  assert_string_equal(rig.error.place, "v8.lua");
  rig_end(&rig);
  assert_int_equal(rig_start(&rig, "ask { 1 }"), EB_SCRIPT);
  assert_string_equal(rig.error.place, "v8.lua:1");
  rig_end(&rig);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(objects_have_calls_and_fields_to_read),
      cmocka_unit_test(misuse_of_an_object_is_shown_at_the_authors_line),
      cmocka_unit_test(library_faults_name_both_lines),
      cmocka_unit_test(a_file_is_required_once),
      cmocka_unit_test(longer_cycles_and_missing_preludes_are_named),
      cmocka_unit_test(helpers_of_libraries),
      cmocka_unit_test(shapes_are_those_of_the_rows),
      cmocka_unit_test(a_procedure_is_what_the_library_made),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
