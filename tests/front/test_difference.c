/* Differences of texts: they lead from one to the other, and no shorter way is found by diff(1). */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "difference.h"

static eb_text difference_of(const char *before, const char *after)
{
  eb_page page;
  eb_error error;
  eb_source old = {.name = "a", .text = before, .size = strlen(before)};
  eb_source new = {.name = "b", .text = after, .size = strlen(after)};
  eb_page_init(&page, eb_host_system(), 80, true, false);
  assert_int_equal(eb_difference_say(&page, eb_host_system(), &old, &new, &error), EB_OK);
  assert_false(page.text.failed);
  return page.text;
}

static void known_ones(void **state)
{
  (void)state;
  static const struct {
    const char *before, *after, *difference;
  } known[] = {
      {"", "", ""},
      {"a\nb\n", "a\nb\n", ""},
      {"", "a\n", "@@ -0,0 +1,1 @@\n+a\n"},
      {"a\n", "", "@@ -1,1 +0,0 @@\n-a\n"},
      {"a\nb\nc\n", "a\nx\nc\n", "@@ -1,3 +1,3 @@\n a\n-b\n+x\n c\n"},
      {"1\n2\n3\n4\n5\n6\n7\n8\n9\n", "1\n2\n3\n4\n6\n7\n8\n9\n", "@@ -2,7 +2,6 @@\n 2\n 3\n 4\n-5\n 6\n 7\n 8\n"},
      {"a\n1\n2\n3\n4\n5\n6\nb\n", "A\n1\n2\n3\n4\n5\n6\nB\n",
       "@@ -1,8 +1,8 @@\n-a\n+A\n 1\n 2\n 3\n 4\n 5\n 6\n-b\n+B\n"},
      {"a\n1\n2\n3\n4\n5\n6\n7\nb\n", "A\n1\n2\n3\n4\n5\n6\n7\nB\n",
       "@@ -1,4 +1,4 @@\n-a\n+A\n 1\n 2\n 3\n@@ -6,4 +6,4 @@\n 5\n 6\n 7\n-b\n+B\n"},
      {"a", "a\tb\x1B[31m\xE2\x80\xAE", "@@ -1,1 +1,1 @@\n-a\n+a   b\\u{1B}[31m\\u{202E}\n"},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
    eb_text text = difference_of(known[i].before, known[i].after);
    assert_string_equal(eb_text_string(&text), known[i].difference);
    eb_text_clear(&text);
  }
}

/* Applies a difference to a text; what it says of that text must be so. */
static void apply(const char *before, const char *difference, char *after)
{
  const char *at = before;
  size_t line = 1;
  after[0] = '\0';
  while (*difference != '\0') {
    size_t size = strcspn(difference, "\n") + 1;
    if (difference[0] == '@') {
      size_t from = 0, count = 0;
      assert_int_equal(sscanf(difference, "@@ -%zu,%zu ", &from, &count), 2);
      for (from += count == 0; line < from; line++) {
        size_t kept = strcspn(at, "\n") + 1;
        strncat(after, at, kept);
        at += kept;
      }
    } else if (difference[0] == '+') {
      strncat(after, difference + 1, size - 1);
    } else {
      assert_memory_equal(at, difference + 1, size - 1);
      if (difference[0] == ' ')
        strncat(after, at, size - 1);
      at += size - 1;
      line++;
    }
    difference += size;
  }
  strcat(after, at);
}

static int count_changed(const char *difference)
{
  int changed = 0;
  for (const char *c = difference; *c != '\0'; c += strcspn(c, "\n") + 1)
    changed += *c == '+' || *c == '-';
  return changed;
}

/* Park and Miller, Communications of the ACM 31, 1988. */
static uint64_t dice_state = 1;
static size_t dice(size_t sides)
{
  dice_state = dice_state * 48271 % 2147483647;
  return (size_t)(dice_state % sides);
}

static void make_text(char *text, size_t lines)
{
  size_t used = 0;
  for (size_t i = 0; i < lines; i++)
    used += (size_t)sprintf(text + used, "%c\n", (char)('a' + dice(4)));
  text[used] = '\0';
}

static void write_file(const char *path, const char *text)
{
  FILE *file = fopen(path, "w");
  assert_non_null(file);
  assert_true(fputs(text, file) >= 0);
  assert_int_equal(fclose(file), 0);
}

/* The lines that diff --minimal changes. */
static int count_by_diff(const char *before, const char *after)
{
  char command[200], line[200], first[] = "/tmp/evenbore-first-XXXXXX", second[] = "/tmp/evenbore-second-XXXXXX";
  int changed = 0;
  close(mkstemp(first));
  close(mkstemp(second));
  write_file(first, before);
  write_file(second, after);
  snprintf(command, sizeof command, "diff --minimal %s %s", first, second);
  FILE *pipe = popen(command, "r");
  assert_non_null(pipe);
  while (fgets(line, sizeof line, pipe) != NULL)
    changed += line[0] == '<' || line[0] == '>';
  assert_true(pclose(pipe) >= 0);
  unlink(first);
  unlink(second);
  return changed;
}

static void they_lead_there_by_the_shortest_way(void **state)
{
  (void)state;
  char before[256], after[256], made[1024];
  for (int i = 0; i < 200; i++) {
    make_text(before, dice(30));
    make_text(after, dice(30));
    eb_text text = difference_of(before, after);
    apply(before, eb_text_string(&text), made);
    assert_string_equal(made, after);
    if (i < 40)
      assert_int_equal(count_changed(eb_text_string(&text)), count_by_diff(before, after));
    eb_text_clear(&text);
  }
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(known_ones),
      cmocka_unit_test(they_lead_there_by_the_shortest_way),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
