/* The usual hazards of this work, as the core's own asks: it puts them before
 * what they are about, whatever a procedure does.  A caution is acknowledged by
 * a code of two digits, so that nobody passes it by holding a key. */
#include "private.h"

#include <stdio.h>
#include <string.h>

typedef struct caution {
  const char *key, *title, *text, *why;
  const char *hazard[6]; /* up to the first NULL */
} caution;

/* What there is to know stands among the session's inputs. */
static const caution origin = {
    .key = "safety.origin",
    .title = "Whose procedure this is",
    .text = "What follows is asked and told by it. Go by it only if you have reason to.",
    .why = "A procedure cannot touch this machine, but people do what it says to an engine. The program's own cautions "
           "come whatever it says.",
};

/* A shop's own hazards are shown with these. */
static const caution place = {
    .key = "safety.place",
    .title = "The place",
    .text = "Go round the vehicle and check each point.",
    .why = "These hold for the whole job. They are shown again whenever you come back to it.",
    .hazard = {"Local rules and a licensed technician come before anything this program says.",
               "Exhaust gas kills indoors: extraction on the tailpipe, doors open, somebody knows where you are.",
               "Fuel: no flame, no spark, no leak; a fire extinguisher within reach.",
               "Wheels chocked, brake on, gearbox in neutral or park.",
               "No loose sleeve, scarf, ring or hair near fan and belts."},
};

static const caution first_start = {
    .key = "safety.start",
    .title = "Before the start",
    .text = "Look at each point now, then start.",
    .why = "What lies in a stack is drawn in at the first turn. A throttle that stays open races the engine.",
    .hazard = {"Stack covers off, nothing left in a stack, every tool and screw counted.",
               "Return spring and idle stop on: open the throttle by hand, it snaps shut by itself.",
               "Everybody clear of fan, belts and wheels.",
               "If the throttle sticks open: ignition off at once. Know where the switch is, and that it works.",
               "Fan, belts and pulleys take sleeves, hair and leads with them; exhaust and heads burn.",
               "A backfire comes out of the open stacks: keep your face away from them."},
};

static const caution later_start = {
    .key = "safety.start",
    .title = "Before the start",
    .text = "Look at each point now, then start.",
    .why = "What lies in a stack is drawn in at the first turn. A throttle that stays open races the engine.",
    .hazard =
        {"Stack covers off, nothing left in a stack, every tool and screw counted.",
         "Return spring and idle stop on: open the throttle by hand, it snaps shut by itself.",
         "Everybody clear of fan, belts, hot parts and wheels; face away from the stacks, nothing loose over them.",
         "If the throttle sticks open: ignition off at once."},
};

static const caution running = {
    .key = "safety.running",
    .title = "At the running engine",
    .text = "Before a hand, a tool or the gauge goes near it.",
    .why = "An engine with open stacks draws in whatever falls, and throws flame when it spits back.",
    .hazard = {"Fan, belts and pulleys move, and an electric fan starts by itself.", "Exhaust, coolant and heads burn.",
               "Nothing loose over the open stacks: no screw, rag or tool; face away from them.",
               "If it races: ignition off at once."},
};

static const caution hands = {
    .key = "safety.hands",
    .title = "Hands on the throttles",
    .text = "Before a hand or a tool goes in.",
    .why = "A screw in a stack costs an engine. A plate under a return spring costs a fingertip.",
    .hazard = {"Ignition off, key out and with you: nobody can start it while your hands are in.",
               "Heads, exhaust and coolant stay hot long after.",
               "Springs fly and plates shut on fingers: hold the shaft.",
               "Cover the open stacks while tools and screws are about, and count both."},
};

static bool is_kind(const eb_json *ask, const char *kind)
{
  return strcmp(eb_json_get_string(ask, "kind", ""), kind) == 0;
}

bool safety_is_start(const eb_json *ask)
{
  return is_kind(ask, "engine") && strcmp(eb_json_get_string(ask, "state", ""), "running") == 0;
}

/* Every reading too: the gauge is held over a stack, the feeler between plate and bore. */
static bool hands_on(const eb_json *ask)
{
  return is_kind(ask, "adjust") || is_kind(ask, "reading") || eb_json_get(ask, "takes_off") != NULL ||
         eb_json_get(ask, "refits") != NULL || eb_json_get_bool(ask, "snaps", false) ||
         eb_json_get_bool(ask, "hands", false);
}

static const caution *start_list(const eb_session *s)
{
  return s->job.safety.started ? &later_start : &first_start;
}

/* Origin and place come before any ask at all: what a text sends people to do the core cannot know. */
static const caution *needed(const eb_session *s, const eb_json *ask)
{
  const safety *seen = &s->job.safety;
  if (!seen->origin && s->job.origin_cautions != NULL)
    return &origin;
  if (!seen->place)
    return &place;
  if (safety_is_start(ask))
    return seen->start ? NULL : start_list(s);
  if (!hands_on(ask))
    return NULL;
  if (s->job.engine == ENGINE_RUNNING)
    return seen->running ? NULL : &running;
  return seen->hands ? NULL : &hands;
}

static bool add_hazard(eb_json *hazards, const char *text)
{
  return json_array_has(hazards, text) || eb_json_add_string(hazards, text);
}

static bool add_list(const eb_session *s, const caution *list, eb_json *hazards)
{
  bool made = hazards != NULL;
  for (size_t i = 0; made && i < sizeof list->hazard / sizeof list->hazard[0] && list->hazard[i] != NULL; i++)
    made = add_hazard(hazards, list->hazard[i]);
  const eb_json *more = list == &place ? s->job.shop_hazards : list == &origin ? s->job.origin_cautions : NULL;
  const eb_json *own = eb_json_first(more);
  for (; made && own != NULL; own = eb_json_next(own))
    made = add_hazard(hazards, eb_json_as_string(own, ""));
  return made;
}

static eb_json *make_ask(const eb_session *s, const caution *list, const char *stage)
{
  eb_json *hazards = eb_json_array();
  bool listed = add_list(s, list, hazards);
  eb_json *ask = eb_json_object();
  bool made = eb_json_set_string(ask, "kind", "caution") && eb_json_set_string(ask, "key", list->key) &&
              eb_json_set_string(ask, "title", list->title) && eb_json_set_string(ask, "text", list->text) &&
              eb_json_set_string(ask, "why", list->why) && eb_json_set_bool(ask, "critical", true);
  if (made && stage != NULL)
    made = eb_json_set_string(ask, "stage", stage);
  if (eb_json_set(ask, "hazards", hazards) && made && listed)
    return ask;
  eb_json_destroy(ask);
  return NULL;
}

eb_status safety_next_ask(const eb_session *s, const eb_json *before, eb_json **ask, eb_error *error)
{
  const caution *list = needed(s, before);
  *ask = list == NULL ? NULL : make_ask(s, list, eb_json_get_string(before, "stage", NULL));
  return list != NULL && *ask == NULL ? out_of_memory(error) : EB_OK;
}

eb_json *safety_start_ask(const eb_session *s)
{
  return make_ask(s, start_list(s), "Back at the engine");
}

bool safety_is_own(const eb_json *ask)
{
  return strncmp(eb_json_get_string(ask, "key", ""), "safety.", 7) == 0;
}

void safety_apply(eb_session *s, const eb_json *ask)
{
  const char *key = eb_json_get_string(ask, "key", "");
  safety *seen = &s->job.safety;
  if (strcmp(key, origin.key) == 0)
    seen->origin = true;
  else if (strcmp(key, place.key) == 0)
    seen->place = true;
  else if (strcmp(key, first_start.key) == 0)
    seen->start = true;
  else if (strcmp(key, running.key) == 0)
    seen->running = true;
  else if (strcmp(key, hands.key) == 0)
    seen->hands = true;
}

void safety_engine(eb_session *s, bool runs, bool of_resume)
{
  safety *seen = &s->job.safety;
  seen->start = false;
  seen->started = seen->started || runs;
  /* A stop that a resume asked for is part of the period that it came back to. */
  if (runs || !of_resume)
    seen->hands = false;
}

bool safety_add_again(const eb_session *s, eb_json *hazards)
{
  const safety *seen = &s->job.safety;
  bool runs = s->job.wanted == ENGINE_RUNNING;
  bool made = add_list(s, &origin, hazards) && add_list(s, &place, hazards);
  if (made && seen->running && runs)
    made = add_list(s, &running, hazards);
  eb_json *off = parts_off(s);
  if (made && ((seen->hands && !runs) || eb_json_count(off) > 0))
    made = add_list(s, &hands, hazards);
  eb_json_destroy(off);
  return made && off != NULL;
}

void safety_shown_again(eb_session *s)
{
  safety *seen = &s->job.safety;
  bool runs = s->job.wanted == ENGINE_RUNNING;
  seen->start = seen->started = false;
  seen->running = seen->running && runs;
  seen->hands = seen->hands && !runs;
}

void safety_taken_back(eb_session *s)
{
  s->job.safety.start = s->job.safety.hands = false;
}

/* The code acknowledged last, whatever was taken back since; "" where there is none. */
static const char *last_code(const eb_session *s)
{
  for (size_t i = eb_journal_count(s->journal); i > 0; i--) {
    const char *code = eb_json_get_string(eb_json_get(eb_journal_record(s->journal, i - 1), "ask"), "code", NULL);
    if (code != NULL)
      return code;
  }
  return "";
}

/* Two different digits from 1 to 9: number 0 to 71 of them. */
static void code_of(int number, char code[3])
{
  int first = 1 + number / 8;
  int second = 1 + number % 8;
  code[0] = (char)('0' + first);
  code[1] = (char)('0' + second + (second >= first));
  code[2] = '\0';
}

void safety_code(const eb_session *s, const eb_json *ask, char code[3])
{
  char digest[EB_DIGEST_SIZE];
  const char *key = eb_json_get_string(ask, "key", "");
  eb_digest_chain(eb_journal_digest(s->journal), key, strlen(key), digest);
  int number = (digest[0] * 256 + digest[1] * 16 + digest[2]) % 72;
  code_of(number, code);
  if (strcmp(code, last_code(s)) == 0)
    code_of((number + 1) % 72, code);
}
