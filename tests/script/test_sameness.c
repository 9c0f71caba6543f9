/* The same script does the same: in another state, in another thread, in another locale. */
#include "comma_locale.h"
#include "rig.h"

#include <locale.h>
#include <pthread.h>
#include <stdlib.h>

/* Whatever might differ: order of keys, ties, addresses, texts of errors, decimal points. */
static const char script[] =
    "local function noise() local ok, text = pcall(function() return tostrng end) return text end\n"
    "return procedure { run = function()\n"
    "  local t = {}\n"
    "  for i = 1, 200 do t['key' .. (i * 7919) % 1000] = i end\n"
    "  local keys = {}\n"
    "  for k in pairs(t) do table.insert(keys, k) end\n"
    "  ask(keys)\n"
    "  table.sort(keys, function(a, b) return a:sub(4, 4) < b:sub(4, 4) end)\n"
    "  ask(keys)\n"
    "  for i = 1, 40 do\n"
    "    ask { tostring(t), tostring(noise), noise(), t, string.format('%.3f %s', i / 7, i / 7), tonumber('0.5'), 'a' "
    "< 'B' }\n"
    "  end\n"
    "end }\n";

enum { ALL_SIZE = 400000 };

/* All requests of a run, one a line; NULL where it does not end well. */
static void *run_all(void *argument)
{
  (void)argument;
  script_rig *rig = malloc(sizeof *rig);
  char *all = calloc(1, ALL_SIZE);
  size_t used = 0;
  eb_status status = rig_start(rig, script);
  for (int i = 0; i < 100 && status == EB_OK && strcmp(rig->request, "{\"op\":\"end\"}") != 0; i++) {
    used += (size_t)snprintf(all + used, ALL_SIZE - used, "%s\n", rig->request);
    status = rig_next(rig, "{\"value\":1}");
  }
  rig_end(rig);
  free(rig);
  if (status == EB_OK)
    return all;
  free(all);
  return NULL;
}

static void two_states_send_the_same_bytes(void **state)
{
  (void)state;
  char *first = run_all(NULL);
  assert_non_null(first);
  assert_non_null(strstr(first, "\"0.143 0.14285714285714\",0.5,false]"));
  for (int i = 0; i < 20; i++) {
    char *again = run_all(NULL);
    assert_string_equal(first, again);
    free(again);
  }
  free(first);
}

static void two_threads_do_not_meet(void **state)
{
  (void)state;
  char *first = run_all(NULL);
  pthread_t threads[2];
  for (int round = 0; round < 5; round++) {
    for (int i = 0; i < 2; i++)
      assert_int_equal(pthread_create(&threads[i], NULL, run_all, NULL), 0);
    for (int i = 0; i < 2; i++) {
      void *other = NULL;
      assert_int_equal(pthread_join(threads[i], &other), 0);
      assert_non_null(other);
      assert_string_equal(first, (char *)other);
      free(other);
    }
  }
  free(first);
}

static void the_threads_locale_does_not_matter_and_is_left(void **state)
{
  (void)state;
  const char *name = comma_locale();
  assert_non_null(name);
  /* Not by newlocale, which leaks the path that it searches. */
  assert_non_null(setlocale(LC_ALL, name));
  locale_t comma = duplocale(LC_GLOBAL_LOCALE);
  assert_true(comma != (locale_t)0);
  setlocale(LC_ALL, "C");
  char *first = run_all(NULL);
  locale_t before = uselocale(comma);
  char *again = run_all(NULL);
  assert_ptr_equal(uselocale((locale_t)0), comma);
  uselocale(before);
  assert_string_equal(first, again);
  free(first);
  free(again);
  freelocale(comma);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(two_states_send_the_same_bytes),
      cmocka_unit_test(two_threads_do_not_meet),
      cmocka_unit_test(the_threads_locale_does_not_matter_and_is_left),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
