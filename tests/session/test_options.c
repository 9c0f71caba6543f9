/* What a procedure asks before its layout is fixed, and what an engine file says of it beforehand. */
#include "session_rig.h"

#define HEAD                                                                                                           \
  "{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"T\",\"api\":1},\"at\":\"two.lua:"   \
  "3\""
#define CYLINDERS                                                                                                      \
  "{\"id\":\"cylinders\",\"kind\":\"number\",\"key\":\"option.cylinders\",\"title\":\"Cylinders\",\"text\":\"?\","     \
  "\"quantity\":\"count\",\"unit\":\"\",\"low\":4,\"high\":12,\"step\":2}"
#define SIDE                                                                                                           \
  "{\"id\":\"side\",\"kind\":\"choose\",\"key\":\"option.side\",\"title\":\"Side\",\"text\":\"?\",\"options\":["       \
  "{\"id\":\"left\",\"text\":\"left\"},{\"id\":\"right\",\"text\":\"right\"}]}"
#define OPEN HEAD ",\"options\":[" CYLINDERS "," SIDE "]}\n"
#define COUNT(rest)                                                                                                    \
  ASK("number", "option.cylinders", ",\"quantity\":\"count\",\"unit\":\"\",\"low\":4,\"high\":12" rest)
#define FIX                                                                                                            \
  "{\"op\":\"layout\",\"at\":\"two.lua:9\",\"text\":\"It is this one.\",\"layout\":{\"rows\":[[\"1\",\"2\"]],"         \
  "\"adjusters\":[{\"id\":\"screw\",\"kind\":\"screw\",\"sides\":[[\"1\"],[\"2\"]]}]}}\n"

static eb_json *parse(const char *text)
{
  eb_json *json = NULL;
  assert_int_equal(eb_json_parse(text, strlen(text), &json, NULL), EB_OK);
  return json;
}

static int times(const char *text, const char *word)
{
  int count = 0;
  for (const char *at = text; (at = strstr(at, word)) != NULL; at++)
    count++;
  return count;
}

static void a_layout_is_told_once_it_is_fixed(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, OPEN COUNT("") FIX NUMBER("warm") NUMBER("warmer") END), EB_OK);
  saw(&r, "\"layout\":null");
  type(&r, "4");
  saw(&r,
      "{\"type\":\"tell\",\"kind\":\"layout\",\"text\":\"It is this one.\",\"at\":\"two.lua:9\",\"layout\":{\"bores\"");
  assert_string_equal(key_asked(&r), "warm");
  type(&r, "80");
  assert_int_equal(times(r.seen, "\"kind\":\"layout\""), 0);
  /* Back at the prompt behind it, it is shown once more, as all that was told before a prompt. */
  take(&r, "{\"do\":\"back\"}");
  assert_int_equal(times(r.seen, "\"kind\":\"layout\""), 1);
  take(&r, "{\"do\":\"back\"}");
  assert_string_equal(key_asked(&r), "option.cylinders");
  type(&r, "6");
  assert_int_equal(times(r.seen, "\"kind\":\"layout\""), 1);
  finish(&r);
}

/* Whoever comes back later is greeted with the layout; nobody needs to be told it twice. */
static void a_resumed_session_greets_with_the_layout(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, OPEN COUNT("") FIX NUMBER("warm") END), EB_OK);
  assert_int_equal(resume(&r), EB_OK);
  saw(&r, "\"layout\":null");
  see_to_the_return(&r);
  type(&r, "4");
  assert_int_equal(resume(&r), EB_OK);
  saw(&r, "\"type\":\"hello\"");
  saw(&r, "\"layout\":{\"bores\":[\"1\",\"2\"]");
  assert_int_equal(times(r.seen, "\"bores\""), 1);
  see_to_the_return(&r);
  assert_string_equal(key_asked(&r), "warm");
  finish(&r);
}

static void a_layout_without_an_ask_stands_in_the_first_hello(void **state)
{
  (void)state;
  rig r;
  eb_json *inputs = parse("{\"engine_file\":{\"layout\":{\"cylinders\":6,\"side\":\"left\"}}}");
  assert_int_equal(begin_with(&r, inputs, OPEN FIX NUMBER("warm") END), EB_OK);
  assert_int_equal(times(r.seen, "\"bores\""), 1);
  saw(&r, "\"layout\":{\"bores\":[\"1\",\"2\"]");
  eb_json_destroy(inputs);
  /* What was given then is in the journal. */
  assert_int_equal(resume(&r), EB_OK);
  finish(&r);
}

static void counts_go_in_whole_steps(void **state)
{
  (void)state;
  rig r;
  static const char *const wrong[] = {"5", "4.5", "3", "14"};
  assert_int_equal(begin(&r, OPEN COUNT(",\"step\":2") FIX NUMBER("warm") END), EB_OK);
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    assert_int_equal(type(&r, wrong[i]), EB_OK);
    saw(&r, "a whole number from 4 to 12 is wanted, in steps of 2");
    assert_string_equal(key_asked(&r), "option.cylinders");
  }
  take(&r, "{\"n\":2,\"value\":6}");
  assert_string_equal(key_asked(&r), "warm");
  finish(&r);
  assert_int_equal(begin(&r, OPEN COUNT("") FIX NUMBER("warm") END), EB_OK);
  type(&r, "4.5");
  saw(&r, "4.5 does not fit; a whole number from 4 to 12 is wanted\"");
  type(&r, "5");
  assert_string_equal(key_asked(&r), "warm");
  finish(&r);
}

static void what_an_engine_file_says_is_checked_at_once(void **state)
{
  (void)state;
  static const struct {
    const char *declare, *file, *message;
  } wrong[] = {
      {OPEN, "{\"cylinders\":7}", "layout: \"cylinders\" is 7; a whole number from 4 to 12 is wanted, in steps of 2"},
      {OPEN, "{\"cylinders\":\"six\"}",
       "layout: \"cylinders\" is \"six\"; a whole number from 4 to 12 is wanted, in steps of 2"},
      {OPEN, "{\"cylinders\":{\"value\":6,\"unit\":\"\"}}",
       "layout: \"cylinders\" is {\"value\":6,\"unit\":\"\"}; a whole number from 4 to 12 is wanted, in steps of 2"},
      {OPEN, "{\"side\":\"Left\"}", "layout: \"side\" is \"Left\"; it can be left, right"},
      {OPEN, "{\"side\":null}", "layout: \"side\" is null; it can be left, right"},
      {OPEN, "{\"cylinder\":6}",
       "layout gives \"cylinder\", which this procedure does not ask for; did you mean cylinders"},
      {OPEN, "{\"stroke\":6}",
       "layout gives \"stroke\", which this procedure does not ask for; it asks for cylinders, side"},
      {DECLARE, "{\"side\":\"left\"}", "layout gives \"side\", and this procedure leaves nothing of its layout open"},
      {OPEN, "[6]", "layout is to be an object, such as {\"cylinders\": 6}"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    rig r;
    char text[300];
    char lines[2000];
    snprintf(text, sizeof text, "{\"engine_file\":{\"file\":\"red.json\",\"layout\":%s}}", wrong[i].file);
    snprintf(lines, sizeof lines, "%s%s", wrong[i].declare, NUMBER("warm"));
    eb_json *inputs = parse(text);
    assert_int_equal(begin_with(&r, inputs, lines), EB_BAD_VALUE);
    assert_string_equal(r.error.message, wrong[i].message);
    assert_string_equal(r.error.place, "engine file red.json");
    assert_int_equal(access(r.path, F_OK), -1);
    eb_json_destroy(inputs);
  }
}

/* A shop that thinks in inches keeps its files in the procedure's units all the same. */
static void an_engine_file_speaks_in_the_procedures_units(void **state)
{
  (void)state;
  static const char lines[] = HEAD
      ",\"options\":[{\"id\":\"lever\",\"kind\":\"number\",\"key\":\"option.lever\",\"title\":\"Lever\",\"text\":\"?\","
      "\"quantity\":\"length\",\"unit\":\"mm\",\"low\":5,\"high\":100}]}\n" FIX NUMBER("warm");
  rig r;
  eb_json *inputs = parse("{\"habits\":{\"length\":\"in\"},\"engine_file\":{\"layout\":{\"lever\":25}}}");
  assert_int_equal(begin_with(&r, inputs, lines), EB_OK);
  assert_string_equal(key_asked(&r), "warm");
  eb_json_destroy(inputs);
  finish(&r);
  inputs = parse("{\"habits\":{\"length\":\"in\"},\"engine_file\":{\"layout\":{\"lever\":2}}}");
  assert_int_equal(begin_with(&r, inputs, lines), EB_BAD_VALUE);
  assert_string_equal(r.error.message, "layout: \"lever\" is 2; a number from 5 to 100 mm is wanted");
  eb_json_destroy(inputs);
  /* What is known of the throttles stands under another name in the file. */
  inputs = parse("{\"engine_file\":{\"throttle\":{\"lever\":2,\"bore_mm\":45}}}");
  assert_int_equal(begin_with(&r, inputs, lines), EB_BAD_VALUE);
  assert_string_equal(r.error.message, "throttle: \"lever\" is 2; a number from 5 to 100 mm is wanted");
  eb_json_destroy(inputs);
}

static void options_that_cannot_be_asked_are_the_authors(void **state)
{
  (void)state;
  static const struct {
    const char *options, *message;
  } wrong[] = {
      {"7", "options is to be a list of at most 24"},
      {"[{}]", "an option needs an id, a text of at most 31 bytes"},
      {"[{\"id\":\"a\",\"kind\":\"reading\"}]", "option \"a\" is neither a choice nor a number"},
      {"[{\"id\":\"a\",\"kind\":\"number\",\"key\":\"k\",\"title\":\"T\"}]",
       "option \"a\": text is missing or no text"},
      {"[" SIDE "," SIDE "]", "there are two options \"side\""},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    rig r;
    char lines[2000];
    snprintf(lines, sizeof lines, "%s,\"options\":%s}\n%s", HEAD, wrong[i].options, NUMBER("warm"));
    assert_int_equal(begin(&r, lines), EB_SCRIPT);
    assert_string_equal(r.error.message, wrong[i].message);
    assert_string_equal(r.error.place, "two.lua:3");
  }
}

/* The run ends there with the line; the answers before it stay. */
static void a_layout_that_is_none_ends_the_run(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, OPEN COUNT("") "{\"op\":\"layout\",\"at\":\"two.lua:9\",\"layout\":{\"rows\":[[1,1]],"
                                            "\"adjusters\":[]}}\n" NUMBER("warm")),
                   EB_OK);
  assert_int_equal(type(&r, "4"), EB_BAD_LAYOUT);
  assert_string_equal(r.error.place, "two.lua:9");
  saw(&r, "\"outcome\":\"failed\"");
  saw(&r, "bore 1 stands twice");
  finish(&r);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_layout_is_told_once_it_is_fixed),
      cmocka_unit_test(a_resumed_session_greets_with_the_layout),
      cmocka_unit_test(a_layout_without_an_ask_stands_in_the_first_hello),
      cmocka_unit_test(counts_go_in_whole_steps),
      cmocka_unit_test(what_an_engine_file_says_is_checked_at_once),
      cmocka_unit_test(an_engine_file_speaks_in_the_procedures_units),
      cmocka_unit_test(options_that_cannot_be_asked_are_the_authors),
      cmocka_unit_test(a_layout_that_is_none_ends_the_run),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
