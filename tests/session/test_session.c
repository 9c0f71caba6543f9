#include "session_rig.h"

#include <errno.h>
#include <math.h>

static void a_job_from_hello_to_end(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE "{\"op\":\"tell\",\"kind\":\"note\",\"text\":\"Hello there.\"}\n" NUMBER("warm")
                                 ASK("confirm", "ok", "") END),
                   EB_OK);
  saw(&r, "\"type\":\"hello\",\"protocol\":1,\"engine\":\"test 1\",\"session\":\"s1\"");
  saw(&r, "Hello there.");
  saw(&r, "\"type\":\"ask\",\"n\":1,\"kind\":\"caution\",\"key\":\"safety.place\"");
  saw(&r, "\"type\":\"ask\",\"n\":2,\"kind\":\"number\",\"key\":\"warm\"");
  type(&r, "198 F");
  saw(&r, "\"n\":3");
  assert_non_null(strstr(r.log.replies, "{\"value\":92.2222222222222"));
  type(&r, "1");
  saw(&r, "\"type\":\"end\",\"outcome\":\"claimed\",\"claim\":null");
  assert_int_equal(eb_session_where(r.session), EB_SESSION_ENDED);
  assert_int_equal(type(&r, "1"), EB_ENDED);
  assert_int_equal(resume(&r), EB_ENDED);
  finish(&r);
}

static void wrong_answers_are_refused_and_harm_nothing(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE NUMBER("warm") END), EB_OK);
  static const char *const typed[] = {"",    "nan",  "inf",   "1e400",    "-5",   "warm",
                                      "151", "0x10", "9 bar", "\xFF\xFE", "1\x01"};
  for (size_t i = 0; i < sizeof typed / sizeof typed[0]; i++) {
    assert_int_equal(type(&r, typed[i]), EB_OK);
    saw(&r, "\"type\":\"refused\",\"n\":2");
    saw(&r, "a number from 0 to 150 C is wanted");
    assert_string_equal(key_asked(&r), "warm");
  }
  char longer[10001];
  memset(longer, '7', sizeof longer - 1);
  longer[sizeof longer - 1] = '\0';
  type(&r, longer);
  saw(&r, "refused");
  static const char *const lines[] = {
      "",
      "{",
      "[]",
      "7",
      "{\"n\":2}",
      "{\"value\":3}",
      "{\"n\":3,\"value\":3}",
      "{\"n\":2,\"value\":\"3\"}",
      "{\"n\":2,\"value\":1e400}",
      "{\"n\":2,\"value\":null}",
      "{\"n\":2,\"value\":{\"value\":3,\"unit\":\"bar\"}}",
      "{\"do\":\"jump\"}",
      "{\"do\":7}",
      "{\"do\":\"back\"}",
      "{\"do\":\"note\"}",
      "{\"do\":\"note\",\"text\":\"a\\u0007\"}",
  };
  for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
    assert_int_equal(take(&r, lines[i]), EB_OK);
    saw(&r, "refused");
  }
  take(&r, "{\"n\":2,\"value\":{\"value\":212,\"unit\":\"F\"},\"extra\":true}");
  assert_non_null(strstr(r.log.replies, "{\"value\":100}"));
  finish(&r);
}

static void the_core_keeps_the_interlocks(void **state)
{
  (void)state;
  rig r;
  /* Every line asks for something that must not be; the replies say so, and nothing reaches the front. */
  assert_int_equal(begin(&r,
                         DECLARE READING("1") "{\"op\":\"pass\"}\n" ASK("confirm", "off", ",\"takes_off\":[\"spring\"]")
                             STOPPED ASK("confirm", "off", ",\"takes_off\":[\"spring\"]")
                                 RUNNING ASK("adjust", "a", ",\"adjuster\":\"plate-1\",\"move\":0.05") END),
                   EB_OK);
  assert_string_equal(key_asked(&r), "halt");
  assert_non_null(strstr(r.log.replies, "a reading needs a running engine and it is not known to run"));
  assert_non_null(strstr(r.log.replies, "a pass needs a running engine"));
  assert_non_null(strstr(r.log.replies, "parts come off a stopped engine only, and it is not known to be stopped"));
  type(&r, "1");
  assert_string_equal(key_asked(&r), "off");
  type(&r, "1");
  assert_string_equal(key_asked(&r), "a");
  assert_non_null(strstr(
      r.log.replies, "may not be started while a part is off, least of all what shuts the throttle: \\\"spring\\\""));
  eb_session_stop(r.session, "", &r.error);
  gather(&r);
  saw(&r, "\"outcome\":\"stopped\"");
  saw(&r, "Still off, to be refitted before any start: spring.");
  finish(&r);
}

static void a_slip_is_asked_again_and_both_are_kept(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE RUNNING "{\"op\":\"pass\"}\n" READING("1") READING("2")
                                 READING("1") "{\"op\":\"close\"}\n{\"op\":\"verdict\"}\n{\"op\":\"tell\",\"kind\":"
                                              "\"verdict\",\"text\":\"So it is.\"}\n" ASK("confirm", "ok", "") END),
                   EB_OK);
  type(&r, "yes");
  type(&r, "6 1/2");
  type(&r, "0,6"); /* a tenth of its neighbour, and under the scale: a slip of the decimal point */
  saw(&r, "\"again\":{\"value\":0.6");
  saw(&r, "\"n\":7");
  type(&r, "6.2");
  assert_non_null(strstr(r.log.replies, "{\"value\":6.2,\"outside_best\":false,\"no_air\":false}"));
  type(&r, "66");
  type(&r, "66");
  assert_non_null(strstr(r.log.replies, "{\"value\":66,\"outside_best\":true,\"no_air\":false}"));
  saw(&r, "\"kind\":\"confirm\"");
  finish(&r);
}

#define STATES "{\"op\":\"state\"}\n{\"op\":\"state\",\"only\":\"readings\"}\n{\"op\":\"state\",\"only\":\"engin\"}\n"

static void nearly_no_air_is_a_fault_and_no_evidence(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE RUNNING "{\"op\":\"pass\"}\n" READING("1") READING("2")
                                 READING("1") "{\"op\":\"close\"}\n" READING("2") STATES READING("2") NUMBER("z") END),
                   EB_OK);
  type(&r, "1");
  type(&r, "6.5");
  type(&r, "5.5");
  type(&r, "6.5");
  type(&r, "1.25"); /* on the scale, and far below what the bore and its row read before */
  saw(&r, "\"again\":");
  type(&r, "1.25");
  assert_non_null(strstr(r.log.replies, "{\"value\":1.25,\"outside_best\":false,\"no_air\":true}"));
  assert_non_null(strstr(r.log.replies, ",\"readings\":{\"1\":6.5,\"2\":5.5}}\n"));
  assert_non_null(strstr(r.log.replies, "\n{\"readings\":{\"1\":6.5,\"2\":5.5}}\n"));
  assert_non_null(strstr(r.log.replies, "state has no \\\"engin\\\""));
  type(&r, "0");
  type(&r, "0");
  assert_non_null(strstr(r.log.replies, "{\"value\":0,\"outside_best\":true,\"no_air\":true}"));
  finish(&r);
}

static void a_bore_that_was_left_out_is_not_claimed(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(
      begin(&r, "{\"op\":\"declare\",\"procedure\":{\"id\":\"three\",\"version\":\"1\",\"title\":\"T\",\"api\":1},"
                "\"layout\":{\"rows\":[[1,2,3]],\"adjusters\":[]},\"tolerance\":0.2}\n" RUNNING
                "{\"op\":\"pass\"}\n" READING("1") READING("2")
                    READING("1") "{\"op\":\"close\"}\n{\"op\":\"leave_out\",\"bore\":\"3\"}\n{\"op\":\"verdict\","
                                 "\"brief\":true}\n" NUMBER("z") END),
      EB_OK);
  type(&r, "1");
  type(&r, "6");
  type(&r, "6");
  type(&r, "6");
  type(&r, "1");
  const char *brief = strstr(r.log.replies, "{\"word\":\"even\",\"tolerance\":0.2,\"risk\":0.05,\"claim\":0.");
  assert_non_null(brief);
  assert_non_null(strstr(brief, ",\"bores\":{\"3\":{\"value\":null,"));
  assert_null(strstr(brief, "\"1\":"));
  saw(&r, "\"outcome\":\"even\"");
  saw(&r, "\"left_out\":[\"3\"]");
  saw(&r, "Even: every bore but 3 within ");
  /* Told in tenths, and never better than it is. */
  double claim = strtod(strstr(r.seen, "\"tolerance\":") + 12, NULL) * 100;
  double told = strtod(strstr(r.seen, "but 3 within ") + 13, NULL);
  assert_true(told >= claim && told < claim + 0.1);
  finish(&r);
}

/* A move, or a bore left out, behind the verdict: what it said is said of another engine. */
static void a_claim_ends_with_what_it_was_about(void **state)
{
  (void)state;
  static const char *const after[] = {"", ASK("adjust", "a", ",\"adjuster\":\"screw\",\"move\":0.05"),
                                      "{\"op\":\"leave_out\",\"bore\":\"2\"}\n"};
  for (size_t i = 0; i < sizeof after / sizeof after[0]; i++) {
    rig r;
    char lines[4096];
    snprintf(lines, sizeof lines, "%s%s%s%s",
             DECLARE RUNNING "{\"op\":\"pass\"}\n" READING("1") READING("2")
                 READING("1") "{\"op\":\"close\"}\n{\"op\":\"verdict\"}\n",
             after[i], NUMBER("z"), END);
    assert_int_equal(begin(&r, lines), EB_OK);
    type(&r, "1");
    for (int k = 0; k < 3; k++)
      type(&r, "6");
    if (i == 1)
      type(&r, "1");
    type(&r, "20");
    assert_int_equal(eb_session_where(r.session), EB_SESSION_ENDED);
    bool claims = strstr(r.seen, "\"claim\":null") == NULL;
    assert_true(claims == (i == 0));
    assert_true((strstr(r.seen, "Nothing can be claimed") == NULL) == claims);
    finish(&r);
  }
}

static void back_takes_a_reading_that_was_asked_twice_as_one(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE RUNNING "{\"op\":\"pass\"}\n" READING("1") READING("2") NUMBER("z") END), EB_OK);
  type(&r, "1");
  type(&r, "6.5");
  type(&r, "65");
  saw(&r, "\"again\":");
  eb_session_back(r.session, &r.error); /* before it is settled */
  gather(&r);
  assert_string_equal(key_asked(&r), "r2");
  assert_null(eb_json_get(eb_session_ask(r.session), "again"));
  type(&r, "65");
  type(&r, "6.25");
  assert_string_equal(key_asked(&r), "z");
  eb_session_back(r.session, &r.error); /* and behind it */
  gather(&r);
  saw(&r, "\"before\":{\"typed\":\"6.25\"");
  assert_string_equal(key_asked(&r), "r2");
  assert_null(eb_json_get(eb_session_ask(r.session), "again"));
  type(&r, "6");
  assert_string_equal(key_asked(&r), "z");
  assert_int_equal(resume(&r), EB_OK);
  assert_non_null(strstr(r.log.replies, "{\"value\":6,"));
  assert_null(strstr(r.log.replies, "{\"value\":6.25,"));
  finish(&r);
}

static void verdicts_carry_their_doubt(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(
      begin(&r,
            DECLARE RUNNING "{\"op\":\"pass\"}\n" READING("1") READING("2") READING(
                "1") "{\"op\":\"close\"}\n{\"op\":\"tell\",\"kind\":\"verdict\",\"text\":\"x\"}\n{\"op\":\"verdict\"}"
                     "\n{\"op\":\"tell\",\"kind\":\"verdict\",\"text\":\"So it is.\"}\n" ASK("confirm", "ok", "") END),
      EB_OK);
  type(&r, "1");
  type(&r, "6.5");
  type(&r, "5.5");
  type(&r, "6.5");
  assert_non_null(strstr(r.log.replies, "there is no verdict to tell yet"));
  saw(&r, "\"word\":\"uneven\"");
  saw(&r, "\"doubt\":");
  type(&r, "1");
  saw(&r, "\"outcome\":\"claimed\",\"claim\":{\"tolerance\":0.");
  finish(&r);
}

/* A feeler gap opens in proportion to itself while the plate is nearly closed [geometry: dA/ds = pi D/2]: six per cent
 * more air through a gap of 0.1 mm is a gap of 0.006 mm more, whatever the bore. */
static void amounts_come_with_geometry_and_never_without(void **state)
{
  (void)state;
  static const char *const throttles[] = {
      "",
      "{\"op\":\"throttle\",\"throttle\":{\"idle\":{\"1\":{\"gap_mm\":0.1},\"2\":{\"gap_mm\":0.1}}}}\n",
      "{\"op\":\"throttle\",\"throttle\":{\"unit\":\"thou\",\"idle\":{\"1\":{\"travel_mm\":0.1},\"2\":{\"travel_mm\":0."
      "1}}}}\n",
      "{\"op\":\"throttle\",\"throttle\":{\"unit\":\"thou\",\"bore_mm\":48,\"closed_deg\":6,\"idle\":{\"1\":{\"travel_"
      "mm\":0.1},\"2\":{\"travel_mm\":0.1}}}}\n",
  };
  static const char *const wanted[] = {"\"amount\":null", "\"what\":\"feeler gap\"", "\"amount\":null",
                                       "\"what\":\"edge travel\""};
  for (size_t i = 0; i < 4; i++) {
    rig r;
    char lines[4096];
    snprintf(
        lines, sizeof lines, "%s%s%s%s%s%s%s%s%s",
        "{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"T\",\"api\":1},\"layout\":"
        "{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"plate-1\",\"kind\":\"plate\",\"sides\":[[1]]},"
        "{\"id\":\"plate-2\",\"kind\":\"plate\",\"sides\":[[2]]}]}}\n",
        RUNNING, throttles[i], "{\"op\":\"pass\"}\n", READING("1"), READING("2"), READING("1"),
        "{\"op\":\"close\"}\n{\"op\":\"verdict\"}\n{\"op\":\"plan\",\"method\":\"trade-order\"}\n", NUMBER("z"));
    assert_int_equal(begin(&r, lines), EB_OK);
    type(&r, "1");
    type(&r, "6.5");
    type(&r, "5.5");
    type(&r, "6.5");
    const char *moves = strstr(r.log.replies, "\"moves\":[{");
    if (moves == NULL || strstr(moves, wanted[i]) == NULL)
      fail_msg("missing %s in %s", wanted[i], r.log.replies);
    if (i == 1) {
      double relative = strtod(strchr(strstr(moves, "\"share\":{") + 10, ':') + 1, NULL);
      double amount = strtod(strstr(moves, "\"value\":") + 8, NULL);
      if (!(amount / relative > 0.0999 && amount / relative < 0.1001))
        fail_msg("%g of %g", amount, relative);
    }
    finish(&r);
  }
}

/* Angle of a plate of 48 mm, closed at 6 degrees, that a feeler gap holds open [geometry: the projection of a disc is
 * shorter by cos: gap = D/2 (1 - cos(angle)/cos(closed))]. */
static double angle_at(double gap_mm)
{
  return acos(cos(6 * 3.14159265358979 / 180) * (1 - 2 * gap_mm / 48));
}

/* One turn of pitch P at lever L turns one shaft against the other by P/L: the screw's turns are those of both. */
static void a_balance_screw_is_told_in_turns(void **state)
{
  (void)state;
  rig r;
  char lines[4096];
  snprintf(lines, sizeof lines, "%s%s%s%s%s%s%s%s%s",
           "{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"T\",\"api\":1},\"layout\":"
           "{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"balance\",\"kind\":\"screw\",\"sides\":[[1],[2]]}]}}\n",
           RUNNING,
           "{\"op\":\"throttle\",\"throttle\":{\"bore_mm\":48,\"closed_deg\":6,\"pitch_mm\":0.8,\"lever_mm\":20,"
           "\"idle\":{\"1\":{\"gap_mm\":0.1},\"2\":{\"gap_mm\":0.12}}}}\n",
           "{\"op\":\"pass\"}\n", READING("1"), READING("2"), READING("1"),
           "{\"op\":\"close\"}\n{\"op\":\"verdict\"}\n{\"op\":\"plan\",\"method\":\"trade-order\"}\n", NUMBER("z"));
  assert_int_equal(begin(&r, lines), EB_OK);
  type(&r, "1");
  type(&r, "6.5");
  type(&r, "5.5");
  type(&r, "6.5");
  const char *moves = strstr(r.log.replies, "\"moves\":[{");
  assert_non_null(moves);
  assert_non_null(strstr(moves, "\"what\":\"turns\""));
  double first = strtod(strstr(moves, "\"1\":") + 4, NULL), second = strtod(strstr(moves, "\"2\":") + 4, NULL);
  double turned = angle_at(0.1 * (1 + first)) - angle_at(0.1) - angle_at(0.12 * (1 + second)) + angle_at(0.12);
  double turns = strtod(strstr(moves, "\"value\":") + 8, NULL);
  assert_true(first < 0 && second > 0);
  if (fabs(turns - turned * 20 / 0.8) > 1e-6)
    fail_msg("%g turns for %g rad", turns, turned);
  finish(&r);
}

static void back_takes_one_answer_and_offers_it_again(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE NUMBER("a") NUMBER("b") NUMBER("c") END), EB_OK);
  type(&r, "10");
  type(&r, "20");
  eb_session_back(r.session, &r.error);
  gather(&r);
  assert_string_equal(key_asked(&r), "b");
  saw(&r, "\"before\":{\"typed\":\"20\",\"value\":20}");
  eb_session_back(r.session, &r.error);
  gather(&r);
  assert_string_equal(key_asked(&r), "a");
  eb_session_back(r.session, &r.error);
  gather(&r);
  saw(&r, "there is no answer to take back yet");
  type(&r, "11");
  saw(&r, "\"before\":{\"typed\":\"20\"");
  assert_int_equal(resume(&r), EB_OK);
  see_to_the_return(&r);
  assert_string_equal(key_asked(&r), "b");
  saw(&r, "\"before\":{\"typed\":\"20\"");
  assert_non_null(strstr(r.log.replies, "{\"value\":11}"));
  assert_null(strstr(r.log.replies, "{\"value\":20}"));
  finish(&r);
}

static void taking_back_metal_is_spelled_out(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE STOPPED ASK("confirm", "off", ",\"takes_off\":[\"spring\"]")
                                 ASK("adjust", "a", ",\"adjuster\":\"plate-1\",\"move\":0.05") NUMBER("b") END),
                   EB_OK);
  type(&r, "1");
  type(&r, "1");
  saw(&r, "\"share\":{\"1\":0.05127");
  saw(&r, "\"amount\":null,\"adjuster\":\"plate-1\"");
  type(&r, "1");
  eb_session_back(r.session, &r.error);
  gather(&r);
  saw(&r, "was made. Undo it by the same amount");
  assert_string_equal(key_asked(&r), "a");
  eb_session_back(r.session, &r.error);
  gather(&r);
  saw(&r, "\\\"spring\\\" was taken off at that step");
  assert_string_equal(key_asked(&r), "resume.engine");
  type(&r, "1");
  assert_string_equal(key_asked(&r), "off");
  assert_null(strstr(r.seen, "You have been away"));
  finish(&r);
}

static void a_resume_asks_how_the_engine_stands(void **state)
{
  (void)state;
  rig r;
  const char *job = DECLARE ASK("caution", "care", ",\"hazards\":[\"Fan\"],\"critical\":true,\"applies\":\"running\"")
      RUNNING ASK("number", "warm",
                  ",\"quantity\":\"temperature\",\"unit\":\"C\",\"low\":0,\"high\":150,\"perishable\":true,"
                  "\"holds\":[75,150]") "{\"op\":\"pass\"}\n" READING("1") READING("2")
          READING("1") "{\"op\":\"close\"}\n" NUMBER("z") END;
  assert_int_equal(begin(&r, job), EB_OK);
  const char *code = eb_json_get_string(eb_session_ask(r.session), "code", "");
  assert_int_equal(strlen(code), 2);
  assert_int_not_equal(code[0], code[1]);
  char typed[3];
  snprintf(typed, sizeof typed, "%s", code);
  type(&r, "");
  saw(&r, "refused");
  type(&r, "1");
  saw(&r, "refused");
  type(&r, typed);
  type(&r, "1");
  type(&r, "90");
  type(&r, "5");
  assert_int_equal(resume(&r), EB_OK);
  saw(&r, "\"resumed\":true");
  assert_string_equal(key_asked(&r), "resume.caution");
  saw(&r, "Fan");
  snprintf(typed, sizeof typed, "%s", eb_json_get_string(eb_session_ask(r.session), "code", ""));
  type(&r, typed);
  assert_string_equal(key_asked(&r), "resume.kept-running");
  type(&r, "0");
  assert_string_equal(key_asked(&r), "resume.engine");
  /* Left again in the middle of these questions: they are asked again, and still lead to a running engine. */
  assert_int_equal(resume(&r), EB_OK);
  assert_string_equal(key_asked(&r), "resume.caution");
  snprintf(typed, sizeof typed, "%s", eb_json_get_string(eb_session_ask(r.session), "code", ""));
  type(&r, typed);
  assert_string_equal(key_asked(&r), "resume.engine");
  saw(&r, "\"state\":\"running\"");
  type(&r, "1");
  assert_string_equal(key_asked(&r), "resume.warm");
  type(&r, "40");
  saw(&r, "a number from 75 to 150 C is wanted");
  type(&r, "88");
  assert_string_equal(key_asked(&r), "r2");
  type(&r, "5");
  type(&r, "5");
  assert_non_null(strstr(r.log.replies, "\"comparable\":false"));
  assert_string_equal(key_asked(&r), "z");
  finish(&r);
}

static void a_mismatch_names_both_prompts(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(
      begin(&r, DECLARE NUMBER(
                    "a") "{\"op\":\"tell\",\"kind\":\"note\",\"text\":\"Mind it.\",\"at\":\"two.lua:5\"}\n" NUMBER("b")
                    NUMBER("c") END),
      EB_OK);
  type(&r, "10");
  type(&r, "20");
  eb_session_destroy(r.session);
  r.session = NULL;
  rewrite(&r, 3, "T a", "T old");
  assert_int_equal(resume(&r), EB_MISMATCH);
  assert_string_equal(r.error.place, "record 3");
  assert_non_null(strstr(r.error.message, "\"a\" (T old) of two.lua:1"));
  assert_non_null(strstr(r.error.message, "(T a) of two.lua:1"));
  assert_non_null(strstr(r.error.message, "differ in \"title\"; nothing is lost: show and report read it as before; "
                                          "begin a new session to go on"));
  rewrite(&r, 3, "T old", "T a");
  rewrite(&r, 4, "Mind it.", "Mind that.");
  assert_int_equal(resume_by(&r, "test 2"), EB_MISMATCH);
  assert_non_null(strstr(r.error.message,
                         "the journal has note \"... that.\" of two.lua:5 where the procedure now comes to "
                         "note \"... it.\" of two.lua:5; they differ in \"text\""));
  assert_non_null(strstr(r.error.message, "it was made by test 1 and this is test 2: go on with that one, or begin a "
                                          "new session; nothing is lost, show and report read it as before"));
  rewrite(&r, 4, "Mind that.", "Mind it.");
  assert_int_equal(resume(&r), EB_OK);
  see_to_the_return(&r);
  assert_string_equal(key_asked(&r), "c");
  finish(&r);
}

static void left_over_answers_are_a_mismatch(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE NUMBER("a") NUMBER("b") NUMBER("c") END), EB_OK);
  type(&r, "10");
  type(&r, "20");
  eb_session_destroy(r.session);
  r.session = NULL;
  /* The source in the journal now ends after its first ask. */
  rewrite(&r, 1, "{\\\"op\\\":\\\"ask\\\",\\\"kind\\\":\\\"number\\\",\\\"key\\\":\\\"b\\\"",
          "{\\\"op\\\":\\\"end\\\",\\\"kind\\\":\\\"number\\\",\\\"key\\\":\\\"b\\\"");
  assert_int_equal(resume(&r), EB_MISMATCH);
  assert_non_null(strstr(r.error.message, "now comes to its end"));
  finish(&r);
}

static void hostile_requests_are_the_authors_errors(void **state)
{
  (void)state;
  static const char *const requests[] = {
      ASK("caution", "c", ""),
      ASK("caution", "c", ",\"hazards\":[]"),
      ASK("caution", "c", ",\"hazards\":[7]"),
      ASK("choose", "c", ",\"options\":[]"),
      ASK("choose", "c", ",\"options\":[{\"id\":\"a\"},{\"id\":\"b\"}]"),
      ASK("number", "c", ",\"quantity\":\"heat\",\"unit\":\"C\",\"low\":0,\"high\":1"),
      ASK("number", "c", ",\"quantity\":\"temperature\",\"unit\":\"mm\",\"low\":0,\"high\":1"),
      ASK("number", "c", ",\"quantity\":\"temperature\",\"unit\":\"C\",\"low\":1,\"high\":0"),
      ASK("text", "c", ",\"limit\":0"),
      ASK("adjust", "c", ",\"adjuster\":\"x\",\"move\":0"),
      ASK("adjust", "c", ",\"adjuster\":\"screw\",\"move\":7"),
      ASK("engine", "c", ",\"state\":\"on\""),
      ASK("confrim", "c", ""),
      ASK("confirm", "", ""),
      ASK("confirm", "resume.x", ""),
      ASK("confirm", "safety.x", ""),
      "{\"op\":\"ask\",\"kind\":\"confirm\",\"key\":\"a\"}\n",
      "{\"op\":\"ask\",\"kind\":\"confirm\",\"key\":\"a\",\"title\":\"\\u202e\",\"text\":\"x\"}\n",
      "{\"op\":\"tell\",\"kind\":\"shout\",\"text\":\"x\"}\n",
      "{\"op\":\"tell\",\"kind\":\"plan\",\"text\":\"x\"}\n",
      "{\"op\":\"fly\"}\n",
      "{\"op\":7}\n",
      "[]\n",
      "{\"op\":\"close\"}\n",
      "{\"op\":\"leave_out\",\"bore\":\"9\"}\n",
      "{\"op\":\"layout\",\"layout\":{}}\n",
      "{\"op\":\"gauge\",\"gauge\":{\"low\":9,\"high\":1}}\n",
      "{\"op\":\"plan\",\"method\":\"luck\"}\n",
      "{\"op\":\"plan\",\"least_move\":-1}\n",
      "{\"op\":\"plan\",\"without\":\"screw\"}\n",
      "{\"op\":\"plan\",\"without\":[7]}\n",
  };
  for (size_t i = 0; i < sizeof requests / sizeof requests[0]; i++) {
    rig r;
    char lines[4096];
    snprintf(lines, sizeof lines, "%s%s%s%s", DECLARE, requests[i], NUMBER("after"), END);
    assert_int_equal(begin(&r, lines), EB_OK);
    if (strcmp(key_asked(&r), "after") != 0 || strstr(r.log.replies, "{\"error\":\"") == NULL)
      fail_msg("taken: %s replies: %s", requests[i], r.log.replies);
    finish(&r);
  }
}

static void a_plan_without_an_unknown_adjuster_names_the_nearest(void **state)
{
  (void)state;
  rig r;
  assert_int_equal(begin(&r, DECLARE "{\"op\":\"plan\",\"without\":[\"screw\",\"plate-2\"]}\n" NUMBER("after") END),
                   EB_OK);
  assert_non_null(strstr(r.log.replies, "there is no adjuster \\\"plate-2\\\""));
  assert_non_null(strstr(r.log.replies, "the nearest is plate-1"));
  finish(&r);
}

static void too_many_prompts_end_the_run_not_the_session(void **state)
{
  (void)state;
  rig r;
  char lines[1024];
  snprintf(lines, sizeof lines, "%s%s%s%s", DECLARE, NUMBER("a"), NUMBER("b"), NUMBER("c"));
  assert_int_equal(begin(&r, lines), EB_OK);
  finish(&r);
  eb_runner runner = line_runner(&r.log);
  eb_source main = {.name = "two.lines", .text = lines, .size = strlen(lines)};
  eb_session_options options = {
      .id = "s1", .path = r.path, .program = "test 1", .runner = &runner, .main = &main, .prompts_max = 2};
  assert_int_equal(eb_session_start(eb_host_system(), &options, &r.session, &r.error), EB_OK);
  gather(&r);
  type(&r, "1");
  assert_int_equal(type(&r, "2"), EB_BUDGET);
  saw(&r, "\"outcome\":\"failed\"");
  saw(&r, "your answers are safe");
  assert_int_equal(eb_session_where(r.session), EB_SESSION_FAILED);
  finish(&r);
}

static void a_declaration_that_fails_leaves_no_file(void **state)
{
  (void)state;
  static const struct {
    const char *lines;
    eb_status status;
  } wrong[] = {
      {NUMBER("a"), EB_SCRIPT},
      {"{\"op\":\"declare\"}\n", EB_SCRIPT},
      {"not json\n", EB_BAD_VALUE},
      {"{\"op\":\"declare\",\"procedure\":{\"id\":\"Two!\",\"version\":\"1\",\"title\":\"t\",\"api\":1}}\n", EB_SCRIPT},
      {"{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"t\",\"api\":2}}\n", EB_TOO_NEW},
      {"{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"t\",\"api\":1},\"tolerance\":7}"
       "\n",
       EB_OUT_OF_RANGE},
      {"{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"t\",\"api\":1},\"layout\":{"
       "\"rows\":[[1,1]],\"adjusters\":[]}}\n",
       EB_BAD_LAYOUT},
  };
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    rig r;
    assert_int_equal(begin(&r, wrong[i].lines), wrong[i].status);
    assert_int_not_equal(r.error.message[0], '\0');
    assert_int_equal(access(r.path, F_OK), -1);
  }
}

/* A disk that takes nothing from a moment on. */
typedef struct full_disk {
  eb_host host;
  bool full;
  int full_after; /* writes until it is; 0: never */
} full_disk;

static ptrdiff_t write_until_full(void *context, int file, const void *bytes, size_t size)
{
  full_disk *disk = context;
  if (disk->full_after > 0 && --disk->full_after == 0)
    disk->full = true;
  else if (disk->full) {
    errno = ENOSPC;
    return -1;
  }
  return write(file, bytes, size);
}

static void what_is_not_saved_is_not_taken(void **state)
{
  (void)state;
  full_disk disk = {.host = *eb_host_system()};
  disk.host.context = &disk;
  disk.host.files.write = write_until_full;
  rig r = {.path = "/tmp/eb-session-full"};
  const char *lines = DECLARE NUMBER("a") "{\"op\":\"tell\",\"kind\":\"note\",\"text\":\"Mind it.\"}\n" NUMBER("b") END;
  assert_int_equal(begin_at(&r, &disk.host, lines), EB_OK);
  disk.full = true;
  type(&r, "10");
  saw(&r, "\"type\":\"refused\"");
  saw(&r, "not saved");
  assert_string_equal(key_asked(&r), "a");
  assert_null(strstr(r.log.replies, "{\"value\":10}"));
  disk.full = false;
  disk.full_after = 1; /* the answer goes in, what is told behind it does not */
  type(&r, "12");
  saw(&r, "Mind it.");
  assert_string_equal(key_asked(&r), "b");
  type(&r, "13");
  saw(&r, "not saved");
  disk.full = false;
  disk.full_after = 0;
  type(&r, "13");
  saw(&r, "\"type\":\"end\"");
  assert_int_equal(resume(&r), EB_ENDED);
  assert_int_equal(begin_at(&r, &disk.host, lines), EB_OK);
  type(&r, "12");
  assert_int_equal(resume(&r), EB_OK);
  saw(&r, "Mind it.");
  see_to_the_return(&r);
  assert_string_equal(key_asked(&r), "b");
  assert_non_null(strstr(r.log.replies, "{\"value\":12}"));
  finish(&r);
}

/* A front that reads nothing for a while misses nothing. */
static void messages_wait_until_they_are_read(void **state)
{
  (void)state;
  static const char *const order[] = {"\"key\":\"b\"", "\"key\":\"a\"", "\"before\":", "Mind it.", "\"key\":\"b\""};
  rig r;
  begin(&r, DECLARE NUMBER("a") "{\"op\":\"tell\",\"kind\":\"note\",\"text\":\"Mind it.\"}\n" NUMBER("b") END);
  assert_int_equal(eb_session_type(r.session, "10", 2, &r.error), EB_OK);
  assert_string_equal(eb_json_get_string(eb_session_next(r.session), "text", ""), "Mind it.");
  assert_int_equal(eb_session_back(r.session, &r.error), EB_OK);
  assert_int_equal(eb_session_type(r.session, "11", 2, &r.error), EB_OK);
  assert_string_equal(key_asked(&r), "b");
  r.seen[0] = '\0';
  gather_more(&r);
  const char *from = r.seen;
  for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
    const char *found = strstr(from, order[i]);
    if (found == NULL)
      fail_msg("missing %s in:\n%s", order[i], from);
    from = found + 1;
  }
  type(&r, "12");
  saw(&r, "\"type\":\"end\"");
  finish(&r);
}

static int allocations_left;

static void *all_but_one(size_t size)
{
  errno = ENOMEM;
  return allocations_left-- == 0 ? NULL : malloc(size);
}

/* Memory runs out once, later each time, until the take-back stands: up to there the ask is open as before, and then
 * the run is over.  Who stays at an open ask has a session that can be gone on with. */
static void a_take_back_without_memory_harms_nothing(void **state)
{
  (void)state;
  int tries = 0;
  bool stays;
  do {
    rig r;
    begin(&r, DECLARE STOPPED NUMBER("a") NUMBER("b") END);
    type(&r, "1");
    allocations_left = tries++;
    eb_json_allocate_with(all_but_one, free);
    assert_int_equal(eb_session_back(r.session, &r.error), EB_OUT_OF_MEMORY);
    eb_json_allocate_with(malloc, free);
    stays = eb_session_where(r.session) == EB_SESSION_ASKS;
    if (stays)
      assert_int_equal(type(&r, "42"), EB_OK);
    assert_int_equal(resume(&r), EB_OK);
    finish(&r);
  } while (stays);
  assert_in_range(tries, 5, 50);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_job_from_hello_to_end),
      cmocka_unit_test(wrong_answers_are_refused_and_harm_nothing),
      cmocka_unit_test(the_core_keeps_the_interlocks),
      cmocka_unit_test(a_slip_is_asked_again_and_both_are_kept),
      cmocka_unit_test(nearly_no_air_is_a_fault_and_no_evidence),
      cmocka_unit_test(a_bore_that_was_left_out_is_not_claimed),
      cmocka_unit_test(a_claim_ends_with_what_it_was_about),
      cmocka_unit_test(back_takes_a_reading_that_was_asked_twice_as_one),
      cmocka_unit_test(verdicts_carry_their_doubt),
      cmocka_unit_test(amounts_come_with_geometry_and_never_without),
      cmocka_unit_test(a_balance_screw_is_told_in_turns),
      cmocka_unit_test(back_takes_one_answer_and_offers_it_again),
      cmocka_unit_test(taking_back_metal_is_spelled_out),
      cmocka_unit_test(a_resume_asks_how_the_engine_stands),
      cmocka_unit_test(a_mismatch_names_both_prompts),
      cmocka_unit_test(left_over_answers_are_a_mismatch),
      cmocka_unit_test(hostile_requests_are_the_authors_errors),
      cmocka_unit_test(a_plan_without_an_unknown_adjuster_names_the_nearest),
      cmocka_unit_test(too_many_prompts_end_the_run_not_the_session),
      cmocka_unit_test(a_declaration_that_fails_leaves_no_file),
      cmocka_unit_test(what_is_not_saved_is_not_taken),
      cmocka_unit_test(messages_wait_until_they_are_read),
      cmocka_unit_test(a_take_back_without_memory_harms_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
