#include "rig.h"

#include <stdbool.h>
#include <time.h>

static double now_s(void)
{
  struct timespec now;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

typedef struct script_attack {
  const char *name, *lines;
  eb_status status;
  const char *place;
} script_attack;

/* Far above the 1.5 s of the budget, for slow machines and sanitizers; far below a hang. */
static const double longest_s = 10;

static bool holds(const script_attack *attack)
{
  script_rig rig;
  double begun_s = now_s();
  eb_status status = rig_run(&rig, NULL, attack->lines);
  rig_end(&rig);
  double used_s = now_s() - begun_s;
  print_message("%-40s %.3f s  %s: %s\n", attack->name, used_s, rig.error.place, rig.error.message);
  bool held = status == attack->status && strcmp(rig.error.place, attack->place) == 0 && used_s < longest_s;
  if (!held)
    print_error("%s: %s instead of %s, at \"%s\" instead of \"%s\"\n", attack->name, eb_status_word(status),
                eb_status_word(attack->status), rig.error.place, attack->place);
  return held;
}

static void nothing_runs_for_ever(void **state)
{
  (void)state;
  static const script_attack attacks[] = {
      {"endless loop", "while true do end", EB_BUDGET, "v8.lua:2"},
      {"endless loop under pcall", "while true do\npcall(function() while true do end end) end", EB_BUDGET, "v8.lua:3"},
      {"pcall in pcall", "pcall(pcall, pcall, function() while true do end end)\nask { 1 }", EB_BUDGET, "v8.lua:2"},
      {"endless repeat with goto", "::top:: goto top", EB_BUDGET, "v8.lua:2"},
      {"endless pairs", "local t = {}\nfor i = 1, 1e4 do t[i] = i end\nwhile true do for k in pairs(t) do end end",
       EB_BUDGET, "v8.lua:4"},
      {"pcall of an error for ever", "while true do pcall(error, 'x') end", EB_BUDGET, "v8.lua:2"},
      {"string.rep of nothing", "local s = ('').rep('', 1 << 62)\nask { s }\nwhile true do end", EB_OK, ""},
      {"string.rep bomb", "local s = ('a'):rep(1 << 30)", EB_SCRIPT, "v8.lua:2"},
      {"string.rep overflow", "local s = ('a'):rep(math.maxinteger, 'bc')", EB_SCRIPT, "v8.lua:2"},
      {"string.rep for ever", "while true do local s = ('a'):rep(65536) end", EB_BUDGET, "v8.lua:2"},
      {"find for ever", "local s = ('a'):rep(65535) local p = ('a'):rep(30000) .. 'b'\nwhile true do s:find(p) end",
       EB_BUDGET, "v8.lua:3"},
      {"split for ever", "local s = ('a,'):rep(30000)\nwhile true do s:split(',') end", EB_BUDGET, "v8.lua:3"},
      {"upper for ever", "local s = ('a'):rep(65000)\nwhile true do s:upper() end", EB_BUDGET, "v8.lua:3"},
      {"utf8.len for ever", "local s = ('a'):rep(65000)\nwhile true do utf8.len(s) end", EB_BUDGET, "v8.lua:3"},
      {"utf8.codepoint for ever", "local s = ('a'):rep(65000)\nwhile true do utf8.codepoint(s, 1, 30000) end",
       EB_BUDGET, "v8.lua:3"},
      {"tonumber for ever", "local s = ('1'):rep(65000)\nwhile true do tonumber(s) end", EB_BUDGET, "v8.lua:3"},
      {"concatenation", "local s = 'a'\nwhile true do s = s .. s end", EB_BUDGET, "v8.lua:3"},
      {"concatenation under pcall", "local s = 'a'\npcall(function() while true do s = s .. s end end)\nask { 1 }",
       EB_BUDGET, "v8.lua:3"},
      {"long texts compared",
       "local a, b = ('a'):rep(65000) .. 'b', ('a'):rep(65000) .. 'c'\nwhile true do local c = a < b end", EB_BUDGET,
       "v8.lua:3"},
      {"long texts as keys",
       "local t, n = {}, 0\nlocal s = ('a'):rep(65000)\nwhile true do n = n + 1 t[s .. n % 9] = n end", EB_BUDGET,
       "v8.lua:4"},
      {"table.concat bomb", "local t, s = {}, ('a'):rep(60000) for i = 1, 1000 do t[i] = s end\nreturn table.concat(t)",
       EB_SCRIPT, "v8.lua:3"},
      {"table.concat over a huge range", "table.concat({}, '', 1, math.maxinteger)", EB_SCRIPT, "v8.lua:2"},
      {"table.concat for ever",
       "local t = {} for i = 1, 9000 do t[i] = 'abcdef' end\nwhile true do table.concat(t) end", EB_BUDGET, "v8.lua:3"},
      {"table.insert at a huge border",
       "local t = {} for i = 0, 62 do t[1 << i] = 1 end for i = 1, 8 do t[i] = 1 end\nfor i = 1, 9 do table.insert(t, "
       "1, 1) end",
       EB_BUDGET, "v8.lua:3"},
      {"table.sort at a huge border",
       "local t = {} for i = 0, 62 do t[1 << i] = 1 end for i = 1, 8 do t[i] = 1 end\ntable.sort(t)", EB_BUDGET,
       "v8.lua:3"},
      {"table.remove at a huge border",
       "local t = {} for i = 0, 62 do t[1 << i] = 1 end for i = 1, 8 do t[i] = 1 end\ntable.remove(t, 1)", EB_BUDGET,
       "v8.lua:3"},
      {"table.unpack over a huge range", "table.unpack({}, 1, 1 << 62)", EB_SCRIPT, "v8.lua:2"},
      {"table.unpack around the integers", "table.unpack({}, math.mininteger, math.maxinteger)", EB_SCRIPT, "v8.lua:2"},
      {"sort that never agrees",
       "local t = {} for i = 1, 5000 do t[i] = i end\nwhile true do table.sort(t, function() return true end) end",
       EB_BUDGET, "v8.lua:3"},
      {"sort with an endless comparison", "table.sort({ 1, 2 }, function()\nwhile true do end end)", EB_BUDGET,
       "v8.lua:3"},
      {"memory hog", "local t = {}\nfor i = 1, 1e9 do t[i] = { i } end", EB_BUDGET, "v8.lua:3"},
      {"memory hog under pcall",
       "local t = {}\nlocal f = function() for i = 1, 1e9 do t[i] = { i } end end\n"
       "while true do pcall(f) end",
       EB_BUDGET, "v8.lua:4"},
      {"memory hog in a list of lists", "local t = {}\nwhile true do t = { t, {}, {}, {} } end", EB_BUDGET, "v8.lua:3"},
      {"rubbish near the limit",
       "local keep, n = {}, 0 for i = 1, 120 do keep[i] = ('abcdefghij'):rep(6000) .. i end\nwhile true do n = n + 1 "
       "local s = keep[1] .. 'x' end",
       EB_BUDGET, "v8.lua:3"},
      {"deep recursion", "local function f() return 1 + f() end\nf()", EB_BUDGET, "v8.lua:2"},
      {"deep recursion under pcall", "local function f() pcall(f) while true do end end\nf()", EB_BUDGET, "v8.lua:2"},
      {"deep recursion through sort", "local function f() table.sort({ 1, 2 }, f) end\nf()", EB_SCRIPT, "v8.lua:2"},
      {"deep recursion that handles itself",
       "local function f() local ok, e = pcall(f) error(e, 0) end\nwhile true do pcall(f) end", EB_BUDGET, "v8.lua:2"},
      {"endless tail calls", "local function f() return f() end\nf()", EB_BUDGET, "v8.lua:2"},
      {"varargs that grow", "local function f(...) return f(1, ...) end\nf()", EB_BUDGET, "v8.lua:2"},
      {"select over many",
       "local function f(...) while true do select(-1, ...) end end\nf(utf8.codepoint(('a'):rep(30000), 1, 30000))",
       EB_BUDGET, "v8.lua:2"},
      {"error with a table", "error({})", EB_SCRIPT, "v8.lua:2"},
      {"error with nothing", "error()", EB_SCRIPT, "v8.lua:2"},
      {"a close variable", "local x <close> = {}", EB_SCRIPT, "v8.lua:2"},
      {"pairs on a table that is too big to walk often",
       "local t = {} for i = 1, 60000 do t[i] = i end\nwhile true do pairs(t) end", EB_BUDGET, "v8.lua:3"},
      {"suggestions for ever", "while true do pcall(function() return tostrng end) end", EB_BUDGET, "v8.lua:2"},
      {"a nested table to send", "local t = {} for i = 1, 100 do t = { t } end\nask { t }", EB_SCRIPT, "v8.lua:3"},
      {"a table in itself to send", "local t = {} t.t = t\nask { t }", EB_SCRIPT, "v8.lua:3"},
      {"a wide tree to send", "local t = {} for i = 1, 30 do t = { t, t, t, t, t, t, t, t } end\nask { t }", EB_SCRIPT,
       "v8.lua:3"},
      {"format with wide fields", "while true do string.format('%99.99f', 1e308) end", EB_BUDGET, "v8.lua:2"},
  };
  int broken = 0;
  for (size_t i = 0; i < sizeof attacks / sizeof attacks[0]; i++)
    broken += !holds(&attacks[i]);
  assert_int_equal(broken, 0);
}

/* A processor that takes 100 ms for every large block, and no time for anything else. */
static void *allocate_slowly(void *context, void *block, size_t size)
{
  int64_t *used_ns = context;
  const eb_host *system = eb_host_system();
  *used_ns += size > 50000 ? 100000000 : 0;
  return system->allocate(system->context, block, size);
}

static int64_t slow_ns(void *context)
{
  return *(const int64_t *)context;
}

/* Between two answers a script may send many requests; what it does in between is counted together. */
static void time_between_requests_adds_up(void **state)
{
  (void)state;
  static const char text[] = "return procedure { run = function()\n"
                             "  local s = ('a'):rep(30000)\n"
                             "  while true do\n"
                             "    local t = s .. s\n"
                             "    tell()\n"
                             "  end\n"
                             "end }";
  static const char tells[] = "core.export('tell', function() core.request { op = 'tell' } end)\n";
  char library[sizeof rig_api + sizeof tells];
  snprintf(library, sizeof library, "%s%s", rig_api, tells);
  eb_source main = rig_source("v8.lua", text), api = rig_source("lib/api.lua", library);
  int64_t used_ns = 0;
  eb_host host = *eb_host_system();
  host.context = &used_ns;
  host.allocate = allocate_slowly;
  host.processor_ns = slow_ns;
  eb_runner runner = eb_script_runner(NULL);
  eb_procedure procedure;
  eb_error error;
  static request_text request;
  assert_int_equal(runner.start(runner.context, &host, &main, &api, 1, &procedure, &error), EB_OK);
  eb_status status = text_exchange(&procedure, NULL, &request, &error);
  for (int i = 0; i < 100 && status == EB_OK; i++)
    status = text_exchange(&procedure, "{}", &request, &error);
  procedure.destroy(procedure.self);
  assert_int_equal(status, EB_BUDGET);
  assert_non_null(strstr(error.message, "more than 1500 ms of work"));
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(nothing_runs_for_ever),
  };
  const struct CMUnitTest of_the_clock[] = {
      cmocka_unit_test(time_between_requests_adds_up),
  };
  int failed = cmocka_run_group_tests_name("by a clock of its own", of_the_clock, NULL, NULL);
  failed += cmocka_run_group_tests_name("in this thread", tests, NULL, NULL);
  return failed + cmocka_run_group_tests_name("in a process of its own", tests, rig_to_child, NULL);
}
