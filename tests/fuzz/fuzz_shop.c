/* A shop's own file, as a person or a program may have written it: the first byte chooses engine, gauge or habits. What
 * is taken says the same when it is written and read again, and a gauge that learns stays one that is read. */
#include "fuzz.h"

#include "evenbore/shop.h"

#include <math.h>

typedef eb_status (*reader)(const char *name, const char *text, size_t size, eb_json **made, eb_error *error);

/* The file as the program would write it, read anew. */
static void must_be_read_again(reader read, const eb_json *file)
{
  eb_json *second = NULL;
  eb_error error = {.status = EB_OK};
  char *text = eb_json_text(file);
  must(text != NULL);
  must(read("again.json", text, strlen(text), &second, &error) == EB_OK);
  char *more = eb_json_text(second);
  must(more != NULL && strcmp(text, more) == 0);
  eb_json_text_free(more);
  eb_json_text_free(text);
  eb_json_destroy(second);
}

/* What it says of an instrument is one that a session begins with. */
static void try_gauge(eb_json *file)
{
  static const char digest[] = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef";
  eb_gauge gauge = eb_gauge_file_gauge(file), second;
  eb_error error = {.status = EB_OK};
  eb_json *json = eb_gauge_json(&gauge);
  must(json != NULL && eb_gauge_read(json, "gauge", &second, &error) == EB_OK);
  must(strcmp(gauge.unit, second.unit) == 0 && gauge.low == second.low && gauge.high == second.high);
  must(isfinite(gauge.repeatability_weight) && gauge.repeatability_weight <= EB_GAUGE_WEIGHT_MAX);
  eb_json_destroy(json);
  must(eb_gauge_file_same(file, file));
  eb_spread repeats = {.deviation = 0.0131, .degrees_of_freedom = 11};
  must(eb_gauge_file_learn(file, "20261104-v8-coupled-9", digest, repeats));
  must(eb_gauge_file_knows(file, digest));
  must_be_read_again(eb_gauge_file_read, file);
}

static void try_habits(const eb_json *file)
{
  eb_habits habits = eb_habits_file_habits(file), second;
  eb_error error = {.status = EB_OK};
  eb_json *json = eb_habits_json(&habits);
  must(json != NULL && eb_habits_read(json, "habits", &second, &error) == EB_OK);
  eb_json_destroy(json);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
  static const reader readers[] = {eb_engine_file_read, eb_gauge_file_read, eb_habits_file_read};
  if (size == 0)
    return 0;
  int kind = data[0] == 'e' ? 0 : data[0] == 'g' ? 1 : data[0] == 'h' ? 2 : data[0] % 3;
  char *text = malloc(size); /* no NUL behind it: a reader that goes too far is seen */
  memcpy(text, data + 1, size - 1);
  eb_json *file = NULL;
  eb_error error = {.status = EB_OK};
  eb_status status = readers[kind]("red.json", text, size - 1, &file, &error);
  free(text);
  if (status != EB_OK) {
    must_be_clear(&error, status);
    must(file == NULL);
    return 0;
  }
  must_be_read_again(readers[kind], file);
  if (kind == 1)
    try_gauge(file);
  if (kind == 2)
    try_habits(file);
  eb_json_destroy(file);
  return 0;
}
