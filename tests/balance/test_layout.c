#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "engines.h"

static void a_layout_is_read_as_declared(void **state)
{
  (void)state;
  eb_layout v8;
  assert_int_equal(engine_read(ENGINE_V8, &v8, NULL), EB_OK);
  assert_int_equal(v8.bore_count, 8);
  assert_int_equal(v8.row_count, 2);
  assert_int_equal(v8.row_start[1], 4);
  assert_string_equal(v8.bore[4], "2");
  assert_string_equal(v8.row_title[1], "right");
  assert_int_equal(v8.adjuster_count, 11);
  assert_int_equal(eb_layout_bore(&v8, "8"), 7);
  assert_int_equal(eb_layout_bore(&v8, "9"), -1);
  int coupler = eb_layout_adjuster(&v8, "coupler-left");
  assert_int_equal(coupler, 1);
  assert_int_equal(eb_layout_adjuster(&v8, "coupler"), -1);
  assert_string_equal(v8.adjuster[coupler].title, "left coupler");
  assert_true(v8.adjuster[coupler].stopped);
  assert_int_equal(v8.adjuster[coupler].first, 0x3);
  assert_int_equal(v8.adjuster[coupler].second, 0xC);
}

static void sets_of_bores_are_rows_and_names(void **state)
{
  (void)state;
  eb_layout v8;
  assert_int_equal(engine_read(ENGINE_V8, &v8, NULL), EB_OK);
  assert_int_equal(eb_layout_row(&v8, 0), 0x0F);
  assert_int_equal(eb_layout_row(&v8, 1), 0xF0);
  assert_int_equal(eb_layout_bores(&v8), 0xFF);
  static const struct {
    eb_bores bores;
    const char *text;
  } sets[] = {{0, "[]"}, {0x80, "[\"8\"]"}, {0x13, "[\"1\",\"3\",\"2\"]"}};
  for (size_t i = 0; i < sizeof sets / sizeof sets[0]; i++) {
    eb_json *names = eb_layout_names(&v8, sets[i].bores);
    char *text = eb_json_text(names);
    assert_string_equal(text, sets[i].text);
    eb_json_text_free(text);
    eb_json_destroy(names);
  }
}

static void effects_are_shared_between_two_sides(void **state)
{
  (void)state;
  eb_layout v8;
  assert_int_equal(engine_read(ENGINE_V8, &v8, NULL), EB_OK);
  assert_true(eb_adjuster_effect(&v8.adjuster[0], 0) == 0.5);
  assert_true(eb_adjuster_effect(&v8.adjuster[0], 7) == -0.5);
  assert_true(eb_adjuster_effect(&v8.adjuster[1], 7) == 0);
  assert_true(eb_adjuster_effect(&v8.adjuster[10], 7) == 1);
}

static void titles_and_usual_figures_are_filled_in(void **state)
{
  (void)state;
  eb_layout four;
  assert_int_equal(engine_read(ENGINE_INLINE_FOUR, &four, NULL), EB_OK);
  assert_string_equal(four.adjuster[0].title, "middle screw");
  assert_true(four.adjuster[0].effort_min > 0);
  assert_true(four.adjuster[0].gain == 1 && four.adjuster[0].gain_spread == 0.5);
  assert_true(four.adjuster[0].spread == 0.08 && four.plate_spread == 0.05);
  eb_layout twin;
  assert_int_equal(engine_read(ENGINE_TWIN, &twin, NULL), EB_OK);
  assert_string_equal(twin.adjuster[0].title, "link");
}

/* What was met and what would be right stand in the message; the adjuster's own line is the place. */
static void mistakes_are_named(void **state)
{
  (void)state;
  static const struct {
    const char *text, *says, *place;
  } wrong[] = {
      {"[]", "must be an object", "engines.h"},
      {"{\"adjusters\":[]}", "needs \"rows\"", "engines.h"},
      {"{\"rows\":[],\"adjusters\":[]}", "needs \"rows\"", "engines.h"},
      {"{\"rows\":[[1],[]],\"adjusters\":[]}", "row 2 must be a list of one or more bores", "engines.h"},
      {"{\"rows\":[[1,1]],\"adjusters\":[]}", "bore 1 stands twice", "engines.h"},
      {"{\"rows\":[[1],[\"1\"]],\"adjusters\":[]}", "bore 1 stands twice", "engines.h"},
      {"{\"rows\":[[1.5]],\"adjusters\":[]}", "whole number", "engines.h"},
      {"{\"rows\":[[\"\"]],\"adjusters\":[]}", "a bore's name is empty", "engines.h"},
      {"{\"rows\":[[\"a\\u202eb\"]],\"adjusters\":[]}", "cannot be shown", "engines.h"},
      {"{\"rows\":[[\"abcdefghijklmnopqrstuvwxyz012345\"]],\"adjusters\":[]}", "longer than 31 bytes", "engines.h"},
      {"{\"rows\":[[1],[2],[3],[4],[5],[6],[7],[8],[9]],\"adjusters\":[]}", "at most 8", "engines.h"},
      {"{\"rows\":[[1,2]]}", "needs \"adjusters\"", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[],\"plate_spred\":0.1}", "did you mean \"plate_spread\"?", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[],\"plate_spread\":0}", "\"plate_spread\" is 0; it must be from", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[],\"row_titles\":[\"a\",\"b\"]}", "list of 1 texts", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[7]}", "adjuster 1 must be an object", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"kind\":\"screw\",\"sides\":[[1],[2]],\"at\":\"two.lua:9\"}]}",
       "adjuster 1 needs \"id\" and \"kind\"", "two.lua:9"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1],[2]],\"efort\":3}]}",
       "unknown key \"efort\"; did you mean \"effort\"?", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1],[]]}]}",
       "a side must be a list of one or more bores", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[]}]}", "needs \"sides\"",
       "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1],[2],[1]]}]}",
       "needs \"sides\"", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1],[7]],\"at\":\"two.lua:14\"}]}",
       "adjuster \"s\" names bore 7; this layout has the bores 1 2", "two.lua:14"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1],[1]]}]}", "on both sides",
       "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1,1],[2]]}]}",
       "twice on one side", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1]]},"
       "{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[2]]}]}",
       "two adjusters have the id \"s\"", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1],[2]],\"gain\":5}]}",
       "\"gain\" is 5; it must be from 0.25 to 4", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1],[2]],\"effort\":\"3\"}]}",
       "\"effort\" must be a number", "engines.h"},
      {"{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"s\",\"kind\":\"screw\",\"sides\":[[1],[2]],\"stopped\":1}]}",
       "\"stopped\" must be true or false", "engines.h"},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    eb_layout layout = {.bore_count = 77};
    eb_error error = {0};
    assert_int_equal(engine_read(wrong[i].text, &layout, &error), EB_BAD_LAYOUT);
    if (strstr(error.message, wrong[i].says) == NULL)
      fail_msg("case %zu says \"%s\"", i, error.message);
    assert_string_equal(error.place, wrong[i].place);
    assert_int_equal(layout.bore_count, 77);
  }
}

static void too_many_parts_are_refused(void **state)
{
  (void)state;
  char text[8192] = "{\"rows\":[[";
  for (int i = 1; i <= 25; i++)
    snprintf(text + strlen(text), 64, "%s%d", i == 1 ? "" : ",", i);
  strcat(text, "]],\"adjusters\":[]}");
  eb_layout layout;
  eb_error error;
  assert_int_equal(engine_read(text, &layout, &error), EB_BAD_LAYOUT);
  assert_non_null(strstr(error.message, "more than 24 bores"));
  strcpy(text, "{\"rows\":[[1,2]],\"adjusters\":[");
  for (int k = 0; k < 65; k++)
    snprintf(text + strlen(text), 96, "%s{\"id\":\"s%d\",\"kind\":\"screw\",\"sides\":[[1],[2]]}", k == 0 ? "" : ",",
             k);
  strcat(text, "]}");
  assert_int_equal(engine_read(text, &layout, &error), EB_BAD_LAYOUT);
  assert_non_null(strstr(error.message, "more than 64 adjusters"));
}

static void a_layout_is_shown_as_the_protocol_has_it(void **state)
{
  (void)state;
  eb_layout twin;
  assert_int_equal(engine_read(ENGINE_TWIN, &twin, NULL), EB_OK);
  eb_json *json = eb_layout_json(&twin);
  char *text = eb_json_text(json);
  assert_string_equal(text,
                      "{\"bores\":[\"front\",\"rear\"],\"rows\":[[\"front\"],[\"rear\"]],\"row_titles\":[\"\",\"\"],"
                      "\"adjusters\":[{\"id\":\"link\",\"kind\":\"link\",\"title\":\"link\","
                      "\"sides\":[[\"front\"],[\"rear\"]],\"effort\":4,\"stopped\":true}]}");
  eb_json_text_free(text);
  eb_json_destroy(json);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_layout_is_read_as_declared),
      cmocka_unit_test(sets_of_bores_are_rows_and_names),
      cmocka_unit_test(effects_are_shared_between_two_sides),
      cmocka_unit_test(titles_and_usual_figures_are_filled_in),
      cmocka_unit_test(mistakes_are_named),
      cmocka_unit_test(too_many_parts_are_refused),
      cmocka_unit_test(a_layout_is_shown_as_the_protocol_has_it),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
