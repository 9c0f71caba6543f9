/* What the tuner answers to asks of any procedure, by what they mean. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "evenbore/bay.h"
#include "evenbore/person.h"

#include "bench_engine.h"

static const char *const LAYOUT =
    "{\"bores\":[\"1\",\"2\",\"3\",\"4\"],\"rows\":[[\"1\",\"2\"],[\"3\",\"4\"]],\"row_titles\":[\"left\",\"right\"],"
    "\"adjusters\":[{\"id\":\"link\",\"kind\":\"link\",\"title\":\"link\",\"sides\":[[\"1\",\"2\"],[\"3\",\"4\"]],"
    "\"effort\":4,\"stopped\":true}]}";

static void hear(eb_bay *bay, const char *text)
{
  eb_json *message = NULL;
  eb_error error = {0};
  assert_int_equal(eb_json_parse(text, strlen(text), &message, &error), EB_OK);
  if (eb_bay_hear(bay, message, &error) != EB_OK)
    fail_msg("%s", error.message);
  eb_json_destroy(message);
}

static eb_bay *bay_with(const eb_bay_options *options)
{
  char tell[1024];
  eb_bay *bay = NULL;
  assert_int_equal(eb_bay_create(eb_host_system(), options, &bay, NULL), EB_OK);
  hear(bay, "{\"type\":\"hello\",\"layout\":null}");
  assert_null(eb_bay_engine(bay));
  snprintf(tell, sizeof tell, "{\"type\":\"tell\",\"kind\":\"layout\",\"text\":\"\",\"layout\":%s}", LAYOUT);
  hear(bay, tell);
  assert_non_null(eb_bay_engine(bay));
  return bay;
}

/* A plain engine with a fine gauge: whatever differs is what was asked. */
static eb_bay_options plain_bay(void)
{
  eb_bay_options o = eb_bay_options_usual();
  o.engine = plain_options();
  o.has_gauge = true;
  o.skill.slips = 0;
  return o;
}

/* The line that an ask gets; `members` begin with a comma. */
static const char *line_for(eb_bay *bay, const char *kind, const char *members)
{
  static char line[EB_BAY_LINE_SIZE];
  char text[1024];
  eb_json *ask = NULL;
  eb_error error = {0};
  snprintf(text, sizeof text, "{\"type\":\"ask\",\"n\":7,\"kind\":\"%s\"%s}", kind, members);
  if (eb_json_parse(text, strlen(text), &ask, &error) != EB_OK)
    fail_msg("%s: %s", text, error.message);
  assert_int_equal(eb_bay_hear(bay, ask, NULL), EB_OK);
  assert_int_equal(eb_bay_answer(bay, ask, line, sizeof line, NULL), EB_OK);
  eb_json_destroy(ask);
  return line;
}

static double number_for(eb_bay *bay, const char *kind, const char *members)
{
  eb_json *answer = NULL;
  const char *line = line_for(bay, kind, members);
  assert_int_equal(eb_json_parse(line, strlen(line), &answer, NULL), EB_OK);
  double value = eb_json_get_number(answer, "value", NAN);
  assert_true(eb_json_get_number(answer, "n", 0) > 6.5);
  eb_json_destroy(answer);
  return value;
}

static void start(eb_bay *bay)
{
  assert_string_equal(line_for(bay, "engine", ",\"key\":\"go\",\"state\":\"running\""), "{\"n\":7,\"value\":true}");
}

static void stop(eb_bay *bay)
{
  line_for(bay, "engine", ",\"key\":\"halt\",\"state\":\"stopped\"");
}

static double temperature(eb_bay *bay, const char *key, const char *unit, double high)
{
  char members[256];
  snprintf(members, sizeof members,
           ",\"key\":\"%s\",\"quantity\":\"temperature\",\"unit\":\"%s\",\"low\":-40,\"high\":%g", key, unit, high);
  return number_for(bay, "number", members);
}

static void plain_kinds_are_agreed_to(void **state)
{
  (void)state;
  eb_bay *bay = bay_with(NULL);
  assert_string_equal(line_for(bay, "caution", ",\"key\":\"c\",\"code\":\"31\""), "{\"n\":7,\"value\":\"31\"}");
  assert_string_equal(line_for(bay, "confirm", ",\"key\":\"c\""), "{\"n\":7,\"value\":true}");
  assert_string_equal(line_for(bay, "choose", ",\"key\":\"c\",\"options\":[{\"id\":\"stop-here\"},{\"id\":\"on\"}]"),
                      "{\"n\":7,\"value\":\"on\"}");
  assert_non_null(strstr(line_for(bay, "text", ",\"key\":\"x\",\"limit\":200"), "\"value\":\""));
  assert_true(fabs(number_for(bay, "number", ",\"key\":\"v\",\"quantity\":\"voltage\",\"low\":2,\"high\":4") - 3) <
              1e-9);
  eb_bay_destroy(bay);
}

/* It stands cold at 25 C, is warm at 85 C, and takes some looks of five minutes to get there. */
static void the_thermometer_follows_the_engine(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  eb_bay *bay = bay_with(&o);
  assert_true(fabs(temperature(bay, "t", "C", 160) - 25) < 1.01);
  assert_true(fabs(temperature(bay, "t", "F", 320) - 77) < 1.01);
  start(bay);
  double first = temperature(bay, "t", "C", 160);
  assert_true(first > 45 && first < 75);
  for (int i = 0; i < 8; i++)
    temperature(bay, "t", "C", 160);
  assert_true(fabs(temperature(bay, "t", "C", 160) - 85) < 1.01);
  double port = temperature(bay, "heat.3", "C", 1000);
  assert_true(port > 250 && port < 600);
  eb_bay_work work;
  eb_bay_account(bay, &work);
  assert_true(work.minutes_of[EB_BAY_WAITING] > 44 && work.minutes > work.minutes_of[EB_BAY_WAITING]);
  eb_bay_destroy(bay);
}

#define SPEED ",\"key\":\"s\",\"quantity\":\"engine-speed\",\"unit\":\"rpm\",\"low\":100,\"high\":6000"

static void the_speed_is_set_before_it_is_told(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  eb_bay *bay = bay_with(&o);
  assert_true(fabs(number_for(bay, "number", SPEED) - 900) < 1e-9); /* what it is to idle at */
  start(bay);
  assert_true(fabs(number_for(bay, "number", SPEED) - 900) < 45);
  assert_true(fabs(number_for(bay, "number", SPEED ",\"holds\":[1050,1150]") - 1100) < 50);
  assert_true(fabs(number_for(bay, "number", SPEED ",\"holds\":[1900,2100]") - 2000) < 100);
  assert_true(fabs(number_for(bay, "number", SPEED) - 900) < 45);
  eb_bay_destroy(bay);
}

#define READING(bore, more)                                                                                            \
  ",\"key\":\"reading." bore "\",\"bore\":\"" bore "\",\"unit\":\"div\",\"low\":1,\"high\":30" more

static void a_reading_is_taken_in_its_condition(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  eb_bay *bay = bay_with(&o);
  assert_non_null(strstr(line_for(bay, "reading", READING("3", "")), "unreadable"));
  start(bay);
  for (int i = 0; i < 10; i++)
    temperature(bay, "t", "C", 160);
  double idle = number_for(bay, "reading", READING("3", ",\"condition\":\"idle\""));
  double held = number_for(bay, "reading", READING("3", ",\"condition\":\"2500 rpm\""));
  double again = number_for(bay, "reading", READING("3", ",\"condition\":\"idle\""));
  assert_true(idle > 6.5 && idle < 7.5);
  assert_true(held > 1.4 * idle);
  assert_true(fabs(again - idle) < 0.01);
  eb_bay_destroy(bay);
}

/* The gap that a bore's own plate has, in the unit that is asked, at a standstill only. */
static void a_length_is_measured_at_the_plate(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  eb_bay *bay = bay_with(&o);
  static const char gap_mm[] = ",\"quantity\":\"length\",\"unit\":\"mm\",\"low\":0,\"high\":5,\"key\":\"gap.2\"";
  static const char travel[] = ",\"quantity\":\"length\",\"unit\":\"mm\",\"low\":0,\"high\":5,\"key\":\"travel.2\"";
  static const char gap_thou[] = ",\"quantity\":\"length\",\"unit\":\"thou\",\"low\":0,\"high\":200,\"bore\":\"2\"";
  double mm = number_for(bay, "number", gap_mm);
  assert_true(mm > 0.02 && mm < 0.3);
  assert_true(fabs(number_for(bay, "number", gap_thou) * 0.0254 - mm) < 0.011);
  assert_true(number_for(bay, "number", travel) > 3 * mm); /* travel is several gaps */
  assert_true(fabs(number_for(bay, "reading",
                              ",\"condition\":\"cold\",\"bore\":\"2\",\"quantity\":\"length\","
                              "\"unit\":\"mm\",\"low\":0,\"high\":5") -
                   mm) < 0.011);
  assert_true(fabs(number_for(bay, "number",
                              ",\"quantity\":\"length\",\"unit\":\"mm\",\"low\":10,\"high\":200,"
                              "\"key\":\"plate.bore\"") -
                   45) < 1e-9);
  start(bay);
  assert_non_null(strstr(line_for(bay, "reading",
                                  ",\"condition\":\"cold\",\"bore\":\"2\",\"quantity\":\"length\","
                                  "\"unit\":\"mm\",\"low\":0,\"high\":5"),
                         "unreadable"));
  eb_bay_destroy(bay);
}

static double link_after(double hand)
{
  eb_bay_options o = plain_bay();
  o.skill.hand = hand;
  eb_bay *bay = bay_with(&o);
  assert_non_null(strstr(line_for(bay, "adjust", ",\"adjuster\":\"link\",\"move\":0.1"), "\"done\":true"));
  eb_engine_truth truth;
  assert_int_equal(eb_bay_truth(bay, &truth, NULL), EB_OK);
  double moved = log(truth.flow_kg_h[0] / truth.flow_kg_h[2]);
  eb_bay_destroy(bay);
  return moved;
}

static void a_heavy_hand_moves_more(void **state)
{
  (void)state;
  assert_true(fabs(link_after(1) - 0.1) < 0.01);
  assert_true(fabs(link_after(1.5) - 0.15) < 0.015);
}

static void an_engine_may_be_started_before_it_is_described(void **state)
{
  (void)state;
  char tell[1024];
  eb_bay *bay = NULL;
  assert_int_equal(eb_bay_create(eb_host_system(), NULL, &bay, NULL), EB_OK);
  start(bay);
  snprintf(tell, sizeof tell, "{\"type\":\"tell\",\"kind\":\"layout\",\"text\":\"\",\"layout\":%s}", LAYOUT);
  hear(bay, tell);
  assert_true(number_for(bay, "reading", READING("1", "")) > 1);
  stop(bay);
  eb_bay_destroy(bay);
}

static void what_runs_is_not_moved(void **state)
{
  (void)state;
  eb_bay *bay = bay_with(NULL);
  start(bay);
  assert_non_null(strstr(line_for(bay, "adjust", ",\"adjuster\":\"link\",\"move\":0.1"), "\"done\":false"));
  stop(bay);
  assert_non_null(strstr(line_for(bay, "adjust", ",\"adjuster\":\"link\",\"move\":0.1"), "\"done\":true"));
  eb_bay_work work;
  eb_bay_account(bay, &work);
  assert_int_equal(work.moves, 1);
  assert_int_equal(work.stops, 1);
  eb_bay_destroy(bay);
}

static void a_slip_of_the_pen_loses_the_point_once(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  o.engine.gauge.step = 0.7;
  o.engine.needle = 5.6;
  o.skill.slips = 1;
  eb_bay *bay = bay_with(&o);
  start(bay);
  double slipped = number_for(bay, "reading", READING("1", ""));
  double value = number_for(bay, "reading", READING("1", ",\"again\":{\"value\":55}"));
  assert_true(value > 3 && value < 8);
  assert_true(fabs(slipped - 10 * value) < 7.1 && slipped > 40);
  eb_bay_destroy(bay);
}

static void a_repeat_can_be_typed_from_memory(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  o.engine.gauge.repeatability = 0.05;
  o.skill.forgets = 1;
  eb_bay *bay = bay_with(&o);
  start(bay);
  double first = number_for(bay, "reading", READING("1", ",\"repeat\":1"));
  double second = number_for(bay, "reading", READING("1", ",\"repeat\":2"));
  assert_true(fabs(first - second) < 1e-9);
  eb_bay_work work;
  eb_bay_account(bay, &work);
  assert_int_equal(work.readings, 1);
  assert_int_equal(work.forgotten, 1);
  eb_bay_destroy(bay);
}

/* Four bores in two passes; without noise whatever changes between the passes is the swap. */
static void two_neighbours_are_swapped_once(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  o.engine.plate_spread = 0.05;
  o.fault[EB_FAULT_SWAP] = 1;
  double read[3][4];
  static const char *const members[] = {READING("1", ",\"pass\":%d"), READING("2", ",\"pass\":%d"),
                                        READING("3", ",\"pass\":%d"), READING("4", ",\"pass\":%d")};
  eb_bay *bay = bay_with(&o);
  start(bay);
  for (int i = 0; i < 20; i++)
    temperature(bay, "t", "C", 160);
  for (int pass = 1; pass <= 3; pass++)
    for (int i = 0; i < 4; i++) {
      char text[256];
      snprintf(text, sizeof text, members[i], pass);
      read[pass - 1][i] = number_for(bay, "reading", text);
    }
  int swapped = 0;
  for (int pass = 0; pass < 2; pass++)
    for (int i = 0; i < 3; i++)
      swapped += fabs(read[pass][i] - read[2][i + 1]) < 0.01 && fabs(read[pass][i + 1] - read[2][i]) < 0.01;
  assert_int_equal(swapped, 1);
  eb_bay_destroy(bay);
}

/* Eyes see a vent only once it was moved, and not any more when it is marked anew. */
static void a_vent_is_seen_to_be_moved(void **state)
{
  (void)state;
  static const char still[] = ",\"key\":\"still\"";
  static const char what[] = ",\"key\":\"what\",\"options\":[{\"id\":\"nothing\"},{\"id\":\"vent-moved\"}]";
  eb_bay_options o = plain_bay();
  o.fault[EB_FAULT_VENT] = 1;
  eb_bay *bay = bay_with(&o);
  start(bay);
  assert_non_null(strstr(line_for(bay, "confirm", still), "true"));
  assert_non_null(strstr(line_for(bay, "choose", what), "nothing"));
  for (int i = 0; i < 20; i++)
    number_for(bay, "reading", READING("1", ""));
  assert_int_equal(eb_bay_found(bay), 0);
  assert_non_null(strstr(line_for(bay, "confirm", still), "false"));
  assert_non_null(strstr(line_for(bay, "choose", what), "vent-moved"));
  assert_int_equal(eb_bay_found(bay), 1U << EB_FAULT_VENT);
  assert_non_null(strstr(line_for(bay, "confirm", still), "true"));
  assert_non_null(strstr(line_for(bay, "choose", what), "nothing"));
  eb_bay_destroy(bay);
}

/* An idle that hunts comes by where it was set; in some of many looks it is elsewhere. */
static void an_idle_that_hunts_is_seen(void **state)
{
  (void)state;
  static const char idle[] = ",\"quantity\":\"engine-speed\",\"unit\":\"rpm\",\"low\":100,\"high\":6000";
  for (int hunts = 0; hunts < 2; hunts++) {
    eb_bay_options o = plain_bay();
    o.fault[EB_FAULT_WANDER] = hunts;
    eb_bay *bay = bay_with(&o);
    start(bay);
    for (int i = 0; i < 20; i++)
      temperature(bay, "t", "C", 160);
    number_for(bay, "number", idle);
    int off = 0;
    for (int i = 0; i < 20; i++)
      off += strstr(line_for(bay, "confirm", ",\"key\":\"still\""), "false") != NULL;
    assert_true(hunts ? off > 4 : off == 0);
    eb_bay_destroy(bay);
  }
}

/* The option that names what is wrong; a slit is closed, valves are not put right at the engine. */
static void faults_are_found_where_they_are_looked_for(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  o.fault[EB_FAULT_LEAK] = 1;
  eb_bay *bay = bay_with(&o);
  static const char causes[] = ",\"key\":\"cause\",\"options\":[{\"id\":\"nothing\"},{\"id\":\"dead\"},"
                               "{\"id\":\"leak-found\"}]";
  eb_engine_truth truth;
  assert_int_equal(eb_bay_truth(bay, &truth, NULL), EB_OK);
  assert_true(truth.fault[EB_FAULT_LEAK] > 0);
  assert_non_null(strstr(line_for(bay, "choose", causes), "leak-found"));
  assert_int_equal(eb_bay_truth(bay, &truth, NULL), EB_OK);
  assert_false(truth.fault[EB_FAULT_LEAK] > 0);
  assert_non_null(strstr(line_for(bay, "choose", causes), "nothing"));
  eb_bay_destroy(bay);
}

static void a_dead_bore_is_left_out_and_not_claimed(void **state)
{
  (void)state;
  eb_bay_options o = plain_bay();
  o.fault[EB_FAULT_DEAD] = 1;
  eb_bay *bay = bay_with(&o);
  eb_engine_truth truth;
  char members[256], claim_text[64];
  assert_int_equal(eb_bay_truth(bay, &truth, NULL), EB_OK);
  for (int i = 0; i < 4; i++) {
    bool dead = (truth.faulty[EB_FAULT_DEAD] >> i & 1) != 0;
    snprintf(members, sizeof members, ",\"key\":\"fault.%d\",\"options\":[{\"id\":\"again\"},{\"id\":\"leave-out\"}]",
             i + 1);
    assert_non_null(strstr(line_for(bay, "choose", members), dead ? "leave-out" : "again"));
    if (dead)
      snprintf(claim_text, sizeof claim_text, "{\"tolerance\":0.05,\"left_out\":[\"%d\"]}", i + 1);
  }
  eb_json *claim = NULL;
  assert_int_equal(eb_json_parse(claim_text, strlen(claim_text), &claim, NULL), EB_OK);
  assert_true(eb_bay_spread(bay, NULL) > 0.8);
  assert_true(eb_bay_spread(bay, claim) < 1e-6);
  eb_json_destroy(claim);
  eb_bay_destroy(bay);
}

static void who_is_refused_waits_and_at_last_stops(void **state)
{
  (void)state;
  eb_bay *bay = bay_with(NULL);
  double before = temperature(bay, "t", "C", 160);
  for (int i = 0; i < 20; i++)
    hear(bay, "{\"type\":\"refused\",\"n\":7,\"why\":\"\",\"wanted\":\"\"}");
  eb_json *ask = NULL;
  char line[EB_BAY_LINE_SIZE];
  const char text[] = "{\"type\":\"ask\",\"n\":7,\"kind\":\"confirm\",\"key\":\"k\"}";
  assert_int_equal(eb_json_parse(text, strlen(text), &ask, NULL), EB_OK);
  assert_int_equal(eb_bay_answer(bay, ask, line, sizeof line, NULL), EB_OK);
  assert_non_null(strstr(line, "\"do\":\"stop\""));
  eb_json_destroy(ask);
  assert_true(before > 20);
  eb_bay_destroy(bay);
}

static void bays_that_cannot_be_are_refused(void **state)
{
  (void)state;
  eb_bay *bay = NULL;
  eb_error error;
  eb_bay_options o = eb_bay_options_usual();
  o.skill.slips = 2;
  assert_int_equal(eb_bay_create(eb_host_system(), &o, &bay, &error), EB_OUT_OF_RANGE);
  o = eb_bay_options_usual();
  o.skill.hand = NAN;
  assert_int_equal(eb_bay_create(eb_host_system(), &o, &bay, &error), EB_OUT_OF_RANGE);
  o = eb_bay_options_usual();
  o.fault[EB_FAULT_LEAK] = -1;
  assert_int_equal(eb_bay_create(eb_host_system(), &o, &bay, &error), EB_OUT_OF_RANGE);
  assert_non_null(strstr(error.message, "leak"));
  assert_null(bay);
  eb_bay_destroy(NULL);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(plain_kinds_are_agreed_to),
      cmocka_unit_test(the_thermometer_follows_the_engine),
      cmocka_unit_test(the_speed_is_set_before_it_is_told),
      cmocka_unit_test(a_reading_is_taken_in_its_condition),
      cmocka_unit_test(a_length_is_measured_at_the_plate),
      cmocka_unit_test(a_heavy_hand_moves_more),
      cmocka_unit_test(an_engine_may_be_started_before_it_is_described),
      cmocka_unit_test(what_runs_is_not_moved),
      cmocka_unit_test(a_slip_of_the_pen_loses_the_point_once),
      cmocka_unit_test(a_repeat_can_be_typed_from_memory),
      cmocka_unit_test(two_neighbours_are_swapped_once),
      cmocka_unit_test(a_vent_is_seen_to_be_moved),
      cmocka_unit_test(an_idle_that_hunts_is_seen),
      cmocka_unit_test(faults_are_found_where_they_are_looked_for),
      cmocka_unit_test(a_dead_bore_is_left_out_and_not_claimed),
      cmocka_unit_test(who_is_refused_waits_and_at_last_stops),
      cmocka_unit_test(bays_that_cannot_be_are_refused),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
