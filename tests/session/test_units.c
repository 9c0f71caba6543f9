/* A shop's units at the prompts, in the journal and over a resume. */
#include "line_runner.h"

#include <math.h>
#include <unistd.h>

typedef struct rig {
  char path[64];
  line_log log;
  eb_session *session;
  char seen[1 << 15];
} rig;

static void gather_more(rig *r)
{
  const eb_json *message;
  while ((message = eb_session_next(r->session)) != NULL) {
    char *text = eb_json_text(message);
    size_t used = strlen(r->seen);
    snprintf(r->seen + used, sizeof r->seen - used, "%s\n", text);
    eb_json_text_free(text);
  }
}

/* With the core's own cautions seen to: these tests are about what comes behind them. */
static void gather(rig *r)
{
  r->seen[0] = '\0';
  gather_more(r);
  while (see_to_caution(r->session, "safety.") || see_to_caution(r->session, "resume.caution"))
    gather_more(r);
}

static eb_status start(rig *r, const char *lines, const char *inputs, eb_error *error)
{
  *r = (rig){.path = "/tmp/eb-units-XXXXXX"};
  int file = mkstemp(r->path);
  assert_true(file >= 0);
  close(file);
  unlink(r->path);
  eb_runner runner = line_runner(&r->log);
  eb_source main = {.name = "two.lines", .text = lines, .size = strlen(lines)};
  eb_json *given = NULL;
  assert_int_equal(eb_json_parse(inputs, strlen(inputs), &given, NULL), EB_OK);
  eb_session_options options = {
      .id = "s1", .path = r->path, .program = "test 1", .runner = &runner, .main = &main, .inputs = given};
  eb_status status = eb_session_start(eb_host_system(), &options, &r->session, error);
  eb_json_destroy(given);
  if (status == EB_OK)
    gather(r);
  return status;
}

static void begin(rig *r, const char *lines, const char *inputs)
{
  eb_error error;
  if (start(r, lines, inputs, &error) != EB_OK)
    fail_msg("%s", error.message);
}

static void finish(rig *r)
{
  eb_session_destroy(r->session);
  char lock[80];
  snprintf(lock, sizeof lock, "%s.lock", r->path);
  unlink(lock);
  unlink(r->path);
}

static void resume(rig *r)
{
  eb_session_destroy(r->session);
  eb_runner runner = line_runner(&r->log);
  eb_recovery recovery;
  eb_error error;
  if (eb_session_resume(eb_host_system(), r->path, "test 1", &runner, &r->session, &recovery, &error) != EB_OK)
    fail_msg("%s", error.message);
  gather(r);
}

static void type(rig *r, const char *typed)
{
  eb_error error;
  assert_int_equal(eb_session_type(r->session, typed, strlen(typed), &error), EB_OK);
  gather(r);
}

static void take(rig *r, const char *line)
{
  eb_error error;
  assert_int_equal(eb_session_take(r->session, line, strlen(line), &error), EB_OK);
  gather(r);
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
  begin(&r, DECLARE NUMBER("warm") GAP("gap") GAP("other") END, IMPERIAL);
  has(r.seen, "\"unit\":\"F\",\"low\":32,\"high\":302,\"asked\":{\"unit\":\"C\",\"low\":0,\"high\":150}");
  type(&r, "302");
  has(r.log.replies, "{\"value\":150}");
  has(r.seen, "\"unit\":\"thou\",\"low\":0,\"high\":196.8,");
  assert_null(strstr(r.seen, "\"step\""));
  type(&r, "197");
  has(r.seen, "197 is out of range; a number from 0 to 196.8 thou is wanted");
  type(&r, "6 mm");
  has(r.seen, "6 mm is out of range; a number from 0 to 196.8 thou is wanted");
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
  begin(&r, DECLARE NUMBER("warm") NUMBER("again") END, IMPERIAL);
  type(&r, "195");
  take(&r, "{\"do\":\"back\"}");
  has(r.seen, "\"before\":{\"typed\":\"195\",\"value\":195}");
  type(&r, "90 C");
  take(&r, "{\"do\":\"back\"}");
  has(r.seen, "\"before\":{\"typed\":\"90 C\",\"value\":194}");
  finish(&r);
}

/* A fact that does not keep is asked again in the shop's unit, and only what still holds is taken. */
static void a_resume_keeps_the_sessions_own_units(void **state)
{
  (void)state;
  rig r;
  begin(&r,
        DECLARE RUNNING ASK("number", "warm",
                            ",\"quantity\":\"temperature\",\"unit\":\"C\",\"low\":-40,\"high\":160,"
                            "\"perishable\":true,\"holds\":[75,160]") NUMBER("next") END,
        IMPERIAL);
  type(&r, "1");
  has(r.seen, "\"holds\":[167,320]");
  type(&r, "190");
  resume(&r);
  type(&r, "1");
  has(r.seen, "\"key\":\"resume.warm\"");
  has(r.seen, "\"unit\":\"F\",\"low\":167,\"high\":320");
  type(&r, "160");
  has(r.seen, "160 is out of range; a number from 167 to 320 F is wanted");
  type(&r, "74 C");
  has(r.seen, "74 C is out of range");
  type(&r, "167");
  has(r.seen, "\"key\":\"next\"");
  has(r.seen, "\"unit\":\"F\"");
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
    begin(&r, jobs[i].lines, jobs[i].inputs);
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
  begin(&r,
        DECLARE STOPPED ADJUST("{\"value\":2,\"unit\":\"thou\",\"what\":\"feeler gap\"}")
            ADJUST("{\"value\":0.25,\"unit\":\"turns\"}") ADJUST("{\"value\":2,\"unit\":\"flats\"}") END,
        "{}");
  type(&r, "1");
  type(&r, "1 3 C");
  has(r.seen, "that is no amount; type 1 and the amount in thou");
  type(&r, "1 0.0762 mm");
  has(r.log.replies, "{\"value\":{\"done\":true,\"amount\":{\"value\":3,\"unit\":\"thou\"}}}");
  type(&r, "1 90 deg");
  has(r.log.replies, "{\"value\":{\"done\":true,\"amount\":{\"value\":0.25,\"unit\":\"turns\"}}}");
  take(&r, "{\"n\":6,\"value\":{\"done\":true,\"amount\":{\"value\":1,\"unit\":\"mm\"}}}");
  has(r.seen, "\"type\":\"refused\"");
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
  begin(&r,
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
  rig r;
  eb_error error;
  assert_int_equal(start(&r, DECLARE NUMBER("a") END, "{\"habits\":{\"length\":\"F\"}}", &error), EB_BAD_UNIT);
  has(error.message, "is a unit of temperature");
  assert_int_equal(access(r.path, F_OK), -1);
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
