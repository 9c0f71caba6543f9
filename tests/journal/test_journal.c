/* A journal's life on a real disk.  The files in files/ were made with a text editor and coreutils' sha256sum, so that
 * the chain of digests is checked by a program other than this one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "faulty_host.h"
#include "place.h"
#include "sample.h"

#include <sys/stat.h>

static eb_json *parse(const char *text)
{
  eb_json *value = NULL;
  assert_int_equal(eb_json_parse(text, strlen(text), &value, NULL), EB_OK);
  return value;
}

static eb_status append(eb_journal *journal, const char *text, eb_error *error)
{
  eb_json *record = parse(text);
  eb_status status = eb_journal_append(journal, record, true, error);
  if (status != EB_OK)
    eb_json_destroy(record);
  return status;
}

static eb_status create(const char *path, eb_journal **journal, eb_error *error)
{
  eb_json *record = parse("{\"procedure\":\"inline-four\",\"at\":\"2026-03-04T05:06:07.089+01:00\"}");
  eb_status status = eb_journal_create(eb_host_system(), path, record, journal, error);
  eb_json_destroy(record);
  return status;
}

static eb_status resume(const char *path, eb_journal **journal, eb_recovery *recovery, eb_error *error)
{
  return eb_journal_open(eb_host_system(), path, journal, recovery, error);
}

/* Copies files/NAME to the place's session. */
static void take_file(const place *p, const char *name)
{
  char from[600];
  snprintf(from, sizeof from, "%s/journal/files/%s", EB_TESTS_FOLDER, name);
  size_t size = 0;
  char *bytes = place_read(from, &size);
  assert_non_null(bytes);
  assert_true(place_write(p->path, "wb", bytes, size));
  free(bytes);
}

static void check_same_as_file(const place *p, const char *name)
{
  char other[600];
  snprintf(other, sizeof other, "%s/journal/files/%s", EB_TESTS_FOLDER, name);
  size_t size = 0, other_size = 0;
  char *bytes = place_read(p->path, &size), *wanted = place_read(other, &other_size);
  assert_non_null(wanted);
  assert_string_equal(bytes, wanted);
  assert_int_equal(size, other_size);
  free(bytes);
  free(wanted);
}

static void writes_the_bytes_that_sha256sum_agrees_with(void **state)
{
  const place *p = *state;
  eb_journal *journal = NULL;
  assert_int_equal(create(p->path, &journal, NULL), EB_OK);
  assert_int_equal(
      append(journal, "{\"kind\":\"answer\",\"key\":\"reading-1\",\"typed\":\"6,5\",\"value\":6.5,\"unit\":\"div\"}",
             NULL),
      EB_OK);
  assert_int_equal(append(journal, "{\"kind\":\"note\",\"text\":\"r\xC3\xA4uspert sich bei 900/min\"}", NULL), EB_OK);
  assert_int_equal(
      append(journal, "{\"kind\":\"answer\",\"key\":\"reading-2\",\"typed\":\"6 1/4\",\"value\":6.25,\"unit\":\"div\"}",
             NULL),
      EB_OK);
  check_same_as_file(p, "whole.journal");
  assert_int_equal(eb_journal_count(journal), 4);
  assert_string_equal(eb_journal_digest(journal), "7d240d4e15ff01bbb1e7eb3e75aa0361d088dcfea8350d6be7d5811fdf8d4fc3");
  assert_string_equal(eb_journal_path(journal), p->path);
  eb_journal_close(journal);
  eb_journal_close(NULL);
}

static void reads_and_goes_on(void **state)
{
  const place *p = *state;
  take_file(p, "whole.journal");
  eb_journal *journal = NULL;
  eb_recovery recovery;
  assert_int_equal(resume(p->path, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(recovery.records, 4);
  assert_int_equal(recovery.torn_bytes, 0);
  assert_int_equal(recovery.damaged_record, 0);
  assert_string_equal(recovery.kept, "");
  assert_true(eb_json_get_number(eb_journal_record(journal, 3), "value", 0) == 6.25);
  assert_string_equal(eb_json_get_string(eb_journal_record(journal, 0), "kind", ""), "open");
  check_same_as_file(p, "whole.journal");
  assert_int_equal(append(journal, "{\"kind\":\"end\"}", NULL), EB_OK);

  eb_journal *read = NULL;
  assert_int_equal(eb_journal_read(eb_host_system(), p->path, &read, &recovery, NULL), EB_OK);
  assert_int_equal(eb_journal_count(read), 5);
  assert_string_equal(eb_journal_digest(read), eb_journal_digest(journal));
  eb_journal_close(read);
  eb_journal_close(journal);
}

static void a_torn_end_is_kept_aside_and_recorded(void **state)
{
  const place *p = *state;
  const char *const files[] = {"torn-end.journal", "zeros-behind.journal"};
  const size_t torn[] = {28, 40};
  for (int i = 0; i < 2; i++) {
    place_empty(p);
    take_file(p, files[i]);
    eb_journal *journal = NULL;
    eb_recovery recovery;
    assert_int_equal(eb_journal_read(eb_host_system(), p->path, &journal, &recovery, NULL), EB_OK);
    assert_int_equal(recovery.torn_bytes, torn[i]);
    assert_string_equal(recovery.kept, "");
    assert_int_equal(eb_journal_count(journal), 4);
    eb_journal_close(journal);
    check_same_as_file(p, files[i]);

    assert_true(place_write(place_beside(p, ".torn-1"), "wb", "older", 5));
    assert_int_equal(resume(p->path, &journal, &recovery, NULL), EB_OK);
    assert_int_equal(recovery.torn_bytes, torn[i]);
    assert_string_equal(recovery.kept, place_beside(p, ".torn-2"));
    const eb_json *last = eb_journal_record(journal, 4);
    assert_string_equal(eb_json_get_string(last, "kind", ""), "recovered");
    assert_string_equal(eb_json_get_string(last, "kept", ""), "session.journal.torn-2");
    assert_true(eb_json_get_number(last, "bytes", 0) == (double)torn[i]);
    eb_journal_close(journal);
    size_t size = 0;
    char *older = place_read(place_beside(p, ".torn-1"), &size);
    assert_string_equal(older, "older");
    free(older);
    free(place_read(place_beside(p, ".torn-2"), &size));
    assert_int_equal(size, torn[i]);
  }
}

static void damage_is_named_and_nothing_is_changed(void **state)
{
  const place *p = *state;
  static const struct {
    const char *file;
    size_t record;
    const char *says;
  } cases[] = {{"broken-middle.journal", 2, "record 2 is damaged: its digest does not agree with its text"},
               {"broken-last.journal", 4, "record 4 is damaged: its digest does not agree with its text"},
               {"mailed.journal", 1, "record 1 is damaged: its line end was changed to CR LF"},
               {"no-kind.journal", 2, "record 2 is damaged: its digest agrees, but it is not a record: "}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    take_file(p, cases[i].file);
    eb_journal *journal = NULL;
    eb_recovery recovery;
    eb_error error = {0};
    assert_int_equal(resume(p->path, &journal, &recovery, &error), EB_DAMAGED);
    assert_null(journal);
    assert_int_equal(recovery.damaged_record, cases[i].record);
    assert_int_equal(recovery.records, cases[i].record - 1);
    assert_memory_equal(error.message, cases[i].says, strlen(cases[i].says));
    assert_non_null(strstr(error.place, "session.journal"));
    check_same_as_file(p, cases[i].file);
    eb_status status = eb_journal_read(eb_host_system(), p->path, &journal, &recovery, NULL);
    assert_int_equal(status, cases[i].record == 1 ? EB_DAMAGED : EB_OK);
    if (status == EB_OK)
      assert_int_equal(eb_journal_count(journal), cases[i].record - 1);
    eb_journal_close(journal);
  }
}

static void check_refused(const char *path, eb_status wanted, const char *says)
{
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  for (int i = 0; i < 2; i++) {
    eb_status status = i == 0 ? resume(path, &journal, &recovery, &error)
                              : eb_journal_read(eb_host_system(), path, &journal, &recovery, &error);
    if (status != wanted || strstr(error.message, says) == NULL)
      fail_msg("%s: %s, %s", path, eb_status_word(status), error.message);
    assert_null(journal);
    assert_int_equal(error.status, wanted);
    assert_int_equal(recovery.records, 0);
  }
}

static void what_is_no_journal_is_refused(void **state)
{
  const place *p = *state;
  check_refused(p->path, EB_NOT_FOUND, "there is no such file");
  check_refused(p->folder, EB_NOT_JOURNAL, "it is a folder");
  assert_int_equal(mkfifo(p->path, 0600), 0);
  check_refused(p->path, EB_NOT_JOURNAL, "it is no regular file");
  place_empty(p);
  static const struct {
    const char *bytes;
    size_t size;
    const char *says;
  } cases[] = {{"", 0, "it is empty"},
               {"\0\0\0\0\0\0\0\0", 8, "it begins with zero bytes"},
               {"cylinder,reading\n1,6.5\n", 23, "it does not begin as one does"},
               {"{\"kind\":\"note\",\"format\":1}\n", 27, "it does not begin as one does"},
               {"{\"kind\":\"open\",\"format\":", 24, "it does not begin as one does"},
               {"{\"kind\":\"open\",\"format\":0,\"x\":1}\n", 33, "it does not begin as one does"},
               {"{\"kind\":\"open\",\"format\":1,\"procedure\":\"inl", 42, "its first record is cut off"}};
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    assert_true(place_write(p->path, "wb", cases[i].bytes, cases[i].size));
    check_refused(p->path, EB_NOT_JOURNAL, cases[i].says);
  }
  assert_int_equal(unlink(place_beside(p, ".lock")), 0);
  take_file(p, "later-format.journal");
  check_refused(p->path, EB_TOO_NEW, "in format 2; this one reads up to format 1");
  assert_int_equal(place_names(p, false), 1); /* no lock file beside what is not ours */
}

static void a_link_is_not_opened_for_appending(void **state)
{
  const place *p = *state;
  take_file(p, "whole.journal");
  const char *link = place_beside(p, "-link");
  assert_int_equal(symlink(p->path, link), 0);
  eb_journal *journal = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  assert_int_equal(resume(link, &journal, &recovery, &error), EB_NOT_JOURNAL);
  assert_non_null(strstr(error.message, "a link to another file"));
  assert_int_equal(eb_journal_read(eb_host_system(), link, &journal, &recovery, NULL), EB_OK);
  eb_journal_close(journal);
}

static void creation_takes_a_free_path_only(void **state)
{
  const place *p = *state;
  eb_journal *journal = NULL;
  eb_error error = {0};
  take_file(p, "later-format.journal");
  assert_int_equal(create(p->path, &journal, &error), EB_EXISTS);
  assert_int_equal(create(p->folder, &journal, &error), EB_EXISTS);
  check_same_as_file(p, "later-format.journal");
  assert_int_equal(place_names(p, false), 1);
  assert_int_equal(create(place_beside(p, "-none/x"), &journal, &error), EB_NOT_FOUND);
  char longer[600];
  memset(longer, 'a', sizeof longer);
  longer[sizeof longer - 1] = '\0';
  assert_int_equal(create(longer, &journal, &error), EB_BAD_TEXT);
  assert_int_equal(create("", &journal, &error), EB_BAD_TEXT);
  assert_null(journal);
}

static void leftovers_of_a_crash_are_not_in_the_way(void **state)
{
  const place *p = *state;
  assert_true(place_write(place_beside(p, ".new-1"), "wb", "half", 4));
  assert_true(place_write(place_beside(p, ".lock"), "wb", "1 some-machine 2026-03-04T05:06:07+01:00\n", 41));
  eb_journal *journal = NULL;
  assert_int_equal(create(p->path, &journal, NULL), EB_OK);
  eb_journal_close(journal);
  size_t size = 0;
  free(place_read(place_beside(p, ".new-1"), &size));
  assert_int_equal(size, 4);
  free(place_read(place_beside(p, ".lock"), &size));
  assert_int_equal(size, 0); /* names nobody while nobody holds it */
}

static void a_holder_in_hostile_words_is_shown_safely(void **state)
{
  const place *p = *state;
  eb_journal *journal = NULL, *other = NULL;
  eb_recovery recovery;
  eb_error error = {0};
  assert_int_equal(create(p->path, &journal, NULL), EB_OK);
  assert_int_equal(resume(p->path, &other, &recovery, &error), EB_HELD);
  char own[60];
  snprintf(own, sizeof own, "held by process %ld on ", (long)getpid());
  assert_memory_equal(error.message, own, strlen(own));
  const char *hostile = "17 a\x1B[2J\xFF 2026\n";
  assert_true(place_write(place_beside(p, ".lock"), "wb", hostile, strlen(hostile)));
  assert_int_equal(resume(p->path, &other, &recovery, &error), EB_HELD);
  assert_string_equal(error.message, "held by process 17 on a\\u{1B}[2J\\xFF since 2026; close that one first");
  assert_true(place_write(place_beside(p, ".lock"), "wb", "17 a", 4));
  assert_int_equal(resume(p->path, &other, &recovery, &error), EB_HELD);
  assert_string_equal(error.message, "held by another process; close that one first");
  eb_journal_close(journal);
}

static eb_json *deep_record(int depth)
{
  eb_json *inner = eb_json_array();
  for (int i = 1; i < depth; i++) {
    eb_json *outer = eb_json_array();
    assert_true(eb_json_add(outer, inner));
    inner = outer;
  }
  eb_json *record = parse("{\"kind\":\"answer\"}");
  assert_true(eb_json_set(record, "deep", inner));
  return record;
}

/* With as many members, "h" not among them. */
static eb_json *wide_record(int members)
{
  eb_json *record = parse("{\"kind\":\"answer\"}");
  char key[16];
  for (int i = 1; i < members; i++) {
    snprintf(key, sizeof key, "m%d", i);
    assert_true(eb_json_set_bool(record, key, true));
  }
  return record;
}

/* What could not be read back is not written. */
static void records_that_would_be_damage_are_refused(void **state)
{
  const place *p = *state;
  eb_journal *journal = NULL;
  eb_error error = {0};
  assert_int_equal(create(p->path, &journal, NULL), EB_OK);
  eb_json *record = parse("{\"kind\":\"answer\"}");
  assert_true(eb_json_set_string(record, "text", "\xFF"));
  assert_int_equal(eb_journal_append(journal, record, true, &error), EB_BAD_TEXT);
  char *longer = malloc(EB_JOURNAL_LINE_MAX);
  memset(longer, 'a', EB_JOURNAL_LINE_MAX);
  longer[EB_JOURNAL_LINE_MAX - 1] = '\0';
  assert_true(eb_json_set_string(record, "text", longer));
  assert_int_equal(eb_journal_append(journal, record, true, &error), EB_BAD_TEXT);
  assert_non_null(strstr(error.message, "at most 1048576 are allowed"));
  free(longer);
  eb_json_destroy(record);
  record = deep_record(EB_JSON_DEPTH_MAX);
  assert_int_equal(eb_journal_append(journal, record, true, &error), EB_BAD_VALUE);
  eb_json_destroy(record);
  record = wide_record(EB_JSON_MEMBERS_MAX);
  assert_int_equal(eb_journal_append(journal, record, true, &error), EB_BAD_VALUE);
  assert_null(eb_json_get(record, "h"));
  eb_json_destroy(record);
  assert_int_equal(eb_journal_count(journal), 1);
  assert_int_equal(eb_journal_append(journal, wide_record(EB_JSON_MEMBERS_MAX - 1), true, NULL), EB_OK);
  assert_int_equal(append(journal, "{\"kind\":\"answer\"}", NULL), EB_OK);
  eb_journal_close(journal);
  eb_recovery recovery;
  assert_int_equal(resume(p->path, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(eb_journal_count(journal), 3);
  eb_journal_close(journal);
}

/* The longest record that is allowed, as the sources in the first one may make it. */
static void the_longest_record_is_read_back(void **state)
{
  const place *p = *state;
  eb_json *record = parse("{\"kind\":\"open\",\"format\":1}");
  size_t around = strlen("{\"kind\":\"open\",\"format\":1,\"text\":\"\",\"h\":\"\"}") + EB_DIGEST_SIZE - 1;
  size_t size = EB_JOURNAL_LINE_MAX - around;
  char *text = calloc(1, size + 1);
  memset(text, 'a', size);
  assert_true(eb_json_set_string(record, "text", text));
  eb_journal *journal = NULL;
  assert_int_equal(eb_journal_create(eb_host_system(), p->path, record, &journal, NULL), EB_OK);
  eb_journal_close(journal);
  eb_json_destroy(record);
  eb_recovery recovery;
  assert_int_equal(resume(p->path, &journal, &recovery, NULL), EB_OK);
  assert_string_equal(eb_json_get_string(eb_journal_record(journal, 0), "text", ""), text);
  eb_journal_close(journal);
  free(text);
}

static void a_file_that_others_changed_is_not_appended_to(void **state)
{
  const place *p = *state;
  eb_journal *journal = NULL;
  eb_error error = {0};
  assert_int_equal(create(p->path, &journal, NULL), EB_OK);
  assert_true(place_write(p->path, "ab", "scribble\n", 9));
  assert_int_equal(append(journal, "{\"kind\":\"answer\",\"n\":1}", &error), EB_IO);
  assert_non_null(strstr(error.message, "another program changed the file"));
  assert_int_equal(eb_journal_count(journal), 1);
  eb_journal_close(journal);
  size_t size = 0;
  char *bytes = place_read(p->path, &size);
  assert_string_equal(bytes + size - 9, "scribble\n");
  free(bytes);

  /* A copy put in its place, as an editor or a synchronising folder does. */
  place_empty(p);
  assert_int_equal(create(p->path, &journal, NULL), EB_OK);
  bytes = place_read(p->path, &size);
  assert_true(place_write(place_beside(p, ".copy"), "wb", bytes, size));
  assert_int_equal(rename(place_beside(p, ".copy"), (free(bytes), p->path)), 0);
  assert_int_equal(append(journal, "{\"kind\":\"answer\",\"n\":1}", &error), EB_IO);
  assert_int_equal(eb_journal_count(journal), 1);
  eb_journal_close(journal);
}

static void a_deleted_file_comes_back(void **state)
{
  const place *p = *state;
  eb_journal *journal = NULL;
  assert_int_equal(create(p->path, &journal, NULL), EB_OK);
  assert_int_equal(append(journal, "{\"kind\":\"answer\",\"n\":1}", NULL), EB_OK);
  assert_int_equal(unlink(p->path), 0);
  assert_int_equal(append(journal, "{\"kind\":\"answer\",\"n\":2}", NULL), EB_OK);
  assert_int_equal(append(journal, "{\"kind\":\"answer\",\"n\":3}", NULL), EB_OK);
  eb_journal_close(journal);
  eb_recovery recovery;
  assert_int_equal(resume(p->path, &journal, &recovery, NULL), EB_OK);
  assert_int_equal(eb_journal_count(journal), 4);
  eb_journal_close(journal);
}

static eb_status append_with_failure(eb_journal *journal, faulty *fault, int failure, eb_error *error)
{
  *fault = (faulty){.inner = fault->inner, .call = FAULTY_WRITE, .at = 1, .onwards = true, .failure = failure};
  eb_status status = append(journal, "{\"kind\":\"answer\"}", error);
  *fault = (faulty){.inner = fault->inner};
  return status;
}

static void failures_have_their_words(void **state)
{
  const place *p = *state;
  static const struct {
    int failure;
    eb_status status;
  } cases[] = {{ENOSPC, EB_NO_SPACE},  {EDQUOT, EB_NO_SPACE}, {EFBIG, EB_NO_SPACE}, {EROFS, EB_READ_ONLY},
               {EACCES, EB_READ_ONLY}, {EPERM, EB_READ_ONLY}, {EIO, EB_IO}};
  faulty fault = {.inner = eb_host_system()};
  eb_host host = faulty_host(&fault);
  eb_journal *journal = NULL;
  sample_ledger ledger = {0};
  assert_true(sample_create(&host, p->path, &ledger, &journal));
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    eb_error error = {0};
    assert_int_equal(append_with_failure(journal, &fault, cases[i].failure, &error), cases[i].status);
    assert_non_null(strstr(error.message, strerror(cases[i].failure)));
    assert_non_null(strstr(error.place, "session.journal"));
    assert_int_equal(append(journal, "{\"kind\":\"answer\"}", &error), EB_OK);
  }
  assert_int_equal(eb_journal_count(journal), 1 + sizeof cases / sizeof cases[0]);
  eb_journal_close(journal);
}

/* A path that is not UTF-8 and has a line break in it; the record and the message must be fit to be read. */
static void any_name_of_a_file_will_do(void **state)
{
  const place *p = *state;
  const char *odd = place_beside(p, "-\xFF\n.journal");
  eb_journal *journal = NULL;
  assert_int_equal(create(odd, &journal, NULL), EB_OK);
  eb_recovery recovery;
  eb_error error = {0};
  assert_int_equal(resume(odd, &journal, &recovery, &error), EB_HELD);
  assert_non_null(strstr(error.place, "session.journal-??.journal"));
  eb_journal_close(journal);
  assert_true(place_write(odd, "ab", "torn", 4));
  assert_int_equal(resume(odd, &journal, &recovery, NULL), EB_OK);
  assert_string_equal(eb_json_get_string(eb_journal_record(journal, 1), "kept", ""),
                      "session.journal-\\xFF\\u{A}.journal.torn-1");
  eb_journal_close(journal);
}

static void a_file_beyond_the_size_limit_is_refused(void **state)
{
  const place *p = *state;
  take_file(p, "whole.journal");
  assert_int_equal(truncate(p->path, (off_t)EB_JOURNAL_SIZE_MAX + 1), 0);
  check_refused(p->path, EB_NOT_JOURNAL, "larger than the 268435456 bytes");
}

static double processor_ms(void)
{
  return (double)eb_host_system()->processor_ns(NULL) / 1e6;
}

static void ten_thousand_records_open_at_once(void **state)
{
  enum { RECORDS = 10000 };
  const place *p = *state;
  eb_journal *journal = NULL;
  assert_int_equal(create(p->path, &journal, NULL), EB_OK);
  double start_ms = processor_ms();
  for (int n = 1; n < RECORDS; n++) {
    eb_json *record = parse("{\"kind\":\"answer\",\"key\":\"pass-3/bore-2\",\"typed\":\"6,5\",\"value\":6.5,\"unit\":"
                            "\"div\",\"at\":\"2026-03-04T05:06:07.089+01:00\"}");
    assert_true(eb_json_set_number(record, "n", n));
    assert_int_equal(eb_journal_append(journal, record, false, NULL), EB_OK);
  }
  double written_ms = processor_ms();
  eb_journal_close(journal);
  eb_recovery recovery;
  double closed_ms = processor_ms();
  assert_int_equal(resume(p->path, &journal, &recovery, NULL), EB_OK);
  double opened_ms = processor_ms();
  assert_int_equal(eb_journal_count(journal), RECORDS);
  eb_journal_close(journal);
  print_message("%d records: appended in %.0f ms, opened in %.0f ms of processor time\n", RECORDS,
                written_ms - start_ms, opened_ms - closed_ms);
}

static int begin(void **state)
{
  static place p;
  *state = &p;
  return place_make(&p) ? 0 : 1;
}

static int end(void **state)
{
  place_remove(*state);
  return 0;
}

#define LIFE(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
  const struct CMUnitTest tests[] = {
      LIFE(writes_the_bytes_that_sha256sum_agrees_with),
      LIFE(reads_and_goes_on),
      LIFE(a_torn_end_is_kept_aside_and_recorded),
      LIFE(damage_is_named_and_nothing_is_changed),
      LIFE(what_is_no_journal_is_refused),
      LIFE(a_link_is_not_opened_for_appending),
      LIFE(creation_takes_a_free_path_only),
      LIFE(leftovers_of_a_crash_are_not_in_the_way),
      LIFE(a_holder_in_hostile_words_is_shown_safely),
      LIFE(records_that_would_be_damage_are_refused),
      LIFE(the_longest_record_is_read_back),
      LIFE(a_file_that_others_changed_is_not_appended_to),
      LIFE(a_deleted_file_comes_back),
      LIFE(failures_have_their_words),
      LIFE(any_name_of_a_file_will_do),
      LIFE(a_file_beyond_the_size_limit_is_refused),
      LIFE(ten_thousand_records_open_at_once),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
