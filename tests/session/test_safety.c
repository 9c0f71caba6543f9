/* The core's own cautions and the interlocks, against procedures that would do without. */
#include "session_rig.h"

#define OFF(part) ASK("confirm", "off", ",\"takes_off\":[\"" part "\"]")
#define ON(part) ASK("confirm", "on", ",\"refits\":[\"" part "\"]")
#define PLATE ASK("adjust", "plate", ",\"adjuster\":\"plate-1\",\"move\":0.05")
#define SCREW ASK("adjust", "screw", ",\"adjuster\":\"screw\",\"move\":0.05")
#define HEAD                                                                                                           \
  "{\"op\":\"declare\",\"procedure\":{\"id\":\"two\",\"version\":\"1\",\"title\":\"Two bores\",\"api\":1},"            \
  "\"layout\":{\"rows\":[[1,2]],\"adjusters\":[]},\"cautions\":"

static void careless(rig *r, const char *lines)
{
  assert_int_equal(begin_raw(r, lines), EB_OK);
}

/* What the open ask is to be called, and the same said as a right answer. */
static void passes(rig *r, const char *key, const char *typed)
{
  char code[3];
  assert_string_equal(key_asked(r), key);
  snprintf(code, sizeof code, "%s", eb_json_get_string(eb_session_ask(r->session), "code", ""));
  type(r, typed == NULL ? code : typed);
}

static int hazards(const rig *r)
{
  return eb_json_count(eb_json_get(eb_session_ask(r->session), "hazards"));
}

static void names(const rig *r, const char *const *words)
{
  char *ask = eb_json_text(eb_session_ask(r->session));
  for (; *words != NULL; words++)
    if (strstr(ask, *words) == NULL)
      fail_msg("\"%s\" is not in %s", *words, ask);
  eb_json_text_free(ask);
}

/* What every caution of its kind must say, whoever words it (common practice, no source). */
static const char *const of_place[] = {"ocal rules",  "licensed technician",
                                       "Exhaust gas", "extraction",
                                       "Fuel",        "extinguisher",
                                       "chocked",     "neutral",
                                       "loose",       NULL};
static const char *const of_start[] = {
    "covers",     "left in a stack", "tool",        "Return spring",        "idle stop",
    "snaps shut", "clear",           "sticks open", "ignition off at once", NULL};
static const char *const of_first_start[] = {"where the switch is", "belts", "burn", "backfire", NULL};
static const char *const of_running[] = {"Fan", "belts", "burn", "Nothing loose over the open stacks", NULL};
static const char *const of_hands[] = {"Ignition off", "key out", "hot", "Springs", "Cover the open stacks", NULL};

static void a_careless_procedure_gets_every_caution_in_order(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE RUNNING READING("1") READING("2") STOPPED OFF("return spring") PLATE ON("return spring")
                   RUNNING READING("1") STOPPED PLATE END);
  names(&r, of_place);
  passes(&r, "safety.place", NULL);
  names(&r, of_start);
  names(&r, of_first_start);
  int full = hazards(&r);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  names(&r, of_running);
  passes(&r, "safety.running", NULL);
  passes(&r, "r1", "6");
  passes(&r, "r2", "6");
  passes(&r, "halt", "1");
  names(&r, of_hands);
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  passes(&r, "plate", "1");
  passes(&r, "on", "1");
  names(&r, of_start);
  assert_true(hazards(&r) < full);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  passes(&r, "r1", "6");
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "plate", "1");
  assert_int_equal(eb_session_where(r.session), EB_SESSION_ENDED);
  finish(&r);
}

static void the_place_comes_before_any_ask(void **state)
{
  (void)state;
  static const char *const asks[] = {ASK("confirm", "a", ""),
                                     ASK("text", "a", ""),
                                     NUMBER("a"),
                                     STOPPED,
                                     ASK("caution", "a", ",\"hazards\":[\"Fan\"]"),
                                     SCREW RUNNING};
  for (size_t i = 0; i < sizeof asks / sizeof asks[0]; i++) {
    rig r;
    char lines[4096];
    snprintf(lines, sizeof lines, "%s%s%s", DECLARE, asks[i], END);
    careless(&r, lines);
    assert_string_equal(key_asked(&r), "safety.place");
    finish(&r);
  }
}

/* Hands may go in for what is only a question or a number. */
static void hands_that_are_declared_are_warned(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE ASK("confirm", "early",
                           ",\"hands\":true") STOPPED ASK("confirm", "free", ",\"hands\":true") OFF("stack") ON("stack")
                   RUNNING ASK("number", "idle",
                               ",\"quantity\":\"engine-speed\",\"unit\":\"rpm\",\"low\":1,\"high\":9000,\"hands\":true")
                       SCREW READING("1") END);
  passes(&r, "safety.place", NULL);
  assert_non_null(strstr(r.log.replies, "hands go to an engine that is known to run or to stand"));
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "free", "1");
  passes(&r, "off", "1");
  passes(&r, "on", "1");
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  passes(&r, "safety.running", NULL);
  passes(&r, "idle", "900");
  passes(&r, "screw", "1");
  passes(&r, "r1", "6");
  finish(&r);
}

static void is_refused(rig *r, const char *typed)
{
  char key[64];
  snprintf(key, sizeof key, "%s", key_asked(r));
  type(r, typed);
  saw(r, "\"type\":\"refused\"");
  assert_string_equal(key_asked(r), key);
}

static void line_is_refused(rig *r, const char *value)
{
  char line[128];
  char key[64];
  snprintf(key, sizeof key, "%s", key_asked(r));
  snprintf(line, sizeof line, "{\"n\":%d,\"value\":%s}", (int)eb_json_get_number(eb_session_ask(r->session), "n", 0),
           value);
  take(r, line);
  saw(r, "\"type\":\"refused\"");
  assert_string_equal(key_asked(r), key);
}

/* A held key, a yes, the digits the other way round or those of the caution before never pass. */
static void no_reflex_passes_a_caution(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE RUNNING READING("1") STOPPED PLATE RUNNING STOPPED PLATE RUNNING STOPPED PLATE RUNNING END);
  char before[3] = "00";
  int met = 0;
  while (eb_session_where(r.session) == EB_SESSION_ASKS) {
    const char *shown = eb_json_get_string(eb_session_ask(r.session), "code", NULL);
    if (shown == NULL) {
      type(&r, "1");
      continue;
    }
    char code[3];
    snprintf(code, sizeof code, "%s", shown);
    assert_true(code[0] >= '1' && code[0] <= '9' && code[1] >= '1' && code[1] <= '9');
    assert_int_not_equal(code[0], code[1]);
    assert_string_not_equal(code, before);
    const char held[][4] = {
        {code[0], '\0'}, {code[0], code[0], '\0'}, {code[1], code[0], '\0'}, {code[0], code[1], code[1], '\0'}};
    for (size_t i = 0; i < sizeof held / sizeof held[0]; i++)
      is_refused(&r, held[i]);
    static const char *const reflexes[] = {"", " ", "1", "0", "y", "yes", "ok", "done", "true", "11", "00"};
    for (size_t i = 0; i < sizeof reflexes / sizeof reflexes[0]; i++)
      is_refused(&r, reflexes[i]);
    is_refused(&r, before);
    static const char *const values[] = {"true", "false", "1", "\"\"", "\"yes\"", "\"1\"", "null", "{}", "[]"};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++)
      line_is_refused(&r, values[i]);
    type(&r, code);
    snprintf(before, sizeof before, "%s", code);
    met++;
  }
  assert_int_equal(met, 9); /* the place, the running engine, four starts, hands in three stops */
  finish(&r);
}

static void the_code_is_the_value_on_the_line(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE NUMBER("a") END);
  char line[64];
  snprintf(line, sizeof line, "{\"n\":1,\"value\":\"%s\"}", eb_json_get_string(eb_session_ask(r.session), "code", ""));
  take(&r, line);
  assert_string_equal(key_asked(&r), "a");
  finish(&r);
}

static void the_cores_keys_are_its_own(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE ASK("caution", "safety.place", ",\"hazards\":[\"None\"],\"critical\":true")
                   ASK("confirm", "safety.start", "") ASK("confirm", "resume.caution", "")
                       ASK("engine", "safety.run", ",\"state\":\"running\"") RUNNING END);
  passes(&r, "safety.place", NULL);
  names(&r, of_first_start);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  assert_non_null(strstr(r.log.replies, "a key that begins with \\\"safety.\\\" is the core's own"));
  assert_non_null(strstr(r.log.replies, "a key that begins with \\\"resume.\\\" is the core's own"));
  finish(&r);
}

static void a_shop_adds_and_takes_nothing_away(void **state)
{
  (void)state;
  rig r;
  careless(&r, HEAD "[\"The lift sinks slowly: pin it.\",\"Zündung aus\"]}\n" RUNNING END);
  names(&r, of_place);
  static const char *const added[] = {"The lift sinks slowly: pin it.", "Zündung aus", NULL};
  names(&r, added);
  passes(&r, "safety.place", NULL);
  assert_string_equal(key_asked(&r), "safety.start");
  assert_int_equal(resume(&r), EB_OK);
  assert_string_equal(key_asked(&r), "resume.caution");
  names(&r, of_place);
  names(&r, added);
  finish(&r);
}

#define ORIGIN "{\"origin\":{\"maker\":\"Bench Nine\",\"cautions\":"

static eb_status begin_from(rig *r, const char *cautions, const char *lines)
{
  char text[600];
  eb_json *inputs = NULL;
  snprintf(text, sizeof text, "%s%s}}", ORIGIN, cautions);
  assert_int_equal(eb_json_parse(text, strlen(text), &inputs, NULL), EB_OK);
  eb_status status = begin_as(r, eb_host_system(), inputs, true, lines);
  eb_json_destroy(inputs);
  return status;
}

static void where_it_comes_from_is_acknowledged_first(void **state)
{
  (void)state;
  rig r;
  static const char *const told[] = {"Nobody here trusts it.", NULL};
  static const char *const passed_by[] = {"", "y", "yes", "1", "00", "true"};
  assert_int_equal(begin_from(&r, "[\"Nobody here trusts it.\"]", DECLARE RUNNING END), EB_OK);
  names(&r, told);
  for (size_t i = 0; i < sizeof passed_by / sizeof passed_by[0]; i++) {
    type(&r, passed_by[i]);
    assert_string_equal(key_asked(&r), "safety.origin");
  }
  take(&r, "{\"n\":1,\"value\":true}");
  assert_string_equal(key_asked(&r), "safety.origin");
  assert_int_equal(resume(&r), EB_OK); /* left before it was answered, it is asked when somebody comes back */
  passes(&r, "safety.origin", NULL);
  names(&r, of_place);
  passes(&r, "safety.place", NULL);
  assert_string_equal(key_asked(&r), "safety.start");
  assert_int_equal(resume(&r), EB_OK);
  assert_string_equal(key_asked(&r), "resume.caution");
  names(&r, told);
  names(&r, of_place);
  finish(&r);
}

static void what_is_said_of_an_origin_is_checked(void **state)
{
  (void)state;
  static const char *const wrong[] = {"[]",  "{}",     "\"none\"",    "false",
                                      "[7]", "[\"\"]", "[\"a\\nb\"]", "[\"\\u202edcba\"]"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    rig r;
    assert_int_equal(begin_from(&r, wrong[i], DECLARE RUNNING END), EB_BAD_VALUE);
    assert_string_equal(r.error.place, "inputs.origin");
    finish(&r);
  }
}

static void what_a_shop_adds_is_checked(void **state)
{
  (void)state;
  char many[400] = "[\"1\"";
  for (int i = 2; i <= 13; i++)
    snprintf(many + strlen(many), sizeof many - strlen(many), ",\"%d\"", i);
  strcat(many, "]");
  char longer[400] = "[\"";
  memset(longer + 2, 'x', 201);
  strcpy(longer + 203, "\"]");
  const char *const wrong[] = {many,
                               longer,
                               "[]",
                               "{}",
                               "\"none\"",
                               "false",
                               "[7]",
                               "[\"\"]",
                               "[\"a\\nb\"]",
                               "[\"\\u202edcba\"]",
                               "[\"\\u001b[2J\"]",
                               "[\"\xff\"]"};
  for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
    rig r;
    char lines[2048];
    snprintf(lines, sizeof lines, "%s%s,\"at\":\"two.lua:3\"}\n%s%s", HEAD, wrong[i], RUNNING, END);
    eb_status status = begin_raw(&r, lines);
    if (status != EB_SCRIPT && status != EB_BAD_TEXT)
      fail_msg("%s is taken: %d", wrong[i], (int)status);
    assert_int_not_equal(r.error.message[0], '\0');
    assert_int_equal(access(r.path, F_OK), -1);
  }
}

static void who_comes_back_sees_to_all_of_it_again(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE STOPPED PLATE RUNNING READING("1") STOPPED PLATE RUNNING READING("1") READING("2") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  assert_int_equal(resume(&r), EB_OK);
  names(&r, of_place);
  names(&r, of_hands);
  passes(&r, "resume.caution", NULL);
  passes(&r, "resume.engine", "1");
  passes(&r, "plate", "1"); /* hands were among those of the return */
  names(&r, of_first_start);
  passes(&r, "safety.start", NULL);
  assert_int_equal(resume(&r), EB_OK); /* between the caution and the start */
  passes(&r, "resume.caution", NULL);
  passes(&r, "resume.engine", "1");
  names(&r, of_first_start);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  passes(&r, "safety.running", NULL);
  passes(&r, "r1", "6");
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "plate", "1");
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  assert_int_equal(resume(&r), EB_OK);
  names(&r, of_place);
  names(&r, of_running);
  passes(&r, "resume.caution", NULL);
  passes(&r, "resume.kept-running", "0");
  names(&r, of_first_start);
  passes(&r, "safety.start", NULL);
  passes(&r, "resume.engine", "1");
  passes(&r, "r1", "6");
  assert_int_equal(resume(&r), EB_OK);
  passes(&r, "resume.caution", NULL);
  passes(&r, "resume.kept-running", "1");
  passes(&r, "r2", "6");
  assert_int_equal(eb_session_where(r.session), EB_SESSION_ENDED);
  finish(&r);
}

/* Nothing is known of the engine yet that a resume would ask for. */
static void who_comes_back_before_the_first_start_is_warned_of_it_again(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE RUNNING READING("1") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "safety.start", NULL);
  assert_int_equal(resume(&r), EB_OK);
  passes(&r, "resume.caution", NULL);
  names(&r, of_first_start);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  finish(&r);
}

static void back(rig *r)
{
  assert_int_equal(eb_session_back(r->session, &r->error), EB_OK);
  gather(r);
}

static void a_start_that_is_taken_back_is_warned_again(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE RUNNING READING("1") STOPPED OFF("stack") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  back(&r);
  names(&r, of_first_start);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  passes(&r, "safety.running", NULL);
  passes(&r, "r1", "6");
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  assert_int_equal(resume(&r), EB_ENDED);
  finish(&r);
}

/* The answer that a person gave is taken back, not that a caution was seen to; that comes again on the way. */
static void a_caution_is_no_answer_to_take_back(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE NUMBER("a") STOPPED OFF("stack") NUMBER("b") END);
  passes(&r, "safety.place", NULL);
  back(&r);
  saw(&r, "there is no answer to take back yet");
  passes(&r, "a", "20");
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  back(&r);
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  back(&r);
  passes(&r, "resume.engine", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  assert_int_equal(resume(&r), EB_OK);
  passes(&r, "resume.caution", NULL);
  passes(&r, "resume.engine", "1");
  passes(&r, "b", "20");
  finish(&r);
}

static void an_answer_without_its_caution_is_a_mismatch(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE RUNNING READING("1") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  eb_session_destroy(r.session);
  r.session = NULL;
  rewrite(&r, 3, "\"key\":\"safety.start\"", "\"key\":\"own.start\"");
  assert_int_equal(resume(&r), EB_MISMATCH);
  assert_string_equal(r.error.place, "record 3");
  assert_non_null(strstr(r.error.message, "\"safety.start\" (Before the start)"));
  finish(&r);
}

/* A part does not come back on by an answer that is taken back. */
static void what_came_off_at_a_step_taken_back_goes_on_before_a_start(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE RUNNING STOPPED OFF("air box") OFF("return spring") PLATE RUNNING READING("1") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  passes(&r, "off", "1");
  for (int i = 0; i < 3; i++)
    back(&r);
  for (int i = 0; i < 2; i++) { /* as often as it is not yet so, whoever comes */
    static const char *const off[] = {"air box", "return spring", NULL};
    names(&r, off);
    passes(&r, "resume.refit", "0");
    assert_int_equal(resume(&r), EB_OK);
    names(&r, of_hands);
    passes(&r, "resume.caution", NULL);
  }
  passes(&r, "resume.refit", "1");
  passes(&r, "resume.kept-running", "0");
  passes(&r, "safety.start", NULL);
  passes(&r, "resume.engine", "1");
  passes(&r, "halt", "1");
  finish(&r);
}

/* The procedure takes "no" for an answer and goes on to a start. */
static void a_part_that_no_answer_holds_any_more_is_asked_for_before_the_start(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE STOPPED OFF("air box") PLATE RUNNING READING("1") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  back(&r);
  passes(&r, "resume.engine", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "0");
  passes(&r, "plate", "1");
  passes(&r, "safety.refit", "0");
  saw(&r, "\"refits\":[\"air box\"]");
  passes(&r, "safety.refit", "1");
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  passes(&r, "safety.running", NULL);
  assert_int_equal(resume(&r), EB_OK);
  passes(&r, "resume.caution", NULL);
  passes(&r, "resume.kept-running", "0"); /* it was put on: nothing more of it */
  passes(&r, "safety.start", NULL);
  passes(&r, "resume.engine", "1");
  passes(&r, "r1", "6");
  finish(&r);
}

static void who_stops_hears_of_a_part_that_no_answer_holds_any_more(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE STOPPED OFF("air box") PLATE ON("air box") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  back(&r);
  eb_session_stop(r.session, "", &r.error);
  gather(&r);
  saw(&r, "Still off, to be refitted before any start: air box.");
  finish(&r);
}

/* What was done to metal is said; Enter alone says nothing. */
static void no_answer_about_metal_is_ready_made(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE RUNNING ASK("confirm", "a", ",\"default\":true,\"snaps\":true")
                   STOPPED ASK("confirm", "b", ",\"default\":false,\"takes_off\":[\"air box\"]")
                       ASK("confirm", "c", ",\"default\":true,\"refits\":[\"air box\"]") NUMBER("z") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  passes(&r, "halt", "1");
  passes(&r, "z", "20");
  const char *met = r.log.replies;
  for (int i = 0; i < 3; i++)
    assert_non_null(met = strstr(met + 1, "what was done to the engine has no default"));
  finish(&r);
}

/* A word that is none would keep a caution from coming again. */
static void a_caution_applies_in_a_state_that_there_is(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE ASK("caution", "own", ",\"hazards\":[\"x\"],\"applies\":\"runing\"") NUMBER("z") END);
  passes(&r, "safety.place", NULL);
  passes(&r, "z", "20");
  assert_non_null(strstr(r.log.replies, "applies is to be \\\"running\\\" or \\\"stopped\\\""));
  finish(&r);
}

/* Everything that must not be is asked for on the way; each time the author hears why, and no person is asked. */
static void the_interlocks_hold_against_a_careless_procedure(void **state)
{
  (void)state;
  rig r;
  careless(&r, DECLARE SCREW OFF("early")
                   READING("1") "{\"op\":\"pass\"}\n" STOPPED READING("1") "{\"op\":\"pass\"}\n" OFF("air box")
                       OFF("idle stop") OFF("Return Spring") RUNNING ON("air box") RUNNING ON("idle stop")
                           RUNNING ON("Return Spring") RUNNING OFF("late") PLATE SCREW END);
  passes(&r, "safety.place", NULL);
  assert_non_null(strstr(r.log.replies, "screw is moved on an engine that is known to run or to stand"));
  assert_non_null(strstr(r.log.replies, "parts come off a stopped engine only, and it is not known to be stopped"));
  assert_non_null(strstr(r.log.replies, "a reading needs a running engine and it is not known to run"));
  assert_non_null(strstr(r.log.replies, "a pass needs a running engine and it is not known to run"));
  passes(&r, "halt", "1");
  assert_non_null(strstr(r.log.replies, "a reading needs a running engine and it is stopped"));
  assert_non_null(strstr(r.log.replies, "a pass needs a running engine and it is stopped"));
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  passes(&r, "off", "1");
  passes(&r, "off", "1");
  assert_non_null(strstr(r.log.replies, "while a part is off, least of all what shuts the throttle: \\\"idle stop\\\", "
                                        "\\\"Return Spring\\\", \\\"air box\\\"; refit first"));
  passes(&r, "on", "1");
  assert_non_null(strstr(r.log.replies, "throttle: \\\"idle stop\\\", \\\"Return Spring\\\"; refit first"));
  passes(&r, "on", "1");
  assert_non_null(strstr(r.log.replies, "throttle: \\\"Return Spring\\\"; refit first"));
  passes(&r, "on", "0"); /* not on yet */
  assert_string_not_equal(key_asked(&r), "safety.start");
  finish(&r);
  careless(&r, DECLARE STOPPED OFF("air box") RUNNING ON("air box") RUNNING OFF("late") PLATE SCREW END);
  passes(&r, "safety.place", NULL);
  passes(&r, "halt", "1");
  passes(&r, "safety.hands", NULL);
  passes(&r, "off", "1");
  assert_non_null(strstr(r.log.replies, "while a part is off: \\\"air box\\\"; refit first"));
  passes(&r, "on", "1");
  passes(&r, "safety.start", NULL);
  passes(&r, "run", "1");
  assert_non_null(strstr(r.log.replies, "parts come off a stopped engine only, and it is running"));
  assert_non_null(strstr(r.log.replies, "plate 1 is moved on a stopped engine only"));
  passes(&r, "safety.running", NULL);
  passes(&r, "screw", "1");
  finish(&r);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(a_careless_procedure_gets_every_caution_in_order),
      cmocka_unit_test(the_place_comes_before_any_ask),
      cmocka_unit_test(hands_that_are_declared_are_warned),
      cmocka_unit_test(no_reflex_passes_a_caution),
      cmocka_unit_test(the_code_is_the_value_on_the_line),
      cmocka_unit_test(the_cores_keys_are_its_own),
      cmocka_unit_test(a_shop_adds_and_takes_nothing_away),
      cmocka_unit_test(where_it_comes_from_is_acknowledged_first),
      cmocka_unit_test(what_is_said_of_an_origin_is_checked),
      cmocka_unit_test(what_a_shop_adds_is_checked),
      cmocka_unit_test(who_comes_back_sees_to_all_of_it_again),
      cmocka_unit_test(who_comes_back_before_the_first_start_is_warned_of_it_again),
      cmocka_unit_test(a_start_that_is_taken_back_is_warned_again),
      cmocka_unit_test(a_caution_is_no_answer_to_take_back),
      cmocka_unit_test(an_answer_without_its_caution_is_a_mismatch),
      cmocka_unit_test(what_came_off_at_a_step_taken_back_goes_on_before_a_start),
      cmocka_unit_test(a_part_that_no_answer_holds_any_more_is_asked_for_before_the_start),
      cmocka_unit_test(who_stops_hears_of_a_part_that_no_answer_holds_any_more),
      cmocka_unit_test(no_answer_about_metal_is_ready_made),
      cmocka_unit_test(a_caution_applies_in_a_state_that_there_is),
      cmocka_unit_test(the_interlocks_hold_against_a_careless_procedure),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
