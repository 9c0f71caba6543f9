/* Files in memory behave as a journal needs it, and the clock stands until it is moved. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <errno.h>
#include <fcntl.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/scratch.h"

static eb_scratch *scratch;
static const eb_host *host;

static int set_up(void **state)
{
  (void)state;
  assert_int_equal(eb_scratch_create(eb_host_system(), &scratch, NULL), EB_OK);
  host = eb_scratch_host(scratch);
  return 0;
}

static int tear_down(void **state)
{
  (void)state;
  eb_scratch_destroy(scratch);
  return 0;
}

static int open_file(const char *path, int flags)
{
  return host->files.open(host->context, path, flags, 0666);
}

static void put(const char *path, const char *text)
{
  int file = open_file(path, O_WRONLY | O_CREAT | O_APPEND);
  assert_true(file >= 0);
  assert_int_equal(host->files.write(host->context, file, text, strlen(text)), (int)strlen(text));
  assert_int_equal(host->files.sync(host->context, file), 0);
  assert_int_equal(host->files.close(host->context, file), 0);
}

static void holds(const char *path, const char *text)
{
  char bytes[64] = "";
  int file = open_file(path, O_RDONLY);
  assert_true(file >= 0);
  assert_int_equal(host->files.read(host->context, file, bytes, sizeof bytes - 1), (int)strlen(text));
  assert_string_equal(bytes, text);
  host->files.close(host->context, file);
}

static void what_is_written_is_read(void **state)
{
  (void)state;
  put("a", "one");
  put("a", "two");
  holds("a", "onetwo");
  int file = open_file("a", O_RDWR);
  assert_int_equal(host->files.truncate(host->context, file, 3), 0);
  assert_int_equal(host->files.seek_end(host->context, file), 3);
  assert_int_equal(host->files.truncate(host->context, file, 5), 0);
  char bytes[8] = "xxxxxxx";
  host->files.close(host->context, file);
  file = open_file("a", O_RDONLY);
  assert_int_equal(host->files.read(host->context, file, bytes, sizeof bytes), 5);
  assert_memory_equal(bytes, "one\0\0", 5);
  host->files.close(host->context, file);
}

static void names_come_and_go(void **state)
{
  (void)state;
  assert_int_equal(open_file("a", O_RDONLY), -1);
  assert_int_equal(errno, ENOENT);
  put("a", "old");
  assert_int_equal(open_file("a", O_WRONLY | O_CREAT | O_EXCL), -1);
  assert_int_equal(errno, EEXIST);
  put("b", "new");
  int kept = open_file("a", O_RDONLY);
  assert_int_equal(host->files.rename(host->context, "b", "a"), 0);
  holds("a", "new");
  char bytes[8] = "";
  assert_int_equal(host->files.read(host->context, kept, bytes, sizeof bytes), 3); /* open files outlive their name */
  assert_string_equal(bytes, "old");
  host->files.close(host->context, kept);
  assert_int_equal(host->files.kind(host->context, "b"), EB_PATH_NOTHING);
  assert_int_equal(host->files.kind(host->context, "a"), EB_PATH_FILE);
  assert_int_equal(host->files.kind(host->context, "."), EB_PATH_FOLDER);
  assert_int_equal(host->files.remove(host->context, "a"), 0);
  assert_int_equal(host->files.remove(host->context, "a"), -1);
}

static void a_lock_is_held_once(void **state)
{
  (void)state;
  put("a", "");
  int first = open_file("a", O_RDWR), second = open_file("a", O_RDWR);
  assert_int_equal(host->files.lock(host->context, first), 0);
  assert_int_equal(host->files.lock(host->context, second), -1);
  assert_int_equal(errno, EWOULDBLOCK);
  host->files.close(host->context, first);
  assert_int_equal(host->files.lock(host->context, second), 0);
  host->files.close(host->context, second);
}

static void it_fills_up(void **state)
{
  (void)state;
  char name[2] = "a";
  for (int i = 0; i < EB_SCRATCH_FILES; i++, name[0]++)
    put(name, "x");
  assert_int_equal(open_file("one-more", O_WRONLY | O_CREAT), -1);
  assert_int_equal(errno, ENOSPC);
}

static void the_clock_is_moved_by_hand(void **state)
{
  (void)state;
  char text[EB_TIME_TEXT_SIZE];
  eb_time_text(host->now(host->context), text);
  assert_string_equal(text, "2000-01-01T08:00:00.000+00:00");
  eb_scratch_set_time(scratch, 90.5);
  eb_time_text(host->now(host->context), text);
  assert_string_equal(text, "2000-01-01T09:30:30.000+00:00");
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test_setup_teardown(what_is_written_is_read, set_up, tear_down),
      cmocka_unit_test_setup_teardown(names_come_and_go, set_up, tear_down),
      cmocka_unit_test_setup_teardown(a_lock_is_held_once, set_up, tear_down),
      cmocka_unit_test_setup_teardown(it_fills_up, set_up, tear_down),
      cmocka_unit_test_setup_teardown(the_clock_is_moved_by_hand, set_up, tear_down),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
