#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/evidence.h"
#include "evenbore/known.h"

#include <math.h>

static eb_json *parse(const char *text)
{
  eb_json *json = NULL;
  assert_int_equal(eb_json_parse(text, strlen(text), &json, NULL), EB_OK);
  return json;
}

static eb_status make(const char *end_text, eb_json **known, eb_error *error)
{
  eb_json *open = parse("{\"session\":\"20260304-two-1\",\"time\":\"2026-03-04T05:06:07.089+01:00\"}");
  eb_json *end = end_text == NULL ? NULL : parse(end_text);
  eb_status status = eb_known_make(open, end, "d1", known, error);
  eb_json_destroy(open);
  eb_json_destroy(end);
  return status;
}

static void what_was_answered_is_taken_over_with_more_doubt(void **state)
{
  (void)state;
  eb_json *known = NULL;
  eb_error error;
  assert_int_equal(
      make("{\"answered\":[{\"adjuster\":\"screw\",\"kind\":\"screw\",\"sides\":[[\"1\"],[\"2\"]],\"gain\":"
           "1.5,\"spread\":0.2,\"moves\":2},{\"adjuster\":\"vague\",\"kind\":\"screw\",\"sides\":[[\"1\"]],"
           "\"gain\":1,\"spread\":0.44,\"moves\":1}]}",
           &known, &error),
      EB_OK);
  const eb_json *list = eb_json_get(known, "adjusters");
  assert_int_equal(eb_json_count(list), 1); /* the other is as doubtful as one that was never used */
  assert_true(fabs(eb_json_get_number(eb_json_at(list, 0), "gain", 0) - 1.5) < 1e-12);
  assert_true(fabs(eb_json_get_number(eb_json_at(list, 0), "spread", 0) - hypot(0.2, 0.3)) < 1e-12);
  assert_string_equal(eb_json_get_string(known, "session", ""), "20260304-two-1");
  assert_string_equal(eb_json_get_string(known, "digest", ""), "d1");

  eb_json *same = parse("{\"id\":\"screw\",\"kind\":\"screw\",\"sides\":[[\"1\"],[\"2\"]]}");
  eb_json *other = parse("{\"id\":\"screw\",\"kind\":\"screw\",\"sides\":[[\"2\"],[\"1\"]]}");
  assert_non_null(eb_known_of(known, same));
  assert_null(eb_known_of(known, other));

  eb_text text;
  eb_text_init(&text, eb_host_system());
  eb_known_words(known, NULL, &text);
  assert_non_null(strstr(eb_text_string(&text), "session 20260304-two-1 (2026-03-04)"));
  assert_non_null(strstr(eb_text_string(&text), "screw 1.50 \xc2\xb1"
                                                "0.36"));
  eb_text_clear(&text);
  eb_json_destroy(same);
  eb_json_destroy(other);
  eb_json_destroy(known);
}

static void what_cannot_be_is_refused(void **state)
{
  (void)state;
  static const struct {
    const char *end;
    eb_status status;
  } cases[] = {
      {NULL, EB_REFUSED},
      {"{}", EB_NOT_FOUND},
      {"{\"answered\":[]}", EB_NOT_FOUND},
      {"{\"answered\":[{\"adjuster\":\"a\",\"gain\":1,\"spread\":0.5}]}", EB_NOT_FOUND},
      {"{\"answered\":[{\"adjuster\":\"a\",\"gain\":9,\"spread\":0.2}]}", EB_BAD_VALUE},
      {"{\"answered\":[{\"adjuster\":\"a\",\"gain\":1,\"spread\":0}]}", EB_BAD_VALUE},
      {"{\"answered\":[{\"adjuster\":\"a\",\"gain\":1,\"spread\":-1}]}", EB_BAD_VALUE},
      {"{\"answered\":[{\"gain\":1,\"spread\":0.2}]}", EB_BAD_VALUE},
      {"{\"answered\":[7]}", EB_BAD_VALUE},
  };
  for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
    eb_json *known = NULL;
    eb_error error;
    assert_int_equal(make(cases[i].end, &known, &error), cases[i].status);
    assert_null(known);
  }
}

static const char two_bores[] = "{\"rows\":[[\"1\",\"2\"]],\"adjusters\":[{\"id\":\"screw\",\"kind\":\"screw\","
                                "\"sides\":[[\"1\"],[\"2\"]]}]}";

/* A screw that does twice what is wished, several times. */
static void gains_follow_from_readings(void **state)
{
  (void)state;
  eb_layout layout;
  eb_gauge gauge = eb_gauge_usual();
  eb_evidence *evidence = NULL;
  eb_error error;
  eb_gain gain;
  eb_json *json = parse(two_bores);
  assert_int_equal(eb_layout_read(json, "", &layout, &error), EB_OK);
  gauge.repeatability = 0.005;
  gauge.step = 0.01;
  assert_int_equal(eb_evidence_create(eb_host_system(), &layout, &gauge, &evidence, &error), EB_OK);
  assert_int_equal(eb_evidence_period(evidence, &error), EB_OK);
  double apart = 0.2;
  for (int move = 0; move < 4; move++) {
    for (int round = 0; round < 3; round++) {
      assert_int_equal(eb_evidence_reading(evidence, 0, 6 * exp(apart / 2), &error), EB_OK);
      assert_int_equal(eb_evidence_reading(evidence, 1, 6 * exp(-apart / 2), &error), EB_OK);
    }
    assert_int_equal(eb_evidence_gains(evidence, &gain, &error), EB_OK);
    assert_int_equal(gain.moves, move);
    double wished = move % 2 == 0 ? -0.15 : 0.15;
    assert_int_equal(eb_evidence_move(evidence, 0, wished, &error), EB_OK);
    apart += 2 * wished;
  }
  assert_int_equal(eb_evidence_gains(evidence, &gain, &error), EB_OK);
  assert_int_equal(gain.moves, 3); /* nothing was read behind the last one */
  assert_true(gain.mean > 1.6 && gain.mean < 2.2);
  assert_true(gain.spread < 0.3);
  eb_evidence_destroy(evidence);
  eb_json_destroy(json);
}

int main(void)
{
  const struct CMUnitTest tests[] = {cmocka_unit_test(what_was_answered_is_taken_over_with_more_doubt),
                                     cmocka_unit_test(what_cannot_be_is_refused),
                                     cmocka_unit_test(gains_follow_from_readings)};
  return cmocka_run_group_tests(tests, NULL, NULL);
}
