/* Chance procedures and a person who answers the truth, takes answers back, leaves and comes back: whatever comes,
 * the engine on the stand and the job's idea of it must not part where that can hurt. */
#include "session_rig.h"

enum { PARTS = 2, PROCEDURES = 60, STEPS = 40 };

/* The engine on the stand. */
typedef struct stand {
  bool runs, off[PARTS], started_with_part_off;
  uint32_t seed;
} stand;

static const char *const part_name[PARTS] = {"air box", "return spring"};

/* Below `limit`, by a linear congruential generator [Numerical Recipes, 2nd ed., section 7.1; from memory]. */
static int chance(stand *st, int limit)
{
  st->seed = st->seed * 1664525U + 1013904223U;
  return (int)(st->seed >> 16) % limit;
}

static void write_procedure(stand *st, char *lines, size_t size)
{
  static const char *const steps[] = {
      RUNNING,
      STOPPED,
      ASK("confirm", "off0", ",\"takes_off\":[\"air box\"]"),
      ASK("confirm", "off1", ",\"takes_off\":[\"return spring\"]"),
      ASK("confirm", "on0", ",\"refits\":[\"air box\"]"),
      ASK("confirm", "on1", ",\"refits\":[\"return spring\"]"),
      ASK("confirm", "both", ",\"refits\":[\"air box\",\"return spring\"]"),
      READING("1"),
      ASK("adjust", "plate", ",\"adjuster\":\"plate-1\",\"move\":0.05"),
      ASK("adjust", "screw", ",\"adjuster\":\"screw\",\"move\":0.05"),
      NUMBER("z"),
  };
  snprintf(lines, size, "%s", DECLARE);
  for (int i = 0; i < STEPS; i++) {
    size_t used = strlen(lines);
    snprintf(lines + used, size - used, "%s", steps[chance(st, sizeof steps / sizeof steps[0])]);
  }
  strcat(lines, END);
}

static bool any_off(const stand *st)
{
  return st->off[0] || st->off[1];
}

/* What the person must never be asked as the engine stands. */
static void check_ask(const stand *st, const eb_json *ask)
{
  const char *kind = eb_json_get_string(ask, "kind", "");
  const char *state = eb_json_get_string(ask, "state", "");
  char *text = eb_json_text(ask);
  if (strcmp(state, "running") == 0 && any_off(st))
    fail_msg("asked to start with a part off: %s", text);
  if (strcmp(kind, "reading") == 0 && (!st->runs || any_off(st)))
    fail_msg("asked to read an engine that stands, or has a part off: %s", text);
  if (eb_json_get(ask, "takes_off") != NULL && st->runs)
    fail_msg("asked to take a part off a running engine: %s", text);
  if (strcmp(eb_json_get_string(ask, "adjuster", ""), "plate-1") == 0 && st->runs)
    fail_msg("asked to move a plate of a running engine: %s", text);
  eb_json_text_free(text);
}

static bool names_part(const eb_json *parts, int part)
{
  for (const eb_json *one = eb_json_first(parts); one != NULL; one = eb_json_next(one))
    if (strcmp(eb_json_as_string(one, ""), part_name[part]) == 0)
      return true;
  return false;
}

/* Does what a confirm is about, or not, and says so. */
static const char *work_on_parts(stand *st, const eb_json *ask)
{
  bool done = chance(st, 4) > 0;
  for (int i = 0; done && i < PARTS; i++) {
    st->off[i] = st->off[i] && !names_part(eb_json_get(ask, "refits"), i);
    st->off[i] = st->off[i] || names_part(eb_json_get(ask, "takes_off"), i);
  }
  return done ? "1" : "0";
}

static void answer(rig *r, stand *st)
{
  const eb_json *ask = eb_session_ask(r->session);
  const char *kind = eb_json_get_string(ask, "kind", "");
  const char *typed = "1";
  char code[3];
  if (strcmp(kind, "caution") == 0) {
    snprintf(code, sizeof code, "%s", eb_json_get_string(ask, "code", ""));
    typed = code;
  } else if (strcmp(eb_json_get_string(ask, "key", ""), "resume.kept-running") == 0)
    typed = st->runs ? "1" : "0";
  else if (strcmp(kind, "confirm") == 0)
    typed = work_on_parts(st, ask);
  else if (strcmp(kind, "engine") == 0)
    st->runs = strcmp(eb_json_get_string(ask, "state", ""), "running") == 0;
  else if (strcmp(kind, "reading") == 0)
    typed = "6";
  type(r, typed);
}

static void one_action(rig *r, stand *st)
{
  int what = chance(st, 10);
  if (what < 2)
    eb_session_back(r->session, &r->error);
  else if (what == 2) {
    st->runs = st->runs && chance(st, 2) == 0; /* it may have been stopped meanwhile */
    assert_int_equal(resume(r), EB_OK);
  } else
    answer(r, st);
  gather(r);
}

/* Nothing is cut off here: what the disk has of it does not matter. */
static int no_sync(void *context, int file)
{
  (void)context;
  (void)file;
  return 0;
}

static void no_order_of_answers_parts_the_job_from_the_engine(void **state)
{
  (void)state;
  eb_host host = *eb_host_system();
  host.files.sync = no_sync;
  int starts = 0, refits = 0;
  for (uint32_t seed = 1; seed <= PROCEDURES; seed++) {
    stand st = {.seed = seed};
    rig r;
    char lines[16384];
    write_procedure(&st, lines, sizeof lines);
    assert_int_equal(begin_as(&r, &host, NULL, true, lines), EB_OK);
    for (int i = 0; i < 4 * STEPS && eb_session_where(r.session) == EB_SESSION_ASKS; i++) {
      const eb_json *ask = eb_session_ask(r.session);
      check_ask(&st, ask);
      starts += strcmp(eb_json_get_string(ask, "state", ""), "running") == 0;
      refits += strstr(key_asked(&r), ".refit") != NULL;
      one_action(&r, &st);
    }
    finish(&r);
  }
  /* It was about something. */
  assert_true(starts > PROCEDURES);
  assert_true(refits > PROCEDURES / 4);
}

int main(void)
{
  const struct CMUnitTest tests[] = {
      cmocka_unit_test(no_order_of_answers_parts_the_job_from_the_engine),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
