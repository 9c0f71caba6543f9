/* A procedure's file, from its first byte to its first prompts. */
#include "fuzz.h"

#include "evenbore/json.h"
#include "evenbore/script.h"
#include "text_exchange.h"

static const char api[] = "core.export('procedure', function(t)\n"
                          "  return core.procedure({ id = 'x' }, function() if t.run then t.run() end end)\n"
                          "end)\n"
                          "core.export('ask', function(t) return core.request { op = 'ask', value = t }.value end)\n"
                          "core.export('data', { list = { 1, 2, { 3 } }, text = 'x' })\n";

/* What a request has to be: an object that says what is wanted, and that somebody can read. */
static bool is_end(const char *request)
{
  eb_json *json = NULL;
  eb_error error;
  must(eb_json_parse(request, strlen(request), &json, &error) == EB_OK);
  const char *op = eb_json_get_string(json, "op", NULL);
  must(op != NULL);
  bool end = strcmp(op, "end") == 0;
  eb_json_destroy(json);
  return end;
}

static void lead(eb_procedure *run)
{
  static const char *const replies[] = {NULL, "{}", "{\"value\":1}", "{\"error\":\"no\"}", "{\"value\":{\"a\":[1]}}"};
  bool over = false;
  for (size_t i = 0; i < sizeof replies / sizeof replies[0] && !over; i++) {
    static request_text request;
    eb_error error = {.status = EB_OK};
    eb_status status = text_exchange(run, replies[i], &request, &error);
    if (status != EB_OK) {
      must_be_clear(&error, status);
      must(status == EB_SCRIPT || status == EB_BUDGET);
      must(strncmp(error.place, "fuzz.lua", 8) == 0 || strncmp(error.place, "lib/api.lua", 11) == 0);
      return;
    }
    over = is_end(request.text);
  }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  eb_script_limits limits = {
      .instructions = 100000, .processor_ms = 5000, .memory = 4 << 20, .string = 64 << 10, .block = 1 << 20};
  char *text = malloc(size + 1);
  memcpy(text, data, size);
  text[size] = '\0';
  eb_source main = {.name = "fuzz.lua", .text = text, .size = size};
  eb_source library = {.name = "lib/api.lua", .text = api, .size = sizeof api - 1};
  eb_runner runner = eb_script_runner(&limits);
  eb_procedure run;
  eb_error error = {.status = EB_OK};
  eb_status status = runner.start(runner.context, eb_host_system(), &main, &library, 1, &run, &error);
  if (status == EB_OK) {
    lead(&run);
    run.destroy(run.self);
  } else {
    must_be_clear(&error, status);
  }
  free(text);
  return 0;
}
