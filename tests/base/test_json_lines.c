/* Lines of a JSON text, and messages that point at them. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/host.h"
#include "evenbore/json.h"

/* The document and the pointers of RFC 6901, section 5 (from memory), a member a line. */
static void pointers_of_the_standard(void **state)
{
  (void)state;
  static const char text[] = "{\n"
                             "\"foo\": [\"bar\",\n"
                             "\"baz\"],\n"
                             "\"\": 0,\n"
                             "\"a/b\": 1,\n"
                             "\"c%d\": 2,\n"
                             "\"e^f\": 3,\n"
                             "\"g|h\": 4,\n"
                             "\"i\\\\j\": 5,\n"
                             "\"k\\\"l\": 6,\n"
                             "\" \": 7,\n"
                             "\"m~n\": 8\n"
                             "}\n";
  static const struct {
    const char *pointer;
    size_t line;
  } known[] = {
      {"", 1},       {"/foo", 2}, {"/foo/0", 2}, {"/foo/1", 3}, {"/", 4},     {"/a~1b", 5},    {"/c%d", 6},
      {"/e^f", 7},   {"/g|h", 8}, {"/i\\j", 9},  {"/k\"l", 10}, {"/ ", 11},   {"/m~0n", 12},   {"/foo/2", 0},
      {"/foo/-", 0}, {"/fo", 0},  {"/fooo", 0},  {"/a/b", 0},   {"/m~n", 12}, {"/foo/0/x", 0}, {"/foo/01", 0},
  };
  for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
    if (eb_json_line(text, sizeof text - 1, known[i].pointer) != known[i].line)
      fail_msg("%s is on line %zu, not %zu", known[i].pointer, eb_json_line(text, sizeof text - 1, known[i].pointer),
               known[i].line);
}

static void keys_may_be_written_with_escapes(void **state)
{
  (void)state;
  static const char text[] = "\r\n{\"a\": {\r\n\"\\u0062\\ud83d\\ude00\":\n\n1},\n \"c\": [[0], [1,\n{\"d\": 2}]]}";
  assert_int_equal(eb_json_line(text, sizeof text - 1, "/a/b\xF0\x9F\x98\x80"), 3);
  assert_int_equal(eb_json_line(text, sizeof text - 1, "/c/1/1/d"), 7);
  assert_int_equal(eb_json_line(text, sizeof text - 1, ""), 2);
}

static void what_is_wrong_has_its_line(void **state)
{
  (void)state;
  static const struct {
    const char *text, *place, *message;
  } wrong[] = {
      {"", "f:1", "the text ends too early"},
      {"{\n\"a\": 1,\n}", "f:3", "no comma stands before a closing }"},
      {"[1,\n]", "f:2", "no comma stands before a closing ]"},
      {"{\n\"a\" 1}", "f:2", "a colon is wanted"},
      {"{\n\"a\": 1\n\"b\": 2}", "f:3", "a comma or } is wanted"},
      {"[1\n2]", "f:2", "a comma or ] is wanted"},
      {"{\n\"a\": 1,\n\"b\": {\"a\": 1},\n\"a\": 2}", "f:4", "for the second time"},
      {"{\n\"a\": 1,\n\"\\u0061\": 2}", "f:3", "for the second time"},
      {"{\"x\": [{\"a\":\n{\"b\": 1,\n\"b\": 2}}]}", "f:3", "for the second time"},
      {"{\n'a': 1}", "f:2", "a key in double quotes"},
      {"{\n\"a\": 'b'}", "f:2", "a text stands in double quotes"},
      {"{\n\"a\": True}", "f:2", "a value is wanted"},
      {"{\n\"a\": \"b\n\"}", "f:2", "the closing quote of a text is missing"},
      {"{\n\"a\": \"b\t\"}", "f:2", "a control character"},
      {"{\n\"a\": \"C:\\files\"}", "f:2", NULL},
      {"{\n\"a\": \"C:\\data\"}", "f:2", "an unknown escape"},
      {"{\n\"a\": \"\\u00zz\"}", "f:2", "an unknown escape"},
      {"{\n\"a\": \"\\u0000\"}", "f:2", "a NUL character"},
      {"{\n\"a\": \"\\ud83d\"}", "f:2", "half of a surrogate pair"},
      {"{\n\"a\": 012}", "f:2", "a number is malformed"},
      {"{\n\"a\": 1.}", "f:2", "a number is malformed"},
      {"{\n\"a\": 0,5}", "f:2", "a key in double quotes"},
      {"{\n\"a\": -}", "f:2", "a number is malformed"},
      {"{\n\"a\": 1e999}", "f:2", "a number is too large"},
      {"{}\n\n{}", "f:3", "something follows"},
      {"{\n\"a\": \"\xFF\"}", "f:2", "not UTF-8"},
      {"\xEF\xBB\xBF{}", "f:1", "byte order mark"},
      {"{\n", "f:2", "a key in double quotes is wanted"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_json *value = NULL;
    eb_error error = {0};
    eb_status status = eb_json_parse_lines("f", wrong[i].text, strlen(wrong[i].text), &value, &error);
    if (wrong[i].message == NULL) { /* \f is an escape */
      assert_int_equal(status, EB_OK);
      eb_json_destroy(value);
      continue;
    }
    if (status == EB_OK || strcmp(error.place, wrong[i].place) != 0 || strstr(error.message, wrong[i].message) == NULL)
      fail_msg("%zu: %s: %s: %s", i, wrong[i].text, error.place, error.message);
    assert_null(value);
  }
}

/* The walk and the reader have to agree on what JSON is: whatever one refuses, the other does. */
static void both_readers_agree(void **state)
{
  (void)state;
  static const char good[] = "{\"a\":[1,-2.5e+3,\"x\\n\\u00e9\",{}],\"b\":{\"c\":null,\"d\":[]},\"e\":true}";
  static const char bytes[] = "{}[],:\"\\ \n019.e-+tfnu'a\x01\xC3";
  for (size_t at = 0; at < sizeof good - 1; at++)
    for (size_t with = 0; with < sizeof bytes - 1; with++) {
      char text[sizeof good];
      memcpy(text, good, sizeof text);
      text[at] = bytes[with];
      eb_json *one = NULL;
      eb_json *other = NULL;
      eb_error error = {0};
      bool lines = eb_json_parse_lines("f", text, sizeof text - 1, &one, &error) == EB_OK;
      bool plain = eb_json_parse(text, sizeof text - 1, &other, NULL) == EB_OK;
      /* A lone surrogate or a raw newline is the one thing that the two may see differently. */
      if (lines && !plain)
        fail_msg("taken: %s", text);
      if (!lines && plain && strstr(error.message, "surrogate") == NULL)
        fail_msg("refused (%s): %s", error.message, text);
      if (!lines && strchr(error.place, ':') == NULL)
        fail_msg("no line: %s: %s", text, error.message);
      eb_json_destroy(one);
      eb_json_destroy(other);
    }
}

static void deep_and_doubled_texts_end_soon(void **state)
{
  (void)state;
  char text[4096] = "";
  for (int i = 0; i < 200; i++)
    strcat(text, "[");
  eb_json *value = NULL;
  eb_error error;
  assert_int_equal(eb_json_parse_lines("f", text, strlen(text), &value, &error), EB_BAD_VALUE);
  assert_non_null(strstr(error.message, "deeper than 32"));
  /* Two members on each of thirty levels: every level is walked again for the second, and only once. */
  char nested[2048] = "1";
  for (int i = 0; i < 30; i++) {
    char outer[sizeof nested];
    snprintf(outer, sizeof outer, "{\"a\":%.1900s,\"b\":1}", nested);
    memcpy(nested, outer, sizeof nested);
  }
  assert_int_equal(eb_json_parse_lines("f", nested, strlen(nested), &value, &error), EB_OK);
  eb_json_destroy(value);
}

static void places_are_cut_at_their_beginning(void **state)
{
  (void)state;
  char name[400];
  char place[EB_PLACE_SIZE];
  eb_json_place("engines/red.json", 12, place);
  assert_string_equal(place, "engines/red.json:12");
  eb_json_place("engines/red.json", 0, place);
  assert_string_equal(place, "engines/red.json");
  for (size_t i = 0; i + 1 < sizeof name; i += 2)
    memcpy(name + i, "\xC3\xA9", 2);
  name[sizeof name - 1] = '\0';
  name[sizeof name - 2] = 'z';
  eb_json_place(name, 7, place);
  assert_memory_equal(place, "...\xC3", 4);
  assert_string_equal(place + strlen(place) - 3, "z:7");
  assert_true(eb_utf8_valid(place, strlen(place), NULL));
}

static void what_is_written_reads_back(void **state)
{
  (void)state;
  static const char text[] = "{\n"
                             "  \"name\": \"red \\\"one\\\"\",\n"
                             "  \"best\": [1, 10],\n"
                             "  \"throttle\": {\n"
                             "    \"bore_mm\": 48.5\n"
                             "  },\n"
                             "  \"from\": [\n"
                             "    {\n"
                             "      \"n\": 1\n"
                             "    },\n"
                             "    {}\n"
                             "  ],\n"
                             "  \"empty\": []\n"
                             "}\n";
  eb_json *value = NULL;
  eb_text written;
  eb_text_init(&written, eb_host_system());
  assert_int_equal(eb_json_parse_lines("f", text, sizeof text - 1, &value, NULL), EB_OK);
  eb_json_write_lines(&written, value);
  assert_string_equal(eb_text_string(&written), text);
  eb_text_clear(&written);
  eb_json_destroy(value);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(pointers_of_the_standard),        cmocka_unit_test(keys_may_be_written_with_escapes),
      cmocka_unit_test(what_is_wrong_has_its_line),      cmocka_unit_test(both_readers_agree),
      cmocka_unit_test(deep_and_doubled_texts_end_soon), cmocka_unit_test(places_are_cut_at_their_beginning),
      cmocka_unit_test(what_is_written_reads_back),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
