/* The table of calls and fields against what is there: nothing without its row, no row without what it names, and what
 * is made from it is as new as it is. */
#include "rig.h"

#include "evenbore/api.h"
#include "evenbore/json.h"

#include <stdlib.h>

/* The library as it is, its prelude under another name, and a prelude of the test's own that tells what it finds. */
static const char lister[] = "require 'prelude'\n"
                             "local globals, calls = {}, {}\n"
                             "local function walk(prefix, names)\n"
                             "  for name, value in pairs(names) do\n"
                             "    if type(value) == 'table' then walk(prefix .. name .. '.', value) else "
                             "table.insert(globals, prefix .. name) end\n"
                             "  end\n"
                             "end\n"
                             "walk('', core.globals)\n"
                             "for name in pairs(require('job').calls) do table.insert(calls, name) end\n"
                             "core.export('listed', function() return core.procedure({ globals = globals, calls = "
                             "calls }, function() end) end)\n";

static eb_json *list_names(void)
{
  size_t count = 0;
  eb_json *made = NULL;
  eb_source library[EB_PROCEDURE_FILES_MAX];
  const eb_source *builtin = eb_script_builtin_library(&count);
  assert_true(count < EB_PROCEDURE_FILES_MAX);
  memcpy(library, builtin, count * sizeof *library);
  for (size_t i = 0; i < count; i++)
    if (strcmp(library[i].name, "lib/api.lua") == 0)
      library[i].name = "lib/prelude.lua";
  library[count] = rig_source("lib/api.lua", lister);
  static const char text[] = "return listed()";
  script_rig rig;
  assert_int_equal(rig_start_sized(&rig, NULL, text, sizeof text - 1, library, count + 1), EB_OK);
  assert_int_equal(eb_json_parse(rig.request, strlen(rig.request), &made, NULL), EB_OK);
  rig_end(&rig);
  return made;
}

static bool holds(const eb_json *list, const char *name)
{
  for (const eb_json *one = eb_json_first(list); one != NULL; one = eb_json_next(one))
    if (strcmp(eb_json_as_string(one, ""), name) == 0)
      return true;
  return false;
}

static bool in_language(const char *name)
{
  size_t count = 0;
  const char *const *language = eb_api_language(&count);
  for (size_t i = 0; i < count; i++)
    if (strcmp(language[i], name) == 0)
      return true;
  return false;
}

static void every_call_has_a_row_and_every_row_a_call(void **state)
{
  (void)state;
  size_t count = 0;
  const eb_api_call *rows = eb_api_calls(&count);
  eb_json *names = list_names();
  const eb_json *globals = eb_json_get(names, "globals"), *calls = eb_json_get(names, "calls");
  for (size_t i = 0; i < count; i++)
    if (!holds(rows[i].of[0] == '\0' ? globals : calls, rows[i].name))
      fail_msg("the table has %s%s, which is not there", rows[i].of, rows[i].name);
  for (const eb_json *call = eb_json_first(calls); call != NULL; call = eb_json_next(call))
    if (eb_api_call_find("job", eb_json_as_string(call, "")) == NULL)
      fail_msg("job:%s has no row in core/script/api.c", eb_json_as_string(call, ""));
  for (const eb_json *name = eb_json_first(globals); name != NULL; name = eb_json_next(name)) {
    const char *word = eb_json_as_string(name, "");
    if (strcmp(word, "listed") != 0 && !in_language(word) && eb_api_call_find("", word) == NULL)
      fail_msg("%s has no row in core/script/api.c", word);
  }
  size_t words = 0;
  const char *const *language = eb_api_language(&words);
  for (size_t i = 0; i < words; i++)
    if (!holds(globals, language[i]))
      fail_msg("the table has %s, which is not there", language[i]);
  eb_json_destroy(names);
}

/* Each word of a type is one that the library checks by, or a table. */
static void types_are_known(void **state)
{
  (void)state;
  static const char *const words[] = {"text", "number", "whole",    "flag",     "bore",      "bores", "texts",
                                      "rows", "pair",   "function", "adjuster", "adjusters", "any"};
  size_t count = 0;
  const eb_api_table *tables = eb_api_tables(&count);
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < tables[i].field_count; k++) {
      const eb_api_field *f = &tables[i].fields[k];
      const char *type = strncmp(f->type, "list of ", 8) == 0 ? f->type + 8 : f->type;
      char first[40];
      snprintf(first, sizeof first, "%.*s", (int)strcspn(type, "|"), type);
      bool known = eb_api_table_find(first) != NULL;
      for (size_t w = 0; w < sizeof words / sizeof words[0]; w++)
        known = known || strcmp(words[w], first) == 0;
      if (!known || f->help[0] == '\0' || strlen(f->help) > 100)
        fail_msg("%s.%s: type \"%s\" or its line of help", tables[i].name, f->name, f->type);
    }
}

/* What an author misspells in any table is told with the right word. */
static void a_field_without_a_row_is_refused(void **state)
{
  (void)state;
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  static const char *const wrong[] = {"title = 'T', tolerence = 0.04", "titel = 'T'"};
  static const char *const told[] = {"did you mean tolerance?", "did you mean title?"};
  for (size_t i = 0; i < 2; i++) {
    char text[300];
    snprintf(text, sizeof text, "return procedure {\nid = 'a', version = '1', api = 1,\n%s, run = 1 }", wrong[i]);
    script_rig rig;
    assert_int_equal(rig_start_sized(&rig, NULL, text, strlen(text), library, count), EB_SCRIPT);
    assert_string_equal(rig.error.place, "v8.lua:3");
    assert_non_null(strstr(rig.error.message, told[i]));
    rig_end(&rig);
  }
}

static void luacheck_has_the_names(void **state)
{
  (void)state;
  static char config[16384];
  FILE *file = fopen(EB_SOURCE_FOLDER "/.luacheckrc", "r");
  assert_non_null(file);
  config[fread(config, 1, sizeof config - 1, file)] = '\0';
  fclose(file);
  eb_text made;
  eb_text_init(&made, eb_host_system());
  eb_api_write_luacheck(&made);
  if (strncmp(config, eb_text_string(&made), made.size) != 0)
    fail_msg(".luacheckrc is to begin with what `evenbore manual api --as luacheck` prints");
  eb_text_clear(&made);
}

/* What stands at `at` up to a character of `ends`. */
static size_t up_to(const char *at, const char *ends)
{
  return strcspn(at, ends);
}

/* One type: a word of Lua's or a class of ours, and [] behind it; 0 where it is none. */
static size_t type_size(const char *at)
{
  static const char *const words[] = {"string", "number", "integer", "boolean", "any", "function"};
  size_t size = 0, word = strspn(at, "abcdefghijklmnopqrstuvwxyz_.");
  bool known = strncmp(at, "evenbore.", 9) == 0;
  if (*at == '(') {
    for (size = 1; type_size(at + size) > 0;) {
      size += type_size(at + size);
      if (at[size++] != '|')
        break;
    }
    known = at[size - 1] == ')';
  } else {
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
      known = known || (strlen(words[i]) == word && strncmp(at, words[i], word) == 0);
    size = word;
  }
  while (known && strncmp(at + size, "[]", 2) == 0)
    size += 2;
  return known ? size : 0;
}

static void check_types(const char *line, const char *at)
{
  for (;;) {
    size_t size = type_size(at);
    if (size == 0)
      fail_msg("no type: %.*s", (int)up_to(line, "\n"), line);
    at += size;
    if (*at != '|')
      break;
    at++;
  }
  /* What follows is said of it, and is not to read like more of the type. */
  if (*at != '\n' && (*at != ' ' || strchr("|[?<,:#", at[1]) != NULL))
    fail_msg("a type that goes on: %.*s", (int)up_to(line, "\n"), line);
}

/* Each annotation is one of five kinds, in the documented grammar. */
static void annotations_keep_to_their_grammar(void **state)
{
  (void)state;
  eb_text made;
  eb_text_init(&made, eb_host_system());
  eb_api_write_lua(&made);
  int met = 0;
  for (const char *line = eb_text_string(&made); line[0] != '\0'; line += up_to(line, "\n") + 1) {
    bool named = strncmp(line, "---@field ", 10) == 0 || strncmp(line, "---@param ", 10) == 0;
    if (strncmp(line, "---@", 4) != 0)
      continue;
    met++;
    if (named && line[10 + up_to(line + 10, " \n")] == ' ')
      check_types(line, line + 11 + up_to(line + 10, " "));
    else if (strncmp(line, "---@return ", 11) == 0)
      check_types(line, line + 11);
    else if (strncmp(line, "---@class evenbore.", 19) != 0 && strncmp(line, "---@meta\n", 9) != 0)
      fail_msg("what is this: %.*s", (int)up_to(line, "\n"), line);
  }
  assert_true(met > 250);
  eb_text_clear(&made);
}

/* The annotations name every call, and every class that they use is one that they declare. */
static void the_definition_file_is_whole(void **state)
{
  (void)state;
  size_t count = 0;
  eb_text made;
  eb_text_init(&made, eb_host_system());
  eb_api_write_lua(&made);
  const char *text = eb_text_string(&made);
  const eb_api_call *calls = eb_api_calls(&count);
  for (size_t i = 0; i < count; i++) {
    char line[100];
    snprintf(line, sizeof line, "function %s%s%s(", calls[i].of, calls[i].of[0] == '\0' ? "" : ":", calls[i].name);
    if (strstr(text, line) == NULL)
      fail_msg("no %s", line);
  }
  static const char class[] = "evenbore.";
  for (const char *at = strstr(text, class); at != NULL; at = strstr(at + 1, class)) {
    char line[100];
    size_t size = strspn(at + strlen(class), "abcdefghijklmnopqrstuvwxyz_");
    snprintf(line, sizeof line, "---@class evenbore.%.*s\n", (int)size, at + strlen(class));
    if (strstr(text, line) == NULL)
      fail_msg("no %s", line);
  }
  eb_text_clear(&made);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(every_call_has_a_row_and_every_row_a_call),
      cmocka_unit_test(types_are_known),
      cmocka_unit_test(a_field_without_a_row_is_refused),
      cmocka_unit_test(luacheck_has_the_names),
      cmocka_unit_test(the_definition_file_is_whole),
      cmocka_unit_test(annotations_keep_to_their_grammar),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
