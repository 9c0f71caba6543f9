/* The cold baseline, by itself and as a step of a whole job, led by its real procedure at plates of a few lines. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/script.h"
#include "evenbore/session.h"
#include "evenbore/throttle.h"

#include <math.h>
#include <unistd.h>

/* Invented plates; a length is measured as its tool shows it. */
typedef struct shop {
  double gap_mm[9]; /* by cylinder number */
  double flow[9];
  const char *way; /* of measuring; an option's id */
  bool sets;       /* whether a plate that stands apart is set */
  eb_host host;
  char path[64];
  eb_runner runner;
  eb_session *session;
  char last_end[2048];
  int asked_cold, set, readings_at_idle;
  char was_set[9];
  bool off; /* something is off */
} shop;

static const eb_plate plate = {.bore_mm = 46, .closed_deg = 6};

static int sync_nothing(void *context, int file)
{
  (void)context;
  (void)file;
  return 0;
}

/* The tool shows whole hundredths of a millimetre. */
static double shown_mm(const shop *s, int bore)
{
  double mm = s->gap_mm[bore];
  eb_opening opening;
  if (strcmp(s->way, "edge-travel") == 0) {
    assert_int_equal(eb_opening_at_gap(&plate, (eb_feeler_gap){mm}, &opening, NULL), EB_OK);
    mm = opening.travel.mm;
  }
  return floor(mm * 100 + 1e-6) / 100;
}

static double in_mm(double value, const char *unit)
{
  return strcmp(unit, "thou") == 0 ? value * 0.0254 : value; /* NIST SP 811 */
}

static void answer_reading(shop *s, const eb_json *ask, char *typed, size_t size)
{
  int bore = atoi(eb_json_get_string(ask, "bore", "0"));
  if (strcmp(eb_json_get_string(ask, "quantity", ""), "length") != 0) {
    snprintf(typed, size, "%.2f", s->flow[bore] * (1 + 0.01 * (s->readings_at_idle % 3 - 1)));
    s->readings_at_idle++;
    return;
  }
  /* Which length is meant stands on the ask, and is the one that was chosen. */
  assert_string_equal(eb_json_get_string(ask, "length", ""),
                      strcmp(s->way, "edge-travel") == 0 ? "edge travel" : "feeler gap");
  assert_string_equal(eb_json_get_string(ask, "condition", ""), "cold");
  s->asked_cold++;
  snprintf(typed, size, "%.2f mm", shown_mm(s, bore));
}

/* A plate that is set comes to within four per cent of what it should be. */
static void answer_adjust(shop *s, const eb_json *ask, char *typed, size_t size)
{
  snprintf(typed, size, "1");
  const eb_json *amount = eb_json_get(ask, "amount");
  if (!eb_json_get_bool(amount, "to", false))
    return;
  int bore = atoi(eb_json_get_string(ask, "adjuster", "plate-0") + strlen("plate-"));
  double mm = in_mm(eb_json_get_number(amount, "value", 0), eb_json_get_string(amount, "unit", ""));
  eb_opening opening = {.gap = {mm}};
  if (strcmp(eb_json_get_string(amount, "what", ""), "edge travel") == 0)
    assert_int_equal(eb_opening_at_travel(&plate, (eb_edge_travel){mm}, &opening, NULL), EB_OK);
  assert_true(s->off); /* spring and stack are off while a plate is set */
  assert_string_equal(eb_json_get_string(ask, "engine", ""), "stopped");
  s->gap_mm[bore] = opening.gap.mm * 1.04;
  s->was_set[bore] = 1;
  s->set++;
}

static const char *confirm_for(shop *s, const eb_json *ask)
{
  if (eb_json_get(ask, "takes_off") != NULL)
    s->off = true;
  if (eb_json_get(ask, "refits") != NULL &&
      strcmp(eb_json_as_string(eb_json_at(eb_json_get(ask, "refits"), 0), ""), "return spring") == 0)
    s->off = false; /* the last one to go back on */
  const char *key = eb_json_get_string(ask, "key", "");
  bool no = strcmp(key, "part.wanted") == 0 || strcmp(key, "gauge.vent.change") == 0 ||
            (!s->sets && strncmp(key, "cold.set.", 9) == 0);
  return no ? "0" : "1";
}

static const char *number_for(const eb_json *ask)
{
  const char *quantity = eb_json_get_string(ask, "quantity", "");
  if (strcmp(quantity, "temperature") == 0)
    return "88 C";
  if (strcmp(quantity, "engine-speed") == 0)
    return "900";
  if (strcmp(quantity, "length") == 0)
    return "46 mm"; /* the bore */
  if (strcmp(quantity, "angle") == 0)
    return "6";
  return "4"; /* bores in a row */
}

static void answer(shop *s)
{
  char typed[64] = "1";
  const eb_json *ask = eb_session_ask(s->session);
  const char *kind = eb_json_get_string(ask, "kind", "");
  const char *key = eb_json_get_string(ask, "key", "");
  assert_true(strlen(eb_json_get_string(ask, "text", "")) <= 160);
  if (strcmp(kind, "caution") == 0)
    snprintf(typed, sizeof typed, "%s", eb_json_get_string(ask, "code", ""));
  else if (strcmp(kind, "reading") == 0)
    answer_reading(s, ask, typed, sizeof typed);
  else if (strcmp(kind, "adjust") == 0)
    answer_adjust(s, ask, typed, sizeof typed);
  else if (strcmp(kind, "number") == 0)
    snprintf(typed, sizeof typed, "%s", number_for(ask));
  else if (strcmp(kind, "choose") == 0)
    snprintf(typed, sizeof typed, "%s", strcmp(key, "cold.baseline") == 0 ? s->way : "1");
  else if (strcmp(kind, "confirm") == 0)
    snprintf(typed, sizeof typed, "%s", confirm_for(s, ask));
  eb_error error;
  if (eb_session_type(s->session, typed, strlen(typed), &error) != EB_OK)
    fail_msg("%s: %s: %s", key, error.place, error.message);
}

static void drain(shop *s)
{
  const eb_json *message;
  while ((message = eb_session_next(s->session)) != NULL) {
    const char *type = eb_json_get_string(message, "type", "");
    if (strcmp(type, "refused") == 0)
      fail_msg("refused: %s", eb_json_get_string(message, "why", ""));
    if (strcmp(type, "end") == 0)
      snprintf(s->last_end, sizeof s->last_end, "%s: %s", eb_json_get_string(message, "outcome", ""),
               eb_json_get_string(message, "summary", ""));
  }
}

static void run(shop *s, const char *procedure, const char *habits)
{
  static int count;
  s->host = *eb_host_system();
  s->host.files.sync = sync_nothing;
  s->runner = eb_script_runner(NULL);
  snprintf(s->path, sizeof s->path, "/tmp/eb-baseline-%d-%d.jsonl", (int)getpid(), count++);
  size_t library_count = 0;
  const eb_source *library = eb_script_builtin_library(&library_count);
  eb_json *inputs = NULL;
  assert_int_equal(eb_json_parse(habits, strlen(habits), &inputs, NULL), EB_OK);
  eb_session_options options = {.id = "b",
                                .path = s->path,
                                .program = "test",
                                .runner = &s->runner,
                                .main = eb_script_builtin_procedure(procedure),
                                .library = library,
                                .library_count = library_count,
                                .inputs = inputs};
  eb_error error;
  if (eb_session_start(&s->host, &options, &s->session, &error) != EB_OK)
    fail_msg("%s: %s", error.place, error.message);
  eb_json_destroy(inputs);
  drain(s);
  int prompts = 0;
  while (eb_session_where(s->session) == EB_SESSION_ASKS && prompts++ < 400) {
    answer(s);
    drain(s);
  }
  assert_int_equal(eb_session_where(s->session), EB_SESSION_ENDED);
  eb_session_destroy(s->session);
  unlink(s->path);
  char lock[80];
  snprintf(lock, sizeof lock, "%s.lock", s->path);
  unlink(lock);
}

static double widest(const shop *s)
{
  double low = s->gap_mm[1], high = s->gap_mm[1];
  for (int i = 2; i <= 8; i++) {
    low = fmin(low, s->gap_mm[i]);
    high = fmax(high, s->gap_mm[i]);
  }
  return high / low - 1;
}

/* Bore 4 stands apart, bore 6 is shut; the others are as near as a shop gets them. */
static shop uneven_shop(const char *way)
{
  return (shop){.gap_mm = {0, 0.121, 0.118, 0.124, 0.19, 0.12, 0.004, 0.119, 0.122},
                .flow = {0, 5.2, 5.3, 5.1, 5.25, 5.2, 5.3, 5.2, 5.15},
                .way = way,
                .sets = true};
}

static void what_stands_apart_is_set_and_nothing_else(void **state)
{
  (void)state;
  static const char *const ways[] = {"feeler-gap", "edge-travel", "feeler-gap"};
  static const char *const habits[] = {"{}", "{}", "{\"habits\":{\"length\":\"thou\"}}"};
  for (size_t i = 0; i < 3; i++) {
    shop s = uneven_shop(ways[i]);
    run(&s, "cold-baseline", habits[i]);
    if (s.set != 2 || !s.was_set[4] || !s.was_set[6])
      fail_msg("%s: %d set; %s", ways[i], s.set, s.last_end);
    assert_true(widest(&s) < 0.15);
    assert_int_equal(s.readings_at_idle, 0);
    char wanted[80];
    snprintf(wanted, sizeof wanted, "Engine off, by %s: every plate within ",
             strcmp(ways[i], "edge-travel") == 0 ? "edge travel" : "feeler gap");
    const char *claim = strstr(s.last_end, wanted);
    if (claim == NULL)
      fail_msg("%s", s.last_end);
    assert_true(strtod(claim + strlen(wanted), NULL) <= 15);
  }
}

static void what_is_left_as_it_is_is_said(void **state)
{
  (void)state;
  shop s = uneven_shop("feeler-gap");
  s.sets = false;
  run(&s, "cold-baseline", "{}");
  assert_int_equal(s.set, 0);
  const char *claim = strstr(s.last_end, "every plate within ");
  assert_true(claim == NULL || strtod(claim + strlen("every plate within "), NULL) > 15);
}

/* As a step of the job: the lengths are asked before the first start, and the rest goes on as ever. */
static void it_is_a_step_of_a_whole_job(void **state)
{
  (void)state;
  shop s = uneven_shop("feeler-gap");
  run(&s, "v8-coupled", "{}");
  assert_int_equal(s.set, 2);
  assert_true(s.asked_cold >= 11);
  assert_true(s.readings_at_idle >= 9);
  /* Each claim is told for what it is about. */
  assert_non_null(strstr(s.last_end, "very bore within "));
  assert_non_null(strstr(s.last_end, " Engine off, by feeler gap: every plate within "));
}

static void who_has_it_on_paper_measures_nothing(void **state)
{
  (void)state;
  shop s = uneven_shop("on-paper");
  run(&s, "v8-coupled", "{}");
  assert_int_equal(s.asked_cold, 0);
  assert_int_equal(s.set, 0);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(what_stands_apart_is_set_and_nothing_else),
      cmocka_unit_test(what_is_left_as_it_is_is_said),
      cmocka_unit_test(it_is_a_step_of_a_whole_job),
      cmocka_unit_test(who_has_it_on_paper_measures_nothing),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
