#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "view.h"

enum { MESSAGES_MAX = 64, FILE_MAX = 1 << 16 };

typedef struct messages {
  eb_json *message[MESSAGES_MAX];
  int count;
} messages;

static char *read_file(const char *path)
{
  static char bytes[FILE_MAX];
  FILE *file = fopen(path, "rb");
  assert_non_null(file);
  size_t size = fread(bytes, 1, sizeof bytes - 1, file);
  fclose(file);
  bytes[size] = '\0';
  return bytes;
}

static int setup(void **state)
{
  static messages m;
  m.count = 0;
  char *line = strtok(read_file(EB_TESTS_FOLDER "/front/messages.jsonl"), "\n");
  for (; line != NULL; line = strtok(NULL, "\n"))
    assert_int_equal(eb_json_parse(line, strlen(line), &m.message[m.count++], NULL), EB_OK);
  *state = &m;
  return 0;
}

static int teardown(void **state)
{
  messages *m = *state;
  for (int i = 0; i < m->count; i++)
    eb_json_destroy(m->message[i]);
  return 0;
}

/* Every message in its order, as a session would send them. The caller clears the view. */
static void show_all(const messages *m, int columns, bool utf8, bool styled, eb_view *view)
{
  eb_view_init(view, eb_host_system(), columns, utf8, styled);
  for (int i = 0; i < m->count; i++)
    assert_true(eb_view_show(view, m->message[i]));
}

static void check_golden(const messages *m, int columns, bool utf8)
{
  char path[256];
  char made[256];
  snprintf(path, sizeof path, EB_TESTS_FOLDER "/front/screen-%s-%d.txt", utf8 ? "utf8" : "ascii", columns);
  snprintf(made, sizeof made, EB_BUILD_FOLDER "/screen-%s-%d.txt", utf8 ? "utf8" : "ascii", columns);
  eb_view view;
  show_all(m, columns, utf8, false, &view);
  FILE *file = fopen(made, "wb");
  assert_non_null(file);
  fwrite(view.page.text.bytes, 1, view.page.text.size, file);
  fclose(file);
  bool same = strcmp(eb_text_string(&view.page.text), read_file(path)) == 0;
  eb_view_clear(&view);
  if (!same)
    fail_msg("the screens differ from what was agreed: compare %s with %s", made, path);
}

static void screens_are_as_agreed(void **state)
{
  check_golden(*state, 80, true);
  check_golden(*state, 80, false);
  check_golden(*state, 40, true);
  check_golden(*state, 40, false);
}

/* What a terminal may be sent: whole characters that can be printed, newlines, and lines that fit. */
static void check_safe(const eb_view *view, int columns)
{
  const char *text = eb_text_string(&view->page.text);
  size_t size = strlen(text);
  for (size_t at = 0; at < size;) {
    uint32_t c = 0;
    size_t length = eb_utf8_decode(text + at, size - at, &c);
    assert_true(length > 0);
    assert_true(c == '\n' || !eb_char_unprintable(c));
    assert_true(view->page.utf8 || c < 0x80);
    at += length;
  }
  char line[512];
  while (*text != '\0') {
    size_t length = strcspn(text, "\n");
    assert_true(length < sizeof line);
    memcpy(line, text, length);
    line[length] = '\0';
    if (eb_utf8_columns(line) > (size_t)columns)
      fail_msg("this line is wider than %d columns: %s", columns, line);
    text += length + (text[length] == '\n');
  }
}

static void lines_fit_every_width(void **state)
{
  for (int columns = 40; columns <= 80; columns++)
    for (int utf8 = 0; utf8 <= 1; utf8++) {
      eb_view view;
      show_all(*state, columns, utf8 == 1, false, &view);
      check_safe(&view, columns);
      eb_view_clear(&view);
    }
}

static const char *hostile_text(void)
{
  static char text[4000];
  if (text[0] == '\0') {
    strcpy(text, "a\x1B[2J\xC2\x9B"
                 "31m\xE2\x80\xAE\xEF\xBB\xBF\xE2\x80\x8B\r\b\a\t\x7F%s%n\xE4\xB8\xAD\xCC\x81");
    size_t at = strlen(text);
    memset(text + at, 'W', sizeof text - 1 - at);
  }
  return text;
}

/* Replaces string number `*which` of the tree, counted in order; keys of objects stay. True where there was one. */
static bool replace_string(eb_json *value, int *which, const char *with)
{
  eb_json *child;
  int index = 0;
  for (const eb_json *next = eb_json_first(value); next != NULL; next = eb_json_next(next), index++) {
    if (eb_json_is_object(value))
      child = eb_json_member(value, eb_json_key(next));
    else
      child = (eb_json *)(uintptr_t)eb_json_at(value, index);
    if (eb_json_is_string(next) && eb_json_is_object(value) && (*which)-- == 0)
      return eb_json_set_string(value, eb_json_key(next), with);
    if (replace_string(child, which, with))
      return true;
  }
  return false;
}

static void hostile_strings_in_every_field_are_spelled_out(void **state)
{
  const messages *m = *state;
  int replaced = 0;
  for (int i = 0; i < m->count; i++)
    for (int field = 0;; field++) {
      messages changed = *m;
      changed.message[i] = eb_json_copy(m->message[i]);
      int which = field;
      bool found = replace_string(changed.message[i], &which, hostile_text());
      if (found) {
        eb_view view;
        show_all(&changed, 40 + field % 41, field % 2 == 0, false, &view);
        check_safe(&view, 40 + field % 41);
        eb_view_clear(&view);
        replaced++;
      }
      eb_json_destroy(changed.message[i]);
      if (!found)
        break;
    }
  print_message("%d fields were made hostile\n", replaced);
  assert_true(replaced > 120);
}

/* The same for bores, rows and shares, whose names are keys or stand in arrays. */
static void hostile_names_of_bores_are_spelled_out(void **state)
{
  (void)state;
  static const char *const lines[] = {
      "{\"type\":\"hello\",\"layout\":{\"rows\":[[\"\\u001b[2J\",\"\\u202e\"],[\"3\"]],\"row_titles\":[\"\\u009b\"],"
      "\"adjusters\":[{\"id\":\"k\",\"title\":\"\\u001b]0;x\\u0007\",\"sides\":[[\"\\u001b[2J\"],[\"\\u202e\"]]}]}}",
      "{\"type\":\"tell\",\"kind\":\"verdict\",\"verdict\":{\"word\":\"\\u001b\",\"tolerance\":0,\"claim\":1,\"worst\":"
      "\"\\r\","
      "\"bores\":{\"\\u001b[2J\":{\"value\":1e300,\"deviation\":-1e300,\"doubt\":1e300,\"word\":\"uneven\"}},"
      "\"contrasts\":[{\"adjuster\":\"k\",\"level\":\"side\",\"value\":1e300,\"doubt\":1}]}}",
      "{\"type\":\"ask\",\"kind\":\"adjust\",\"share\":{\"\\u001b[2J\":1e300,\"\\r\":-0.5}}",
      "{\"type\":\"ask\"}",
      "{\"type\":\"tell\"}",
      "{\"type\":\"end\"}",
      "{\"type\":\"hello\"}",
      "{\"type\":\"refused\"}",
  };
  eb_view view;
  eb_view_init(&view, eb_host_system(), 60, true, false);
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
    eb_json *message = NULL;
    assert_int_equal(eb_json_parse(lines[i], strlen(lines[i]), &message, NULL), EB_OK);
    assert_true(eb_view_show(&view, message));
    eb_json_destroy(message);
  }
  check_safe(&view, 60);
  eb_view_clear(&view);
}

static void nothing_is_said_by_style_alone(void **state)
{
  eb_view plain;
  eb_view styled;
  show_all(*state, 80, true, false, &plain);
  show_all(*state, 80, true, true, &styled);
  const char *from = eb_text_string(&styled.page.text);
  char *without = malloc(styled.page.text.size + 1);
  size_t size = 0;
  int codes = 0;
  while (*from != '\0') {
    if (*from == '\033') {
      from += strcspn(from, "m") + 1;
      codes++;
    } else {
      without[size++] = *from++;
    }
  }
  without[size] = '\0';
  assert_true(codes > 20);
  assert_string_equal(without, eb_text_string(&plain.page.text));
  free(without);
  eb_view_clear(&plain);
  eb_view_clear(&styled);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(screens_are_as_agreed),
      cmocka_unit_test(lines_fit_every_width),
      cmocka_unit_test(hostile_strings_in_every_field_are_spelled_out),
      cmocka_unit_test(hostile_names_of_bores_are_spelled_out),
      cmocka_unit_test(nothing_is_said_by_style_alone),
  };
  return cmocka_run_group_tests(tests, setup, teardown);
}
