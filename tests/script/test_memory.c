/* Memory that runs out at every place, once and from there on. */
#include "rig.h"

#include <stdbool.h>

typedef struct scarce_memory {
  long left; /* allocations that still succeed; < 0: all */
  bool once;
  long held;  /* blocks */
  long asked; /* allocations so far */
} scarce_memory;

static void *allocate(void *context, void *block, size_t size)
{
  scarce_memory *have = context;
  const eb_host *system = eb_host_system();
  if (size == 0) {
    have->held -= block != NULL;
    return system->allocate(system->context, block, 0);
  }
  have->asked++;
  if (have->left == 0) {
    if (have->once)
      have->left = -1;
    return NULL;
  }
  have->left -= have->left > 0;
  have->held += block == NULL;
  return system->allocate(system->context, block, size);
}

static const char script[] = "local p = procedure { run = function()\n"
                             "  local t = {}\n"
                             "  for i = 1, 50 do t[i] = { name = 'n' .. i, text = ('x'):rep(i) } end\n"
                             "  table.sort(t, function(a, b) return #a.text > #b.text end)\n"
                             "  local s = ''\n"
                             "  for k, v in pairs(t[1]) do s = s .. k .. v end\n"
                             "  local r = ask { s, t[2], ('a,b'):split(',') }\n"
                             "  local ok, text = pcall(function() return r.nothing.here end)\n"
                             "  ask { ok, text, string.format('%5.1f %s', 2.5, r) }\n"
                             "end }\n"
                             "return p\n";

/* The whole run; the requests are added to `seen`. */
static eb_status run(scarce_memory *have, char *seen, size_t size)
{
  eb_host host = *eb_host_system();
  host.context = have;
  host.allocate = allocate;
  eb_source main = rig_source("v8.lua", script);
  eb_source api = rig_source("lib/api.lua", rig_api);
  eb_runner runner = eb_script_runner(NULL);
  eb_procedure procedure = {0};
  eb_error error;
  static const char *const replies[] = {NULL, "{}", "{\"value\":{\"a\":[1,2,3],\"b\":\"text\"}}", "{}"};
  seen[0] = '\0';
  eb_status status = runner.start(runner.context, &host, &main, &api, 1, &procedure, &error);
  for (size_t i = 0; i < sizeof replies / sizeof replies[0] && status == EB_OK; i++) {
    static request_text request;
    status = text_exchange(&procedure, replies[i], &request, &error);
    if (status == EB_OK)
      snprintf(seen + strlen(seen), size - strlen(seen), "%s\n", request.text);
  }
  if (procedure.destroy != NULL)
    procedure.destroy(procedure.self);
  if (status != EB_OK && status != EB_OUT_OF_MEMORY)
    fail_msg("%s: %s: %s", eb_status_word(status), error.place, error.message);
  assert_int_equal(have->held, 0);
  return status;
}

static char whole[8192];
static char seen[8192];

/* A collection may make room, so that one refused allocation need not end the run; a run that ends well is the same
 * run. */
static void every_allocation_may_fail(void **state)
{
  (void)state;
  scarce_memory plenty = {.left = -1};
  assert_int_equal(run(&plenty, whole, sizeof whole), EB_OK);
  assert_non_null(strstr(whole, "{\"op\":\"end\"}"));
  long ended = 0;
  long went_on = 0;
  for (long at = 0; at < plenty.asked; at++) {
    for (int once = 0; once < 2; once++) {
      scarce_memory have = {.left = at, .once = once};
      eb_status status = run(&have, seen, sizeof seen);
      ended += status != EB_OK;
      went_on += status == EB_OK;
      if (status == EB_OK)
        assert_string_equal(seen, whole);
    }
  }
  print_message("%ld allocations; %ld runs ended, %ld went on after a collection\n", plenty.asked, ended, went_on);
  assert_true(ended > plenty.asked);
}

/* The smallest memory that a run needs, and every size below it. */
static void every_limit_of_memory_holds(void **state)
{
  (void)state;
  eb_source api = rig_source("lib/api.lua", rig_api);
  long ended = 0;
  for (size_t memory = 0; memory < 100000; memory += 256) {
    eb_script_limits limits = eb_script_limits_usual();
    limits.memory = memory;
    script_rig rig;
    eb_status status = rig_start_sized(&rig, &limits, script, sizeof script - 1, &api, 1);
    if (status == EB_OK)
      status = rig_next(&rig, "{}");
    if (status != EB_OK && status != EB_BUDGET && status != EB_OUT_OF_MEMORY)
      fail_msg("%zu bytes: %s: %s", memory, eb_status_word(status), rig.error.message);
    ended += status != EB_OK;
    rig_end(&rig);
  }
  print_message("%ld of 391 limits ended the run\n", ended);
  assert_in_range(ended, 50, 350);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_allocation_may_fail),
      cmocka_unit_test(every_limit_of_memory_holds),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
