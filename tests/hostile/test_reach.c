/* Every value that a procedure can lay hands on, compared with a list that a person has gone over: reachable.txt
 * (with REACH set in the environment the program prints it anew).
 * The walk starts at the names of a procedure's file, the job, an adjuster, and each library file that can be required;
 * it follows tables, views, and objects with their calls and fields.  What is on the list as "hidden" is a
 * field that an author cannot read; other tables than views would be the library's own to be changed. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "environment.h"
#include "machine.h"
#include "view.h"

#include "evenbore/script.h"
#include "text_exchange.h"

enum { LINES_MAX = 1000, NAME_SIZE = 120, LEVELS = 6 };

static char found[LINES_MAX][NAME_SIZE];
static int found_count;

/* Of the functions in a library file's view there is nothing to say: they hold no state that can be reached. */
static bool is_plain(const char *name, const char *kind)
{
  return strncmp(name, "require_", 8) == 0 && strchr(name, '.') != NULL && strcmp(kind, "function") == 0;
}

static void note(const char *name, const char *kind)
{
  if (is_plain(name, kind))
    return;
  assert_true(found_count < LINES_MAX);
  snprintf(found[found_count++], NAME_SIZE, "%s %s", name, kind);
}

static void walk(lua_State *L, const char *name, int level);

/* The table on top of the stack, whose names follow `prefix`. */
static void walk_table(lua_State *L, const char *prefix, const char *dot, int level)
{
  assert_true(level < LEVELS);
  for (lua_pushnil(L); lua_next(L, -2) != 0; lua_pop(L, 1)) {
    char name[NAME_SIZE];
    char key[NAME_SIZE / 2];
    lua_pushvalue(L, -2);
    snprintf(key, sizeof key, "%s", lua_tostring(L, -1));
    lua_pop(L, 1);
    snprintf(name, sizeof name, "%.58s%s%.58s", prefix, dot, key);
    walk(L, name, level + 1);
  }
}

/* An object's calls are behind its metatable's __index, its fields with itself. */
static void walk_object(lua_State *L, const char *name, int level)
{
  assert_true(lua_getmetatable(L, -1));
  lua_getfield(L, -1, "__index");
  assert_non_null(lua_getupvalue(L, -1, 1));
  walk_table(L, name, ":", level);
  lua_pop(L, 3);
  lua_getiuservalue(L, -1, 1);
  for (lua_pushnil(L); lua_next(L, -2) != 0; lua_pop(L, 1)) {
    char field[NAME_SIZE];
    snprintf(field, sizeof field, "%.58s.%.58s", name, lua_tostring(L, -2));
    if (lua_istable(L, -1))
      note(field, "hidden");
    else
      walk(L, field, level + 1);
  }
  lua_pop(L, 1);
}

static void walk(lua_State *L, const char *name, int level)
{
  luaL_checkstack(L, 20, NULL);
  if (view_open(L, -1)) {
    note(name, "view");
    walk_table(L, name, ".", level);
    lua_pop(L, 1);
  } else if (lua_type(L, -1) == LUA_TUSERDATA) {
    note(name, "object");
    walk_object(L, name, level);
  } else {
    note(name, luaL_typename(L, -1));
    if (lua_istable(L, -1))
      walk_table(L, name, ".", level);
  }
}

/* The function `run` waits in its first prompt: its locals are what an author has. */
static void walk_locals(lua_State *L)
{
  lua_Debug frame;
  for (int level = 0; lua_getstack(L, level, &frame); level++) {
    lua_getinfo(L, "S", &frame);
    if (strcmp(frame.short_src, "reach.lua") != 0)
      continue;
    const char *name;
    for (int i = 1; (name = lua_getlocal(L, &frame, i)) != NULL; i++) {
      if (name[0] != '(')
        walk(L, name, 0);
      lua_pop(L, 1);
    }
    return;
  }
  fail_msg("the procedure does not wait in its run");
}

static int by_bytes(const void *a, const void *b)
{
  return strcmp(a, b);
}

static void write_source(char *text, size_t size)
{
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  int used = snprintf(text, size,
                      "return procedure { id = 'reach', version = '1', api = 1, title = 'Reach',\n"
                      "layout = { rows = { { 1, 2 } }, adjusters = { screw { 's', { 1 }, { 2 } } } },\n"
                      "run = function(job)\nlocal adjuster = plate { 'p', { 1 } }\n");
  for (size_t i = 0; i < count; i++) {
    char base[64];
    snprintf(base, sizeof base, "%s", library[i].name + 4);
    *strchr(base, '.') = '\0';
    used += snprintf(text + used, size - (size_t)used, "local require_%s = require '%s'\n", base, base);
  }
  snprintf(text + used, size - (size_t)used,
           "job:confirm { key = 'k', title = 'T', text = 'T' }\nreturn adjuster\nend }\n");
}

static void exchange(eb_procedure *run, const char *reply, const char *op)
{
  static request_text request;
  eb_error error;
  if (text_exchange(run, reply, &request, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  assert_non_null(strstr(request.text, op));
}

static void compare_with_list(void)
{
  FILE *file = fopen(EB_TESTS_FOLDER "/hostile/reachable.txt", "r");
  assert_non_null(file);
  char line[NAME_SIZE + 2];
  int at = 0;
  int wrong = 0;
  while (fgets(line, sizeof line, file) != NULL) {
    line[strcspn(line, "\n")] = '\0';
    if (line[0] == '#' || line[0] == '\0')
      continue;
    while (at < found_count && strcmp(found[at], line) < 0)
      print_error("not on the list: %s\n", found[at++]), wrong++;
    if (at < found_count && strcmp(found[at], line) == 0)
      at++;
    else
      print_error("not reached any more: %s\n", line), wrong++;
  }
  for (; at < found_count; at++, wrong++)
    print_error("not on the list: %s\n", found[at]);
  fclose(file);
  assert_int_equal(wrong, 0);
}

static void what_a_procedure_reaches_is_on_the_list(void **state)
{
  (void)state;
  char text[4000];
  write_source(text, sizeof text);
  eb_source main = {.name = "reach.lua", .text = text, .size = strlen(text)};
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_runner runner = eb_script_runner(NULL);
  eb_procedure run;
  eb_error error;
  assert_int_equal(runner.start(runner.context, eb_host_system(), &main, library, count, &run, &error), EB_OK);
  exchange(&run, NULL, "\"declare\"");
  exchange(&run, "{}", "\"state\"");
  exchange(&run, "{\"inputs\":{}}", "\"ask\"");
  script_machine *machine = run.self;
  environment_push(machine->routine, false);
  assert_true(view_open(machine->routine, -1));
  walk_table(machine->routine, "", "", 0);
  lua_pop(machine->routine, 2);
  walk_locals(machine->routine);
  run.destroy(run.self);
  qsort(found, (size_t)found_count, NAME_SIZE, by_bytes);
  if (getenv("REACH") != NULL)
    for (int i = 0; i < found_count; i++)
      print_message("%s\n", found[i]);
  for (int i = 0; i < found_count; i++)
    assert_null(strstr(found[i], " table")); /* nothing but views, objects and functions */
  compare_with_list();
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_a_procedure_reaches_is_on_the_list),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
