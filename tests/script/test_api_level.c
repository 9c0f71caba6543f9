/* Level 1 of what procedures can call, frozen: tests/api-1 uses every call, every field and every name of Lua's own,
 * and what its own prompts and texts come to stands beside it, with all that a front is told of them.  What a later
 * level changes must leave these as they are. */
#include "play.h"

#include "evenbore/api.h"

#include <stdlib.h>

enum { TEXT_SIZE = 32 * 1024 };

static char *read_text(const char *name, const char *ending)
{
  char path[400];
  snprintf(path, sizeof path, EB_TESTS_FOLDER "/api-1/%s%s", name, ending);
  FILE *file = fopen(path, "r");
  if (file == NULL)
    fail_msg("%s is not there", path);
  char *text = calloc(1, TEXT_SIZE);
  assert_true(fread(text, 1, TEXT_SIZE - 1, file) < TEXT_SIZE - 1);
  fclose(file);
  return text;
}

/* What came with it, in the order of this list. */
static void add_members(char *told, const eb_json *message)
{
  static const char *const names[] = {"stage",     "why",    "hazards", "critical", "options", "quantity",
                                      "unit",      "low",    "high",    "step",     "limit",   "default",
                                      "takes_off", "refits", "snaps",   "hands"};
  for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
    const eb_json *member = eb_json_get(message, names[i]);
    char *text = member == NULL ? NULL : eb_json_text(member);
    if (text != NULL)
      snprintf(told + strlen(told), TEXT_SIZE - strlen(told), "  %s %s\n", names[i], text);
    eb_json_text_free(text);
  }
}

/* What the case itself asks and tells; the routine's own prompts may change within a level. */
static void note(void *context, const eb_json *message)
{
  char *told = context;
  const char *type = eb_json_get_string(message, "type", ""), *text = eb_json_get_string(message, "text", "");
  const char *key = eb_json_get_string(message, "key", ""), *kind = eb_json_get_string(message, "kind", "");
  bool asks = strcmp(type, "ask") == 0 && (strncmp(key, "own.", 4) == 0 || strncmp(text, "own", 3) == 0);
  if (asks) {
    snprintf(told + strlen(told), TEXT_SIZE - strlen(told), "ask %s %s, %s: %s\n", kind, key,
             eb_json_get_string(message, "title", ""), text);
    if (strncmp(key, "own.", 4) == 0)
      add_members(told, message);
  } else if (strcmp(type, "tell") == 0 && strncmp(text, "own:", 4) == 0)
    snprintf(told + strlen(told), TEXT_SIZE - strlen(told), "tell %s %s\n", kind, text + 5);
}

static void play_case(const char *name)
{
  char *text = read_text(name, ".lua"), *wanted = read_text(name, ".txt"), *met = calloc(1, TEXT_SIZE);
  char file[80];
  snprintf(file, sizeof file, "%s.lua", name);
  eb_source source = {.name = file, .text = text, .size = strlen(text)};
  eb_bay_options options = eb_bay_options_usual();
  options.seed = 7;
  play p = {.each = note, .context = met};
  play_begin(&p, &source, &options);
  play_on(&p);
  if (strcmp(p.outcome, "even") != 0 && strcmp(p.outcome, "claimed") != 0)
    fail_msg("%s: %s: %s", name, p.outcome, p.summary);
  play_end(&p);
  if (strcmp(met, wanted) != 0) {
    char path[400];
    snprintf(path, sizeof path, EB_BUILD_FOLDER "/api-1-%s.txt", name);
    FILE *kept = fopen(path, "w");
    if (kept != NULL && fputs(met, kept) >= 0)
      fclose(kept);
    fail_msg("tests/api-1/%s.txt is not what level 1 comes to any more; what it came to is in %s", name, path);
  }
  free(met);
  free(wanted);
  free(text);
}

static void prompts_are_as_they_were(void **state)
{
  (void)state;
  play_case("prompts");
}

static void layouts_are_as_they_were(void **state)
{
  (void)state;
  play_case("layouts");
}

static void the_language_is_as_it_was(void **state)
{
  (void)state;
  play_case("language");
}

static bool uses(const char *text, const char *before, const char *name)
{
  char word[100];
  snprintf(word, sizeof word, "%s%s", before, name);
  size_t size = strlen(word);
  for (const char *at = strstr(text, word); at != NULL; at = strstr(at + 1, word))
    if (strchr("abcdefghijklmnopqrstuvwxyz_", at[size]) == NULL)
      return true;
  return false;
}

static void every_call_and_field_is_frozen(void **state)
{
  (void)state;
  char *prompts = read_text("prompts", ".lua"), *layouts = read_text("layouts", ".lua");
  char *language = read_text("language", ".lua");
  size_t count = 0;
  const char *const *names = eb_api_language(&count);
  for (size_t i = 0; i < count; i++)
    if (!uses(language, "", names[i]))
      fail_msg("tests/api-1/language.lua does not use %s", names[i]);
  const eb_api_call *calls = eb_api_calls(&count);
  for (size_t i = 0; i < count; i++) {
    const char *before = calls[i].of[0] == '\0' ? "" : "job:";
    if (!uses(prompts, before, calls[i].name) && !uses(layouts, before, calls[i].name))
      fail_msg("tests/api-1 does not use %s%s", before, calls[i].name);
  }
  const eb_api_table *tables = eb_api_tables(&count);
  for (size_t i = 0; i < count; i++)
    for (size_t k = 0; k < tables[i].field_count; k++) {
      const char *name = tables[i].fields[k].name;
      bool numbered = name[0] >= '0' && name[0] <= '9';
      if (!numbered && !uses(prompts, "", name) && !uses(layouts, "", name))
        fail_msg("tests/api-1 does not use %s of %s", name, tables[i].name);
    }
  free(language);
  free(prompts);
  free(layouts);
}

static void a_newer_level_is_refused_with_what_to_do(void **state)
{
  (void)state;
  static const char text[] = "return procedure { id = 'new', version = '1', api = 2, title = 'New',\n"
                             "layout = { rows = { { 1, 2 } } }, run = function() end }";
  size_t count = 0;
  const eb_source *library = eb_script_builtin_library(&count);
  eb_source source = {.name = "new.lua", .text = text, .size = sizeof text - 1};
  eb_runner runner = eb_script_runner(NULL);
  eb_scratch *scratch = NULL;
  eb_session *session = NULL;
  eb_error error = {.status = EB_OK};
  assert_int_equal(eb_scratch_create(eb_host_system(), &scratch, &error), EB_OK);
  eb_session_options o = {.id = "new",
                          .path = "new.jsonl",
                          .program = "test",
                          .runner = &runner,
                          .main = &source,
                          .library = library,
                          .library_count = count};
  assert_int_equal(eb_session_start(eb_scratch_host(scratch), &o, &session, &error), EB_TOO_NEW);
  assert_string_equal(error.place, "new.lua:1");
  assert_non_null(strstr(error.message, "a newer evenbore is needed"));
  eb_scratch_destroy(scratch);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(prompts_are_as_they_were),
      cmocka_unit_test(layouts_are_as_they_were),
      cmocka_unit_test(the_language_is_as_it_was),
      cmocka_unit_test(every_call_and_field_is_frozen),
      cmocka_unit_test(a_newer_level_is_refused_with_what_to_do),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
