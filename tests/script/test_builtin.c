#include "rig.h"

#include "evenbore/digest.h"

#include <stdlib.h>

static void is_the_file(const eb_source *source)
{
  char path[300];
  snprintf(path, sizeof path, EB_SOURCE_FOLDER "/procedures/%s", source->name);
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  char *bytes = malloc(source->size + 1);
  assert_int_equal(fread(bytes, 1, source->size + 1, file), source->size);
  fclose(file);
  assert_memory_equal(bytes, source->text, source->size);
  assert_int_equal(source->text[source->size], '\0');
  char digest[EB_DIGEST_SIZE];
  eb_digest(source->text, source->size, digest);
  assert_string_equal(source->digest, digest);
  free(bytes);
}

static void built_in_sources_are_the_files(void **state)
{
  (void)state;
  size_t count = 0;
  const eb_source *sources = eb_script_builtin_library(&count);
  assert_true(count > 0 && count <= EB_PROCEDURE_FILES_MAX);
  for (size_t i = 0; i < count; i++) {
    is_the_file(&sources[i]);
    assert_memory_equal(sources[i].name, "lib/", 4);
    assert_true(i == 0 || strcmp(sources[i - 1].name, sources[i].name) < 0);
  }
  sources = eb_script_builtin_procedures(&count);
  assert_true(count > 0);
  for (size_t i = 0; i < count; i++) {
    is_the_file(&sources[i]);
    assert_true(i == 0 || strcmp(sources[i - 1].name, sources[i].name) < 0);
  }
}

static void a_procedure_is_found_by_its_id(void **state)
{
  (void)state;
  const eb_source *found = eb_script_builtin_procedure("v8-coupled");
  assert_non_null(found);
  assert_string_equal(found->name, "v8-coupled.lua");
  assert_null(eb_script_builtin_procedure("v8"));
  assert_null(eb_script_builtin_procedure("v8-coupled.lua"));
  assert_null(eb_script_builtin_procedure(""));
}

/* The declaration is the file's own, not the library's. */
static void every_built_in_procedure_declares_itself(void **state)
{
  (void)state;
  size_t count = 0;
  size_t library_count = 0;
  const eb_source *procedures = eb_script_builtin_procedures(&count);
  const eb_source *library = eb_script_builtin_library(&library_count);
  for (size_t i = 0; i < count; i++) {
    eb_runner runner = eb_script_runner(NULL);
    eb_procedure procedure = {0};
    eb_error error;
    static request_text request;
    assert_int_equal(
        runner.start(runner.context, eb_host_system(), &procedures[i], library, library_count, &procedure, &error),
        EB_OK);
    if (text_exchange(&procedure, NULL, &request, &error) != EB_OK)
      fail_msg("%s: %s", error.place, error.message);
    char place[100];
    snprintf(place, sizeof place, "{\"at\":\"%s:", procedures[i].name);
    assert_memory_equal(request.text, place, strlen(place));
    assert_non_null(strstr(request.text, "\"op\":\"declare\""));
    procedure.destroy(procedure.self);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(built_in_sources_are_the_files),
      cmocka_unit_test(a_procedure_is_found_by_its_id),
      cmocka_unit_test(every_built_in_procedure_declares_itself),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
