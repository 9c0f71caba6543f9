/* A shop's units at the prompts, in the journal and over a resume. */
#include "session_rig.h"

#include <math.h>

static void begin_in(rig *r, const char *lines, const char *inputs)
{
  eb_json *given = NULL;
  assert_int_equal(eb_json_parse(inputs, strlen(inputs), &given, NULL), EB_OK);
  if (begin_with(r, given, lines) != EB_OK)
    fail_msg("%s", r->error.message);
  eb_json_destroy(given);
  r->inputs = NULL; /* a resume has the journal alone */
}

#define has(text, part)                                                                                                \
  do {                                                                                                                 \
    if (strstr(text, part) == NULL)                                                                                    \
      fail_msg("missing %s in:\n%s", part, text);                                                                      \
  } while (0)

static const char *journal_text(const rig *r, char *text, size_t size)
{
  FILE *file = fopen(r->path, "rb");
  assert_non_null(file);
  text[fread(text, 1, size - 1, file)] = '\0';
  fclose(file);
  return text;
}

#define IMPERIAL "{\"habits\":{\"temperature\":\"F\",\"length\":\"thou\"}}"
#define GAP(key) ASK("number", key, ",\"quantity\":\"length\",\"unit\":\"mm\",\"low\":0,\"high\":5,\"step\":0.01")

static void an_ask_is_shown_in_the_shops_unit_and_answered_in_the_procedures(void **state)
{
  (void)state;
  rig r;
  char text[1 << 15];
  begin_in(&r, DECLARE NUMBER("warm") GAP("gap") GAP("other") END, IMPERIAL);
  saw(&r, "\"unit\":\"F\",\"low\":32,\"high\":302,\"asked\":{\"unit\":\"C\",\"low\":0,\"high\":150}");
  type(&r, "302");
  has(r.log.replies, "{\"value\":150}");
  saw(&r, "\"unit\":\"thou\",\"low\":0,\"high\":196.8,");
  assert_null(strstr(r.seen, "\"step\""));
  type(&r, "197");
  saw(&r, "197 is out of range; a number from 0 to 196.8 thou is wanted");
  type(&r, "6 mm");
  saw(&r, "6 mm is out of range; a number from 0 to 196.8 thou is wanted");
  type(&r, "5 mm"); /* beyond what is shown, but within what was asked */
  has(r.log.replies, "{\"value\":5}");
  take(&r, "{\"n\":4,\"value\":3}");
  has(r.log.replies, "{\"value\":0.0762}");
  journal_text(&r, text, sizeof text);
  has(text, "\"typed\":\"302\",\"value\":150,\"unit\":\"C\",\"given\":{\"value\":302,\"unit\":\"F\"}");
  has(text, "\"typed\":\"5 mm\",\"value\":5,\"unit\":\"mm\",\"given\":{\"value\":5,\"unit\":\"mm\"}");
  has(text, "\"value\":0.0762,\"unit\":\"mm\",\"given\":{\"value\":3,\"unit\":\"thou\"}");
  has(text, "\"inputs\":" IMPERIAL);
  finish(&r);
}

static void what_was_taken_back_is_shown_as_it_was_given(void **state)
{
  (void)state;
  rig r;
  begin_in(&r, DECLARE NUMBER("warm") NUMBER("again") END, IMPERIAL);
  type(&r, "195");
  take(&r, "{\"do\":\"back\"}");
  saw(&r, "\"before\":{\"typed\":\"195\",\"value\":195}");
  type(&r, "90 C");
  take(&r, "{\"do\":\"back\"}");
  saw(&r, "\"before\":{\"typed\":\"90 C\",\"value\":194}");
  finish(&r);
}

/* A fact that does not keep is asked again in the shop's unit, and only what still holds is taken. */
static void a_resume_keeps_the_sessions_own_units(void **state)
{
  (void)state;
  rig r;
  begin_in(&r,
           DECLARE RUNNING ASK("number", "warm",
                               ",\"quantity\":\"temperature\",\"unit\":\"C\",\"low\":-40,\"high\":160,"
                               "\"perishable\":true,\"holds\":[75,160]") NUMBER("next") END,
           IMPERIAL);
  type(&r, "1");
  saw(&r, "\"holds\":[167,320]");
  type(&r, "190");
  assert_int_equal(resume(&r), EB_OK);
  see_to_the_return(&r);
  type(&r, "1");
  saw(&r, "\"key\":\"resume.warm\"");
  saw(&r, "\"unit\":\"F\",\"low\":167,\"high\":320");
  type(&r, "160");
  saw(&r, "160 is out of range; a number from 167 to 320 F is wanted");
  type(&r, "74 C");
  saw(&r, "74 C is out of range");
  type(&r, "167");
  saw(&r, "\"key\":\"next\"");
  saw(&r, "\"unit\":\"F\"");
  finish(&r);
}

#define THROTTLE(unit)                                                                                                 \
  "{\"op\":\"throttle\",\"throttle\":{" unit "\"bore_mm\":48,\"closed_deg\":6,\"idle\":{\"1\":{\"gap_mm\":0.1},"       \
  "\"2\":{\"gap_mm\":0.1}}}}\n"
#define PLATES                                                                                                         \
  "{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"T\",\"api\":1},\"layout\":"         \
  "{\"rows\":[[1,2]],\"adjusters\":[{\"id\":\"plate-1\",\"kind\":\"plate\",\"sides\":[[1]]},"                          \
  "{\"id\":\"plate-2\",\"kind\":\"plate\",\"sides\":[[2]]}]}}\n"
#define PLAN                                                                                                           \
  RUNNING "{\"op\":\"pass\"}\n" READING("1") READING("2")                                                              \
      READING("1") "{\"op\":\"close\"}\n{\"op\":\"verdict\"}\n"                                                        \
                   "{\"op\":\"plan\",\"method\":\"trade-order\"}\n" NUMBER("z")
#define ADJUST(amount) ASK("adjust", "move", ",\"adjuster\":\"plate-1\",\"move\":0.1,\"amount\":" amount)

/* The amount of the plan's move, as the plan's reply has it. */
static double planned(const rig *r, const char *unit)
{
  const char *amount = strstr(r->log.replies, "\"amount\":{\"what\":\"feeler gap\"");
  assert_non_null(amount);
  char closing[40];
  snprintf(closing, sizeof closing, "\"unit\":\"%s\"}", unit);
  has(amount, closing);
  return strtod(strstr(amount, "\"value\":") + 8, NULL);
}

static void an_amount_follows_the_habit_unless_the_procedure_says_its_unit(void **state)
{
  (void)state;
  static const struct {
    const char *lines, *inputs, *unit;
    double per_mm; /* NIST SP 811: 25.4 mm an inch */
  } jobs[] = {
      {PLATES THROTTLE("") PLAN, "{}", "mm", 1},
      {PLATES THROTTLE("") PLAN, IMPERIAL, "thou", 1 / 0.0254},
      {PLATES THROTTLE("\"unit\":\"mm\",") PLAN, IMPERIAL, "mm", 1},
  };
  double first = 0;
  for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++) {
    rig r;
    begin_in(&r, jobs[i].lines, jobs[i].inputs);
    static const char *const typed[] = {"1", "6.5", "5.5", "6.5"};
    for (size_t k = 0; k < sizeof typed / sizeof typed[0]; k++)
      type(&r, typed[k]);
    double amount = planned(&r, jobs[i].unit) / jobs[i].per_mm;
    if (i == 0)
      first = amount;
    assert_true(fabs(first) > 0);
    assert_true(fabs(amount - first) < 1e-12);
    finish(&r);
  }
}

static void an_amount_done_may_be_given_in_another_unit(void **state)
{
  (void)state;
  rig r;
  char text[1 << 15];
  begin_in(&r,
           DECLARE STOPPED ADJUST("{\"value\":2,\"unit\":\"thou\",\"what\":\"feeler gap\"}")
               ADJUST("{\"value\":0.25,\"unit\":\"turns\"}") ADJUST("{\"value\":2,\"unit\":\"flats\"}") END,
           "{}");
  type(&r, "1");
  type(&r, "1 3 C");
  saw(&r, "that is no amount; type 1 and the amount in thou");
  type(&r, "1 0.0762 mm");
  has(r.log.replies, "{\"value\":{\"done\":true,\"amount\":{\"value\":3,\"unit\":\"thou\"}}}");
  type(&r, "1 90 deg");
  has(r.log.replies, "{\"value\":{\"done\":true,\"amount\":{\"value\":0.25,\"unit\":\"turns\"}}}");
  take(&r, "{\"n\":6,\"value\":{\"done\":true,\"amount\":{\"value\":1,\"unit\":\"mm\"}}}");
  saw(&r, "\"type\":\"refused\"");
  type(&r, "1 3 flats");
  has(r.log.replies, "{\"value\":{\"done\":true,\"amount\":{\"value\":3,\"unit\":\"flats\"}}}");
  journal_text(&r, text, sizeof text);
  has(text, "\"given\":{\"value\":0.0762,\"unit\":\"mm\"}");
  finish(&r);
}

static void a_text_is_shown_in_the_shops_unit(void **state)
{
  (void)state;
  rig r;
  begin_in(&r,
           DECLARE "{\"op\":\"shown\",\"quantity\":\"temperature\",\"value\":75,\"unit\":\"C\"}\n"
                   "{\"op\":\"shown\",\"quantity\":\"temperature\",\"value\":3,\"unit\":\"C\",\"change\":true}\n"
                   "{\"op\":\"shown\",\"quantity\":\"temperature\",\"value\":3,\"unit\":\"mm\"}\n"
                   "{\"op\":\"shown\",\"quantity\":\"temperature\",\"unit\":\"C\"}\n" NUMBER("a") END,
           IMPERIAL);
  has(r.log.replies, "{\"text\":\"167 F\"}");
  has(r.log.replies, "{\"text\":\"5.4 F\"}");
  has(r.log.replies, "{\"error\":\"\\\"mm\\\" is a unit of length");
  has(r.log.replies, "{\"error\":\"value is to be a number\"}");
  finish(&r);
}

static void wrong_habits_begin_no_session(void **state)
{
  (void)state;
  static const char text[] = "{\"habits\":{\"length\":\"F\"}}";
  rig r;
  eb_json *inputs = NULL;
  assert_int_equal(eb_json_parse(text, sizeof text - 1, &inputs, NULL), EB_OK);
  assert_int_equal(begin_with(&r, inputs, DECLARE NUMBER("a") END), EB_BAD_UNIT);
  has(r.error.message, "is a unit of temperature");
  assert_int_equal(access(r.path, F_OK), -1);
  eb_json_destroy(inputs);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(an_ask_is_shown_in_the_shops_unit_and_answered_in_the_procedures),
      cmocka_unit_test(what_was_taken_back_is_shown_as_it_was_given),
      cmocka_unit_test(a_resume_keeps_the_sessions_own_units),
      cmocka_unit_test(an_amount_follows_the_habit_unless_the_procedure_says_its_unit),
      cmocka_unit_test(an_amount_done_may_be_given_in_another_unit),
      cmocka_unit_test(a_text_is_shown_in_the_shops_unit),
      cmocka_unit_test(wrong_habits_begin_no_session),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
