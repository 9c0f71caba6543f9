/* One sample: the report of a practice job with a fixed seed, kept beside this test as page and as text.
 *
 * It changes with the procedure, the planner, the simulated engine and the report: look it through then, and remake it
 * with
 *   REMAKE=1 ctest --test-dir BUILD -R report_test_sample
 * Digests are left out: they change with every letter of a procedure. */
#include "report/simulated.h"

#include <ctype.h>
#include <stdlib.h>

static const simulated sample = {
    .procedure = "v8-coupled", .seed = 17, .inputs = "{\"engine\":\"red V8\",\"practice\":{\"seed\":17}}"};

/* 64 hexadecimal digits in a row become as many dots. */
static void blot_digests(char *text)
{
  size_t run = 0;
  for (char *c = text; *c != '\0'; c++) {
    run = isxdigit((unsigned char)*c) ? run + 1 : 0;
    if (run == 64)
      memset(c - 63, '.', 64);
  }
}

static char *read_kept(const char *path)
{
  FILE *file = fopen(path, "rb");
  if (file == NULL)
    return NULL;
  enum { ROOM = 1 << 20 };
  char *kept = malloc(ROOM);
  assert_non_null(kept);
  size_t size = fread(kept, 1, ROOM - 1, file);
  kept[size] = '\0';
  fclose(file);
  return kept;
}

static void write_kept(const char *path, const eb_text *text)
{
  FILE *file = fopen(path, "wb");
  assert_non_null(file);
  assert_int_equal(fwrite(text->bytes, 1, text->size, file), text->size);
  assert_int_equal(fclose(file), 0);
}

/* Where two texts part, in words that help. */
static void check_same(const char *path, const char *kept, const char *made)
{
  size_t at = 0;
  int line = 1;
  while (kept[at] != '\0' && kept[at] == made[at])
    line += kept[at++] == '\n' ? 1 : 0;
  if (kept[at] != made[at])
    fail_msg("%s, line %d: kept \"%.60s\", made \"%.60s\"; how to remake it: tests/report/test_sample.c", path, line,
             kept + at, made + at);
}

static void check_form(const eb_account *account, eb_report_form form, const char *name)
{
  char path[1024];
  eb_text text;
  eb_error error;
  const eb_report_options options = {.form = form};
  eb_text_init(&text, eb_host_system());
  assert_int_equal(eb_report_write(account, &options, &text, &error), EB_OK);
  blot_digests(text.bytes);
  snprintf(path, sizeof path, "%s/report/%s", EB_TESTS_FOLDER, name);
  if (getenv("REMAKE") != NULL)
    write_kept(path, &text);
  char *kept = read_kept(path);
  if (kept == NULL)
    fail_msg("%s is not there", path);
  check_same(path, kept, text.bytes);
  free(kept);
  eb_text_clear(&text);
}

static void the_sample_is_as_it_was(void **state)
{
  (void)state;
  play p;
  eb_account account;
  eb_error error;
  simulated_play(&p, &sample);
  assert_int_equal(eb_account_read(eb_scratch_host(p.scratch), "play.jsonl", &account, &error), EB_OK);
  check_form(&account, EB_REPORT_PAGE, "sample.html");
  check_form(&account, EB_REPORT_TEXT, "sample.txt");
  eb_account_clear(&account);
  play_end(&p);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(the_sample_is_as_it_was)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
