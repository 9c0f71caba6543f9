/* A glance says of a journal's two ends what reading all of it says, and never more. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/journal.h"
#include "evenbore/scratch.h"

#include <fcntl.h>

static const char *const wanted[] = {"time", "procedure.id", NULL};

static eb_scratch *scratch;
static const eb_host *host;

static int begin(void **state)
{
  (void)state;
  assert_int_equal(eb_scratch_create(eb_host_system(), &scratch, NULL), EB_OK);
  host = eb_scratch_host(scratch);
  return 0;
}

static int end(void **state)
{
  (void)state;
  eb_scratch_destroy(scratch);
  return 0;
}

/* A journal with a procedure's source of so many bytes, and so many records behind it, the last of `last` bytes. */
static void make(const char *path, size_t source, int records, size_t last)
{
  eb_journal *journal = NULL;
  eb_error error;
  char *text = malloc(source + last + 1);
  assert_non_null(text);
  memset(text, '{', source + last);
  text[source] = '\0';
  eb_json *open = eb_json_object(), *procedure = eb_json_object(), *layout = eb_json_array();
  assert_true(eb_json_set_string(open, "time", "2026-03-04T05:06:07.089+01:00") && eb_json_add_string(layout, "a, b"));
  assert_true(eb_json_set(open, "layout", layout) && eb_json_set_string(procedure, "id", "two \",}") &&
              eb_json_set_string(procedure, "source", text) && eb_json_set(open, "procedure", procedure));
  assert_int_equal(eb_journal_create(host, path, open, &journal, &error), EB_OK);
  eb_json_destroy(open);
  memset(text, '\\', last);
  text[last] = '\0';
  for (int i = 0; i < records; i++) {
    eb_json *record = eb_json_object();
    assert_true(eb_json_set_string(record, "kind", "note") && eb_json_set_number(record, "n", i) &&
                eb_json_set_string(record, "text", i + 1 == records ? text : ""));
    assert_int_equal(eb_journal_append(journal, record, false, &error), EB_OK);
  }
  eb_journal_close(journal);
  free(text);
}

static void both_ends_are_read_whatever_their_length(void **state)
{
  (void)state;
  static const size_t sizes[] = {0, 10, 1900, 2048, 4000, 4096, 5000, 33000, 300000};
  enum { SIZES = sizeof sizes / sizeof sizes[0] };
  for (int s = 0; s < SIZES; s++)
    for (int l = 0; l < SIZES; l++)
      for (int records = 0; records < 3; records++) {
        static const char path[] = "j";
        eb_glance glance;
        eb_error error;
        make(path, sizes[s], records, sizes[l]);
        assert_int_equal(eb_journal_glance(host, path, wanted, &glance, &error), EB_OK);
        assert_string_equal(eb_json_get_string(eb_json_get(glance.first, "procedure"), "id", ""), "two \",}");
        assert_string_equal(eb_json_get_string(glance.first, "time", ""), "2026-03-04T05:06:07.089+01:00");
        assert_string_equal(glance.damage, "");
        assert_int_equal(glance.torn_bytes, 0);
        assert_int_equal(glance.last == NULL, records == 0);
        if (records > 0) {
          assert_int_equal(eb_json_get_int(glance.last, "n", -1), records - 1);
          assert_int_equal(strlen(eb_json_get_string(glance.last, "text", "")), sizes[l]);
        }
        eb_glance_clear(&glance);
        host->files.remove(host->context, path);
        host->files.remove(host->context, "j.lock");
      }
}

static void append(const char *path, const char *bytes, size_t size)
{
  int file = host->files.open(host->context, path, O_WRONLY | O_APPEND, 0);
  assert_true(file >= 0);
  assert_int_equal(host->files.write(host->context, file, bytes, size), size);
  host->files.close(host->context, file);
}

static void a_torn_end_is_counted(void **state)
{
  (void)state;
  eb_glance glance;
  make("torn", 9000, 2, 30);
  append("torn", "{\"kind\":\"no", 11);
  assert_int_equal(eb_journal_glance(host, "torn", wanted, &glance, NULL), EB_OK);
  assert_int_equal(glance.torn_bytes, 11);
  assert_int_equal(eb_json_get_int(glance.last, "n", -1), 1);
  eb_glance_clear(&glance);
}

static void a_last_record_that_does_not_agree_is_damaged(void **state)
{
  (void)state;
  static const char wrong[] =
      "{\"kind\":\"end\",\"h\":\"0000000000000000000000000000000000000000000000000000000000000000\"}\n";
  eb_glance glance;
  make("wrong", 9000, 2, 30);
  append("wrong", wrong, sizeof wrong - 1);
  assert_int_equal(eb_journal_glance(host, "wrong", wanted, &glance, NULL), EB_OK);
  assert_non_null(strstr(glance.damage, "digest"));
  assert_null(glance.last);
  eb_glance_clear(&glance);
}

static void put(const char *path, const char *text)
{
  int file = host->files.open(host->context, path, O_WRONLY | O_CREAT, 0600);
  assert_true(file >= 0);
  assert_int_equal(host->files.write(host->context, file, text, strlen(text)), strlen(text));
  host->files.close(host->context, file);
}

static void what_is_no_journal_is_said(void **state)
{
  (void)state;
  eb_glance glance;
  put("empty", "");
  put("words", "not a session\n");
  put("newer", "{\"kind\":\"open\",\"format\":999,\"time\":1}\n");
  put("cut", "{\"kind\":\"open\",\"format\":1,\"time\":\"x\"");
  put("bad", "{\"kind\":\"open\",\"format\":1,\"time\":\"x\"}\n");
  put("braces", "{\"kind\":\"open\",\"format\":1,}}}}}}}}}}]]],,,,\n");
  assert_int_equal(eb_journal_glance(host, "none", wanted, &glance, NULL), EB_NOT_FOUND);
  assert_int_equal(eb_journal_glance(host, "empty", wanted, &glance, NULL), EB_NOT_JOURNAL);
  assert_int_equal(eb_journal_glance(host, "words", wanted, &glance, NULL), EB_NOT_JOURNAL);
  assert_int_equal(eb_journal_glance(host, "newer", wanted, &glance, NULL), EB_TOO_NEW);
  assert_int_equal(eb_journal_glance(host, "cut", wanted, &glance, NULL), EB_NOT_JOURNAL);
  assert_int_equal(eb_journal_glance(host, "bad", wanted, &glance, NULL), EB_DAMAGED);
  assert_int_equal(eb_journal_glance(host, "braces", wanted, &glance, NULL), EB_DAMAGED);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(both_ends_are_read_whatever_their_length, begin, end),
      cmocka_unit_test_setup_teardown(a_torn_end_is_counted, begin, end),
      cmocka_unit_test_setup_teardown(a_last_record_that_does_not_agree_is_damaged, begin, end),
      cmocka_unit_test_setup_teardown(what_is_no_journal_is_said, begin, end)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
